//! Undo: counter-entries that name what they retract.

use std::collections::BTreeMap;

use crate::account::{AccountEvent, PayKind};
use crate::after::{AfterEvent, Payer};
use crate::command::money::runs_alone;
use crate::command::parts::refuse_twice;
use crate::command::{Desk, Draft, Values, expect_revision, require_text, settle_after, touched_codes};
use crate::entry::{self, Entry, Event};
use crate::job::Job;
use crate::money::Money;
use crate::origin::Origin;
use crate::receipt::Receipt;
use crate::refusal::{Reason, Refusal};
use crate::stage::Stage;
use crate::supply::event::SupplyEvent;
use crate::supply::piece::{Off, Piece};

/// Decides to retract the entry numbered `seq`, or what the asker entered last, all that one request made of it. Money is
/// taken back only where its number is given: it is counted, and a slip would change what the rider owes.
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
    let targets = match seq {
        Some(seq) => vec![named(entries, &before, seq)?],
        None => own_last(entries, &before, &origin.by)?,
    };
    for target in &targets {
        may_undo(&before, &target.event, &origin.by, desk)?;
    }

    // The last of them goes first: what rests on an entry goes before it.
    let mut history: Vec<Entry> = entries.to_vec();
    let mut gone: Vec<&Entry> = Vec::new();
    for target in targets.iter().rev() {
        if let Some(later) = rests_on(&history, target) {
            return Err(carries(&before, target, later));
        }
        // What it said along with it goes before it.
        let along =
            made_with(entries, target).filter(|along| !gone.iter().any(|entry| entry.seq == along.seq));
        for entry in along.into_iter().chain([*target]) {
            gone.push(entry);
            history.push(Entry {
                seq: before.revision + gone.len() as u64,
                origin: origin.clone(),
                event: Event::Retracted {
                    seq: entry.seq,
                    why: why.clone(),
                },
                ..(*target).clone()
            });
        }
    }
    let after = fold(&history)?;
    // What a rider took along stays what the gates looked at.
    let of_supply = targets
        .iter()
        .find(|target| matches!(target.event, Event::Supply(_)));
    if let Some(target) = of_supply
        && before.stage == Stage::HandedOver
        && after.build != before.build
    {
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
    for gone in gone.iter().rev() {
        draft.say(format!(
            "entry {} of job {} no longer counts: {}",
            gone.seq,
            before.number,
            entry::line(&gone.event)
        ));
    }
    say_where(&mut draft, entries, &targets)?;
    if before.balance() != draft.job.balance() {
        let (job, paid) = (&draft.job, draft.job.account.paid());
        let standing = format!(
            "paid {paid} of {}, owed {}; owed {} before",
            job.to_pay(),
            job.balance(),
            before.balance()
        );
        draft.say(standing);
    }
    settle_after(
        &mut draft,
        touched_codes(targets.iter().map(|target| &target.event)),
        desk,
    );
    Ok(draft)
}

/// Says that a job stays at the gate to which it was sent by what is taken back, and the way from there: gates that had
/// passed are passed again.
fn say_where(draft: &mut Draft, entries: &[Entry], targets: &[&Entry]) -> Result<(), Refusal> {
    let Some(first) = targets.iter().map(|target| target.seq).min() else {
        return Ok(());
    };
    let earlier: Vec<Entry> = entries
        .iter()
        .filter(|entry| entry.seq < first)
        .cloned()
        .collect();
    if earlier.is_empty() {
        return Ok(());
    }
    let (stood, stands, job) = (fold(&earlier)?.stage, draft.job.stage, draft.job.number);
    let sent = entries.iter().any(|entry| {
        entry.seq > first
            && matches!(&entry.event, Event::SentBack { stage, .. } if *stage == stands)
            && !is_retracted(entries, entry.seq)
    });
    if sent && stands < stood {
        draft.say(format!(
            "job {job} stays at {}, where the change had sent it back from {}: `lockring advance {job}` passes each gate on the way \
             again",
            stands.word(),
            stood.word()
        ));
    }
    Ok(())
}

/// Whose it is to take back what an entry says.
fn may_undo(job: &Job, event: &Event, by: &str, desk: &Desk<'_>) -> Result<(), Refusal> {
    let is_the_shops = |number: &u32| {
        let mut claims = job.after.claims.iter();
        claims.any(|claim| claim.number == *number && claim.against == Payer::Shop)
    };
    match event {
        Event::Conceded { .. } => desk.shop.owner(by, "the undoing of a concession")?,
        Event::Account(AccountEvent::Paid {
            kind: PayKind::WriteOff,
            ..
        }) => desk.shop.owner(by, "the undoing of what was written off")?,
        Event::Account(AccountEvent::Paid {
            kind: PayKind::Credit,
            ..
        }) => desk.shop.owner(by, "the undoing of a credit")?,
        Event::After(AfterEvent::ClaimSettled { number, paid, .. })
            if *paid != Money::ZERO && is_the_shops(number) =>
        {
            desk.shop
                .owner(by, "the undoing of what was paid for a claim against the shop")?
        }
        _ => desk.shop.person(by)?,
    };
    Ok(())
}

/// The refusal of what a later entry rests on.
fn carries(job: &Job, target: &Entry, later: &Entry) -> Refusal {
    Refusal::new(
        Reason::NothingToUndo,
        format!(
            "entry {} of job {} carries entry {}: {}",
            target.seq,
            job.number,
            later.seq,
            entry::line(&later.event)
        ),
    )
    .with("job", job.number)
    .hint(match target.event {
        Event::Chosen { .. } if matches!(later.event, Event::Corrected { .. }) => {
            "choose another part".to_owned()
        }
        Event::Chosen { .. } if !matches!(later.event, Event::Supply(_)) => {
            format!("undo entry {} first, or choose another part", later.seq)
        }
        _ if !later.event.can_be_undone() => "what lies on the shelf is taken from there".to_owned(),
        _ => format!("undo entry {} first", later.seq),
    })
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
            | Event::Corrected { slot: other, .. }
            | Event::Dropped { slot: other }
            | Event::Ordered { slot: other, .. }
            | Event::Received(Receipt { slot: other, .. }) => *other == slot,
            _ => false,
        })
        .filter(|entry| {
            let event = &entry.event;
            matches!(
                event,
                Event::Ordered { .. } | Event::Received(_) | Event::Corrected { .. }
            )
        })
}

/// The entry made with another one that would say something wrong without it: that the piece received is one that had been
/// taken off, which would be on the job and loose; that what the shop pays for a claim comes off what there is to pay.
fn made_with<'e>(entries: &'e [Entry], target: &Entry) -> Option<&'e Entry> {
    let next = entries.iter().find(|entry| entry.seq == target.seq + 1)?;
    let is_it = match (&target.event, &next.event) {
        (Event::Received(Receipt { slot, .. }), Event::Supply(event)) => {
            event.is_refit() && event.slot() == *slot
        }
        (Event::After(AfterEvent::ClaimSettled { .. }), Event::Account(AccountEvent::Paid { kind, .. })) => {
            *kind == PayKind::Credit && next.origin == target.origin && next.stored == target.stored
        }
        _ => false,
    };
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

/// The entry that this one was made with, and goes with, while both count.
fn goes_with(entries: &[Entry], seq: u64) -> Option<&Entry> {
    let with = entries.iter().find(|with| with.seq + 1 == seq)?;
    let along = made_with(entries, with).filter(|_| !is_retracted(entries, with.seq));
    along.map(|_| with)
}

fn is_retracted(entries: &[Entry], seq: u64) -> bool {
    entries
        .iter()
        .any(|entry| matches!(entry.event, Event::Retracted { seq: gone, .. } if gone == seq))
}

/// Whether an entry of this kind may go from a job as it stands.
fn may_go(job: &Job, event: &Event) -> bool {
    event.can_be_undone() && (!job.stage.is_end() || event.may_come_late())
}

fn refuse(job: &Job, message: String) -> Refusal {
    Refusal::new(Reason::NothingToUndo, message)
        .with("job", job.number)
        .hint(format!("`lockring history {}` lists the entries", job.number))
}

/// What the asker entered last, as far as it counts: all that one request made of it, in order. It is that or nothing;
/// something older that can be undone is not what anybody means who only says that the last goes.
fn own_last<'e>(entries: &'e [Entry], job: &Job, by: &str) -> Result<Vec<&'e Entry>, Refusal> {
    let retracted = entry::retracted(entries);
    let counts = |entry: &&Entry| !retracted.contains(&entry.seq);
    let left = |act: &'e [Entry]| -> Vec<&'e Entry> {
        let left = act.iter().filter(counts);
        left.filter(|entry| may_go(job, &entry.event)).collect()
    };
    // What was undone, and what followed from the undoing, is no act of its own.
    let is_open = |act: &&'e [Entry]| {
        let undoes = act
            .iter()
            .any(|entry| matches!(entry.event, Event::Retracted { .. }));
        !undoes && (act.iter().all(|entry| counts(&entry)) || !left(act).is_empty())
    };
    let acts = entries.chunk_by(|one, next| one.origin == next.origin && one.stored == next.stored);
    let mut own = acts.rev().filter(|act| act[0].origin.by == by);
    let Some(act) = own.find(is_open) else {
        let number = job.number;
        return Err(refuse(
            job,
            format!("job {number} has no entry by {by} that can be undone"),
        ));
    };
    let targets = left(act);
    let stays = |entry: &Entry, because: &str| {
        let (number, seq, line) = (job.number, entry.seq, entry::line(&entry.event));
        let message =
            format!("the last that {by} entered on job {number} is entry {seq} ({line}): {because}");
        let reason = if job.stage.is_end() && !targets.iter().any(|entry| is_money(&entry.event)) {
            Reason::JobOver
        } else {
            Reason::NothingToUndo
        };
        Refusal::new(reason, message).with("job", number).with("seq", seq)
    };
    let another = |older: &mut dyn Iterator<Item = &'e [Entry]>| {
        let alone =
            |entry: &&Entry| goes_with(entries, entry.seq).is_none() && rests_on(entries, entry).is_none();
        let older = older.flat_map(|act| left(act).into_iter().rfind(alone)).next();
        older.map_or_else(
            || format!("`lockring history {}` lists the entries", job.number),
            |entry| {
                format!(
                    "an older one goes by its number: `lockring undo {} --entry {}` takes back `{}`",
                    job.number,
                    entry.seq,
                    entry::line(&entry.event)
                )
            },
        )
    };
    // With what began the job came the quote and what was paid by then: all of it stays.
    let first = &act[0];
    if targets.is_empty() || matches!(first.event, Event::TakenIn { .. }) {
        return Err(stays(first, why_it_stays(job, &first.event)).hint(another(&mut own)));
    }
    if let Some(money) = targets.iter().find(|entry| is_money(&entry.event)) {
        return Err(
            stays(money, "money is taken back only by its number").hint(format!(
                "if it is meant: `lockring undo {} --entry {}`",
                job.number, money.seq
            )),
        );
    }
    Ok(targets)
}

/// Money that was counted or asked for, entered as such or typed as a value.
fn is_money(event: &Event) -> bool {
    let in_values = |values: &Values| ["paid", "quote"].iter().any(|key| values.contains_key(*key));
    match event {
        Event::Stated { values, .. } => in_values(values),
        Event::Recorded { readings, .. } => in_values(readings),
        Event::Supply(event) => matches!(event, SupplyEvent::Credited { .. }),
        Event::Account(event) => {
            matches!(event, AccountEvent::Paid { .. } | AccountEvent::Invoiced { .. })
        }
        Event::After(AfterEvent::ClaimSettled { paid, .. }) => *paid != Money::ZERO,
        _ => false,
    }
}

/// Why an entry is none that an undo takes back.
fn why_it_stays(job: &Job, event: &Event) -> &'static str {
    match event {
        Event::TakenIn { .. } => {
            "a job that began does not go; state other values with `lockring brief` and `lockring donor`"
        }
        Event::GateTried { .. } if !job.stage.is_end() => {
            "a gate that was tried is not untried; `lockring back` leads to an earlier stage"
        }
        Event::SentBack { .. } => "it went back for its reason; `lockring advance` tries the gate again",
        Event::Blocked { .. } => "a block is ended with `lockring clear`",
        Event::Cleared { .. } => "a block is opened again with `lockring block`",
        _ if job.stage.is_end() => "the job is over",
        Event::Received(_) | Event::Supply(_) => {
            "what touches the shelf is undone by the shelf's own commands"
        }
        _ => "it is not one that can be undone",
    }
}

/// The entry of a number.
fn named<'e>(entries: &'e [Entry], job: &Job, seq: u64) -> Result<&'e Entry, Refusal> {
    let entry = entries.iter().find(|entry| entry.seq == seq).ok_or_else(|| {
        refuse(
            job,
            format!(
                "job {} has no entry {seq}; its last is {}",
                job.number, job.revision
            ),
        )
    })?;
    if is_retracted(entries, seq) {
        return Err(refuse(
            job,
            format!("entry {seq} of job {} is retracted already", job.number),
        ));
    }
    if let Some(with) = goes_with(entries, seq)
        && with.event.can_be_undone()
        && entry.event.can_be_undone()
    {
        let message = format!(
            "entry {seq} of job {} ({}) does not go alone: it goes with entry {}",
            job.number,
            entry::line(&entry.event),
            with.seq
        );
        let hint = format!(
            "`lockring undo {} --entry {}` takes back both",
            job.number, with.seq
        );
        return Err(refuse(job, message).hint(hint));
    }
    if !entry.event.can_be_undone() {
        let kind = entry.event.kind();
        let refusal = refuse(
            job,
            format!(
                "entry {seq} of job {} ({kind}) stays: {}",
                job.number,
                why_it_stays(job, &entry.event)
            ),
        );
        let is_refit = matches!(&entry.event, Event::Supply(event) if event.is_refit());
        return Err(match seq.checked_sub(1) {
            Some(receipt) if is_refit => {
                refusal.hint(format!("it goes with its receipt: undo entry {receipt}"))
            }
            _ => refusal,
        });
    }
    if !may_go(job, &entry.event) {
        return Err(over(job, &format!("entry {seq} stays")));
    }
    Ok(entry)
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
