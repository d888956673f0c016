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
    version: 4,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "the tyre's load mark; unread, a published rating of the size, or one from memory that only advises; not weighed by axle, 60 % of the gross mass on the rear one: common practice, no source; under a \
             twentieth left is remarked on: workshop judgement",
    run,
};

/// A tyre's load rating, and what stands behind it.
struct Rating {
    load: f64,
    standing: Standing,
    source: String,
}

/// What stands behind a rating.
#[derive(Clone, Copy, PartialEq)]
enum Standing {
    /// Read off the tyre.
    Marked,
    /// A published rating of its size.
    Published,
    /// A rating of its size from memory.
    Recalled,
}

fn run(case: &Case<'_>) -> Outcome {
    let gross = prediction::gross_mass(case)?;
    let slots = [Slot::TyreFront, Slot::TyreRear];
    let axles = prediction::axles(case, gross)?;
    let mut judged: Vec<(f64, Finding)> = axles
        .iter()
        .zip(slots)
        .map(|(part, slot)| axle(case, gross, part, slot))
        .collect::<Result<_, _>>()?;
    // The tighter tyre speaks for both.
    judged.sort_by(|(a, _), (b, _)| b.total_cmp(a));
    Ok(judged.into_iter().map(|(_, finding)| finding).collect())
}

/// The share of its rating that a tyre carries, and what that means.
fn axle(case: &Case<'_>, gross: Known, axle: &Axle, slot: Slot) -> Result<(f64, Finding), Halt> {
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
    let finding = match rating.standing {
        Standing::Marked => finding,
        Standing::Published => unread(finding, number),
        Standing::Recalled => unread(
            prediction::advise_only(
                finding,
                "a rating of the size from memory, not the tyre's own mark",
            ),
            number,
        ),
    };
    Ok((axle.load.value / rating.load, finding))
}

/// A finding by the size alone: the tyre on the wheel may be marked for less, so it is no pass.
fn unread(finding: Finding, number: u32) -> Finding {
    let mut finding = finding.with_remedy(format!(
        "read the mark off the weaker tyre: lockring donor {number} tyre-load=VALUE"
    ));
    if finding.verdict == Verdict::Pass {
        finding.verdict = Verdict::Caution;
        finding.summary = format!(
            "{}; a stored rating of the size, not the tyre's own mark",
            finding.summary
        );
    }
    finding
}

/// The fitted tyre's mark, the mark of the weaker old tyre, or a stored rating of the size.
fn rating(case: &Case<'_>, slot: Slot) -> Result<Rating, Halt> {
    if let Some(tyre) = case.optional_part(slot) {
        let load = tyre.number("load")?;
        return Ok(Rating {
            load,
            standing: Standing::Marked,
            source: format!("mark of the {}", tyre.name()),
        });
    }
    if let Some(mark) = case.optional_number("tyre-load") {
        return Ok(Rating {
            load: mark.value,
            standing: Standing::Marked,
            source: "mark of the weaker tyre".to_owned(),
        });
    }
    let stored = prediction::tyre_mark(case, slot)
        .ok()
        .and_then(|mark| wheel::parse_tyre(mark).ok())
        .and_then(|mark| mark.known())
        .and_then(|tyre| wheel::stored_load(tyre.bead_seat, tyre.width));
    match stored {
        Some(row) => Ok(Rating {
            load: row.load_kg[0],
            standing: if row.basis.may_stop() {
                Standing::Published
            } else {
                Standing::Recalled
            },
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
        assert!((report.findings[0].figures[0].value - 72.0).abs() < 1e-6);
        assert_eq!(report.findings[1].verdict, Verdict::Pass);
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
        assert!((report.findings[0].figures[0].value - 66.0).abs() < 1e-6);
    }

    #[test]
    fn the_tighter_tyre_speaks_whichever_it_is() {
        // By hand: 120 kg gross, marks 110 kg: 48 and 72 kg; weighed 60 to 40 the other way round.
        let light = gross(120.0).state(&[("tyre-load", "110 kg")]);
        let report = light.expect(&CHECK, Verdict::Pass);
        assert!(report.summary().contains("rear tyre"), "{}", report.summary());
        let nose_heavy = light.measure(&[("scale-front", "60 kg"), ("scale-rear", "40 kg")]);
        let report = nose_heavy.expect(&CHECK, Verdict::Pass);
        assert!(report.summary().contains("front tyre"), "{}", report.summary());
    }

    /// Bicycle of a gross mass whose tyres are known by their size alone.
    fn unmarked(kilograms: f64, size: &str) -> Bench {
        gross(kilograms).forget("tyre-load").state(&[("tyre-size", size)])
    }

    #[test]
    fn a_published_rating_of_the_size_stops_a_job_and_never_passes_it() {
        // JIS D 9112, reference maxima: 700 x 28C 70 kg. Check case, arithmetic: 60 % of 120 kg is
        // 72 kg; of 116.5 kg 69.9.
        let report = unmarked(120.0, "28-622").expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].arithmetic[0].contains("JIS D 9112"),
            "{report:?}"
        );
        unmarked(116.5, "28-622").expect(&CHECK, Verdict::Caution);
        let report = unmarked(100.0, "28-622").expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("own mark"), "{}", report.summary());
    }

    #[test]
    fn a_rating_from_memory_advises_and_an_unknown_size_is_open() {
        // Tyre makers' tables, from memory: 40-622 105 to 115 kg. 60 % of 180 kg is 108 kg.
        let report = unmarked(180.0, "40-622").expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("advice only"), "{}", report.summary());
        trekking()
            .forget("tyre-load")
            .state(&[("tyre-size", "62-203")])
            .expect(&CHECK, Verdict::Open);
    }

    /// One tyre under its two names: JIS D 9112 has 20 x 1.75 at 65 kg, and a published table of wheel settings calls it
    /// 47-406.
    #[test]
    fn a_tyre_is_rated_the_same_under_each_of_its_names() {
        let [inches, millimetres] = ["20x1.75", "47-406"].map(|size| unmarked(100.0, size).report(&CHECK));
        assert_eq!(inches.verdict, Verdict::Caution);
        assert!(inches.summary().contains("at most 65 kg"), "{}", inches.summary());
        assert_eq!(inches.summary(), millimetres.summary());
        for size in ["20x1.75", "47-406"] {
            unmarked(120.0, size).expect(&CHECK, Verdict::Fail);
        }
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
