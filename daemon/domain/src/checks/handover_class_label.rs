//! `handover.class_label`: the label the class asks for is on the bicycle.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::prediction;
use crate::ride_class::D8;
use crate::stage::Stage;

/// Class label.
pub static CHECK: Check = Check {
    id: "handover.class_label",
    title: "label the class asks for",
    gates: &[Stage::Handover],
    family: Family::Law,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the class's stored rule on labels",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let class = prediction::ride_class(case)?;
    let Some(asked) = class.label.strip_prefix("yes") else {
        return Halt::not_applicable(format!(
            "the stored rule {} names no label ({}); {}",
            class.id,
            class.label,
            class.deference()
        ));
    };
    let asked = asked.trim_start_matches([':', ',', ' ']);
    let job = case.job().number;
    if !case.knows("class-label") {
        // Whoever looks for the label reads it, too.
        prediction::need(case, &["class-label", "label-text"])?;
    }
    let fitted = case.flag("class-label")?;
    let finding = if fitted {
        let text = case.word("label-text")?;
        Finding::new(
            Verdict::Pass,
            format!(
                "label on the bicycle: {text}; class {} asks for: {asked}",
                class.id
            ),
        )
    } else {
        Finding::new(
            Verdict::Fail,
            format!("no label on the bicycle; class {} asks for: {asked}", class.id),
        )
        .with_remedy(format!(
            "fit and photograph it: lockring measure {job} class-label yes"
        ))
        .with_remedy(format!(
            "then write down its text: lockring measure {job} label-text \"TEXT\""
        ))
    };
    let finding = if class.limits_from_memory || class.label.contains("memory") {
        prediction::advise_only(finding, "what the label must say is stored from memory").with_arithmetic(D8)
    } else {
        finding
    };
    Ok(vec![
        finding
            .with_arithmetic(format!("asked: {asked}"))
            .with_remedy(class.deference()),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::trekking;

    #[test]
    fn a_label_with_its_text_passes_and_says_what_the_class_asks_for() {
        let labelled = trekking().measure(&[
            ("class-label", "yes"),
            ("label-text", "EPAC EN 15194, 25 km/h, 250 W"),
        ]);
        let report = labelled.expect(&CHECK, Verdict::Pass);
        // EN 15194 marking, as stored with the class.
        assert!(
            report.summary().contains("EN 15194 marking"),
            "{}",
            report.summary()
        );
    }

    #[test]
    fn no_label_fails_and_a_label_without_text_is_open() {
        let asked = trekking().expect(&CHECK, Verdict::Open).missing;
        let asked: Vec<&str> = asked.iter().map(|missing| missing.how.as_str()).collect();
        assert!(
            asked.len() == 2 && asked[0].contains("class-label") && asked[1].contains("label-text"),
            "{asked:?}"
        );
        let bare = trekking().measure(&[("class-label", "no")]);
        bare.expect(&CHECK, Verdict::Fail);
        let report = bare
            .measure(&[("class-label", "yes")])
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("label-text"),
            "{:?}",
            report.missing
        );
        trekking().expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn a_label_stored_from_memory_only_advises() {
        // 16 CFR 1512.19 from memory, and a row that is from memory altogether.
        for class in ["us-fed-lseb", "kr-pas"] {
            let bare = trekking()
                .state(&[("ride-class", class)])
                .measure(&[("class-label", "no")]);
            let report = bare.expect(&CHECK, Verdict::Caution);
            assert!(report.summary().contains("advice only"), "{}", report.summary());
        }
    }

    #[test]
    fn not_applicable_where_the_stored_rule_names_none() {
        let report = trekking()
            .state(&[("ride-class", "nz-pac")])
            .expect(&CHECK, Verdict::NotApplicable);
        assert!(report.summary().contains("nz-pac"));
    }

    #[test]
    fn a_label_as_the_remedy_says_clears_it() {
        trekking().measure(&[("class-label", "no")]).cured(
            &CHECK,
            "lockring measure 20 class-label yes",
            |job| job.measure(&[("class-label", "yes"), ("label-text", "EPAC EN 15194")]),
        );
    }
}
