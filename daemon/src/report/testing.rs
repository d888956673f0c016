//! Hand-made jobs for tests of reports.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_domain::block::Family;
use lockring_domain::entry::{Entry, Event};
use lockring_domain::fact::{Provenance, Value};
use lockring_domain::job::Job;
use lockring_domain::money::Money;
use lockring_domain::origin::Origin;
use lockring_domain::part::{Part, Slot};
use lockring_domain::receipt::Receipt;
use lockring_domain::shop::Shop;
use lockring_domain::supply::shelf::Stock;
use lockring_store::History;

use super::known::{Cut, Known};
use crate::standing::Standing;

/// Ten in the morning of a day, UTC.
pub(crate) fn on(day: &str) -> Timestamp {
    format!("{day}T10:00Z").parse().unwrap()
}

/// A job that events are put into, without rules or a store.
pub(crate) struct Bench {
    pub(crate) job: Job,
    /// What was put into it.
    pub(crate) entries: Vec<Entry>,
}

/// The shop as it was known at the end of a day, with these jobs and this shelf.
pub(crate) fn known(benches: Vec<Bench>, stock: Stock, shop: Shop, day: &str) -> Known {
    let histories = benches.into_iter().map(|bench| History {
        job: bench.job,
        entries: bench.entries,
    });
    let seen = on(day);
    Known {
        histories: histories.collect(),
        recalled: Vec::new(),
        stock,
        at: Standing::of(Arc::new(shop), &TimeZone::UTC),
        cut: Cut {
            made_before: seen,
            upto: u64::MAX,
            seen,
            since: None,
        },
    }
}

impl Bench {
    pub(crate) fn job(number: u32, rider: &str, opened: Timestamp) -> Self {
        let entry = Entry {
            id: 1,
            job: number,
            seq: 1,
            origin: origin(opened),
            stored: opened,
            event: Event::TakenIn { rider: rider.into() },
            previous: [0; 32],
            hash: [0; 32],
        };
        Self {
            job: Job::begin(&entry).unwrap(),
            entries: vec![entry],
        }
    }

    pub(crate) fn take(&mut self, made: Timestamp, event: &Event) -> &mut Self {
        self.job.revision += 1;
        self.job.take(self.job.revision, &origin(made), event);
        let entry = Entry {
            seq: self.job.revision,
            origin: origin(made),
            stored: made,
            event: event.clone(),
            ..self.entries[0].clone()
        };
        self.entries.push(entry);
        self
    }

    pub(crate) fn state(&mut self, key: &str, value: Value) -> &mut Self {
        let values = BTreeMap::from([(key.to_owned(), value)]);
        let made = self.job.opened;
        self.take(
            made,
            &Event::Stated {
                values,
                provenance: Provenance::Stated,
            },
        )
    }

    pub(crate) fn choose(&mut self, slot: Slot) -> &mut Self {
        let part = Part {
            id: format!("{}-1", slot.word()),
            kind: slot.kind(),
            attributes: BTreeMap::new(),
        };
        self.take(self.job.opened, &Event::Chosen { slot, part })
    }

    pub(crate) fn order(&mut self, slot: Slot, supplier: &str, due: Option<Date>) -> &mut Self {
        self.take(
            self.job.opened,
            &Event::Ordered {
                slot,
                supplier: supplier.into(),
                due,
                price: None,
            },
        )
    }

    /// Ordered for a price, and here.
    pub(crate) fn bought(&mut self, slot: Slot, price: Option<Money>) -> &mut Self {
        let ordered = Event::Ordered {
            slot,
            supplier: "S".into(),
            due: None,
            price,
        };
        let opened = self.job.opened;
        self.choose(slot).take(opened, &ordered).receive(slot)
    }

    pub(crate) fn receive(&mut self, slot: Slot) -> &mut Self {
        let receipt = Receipt {
            slot,
            found: BTreeMap::new(),
            serial: None,
            lot: None,
            volts: None,
            group_spread: None,
            papers: None,
            damage: None,
            shelf: None,
            paid: None,
            supplier: None,
        };
        self.take(self.job.opened, &Event::Received(receipt))
    }

    pub(crate) fn block(
        &mut self,
        family: Family,
        about: &str,
        chase: Option<Date>,
        opened: Timestamp,
    ) -> &mut Self {
        let event = Event::Blocked {
            number: self.job.last_block + 1,
            family,
            check: None,
            about: about.into(),
            whose: family.usual_move(),
            chase,
            clears_when: "cleared by hand".into(),
        };
        self.take(opened, &event)
    }

    pub(crate) fn hold(&mut self, why: &str, until: Option<Date>) -> &mut Self {
        self.take(
            self.job.opened,
            &Event::Held {
                why: why.into(),
                until,
            },
        )
    }
}

fn origin(made: Timestamp) -> Origin {
    Origin {
        by: "K".into(),
        terminal: "bench".into(),
        made,
    }
}
