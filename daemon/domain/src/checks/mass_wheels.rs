//! `mass.wheels`: the load on each axle against the mark of its wheel.

use lockring_calc::doubt::Limit;
use lockring_calc::mass::NEARLY;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Axle loads within the wheels' marks.
pub static CHECK: Check = Check {
    id: "mass.wheels",
    title: "axle loads within the wheels' marks",
    gates: &[Stage::Intake, Stage::Fitting],
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
    source: "the wheel's own mark; under a twentieth left is remarked on: workshop judgement; axle loads as in mass.tyres",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let marks = ["wheel-limit-front", "wheel-limit-rear"];
    if !marks.iter().any(|key| case.knows(key)) {
        return Halt::not_applicable("no wheel carries a load mark");
    }
    let gross = prediction::gross_mass(case)?;
    let axles = prediction::axles(case, gross)?;
    let job = case.job().number;
    let mut findings = Vec::new();
    for (axle, key) in axles.iter().zip(marks) {
        let Some(mark) = case.optional_number(key) else {
            continue;
        };
        let what = format!("load on the {} wheel", axle.word);
        findings.push(
            Judged::new(&what, axle.load, Kind::Mass, "kg")
                .between(
                    Limit::AtMost(mark.value * (1.0 - NEARLY)),
                    Limit::AtMost(mark.value),
                )
                .with_arithmetic(format!(
                    "{:.1} kg gross x {:.2} = {:.1} kg; marked {:.1} kg",
                    gross.value, axle.share.value, axle.load.value, mark.value
                ))
                .with_remedy(format!(
                    "a wheel of a higher mark, as a line on the quote: lockring donor {job} {key} VALUE"
                ))
                .with_remedy(format!(
                    "less load, agreed with the rider: lockring brief {job} load-mass=VALUE"
                )),
        );
    }
    Ok(findings)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};

    /// 22 kg of bicycle, 72 kg of rider and 6 kg of load: 100 kg gross, 60 kg on the rear axle.
    fn marked(rear: &str) -> Bench {
        trekking()
            .measure(&[("mass-after", "22 kg")])
            .state(&[("wheel-limit-rear", rear)])
    }

    #[test]
    fn the_mark_is_crossed_through_its_last_twentieth() {
        // Rear axle 60 % of 100 kg; hanging scale 0.1 kg: doubt 0.12 kg. 60/0.95 = 63.16 kg.
        for (mark, verdict) in [
            ("63.4 kg", Verdict::Pass),
            ("63 kg", Verdict::Caution),
            ("60.2 kg", Verdict::Caution),
            ("59.8 kg", Verdict::Fail),
        ] {
            let report = marked(mark).expect(&CHECK, verdict);
            assert_eq!(report.findings.len(), 1);
        }
    }

    #[test]
    fn each_axle_bears_its_own() {
        let both = marked("70 kg").state(&[("wheel-limit-front", "39 kg")]);
        let report = both.expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings[1].verdict, Verdict::Pass);
        assert!(
            report.findings[0].summary.contains("front"),
            "{:?}",
            report.findings
        );
        let words = report.findings[0].remedies[0].clone();
        both.cured(&CHECK, &words, |job| job.state(&[("wheel-limit-front", "45 kg")]));
    }

    #[test]
    fn less_load_clears_it_too() {
        // 5 kg less: 95 kg, 57 kg rear of 60.
        let over = marked("59 kg");
        over.expect(&CHECK, Verdict::Fail);
        over.state(&[("load-mass", "0 kg"), ("wheel-limit-rear", "60 kg")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn unmarked_it_does_not_apply_and_unweighed_it_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        trekking()
            .state(&[("wheel-limit-rear", "90 kg")])
            .forget("rider-mass")
            .expect(&CHECK, Verdict::Open);
    }
}
