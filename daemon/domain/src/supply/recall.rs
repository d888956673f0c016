//! Recalls: which pieces are meant, where they are, and whom to call.

use std::borrow::Cow;
use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use crate::nearest::nearest;
use crate::part::Slot;
use crate::refusal::{Reason, Refusal};
use crate::stage::Stage;
use crate::supply::line::Goods;
use crate::supply::piece::{Left, Off};
use crate::supply::{mark_key, supplier};

/// Which pieces are looked for, as typed; kept with a recall so that it can be asked again.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct FindText {
    /// Marks: a serial or lot, `PREFIX*`, or `FIRST..LAST`; none for all.
    pub marks: Vec<String>,
    /// Supplier; empty for all.
    pub supplier: String,
    /// Id of the part; empty for all.
    pub part: String,
    /// First day on which it came.
    pub since: Option<Date>,
    /// Last day on which it came.
    pub until: Option<Date>,
}

/// A mark that is looked for, by its key with short dashes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Mark {
    /// A serial or lot.
    Whole(String),
    /// All that begin with it.
    Prefix(String),
    /// From one serial to another, both counted: the same letters before, numbers between.
    Range {
        /// What both begin with.
        head: String,
        /// First number.
        first: u128,
        /// Last number.
        last: u128,
    },
}

/// Dashes that stand for the hyphen of a label where a text was set: hyphens, figure, en and em dash, horizontal bar, minus.
const LONG_DASHES: [char; 7] = [
    '\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}', '\u{2014}', '\u{2015}', '\u{2212}',
];

/// Which pieces are looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Find {
    /// Any of these; all pieces when there is none.
    pub marks: Vec<Mark>,
    /// Key of the supplier.
    pub supplier: Option<String>,
    /// Id of the part.
    pub part: Option<String>,
    /// Came at or after.
    pub since: Timestamp,
    /// Came before.
    pub before: Timestamp,
}

impl Find {
    /// Reads what was typed; days are those of the shop's clock.
    ///
    /// # Errors
    /// [`Reason::BadInput`] for nothing at all, a range that is none, or days that are no span.
    pub fn read(text: &FindText, zone: &TimeZone) -> Result<Self, Refusal> {
        let given = |text: &str| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
        let find = Self {
            marks: text
                .marks
                .iter()
                .map(|mark| Mark::read(mark))
                .collect::<Result<_, _>>()?,
            supplier: given(&text.supplier).map(|name| supplier::key(&name)),
            part: given(&text.part),
            since: text.since.map_or(Ok(Timestamp::MIN), |day| start(day, zone))?,
            before: text.until.map_or(Ok(Timestamp::MAX), |day| {
                start(day.tomorrow().unwrap_or(day), zone)
            })?,
        };
        if find.before <= find.since {
            return Err(bad(
                "until",
                "the last day is before the first; expected --since DAY --until a later DAY",
            ));
        }
        let narrows = !find.marks.is_empty() || find.supplier.is_some() || find.part.is_some();
        if !narrows && text.since.is_none() && text.until.is_none() {
            return Err(bad(
                "marks",
                "nothing to look for; expected a lot or serial, `PREFIX*`, `FIRST..LAST`, a supplier, a part or days, for example `lockring lot PK-2511-C`",
            ));
        }
        Ok(find)
    }

    /// Whether a piece with these keys is meant, as far as marks go.
    pub fn means(&self, serial: Option<&str>, lot: Option<&str>) -> bool {
        self.marks.is_empty()
            || self.marks.iter().any(|mark| {
                let [serial, lot] = [serial, lot].map(|key| key.is_some_and(|key| mark.means(key)));
                serial || lot
            })
    }
}

fn start(day: Date, zone: &TimeZone) -> Result<Timestamp, Refusal> {
    day.to_zoned_datetime(zone.clone())
        .map(|start| start.timestamp())
        .map_err(|error| bad("since", &format!("{day} is outside the calendar: {error}")))
}

impl Mark {
    /// Reads a mark as typed.
    ///
    /// # Errors
    /// [`Reason::BadInput`] for a range whose ends do not belong together.
    pub fn read(text: &str) -> Result<Self, Refusal> {
        let key = mark_key(text);
        let key = short_dashes(&key);
        if let Some((first, last)) = key.split_once("..") {
            return Self::range(text, first, last);
        }
        if let Some(head) = key.strip_suffix('*') {
            if head.is_empty() || head.contains('*') {
                return Err(bad(
                    "marks",
                    &format!("`{text}` is no beginning; expected one such as `PK-2511*`"),
                ));
            }
            return Ok(Self::Prefix(head.to_owned()));
        }
        if key.is_empty() || key.contains('*') {
            return Err(bad(
                "marks",
                &format!("`{text}` is no mark; expected a lot or serial, `PREFIX*` or `FIRST..LAST`"),
            ));
        }
        Ok(Self::Whole(key.into_owned()))
    }

    fn range(text: &str, first: &str, last: &str) -> Result<Self, Refusal> {
        let wrong = |problem: &str| {
            bad(
                "marks",
                &format!("`{text}` {problem}; expected two serials such as `A40100..A40250`"),
            )
        };
        let (head, from) =
            numbered(first).ok_or_else(|| wrong("does not begin with a serial that ends in a number"))?;
        // `A40100..250` leaves out what both begin with.
        let (other, to) =
            numbered(last).ok_or_else(|| wrong("does not end with a serial that ends in a number"))?;
        if !other.is_empty() && other != head {
            return Err(wrong("has ends that begin differently"));
        }
        if to < from {
            return Err(wrong("runs backwards"));
        }
        Ok(Self::Range {
            head: head.to_owned(),
            first: from,
            last: to,
        })
    }

    /// Whether a key is meant, whatever dashes it was typed with.
    pub fn means(&self, key: &str) -> bool {
        let key = short_dashes(key);
        match self {
            Self::Whole(whole) => key == *whole,
            Self::Prefix(head) => key.starts_with(head.as_str()),
            Self::Range { head, first, last } => numbered(&key)
                .is_some_and(|(other, number)| other == head && (*first..=*last).contains(&number)),
        }
    }

    /// What every key that is meant and has short dashes there begins with, and whether that is the whole key;
    /// the others begin as [`Self::begins_long`] says.
    pub fn begins(&self) -> (&str, bool) {
        match self {
            Self::Whole(key) => (key, true),
            Self::Prefix(head) | Self::Range { head, .. } => (head, false),
        }
    }

    /// What keys that are meant begin with when they were typed with a long dash where the mark has a
    /// short one: each first long dash there can be. Not every key that begins so is meant.
    pub fn begins_long(&self) -> Vec<String> {
        let (begins, _) = self.begins();
        let hyphens = begins.match_indices('-');
        hyphens
            .flat_map(|(at, _)| LONG_DASHES.map(|dash| format!("{}{dash}", &begins[..at])))
            .collect()
    }
}

/// A key with the short dash of a label for every long one.
fn short_dashes(key: &str) -> Cow<'_, str> {
    let is_long = |sign: char| LONG_DASHES.contains(&sign);
    if key.is_ascii() || !key.contains(is_long) {
        return Cow::Borrowed(key);
    }
    Cow::Owned(key.replace(is_long, "-"))
}

/// What a serial begins with and the number it ends in; `None` without a number.
fn numbered(key: &str) -> Option<(&str, u128)> {
    let head = key.trim_end_matches(|letter: char| letter.is_ascii_digit());
    let number = key[head.len()..].parse().ok()?;
    Some((head, number))
}

/// A piece that is meant, and where it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The part.
    pub goods: Goods,
    /// Serial number.
    pub serial: Option<String>,
    /// Lot mark.
    pub lot: Option<String>,
    /// Who delivered it.
    pub supplier: Option<String>,
    /// When it came there.
    pub came: Timestamp,
    /// Where.
    pub at: Spot,
    /// How it left there; `None` while it is there.
    pub left: Option<Left>,
}

/// A place where pieces are.
#[derive(Debug, Clone, PartialEq)]
pub enum Spot {
    /// On a job.
    Job(Bearer),
    /// On the shelf.
    Shelf {
        /// The item.
        item: u64,
        /// How many.
        count: u32,
    },
}

/// A job with a piece on it, as a recall needs it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bearer {
    /// The job.
    pub job: u32,
    /// The slot.
    pub slot: Slot,
    /// Rider's name.
    pub rider: String,
    /// Whether the rider was removed: a text stands for the name then, and for the contact.
    pub is_removed: bool,
    /// How the rider is reached; empty when nobody said.
    pub contact: String,
    /// Where the job stands.
    pub stage: Stage,
    /// Since when.
    pub since: Timestamp,
}

/// Where a piece is, in the order in which a recall is worked through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Whereabouts {
    /// On a bicycle its rider has.
    HandedOver,
    /// On a bicycle in the shop.
    Bench,
    /// On a job that ended without a handover.
    Ended,
    /// On the shelf.
    Shelf,
    /// Taken off a job; it lies in the shop, or nobody said where it went.
    Swapped,
    /// Thrown away.
    Scrapped,
    /// Back at the supplier.
    Returned,
    /// Put onto the shelf, or on the job again, since: its item or its later piece says the rest.
    Moved,
}

impl Whereabouts {
    /// The word people and programs read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::HandedOver => "handed-over",
            Self::Bench => "bench",
            Self::Ended => "ended",
            Self::Shelf => "shelf",
            Self::Swapped => "swapped",
            Self::Scrapped => "scrapped",
            Self::Returned => "returned",
            Self::Moved => "moved",
        }
    }
}

impl Found {
    /// Where it is.
    pub fn whereabouts(&self) -> Whereabouts {
        use super::piece::Fate;
        match (&self.left, &self.at) {
            (Some(left), _) => match left.fate {
                Fate::Swapped | Fate::Gone => Whereabouts::Swapped,
                Fate::Scrapped => Whereabouts::Scrapped,
                Fate::Returned => Whereabouts::Returned,
                Fate::PutBack | Fate::Refitted => Whereabouts::Moved,
            },
            (None, Spot::Shelf { .. }) => Whereabouts::Shelf,
            (None, Spot::Job(bearer)) => match bearer.stage {
                Stage::HandedOver => Whereabouts::HandedOver,
                stage if stage.is_end() => Whereabouts::Ended,
                _ => Whereabouts::Bench,
            },
        }
    }
}

/// How many pieces are where, without those that moved on and are counted there.
pub fn places(pieces: &[Found]) -> BTreeMap<Whereabouts, u32> {
    let mut counts: BTreeMap<Whereabouts, u32> = BTreeMap::new();
    for piece in pieces
        .iter()
        .filter(|piece| piece.whereabouts() != Whereabouts::Moved)
    {
        let count = match piece.at {
            Spot::Job(_) => 1,
            Spot::Shelf { count, .. } => count,
        };
        *counts.entry(piece.whereabouts()).or_default() += count;
    }
    counts
}

/// A recall the shop works through.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recall {
    /// What it is called.
    pub name: String,
    /// Why, with the notice it rests on.
    pub why: String,
    /// Which pieces.
    pub find: FindText,
    /// When it was opened.
    pub at: Timestamp,
    /// Calls by job, oldest first.
    pub calls: BTreeMap<u32, Vec<Call>>,
}

/// A step of a call sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Call {
    /// What it came to.
    pub state: CallState,
    /// In words.
    pub note: String,
    /// By whom.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// The pieces that are meant and were on the job then; `None` where an earlier version did not write it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub there: Option<Vec<Off>>,
}

/// How far a rider is with a recall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CallState {
    /// Nobody called yet.
    ToCall,
    /// Called or written to, without an answer.
    Tried,
    /// The rider knows and has stopped using it.
    Reached,
    /// The part was looked at.
    Inspected,
    /// Replaced, or found to be none of those meant.
    Done,
}

impl CallState {
    /// All states, in order.
    pub const ALL: [Self; 5] = [
        Self::ToCall,
        Self::Tried,
        Self::Reached,
        Self::Inspected,
        Self::Done,
    ];

    /// The word people type and read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::ToCall => "to-call",
            Self::Tried => "tried",
            Self::Reached => "reached",
            Self::Inspected => "inspected",
            Self::Done => "done",
        }
    }

    /// Reads a state from its word.
    ///
    /// # Errors
    /// [`Reason::UnknownWord`] with the nearest ones.
    pub fn read(word: &str) -> Result<Self, Refusal> {
        let words = Self::ALL.map(Self::word);
        let found = Self::ALL
            .into_iter()
            .find(|state| state.word() == word.to_lowercase());
        found.ok_or_else(|| {
            let near = nearest(&word.to_lowercase(), words);
            Refusal::unknown(
                "state of a call",
                word,
                &near,
                &format!("the states are {}", words.join(", ")),
            )
        })
    }
}

impl Recall {
    /// The last call to a job's rider.
    fn last_call(&self, job: u32) -> Option<&Call> {
        self.calls.get(&job).and_then(|calls| calls.last())
    }

    /// How far a job's rider is.
    pub fn state(&self, job: u32) -> CallState {
        self.last_call(job).map_or(CallState::ToCall, |call| call.state)
    }

    /// How far a job's rider is about a piece that came to it at a moment: done is done with what was there then,
    /// whatever time a later piece is said to have come at.
    pub fn state_about(&self, job: u32, goods: &Goods, serial: Option<&str>, came: Timestamp) -> CallState {
        let was_there = |call: &&Call| match &call.there {
            Some(there) => there.iter().any(|off| off.is_of(&goods.part, serial, came)),
            None => came <= call.at,
        };
        self.last_call(job)
            .filter(|call| call.state != CallState::Done || was_there(call))
            .map_or(CallState::ToCall, |call| call.state)
    }

    /// How far a job's rider is about all that is found on it; with the call alone where nothing is on it any more.
    pub fn state_of(&self, job: u32, found: &[Found]) -> CallState {
        let on_it = |piece: &&Found| {
            piece.left.is_none() && matches!(&piece.at, Spot::Job(bearer) if bearer.job == job)
        };
        let on_it = found.iter().filter(on_it);
        let states =
            on_it.map(|piece| self.state_about(job, &piece.goods, piece.serial.as_deref(), piece.came));
        states.min().unwrap_or_else(|| self.state(job))
    }
}

fn bad(field: &str, message: &str) -> Refusal {
    Refusal::new(Reason::BadInput, message).with("field", field)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn mark(text: &str) -> Mark {
        Mark::read(text).unwrap()
    }

    #[test]
    fn a_mark_is_whole_a_beginning_or_a_range() {
        assert!(mark("pk-2511-c").means("PK-2511-C") && !mark("pk-2511").means("PK-2511-C"));
        assert!(mark("PK 2511*").means("PK2511-C"));
        let range = mark("A099..A101");
        for (key, meant) in [
            ("A99", true),
            ("A100", true),
            ("A0101", true),
            ("A102", false),
            ("B100", false),
            ("A", false),
        ] {
            assert_eq!(range.means(key), meant, "{key}");
        }
        assert_eq!(mark("a40100..250000"), mark("A40100..A250000"));
        for wrong in ["", "*", "a*b", "A..B", "A5..A4", "A5..B6", "..", "A1.."] {
            assert_eq!(Mark::read(wrong).unwrap_err().reason, Reason::BadInput, "{wrong}");
        }
    }

    /// A notice is set with long dashes, a label was pasted with them: neither may hide a piece.
    #[test]
    fn long_and_short_dashes_are_one() {
        let long = "PK\u{2013}2511\u{2212}C";
        for (typed, key) in [
            ("pk-2511-c", long),
            (long, "PK-2511-C"),
            ("PK\u{2014}2511*", long),
        ] {
            assert!(mark(typed).means(key), "{typed} {key}");
        }
        let mixed = mark("A\u{2013}1..A-9");
        assert_eq!(mixed, mark("A-1..A-9"));
        assert!(mixed.means("A\u{2010}5") && mixed.means("A-9") && !mixed.means("A5"));
        let begins = mark(long).begins_long();
        assert!(begins.contains(&"PK\u{2013}".to_owned()) && begins.contains(&"PK-2511\u{2212}".to_owned()));
        assert_eq!((begins.len(), mark("PK*").begins_long()), (14, Vec::new()));
    }

    #[test]
    fn a_search_says_what_it_is_for() {
        let zone = TimeZone::UTC;
        assert!(
            Find::read(&FindText::default(), &zone)
                .unwrap_err()
                .message
                .contains("lockring lot")
        );
        let mut days = FindText {
            since: Some(date(2026, 3, 2)),
            until: Some(date(2026, 3, 2)),
            ..FindText::default()
        };
        let find = Find::read(&days, &zone).unwrap();
        assert_eq!((find.before.as_second() - find.since.as_second()), 86_400);
        assert!(find.means(None, None));
        days.until = Some(date(2026, 3, 1));
        assert!(Find::read(&days, &zone).is_err());
        let both = FindText {
            marks: vec!["A1".into(), "L*".into()],
            ..FindText::default()
        };
        let both = Find::read(&both, &zone).unwrap();
        assert!(
            both.means(Some("A1"), None) && both.means(Some("X"), Some("L9")) && !both.means(Some("X"), None)
        );
    }

    #[test]
    fn what_is_looked_up_begins_with_what_the_mark_begins_with() {
        assert_eq!(mark("A1").begins(), ("A1", true));
        assert_eq!(mark("PK*").begins(), ("PK", false));
        assert_eq!(mark("A099..A101").begins(), ("A", false));
    }

    #[test]
    fn a_piece_is_where_it_is_now_or_where_it_went() {
        use crate::part::PartKind;
        use crate::supply::piece::Fate;
        let found = |at: Spot, fate: Option<Fate>| Found {
            goods: Goods {
                part: "pack".into(),
                kind: PartKind::Pack,
                name: "pack".into(),
            },
            serial: None,
            lot: None,
            supplier: None,
            came: Timestamp::UNIX_EPOCH,
            at,
            left: fate.map(|fate| Left {
                at: Timestamp::UNIX_EPOCH,
                fate,
                why: "x".into(),
            }),
        };
        let on = |stage: Stage| {
            Spot::Job(Bearer {
                job: 21,
                slot: Slot::Pack,
                rider: "R".into(),
                is_removed: false,
                contact: String::new(),
                stage,
                since: Timestamp::UNIX_EPOCH,
            })
        };
        for stage in Stage::GATED {
            assert_eq!(found(on(stage), None).whereabouts(), Whereabouts::Bench);
        }
        for (stage, fate, at) in [
            (Stage::HandedOver, None, Whereabouts::HandedOver),
            (Stage::Returned, None, Whereabouts::Ended),
            (Stage::Cancelled, None, Whereabouts::Ended),
            (Stage::HandedOver, Some(Fate::Swapped), Whereabouts::Swapped),
            (Stage::HandedOver, Some(Fate::Returned), Whereabouts::Returned),
            (Stage::Fitting, Some(Fate::PutBack), Whereabouts::Moved),
            (Stage::Fitting, Some(Fate::Refitted), Whereabouts::Moved),
            (Stage::HandedOver, Some(Fate::Gone), Whereabouts::Swapped),
            (Stage::Cancelled, Some(Fate::Scrapped), Whereabouts::Scrapped),
        ] {
            assert_eq!(found(on(stage), fate).whereabouts(), at);
        }
        let shelf = Spot::Shelf { item: 1, count: 2 };
        assert_eq!(found(shelf, None).whereabouts(), Whereabouts::Shelf);
    }
}
