//! `brakes.cut_sensors`: what tells the controller of a pulled brake goes with the levers, and
//! its switch with the controller's input.

use lockring_calc::cockpit::{self, Lever, Sensor, SensorFit};
use lockring_calc::dropout::Wheel;

use super::brakes_lever_cutoff::has_throttle;
use crate::block::Family;
use crate::case::{Case, PartView};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;

/// Cut-off sensors against levers and controller. That they cut is proved at the stand, by
/// `brakes.lever_cutoff` and `brakes.throttle_cutoff`.
pub static CHECK: Check = Check {
    id: "brakes.cut_sensors",
    title: "cut-off sensors that go with the levers",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Safe,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "which sensor goes with which lever: common practice, no source; contact of switch and input: their own data",
    run,
};

const ADVICE: &str = "which sensor goes with which lever is common practice";

fn run(case: &Case<'_>) -> Outcome {
    let set = case.optional_part(Slot::BrakeSet);
    let levers = levers(case, set.as_ref())?;
    if levers.is_empty() {
        return Halt::not_applicable("no brake of this bicycle has a lever");
    }
    let planned = case.optional_word("cut-sensor");
    let all_switched = levers.iter().all(|(_, lever)| is_switched(*lever));
    let planned = match planned {
        Some(word) => word,
        None if all_switched => "lever-switch",
        None if has_throttle(case)? => return Err(case.open("cut-sensor")),
        None => {
            return Halt::not_applicable(
                "no throttle and no sensor planned: what the levers do is proved at the fitting",
            );
        }
    };
    let mut findings: Vec<Finding> = levers
        .iter()
        .map(|(wheel, lever)| suits(case, *wheel, *lever, planned))
        .collect();
    findings.extend(set.and_then(|set| contact(case, &set, planned)));
    Ok(findings)
}

/// Levers of the brakes as they will be; the first ones of a set have its switches.
fn levers(case: &Case<'_>, set: Option<&PartView<'_, '_>>) -> Result<Vec<(Wheel, Lever)>, Halt> {
    let mut switches = match set {
        Some(set) => set.count("lever-switches")?,
        None => 0,
    };
    let mut levers = Vec::new();
    for wheel in [Wheel::Front, Wheel::Rear] {
        let brake = prediction::brake(case, wheel)?;
        let switched = brake.new && switches > 0;
        let lever = match (brake.kind, switched) {
            ("none" | "coaster", _) => continue,
            ("hydraulic-disc", true) => Lever::HydraulicSwitch,
            ("hydraulic-disc", false) => Lever::Hydraulic,
            (_, true) => Lever::CableSwitch,
            (_, false) => Lever::Cable,
        };
        switches -= u32::from(switched);
        levers.push((wheel, lever));
    }
    Ok(levers)
}

const fn is_switched(lever: Lever) -> bool {
    matches!(lever, Lever::CableSwitch | Lever::HydraulicSwitch)
}

const fn is_hydraulic(lever: Lever) -> bool {
    matches!(lever, Lever::Hydraulic | Lever::HydraulicSwitch)
}

/// The sensor a word names on this lever; `None` for no sensor at all.
fn sensor(word: &str, lever: Lever) -> Option<Sensor> {
    match word {
        "lever-switch" if is_hydraulic(lever) => Some(Sensor::HydraulicLeverSwitch),
        "lever-switch" => Some(Sensor::CableLeverSwitch),
        "magnet-kit" => Some(Sensor::MagnetKit),
        "in-line-cable" => Some(Sensor::InLineCable),
        _ => None,
    }
}

fn suits(case: &Case<'_>, wheel: Wheel, lever: Lever, planned: &str) -> Finding {
    let side = match wheel {
        Wheel::Front => "front",
        Wheel::Rear => "rear",
    };
    let kind = if is_hydraulic(lever) { "hydraulic" } else { "cable" };
    let line = format!("{side} brake, {kind} lever");
    let fit = sensor(planned, lever).map(|sensor| cockpit::sensor_fit(lever, sensor));
    let caution =
        |what: &str| Finding::new(Verdict::Caution, format!("{line}: {what}; advice only: {ADVICE}"));
    let finding = match fit {
        Some(SensorFit::BuiltIn) => Finding::new(Verdict::Pass, format!("{line}: its own switch")),
        Some(SensorFit::Fits) => Finding::new(
            Verdict::Pass,
            format!("{line}: {planned} goes on the lever that is there"),
        ),
        Some(SensorFit::NewLever) => caution("a switch comes with another lever in its place"),
        Some(SensorFit::NewLeverAndBleed) => {
            caution("a switch comes with another lever, hose moved and brake bled")
        }
        Some(SensorFit::Unsuited) => caution(&format!("{planned} does not go with it")),
        None => caution("nothing tells the controller that it is pulled"),
    };
    finding.with_remedy(keeping(case, lever))
}

/// The first sensor that keeps the lever. Every lever of a hand takes one.
fn keeping(case: &Case<'_>, lever: Lever) -> String {
    let word = cockpit::sensors_for(lever)
        .into_iter()
        .find(|(_, fit)| fit.keeps_lever())
        .map_or("magnet-kit", |(sensor, _)| match sensor {
            Sensor::CableLeverSwitch | Sensor::HydraulicLeverSwitch => "lever-switch",
            Sensor::MagnetKit => "magnet-kit",
            Sensor::InLineCable => "in-line-cable",
        });
    format!(
        "a {word} keeps the lever: lockring measure {} cut-sensor {word}",
        case.job().number
    )
}

/// A switch that opens where the input waits for one that closes cuts always, or never.
fn contact(case: &Case<'_>, set: &PartView<'_, '_>, planned: &str) -> Option<Finding> {
    if planned != "lever-switch" {
        return None;
    }
    let switch = set.optional_word("switch-contact")?;
    let input = case
        .optional_part(Slot::Controller)?
        .optional_word("brake-input")?;
    let job = case.job().number;
    Some(if switch == input {
        Finding::new(
            Verdict::Pass,
            format!("switches and brake input are both {switch}"),
        )
    } else {
        Finding::new(
            Verdict::Fail,
            format!("the levers' switches are {switch}, the controller's brake input is for {input}"),
        )
        .with_remedy(format!(
            "levers with {input} switches: lockring build {job} brake-set=PART"
        ))
        .with_remedy(format!(
            "or the input set for {switch}, where the controller lets it be: lockring receive {job} controller \
             brake-input={switch}"
        ))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, trekking};
    use crate::command::ReceiptText;

    fn switches(bench: Bench, count: &str) -> Bench {
        bench.receive("brake-set", &[("lever-switches", count)], ReceiptText::default())
    }

    #[test]
    fn levers_with_switches_pass_and_a_plain_build_without_a_throttle_is_not_concerned() {
        assert_eq!(hardtail().expect(&CHECK, Verdict::Pass).findings.len(), 2);
        trekking().expect(&CHECK, Verdict::NotApplicable);
        trekking()
            .state(&[
                ("brake-front", "none"),
                ("brake-rear", "coaster"),
                ("throttle", "full"),
            ])
            .expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn a_throttle_without_a_planned_sensor_is_open() {
        let report = trekking()
            .state(&[("throttle", "full")])
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("cut-sensor"),
            "{:?}",
            report.missing
        );
    }

    #[test]
    fn each_sensor_is_told_as_it_goes_with_the_lever() {
        // Common practice, no source: the donor's rim brakes have cable levers, the set's
        // hydraulic ones without switches take a magnet kit alone.
        let hydraulic = || switches(hardtail(), "0");
        for (bench, planned, verdict, said) in [
            (trekking(), "magnet-kit", Verdict::Pass, "goes on the lever"),
            (trekking(), "in-line-cable", Verdict::Pass, "goes on the lever"),
            (
                trekking(),
                "lever-switch",
                Verdict::Caution,
                "another lever in its place",
            ),
            (trekking(), "none", Verdict::Caution, "nothing tells"),
            (hydraulic(), "magnet-kit", Verdict::Pass, "goes on the lever"),
            (hydraulic(), "in-line-cable", Verdict::Caution, "does not go"),
            (hydraulic(), "lever-switch", Verdict::Caution, "bled"),
        ] {
            let report = bench.measure(&[("cut-sensor", planned)]).expect(&CHECK, verdict);
            assert!(
                report
                    .findings
                    .iter()
                    .all(|finding| finding.summary.contains(said)),
                "{planned}: {:?}",
                report.findings
            );
        }
    }

    #[test]
    fn the_named_sensor_clears_what_does_not_go() {
        let wrong = switches(hardtail(), "0").measure(&[("cut-sensor", "in-line-cable")]);
        let report = wrong.expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[0].remedies[0].ends_with("cut-sensor magnet-kit"),
            "{:?}",
            report.findings
        );
        wrong.cured(&CHECK, "cut-sensor magnet-kit", |job| {
            job.measure(&[("cut-sensor", "magnet-kit")])
        });
    }

    #[test]
    fn one_switch_for_two_levers_leaves_the_rear_one_without() {
        let one = switches(hardtail(), "1").measure(&[("cut-sensor", "lever-switch")]);
        let report = one.expect(&CHECK, Verdict::Caution);
        let verdicts: Vec<Verdict> = report.findings.iter().map(|finding| finding.verdict).collect();
        assert_eq!(verdicts, [Verdict::Pass, Verdict::Caution]);
        switches(one, "2").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_switch_against_the_input_s_sense_fails_and_either_remedy_clears_it() {
        let wired = |switch: &str, input: &str| {
            hardtail()
                .receive("brake-set", &[("switch-contact", switch)], ReceiptText::default())
                .receive("controller", &[("brake-input", input)], ReceiptText::default())
        };
        wired("normally-open", "normally-open").expect(&CHECK, Verdict::Pass);
        wired("normally-closed", "normally-closed").expect(&CHECK, Verdict::Pass);
        wired("normally-open", "normally-closed").expect(&CHECK, Verdict::Fail);
        let wrong = wired("normally-closed", "normally-open");
        let report = wrong.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[2].remedies[1].ends_with("brake-input=normally-closed"),
            "{:?}",
            report.findings
        );
        wrong
            .clone()
            .receive(
                "controller",
                &[("brake-input", "normally-closed")],
                ReceiptText::default(),
            )
            .expect(&CHECK, Verdict::Pass);
        // A magnet kit brings a contact of its own.
        wrong
            .measure(&[("cut-sensor", "magnet-kit")])
            .expect(&CHECK, Verdict::Pass);
    }
}
