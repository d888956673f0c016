//! Undo of what was said of the shop: a counter-entry, refused when the shop could not stand
//! without the entry.

use super::{cannot_stand, may_be_undone, must_have_an_owner, new_refusal};
use crate::entry::{Entry, Event};
use crate::origin::Origin;
use crate::refusal::{Reason, Refusal};
use crate::shop::event::ShopEvent;
use crate::shop::{Shop, ShopDraft};

/// Decides to retract an entry of no job: the one numbered `seq`, or what the asker said of the shop last. It is
/// that or nothing; something older is not what anybody means who only says that the last goes.
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
    if let Event::Shop(gone) = &target.event
        && let Some(now) = holds(&draft.shop, gone)
    {
        draft.say(now);
    }
    Ok(draft)
}

/// What holds of that of which an entry spoke that is gone.
fn holds(shop: &Shop, gone: &ShopEvent) -> Option<String> {
    match gone {
        ShopEvent::Set { setting, .. } | ShopEvent::Unset { setting, .. } => {
            let word = setting.word();
            Some(match shop.text(*setting) {
                "" => format!("{word} is not set now"),
                text => format!("{word} is {text} now"),
            })
        }
        ShopEvent::RuleSet { key, .. } | ShopEvent::RuleRestored { key, .. } => {
            let (sheet, _) = shop.rules();
            let rule = sheet.get(key).ok()?;
            Some(format!("{key} is {} now", rule.show()))
        }
        ShopEvent::Joined { .. } | ShopEvent::Left { .. } if shop.people.is_empty() => {
            Some("nobody is entered now: everybody may do everything".to_owned())
        }
        ShopEvent::Joined { initials, .. } | ShopEvent::Left { initials, .. } => {
            let mut present = shop.present();
            let person = present.find(|(one, _)| one == initials);
            Some(person.map_or_else(
                || format!("{initials} does not work here now"),
                |(one, person)| format!("{one} works here as {} now", person.role.word()),
            ))
        }
        _ => None,
    }
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
        // What was undone, and the undoing, are over.
        let is_own = |entry: &&Entry| entry.origin.by == by && matches!(entry.event, Event::Shop(_));
        let mut own = entries
            .iter()
            .rev()
            .filter(|entry| is_own(entry) && !is_retracted(entry.seq));
        let Some(last) = own.next() else {
            return refuse(format!("the shop has no entry by {by} that can be undone"));
        };
        if may_be_undone(last) {
            return Ok(last);
        }
        let (seq, line) = (last.seq, crate::entry::line(&last.event));
        let refused = refuse(format!(
            "the last that {by} said of the shop is entry {seq} ({line}), which is not one that can be undone"
        ));
        let Some(older) = own.find(|entry| may_be_undone(entry)) else {
            return refused;
        };
        let (seq, line) = (older.seq, crate::entry::line(&older.event));
        return refused.map_err(|refusal| {
            refusal.hint(format!(
                "an older one goes by its number: `lockring settings undo --entry {seq}` takes back `{line}`"
            ))
        });
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
