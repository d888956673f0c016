//! `handover.settings`: limit and circumference read back from the display.
//!
//! A limit set above the class is assistance above the class limit, so nobody may concede it;
//! a circumference is put right in a minute.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;
use lockring_calc::wheel;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::{Judged, figure};
use crate::prediction;
use crate::ride_class::{RideClass, SpeedLimit};
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Two settings are the same below this difference: a tenth of a display step, m and m/s.
const SAME: f64 = 1e-4;

/// Settings read back.
pub static CHECK: Check = Check {
    id: "handover.settings",
    title: "limit and circumference read back",
    gates: &[Stage::Handover],
    family: Family::Law,
    version: 2,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "the class's stored limit; circumference within 0.5 % of the rolled-out wheel: common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    // What is wrong with one setting is said before the others were read.
    let missing = prediction::missing(
        case,
        &[
            "limit-readback",
            "circumference-readback",
            "circumference-setting",
            "circumference",
        ],
    );
    let has = |keys: &[&str]| keys.iter().all(|key| case.knows(key));
    let mut findings = Vec::new();
    if has(&["limit-readback"]) {
        findings.push(limit(case, prediction::ride_class(case)?)?);
    }
    if has(&["circumference-readback", "circumference-setting"]) {
        findings.push(unchanged(case)?);
    }
    if has(&["circumference-readback", "circumference"]) {
        findings.push(rolled_out(case)?);
    }
    if has(&["limit-readback"]) {
        findings.extend(as_set(case)?);
    }
    if !missing.is_empty() {
        findings.push(case.lack_all(missing));
    }
    Ok(findings)
}

fn limit(case: &Case<'_>, class: &RideClass) -> Result<Finding, Halt> {
    let read = case.number("limit-readback")?.value;
    let shown = unit::show(Kind::Speed, "km/h", read);
    let most = class
        .max_assist_speed
        .map_or_else(|| "none".to_owned(), SpeedLimit::show);
    let (verdict, remark) = match class.max_assist_speed {
        None => (Verdict::Pass, "the stored rule names no limit"),
        Some(limit) if limit.comparator.holds(read, limit.metres_per_second()) => {
            (Verdict::Pass, "within stored limit")
        }
        Some(limit) if limit.takes_setting(read) => {
            (Verdict::Pass, "at the stored limit, where help has ended")
        }
        Some(_) => (Verdict::Fail, "over stored limit"),
    };
    Ok(Finding::new(
        verdict,
        format!(
            "assist limit read back {shown}, class {} {most}: {remark}",
            class.id
        ),
    )
    .with_figure(figure("limit read back", Kind::Speed, "km/h", read))
    .with_arithmetic(format!("{shown} against {most}"))
    .with_remedy(format!(
        "set the limit to {} and read it back: lockring measure {} limit-readback SPEED",
        class
            .max_assist_speed
            .map_or_else(|| "the class's or lower".to_owned(), settable),
        case.job().number
    ))
    .with_arithmetic(class.deference()))
}

/// The highest setting that keeps a limit: a display shows tenths of km/h, and takes no miles where it was set to kilometres
/// (resolution 0.1 km/h: TBIS 15194:2019, 4.2.11). A limit of 15.5 mph is 24.94 km/h, so that 25 km/h is over it.
fn settable(limit: SpeedLimit) -> String {
    let most = unit::from_si(Kind::Speed, "km/h", limit.metres_per_second());
    let tenths = (10.0 * most + 1e-6).floor() / 10.0;
    format!("{} or lower", unit::with_unit(tenths, "km/h"))
}

/// The limit must still be the one set and ridden.
fn as_set(case: &Case<'_>) -> Result<Option<Finding>, Halt> {
    let Some(set) = case.optional_number("assist-limit") else {
        return Ok(None);
    };
    let read = case.number("limit-readback")?.value;
    let shown = |si| unit::show(Kind::Speed, "km/h", si);
    let (verdict, remark) = if read <= set.value + SAME {
        (Verdict::Pass, "no higher than set")
    } else {
        (Verdict::Fail, "higher than set and ridden")
    };
    Ok(Some(
        Finding::new(
            verdict,
            format!(
                "assist limit read back {}, set {}: {remark}",
                shown(read),
                shown(set.value)
            ),
        )
        .with_arithmetic(format!("{} against {}", shown(read), shown(set.value)))
        .with_remedy(format!(
            "set it back: lockring measure {} limit-readback SPEED",
            case.job().number
        )),
    ))
}

fn unchanged(case: &Case<'_>) -> Result<Finding, Halt> {
    let read = case.number("circumference-readback")?.value;
    let set = case.number("circumference-setting")?.value;
    let mm = |si| unit::show(Kind::Length, "mm", si);
    let (verdict, remark) = if (read - set).abs() <= SAME {
        (Verdict::Pass, "as set")
    } else {
        (Verdict::Fail, "changed since it was set")
    };
    Ok(Finding::new(
        verdict,
        format!("circumference read back {}, set {}: {remark}", mm(read), mm(set)),
    )
    .with_arithmetic(format!("{} - {} = {}", mm(read), mm(set), mm(read - set)))
    .with_remedy(format!(
        "set it to the rolled-out figure and read it back: lockring measure {} circumference-readback MM",
        case.job().number
    )))
}

fn rolled_out(case: &Case<'_>) -> Result<Finding, Halt> {
    let read = case.number("circumference-readback")?.value;
    let rolled = case.number("circumference")?;
    let error = wheel::setting_error(Length::metres(read), Length::metres(rolled.value))
        .map_err(|error| prediction::unusable(case, "wheel", &error))?;
    let known = Known {
        value: error,
        u: rolled.u / rolled.value,
        ..rolled
    };
    let within = case.rule("wheel.circumference");
    let mm = |si| unit::show(Kind::Length, "mm", si);
    Ok(Judged::new(
        "circumference read back against the wheel",
        known,
        Kind::Ratio,
        "%",
    )
    .against(Limit::Within(-within, within))
    .with_arithmetic(format!(
        "{} / {} - 1 = {:+.2} %",
        mm(read),
        mm(rolled.value),
        100.0 * error
    ))
    .with_remedy(format!(
        "set {} and read it back: lockring measure {} circumference-readback MM",
        mm(rolled.value),
        case.job().number
    )))
}

#[cfg(test)]
mod tests;
