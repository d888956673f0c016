//! Undo: a counter-entry that names the entry it retracts.

use std::collections::BTreeMap;

use crate::account::{AccountEvent, PayKind};
use crate::after::AfterEvent;
use crate::command::money::runs_alone;
use crate::command::parts::refuse_twice;
use crate::command::{Desk, Draft, expect_revision, require_text, settle_after, touched_codes};
use crate::entry::{self, Entry, Event};
use crate::job::Job;
use crate::origin::Origin;
use crate::receipt::Receipt;
use crate::refusal::{Reason, Refusal};
use crate::stage::Stage;
use crate::supply::piece::{Off, Piece};

/// Decides to retract an entry: the one numbered `seq`, or the asker's own last one that
/// can be undone.
///
/// # Errors
/// [`Reason::NothingToUndo`] when there is no such entry, it cannot be undone, a later entry
/// rests on it, or it is retracted already; [`Reason::JobOver`] when it belongs to what the job was before it
/// ended; [`Reason::ElsewhereAlready`] when a piece would be on it again that is elsewhere by now;
/// [`Reason::RevisionChanged`]; [`Reason::BadInput`] when the entries are no job.
pub fn undo(
    entries: &[Entry],
    expected_revision: Option<u64>,
    origin: Origin,
    seq: Option<u64>,
    why: &str,
    desk: &Desk<'_>,
) -> Result<Draft, Refusal> {
    let by = desk.shop.person(&origin.by)?;
    let origin = Origin { by, ..origin };
    let before = fold(entries)?;
    expect_revision(&before, expected_revision)?;
    let why = if why.trim().is_empty() {
        String::new()
    } else {
        require_text("why", why, "slip")?
    };
    let target = find_target(entries, &before, seq, &origin.by)?;
    match &target.event {
        Event::Conceded { .. } => desk.shop.owner(&origin.by, "the undoing of a concession")?,
        Event::Account(AccountEvent::Paid {
            kind: PayKind::WriteOff,
            ..
        }) => desk
            .shop
            .owner(&origin.by, "the undoing of what was written off")?,
        _ => desk.shop.person(&origin.by)?,
    };
    if let Some(later) = rests_on(entries, target) {
        return Err(Refusal::new(
            Reason::NothingToUndo,
            format!(
                "entry {} of job {} carries entry {}: {}",
                target.seq,
                before.number,
                later.seq,
                entry::line(&later.event)
            ),
        )
        .with("job", before.number)
        .hint(match target.event {
            Event::Chosen { .. } if !matches!(later.event, Event::Supply(_)) => {
                format!("undo entry {} first, or choose another part", later.seq)
            }
            _ if !later.event.can_be_undone() => "what lies on the shelf is taken from there".to_owned(),
            _ => format!("undo entry {} first", later.seq),
        }));
    }

    // What it said along with it goes first.
    let both: Vec<&Entry> = refit_of(entries, target).into_iter().chain([target]).collect();
    let mut history: Vec<Entry> = entries.to_vec();
    for (seq, gone) in (before.revision + 1..).zip(&both) {
        history.push(Entry {
            seq,
            origin: origin.clone(),
            event: Event::Retracted {
                seq: gone.seq,
                why: why.clone(),
            },
            ..target.clone()
        });
    }
    let after = fold(&history)?;
    // What a rider took along stays what the gates looked at.
    let is_of_supply = matches!(target.event, Event::Supply(_));
    if before.stage == Stage::HandedOver && is_of_supply && after.build != before.build {
        return Err(over(&before, &format!("entry {} stays", target.seq)));
    }
    runs_alone(&before, &after, &origin.by, desk)?;
    // A piece that it puts back on may have been received elsewhere since.
    let on = |job: &Job| -> Vec<Piece> {
        let pieces = job.pieces.iter().filter(|piece| piece.left.is_none());
        pieces.cloned().collect()
    };
    let there = on(&before);
    let is_known = |piece: &Piece| {
        let off = Off::from(piece);
        there
            .iter()
            .any(|known| known.slot == piece.slot && off.means(known))
    };
    for piece in on(&after).iter().filter(|piece| !is_known(piece)) {
        if let Some(serial) = &piece.serial {
            refuse_twice(&after, piece.slot, serial, desk)?;
        }
    }
    let mut draft = Draft::new(after, origin);
    let retractions = history.split_off(entries.len());
    draft
        .events
        .extend(retractions.into_iter().map(|entry| entry.event));
    for gone in both.iter().rev() {
        draft.say(format!(
            "entry {} of job {} no longer counts: {}",
            gone.seq,
            before.number,
            entry::line(&gone.event)
        ));
    }
    settle_after(&mut draft, touched_codes([&target.event]), desk);
    Ok(draft)
}

/// The later entry that would speak of something else without this one: the order or receipt of
/// the very part it chose, the swap that took off again what it put on or the look at it, the end of
/// its claim.
fn rests_on<'e>(entries: &'e [Entry], target: &Entry) -> Option<&'e Entry> {
    let mut later = entries
        .iter()
        .filter(|entry| entry.seq > target.seq && !is_retracted(entries, entry.seq));
    if let Some(later) = sends_another(entries, target) {
        return Some(later);
    }
    let slot = match &target.event {
        Event::Chosen { slot, .. } => *slot,
        Event::After(event @ (AfterEvent::Swapped { .. } | AfterEvent::Replaced { .. })) => {
            let slot = event.swapped_slot();
            return later.find(|entry| match &entry.event {
                Event::After(AfterEvent::LookedAt(receipt)) => Some(receipt.slot) == slot,
                Event::After(other) => other.swapped_slot() == slot && slot.is_some(),
                _ => false,
            });
        }
        // What is seen later is added to what was.
        Event::After(AfterEvent::LookedAt(receipt)) => {
            let mut of_slot = later.filter_map(|entry| match &entry.event {
                Event::After(other @ AfterEvent::LookedAt(now)) => Some((entry, other, now.slot)),
                Event::After(other) => other.swapped_slot().map(|slot| (entry, other, slot)),
                _ => None,
            });
            let next = of_slot.find(|(_, _, slot)| *slot == receipt.slot);
            return next
                .filter(|(_, other, _)| matches!(other, AfterEvent::LookedAt(_)))
                .map(|(entry, _, _)| entry);
        }
        Event::After(AfterEvent::Claimed { number, .. }) => {
            return later.find(|entry| match &entry.event {
                Event::After(AfterEvent::ClaimSettled { number: other, .. }) => other == number,
                _ => false,
            });
        }
        _ => return None,
    };
    later
        .find(|entry| match &entry.event {
            Event::Chosen { slot: other, .. }
            | Event::Dropped { slot: other }
            | Event::Ordered { slot: other, .. }
            | Event::Received(Receipt { slot: other, .. }) => *other == slot,
            _ => false,
        })
        .filter(|entry| matches!(entry.event, Event::Ordered { .. } | Event::Received(_)))
}

/// The entry made with a receipt that says that the piece received is one that had been taken off: alone it would leave
/// the piece on the job and loose.
fn refit_of<'e>(entries: &'e [Entry], target: &Entry) -> Option<&'e Entry> {
    let Event::Received(Receipt { slot, .. }) = &target.event else {
        return None;
    };
    let next = entries.iter().find(|entry| entry.seq == target.seq + 1)?;
    let is_it = matches!(&next.event, Event::Supply(event) if event.is_refit() && event.slot() == *slot);
    (is_it && !is_retracted(entries, next.seq)).then_some(next)
}

/// The first later entry that says where a piece went and would speak of another one, or of none, without this one: the
/// piece would be back where this entry found it and where it went as well.
fn sends_another<'e>(entries: &'e [Entry], target: &Entry) -> Option<&'e Entry> {
    let of_supply = |entry: &Entry| entry.seq > target.seq && matches!(entry.event, Event::Supply(_));
    if !entries.iter().any(of_supply) {
        return None;
    }
    let without = sent(entries, Some(target.seq));
    let mut with = sent(entries, None).into_iter();
    let (seq, _) = with.find(|(seq, piece)| *seq > target.seq && without.get(seq) != Some(piece))?;
    entries.iter().find(|entry| entry.seq == seq)
}

/// The piece that each entry sent somewhere, by the number of the entry; as if `without` were retracted too.
fn sent(entries: &[Entry], without: Option<u64>) -> BTreeMap<u64, Off> {
    let mut sent = BTreeMap::new();
    let Some(mut job) = entries.first().and_then(|first| Job::begin(first).ok()) else {
        return sent;
    };
    let gone = entry::retracted(entries);
    let counts = |entry: &&Entry| !gone.contains(&entry.seq) && Some(entry.seq) != without;
    for entry in entries.iter().skip(1).filter(counts) {
        // What went back on goes and stays with its receipt.
        if let Event::Supply(event) = &entry.event
            && !event.is_refit()
        {
            sent.extend(job.sent(event).map(|piece| (entry.seq, Off::from(piece))));
        }
        job.take(entry.seq, &entry.origin, &entry.event);
    }
    sent
}

fn is_retracted(entries: &[Entry], seq: u64) -> bool {
    entries
        .iter()
        .any(|entry| matches!(entry.event, Event::Retracted { seq: gone, .. } if gone == seq))
}

fn find_target<'e>(
    entries: &'e [Entry],
    job: &Job,
    seq: Option<u64>,
    by: &str,
) -> Result<&'e Entry, Refusal> {
    let retracted = |seq: u64| is_retracted(entries, seq);
    let refuse = |message: String| {
        Refusal::new(Reason::NothingToUndo, message)
            .with("job", job.number)
            .hint(format!("`lockring history {}` lists the entries", job.number))
    };
    let is_over = job.stage.is_end();
    let can_be_undone = |event: &Event| event.can_be_undone() && (!is_over || event.may_come_late());
    match seq {
        None => entries
            .iter()
            .rev()
            .find(|entry| can_be_undone(&entry.event) && entry.origin.by == by && !retracted(entry.seq))
            .ok_or_else(|| {
                if is_over {
                    return over(job, &format!("there is nothing by {by} that came after that"));
                }
                refuse(format!(
                    "job {} has no entry by {by} that can be undone",
                    job.number
                ))
            }),
        Some(seq) => {
            let entry = entries.iter().find(|entry| entry.seq == seq).ok_or_else(|| {
                refuse(format!(
                    "job {} has no entry {seq}; its last is {}",
                    job.number, job.revision
                ))
            })?;
            if retracted(seq) {
                return Err(refuse(format!(
                    "entry {seq} of job {} is retracted already",
                    job.number
                )));
            }
            if !entry.event.can_be_undone() {
                let kind = entry.event.kind();
                let refusal = refuse(format!(
                    "entry {seq} of job {} ({kind}) is not one that can be undone",
                    job.number
                ));
                let is_refit = matches!(&entry.event, Event::Supply(event) if event.is_refit());
                return Err(match seq.checked_sub(1) {
                    Some(receipt) if is_refit => {
                        refusal.hint(format!("it goes with its receipt: undo entry {receipt}"))
                    }
                    _ => refusal,
                });
            }
            if !can_be_undone(&entry.event) {
                return Err(over(job, &format!("entry {seq} stays")));
            }
            Ok(entry)
        }
    }
}

/// The refusal of an undo on a job that is over.
fn over(job: &Job, because: &str) -> Refusal {
    let (number, end) = (job.number, job.stage.word());
    Refusal::new(
        Reason::JobOver,
        format!("job {number} is over ({end}): {because}"),
    )
    .with("job", number)
    .hint("money, hours, visits, claims, swaps, where parts went, notes and photos can still be undone")
}

fn fold(entries: &[Entry]) -> Result<Job, Refusal> {
    Job::fold(entries).map_err(|error| Refusal::new(Reason::BadInput, error.to_string()))
}
