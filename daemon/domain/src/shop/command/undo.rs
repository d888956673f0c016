//! Undo of what was said of the shop: a counter-entry, refused when the shop could not stand
//! without the entry.

use super::{cannot_stand, may_be_undone, must_have_an_owner, new_refusal};
use crate::entry::{Entry, Event};
use crate::origin::Origin;
use crate::refusal::{Reason, Refusal};
use crate::shop::{Shop, ShopDraft};

/// Decides to retract an entry of no job: the one numbered `seq`, or the asker's own last one
/// that can be undone.
///
/// # Errors
/// [`Reason::NothingToUndo`] when there is no such entry or it cannot be undone;
/// [`Reason::CannotStand`] when the limits or the list of people would not hold without it;
/// [`Reason::OwnerOnly`] and [`Reason::UnknownPerson`].
pub fn undo(entries: &[Entry], origin: Origin, seq: Option<u64>, why: &str) -> Result<ShopDraft, Refusal> {
    let before = Shop::fold(entries);
    let by = before.owner(&origin.by, "the undoing of a setting")?;
    let origin = Origin { by, ..origin };
    let target = find(entries, seq, &origin.by)?;
    let last = entries.last().map_or(0, |entry| entry.seq);
    let event = Event::Retracted {
        seq: target.seq,
        why: why.trim().to_owned(),
    };
    let mut history = entries.to_vec();
    history.push(Entry {
        seq: last + 1,
        origin: origin.clone(),
        event: event.clone(),
        ..target.clone()
    });
    let after = Shop::fold(&history);
    let (_, refused_before) = before.rules();
    let (_, refused_after) = after.rules();
    let without = format!("the shop without entry {}", target.seq);
    if let Some(error) = new_refusal(&refused_before, &refused_after) {
        return Err(cannot_stand(&without, error));
    }
    must_have_an_owner(&after).map_err(|refusal| cannot_stand(&without, &refusal.message))?;
    let mut draft = ShopDraft::new(after, last + 1, origin);
    draft.events.push(event);
    draft.say(format!(
        "entry {} of the shop no longer counts: {}",
        target.seq,
        crate::entry::line(&target.event)
    ));
    Ok(draft)
}

fn find<'e>(entries: &'e [Entry], seq: Option<u64>, by: &str) -> Result<&'e Entry, Refusal> {
    let is_retracted = |seq: u64| {
        entries
            .iter()
            .any(|entry| matches!(entry.event, Event::Retracted { seq: gone, .. } if gone == seq))
    };
    let refuse = |message: String| {
        Err(Refusal::new(Reason::NothingToUndo, message)
            .hint("`lockring settings history` lists the entries"))
    };
    let Some(seq) = seq else {
        let own = entries
            .iter()
            .rev()
            .find(|entry| may_be_undone(entry) && entry.origin.by == by && !is_retracted(entry.seq));
        return own.map_or_else(
            || refuse(format!("the shop has no entry by {by} that can be undone")),
            Ok,
        );
    };
    match entries.iter().find(|entry| entry.seq == seq) {
        None => refuse(format!("the shop has no entry {seq}")),
        Some(_) if is_retracted(seq) => refuse(format!("entry {seq} of the shop is retracted already")),
        Some(entry) if !may_be_undone(entry) => refuse(format!(
            "entry {seq} of the shop ({}) is not one that can be undone",
            entry.event.kind()
        )),
        Some(entry) => Ok(entry),
    }
}
