//! `brakes.fitness`: two independent brakes, one a wheel, before anything moves under power.

use lockring_calc::dropout::Wheel;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Outcome, Verdict};
use crate::prediction;
use crate::stage::Stage;

/// A brake on each wheel.
pub static CHECK: Check = Check {
    id: "brakes.fitness",
    title: "two independent brakes",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Safe,
    version: 1,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "two independent brakes, one per wheel: ISO 4210-2 as adopted in TBIS 4210-2:2018",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let wheels = [("front", Wheel::Front), ("rear", Wheel::Rear)];
    wheels
        .into_iter()
        .map(|(word, wheel)| Ok(one(case, word, prediction::brake(case, wheel)?.kind)))
        .collect()
}

fn one(case: &Case<'_>, wheel: &str, kind: &str) -> Finding {
    if kind == "none" {
        let number = case.job().number;
        return Finding::new(
            Verdict::Fail,
            format!("no {wheel} brake: each wheel needs one of its own"),
        )
        .with_arithmetic(prediction::caution("in-brakes"))
        .with_remedy(format!("a set of brakes: lockring build {number} brake-set=PART"))
        .with_remedy(format!(
            "or, fitted already: lockring donor {number} brake-{wheel}=KIND"
        ));
    }
    Finding::new(Verdict::Pass, format!("{wheel} brake: {kind}"))
        .with_arithmetic(prediction::caution("in-brakes"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn the_demo_bicycles_have_two_brakes_each() {
        for bench in [trekking(), longtail(), hardtail()] {
            assert_eq!(bench.expect(&CHECK, Verdict::Pass).findings.len(), 2);
        }
    }

    #[test]
    fn one_brake_fails_until_a_set_is_chosen() {
        for code in ["brake-front", "brake-rear"] {
            let one = trekking().state(&[(code, "none")]);
            one.expect(&CHECK, Verdict::Fail);
            one.build(&[("brake-set", "brakes-disc-2")])
                .expect(&CHECK, Verdict::Pass);
        }
    }

    #[test]
    fn a_coaster_set_brakes_the_rear_wheel_only() {
        let coaster = longtail().receive("brake-set", &[("type", "coaster")], ReceiptText::default());
        let report = coaster.expect(&CHECK, Verdict::Pass);
        assert!(
            report.findings[0].summary.contains("hydraulic-disc"),
            "{}",
            report.findings[0].summary
        );
        coaster
            .state(&[("brake-front", "none")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn brakes_nobody_looked_at_are_open() {
        trekking().forget("brake-front").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn either_remedy_clears_it() {
        let one = || trekking().state(&[("brake-front", "none")]);
        one().cured(&CHECK, "lockring build 20 brake-set=PART", |job| {
            job.build(&[("brake-set", "brakes-disc-2")])
        });
        one().cured(&CHECK, "lockring donor 20 brake-front=KIND", |job| {
            job.state(&[("brake-front", "rim-linear")])
        });
    }
}
