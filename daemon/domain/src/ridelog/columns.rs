//! What a log may say, by which names files say it, and what it can be.

use std::f64::consts::TAU;

use crate::nearest::nearest;
use crate::refusal::{Reason, Refusal};

/// One figure of a sample beside its time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Column {
    /// Ground speed, m/s.
    Speed,
    /// Power of the meter, W.
    Power,
    /// Power of the motor, W.
    MotorPower,
    /// Cadence, rad/s.
    Cadence,
    /// Height, m.
    Altitude,
    /// Distance, m.
    Distance,
    /// Charge of the battery, 0 to 1.
    Battery,
    /// Degrees north.
    Latitude,
    /// Degrees east.
    Longitude,
}

impl Column {
    /// All of them, in the order of their numbers.
    pub const ALL: [Self; 9] = [
        Self::Speed,
        Self::Power,
        Self::MotorPower,
        Self::Cadence,
        Self::Altitude,
        Self::Distance,
        Self::Battery,
        Self::Latitude,
        Self::Longitude,
    ];

    /// What people call it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Speed => "speed",
            Self::Power => "power",
            Self::MotorPower => "motor power",
            Self::Cadence => "cadence",
            Self::Altitude => "height",
            Self::Distance => "distance",
            Self::Battery => "battery level",
            Self::Latitude => "latitude",
            Self::Longitude => "longitude",
        }
    }

    /// Least and largest figure believed, in the SI unit, and that unit as it follows a number.
    /// Judgement: well beyond what a bicycle does, to sort out damage and not riding.
    pub const fn window(self) -> (f64, f64, &'static str) {
        match self {
            Self::Speed => (0.0, 50.0, " m/s"),
            Self::Power | Self::MotorPower => (-5_000.0, 10_000.0, " W"),
            Self::Cadence => (0.0, 30.0, " rad/s"),
            Self::Altitude => (-500.0, 9_000.0, " m"),
            Self::Distance => (0.0, 5_000_000.0, " m"),
            Self::Battery => (0.0, 1.0, ""),
            Self::Latitude => (-90.0, 90.0, "°"),
            Self::Longitude => (-180.0, 180.0, "°"),
        }
    }
}

/// What a column of a table holds: a figure and the factor to its SI unit, or the time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Meaning {
    /// Seconds since any start, after this factor.
    Elapsed(f64),
    /// A moment: a date with time, or seconds since 1970.
    Moment,
    /// A figure and what makes it SI.
    Figure(Column, f64),
}

/// Examples of names of times for messages.
pub(super) const TIME_NAMES: &str = "`time_s`, `elapsed_s`, `time` or `timestamp`";

const KMH: f64 = 1.0 / 3.6;
/// The international mile, 1609.344 m.
const MILE: f64 = 1609.344;
/// The international foot, 0.3048 m.
const FOOT: f64 = 0.3048;

/// Names as [`plain`] writes them. A name without a unit has the SI unit, a cadence without is in
/// 1/min, a battery without in percent: common practice, no source.
const NAMES: &[(&str, Meaning)] = &[
    ("t_s", Meaning::Elapsed(1.0)),
    ("time_s", Meaning::Elapsed(1.0)),
    ("unix_offset_s", Meaning::Elapsed(1.0)),
    ("elapsed_s", Meaning::Elapsed(1.0)),
    ("elapsed", Meaning::Elapsed(1.0)),
    ("elapsed_time", Meaning::Elapsed(1.0)),
    ("elapsed_time_s", Meaning::Elapsed(1.0)),
    ("seconds", Meaning::Elapsed(1.0)),
    ("secs", Meaning::Elapsed(1.0)),
    ("time_ms", Meaning::Elapsed(1e-3)),
    ("elapsed_ms", Meaning::Elapsed(1e-3)),
    ("millis", Meaning::Elapsed(1e-3)),
    ("time_min", Meaning::Elapsed(60.0)),
    ("time", Meaning::Moment),
    ("timestamp", Meaning::Moment),
    ("datetime", Meaning::Moment),
    ("date_time", Meaning::Moment),
    ("utc", Meaning::Moment),
    ("unix_s", Meaning::Moment),
    ("speed", Meaning::Figure(Column::Speed, 1.0)),
    ("enhanced_speed", Meaning::Figure(Column::Speed, 1.0)),
    ("speed_mps", Meaning::Figure(Column::Speed, 1.0)),
    ("speed_m_s", Meaning::Figure(Column::Speed, 1.0)),
    ("speed_kmh", Meaning::Figure(Column::Speed, KMH)),
    ("speed_kph", Meaning::Figure(Column::Speed, KMH)),
    ("speed_km_h", Meaning::Figure(Column::Speed, KMH)),
    ("kmh", Meaning::Figure(Column::Speed, KMH)),
    ("kph", Meaning::Figure(Column::Speed, KMH)),
    ("km_h", Meaning::Figure(Column::Speed, KMH)),
    ("speed_mph", Meaning::Figure(Column::Speed, MILE / 3600.0)),
    ("mph", Meaning::Figure(Column::Speed, MILE / 3600.0)),
    ("power", Meaning::Figure(Column::Power, 1.0)),
    ("power_w", Meaning::Figure(Column::Power, 1.0)),
    ("power_watts", Meaning::Figure(Column::Power, 1.0)),
    ("watts", Meaning::Figure(Column::Power, 1.0)),
    ("rider_power", Meaning::Figure(Column::Power, 1.0)),
    ("rider_power_w", Meaning::Figure(Column::Power, 1.0)),
    ("motor_power", Meaning::Figure(Column::MotorPower, 1.0)),
    ("motor_power_w", Meaning::Figure(Column::MotorPower, 1.0)),
    ("motor_power_watts", Meaning::Figure(Column::MotorPower, 1.0)),
    ("motor_w", Meaning::Figure(Column::MotorPower, 1.0)),
    ("cadence", Meaning::Figure(Column::Cadence, TAU / 60.0)),
    ("cadence_rpm", Meaning::Figure(Column::Cadence, TAU / 60.0)),
    ("cad", Meaning::Figure(Column::Cadence, TAU / 60.0)),
    ("altitude", Meaning::Figure(Column::Altitude, 1.0)),
    ("enhanced_altitude", Meaning::Figure(Column::Altitude, 1.0)),
    ("altitude_m", Meaning::Figure(Column::Altitude, 1.0)),
    ("alt", Meaning::Figure(Column::Altitude, 1.0)),
    ("alt_m", Meaning::Figure(Column::Altitude, 1.0)),
    ("elevation", Meaning::Figure(Column::Altitude, 1.0)),
    ("elevation_m", Meaning::Figure(Column::Altitude, 1.0)),
    ("ele", Meaning::Figure(Column::Altitude, 1.0)),
    ("height", Meaning::Figure(Column::Altitude, 1.0)),
    ("height_m", Meaning::Figure(Column::Altitude, 1.0)),
    ("altitude_ft", Meaning::Figure(Column::Altitude, FOOT)),
    ("elevation_ft", Meaning::Figure(Column::Altitude, FOOT)),
    ("distance", Meaning::Figure(Column::Distance, 1.0)),
    ("distance_m", Meaning::Figure(Column::Distance, 1.0)),
    ("dist", Meaning::Figure(Column::Distance, 1.0)),
    ("dist_m", Meaning::Figure(Column::Distance, 1.0)),
    ("distance_km", Meaning::Figure(Column::Distance, 1_000.0)),
    ("dist_km", Meaning::Figure(Column::Distance, 1_000.0)),
    ("distance_mi", Meaning::Figure(Column::Distance, MILE)),
    ("battery", Meaning::Figure(Column::Battery, 0.01)),
    ("battery_pct", Meaning::Figure(Column::Battery, 0.01)),
    ("battery_percent", Meaning::Figure(Column::Battery, 0.01)),
    ("battery_soc", Meaning::Figure(Column::Battery, 0.01)),
    ("battery_soc_pct", Meaning::Figure(Column::Battery, 0.01)),
    ("battery_level", Meaning::Figure(Column::Battery, 0.01)),
    ("soc", Meaning::Figure(Column::Battery, 0.01)),
    ("soc_pct", Meaning::Figure(Column::Battery, 0.01)),
    ("lat", Meaning::Figure(Column::Latitude, 1.0)),
    ("lat_deg", Meaning::Figure(Column::Latitude, 1.0)),
    ("latitude", Meaning::Figure(Column::Latitude, 1.0)),
    ("latitude_deg", Meaning::Figure(Column::Latitude, 1.0)),
    ("lon", Meaning::Figure(Column::Longitude, 1.0)),
    ("lng", Meaning::Figure(Column::Longitude, 1.0)),
    ("lon_deg", Meaning::Figure(Column::Longitude, 1.0)),
    ("longitude", Meaning::Figure(Column::Longitude, 1.0)),
    ("longitude_deg", Meaning::Figure(Column::Longitude, 1.0)),
];

/// What columns of a table are, said by hand: names in the file and names known here.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Named(Vec<(String, Meaning)>);

impl Named {
    /// Reads `name=quantity` after `name=quantity`, parted by commas.
    ///
    /// # Errors
    /// [`Reason::UnknownWord`] or [`Reason::BadInput`] with what is expected and an example.
    pub fn read(text: &str) -> Result<Self, Refusal> {
        let mut named = Vec::new();
        for part in text.split(',').filter(|part| !part.trim().is_empty()) {
            let Some((name, quantity)) = part.split_once('=') else {
                let why = format!(
                    "`{}` names no column; expected NAME=QUANTITY, for example `v=speed_kmh`",
                    part.trim()
                );
                return Err(Refusal::new(Reason::BadInput, why).with("field", "columns"));
            };
            let meaning = meaning(quantity).ok_or_else(|| {
                let word = plain(quantity);
                let near = nearest(&word, NAMES.iter().map(|(name, _)| *name));
                Refusal::unknown("quantity of a ride log", quantity.trim(), &near, QUANTITIES)
                    .with("field", "columns")
            })?;
            named.push((plain(name), meaning));
        }
        Ok(Self(named))
    }

    /// Whether nothing was said.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// What a column means: as said, else by the names known.
    pub(super) fn meaning(&self, name: &str) -> Option<Meaning> {
        let wanted = plain(name);
        let said = self.0.iter().find(|(known, _)| *known == wanted);
        said.map(|(_, meaning)| *meaning).or_else(|| meaning(name))
    }

    /// Whether a column was named by hand: it stands before one that is only known.
    pub(super) fn names(&self, name: &str) -> bool {
        let wanted = plain(name);
        self.0.iter().any(|(known, _)| *known == wanted)
    }
}

/// The quantities, for a complaint.
const QUANTITIES: &str = "quantities are time_s, time, speed_kmh, speed_mps, power_w, motor_power_w, cadence_rpm, \
                          height_m, distance_km, distance_m, battery_pct, lat_deg, lon_deg";

/// What a column of this name means.
pub(super) fn meaning(name: &str) -> Option<Meaning> {
    let name = plain(name);
    NAMES
        .iter()
        .find(|(known, _)| *known == name)
        .map(|(_, meaning)| *meaning)
}

/// Lower case, `%` as `pct`, every run of anything but letters and digits as one underscore, none
/// at the ends: `Speed (km/h)` becomes `speed_km_h`.
fn plain(name: &str) -> String {
    let mut plain = String::with_capacity(name.len());
    for c in name.replace('%', "pct").chars() {
        if c.is_alphanumeric() {
            plain.extend(c.to_lowercase());
        } else if !plain.is_empty() && !plain.ends_with('_') {
            plain.push('_');
        }
    }
    plain.trim_end_matches('_').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_however_they_are_written() {
        let speed = |factor: f64| Some(Meaning::Figure(Column::Speed, factor));
        assert_eq!(meaning("Speed (km/h)"), speed(1.0 / 3.6));
        assert_eq!(meaning(" speed_kmh "), speed(1.0 / 3.6));
        assert_eq!(meaning("SPEED [m/s]"), speed(1.0));
        assert_eq!(meaning("Battery %"), Some(Meaning::Figure(Column::Battery, 0.01)));
        assert_eq!(meaning("power w"), Some(Meaning::Figure(Column::Power, 1.0)));
        assert_eq!(meaning("speed (furlongs)"), None);
        assert_eq!(meaning(""), None);
        assert_eq!(meaning("°"), None);
    }

    #[test]
    fn factors_are_those_of_the_units() {
        // 36 km/h and 22.369 362 920 544 mph are 10 m/s; 60 1/min are one turn a second: from the
        // definitions of the units (international mile of 1959, 1609.344 m; foot 0.3048 m).
        let factor = |name: &str| match meaning(name) {
            Some(Meaning::Figure(_, factor) | Meaning::Elapsed(factor)) => factor,
            other => panic!("{name}: {other:?}"),
        };
        assert!((36.0 * factor("kph") - 10.0).abs() < 1e-12);
        assert!((22.369_362_920_544 * factor("mph") - 10.0).abs() < 1e-11);
        assert!((60.0 * factor("cadence") - TAU).abs() < 1e-12);
        assert_eq!(factor("altitude_ft"), 0.3048);
        assert_eq!(factor("distance_km"), 1000.0);
        assert_eq!(factor("distance_mi"), 1609.344);
        assert_eq!(factor("time_ms"), 0.001);
        assert_eq!(factor("time_min"), 60.0);
    }

    #[test]
    fn columns_are_named_by_hand() {
        let named = Named::read("v=speed_kmh, Leistung = power").unwrap();
        assert_eq!(named.meaning("V"), Some(Meaning::Figure(Column::Speed, KMH)));
        assert_eq!(
            named.meaning("leistung"),
            Some(Meaning::Figure(Column::Power, 1.0))
        );
        assert_eq!(named.meaning("cad"), meaning("cad"));
        assert!(Named::read("").unwrap().is_empty());
        let said = |text: &str| {
            let refusal = Named::read(text).unwrap_err();
            (refusal.message, refusal.hint.unwrap_or_default())
        };
        assert_eq!(
            said("v").0,
            "`v` names no column; expected NAME=QUANTITY, for example `v=speed_kmh`"
        );
        let (message, hint) = said("v=sped_kmh");
        assert_eq!(message, "`sped_kmh` is no quantity of a ride log");
        assert!(hint.starts_with("did you mean one of speed_kmh, "), "{hint}");
        for quantity in QUANTITIES["quantities are ".len()..].split(", ") {
            assert!(meaning(quantity).is_some(), "{quantity}");
        }
    }

    #[test]
    fn every_name_stands_once_and_as_it_is_looked_up() {
        for (i, (name, _)) in NAMES.iter().enumerate() {
            assert_eq!(plain(name), *name);
            assert!(
                NAMES[..i].iter().all(|(other, _)| other != name),
                "{name} stands twice"
            );
        }
    }

    #[test]
    fn a_column_named_by_hand_stands_before_what_its_name_would_mean() {
        let named = Named::read(" Power (W) = speed_kmh, v=motor_power_w ,").unwrap();
        let figure = |column: Column, factor: f64| Some(Meaning::Figure(column, factor));
        assert_eq!(named.meaning("power w"), figure(Column::Speed, KMH));
        assert_eq!(named.meaning("V"), figure(Column::MotorPower, 1.0));
        assert_eq!(named.meaning("alt"), meaning("alt"));
        assert_eq!(named.meaning("x"), None);
        assert!(named.names("POWER [W]") && named.names("v"));
        assert!(!named.names("speed_kmh") && !named.names("power"));
        assert!(!named.is_empty() && Named::read(" , ").unwrap().is_empty());
        assert_eq!(Named::read("v").unwrap_err().reason, Reason::BadInput);
        let refusal = Named::read("v=speed_kmj").unwrap_err();
        assert!(refusal.metadata["nearest"].contains("speed_kmh"), "{refusal:?}");
    }
}
