//! What entries make of the facts of a job: stated, read, repeated, made stale.

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use lockring_calc::doubt::Readings;

use super::Job;
use crate::code::{self, Code, Worst};
use crate::fact::{Fact, Provenance, Reading, Value};
use crate::part::Slot;
use crate::shared::Shared;

/// Readings of one code further apart than this are a new series, not repeats (common
/// practice, no source); save where the worst reading stands.
const SERIES: SignedDuration = SignedDuration::from_hours(1);

/// Whether readings of two moments are repeats of one series.
pub(crate) fn is_of_series(earlier: Timestamp, at: Timestamp) -> bool {
    at.duration_since(earlier).abs() <= SERIES
}

/// A reading of so many times the middle of its series, or so small a part of it, is a slip sooner than a reading (judgement).
pub(crate) const THREEFOLD: f64 = 3.0;

/// Whether a reading is far from the middle of its series; both in the same unit, above naught.
pub(crate) fn is_far(reading: f64, middle: f64) -> bool {
    reading > THREEFOLD * middle || middle > THREEFOLD * reading
}

/// The one of three readings or more that is far from all others, so that their scatter is its own; `None` where none is, or
/// where the worst reading stands.
pub(crate) fn odd_one(fact: &Fact) -> Option<&Reading> {
    let read = |reading: &Reading| reading.value.number().filter(|si| *si > 0.0);
    let numbers: Vec<f64> = fact.readings.iter().map(read).collect::<Option<_>>()?;
    if numbers.len() < 3 || fact.spread == 0.0 {
        return None;
    }
    let middle = Readings::new(&numbers).ok()?.median();
    let mut far = fact
        .readings
        .iter()
        .zip(&numbers)
        .filter(|(_, si)| is_far(**si, middle));
    match (far.next(), far.next()) {
        (Some((odd, _)), None) => Some(odd),
        _ => None,
    }
}

impl Job {
    /// A stated value stands until it is measured; it never displaces a reading that counts.
    pub(crate) fn state(
        &mut self,
        key: &str,
        value: &Value,
        provenance: Provenance,
        seq: u64,
        at: Timestamp,
    ) {
        let measured = self
            .facts
            .get(key)
            .is_some_and(|fact| fact.provenance == Provenance::Measured && fact.stale.is_none());
        let instrument = code::find(key).is_some_and(|row| !row.instrument.is_empty());
        if measured && instrument {
            return;
        }
        let fact = Fact {
            value: value.clone(),
            provenance,
            readings: Vec::new(),
            spread: 0.0,
            seq,
            at,
            stale: None,
        };
        self.facts.insert(key.into(), fact.into());
    }

    pub(super) fn record(&mut self, key: &str, reading: Reading, anew: bool) {
        let (at, seq) = (reading.at, reading.seq);
        // A setting made again, or a bolt tightened again, is not a repeat of the one before.
        let anew = anew || !code::find(key).is_some_and(Code::gathers);
        let worst = code::find(key).and_then(|row| row.worst);
        // A wall does not grow back within the hour or after it: the worst is taken back by nothing but a new beginning.
        let counts = |earlier: &Reading| worst.is_some() || is_of_series(earlier.at, at);
        let mut readings = match self.facts.remove(key) {
            Some(fact) if !anew && fact.stale.is_none() => {
                fact.into_inner().readings.into_iter().filter(counts).collect()
            }
            _ => Vec::new(),
        };
        readings.push(reading);
        let (value, spread) = standing(&readings, worst);
        let provenance = Provenance::Measured;
        let fact = Fact {
            value,
            provenance,
            readings,
            spread,
            seq,
            at,
            stale: None,
        };
        self.facts.insert(key.into(), fact.into());
    }

    /// What was read with the old value of a code that has just changed no longer counts,
    /// unless it was read in the same entry.
    pub(super) fn make_moved_stale(&mut self, changed: &str, seq: u64) {
        self.make_stale_by(changed, |row, fact| {
            fact.seq != seq && row.moved_by.contains(&changed)
        });
    }

    /// A slot has another part, or the one that the catalogue has: what the catalogue said of the one before is settled.
    pub(super) fn settle_catalogued(&mut self, slot: Slot) {
        if self.blocks.iter().any(|block| block.part == Some(slot)) {
            self.blocks.retain(|block| block.part != Some(slot));
        }
    }

    /// A part takes the place of the bicycle's own: what was read with that one no longer counts.
    /// What was stated or set may be meant for the new part.
    pub(super) fn make_own_stale(&mut self, slot: Slot) {
        let slots = self.unsettled_by(slot);
        self.make_stale_by(slot.word(), |row, fact| {
            row.is_stale_by(slots) && !row.setting && fact.provenance == Provenance::Measured
        });
    }

    pub(super) fn make_stale(&mut self, slot: Slot) {
        let slots = self.unsettled_by(slot);
        self.make_stale_by(slot.word(), |row, _| row.is_stale_by(slots));
    }

    /// What a change of a slot unsettles: where the motor drives the front wheel, its tyre stands for the driven one, too.
    fn unsettled_by(&self, slot: Slot) -> [Slot; 2] {
        let place = self
            .build
            .get(&Slot::Motor)
            .and_then(|line| line.part.get("place"));
        let drives_in_front = matches!(place, Some(Value::Word(word)) if word == "front-hub");
        [
            slot,
            if slot == Slot::TyreFront && drives_in_front {
                Slot::TyreRear
            } else {
                slot
            },
        ]
    }

    /// What is meant no longer counts, because of a changed code or slot.
    fn make_stale_by(&mut self, cause: &str, is_meant: impl Fn(&Code, &Fact) -> bool) {
        let meant =
            |(key, fact): &(&Arc<str>, &Shared<Fact>)| code::find(key).is_some_and(|row| is_meant(row, fact));
        let keys: Vec<Arc<str>> = self
            .facts
            .iter()
            .filter(meant)
            .map(|(key, _)| key.clone())
            .collect();
        for key in keys {
            if let Some(fact) = self.facts.get_mut(&key) {
                fact.stale = Some(cause.to_owned());
            }
        }
    }
}

/// The value that stands for a series of readings, and the standard deviation of numbers. Tries
/// add up: what failed once is not undone by trying again. Where a wall is thin it is not thick for having been
/// measured elsewhere too: of what is read at its worst place the worst stands, with its instrument's doubt alone.
fn standing(readings: &[Reading], worst: Option<Worst>) -> (Value, f64) {
    let tries = readings.iter().map(|reading| match reading.value {
        Value::Tally { good, tried } => Some((good, tried)),
        _ => None,
    });
    if let Some(tries) = tries
        .collect::<Option<Vec<_>>>()
        .filter(|tries| !tries.is_empty())
    {
        let (good, tried) = tries.iter().fold((0u32, 0u32), |(good, tried), (more, of)| {
            (good.saturating_add(*more), tried.saturating_add(*of))
        });
        return (Value::Tally { good, tried }, 0.0);
    }
    let latest = readings
        .last()
        .map_or(Value::Flag(false), |reading| reading.value.clone());
    let numbers: Option<Vec<f64>> = readings.iter().map(|reading| reading.value.number()).collect();
    if let (Some(numbers), Some(worst)) = (&numbers, worst) {
        let worst = match worst {
            Worst::Least => numbers.iter().copied().reduce(f64::min),
            Worst::Most => numbers.iter().copied().reduce(f64::max),
        };
        return (worst.map_or(latest, Value::Number), 0.0);
    }
    match numbers.map(|numbers| Readings::new(&numbers)) {
        Some(Ok(series)) if series.count() > 1 => (
            Value::Number(series.median()),
            series.standard_deviation().unwrap_or(0.0),
        ),
        _ => (latest, 0.0),
    }
}
