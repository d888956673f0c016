//! The table of units.
//!
//! Factors are exact by definition: international yard and pound agreement of 1959
//! (0.9144 m, 0.453 592 37 kg), SI Brochure 9th edition (2019), standard gravity of the 3rd
//! CGPM (1901).

use std::f64::consts::{PI, TAU};

use lockring_calc::quantity::G;

use super::Kind;

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const YARD: f64 = 0.9144;
const MILE: f64 = 1609.344;
const POUND: f64 = 0.453_592_37;
const LBF: f64 = POUND * G;

/// The unit of the other system that an echo adds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Other {
    /// None.
    None,
    /// This symbol of the same kind.
    Unit(&'static str),
    /// A gradient as `1:n`.
    OneIn,
}

/// One unit: SI value = (number + offset)·factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Row {
    pub kind: Kind,
    /// How it is shown, and how fields and rules name it.
    pub symbol: &'static str,
    /// Further spellings, spaces for any of `·`, `*`, `-`.
    pub spellings: &'static [&'static str],
    pub factor: f64,
    pub offset: f64,
    pub other: Other,
    /// The next smaller unit of a compound entry, and how many make one of this.
    pub then: Option<(&'static str, f64)>,
}

/// The unit of a kind with this symbol.
pub(super) fn find(kind: Kind, symbol: &str) -> Option<Row> {
    of(kind).find(|row| row.symbol == symbol).copied()
}

/// The units of a kind.
pub(super) fn of(kind: Kind) -> impl Iterator<Item = &'static Row> {
    ROWS.iter().filter(move |row| row.kind == kind)
}

impl Row {
    /// Whether this text names the unit, letter for letter or, with `loose`, in any case.
    pub(super) fn is_called(&self, text: &str, loose: bool) -> bool {
        let mut names = std::iter::once(&self.symbol).chain(self.spellings);
        if loose {
            names.any(|name| name.to_lowercase() == text.to_lowercase())
        } else {
            names.any(|name| *name == text)
        }
    }

    const fn then(mut self, smaller: &'static str, times: f64) -> Self {
        self.then = Some((smaller, times));
        self
    }

    const fn offset(mut self, offset: f64) -> Self {
        self.offset = offset;
        self
    }
}

const fn row(
    kind: Kind,
    symbol: &'static str,
    factor: f64,
    other: Other,
    spellings: &'static [&'static str],
) -> Row {
    Row {
        kind,
        symbol,
        spellings,
        factor,
        offset: 0.0,
        other,
        then: None,
    }
}

use Kind::{
    Acceleration, Age, Angle, Area, Capacitance, Charge, Count, Current, Energy, EnergyPerDistance, Grade,
    Length, Mass, Power, Pressure, Ratio, Resistance, Rotation, Sound, Speed, Temperature, Time, Torque,
    Voltage,
};
use Other::{None as NO, OneIn, Unit as In};

/// All units.
pub(super) const ROWS: &[Row] = &[
    row(
        Length,
        "mm",
        1e-3,
        In("in"),
        &["millimetre", "millimetres", "millimeter", "millimeters"],
    ),
    row(
        Length,
        "cm",
        1e-2,
        In("in"),
        &["centimetre", "centimetres", "centimeter", "centimeters"],
    ),
    row(
        Length,
        "m",
        1.0,
        In("ft"),
        &["metre", "metres", "meter", "meters"],
    ),
    row(
        Length,
        "km",
        1e3,
        In("mi"),
        &["kilometre", "kilometres", "kilometer", "kilometers"],
    ),
    row(Length, "in", INCH, In("mm"), &["\"", "''", "inch", "inches"]),
    row(Length, "ft", FOOT, In("m"), &["'", "foot", "feet"]).then("in", 12.0),
    row(Length, "yd", YARD, In("m"), &["yard", "yards"]),
    row(Length, "mi", MILE, In("km"), &["mile", "miles"]),
    row(Mass, "g", 1e-3, In("oz"), &["gram", "grams", "gramme", "grammes"]),
    row(
        Mass,
        "kg",
        1.0,
        In("lb"),
        &["kilo", "kilos", "kilogram", "kilograms"],
    ),
    row(Mass, "oz", POUND / 16.0, In("g"), &["ounce", "ounces"]),
    row(Mass, "lb", POUND, In("kg"), &["lbs", "pound", "pounds"]).then("oz", 16.0),
    row(Mass, "st", POUND * 14.0, In("kg"), &["stone", "stones"]).then("lb", 14.0),
    row(Speed, "km/h", 1.0 / 3.6, In("mph"), &["kmh", "kph", "kmph"]),
    row(Speed, "mph", MILE / 3600.0, In("km/h"), &["mi/h"]),
    row(Speed, "m/s", 1.0, In("mph"), &["mps"]),
    row(Power, "W", 1.0, NO, &["watt", "watts"]),
    row(Power, "kW", 1e3, NO, &["kilowatt", "kilowatts"]),
    // 550 foot-pounds-force per second.
    row(Power, "hp", 550.0 * FOOT * LBF, In("W"), &["horsepower"]),
    row(Energy, "Wh", 3600.0, NO, &["W h", "watt hour", "watt hours"]),
    row(
        Energy,
        "kWh",
        3.6e6,
        NO,
        &["kW h", "kilowatt hour", "kilowatt hours"],
    ),
    row(Energy, "J", 1.0, NO, &["joule", "joules"]),
    row(Energy, "kJ", 1e3, NO, &["kilojoule", "kilojoules"]),
    row(Energy, "MJ", 1e6, NO, &["megajoule", "megajoules"]),
    row(EnergyPerDistance, "Wh/km", 3.6, In("Wh/mi"), &[]),
    row(
        EnergyPerDistance,
        "Wh/mi",
        3600.0 / MILE,
        In("Wh/km"),
        &["Wh/mile"],
    ),
    row(
        EnergyPerDistance,
        "kWh/mi",
        3.6e6 / MILE,
        In("Wh/km"),
        &["kWh/mile"],
    ),
    row(EnergyPerDistance, "J/m", 1.0, NO, &[]),
    row(Voltage, "V", 1.0, NO, &["volt", "volts"]),
    row(Voltage, "mV", 1e-3, NO, &["millivolt", "millivolts"]),
    row(Current, "A", 1.0, NO, &["amp", "amps", "ampere", "amperes"]),
    row(Current, "kA", 1e3, NO, &["kiloamp", "kiloamps"]),
    row(Current, "mA", 1e-3, NO, &["milliamp", "milliamps"]),
    row(Charge, "Ah", 3600.0, NO, &["A h", "amp hour", "amp hours"]),
    row(Charge, "mAh", 3.6, NO, &["mA h"]),
    row(Charge, "coulomb", 1.0, NO, &["coulombs"]),
    row(Resistance, "ohm", 1.0, NO, &["ohms"]),
    row(Resistance, "mohm", 1e-3, NO, &["mohms", "milliohm", "milliohms"]),
    row(Resistance, "kohm", 1e3, NO, &["kohms", "kiloohm"]),
    row(Resistance, "Mohm", 1e6, NO, &["Mohms", "megohm", "megohms"]),
    row(
        Capacitance,
        "uF",
        1e-6,
        NO,
        &["µF", "μF", "microfarad", "microfarads"],
    ),
    row(Capacitance, "mF", 1e-3, NO, &["millifarad", "millifarads"]),
    row(
        Torque,
        "N m",
        1.0,
        In("lbf in"),
        &["Nm", "N.m", "newton metre", "newton metres"],
    ),
    row(
        Torque,
        "lbf in",
        LBF * INCH,
        In("N m"),
        &[
            "lb in",
            "in lb",
            "inlb",
            "in lbf",
            "in lbs",
            "inlbs",
            "lbin",
            "lbfin",
            "inch pounds",
        ],
    ),
    row(
        Torque,
        "lbf ft",
        LBF * FOOT,
        In("N m"),
        &[
            "lb ft",
            "ft lb",
            "ftlb",
            "ft lbf",
            "ft lbs",
            "ftlbs",
            "lbft",
            "lbfft",
            "foot pounds",
        ],
    ),
    row(Torque, "kgf cm", G * 1e-2, In("N m"), &["kg cm", "kgcm", "kgfcm"]),
    row(Torque, "kgf m", G, In("N m"), &["kg m", "kgm", "kgfm"]),
    row(Pressure, "bar", 1e5, In("psi"), &["bars"]),
    row(Pressure, "psi", LBF / (INCH * INCH), In("bar"), &["lbf/in2"]),
    row(Pressure, "kPa", 1e3, In("psi"), &[]),
    row(Pressure, "hPa", 1e2, NO, &["mbar"]),
    row(Pressure, "Pa", 1.0, NO, &["pascal", "pascals"]),
    row(Pressure, "atm", 101_325.0, In("bar"), &[]),
    row(Temperature, "C", 1.0, In("F"), &["deg C", "degC", "celsius"]).offset(273.15),
    row(
        Temperature,
        "F",
        1.0 / 1.8,
        In("C"),
        &["deg F", "degF", "fahrenheit"],
    )
    .offset(459.67),
    row(Temperature, "K", 1.0, NO, &["kelvin", "kelvins"]),
    row(Ratio, "%", 1e-2, NO, &["percent", "per cent", "pct"]),
    row(Grade, "%", 1e-2, OneIn, &["percent", "per cent", "pct"]),
    row(Ratio, "", 1.0, NO, &[]),
    row(Angle, "deg", PI / 180.0, NO, &["degree", "degrees"]),
    row(Angle, "rad", 1.0, NO, &["radian", "radians"]),
    row(Time, "s", 1.0, NO, &["sec", "secs", "second", "seconds"]),
    row(Time, "ms", 1e-3, NO, &["millisecond", "milliseconds"]),
    row(Time, "min", 60.0, NO, &["mins", "minute", "minutes"]).then("s", 60.0),
    row(Time, "h", 3600.0, NO, &["hr", "hrs", "hour", "hours"]).then("min", 60.0),
    row(Time, "d", 86_400.0, NO, &["day", "days"]).then("h", 24.0),
    row(Rotation, "rpm", TAU / 60.0, NO, &["r/min", "rev/min"]),
    row(Rotation, "rad/s", 1.0, NO, &[]),
    row(Rotation, "rev/s", TAU, NO, &["r/s"]),
    row(
        Area,
        "m2",
        1.0,
        In("ft2"),
        &["sq m", "square metre", "square metres"],
    ),
    row(Area, "cm2", 1e-4, NO, &["sq cm"]),
    row(Area, "mm2", 1e-6, NO, &["sq mm"]),
    row(Area, "ft2", FOOT * FOOT, In("m2"), &["sq ft", "square feet"]),
    row(Sound, "dB", 1.0, NO, &["dB(A)", "dBA", "decibel", "decibels"]),
    row(Age, "years", 1.0, NO, &["year", "y", "yr", "yrs"]),
    row(Acceleration, "m/s2", 1.0, NO, &["m/s²"]),
    row(Count, "", 1.0, NO, &[]),
];
