//! `wiring.plugs`: plugs and protocol of display, levers and pedal sensor against the
//! controller's.

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::part::Slot;
use crate::stage::Stage;

/// Signal plugs and protocol.
pub static CHECK: Check = Check {
    id: "wiring.plugs",
    title: "signal plugs and protocol that go together",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Parts,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the parts' own data, compared word for word",
    run,
};

/// A device, what it says of itself, and what the controller says of it.
struct Pair {
    slot: Slot,
    device: &'static str,
    controller: &'static str,
    /// Whether two ends can be joined by a lead with both.
    adapts: bool,
}

const fn plug(slot: Slot, controller: &'static str) -> Pair {
    Pair {
        slot,
        device: "signal-plug",
        controller,
        adapts: true,
    }
}

const PAIRS: [Pair; 4] = [
    plug(Slot::Display, "display-plug"),
    Pair {
        slot: Slot::Display,
        device: "protocol",
        controller: "protocol",
        adapts: false,
    },
    plug(Slot::BrakeSet, "brake-plug"),
    plug(Slot::PedalSensor, "sensor-plug"),
];

fn run(case: &Case<'_>) -> Outcome {
    let Some(controller) = case.optional_part(Slot::Controller) else {
        return Halt::not_applicable("no controller is chosen: others ask for one");
    };
    let mut findings = Vec::new();
    let mut missing: Vec<Missing> = Vec::new();
    for pair in &PAIRS {
        let Some(part) = case.optional_part(pair.slot) else {
            continue;
        };
        let both = (part.word(pair.device), controller.word(pair.controller));
        match both {
            (Ok(of_part), Ok(of_controller)) => findings.push(compared(case, pair, of_part, of_controller)),
            (Ok(_), Err(Halt::Open(more))) | (Err(Halt::Open(more)), Ok(_)) => missing.extend(more),
            // Neither end is described: a kit's own pair.
            _ => {}
        }
    }
    // What does not go together is told even while the rest is not known yet.
    if !missing.is_empty() && findings.iter().all(|finding| finding.verdict != Verdict::Fail) {
        return Err(Halt::Open(missing));
    }
    findings.extend(missing.into_iter().map(|missing| {
        Finding::new(Verdict::Open, format!("missing: {}", missing.what)).with_remedy(missing.how)
    }));
    if findings.is_empty() {
        return Halt::not_applicable("neither plugs nor protocol are described: a kit's own");
    }
    Ok(findings)
}

fn compared(case: &Case<'_>, pair: &Pair, of_part: &str, of_controller: &str) -> Finding {
    let word = pair.slot.word();
    let what = if pair.adapts { "plug" } else { "protocol" };
    if of_part.trim().eq_ignore_ascii_case(of_controller.trim()) {
        return Finding::new(
            Verdict::Pass,
            format!("{what} {of_part} on {word} and controller"),
        );
    }
    let job = case.job().number;
    let finding = Finding::new(
        Verdict::Fail,
        format!("{what} {of_part} at the {word}, {of_controller} at the controller"),
    );
    if pair.adapts {
        finding
            .with_remedy(format!(
                "a lead with {of_controller} at the {word}'s end, every pin metered before the first mating: lockring \
                 receive {job} {word} {}=\"{of_controller}\"",
                pair.device
            ))
            .with_remedy(format!(
                "or a {word} with the plug {of_controller}: lockring build {job} {word}=PART"
            ))
    } else {
        finding.with_remedy(format!(
            "a {word} that speaks {of_controller}: lockring build {job} {word}=PART"
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, trekking};
    use crate::command::ReceiptText;

    fn with(bench: Bench, slot: &str, key: &str, value: &str) -> Bench {
        bench.receive(slot, &[(key, value)], ReceiptText::default())
    }

    #[test]
    fn what_nobody_describes_is_not_concerned_and_one_end_alone_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        with(trekking(), "controller", "protocol", "two-wire")
            .build(&[("controller", "none")])
            .expect(&CHECK, Verdict::NotApplicable);
        for (slot, device, controller) in PAIRS
            .iter()
            .map(|pair| (pair.slot.word(), pair.device, pair.controller))
        {
            let report = with(hardtail(), slot, device, "five-pin").expect(&CHECK, Verdict::Open);
            let how = format!("receive 23 controller {controller}=VALUE");
            assert!(report.missing[0].how.contains(&how), "{:?}", report.missing);
            let report = with(hardtail(), "controller", controller, "five-pin").expect(&CHECK, Verdict::Open);
            let how = format!("receive 23 {slot} {device}=VALUE");
            assert!(report.missing[0].how.contains(&how), "{:?}", report.missing);
        }
    }

    #[test]
    fn other_plugs_fail_and_a_lead_with_the_right_end_clears_them() {
        for (slot, device, controller) in [
            ("display", "signal-plug", "display-plug"),
            ("brake-set", "signal-plug", "brake-plug"),
            ("pedal-sensor", "signal-plug", "sensor-plug"),
        ] {
            let wrong = with(
                with(hardtail(), slot, device, "round, five pins"),
                "controller",
                controller,
                "round, three pins",
            );
            let report = wrong.expect(&CHECK, Verdict::Fail);
            let cure = &report.findings[0].remedies[0];
            assert!(
                cure.ends_with(&format!("receive 23 {slot} {device}=\"round, three pins\"")),
                "{cure}"
            );
            wrong.cured(&CHECK, cure, |job| with(job, slot, device, "round, three pins"));
        }
    }

    #[test]
    fn another_protocol_fails_and_no_lead_cures_it() {
        let wrong = with(
            with(trekking(), "display", "protocol", "two-wire"),
            "controller",
            "protocol",
            "bus",
        );
        let report = wrong.expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings[0].remedies.len(), 1);
        assert!(report.findings[0].remedies[0].starts_with("a display that speaks bus"));
        with(wrong, "display", "protocol", " Bus").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn what_does_not_go_together_is_told_while_an_end_is_unknown() {
        let half = with(
            with(trekking(), "display", "signal-plug", "a"),
            "controller",
            "display-plug",
            "b",
        );
        let report = with(half, "pedal-sensor", "signal-plug", "c").expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings.len(), 2);
        assert_eq!(report.findings[1].verdict, Verdict::Open);
    }
}
