//! A job: a pure fold over its journal entries.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::account::Account;
use crate::after::After;
use crate::block::{Block, Family, Hold, Whose};
use crate::entry::{self, Entry, Event};
use crate::fact::{Fact, Reading, Value};
use crate::finding::Kept;
use crate::labour::Labour;
use crate::origin::Origin;
use crate::part::{Part, Slot};
use crate::photo;
use crate::promise::{PROMISE, Promise, Told};
use crate::receipt::Receipt;
use crate::ridelog;
use crate::shared::{Common, Shared};
use crate::stage::Stage;
use crate::supply::line::OrderLine;
use crate::supply::piece::{Fate, Piece};

mod books;
mod bought;
mod facts;
mod outstanding;
mod promises;
mod supply;

pub(crate) use facts::{THREEFOLD, is_far, is_of_series, odd_one};

/// Facts by code.
pub type Facts = BTreeMap<Arc<str>, Shared<Fact>>;

/// One conversion.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// What people type.
    pub number: u32,
    /// Rider's name, as the shop says it.
    pub rider: String,
    /// Where it stands.
    pub stage: Stage,
    /// Sequence number of its last entry.
    pub revision: u64,
    /// When it was taken in.
    pub opened: Timestamp,
    /// When it came to the stage it stands at.
    pub stage_since: Timestamp,
    /// When its last entry was made.
    pub touched: Timestamp,
    /// Facts by code.
    pub facts: Common<Facts>,
    /// The build.
    pub build: Common<BTreeMap<Slot, Shared<Line>>>,
    /// Gates passed and not re-opened since.
    pub passed: Common<BTreeMap<Stage, Shared<Passed>>>,
    /// Every trial of a gate, oldest first.
    pub trials: Common<Vec<Trial>>,
    /// Concessions by check.
    pub concessions: Common<BTreeMap<String, Concession>>,
    /// Open blocks, oldest first.
    pub blocks: Common<Vec<Block>>,
    /// Number of the last block opened.
    pub last_block: u32,
    /// Planned wait.
    pub hold: Option<Hold>,
    /// Why it was closed without a handover.
    pub closed_because: Option<String>,
    /// Logs of rides, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub logs: Common<Vec<ridelog::Kept>>,
    /// Photos, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub photos: Common<Vec<photo::Kept>>,
    /// Days promised since the first was moved, oldest first; empty while it was only stated.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub promises: Common<Vec<Promise>>,
    /// What the rider was told about it, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub told: Common<Vec<Told>>,
    /// Every line that was ordered for it, oldest first.
    #[serde(default)]
    pub orders: Common<Vec<OrderLine>>,
    /// Every piece that came to it, oldest first.
    #[serde(default)]
    pub pieces: Common<Vec<Piece>>,
    /// Its money.
    #[serde(default, skip_serializing_if = "Account::is_empty")]
    pub account: Common<Account>,
    /// The work on it.
    #[serde(default, skip_serializing_if = "Labour::is_empty")]
    pub labour: Common<Labour>,
    /// What happened after handover.
    #[serde(default, skip_serializing_if = "After::is_empty")]
    pub after: Common<After>,
    /// The day on which what tells who the rider is was taken out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rider_removed: Option<Date>,
}

/// A line of the build: what was chosen, ordered, received.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Snapshot of the catalogue's part when it was chosen.
    pub part: Part,
    /// Supplier and promised day.
    pub order: Option<Order>,
    /// What arrived.
    pub receipt: Option<Receipt>,
    /// The part that the catalogue has under its id by now, where that is another.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub newer: Option<Part>,
    /// The entries whose receipts carry the damage that is on file of it, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub damaged_in: Vec<u64>,
}

/// An order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// Supplier.
    pub supplier: String,
    /// Promised day of arrival.
    pub due: Option<Date>,
    /// When it was ordered.
    pub at: Timestamp,
}

impl Line {
    /// An attribute as it really is: what was found on arrival stands before the catalogue.
    pub fn attribute(&self, key: &str) -> Option<&Value> {
        self.receipt
            .as_ref()
            .and_then(|receipt| receipt.found.get(key))
            .or_else(|| self.part.get(key))
    }
}

/// A gate that was passed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Passed {
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: String,
    /// What its checks said.
    pub findings: Vec<Kept>,
}

/// A gate that was tried.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trial {
    /// The gate.
    pub gate: Stage,
    /// When.
    pub at: Timestamp,
    /// Whether it was passed.
    pub passed: bool,
}

/// The owner's acceptance of a caution or a fail.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Concession {
    /// Why.
    pub why: String,
    /// By whom.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// The values it was given for: it lapses when they change.
    pub fingerprint: String,
    /// What the finding said.
    pub finding: String,
}

/// Why a journal does not fold into a job.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FoldError {
    /// The job has no entry.
    #[error("job {0} has no entries")]
    Empty(u32),
    /// The first entry is not the taking in.
    #[error("the first entry of job {job} says `{kind}`; expected `taken-in`")]
    NotTakenIn {
        /// The job.
        job: u32,
        /// What the entry says.
        kind: &'static str,
    },
    /// The sequence has a gap.
    #[error("entry {found} of job {job} follows entry {after}; expected entry {}", after + 1)]
    Gap {
        /// The job.
        job: u32,
        /// Last good number.
        after: u64,
        /// Number found.
        found: u64,
    },
}

impl Job {
    /// Folds all entries of one job, in order. Retracted entries do not count.
    ///
    /// # Errors
    /// [`FoldError`] when the entries are not the whole, ordered history of a job.
    pub fn fold(entries: &[Entry]) -> Result<Self, FoldError> {
        let first = entries.first().ok_or(FoldError::Empty(0))?;
        let mut job = Self::begin(first)?;
        let retracted = entry::retracted(entries);
        for entry in entries.iter().skip(1) {
            if entry.seq != job.revision + 1 {
                return Err(FoldError::Gap {
                    job: job.number,
                    after: job.revision,
                    found: entry.seq,
                });
            }
            job.revision = entry.seq;
            job.touched = entry.origin.made;
            if !retracted.contains(&entry.seq) {
                job.take(entry.seq, &entry.origin, &entry.event);
            }
        }
        Ok(job)
    }

    /// The job after one more entry; `None` when the entry changes what earlier ones say, which
    /// takes a new fold of the whole history.
    #[must_use]
    pub fn after(mut self, entry: &Entry) -> Option<Self> {
        if entry.event.reaches_back() {
            return None;
        }
        self.revision = entry.seq;
        self.touched = entry.origin.made;
        self.take(entry.seq, &entry.origin, &entry.event);
        Some(self)
    }

    /// The job that a `taken-in` entry begins.
    ///
    /// # Errors
    /// [`FoldError::NotTakenIn`] for any other entry; [`FoldError::Gap`] when it is not the
    /// job's first.
    pub fn begin(entry: &Entry) -> Result<Self, FoldError> {
        if entry.seq != 1 {
            return Err(FoldError::Gap {
                job: entry.job,
                after: 0,
                found: entry.seq,
            });
        }
        let Event::TakenIn { rider } = &entry.event else {
            return Err(FoldError::NotTakenIn {
                job: entry.job,
                kind: entry.event.kind(),
            });
        };
        Ok(Self {
            number: entry.job,
            rider: rider.clone(),
            stage: Stage::Intake,
            revision: 1,
            opened: entry.origin.made,
            stage_since: entry.origin.made,
            touched: entry.origin.made,
            facts: Common::default(),
            build: Common::default(),
            passed: Common::default(),
            trials: Common::default(),
            concessions: Common::default(),
            blocks: Common::default(),
            last_block: 0,
            hold: None,
            closed_because: None,
            logs: Common::default(),
            photos: Common::default(),
            promises: Common::default(),
            told: Common::default(),
            orders: Common::default(),
            pieces: Common::default(),
            account: Common::default(),
            labour: Common::default(),
            after: Common::default(),
            rider_removed: None,
        })
    }

    /// Where the motor sits, as it was found or chosen; `None` while there is none.
    pub fn motor_place(&self) -> Option<&str> {
        self.build.get(&Slot::Motor)?.attribute("place")?.text()
    }

    /// Text of a fact, if it is known.
    pub fn text(&self, key: &str) -> Option<&str> {
        self.facts.get(key).and_then(|fact| fact.value.text())
    }

    /// Day of a fact, if it is known.
    pub fn day(&self, key: &str) -> Option<Date> {
        match self.facts.get(key).map(|fact| &fact.value) {
            Some(Value::Day(day)) => Some(*day),
            _ => None,
        }
    }

    /// Takes what an event says; events in one transaction are taken before they are stored.
    pub fn take(&mut self, seq: u64, origin: &Origin, event: &Event) {
        let at = origin.made;
        match event {
            Event::TakenIn { .. }
            | Event::Noted { .. }
            | Event::Retracted { .. }
            | Event::Catalogued { .. }
            | Event::Stock(_)
            | Event::Shop(_) => {}
            Event::RideLogged(logged) => self.logs.push(ridelog::Kept {
                number: logged.number,
                seq,
                at,
                by: origin.by.clone(),
                file: logged.file.clone(),
                sha256: logged.packed.sha256.clone(),
                meter: logged.meter,
                study: logged.study.clone(),
            }),
            Event::Photographed(photo) => self.photos.push(photo::Kept {
                seq,
                at,
                by: origin.by.clone(),
                photo: photo.clone(),
                removed: None,
            }),
            Event::RiderRemoved(removal) => {
                // Words about another job's rider go alone: this one's rider is still there.
                if self.rider_removed.is_some() || !removal.who.is_empty() {
                    self.rider_removed = Some(removal.on);
                }
                let taken = |kept: &&mut photo::Kept| removal.pictures.contains(&kept.seq);
                for kept in self.photos.iter_mut().filter(taken) {
                    kept.removed = Some(removal.on);
                }
            }
            Event::Stated { values, provenance } => {
                for (key, value) in values {
                    self.state(key, value, *provenance, seq, at);
                }
                if let Some(Value::Day(day)) = values.get(PROMISE) {
                    self.restate_promise(*day, origin);
                }
                self.take_typed_money(values);
            }
            Event::Promised { day, hard, why } => self.promise(*day, *hard, why, seq, origin),
            Event::Told { words } => self.told.push(Told {
                words: words.clone(),
                by: origin.by.clone(),
                at,
            }),
            Event::Recorded { readings, anew, .. } => {
                let before: BTreeMap<&String, Value> = readings
                    .keys()
                    .filter_map(|key| Some((key, self.facts.get(key.as_str())?.value.clone())))
                    .collect();
                for (key, value) in readings {
                    let reading = Reading {
                        value: value.clone(),
                        at,
                        by: origin.by.clone(),
                        seq,
                    };
                    self.record(key, reading, *anew);
                }
                self.take_typed_money(readings);
                let number = |value: Option<&Value>| value.and_then(Value::number).unwrap_or(0.0);
                for key in readings.keys() {
                    let now = number(self.facts.get(key.as_str()).map(|fact| &fact.value));
                    if number(before.get(key)) != now {
                        self.make_moved_stale(key, seq);
                    }
                }
            }
            Event::Chosen { slot, part } => {
                let line = Line {
                    part: part.clone(),
                    order: None,
                    receipt: None,
                    newer: None,
                    damaged_in: Vec::new(),
                };
                self.settle_catalogued(*slot);
                if self.build.insert(*slot, line.into()).is_some() {
                    self.leaves(*slot, at, Fate::Swapped, "another part was chosen");
                    self.make_stale(*slot);
                } else {
                    self.make_own_stale(*slot);
                }
            }
            Event::Recatalogued {
                slot,
                part,
                block,
                about,
            } => {
                let Some(line) = self.build.get_mut(slot) else {
                    return;
                };
                // What the catalogue says of a part that was chosen then and is not any more, an undo apart.
                if line.part.id != part.id {
                    return;
                }
                line.newer = (line.part != *part).then(|| part.clone());
                if let Some(number) = block {
                    let clears_when = format!(
                        "lockring build {} {}={} takes it as it is now, or another part is chosen",
                        self.number,
                        slot.word(),
                        part.id
                    );
                    self.open_block(Block {
                        part: Some(*slot),
                        ..self.block_of_parts(*number, about, Whose::Owner, clears_when, (at, origin))
                    });
                }
            }
            Event::Corrected { slot, part } => {
                self.settle_catalogued(*slot);
                if let Some(line) = self.build.get_mut(slot) {
                    line.part = part.clone();
                    line.newer = None;
                }
            }
            Event::Dropped { slot } => {
                self.settle_catalogued(*slot);
                if self.build.remove(slot).is_some() {
                    self.leaves(*slot, at, Fate::Swapped, "the slot was emptied");
                    self.make_stale(*slot);
                }
            }
            Event::Ordered {
                slot,
                supplier,
                due,
                price,
            } => self.order(*slot, supplier, *due, *price, at),
            Event::Received(receipt) => self.receive(receipt, seq, at),
            Event::Supply(event) => self.take_supply(event, at),
            Event::GateTried {
                gate,
                findings,
                passed,
            } => {
                self.trials.push(Trial {
                    gate: *gate,
                    at,
                    passed: *passed,
                });
                if *passed {
                    let record = Passed {
                        at,
                        by: origin.by.clone(),
                        findings: findings.clone(),
                    };
                    self.passed.insert(*gate, record.into());
                    self.move_to(gate.next().unwrap_or(*gate), at);
                }
            }
            Event::Conceded {
                check,
                why,
                fingerprint,
                finding,
            } => {
                let concession = Concession {
                    why: why.clone(),
                    by: origin.by.clone(),
                    at,
                    fingerprint: fingerprint.clone(),
                    finding: finding.clone(),
                };
                self.concessions.insert(check.clone(), concession);
            }
            Event::SentBack { stage, .. } => {
                self.passed.retain(|gate, _| gate < stage);
                self.move_to(*stage, at);
            }
            Event::Blocked {
                number,
                family,
                check,
                about,
                whose,
                chase,
                clears_when,
            } => {
                self.open_block(Block {
                    family: *family,
                    check: check.clone(),
                    chase: *chase,
                    ..self.block_of_parts(*number, about, *whose, clears_when.clone(), (at, origin))
                });
            }
            Event::LineLate { number, line, about } => {
                let clears_when = format!("{} arrives, or is promised for another day", line.slot.word());
                self.open_block(Block {
                    line: Some(line.clone()),
                    ..self.block_of_parts(*number, about, Whose::Supplier, clears_when, (at, origin))
                });
            }
            Event::Chased {
                number, chase, whose, ..
            } => {
                for block in self.blocks.iter_mut().filter(|block| block.number == *number) {
                    block.chase = *chase;
                    block.whose = whose.unwrap_or(block.whose);
                }
            }
            Event::Restated {
                number,
                about,
                whose,
                clears_when,
            } => {
                for block in self.blocks.iter_mut().filter(|block| block.number == *number) {
                    block.about.clone_from(about);
                    block.whose = *whose;
                    block.clears_when.clone_from(clears_when);
                }
            }
            Event::Account(event) => {
                self.account.take(seq, origin, event);
                self.post_account(event, seq, at);
            }
            Event::Labour(event) => self.labour.take(at, event),
            Event::After(event) => self.take_after(event, seq, origin),
            Event::Cleared { number, .. } => self.blocks.retain(|block| block.number != *number),
            Event::Held { why, until } => {
                self.hold = Some(Hold {
                    why: why.clone(),
                    until: *until,
                    since: at,
                })
            }
            Event::Released {} => self.hold = None,
            Event::Closed { end, why } => {
                self.closed_because = Some(why.clone());
                self.blocks.clear();
                self.hold = None;
                self.move_to(*end, at);
            }
        }
    }

    /// A block at the present stage that waits for a part.
    fn block_of_parts(
        &self,
        number: u32,
        about: &str,
        whose: Whose,
        clears_when: String,
        (opened, origin): (Timestamp, &Origin),
    ) -> Block {
        Block {
            number,
            family: Family::Parts,
            gate: self.stage,
            check: None,
            about: about.to_owned(),
            whose,
            chase: None,
            clears_when,
            opened,
            by: origin.by.clone(),
            line: None,
            part: None,
        }
    }

    fn open_block(&mut self, block: Block) {
        self.last_block = block.number;
        self.blocks.push(block);
    }

    fn move_to(&mut self, stage: Stage, at: Timestamp) {
        if self.stage != stage {
            self.stage = stage;
            self.stage_since = at;
        }
    }
}
