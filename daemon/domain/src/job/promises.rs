//! The days promised for a job, and what its rider was told of them.

use jiff::civil::Date;

use super::Job;
use crate::fact::{Provenance, Value};
use crate::origin::Origin;
use crate::promise::{PROMISE, PROMISE_KIND, Promise, Told};

impl Job {
    /// The day promised now.
    pub fn promised(&self) -> Option<Date> {
        self.day(PROMISE)
    }

    /// Whether nothing but that day will do.
    pub fn is_hard(&self) -> bool {
        self.text(PROMISE_KIND) == Some("hard")
    }

    /// How often the promised day was moved to a later one.
    pub fn slips(&self) -> u32 {
        let later = self.promises.windows(2).filter(|pair| pair[1].day > pair[0].day);
        u32::try_from(later.count()).unwrap_or(u32::MAX)
    }

    /// What the rider was told last, if that was after the present day was promised.
    pub fn told_of_promise(&self) -> Option<&Told> {
        let promised = self.promises.last().map(|promise| promise.at);
        let promised = promised.or_else(|| self.facts.get(PROMISE).map(|fact| fact.at));
        self.told
            .last()
            .filter(|told| promised.is_some_and(|at| told.at >= at))
    }

    /// Takes a promise: the list begins with the day that was stated before, if one was.
    pub(crate) fn promise(&mut self, day: Date, hard: Option<bool>, why: &str, seq: u64, origin: &Origin) {
        if let (true, Some(first)) = (self.promises.is_empty(), self.promised()) {
            let at = self.facts.get(PROMISE).map_or(origin.made, |fact| fact.at);
            self.promises.push(Promise {
                day: first,
                why: String::new(),
                by: String::new(),
                at,
            });
        }
        self.promises.push(Promise {
            day,
            why: why.to_owned(),
            by: origin.by.clone(),
            at: origin.made,
        });
        self.state(PROMISE, &Value::Day(day), Provenance::Stated, seq, origin.made);
        if let Some(hard) = hard {
            let kind = if hard { "hard" } else { "soft" };
            let kind = Value::Word(kind.to_owned());
            self.state(PROMISE_KIND, &kind, Provenance::Stated, seq, origin.made);
        }
    }

    /// A day stated with the brief once the list has begun is another promise. Before that the
    /// list stays empty, so that what older versions kept of a job is what it still folds into.
    pub(crate) fn restate_promise(&mut self, day: Date, origin: &Origin) {
        if self.promises.last().is_some_and(|last| last.day != day) {
            self.promises.push(Promise {
                day,
                why: String::new(),
                by: origin.by.clone(),
                at: origin.made,
            });
        }
    }
}
