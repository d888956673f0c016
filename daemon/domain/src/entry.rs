//! Entries: the lines of the append-only journal, and what each may say.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::account::AccountEvent;
use crate::after::AfterEvent;
use crate::block::{Family, LateLine, Whose};
use crate::fact::{Provenance, Value};
use crate::finding::Kept;
use crate::labour::LabourEvent;
use crate::money::Money;
use crate::origin::Origin;
use crate::part::{Part, Slot};
use crate::photo::Photo;
use crate::receipt::Receipt;
use crate::removal::Removal;
use crate::ridelog::Logged;
use crate::shop::event::ShopEvent;
use crate::stage::Stage;
use crate::supply::event::StockEvent;
use crate::supply::event::SupplyEvent;
use crate::supply::piece::Fate;

/// Version of the payloads below; stored with every entry.
///
/// A payload is never changed in meaning: a new meaning gets a new variant or a new
/// optional field, so that entries written by any earlier version still read. From version 2 on
/// a private text is kept beside the journal, and its place in the payload holds its hash.
pub const PAYLOAD_VERSION: u32 = 2;

/// One line of the journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Number in the whole journal, from 1, without gaps.
    pub id: u64,
    /// The job, or 0 for the shop as a whole.
    pub job: u32,
    /// Number within the job, from 1, without gaps.
    pub seq: u64,
    /// Who, where, when.
    pub origin: Origin,
    /// When it was stored.
    pub stored: Timestamp,
    /// What it says.
    pub event: Event,
    /// Hash of the entry before it in the whole journal.
    pub previous: Hash,
    /// Hash of this entry.
    pub hash: Hash,
}

/// A link of the chain that makes tampering evident.
pub type Hash = [u8; 32];

/// Hash of an entry: SHA-256 over the previous hash and every stored column, each with
/// its length before it so that no two entries share an image.
#[expect(clippy::too_many_arguments, reason = "these are exactly the stored columns")]
pub fn link(
    previous: &Hash,
    id: u64,
    job: u32,
    seq: u64,
    made_us: i64,
    stored_us: i64,
    by: &str,
    terminal: &str,
    kind: &str,
    version: u32,
    payload: &str,
) -> Hash {
    let mut image = Sha256::new();
    image.update(previous);
    for number in [
        id as i128,
        job.into(),
        seq.into(),
        made_us.into(),
        stored_us.into(),
        version.into(),
    ] {
        image.update(number.to_be_bytes());
    }
    for text in [by, terminal, kind, payload] {
        image.update((text.len() as u64).to_be_bytes());
        image.update(text.as_bytes());
    }
    image.finalize().into()
}

/// What an entry says. Everything a job is follows from these alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Event {
    /// A bicycle came in: the job begins.
    TakenIn {
        /// Rider's name, as the shop says it.
        rider: String,
    },
    /// Values told, read off a label, or assumed.
    Stated {
        /// Values by code.
        values: BTreeMap<String, Value>,
        /// Where they come from.
        provenance: Provenance,
    },
    /// Values read off instruments: a measurement, a torque, or one test run.
    Recorded {
        /// The word of the run; `None` for a measurement or torque.
        run: Option<String>,
        /// Readings by code.
        readings: BTreeMap<String, Value>,
        /// The plausible window was overruled, for all of them or for any one.
        forced: bool,
        /// Begins a new series instead of repeating the last reading.
        anew: bool,
    },
    /// A part was chosen for a slot, or another one in its place.
    Chosen {
        /// Slot.
        slot: Slot,
        /// Snapshot of the catalogue's part.
        part: Part,
    },
    /// The catalogue has another part under the id of the one in a slot: the build keeps what was chosen.
    Recatalogued {
        /// Slot.
        slot: Slot,
        /// The catalogue's part from now on.
        part: Part,
        /// Number within the job of the block that opens, where a check would say something worse of it.
        block: Option<u32>,
        /// What differs, and what checks would say.
        about: String,
    },
    /// The part of a slot is taken as the catalogue has it now: what was ordered and what came for it stays.
    Corrected {
        /// Slot.
        slot: Slot,
        /// Snapshot of the catalogue's part.
        part: Part,
    },
    /// A slot was emptied.
    Dropped {
        /// Slot.
        slot: Slot,
    },
    /// The part of a slot was ordered.
    Ordered {
        /// Slot.
        slot: Slot,
        /// Supplier.
        supplier: String,
        /// Promised day of arrival.
        due: Option<Date>,
        /// Price.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        price: Option<Money>,
    },
    /// The part of a slot arrived.
    Received(Receipt),
    /// A gate was tried.
    GateTried {
        /// The gate.
        gate: Stage,
        /// What every check of it said.
        findings: Vec<Kept>,
        /// Whether the job moved on.
        passed: bool,
    },
    /// The owner accepted a caution or a fail.
    Conceded {
        /// Check.
        check: String,
        /// Why.
        why: String,
        /// The facts it rests on, as a fingerprint: it lapses when they change.
        fingerprint: String,
        /// What the finding said when it was conceded.
        finding: String,
    },
    /// The job went back to an earlier stage.
    SentBack {
        /// Stage it stands at now.
        stage: Stage,
        /// Why.
        why: String,
    },
    /// A block was opened.
    Blocked {
        /// Number within the job.
        number: u32,
        /// Family.
        family: Family,
        /// Check it comes from, if it opened by itself.
        check: Option<String>,
        /// What is wrong, with numbers.
        about: String,
        /// Whose move it is.
        whose: Whose,
        /// When somebody asks again.
        chase: Option<Date>,
        /// What clears it.
        clears_when: String,
    },
    /// A block that opened by itself: what its check says now.
    Restated {
        /// Number within the job.
        number: u32,
        /// What is wrong, with numbers.
        about: String,
        /// Whose move it is.
        whose: Whose,
        /// What clears it.
        clears_when: String,
    },
    /// A block was cleared.
    Cleared {
        /// Number within the job.
        number: u32,
        /// Why.
        why: String,
    },
    /// The daemon found an order line past its day: a block of the family of parts opens, and
    /// clears by itself when the line arrives or gets another day.
    LineLate {
        /// Number of the block within the job.
        number: u32,
        /// The line.
        line: LateLine,
        /// What is wrong, with days.
        about: String,
    },
    /// Somebody asked about a block: what was said, and when to ask again.
    Chased {
        /// Number of the block within the job.
        number: u32,
        /// When somebody asks again; `None` when nobody has to.
        chase: Option<Date>,
        /// Whose move it is now; `None` as before.
        whose: Option<Whose>,
        /// What was said; may be empty.
        said: String,
    },
    /// A day was promised to the rider, the first or another one.
    Promised {
        /// The day.
        day: Date,
        /// Whether nothing but that day will do; `None` as before.
        hard: Option<bool>,
        /// Why; may be empty for the first.
        why: String,
    },
    /// The rider was told something about the promise.
    Told {
        /// What.
        words: String,
    },
    /// A planned wait began.
    Held {
        /// Why.
        why: String,
        /// The day it is meant to end.
        until: Option<Date>,
    },
    /// The planned wait ended.
    Released {},
    /// Words.
    Noted {
        /// The words.
        text: String,
        /// They are about the rider, and go with them.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        private: bool,
    },
    /// An earlier entry of this job no longer counts.
    Retracted {
        /// Its number within the job.
        seq: u64,
        /// Why.
        why: String,
    },
    /// The job ended without a handover.
    Closed {
        /// `returned` or `cancelled`.
        end: Stage,
        /// Why.
        why: String,
    },
    /// A ride's log was read.
    RideLogged(Box<Logged>),
    /// A photo was kept.
    Photographed(Photo),
    /// What became of an order or a piece of the job.
    Supply(SupplyEvent),
    /// Parts were put into the shop's catalogue, replacing those of the same id.
    Catalogued {
        /// The parts.
        parts: Vec<Part>,
    },
    /// Something about the shelf and its order lines; it stands in no job.
    Stock(StockEvent),
    /// Something about the job's money.
    Account(AccountEvent),
    /// Somebody worked on the job.
    Labour(LabourEvent),
    /// Something after handover.
    After(AfterEvent),
    /// What tells who the rider is was taken out of earlier entries of this job.
    RiderRemoved(Removal),
    /// Something about the shop as a whole; it stands in no job.
    Shop(ShopEvent),
}

impl Event {
    /// The word of the entry's kind, as stored and shown.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::TakenIn { .. } => "taken-in",
            Self::Stated { .. } => "stated",
            Self::Recorded { .. } => "recorded",
            Self::Chosen { .. } => "chosen",
            Self::Recatalogued { .. } => "recatalogued",
            Self::Corrected { .. } => "corrected",
            Self::Dropped { .. } => "dropped",
            Self::Ordered { .. } => "ordered",
            Self::Received(_) => "received",
            Self::GateTried { .. } => "gate-tried",
            Self::Conceded { .. } => "conceded",
            Self::SentBack { .. } => "sent-back",
            Self::Blocked { .. } => "blocked",
            Self::Restated { .. } => "restated",
            Self::Cleared { .. } => "cleared",
            Self::LineLate { .. } => "line-late",
            Self::Chased { .. } => "chased",
            Self::Promised { .. } => "promised",
            Self::Told { .. } => "told",
            Self::Held { .. } => "held",
            Self::Released {} => "released",
            Self::Noted { .. } => "noted",
            Self::Retracted { .. } => "retracted",
            Self::Closed { .. } => "closed",
            Self::RideLogged(_) => "ride-logged",
            Self::Photographed(_) => "photographed",
            Self::Catalogued { .. } => "catalogued",
            Self::Supply(event) => event.kind(),
            Self::Stock(event) => event.kind(),
            Self::Account(event) => event.kind(),
            Self::Labour(event) => event.kind(),
            Self::After(event) => event.kind(),
            Self::RiderRemoved(_) => "rider-removed",
            Self::Shop(event) => event.kind(),
        }
    }

    /// Whether it changes what earlier entries say.
    pub const fn reaches_back(&self) -> bool {
        matches!(self, Self::Retracted { .. } | Self::RiderRemoved(_))
    }

    /// Whether it belongs to no job.
    pub const fn is_of_the_shop(&self) -> bool {
        matches!(self, Self::Catalogued { .. } | Self::Shop(_) | Self::Stock(_))
    }

    /// Whether `undo` may retract it: what a person entered about the job, not what the
    /// workshop's rules concluded from it.
    pub const fn can_be_undone(&self) -> bool {
        match self {
            // What touches the shelf is undone by the shelf's own commands.
            Self::Received(receipt) if receipt.shelf.is_some() => return false,
            Self::Supply(
                SupplyEvent::PutBack { .. }
                | SupplyEvent::PartWent {
                    to: Fate::PutBack, ..
                },
            ) => return false,
            // It is undone with the receipt that it was made with.
            Self::Supply(event) if event.is_refit() => return false,
            _ => {}
        }
        matches!(
            self,
            Self::Stated { .. }
                | Self::Recorded { .. }
                | Self::Chosen { .. }
                | Self::Dropped { .. }
                | Self::Ordered { .. }
                | Self::Received(_)
                | Self::Supply(_)
                | Self::Conceded { .. }
                | Self::Noted { .. }
                | Self::RideLogged(_)
                | Self::Photographed(_)
                | Self::Chased { .. }
                | Self::Promised { .. }
                | Self::Told { .. }
                | Self::Account(_)
                | Self::Labour(_)
                | Self::After(_)
                | Self::Held { .. }
                | Self::Released {}
        )
    }

    /// Whether it may come, and be undone, on a job that is over.
    pub const fn may_come_late(&self) -> bool {
        matches!(
            self,
            Self::Account(_)
                | Self::Labour(_)
                | Self::After(_)
                | Self::Noted { .. }
                | Self::Photographed(_)
                | Self::Supply(SupplyEvent::PartReturned { .. } | SupplyEvent::PartWent { .. })
        )
    }
}

/// Numbers of the entries that a later one of the same history retracts.
pub fn retracted(entries: &[Entry]) -> BTreeSet<u64> {
    let gone = entries.iter().filter_map(|entry| match entry.event {
        Event::Retracted { seq, .. } => Some(seq),
        _ => None,
    });
    gone.collect()
}

/// What an event says, in one line for histories.
pub fn line(event: &Event) -> String {
    match event {
        Event::TakenIn { rider } => format!("taken in for {rider}"),
        Event::Stated { values, provenance } => format!("{provenance}: {}", values_line(values)),
        Event::Recorded {
            run,
            readings,
            forced,
            anew,
        } => {
            let what = run
                .as_ref()
                .map_or_else(String::new, |run| format!("ride {run}: "));
            let mark = if *forced { " (window overruled)" } else { "" };
            let series = if *anew { " (new series)" } else { "" };
            format!("{what}{}{mark}{series}", values_line(readings))
        }
        Event::Chosen { slot, part } => format!("{}: {}", slot.word(), part.name()),
        Event::Recatalogued {
            slot, block, about, ..
        } => {
            let block = block.map_or_else(String::new, |number| {
                format!("block {number} (parts, owner to move): ")
            });
            format!("{block}the catalogue's {} changed: {about}", slot.word())
        }
        Event::Corrected { slot, part } => {
            format!("{}: {} as the catalogue has it now", slot.word(), part.name())
        }
        Event::Dropped { slot } => format!("{}: empty", slot.word()),
        Event::Ordered {
            slot,
            supplier,
            due,
            price,
        } => {
            let due = due.map_or_else(String::new, |due| format!(", due {due}"));
            let price = price.map_or_else(String::new, |price| format!(", {price}"));
            format!("{} ordered from {supplier}{due}{price}", slot.word())
        }
        Event::Received(receipt) => receipt.line(),
        Event::GateTried {
            gate,
            findings,
            passed: true,
        } => {
            let conceded = findings.iter().filter(|kept| kept.conceded).count();
            let note = if conceded > 0 {
                format!(", {conceded} by concession")
            } else {
                String::new()
            };
            format!("gate {} passed: {} checks{note}", gate.word(), findings.len())
        }
        Event::GateTried {
            gate,
            findings,
            passed: false,
        } => {
            let short: Vec<&str> = findings
                .iter()
                .filter(|kept| !kept.conceded && kept.verdict > crate::finding::Verdict::Pass)
                .map(|kept| kept.check.as_str())
                .collect();
            format!("gate {} stays shut: {}", gate.word(), short.join(", "))
        }
        Event::Conceded {
            check, why, finding, ..
        } => format!("{check} conceded: {why} ({finding})"),
        Event::SentBack { stage, why } => format!("back at {}: {why}", stage.word()),
        Event::Blocked {
            number,
            family,
            about,
            whose,
            ..
        } => {
            format!(
                "block {number} ({}, {} to move): {about}",
                family.word(),
                whose.word()
            )
        }
        Event::Restated {
            number, about, whose, ..
        } => {
            format!("block {number} ({} to move) now: {about}", whose.word())
        }
        Event::Cleared { number, why } => format!("block {number} cleared: {why}"),
        Event::LineLate { number, about, .. } => format!("block {number} (parts, supplier to move): {about}"),
        Event::Chased {
            number,
            chase,
            whose,
            said,
        } => {
            let mut words = vec![format!("block {number} asked about")];
            words.extend(Some(said.clone()).filter(|said| !said.is_empty()));
            words.extend(whose.map(|whose| format!("{} to move", whose.word())));
            words.push(chase.map_or_else(|| "not to be asked again".into(), |day| format!("again on {day}")));
            words.join(", ")
        }
        Event::Promised { day, hard, why } => {
            let kind = match hard {
                Some(true) => ", hard",
                Some(false) => ", soft",
                None => "",
            };
            let why = if why.is_empty() {
                String::new()
            } else {
                format!(": {why}")
            };
            format!("promised for {day}{kind}{why}")
        }
        Event::Told { words } => format!("rider told: {words}"),
        Event::Held { why, until } => {
            let until = until.map_or_else(String::new, |until| format!(" until {until}"));
            format!("on hold{until}: {why}")
        }
        Event::Released {} => "hold ended".into(),
        Event::Noted { text, private: false } => format!("note: {text}"),
        Event::Noted { text, private: true } => format!("private note: {text}"),
        Event::Retracted { seq, why } if why.is_empty() => format!("entry {seq} retracted"),
        Event::Retracted { seq, why } => format!("entry {seq} retracted: {why}"),
        Event::Closed { end, why } => format!("{}: {why}", end.word()),
        Event::RideLogged(logged) => format!("ride {}", logged.line()),
        Event::Photographed(photo) => photo.line(),
        Event::Catalogued { parts } => format!("{} parts into the catalogue", parts.len()),
        Event::Supply(event) => event.line(),
        Event::Stock(event) => event.line(),
        Event::Account(event) => event.line(),
        Event::Labour(event) => event.line(),
        Event::After(event) => event.line(),
        Event::RiderRemoved(removal) => removal.line(),
        Event::Shop(event) => event.line(),
    }
}

fn values_line(values: &BTreeMap<String, Value>) -> String {
    let shown: Vec<String> = values
        .iter()
        .map(|(key, value)| match crate::code::find(key) {
            Some(row) => format!("{key} {}", row.field.show(value)),
            None => key.clone(),
        })
        .collect();
    shown.join(", ")
}

#[cfg(test)]
mod tests;
