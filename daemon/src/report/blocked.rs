//! The evening report: which builds are blocked, why, whose move it is, and what that does
//! to the promise.

use std::borrow::Borrow;
use std::collections::BTreeSet;

use jiff::civil::Date;
use lockring_domain::block::{Block, Family, Whose};
use lockring_domain::job::{self, Job};
use lockring_domain::part::Slot;
use lockring_domain::recalled::{self, Search};
use lockring_domain::shared::Shared;

use super::days::{Days, short, working_days};
use super::standing::{is_on_the_way, latest_due};

/// Bands of age in working days, up to and including the number (workshop setting).
const BANDS: [(&str, u32); 4] = [("0-2", 2), ("3-5", 5), ("6-10", 10), ("over 10", u32::MAX)];

/// The report.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Blocked {
    /// The day it is of.
    pub(crate) day: Date,
    /// Builds that are blocked.
    pub(crate) builds: u32,
    /// Age of the oldest block, working days.
    pub(crate) oldest: u32,
    /// One line for each block: builds with the oldest block first, each build's blocks
    /// together, oldest first.
    pub(crate) lines: Vec<Line>,
    /// Blocks of each family, all eight.
    pub(crate) by_family: Vec<(&'static str, u32)>,
    /// Blocks in each band of age.
    pub(crate) by_age: Vec<(&'static str, u32)>,
    /// Whom to ask on the next working day.
    pub(crate) calls: Vec<String>,
}

/// One block of one build.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Line {
    /// The job.
    pub(crate) job: u32,
    /// Its rider.
    pub(crate) rider: String,
    /// What bicycle it is.
    pub(crate) bike: String,
    /// The block.
    pub(crate) block: Block,
    /// Its age, working days.
    pub(crate) age: u32,
    /// Past its chase date.
    pub(crate) overdue: bool,
    /// The promised day.
    pub(crate) promise: Option<Date>,
    /// How fixed the promise is.
    pub(crate) promise_kind: String,
    /// What the block does to the promise, in words.
    pub(crate) effect: String,
}

/// Reports the open blocks of jobs as seen from a day, and the recalls that hold one. Jobs that are over or on hold wait
/// for nobody and are left out.
pub(crate) fn report(jobs: &[impl Borrow<Job>], searches: &[Search<'_>], days: &Days<'_>) -> Blocked {
    let waits = |job: &&Job| !job.stage.is_end() && job.hold.is_none();
    let mut all: Vec<(&Job, Vec<Block>)> = jobs
        .iter()
        .map(Borrow::borrow)
        .filter(waits)
        .map(|job| (job, blocks_of(job, searches)))
        .filter(|(_, blocks)| !blocks.is_empty())
        .collect();
    all.sort_by_key(|(job, blocks)| (blocks.first().map(|block| block.opened), job.number));
    let blocked: Vec<&Job> = all.iter().map(|(job, _)| *job).collect();
    let lines: Vec<Line> = all
        .into_iter()
        .flat_map(|(job, blocks)| lines_of(job, blocks, days))
        .collect();
    let next = days.next_working_day();
    Blocked {
        day: days.today(),
        builds: count(blocked.len()),
        oldest: lines.iter().map(|line| line.age).max().unwrap_or(0),
        by_family: Family::ALL
            .into_iter()
            .map(|family| {
                (
                    family.word(),
                    count(lines.iter().filter(|line| line.block.family == family).count()),
                )
            })
            .collect(),
        by_age: by_age(&lines),
        calls: next.map_or_else(Vec::new, |next| {
            let calls = blocked.iter().flat_map(|job| calls_of(job, next, days));
            in_words(calls.collect(), days.today())
        }),
        lines,
    }
}

/// The blocks of a job, oldest first, and the recall that holds it as one that has no number: nobody clears it.
fn blocks_of(job: &Job, searches: &[Search<'_>]) -> Vec<Block> {
    let recall = recalled::holding(searches.iter(), job).map(|recalled| Block {
        number: 0,
        family: Family::Safe,
        gate: job.stage,
        check: None,
        about: recalled.words(),
        whose: Whose::Owner,
        chase: None,
        clears_when: recalled.way_out(job.number),
        opened: recalled.since,
        by: String::new(),
        line: None,
        part: None,
    });
    let mut blocks: Vec<Block> = job.blocks.iter().cloned().chain(recall).collect();
    blocks.sort_by_key(|block| (block.opened, block.number));
    blocks
}

fn lines_of(job: &Job, blocks: Vec<Block>, days: &Days<'_>) -> Vec<Line> {
    let effect = effect(job, days);
    let line = |block: Block| Line {
        job: job.number,
        rider: job.rider.clone(),
        bike: job.text("bike").unwrap_or_default().to_owned(),
        age: days.since(block.opened),
        overdue: block.chase.is_some_and(|chase| chase < days.today()),
        promise: job.day("promise"),
        promise_kind: job.text("promise-kind").unwrap_or_default().to_owned(),
        effect: effect.clone(),
        block,
    };
    blocks.into_iter().map(line).collect()
}

/// What being blocked does to the promise, in words with dates.
fn effect(job: &Job, days: &Days<'_>) -> String {
    let today = days.today();
    let due = latest_due(job);
    let Some(promise) = job.day("promise") else {
        return match due {
            Some((due, slot)) => format!("no promised day; {} due {}", slot.word(), short(due, today)),
            None => "no promised day".to_owned(),
        };
    };
    let left = days.until(promise);
    let named = format!("promise {}", short(promise, today));
    let standing = match left {
        _ if promise == today => format!("{named} is today"),
        left if promise < today => format!("{named} passed by {}", working_days(left.unsigned_abs())),
        left => format!("{named} due in {}", working_days(left.unsigned_abs())),
    };
    match due {
        Some((due, slot)) if due > promise => {
            let late = working_days(days.between(promise, due));
            format!(
                "{standing}; {} due {}, {late} after the promise",
                slot.word(),
                short(due, today)
            )
        }
        _ => standing,
    }
}

fn by_age(lines: &[Line]) -> Vec<(&'static str, u32)> {
    let mut least = 0;
    BANDS
        .into_iter()
        .map(|(name, most)| {
            let inside = lines
                .iter()
                .filter(|line| (least..=most).contains(&line.age))
                .count();
            least = most.saturating_add(1);
            (name, count(inside))
        })
        .collect()
}

/// Suppliers and riders to ask on the next working day: those whose chase date has come by
/// then, or who have none.
fn calls_of(job: &Job, next: Date, days: &Days<'_>) -> Vec<Call> {
    let mut blocks: Vec<&Block> = job.blocks.iter().collect();
    blocks.sort_by_key(|block| (block.opened, block.number));
    let is_due = |block: &&Block| block.chase.is_none_or(|chase| chase <= next);
    blocks
        .into_iter()
        .filter(is_due)
        .filter_map(|block| {
            let whom = match block.whose {
                Whose::Supplier => suppliers(job, block),
                Whose::Rider => rider(job),
                Whose::Mechanic | Whose::Owner => return None,
            };
            let order = block.line.as_ref().and_then(|late| job.wanted_order(late.slot));
            let late = block.line.as_ref().filter(|_| block.whose == Whose::Supplier);
            let parcel = late.zip(order).map(|(late, order)| Parcel {
                whom: format!("supplier {}", order.supplier),
                ordered: days.of(order.at),
                due: late.due,
                slot: late.slot,
            });
            Some(Call {
                parcel,
                job: job.number,
                words: format!("{whom}: job {} ({}), {}", job.number, job.rider, block.about),
            })
        })
        .collect()
}

/// A call of one block.
struct Call {
    /// The parcel it asks after, where it does.
    parcel: Option<Parcel>,
    job: u32,
    words: String,
}

/// A part of what was ordered of a supplier on one day for one other.
struct Parcel {
    whom: String,
    ordered: Date,
    due: Date,
    slot: Slot,
}

/// The calls in words: a parcel that is late is one call, whatever was to be in it.
fn in_words(calls: Vec<Call>, today: Date) -> Vec<String> {
    let key = |call: &Call| {
        let parcel = call.parcel.as_ref()?;
        Some((parcel.whom.clone(), parcel.ordered, parcel.due))
    };
    let mut told = BTreeSet::new();
    let mut lines = Vec::new();
    for call in &calls {
        let Some(parcel) = &call.parcel else {
            lines.push(call.words.clone());
            continue;
        };
        if !told.insert(key(call)) {
            continue;
        }
        let mut jobs: Vec<(u32, Vec<&str>)> = Vec::new();
        for other in calls.iter().filter(|other| key(other) == key(call)) {
            let slot = other.parcel.as_ref().map(|parcel| parcel.slot.word());
            match jobs.iter_mut().find(|(job, _)| *job == other.job) {
                Some((_, slots)) => slots.extend(slot),
                None => jobs.push((other.job, slot.into_iter().collect())),
            }
        }
        let what = jobs
            .iter()
            .map(|(job, slots)| format!("job {job} ({})", slots.join(", ")));
        let moved = jobs
            .iter()
            .map(|(job, slots)| format!("lockring order moved {job} {} DAY --why …", slots.join(" ")));
        lines.push(format!(
            "{}: ordered {}, was due {}: {}; its new day: {}",
            parcel.whom,
            short(parcel.ordered, today),
            short(parcel.due, today),
            what.collect::<Vec<_>>().join(", "),
            moved.collect::<Vec<_>>().join("; ")
        ));
    }
    lines
}

/// The suppliers a block is about: of what is still on the way, of what arrived otherwise than
/// ordered, or, where the block does not say, all the job has ordered from.
fn suppliers(job: &Job, block: &Block) -> String {
    let concerned = |(slot, line): &(&Slot, &Shared<job::Line>)| match block.check.as_deref() {
        Some("parts.received") => is_on_the_way(job, **slot),
        Some("parts.as_ordered") => differs(line),
        _ => true,
    };
    let names: BTreeSet<String> = job
        .build
        .iter()
        .filter(concerned)
        .filter_map(|(slot, _)| job.order_of(*slot))
        .map(|order| order.supplier)
        .collect();
    match names.into_iter().collect::<Vec<_>>().join(" or ").as_str() {
        "" => "supplier".to_owned(),
        names => format!("supplier {names}"),
    }
}

/// Whether something was found on arrival that is not as ordered.
fn differs(line: &job::Line) -> bool {
    let found = line.receipt.iter().flat_map(|receipt| &receipt.found);
    found
        .into_iter()
        .any(|(key, found)| line.part.get(key).is_some_and(|ordered| ordered != found))
}

/// A rider with the way to reach them.
pub(super) fn rider(job: &Job) -> String {
    match job.text("contact") {
        Some(contact) => format!("rider {} ({contact})", job.rider),
        None => format!("rider {}", job.rider),
    }
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use jiff::civil::date;
    use jiff::tz::TimeZone;
    use lockring_domain::block::LateLine;
    use lockring_domain::calendar::Calendar;
    use lockring_domain::entry::Event;
    use lockring_domain::fact::Value;
    use lockring_domain::shop::Shop;
    use lockring_domain::stage::Stage;
    use lockring_domain::supply::recall::{FindText, Recall};

    use super::*;
    use crate::report::testing::{Bench, on};

    /// Wednesday 25 March 2026; ages below are counted by hand on the calendar of 2026
    /// (2 March is a Monday), Monday to Friday.
    const TODAY: Date = date(2026, 3, 25);

    fn report_of(jobs: &[Job]) -> Blocked {
        let calendar = Calendar::default();
        report(jobs, &[], &Days::new(&calendar, &TimeZone::UTC, TODAY))
    }

    #[test]
    fn a_recall_that_holds_a_build_stands_among_its_blocks() {
        let mut bench = Bench::job(1, "Ines H.", on("2026-03-02"));
        bench.choose(Slot::Pack).receive(Slot::Pack);
        for piece in bench.job.pieces.iter_mut() {
            piece.serial = Some("PK-1".into());
        }
        let mut shop = Shop::default();
        let recall = Recall {
            name: "cells overheat".into(),
            why: "maker's notice".into(),
            find: FindText {
                marks: vec!["PK*".into()],
                ..FindText::default()
            },
            at: on("2026-03-24"),
            calls: BTreeMap::new(),
        };
        shop.recalls.insert(1, recall);
        let (calendar, zone) = (Calendar::default(), TimeZone::UTC);
        let searches: Vec<Search<'_>> = recalled::searches(&shop, &zone).collect();
        let mut told = |stage: Stage| {
            bench.job.stage = stage;
            let days = Days::new(&calendar, &zone, TODAY);
            report(std::slice::from_ref(&bench.job), &searches, &days)
        };
        // Before the fitting it may go on.
        assert_eq!(told(Stage::Parts).lines.len(), 0);
        let told = told(Stage::Fitting);
        assert_eq!((told.builds, told.lines.len(), told.lines[0].age), (1, 1, 1));
        let block = &told.lines[0].block;
        assert_eq!(block.about, "recall 1 (cells overheat) means pack PK-1");
        assert_eq!(block.whose, Whose::Owner);
        assert!(
            block.clears_when.contains("lockring return 1 pack on"),
            "{}",
            block.clears_when
        );
    }

    fn late_motor() -> Bench {
        let mut bench = Bench::job(3, "Tomas V.", on("2026-03-02"));
        bench.state("bike", Value::Text("longtail, mid".into()));
        bench.state("promise", Value::Day(date(2026, 4, 2)));
        bench.state("promise-kind", Value::Word("hard".into()));
        bench
            .choose(Slot::Motor)
            .order(Slot::Motor, "N", Some(date(2026, 4, 7)));
        // Opened Friday 13 March: 16, 17, 18, 19, 20, 23, 24, 25 are eight working days.
        bench.block(
            Family::Parts,
            "motor late",
            Some(date(2026, 3, 24)),
            on("2026-03-13"),
        );
        // Opened Tuesday 24 March: one working day.
        bench.block(Family::Fit, "chainline 53 mm", None, on("2026-03-24"));
        bench
    }

    fn unpaid() -> Bench {
        let mut bench = Bench::job(1, "Ines H.", on("2026-03-02"));
        bench.state("promise", Value::Day(date(2026, 3, 20)));
        bench.state("contact", Value::Text("mobile".into()));
        // Opened Monday 9 March: 10..13, 16..20, 23..25 are twelve working days.
        bench.block(
            Family::Rider,
            "deposit open",
            Some(date(2026, 3, 27)),
            on("2026-03-09"),
        );
        bench.block(
            Family::Rider,
            "colour of the lights",
            Some(date(2026, 3, 26)),
            on("2026-03-23"),
        );
        bench
    }

    #[test]
    fn builds_come_with_the_oldest_block_first_and_their_blocks_together() {
        let told = report_of(&[late_motor().job, unpaid().job]);
        let order: Vec<(u32, u32, u32)> = told
            .lines
            .iter()
            .map(|line| (line.job, line.block.number, line.age))
            .collect();
        assert_eq!(order, [(1, 1, 12), (1, 2, 2), (3, 1, 8), (3, 2, 1)]);
        assert_eq!((told.builds, told.lines.len(), told.oldest), (2, 4, 12));
        let overdue: Vec<bool> = told.lines.iter().map(|line| line.overdue).collect();
        assert_eq!(overdue, [false, false, true, false]);
        assert_eq!(told.lines[2].bike, "longtail, mid");
        assert_eq!(told.lines[2].promise_kind, "hard");
    }

    #[test]
    fn the_effect_on_the_promise_is_said_in_working_days_and_dates() {
        let told = report_of(&[late_motor().job, unpaid().job]);
        // 20 March was a Friday: 23, 24 and 25 March have gone by.
        assert_eq!(told.lines[0].effect, "promise 20 Mar passed by 3 working days");
        // 26, 27, 30, 31 March, 1, 2 April; and 3, 6, 7 April after it (no holidays set).
        assert_eq!(
            told.lines[2].effect,
            "promise 2 Apr due in 6 working days; motor due 7 Apr, 3 working days after the promise"
        );
        let mut plain = Bench::job(9, "Ada N.", on("2026-03-02"));
        plain.block(Family::Shop, "bench taken", None, on("2026-03-25"));
        assert_eq!(report_of(&[plain.job.clone()]).lines[0].effect, "no promised day");
        plain.state("promise", Value::Day(TODAY));
        assert_eq!(report_of(&[plain.job]).lines[0].effect, "promise 25 Mar is today");
    }

    #[test]
    fn totals_name_all_families_and_bands_and_add_up() {
        let told = report_of(&[late_motor().job, unpaid().job]);
        let families: Vec<(&str, u32)> = told.by_family.clone();
        assert_eq!(
            families,
            [
                ("fit", 1),
                ("parts", 1),
                ("power", 0),
                ("law", 0),
                ("safe", 0),
                ("ride", 0),
                ("rider", 2),
                ("shop", 0)
            ]
        );
        assert_eq!(told.by_age, [("0-2", 2), ("3-5", 0), ("6-10", 1), ("over 10", 1)]);
        let total = |counts: &[(&str, u32)]| counts.iter().map(|(_, count)| count).sum::<u32>();
        assert_eq!(total(&told.by_age), 4);
        assert_eq!(total(&told.by_family), 4);
    }

    #[test]
    fn calls_are_for_suppliers_and_riders_whose_chase_date_has_come() {
        let told = report_of(&[late_motor().job, unpaid().job]);
        // The deposit is to be chased on the 27th, after the next working day.
        assert_eq!(
            told.calls,
            [
                "rider Ines H. (mobile): job 1 (Ines H.), colour of the lights",
                "supplier N: job 3 (Tomas V.), motor late",
            ]
        );
    }

    /// Two parts of one parcel and one of another; days of 2026 as above.
    #[test]
    fn a_parcel_that_is_late_is_one_call() {
        let mut bench = Bench::job(10, "Ines H.", on("2026-03-02"));
        let slots = [Slot::Motor, Slot::Display, Slot::Chain];
        for slot in slots {
            bench.choose(slot);
        }
        for (number, slot) in (1..).zip(slots) {
            let due = date(2026, 3, if slot == Slot::Chain { 20 } else { 19 });
            bench.order(slot, "M", Some(due)).take(
                on("2026-03-23"),
                &Event::LineLate {
                    number,
                    line: LateLine { slot, due },
                    about: format!("{} from M was due on {due}", slot.word()),
                },
            );
        }
        let told = report_of(&[bench.job]);
        assert_eq!(
            told.calls,
            [
                "supplier M: ordered 2 Mar, was due 19 Mar: job 10 (motor, display); its new day: lockring order moved 10 \
                 motor display DAY --why …",
                "supplier M: ordered 2 Mar, was due 20 Mar: job 10 (chain); its new day: lockring order moved 10 chain DAY \
                 --why …",
            ]
        );
        assert_eq!(
            told.lines[0].block.way_out(10),
            "motor arrives, or is promised for another day: `lockring order moved 10 motor DAY --why …`"
        );
    }

    #[test]
    fn jobs_on_hold_or_over_are_left_out() {
        let mut held = late_motor();
        held.hold("rider on holiday", None);
        let mut over = unpaid();
        over.job.stage = Stage::HandedOver;
        let told = report_of(&[held.job, over.job]);
        assert_eq!(
            (told.builds, told.lines.len(), told.oldest, told.calls.len()),
            (0, 0, 0, 0)
        );
        assert_eq!(told.by_family.len(), 8);
    }
}
