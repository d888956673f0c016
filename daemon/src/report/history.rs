//! Jobs with what happened to them, and the days on which it happened.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lockring_domain::calendar::Calendar;
use lockring_domain::entry::{Entry, Event};
use lockring_domain::fact::Value;
use lockring_domain::finding::{Kept, Verdict};
use lockring_domain::promise::PROMISE;
use lockring_domain::stage::Stage;
use lockring_store::History;

/// Days of a period, first and last.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Span<'a> {
    /// First day.
    pub(crate) from: Date,
    /// Last day.
    pub(crate) to: Date,
    /// The shop's calendar.
    pub(crate) calendar: &'a Calendar,
    /// The shop's time zone.
    pub(crate) zone: &'a TimeZone,
}

impl Span<'_> {
    /// The day a moment falls on.
    pub(crate) fn day_of(&self, moment: Timestamp) -> Date {
        moment.to_zoned_datetime(self.zone.clone()).date()
    }

    /// Whether a moment falls into the period.
    pub(crate) fn holds(&self, moment: Timestamp) -> bool {
        (self.from..=self.to).contains(&self.day_of(moment))
    }

    /// Working days from one day to another; negative when the other is before it.
    pub(crate) fn working_days(&self, from: Date, to: Date) -> i64 {
        let days = self.calendar.working_days_between(from.min(to), from.max(to));
        if to < from {
            -i64::from(days)
        } else {
            i64::from(days)
        }
    }
}

/// A trial of a gate.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Trial<'a> {
    /// The gate.
    pub(crate) gate: Stage,
    /// When.
    pub(crate) at: Timestamp,
    /// Whether the job moved on.
    pub(crate) passed: bool,
    /// Whether the job came to this gate for the first time.
    pub(crate) first: bool,
    /// What each check said.
    pub(crate) findings: &'a [Kept],
}

impl<'a> Trial<'a> {
    /// The checks that did not hold.
    pub(crate) fn failing(&self) -> impl Iterator<Item = &'a str> + use<'a> {
        self.findings
            .iter()
            .filter(|kept| !kept.conceded && kept.verdict > Verdict::Pass)
            .map(|kept| kept.check.as_str())
    }
}

/// Every trial of a job's gates, oldest first.
pub(crate) fn trials(history: &History) -> Vec<Trial<'_>> {
    let mut seen: Vec<Stage> = Vec::new();
    let told = |entry: &'_ Entry| entry.origin.made;
    let mut found = Vec::new();
    for entry in &history.entries {
        if let Event::GateTried {
            gate,
            findings,
            passed,
        } = &entry.event
        {
            found.push(Trial {
                gate: *gate,
                at: told(entry),
                passed: *passed,
                first: !seen.contains(gate),
                findings,
            });
            seen.push(*gate);
        }
    }
    found
}

/// When the job was handed over; `None` when it was not.
pub(crate) fn handed_over(history: &History) -> Option<Timestamp> {
    let last = trials(history)
        .into_iter()
        .rfind(|trial| trial.gate == Stage::Handover && trial.passed)?;
    (history.job.stage == Stage::HandedOver).then_some(last.at)
}

/// The days promised to the rider, oldest first, without repeats of the one before.
pub(crate) fn promises(history: &History) -> Vec<Date> {
    let mut days: Vec<Date> = Vec::new();
    for entry in &history.entries {
        let day = match &entry.event {
            Event::Promised { day, .. } => Some(*day),
            Event::Stated { values, .. } => match values.get(PROMISE) {
                Some(Value::Day(day)) => Some(*day),
                _ => None,
            },
            _ => None,
        };
        days.extend(day.filter(|day| days.last() != Some(day)));
    }
    days
}
