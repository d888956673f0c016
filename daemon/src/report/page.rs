//! The end-of-day report as text: what is blocked, what to ask, which promises are at risk.

use jiff::civil::Date;

use super::blocked::{self, Blocked};
use super::days::{short, working_days};
use super::promises::{self, Promises};

/// Columns of a page.
const WIDTH: usize = 80;

/// The report of a day.
pub(crate) fn text(day: Date, blocked: &Blocked, promises: &Promises) -> String {
    let mut page = String::new();
    line(
        &mut page,
        &format!("End of day, {}", day.strftime("%A %-d %B %Y")),
    );
    page.push('\n');
    blocked_builds(&mut page, blocked);
    page.push('\n');
    at_risk(&mut page, promises);
    page
}

fn blocked_builds(page: &mut String, told: &Blocked) {
    if told.lines.is_empty() {
        line(page, "Nothing is blocked.");
        return;
    }
    let blocks = told.lines.len();
    line(
        page,
        &format!(
            "BLOCKED: builds {}, blocks {blocks}, the oldest {} old",
            told.builds,
            working_days(told.oldest)
        ),
    );
    let mut before = None;
    for row in &told.lines {
        if before != Some(row.job) {
            wrapped(
                page,
                "  ",
                &format!(
                    "Job {}, {}{}: {}",
                    row.job,
                    row.rider,
                    bike(&row.bike),
                    row.effect
                ),
            );
        }
        before = Some(row.job);
        wrapped(page, "    ", &block_words(row, told.day));
    }
    let counts = |counts: &[(&str, u32)]| {
        let some = counts.iter().filter(|(_, count)| *count > 0);
        let words: Vec<String> = some.map(|(name, count)| format!("{name} {count}")).collect();
        words.join(", ")
    };
    wrapped(page, "  ", &format!("by family: {}", counts(&told.by_family)));
    wrapped(
        page,
        "  ",
        &format!("by age in working days: {}", counts(&told.by_age)),
    );
    if !told.calls.is_empty() {
        line(page, "");
        line(page, "TO ASK on the next working day");
        told.calls.iter().for_each(|call| wrapped(page, "  ", call));
    }
}

fn block_words(row: &blocked::Line, day: Date) -> String {
    let block = &row.block;
    let chase = match block.chase {
        Some(chase) if row.overdue => format!(", to be asked since {}", short(chase, day)),
        Some(chase) => format!(", ask on {}", short(chase, day)),
        None => String::new(),
    };
    format!(
        "{} {}, {} to move, {}{chase}: {}",
        block.number,
        block.family.word(),
        block.whose.word(),
        working_days(row.age),
        block.about
    )
}

fn at_risk(page: &mut String, told: &Promises) {
    let risky: Vec<&promises::Line> = told.lines.iter().filter(|row| row.outlook.at_risk).collect();
    if risky.is_empty() {
        line(page, "No promise is at risk.");
        return;
    }
    line(
        page,
        &format!("PROMISES AT RISK: {} of {}", risky.len(), told.promised()),
    );
    for row in risky {
        let (job, seen) = (&row.job, &row.outlook);
        let promise = job
            .promised()
            .map_or_else(String::new, |day| short(day, told.day));
        let hard = if job.is_hard() { ", HARD" } else { "" };
        let finish = match seen.finish {
            None => "nobody can say when".to_owned(),
            Some(finish) if seen.late == 0 => format!("can be finished {}", short(finish, told.day)),
            Some(finish) => format!(
                "can be finished {}, {} late",
                short(finish, told.day),
                working_days(seen.late)
            ),
        };
        let heard = match job.told_of_promise() {
            Some(heard) => format!("rider told: {}", heard.words),
            None => "rider told: NO".to_owned(),
        };
        wrapped(
            page,
            "  ",
            &format!(
                "Job {}, {}: promised {promise}{hard}; {finish}; {heard}",
                job.number, job.rider
            ),
        );
        seen.reasons.iter().for_each(|why| wrapped(page, "    ", why));
    }
}

fn bike(bike: &str) -> String {
    if bike.is_empty() {
        String::new()
    } else {
        format!(", {bike}")
    }
}

fn line(page: &mut String, text: &str) {
    page.push_str(text);
    page.push('\n');
}

/// A text broken at words, its first line after `lead` and the others two columns further in.
fn wrapped(page: &mut String, lead: &str, text: &str) {
    let mut row = lead.to_owned();
    let mut is_bare = true;
    for word in text.split_whitespace() {
        let length = row.chars().count() + usize::from(!is_bare) + word.chars().count();
        if length > WIDTH && !is_bare {
            line(page, &row);
            row = format!("{lead}  ");
            is_bare = true;
        }
        if !is_bare {
            row.push(' ');
        }
        row.push_str(word);
        is_bare = false;
    }
    line(page, &row);
}
