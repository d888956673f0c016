//! The shop as a whole: a pure fold over the journal's entries that belong to no job.
//!
//! Those entries have job 0. Parts put into the catalogue stand there too, but are not part of
//! this state: they have a table of their own.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::calendar::Calendar;
use crate::entry::{self, Entry, Event};
use crate::origin::Origin;
use crate::rules::{RuleError, RuleSheet};
use crate::supply::recall::{Call, Recall};
use crate::supply::supplier::{self, Suppliers};

mod chosen;
pub mod command;
pub mod effect;
pub mod event;
pub mod pair;
pub mod people;
pub mod recalls;
pub mod setting;
mod staff;
pub mod suppliers;
#[cfg(test)]
mod tests;
pub mod wip;

use event::ShopEvent;
use pair::Pair;
use people::Person;
use setting::{Setting, Units};

/// The job number under which the journal keeps what belongs to no job.
pub const SHOP: u32 = 0;

/// The shop as it stands. A field that is new reads as its default from an older file.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Shop {
    /// Number of the entry that last changed it, among those of no job; 0 when none has.
    pub revision: u64,
    /// Which days are worked.
    pub calendar: Calendar,
    /// Who set the days of the week that are worked.
    pub days_said: Option<Said>,
    /// Days the shop is shut, each with who said so.
    pub shut: BTreeMap<Date, Said>,
    /// Limits the shop set for itself, oldest first.
    pub own_rules: Vec<OwnRule>,
    /// Settings that are not as shipped.
    pub settings: BTreeMap<Setting, Given>,
    /// The people, those who left among them, by initials.
    pub people: BTreeMap<String, Person>,
    /// Which unit system stands first for whom, by initials, where they do not want the shop's.
    pub units: BTreeMap<String, Units>,
    /// The last day whose end-of-day report was written.
    pub evening: Option<Date>,
    /// The last day that was swept.
    pub swept: Option<Date>,
    /// Who delivers, by name.
    pub suppliers: Suppliers,
    /// Parts of the catalogue that are offered no more, by id. Left out where there is none, as files had it before.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub withdrawn: BTreeMap<String, Said>,
    /// Recalls by number.
    pub recalls: BTreeMap<u32, Recall>,
    /// Certificates of benches that reach the shop over the network, by number.
    pub pairs: BTreeMap<u32, Pair>,
}

/// Who said something, when and why.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Said {
    /// Why; may be empty.
    pub why: String,
    /// By whom.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

impl Said {
    fn new(origin: &Origin, why: &str) -> Self {
        Self {
            why: why.to_owned(),
            by: origin.by.clone(),
            at: origin.made,
        }
    }
}

/// A setting that somebody set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Given {
    /// Its text.
    pub value: String,
    /// Who set it, when and why.
    pub said: Said,
}

/// A limit the shop set for itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OwnRule {
    /// The rule's word.
    pub key: String,
    /// The value as typed, with its unit.
    pub value: String,
    /// Why, with its source if it has one.
    pub why: String,
    /// By whom.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

impl Shop {
    /// Folds all entries of no job, in order. Retracted entries do not count.
    pub fn fold(entries: &[Entry]) -> Self {
        let retracted = entry::retracted(entries);
        let mut shop = Self::default();
        for entry in entries {
            match &entry.event {
                Event::Retracted { .. } => shop.revision = entry.seq,
                Event::Shop(_) if retracted.contains(&entry.seq) => shop.revision = entry.seq,
                Event::Shop(event) => shop.take(entry.seq, &entry.origin, event),
                _ => {}
            }
        }
        shop
    }

    /// The shop after more entries, none of which retracts another.
    #[must_use]
    pub fn after(mut self, entries: &[Entry]) -> Self {
        for entry in entries {
            if let Event::Shop(event) = &entry.event {
                self.take(entry.seq, &entry.origin, event);
            }
        }
        self
    }

    /// Takes what an event says; events in one transaction are taken before they are stored.
    pub fn take(&mut self, seq: u64, origin: &Origin, event: &ShopEvent) {
        self.revision = seq;
        match event {
            ShopEvent::WorkingDays { days, why } => {
                self.calendar.working_days.clone_from(days);
                self.days_said = Some(Said::new(origin, why));
            }
            ShopEvent::Shut { days, why } => {
                self.calendar.holidays.extend(days);
                let said = Said::new(origin, why);
                self.shut.extend(days.iter().map(|day| (*day, said.clone())));
            }
            ShopEvent::Open { days, .. } => {
                self.calendar.holidays.retain(|day| !days.contains(day));
                self.shut.retain(|day, _| !days.contains(day));
            }
            ShopEvent::RuleSet { key, value, why } => {
                self.own_rules.retain(|rule| rule.key != *key);
                self.own_rules.push(OwnRule {
                    key: key.clone(),
                    value: value.clone(),
                    why: why.clone(),
                    by: origin.by.clone(),
                    at: origin.made,
                });
            }
            ShopEvent::RuleRestored { key, .. } => self.own_rules.retain(|rule| rule.key != *key),
            ShopEvent::Set { setting, value, why } => {
                let given = Given {
                    value: value.clone(),
                    said: Said::new(origin, why),
                };
                self.settings.insert(*setting, given);
            }
            ShopEvent::Unset { setting, .. } => {
                self.settings.remove(setting);
            }
            ShopEvent::Joined { initials, name, role } => {
                let person = Person {
                    name: name.clone(),
                    role: *role,
                    by: origin.by.clone(),
                    since: origin.made,
                    left: None,
                };
                self.people.insert(initials.clone(), person);
            }
            ShopEvent::Left { initials, .. } => {
                if let Some(person) = self.people.get_mut(initials) {
                    person.left = Some(origin.made);
                }
            }
            ShopEvent::UnitsChosen { initials, units } => {
                match units {
                    Some(units) => self.units.insert(initials.clone(), *units),
                    None => self.units.remove(initials),
                };
            }
            ShopEvent::EveningWritten { day, .. } => self.evening = self.evening.max(Some(*day)),
            ShopEvent::Swept { day, .. } => self.swept = self.swept.max(Some(*day)),
            ShopEvent::HistorySealed { .. } => {}
            ShopEvent::Supplier { supplier } => {
                self.suppliers
                    .insert(supplier::key(&supplier.name), supplier.clone());
            }
            ShopEvent::PartWithdrawn { part, why } => {
                self.withdrawn.insert(part.clone(), Said::new(origin, why));
            }
            ShopEvent::PartOffered { part, .. } => {
                self.withdrawn.remove(part);
            }
            ShopEvent::RecallOpened {
                number,
                name,
                why,
                find,
            } => {
                let recall = Recall {
                    name: name.clone(),
                    why: why.clone(),
                    find: find.clone(),
                    at: origin.made,
                    calls: BTreeMap::new(),
                };
                self.recalls.insert(*number, recall);
            }
            ShopEvent::Paired {
                number,
                bench,
                person,
                fingerprint,
                until,
            } => {
                let pair = Pair {
                    bench: bench.clone(),
                    person: person.clone(),
                    fingerprint: fingerprint.clone(),
                    until: *until,
                    by: origin.by.clone(),
                    made: origin.made,
                    revoked: None,
                };
                self.pairs.insert(*number, pair);
            }
            ShopEvent::PairRevoked { number, why } => {
                if let Some(pair) = self.pairs.get_mut(number) {
                    pair.revoked = Some(Said::new(origin, why));
                }
            }
            ShopEvent::RecallCalled {
                number,
                job,
                state,
                note,
                there,
            } => {
                if let Some(recall) = self.recalls.get_mut(number) {
                    recall.calls.entry(*job).or_default().push(Call {
                        state: *state,
                        note: note.clone(),
                        by: origin.by.clone(),
                        at: origin.made,
                        there: there.clone(),
                    });
                }
            }
        }
    }

    /// Whether a part of the catalogue is offered for a build.
    pub fn offers(&self, part: &str) -> bool {
        !self.withdrawn.contains_key(part)
    }

    /// The rule sheet with the shop's own limits in it, and those of them that the shipped
    /// sheet does not take (its rule has gone, or its value crosses another since).
    ///
    /// A least and a most value that were both moved are taken in whichever order holds, so the
    /// order in which they were set does not matter.
    pub fn rules(&self) -> (RuleSheet, Vec<RuleError>) {
        let mut sheet = RuleSheet::shipped();
        let mut waiting: Vec<&OwnRule> = self.own_rules.iter().collect();
        loop {
            let (mut refused, mut still) = (Vec::new(), Vec::new());
            for rule in &waiting {
                match sheet.clone().with_override(&rule.key, &rule.value, &rule.why) {
                    Ok(changed) => sheet = changed,
                    Err(error) => {
                        refused.push(error);
                        still.push(*rule);
                    }
                }
            }
            if still.len() == waiting.len() {
                return (sheet, refused);
            }
            waiting = still;
        }
    }
}

/// A decision on the shop: entries to append, the shop they lead to, and what to answer.
#[derive(Debug, Clone, PartialEq)]
pub struct ShopDraft {
    /// The shop after the entries.
    pub shop: Shop,
    /// Who, where, when.
    pub origin: Origin,
    /// The entries, in order.
    pub events: Vec<Event>,
    /// What was understood, a line each.
    pub said: Vec<String>,
    /// Number of the last entry of no job.
    last: u64,
}

impl ShopDraft {
    /// A decision that begins at the shop as it stands; `last` is the number of the last entry
    /// of no job, those of the catalogue counted.
    pub fn new(shop: Shop, last: u64, origin: Origin) -> Self {
        Self {
            shop,
            origin,
            events: Vec::new(),
            said: Vec::new(),
            last,
        }
    }

    /// Adds an entry and takes what it says.
    pub fn push(&mut self, event: ShopEvent) {
        self.last += 1;
        self.shop.take(self.last, &self.origin, &event);
        self.events.push(Event::Shop(event));
    }

    /// Number of the last entry of no job, those of this decision counted.
    pub const fn last(&self) -> u64 {
        self.last
    }

    /// Adds a line to the answer.
    pub fn say(&mut self, line: impl Into<String>) {
        self.said.push(line.into());
    }
}
