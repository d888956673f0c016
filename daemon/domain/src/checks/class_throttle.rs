//! `class.throttle`: the throttle wished for against what the ride class allows.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Outcome, Verdict};
use crate::prediction;
use crate::ride_class::{D2, D8, Throttle};
use crate::stage::Stage;

/// Throttle within the class.
pub static CHECK: Check = Check {
    id: "class.throttle",
    title: "throttle within the ride class",
    gates: &[Stage::Intake],
    family: Family::Law,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "the stored row of the ride class: throttle and source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let class = prediction::ride_class(case)?;
    let wish = case.word("throttle")?;
    let allowed = match class.throttle {
        Throttle::None => "no throttle",
        Throttle::Walk => "a walking aid only",
        Throttle::Full => "a throttle",
    };
    let within = match class.throttle {
        Throttle::Full => true,
        Throttle::Walk => wish != "full",
        Throttle::None => wish == "none",
    };
    let (verdict, remark) = if within {
        (Verdict::Pass, "within stored limit")
    } else {
        (Verdict::Fail, "over stored limit")
    };
    let number = case.job().number;
    let finding = Finding::new(
        verdict,
        format!(
            "throttle wished for: {wish}; {} allows {allowed}: {remark}",
            class.id
        ),
    )
    .with_arithmetic(class.deference())
    .with_arithmetic(D2);
    if within {
        return Ok(vec![finding]);
    }
    // What is only remembered advises; it does not stop a job.
    let finding = if class.limits_from_memory {
        prediction::advise_only(finding, "the stored rule is from memory").with_arithmetic(D8)
    } else {
        finding
    };
    let less = if class.throttle == Throttle::Walk {
        "walk"
    } else {
        "none"
    };
    Ok(vec![
        finding
            .with_remedy(format!("leave it out: lockring brief {number} throttle={less}"))
            .with_remedy(format!(
                "another ride class, where the place allows it: lockring brief {number} ride-class=CLASS"
            )),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};

    #[test]
    fn the_demo_jobs_wish_for_none_and_pass() {
        for bench in [trekking(), longtail(), hardtail()] {
            bench.expect(&CHECK, Verdict::Pass);
        }
    }

    #[test]
    fn the_european_class_takes_a_walking_aid_and_no_more() {
        // EN 15194, start-up assistance mode: 6 km/h, while the control is held.
        trekking()
            .state(&[("throttle", "walk")])
            .expect(&CHECK, Verdict::Pass);
        let full = trekking().state(&[("throttle", "full")]);
        let report = full.expect(&CHECK, Verdict::Fail);
        assert_eq!(
            report.findings[0].remedies[0],
            "leave it out: lockring brief 20 throttle=walk"
        );
        full.state(&[("throttle", "walk")]).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn classes_one_and_two_differ() {
        // 36 CFR 1.4: class 1 assists only while the rider pedals; class 2 may propel alone.
        let wish = |class| {
            hardtail()
                .state(&[("ride-class", class), ("throttle", "full")])
                .report(&CHECK)
                .verdict
        };
        assert_eq!(wish("us-class1"), Verdict::Fail);
        assert_eq!(wish("us-class2"), Verdict::Pass);
        let walk = hardtail().state(&[("ride-class", "us-class1"), ("throttle", "walk")]);
        assert_eq!(walk.report(&CHECK).verdict, Verdict::Fail);
    }

    #[test]
    fn a_rule_stored_from_memory_only_advises() {
        // The Norwegian row is from memory: a walking aid at most.
        let full = trekking().state(&[("ride-class", "no-elsykkel"), ("throttle", "full")]);
        let report = full.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("advice only"), "{}", report.summary());
        full.state(&[("throttle", "walk")]).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn an_unasked_wish_is_open() {
        let report = trekking().forget("throttle").expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing[0].how, "lockring brief 20 throttle=none/walk/full");
    }

    #[test]
    fn the_wish_the_remedy_names_clears_it() {
        trekking()
            .state(&[("throttle", "full")])
            .cured(&CHECK, "lockring brief 20 throttle=walk", |job| {
                job.state(&[("throttle", "walk")])
            });
    }
}
