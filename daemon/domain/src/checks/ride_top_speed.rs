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
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::{Judged, figure};
use crate::prediction;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Top speed both ways.
pub static CHECK: Check = Check {
    id: "ride.top_speed",
    title: "top speed on the level, both ways",
    gates: &[Stage::TestRide],
    family: Family::Ride,
    version: 1,
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
    Ok(vec![
        finding
            .with_remedy("a motor wound for more speed or more volts, within the class's limit; it pulls less on the hill")
            .with_remedy(format!("ride it again both ways: lockring ride {} speed out=SPEED back=SPEED", case.job().number)),
    ])
}

fn top(case: &Case<'_>, power: f64) -> Result<Top, Halt> {
    let timed = (
        case.optional_number("speed-out"),
        case.optional_number("speed-back"),
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
            "top speed, the cut-off governs",
            "the cut-off governs: wind does not move it, the plain mean counts",
        )),
        ((Some(out), Some(back)), _) => limited_by_power(case, power, out, back),
        (_, (Some(out), Some(back))) if governs(case, limit, out, back) => Ok(plain(
            out,
            back,
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

fn plain(out: Known, back: Known, what: &'static str, why: &str) -> Top {
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
    }
}

fn limited_by_power(case: &Case<'_>, rider: f64, out: Known, back: Known) -> Result<Top, Halt> {
    let unknown: Vec<&str> = ["speed-volts", "speed-amps", "strip-grade"]
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
    let slope = case.number("strip-grade")?;
    let mass = prediction::ridden_mass(case)?;
    let road = prediction::road(case, mass.value)?;
    let electric = Voltage::volts(volts.value).times_current(Current::amperes(amps.value));
    let motor = electric * planning.drive_efficiency;
    let power = motor + Power::watts(rider * planning.chain_efficiency);
    let pair = Pair {
        out: Speed::from_si(out.value),
        back: Speed::from_si(back.value),
        power_out: power,
        power_back: power,
        grade: Grade::ratio(slope.value),
        rho: planning.rho,
    };
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

#[cfg(test)]
mod tests;
