//! What recalls mean: pieces of a bicycle, items of the shelf.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::job::Job;
use crate::part::Slot;
use crate::private;
use crate::refusal::{Reason, Refusal};
use crate::shop::{Shop, ShopDraft};
use crate::stage::Stage;
use crate::supply::item::Item;
use crate::supply::line::Goods;
use crate::supply::piece::{Off, Piece};
use crate::supply::recall::{CallState, Find, Recall};
use crate::supply::{mark_key, supplier};

/// A recall that means pieces of a bicycle and is not done with them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recalled {
    /// The recall.
    pub recall: u32,
    /// What it is called.
    pub name: String,
    /// How far the rider is.
    pub state: CallState,
    /// Since when: the recall is open and the first of the pieces is there.
    pub since: Timestamp,
    /// The pieces that are meant, one at least.
    pub pieces: Vec<Piece>,
}

/// A recall with what it looks for.
#[derive(Debug)]
pub struct Search<'s> {
    /// Its number.
    pub number: u32,
    /// The recall.
    pub recall: &'s Recall,
    /// Which pieces.
    pub find: Find,
}

/// Every recall of the shop with what it looks for; those of [`unreadable`] look for nothing.
pub fn searches<'s>(shop: &'s Shop, zone: &'s TimeZone) -> impl Iterator<Item = Search<'s>> {
    shop.recalls.iter().filter_map(|(number, recall)| {
        let find = Find::read(&recall.find, zone).ok()?;
        Some(Search {
            number: *number,
            recall,
            find,
        })
    })
}

/// Every recall whose search cannot be read any more, by number, with the reason: it was read when the recall was opened,
/// by another version or in another time zone, and finds nothing now.
pub fn unreadable<'s>(shop: &'s Shop, zone: &'s TimeZone) -> impl Iterator<Item = (u32, String)> {
    shop.recalls.iter().filter_map(|(number, recall)| {
        let refusal = Find::read(&recall.find, zone).err()?;
        Some((*number, in_vain(*number, recall, &refusal)))
    })
}

/// That a recall finds nothing, why, and the line that opens it anew.
fn in_vain(number: u32, recall: &Recall, refusal: &Refusal) -> String {
    format!(
        "recall {number} ({}) finds NOTHING any more: what it looks for cannot be read: {}; lockring recall open NAME MARK \
         --why …",
        recall.name, refusal.message
    )
}

impl Search<'_> {
    /// What the recall says of a job; nothing of one that it does not mean, that is done with it, or whose
    /// bicycle went back as it came.
    pub fn of(&self, job: &Job) -> Option<Recalled> {
        if matches!(job.stage, Stage::Returned | Stage::Cancelled) {
            return None;
        }
        let state = |piece: &Piece| {
            let serial = piece.serial.as_deref();
            self.recall
                .state_about(job.number, &piece.goods, serial, piece.came)
        };
        let meant = |piece: &&Piece| {
            piece.left.is_none() && state(piece) != CallState::Done && self.means_piece(piece)
        };
        let pieces: Vec<Piece> = job.pieces.iter().filter(meant).cloned().collect();
        let state = pieces.iter().map(state).min()?;
        let first = pieces.iter().map(|piece| piece.came).min()?;
        Some(Recalled {
            recall: self.number,
            name: self.recall.name.clone(),
            state,
            since: first.max(self.recall.at),
            pieces,
        })
    }

    /// The pieces that are meant and were on a job at a moment, as far as they still are; `None` when none ever was on it.
    pub fn there(&self, job: &Job, then: Timestamp) -> Option<Vec<Off>> {
        let meant: Vec<&Piece> = job
            .pieces
            .iter()
            .filter(|piece| self.means_piece(piece))
            .collect();
        let there = meant
            .iter()
            .filter(|piece| piece.left.is_none() && piece.came <= then);
        (!meant.is_empty()).then(|| there.map(|piece| Off::that_came(piece)).collect())
    }

    fn means_piece(&self, piece: &Piece) -> bool {
        let marks = [&piece.serial, &piece.lot].map(Option::as_deref);
        self.means(&piece.goods, marks, piece.supplier.as_deref(), piece.came)
    }

    fn means_item(&self, item: &Item) -> bool {
        let marks = [&item.serial, &item.lot].map(Option::as_deref);
        self.means(&item.goods, marks, item.supplier.as_deref(), item.came)
    }

    /// Whether goods with this serial and lot are meant, as the store's tables say it.
    fn means(&self, goods: &Goods, marks: [Option<&str>; 2], from: Option<&str>, came: Timestamp) -> bool {
        let find = &self.find;
        let [serial, lot] = marks.map(|mark| mark.map(mark_key));
        let from = from.map(supplier::key);
        find.supplier
            .as_ref()
            .is_none_or(|wanted| Some(wanted) == from.as_ref())
            && find.part.as_ref().is_none_or(|part| *part == goods.part)
            && (find.since..find.before).contains(&came)
            && find.means(serial.as_deref(), lot.as_deref())
    }

    /// The recall in words: `recall 1 (cells overheat)`.
    fn words(&self) -> String {
        format!("recall {} ({})", self.number, self.recall.name)
    }
}

impl Recalled {
    /// The pieces in words: `pack PK-1, charger`.
    pub fn pieces_in_words(&self) -> String {
        let words = |piece: &Piece| match piece.serial.as_ref().or(piece.lot.as_ref()) {
            Some(mark) => format!("{} {mark}", piece.slot.word()),
            None => piece.slot.word().to_owned(),
        };
        self.pieces.iter().map(words).collect::<Vec<_>>().join(", ")
    }

    /// Both ways on for a job in the shop, as commands.
    pub fn way_out(&self, job: u32) -> String {
        let slot = self.pieces.first().map_or("SLOT", |piece| piece.slot.word());
        format!(
            "send it back with `lockring return {job} {slot} on --why \"recall {}\"`, or, once it is found to be none of those meant, `{} WORDS`",
            self.recall,
            self.noted(job, CallState::Done)
        )
    }

    /// The line that notes how far the rider of a job is.
    pub fn noted(&self, job: u32, state: CallState) -> String {
        format!("lockring recall call {} {job} {}", self.recall, state.word())
    }

    /// The pieces and the recall in words: `recall 1 (cells overheat) means pack PK-1`.
    pub fn words(&self) -> String {
        format!(
            "recall {} ({}) means {}",
            self.recall,
            self.name,
            self.pieces_in_words()
        )
    }
}

/// Says of words that hold the rider's name that they stay: they stand in the shop's history, which a removal of the
/// rider does not reach.
pub fn say_what_stays(draft: &mut ShopDraft, rider: &str, note: &str) {
    if private::holds(note, rider) {
        draft.say(
            "the words hold the rider's name: they stay in the shop's history, also when the rider is removed; the job's number \
             says who is meant",
        );
    }
}

/// What the shop's recalls say of a bicycle.
pub fn on_job(shop: &Shop, zone: &TimeZone, job: &Job) -> Vec<Recalled> {
    searches(shop, zone).filter_map(|search| search.of(job)).collect()
}

/// The recalls that mean an item of the shelf, in words.
pub fn on_item(shop: &Shop, zone: &TimeZone, item: &Item) -> Vec<String> {
    let meant = searches(shop, zone).filter(|search| search.means_item(item));
    meant.map(|search| search.words()).collect()
}

/// A word on each recall that means what just came for a slot.
pub(crate) fn on_arrival(shop: &Shop, zone: &TimeZone, job: &Job, slot: Slot) -> Vec<String> {
    on_job(shop, zone, job)
        .iter()
        .filter(|recalled| recalled.pieces.iter().any(|piece| piece.slot == slot))
        .map(|recalled| {
            format!(
                "{}: set it aside, neither charge nor ride it; lockring recall show {} says why",
                recalled.words(),
                recalled.recall
            )
        })
        .collect()
}

/// The recall that lets a bicycle no further: with a recalled piece on it, it is neither ridden nor handed over. Where parts
/// are still to come it may go on.
pub fn holding<'s>(mut searches: impl Iterator<Item = &'s Search<'s>>, job: &Job) -> Option<Recalled> {
    if !matches!(job.stage, Stage::Fitting | Stage::TestRide | Stage::Handover) {
        return None;
    }
    searches.find_map(|search| search.of(job))
}

/// Refuses to let a bicycle go on that a recall holds.
///
/// # Errors
/// [`Reason::Recalled`] from the fitting's gate on, naming the pieces and both ways out.
pub(crate) fn refuse_to_go_on(shop: &Shop, zone: &TimeZone, job: &Job) -> Result<(), Refusal> {
    let searches: Vec<Search<'_>> = searches(shop, zone).collect();
    let Some(recalled) = holding(searches.iter(), job) else {
        return Ok(());
    };
    let number = job.number;
    Err(Refusal::new(
        Reason::Recalled,
        format!("{}: job {number} goes no further with it", recalled.words()),
    )
    .with("job", number)
    .with("recall", recalled.recall)
    .hint(recalled.way_out(number)))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::supply::recall::FindText;

    #[test]
    fn words_with_the_rider_s_name_are_said_to_stay() {
        let origin = crate::origin::Origin {
            by: "K".into(),
            terminal: "bench".into(),
            made: Timestamp::UNIX_EPOCH,
        };
        let mut draft = ShopDraft::new(Shop::default(), 0, origin);
        say_what_stays(&mut draft, "Ines H.", "nobody at home");
        assert!(draft.said.is_empty(), "{:?}", draft.said);
        say_what_stays(&mut draft, "Ines H.", "Ines not at home");
        assert!(draft.said[0].contains("they stay in the shop's history"));
    }

    #[test]
    fn a_recall_whose_search_cannot_be_read_is_named_and_not_passed_over() {
        let recall = |mark: &str| Recall {
            name: "cells overheat".into(),
            why: "maker's notice".into(),
            find: FindText {
                marks: vec![mark.into()],
                ..FindText::default()
            },
            at: Timestamp::UNIX_EPOCH,
            calls: BTreeMap::new(),
        };
        let mut shop = Shop::default();
        shop.recalls.insert(1, recall("PK*"));
        assert_eq!(unreadable(&shop, &TimeZone::UTC).count(), 0);
        // No mark that is taken today: a star within it.
        shop.recalls.insert(2, recall("P*K"));
        let numbers: Vec<u32> = searches(&shop, &TimeZone::UTC)
            .map(|search| search.number)
            .collect();
        assert_eq!(numbers, [1]);
        let told: Vec<(u32, String)> = unreadable(&shop, &TimeZone::UTC).collect();
        assert_eq!(told.len(), 1);
        assert!(
            told[0].0 == 2
                && told[0]
                    .1
                    .starts_with("recall 2 (cells overheat) finds NOTHING any more: "),
            "{told:?}"
        );
    }
}
