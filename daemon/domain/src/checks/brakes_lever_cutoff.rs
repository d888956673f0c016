//! `brakes.lever_cutoff`: each brake lever cuts the motor, on a build without a throttle.

use lockring_calc::dropout::Wheel;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::prediction;
use crate::ride_class;
use crate::stage::Stage;

/// The codes of the levers, and their names.
const LEVERS: [(&str, &str); 2] = [("cut-left", "left"), ("cut-right", "right")];

/// Lever cut-offs where the motor follows the pedals alone.
pub static CHECK: Check = Check {
    id: "brakes.lever_cutoff",
    title: "each brake lever cuts the motor",
    gates: &[Stage::Fitting],
    family: Family::Safe,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: each lever alone, three of three; sources disagree on builds without a throttle",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if has_throttle(case)? {
        return Halt::not_applicable("with a throttle the levers are judged by brakes.throttle_cutoff");
    }
    levers(case)
}

/// Whether the build has a throttle, a walking aid's included.
pub(super) fn has_throttle(case: &Case<'_>) -> Result<bool, Halt> {
    Ok(case.word("throttle")? != "none")
}

/// One finding per brake lever of the bicycle.
pub(super) fn levers(case: &Case<'_>) -> Outcome {
    let codes: Vec<&str> = LEVERS.iter().map(|(code, _)| *code).collect();
    let count = count(case)?;
    let known = codes.iter().filter(|code| case.tally(code).is_ok()).count();
    if known < count {
        // Which side a single lever sits on differs, so any one will do for it.
        prediction::need(case, if count == 1 { &codes[..1] } else { &codes })?;
    }
    if count == 0 {
        return Halt::not_applicable("no brake of this bicycle has a lever");
    }
    Ok(LEVERS
        .iter()
        .filter_map(|(code, side)| case.tally(code).ok().map(|tally| lever(case, code, side, tally)))
        .collect())
}

/// Levers on the bicycle, a set of the build included: a coaster brake has none.
fn count(case: &Case<'_>) -> Result<usize, Halt> {
    let by_hand = |wheel| -> Result<bool, Halt> {
        Ok(!matches!(
            prediction::brake(case, wheel)?.kind,
            "none" | "coaster"
        ))
    };
    Ok(usize::from(by_hand(Wheel::Front)?) + usize::from(by_hand(Wheel::Rear)?))
}

fn lever(case: &Case<'_>, code: &str, side: &str, (good, tried): (u32, u32)) -> Finding {
    let tries = case.rule("brake.cut-off-tries");
    let within = case.rule("brake.cut-off-time");
    let line = format!("{side} lever cut the motor {good} of {tried} times");
    let finding = if good < tried {
        Finding::new(Verdict::Fail, format!("{line}: dead or failing cut-off"))
    } else if f64::from(tried) < tries {
        Finding::new(Verdict::Caution, format!("{line}: fewer than {tries:.0} tries"))
    } else {
        Finding::new(Verdict::Pass, format!("{line}: within stored limit"))
    };
    finding
        .with_arithmetic(format!(
            "one time counts where the wheel's power is gone within {within:.1} s, driven wheel up"
        ))
        .with_arithmetic(prediction::caution("el-brake-cut"))
        .with_arithmetic(ride_class::D2)
        .with_remedy(format!(
            "sensor, gap and plug of the {side} lever; then lockring measure {} {code} …/{tries:.0}{}",
            case.job().number,
            prediction::anew(good, tried)
        ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};

    fn cuts(bench: Bench, left: &str, right: &str) -> Bench {
        bench.measure(&[("cut-left", left), ("cut-right", right)])
    }

    #[test]
    fn three_of_three_on_both_levers_pass() {
        // Worked example of the trade (common practice, no source): cut-offs 3/3 both.
        let report = cuts(trekking(), "3/3", "3/3").expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings.len(), 2);
    }

    #[test]
    fn a_dead_lever_fails_may_be_conceded_and_is_cleared_by_its_remedy() {
        let dead = cuts(trekking(), "3/3", "0/3");
        let report = dead.expect(&CHECK, Verdict::Fail);
        assert_eq!(
            report.findings[0].verdict,
            Verdict::Pass,
            "the other lever is told as it is"
        );
        assert_eq!(CHECK.concede, Concede::Owner);
        cuts(dead, "3/3", "3/3").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn one_miss_fails_and_one_try_is_a_caution() {
        cuts(trekking(), "2/3", "3/3").expect(&CHECK, Verdict::Fail);
        cuts(trekking(), "1/1", "3/3").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn both_levers_are_asked_for_unless_one_brake_has_none() {
        assert_eq!(trekking().expect(&CHECK, Verdict::Open).missing.len(), 2);
        let one = trekking().measure(&[("cut-right", "3/3")]);
        assert_eq!(one.expect(&CHECK, Verdict::Open).missing.len(), 1);
        let coaster = one.state(&[("brake-rear", "coaster")]);
        assert_eq!(coaster.expect(&CHECK, Verdict::Pass).findings.len(), 1);
    }

    #[test]
    fn a_brake_set_of_the_build_brings_the_levers_the_bicycle_lacked() {
        let fitted = trekking()
            .state(&[("brake-front", "none")])
            .build(&[("brake-set", "brakes-disc-2")])
            .measure(&[("cut-right", "3/3")]);
        assert_eq!(fitted.expect(&CHECK, Verdict::Open).missing.len(), 1);
    }

    #[test]
    fn with_a_throttle_the_other_check_judges() {
        cuts(trekking().state(&[("throttle", "full")]), "0/3", "3/3").expect(&CHECK, Verdict::NotApplicable);
        let report = trekking().forget("throttle").expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.starts_with("lockring brief 20 throttle"),
            "{:?}",
            report.missing
        );
    }

    #[test]
    fn three_tries_as_the_remedy_says_clear_it() {
        cuts(trekking(), "3/3", "0/3").cured(&CHECK, "lockring measure 20 cut-right …/3", |job| {
            job.measure(&[("cut-right", "3/3")])
        });
    }
}
