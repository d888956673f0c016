//! Pieces that leave a job: which one is meant, where one may go that was taken off, and what was
//! seen on it when it came.

use crate::entry::{self, Entry};
use crate::job::Job;
use crate::part::Slot;
use crate::receipt::Receipt;
use crate::refusal::{Reason, Refusal};
use crate::stage::Stage;
use crate::supply::mark_key;
use crate::supply::piece::{Off, Piece};

/// The words for the one in the slot and for the one that was taken off it.
const ON: &str = "on";
const OFF: &str = "off";

/// Which piece of a slot is meant by a serial, the id of its part, `on` or `off`; by nothing when
/// there is but one. `None` is the one in the slot, which a rider takes along at handover.
///
/// # Errors
/// [`Reason::SlotEmpty`] when there is none that may leave, [`Reason::BadInput`] when it may be more
/// than one.
pub fn which(job: &Job, slot: Slot, word: &str, nothing: &str) -> Result<Option<Off>, Refusal> {
    let (number, word) = (job.number, word.trim());
    let here = job.piece(slot).filter(|_| job.stage != Stage::HandedOver);
    let mut loose: Vec<Off> = Vec::new();
    for off in job.loose().filter(|piece| piece.slot == slot).map(Off::from) {
        // Two that nothing tells apart are as good as one.
        if !loose.contains(&off) {
            loose.push(off);
        }
    }
    if here.is_none() && loose.is_empty() {
        return Err(Refusal::new(
            Reason::SlotEmpty,
            format!(
                "job {number} has no {} that came: there is nothing to {nothing}",
                slot.word()
            ),
        )
        .with("slot", slot.word())
        .hint(format!("`lockring show {number}` lists what is here")));
    }
    let all = || {
        let on = here.map(|piece| format!("{} on the bicycle", Off::from(piece).mark()));
        let off = loose
            .iter()
            .map(|off| format!("{} that was taken off", off.mark()));
        on.into_iter().chain(off).collect::<Vec<_>>().join(", ")
    };
    let is = |off: &Off| {
        off.part == word
            || off
                .serial
                .as_ref()
                .is_some_and(|serial| mark_key(serial) == mark_key(word))
    };
    let here_too = here.map(Off::from);
    let mut meant: Vec<Option<Off>> = match word {
        "" => here.map(|_| None).into_iter().collect(),
        ON => here.map(|_| None).into_iter().collect(),
        OFF => Vec::new(),
        _ => here_too.iter().filter(|off| is(off)).map(|_| None).collect(),
    };
    if word != ON {
        let those = loose
            .iter()
            .filter(|off| word.is_empty() || word == OFF || is(off));
        meant.extend(those.cloned().map(Some));
    }
    match meant.as_slice() {
        [one] => Ok(one.clone()),
        [] => Err(Refusal::new(
            Reason::SlotEmpty,
            format!("job {number} has no {} {word}; it has {}", slot.word(), all()),
        )
        .with("slot", slot.word())
        .with("given", word)),
        _ => Err(Refusal::new(
            Reason::BadInput,
            format!("job {number} has more than one {}: {}", slot.word(), all()),
        )
        .with("slot", slot.word())
        .with("field", "piece")
        .hint(format!(
            "name it behind the slot: its serial, the id of its part, `{ON}` or `{OFF}`"
        ))),
    }
}

/// How a piece that lies loose is named in a command: by its serial, or by its part.
pub(super) fn typed(off: &Off) -> String {
    let mark = off.mark();
    let plain = |letter: char| letter.is_alphanumeric() || "-_./".contains(letter);
    if mark.chars().all(plain) && !mark.starts_with('-') {
        mark.to_owned()
    } else {
        format!("\"{}\"", mark.replace('"', ""))
    }
}

/// What is asked of a piece that was taken off: where it goes.
pub fn ask(job: u32, piece: &Piece) -> String {
    let slot = piece.slot.word();
    let off = Off::from(piece);
    let mark = match &piece.serial {
        Some(serial) => format!("{}, {serial}", piece.goods.name),
        None => piece.goods.name.clone(),
    };
    let which = typed(&off);
    format!(
        "the {slot} before it ({mark}) is off the job: where does it go? `lockring shelf put {job} {slot} {which} --why …`, \
         `lockring return {job} {slot} {which} --why …` or `lockring shelf scrap {job} {slot} {which} --why …`"
    )
}

/// What the last receipt of a piece said while it was on the job; `place` is its place among the
/// pieces of the job that these entries fold into.
pub fn last_receipt(entries: &[Entry], place: usize) -> Option<Receipt> {
    let gone = entry::retracted(entries);
    let mut job = Job::begin(entries.first()?).ok()?;
    let mut last = None;
    for entry in entries.iter().skip(1).filter(|entry| !gone.contains(&entry.seq)) {
        job.take(entry.seq, &entry.origin, &entry.event);
        let there = job.pieces.get(place).filter(|piece| piece.left.is_none());
        let line = there.and_then(|piece| job.build.get(&piece.slot));
        if let Some(receipt) = line.and_then(|line| line.receipt.as_ref()) {
            last = Some(receipt.clone());
        }
    }
    last
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_is_named_as_it_can_be_typed() {
        let off = |serial: &str| Off {
            part: "ring-36-2".into(),
            serial: Some(serial.to_owned()),
        };
        assert_eq!(typed(&off("P7")), "P7");
        assert_eq!(typed(&off("P 7")), "\"P 7\"");
        let unmarked = Off {
            serial: None,
            ..off("")
        };
        assert_eq!(typed(&unmarked), "ring-36-2");
    }
}
