//! A limit that rests on memory or judgement alone never stops a job: moved far either way, it
//! turns no verdict to fail. Run on bicycles with everything measured that such limits judge.

use std::collections::BTreeSet;

use super::ALL;
use super::testing::{Bench, hardtail, longtail, trekking};
use crate::check::{Concede, Verdict};
use crate::command::ReceiptText;
use crate::rules::{Basis, Rule, RuleSheet};

/// Inputs of a model or of a doubt, which are no limits.
const INPUTS: &[&str] = &[
    "after.",
    "assist.",
    "brake.stop-usual",
    "cda.",
    "chainline.sheet-step",
    "crr.",
    "hill.grade-doubt",
    "hill.speed-error",
    "learn.",
    "mass.parts-doubt",
    "mass.small-parts",
    "model.",
    "money.",
    "motor.",
    "range.",
    "ride.",
    // Takes of an efficiency what a converter draws from the pack; its own output is judged.
    "wiring.converter-efficiency",
];

/// Weak limits that stop a job all the same, each with why.
const STOPS: &[&str] = &[
    // A rear brake that stops so late has failed, and nobody may concede that.
    "brake.stop-failed",
    // What stops is a cut-off above the volts that a cell rests at by the published curve; this only lets it be so much more.
    "volts.rests-higher-lfp",
];

/// The weak limits of the sheet.
fn weak(sheet: &RuleSheet) -> Vec<&Rule> {
    let is_input = |key: &str| INPUTS.iter().any(|input| key.starts_with(input));
    sheet
        .rules()
        .filter(|rule| matches!(rule.basis, Basis::Memory | Basis::Judgement))
        .filter(|rule| !is_input(&rule.key) && !STOPS.contains(&rule.key.as_str()))
        .collect()
}

/// A hub motor in a wheel that is rebuilt, with every weak limit's value measured.
fn rebuilt() -> Bench {
    let pack = [("length", "245 mm"), ("height", "120 mm"), ("width", "90 mm")];
    let display = [("clamp-diameter", "31.8 mm"), ("clamp-width", "60 mm")];
    trekking()
        .state(&[("tyre-size", "42-622"), ("tyre-max", "5 bar")])
        .state(&[("descent-grade", "6 %"), ("descent-speed", "20 km/h")])
        .receive("pack", &pack, ReceiptText::default())
        .receive("display", &display, ReceiptText::default())
        .measure(&[
            ("mass-after", "23.5 kg"),
            ("tyre-pressure", "4.2 bar"),
            ("rim-inner", "19 mm"),
            ("spoke-spread", "19 %"),
            ("steering-free", "yes"),
            ("bar-diameter", "31.8 mm"),
            ("bar-free", "63 mm"),
            ("crank-room", "96 mm"),
            ("tube-top", "400 mm"),
            ("tube-seat", "300 mm"),
            ("tube-down", "500 mm"),
            ("erd", "537 mm"),
            ("spoke-count", "36"),
            ("spoke-crossings", "2"),
            ("flange-left-diameter", "123 mm"),
            ("flange-left-distance", "25 mm"),
            ("flange-right-diameter", "123 mm"),
            ("flange-right-distance", "25 mm"),
        ])
        .torque(&[("axle", "40"), ("arm-bolt", "6"), ("stem", "5")])
}

/// A motor at the crank with its bolts tightened and a worn rotor kept.
fn tightened() -> Bench {
    longtail()
        .build(&[("rotor-front", "none"), ("rotor-rear", "none")])
        .state(&[("rotor-front", "180 mm"), ("rotor-rear", "180 mm")])
        .forget("rotor-limit")
        .measure(&[
            ("rotor-wear", "1.7 mm"),
            ("shell-bore", "33.6 mm"),
            ("chainline-front", "51.5"),
            ("chainline-rear", "45.0"),
            ("back-pedal", "10/10"),
        ])
        .torque(&[
            ("lockring", "35"),
            ("reaction", "10"),
            ("crank", "40"),
            ("chainring", "8.5"),
            ("cassette", "40"),
            ("pedal", "36"),
            ("stem", "5"),
            ("calliper-front", "7"),
            ("calliper-rear", "7"),
        ])
}

/// A pack of iron phosphate on an unmarked frame with plain brakes.
fn unmarked() -> Bench {
    trekking()
        .forget("permitted-mass")
        .state(&[
            ("rider-mass", "60 kg"),
            ("brake-front", "rim-caliper"),
            ("brake-rear", "coaster"),
        ])
        .receive("pack", &[("chemistry", "iron-phosphate")], ReceiptText::default())
        .measure(&[("low-cutoff", "27 V")])
}

/// Softer frames spread within what may be conceded, a pack on bosses that nearly meet its rail,
/// a display on a bar that is a little thick.
fn pressed(material: &str, dropouts: &str) -> Bench {
    let rail = [("hole-lower", "50 mm"), ("hole-upper", "114 mm")];
    trekking()
        .state(&[("frame-material", material)])
        .receive("pack", &rail, ReceiptText::default())
        .receive(
            "display",
            &[("clamp-diameter", "31.8 mm")],
            ReceiptText::default(),
        )
        .measure(&[
            ("dropout-rear", dropouts),
            ("boss-lower", "200 mm"),
            ("boss-upper", "267 mm"),
            ("bar-diameter", "32.2 mm"),
        ])
}

/// Leads, looms, light and plugs measured, and a single cog without a derailleur.
fn wired() -> Bench {
    trekking()
        .build(&[("light", "light-pack")])
        .receive(
            "light",
            &[("fed-from", "controller-output"), ("power", "4 W")],
            ReceiptText::default(),
        )
        .receive(
            "controller",
            &[
                ("light-volts", "6 V"),
                ("light-current", "1 A"),
                ("connector", "moulded-30"),
                ("input-capacitance", "1000 uF"),
            ],
            ReceiptText::default(),
        )
        .receive("pack", &[("connector", "moulded-30")], ReceiptText::default())
        .receive("display", &[("loom-length", "1060 mm")], ReceiptText::default())
        .state(&[("charge-hours", "8 h"), ("cogs", "18")])
        .measure(&[
            ("path-display", "1000 mm"),
            ("contact-resistance", "0.5 mohm"),
            ("precharge-resistor", "100 ohm"),
            ("fuse", "20 A"),
            ("fuse-volts", "58 V"),
            ("fuse-breaks", "1000 A"),
            ("fuse-distance", "100 mm"),
            ("chain-slack", "12 mm"),
        ])
}

/// A motor in adapter rings in a wide shell, its pedals and its spider measured.
fn cranked() -> Bench {
    let kit = [
        ("shell-least", "74 mm"),
        ("shell-most", "100 mm"),
        ("tube-length", "115 mm"),
        ("bolt-circle", "104 mm"),
        ("arms", "4"),
    ];
    longtail()
        .receive("motor", &kit, ReceiptText::default())
        .receive(
            "chainring",
            &[("bolt-circle", "104.3 mm"), ("arms", "4")],
            ReceiptText::default(),
        )
        .state(&[("shell-standard", "press-41x92")])
        .measure(&[
            ("shell-width", "92 mm"),
            ("shell-bore", "41 mm"),
            ("adapter-outer", "41.3 mm"),
            ("adapter-inner", "33.7 mm"),
            ("pedal-left", "90 mm"),
            ("pedal-right", "97 mm"),
        ])
}

/// A motor that states its power in another way than its class.
fn rated(watts: &str, basis: &str) -> Bench {
    let found = [("rated-power", watts), ("power-basis", basis)];
    trekking().receive("motor", &found, ReceiptText::default())
}

#[test]
fn a_weak_limit_moved_far_never_stops_a_job() {
    let sheet = RuleSheet::shipped();
    let weak = weak(&sheet);
    let mut moved = BTreeSet::new();
    for bench in [
        trekking(),
        longtail(),
        hardtail(),
        rebuilt(),
        tightened(),
        unmarked(),
        pressed("aluminium", "133.5 mm"),
        pressed("steel", "128 mm"),
        pressed("carbon", "134.5 mm"),
        wired(),
        cranked(),
        rated("750 W", "nominal"),
        rated("1500 W", "peak"),
    ] {
        for check in ALL.iter().filter(|check| check.concede == Concede::Owner) {
            let before = bench.report(check);
            if before.verdict == Verdict::Fail {
                continue;
            }
            for rule in &weak {
                if !before.limits.iter().any(|limit| limit.key == rule.key) {
                    continue;
                }
                for share in [0.1, 0.5, 2.0, 10.0] {
                    let text = (rule.value * share).to_string();
                    let Ok(sheet) = sheet.clone().with_override(&rule.key, &text, "moved") else {
                        continue;
                    };
                    let after = bench.report_by(check, &sheet);
                    assert_ne!(
                        after.verdict,
                        Verdict::Fail,
                        "{} at {text} {} stops {}: {:?}",
                        rule.key,
                        rule.unit,
                        check.id,
                        after.findings
                    );
                    moved.insert(rule.key.clone());
                }
            }
        }
    }
    let unmoved: BTreeSet<&str> = weak
        .iter()
        .map(|rule| rule.key.as_str())
        .filter(|key| !moved.contains(*key))
        .collect();
    assert!(unmoved.is_empty(), "no bicycle here is judged by {unmoved:?}");
}
