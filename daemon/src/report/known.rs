//! The shop as it was known at a moment: what every report of figures is made from.

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use lockring_domain::job::Job;
use lockring_domain::money::Money;
use lockring_domain::supply::line::OrderLine;
use lockring_domain::supply::shelf::Stock;
use lockring_store::{History, Reader, StorageError};

use super::days::Days;
use super::history::Span;
use super::recalled::{self, Recalled};
use crate::standing::Standing;

/// Up to where a past day is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Cut {
    /// What was made before this moment counts,
    pub(crate) made_before: Timestamp,
    /// as far as it was stored up to the entry of this id.
    pub(crate) upto: u64,
    /// The moment it is seen from: it lies on the day itself.
    pub(crate) seen: Timestamp,
    /// What moved is told from the evening before on, where one was written.
    pub(crate) since: Option<Timestamp>,
}

impl Cut {
    /// A day with a report is told as that was: up to its closing time `as_of` and entry `upto`. What moved is told from
    /// the evening before on that was written by the moment `by`.
    pub(crate) fn written(
        reader: &Reader<'_>,
        day: Date,
        as_of: Timestamp,
        upto: u64,
        by: Timestamp,
    ) -> Result<Self, StorageError> {
        Ok(Self {
            made_before: as_of,
            upto,
            seen: as_of,
            since: reader.evening_before(day, by)?.map(|(before, _)| before),
        })
    }

    /// As the day's report was, or, when none was written, by what had been made by its end.
    /// `None` outside the calendar.
    pub(crate) fn of(reader: &Reader<'_>, day: Date, zone: &TimeZone) -> Result<Option<Self>, StorageError> {
        let now = Timestamp::now();
        if let Some((as_of, upto)) = reader.evening(day, now)? {
            return Self::written(reader, day, as_of, upto, now).map(Some);
        }
        let next = day.tomorrow().ok();
        let Some(end) = next.and_then(|next| next.to_zoned_datetime(zone.clone()).ok()) else {
            return Ok(None);
        };
        let end = end.timestamp();
        Ok(Some(Self {
            made_before: end,
            upto: u64::MAX,
            seen: (end - SignedDuration::from_micros(1)).min(now),
            since: reader.evening_before(day, now)?.map(|(before, _)| before),
        }))
    }
}

impl Cut {
    /// The moment from which on everything is read to tell of days from `first` on: the evening
    /// before, or a day more than asked for, which no time zone exceeds.
    fn reads_since(&self, first: Date) -> Timestamp {
        let day_before = first
            .yesterday()
            .and_then(|day| day.to_zoned_datetime(TimeZone::UTC));
        let start = day_before.map_or(Timestamp::MIN, |start| start.timestamp());
        self.since.map_or(start, |since| since.min(start))
    }
}

/// The shop as it was known.
pub(crate) struct Known {
    /// Jobs with their entries: those of which something is outstanding, was entered since the first day told, or was
    /// invoiced and not paid when they ended without a handover.
    pub(crate) histories: Vec<History>,
    /// Bicycles that open recalls mean, those whose rider is least far first.
    pub(crate) recalled: Vec<Recalled>,
    /// The shelf.
    pub(crate) stock: Stock,
    /// The shop, its limits and its zone.
    pub(crate) at: Standing,
    /// Up to where.
    pub(crate) cut: Cut,
}

impl Known {
    /// Reads the shop as it was, to tell of days from `first` on; `system` is the machine's time
    /// zone.
    ///
    /// # Errors
    /// What the store says.
    pub(crate) fn read(
        reader: &Reader<'_>,
        cut: Cut,
        first: Date,
        system: &TimeZone,
    ) -> Result<Self, StorageError> {
        let Cut {
            made_before, upto, ..
        } = cut;
        let mut histories = reader.histories_known(made_before, upto, cut.reads_since(first))?;
        for number in reader.invoiced_and_given_up()? {
            if histories.iter().any(|history| history.job.number == number) {
                continue;
            }
            let history = reader.history_known(number, made_before, upto)?;
            histories.extend(history.filter(|history| history.job.owed() > Some(Money::ZERO)));
        }
        histories.sort_by_key(|history| history.job.number);
        let at = Standing::of(reader.shop_known(made_before, upto)?, system);
        let jobs: Vec<&Job> = histories.iter().map(|history| &history.job).collect();
        Ok(Self {
            recalled: recalled::known(reader, &at, made_before, upto, &jobs)?,
            histories,
            stock: reader.stock_known(made_before, upto)?,
            at,
            cut,
        })
    }

    /// Days of a period.
    pub(crate) fn span(&self, from: Date, to: Date) -> Span<'_> {
        Span {
            from,
            to,
            calendar: &self.at.shop.calendar,
            zone: &self.at.zone,
        }
    }

    /// The calendar as seen from a day.
    pub(crate) fn days(&self, today: Date) -> Days<'_> {
        Days::new(&self.at.shop.calendar, &self.at.zone, today)
    }

    /// The jobs that were read.
    pub(crate) fn jobs(&self) -> impl Iterator<Item = &Job> {
        self.histories.iter().map(|history| &history.job)
    }

    /// Every order line, with the job it is for; those for the shelf last.
    pub(crate) fn lines(&self) -> impl Iterator<Item = (Option<u32>, &OrderLine)> {
        let of_jobs = self
            .jobs()
            .flat_map(|job| job.orders.iter().map(|line| (Some(job.number), line)));
        of_jobs.chain(self.stock.lines.values().map(|line| (None, line)))
    }
}
