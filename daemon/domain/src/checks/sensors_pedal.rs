//! `sensors.pedal`: something that senses pedalling, room for it on the spindle, and its gap to the magnets.

use lockring_calc::doubt::Limit;

use crate::assist;
use crate::block::Family;
use crate::case::{Case, Known, PartView};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Pedal sensor beside the shell.
pub static CHECK: Check = Check {
    id: "sensors.pedal",
    title: "pedal sensor beside the shell",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Fit,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "room less width: arithmetic; 1 to 3 mm to the magnets: common practice, no source",
    run,
};

/// Sides of the shell: the word of the part, and the code of the room there.
const SIDES: [(&str, &str); 2] = [("left", "spindle-room-left"), ("right", "spindle-room-right")];

/// Said of a motor that drives at the crank.
const OWN: &str = "a motor at the crank has its own sensor";

fn run(case: &Case<'_>) -> Outcome {
    let Some(sensor) = case.optional_part(Slot::PedalSensor) else {
        return no_sensor(case);
    };
    if prediction::is_mid(case)? {
        return Halt::not_applicable(OWN);
    }
    let mut findings = Vec::new();
    let room_known = SIDES.iter().any(|(_, code)| case.knows(code));
    if room_known || sensor.optional_number("width").is_some() {
        findings.push(room(case, &sensor)?);
    }
    findings.extend(gap(case));
    if findings.is_empty() {
        return Halt::not_applicable("neither the sensor's width nor the room on the spindle was measured");
    }
    Ok(findings)
}

/// A build without one: a motor in a wheel then answers to the thumb, or to nothing.
fn no_sensor(case: &Case<'_>) -> Outcome {
    if case.optional_part(Slot::Motor).is_none() {
        return Halt::not_applicable("no pedal sensor is part of the build, and no motor");
    }
    if prediction::is_mid(case)? {
        return Halt::not_applicable(OWN);
    }
    assist::without_sensor(case)?;
    Halt::not_applicable("no pedal sensor is part of the build: the motor answers to the throttle")
}

/// The roomier of the sides it goes on.
fn room(case: &Case<'_>, sensor: &PartView<'_, '_>) -> Result<Finding, Halt> {
    let width = sensor.number("width")?;
    let side = sensor.word("side")?;
    let best = SIDES
        .into_iter()
        .filter(|(word, _)| side == "either" || side == *word)
        .filter_map(|(word, code)| Some((word, case.optional_number(code)?)))
        .max_by(|(_, a), (_, b)| a.value.total_cmp(&b.value));
    let Some((word, free)) = best else {
        // Either side answers for a sensor that goes on both.
        return Err(case.open(if side == "right" { SIDES[1].1 } else { SIDES[0].1 }));
    };
    let left = Known {
        value: free.value - width,
        ..free
    };
    let job = case.job().number;
    let finding = Judged::new(
        "spindle left beside the pedal sensor",
        left,
        Kind::Length,
        "mm",
    )
    .against(Limit::AtLeast(0.0))
    .with_arithmetic(format!(
        "{word}: {:.1} mm free - {:.1} mm sensor = {:+.1} mm",
        free.value * 1e3,
        width * 1e3,
        left.value * 1e3
    ))
    .with_remedy(format!(
        "a sensor of at most {:.1} mm: lockring build {job} pedal-sensor=PART",
        free.value * 1e3
    ))
    .with_remedy("or a longer spindle: it moves the crank out, and a ring on it the chainline (see chainline.centre)");
    let other = SIDES
        .iter()
        .find(|(other, _)| *other != word && side != "either")
        .and_then(|(other, code)| Some((*other, case.optional_number(code)?)))
        .filter(|(_, room)| room.value - room.expanded() >= width);
    Ok(match other {
        Some((other, room)) => finding.with_remedy(format!(
            "or a sensor for the {other}, where {:.1} mm are free: lockring build {job} pedal-sensor=PART",
            room.value * 1e3
        )),
        None => finding,
    })
}

/// Gap to the magnets, once it is fitted.
fn gap(case: &Case<'_>) -> Option<Finding> {
    let (least, most) = (
        case.rule("sensor.pedal-gap-least"),
        case.rule("sensor.pedal-gap-most"),
    );
    let finding = Judged::new(
        "gap from the pedal sensor to its magnets",
        case.optional_number("pedal-gap")?,
        Kind::Length,
        "mm",
    )
    .against(Limit::Within(least, most))
    .with_remedy(format!(
        "move the disc or the sensor: {}",
        prediction::read_again(case, "pedal-gap", &format!("{:.1}mm", (least + most) * 0.5e3))
    ));
    Some(prediction::advise_only(
        finding,
        "the gap is common practice: what counts is that it senses every magnet",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};
    use crate::command::ReceiptText;

    fn wide(bench: Bench, side: &str, width: &str) -> Bench {
        bench.receive(
            "pedal-sensor",
            &[("side", side), ("width", width)],
            ReceiptText::default(),
        )
    }

    #[test]
    fn it_does_not_concern_builds_without_one_beside_the_shell() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let measured = [("spindle-room-left", "9 mm")];
        let thumb = trekking().state(&[("ride-class", "us-class2"), ("throttle", "full")]);
        for bare in [
            thumb.build(&[("pedal-sensor", "none")]),
            longtail().build(&[("pedal-sensor", "none")]),
            trekking().build(&[("pedal-sensor", "none"), ("motor", "none")]),
        ] {
            bare.measure(&measured).expect(&CHECK, Verdict::NotApplicable);
        }
        wide(longtail(), "left", "8 mm")
            .measure(&measured)
            .expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn a_hub_that_answers_to_nothing_is_open_until_it_has_a_sensor() {
        for throttle in ["none", "walk"] {
            let mute = trekking()
                .state(&[("throttle", throttle)])
                .build(&[("pedal-sensor", "none")]);
            let report = mute.expect(&CHECK, Verdict::Open);
            assert_eq!(
                report.missing[0].how, "lockring build 20 pedal-sensor=PART",
                "{:?}",
                report.missing
            );
            mute.build(&[("pedal-sensor", "pas-cadence")])
                .expect(&CHECK, Verdict::NotApplicable);
        }
    }

    #[test]
    fn width_side_or_room_missing_is_open() {
        let report = trekking()
            .measure(&[("spindle-room-left", "9 mm")])
            .expect(&CHECK, Verdict::Open);
        assert!(report.missing[0].how.contains("width"), "{:?}", report.missing);
        for (side, code) in [("left", "-left"), ("right", "-right"), ("either", "-left")] {
            let report = wide(trekking(), side, "8 mm").expect(&CHECK, Verdict::Open);
            assert!(
                report.missing[0].how.contains(&format!("spindle-room{code}")),
                "{:?}",
                report.missing
            );
        }
        // The other side's room does not answer for this one's.
        wide(trekking(), "right", "8 mm")
            .measure(&[("spindle-room-left", "9 mm")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_verdict_turns_at_the_width_with_the_calliper_s_doubt_between() {
        // The calliper's doubt is 0.2 mm (k = 2).
        for (room, verdict) in [
            ("8.3 mm", Verdict::Pass),
            ("8.1 mm", Verdict::Caution),
            ("7.9 mm", Verdict::Caution),
            ("7.7 mm", Verdict::Fail),
        ] {
            wide(trekking(), "left", "8 mm")
                .measure(&[("spindle-room-left", room)])
                .expect(&CHECK, verdict);
        }
        let tight = wide(trekking(), "left", "8 mm").measure(&[("spindle-room-left", "7 mm")]);
        let report = tight.expect(&CHECK, Verdict::Fail);
        assert!(report.findings[0].remedies[0].starts_with("a sensor of at most 7.0 mm"));
        assert_eq!(report.findings[0].remedies.len(), 2);
        wide(tight, "left", "6.7 mm").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_other_side_is_named_where_it_has_room_and_clears_it() {
        let both = wide(trekking(), "left", "8 mm")
            .measure(&[("spindle-room-left", "5 mm"), ("spindle-room-right", "9 mm")]);
        let report = both.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[2].contains("for the right, where 9.0 mm"),
            "{:?}",
            report.findings
        );
        wide(both.clone(), "right", "8 mm").expect(&CHECK, Verdict::Pass);
        wide(both.clone(), "either", "8 mm").expect(&CHECK, Verdict::Pass);
        let narrow = wide(both, "left", "9.5 mm").report(&CHECK);
        assert_eq!(narrow.findings[0].remedies.len(), 2);
    }

    #[test]
    fn the_gap_to_the_magnets_is_advised_on_at_both_ends_and_moving_it_clears_it() {
        for (gap, verdict) in [
            ("1.3 mm", Verdict::Pass),
            ("2.7 mm", Verdict::Pass),
            ("0.9 mm", Verdict::Caution),
            ("3.1 mm", Verdict::Caution),
            ("0.5 mm", Verdict::Caution),
        ] {
            trekking().measure(&[("pedal-gap", gap)]).expect(&CHECK, verdict);
        }
        let far = trekking().measure(&[("pedal-gap", "4 mm")]);
        let report = far.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("advice only"), "{}", report.summary());
        assert!(report.findings[0].remedies[0].ends_with("pedal-gap 2.0mm --anew"));
        far.cured(&CHECK, "pedal-gap 2.0mm --anew", |job| {
            job.again(&[("pedal-gap", "2.0mm")])
        });
    }
}
