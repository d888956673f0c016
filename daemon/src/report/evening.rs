//! The evening page: what moved, what is stuck, what tomorrow needs. The daemon writes it at closing
//! time, and it is shown again as it was written.

use jiff::Timestamp;
use jiff::civil::Date;
use lockring_domain::job::Job;
use lockring_domain::recalled::{self, Search};
use lockring_domain::stage::Stage;

use super::days::Days;
use super::history::{Span, trials};
use super::known::Known;
use super::recalled::Recalled;
use super::sheet::{Section, Sheet};
use super::{blocked, promises};

mod goods;
mod house;

/// The page of one day.
pub(crate) fn page(known: &Known, span: &Span<'_>) -> Sheet {
    let days = known.days(span.to);
    let jobs: Vec<Job> = known.jobs().cloned().collect();
    let searches: Vec<Search<'_>> = recalled::searches(&known.at.shop, &known.at.zone).collect();
    let told = blocked::report(&jobs, &searches, &days);
    let promised = promises::report(&jobs, &known.at, known.cut.seen);
    Sheet {
        title: "Evening".to_owned(),
        from: span.from,
        to: span.to,
        sections: vec![
            builds(&told),
            blocks(&told),
            counts(&told),
            at_risk(&promised),
            calls(known, &told, &promised, &days),
            moved(known, span),
            goods::overdue(known, &days),
            goods::arrivals(known, &days),
            house::benches(known),
            house::to_collect(&jobs, &known.at.rules),
            house::tied_up(known),
            house::clocks(&jobs, known, span),
            house::first_checks(&jobs, &days),
            house::loose_ends(&jobs, &known.recalled, &known.at),
        ],
    }
}

/// Whether something that was done at a moment is news on this page: since the evening before,
/// where one was written, else on the day itself.
fn is_news(known: &Known, span: &Span<'_>, at: Timestamp) -> bool {
    known.cut.since.map_or_else(
        || span.holds(at),
        |since| at >= since && span.day_of(at) <= span.to,
    )
}

fn moved(known: &Known, span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "moved",
        "What moved since the evening before",
        &[
            ("job", "job", ""),
            ("rider", "rider", ""),
            ("what", "what", ""),
            ("checks", "checks that do not hold", ""),
            ("at", "when", ""),
        ],
    );
    let when = |at: Timestamp| {
        let at = at.to_zoned_datetime(span.zone.clone());
        at.strftime("%Y-%m-%d %H:%M").to_string()
    };
    for history in &known.histories {
        let job = &history.job;
        if is_news(known, span, job.opened) {
            section.row([
                job.number.to_string(),
                job.rider.clone(),
                "taken in".to_owned(),
                String::new(),
                when(job.opened),
            ]);
        }
        for trial in trials(history)
            .into_iter()
            .filter(|trial| is_news(known, span, trial.at))
        {
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
                when(trial.at),
            ]);
        }
        if matches!(job.stage, Stage::Returned | Stage::Cancelled) && is_news(known, span, job.stage_since) {
            let why = job.closed_because.clone().unwrap_or_default();
            let what = format!("{}: {why}", job.stage.word());
            section.row([
                job.number.to_string(),
                job.rider.clone(),
                what,
                String::new(),
                when(job.stage_since),
            ]);
        }
    }
    section.or("nothing moved")
}

/// Builds that are blocked, the one with the oldest block first, and what that does to the promise.
fn builds(told: &blocked::Blocked) -> Section {
    let mut section = Section::new(
        "builds",
        "Blocked builds",
        &[
            ("job", "job", ""),
            ("rider", "rider", ""),
            ("bike", "bicycle", ""),
            ("blocks", "blocks", ""),
            ("age_days", "oldest", "working days"),
            ("effect", "promise", ""),
        ],
    );
    for lines in told.lines.chunk_by(|line, next| line.job == next.job) {
        let first = &lines[0];
        section.row([
            first.job.to_string(),
            first.rider.clone(),
            first.bike.clone(),
            lines.len().to_string(),
            lines.iter().map(|line| line.age).max().unwrap_or(0).to_string(),
            first.effect.clone(),
        ]);
    }
    section.or("nothing is blocked")
}

/// Every block, and what clears it.
fn blocks(told: &blocked::Blocked) -> Section {
    let mut section = Section::new(
        "blocked",
        "Why, and whose move it is",
        &[
            ("job", "job", ""),
            ("number", "block", ""),
            ("family", "family", ""),
            ("age_days", "age", "working days"),
            ("whose_move", "to move", ""),
            ("chase", "ask again", ""),
            ("about", "what is wrong", ""),
            ("clears_when", "clears when", ""),
        ],
    );
    for line in &told.lines {
        let block = &line.block;
        section.row([
            line.job.to_string(),
            block.number.to_string(),
            block.family.word().to_owned(),
            line.age.to_string(),
            block.whose.word().to_owned(),
            block.chase.map_or_else(String::new, |chase| chase.to_string()),
            block.about.clone(),
            block.way_out(line.job),
        ]);
    }
    section.or("nothing is blocked")
}

/// How many blocks there are of each family and age; those without any left out.
fn counts(told: &blocked::Blocked) -> Section {
    let mut section = Section::new(
        "blocked_counts",
        "Blocks by family and by age in working days",
        &[("by", "by", ""), ("of", "of", ""), ("blocks", "blocks", "")],
    );
    let families = told.by_family.iter().map(|count| ("family", count));
    let ages = told.by_age.iter().map(|count| ("age", count));
    for (by, (of, blocks)) in families.chain(ages).filter(|(_, (_, blocks))| *blocks > 0) {
        section.row([by.to_owned(), (*of).to_owned(), blocks.to_string()]);
    }
    section.or("none")
}

/// Promises that cannot be kept as things stand, hard ones first.
fn at_risk(told: &promises::Promises) -> Section {
    let mut section = Section::new(
        "promises",
        "Promises at risk",
        &[
            ("job", "job", ""),
            ("rider", "rider", ""),
            ("promise", "promised", ""),
            ("kind", "kind", ""),
            ("late_days", "late by", "working days"),
            ("finish", "can be finished", ""),
            ("told", "rider told", ""),
            ("why", "why", ""),
        ],
    );
    for row in told.lines.iter().filter(|row| row.outlook.at_risk) {
        let (job, seen) = (&row.job, &row.outlook);
        let day = |day: Option<Date>| day.map_or_else(String::new, |day| day.to_string());
        section.row([
            job.number.to_string(),
            job.rider.clone(),
            day(job.promised()),
            job.text("promise-kind").unwrap_or_default().to_owned(),
            seen.finish.map_or_else(String::new, |_| seen.late.to_string()),
            seen.finish
                .map_or_else(|| "nobody can say".to_owned(), |day| day.to_string()),
            job.told_of_promise()
                .map_or_else(|| "NO".to_owned(), |told| told.words.clone()),
            seen.reasons.join("; "),
        ]);
    }
    section.or(&format!("none of {}", told.promised()))
}

/// Whom to call, riders who ride with a piece that is recalled before all others, those who wait for a new day last.
fn calls(known: &Known, told: &blocked::Blocked, promised: &promises::Promises, days: &Days<'_>) -> Section {
    let mut section = Section::new("calls", "Calls for the next working day", &[("call", "call", "")]);
    let recalled = known.recalled.iter().filter(|recalled| recalled.is_to_call());
    let untold = promised.lines.iter().filter_map(promises::Line::call);
    for call in recalled
        .map(Recalled::call)
        .chain(told.calls.iter().cloned())
        .chain(untold)
    {
        section.row([call]);
    }
    let day = days
        .next_working_day()
        .map_or_else(String::new, |day| format!(" on {day}"));
    section.or(&format!("nobody to call{day}"))
}
