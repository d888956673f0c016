//! `cockpit.width`: everything that must go on each side of the handlebar, against its width.

use lockring_calc::cockpit::{self, BarItem};
use lockring_calc::doubt::Limit;
use lockring_calc::dropout::Wheel;
use lockring_calc::quantity::Length;

use super::brakes_lever_cutoff::has_throttle;
use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Both sides of the handlebar. The display alone against what is free there is the business
/// of `cockpit.clamp`.
pub static CHECK: Check = Check {
    id: "cockpit.width",
    title: "room on the handlebar for everything on it",
    gates: &[Stage::Intake],
    family: Family::Fit,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
    ],
    source: "sum of widths: arithmetic; the width of what is not measured: workshop judgement",
    run,
};

/// Something on one side of the bar.
struct Item {
    name: &'static str,
    width: Length,
}

fn run(case: &Case<'_>) -> Outcome {
    if !case.knows("bar-width") {
        return Halt::not_applicable("the width of the handlebar was not measured");
    }
    prediction::need(case, &["bar-stem", "shifter-kind"])?;
    let (bar, stem) = (case.number("bar-width")?, case.number("bar-stem")?);
    let bend = case.optional_number("bar-bend");
    let side = cockpit::usable_side(
        Length::metres(bar.value),
        Length::metres(stem.value),
        Length::metres(bend.map_or(0.0, |bend| bend.value)),
    )
    .map_err(|error| prediction::unusable(case, "handlebar", &error))?;
    let usable = Known {
        value: side.as_metres(),
        // Half of the bar and of the stem, and the bend as it is.
        u: (bar.u / 2.0)
            .hypot(stem.u / 2.0)
            .hypot(bend.map_or(0.0, |bend| bend.u)),
        ..bar
    };
    Ok(vec![
        left_over(case, "left", usable, &left(case)?)?,
        left_over(case, "right", usable, &right(case)?)?,
    ])
}

fn usual(name: &'static str, item: BarItem) -> Item {
    Item {
        name,
        width: item.usual_width(),
    }
}

/// Grip, lever and what the display puts beside the stem; its keys are on the left.
fn left(case: &Case<'_>) -> Result<Vec<Item>, Halt> {
    let mut items = vec![grip(case, false)];
    items.extend(lever(case, Wheel::Front)?);
    items.extend(display(case));
    if case.optional_part(Slot::Display).is_some() {
        items.push(usual("display's keys", BarItem::Keypad));
    }
    items.extend(bell(case, "left"));
    Ok(items)
}

/// Grip, lever, shifter and throttle.
fn right(case: &Case<'_>) -> Result<Vec<Item>, Halt> {
    let throttle = if has_throttle(case)? {
        Some(match case.optional_word("throttle-kind") {
            Some("half-twist") => usual("half-twist throttle", BarItem::TwistThrottle),
            _ => usual("thumb throttle", BarItem::ThumbThrottle),
        })
    } else {
        None
    };
    let shifter = match case.word("shifter-kind")? {
        "trigger" => Some(usual("shifter", BarItem::Shifter)),
        "twist" => Some(usual("twist shifter", BarItem::TwistShifter)),
        _ => None,
    };
    let twisted = case.optional_word("shifter-kind") == Some("twist")
        || (throttle.is_some() && case.optional_word("throttle-kind") == Some("half-twist"));
    let mut items = vec![grip(case, twisted)];
    items.extend(lever(case, Wheel::Rear)?);
    items.extend(shifter);
    items.extend(throttle);
    items.extend(display(case));
    items.extend(bell(case, "right"));
    Ok(items)
}

/// The grip as measured, or the usual one; a short one beside something that is twisted.
fn grip(case: &Case<'_>, twisted: bool) -> Item {
    let usual_kind = if twisted {
        BarItem::ShortGrip
    } else {
        BarItem::Grip
    };
    match case.optional_number("grip-length") {
        Some(length) if !twisted => Item {
            name: "grip",
            width: Length::metres(length.value),
        },
        _ => usual(if twisted { "short grip" } else { "grip" }, usual_kind),
    }
}

/// The clamp of a brake lever; left for the front brake, as good as right for its width.
fn lever(case: &Case<'_>, wheel: Wheel) -> Result<Option<Item>, Halt> {
    let by_hand = !matches!(prediction::brake(case, wheel)?.kind, "none" | "coaster");
    Ok(by_hand.then(|| usual("lever", BarItem::LeverClamp)))
}

/// Half of what the display takes, or one of its two clamps.
fn display(case: &Case<'_>) -> Option<Item> {
    let display = case.optional_part(Slot::Display)?;
    Some(match display.optional_number("clamp-width") {
        Some(width) => Item {
            name: "half of the display",
            width: Length::metres(width / 2.0),
        },
        None => usual("display's clamp", BarItem::DisplayClamp),
    })
}

/// A bell on the left unless it is elsewhere.
fn bell(case: &Case<'_>, side: &str) -> Option<Item> {
    let on = case.optional_word("bell-side").unwrap_or("left");
    (on == side).then(|| usual("bell", BarItem::Bell))
}

fn left_over(case: &Case<'_>, side: &str, usable: Known, items: &[Item]) -> Result<Finding, Halt> {
    let widths: Vec<Length> = items.iter().map(|item| item.width).collect();
    let budget = cockpit::width_budget(Length::metres(usable.value), &widths)
        .map_err(|error| prediction::unusable(case, "handlebar", &error))?;
    let left = Known {
        value: budget.free.as_metres(),
        ..usable
    };
    let good = case.rule("cockpit.free-good");
    let spent: Vec<String> = items
        .iter()
        .map(|item| format!("{} {:.0}", item.name, item.width.as_millimetres()))
        .collect();
    let job = case.job().number;
    let finding = Judged::new(
        &format!("width left on the {side} of the handlebar"),
        left,
        Kind::Length,
        "mm",
    )
    .between(Limit::AtLeast(good), Limit::AtLeast(0.0))
    .with_arithmetic(format!(
        "{:.0} mm a side - ({}) = {:+.0} mm",
        usable.value * 1e3,
        spent.join(" + "),
        left.value * 1e3
    ));
    let finding = shorter_grips(case, items, left, good)
        .into_iter()
        .fold(finding, Finding::with_remedy);
    let finding = if items.iter().any(|item| item.name == "bell") {
        finding.with_remedy(format!(
            "or the bell on the stem: lockring measure {job} bell-side stem"
        ))
    } else {
        finding
    };
    Ok(prediction::advise_only(
        finding.with_remedy(format!(
            "or a display with a narrower clamp: lockring build {job} display=PART"
        )),
        "the widths are usual ones, to be held against the parts themselves",
    ))
}

/// Grips cut to what leaves the room that is good, while a hand still holds them.
fn shorter_grips(case: &Case<'_>, items: &[Item], left: Known, good: f64) -> Option<String> {
    let grip = items.iter().find(|item| item.name == "grip")?;
    let short = grip.width.as_metres() - (good + left.expanded() - left.value);
    let least = BarItem::ShortGrip.usual_width().as_metres();
    (short >= least).then(|| {
        format!(
            "grips of {0:.0} mm: lockring measure {1} grip-length {0:.0}mm",
            (short * 1e3).floor(),
            case.job().number
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};
    use crate::command::ReceiptText;

    /// A bar with a stem of 40 mm and a trigger shifter.
    fn bar(width: &str) -> Bench {
        trekking()
            .state(&[("shifter-kind", "trigger")])
            .measure(&[("bar-width", width), ("bar-stem", "40 mm")])
    }

    #[test]
    fn an_unmeasured_bar_is_not_concerned_and_half_of_it_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = trekking()
            .measure(&[("bar-width", "600 mm")])
            .expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
    }

    #[test]
    fn what_goes_on_each_side_is_summed_as_usual_widths() {
        // Workshop judgement: grip 130, lever 15, display's clamp 15, keys 20, bell 12 on the left
        // are 192 mm; grip 130, lever 15, shifter 20, clamp 15 on the right 180 mm.
        let report = bar("500 mm").expect(&CHECK, Verdict::Pass);
        let free: Vec<f64> = report
            .findings
            .iter()
            .map(|finding| finding.figures[0].value)
            .collect();
        assert!(
            (free[0] - 38.0).abs() < 1e-6 && (free[1] - 50.0).abs() < 1e-6,
            "{free:?}"
        );
        // A bend of 20 mm, a display of 80 mm and a throttle; no keys without a display.
        let report = bar("500 mm")
            .measure(&[("bar-bend", "20 mm")])
            .state(&[("throttle", "full")])
            .report(&CHECK);
        assert!((report.findings[0].figures[0].value - 18.0).abs() < 1e-6);
        assert!((report.findings[1].figures[0].value - 5.0).abs() < 1e-6);
        let report = bar("500 mm").build(&[("display", "none")]).report(&CHECK);
        assert!((report.findings[0].figures[0].value - 73.0).abs() < 1e-6);
        assert!((report.findings[1].figures[0].value - 65.0).abs() < 1e-6);
        let report = bar("500 mm")
            .receive("display", &[("clamp-width", "80 mm")], ReceiptText::default())
            .report(&CHECK);
        assert!((report.findings[0].figures[0].value - 13.0).abs() < 1e-6);
        assert!((report.findings[1].figures[0].value - 25.0).abs() < 1e-6);
    }

    #[test]
    fn what_is_twisted_takes_a_short_grip_and_a_coaster_has_no_lever() {
        // Right: short grip 90, lever 15, twist shifter 55, clamp 15: 175 mm of 230.
        let twist = bar("500 mm").state(&[("shifter-kind", "twist")]).report(&CHECK);
        assert!((twist.findings[1].figures[0].value - 55.0).abs() < 1e-6);
        // Half-twist throttle 55 and trigger 20 beside a short grip: 90 + 15 + 20 + 55 + 15.
        let throttle = bar("500 mm")
            .state(&[("throttle", "full")])
            .measure(&[("throttle-kind", "half-twist")])
            .report(&CHECK);
        assert!((throttle.findings[1].figures[0].value - 35.0).abs() < 1e-6);
        let single = bar("500 mm")
            .state(&[("shifter-kind", "none"), ("brake-rear", "coaster")])
            .report(&CHECK);
        assert!((single.findings[1].figures[0].value - 85.0).abs() < 1e-6);
        let front = bar("500 mm").state(&[("brake-front", "none")]).report(&CHECK);
        assert!((front.findings[0].figures[0].value - 53.0).abs() < 1e-6);
    }

    #[test]
    fn the_verdict_turns_at_the_good_room_and_never_stops_the_job() {
        // Left takes 192 mm; 5 mm are good; the rule's doubt is about 1.1 mm (k = 2).
        for (width, verdict, said) in [
            ("438 mm", Verdict::Pass, "within"),
            ("434 mm", Verdict::Caution, "measure again"),
            ("430 mm", Verdict::Caution, "tolerable"),
            ("420 mm", Verdict::Caution, "advice only"),
        ] {
            let report = bar(width).expect(&CHECK, verdict);
            assert!(
                report.findings[0].summary.contains(said),
                "{width}: {}",
                report.findings[0].summary
            );
        }
    }

    #[test]
    fn shorter_grips_or_the_bell_on_the_stem_clear_it() {
        let tight = bar("420 mm");
        let report = tight.expect(&CHECK, Verdict::Caution);
        // 2 mm too little on the left, 5 mm good and 1.1 mm doubt: 130 - 8.1 mm.
        assert!(
            report.findings[0].remedies[0].ends_with("grip-length 121mm"),
            "{:?}",
            report.findings
        );
        assert!(report.findings[0].remedies[1].ends_with("bell-side stem"));
        tight
            .clone()
            .measure(&[("grip-length", "121mm")])
            .expect(&CHECK, Verdict::Pass);
        tight.clone().cured(&CHECK, "bell-side stem", |job| {
            job.measure(&[("bell-side", "stem")])
        });
        tight
            .measure(&[("bell-side", "right")])
            .expect(&CHECK, Verdict::Caution);
        // 300 mm of bar would ask for grips that no hand holds.
        let short = bar("320 mm").report(&CHECK);
        assert!(
            short.findings[0].remedies[0].contains("bell"),
            "{:?}",
            short.findings
        );
    }

    #[test]
    fn a_stem_wider_than_the_bar_is_open_with_the_reason() {
        let report = trekking()
            .state(&[("shifter-kind", "trigger")])
            .measure(&[
                ("bar-width", "300 mm"),
                ("bar-stem", "100 mm"),
                ("bar-bend", "150 mm"),
            ])
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].what.contains("width of one side"),
            "{:?}",
            report.missing
        );
    }
}
