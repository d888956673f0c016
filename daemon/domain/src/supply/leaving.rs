//! Pieces that leave a job: which one is meant, where one may go that was taken off, and what was
//! seen on it when it came.

use crate::entry::{self, Entry};
use crate::job::Job;
use crate::money::Money;
use crate::part::Slot;
use crate::receipt::Receipt;
use crate::refusal::{Reason, Refusal};
use crate::shell_word::quoted;
use crate::stage::Stage;
use crate::supply::line::OrderLine;
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
    let loose = taken_off(job, slot);
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
        let off = loose.iter().map(|loose| {
            let off = &loose.off;
            match loose.number {
                Some(number) => format!(
                    "{} that was taken off ({OFF}{number}: {})",
                    off.mark(),
                    loose.origin
                ),
                None => format!("{} that was taken off", off.mark()),
            }
        });
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
        let numbered = |loose: &Loose| {
            let number = word
                .strip_prefix(OFF)
                .and_then(|number| number.parse::<usize>().ok());
            number.is_some() && number == loose.number
        };
        let those = loose
            .iter()
            .filter(|loose| word.is_empty() || word == OFF || is(&loose.off) || numbered(loose));
        meant.extend(those.map(|loose| Some(loose.off.clone())));
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
            "name it behind the slot: its serial, the id of its part, `{ON}` or `{OFF}`{}",
            if loose.iter().any(|loose| loose.number.is_some()) {
                ", with the number given here where several are off"
            } else {
                ""
            }
        ))),
    }
}

/// One of the pieces that were taken off a slot.
struct Loose {
    off: Off,
    /// Which of those with the same marks it is, from 1, the oldest first; `None` where it is the only one.
    number: Option<usize>,
    /// Where it came from, in words.
    origin: String,
}

/// The pieces that were taken off a slot. Two that nothing tells apart are as good as one; where only who delivered them does,
/// or what the shelf knew of one, they are numbered.
fn taken_off(job: &Job, slot: Slot) -> Vec<Loose> {
    let mut pieces: Vec<&Piece> = Vec::new();
    let alike = |one: &Piece, other: &Piece| {
        Off::from(one) == Off::from(other)
            && (&one.supplier, &one.lot, one.item) == (&other.supplier, &other.lot, other.item)
    };
    for piece in job.loose().filter(|piece| piece.slot == slot) {
        if !pieces.iter().any(|known| alike(known, piece)) {
            pieces.push(piece);
        }
    }
    let all = pieces.iter().enumerate().map(|(place, piece)| {
        let off = Off::from(*piece);
        let same = |other: &&&Piece| Off::from(**other) == off;
        let is_alone = pieces.iter().filter(same).count() == 1;
        let before = pieces.get(..place).unwrap_or_default();
        let origin = match (piece.item, &piece.supplier) {
            (Some(item), _) => format!("from the shelf, item {item}"),
            (None, Some(supplier)) => format!("from {supplier}"),
            (None, None) => "of unknown origin".to_owned(),
        };
        Loose {
            number: (!is_alone).then(|| before.iter().filter(same).count() + 1),
            off: Off {
                came: (!is_alone).then_some(piece.came),
                ..off
            },
            origin,
        }
    });
    all.collect()
}

/// What names a piece that was taken off in a command, so that no other is meant.
pub(super) fn word_for(job: &Job, piece: &Piece) -> String {
    let mark = Off::from(piece).mark().to_owned();
    let numbers = (1..=job.loose().count()).map(|number| format!("{OFF}{number}"));
    let mut words = [mark, OFF.to_owned()].into_iter().chain(numbers);
    let means = |word: &String| matches!(which(job, piece.slot, word, ""), Ok(Some(off)) if off.means(piece));
    words
        .find(means)
        .map_or_else(|| OFF.to_owned(), |word| quoted(&word))
}

/// Refuses a credit beyond what was paid for what went back, or one more where nobody can tell: most often it is the one
/// before again. `what` names the line; the answer says what is still open of its price.
///
/// # Errors
/// [`Reason::BadInput`] with what was credited so far.
pub(crate) fn may_credit(line: &OrderLine, what: &str, amount: Money) -> Result<String, Refusal> {
    let open = line.open_credit();
    if line.may_be_credited() && open.is_none_or(|open| amount <= open) {
        return Ok(match open {
            Some(open) if open > amount => format!(", {} of its price still open", open - amount),
            _ => String::new(),
        });
    }
    let credited = line.credited;
    let message = match line.price.zip(open) {
        Some((price, open)) => format!(
            "{amount} is too much for {what}: {} went back at {price}, {credited} of it is credited; expected at most {}",
            line.returned,
            open.max(Money::ZERO)
        ),
        None => format!(
            "{credited} is credited for {what} already, and no price is on file that leaves anything open"
        ),
    };
    let hint = "if the one before was a slip, take that back; what a supplier pays beyond the price is no credit for the part";
    Err(Refusal::new(Reason::BadInput, message)
        .with("field", "amount")
        .hint(hint))
}

/// What is asked of a piece that was taken off: where it goes.
pub fn ask(job: &Job, piece: &Piece) -> String {
    let slot = piece.slot.word();
    let mark = match &piece.serial {
        Some(serial) => format!("{}, {serial}", piece.goods.name),
        None => piece.goods.name.clone(),
    };
    let which = word_for(job, piece);
    let job = job.number;
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

    /// A sample came at 0.00 and goes back: it awaits a credit, and one of any amount is taken for it, once.
    #[test]
    fn what_cost_nothing_and_went_back_may_be_credited_once() {
        let mut sample = OrderLine {
            price: Some(Money::ZERO),
            count: 1,
            ..crate::supply::line::tests::line()
        };
        sample.arrived(1, jiff::Timestamp::UNIX_EPOCH);
        sample.went_back(1, "dead on arrival");
        assert!(sample.awaits_credit() && sample.may_be_credited());
        assert_eq!(may_credit(&sample, "line 1", Money(500)).unwrap(), "");
        sample.credited = Money(500);
        assert!(sample.is_settled() && !sample.may_be_credited());
        let refusal = may_credit(&sample, "line 1", Money(500)).unwrap_err();
        assert!(
            refusal.message.contains("5.00 is credited for line 1 already"),
            "{refusal}"
        );
    }
}
