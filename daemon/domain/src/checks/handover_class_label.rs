//! `handover.class_label`: the label the class asks for is on the bicycle.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::prediction;
use crate::ride_class::label::{self, Says, Tells};
use crate::ride_class::{D8, RideClass};
use crate::stage::Stage;

/// Class label.
pub static CHECK: Check = Check {
    id: "handover.class_label",
    title: "label the class asks for",
    gates: &[Stage::Handover],
    family: Family::Law,
    version: 4,
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
    let asked = asked.trim_start_matches([':', ';', ',', ' ']);
    let job = case.job().number;
    if !case.knows("class-label") {
        // Whoever looks for the label reads it, too.
        prediction::need(case, &["class-label", "label-text"])?;
    }
    let fitted = case.flag("class-label")?;
    let finding = if fitted {
        let text = case.word("label-text")?;
        let said = format!(
            "label on the bicycle: {text}; class {} asks for: {asked}",
            class.id
        );
        let lacking = lacking(class, text);
        if lacking.is_empty() {
            Finding::new(Verdict::Pass, said)
        } else {
            let lacking = lacking.join(", ");
            Finding::new(Verdict::Caution, format!("{said}; not found in its text: {lacking}")).with_remedy(format!(
                "look at the label; where it says {lacking} write down all of it, else fit one that does: lockring measure \
                 {job} label-text \"TEXT\""
            ))
        }
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
            .with_arithmetic(class.deference()),
    ])
}

/// What the class asks of the label, as stored, that a text does not tell; empty for what only eyes can tell.
fn lacking(class: &RideClass, text: &str) -> Vec<&'static str> {
    let text = text.to_lowercase();
    let words: Vec<&str> = text
        .split(|letter: char| !letter.is_alphanumeric() && letter != '/')
        .filter(|word| !word.is_empty())
        .collect();
    let counted = |says: Says| {
        let is_unit = |word: &str| {
            label::words()
                .iter()
                .any(|(unit, of)| *of == says && unit == word)
        };
        let of_one = |word: &&str| {
            let number = word.trim_start_matches(|letter: char| letter.is_ascii_digit());
            number.len() < word.len() && is_unit(number)
        };
        let of_two = |pair: &[&str]| pair[0].ends_with(|c: char| c.is_ascii_digit()) && is_unit(pair[1]);
        words.iter().any(of_one) || words.windows(2).any(of_two)
    };
    // A name is a word that is neither a unit nor what the rule itself is called.
    let is_name = |word: &&str| {
        let bare = word.trim_start_matches(|letter: char| !letter.is_alphabetic());
        let is_long = bare.chars().filter(|letter| letter.is_alphabetic()).count() >= 3;
        is_long && label::words().iter().all(|(own, _)| own != bare)
    };
    let tells = |asked: &Tells| match asked {
        Tells::Power => ("the power in watts", counted(Says::Watts)),
        Tells::Wattage => ("the motor's watts", counted(Says::Watts)),
        Tells::TopSpeed => ("the top assisted speed", counted(Says::Speed)),
        Tells::AssistSpeed => ("the speed to which it helps", counted(Says::Speed)),
        Tells::Maker => ("the maker", words.iter().any(is_name)),
        Tells::VoltsOrRpm => (
            "the volts or the motor's speed",
            counted(Says::Volts) || counted(Says::Turns),
        ),
        Tells::ShaftRpm => ("the shaft's rpm", counted(Says::Turns)),
        Tells::Class => ("the number of the class", text.contains("class")),
        Tells::En15194 => (
            "EN 15194 or EPAC",
            text.contains("15194") || text.contains("epac"),
        ),
    };
    let asked = class.label_tells.iter().map(tells);
    asked.filter(|(_, told)| !told).map(|(what, _)| what).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::trekking;
    use crate::ride_class;

    /// As stored: Great Britain asks for power, maker and volts or motor speed; the three-class model for class, top
    /// assisted speed and wattage; California's second class for what its first does.
    #[test]
    fn a_text_without_what_the_class_asks_for_is_a_caution_that_names_it() {
        let labelled = |class: &str, text: &str| {
            trekking()
                .state(&[("ride-class", class)])
                .measure(&[("class-label", "yes"), ("label-text", text)])
                .report(&CHECK)
        };
        for (class, text, lacking) in [
            ("eu-epac", "xx", "EN 15194 or EPAC"),
            (
                "gb-eapc",
                "xx",
                "the power in watts, the maker, the volts or the motor's speed",
            ),
            ("gb-eapc", "250 W, Field Cycles", "the volts or the motor's speed"),
            // Units are no maker, and what another row asks for counts with what stands beside it.
            ("gb-eapc", "250 W, 36 V, 25 km/h", "the maker"),
            ("gb-eapc", "250 W, 230rpm, 15.5mph, 25kph", "the maker"),
            (
                "gb-eapc-tag",
                "250 W, Field Cycles",
                "the volts or the motor's speed",
            ),
            (
                "au-epac",
                "EPAC",
                "the power in watts, the speed to which it helps, the maker",
            ),
            ("ca-qc", "500 W", "the shaft's rpm"),
            ("us-class2", "Class 2, 500W", "the top assisted speed"),
            (
                "us-ca-class2",
                "20 mph",
                "the motor's watts, the number of the class",
            ),
        ] {
            let report = labelled(class, text);
            assert_eq!(report.verdict, Verdict::Caution, "{class} {text}: {report:?}");
            let said = format!("not found in its text: {lacking}");
            assert!(report.summary().ends_with(&said), "{}", report.summary());
        }
        for (class, text) in [
            ("gb-eapc", "250 W, Field Cycles, 36 V"),
            ("us-class2", "CLASS 2, 20 mph, 500W"),
            ("us-ca-class2", "Class 2 - 20MPH - 500 watts"),
        ] {
            assert_eq!(labelled(class, text).verdict, Verdict::Pass, "{class} {text}");
        }
        let short = trekking().measure(&[("class-label", "yes"), ("label-text", "xx")]);
        short.cured(&CHECK, "lockring measure 20 label-text", |job| {
            job.measure(&[("label-text", "EPAC EN 15194")])
        });
    }

    /// Texts written after the stored rows, none of them off a real bicycle; a row that asks for what only eyes can tell takes
    /// any text.
    #[test]
    fn a_label_as_each_class_asks_for_it_lacks_nothing() {
        for class in ride_class::all()
            .iter()
            .filter(|class| class.label.starts_with("yes"))
        {
            let text = match class.id.as_str() {
                "us-fed-lseb" => "Field Cycles, made 05/2026",
                "us-class1" | "us-class2" | "us-ca-class1" | "us-ca-class2" => "Class 2, 20 mph, 500 W",
                "us-class3" | "us-ca-class3" => "CLASS 3 28MPH 750W",
                "ca-fed-2001" => "power-assisted bicycle / bicyclette assistée",
                "ca-on" => "Field Cycles: this is a power-assisted bicycle as federal law defines it",
                "ca-qc" => "500 W continuous, 230 rpm",
                "eu-epac" => "EN 15194, CE",
                "gb-eapc" => "Field Cycles, 250 W, 36 V",
                "gb-eapc-tag" => "Field Cycles, 250 W, 230 rpm, plate 1234",
                "au-epac" => "EN 15194 EPAC, 25 km/h, 250 W, Field Cycles",
                "au-nsw-500" => "AS 15194:2016",
                _ => "1234",
            };
            assert_eq!(lacking(class, text), Vec::<&str>::new(), "{}: {text}", class.id);
        }
    }

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
