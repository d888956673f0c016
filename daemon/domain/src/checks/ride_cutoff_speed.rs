//! `ride.cutoff_speed`: where assistance ends, ridden both ways, against the class.
//!
//! Three limits meet here. The class's own limit has no tolerance; the test allowance stored
//! with classes of the EN 15194 kind lies 10 % above it; the shop aims at the limit ± 2 % and
//! stops at 1.05 times the limit. A reading passes here when it is under the limit with its doubt,
//! or when it is inside the shop's aim and, with its doubt, under the limit with the class's
//! allowance; that it is not within the limit then is what `ride.cutoff_margin` says. A class
//! without an allowance has no room for the aim above its limit: there a reading at the limit
//! stays a caution until it is set lower. A drive that runs out before its cut-off shows none on the road; EN 15194 lets it
//! be read on a stand, the driven wheel free, and until it was the check is open.

use lockring_calc::quantity::{Length, Speed};
use lockring_calc::speed_run::{self, Governed};
use lockring_calc::wheel;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Figure, Finding, Halt, Missing, Outcome, Verdict};
use crate::prediction;
use crate::ride_class::deference::D2;
use crate::ride_class::{RideClass, SpeedLimit, SpeedVerdict};
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Cut-off speed of the pair of runs.
pub static CHECK: Check = Check {
    id: "ride.cutoff_speed",
    title: "speed at which assistance ends, both ways",
    gates: &[Stage::TestRide],
    family: Family::Law,
    version: 3,
    concede: Concede::Never,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the class's stored limit and test allowance; Directive 2006/27/EC, annex III: mean of two runs \
             within 3 %; TBIS 15194:2019, 4.2.11: track, bench or stand; the aim of 2 % and the stop at 1.05 are common practice, no source",
    run,
};

/// The pair of runs, true to the wheel where it was rolled out, and what it is held against.
pub(super) struct Ridden {
    pub(super) class: &'static RideClass,
    /// The class's own.
    pub(super) limit: SpeedLimit,
    pub(super) pair: Governed,
    /// Expanded uncertainty of the mean over the mean.
    pub(super) doubt: f64,
    /// What the mean rests on.
    line: String,
}

/// How a reading that is not within a limit lies beside it: over it, or with it inside its doubt.
pub(super) fn beside_limit(mean: f64, doubt: f64, most: f64) -> &'static str {
    if mean * (1.0 - doubt) > most {
        "over the stored limit"
    } else {
        "the stored limit inside its doubt"
    }
}

/// Whether a reading is past what this check stops.
pub(super) fn is_stopped(case: &Case<'_>, ridden: &Ridden) -> bool {
    let mean = ridden.pair.mean.si();
    let stop = ridden.limit.metres_per_second() * case.rule("ride.over-class");
    let judged = ridden.class.judge_assist_speed(mean, ridden.doubt);
    mean * (1.0 - ridden.doubt) > stop || judged == SpeedVerdict::Over
}

/// The top speed expected of the drive, where what was read is such a top speed and no cut-off, and under the limit at that.
/// Where the class lets help fade out towards its limit the road alone governs there, so a reading below is what it is.
pub(super) fn ran_out(case: &Case<'_>, ridden: &Ridden) -> Option<Speed> {
    let class = ridden.class;
    if class.assist_ratio.is_some() {
        return None;
    }
    let top = prediction::read_for_cutoff(case)?;
    let under = class.judge_assist_speed(ridden.pair.mean.si(), ridden.doubt) == SpeedVerdict::Within;
    under.then_some(top)
}

fn run(case: &Case<'_>) -> Outcome {
    let ridden = ridden(case)?;
    if let Some(top) = ran_out(case, &ridden) {
        return Ok(vec![not_reached(case, &ridden, top)]);
    }
    let mut findings = vec![against_class(case, &ridden)];
    findings.extend(disagreement(case, ridden.pair, "cutoff"));
    Ok(findings)
}

/// What was ridden, where the class has a limit to hold it against.
///
/// # Errors
/// [`Halt::NotApplicable`] for a class without one, [`Halt::Open`] when class or runs are missing.
pub(super) fn ridden(case: &Case<'_>) -> Result<Ridden, Halt> {
    let class = prediction::ride_class(case)?;
    let Some(limit) = class.max_assist_speed else {
        return Halt::not_applicable(format!(
            "the stored rule {} names no speed at which assistance ends",
            class.id
        ));
    };
    let (pair, doubt, line) = pair_of(case, ["cutoff-out", "cutoff-back"])?;
    Ok(Ridden {
        class,
        limit,
        pair,
        doubt,
        line,
    })
}

/// Two runs by the display over one line, both ways, true to the wheel where it was rolled out; with the expanded
/// uncertainty of their mean over it, and what that rests on.
///
/// # Errors
/// [`Halt::Open`] when a run is missing or the figures lie outside the equation's range.
pub(super) fn pair_of(case: &Case<'_>, ways: [&str; 2]) -> Result<(Governed, f64, String), Halt> {
    prediction::need(case, &ways)?;
    let [out, back] = ways;
    let (out, back) = (case.number(out)?, case.number(back)?);
    let rolled = case.optional_number("circumference");
    let setting = case.optional_number("circumference-setting");
    let (factor, wheel_doubt) = match (rolled, setting) {
        (Some(rolled), Some(setting)) => {
            let factor = true_over_shown(case, setting.value, rolled.value)?;
            (factor, Some(rolled.expanded() / rolled.value))
        }
        _ => (1.0, None),
    };
    let speed = |shown: f64| Speed::from_si(shown * factor);
    let pair = speed_run::governed(speed(out.value), speed(back.value))
        .map_err(|error| prediction::unusable(case, "runs both ways", &error))?;
    let repeat = out.u.hypot(back.u) * factor / pair.mean.si();
    Ok(match wheel_doubt {
        Some(wheel) => (
            pair,
            repeat.hypot(wheel),
            format!("display times {factor:.4}, rolled out over set circumference"),
        ),
        None => {
            let doubt = case.rule("ride.speed-uncertainty");
            let line = format!(
                "display taken as right within {:.0} %: wheel not rolled out",
                100.0 * doubt
            );
            (pair, doubt, line)
        }
    })
}

fn true_over_shown(case: &Case<'_>, setting: f64, rolled: f64) -> Result<f64, Halt> {
    wheel::true_speed(
        Speed::from_si(1.0),
        Length::metres(setting),
        Length::metres(rolled),
    )
    .map(Speed::si)
    .map_err(|error| prediction::unusable(case, "wheel", &error))
}

fn against_class(case: &Case<'_>, ridden: &Ridden) -> Finding {
    let Ridden { class, limit, .. } = *ridden;
    let mean = ridden.pair.mean.si();
    let most = limit.metres_per_second();
    let (aim, stop) = (case.rule("ride.aim"), case.rule("ride.over-class"));
    let over = mean / most - 1.0;
    let in_aim =
        mean <= most * (1.0 + aim) && mean * (1.0 + ridden.doubt) <= most * (1.0 + class.test_allowance);
    let past_stop = mean * (1.0 - ridden.doubt) > most * stop;
    let (verdict, remark) = match class.judge_assist_speed(mean, ridden.doubt) {
        SpeedVerdict::Over => (Verdict::Fail, "over stored limit".to_owned()),
        _ if past_stop => (
            Verdict::Fail,
            format!("over the shop's stop at {stop:.2} times the limit"),
        ),
        SpeedVerdict::Within => (Verdict::Pass, "within stored limit".to_owned()),
        SpeedVerdict::Uncertain if in_aim => {
            let (aim, allowance) = (100.0 * aim, 100.0 * class.test_allowance);
            let words = format!(
                "{}, inside the shop's aim of ± {aim:.0} % and the class's stored test allowance of {allowance:.0} %",
                beside_limit(mean, ridden.doubt, most)
            );
            (Verdict::Pass, words)
        }
        SpeedVerdict::Uncertain | SpeedVerdict::NoLimit => (
            Verdict::Caution,
            "neither under nor over the stored limit within the reading's doubt".to_owned(),
        ),
    };
    let unit = limit.unit.symbol();
    let shown = unit::show(Kind::Speed, unit, mean);
    let doubt_shown = unit::show(Kind::Speed, unit, mean * ridden.doubt);
    let summary = format!(
        "assistance ends at {shown} ± {doubt_shown}, limit {} ({:+.1} %): {remark}",
        limit.show(),
        100.0 * over
    );
    let told = match verdict {
        Verdict::Fail => prediction::caution("tr-over-limit"),
        Verdict::Caution => prediction::caution("tr-margin"),
        _ => D2.to_owned(),
    };
    let lower = unit::show(Kind::Speed, unit, most * (1.0 - aim));
    Finding::new(verdict, summary)
        .with_figure(Figure {
            name: "assistance ends at".to_owned(),
            value: unit::from_si(Kind::Speed, unit, mean),
            unit: unit.to_owned(),
            limit: with_allowance(class, limit),
            margin: Some(unit::from_si(Kind::Speed, unit, most - mean)),
            uncertainty: Some(unit::from_si(Kind::Speed, unit, mean * ridden.doubt)),
        })
        .with_arithmetic(format!("mean of the two runs {shown}; {}", ridden.line))
        .with_arithmetic(format!(
            "limit {} x {stop:.2} = {} is the shop's stop",
            limit.show(),
            unit::show(Kind::Speed, unit, most * stop)
        ))
        .with_arithmetic(told)
        .with_remedy(format!(
            "set the assist limit to {lower} or the rolled-out circumference, then ride both ways again: \
             lockring ride {} cutoff out=SPEED back=SPEED --anew",
            case.job().number
        ))
        .with_arithmetic(class.deference())
}

/// The drive ran out before its assistance was cut off: what was read is no cut-off, and that there is one is still to be
/// shown. A steeper way down, a lighter rider or a fuller pack reaches past the top speed that the model expects.
fn not_reached(case: &Case<'_>, ridden: &Ridden, top: Speed) -> Finding {
    let Ridden { class, limit, .. } = *ridden;
    let unit = limit.unit.symbol();
    let shown = |speed: Speed| unit::show(Kind::Speed, unit, speed.si());
    let mean = ridden.pair.mean;
    let job = case.job().number;
    let lower = unit::show(Kind::Speed, unit, mean.si() * (1.0 - case.rule("ride.aim")));
    let mut finding = case.lack_all(vec![Missing {
        what: "the speed at which assistance ends: a top speed was read".into(),
        how: format!("lockring ride {job} cutoff out=SPEED back=SPEED --anew"),
    }]);
    finding.summary = format!(
        "the cut-off was not reached, top speed governs: {} ridden, {} expected of the drive, limit {}",
        shown(mean),
        shown(top),
        limit.show()
    );
    finding
    .with_figure(Figure {
        name: "ridden without a cut-off".to_owned(),
        value: unit::from_si(Kind::Speed, unit, mean.si()),
        unit: unit.to_owned(),
        limit: with_allowance(class, limit),
        margin: Some(unit::from_si(Kind::Speed, unit, limit.metres_per_second() - mean.si())),
        uncertainty: Some(unit::from_si(Kind::Speed, unit, mean.si() * ridden.doubt)),
    })
    .with_arithmetic(format!("mean of the two runs {}; {}", shown(mean), ridden.line))
    .with_arithmetic(format!(
        "the reading is kept as no cut-off: timed over the strip it is the top speed, lockring ride {job} speed out=SPEED \
         back=SPEED"
    ))
    .with_arithmetic(D2)
    .with_remedy(format!(
        "read it on the stand, driven wheel free, and record it for both ways: lockring ride {job} cutoff out=SPEED \
         back=SPEED --anew"
    ))
    .with_remedy(format!(
        "where the free wheel does not get there either, set the assist limit to {lower}, lockring measure {job} \
         assist-limit SPEED, and ride both ways again"
    ))
}

/// The class's limit and, where it has a test allowance, up to where that reaches.
fn with_allowance(class: &RideClass, limit: SpeedLimit) -> String {
    if class.test_allowance <= 0.0 {
        return limit.show();
    }
    let unit = limit.unit.symbol();
    let most = limit.metres_per_second() * (1.0 + class.test_allowance);
    format!(
        "{}; with the class's test allowance of {:.0} % at most {}",
        limit.show(),
        100.0 * class.test_allowance,
        unit::show(Kind::Speed, unit, most)
    )
}

/// That the runs of a pair lie too far apart to count.
pub(super) fn disagreement(case: &Case<'_>, pair: Governed, run: &str) -> Option<Finding> {
    let most = case.rule("ride.pair-agree");
    let spread = pair.spread;
    (spread > most).then(|| {
        Finding::new(
            Verdict::Caution,
            format!(
                "the two runs differ by {:.1} %, at most {:.0} %: the pair does not count",
                100.0 * spread,
                100.0 * most
            ),
        )
        .with_arithmetic(format!("difference over mean = {:.1} %", 100.0 * spread))
        .with_remedy(format!(
            "ride the pair again over the same line: lockring ride {} {run} out=SPEED back=SPEED --anew",
            case.job().number
        ))
    })
}

#[cfg(test)]
mod tests;
