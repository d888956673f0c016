//! `mass.as_weighed`: the bicycle on the scale against the sum of its parts.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Weighed minus summed.
pub static CHECK: Check = Check {
    id: "mass.as_weighed",
    title: "finished bicycle weighs what its parts do",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open],
    source: "workshop judgement: within 1 kg good, 2 kg at most; it only advises",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(case, &["mass-before", "mass-after"])?;
    let (before, after) = (case.number("mass-before")?, case.number("mass-after")?);
    let summed = prediction::summed_mass(case)?;
    // The limits stand for the doubt of stated part masses; only the scale's is added.
    let known = Known {
        value: after.value - summed.value,
        u: after.u.hypot(before.u),
        ..after
    };
    let (good, most) = (case.rule("mass.weighed-good"), case.rule("mass.weighed-most"));
    let kilograms = |si| unit::show(Kind::Mass, "kg", si);
    let job = case.job().number;
    let finding = Judged::new(
        "finished bicycle over the sum of its parts by",
        known,
        Kind::Mass,
        "kg",
    )
    .between(Limit::Within(-good, good), Limit::Within(-most, most))
    .with_arithmetic(format!(
        "{:.1} kg weighed - ({:.1} kg before + {} + small parts {}) = {:+.1} kg",
        after.value,
        before.value,
        parts(case),
        kilograms(case.rule("mass.small-parts")),
        known.value
    ))
    .with_arithmetic(format!(
        "the doubt is the scale's; what the parts' stated masses are off by, {} in all, is what the limits leave room for",
        kilograms(case.rule("mass.parts-doubt"))
    ))
    // Nothing was changed: the reading it doubts stays beside the next one.
    .with_remedy(format!("weigh it again, pack in: lockring measure {job} mass-after KG"))
    .with_remedy(format!(
        "look for a part that is not in the build, or a mass the catalogue has wrong: lockring show {job}"
    ));
    Ok(vec![prediction::advise_only(
        finding,
        "the limits are workshop judgement; what the scale says counts everywhere else",
    )])
}

fn parts(case: &Case<'_>) -> String {
    let each = [Slot::Motor, Slot::Controller, Slot::Pack]
        .into_iter()
        .filter_map(|slot| {
            let mass = case.optional_part(slot)?.optional_number("mass")?;
            Some(format!("{} {}", slot.word(), unit::show(Kind::Mass, "kg", mass)))
        });
    each.collect::<Vec<_>>().join(" + ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{hardtail, longtail, trekking};

    #[test]
    fn the_demo_bicycles_weigh_what_their_parts_do() {
        // Worked example of the trade (common practice, no source): 22.0 kg, 40.0 kg, 52 lb
        // with kit. 15.3 + 2.9 + 0.4 + 2.6 + 0.8 = 22.0 by hand.
        let report = trekking()
            .measure(&[("mass-after", "22.0 kg")])
            .expect(&CHECK, Verdict::Pass);
        assert!(report.findings[0].figures[0].value.abs() < 1e-9);
        longtail()
            .measure(&[("mass-after", "40.0 kg")])
            .expect(&CHECK, Verdict::Pass);
        hardtail()
            .measure(&[("mass-after", "52 lb")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_limits_are_crossed_through_a_band_of_doubt_on_both_sides() {
        // Two weighings of 0.1 kg: doubt 2 x hypot(0.1, 0.1) = 0.28 kg around 1 and 2 kg.
        for (mass, verdict) in [
            ("22.7", Verdict::Pass),
            ("22.9", Verdict::Caution),
            ("23.6", Verdict::Caution),
            ("24.1", Verdict::Caution),
            ("24.4", Verdict::Caution),
            ("21.3", Verdict::Pass),
            ("20.5", Verdict::Caution),
            ("19.6", Verdict::Caution),
        ] {
            trekking()
                .measure(&[("mass-after", mass)])
                .expect(&CHECK, verdict);
        }
    }

    #[test]
    fn weighing_again_clears_a_slip() {
        let slip = trekking().measure(&[("mass-after", "25.0")]);
        let report = slip.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("advice only"), "{}", report.summary());
        // What is only doubted is not thrown away.
        assert!(report.findings[0].remedies[0].ends_with("lockring measure 20 mass-after KG"));
        slip.measure(&[("mass-after", "22.1")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn it_is_open_until_weighed() {
        let report = trekking().expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0]
                .how
                .starts_with("lockring measure 20 mass-after"),
            "{:?}",
            report.missing
        );
        assert_eq!(
            trekking()
                .forget("mass-before")
                .expect(&CHECK, Verdict::Open)
                .missing
                .len(),
            2
        );
    }

    #[test]
    fn weighing_again_as_the_remedy_says_clears_it() {
        trekking().measure(&[("mass-after", "25.0")]).cured(
            &CHECK,
            "lockring measure 20 mass-after KG",
            |job| job.measure(&[("mass-after", "22.1")]),
        );
    }
}
