//! Parts: kinds, their typed attributes, and the slots of a build.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::fact::Value;
use crate::field::{Field, Shape};
use crate::shell_word::quoted;
use crate::unit::Kind;

mod attributes;

/// What kind of part it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartKind {
    /// Motor, mid or hub.
    Motor,
    /// Motor controller.
    Controller,
    /// Battery pack.
    Pack,
    /// Charger.
    Charger,
    /// Display.
    Display,
    /// Chainring.
    Chainring,
    /// Cassette or freewheel.
    Cassette,
    /// Chain.
    Chain,
    /// Pedal sensor.
    PedalSensor,
    /// Shift sensor.
    ShiftSensor,
    /// Brake set.
    BrakeSet,
    /// Brake rotor.
    Rotor,
    /// Tyre.
    Tyre,
    /// Light.
    Light,
    /// Torque arm.
    TorqueArm,
}

impl PartKind {
    /// All kinds.
    pub const ALL: [Self; 15] = [
        Self::Motor,
        Self::Controller,
        Self::Pack,
        Self::Charger,
        Self::Display,
        Self::Chainring,
        Self::Cassette,
        Self::Chain,
        Self::PedalSensor,
        Self::ShiftSensor,
        Self::BrakeSet,
        Self::Rotor,
        Self::Tyre,
        Self::Light,
        Self::TorqueArm,
    ];

    /// The word people type and read; also the table name in a catalogue file.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Motor => "motor",
            Self::Controller => "controller",
            Self::Pack => "pack",
            Self::Charger => "charger",
            Self::Display => "display",
            Self::Chainring => "chainring",
            Self::Cassette => "cassette",
            Self::Chain => "chain",
            Self::PedalSensor => "pedal-sensor",
            Self::ShiftSensor => "shift-sensor",
            Self::BrakeSet => "brake-set",
            Self::Rotor => "rotor",
            Self::Tyre => "tyre",
            Self::Light => "light",
            Self::TorqueArm => "torque-arm",
        }
    }

    /// Reads a kind from its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// The attributes of this kind: common ones first.
    pub fn attributes(self) -> impl Iterator<Item = &'static Attribute> {
        attributes::COMMON.iter().chain(attributes::of(self))
    }

    /// Finds an attribute by key.
    pub fn attribute(self, key: &str) -> Option<&'static Attribute> {
        self.attributes().find(|attribute| attribute.field.key == key)
    }
}

/// One typed attribute of a kind of part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Attribute {
    /// Key, name and shape.
    pub field: Field,
    /// When it must be given.
    pub need: Need,
}

/// When an attribute must be given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Need {
    /// Always.
    Always,
    /// Only where another attribute has one of these words.
    When(&'static str, &'static [&'static str]),
    /// Never.
    Optional,
}

/// A part: an entry of the catalogue, or a snapshot of one inside a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// The shop's own short name for it, such as `mid-48-250`.
    pub id: String,
    /// Kind.
    pub kind: PartKind,
    /// Attributes by key; see [`PartKind::attributes`].
    pub attributes: BTreeMap<String, Value>,
}

impl Part {
    /// An attribute's value.
    pub fn get(&self, key: &str) -> Option<&Value> {
        self.attributes.get(key)
    }

    /// What it is called in a list: its `name`, or its id.
    pub fn name(&self) -> &str {
        self.get("name").and_then(Value::text).unwrap_or(&self.id)
    }

    /// What another version of it says otherwise, an attribute each: `max-volts 48 V -> 40 V`, `mass 3.1 kg -> gone`.
    pub fn changes(&self, newer: &Self) -> Vec<String> {
        let mut changes = Vec::new();
        if self.kind != newer.kind {
            changes.push(format!("{} -> {}", self.kind.word(), newer.kind.word()));
        }
        let keys: BTreeSet<&String> = self.attributes.keys().chain(newer.attributes.keys()).collect();
        for key in keys {
            let (before, after) = (self.get(key), newer.get(key));
            if before == after {
                continue;
            }
            let shown = |part: &Self, value: Option<&Value>, none: &str| match value {
                None => none.to_owned(),
                Some(value) => part
                    .kind
                    .attribute(key)
                    .map_or_else(String::new, |row| row.field.show(value)),
            };
            let (before, after) = (shown(self, before, "nothing"), shown(newer, after, "gone"));
            changes.push(format!("{key} {before} -> {after}"));
        }
        changes
    }

    /// Who delivers it, by the catalogue.
    pub fn supplier(&self) -> Option<&str> {
        self.get("supplier").and_then(Value::text)
    }

    /// Days of the calendar from its order to its arrival, by the catalogue, whole ones.
    pub fn lead_days(&self) -> Option<i64> {
        let seconds = self.get("lead-time").and_then(Value::number)?;
        // At most a year, by the attribute's window.
        Some((seconds / 86_400.0).ceil() as i64)
    }

    /// The line that orders it for a slot of a job, with all that the catalogue knows of its order filled in.
    pub fn order_command(&self, job: u32, slot: Slot) -> String {
        let from = self.supplier().map_or_else(|| "SUPPLIER".to_owned(), quoted);
        let due = if self.lead_days().is_some() {
            ""
        } else {
            " --due DAY"
        };
        format!("lockring order {job} {} --from {from}{due}", slot.word())
    }

    /// Attributes that must be given but are not.
    pub fn missing(&self) -> Vec<&'static Attribute> {
        self.kind
            .attributes()
            .filter(|attribute| !self.attributes.contains_key(attribute.field.key))
            .filter(|attribute| match attribute.need {
                Need::Always => true,
                Need::When(key, words) => self
                    .get(key)
                    .and_then(Value::text)
                    .is_some_and(|word| words.contains(&word)),
                Need::Optional => false,
            })
            .collect()
    }

    /// An attribute that does not go with another, and why.
    pub fn contradiction(&self) -> Option<(&'static str, String)> {
        let (Some(Value::Number(speeds)), Some(Value::Teeth(cogs))) = (self.get("speeds"), self.get("cogs"))
        else {
            return None;
        };
        // Counts are whole numbers inside the attribute's window.
        (speeds.round() as usize != cogs.len()).then(|| {
            let problem = format!(
                "sold as {speeds:.0} speeds, {} cogs given; expected as many cogs as speeds, for example `speeds = {}`",
                cogs.len(),
                cogs.len()
            );
            ("speeds", problem)
        })
    }
}

/// A place in a build that takes one part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Slot {
    /// Motor.
    Motor,
    /// Controller.
    Controller,
    /// Pack.
    Pack,
    /// Charger.
    Charger,
    /// Display.
    Display,
    /// Chainring.
    Chainring,
    /// Cassette.
    Cassette,
    /// Chain.
    Chain,
    /// Pedal sensor.
    PedalSensor,
    /// Shift sensor.
    ShiftSensor,
    /// Brakes.
    BrakeSet,
    /// Front rotor.
    RotorFront,
    /// Rear rotor.
    RotorRear,
    /// Front tyre.
    TyreFront,
    /// Rear tyre.
    TyreRear,
    /// Light.
    Light,
    /// Torque arm.
    TorqueArm,
}

impl Slot {
    /// All slots, in the order lists show them.
    pub const ALL: [Self; 17] = [
        Self::Motor,
        Self::Controller,
        Self::Pack,
        Self::Charger,
        Self::Display,
        Self::Chainring,
        Self::Cassette,
        Self::Chain,
        Self::PedalSensor,
        Self::ShiftSensor,
        Self::BrakeSet,
        Self::RotorFront,
        Self::RotorRear,
        Self::TyreFront,
        Self::TyreRear,
        Self::Light,
        Self::TorqueArm,
    ];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::RotorFront => "rotor-front",
            Self::RotorRear => "rotor-rear",
            Self::TyreFront => "tyre-front",
            Self::TyreRear => "tyre-rear",
            other => other.kind().word(),
        }
    }

    /// Reads a slot from its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|slot| slot.word() == word)
    }

    /// The kind of part it takes.
    pub const fn kind(self) -> PartKind {
        match self {
            Self::Motor => PartKind::Motor,
            Self::Controller => PartKind::Controller,
            Self::Pack => PartKind::Pack,
            Self::Charger => PartKind::Charger,
            Self::Display => PartKind::Display,
            Self::Chainring => PartKind::Chainring,
            Self::Cassette => PartKind::Cassette,
            Self::Chain => PartKind::Chain,
            Self::PedalSensor => PartKind::PedalSensor,
            Self::ShiftSensor => PartKind::ShiftSensor,
            Self::BrakeSet => PartKind::BrakeSet,
            Self::RotorFront | Self::RotorRear => PartKind::Rotor,
            Self::TyreFront | Self::TyreRear => PartKind::Tyre,
            Self::Light => PartKind::Light,
            Self::TorqueArm => PartKind::TorqueArm,
        }
    }

    /// Whether serial and lot must be on file (for recalls).
    pub const fn is_traced(self) -> bool {
        matches!(self, Self::Motor | Self::Controller | Self::Pack | Self::Charger)
    }
}

const fn quantity(kind: Kind, unit: &'static str, low: f64, high: f64) -> Shape {
    Shape::Quantity {
        kind,
        unit,
        window: (low, high),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn no_kind_names_an_attribute_twice_and_every_example_is_taken() {
        for kind in PartKind::ALL {
            let mut seen = HashSet::new();
            for attribute in kind.attributes() {
                let field = attribute.field;
                assert!(seen.insert(field.key), "{} {} twice", kind.word(), field.key);
                assert!(
                    field.read(&field.example(), false).is_ok(),
                    "{} {}",
                    kind.word(),
                    field.key
                );
            }
        }
    }

    #[test]
    fn words_read_back() {
        for slot in Slot::ALL {
            assert_eq!(Slot::from_word(slot.word()), Some(slot));
        }
        for kind in PartKind::ALL {
            assert_eq!(PartKind::from_word(kind.word()), Some(kind));
        }
    }
}
