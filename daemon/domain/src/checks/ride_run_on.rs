//! `ride.run_on`: how far the motor drives on after pedalling stops.
//!
//! The national adoption of EN 15194 (TBIS 15194:2019, 4.2.13, read) gives 2 m, and 5 m where
//! every brake lever has a cut-off switch. A note of the trade has it the other way round
//! (5 m, and 2 m with a lever pulled); the adoption is followed.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Run-on after pedalling stops.
pub static CHECK: Check = Check {
    id: "ride.run_on",
    title: "run-on after pedalling stops",
    gates: &[Stage::TestRide],
    family: Family::Law,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "EN 15194, power management, as adopted in TBIS 15194:2019, 4.2.13: 2 m, or 5 m when all brake levers \
             have cut-off switches; a trade note has the two reversed, the adoption is followed",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let run_on = case.number("run-on")?;
    let class = prediction::ride_class(case)?;
    let (switched, why) = every_lever_switched(case);
    let key = if switched {
        "ride.run-on-with-cutoffs"
    } else {
        "ride.run-on-without-cutoffs"
    };
    let mut finding = Judged::new("run-on after pedalling stops", run_on, Kind::Length, "m")
        .against(Limit::AtMost(case.rule(key)))
        .with_arithmetic(format!(
            "{why}: at most {}",
            unit::show(Kind::Length, "m", case.rule(key))
        ))
        .with_remedy("move or turn the pedal sensor, shorten the stop delay in the settings")
        .with_arithmetic(class.deference());
    if !switched {
        finding = finding.with_remedy(format!(
            "cut-off switches at both levers, tried three times each: lockring measure {} cut-left=…/3 cut-right=…/3",
            case.job().number
        ));
    }
    if finding.verdict != Verdict::Pass {
        finding = finding.with_arithmetic(prediction::caution("tr-ghost"));
    }
    // Only classes of the EN 15194 kind carry a test allowance, and only they ask for this.
    if class.test_allowance <= 0.0 {
        finding = prediction::advise_only(finding, "a figure of EN 15194, which this class does not name");
    }
    let mut findings = vec![finding];
    findings.extend(lever(case, run_on));
    Ok(findings)
}

/// Whether every lever has a switch that works: as tried, else as the brake set is made.
fn every_lever_switched(case: &Case<'_>) -> (bool, String) {
    let tried = |key| match case.tally(key) {
        Ok((good, tried)) => Some(tried > 0 && good == tried),
        Err(Halt::Open(_) | Halt::NotApplicable(_)) => None,
    };
    match (tried("cut-left"), tried("cut-right")) {
        (Some(left), Some(right)) if left && right => {
            (true, "both levers cut the motor when tried".to_owned())
        }
        (None, None) => match case
            .optional_part(Slot::BrakeSet)
            .and_then(|set| set.optional_number("lever-switches"))
        {
            Some(switches) if switches >= 2.0 => {
                (true, "the brake set has switches in both levers".to_owned())
            }
            _ => (false, "no cut-off switches at the levers on file".to_owned()),
        },
        _ => (false, "not every lever cuts the motor".to_owned()),
    }
}

/// With a lever pulled the motor must not drive on longer than without.
fn lever(case: &Case<'_>, pedal: Known) -> Option<Finding> {
    let pulled = case.optional_number("run-on-lever")?;
    let shown = |si| unit::show(Kind::Length, "m", si);
    let longer = pulled.value - pedal.value > pulled.u.hypot(pedal.u) * 2.0;
    let (verdict, remark) = if longer {
        (Verdict::Caution, "the lever does not shorten it")
    } else {
        (Verdict::Pass, "no longer than without")
    };
    Some(
        Finding::new(
            verdict,
            format!(
                "run-on with a lever pulled {}, without {}: {remark}",
                shown(pulled.value),
                shown(pedal.value)
            ),
        )
        .with_arithmetic(format!("{} - {}", shown(pulled.value), shown(pedal.value)))
        .with_remedy("try each lever's switch in the stand; wire or replace the dead one"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};

    fn run_on(bench: Bench, pedal: &str) -> Bench {
        bench.ride("run-on", &[("pedal", pedal)])
    }

    fn cut_offs(bench: Bench) -> Bench {
        bench.measure(&[("cut-left", "3/3"), ("cut-right", "3/3")])
    }

    #[test]
    fn two_metres_without_switches_five_with() {
        // TBIS 15194:2019, 4.2.13 (read): 2 m; 5 m with cut-off switches in all levers.
        run_on(trekking(), "1.5 m").expect(&CHECK, Verdict::Pass);
        run_on(trekking(), "3.0 m").expect(&CHECK, Verdict::Fail);
        run_on(cut_offs(trekking()), "3.0 m").expect(&CHECK, Verdict::Pass);
        run_on(longtail(), "3.0 m").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_dead_switch_counts_as_none() {
        let dead = longtail().measure(&[("cut-left", "3/3"), ("cut-right", "2/3")]);
        run_on(dead, "3.0 m").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn the_verdict_turns_with_the_guard_band_between() {
        run_on(cut_offs(trekking()), "4.5 m").expect(&CHECK, Verdict::Pass);
        run_on(cut_offs(trekking()), "4.8 m").expect(&CHECK, Verdict::Caution);
        run_on(cut_offs(trekking()), "5.5 m").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn a_class_that_does_not_name_it_is_cautioned_only() {
        let american = trekking().state(&[("ride-class", "us-class1")]);
        run_on(american, "3.0 m").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn a_lever_that_lengthens_it_is_a_caution() {
        let bench = cut_offs(trekking()).ride("run-on", &[("pedal", "1.0 m"), ("lever", "2.5 m")]);
        bench.expect(&CHECK, Verdict::Caution);
        trekking().expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn switches_at_both_levers_as_the_remedy_says_clear_it() {
        run_on(trekking(), "3.0 m").cured(&CHECK, "lockring measure 20 cut-left=…/3 cut-right=…/3", cut_offs);
    }
}
