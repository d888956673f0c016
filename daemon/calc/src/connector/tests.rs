//! Tests of connector choice and contact heat.

use super::*;

fn amperes(value: f64) -> Current {
    Current::amperes(value)
}

fn awg(number: u8) -> Gauge {
    Gauge::new(number).unwrap()
}

fn chosen(used_for: Use, current: f64, gauge: u8, place: Place) -> Option<&'static str> {
    choose(used_for, amperes(current), Some(awg(gauge)), place)
        .unwrap()
        .map(|chosen| chosen.connector.id)
}

#[test]
fn rows_are_whole_and_advise_only() {
    for (at, row) in CONNECTORS.iter().enumerate() {
        assert_eq!(
            connector(row.id),
            Some(&CONNECTORS[at]),
            "{} occurs twice",
            row.id
        );
        assert!(!row.basis.may_stop(), "{}", row.id);
        assert!(
            row.continuous_a[0] > 0.0 && row.continuous_a[0] <= row.continuous_a[1],
            "{}",
            row.id
        );
        assert!(row.gauges.is_none_or(|[thin, thick]| thin >= thick), "{}", row.id);
        for later in CONNECTORS[at..].iter().filter(|l| l.used_for == row.used_for) {
            assert!(later.continuous_a[0] >= row.continuous_a[0], "{}", later.id);
        }
    }
    assert_eq!(connector("bullet"), None);
}

#[test]
fn typical_currents() {
    // From memory: typical continuous currents by kind, halved for sealed use in a frame.
    for (id, open, sealed) in [
        ("tab-6.3", 15.0, 7.5),
        ("bullet-3.5", 25.0, 12.5),
        ("bullet-4", 35.0, 17.5),
        ("bullet-5.5", 60.0, 30.0),
        ("moulded-90", 90.0, 45.0),
        ("barrel-5.5", 3.0, 1.5),
        ("microphone-3-pin", 6.0, 3.0),
        ("sealed-multi-pole", 2.0, 1.0),
    ] {
        let row = connector(id).unwrap();
        assert_eq!(row.allowed(Place::Open), amperes(open), "{id}");
        assert_eq!(row.allowed(Place::Sealed), amperes(sealed), "{id}");
    }
}

#[test]
fn the_smallest_that_carries_is_chosen() {
    let power = |current, gauge| chosen(Use::Power, current, gauge, Place::Open);
    assert_eq!(power(15.0, 14), Some("tab-6.3"));
    assert_eq!(power(15.1, 14), Some("bullet-3.5"));
    assert_eq!(power(25.0, 12), Some("bullet-3.5"));
    assert_eq!(power(25.1, 12), Some("moulded-30"));
    assert_eq!(power(25.1, 14), Some("bullet-4"));
    assert_eq!(power(35.1, 12), Some("moulded-60"));
    assert_eq!(power(60.0, 10), Some("moulded-60"));
    assert_eq!(power(60.0, 8), Some("bullet-5.5"));
    assert_eq!(power(60.1, 8), Some("moulded-90"));
    assert_eq!(power(60.1, 10), None);
    assert_eq!(power(90.0, 8), Some("moulded-90"));
    assert_eq!(power(90.1, 8), None);
    let sealed = |current| chosen(Use::Power, current, 12, Place::Sealed);
    assert_eq!(sealed(7.5), Some("tab-6.3"));
    assert_eq!(sealed(15.0), Some("moulded-30"));
    assert_eq!(sealed(25.0), Some("moulded-60"));
    assert_eq!(sealed(30.1), None);
    let charge = |current, place| chosen(Use::Charge, current, 16, place);
    assert_eq!(charge(3.0, Place::Open), Some("barrel-5.5"));
    assert_eq!(charge(3.1, Place::Open), Some("microphone-3-pin"));
    assert_eq!(charge(3.1, Place::Sealed), None);
    assert_eq!(
        chosen(Use::Signal, 2.0, 24, Place::Open),
        Some("sealed-multi-pole")
    );
    assert_eq!(chosen(Use::Signal, 2.1, 24, Place::Open), None);
}

#[test]
fn wires_are_known_or_not() {
    let moulded = connector("moulded-60").unwrap();
    for (gauge, wire) in [
        (13, WireFit::Refuses),
        (12, WireFit::Takes),
        (11, WireFit::Takes),
        (10, WireFit::Takes),
        (9, WireFit::Refuses),
    ] {
        assert_eq!(moulded.takes(awg(gauge)), wire, "{gauge}");
    }
    assert_eq!(connector("bullet-4").unwrap().takes(awg(12)), WireFit::Unknown);
    let choice = choose(Use::Power, amperes(50.0), Some(awg(10)), Place::Open)
        .unwrap()
        .unwrap();
    assert_eq!(choice.wire, WireFit::Takes);
    assert_eq!((choice.allowed, choice.margin), (amperes(60.0), amperes(10.0)));
    // Without a wire no row is passed over, and nothing is said about it.
    let unwired = choose(Use::Power, amperes(30.0), None, Place::Open)
        .unwrap()
        .unwrap();
    assert_eq!(
        (unwired.connector.id, unwired.wire),
        ("moulded-30", WireFit::Unknown)
    );
    let unknown = choose(Use::Power, amperes(10.0), Some(awg(10)), Place::Sealed)
        .unwrap()
        .unwrap();
    assert_eq!(
        (unknown.wire, unknown.allowed, unknown.margin),
        (WireFit::Unknown, amperes(12.5), amperes(2.5))
    );
}

#[test]
fn more_current_never_chooses_less() {
    for place in [Place::Open, Place::Sealed] {
        let mut last = 0.0;
        for tenth in 0..1000 {
            let current = f64::from(tenth) / 10.0;
            let Some(choice) = choose(Use::Power, amperes(current), Some(awg(8)), place).unwrap() else {
                last = f64::MAX;
                continue;
            };
            let allowed = choice.allowed.as_amperes();
            assert!(allowed >= last && allowed >= current, "{current}");
            last = allowed;
        }
    }
}

#[test]
fn contacts_get_warm() {
    // Arithmetic: 0.5 mΩ at 25 A is 0.3125 W, two contacts 0.625 W.
    let heat = |n| {
        connector_heat(amperes(25.0), Resistance::milliohms(0.5), n)
            .unwrap()
            .as_watts()
    };
    assert!((heat(1) - 0.3125).abs() < 1e-12);
    assert!((heat(2) - 0.625).abs() < 1e-12);
}

#[test]
fn bad_input_is_refused() {
    let milli = Resistance::milliohms(0.5);
    for current in [-0.1, 500.1, f64::NAN] {
        assert!(choose(Use::Power, amperes(current), Some(awg(12)), Place::Open).is_err());
        assert!(connector_heat(amperes(current), milli, 2).is_err());
    }
    assert!(choose(Use::Power, amperes(500.0), Some(awg(12)), Place::Open).is_ok());
    assert!(connector_heat(amperes(1.0), Resistance::ohms(1.01), 2).is_err());
    assert!(connector_heat(amperes(1.0), Resistance::ohms(-0.01), 2).is_err());
    assert!(connector_heat(amperes(1.0), milli, 0).is_err());
    assert!(connector_heat(amperes(1.0), milli, 20).is_ok());
    assert!(connector_heat(amperes(1.0), milli, 21).is_err());
}

#[test]
fn the_names_stand_in_the_order_of_the_rows() {
    assert_eq!(IDS.len(), CONNECTORS.len());
    for (id, row) in IDS.iter().zip(CONNECTORS) {
        assert_eq!(connector(id), Some(row));
    }
}
