//! `class.rider_age`: the youngest rider against the least age of the ride class.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge;
use crate::prediction;
use crate::ride_class::deference::{D2, D8};
use crate::stage::Stage;
use crate::unit::Kind;

/// Age of the rider.
pub static CHECK: Check = Check {
    id: "class.rider_age",
    title: "rider old enough for the ride class",
    gates: &[Stage::Intake],
    family: Family::Law,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the stored row of the ride class: least age and source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let class = prediction::ride_class(case)?;
    let Some(least) = class.min_age.map(f64::from) else {
        return Halt::not_applicable(format!("{} stores no least age of the rider", class.id));
    };
    let age = case.number("rider-age")?.value;
    let (verdict, remark) = if age >= least {
        (Verdict::Pass, "within stored limit")
    } else {
        (Verdict::Fail, "under the stored limit")
    };
    let line = format!(
        "youngest rider of {age:.0} years, {} stores {least:.0}: {remark}",
        class.id
    );
    let mut finding = Finding::new(verdict, line)
        .with_figure(judge::figure(
            "age of the youngest rider",
            Kind::Age,
            "years",
            age,
        ))
        .with_arithmetic(class.deference())
        .with_arithmetic(D2)
        .with_remedy(format!(
            "another ride class, where the place allows it: lockring brief {} ride-class=CLASS",
            case.job().number
        ));
    // What is only remembered advises; it does not stop a job.
    if class.from_memory {
        finding = prediction::advise_only(finding, "the stored age is from memory").with_arithmetic(D8);
    }
    Ok(vec![finding])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, trekking};

    fn aged(class: &str, age: &str) -> Bench {
        trekking().state(&[("ride-class", class), ("rider-age", age)])
    }

    #[test]
    fn the_british_class_takes_riders_of_fourteen_and_over() {
        // UK government guidance on electric bikes, 10 December 2024: 14 years or over.
        aged("gb-eapc", "14").expect(&CHECK, Verdict::Pass);
        let young = aged("gb-eapc", "13");
        let report = young.expect(&CHECK, Verdict::Fail);
        assert!(
            report.summary().contains("13 years, gb-eapc stores 14"),
            "{}",
            report.summary()
        );
        young.state(&[("rider-age", "15")]).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn an_age_stored_from_memory_only_advises() {
        // California Vehicle Code 21213, from memory: class 3 from 16 years.
        hardtail().expect(&CHECK, Verdict::Pass);
        let report = hardtail()
            .state(&[("rider-age", "15")])
            .expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("advice only"), "{}", report.summary());
    }

    #[test]
    fn a_class_without_an_age_is_not_concerned_and_an_unasked_age_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = aged("gb-eapc", "40")
            .forget("rider-age")
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.starts_with("lockring brief 20 rider-age="),
            "{:?}",
            report.missing
        );
        trekking().forget("ride-class").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn another_class_as_the_remedy_says_clears_it() {
        aged("gb-eapc", "13").cured(&CHECK, "lockring brief 20 ride-class=CLASS", |job| {
            job.state(&[("ride-class", "eu-epac")])
        });
    }
}
