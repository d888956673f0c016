//! Tests of the rule sheet: its shape, some values against their sources, overrides.

use lockring_calc::road::tables::{self, Seat};

use super::*;

#[test]
fn every_row_has_a_known_unit_a_basis_and_a_source() {
    let sheet = RuleSheet::shipped();
    assert!(sheet.keys().count() > 140);
    for rule in sheet.rules() {
        assert!(
            plain::is_plain(&rule.unit) || unit::kind_of(&rule.unit) == Some(rule.kind),
            "{rule:?}"
        );
        assert!(rule.source.len() >= 10 && rule.note.is_none(), "{rule:?}");
        for mark in ["http", "www", ".com", "[R", "[T]", "[M"] {
            assert!(!rule.source.contains(mark), "{rule:?}");
        }
        let says = |word: &str| rule.source.contains(word);
        match rule.basis {
            Basis::CommonPractice => assert!(says("common practice"), "{rule:?}"),
            Basis::Memory => assert!(says("from memory"), "{rule:?}"),
            Basis::Judgement => assert!(says("judgement"), "{rule:?}"),
            Basis::Computed => assert!(says("computed"), "{rule:?}"),
            Basis::Published => assert!(says(",") || says(":"), "a publication and what of it: {rule:?}"),
        }
    }
}

#[test]
fn least_lies_under_most_and_torques_come_in_pairs() {
    let sheet = RuleSheet::shipped();
    let mut pairs = 0;
    for rule in sheet.rules() {
        assert_eq!(sheet.crossed(&rule.key, rule.number), None, "{}", rule.key);
        if let Some(stem) = rule.key.strip_suffix(".min") {
            assert!(sheet.number(&format!("{stem}.max")).is_some(), "{stem}");
            pairs += 1;
        }
    }
    assert_eq!(pairs, 3);
    for bolt in ["reaction", "axle", "arm-bolt"] {
        assert!(sheet.number(&format!("torque.{bolt}.min")).is_some(), "{bolt}");
    }
}

#[test]
fn numbers_come_in_si_and_plain_units_as_written() {
    let sheet = RuleSheet::shipped();
    let close = |key: &str, expected: f64| {
        let number = sheet.number(key).unwrap_or_else(|| panic!("{key}"));
        assert!(
            (number - expected).abs() <= 1e-12 * expected.abs(),
            "{key}: {number} against {expected}"
        );
    };
    close("chainline.centre-good", 0.005);
    close("chain.stay-gap", 0.002);
    close("chainline.angle-good", 3f64.to_radians());
    close("hill.case-good", 333.15);
    close("hill.cadence-most", 85.0 * std::f64::consts::TAU / 60.0);
    close("pack.c-rate-good", 1.5);
    close("hill.restart-acceleration", 0.20);
    close("ride.walk-assist-most", 6.0 / 3.6);
    close("after.first-check-days", 30.0);
    close("pack.insulation-least", 1e6);
    assert_eq!(sheet.number("chainline.centre"), None);
}

/// The words of the brief that choose a drag area and a rolling coefficient.
#[test]
fn every_posture_and_surface_has_its_constant() {
    let sheet = RuleSheet::shipped();
    // Ranges in which the road model is meant to be used: 0.20 to 0.80 m², 0.002 to 0.03.
    for posture in [
        "city-upright",
        "trekking",
        "flat-bar",
        "drop-bar",
        "cargo",
        "folder",
        "recumbent",
    ] {
        let area = sheet.number(&format!("cda.{posture}")).unwrap();
        assert!((0.20..=0.80).contains(&area), "{posture}");
    }
    let surfaces = [
        "slick-asphalt",
        "city-asphalt",
        "trekking-asphalt",
        "cargo-asphalt",
        "knobbly-asphalt",
        "gravel",
        "trail",
    ];
    let rolling: Vec<f64> = surfaces
        .iter()
        .map(|word| sheet.number(&format!("crr.{word}")).unwrap())
        .collect();
    assert!(
        rolling.is_sorted() && rolling[0] >= 0.002 && rolling[6] <= 0.03,
        "{rolling:?}"
    );
}

#[test]
fn a_shop_overrides_a_value_with_a_note() {
    let sheet = RuleSheet::shipped()
        .with_override("chainline.centre-good", "3/16 in", "narrow-wide rings only")
        .unwrap();
    let rule = sheet.get("chainline.centre-good").unwrap();
    assert!((rule.number - 0.004_762_5).abs() < 1e-15);
    assert_eq!((rule.value, rule.show().as_str()), (4.7625, "4.763 mm"));
    assert_eq!(rule.note.as_deref(), Some("narrow-wide rings only"));
    assert_eq!(sheet.overridden().count(), 1);
    assert_eq!(RuleSheet::shipped().overridden().count(), 0);
    let sheet = sheet
        .with_override("pack.c-rate-good", "1,2 A/Ah", "old cells")
        .unwrap();
    assert_eq!(sheet.number("pack.c-rate-good"), Some(1.2));
    let sheet = sheet
        .with_override("range.winter-below", "-2", "mild winters")
        .unwrap();
    assert_eq!(sheet.number("range.winter-below"), Some(271.15));
    assert_eq!(sheet.overridden().count(), 3);
}

#[test]
fn an_override_is_refused_with_a_reason() {
    let refused = |key: &str, text: &str, note: &str| {
        RuleSheet::shipped()
            .with_override(key, text, note)
            .unwrap_err()
            .to_string()
    };
    let unknown = refused("chainline.center-good", "5", "x");
    assert!(unknown.contains("nearest: chainline.centre-good"), "{unknown}");
    assert!(refused("chainline.centre-good", "5", " ").contains("needs a note"));
    assert!(refused("chainline.centre-good", "5 kg", "x").contains("unit of mass"));
    assert!(refused("chainline.centre-good", "-5", "x").contains("negative"));
    assert!(refused("chainline.centre-good", "five", "x").contains("not a number"));
    assert!(refused("pack.c-rate-good", "2 V", "x").contains("or in A/Ah"));
    let much = refused("money.labour-rate", "12345678901234567890", "x");
    assert!(much.contains("expected at most 58000"), "{much}");
    let much = refused("plan.hub-fitting", "1000000000 h", "x");
    assert!(much.contains("expected at most 4300 h"), "{much}");
    let dear = RuleSheet::shipped().with_override("money.labour-rate", "58000", "x");
    assert_eq!(dear.unwrap().number("money.labour-rate"), Some(58_000.0));
    assert!(refused("torque.axle.min", "46", "x").contains("over torque.axle.max = 45 N m"));
    assert!(refused("chain.slack-most", "7", "x").contains("under chain.slack-least = 8 mm"));
}

#[test]
fn a_broken_sheet_is_refused_with_the_key() {
    let broken = |text: &str| RuleSheet::read(text).unwrap_err().to_string();
    let row = |unit: &str, basis: &str, source: &str| {
        format!("[a]\nb = {{ value = 1.0, unit = \"{unit}\", basis = \"{basis}\", source = \"{source}\" }}")
    };
    assert!(RuleSheet::read(&row("mm", "memory", "a book, from memory")).is_ok());
    assert!(broken(&row("furlong", "memory", "x")).contains("a.b: unit `furlong`"));
    assert!(broken(&row("mm", "rumour", "x")).contains("a.b: "));
    assert!(broken(&row("mm", "memory", " ")).contains("a.b: no source"));
    assert!(broken("[a]\nb = 1.0").contains("a.b: `1.0` is neither"));
    assert!(broken("[a").contains("rule sheet"));
}

#[test]
fn no_check_asks_for_a_rule_that_the_sheet_lacks() {
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};
    use crate::command::ReceiptText;
    use crate::gate;
    use crate::stage::Stage;

    // A missing rule panics inside the check, whichever way it takes.
    let run_all = |bench: &Bench| {
        let sheet = RuleSheet::shipped();
        for gate in Stage::GATED {
            for report in gate::run(gate, &bench.job, &sheet) {
                assert!(!report.findings.is_empty(), "{}", report.check.id);
            }
        }
    };
    for bench in [trekking(), longtail(), hardtail()] {
        run_all(&bench);
        run_all(&bench.clone().receive_all());
        let iron = [("chemistry", "iron-phosphate")];
        run_all(&bench.clone().receive("pack", &iron, ReceiptText::default()));
        for source in ["told", "map", "measured"] {
            run_all(&bench.clone().state(&[("hill-source", source)]));
        }
        for posture in [
            "city-upright",
            "trekking",
            "flat-bar",
            "drop-bar",
            "cargo",
            "folder",
            "recumbent",
        ] {
            run_all(&bench.clone().state(&[("posture", posture), ("coldest", "-5 C")]));
        }
        for rolling in [
            "slick-asphalt",
            "city-asphalt",
            "trekking-asphalt",
            "cargo-asphalt",
            "knobbly-asphalt",
            "gravel",
            "trail",
        ] {
            run_all(&bench.clone().state(&[("rolling", rolling), ("cogs", "19")]));
        }
        for material in ["steel", "aluminium", "titanium", "carbon", "other"] {
            run_all(
                &bench
                    .clone()
                    .state(&[("frame-material", material), ("throttle", "full")]),
            );
        }
        for class in crate::ride_class::all() {
            run_all(
                &bench
                    .clone()
                    .state(&[("ride-class", &class.id), ("throttle", "walk")]),
            );
        }
    }
}

#[test]
fn what_stands_behind_a_rule_is_told_in_one_line() {
    let sheet = RuleSheet::shipped();
    let told = |key: &str| sheet.get(key).unwrap().standing();
    assert_eq!(
        told("brake.cut-off-time"),
        "brake.cut-off-time 0.5 s (common practice, no source)"
    );
    let published = told("ride.walk-assist-most");
    assert!(
        published.starts_with("ride.walk-assist-most 6 km/h (published: EN 15194"),
        "{published}"
    );
    for rule in sheet.rules() {
        let basis = rule.basis.to_string();
        assert!(rule.standing().contains(&basis), "{}", rule.standing());
    }
    let changed = sheet
        .clone()
        .with_override("brake.cut-off-time", "0.4 s", "our own levers are quicker")
        .unwrap();
    assert_eq!(
        changed.get("brake.cut-off-time").unwrap().standing(),
        "brake.cut-off-time 0.4 s, the shop's own: our own levers are quicker (as shipped: common practice, no source)"
    );
}

#[test]
fn drag_and_rolling_stay_with_what_is_published() {
    // Drag areas within a fifth of what is published for the posture (`cda.spread`), rolling within the ends of
    // the published row; the sources stand in the tables.
    let sheet = RuleSheet::shipped();
    let number = |key: &str| sheet.number(key).unwrap();
    let spread = number("cda.spread");
    for (key, low, high) in [
        ("cda.city-upright", Seat::Upright, Seat::Upright),
        ("cda.trekking", Seat::Hoods, Seat::Upright),
        ("cda.flat-bar", Seat::Hoods, Seat::Upright),
        ("cda.drop-bar", Seat::Hoods, Seat::Hoods),
    ] {
        let low = tables::drag_area_span(low).low * (1.0 - spread);
        let high = tables::drag_area_span(high).high * (1.0 + spread);
        assert!((low..=high).contains(&number(key)), "{key}: {low} to {high}");
    }
    for (key, low, high) in [
        ("crr.slick-asphalt", "any-asphalt", "any-rough-pavement"),
        ("crr.city-asphalt", "utility-tarmac", "utility-tarmac"),
        ("crr.trekking-asphalt", "utility-tarmac", "utility-tarmac"),
        ("crr.cargo-asphalt", "utility-tarmac", "utility-tarmac"),
        ("crr.knobbly-asphalt", "knobbly-road", "mountain-climb"),
        ("crr.gravel", "utility-gravel", "utility-gravel"),
        ("crr.trail", "utility-gravel", "utility-grass"),
    ] {
        let low = tables::rolling(low).unwrap().crr[0];
        let high = tables::rolling(high).unwrap().crr[1];
        assert!((low..=high).contains(&number(key)), "{key}: {low} to {high}");
    }
}
