//! Which ride classes were handed over.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_store::History;

use super::history::handed_over;
use super::quantile::share;
use super::sheet::{Section, Sheet};

/// What was handed over from the first job on up to a day, by ride class.
pub(crate) struct Classes<'a> {
    day: Date,
    zone: &'a TimeZone,
    /// When the first job was taken in.
    first: Option<Timestamp>,
    /// How many of each class, and when the last.
    counts: BTreeMap<String, (usize, Date)>,
}

impl<'a> Classes<'a> {
    /// Nothing yet; days are those of a zone.
    pub(crate) const fn up_to(day: Date, zone: &'a TimeZone) -> Self {
        Self {
            day,
            zone,
            first: None,
            counts: BTreeMap::new(),
        }
    }

    /// Counts a job.
    pub(crate) fn look(&mut self, history: &History) {
        let opened = history.job.opened;
        self.first = Some(self.first.map_or(opened, |first| first.min(opened)));
        let Some(on) = handed_over(history)
            .map(|at| self.day_of(at))
            .filter(|on| *on <= self.day)
        else {
            return;
        };
        let class = history.job.text("ride-class").unwrap_or("not said").to_owned();
        let (count, last) = self.counts.entry(class).or_insert((0, on));
        *count += 1;
        *last = on.max(*last);
    }

    fn day_of(&self, at: Timestamp) -> Date {
        at.to_zoned_datetime(self.zone.clone()).date()
    }

    /// What was counted.
    pub(crate) fn sheet(self) -> Sheet {
        let all: usize = self.counts.values().map(|(count, _)| count).sum();
        let from = self.first.map_or(self.day, |at| self.day_of(at).min(self.day));
        let mut section = Section::new(
            "classes",
            "Handed over by ride class",
            &[
                ("class", "class", ""),
                ("handed_over", "handed over", ""),
                ("share", "share", "%"),
                ("last", "last on", ""),
            ],
        );
        for (class, (count, last)) in self.counts {
            section.row([class, count.to_string(), share(count, all), last.to_string()]);
        }
        Sheet {
            title: "Ride classes handed over".to_owned(),
            from,
            to: self.day,
            sections: vec![section.or("nothing was handed over")],
        }
    }
}
