//! Promises against the earliest finish: which cannot be kept as things stand, and why.

use std::borrow::Borrow;
use std::cmp::Reverse;

use jiff::Timestamp;
use jiff::civil::Date;
use lockring_domain::job::Job;
use lockring_domain::outlook::{self, Outlook};

use super::blocked;
use crate::standing::Standing;

/// The report.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Promises {
    /// The day it is of.
    pub(crate) day: Date,
    /// Open jobs: those at risk first, hard promises before soft, the latest first.
    pub(crate) lines: Vec<Line>,
}

/// One open job.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Line {
    /// The job.
    pub(crate) job: Job,
    /// When it can be finished.
    pub(crate) outlook: Outlook,
}

impl Promises {
    /// Jobs with a promised day.
    pub(crate) fn promised(&self) -> u32 {
        count(self.lines.iter().filter(|line| line.job.promised().is_some()))
    }

    /// Jobs whose promise cannot be kept, or of which nobody can say that it will.
    pub(crate) fn at_risk(&self) -> u32 {
        count(self.lines.iter().filter(|line| line.outlook.at_risk))
    }
}

impl Line {
    /// The call to a rider who has not heard that the day cannot be kept, or that it is another one.
    pub(crate) fn call(&self) -> Option<String> {
        let Self { job, outlook } = self;
        let promised = job.promised()?;
        let is_news = outlook.at_risk || job.promises.len() > 1;
        if !is_news || job.told_of_promise().is_some() {
            return None;
        }
        let what = match (outlook.at_risk, outlook.finish) {
            (false, _) => format!("new day {promised}"),
            (true, Some(finish)) => format!("new date: promised for {promised}, can be finished {finish}"),
            (true, None) => format!("new date: promised for {promised}, nobody can say when it is finished"),
        };
        let (whom, number) = (blocked::rider(job), job.number);
        Some(format!(
            "{whom}: job {number}, {what}; lockring told {number} WORDS"
        ))
    }
}

fn count<'a>(lines: impl Iterator<Item = &'a Line>) -> u32 {
    u32::try_from(lines.count()).unwrap_or(u32::MAX)
}

/// Reports the open jobs of a shop as seen at a moment.
pub(crate) fn report(jobs: &[impl Borrow<Job>], at: &Standing, now: Timestamp) -> Promises {
    let (today, first) = at.today_and_first(now);
    let outlooks = outlook::outlooks(jobs, &at.shop, &at.rules, today, first);
    let line = |outlook: Outlook| {
        let mut all = jobs.iter().map(Borrow::borrow);
        let job = all.find(|job: &&Job| job.number == outlook.job)?.clone();
        Some(Line { job, outlook })
    };
    let mut lines: Vec<Line> = outlooks.into_iter().filter_map(line).collect();
    lines.sort_by_key(|line| {
        let (job, seen) = (&line.job, &line.outlook);
        let promise = job.promised();
        (
            !seen.at_risk,
            promise.is_none(),
            !job.is_hard(),
            seen.finish.is_some(),
            Reverse(seen.late),
            promise,
            job.number,
        )
    });
    Promises { day: today, lines }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use jiff::civil::date;
    use jiff::tz::TimeZone;
    use lockring_domain::fact::Value;
    use lockring_domain::part::Slot;
    use lockring_domain::stage::Stage;

    use super::*;
    use crate::report::testing::{Bench, on};

    fn job(number: u32, promise: Date, kind: &str, stage: Stage) -> Job {
        let mut bench = Bench::job(number, "Ada N.", on("2026-03-02"));
        bench.state("promise", Value::Day(promise));
        bench.state("promise-kind", Value::Word(kind.into()));
        bench.choose(Slot::Motor).receive(Slot::Motor);
        bench.job.stage = stage;
        bench.job
    }

    /// Wednesday 25 March 2026, 10:00 UTC: the shop closes at 17:30, so today still counts.
    #[test]
    fn what_cannot_be_kept_comes_first_hard_before_soft() {
        let at = Standing::of(Arc::default(), &TimeZone::UTC);
        let jobs = [
            job(1, date(2026, 4, 20), "hard", Stage::Fitting),
            job(2, date(2026, 3, 20), "soft", Stage::Handover),
            job(3, date(2026, 3, 26), "hard", Stage::Fitting),
        ];
        let told = report(&jobs, &at, on("2026-03-25"));
        let order: Vec<u32> = told.lines.iter().map(|line| line.job.number).collect();
        assert_eq!(order, [3, 2, 1]);
        assert_eq!((told.promised(), told.at_risk()), (3, 2));
        // Fitting today, ride on Thursday, handover on Friday 27: one working day late.
        assert_eq!(told.lines[0].outlook.finish, Some(date(2026, 3, 27)));
        assert_eq!(told.lines[0].outlook.late, 1);
        // Whoever waits and has not heard is called; a day that can be kept is no news.
        assert_eq!(
            told.lines[0].call().unwrap(),
            "rider Ada N.: job 3, new date: promised for 2026-03-26, can be finished 2026-03-27; lockring told 3 WORDS"
        );
        assert_eq!(told.lines[2].call(), None);
        // The same seen after closing time is a day later.
        let evening: Timestamp = "2026-03-25T17:30Z".parse().unwrap();
        assert_eq!(report(&jobs, &at, evening).lines[0].outlook.late, 2);
    }
}
