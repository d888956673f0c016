//! `mass.tyres`: the load on each axle against the load mark of its tyre.

use lockring_calc::doubt::Limit;
use lockring_calc::mass::NEARLY;
use lockring_calc::wheel;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction::{self, Axle};
use crate::stage::Stage;
use crate::unit::Kind;

/// Axle loads within the tyres' marks.
pub static CHECK: Check = Check {
    id: "mass.tyres",
    title: "axle loads within the tyres' load marks",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Safe,
    version: 2,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "the tyre's load mark; not weighed by axle, 60 % of the gross mass on the rear one: common practice, no source; under a \
             twentieth left is remarked on: workshop judgement",
    run,
};

/// A tyre's load rating, and whether it was read off a tyre.
struct Rating {
    load: f64,
    marked: bool,
    source: String,
}

fn run(case: &Case<'_>) -> Outcome {
    let gross = prediction::gross_mass(case)?;
    let slots = [Slot::TyreFront, Slot::TyreRear];
    let axles = prediction::axles(case, gross)?;
    axles
        .iter()
        .zip(slots)
        .map(|(part, slot)| axle(case, gross, part, slot))
        .collect()
}

fn axle(case: &Case<'_>, gross: Known, axle: &Axle, slot: Slot) -> Result<Finding, Halt> {
    let rating = rating(case, slot)?;
    let what = format!("load on the {} tyre", axle.word);
    let number = case.job().number;
    let finding = Judged::new(&what, axle.load, Kind::Mass, "kg")
        .between(
            Limit::AtMost(rating.load * (1.0 - NEARLY)),
            Limit::AtMost(rating.load),
        )
        .with_arithmetic(format!(
            "{:.1} kg gross x {:.2} = {:.1} kg; {}",
            gross.value, axle.share.value, axle.load.value, rating.source
        ))
        .with_remedy(format!(
            "a tyre of a higher load mark: lockring build {number} {}=PART",
            slot.word()
        ))
        .with_remedy(format!(
            "less load, agreed with the rider: lockring brief {number} load-mass=VALUE"
        ));
    if rating.marked {
        return Ok(finding);
    }
    let mut finding =
        prediction::advise_only(finding, "a stored rating of the size, not the tyre's own mark").with_remedy(
            format!("read the mark off the weaker tyre: lockring donor {number} tyre-load=VALUE"),
        );
    finding.verdict = finding.verdict.max(Verdict::Caution);
    Ok(finding)
}

/// The fitted tyre's mark, the mark of the weaker old tyre, or a stored rating of the size.
fn rating(case: &Case<'_>, slot: Slot) -> Result<Rating, Halt> {
    if let Some(tyre) = case.optional_part(slot) {
        let load = tyre.number("load")?;
        return Ok(Rating {
            load,
            marked: true,
            source: format!("mark of the {}", tyre.name()),
        });
    }
    if let Some(mark) = case.optional_number("tyre-load") {
        return Ok(Rating {
            load: mark.value,
            marked: true,
            source: "mark of the weaker tyre".to_owned(),
        });
    }
    let stored = case
        .optional_word("tyre-size")
        .and_then(|mark| wheel::parse_tyre(mark).ok())
        .and_then(|mark| mark.known())
        .and_then(|tyre| wheel::stored_load(tyre.bead_seat, tyre.width));
    match stored {
        Some(row) => Ok(Rating {
            load: row.load_kg[0],
            marked: false,
            source: row.source.to_owned(),
        }),
        None => Err(case.open("tyre-load")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};

    /// Trekking bicycle weighed at 22 kg with a load that brings it to a gross mass.
    fn gross(kilograms: f64) -> Bench {
        let load = format!("{} kg", kilograms - 22.0 - 72.0);
        trekking()
            .measure(&[("mass-after", "22 kg")])
            .state(&[("load-mass", &load)])
    }

    #[test]
    fn the_demo_tyres_carry_their_axles() {
        for bench in [trekking(), longtail(), hardtail()] {
            assert_eq!(bench.expect(&CHECK, Verdict::Pass).findings.len(), 2);
        }
    }

    #[test]
    fn seventy_two_kilograms_on_a_tyre_of_seventy_fail() {
        // JIS D 9112, reference maximum: 700 x 28C 70 kg. Check case, arithmetic: 120 kg gross
        // x 60 % = 72 kg.
        let over = gross(120.0).state(&[("tyre-load", "70 kg")]);
        let report = over.expect(&CHECK, Verdict::Fail);
        assert!((report.findings[1].figures[0].value - 72.0).abs() < 1e-6);
        assert_eq!(report.findings[0].verdict, Verdict::Pass);
        over.state(&[("tyre-load", "110 kg")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_verdict_turns_across_the_mark_with_the_scale_s_doubt_between() {
        // Scale 0.2 kg expanded, 60 % of it 0.12 kg; mark 70 kg, so 116.67 kg gross.
        let at = |kilograms| {
            gross(kilograms)
                .state(&[("tyre-load", "70 kg")])
                .report(&CHECK)
                .verdict
        };
        // A twentieth of the mark is 3.5 kg: 66.5 kg, 110.8 kg gross.
        assert_eq!(at(110.4), Verdict::Pass);
        assert_eq!(at(111.2), Verdict::Caution);
        // Check case, arithmetic: 116.5 kg x 60 % = 69.9 kg is within by 0.1 kg and remarked on.
        assert_eq!(at(116.5), Verdict::Caution);
        assert_eq!(at(117.0), Verdict::Fail);
    }

    #[test]
    fn a_scale_under_each_wheel_goes_before_the_rule_of_thumb() {
        // By hand: 120 kg gross, 55 of 100 kg weighed on the rear: 66 kg instead of 72.
        let over = gross(120.0).state(&[("tyre-load", "70 kg")]);
        over.expect(&CHECK, Verdict::Fail);
        let weighed = over.measure(&[("scale-front", "45 kg"), ("scale-rear", "55 kg")]);
        let report = weighed.expect(&CHECK, Verdict::Pass);
        assert!((report.findings[1].figures[0].value - 66.0).abs() < 1e-6);
    }

    #[test]
    fn a_stored_rating_advises_and_an_unknown_size_is_open() {
        let unmarked = gross(120.0).forget("tyre-load").state(&[("tyre-size", "28-622")]);
        let report = unmarked.expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[1].summary.contains("advice only"),
            "{:?}",
            report.findings[1]
        );
        trekking()
            .forget("tyre-load")
            .state(&[("tyre-size", "62-203")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn a_tyre_of_a_higher_mark_as_the_remedy_says_clears_it() {
        gross(120.0)
            .forget("tyre-load")
            .state(&[("tyre-size", "28-622")])
            .cured(&CHECK, "lockring donor 20 tyre-load=VALUE", |job| {
                job.state(&[("tyre-load", "110 kg")])
            });
    }
}
