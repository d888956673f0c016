//! `wheel.rim_tyre`: whether the tyre goes on the rim, and whether its width suits it.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;
use lockring_calc::wheel::{self, TyreMark};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::code;
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Tyres on their rims.
pub static CHECK: Check = Check {
    id: "wheel.rim_tyre",
    title: "tyres of the rims' size and of a width that suits them",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Safe,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "bead seat: ISO 5775; widths: the tyre and rim organisation's manual, older edition, from memory; ratio \
             1.4 to 3.6: workshop judgement",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let (inner, bead) = (
        case.optional_number("rim-inner"),
        case.optional_number("rim-bead"),
    );
    let mut findings: Vec<Finding> = on_own_front_rim(case).into_iter().collect();
    if inner.is_none() && bead.is_none() {
        return if findings.is_empty() {
            Halt::not_applicable("the rims were not measured")
        } else {
            Ok(findings)
        };
    }
    for (word, slot) in tyres(case)? {
        let text = prediction::tyre_mark(case, slot)?;
        let mark = wheel::parse_tyre(text).map_err(|error| unclear(case, slot, &error.to_string()))?;
        if slot == Slot::TyreFront && own_front_mark(case).is_some() {
            case.assume("what was measured of the rims is the rear one's");
            continue;
        }
        if let Some(bead) = bead {
            findings.push(seat(case, slot, word, text, &mark, bead.value));
        }
        if let Some(inner) = inner {
            findings.extend(width(case, word, slot, inner)?);
        }
    }
    Ok(findings)
}

/// Mark of the front tyre the bicycle came in with, where its wheel is of another size than the rear one: rims are measured
/// at one.
fn own_front_mark(case: &Case<'_>) -> Option<TyreMark> {
    let mark = |key| wheel::parse_tyre(case.optional_word(key)?).ok();
    let (front, rear) = (mark("tyre-size-front")?, mark("tyre-size")?);
    (front.bead_seats != rear.bead_seats).then_some(front)
}

/// A chosen front tyre of another size than the one the bicycle came in with, whose mark tells a front rim's size that differs
/// from the rear one's.
fn on_own_front_rim(case: &Case<'_>) -> Option<Finding> {
    let slot = Slot::TyreFront;
    let (own, text) = (
        own_front_mark(case)?,
        case.optional_part(slot)?.optional_word("size")?,
    );
    let mark = wheel::parse_tyre(text).ok()?;
    match own.bead_seats[..] {
        [rim] if mark.bead_seats != own.bead_seats => Some(seat(
            case,
            slot,
            "front tyre",
            text,
            &mark,
            f64::from(rim) / 1000.0,
        )),
        _ => None,
    }
}

/// Tyres that differ, each by a slot that has it: the pair where both are of one mark.
fn tyres(case: &Case<'_>) -> Result<Vec<(&'static str, Slot)>, Halt> {
    let same = prediction::tyre_mark(case, Slot::TyreFront)? == prediction::tyre_mark(case, Slot::TyreRear)?;
    Ok(if same {
        vec![("tyres", Slot::TyreRear)]
    } else {
        vec![("front tyre", Slot::TyreFront), ("rear tyre", Slot::TyreRear)]
    })
}

/// Pure geometry: a bead of another diameter than the rim's, m, does not seat, or comes off.
fn seat(case: &Case<'_>, slot: Slot, word: &str, text: &str, mark: &TyreMark, bead: f64) -> Finding {
    let rim = Length::from_si(bead);
    let fits = |seat: &u16| wheel::same_bead_seat(rim, Length::millimetres(f64::from(*seat)));
    let seats = code::bead_seats(mark);
    let (verdict, remark) = if mark.bead_seats.iter().all(fits) {
        (Verdict::Pass, "one size")
    } else if mark.bead_seats.iter().any(fits) {
        (
            Verdict::Caution,
            "the name stands for several sizes: read the mark in mm",
        )
    } else {
        (Verdict::Fail, "another size: the bead does not seat")
    };
    let job = case.job().number;
    let rim_mm = format!("{:.0}", rim.as_millimetres());
    Finding::new(
        verdict,
        format!("{word} {text}, bead seat {seats}, on a rim of {rim_mm} mm: {remark}",),
    )
    .with_remedy(format!(
        "the mark in mm off the sidewall: lockring donor {job} {}=WIDTH-{rim_mm}",
        prediction::tyre_code(case, slot)
    ))
    .with_remedy(format!(
        "tyres for {rim_mm} mm: lockring build {job} tyre-front=PART tyre-rear=PART"
    ))
    .never_conceded()
}

/// Width against the table, and against plain sense where the table ends.
fn width(case: &Case<'_>, word: &str, slot: Slot, inner: Known) -> Result<Vec<Finding>, Halt> {
    let tyre = prediction::tyre_width(case, slot)?;
    let usual = wheel::usual_inner(tyre).map_err(|error| prediction::unusable(case, "tyre", &error))?;
    let job = case.job().number;
    let cure = format!("tyres of another width: lockring build {job} tyre-front=PART tyre-rear=PART");
    let ratio = tyre.si() / inner.value;
    let sense = Judged::new(
        &format!("width of the {word} over the rim's inner width"),
        Known {
            value: ratio,
            u: ratio * inner.u / inner.value,
            ..inner
        },
        Kind::Count,
        "",
    )
    .against(Limit::Within(
        case.rule("wheel.tyre-ratio-least"),
        case.rule("wheel.tyre-ratio-most"),
    ))
    .with_arithmetic(format!(
        "{:.1} / {:.1} mm = {ratio:.2}; usual for {:.0} mm is a rim of {:.1} mm",
        tyre.as_millimetres(),
        1000.0 * inner.value,
        tyre.as_millimetres(),
        usual.as_millimetres()
    ))
    .with_remedy(cure.clone());
    let mut findings = vec![prediction::advise_only(sense, "workshop judgement")];
    if let Some((least, most)) = listed(inner) {
        let wide = Known {
            value: tyre.si(),
            u: 0.0,
            provenance: Provenance::Stated,
        };
        let listed = Judged::new(&format!("width of the {word}"), wide, Kind::Length, "mm")
            .against(Limit::Within(least, most))
            .with_arithmetic(format!(
                "a rim {:.1} mm wide inside takes tyres of {:.0} to {:.0} mm",
                1000.0 * inner.value,
                1000.0 * least,
                1000.0 * most
            ))
            .with_remedy(cure);
        let why = "the list is from memory and newer ones are wider; the rim maker's own list goes first";
        findings.push(prediction::advise_only(listed, why));
    }
    Ok(findings)
}

/// Widths, m, that every row within the calliper's doubt allows; `None` off the table.
fn listed(inner: Known) -> Option<(f64, f64)> {
    let row = |si| wheel::rim_width(Length::from_si(si)).map(|row| row.tyre_mm);
    let here = row(inner.value)?;
    let rows =
        [inner.value - inner.expanded(), inner.value + inner.expanded()].map(|si| row(si).unwrap_or(here));
    let least = rows.iter().fold(here[0], |least, row| least.max(row[0]));
    let most = rows.iter().fold(here[1], |most, row| most.min(row[1]));
    Some((least / 1000.0, most / 1000.0))
}

fn unclear(case: &Case<'_>, slot: Slot, why: &str) -> Halt {
    let code = prediction::tyre_code(case, slot);
    Halt::Open(vec![Missing {
        what: format!("a tyre size that can be read: {why}"),
        how: format!("lockring donor {} {code}=42-622", case.job().number),
    }])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};
    use crate::fact::Value;
    use crate::part::PartKind;

    /// As a job of long ago may say it: a name of several sizes is no longer taken.
    fn called(mut bench: Bench, name: &str) -> Bench {
        let fact = bench.job.facts.get_mut("tyre-size").unwrap();
        fact.value = Value::Text(name.into());
        bench
    }

    fn rim(inner: &str, tyre: &str) -> Bench {
        trekking()
            .measure(&[("rim-inner", inner)])
            .state(&[("tyre-size", tyre)])
    }

    #[test]
    fn rims_not_measured_are_not_judged_and_a_size_without_width_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = called(rim("19", "42-622"), "28 inch").expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("tyre-size"),
            "{:?}",
            report.missing
        );
        rim("19", "42-623").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_list_is_walked_to_both_ends_and_only_advises() {
        // The tyre and rim organisation's manual, older edition, from memory: 19 mm takes 28 to
        // 62 mm. Ratio 3.6 (judgement) ends at 68 mm, 1.4 at 27.
        for (tyre, verdict) in [
            ("28-622", Verdict::Pass),
            ("42-622", Verdict::Pass),
            ("62-622", Verdict::Pass),
            ("63-622", Verdict::Caution),
            ("25-622", Verdict::Caution),
            ("75-622", Verdict::Caution),
        ] {
            rim("19.0", tyre).expect(&CHECK, verdict);
        }
        let wide = rim("19.0", "75-622");
        let report = wide.expect(&CHECK, Verdict::Caution);
        assert!(
            report
                .findings
                .iter()
                .all(|finding| finding.summary.contains("advice only")),
            "{:?}",
            report.findings
        );
        wide.state(&[("tyre-size", "42-622")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn between_two_rows_both_must_allow_it() {
        // Rows 19 (28 to 62 mm) and 21 (35 to 64 mm) meet at 20 mm; calliper doubt 0.2 mm.
        rim("19.7", "32-622").expect(&CHECK, Verdict::Pass);
        rim("19.9", "32-622").expect(&CHECK, Verdict::Caution);
        rim("20.9", "32-622").expect(&CHECK, Verdict::Caution);
        rim("19.9", "37-622").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn off_the_list_only_the_ratio_speaks() {
        let report = rim("36", "100-559").expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings.len(), 1);
        rim("36", "42-622").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn a_bead_of_another_size_fails_and_the_right_tyre_clears_it() {
        // ISO 5775: 26 x 1.5 is 559 mm, 26 x 1 1/2 is 584.
        let wrong = trekking().state(&[("rim-bead", "584"), ("tyre-size", "26x1.5")]);
        let report = wrong.expect(&CHECK, Verdict::Fail);
        assert!(
            report.summary().contains("559 mm, on a rim of 584 mm"),
            "{}",
            report.summary()
        );
        wrong
            .state(&[("tyre-size", "26x1 1/2")])
            .expect(&CHECK, Verdict::Pass);
        let vague = called(trekking().state(&[("rim-bead", "622")]), "28 inch");
        vague.expect(&CHECK, Verdict::Caution);
        vague
            .state(&[("tyre-size", "42-622")])
            .expect(&CHECK, Verdict::Pass);
    }

    /// ISO 5775: a bead of 559 mm on the rim of a tyre of 406 mm.
    #[test]
    fn a_front_wheel_of_its_own_size_is_held_against_the_tyre_it_came_in_with() {
        let mut bench = trekking().state(&[("tyre-size-front", "55-406")]);
        bench.expect(&CHECK, Verdict::NotApplicable);
        let mut tyre = bench.job.build[&Slot::Motor].clone();
        tyre.part.kind = PartKind::Tyre;
        tyre.part.attributes = [("size".to_owned(), Value::Text("55-559".into()))].into();
        bench.job.build.insert(Slot::TyreFront, tyre);
        // Whether the rear rim was measured or not.
        let measured = bench.clone().state(&[("rim-bead", "622")]);
        for large in [bench, measured] {
            let report = large.expect(&CHECK, Verdict::Fail);
            assert!(
                report.summary().contains("559 mm, on a rim of 406 mm"),
                "{}",
                report.summary()
            );
        }
    }

    #[test]
    fn a_front_mark_is_read_again_where_it_stands() {
        let report = trekking()
            .state(&[
                ("rim-bead", "584"),
                ("tyre-size", "42-622"),
                ("tyre-size-front", "55-622"),
            ])
            .expect(&CHECK, Verdict::Fail);
        let named = |at: usize| report.findings[at].remedies[0].as_str();
        assert!(
            named(0).ends_with("lockring donor 20 tyre-size-front=WIDTH-584"),
            "{}",
            named(0)
        );
        assert!(
            named(1).ends_with("lockring donor 20 tyre-size=WIDTH-584"),
            "{}",
            named(1)
        );
    }

    #[test]
    fn inches_and_millimetres_give_the_same_verdict() {
        rim("0.748 in", "28-622").expect(&CHECK, Verdict::Pass);
        rim("0.748 in", "63-622").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn the_mark_the_remedy_asks_for_clears_it() {
        called(trekking().state(&[("rim-bead", "622")]), "28 inch").cured(
            &CHECK,
            "lockring donor 20 tyre-size=WIDTH-622",
            |job| job.state(&[("tyre-size", "42-622")]),
        );
    }
}
