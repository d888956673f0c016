//! The evening page: what the day moved and what tomorrow needs.

use lockring_domain::fact::Value;
use lockring_domain::job::Job;
use lockring_domain::money::Money;
use lockring_domain::rules::RuleSheet;
use lockring_domain::stage::Stage;
use lockring_store::History;

use super::blocked;
use super::days::Days;
use super::history::{Span, trials};
use super::sheet::{Section, Sheet};
use super::standing::{is_on_the_way, latest_due, owed};

/// The page of one day; `span` is that day.
pub(crate) fn page(histories: &[History], span: &Span<'_>, _: &RuleSheet) -> Sheet {
    let days = Days::new(span.calendar, span.zone, span.to);
    let jobs: Vec<Job> = histories.iter().map(|history| history.job.clone()).collect();
    let told = blocked::report(&jobs, &days);
    Sheet {
        title: "Evening".to_owned(),
        from: span.from,
        to: span.to,
        sections: vec![
            moved(histories, span),
            stopped(&told),
            promises(&jobs, &days),
            arrivals(&jobs, &days),
            calls(&told, &days),
            to_collect(&jobs),
            clocks(&jobs, span),
            checks_due(&jobs, &days),
        ],
    }
}

fn moved(histories: &[History], span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "moved",
        "What moved",
        &[
            ("job", "job", ""),
            ("rider", "rider", ""),
            ("what", "what", ""),
            ("checks", "checks that do not hold", ""),
        ],
    );
    for history in histories {
        let job = &history.job;
        if span.holds(job.opened) {
            section.row([
                job.number.to_string(),
                job.rider.clone(),
                "taken in".to_owned(),
                String::new(),
            ]);
        }
        for trial in trials(history).into_iter().filter(|trial| span.holds(trial.at)) {
            let gate = trial.gate.word();
            let what = match (trial.passed, trial.gate, trial.first) {
                (true, Stage::Handover, _) => "handed over".to_owned(),
                (true, _, true) => format!("{gate} passed at once"),
                (true, _, false) => format!("{gate} passed"),
                (false, _, true) => format!("{gate} stays shut, first time"),
                (false, _, false) => format!("{gate} stays shut"),
            };
            let failing: Vec<&str> = if trial.passed {
                Vec::new()
            } else {
                trial.failing().collect()
            };
            section.row([
                job.number.to_string(),
                job.rider.clone(),
                what,
                failing.join(", "),
            ]);
        }
        if matches!(job.stage, Stage::Returned | Stage::Cancelled) && span.holds(job.stage_since) {
            let why = job.closed_because.clone().unwrap_or_default();
            let what = format!("{}: {why}", job.stage.word());
            section.row([job.number.to_string(), job.rider.clone(), what, String::new()]);
        }
    }
    section.or("nothing moved")
}

fn stopped(told: &blocked::Blocked) -> Section {
    let mut section = Section::new(
        "blocked",
        "Blocked",
        &[
            ("job", "job", ""),
            ("rider", "rider", ""),
            ("family", "family", ""),
            ("age_days", "age", "working days"),
            ("whose_move", "to move", ""),
            ("chase", "ask again", ""),
            ("about", "what is wrong", ""),
        ],
    );
    for line in &told.lines {
        let chase = line
            .block
            .chase
            .map_or_else(String::new, |chase| chase.to_string());
        section.row([
            line.job.to_string(),
            line.rider.clone(),
            line.block.family.word().to_owned(),
            line.age.to_string(),
            line.block.whose.word().to_owned(),
            chase,
            line.block.about.clone(),
        ]);
    }
    section.or("nothing is blocked")
}

/// Promises that cannot be kept as things stand, hard ones first: the day is past, or parts
/// still on the way are due after it.
fn promises(jobs: &[Job], days: &Days<'_>) -> Section {
    let mut section = Section::new(
        "promises",
        "Promises at risk",
        &[
            ("job", "job", ""),
            ("rider", "rider", ""),
            ("promise", "promised", ""),
            ("kind", "kind", ""),
            ("late_days", "late by", "working days"),
            ("why", "why", ""),
        ],
    );
    let mut rows: Vec<(bool, std::cmp::Reverse<u32>, u32, [String; 6])> = Vec::new();
    for job in jobs.iter().filter(|job| !job.stage.is_end()) {
        let Some(promise) = job.day("promise") else {
            continue;
        };
        let past = days.between(promise.min(days.today()), days.today());
        let past = if promise < days.today() { past } else { 0 };
        let due = latest_due(job).filter(|(due, _)| *due > promise);
        let after = due.map_or(0, |(due, _)| days.between(promise, due));
        if promise >= days.today() && due.is_none() {
            continue;
        }
        let why = match due {
            Some((due, slot)) if after >= past => format!("{} due {due}", slot.word()),
            _ => format!("at {}", job.stage.word()),
        };
        let kind = job.text("promise-kind").unwrap_or_default().to_owned();
        let late = past.max(after);
        rows.push((
            kind != "hard",
            std::cmp::Reverse(late),
            job.number,
            [
                job.number.to_string(),
                job.rider.clone(),
                promise.to_string(),
                kind,
                late.to_string(),
                why,
            ],
        ));
    }
    rows.sort_by_key(|(soft, late, job, _)| (*soft, *late, *job));
    for (_, _, _, cells) in rows {
        section.row(cells);
    }
    section.or("no promise is at risk")
}

/// Parts due by the next working day, overdue ones first.
fn arrivals(jobs: &[Job], days: &Days<'_>) -> Section {
    let mut section = Section::new(
        "arrivals",
        "Arrivals due",
        &[
            ("supplier", "supplier", ""),
            ("due", "due", ""),
            ("late_days", "late", "working days"),
            ("job", "job", ""),
            ("part", "part", ""),
        ],
    );
    let next = days.next_working_day().unwrap_or_else(|| days.today());
    let mut rows = Vec::new();
    for job in jobs.iter().filter(|job| !job.stage.is_end()) {
        for (slot, line) in job.build.iter().filter(|(_, line)| is_on_the_way(line)) {
            let Some((order, due)) = line.order.as_ref().and_then(|order| Some((order, order.due?))) else {
                continue;
            };
            if due <= next {
                rows.push((due, order.supplier.clone(), job.number, *slot));
            }
        }
    }
    rows.sort();
    for (due, supplier, job, slot) in rows {
        let late = if due < days.today() {
            days.between(due, days.today())
        } else {
            0
        };
        section.row([
            supplier,
            due.to_string(),
            late.to_string(),
            job.to_string(),
            slot.word().to_owned(),
        ]);
    }
    section.or("nothing is due")
}

fn calls(told: &blocked::Blocked, days: &Days<'_>) -> Section {
    let mut section = Section::new("calls", "Calls for the next working day", &[("call", "call", "")]);
    for call in &told.calls {
        section.row([call.clone()]);
    }
    let day = days
        .next_working_day()
        .map_or_else(String::new, |day| format!(" on {day}"));
    section.or(&format!("nobody to call{day}"))
}

/// What riders owe for bicycles that are finished or gone.
fn to_collect(jobs: &[Job]) -> Section {
    let mut section = Section::new(
        "to_collect",
        "Money to collect",
        &[
            ("job", "job", ""),
            ("rider", "rider", ""),
            ("stage", "stage", ""),
            ("quoted", "quoted", ""),
            ("owed", "owed", ""),
        ],
    );
    let ready = |job: &&Job| matches!(job.stage, Stage::Handover | Stage::HandedOver);
    for job in jobs.iter().filter(ready) {
        let Some(owed) = owed(job).filter(|owed| *owed > 0) else {
            continue;
        };
        let quoted = match job.facts.get("quote").map(|fact| &fact.value) {
            Some(Value::Money(minor)) => Money(*minor).to_string(),
            _ => String::new(),
        };
        section.row([
            job.number.to_string(),
            job.rider.clone(),
            job.stage.word().to_owned(),
            quoted,
            Money(owed).to_string(),
        ]);
    }
    section.or("nothing to collect")
}

/// Clocks of the day, those still running first.
fn clocks(jobs: &[Job], span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "clocks",
        "On the clock",
        &[
            ("who", "who", ""),
            ("job", "job", ""),
            ("stage", "stage", ""),
            ("minutes", "time", "min"),
            ("note", "note", ""),
        ],
    );
    let mut rows = Vec::new();
    for job in jobs {
        for stint in &job.labour.stints {
            let note = match (stint.to, &stint.fixed) {
                (None, _) => format!(
                    "STILL ON since {}: lockring clock fix {} {} --to TIME --why ...",
                    span.day_of(stint.from),
                    job.number,
                    stint.number
                ),
                (Some(to), _) if !span.holds(to) => continue,
                (Some(_), Some(why)) => format!("put right: {why}"),
                (Some(_), None) => String::new(),
            };
            rows.push((
                stint.to.is_some(),
                stint.who.clone(),
                job.number,
                stint.stage.word(),
                stint.minutes(),
                note,
            ));
        }
    }
    rows.sort();
    for (_, who, job, stage, minutes, note) in rows {
        section.row([who, job.to_string(), stage.to_owned(), minutes.to_string(), note]);
    }
    section.or("nobody was on the clock")
}

/// First checks agreed for a day that is past, and not made yet.
fn checks_due(jobs: &[Job], days: &Days<'_>) -> Section {
    let mut section = Section::new(
        "first_checks",
        "First checks not made",
        &[("job", "job", ""), ("rider", "rider", ""), ("due", "due", "")],
    );
    let gone = jobs.iter().filter(|job| job.stage == Stage::HandedOver);
    for job in gone.filter(|job| !job.after.first_check_made()) {
        if let Some(due) = job.day("first-check").filter(|due| *due <= days.today()) {
            section.row([job.number.to_string(), job.rider.clone(), due.to_string()]);
        }
    }
    section.or("none is due")
}
