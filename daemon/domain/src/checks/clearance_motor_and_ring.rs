//! `clearance.motor_and_ring`: room between the chainstay and the motor case, and between
//! the chainstay and ring with chain.

use lockring_calc::chainline;
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction::{self, sprockets};
use crate::stage::Stage;
use crate::unit::Kind;

/// Gaps at the chainstay, as fitted.
pub static CHECK: Check = Check {
    id: "clearance.motor_and_ring",
    title: "motor case and ring clear of the chainstay",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: motor 1.5 mm good and 0.8 mm at least; ring and chain 3 mm",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let mid = prediction::is_mid(case)?;
    if !mid && case.optional_part(Slot::Chainring).is_none() {
        return Halt::not_applicable("the motor is in the wheel and the ring stays where it was");
    }
    prediction::need(
        case,
        if mid {
            &["motor-gap", "ring-gap"]
        } else {
            &["ring-gap"]
        },
    )?;
    let mut findings = Vec::new();
    if mid {
        findings.push(motor(case)?);
    }
    findings.push(ring(case)?);
    Ok(findings)
}

fn motor(case: &Case<'_>) -> Result<Finding, Halt> {
    let gap = case.number("motor-gap")?;
    let (good, least) = (case.rule("stay.motor-good"), case.rule("stay.motor-least"));
    let more = sprockets::enough_mm(good + gap.expanded() - gap.value) / 1e3;
    let finding = Judged::new("gap from motor case to chainstay", gap, Kind::Length, "mm")
        .between(Limit::AtLeast(good), Limit::AtLeast(least))
        .with_arithmetic(needed(gap, good, more))
        .with_remedy(spacer(case, more))
        .with_remedy("a kit with a narrower case, or a motor in the wheel")
        .not_into_metal(gap.value, gap.expanded());
    Ok(finding)
}

fn ring(case: &Case<'_>) -> Result<Finding, Halt> {
    let gap = case.number("ring-gap")?;
    let least = case.rule("stay.ring");
    let more = sprockets::enough_mm(least + gap.expanded() - gap.value) / 1e3;
    let finding = Judged::new("gap from ring and chain to chainstay", gap, Kind::Length, "mm")
        .against(Limit::AtLeast(least))
        .with_arithmetic(needed(gap, least, more))
        .with_remedy(format!(
            "a ring with {:.1} mm less dish, or a smaller one; less dish takes the chainline {}",
            1e3 * more,
            front_price(case, more)
        ))
        .not_into_metal(gap.value, gap.expanded());
    Ok(if prediction::is_mid(case)? {
        finding.with_remedy(spacer(case, more))
    } else {
        finding
    })
}

/// What the gap must show with its doubt, and what is missing from it.
fn needed(gap: Known, limit: f64, more: f64) -> String {
    let sum = format!(
        "{:.1} mm needed: {:.1} mm and the feeler's doubt of {:.1} mm",
        1e3 * (limit + gap.expanded()),
        1e3 * limit,
        1e3 * gap.expanded()
    );
    if more > 0.0 {
        format!("{sum}; {:.1} mm short", 1e3 * more)
    } else {
        sum
    }
}

/// The cure and its price elsewhere: a spacer frees the stay, pushes the chainline out and
/// takes thread, a millimetre for a millimetre.
fn spacer(case: &Case<'_>, more: f64) -> String {
    let job = case.job().number;
    let now = case.optional_number("spacer").map_or(0.0, |spacer| spacer.value);
    let room =
        prediction::whole_tenths_mm(prediction::spacer_room(case).map_or(f64::INFINITY, |room| room.more));
    let only = if room < 1e3 * more {
        format!(", but shell and thread leave room for {room:.1} mm")
    } else {
        String::new()
    };
    format!(
        "{:.1} mm more of drive-side spacer{only}; its price: the chainline goes {}, the lock ring loses {:.1} mm of \
         thread{}: lockring measure {job} spacer {:.1}, then motor-gap, ring-gap, stack and chainline-front",
        1e3 * more,
        front_price(case, more),
        1e3 * more,
        thread_price(case, more),
        1e3 * (now + more)
    )
}

fn front_price(case: &Case<'_>, more: f64) -> String {
    let Ok(Some(read)) = prediction::read_front_line(case) else {
        return format!("out by {:.1} mm", 1e3 * more);
    };
    let mut price = format!(
        "from {:.1} to {:.1} mm",
        1e3 * read.line.value,
        1e3 * (read.line.value + more)
    );
    if let Some(rear) = case.optional_number("chainline-rear") {
        let offset = chainline::offset(
            Length::from_si(read.line.value + more),
            Length::from_si(rear.value),
        );
        price = format!(
            "{price} ({:+.1} mm from the cassette's centre)",
            offset.as_millimetres()
        );
    }
    price
}

fn thread_price(case: &Case<'_>, more: f64) -> String {
    let tube = case
        .optional_part(Slot::Motor)
        .and_then(|motor| motor.optional_number("tube-length"));
    match (case.optional_number("stack"), tube) {
        (Some(stack), Some(tube)) => format!(" and keeps {:.1} mm", 1e3 * (tube - stack.value - more)),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, longtail, trekking};

    fn gaps(bench: Bench, motor: &str, ring: &str) -> Bench {
        bench.measure(&[("motor-gap", motor), ("ring-gap", ring)])
    }

    #[test]
    fn a_case_that_touches_fails_and_the_spacer_clears_it_at_a_price() {
        // Worked example of the trade (common practice, no source): gap 0.0, cured by a spacer
        // of 2.5 mm to 2.6; the chainline pays, 49.0 to 51.5.
        let touching = gaps(longtail(), "0.0", "4.5").measure(&[
            ("chainline-front", "49.0"),
            ("chainline-rear", "45.0"),
            ("stack", "73.0"),
        ]);
        let report = touching.expect(&CHECK, Verdict::Fail);
        let remedy = &report.findings[0].remedies[0];
        // 1.5 + 0.1 of the feeler's doubt: 1.6 mm; 87.0 - 73.0 - 1.6 = 12.4 mm by hand.
        assert!(
            remedy.contains("1.6 mm more") && remedy.contains("from 49.0 to 50.6 mm (+5.6"),
            "{remedy}"
        );
        assert!(remedy.contains("keeps 12.4 mm"), "{remedy}");
        gaps(touching.measure(&[("spacer", "2.5")]), "2.6", "7.0").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_motors_limits_are_crossed_through_a_band_of_doubt() {
        // Feeler 0.05 mm: doubt 0.1 mm around 1.5 and 0.8 mm.
        for (gap, verdict) in [
            ("1.65", Verdict::Pass),
            ("1.55", Verdict::Caution),
            ("1.2", Verdict::Caution),
            ("0.75", Verdict::Caution),
            ("0.65", Verdict::Fail),
        ] {
            gaps(longtail(), gap, "4.5").expect(&CHECK, verdict);
        }
    }

    #[test]
    fn the_rings_limit_has_no_second_level() {
        for (gap, verdict) in [
            ("3.3", Verdict::Pass),
            ("3.1", Verdict::Caution),
            ("2.7", Verdict::Fail),
        ] {
            let report = gaps(longtail(), "2.6", gap).expect(&CHECK, verdict);
            assert_eq!(report.findings.len(), 2);
        }
    }

    #[test]
    fn both_gaps_are_asked_for_at_once() {
        let report = longtail().expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
    }

    #[test]
    fn a_hub_motor_with_its_own_ring_is_not_concerned_and_a_new_ring_is() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let ringed = trekking()
            .build(&[("chainring", "ring-38-5")])
            .measure(&[("ring-gap", "4.5")]);
        assert_eq!(ringed.expect(&CHECK, Verdict::Pass).findings.len(), 1);
    }

    #[test]
    fn the_spacer_the_remedy_names_clears_it() {
        // A spacer moves case and ring out by its own width: 0.0 + 1.6 and 4.5 + 1.6 mm.
        gaps(longtail(), "0.0", "4.5").cured(
            &CHECK,
            "lockring measure 21 spacer 1.6, then motor-gap, ring-gap",
            |job| gaps(job.measure(&[("spacer", "1.6")]), "1.6", "6.1"),
        );
    }
}
