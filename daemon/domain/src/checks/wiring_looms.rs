//! `wiring.looms`: each loom against its path at the worse lock, with slack.

use lockring_calc::cockpit;
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Looms of display, levers, pedal sensor and motor. That nothing pulls in the end is proved
/// at the stand, by `wheel.clearances`.
pub static CHECK: Check = Check {
    id: "wiring.looms",
    title: "looms long enough from lock to lock",
    gates: &[Stage::Intake, Stage::Parts],
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
    source: "length less path: arithmetic; the slack that is good: workshop judgement",
    run,
};

struct Loom {
    slot: Slot,
    name: &'static str,
    path: &'static str,
    extension: &'static str,
}

const LOOMS: [Loom; 4] = [
    loom(
        Slot::Display,
        "display's loom",
        "path-display",
        "extension-display",
    ),
    loom(Slot::BrakeSet, "levers' loom", "path-levers", "extension-levers"),
    loom(
        Slot::PedalSensor,
        "pedal sensor's loom",
        "path-sensor",
        "extension-sensor",
    ),
    loom(Slot::Motor, "motor's lead", "path-motor", "extension-motor"),
];

const fn loom(slot: Slot, name: &'static str, path: &'static str, extension: &'static str) -> Loom {
    Loom {
        slot,
        name,
        path,
        extension,
    }
}

fn run(case: &Case<'_>) -> Outcome {
    let mut findings = Vec::new();
    let mut missing: Vec<Missing> = Vec::new();
    for loom in &LOOMS {
        let Some(part) = case.optional_part(loom.slot) else {
            continue;
        };
        if !case.knows(loom.path) && part.optional_number("loom-length").is_none() {
            continue;
        }
        let judged = case
            .number(loom.path)
            .and_then(|path| left(case, loom, path, part.number("loom-length")?));
        match judged {
            Ok(finding) => findings.push(finding),
            Err(Halt::Open(more)) => missing.extend(more),
            Err(other) => return Err(other),
        }
    }
    if !missing.is_empty() {
        return Err(Halt::Open(missing));
    }
    if findings.is_empty() {
        return Halt::not_applicable("neither a loom nor its path was measured");
    }
    Ok(findings)
}

fn left(case: &Case<'_>, loom: &Loom, path: Known, own: f64) -> Result<Finding, Halt> {
    let extension = case
        .optional_number(loom.extension)
        .map_or(0.0, |known| known.value);
    let margin = cockpit::loom_margin(
        Length::metres(own + extension),
        Length::metres(path.value),
        Length::ZERO,
    )
    .map_err(|error| prediction::unusable(case, loom.name, &error))?;
    let left = Known {
        value: margin.as_metres(),
        ..path
    };
    let slack = case.rule("wiring.loom-slack");
    let job = case.job().number;
    // Leads come in steps of half a decimetre; a step more covers the doubt of the path.
    let asked = extension + slack - left.value;
    let lead = ((asked * 1e3 / 50.0).ceil() + 1.0) * 50.0;
    Ok(
        Judged::new(&format!("{} left over", loom.name), left, Kind::Length, "mm")
            .between(Limit::AtLeast(slack), Limit::AtLeast(0.0))
            .with_arithmetic(format!(
                "{:.0} mm + {:.0} mm extension - {:.0} mm path = {:+.0} mm",
                own * 1e3,
                extension * 1e3,
                path.value * 1e3,
                left.value * 1e3
            ))
            .with_remedy(format!(
                "an extension of {lead:.0} mm, one joint more to keep dry: lockring measure {job} {} {lead:.0}mm",
                loom.extension
            ))
            .with_remedy(format!(
                "or a shorter way, or the controller nearer, and the path measured again: {}",
                prediction::read_again(case, loom.path, "MM")
            )),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};
    use crate::command::ReceiptText;

    fn long(bench: Bench, slot: &str, length: &str) -> Bench {
        bench.receive(slot, &[("loom-length", length)], ReceiptText::default())
    }

    #[test]
    fn nothing_measured_is_not_concerned_and_one_side_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        trekking()
            .build(&[("display", "none")])
            .measure(&[("path-display", "1100 mm")])
            .expect(&CHECK, Verdict::NotApplicable);
        let report = trekking()
            .measure(&[("path-display", "1100 mm"), ("path-motor", "600 mm")])
            .expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
        let report = long(trekking(), "display", "1200 mm").expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("path-display"),
            "{:?}",
            report.missing
        );
    }

    #[test]
    fn each_loom_has_a_path_and_an_extension_of_its_own() {
        for (slot, path, extension) in [
            ("display", "path-display", "extension-display"),
            ("brake-set", "path-levers", "extension-levers"),
            ("pedal-sensor", "path-sensor", "extension-sensor"),
            ("motor", "path-motor", "extension-motor"),
        ] {
            let short = long(longtail(), slot, "900 mm").measure(&[(path, "1000 mm")]);
            let report = short.expect(&CHECK, Verdict::Fail);
            assert_eq!(report.findings.len(), 1, "{slot}");
            // 100 mm lacking and 40 mm slack: 150 mm, and a step for the doubt.
            let cure = &report.findings[0].remedies[0];
            assert!(cure.ends_with(&format!("{extension} 200mm")), "{cure}");
            short.cured(&CHECK, cure, |job| job.measure(&[(extension, "200mm")]));
        }
    }

    #[test]
    fn the_verdict_turns_at_the_slack_and_where_it_pulls_with_the_string_s_doubt_between() {
        // 40 mm slack (judgement); the string's doubt is 6 mm (k = 2).
        for (length, verdict) in [
            ("1047 mm", Verdict::Pass),
            ("1043 mm", Verdict::Caution),
            ("1037 mm", Verdict::Caution),
            ("1007 mm", Verdict::Caution),
            ("997 mm", Verdict::Caution),
            ("993 mm", Verdict::Fail),
        ] {
            let report = long(trekking(), "display", length)
                .measure(&[("path-display", "1000 mm")])
                .expect(&CHECK, verdict);
            let margin: f64 = length.trim_end_matches(" mm").parse::<f64>().unwrap() - 1000.0;
            assert!((report.findings[0].figures[0].value - margin).abs() < 1e-6);
        }
    }

    #[test]
    fn an_extension_that_is_too_short_is_replaced_not_added_to() {
        let short = long(trekking(), "display", "800 mm")
            .measure(&[("path-display", "1000 mm"), ("extension-display", "100 mm")]);
        let report = short.expect(&CHECK, Verdict::Fail);
        // 240 mm in all: 250 mm, and a step for the doubt.
        assert!(
            report.findings[0].remedies[0].ends_with("extension-display 300mm"),
            "{:?}",
            report.findings
        );
        short
            .measure(&[("extension-display", "300mm")])
            .expect(&CHECK, Verdict::Pass);
    }
}
