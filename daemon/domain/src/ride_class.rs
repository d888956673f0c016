//! Ride classes: what a region's rules ask of the finished bicycle, as stored.
//!
//! The table is data (`data/ride_classes.csv`), texts as known in autumn 2026. What the table
//! has no column for (speeds by motor alone, stopping distances, masses, end dates) is in
//! `limits`. A judgement compares with the stored rule and says no more than that; the
//! texts of [`deference`] go with it.

pub(crate) mod csv;
pub mod deference;
mod judge;
pub mod label;
mod limits;
#[cfg(test)]
mod tests;

use std::sync::OnceLock;

use jiff::civil::{Date, date};
use lockring_calc::assist::Taper;
use lockring_calc::doubt::{FitError, Limit};
use lockring_calc::quantity::Speed;

pub use deference::{D1, D2, D3, D4, D5, D6, D7, D8, D9};
pub use judge::{PowerVerdict, SpeedVerdict, UNKNOWN_INSTRUMENT};

const TABLE: &str = include_str!("../data/ride_classes.csv");

/// The day the texts were looked at; it stands for autumn 2026.
pub const AS_OF: Date = date(2026, 10, 1);

/// Two settings are the same below this difference, a tenth of a display step, m/s.
const SAME_SETTING: f64 = 1e-4;

/// How a value is held against a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comparator {
    /// Strictly below.
    Lt,
    /// At most.
    Le,
}

impl Comparator {
    /// Whether `value` keeps within `limit`.
    pub fn holds(self, value: f64, limit: f64) -> bool {
        match self {
            Self::Lt => value < limit,
            Self::Le => value <= limit,
        }
    }

    /// In words, before the limit.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Lt => "below",
            Self::Le => "at most",
        }
    }
}

/// The unit a rule states its speed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpeedUnit {
    /// Kilometres per hour.
    Kmh,
    /// Miles per hour.
    Mph,
}

impl SpeedUnit {
    /// Its symbol in the table of units.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Kmh => "km/h",
            Self::Mph => "mph",
        }
    }
}

/// A speed limit in the unit the rule states it in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedLimit {
    /// The number in `unit`.
    pub value: f64,
    /// The rule's own unit.
    pub unit: SpeedUnit,
    /// Strict or not.
    pub comparator: Comparator,
}

impl SpeedLimit {
    /// The limit in metres per second.
    pub fn metres_per_second(self) -> f64 {
        match self.unit {
            SpeedUnit::Kmh => Speed::kilometres_per_hour(self.value).si(),
            SpeedUnit::Mph => Speed::miles_per_hour(self.value).si(),
        }
    }

    /// What a speed in metres per second is judged by.
    pub fn limit(self) -> Limit {
        let edge = self.metres_per_second();
        match self.comparator {
            Comparator::Lt => Limit::Below(edge),
            Comparator::Le => Limit::AtMost(edge),
        }
    }

    /// Whether a display set to `speed` (m/s) keeps the limit. A setting is where help has ended, so the limit
    /// itself keeps one that asks for its end before it (EN 15194: 25 km/h or lower by design, as adopted in TBIS
    /// 15194:2019, 4.2.11).
    pub fn takes_setting(self, speed: f64) -> bool {
        speed <= self.metres_per_second() + SAME_SETTING
    }

    /// As people read it: `25 km/h`, `15.5 mph`.
    pub fn show(self) -> String {
        crate::unit::with_unit(self.value, self.unit.symbol())
    }
}

/// What the motor may do while nobody pedals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MotorOnly {
    /// Nothing.
    Never,
    /// Drive up to this speed.
    UpTo(SpeedLimit),
    /// Drive; the rule names no speed.
    Unlimited,
}

impl MotorOnly {
    /// What a speed by the motor alone, in metres per second, is judged by; `None` where the rule names none.
    /// Where the motor may not drive alone any speed is over.
    pub fn limit(self) -> Option<Limit> {
        match self {
            Self::Never => Some(Limit::AtMost(0.0)),
            Self::UpTo(limit) => Some(limit.limit()),
            Self::Unlimited => None,
        }
    }
}

/// Throttles a class takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Throttle {
    /// None.
    None,
    /// For starting and walking only.
    Walk,
    /// Over the whole range of assistance.
    Full,
}

/// What kind of figure a power limit speaks of; only like is compared with like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PowerBasis {
    /// Nominal power, no test named.
    Nominal,
    /// Maximum continuous rated power.
    ContinuousRated,
    /// Maximum 30 minutes power (UNECE R85).
    ThirtyMinuteMax,
    /// Maximum output.
    MaxOutput,
    /// The class limits no power.
    None,
}

impl PowerBasis {
    /// Reads the word a part states its power with; `None` for a word of no basis.
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "nominal" => Some(Self::Nominal),
            "continuous" => Some(Self::ContinuousRated),
            "thirty-minute" => Some(Self::ThirtyMinuteMax),
            "peak" => Some(Self::MaxOutput),
            _ => None,
        }
    }

    /// In a sentence.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Nominal => "nominal power",
            Self::ContinuousRated => "continuous rated power",
            Self::ThirtyMinuteMax => "30-minute power",
            Self::MaxOutput => "maximum output",
            Self::None => "no power",
        }
    }
}

/// A power limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerLimit {
    /// Watts.
    pub watts: f64,
    /// Strict or not.
    pub comparator: Comparator,
}

impl PowerLimit {
    /// As people read it: `at most 250 W`, `below 750 W`.
    pub fn show(self) -> String {
        format!(
            "{} {}",
            self.comparator.words(),
            crate::unit::with_unit(self.watts, "W")
        )
    }
}

/// A stopping distance a class asks for, both brakes, dry and level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StopLimit {
    /// Speed of approach, km/h.
    pub from_kmh: f64,
    /// Longest distance, metres.
    pub within_m: f64,
    /// The lightest rider the stop may be ridden with, kg.
    pub rider_kg: Option<f64>,
    /// Whether part of it was written from memory.
    pub from_memory: bool,
}

impl StopLimit {
    /// Speed of approach.
    pub fn from(self) -> Speed {
        Speed::kilometres_per_hour(self.from_kmh)
    }

    /// What a distance in metres, brought to the speed of approach, is judged by.
    pub const fn limit(self) -> Limit {
        Limit::AtMost(self.within_m)
    }
}

/// The mass a class allows the bicycle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassLimit {
    /// Kilograms.
    pub kilograms: f64,
    /// Strict or not.
    pub comparator: Comparator,
    /// Whether the pack is left out of it.
    pub without_pack: bool,
}

impl MassLimit {
    /// As people read it: `at most 60 kg without its pack`.
    pub fn show(self) -> String {
        let pack = if self.without_pack {
            " without its pack"
        } else {
            ""
        };
        let mass = crate::unit::with_unit(self.kilograms, "kg");
        format!("{} {mass}{pack}", self.comparator.words())
    }
}

/// How much the motor may add to the rider's power: a ratio that falls in a straight line to nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AssistRatio {
    /// Motor over rider at `from_kmh` and below.
    pub most: f64,
    /// Speed from which on it falls, km/h.
    pub from_kmh: f64,
    /// Speed at which nothing is left, km/h.
    pub to_kmh: f64,
}

impl AssistRatio {
    /// The ratio allowed at a speed, km/h.
    pub fn at(self, kmh: f64) -> f64 {
        let left = (self.to_kmh - kmh) / (self.to_kmh - self.from_kmh);
        self.most * left.clamp(0.0, 1.0)
    }

    /// How the help falls where it keeps to the rule and no more.
    ///
    /// # Errors
    /// As [`Taper::new`].
    pub fn taper(self) -> Result<Taper, FitError> {
        let (from, to) = (
            Speed::kilometres_per_hour(self.from_kmh),
            Speed::kilometres_per_hour(self.to_kmh),
        );
        Taper::new(to, to - from)
    }

    /// The first whole speed, km/h, at which a help of `ratio` that fades by `taper` is over the rule.
    pub fn first_over(self, ratio: f64, taper: Option<Taper>) -> Option<f64> {
        let mut kmh = self.from_kmh;
        while kmh < self.to_kmh {
            let left = taper.map_or(1.0, |taper| taper.share(Speed::kilometres_per_hour(kmh)));
            if ratio * left > self.at(kmh) + 1e-6 {
                return Some(kmh);
            }
            kmh += 1.0;
        }
        None
    }
}

/// What a class asks of each wheel with its tyre, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelLimit {
    /// Least width.
    pub width_mm: f64,
    /// Least diameter.
    pub diameter_mm: f64,
}

/// One rule set.
#[derive(Debug, Clone, PartialEq)]
pub struct RideClass {
    /// The word people type, such as `eu-epac`.
    pub id: String,
    /// Where it holds.
    pub region: String,
    /// What the rule calls it.
    pub name: String,
    /// Speed at which assistance must have ended; `None` when the rule names none.
    pub max_assist_speed: Option<SpeedLimit>,
    /// The motor while nobody pedals.
    pub motor_only: MotorOnly,
    /// Throttles it takes.
    pub throttle: Throttle,
    /// Motor power; `None` when the rule names none.
    pub max_power: Option<PowerLimit>,
    /// What figure the power limit speaks of.
    pub power_basis: PowerBasis,
    /// Least age of the rider, years.
    pub min_age: Option<u32>,
    /// What is to be marked on the bicycle, or that it is unknown.
    pub label: String,
    /// What of it a text can tell.
    pub label_tells: Vec<label::Tells>,
    /// Share by which a measured assist speed may lie over the limit before it counts as
    /// over: 0.10 for classes tested by EN 15194 (2017 line, +10 % over the marked value),
    /// 0 for a limit of law.
    pub test_allowance: f64,
    /// Whether an authority has to approve the vehicle: no workshop reaches it alone.
    pub approval_required: bool,
    /// Greatest mass of the bicycle.
    pub max_mass: Option<MassLimit>,
    /// Greatest width of the bicycle, mm.
    pub max_width_mm: Option<f64>,
    /// Least wheels.
    pub wheels: Option<WheelLimit>,
    /// Ratio of the motor's help to the rider's power.
    pub assist_ratio: Option<AssistRatio>,
    /// Greatest nominal voltage, V.
    pub max_nominal_volts: Option<f64>,
    /// Stopping distance the class asks for.
    pub stop: Option<StopLimit>,
    /// Last day on which a bicycle could be built to the rule set.
    pub built_until: Option<Date>,
    /// Last day the rule set is of use for a bicycle already built.
    pub valid_until: Option<Date>,
    /// Whether the class is of the EPAC kind: a bicycle, no moped, whose help ends at 25 km/h or before.
    pub is_epac: bool,
    /// Standards of which one has to stand in the report on the pack, by their numbers; any
    /// where the rule names none.
    pub pack_standards: &'static [&'static str],
    /// The standard by which the whole electrical system has to be certified as one set, by its number; `None`
    /// where the rule asks for none.
    pub set_standard: Option<&'static str>,
    /// What else the rule says.
    pub notes: String,
    /// Where it comes from.
    pub source: String,
    /// Whether any of it was written from memory.
    pub from_memory: bool,
    /// Whether a limit was: speed, power or motor alone, not just the rider's age.
    pub limits_from_memory: bool,
    /// The day the text was looked at.
    pub as_of: Date,
}

impl RideClass {
    /// Whether the federal text of the United States asks of it how fast the motor alone takes an operator of 170 lb.
    pub fn is_federal(&self) -> bool {
        self.region.starts_with("US")
    }

    /// Whether it is a class of the European Union or of Great Britain, where fitting a motor can make the fitter
    /// the maker, with a maker's papers.
    pub fn is_of_eu_or_gb(&self) -> bool {
        matches!(self.region.as_str(), "EU" | "Great Britain" | "Ireland")
    }
}

/// All rule sets, in the table's order.
pub fn all() -> &'static [RideClass] {
    static CLASSES: OnceLock<Vec<RideClass>> = OnceLock::new();
    CLASSES.get_or_init(|| read(TABLE).expect("the shipped table of ride classes is whole; a test reads it"))
}

/// The rule set with this word.
pub fn find(id: &str) -> Option<&'static RideClass> {
    all().iter().find(|class| class.id == id)
}

const HEADER: [&str; 13] = [
    "id",
    "region",
    "name",
    "max_assist_speed_kmh",
    "throttle_allowed",
    "max_motor_power_w",
    "power_basis",
    "min_age",
    "label_required",
    "notes",
    "source",
    "read_or_memory",
    "label_tells",
];

fn read(content: &str) -> Result<Vec<RideClass>, String> {
    csv::records(HEADER, content)?.into_iter().map(class).collect()
}

fn class(cells: [String; 13]) -> Result<RideClass, String> {
    let [
        id,
        region,
        name,
        speed,
        throttle,
        power,
        basis,
        age,
        label,
        notes,
        source,
        read,
        tells,
    ] = cells;
    let wrong = |what: &str, text: &str| format!("{id}: {what} `{text}`");
    let number = |what: &str, text: &str| match text {
        "" => Ok(None),
        text => match text.parse::<f64>() {
            Ok(value) if value.is_finite() && value > 0.0 => Ok(Some(value)),
            _ => Err(wrong(what, text)),
        },
    };
    let throttle = match throttle.as_str() {
        "no" => Throttle::None,
        "walk" => Throttle::Walk,
        "full" => Throttle::Full,
        other => return Err(wrong("throttle", other)),
    };
    let (power_basis, comparator) = power_basis(&basis).ok_or_else(|| wrong("power basis", &basis))?;
    let max_power = number("power", &power)?.map(|watts| PowerLimit { watts, comparator });
    if max_power.is_some() == (power_basis == PowerBasis::None) {
        return Err(wrong("power without basis or basis without power", &basis));
    }
    let kmh = number("speed", &speed)?;
    let max_assist_speed = kmh.map(|kmh| limits::assist_speed(&id, kmh));
    let min_age = match age.as_str() {
        "" => None,
        age => Some(age.parse().map_err(|_| wrong("age", age))?),
    };
    let label_tells = label::Tells::read(&tells).ok_or_else(|| wrong("what the label tells", &tells))?;
    let extra = limits::extra(&id);
    Ok(RideClass {
        motor_only: limits::motor_only(&id, throttle, max_assist_speed),
        test_allowance: limits::test_allowance(&id),
        approval_required: limits::approval_required(&id),
        from_memory: read.contains("memory"),
        limits_from_memory: read.replace("(age: memory)", "").contains("memory"),
        as_of: AS_OF,
        max_mass: extra.max_mass,
        max_width_mm: extra.max_width_mm,
        wheels: extra.wheels,
        assist_ratio: extra.assist_ratio,
        max_nominal_volts: limits::nominal_volts(&id),
        stop: limits::stop(&id),
        is_epac: limits::is_epac(&id),
        built_until: extra.built_until,
        valid_until: extra.valid_until,
        pack_standards: limits::pack_standards(&id),
        set_standard: limits::set_standard(&id),
        max_assist_speed,
        throttle,
        max_power,
        power_basis,
        min_age,
        id,
        region,
        name,
        label,
        label_tells,
        notes,
        source,
    })
}

fn power_basis(text: &str) -> Option<(PowerBasis, Comparator)> {
    use Comparator::{Le, Lt};
    // Words after the comparator (where or by which method) are in the notes as well.
    let starts = [
        ("nominal_lt", PowerBasis::Nominal, Lt),
        ("nominal_le", PowerBasis::Nominal, Le),
        ("continuous_rated_le", PowerBasis::ContinuousRated, Le),
        ("thirty_minute_max_le", PowerBasis::ThirtyMinuteMax, Le),
        ("thirty_minute_max_lt", PowerBasis::ThirtyMinuteMax, Lt),
        ("max_output_le", PowerBasis::MaxOutput, Le),
        ("none", PowerBasis::None, Le),
    ];
    starts
        .into_iter()
        .find(|(start, ..)| text.starts_with(start))
        .map(|(_, basis, comparator)| (basis, comparator))
}
