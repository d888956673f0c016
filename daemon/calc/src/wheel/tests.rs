//! Tests of marks, circumference, setting, load and pressure.

use super::*;
use crate::quantity::Pressure;

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected} ± {tolerance}"
    );
}

fn seats(text: &str) -> Vec<u16> {
    parse_tyre(text).unwrap().bead_seats
}

#[test]
fn standard_marks() {
    // ISO 5775 designation: width and bead seat in mm.
    let tyre = parse_tyre("47-559").unwrap().known().unwrap();
    near(tyre.width.as_millimetres(), 47.0, 1e-9);
    near(tyre.bead_seat.as_millimetres(), 559.0, 1e-9);
    assert_eq!(seats("32-597"), [597]);
    assert_eq!(seats("37-622 (700x35C)"), [622]);
    assert_eq!(seats("37-622, 37-622; 700x35C"), [622]);
    assert_eq!(seats("700x35C [37-622]"), [622]);
}

#[test]
fn decimal_and_fraction_are_different_sizes() {
    // Encyclopaedia table of ETRTO sizes; common practice.
    assert_eq!(seats("26x1.5"), [559]);
    assert_eq!(seats("26x1,5"), [559]);
    assert_eq!(seats("26x1 1/2"), [584]);
    assert_eq!(seats("26×1½"), [584]);
    assert_eq!(seats("26 x 1-1/2"), [584]);
    assert_eq!(seats("26x1 1/4"), [597]);
    assert_eq!(seats("27x1 1/4"), [630]);
    assert_eq!(seats("28x1 5/8"), [622]);
    assert_eq!(seats("28x1 1/2"), [635]);
    assert_eq!(seats("24x1"), [520]);
    assert_eq!(seats("24x1.75"), [507]);
    assert_eq!(seats("20x1 1/8"), [451]);
    assert_eq!(seats("20x1.75"), [406]);
    assert_eq!(seats("12 1/2 x 2 1/4"), [203]);
    near(
        parse_tyre("26x1 1/2").unwrap().width.unwrap().as_millimetres(),
        38.1,
        1e-9,
    );
}

#[test]
fn letters() {
    assert_eq!(seats("700x28C"), [622]);
    assert_eq!(seats("700C"), [622]);
    assert_eq!(seats("700x40"), [622]);
    assert_eq!(seats("650B"), [584]);
    assert_eq!(seats("650x23C"), [571]);
    assert_eq!(seats("650A"), [590]);
    assert_eq!(seats("29x2.1"), [622]);
    assert_eq!(seats("27.5x2.2"), [584]);
    near(
        parse_tyre("700x28C").unwrap().width.unwrap().as_millimetres(),
        28.0,
        1e-9,
    );
}

#[test]
fn ambiguous_names_are_not_guessed() {
    // Encyclopaedia table of ETRTO sizes: the same inch name, several diameters.
    assert_eq!(seats("20 inch"), [406, 451]);
    assert_eq!(seats("26\""), [559, 571, 584, 590, 597]);
    assert_eq!(seats("28in"), [622, 635]);
    assert_eq!(seats("16x1 3/8"), [337, 340, 349]);
    // The table names 305 from 1.75 in on; narrower ones are a folding bicycle's 349 as well.
    for narrow in ["16x1.35", "16 x 1,35", "16x1.5"] {
        assert_eq!(seats(narrow), [305, 349], "{narrow}");
    }
    assert_eq!(seats("16x1.75"), [305]);
    assert_eq!(seats("35-349 16x1.35"), [349]);
    assert_eq!(seats("650x42"), [590, 584, 571]);
    assert_eq!(seats("28x1.75"), [622, 635]);
    assert!(parse_tyre("28x1.75").unwrap().known().is_none());
    assert!(parse_tyre("28in").unwrap().bead_seat().is_none());
}

#[test]
fn unreadable_marks_are_refused() {
    for text in [
        "", "wide", "x", "47-560", "26x", "13x1.5", "26x1 1/3", "26xwide", "700x500C", "-", "ü", "26x1.5ü",
    ] {
        // "26x" is a bare diameter with a stray cross.
        if text == "26x" {
            assert_eq!(seats(text).len(), 5);
        } else {
            assert!(parse_tyre(text).is_err(), "{text:?}");
        }
    }
    let error = parse_tyre("47-560").unwrap_err().to_string();
    assert!(error.contains("47-560") && error.contains("137 to 635 mm"));
}

#[test]
fn every_candidate_is_a_stored_bead_seat() {
    for text in [
        "16x1 3/8", "20 inch", "24in", "26in", "28in", "14in", "650x42", "26x1", "20x2.5", "26x1.25",
    ] {
        for mm in seats(text) {
            assert!(BEAD_SEATS.iter().any(|row| row.mm == mm), "{mm}");
        }
    }
    assert!(BEAD_SEATS.windows(2).all(|pair| pair[0].mm < pair[1].mm));
}

/// Published table of cyclocomputer circumferences: width, bead seat, mm.
const PUBLISHED: &[(f64, f64, f64)] = &[
    (20.0, 622.0, 2086.0),
    (23.0, 622.0, 2096.0),
    (25.0, 622.0, 2105.0),
    (28.0, 622.0, 2136.0),
    (30.0, 622.0, 2146.0),
    (32.0, 622.0, 2155.0),
    (35.0, 622.0, 2168.0),
    (38.0, 622.0, 2180.0),
    (40.0, 622.0, 2200.0),
    (44.0, 622.0, 2224.0),
    (31.75, 559.0, 1950.0),
    (35.56, 559.0, 2005.0),
    (38.1, 559.0, 2010.0),
    (44.45, 559.0, 2023.0),
    (49.53, 559.0, 2050.0),
    (53.975, 559.0, 2070.0),
    (38.1, 406.0, 1490.0),
    (47.0, 406.0, 1515.0),
];

#[test]
fn two_marks_of_different_sizes_are_no_size() {
    for text in [
        "55-406 front, 55-559 rear",
        "55-406 / 55-559",
        "55-406/559",
        "55-406,55-559",
        "47-622 50-622",
    ] {
        let two = TyreError::TwoSizes {
            text: text.to_owned(),
        };
        assert_eq!(parse_tyre(text), Err(two), "{text}");
    }
}

#[test]
fn circumference_against_a_published_table() {
    // Common practice, no source (a published list of computer settings).
    for &(width, seat, published) in PUBLISHED {
        let found = circumference(mm(seat), mm(width)).unwrap().as_millimetres();
        let tolerance = circumference_tolerance(mm(seat)).unwrap();
        near(found, published, published * tolerance);
    }
    let exact = circumference(mm(622.0), mm(32.0)).unwrap().as_millimetres();
    near(exact, 2155.0, 2.0);
    near(exact, 2155.1, 0.05);
    let small = circumference(mm(406.0), mm(47.0)).unwrap().as_millimetres();
    assert!(
        (small / 1515.0 - 1.0).abs() > 0.01,
        "{small} must show why 406 has its own tolerance"
    );
}

#[test]
fn circumference_values() {
    // Computed by hand from π(BSD + 2W).
    for (width, seat, expected) in [
        (37.0, 622.0, 2186.5),
        (47.0, 622.0, 2249.4),
        (50.0, 622.0, 2268.2),
        (57.0, 622.0, 2312.2),
        (57.0, 584.0, 2192.8),
        (54.0, 584.0, 2174.0),
        (47.0, 507.0, 1888.1),
        (50.0, 559.0, 2070.3),
        (50.0, 406.0, 1589.6),
        (32.0, 630.0, 2180.3),
        (37.0, 590.0, 2086.0),
    ] {
        near(
            circumference(mm(seat), mm(width)).unwrap().as_millimetres(),
            expected,
            0.05,
        );
    }
}

#[test]
fn setting_and_true_speed() {
    // Common practice, no source: 2 155 set, 2 170 rolled: 0.7 % off, 25.17 km/h at "25".
    let (setting, actual) = (mm(2155.0), mm(2170.0));
    near(setting_error(setting, actual).unwrap(), -0.007, 0.0001);
    let speed = true_speed(Speed::kilometres_per_hour(25.0), setting, actual).unwrap();
    near(speed.as_kilometres_per_hour(), 25.17, 0.005);
    near(rolled_out(mm(4340.0), 2).unwrap().as_millimetres(), 2170.0, 1e-9);
    assert!(rolled_out(mm(4340.0), 0).is_err());
    assert!(setting_error(mm(0.0), actual).is_err());
}

#[test]
fn pressures_of_the_two_fits() {
    // Fits of Berto's chart, computed by hand: 100 lb on 28 mm 72.5 and 81.0 psi; 100 lb on
    // 32 mm 57.6; 110 lb on 25 mm 99.3; 60 kg and 44 kg on 37 mm 4.19 and 3.12 bar; 66 kg on
    // 50 mm 3.27 and 3.41 bar.
    let usual = |mass, width| pressure_usual(mass, mm(width)).unwrap();
    near(usual(Mass::pounds(100.0), 28.0).as_psi(), 72.5, 0.05);
    near(usual(Mass::pounds(100.0), 28.0).as_bars(), 5.00, 0.005);
    near(
        pressure_wide(Mass::pounds(100.0), mm(28.0)).unwrap().as_psi(),
        81.0,
        0.05,
    );
    near(usual(Mass::pounds(100.0), 32.0).as_psi(), 57.6, 0.05);
    near(usual(Mass::pounds(110.0), 25.0).as_psi(), 99.35, 0.05);
    near(usual(Mass::kilograms(60.0), 37.0).as_bars(), 4.19, 0.005);
    near(usual(Mass::kilograms(44.0), 37.0).as_bars(), 3.12, 0.005);
    near(usual(Mass::kilograms(66.0), 50.0).as_bars(), 3.27, 0.005);
    near(
        pressure_wide(Mass::kilograms(66.0), mm(50.0)).unwrap().as_bars(),
        3.41,
        0.005,
    );
}

#[test]
fn a_third_fit_of_the_same_chart_agrees() {
    // A third fit (from memory), 153.6·L/W^1.5785 − 7.1685 psi: 72.6 psi for 100 lb on 28 mm
    // and 97.8 psi for 110 lb on 25 mm; the first fit claims ±2 psi of the chart.
    for (pounds, width, third) in [(100.0, 28.0, 72.6), (110.0, 25.0, 97.8)] {
        near(
            pressure_usual(Mass::pounds(pounds), mm(width)).unwrap().as_psi(),
            third,
            2.0,
        );
    }
}

#[test]
fn recommended_pressure_stays_within_the_marks() {
    let limits = PressureLimits {
        min: Pressure::bars(3.0),
        max: greatest_pressure(Pressure::bars(6.0), Some(Pressure::bars(4.0))).unwrap(),
    };
    let found = recommended_pressure(Mass::kilograms(60.0), mm(37.0), limits).unwrap();
    assert!(found.clamped);
    near(found.pressure.as_bars(), 4.0, 1e-9);
    near(found.wanted.as_bars(), 4.19, 0.005);
    let found = recommended_pressure(Mass::kilograms(50.0), mm(37.0), limits).unwrap();
    assert!(!found.clamped);
    let wide = recommended_pressure(Mass::kilograms(66.0), mm(50.0), limits).unwrap();
    near(wide.wanted.as_bars(), 3.41, 0.005);
    let upside_down = PressureLimits {
        min: Pressure::bars(5.0),
        ..limits
    };
    assert!(recommended_pressure(Mass::kilograms(60.0), mm(37.0), upside_down).is_err());
    let unread = PressureLimits {
        max: Pressure::bars(f64::NAN),
        ..limits
    };
    assert!(recommended_pressure(Mass::kilograms(60.0), mm(37.0), unread).is_err());
    // ISO 5775-1 as summarised: 300, 200 and 150 kPa.
    near(sidewall_minimum(mm(25.0), false).as_kilopascals(), 300.0, 1e-9);
    near(sidewall_minimum(mm(37.0), false).as_kilopascals(), 200.0, 1e-9);
    near(sidewall_minimum(mm(57.0), true).as_kilopascals(), 150.0, 1e-9);
}

#[test]
fn the_lower_pressure_mark_rules() {
    // ISO 4210-1 as adopted in TBIS 4210-1:2018: the lower maximum of tyre and rim.
    let of = |tyre, rim: Option<f64>| {
        greatest_pressure(Pressure::bars(tyre), rim.map(Pressure::bars)).map(Pressure::as_bars)
    };
    near(of(6.0, Some(5.0)).unwrap(), 5.0, 1e-9);
    near(of(4.0, Some(5.0)).unwrap(), 4.0, 1e-9);
    near(of(6.0, None).unwrap(), 6.0, 1e-9);
    assert!(of(15.0, Some(0.5)).is_ok());
    for (tyre, rim, named) in [(0.4, None, "of the tyre"), (6.0, Some(15.1), "of the rim")] {
        let error = of(tyre, rim).unwrap_err().to_string();
        assert!(error.contains(named), "{error}");
    }
}

#[test]
fn a_tyre_keeps_eighty_five_hundredths_of_its_height() {
    // Heine, Optimizing Your Tire Pressure: a drop of 15 %.
    near(height_kept(mm(40.0), mm(34.0)).unwrap(), HEIGHT_KEPT, 1e-12);
    assert!(height_kept(mm(40.0), mm(33.9)).unwrap() < HEIGHT_KEPT);
    near(height_kept(mm(40.0), mm(40.0)).unwrap(), 1.0, 1e-12);
    assert!(height_kept(mm(40.0), mm(40.1)).is_err());
    assert!(height_kept(mm(130.1), mm(40.0)).is_err() && height_kept(mm(4.9), mm(4.9)).is_err());
}

#[test]
fn pressure_grows_with_load_and_falls_with_width() {
    for width in 20..60 {
        for kilograms in 30..110 {
            let at = |kg: i32, w: i32| {
                pressure_wide(Mass::kilograms(f64::from(kg)), mm(f64::from(w)))
                    .unwrap()
                    .si()
            };
            assert!(at(kilograms + 1, width) > at(kilograms, width));
            assert!(at(kilograms, width + 1) < at(kilograms, width));
        }
    }
}

#[test]
fn rear_tyre_load() {
    // JIS D 9112 reference maximum for 700 × 28C is 70 kg: 60 % of 120 kg is 72 kg, of 116.5 kg
    // 69.9 kg.
    let rating = stored_load(mm(622.0), mm(28.0)).unwrap();
    assert_eq!((rating.load_kg[0], rating.basis), (70.0, Basis::Read));
    let (front, rear) = axle_loads(Mass::kilograms(120.0), 0.6).unwrap();
    near(rear.as_kilograms(), 72.0, 1e-9);
    near(front.as_kilograms(), 48.0, 1e-9);
    assert!(rear.as_kilograms() > rating.load_kg[0]);
    assert!(rear.as_kilograms() < stored_load(mm(622.0), mm(40.0)).unwrap().load_kg[0]);
    let (_, rear) = axle_loads(Mass::kilograms(116.5), 0.6).unwrap();
    assert!(rear.as_kilograms() < rating.load_kg[0] && rear.as_kilograms() > 0.95 * rating.load_kg[0]);
    assert!(axle_loads(Mass::kilograms(100.0), 1.2).is_err());
}

#[test]
fn a_misprinted_name_of_650_is_not_repeated() {
    // One table of the trade prints 650A beside 571 mm, where 650C belongs; 650A is 590 mm.
    assert_eq!(seats("650C"), [571]);
    assert_eq!(seats("650A"), [590]);
    assert_eq!(seats("650B"), [584]);
}
