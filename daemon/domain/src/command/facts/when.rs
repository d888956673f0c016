//! What was read or told before what stands: it joins its series, or is refused; it never takes the place of the later.
//!
//! A job folds its entries in the order in which they were entered. What is entered late, a card of yesterday or the line
//! of a bench that was cut off, is tried at its own time here, so that it counts only where it would have counted then.

use jiff::Timestamp;

use super::counts_as_measured;
use crate::code::{self, Code};
use crate::command::{Desk, Values};
use crate::entry::{self, Entry, Event};
use crate::fact::Fact;
use crate::job::Job;
use crate::origin::Origin;
use crate::refusal::{Reason, Refusal};

/// The number under which the new entry is tried; no journal gets so far.
const NEW: u64 = u64::MAX;

/// What took its place, or made it stale.
struct Later {
    /// The entry.
    seq: u64,
    /// When it was made.
    made: Timestamp,
    /// The slot or code whose change made it stale; `None` where another value stands.
    changed: Option<String>,
}

/// Refuses values of a time before what stands in their place, or before the change that made it stale.
///
/// # Errors
/// [`Reason::LaterStands`] with what stands since when, and the ways out.
pub(super) fn refuse_older(
    job: &Job,
    event: &Event,
    origin: &Origin,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    let (values, is_read) = match event {
        Event::Stated { values, .. } => (values, false),
        Event::Recorded { readings, .. } => (readings, true),
        _ => return Ok(()),
    };
    if !may_be_older(job, values, origin.made) {
        return Ok(());
    }
    // What is told beside a reading that counts displaces nothing, whenever it was told.
    let counts = |row: &Code| {
        let measured = job
            .facts
            .get(row.key())
            .is_some_and(|fact| counts_as_measured(fact));
        is_read || !measured || row.instrument.is_empty()
    };
    let rows = values.keys().filter_map(|key| code::find(key));
    let rows: Vec<&Code> = rows.filter(|row| counts(row)).collect();
    let mut after = job.clone();
    after.take(NEW, origin, event);
    let tried = at_its_time(&(desk.history)(job.number), event, origin, &rows);
    let mut older = rows.iter().zip(tried).filter_map(|(row, tried)| {
        let dropped = drops_later(job, &after, row, origin.made);
        Some((*row, dropped.or(tried)?))
    });
    match older.next() {
        None => Ok(()),
        Some((row, later)) => Err(refusal(job, row, &later, is_read, origin.made, desk)),
    }
}

/// Refuses readings of a time before the bicycle was here, which are slips of the day unless somebody says that they are not.
///
/// # Errors
/// [`Reason::OutsideWindow`] with both times.
pub(super) fn refuse_before_it_came(job: &Job, made: Timestamp, desk: &Desk<'_>) -> Result<(), Refusal> {
    if made >= job.opened {
        return Ok(());
    }
    let (given, came) = (desk.moment(made), desk.moment(job.opened));
    Err(Refusal::new(
        Reason::OutsideWindow,
        format!("read at {given}, before the bicycle was taken in at {came}"),
    )
    .with("job", job.number)
    .with("made", given)
    .with("since", came)
    .hint("is that the time it was read? If it is really so: the same line with --force"))
}

/// Whether anything known of a job, or of what makes these values stale, may be later than a moment. Most entries are made
/// now, and nothing has to be read for them.
fn may_be_older(job: &Job, values: &Values, made: Timestamp) -> bool {
    let is_later = |at: Timestamp| at > made;
    let mut facts = job.facts.values();
    let mut pieces = job.pieces.iter();
    let stale = |key: &String| {
        job.facts
            .get(key.as_str())
            .is_some_and(|fact| fact.stale.is_some())
    };
    is_later(job.touched)
        || values.keys().any(stale)
        || facts.any(|fact| is_later(stands_since(fact).1))
        || pieces
            .any(|piece| is_later(piece.came) || piece.left.as_ref().is_some_and(|left| is_later(left.at)))
        || job.trials.iter().any(|trial| is_later(trial.at))
}

/// The entry and the time of the last of what a fact stands on.
fn stands_since(fact: &Fact) -> (u64, Timestamp) {
    let last = fact.readings.iter().max_by_key(|reading| reading.at);
    last.map_or((fact.seq, fact.at), |reading| (reading.seq, reading.at))
}

/// The later reading that the new one would put aside, by a new series or as something that is set anew.
fn drops_later(before: &Job, after: &Job, row: &Code, made: Timestamp) -> Option<Later> {
    let known = before.facts.get(row.key())?;
    let now = after.facts.get(row.key())?;
    let (seq, at) = stands_since(known);
    let stays = now.readings.iter().any(|reading| reading.seq == seq);
    (at > made && !known.readings.is_empty() && !stays && known.stale.is_none()).then_some(Later {
        seq,
        made: at,
        changed: None,
    })
}

/// What becomes of values entered at their own time, by the entries made after it: the first that took the place of each or
/// made it stale.
fn at_its_time(history: &[Entry], event: &Event, origin: &Origin, rows: &[&Code]) -> Vec<Option<Later>> {
    let mut ends: Vec<Option<Later>> = rows.iter().map(|_| None).collect();
    let Some(mut job) = history.first().and_then(|first| Job::begin(first).ok()) else {
        return ends;
    };
    let gone = entry::retracted(history);
    let counts = |entry: &&Entry| !gone.contains(&entry.seq);
    let mut entries: Vec<&Entry> = history.iter().skip(1).filter(counts).collect();
    entries.sort_by_key(|entry| entry.origin.made);
    let later = entries.partition_point(|entry| entry.origin.made <= origin.made);
    for entry in &entries[..later] {
        job.take(entry.seq, &entry.origin, &entry.event);
    }
    job.take(NEW, origin, event);
    for entry in &entries[later..] {
        job.take(entry.seq, &entry.origin, &entry.event);
        for (row, end) in rows.iter().zip(&mut ends).filter(|(_, end)| end.is_none()) {
            let fact = job.facts.get(row.key());
            let stands =
                |fact: &Fact| fact.seq == NEW || fact.readings.iter().any(|reading| reading.seq == NEW);
            let changed = fact.and_then(|fact| fact.stale.clone());
            if changed.is_some() || !fact.is_some_and(|fact| stands(fact)) {
                *end = Some(Later {
                    seq: entry.seq,
                    made: entry.origin.made,
                    changed,
                });
            }
        }
    }
    ends
}

fn refusal(job: &Job, row: &Code, later: &Later, is_read: bool, made: Timestamp, desk: &Desk<'_>) -> Refusal {
    let (number, name, seq) = (job.number, row.field.name, later.seq);
    let (given, since) = (desk.moment(made), desk.moment(later.made));
    let what = if is_read { "read" } else { "told" };
    let message = match &later.changed {
        Some(changed) => format!(
            "{name}: the {changed} was changed at {since} (entry {seq}); what was {what} at {given} is of before that and does not \
             count any more"
        ),
        None => {
            let stands = job.facts.get(row.key()).map(|fact| row.field.show(&fact.value));
            format!(
                "{name}: {} stands since {since} (entry {seq}); what was {what} at {given} is older and does not take its place",
                stands.unwrap_or_default()
            )
        }
    };
    let hint = format!(
        "was it {what} later, then with that time (--at), or without for now; if entry {seq} is wrong, or the clock was ahead when it was \
         made, `lockring undo {number} --entry {seq}` first"
    );
    Refusal::new(Reason::LaterStands, message)
        .with("job", number)
        .with("field", row.key())
        .with("entry", seq)
        .with("made", given)
        .with("since", since)
        .hint(hint)
}
