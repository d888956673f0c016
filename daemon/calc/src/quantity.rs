//! Typed quantities kept in SI, with exact conversion factors.
//!
//! Each type wraps one `f64` in its SI unit (named in its documentation). Constructors
//! and readers exist for the units a workshop meets. Factors are exact by definition
//! (international yard and pound agreement of 1959, SI Brochure 9th edition) unless the
//! line says otherwise.

use std::f64::consts::{PI, TAU};
use std::ops::{Add, Div, Mul, Neg, Sub};

/// Standard acceleration of gravity, m/s² (3rd CGPM 1901, exact by convention).
pub const G: f64 = 9.806_65;

const INCH: f64 = 0.0254;
const MILE: f64 = 1_609.344;
const POUND: f64 = 0.453_592_37;
/// Pound-force in newtons: the pound times standard gravity.
const POUND_FORCE: f64 = POUND * G;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident { $($(#[$udoc:meta])* $from:ident / $to:ident = $factor:expr),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// Zero of this quantity.
            pub const ZERO: Self = Self(0.0);

            /// From the value in the SI unit named in the type's documentation.
            pub const fn from_si(value: f64) -> Self {
                Self(value)
            }

            /// The value in the SI unit named in the type's documentation.
            pub const fn si(self) -> f64 {
                self.0
            }

            /// Absolute value.
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }

            /// The smaller of two.
            pub fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            /// The larger of two.
            pub fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }

            $(
                $(#[$udoc])*
                pub fn $from(value: f64) -> Self {
                    Self(value * $factor)
                }

                /// The value in the unit of the constructor of the same name.
                pub fn $to(self) -> f64 {
                    self.0 / $factor
                }
            )+
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }
        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
                Self(iter.map(|q| q.0).sum())
            }
        }
    };
}

quantity!(
    /// Length in metres.
    Length {
        /// From metres.
        metres / as_metres = 1.0,
        /// From millimetres.
        millimetres / as_millimetres = 1e-3,
        /// From kilometres.
        kilometres / as_kilometres = 1e3,
        /// From inches (25.4 mm exactly).
        inches / as_inches = INCH,
        /// From statute miles (1 609.344 m exactly).
        miles / as_miles = MILE,
    }
);
quantity!(
    /// Area in square metres.
    Area {
        /// From square metres.
        square_metres / as_square_metres = 1.0,
        /// From square millimetres.
        square_millimetres / as_square_millimetres = 1e-6,
    }
);
quantity!(
    /// Mass in kilograms.
    Mass {
        /// From kilograms.
        kilograms / as_kilograms = 1.0,
        /// From avoirdupois pounds (0.453 592 37 kg exactly).
        pounds / as_pounds = POUND,
    }
);
quantity!(
    /// Time in seconds.
    Duration {
        /// From seconds.
        seconds / as_seconds = 1.0,
        /// From hours.
        hours / as_hours = 3600.0,
    }
);
quantity!(
    /// Speed in metres per second.
    Speed {
        /// From metres per second.
        metres_per_second / as_metres_per_second = 1.0,
        /// From kilometres per hour.
        kilometres_per_hour / as_kilometres_per_hour = 1.0 / 3.6,
        /// From miles per hour.
        miles_per_hour / as_miles_per_hour = MILE / 3600.0,
    }
);
quantity!(
    /// Acceleration in metres per second squared.
    Acceleration {
        /// From metres per second squared.
        metres_per_second2 / as_metres_per_second2 = 1.0,
    }
);
quantity!(
    /// Angular speed in radians per second.
    AngularSpeed {
        /// From radians per second.
        radians_per_second / as_radians_per_second = 1.0,
        /// From revolutions per minute.
        rpm / as_rpm = TAU / 60.0,
    }
);
quantity!(
    /// Plane angle in radians.
    Angle {
        /// From radians.
        radians / as_radians = 1.0,
        /// From degrees.
        degrees / as_degrees = PI / 180.0,
    }
);
quantity!(
    /// Force in newtons.
    Force {
        /// From newtons.
        newtons / as_newtons = 1.0,
        /// From pounds-force.
        pounds_force / as_pounds_force = POUND_FORCE,
    }
);
quantity!(
    /// Torque in newton metres.
    Torque {
        /// From newton metres.
        newton_metres / as_newton_metres = 1.0,
        /// From pound-force inches.
        pound_force_inches / as_pound_force_inches = POUND_FORCE * INCH,
    }
);
quantity!(
    /// Power in watts.
    Power {
        /// From watts.
        watts / as_watts = 1.0,
    }
);
quantity!(
    /// Energy in joules.
    Energy {
        /// From joules.
        joules / as_joules = 1.0,
        /// From watt hours.
        watt_hours / as_watt_hours = 3600.0,
    }
);
quantity!(
    /// Energy per distance in joules per metre.
    Consumption {
        /// From joules per metre.
        joules_per_metre / as_joules_per_metre = 1.0,
        /// From watt hours per kilometre.
        watt_hours_per_km / as_watt_hours_per_km = 3.6,
        /// From watt hours per statute mile.
        watt_hours_per_mile / as_watt_hours_per_mile = 3600.0 / MILE,
    }
);
quantity!(
    /// Electric potential in volts.
    Voltage {
        /// From volts.
        volts / as_volts = 1.0,
        /// From millivolts.
        millivolts / as_millivolts = 1e-3,
    }
);
quantity!(
    /// Electric current in amperes.
    Current {
        /// From amperes.
        amperes / as_amperes = 1.0,
    }
);
quantity!(
    /// Electric resistance in ohms.
    Resistance {
        /// From ohms.
        ohms / as_ohms = 1.0,
        /// From milliohms.
        milliohms / as_milliohms = 1e-3,
    }
);
quantity!(
    /// Electric charge in coulombs.
    Charge {
        /// From coulombs.
        coulombs / as_coulombs = 1.0,
        /// From ampere hours.
        ampere_hours / as_ampere_hours = 3600.0,
    }
);
quantity!(
    /// Capacitance in farads.
    Capacitance {
        /// From farads.
        farads / as_farads = 1.0,
        /// From microfarads.
        microfarads / as_microfarads = 1e-6,
    }
);
quantity!(
    /// Pressure in pascals.
    Pressure {
        /// From pascals.
        pascals / as_pascals = 1.0,
        /// From kilopascals.
        kilopascals / as_kilopascals = 1e3,
        /// From bars.
        bars / as_bars = 1e5,
        /// From pounds-force per square inch.
        psi / as_psi = POUND_FORCE / (INCH * INCH),
    }
);
quantity!(
    /// Mass density in kilograms per cubic metre.
    Density {
        /// From kilograms per cubic metre.
        kilograms_per_m3 / as_kilograms_per_m3 = 1.0,
    }
);
quantity!(
    /// Moment of inertia in kilogram square metres.
    Inertia {
        /// From kilogram square metres.
        kilogram_m2 / as_kilogram_m2 = 1.0,
    }
);

quantity!(
    /// Thermal resistance in kelvins per watt.
    ThermalResistance {
        /// From kelvins per watt.
        kelvins_per_watt / as_kelvins_per_watt = 1.0,
    }
);
quantity!(
    /// Heat capacity in joules per kelvin.
    HeatCapacity {
        /// From joules per kelvin.
        joules_per_kelvin / as_joules_per_kelvin = 1.0,
    }
);

/// Thermodynamic temperature, kept in kelvins.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    /// From kelvins.
    pub const fn kelvins(value: f64) -> Self {
        Self(value)
    }
    /// From degrees Celsius.
    pub fn celsius(value: f64) -> Self {
        Self(value + 273.15)
    }
    /// From degrees Fahrenheit.
    pub fn fahrenheit(value: f64) -> Self {
        Self((value + 459.67) / 1.8)
    }
    /// The value in kelvins.
    pub const fn as_kelvins(self) -> f64 {
        self.0
    }
    /// The value in degrees Celsius.
    pub fn as_celsius(self) -> f64 {
        self.0 - 273.15
    }

    /// The value in kelvins (the SI unit).
    pub const fn si(self) -> f64 {
        self.0
    }
    /// From kelvins (the SI unit).
    pub const fn from_si(value: f64) -> Self {
        Self(value)
    }
}

/// Road gradient as rise over run (0.08 is 8 %); uphill is positive.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Grade(f64);

impl Grade {
    /// Level road.
    pub const LEVEL: Self = Self(0.0);
    /// From rise over run.
    pub const fn ratio(value: f64) -> Self {
        Self(value)
    }
    /// From percent.
    pub fn percent(value: f64) -> Self {
        Self(value / 100.0)
    }
    /// Rise over run.
    pub const fn as_ratio(self) -> f64 {
        self.0
    }
    /// Percent.
    pub fn as_percent(self) -> f64 {
        self.0 * 100.0
    }
    /// Sine of the slope angle, `s / sqrt(1 + s²)`.
    pub fn sin(self) -> f64 {
        self.0 / self.0.hypot(1.0)
    }
    /// Cosine of the slope angle, `1 / sqrt(1 + s²)`.
    pub fn cos(self) -> f64 {
        1.0 / self.0.hypot(1.0)
    }
}

impl Force {
    /// Power of this force at a speed, `F·v`.
    pub fn times_speed(self, speed: Speed) -> Power {
        Power::from_si(self.si() * speed.si())
    }
}

impl Power {
    /// Force that gives this power at a speed, `P/v`; infinite at standstill.
    pub fn over_speed(self, speed: Speed) -> Force {
        Force::from_si(self.si() / speed.si())
    }
}

impl Torque {
    /// Force at a radius, `T/r`.
    pub fn over_radius(self, radius: Length) -> Force {
        Force::from_si(self.si() / radius.si())
    }
}

impl Current {
    /// Voltage across a resistance, `I·R`.
    pub fn times_resistance(self, resistance: Resistance) -> Voltage {
        Voltage::from_si(self.si() * resistance.si())
    }
}

impl Voltage {
    /// Electric power, `V·I`.
    pub fn times_current(self, current: Current) -> Power {
        Power::from_si(self.si() * current.si())
    }
}

impl Charge {
    /// Energy at a constant voltage, `V·Q`.
    pub fn times_voltage(self, voltage: Voltage) -> Energy {
        Energy::from_si(self.si() * voltage.si())
    }
}
