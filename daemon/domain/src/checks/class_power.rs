//! `class.power`: a stored ride class is chosen, the motor's rating lies within it, and so does what
//! else few classes ask of the bicycle as built.

mod scope;

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
    version: 7,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "the stored row of the ride class: limit, comparator, basis of the rating and source; what few \
             classes ask of volts, mass, width, wheels, the ratio of help and a certificate of the whole \
             electrical system stands with its source in the table of ride classes",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let class = prediction::ride_class(case)?;
    // Before the rating: of several lines of one weight the first stands for the check.
    let mut findings: Vec<Finding> = scope::certified_set(case, class).into_iter().collect();
    findings.push(rating(case, class)?);
    findings.extend(standing(case, class));
    findings.extend(scope::findings(case, class)?);
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
        if let Some(times) = far_over(case, class, watts, stated) {
            finding.summary = format!(
                "{line}: {times:.1} times that, and no {} is on file: not checked, and hardly a motor of this class; whoever \
                 concedes it answers for it",
                class.power_basis.words()
            );
            finding = finding.with_arithmetic(prediction::caution("pt-motor-rating"));
        }
        // Before anything has arrived only the catalogue speaks.
        let how = if case.gate() == Stage::Intake {
            format!(
                "a motor whose card gives the rating the class asks for: lockring build {number} motor=PART"
            )
        } else {
            format!(
                "read the rating the class asks for off the motor or its papers: lockring receive {number} \
                 motor rated-power=VALUE power-basis=WORD"
            )
        };
        finding = finding.with_remedy(how);
    }
    Ok(if class.limits_from_memory {
        prediction::advise_only(finding, "the stored limit is from memory")
    } else {
        finding
    })
}

/// Whether the motor's rating is so far over its class's limit that nobody believes any more that another kind of
/// rating explains it.
pub(crate) fn is_out_of_class(case: &Case<'_>) -> bool {
    let found = || {
        let class = prediction::ride_class(case)?;
        let motor = case.part(Slot::Motor)?;
        let (watts, basis) = (motor.number("rated-power")?, motor.word("power-basis")?);
        let stated = PowerBasis::from_word(basis).expect("the attribute takes only words of a basis");
        let open = class.judge_power(watts, stated) == PowerVerdict::NotComparable;
        Ok::<bool, Halt>(open && far_over(case, class, watts, stated).is_some())
    };
    found().unwrap_or(false)
}

/// How many times the limit a rating of another kind is, where nobody believes any more that the kind
/// alone explains it: only like is compared with like, so it is said aloud and stops nothing. A sustained
/// rating under another name lies near the continuous one; a peak is some two to three times it.
fn far_over(case: &Case<'_>, class: &RideClass, watts: f64, stated: PowerBasis) -> Option<f64> {
    // A limit that is only remembered advises.
    let limit = class.max_power.filter(|_| !class.limits_from_memory)?;
    let most = case.rule(if stated == PowerBasis::MaxOutput {
        "class.peak-times"
    } else {
        "class.rating-times"
    });
    let times = watts / limit.watts;
    (times > most - 1e-9).then_some(times)
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
mod tests;
