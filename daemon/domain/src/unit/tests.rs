//! Tests of units: a table of conversions from outside, entries good and bad, round trips.

use super::table::{ROWS, find, of};
use super::*;

/// Conversions as computed by the Python package `pint` (see the folder's README).
const UNITS: &str = include_str!("../../../../tests/reference/tables/units.csv");

/// Names of that table that no field of the shop uses.
const NOT_CARRIED: &[&str] = &[
    "lbf",
    "kgf",
    "N",
    "mmHg",
    "inHg",
    "metric_horsepower",
    "arcminute",
    "nautical_mile",
    "knot",
    "calorie",
    "lb/foot**3",
    "kg/m**3",
    "slug",
];

fn carried(name: &str) -> Option<(Kind, &'static str)> {
    let symbol = match name {
        "mile" => "mi",
        "foot" => "ft",
        "inch" => "in",
        "yard" => "yd",
        "ft*lbf" => "lbf ft",
        "inch*lbf" => "lbf in",
        "N*m" => "N m",
        "kgf*m" => "kgf m",
        "kgf*cm" => "kgf cm",
        "horsepower" => "hp",
        "W*hour" => "Wh",
        "A*hour" => "Ah",
        "revolution/s" => "rev/s",
        "kilowatt_hour/mile" => "kWh/mi",
        "W*hour/km" => "Wh/km",
        "W*hour/mile" => "Wh/mi",
        "degree" => "deg",
        "day" => "d",
        "degF" => "F",
        "degC" => "C",
        "kelvin" => "K",
        other => other,
    };
    ROWS.iter()
        .find(|row| row.symbol == symbol)
        .map(|row| (row.kind, row.symbol))
}

#[test]
fn conversions_agree_with_the_reference_table() {
    let mut compared = 0;
    for line in UNITS.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (Some((kind, from)), Some((same, to))) = (carried(cells[1]), carried(cells[2])) else {
            assert!(
                cells[1..3].iter().any(|name| NOT_CARRIED.contains(name)),
                "{line}"
            );
            continue;
        };
        assert_eq!(kind, same, "{line}");
        let (value, expected): (f64, f64) = (cells[0].parse().unwrap(), cells[3].parse().unwrap());
        let si = to_si(kind, from, value).unwrap();
        let given = from_si(kind, to, si);
        // 15 digits are printed; a temperature's error counts against its kelvins.
        let scale = if kind == Kind::Temperature {
            si
        } else {
            expected.abs()
        };
        assert!((given - expected).abs() <= 1e-12 * scale, "{line}: {given}");
        compared += 1;
    }
    assert_eq!(compared, 44);
}

#[test]
fn the_table_agrees_with_the_quantities_of_the_calculations() {
    use lockring_calc::quantity as q;
    let pairs = [
        (Kind::Length, "in", q::Length::inches(1.0).si()),
        (Kind::Length, "mi", q::Length::miles(1.0).si()),
        (Kind::Mass, "lb", q::Mass::pounds(1.0).si()),
        (Kind::Speed, "km/h", q::Speed::kilometres_per_hour(1.0).si()),
        (Kind::Speed, "mph", q::Speed::miles_per_hour(1.0).si()),
        (Kind::Energy, "Wh", q::Energy::watt_hours(1.0).si()),
        (
            Kind::EnergyPerDistance,
            "Wh/km",
            q::Consumption::watt_hours_per_km(1.0).si(),
        ),
        (
            Kind::EnergyPerDistance,
            "Wh/mi",
            q::Consumption::watt_hours_per_mile(1.0).si(),
        ),
        (Kind::Charge, "Ah", q::Charge::ampere_hours(1.0).si()),
        (Kind::Resistance, "mohm", q::Resistance::milliohms(1.0).si()),
        (Kind::Capacitance, "uF", q::Capacitance::microfarads(1.0).si()),
        (Kind::Torque, "lbf in", q::Torque::pound_force_inches(1.0).si()),
        (Kind::Pressure, "psi", q::Pressure::psi(1.0).si()),
        (Kind::Temperature, "F", q::Temperature::fahrenheit(1.0).si()),
        (Kind::Temperature, "C", q::Temperature::celsius(1.0).si()),
        (Kind::Rotation, "rpm", q::AngularSpeed::rpm(1.0).si()),
        (Kind::Angle, "deg", q::Angle::degrees(1.0).si()),
    ];
    for (kind, symbol, si) in pairs {
        let ours = to_si(kind, symbol, 1.0).unwrap();
        assert!((ours / si - 1.0).abs() < 1e-15, "{symbol}: {ours} against {si}");
    }
}

#[test]
fn the_table_is_whole() {
    for row in ROWS {
        assert!(row.factor > 0.0 && row.factor.is_finite(), "{row:?}");
        assert_eq!(
            of(row.kind).filter(|other| other.symbol == row.symbol).count(),
            1,
            "{row:?}"
        );
        for name in std::iter::once(&row.symbol).chain(row.spellings) {
            let named = of(row.kind).filter(|other| other.is_called(name, false)).count();
            assert_eq!(named, 1, "`{name}` names {named} units of {:?}", row.kind);
        }
        if let Other::Unit(other) = row.other {
            assert!(find(row.kind, other).is_some(), "{row:?}");
        }
        if let Some((smaller, times)) = row.then {
            let smaller = find(row.kind, smaller).unwrap();
            assert!(
                (smaller.factor * times / row.factor - 1.0).abs() < 1e-15,
                "{row:?}"
            );
        }
    }
}

/// What is printed is read back as printed, in every unit of the table.
#[test]
fn print_then_parse_comes_back() {
    let mut tried = 0;
    for row in ROWS {
        for number in [
            -51.5, -3.0, 0.0, 0.00458, 0.58, 1.0, 2.5, 9.8, 14.0, 98.4, 608.4, 999.5, 2170.0, 48_280.0,
        ] {
            if row.kind == Kind::Temperature && number + row.offset < 0.0 {
                continue;
            }
            let text = with_unit(number, row.symbol);
            let si = parse(row.kind, row.symbol, &text).unwrap();
            assert_eq!(from_si(row.kind, row.symbol, si), number, "{text}");
            assert_eq!(show(row.kind, row.symbol, si), text);
            tried += 1;
        }
    }
    assert!(tried > 700, "{tried}");
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(2_000))]

    /// The same for any number of four digits, in any unit by any of its spellings.
    #[test]
    fn any_number_printed_is_read_back(
        row in proptest::sample::select(ROWS),
        spelling in proptest::prelude::any::<proptest::sample::Index>(),
        digits in -9_999_i32..=9_999,
        power in -6_i32..=4,
    ) {
        let number: f64 = format!("{digits}e{power}").parse().unwrap();
        proptest::prop_assume!(row.kind != Kind::Temperature || number + row.offset >= 0.0);
        let text = with_unit(number, row.symbol);
        let si = parse(row.kind, row.symbol, &text).unwrap();
        proptest::prop_assert_eq!(from_si(row.kind, row.symbol, si), number, "{}", &text);
        proptest::prop_assert_eq!(show(row.kind, row.symbol, si), text);
        if !row.spellings.is_empty() {
            let spelled = format!("{} {}", plain(number), row.spellings[spelling.index(row.spellings.len())]);
            proptest::prop_assert_eq!(parse(row.kind, row.symbol, &spelled), Ok(si), "{}", &spelled);
        }
    }
}

#[test]
fn entries_people_write_are_read() {
    // Expected values are arithmetic with the exact factors (1 in = 25.4 mm, 1 lb = 0.453 592 37 kg).
    let good: &[(Kind, &str, &str, f64)] = &[
        (Kind::Length, "mm", "51,5", 0.0515),
        (Kind::Length, "mm", "51.5mm", 0.0515),
        (Kind::Length, "mm", "+51.5 MM", 0.0515),
        (Kind::Length, "mm", "\u{2212}2", -0.002),
        (Kind::Length, "mm", ".5", 0.0005),
        (Kind::Length, "mm", "2 1/16in", 2.0625 * 0.0254),
        (Kind::Length, "mm", "12 1/8\"", 12.125 * 0.0254),
        (Kind::Length, "mm", "2½ inches", 2.5 * 0.0254),
        (Kind::Length, "mm", "1/2 in", 0.0127),
        (Kind::Length, "m", "5ft 11in", 71.0 * 0.0254),
        (Kind::Length, "m", "5'11\"", 71.0 * 0.0254),
        (Kind::Length, "m", "5\u{2019} 11 1/2", 71.5 * 0.0254),
        (Kind::Length, "km", "30 miles", 30.0 * 1609.344),
        (Kind::Length, "km", "48", 48_000.0),
        (Kind::Mass, "kg", "12st 4", 172.0 * 0.453_592_37),
        (Kind::Mass, "kg", "12 st 4 lb", 172.0 * 0.453_592_37),
        (Kind::Mass, "kg", "185lbs", 185.0 * 0.453_592_37),
        (Kind::Mass, "kg", "8 oz", 0.226_796_185),
        (Kind::Mass, "kg", "5 lb 8 oz", 5.5 * 0.453_592_37),
        (Kind::Speed, "km/h", "20mph", 8.9408),
        (Kind::Speed, "km/h", "36 kmh", 10.0),
        (Kind::Speed, "km/h", "36 kph", 10.0),
        (Kind::Speed, "km/h", "2 m/s", 2.0),
        (Kind::Temperature, "C", "-3C", 270.15),
        (Kind::Temperature, "C", "-3", 270.15),
        (Kind::Temperature, "C", "26.6 F", 270.15),
        (Kind::Temperature, "C", "14 °F", 263.15),
        (Kind::Temperature, "C", "273.15 K", 273.15),
        (Kind::Ratio, "%", "8%", 0.08),
        (Kind::Ratio, "%", "8", 0.08),
        (Kind::Ratio, "%", "1:12.5", 0.08),
        (Kind::Ratio, "%", "1 in 12.5", 0.08),
        (Kind::Ratio, "%", "-1:12,5", -0.08),
        (Kind::Ratio, "%", "45 deg", 1.0),
        (Kind::Ratio, "", "0.98", 0.98),
        (Kind::Power, "W", "0.25 kW", 250.0),
        (Kind::Energy, "Wh", "0.5kWh", 1.8e6),
        (
            Kind::EnergyPerDistance,
            "Wh/km",
            "20 Wh/mi",
            20.0 * 3600.0 / 1609.344,
        ),
        (Kind::Voltage, "V", "12 mV", 0.012),
        (Kind::Charge, "Ah", "11.2Ah", 40_320.0),
        (Kind::Charge, "Ah", "5200 mAh", 18_720.0),
        (Kind::Resistance, "mohm", "38", 0.038),
        (Kind::Resistance, "mohm", "38 mΩ", 0.038),
        (Kind::Capacitance, "uF", "1000", 1e-3),
        (Kind::Capacitance, "uF", "470 µF", 470e-6),
        (Kind::Capacitance, "uF", "4.7 mF", 4.7e-3),
        (Kind::Resistance, "mohm", "1 Mohm", 1e6),
        (Kind::Torque, "N m", "40Nm", 40.0),
        (Kind::Torque, "N m", "40 N·m", 40.0),
        (Kind::Torque, "N m", "40 N-m", 40.0),
        // A bicycle tool maker's torque table: 300 lbf in is 33.90 N m.
        (
            Kind::Torque,
            "N m",
            "300 lb-in",
            300.0 * 0.453_592_37 * 9.806_65 * 0.0254,
        ),
        (Kind::Torque, "N m", "30 ft-lb", 40.674_538_449_942),
        (Kind::Torque, "N m", "400 kgf·cm", 39.2266),
        // As they are typed at the bench, glued.
        (Kind::Torque, "N m", "30ftlb", 40.674_538_449_942),
        (
            Kind::Torque,
            "N m",
            "300inlb",
            300.0 * 0.453_592_37 * 9.806_65 * 0.0254,
        ),
        (Kind::Torque, "N m", "400kgcm", 39.2266),
        (Kind::Torque, "N m", "5.0N.m", 5.0),
        (Kind::Pressure, "bar", "3,1", 310_000.0),
        (Kind::Pressure, "bar", "310 kPa", 310_000.0),
        (Kind::Time, "s", "2:05", 125.0),
        (Kind::Time, "s", "1:02:05", 3725.0),
        (Kind::Time, "s", "2 min 5 s", 125.0),
        (Kind::Time, "min", "1h30", 5400.0),
        (Kind::Time, "s", "250 ms", 0.25),
        (
            Kind::Rotation,
            "rpm",
            "90 rpm",
            90.0 * std::f64::consts::TAU / 60.0,
        ),
        (Kind::Area, "m2", "0.5 m²", 0.5),
        (Kind::Area, "mm2", "4", 4e-6),
        (Kind::Angle, "deg", "180°", std::f64::consts::PI),
        (Kind::Count, "", "13", 13.0),
    ];
    for (kind, default, text, expected) in good {
        let si = parse(*kind, default, text).unwrap_or_else(|error| panic!("{text}: {error}"));
        assert!(
            (si - expected).abs() <= 1e-13 * expected.abs(),
            "{text}: {si} against {expected}"
        );
    }
}

#[test]
fn entries_that_are_none_are_refused_with_a_reason() {
    let bad: &[(Kind, &str, &str, &str)] = &[
        (Kind::Length, "mm", "", "nothing was given"),
        (Kind::Length, "mm", "  ", "nothing was given"),
        (Kind::Length, "mm", "NaN", "not a number"),
        (Kind::Length, "mm", "inf", "not a number"),
        (Kind::Length, "mm", "-", "not a number"),
        (Kind::Length, "mm", "--3", "not a number"),
        (Kind::Length, "mm", "5.", "not a number"),
        (Kind::Length, "mm", "about 3", "not a number"),
        (
            Kind::Length,
            "mm",
            "1e5",
            "`e` is no unit known; length is taken in",
        ),
        (
            Kind::Length,
            "mm",
            "1,234.5",
            "thousands separators are not accepted",
        ),
        (
            Kind::Length,
            "mm",
            "1 234",
            "thousands separators are not accepted",
        ),
        (Kind::Length, "mm", "1'234", "not below 12 in"),
        (Kind::Length, "mm", "51.5 kg", "is a unit of mass, not of length"),
        (Kind::Length, "mm", "51.5 kg", "mm, cm, m, km, in"),
        (Kind::Length, "mm", "51.5 mn", "no unit known"),
        (Kind::Length, "mm", "5.5ft 3in", "must be a whole number"),
        (Kind::Length, "mm", "5ft 3mm", "expected in there"),
        (Kind::Length, "mm", "5mm 3", "cannot be read"),
        (Kind::Length, "mm", "3 5/4 in", "not a mixed number"),
        (Kind::Length, "mm", "1/0 in", "divides by 0"),
        (Kind::Mass, "kg", "12st 15", "not below 14 lb"),
        (Kind::Resistance, "ohm", "3 MOHM", "no unit known"),
        (Kind::Temperature, "C", "-300 C", "below absolute zero"),
        (Kind::Ratio, "%", "1:0", "the run is 0"),
        (Kind::Ratio, "%", "1:x", "not a gradient"),
        (Kind::Ratio, "%", "90 deg", "not below 90"),
        (Kind::Time, "s", "2:65", "not a time"),
        (Kind::Time, "s", "2.5:05", "not a time"),
        (Kind::Speed, "km/h", "25 km", "is a unit of length, not of speed"),
        (Kind::Count, "", "13 V", "expected a number without a unit"),
    ];
    for (kind, default, text, reason) in bad {
        match parse(*kind, default, text) {
            Ok(si) => panic!("{text:?} was read as {si}"),
            Err(error) => assert!(error.to_string().contains(reason), "{text:?}: {error}"),
        }
    }
    let long = "9".repeat(400);
    assert!(parse(Kind::Count, "", &long).is_err());
    assert!(parse(Kind::Count, "", &"9".repeat(79)).is_ok());
}

#[test]
fn values_are_shown_with_sensible_digits() {
    let shown: &[(Kind, &str, f64, &str, &str)] = &[
        (Kind::Length, "mm", 0.0515, "51.5 mm", "51.5 mm (2.03 in)"),
        (Kind::Length, "mm", 2.17, "2170 mm", "2170 mm (85.4 in)"),
        (Kind::Speed, "km/h", 14.0 / 3.6, "14 km/h", "14 km/h (8.7 mph)"),
        (Kind::Mass, "kg", 98.4, "98.4 kg", "98.4 kg (217 lb)"),
        (Kind::Grade, "%", 0.08, "8 %", "8 % (1:12.5)"),
        (Kind::Grade, "%", -0.08, "-8 %", "-8 % (-1:12.5)"),
        (Kind::Ratio, "%", 0.11, "11 %", "11 %"),
        (Kind::Ratio, "%", 0.0058, "0.58 %", "0.58 %"),
        (Kind::Voltage, "V", 54.6, "54.6 V", "54.6 V"),
        (Kind::Pressure, "bar", 3.1e5, "3.1 bar", "3.1 bar (45 psi)"),
        (Kind::Temperature, "C", 270.15, "-3 C", "-3 C (26.6 F)"),
        (Kind::Energy, "Wh", 608.4 * 3600.0, "608.4 Wh", "608.4 Wh"),
        (Kind::Count, "", 13.0, "13", "13"),
    ];
    for (kind, unit, si, alone, both) in shown {
        assert_eq!(show(*kind, unit, *si), *alone);
        assert_eq!(show_both(*kind, unit, *si), *both);
    }
    assert_eq!(plain(12_345.6), "12346");
    assert_eq!(plain(-0.000_000_000_000_01), "0");
    assert_eq!(plain(0.001_234_56), "0.001235");
    assert_eq!(with_unit(100.0, ""), "100");
}

#[test]
fn a_torque_is_taken_however_its_unit_is_spelt() {
    let foot = parse(Kind::Torque, "N m", "30 ft lb").unwrap();
    for text in [
        "30lbft",
        "30 lbf·ft",
        "30 lb-ft",
        "30ft-lb",
        "30 lbfft",
        "30ftlbs",
    ] {
        assert_eq!(parse(Kind::Torque, "N m", text).unwrap(), foot, "{text}");
    }
    assert_eq!(
        parse(Kind::Torque, "N m", "12 lbin"),
        parse(Kind::Torque, "N m", "12 in lb")
    );
}

#[test]
fn symbols_name_their_kind() {
    assert_eq!(kind_of("km/h"), Some(Kind::Speed));
    assert_eq!(kind_of("C"), Some(Kind::Temperature));
    assert_eq!(kind_of("furlong"), None);
    assert_eq!(to_si(Kind::Mass, "mm", 1.0), None);
    assert_eq!(symbols(Kind::Voltage), ["V", "mV"]);
}

/// Every unit that a code or a part's attribute names is in the table, and its example is
/// an entry it takes.
#[test]
fn fields_name_only_units_of_the_table() {
    use crate::field::Shape;
    let codes = crate::code::all().map(|code| code.field);
    let attributes = crate::part::PartKind::ALL
        .into_iter()
        .flat_map(|kind| kind.attributes().map(|row| row.field));
    let mut quantities = 0;
    for field in codes.chain(attributes) {
        if let Shape::Quantity { kind, unit, .. } = field.shape {
            assert!(
                find(kind, unit).is_some(),
                "{}: {unit} is no unit of {}",
                field.key,
                kind.name()
            );
            assert!(
                field.read(&field.example(), false).is_ok(),
                "{}: {}",
                field.key,
                field.example()
            );
            quantities += 1;
        }
    }
    assert!(quantities > 80, "{quantities}");
}
