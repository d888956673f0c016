//! Which parts may go into which slot of a proposed build.

use std::collections::{BTreeMap, HashMap};

use crate::case::Case;
use crate::fact::Value;
use crate::job::Job;
use crate::part::{Part, Slot};
use crate::prediction;

/// A build in the making: for every slot the place of its part on the shelf, from 1; 0 where
/// it is empty or as the bicycle has it.
pub(super) type Pick = [u16; Slot::ALL.len()];

/// A build of nothing.
pub(super) const NOTHING: Pick = [0; Slot::ALL.len()];

/// Price of a part that has none: it loses against any that has one.
pub(super) const UNPRICED: i64 = 1_000_000_000_000;
/// Days for a part of which nobody knows when it comes.
pub(super) const UNDATED: i64 = 1_000_000;

/// Slots that a proposal fills, in the order they are chosen.
pub(super) const CHOSEN: [Slot; 14] = [
    Slot::Motor,
    Slot::Controller,
    Slot::Pack,
    Slot::Charger,
    Slot::Display,
    Slot::Chainring,
    Slot::Cassette,
    Slot::Chain,
    Slot::PedalSensor,
    Slot::ShiftSensor,
    Slot::TorqueArm,
    Slot::BrakeSet,
    Slot::RotorFront,
    Slot::RotorRear,
];

/// Slots of the brakes: what the shop has chosen there stays.
const STAYING: [Slot; 3] = [Slot::BrakeSet, Slot::RotorFront, Slot::RotorRear];

/// Slots without which there is no conversion.
pub(super) const ALWAYS: [Slot; 6] = [
    Slot::Motor,
    Slot::Controller,
    Slot::Pack,
    Slot::Charger,
    Slot::Display,
    Slot::PedalSensor,
];

/// A part on the shelf.
#[derive(Debug, Clone)]
pub(super) struct Choice {
    /// The part.
    pub(super) part: Part,
    /// Minor units; [`UNPRICED`] when it has no price.
    pub(super) price: i64,
    /// Days; [`UNDATED`] when nobody said.
    pub(super) lead: i64,
    /// For each attribute a number that equal values share.
    pub(super) values: HashMap<String, u32>,
}

/// All parts by slot, in the order of their ids.
#[derive(Debug, Default)]
pub(super) struct Shelf {
    by_slot: BTreeMap<Slot, Vec<Choice>>,
}

impl Shelf {
    /// The parts for the slots that a proposal fills, those aside that ask for more than a build holds.
    pub(super) fn of(case: &Case<'_>, mut parts: Vec<Part>) -> Self {
        let job = case.whole_job();
        parts.sort_by(|a, b| a.id.cmp(&b.id));
        let mut numbers: HashMap<String, u32> = HashMap::new();
        let mut shelf = Self::default();
        let without_disc_mounts = prediction::came_without_disc_mounts(case);
        let without_derailleur = prediction::came_without_derailleur(case);
        for slot in CHOSEN {
            if STAYING.contains(&slot) && job.build.contains_key(&slot) {
                continue;
            }
            // Wheel, derailleur and shifter are in no slot of a build, nor are mounts and hubs of disc brakes.
            let fits = parts.iter().filter(|part| {
                part.kind == slot.kind()
                    && !(without_derailleur && prediction::has_several_cogs(part))
                    && !(without_disc_mounts && is_disc(part))
            });
            let choices = fits.map(|part| Choice::of(part, &mut numbers)).collect();
            shelf.by_slot.insert(slot, choices);
        }
        shelf
    }

    /// The parts for a slot.
    pub(super) fn slot(&self, slot: Slot) -> &[Choice] {
        self.by_slot.get(&slot).map_or(&[], Vec::as_slice)
    }

    /// Whether a proposal may fill a slot.
    pub(super) fn fills(&self, slot: Slot) -> bool {
        self.by_slot.contains_key(&slot)
    }

    /// The part a pick has in a slot.
    pub(super) fn chosen(&self, slot: Slot, pick: &Pick) -> Option<&Choice> {
        let place = usize::from(pick[slot as usize]);
        place.checked_sub(1).and_then(|index| self.slot(slot).get(index))
    }

    /// Places of a slot that may be picked: all parts, and 0 where it may stay empty.
    pub(super) fn places(&self, slot: Slot, empty: bool) -> impl Iterator<Item = u16> + use<> {
        // A shelf holds fewer parts than a catalogue's file has lines.
        let most = u16::try_from(self.slot(slot).len()).unwrap_or(u16::MAX);
        u16::from(!empty)..=most
    }

    /// Price in minor units, and days until the last part is there.
    pub(super) fn cost(&self, pick: &Pick) -> (i64, i64) {
        let chosen = CHOSEN.iter().filter_map(|slot| self.chosen(*slot, pick));
        chosen.fold((0, 0), |(price, lead), choice| {
            (price + choice.price, lead.max(choice.lead))
        })
    }
}

/// What a part costs the rider by the catalogue, minor units; `None` where it has no price.
pub(super) fn price_of(part: &Part) -> Option<i64> {
    match part.get("price") {
        Some(Value::Money(minor)) => Some(*minor),
        _ => None,
    }
}

impl Choice {
    fn of(part: &Part, numbers: &mut HashMap<String, u32>) -> Self {
        let mut values = HashMap::new();
        for (key, value) in &part.attributes {
            // 0 stands for an attribute that is not given.
            let next = u32::try_from(numbers.len() + 1).expect("attributes of a catalogue can be counted");
            let number = *numbers.entry(format!("{value:?}")).or_insert(next);
            values.insert(key.clone(), number);
        }
        Self {
            price: price_of(part).unwrap_or(UNPRICED),
            lead: part.lead_days().unwrap_or(UNDATED),
            values,
            part: part.clone(),
        }
    }
}

/// Whether a part is a set of disc brakes.
fn is_disc(part: &Part) -> bool {
    let kind = part.get("type").and_then(Value::text);
    kind.is_some_and(|kind| kind.ends_with("-disc"))
}

/// Whether a slot may stay empty in a build with this motor. A mid motor's spider takes a ring
/// of its own, and its pull a sensor that lets go for a shift; the axle of a hub motor in slots
/// needs an arm; a bicycle without a stated ring or cogs needs them chosen (common practice, no
/// source).
pub(super) fn may_be_empty(slot: Slot, motor: &Part, job: &Job, shelf: &Shelf) -> bool {
    let word = |key: &str| motor.get(key).and_then(Value::text).unwrap_or_default();
    let mid = word("place") == "mid";
    let known = |key: &str| job.facts.get(key).is_some_and(|fact| fact.stale.is_none());
    match slot {
        Slot::Chainring => !mid && known("ring-teeth"),
        Slot::Cassette => known("cogs"),
        Slot::ShiftSensor => !mid || shelf.slot(slot).is_empty(),
        Slot::TorqueArm => mid || word("axle-kind") != "slotted" || shelf.slot(slot).is_empty(),
        _ => !ALWAYS.contains(&slot),
    }
}

/// Whether a slot that may stay empty must: an arm or a shift sensor where nothing asks for it.
pub(super) fn must_be_empty(slot: Slot, motor: &Part) -> bool {
    let word = |key: &str| motor.get(key).and_then(Value::text);
    let mid = word("place") == Some("mid");
    match slot {
        Slot::ShiftSensor => !mid,
        // What takes the torque of a through axle belongs to the motor and is told apart by no attribute.
        Slot::TorqueArm => mid || word("axle-kind") == Some("thru-axle"),
        _ => false,
    }
}
