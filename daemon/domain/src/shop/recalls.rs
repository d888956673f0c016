//! Recalls that the shop works through: opened, and how far each rider is.

use jiff::tz::TimeZone;

use super::event::ShopEvent;
use super::{Shop, ShopDraft};
use crate::length;
use crate::refusal::{Reason, Refusal};
use crate::supply::piece::Off;
use crate::supply::recall::{CallState, Find, FindText, Found, Recall, places};

/// Opens a recall; `meant` are the pieces it finds now, which are told: a mark that was mistyped finds none.
///
/// # Errors
/// [`Reason::BadInput`] for no name, no reason, or nothing to look for.
pub fn open(
    draft: &mut ShopDraft,
    name: &str,
    why: &str,
    find: FindText,
    meant: &[Found],
    zone: &TimeZone,
) -> Result<(), Refusal> {
    let text = |field: &str, text: &str, example: &str| match text.trim() {
        "" => Err(bad(
            field,
            &format!("the {field} of the recall is empty; expected some words, for example `{example}`"),
        )),
        text => length::words(&format!("the {field} of the recall"), text),
    };
    let name = text("name", name, "packs of November")?;
    let why = text("reason", why, "maker's notice of 20 May: cells may overheat")?;
    Find::read(&find, zone)?;
    let number = draft.shop.recalls.keys().last().map_or(1, |last| last + 1);
    draft.say(format!("recall {number} opened: {name}"));
    let places: Vec<String> = places(meant)
        .iter()
        .map(|(place, count)| format!("{count} {}", place.word()))
        .collect();
    if places.is_empty() {
        // Everybody may open a recall; what the shop has said the owner alone takes back.
        let entry = draft.last() + 1;
        let back = match draft.shop.owner(&draft.origin.by, "undoing") {
            Ok(_) => format!("`lockring settings undo --entry {entry}` takes this recall back"),
            Err(_) => {
                format!("the owner takes this recall back with `lockring settings undo --entry {entry}`")
            }
        };
        draft.say(format!(
            "it means nothing that came here so far. Look at the marks: `PREFIX*` with its star means all that begin so; {back}"
        ));
    } else {
        draft.say(format!("it means {}", places.join(", ")));
    }
    draft.push(ShopEvent::RecallOpened {
        number,
        name,
        why,
        find,
    });
    Ok(())
}

/// Notes how far a rider is with a recall; `there` are the pieces of the job that it means and that are on it, `None` where
/// none ever was.
///
/// # Errors
/// [`Reason::NoSuchLine`] for a recall that is not open; [`Reason::UnknownWord`] for a state
/// that is none; [`Reason::BadInput`] when the recall does not mean the job, or the state says nothing new.
pub fn call(
    draft: &mut ShopDraft,
    number: u32,
    job: u32,
    there: Option<Vec<Off>>,
    state: &str,
    note: &str,
) -> Result<(), Refusal> {
    let recall = find_recall(&draft.shop, number)?;
    let state = CallState::read(state)?;
    let before = recall.state(job);
    let Some(there) = there else {
        return Err(bad(
            "job",
            &format!(
                "recall {number} ({}) means no piece that is or was on job {job}",
                recall.name
            ),
        )
        .hint(format!("`lockring recall show {number}` lists whom it means")));
    };
    // Another piece that came since is another matter.
    let last = recall.calls.get(&job).and_then(|calls| calls.last());
    let is_same = last.is_none_or(|call| call.there.as_ref().is_none_or(|then| *then == there));
    if is_same && state == before && note.trim().is_empty() {
        return Err(bad(
            "state",
            &format!(
                "job {job} is {} already; expected another state or some words",
                state.word()
            ),
        ));
    }
    draft.say(format!("job {job}: {}, {} before", state.word(), before.word()));
    draft.push(ShopEvent::RecallCalled {
        number,
        job,
        state,
        note: length::words("the note", note)?,
        there: Some(there),
    });
    Ok(())
}

/// A recall by its number.
///
/// # Errors
/// [`Reason::NoSuchLine`] naming those there are.
pub fn find_recall(shop: &Shop, number: u32) -> Result<&Recall, Refusal> {
    shop.recalls.get(&number).ok_or_else(|| {
        let refusal =
            Refusal::new(Reason::NoSuchLine, format!("there is no recall {number}")).with("recall", number);
        let known: Vec<String> = shop
            .recalls
            .iter()
            .map(|(number, recall)| format!("{number} ({})", recall.name))
            .collect();
        match known.as_slice() {
            [] => refusal.hint("open one with `lockring recall open NAME MARK --why …`"),
            known => refusal.hint(format!("there are {}", known.join(", "))),
        }
    })
}

fn bad(field: &str, message: &str) -> Refusal {
    Refusal::new(Reason::BadInput, message).with("field", field)
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;

    use super::*;

    fn draft() -> ShopDraft {
        let origin = crate::origin::Origin {
            by: "K".into(),
            terminal: "bench".into(),
            made: Timestamp::UNIX_EPOCH,
        };
        ShopDraft::new(Shop::default(), 0, origin)
    }

    #[test]
    fn a_recall_is_opened_with_name_reason_and_pieces_and_worked_through_by_job() {
        let zone = TimeZone::UTC;
        let find = || FindText {
            marks: vec!["PK*".into()],
            ..FindText::default()
        };
        let mut draft = draft();
        for (name, why, find) in [
            (" ", "notice", find()),
            ("packs", "", find()),
            ("packs", "notice", FindText::default()),
        ] {
            let refusal = open(&mut draft, name, why, find, &[], &zone).unwrap_err();
            assert_eq!(refusal.reason, Reason::BadInput);
        }
        let none = find_recall(&draft.shop, 1).unwrap_err();
        assert!(none.hint.unwrap().contains("recall open"));
        open(&mut draft, "packs", "notice", find(), &[], &zone).unwrap();
        open(&mut draft, "motors", "notice", find(), &[], &zone).unwrap();
        let said = draft.said.join("; ");
        assert!(
            said.contains("recall 2 opened: motors; it means nothing that came here"),
            "{said}"
        );
        assert!(
            said.contains("`lockring settings undo --entry 2` takes this recall back"),
            "{said}"
        );
        assert_eq!(draft.shop.recalls.keys().copied().collect::<Vec<_>>(), [1, 2]);
        let refusal = call(&mut draft, 3, 21, None, "tried", "").unwrap_err();
        assert!(refusal.hint.unwrap().contains("1 (packs), 2 (motors)"));
        let state = |draft: &ShopDraft, job| draft.shop.recalls[&1].state(job);
        // Whom the recall does not mean nobody calls.
        let refusal = call(&mut draft, 1, 9, None, "done", "").unwrap_err();
        assert!(refusal.message.contains("means no piece"), "{refusal}");
        let there = || Some(Vec::new());
        // Nothing new is said, unless in words.
        assert!(call(&mut draft, 1, 21, there(), "to-call", " ").is_err());
        call(&mut draft, 1, 21, there(), "to-call", "new number").unwrap();
        call(&mut draft, 1, 21, there(), "Reached", "").unwrap();
        assert_eq!(
            (state(&draft, 21), state(&draft, 22)),
            (CallState::Reached, CallState::ToCall)
        );
        assert!(
            draft.said.last().unwrap().contains("reached, to-call before"),
            "{:?}",
            draft.said
        );
        assert!(call(&mut draft, 1, 21, there(), "reached", "").is_err());
        assert_eq!(draft.shop.recalls[&1].calls[&21].len(), 2);
    }
}
