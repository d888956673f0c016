//! `class.power`: a stored ride class is chosen, and the motor's rating lies within it.

use jiff::tz::TimeZone;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge;
use crate::part::Slot;
use crate::prediction;
use crate::ride_class::deference::{D2, D4, D8};
use crate::ride_class::{PowerBasis, PowerVerdict, RideClass};
use crate::stage::Stage;
use crate::unit::Kind;

/// The class that stands for no class: private land only.
const UNCLASSED: &str = "generic-private";

/// Ride class and rated power.
pub static CHECK: Check = Check {
    id: "class.power",
    title: "ride class, and the motor's rated power within it",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Law,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "the stored row of the ride class: limit, comparator, basis of the rating and source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let class = prediction::ride_class(case)?;
    let mut findings = vec![rating(case, class)?];
    findings.extend(standing(case, class));
    findings.extend(scope(case, class)?);
    Ok(findings)
}

/// What few classes ask beyond the rating: volts, mass, and that they still hold.
fn scope(case: &Case<'_>, class: &RideClass) -> Result<Vec<Finding>, Halt> {
    let number = case.job().number;
    let mut findings = Vec::new();
    let mut over = |what: &str, value: f64, most: f64, unit: &str, cure: String| {
        if value > most + 1e-9 {
            let line = format!(
                "{what} {value:.1} {unit}, {} stores at most {most:.0} {unit}",
                class.id
            );
            findings.push(
                Finding::new(Verdict::Caution, line)
                    .with_arithmetic(D2)
                    .with_remedy(cure),
            );
        }
    };
    if let Some(most) = class.max_nominal_volts {
        let nominal = prediction::battery(&case.part(Slot::Pack)?)?.nominal().as_volts();
        let cure = format!("a pack of fewer cells in series: lockring build {number} pack=PART charger=PART");
        over("nominal volts of the pack", nominal, most, "V", cure);
    }
    if let Some(most) = class.max_mass_kg {
        let cure = format!("a lighter kit: lockring build {number} motor=PART pack=PART");
        over(
            "bicycle with its kit",
            prediction::bicycle_mass(case)?.value,
            most,
            "kg",
            cure,
        );
    }
    if let Some(end) = class.valid_until
        && case.as_of().to_zoned_datetime(TimeZone::UTC).date() > end
    {
        findings.push(
            Finding::new(
                Verdict::Caution,
                format!(
                    "{} is of use for bicycles built up to {end}: the day is past",
                    class.id
                ),
            )
            .with_arithmetic(D2)
            .with_remedy(format!(
                "a class that holds today: lockring brief {number} ride-class=CLASS"
            )),
        );
    }
    Ok(findings)
}

/// The motor's rating against the class, compared only like for like.
fn rating(case: &Case<'_>, class: &RideClass) -> Result<Finding, Halt> {
    let motor = case.part(Slot::Motor)?;
    let watts = motor.number("rated-power")?;
    let basis = motor.word("power-basis")?;
    let stated = PowerBasis::from_word(basis).expect("the attribute takes only words of a basis");
    let limit = match class.max_power {
        Some(limit) => format!("{} {}", limit.show(), class.power_basis.words()),
        None => "no limit".to_owned(),
    };
    let line = format!(
        "{}: {watts:.0} W {}, {} stores {limit}",
        motor.name(),
        stated.words(),
        class.id
    );
    let (verdict, remark) = match class.judge_power(watts, stated) {
        PowerVerdict::Within => (Verdict::Pass, "within stored limit".to_owned()),
        PowerVerdict::Over => (Verdict::Fail, "over stored limit".to_owned()),
        PowerVerdict::NotComparable => (
            Verdict::Caution,
            "not checked: only like is compared with like".to_owned(),
        ),
        PowerVerdict::NoLimit => (Verdict::Pass, "nothing to compare".to_owned()),
    };
    let mut finding = Finding::new(verdict, format!("{line}: {remark}"))
        .with_figure(judge::figure("rated power", Kind::Power, "W", watts))
        .with_arithmetic(class.deference())
        .with_arithmetic(D2);
    let number = case.job().number;
    if verdict == Verdict::Fail {
        finding = finding
            .with_remedy(format!(
                "a motor of a lower rating: lockring build {number} motor=PART"
            ))
            .with_remedy(format!(
                "another ride class, where the place allows it: lockring brief {number} ride-class=CLASS"
            ));
    }
    if verdict == Verdict::Caution {
        // Before anything has arrived only the catalogue speaks.
        finding = finding.with_remedy(if case.gate() == Stage::Intake {
            format!("a motor whose card gives the rating the class asks for: lockring build {number} motor=PART")
        } else {
            format!(
                "read the rating the class asks for off the motor or its papers: lockring receive {number} motor \
                 rated-power=VALUE power-basis=WORD"
            )
        });
    }
    Ok(if class.limits_from_memory {
        prediction::advise_only(finding, "the stored limit is from memory")
    } else {
        finding
    })
}

/// What there is to say about the class itself before anybody relies on it.
fn standing(case: &Case<'_>, class: &RideClass) -> Vec<Finding> {
    let number = case.job().number;
    let mut findings = Vec::new();
    if class.id == UNCLASSED {
        findings.push(Finding::new(Verdict::Caution, D4).with_remedy(format!(
            "a class of the place of use: lockring brief {number} ride-class=CLASS"
        )));
    }
    if class.approval_required {
        findings.push(
            Finding::new(
                Verdict::Caution,
                format!(
                    "{} ({}) needs an approval authority: no workshop check reaches this class",
                    class.id, class.name
                ),
            )
            .with_remedy("the authority's approval, on file before the bicycle is used")
            .with_remedy(format!(
                "a class without approval: lockring brief {number} ride-class=CLASS"
            )),
        );
    }
    if class.limits_from_memory && class.id != UNCLASSED {
        findings.push(
            Finding::new(Verdict::Caution, format!("{} rests on memory: {}", class.id, D8))
                .with_arithmetic(format!("source as stored: {}", class.source))
                .with_remedy("read the local text, then concede with what was read"),
        );
    }
    findings
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn two_hundred_and_fifty_watts_continuous_pass_in_the_european_class() {
        // Regulation (EU) 168/2013, Art. 2(2)(h): continuous rated power at most 250 W.
        let report = trekking().expect(&CHECK, Verdict::Pass);
        assert!(
            report.summary().contains("250 W continuous rated power"),
            "{}",
            report.summary()
        );
        longtail().expect(&CHECK, Verdict::Pass);
        let over = trekking().receive("motor", &[("rated-power", "251 W")], ReceiptText::default());
        over.expect(&CHECK, Verdict::Fail);
        over.build(&[("motor", "mid-48-250")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_comparator_is_the_class_s_own() {
        // 15 U.S.C. 2085(b): less than 750 W; Calif. Veh. Code 312.5 (2024): does not exceed 750 W.
        let at = |watts, class| {
            let bench = hardtail().receive("motor", &[("rated-power", watts)], ReceiptText::default());
            bench.state(&[("ride-class", class)]).report(&CHECK).findings[0].verdict
        };
        assert_eq!(at("749 W", "us-class1"), Verdict::Pass);
        assert_eq!(at("750 W", "us-class1"), Verdict::Fail);
        assert_eq!(at("750 W", "us-ca-class1"), Verdict::Pass);
    }

    #[test]
    fn a_limit_stored_from_memory_only_advises() {
        // The Norwegian row is from memory: 250 W continuous.
        let over = trekking().state(&[("ride-class", "no-elsykkel")]).receive(
            "motor",
            &[("rated-power", "350 W")],
            ReceiptText::default(),
        );
        let report = over.expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[0].summary.contains("advice only"),
            "{}",
            report.findings[0].summary
        );
        // The same motor is over a limit that was read.
        over.state(&[("ride-class", "eu-epac")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn a_rating_of_another_basis_is_not_compared() {
        let nominal = trekking().receive("motor", &[("power-basis", "nominal")], ReceiptText::default());
        let report = nominal.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("not checked"), "{}", report.summary());
    }

    #[test]
    fn memory_approval_and_no_class_are_cautions_that_defer() {
        let class = |id| {
            trekking()
                .state(&[("ride-class", id)])
                .expect(&CHECK, Verdict::Caution)
        };
        assert!(class("no-elsykkel").summary().contains(D8));
        assert!(
            class("eu-l1e-a")
                .findings
                .iter()
                .any(|finding| finding.summary.contains("approval authority"))
        );
        assert!(
            class("generic-private")
                .findings
                .iter()
                .any(|finding| finding.summary == D4)
        );
    }

    #[test]
    fn a_motor_over_its_class_on_arrival_stops_the_parts_gate() {
        let strong =
            trekking()
                .receive_all()
                .receive("motor", &[("rated-power", "350 W")], ReceiptText::default());
        let reports = crate::gate::run(Stage::Parts, &strong.job, &crate::rules::RuleSheet::shipped());
        let power = reports.iter().find(|report| report.check.id == CHECK.id).unwrap();
        assert_eq!(power.verdict, Verdict::Fail);
    }

    #[test]
    fn volts_mass_and_a_rule_that_has_ended_are_cautions() {
        let seen = |bench: &Bench, words: &str| {
            let report = bench.expect(&CHECK, Verdict::Caution);
            assert!(
                report
                    .findings
                    .iter()
                    .any(|finding| finding.summary.contains(words)),
                "{words}: {:?}",
                report.findings
            );
        };
        // EN 15194, scope: rated voltage up to 48 V; 14 x 3.6 V = 50.4 V.
        let volts = trekking().receive("pack", &[("series", "14")], ReceiptText::default());
        seen(
            &volts,
            "nominal volts of the pack 50.4 V, eu-epac stores at most 48 V",
        );
        // Singapore: 20 kg unladen; the bicycle with its kit comes to 22 kg.
        seen(&trekking().state(&[("ride-class", "sg-pab")]), "at most 20 kg");
        // The Canadian federal definition was repealed in February 2021.
        seen(
            &trekking().state(&[("ride-class", "ca-fed-2001")]),
            "up to 2021-02-28",
        );
    }

    #[test]
    fn without_a_class_or_a_motor_it_is_open() {
        let report = trekking().forget("ride-class").expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing[0].how, "lockring brief 20 ride-class=eu-epac");
        trekking()
            .build(&[("motor", "none")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn another_motor_and_a_rating_of_the_class_s_kind_clear_it() {
        let found = |values: &[(&str, &str)]| trekking().receive("motor", values, ReceiptText::default());
        found(&[("rated-power", "251 W")]).cured(&CHECK, "lockring build 20 motor=PART", |job| {
            job.build(&[("motor", "mid-48-250")])
        });
        found(&[("power-basis", "nominal")]).cured(
            &CHECK,
            "lockring receive 20 motor rated-power=VALUE power-basis=WORD",
            |job| {
                let read = [("rated-power", "250 W"), ("power-basis", "continuous")];
                job.receive("motor", &read, ReceiptText::default())
            },
        );
    }
}
