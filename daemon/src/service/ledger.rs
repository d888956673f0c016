//! What a decision reads, whether inside the writer's transaction or on a read snapshot.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::sync::Arc;

use crate::standing::Standing;
use lockring_domain::command::Desk;
use lockring_domain::entry::Entry;
use lockring_domain::job::Job;
use lockring_domain::labour::Running;
use lockring_domain::part::Part;
use lockring_domain::shop::Shop;
use lockring_domain::shop::wip::Open;
use lockring_domain::supply::piece::Holder;
use lockring_domain::supply::recall::{Find, Found};
use lockring_domain::supply::shelf::Stock;
use lockring_store::{Reader, StorageError, Tx};

/// Jobs and parts as they stand.
pub(super) trait Ledger {
    /// The shop.
    fn shop(&self) -> Result<Arc<Shop>, StorageError>;
    /// Open jobs by stage.
    fn open_by_stage(&self) -> Result<Open, StorageError>;
    /// The number of the last entry of a job, or of those of no job.
    fn last_seq(&self, job: u32) -> Result<u64, StorageError>;
    /// A job.
    fn job(&self, number: u32) -> Result<Option<Arc<Job>>, StorageError>;
    /// All entries of a job, in order.
    fn entries(&self, number: u32) -> Result<Vec<Entry>, StorageError>;
    /// The entries of no job in which people wrote words.
    fn shop_words(&self) -> Result<Vec<Entry>, StorageError>;
    /// Entries of jobs with a private text that `holds` says.
    fn words_holding(&self, holds: &dyn Fn(&str) -> bool) -> Result<Vec<Entry>, StorageError>;
    /// The number the next job gets; jobs are numbered from 1 without gaps.
    fn next_job_number(&self) -> Result<u32, StorageError>;
    /// Where pieces with a serial number are now, by the key of the number.
    fn holders(&self, serial_key: &str) -> Result<Vec<Holder>, StorageError>;
    /// The clocks that run for somebody, over all jobs.
    fn clocks(&self, who: &str) -> Result<Vec<Running>, StorageError>;
    /// The shelf as it is now and the order lines that fill it.
    fn stock(&self) -> Result<Stock, StorageError>;
    /// A part of the catalogue.
    fn part(&self, id: &str) -> Result<Option<Part>, StorageError>;
    /// Jobs of riders of a name.
    fn jobs_of_rider(&self, name: &str) -> Result<Vec<Job>, StorageError>;
    /// Jobs of bicycles whose frame bears a number.
    fn jobs_of_frame(&self, frame: &str) -> Result<Vec<Job>, StorageError>;
    /// Entries of a job whose private texts stand in the journal itself.
    fn in_clear(&self, job: u32) -> Result<BTreeSet<u64>, StorageError>;
    /// Every piece on a job that is meant.
    fn find_pieces(&self, find: &Find) -> Result<Vec<Found>, StorageError>;
    /// Ids of all parts.
    fn part_ids(&self) -> Result<Vec<String>, StorageError>;
}

impl Ledger for Tx<'_> {
    fn shop(&self) -> Result<Arc<Shop>, StorageError> {
        Tx::shop(self)
    }

    fn open_by_stage(&self) -> Result<Open, StorageError> {
        Tx::open_by_stage(self)
    }

    fn last_seq(&self, job: u32) -> Result<u64, StorageError> {
        Tx::last_seq(self, job)
    }

    fn holders(&self, serial_key: &str) -> Result<Vec<Holder>, StorageError> {
        Tx::holders(self, serial_key)
    }

    fn clocks(&self, who: &str) -> Result<Vec<Running>, StorageError> {
        Tx::clocks(self, who)
    }

    fn stock(&self) -> Result<Stock, StorageError> {
        Tx::stock(self)
    }

    fn job(&self, number: u32) -> Result<Option<Arc<Job>>, StorageError> {
        Ok(Tx::job(self, number)?.map(Arc::new))
    }

    fn entries(&self, number: u32) -> Result<Vec<Entry>, StorageError> {
        Tx::entries(self, number)
    }

    fn shop_words(&self) -> Result<Vec<Entry>, StorageError> {
        Tx::shop_words(self)
    }

    fn words_holding(&self, holds: &dyn Fn(&str) -> bool) -> Result<Vec<Entry>, StorageError> {
        Tx::words_holding(self, holds)
    }

    fn next_job_number(&self) -> Result<u32, StorageError> {
        Tx::next_job_number(self)
    }

    fn jobs_of_rider(&self, name: &str) -> Result<Vec<Job>, StorageError> {
        Tx::jobs_of_rider(self, name)
    }

    fn jobs_of_frame(&self, frame: &str) -> Result<Vec<Job>, StorageError> {
        Tx::jobs_of_frame(self, frame)
    }

    fn in_clear(&self, job: u32) -> Result<BTreeSet<u64>, StorageError> {
        Tx::in_clear(self, job)
    }

    fn find_pieces(&self, find: &Find) -> Result<Vec<Found>, StorageError> {
        Tx::find_pieces(self, find)
    }

    fn part(&self, id: &str) -> Result<Option<Part>, StorageError> {
        Tx::part(self, id)
    }

    fn part_ids(&self) -> Result<Vec<String>, StorageError> {
        Tx::part_ids(self)
    }
}

impl Ledger for Reader<'_> {
    fn shop(&self) -> Result<Arc<Shop>, StorageError> {
        Reader::shop(self)
    }

    fn open_by_stage(&self) -> Result<Open, StorageError> {
        Reader::open_by_stage(self)
    }

    fn last_seq(&self, job: u32) -> Result<u64, StorageError> {
        Reader::last_seq(self, job)
    }

    fn holders(&self, serial_key: &str) -> Result<Vec<Holder>, StorageError> {
        Reader::holders(self, serial_key)
    }

    fn clocks(&self, who: &str) -> Result<Vec<Running>, StorageError> {
        Reader::clocks(self, who)
    }

    fn stock(&self) -> Result<Stock, StorageError> {
        Reader::stock(self)
    }

    fn job(&self, number: u32) -> Result<Option<Arc<Job>>, StorageError> {
        Reader::job(self, number)
    }

    fn entries(&self, number: u32) -> Result<Vec<Entry>, StorageError> {
        Reader::entries(self, number, 0)
    }

    fn shop_words(&self) -> Result<Vec<Entry>, StorageError> {
        Reader::shop_words(self)
    }

    fn words_holding(&self, holds: &dyn Fn(&str) -> bool) -> Result<Vec<Entry>, StorageError> {
        Reader::words_holding(self, holds)
    }

    fn next_job_number(&self) -> Result<u32, StorageError> {
        let counts = self.counts()?;
        let jobs = counts.jobs_open + counts.jobs_over;
        // Job numbers have 32 bits; the last of them is never reached.
        Ok(u32::try_from(jobs + 1).unwrap_or(u32::MAX))
    }

    fn jobs_of_rider(&self, name: &str) -> Result<Vec<Job>, StorageError> {
        Reader::jobs_of_rider(self, name)
    }

    fn jobs_of_frame(&self, frame: &str) -> Result<Vec<Job>, StorageError> {
        Reader::jobs_of_frame(self, frame)
    }

    fn in_clear(&self, job: u32) -> Result<BTreeSet<u64>, StorageError> {
        Reader::in_clear(self, job)
    }

    fn find_pieces(&self, find: &Find) -> Result<Vec<Found>, StorageError> {
        Reader::find_pieces(self, find)
    }

    fn part(&self, id: &str) -> Result<Option<Part>, StorageError> {
        Reader::part(self, id)
    }

    fn part_ids(&self) -> Result<Vec<String>, StorageError> {
        let mut ids: Vec<String> = Vec::new();
        loop {
            let after = ids.last().cloned().unwrap_or_default();
            let page = self.parts(None, &after, PAGE)?;
            let is_last = page.len() < PAGE as usize;
            ids.extend(page.into_iter().map(|part| part.id));
            if is_last {
                return Ok(ids);
            }
        }
    }
}

/// Rows read at a time.
const PAGE: u32 = 500;

/// Decides with a desk over a ledger. The domain's desk cannot fail to look something up;
/// what the store says meanwhile comes out here, before the decision is used.
pub(super) fn at_desk<T>(
    ledger: &impl Ledger,
    at: &Standing,
    decide: impl FnOnce(&Desk<'_>) -> T,
) -> Result<T, StorageError> {
    let trouble = RefCell::new(None);
    let keep = |error: StorageError| {
        trouble.borrow_mut().get_or_insert(error);
    };
    let part = |id: &str| {
        ledger.part(id).unwrap_or_else(|error| {
            keep(error);
            None
        })
    };
    let part_ids = || {
        ledger.part_ids().unwrap_or_else(|error| {
            keep(error);
            Vec::new()
        })
    };
    let holders = |serial_key: &str| {
        ledger.holders(serial_key).unwrap_or_else(|error| {
            keep(error);
            Vec::new()
        })
    };
    let history = |job: u32| {
        ledger.entries(job).unwrap_or_else(|error| {
            keep(error);
            Vec::new()
        })
    };
    let clocks = |who: &str| {
        ledger.clocks(who).unwrap_or_else(|error| {
            keep(error);
            Vec::new()
        })
    };
    let decision = decide(&Desk {
        rules: &at.rules,
        shop: &at.shop,
        zone: &at.zone,
        holders: &holders,
        history: &history,
        clocks: &clocks,
        part: &part,
        part_ids: &part_ids,
        memory: Some(&at.memory),
    });
    match trouble.take() {
        Some(error) => Err(error),
        None => Ok(decision),
    }
}
