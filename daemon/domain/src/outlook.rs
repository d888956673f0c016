//! When a job can be finished at the earliest, and what that does to its promise.
//!
//! Parts first: the last of them to arrive, from the day its supplier promised, else from the
//! catalogue's days to arrival. Then fitting, test ride and handover, each at least a working
//! day of its own, longer where the planned hours are more than a day's; fittings wait for a
//! bench and for somebody to work at it. Blocks and answers that somebody owes have no day and
//! are named, not guessed.

use std::borrow::Borrow;
use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::calendar::Calendar;
use crate::job::{Job, Line};
use crate::part::Slot;
use crate::rules::RuleSheet;
use crate::shop::Shop;
use crate::shop::setting::Setting;
use crate::stage::Stage;

#[cfg(test)]
mod tests;

/// Seconds in an hour: the rule sheet keeps times in seconds.
const HOUR: f64 = 3600.0;

/// What can be said of a job's finish.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// The job.
    pub job: u32,
    /// The earliest day; `None` when something it waits for has no day.
    pub finish: Option<Date>,
    /// What the day rests on, or why there is none.
    pub reasons: Vec<String>,
    /// Working days from the promise to the finish, at least 1 when it comes later; 0 else.
    pub late: u32,
    /// Whether the promise cannot be kept, or nobody can say that it will.
    pub at_risk: bool,
}

/// The planned hours of a stage.
pub fn plan_hours(job: &Job, stage: Stage, rules: &RuleSheet) -> f64 {
    let is_mid = job
        .build
        .get(&Slot::Motor)
        .and_then(|line| line.attribute("place"))
        .is_none_or(|place| place.text() == Some("mid"));
    let place = if is_mid { "mid" } else { "hub" };
    let is_cargo = job.text("posture") == Some("cargo");
    plan_hours_of(place, is_cargo, stage, |key| rules.number(key).unwrap_or(0.0))
}

/// The planned hours of a stage by where the motor drives (`mid` or `hub`), for a cargo bicycle or
/// not; `rule` gives a time of the rule sheet in seconds.
pub(crate) fn plan_hours_of(place: &str, is_cargo: bool, stage: Stage, rule: impl Fn(&str) -> f64) -> f64 {
    let hours = rule(&format!("plan.{place}-{}", stage.word())) / HOUR;
    if stage == Stage::Fitting && is_cargo {
        hours + rule("plan.cargo-more") / HOUR
    } else {
        hours
    }
}

/// Minutes planned for the whole of such a conversion, from intake to handover.
pub fn planned_minutes(job: &Job, rules: &RuleSheet) -> i64 {
    let hours = Stage::GATED
        .into_iter()
        .map(|stage| plan_hours(job, stage, rules));
    (60.0 * hours.sum::<f64>()).round() as i64
}

/// The hours of a stage that are still to be worked: planned less what is on the clock there, work
/// that was done again left out. A clock that still runs counts nothing yet.
pub fn hours_left(job: &Job, stage: Stage, rules: &RuleSheet) -> f64 {
    let worked = job.labour.first_minutes_at(stage) as f64 / 60.0;
    (plan_hours(job, stage, rules) - worked).max(0.0)
}

/// The outlook of every open job, as seen from a day: `first` is the first day on which work can
/// be done, that day itself until the shop closes.
pub fn outlooks(
    jobs: &[impl Borrow<Job>],
    shop: &Shop,
    rules: &RuleSheet,
    today: Date,
    first: Date,
) -> Vec<Outlook> {
    let calendar = &shop.calendar;
    let jobs = jobs.iter().map(Borrow::borrow);
    let mut open: Vec<&Job> = jobs.filter(|job: &&Job| !job.stage.is_end()).collect();
    // Benches go to whoever is on one, then to hard promises, then by the promised day.
    open.sort_by_key(|job| {
        let promise = job.promised();
        (
            job.stage < Stage::Fitting,
            !job.is_hard(),
            promise.is_none(),
            promise,
            job.number,
        )
    });
    let mut benches = Benches {
        limit: bench_limit(shop),
        taken: BTreeMap::new(),
    };
    let work = Work {
        shop,
        rules,
        calendar,
        today,
        first,
    };
    let mut found: Vec<Outlook> = open
        .into_iter()
        .map(|job| work.outlook(job, &mut benches))
        .collect();
    found.sort_by_key(|outlook| outlook.job);
    found
}

/// How many can be fitted at a time: benches, and people to work at them; `None` when the shop
/// said neither.
fn bench_limit(shop: &Shop) -> Option<u32> {
    let people = u32::try_from(shop.present().count()).unwrap_or(u32::MAX);
    let people = (people > 0).then_some(people);
    [shop.count(Setting::Benches), people].into_iter().flatten().min()
}

/// Fittings already laid on days.
struct Benches {
    limit: Option<u32>,
    taken: BTreeMap<Date, u32>,
}

impl Benches {
    fn is_free(&self, day: Date) -> bool {
        let taken = self.taken.get(&day).copied().unwrap_or(0);
        self.limit.is_none_or(|limit| taken < limit)
    }
}

struct Work<'a> {
    shop: &'a Shop,
    rules: &'a RuleSheet,
    calendar: &'a Calendar,
    today: Date,
    first: Date,
}

/// Something a job waits for.
struct Wait {
    /// The last day of waiting; `None` when nobody can say.
    until: Option<Date>,
    /// The slot whose part it is.
    slot: Option<Slot>,
    why: String,
}

/// What is waited for, in words: slots that wait for the same are named together.
fn told(waits: &[Wait]) -> Vec<String> {
    let mut told: Vec<(Vec<&str>, &str)> = Vec::new();
    for wait in waits {
        let slot = wait.slot.map(Slot::word);
        match told.iter_mut().find(|(_, why)| *why == wait.why) {
            Some((slots, _)) => slots.extend(slot),
            None => told.push((slot.into_iter().collect(), &wait.why)),
        }
    }
    let words = |(slots, why): (Vec<&str>, &str)| match slots.as_slice() {
        [] => why.to_owned(),
        slots => format!("{} {why}", slots.join(", ")),
    };
    told.into_iter().map(words).collect()
}

impl Work<'_> {
    fn outlook(&self, job: &Job, benches: &mut Benches) -> Outlook {
        let (finish, reasons) = self.finish(job, benches);
        let promise = job.promised();
        let late = match (promise, finish) {
            (Some(promise), Some(finish)) if finish > promise => {
                self.calendar.working_days_between(promise, finish).max(1)
            }
            _ => 0,
        };
        let at_risk = promise.is_some_and(|promise| late > 0 || finish.is_none() || promise < self.today);
        Outlook {
            job: job.number,
            finish,
            reasons,
            late,
            at_risk,
        }
    }

    fn finish(&self, job: &Job, benches: &mut Benches) -> (Option<Date>, Vec<String>) {
        let mut reasons: Vec<String> = Vec::new();
        let mut ready = self.first;
        let mut unknown = false;
        let waits = self.waits(job);
        reasons.extend(told(&waits));
        for wait in waits {
            match wait.until {
                None => unknown = true,
                Some(until) => match self.calendar.next_working_day(until) {
                    Some(day) => ready = ready.max(day),
                    None => unknown = true,
                },
            }
        }
        let blocks = job.blocks.iter().filter(|block| block.line.is_none());
        let blocks: Vec<String> = blocks
            .map(|block| format!("{} {}", block.number, block.family.word()))
            .collect();
        if !blocks.is_empty() {
            reasons.push(format!("no day is known for its blocks: {}", blocks.join(", ")));
        }
        if unknown {
            return (None, reasons);
        }
        let day = self.stages(job, ready, benches, &mut reasons);
        if day.is_none() {
            reasons.push("no day of the week is worked".into());
        }
        (day, reasons)
    }

    /// Lays what is left of the job on working days from `ready` on; gives its last day.
    fn stages(
        &self,
        job: &Job,
        ready: Date,
        benches: &mut Benches,
        reasons: &mut Vec<String>,
    ) -> Option<Date> {
        let mut last = None;
        let mut words = Vec::new();
        for stage in [Stage::Fitting, Stage::TestRide, Stage::Handover] {
            if stage < job.stage {
                continue;
            }
            let hours = hours_left(job, stage, self.rules);
            // A hair's breadth over a day is a day.
            let days = (hours / self.shop.day_hours() - 1e-9).ceil().max(1.0) as u32;
            let from = match last {
                None => self.on_or_after(ready)?,
                Some(day) => self.calendar.next_working_day(day)?,
            };
            let begin = if stage == Stage::Fitting {
                self.bench(from, days, benches, reasons)?
            } else {
                from
            };
            last = Some(self.calendar.add_working_days(begin, days - 1)?);
            words.push(format!("{} {hours:.1} h, {days} d", stage.word()));
        }
        reasons.push(format!("work left: {}", words.join("; ")));
        last
    }

    /// The first day from which a bench is free for so many working days; it is then taken.
    fn bench(&self, from: Date, days: u32, benches: &mut Benches, reasons: &mut Vec<String>) -> Option<Date> {
        let mut span = Vec::new();
        let mut day = from;
        loop {
            if benches.is_free(day) {
                span.push(day);
            } else {
                span.clear();
            }
            if span.len() >= days as usize {
                break;
            }
            day = self.calendar.next_working_day(day)?;
        }
        let begin = *span.first()?;
        for day in span {
            *benches.taken.entry(day).or_default() += 1;
        }
        if begin > from {
            reasons.push(format!("a bench and somebody at it from {begin}"));
        }
        Some(begin)
    }

    fn on_or_after(&self, day: Date) -> Option<Date> {
        if self.calendar.is_working(day) {
            Some(day)
        } else {
            self.calendar.next_working_day(day)
        }
    }

    fn waits(&self, job: &Job) -> Vec<Wait> {
        let mut waits = Vec::new();
        if let Some(hold) = &job.hold {
            waits.push(Wait {
                until: hold.until,
                slot: None,
                why: match hold.until {
                    Some(until) => format!("on hold until {until}: {}", hold.why),
                    None => format!("on hold without a day: {}", hold.why),
                },
            });
        }
        if job.build.is_empty() {
            waits.push(Wait {
                until: None,
                slot: None,
                why: "no build is chosen yet".into(),
            });
        }
        let missing = job.build.iter().filter(|(_, line)| line.receipt.is_none());
        let lines = missing.filter_map(|(slot, line)| self.arrival(job, *slot, line));
        waits.extend(lines);
        waits
    }

    /// When the part of a slot arrives; `None` when nothing waits for it.
    fn arrival(&self, job: &Job, slot: Slot, line: &Line) -> Option<Wait> {
        let lead = line.part.lead_days();
        let after = |day: Date| lead.and_then(|days| day.checked_add(jiff::Span::new().days(days)).ok());
        let wait = |until: Option<Date>, why: String| {
            Some(Wait {
                until,
                slot: Some(slot),
                why,
            })
        };
        match &job.order_of(slot) {
            Some(order) => match order.due {
                Some(due) if due < self.today => wait(
                    Some(self.today),
                    format!(
                        "from {}, due {due} and not here: not before today",
                        order.supplier
                    ),
                ),
                Some(due) => wait(Some(due), format!("from {} due {due}", order.supplier)),
                None => {
                    let until = after(self.today);
                    let why = until.map_or_else(
                        || format!("from {}: no day promised", order.supplier),
                        |day| format!("from {}: no day promised, by the catalogue {day}", order.supplier),
                    );
                    wait(until, why)
                }
            },
            // What was not ordered by the time its gate was passed is not waited for.
            None if job.stage > Stage::Parts => None,
            None => {
                let until = after(self.first);
                let why = until.map_or_else(
                    || "not ordered, and the catalogue has no lead-time".to_owned(),
                    |day| format!("not ordered; by the catalogue {day}"),
                );
                wait(until, why)
            }
        }
    }
}
