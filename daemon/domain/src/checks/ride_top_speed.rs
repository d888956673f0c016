//! `ride.top_speed`: top speed on the level against the brief.
//!
//! Where the cut-off governs, wind does not move the speed and the plain mean of the two runs
//! counts. Below it the mean is biased by wind and slope; the pair is then solved for drag
//! area and wind, which takes the power at the wheel (pack volts and current) and the grade of
//! the strip.

use lockring_calc::doubt::{Limit, standard_from_half_width};
use lockring_calc::quantity::{Current, Grade, Mass, Power, Speed, Voltage};
use lockring_calc::road::RoadLoad;
use lockring_calc::speed_run::{self, Pair, PairDoubt};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::{Judged, figure};
use crate::prediction::{self, Way};
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Top speed both ways.
pub static CHECK: Check = Check {
    id: "ride.top_speed",
    title: "top speed on the level, both ways",
    gates: &[Stage::TestRide],
    family: Family::Ride,
    version: 3,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "Martin et al. 1998 solved for two runs; brief less 3 %: common practice, no source",
    run,
};

/// What counts as the top speed, and how it was come by.
struct Top {
    known: Known,
    what: &'static str,
    lines: Vec<String>,
    /// Whether the cut-off held the speed.
    governed: bool,
}

fn run(case: &Case<'_>) -> Outcome {
    let Some(wish) = case.optional_number("top-speed") else {
        return Halt::not_applicable("the brief asks for no top speed");
    };
    let power = case.number("rider-power")?.value;
    let top = top(case, power)?;
    let predicted = prediction::ridden_climb(case, 0.0, power)?.speed.si();
    let comparison = prediction::compare_speeds(case, top.known.value, predicted);
    let short = case.rule("ride.top-speed-short");
    let least = wish.value * (1.0 - short);
    let shown = |si| unit::show(Kind::Speed, "km/h", si);
    let mut finding = Judged::new(top.what, top.known, Kind::Speed, "km/h")
        .against(Limit::AtLeast(least))
        .with_figure(figure("predicted", Kind::Speed, "km/h", predicted))
        .with_arithmetic(format!(
            "brief {} less {:.0} % = {}",
            shown(wish.value),
            100.0 * short,
            shown(least)
        ))
        .with_arithmetic(comparison.words);
    for line in top.lines {
        finding = finding.with_arithmetic(line);
    }
    if !comparison.agrees {
        finding = finding.with_remedy(format!("the model does not agree: {}", comparison.points_to));
    }
    for line in warnings(case) {
        finding = finding.with_arithmetic(line);
    }
    let mut findings = vec![
        finding
            .with_remedy("a motor wound for more speed or more volts, within the class's limit; it pulls less on the hill")
            .with_remedy(format!("ride it again both ways: lockring ride {} speed out=SPEED back=SPEED --anew", case.job().number)),
    ];
    findings.extend(disagreement(case, top.governed)?);
    Ok(findings)
}

/// A pair that the cut-off governs must agree; one that power limits may differ, wind and slope see
/// to that.
fn disagreement(case: &Case<'_>, governed: bool) -> Result<Option<Finding>, Halt> {
    let (out, back) = (
        prediction::strip_speed(case, Way::Out),
        prediction::strip_speed(case, Way::Back),
    );
    let (Some(out), Some(back), true) = (out, back, governed) else {
        return Ok(None);
    };
    let pair = speed_run::governed(Speed::from_si(out.value), Speed::from_si(back.value))
        .map_err(|error| prediction::unusable(case, "speed runs", &error))?;
    let most = case.rule("ride.pair-agree");
    Ok((pair.spread > most).then(|| {
        Finding::new(
            Verdict::Caution,
            format!(
                "the two runs differ by {:.1} %, at most {:.0} %: the pair does not count",
                100.0 * pair.spread,
                100.0 * most
            ),
        )
        .with_remedy(format!(
            "ride the pair again over the same line: lockring ride {} speed out=SPEED back=SPEED --anew",
            case.job().number
        ))
    }))
}

/// What a reader should know of the runs besides their figures.
fn warnings(case: &Case<'_>) -> Vec<String> {
    let mut said = Vec::new();
    let pairs = ["speed-out", "strip-time-out"]
        .iter()
        .find_map(|key| case.whole_job().facts.get(*key))
        .map_or(0, |fact| fact.readings.len());
    if pairs == 1 {
        said.push("one pair, no spread: ride it twice more to know how well it repeats".to_owned());
    }
    let wind = case.optional_number("test-wind");
    if let Some(wind) = wind.filter(|wind| wind.value > case.rule("ride.wind-most")) {
        said.push(format!(
            "wind of {} is more than such runs are ridden in",
            unit::show(Kind::Speed, "m/s", wind.value)
        ));
    }
    let grade = case.optional_number("strip-grade");
    if let Some(grade) = grade.filter(|grade| grade.value.abs() > case.rule("ride.strip-grade-most")) {
        said.push(format!(
            "the strip slopes by {}: choose a flatter one, or its survey decides the result",
            unit::show(Kind::Grade, "%", grade.value)
        ));
    }
    said
}

fn top(case: &Case<'_>, power: f64) -> Result<Top, Halt> {
    let timed = (
        prediction::strip_speed(case, Way::Out),
        prediction::strip_speed(case, Way::Back),
    );
    let cut = (
        case.optional_number("cutoff-out"),
        case.optional_number("cutoff-back"),
    );
    let limit = prediction::assist_limit(case)?;
    match (timed, cut) {
        ((Some(out), Some(back)), _) if governs(case, limit, out, back) => Ok(plain(
            out,
            back,
            true,
            "top speed, the cut-off governs",
            "the cut-off governs: wind does not move it, the plain mean counts",
        )),
        ((Some(out), Some(back)), _) => limited_by_power(case, power, out, back),
        (_, (Some(out), Some(back))) if governs(case, limit, out, back) => Ok(plain(
            out,
            back,
            true,
            "top speed, the cut-off was reached both ways",
            "no timed run: the cut-off runs count",
        )),
        _ => {
            prediction::need(case, &["speed-out", "speed-back"])?;
            Err(case.open("speed-out"))
        }
    }
}

fn governs(case: &Case<'_>, limit: Option<Speed>, out: Known, back: Known) -> bool {
    let share = 1.0 - case.rule("ride.aim");
    limit.is_some_and(|limit| out.value.min(back.value) >= share * limit.si())
}

fn plain(out: Known, back: Known, governed: bool, what: &'static str, why: &str) -> Top {
    let mean = (out.value + back.value) / 2.0;
    let known = Known {
        value: mean,
        u: out.u.hypot(back.u) / 2.0,
        provenance: Provenance::Measured,
    };
    let shown = |si| unit::show(Kind::Speed, "km/h", si);
    let sum = format!(
        "({} + {}) / 2 = {}",
        shown(out.value),
        shown(back.value),
        shown(mean)
    );
    Top {
        known,
        what,
        lines: vec![sum, why.to_owned()],
        governed,
    }
}

fn limited_by_power(case: &Case<'_>, rider: f64, out: Known, back: Known) -> Result<Top, Halt> {
    // Wind and slope cannot both be had from one pair: either must be measured.
    let one_of = if case.knows("strip-wind") {
        "strip-wind"
    } else {
        "strip-grade"
    };
    let unknown: Vec<&str> = ["speed-volts", "speed-amps", one_of]
        .into_iter()
        .filter(|key| case.optional_number(key).is_none())
        .collect();
    if !unknown.is_empty() {
        case.assume(format!(
            "no wind and no slope on the strip: {} not recorded",
            unknown.join(", ")
        ));
        return Ok(plain(
            out,
            back,
            false,
            "top speed, plain mean",
            "wind and slope are not taken out",
        ));
    }
    let (pair, road, doubt) = solved_pair(case, rider, out, back)?;
    let rho = pair.rho;
    let halt = |error| prediction::unusable(case, "speed runs", &error);
    let solution = speed_run::solve_pair(&pair, &road).map_err(halt)?;
    let speed = speed_run::still_air_speed(&pair, &road, pair.power_out, rho).map_err(halt)?;
    let u = speed_run::still_air_doubt(&pair, &road, pair.power_out, rho, &doubt).map_err(halt)?;
    let known = Known {
        value: speed.si(),
        u: u.si(),
        provenance: Provenance::Measured,
    };
    let lines = vec![
        format!("power at the wheel {:.0} W", pair.power_out.as_watts()),
        format!(
            "drag area {:.2} m², wind {:+.1} m/s against the first run",
            solution.cda.si(),
            solution.headwind.si()
        ),
    ];
    Ok(Top {
        known,
        what: "top speed, level and still air",
        lines,
        governed: false,
    })
}

fn solved_pair(
    case: &Case<'_>,
    rider: f64,
    out: Known,
    back: Known,
) -> Result<(Pair, RoadLoad, PairDoubt), Halt> {
    let planning = prediction::planning(case)?;
    let (volts, amps) = (case.number("speed-volts")?, case.number("speed-amps")?);
    let mass = prediction::ridden_mass(case)?;
    let road = prediction::road(case, mass.value)?;
    let electric = Voltage::volts(volts.value).times_current(Current::amperes(amps.value));
    let motor = electric * planning.drive_efficiency;
    let power = motor + Power::watts(rider * planning.chain_efficiency);
    let mut pair = Pair {
        out: Speed::from_si(out.value),
        back: Speed::from_si(back.value),
        power_out: power,
        power_back: power,
        grade: Grade::LEVEL,
        rho: planning.rho,
    };
    let slope = slope(case, &pair, &road)?;
    pair.grade = Grade::ratio(slope.value);
    let efficiency = standard_from_half_width(case.rule("model.drive-efficiency-spread"));
    let reading = (volts.u / volts.value).hypot(amps.u / amps.value.max(f64::MIN_POSITIVE));
    let doubt = PairDoubt {
        speed: Speed::from_si(out.u.max(back.u)),
        power: motor * efficiency.hypot(reading),
        grade: Grade::ratio(slope.u),
        mass: Mass::kilograms(mass.u),
        crr: road.crr * standard_from_half_width(case.rule("crr.spread")),
    };
    Ok((pair, road, doubt))
}

/// Grade of the strip: as surveyed, or from the pair itself in the wind that was measured.
fn slope(case: &Case<'_>, pair: &Pair, road: &RoadLoad) -> Result<Known, Halt> {
    if let Some(surveyed) = case.optional_number("strip-grade") {
        return Ok(surveyed);
    }
    let wind = case.number("strip-wind")?;
    let found = |wind: f64| {
        speed_run::solve_pair_in_wind(pair, road, Speed::from_si(wind))
            .map(|solved| solved.grade.as_ratio())
            .map_err(|error| prediction::unusable(case, "speed runs", &error))
    };
    let (more, less) = (found(wind.value + wind.u)?, found(wind.value - wind.u)?);
    Ok(Known {
        value: found(wind.value)?,
        u: 0.5 * (more - less).abs(),
        ..wind
    })
}

#[cfg(test)]
mod tests;
