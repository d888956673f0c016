//! Jobs as lists, pages and histories show them.

use std::sync::Arc;

use lockring_domain::after::Swap;
use lockring_domain::check;
use lockring_domain::checks;
use lockring_domain::code::{self, Code};
use lockring_domain::entry::{self, Entry};
use lockring_domain::fact::{Fact, Value};
use lockring_domain::job::{Job, Line};
use lockring_domain::part::Slot;
use lockring_domain::photo::Kept;
use lockring_domain::recalled::{self, Search};
use lockring_domain::rules::RuleSheet;
use lockring_domain::shop::setting::Units;
use lockring_domain::stage::Stage;
use lockring_proto::v1;
use prost::Message;

use super::{block, concession, day};
use crate::report::days::Days;
use crate::report::standing;

/// A page of jobs; `size` is how many were asked for.
pub(in crate::service) fn job_list(
    jobs: &[Arc<Job>],
    size: u32,
    searches: &[Search<'_>],
    days: &Days<'_>,
) -> v1::ListJobsReply {
    let (lines, is_cut) = fitting(jobs.iter().map(|job| job_line(job, searches, days)));
    // A full page may have another after it.
    let last = lines.last().filter(|_| is_cut || jobs.len() >= size as usize);
    v1::ListJobsReply {
        next_page_token: last.map_or_else(String::new, |line| line.job.to_string()),
        jobs: lines,
        recalls: Vec::new(),
        swaps: Vec::new(),
    }
}

pub(in crate::service) fn job_line(job: &Job, searches: &[Search<'_>], days: &Days<'_>) -> v1::JobLine {
    let recalled = recalled::holding(searches.iter(), job).map(|recalled| recalled.words());
    let standing = standing::of(job, days.today(), recalled.as_deref());
    let promise = job.day("promise");
    v1::JobLine {
        job: job.number,
        rider: job.rider.clone(),
        bike: job.text("bike").unwrap_or_default().to_owned(),
        stage: job.stage.word().to_owned(),
        days_here: days.since(job.stage_since),
        whose_move: standing.whose.to_owned(),
        waits_for: standing.waits_for,
        promise: day(promise),
        promise_kind: job.text("promise-kind").unwrap_or_default().to_owned(),
        days_left: promise
            .filter(|_| !job.stage.is_end())
            .map(|promise| days.until(promise)),
        blocks: u32::try_from(job.blocks.len()).unwrap_or(u32::MAX),
        on_hold: job.hold.is_some(),
        owed_minor: standing::owed(job),
    }
}

/// A job on one page, with what is left to do about recalls.
pub(in crate::service) fn job_view(
    job: &Job,
    rules: &RuleSheet,
    units: Units,
    days: &Days<'_>,
    searches: &[Search<'_>],
    recalls: Vec<String>,
) -> v1::JobView {
    let hold = job.hold.as_ref().map(|hold| match hold.until {
        Some(until) => format!("until {until}: {}", hold.why),
        None => hold.why.clone(),
    });
    v1::JobView {
        line: Some(job_line(job, searches, days)),
        revision: job.revision,
        opened_us: job.opened.as_microsecond(),
        facts: code::all()
            .filter_map(|row| Some(fact(job, row, job.facts.get(row.key())?, units)))
            .collect(),
        build: job
            .build
            .iter()
            .map(|(slot, line)| build_line(job, *slot, line))
            .collect(),
        gates: Stage::GATED
            .into_iter()
            .map(|gate| gate_view(job, gate))
            .collect(),
        blocks: job
            .blocks
            .iter()
            .map(|open| block(job.number, open, days))
            .collect(),
        concessions: conceded(job, rules),
        hold: hold.unwrap_or_default(),
        closed_because: job.closed_because.clone().unwrap_or_default(),
        photos: job.photos.iter().map(photo).collect(),
        recalls,
        swapped: Vec::new(),
        swaps: job.after.swaps.iter().map(swap).collect(),
    }
}

fn swap(swap: &Swap) -> v1::SwapView {
    v1::SwapView {
        slot: swap.slot.word().to_owned(),
        serial_out: swap.serial_out.clone(),
        serial_in: swap.serial_in.clone(),
        at_us: swap.at.as_microsecond(),
    }
}

/// A photo of a job.
pub(in crate::service) fn photo(kept: &Kept) -> v1::PhotoView {
    v1::PhotoView {
        number: kept.photo.number,
        seq: kept.seq,
        at_us: kept.at.as_microsecond(),
        by: kept.by.clone(),
        caption: kept.photo.caption.clone(),
        file: kept.photo.file.clone(),
        format: kept.photo.format.word().to_owned(),
        bytes: kept.photo.bytes,
        sha256: kept.photo.sha256.clone(),
        check: kept.photo.check.clone(),
        removed_on: kept.removed.map_or_else(String::new, |day| day.to_string()),
    }
}

/// The photos of a job.
pub(in crate::service) fn photos(job: &Job) -> v1::ListPhotosReply {
    v1::ListPhotosReply {
        job: job.number,
        rider: job.rider.clone(),
        photos: job.photos.iter().map(photo).collect(),
    }
}

fn fact(job: &Job, row: &Code, fact: &Fact, units: Units) -> v1::FactView {
    v1::FactView {
        code: row.key().to_owned(),
        name: row.field.name.to_owned(),
        group: row.group.word().to_owned(),
        value: units.first(row.field.show_both(&fact.value)),
        si: fact.value.number(),
        provenance: fact.provenance.to_string(),
        readings: fact
            .readings
            .iter()
            .map(|reading| row.field.show(&reading.value))
            .collect(),
        stale: fact.stale.clone().unwrap_or_default(),
        beside: !row.is_of(job.motor_place()),
    }
}

fn build_line(job: &Job, slot: Slot, line: &Line) -> v1::BuildLine {
    let order = job.order_of(slot);
    let (order, receipt) = (order.as_ref(), line.receipt.as_ref());
    let state = match (order, receipt) {
        (_, Some(_)) => "received",
        (Some(_), None) => "ordered",
        (None, None) => "chosen",
    };
    v1::BuildLine {
        slot: slot.word().to_owned(),
        part: line.part.id.clone(),
        name: line.part.name().to_owned(),
        state: state.to_owned(),
        supplier: order.map_or_else(String::new, |order| order.supplier.clone()),
        due: day(order.and_then(|order| order.due)),
        serial: receipt
            .and_then(|receipt| receipt.serial.clone())
            .unwrap_or_default(),
        lot: receipt
            .and_then(|receipt| receipt.lot.clone())
            .unwrap_or_default(),
        differs: differs(line),
    }
}

/// What was found on arrival and is not as ordered.
fn differs(line: &Line) -> Vec<String> {
    let found = line.receipt.iter().flat_map(|receipt| &receipt.found);
    found
        .filter(|(key, value)| line.part.get(key) != Some(*value))
        .map(|(key, value)| {
            let show = |value: &Value| match line.part.kind.attribute(key) {
                Some(attribute) => attribute.field.show(value),
                None => format!("{value:?}"),
            };
            let ordered = line
                .part
                .get(key)
                .map_or_else(|| "nothing stated".to_owned(), show);
            format!("{key} {} (ordered {ordered})", show(value))
        })
        .collect()
}

fn gate_view(job: &Job, gate: Stage) -> v1::GateView {
    let passed = job.passed.get(&gate);
    let state = match passed {
        Some(_) => "passed",
        None if job.stage != gate => "ahead",
        None if job.blocks.is_empty() => "here",
        None => "blocked",
    };
    let tries = job.trials.iter().filter(|trial| trial.gate == gate).count();
    v1::GateView {
        gate: gate.word().to_owned(),
        state: state.to_owned(),
        tries: u32::try_from(tries).unwrap_or(u32::MAX),
        passed_us: passed.map(|passed| passed.at.as_microsecond()),
    }
}

/// Concessions, each with whether it still stands for the values as they are.
fn conceded(job: &Job, rules: &RuleSheet) -> Vec<v1::ConcededView> {
    let stands = |id: &str| {
        let check = checks::ALL.iter().find(|check| check.id == id);
        check.is_some_and(|check| {
            check::run(check, job, rules, check::gate_of(check, job.stage))
                .concession
                .is_some()
        })
    };
    let view = |(id, given): (&String, &lockring_domain::job::Concession)| v1::ConcededView {
        check: id.clone(),
        concession: Some(concession(given)),
        stands: stands(id),
    };
    job.concessions.iter().map(view).collect()
}

/// Entries of a job, oldest first.
pub(in crate::service) fn history(job: &Job, entries: &[Entry]) -> v1::HistoryReply {
    let retracted = entry::retracted(entries);
    let lines = entries
        .iter()
        .map(|entry| history_line(entry, retracted.contains(&entry.seq)));
    let (lines, is_cut) = fitting(lines);
    v1::HistoryReply {
        job: job.number,
        rider: job.rider.clone(),
        next_after: next_after(&lines, is_cut),
        lines,
    }
}

/// How much of a list goes into one answer, bytes: half of what a client takes (4 MiB).
const ANSWER: usize = 2 * 1024 * 1024;

/// The lines that fit into one answer, one in any case, and whether there are more.
pub(super) fn fitting<T: Message>(lines: impl Iterator<Item = T>) -> (Vec<T>, bool) {
    let (mut taken, mut bytes) = (Vec::new(), 0);
    for line in lines {
        bytes += line.encoded_len();
        if bytes > ANSWER && !taken.is_empty() {
            return (taken, true);
        }
        taken.push(line);
    }
    (taken, false)
}

/// What the rest of a history is asked for with; 0 when there is none.
pub(super) fn next_after(lines: &[v1::HistoryLine], is_cut: bool) -> u64 {
    lines.last().filter(|_| is_cut).map_or(0, |line| line.seq)
}

/// One entry in one line.
pub(in crate::service) fn history_line(entry: &Entry, retracted: bool) -> v1::HistoryLine {
    v1::HistoryLine {
        job: entry.job,
        seq: entry.seq,
        made_us: entry.origin.made.as_microsecond(),
        stored_us: entry.stored.as_microsecond(),
        by: entry.origin.by.clone(),
        terminal: entry.origin.terminal.clone(),
        kind: entry.event.kind().to_owned(),
        text: entry::line(&entry.event),
        retracted,
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use jiff::civil::date;
    use jiff::tz::TimeZone;
    use lockring_domain::block::Family;
    use lockring_domain::calendar::Calendar;
    use lockring_domain::entry::Event;
    use lockring_domain::origin::Origin;
    use lockring_domain::receipt::Receipt;

    use super::*;
    use crate::report::testing::{Bench, on};

    #[test]
    fn what_does_not_fit_into_one_answer_is_asked_for_again() {
        let lines: Vec<v1::HistoryLine> = (1..=5)
            .map(|seq| v1::HistoryLine {
                seq,
                text: "x".repeat(1_000_000),
                ..v1::HistoryLine::default()
            })
            .collect();
        let (mut after, mut given) = (0, Vec::new());
        loop {
            let rest = lines.iter().filter(|line| line.seq > after).cloned();
            let (page, is_cut) = fitting(rest);
            assert!((1..=2).contains(&page.len()));
            given.extend(page.iter().map(|line| line.seq));
            after = next_after(&page, is_cut);
            if after == 0 {
                break;
            }
        }
        assert_eq!(given, [1, 2, 3, 4, 5]);
        // A line that is too long by itself is given all the same.
        let long = v1::HistoryLine {
            text: "x".repeat(ANSWER + 1),
            ..v1::HistoryLine::default()
        };
        assert_eq!(fitting([long.clone(), long].into_iter()).0.len(), 1);
    }

    #[test]
    fn a_line_says_where_the_job_stands_and_what_is_left() {
        let calendar = Calendar::default();
        let zone = TimeZone::UTC;
        let days = Days::new(&calendar, &zone, date(2026, 3, 9));
        let mut bench = Bench::job(7, "Ada N.", on("2026-03-04"));
        bench.state("promise", Value::Day(date(2026, 3, 6)));
        bench.state("quote", Value::Money(100_000));
        bench.block(Family::Safe, "fork cracked", None, on("2026-03-05"));
        let line = job_line(&bench.job, &[], &days);
        assert_eq!(
            (line.whose_move.as_str(), line.waits_for.as_str()),
            ("mechanic", "fork cracked")
        );
        // Thursday, Friday, Monday after Wednesday the 4th; Friday the 6th was one day ago.
        assert_eq!((line.days_here, line.days_left, line.blocks), (3, Some(-1), 1));
        assert_eq!(line.owed_minor, Some(100_000));
        let view = job_view(
            &bench.job,
            &RuleSheet::shipped(),
            Units::Metric,
            &days,
            &[],
            Vec::new(),
        );
        let states: Vec<&str> = view.gates.iter().map(|gate| gate.state.as_str()).collect();
        assert_eq!(states, ["blocked", "ahead", "ahead", "ahead", "ahead"]);
    }

    #[test]
    fn a_page_that_is_full_names_the_next() {
        let calendar = Calendar::default();
        let zone = TimeZone::UTC;
        let days = Days::new(&calendar, &zone, date(2026, 3, 9));
        let jobs = [
            Bench::job(4, "A", on("2026-03-04")).job,
            Bench::job(9, "B", on("2026-03-04")).job,
        ]
        .map(Arc::new);
        assert_eq!(job_list(&jobs, 2, &[], &days).next_page_token, "9");
        assert_eq!(job_list(&jobs, 3, &[], &days).next_page_token, "");
    }

    #[test]
    fn what_differs_from_the_order_is_named_with_both_values() {
        let mut bench = Bench::job(1, "A", on("2026-03-04"));
        bench.choose(Slot::Motor).order(Slot::Motor, "S", None);
        let found = BTreeMap::from([("note".to_owned(), Value::Text("other plug".into()))]);
        let receipt = Receipt {
            slot: Slot::Motor,
            found,
            serial: Some("S-1".into()),
            lot: None,
            volts: None,
            group_spread: None,
            papers: None,
            damage: None,
            shelf: None,
            paid: None,
            supplier: None,
        };
        bench.take(on("2026-03-05"), &Event::Received(receipt));
        let line = build_line(&bench.job, Slot::Motor, &bench.job.build[&Slot::Motor]);
        assert_eq!(line.state, "received");
        assert_eq!(line.serial, "S-1");
        assert_eq!(line.differs, ["note other plug (ordered nothing stated)"]);
    }

    #[test]
    fn a_retracted_entry_is_marked() {
        let entry = |seq: u64, event: Event| Entry {
            id: seq,
            job: 1,
            seq,
            origin: Origin {
                by: "K".into(),
                terminal: "bench".into(),
                made: on("2026-03-04"),
            },
            stored: on("2026-03-04"),
            event,
            previous: [0; 32],
            hash: [0; 32],
        };
        let entries = [
            entry(
                2,
                Event::Noted {
                    text: "slip".into(),
                    private: false,
                },
            ),
            entry(
                3,
                Event::Noted {
                    text: "kept".into(),
                    private: false,
                },
            ),
            entry(
                4,
                Event::Retracted {
                    seq: 2,
                    why: "typed in error".into(),
                },
            ),
        ];
        let told = history(&Bench::job(1, "A", on("2026-03-04")).job, &entries);
        let retracted: Vec<bool> = told.lines.iter().map(|line| line.retracted).collect();
        assert_eq!(retracted, [true, false, false]);
    }
}
