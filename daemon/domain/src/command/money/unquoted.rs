//! Parts of a build that the quote does not ask for, and lines of the quote whose part left the build.

use crate::account::{LineKind, QuoteLine};
use crate::command::Draft;
use crate::fact::Value;
use crate::job::Job;
use crate::money::Money;
use crate::part::{Part, Slot};
use crate::refusal::{Reason, Refusal};

/// Says which lines of the quote ask for parts that are not in the build, and then which parts of the build no line
/// asks for, while all lines for goods of the build come to less than the catalogue asks for it. A line names the part
/// it was quoted for, or one by its name, its id or its slot; one for several together, or a price below the
/// catalogue's, is the shop's own affair once the sum is there.
pub(in crate::command) fn warn_unquoted(draft: &mut Draft) {
    say(draft, &[]);
}

/// The same where a line asks for a part that is not in the build, and nothing otherwise. `gone` are the names of the
/// parts that leave it just now: a line that names no slot asks for one of them if it is called like it.
pub(in crate::command) fn warn_left(draft: &mut Draft, gone: &[String]) {
    let mut lines = draft.job.account.lines.iter();
    if lines.any(|line| has_left(&draft.job, line, gone)) {
        say(draft, gone);
    }
}

/// Whether the part that a line asks for is not in the build.
fn has_left(job: &Job, line: &QuoteLine, gone: &[String]) -> bool {
    let is_called = |name: &str| line.words.to_lowercase() == name.to_lowercase();
    let is_open = line.of.is_none() && line.kind != LineKind::Labour && !line.rework;
    let is_gone = || gone.iter().any(|name| is_called(name));
    let is_there = || job.build.values().any(|held| is_called(held.part.name()));
    job.asks_for_what_left(line) || is_open && is_gone() && !is_there()
}

fn say(draft: &mut Draft, gone: &[String]) {
    let job = &draft.job;
    let (left, stand): (Vec<&QuoteLine>, Vec<&QuoteLine>) = job
        .account
        .lines
        .iter()
        .partition(|line| has_left(job, line, gone));
    let stale = stale(job.number, &left);
    let missing = missing(job, &stand);
    for said in stale.into_iter().chain(missing) {
        draft.say(said);
    }
}

/// The total of the quote, as what the rider says yes to when no sum is named. While lines ask for parts that are not in the
/// build it is no sum that a rider was shown: the paper leaves them out.
///
/// # Errors
/// [`Reason::LaterStands`] while such lines stand.
pub(super) fn total_shown(job: &Job) -> Result<Money, Refusal> {
    let lines = job.account.lines.iter();
    let left: Vec<&QuoteLine> = lines.filter(|line| job.asks_for_what_left(line)).collect();
    let Some(stale) = Stale::of(job.number, &left) else {
        return Ok(job.account.total());
    };
    let numbers: Vec<String> = left.iter().map(|line| line.number.to_string()).collect();
    Err(
        Refusal::new(Reason::LaterStands, format!("without a sum: {}", stale.what))
            .with("lines", numbers.join(" "))
            .hint(format!(
                "{}: `{}`; or name the sum that the rider agreed to",
                stale.cure, stale.command
            )),
    )
}

/// What is said of lines whose part left the build.
fn stale(job: u32, left: &[&QuoteLine]) -> Option<String> {
    let Stale { what, cure, command } = Stale::of(job, left)?;
    Some(format!("CAUTION: {what}; {cure}: `{command}`"))
}

/// Lines whose part left the build, in words.
struct Stale {
    what: String,
    cure: &'static str,
    command: String,
}

impl Stale {
    /// Of these lines; `None` of none.
    fn of(job: u32, left: &[&QuoteLine]) -> Option<Self> {
        let first = left.first()?.number;
        let each = left
            .iter()
            .map(|line| format!("{} ({}, {})", line.number, line.words, line.price));
        let each = each.collect::<Vec<_>>().join(", ");
        let (what, cure) = match left.len() {
            1 => (
                format!("quote line {each} asks for a part that is not in the build"),
                "strike it",
            ),
            _ => (
                format!("quote lines {each} ask for parts that are not in the build"),
                "strike each",
            ),
        };
        Some(Self {
            what,
            cure,
            command: format!("lockring quote {job} strike {first} --why \"not in the build\""),
        })
    }
}

/// What is said of parts that none of the lines asks for.
fn missing(job: &Job, lines: &[&QuoteLine]) -> Option<String> {
    if job.account.lines.is_empty() {
        return None;
    }
    let goods = lines
        .iter()
        .filter(|line| line.kind != LineKind::Labour && !line.rework);
    let quoted: Money = goods.clone().map(|line| line.price).sum();
    let price = |part: &Part| match part.get("price") {
        Some(Value::Money(minor)) => Some(Money(*minor)),
        _ => None,
    };
    let priced = job
        .build
        .iter()
        .filter_map(|(slot, line)| Some((*slot, &line.part, price(&line.part)?)));
    let build: Money = priced.clone().map(|(_, _, price)| price).sum();
    if quoted >= build {
        return None;
    }
    let is_named = |slot: Slot, part: &Part| {
        goods.clone().any(|line| {
            if let Some(of) = &line.of {
                return of.slot == slot;
            }
            let words = line.words.to_lowercase();
            let names = [
                part.name().to_lowercase(),
                part.id.to_lowercase(),
                slot.word().replace('-', " "),
            ];
            names.iter().any(|name| words.contains(name)) || words.contains(slot.word())
        })
    };
    let left: Vec<(Slot, Money)> = priced
        .filter(|(slot, part, _)| !is_named(*slot, part))
        .map(|(slot, _, price)| (slot, price))
        .collect();
    let (first, _) = left.first()?;
    let sum: Money = left.iter().map(|(_, price)| *price).sum();
    let words: Vec<&str> = left.iter().map(|(slot, _)| slot.word()).collect();
    let (job, count) = (job.number, left.len());
    let what = if count == 1 {
        "1 part of the build stands".to_owned()
    } else {
        format!("{count} parts of the build stand")
    };
    Some(format!(
        "CAUTION: {what} in no quote line (catalogue {sum}): {}; add each: `lockring quote {job} add part --slot {}`",
        words.join(", "),
        first.word()
    ))
}
