//! Changes tried on a copy of a job: a ring, a spacer, another part, another reading.

use jiff::Timestamp;

use super::{RIDE, Topic, page};
use crate::check::{Report, Verdict};
use crate::code;
use crate::command::{Desk, Typed, find_part};
use crate::entry::Event;
use crate::fact::{Fact, Provenance, Value};
use crate::field::FieldError;
use crate::job::{Facts, Job};
use crate::nearest::nearest;
use crate::origin::Origin;
use crate::part::{Part, PartKind, Slot};
use crate::refusal::{Reason, Refusal};
use crate::stage::Stage;

/// What a change that was only tried would do.
#[derive(Debug, Clone)]
pub struct Trial {
    /// What was changed, and what moved with it, a line each.
    pub changed: Vec<String>,
    /// Checks that say something else than before: before and after.
    pub differs: Vec<(Report, Report)>,
    /// The page after the change, and what the ride is then.
    pub topics: Vec<Topic>,
}

/// The page as it would be after a change; nothing is stored.
///
/// A change is `slot=part`, `code=value`, or `ring=38T` with the ring's teeth and, after a
/// hyphen, its dish in millimetres: `ring=38T-dish5`.
///
/// # Errors
/// [`Reason::UnknownWord`], [`Reason::NoSuchPart`] or [`Reason::BadInput`] naming what was
/// given and what is expected.
pub fn what_if(job: &Job, changes: &[Typed], now: Timestamp, desk: &Desk<'_>) -> Result<Trial, Refusal> {
    let looked_at = |job: &Job| [page(job, desk), super::topics(&[RIDE], job, desk)].concat();
    let before = looked_at(job);
    let mut tried = Bench::of(job, now);
    if changes.is_empty() {
        return Err(Refusal::new(
            Reason::BadInput,
            "no change given; expected at least one, for example `ring=38T-dish5,spacer=2.5mm`",
        ));
    }
    for change in changes {
        tried.apply(change, desk)?;
    }
    let topics = looked_at(&tried.job);
    let reports = |topics: Vec<Topic>| topics.into_iter().flat_map(|topic| topic.reports);
    let differs = reports(before)
        .zip(reports(topics.clone()))
        .filter(|(before, after)| says(before) != says(after))
        .collect();
    Ok(Trial {
        changed: tried.changed,
        differs,
        topics,
    })
}

/// What is shown of a report; that a finding behind it moved is no news to anybody.
fn says(report: &Report) -> (Verdict, &str) {
    (report.verdict, report.summary())
}

/// Readings that hold for another ring, cassette or chain, moved by what the part moves. All
/// others of the fitting were read on the parts that were there, such as turns back-pedalled.
const CARRIED: &[&str] = &[
    "chainline-front",
    "chainline-rear",
    "line-gap",
    "line-ring",
    "ring-gap",
    "single-cog-gap",
    "chain-links",
];

/// Readings that the dish of a ring moves.
const HANGS_ON_DISH: &[&str] = &["chainline-front", "line-gap", "ring-gap"];

/// What says where the chain runs: another value, and nobody has turned the cranks with it.
const RUN_OF_CHAIN: &[&str] = &[
    "chainline-front",
    "chainline-rear",
    "line-tube",
    "line-gap",
    "line-ring",
    "stay-length",
    "stay-longest",
    "ring-teeth",
    "cogs",
];

/// A copy of a job on which changes are tried.
pub(crate) struct Bench {
    /// The copy.
    pub(crate) job: Job,
    now: Timestamp,
    changed: Vec<String>,
}

impl Bench {
    /// A copy with nothing changed.
    pub(crate) fn of(job: &Job, now: Timestamp) -> Self {
        Self {
            job: job.clone(),
            now,
            changed: Vec::new(),
        }
    }

    /// Tries one change.
    ///
    /// # Errors
    /// As [`what_if`].
    pub(crate) fn apply(&mut self, change: &Typed, desk: &Desk<'_>) -> Result<(), Refusal> {
        let word = change.field.to_lowercase();
        // A ring that nobody stocks is typed for its slot as well as by its own word.
        let unstocked = matches!(Slot::from_word(&word), Some(Slot::Chainring))
            && is_ring(&change.text)
            && (desk.part)(&change.text).is_none();
        if word == "ring" || unstocked {
            let ring = ring(
                self.job.build.get(&Slot::Chainring).map(|line| &line.part),
                &change.text,
            )?;
            self.fit(Slot::Chainring, ring);
            return Ok(());
        }
        if let Some(slot) = Slot::from_word(&word) {
            let part = find_part(slot, &change.text, desk)?;
            self.fit(slot, part);
            return Ok(());
        }
        let row = code::find(&word).ok_or_else(|| unknown(&word))?;
        let value = row
            .read(&change.text, false)
            .map_err(|error| unreadable(row.key(), &error))?;
        if row.key() == "spacer" {
            let before = self.number("spacer").unwrap_or(0.0);
            let more = value.number().unwrap_or(before) - before;
            // Every reading that a spacer makes stale is moved by it, a millimetre for a millimetre.
            let moved: Vec<&str> = code::all()
                .filter(|row| row.moved_by.contains(&"spacer"))
                .map(code::Code::key)
                .collect();
            self.shift(more, &moved, "the spacer");
        }
        if RUN_OF_CHAIN.contains(&row.key()) && self.known(row.key()) != Some(&value) {
            self.forget(&["back-pedal"], "chain's run");
        }
        self.changed
            .push(format!("{}: {}", row.field.name, row.field.show_both(&value)));
        self.set(row.key(), value);
        Ok(())
    }

    /// Puts a part into a slot; a ring of another dish moves what hangs on it.
    fn fit(&mut self, slot: Slot, part: Part) {
        self.changed.push(format!("{}: {}", slot.word(), part.name()));
        let dish = |part: &Part| part.get("dish").and_then(Value::number);
        let before = self.job.build.get(&slot).and_then(|line| dish(&line.part));
        let less_dish = before.zip(dish(&part)).map(|(before, after)| before - after);
        let larger = slot == Slot::Chainring && self.is_larger(&part);
        let kept = self.job.facts.clone();
        let origin = Origin {
            by: "trial".into(),
            terminal: String::new(),
            made: self.now,
        };
        self.job
            .take(self.job.revision, &origin, &Event::Chosen { slot, part });
        match slot {
            Slot::Chainring | Slot::Cassette | Slot::Chain => {
                let dish_known = slot != Slot::Chainring || less_dish.is_some();
                self.carry(slot, &kept, dish_known, larger);
                self.unread(slot, &kept);
            }
            _ => self.unread(slot, &kept),
        }
        if let (Slot::Chainring, Some(outward)) = (slot, less_dish) {
            self.shift(outward, HANGS_ON_DISH, "the ring's dish");
        }
    }

    /// Whether a ring has more teeth than the one there is.
    fn is_larger(&self, ring: &Part) -> bool {
        let teeth = |part: &Part| part.get("teeth").and_then(Value::number);
        let present = match self.job.build.get(&Slot::Chainring) {
            Some(line) => teeth(&line.part),
            None => self.number("ring-teeth"),
        };
        // Teeth of one that nobody counted may be fewer.
        teeth(ring) > present
    }

    /// Takes back readings that a ring, cassette or chain leaves as they are or moves; what was
    /// ridden stays what was ridden. The links of a chain are its own, and where a ring of unknown
    /// dish runs nobody knows.
    fn carry(&mut self, slot: Slot, before: &Facts, dish_known: bool, larger: bool) {
        for (key, fact) in before {
            let ridden = code::find(key).is_some_and(|row| row.since() > Stage::Fitting);
            let own = slot == Slot::Chain && **key == *"chain-links";
            // A larger ring reaches further back along a stay whose run nobody measured.
            let lost = (!dish_known && HANGS_ON_DISH.contains(&&**key)) || (larger && **key == *"ring-gap");
            if ridden || (CARRIED.contains(&&**key) && !own && !lost) {
                self.job.facts.insert(key.clone(), fact.clone());
            }
        }
    }

    /// Names the readings taken with the part before, which say nothing of another one.
    fn unread(&mut self, slot: Slot, before: &Facts) {
        let now = &self.job.facts;
        let stale = |key: &str| now.get(key).is_some_and(|fact| fact.stale.is_some());
        let names: Vec<&str> = before
            .iter()
            .filter(|(key, fact)| fact.stale.is_none() && stale(key))
            .filter_map(|(key, _)| code::find(key))
            // What was ridden or handed over is no matter of fit.
            .filter(|row| row.since() <= Stage::Fitting)
            .map(|row| row.field.name)
            .collect();
        self.name_unread(&names, slot.word());
    }

    fn name_unread(&mut self, names: &[&str], with: &str) {
        if !names.is_empty() {
            self.changed
                .push(format!("to be read anew with the {with}: {}", names.join("; ")));
        }
    }

    /// Forgets readings that were taken with something else than what is tried.
    fn forget(&mut self, codes: &[&str], with: &str) {
        let mut names = Vec::new();
        for key in codes {
            let Some(fact) = self.job.facts.get_mut(*key).filter(|fact| fact.stale.is_none()) else {
                continue;
            };
            fact.stale = Some(with.to_owned());
            names.extend(code::find(key).map(|row| row.field.name));
        }
        self.name_unread(&names, with);
    }

    /// Moves readings that are known by so many metres outward; one that is no length was read
    /// before the move and is forgotten.
    fn shift(&mut self, outward: f64, codes: &[&str], by: &str) {
        if outward == 0.0 {
            return;
        }
        for key in codes {
            let Some(value) = self.number(key) else {
                self.forget(&[key], by.trim_start_matches("the "));
                continue;
            };
            let row = code::find(key).expect("the codes moved are in the table");
            let moved = Value::Number(value + outward);
            self.changed.push(format!(
                "{}: {} with {by}",
                row.field.name,
                row.field.show_both(&moved)
            ));
            self.set(key, moved);
        }
    }

    pub(super) fn number(&self, key: &str) -> Option<f64> {
        self.known(key).and_then(Value::number)
    }

    fn known(&self, key: &str) -> Option<&Value> {
        let fact = self.job.facts.get(key).filter(|fact| fact.stale.is_none())?;
        Some(&fact.value)
    }

    /// Puts a value in place of what is known.
    pub(crate) fn set(&mut self, key: &str, value: Value) {
        let fact = Fact {
            value,
            provenance: Provenance::Stated,
            readings: Vec::new(),
            spread: 0.0,
            seq: self.job.revision,
            at: self.now,
            stale: None,
        };
        self.job.facts.insert(key.into(), fact.into());
    }
}

/// Whether a text has the form of a ring: digits and a `T`, with or without a dish.
fn is_ring(text: &str) -> bool {
    let lower = text.to_lowercase();
    let teeth = lower
        .split_once("-dish")
        .map_or(lower.as_str(), |(teeth, _)| teeth);
    let digits = teeth.strip_suffix('t').unwrap_or_default();
    !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())
}

/// A ring from `38T` or `38T-dish5`; what is not said is as the present ring has it.
fn ring(present: Option<&Part>, text: &str) -> Result<Part, Refusal> {
    let wrong = || {
        Refusal::new(
            Reason::BadInput,
            format!("`{text}` is no ring; expected teeth and, after a hyphen, the dish in mm, for example `38T-dish5`"),
        )
        .with("given", text)
    };
    let mut part = present.cloned().unwrap_or_else(|| Part {
        id: String::new(),
        kind: PartKind::Chainring,
        attributes: [("dish".to_owned(), Value::Number(0.0))].into(),
    });
    let lower = text.to_lowercase();
    let (teeth, dish) = match lower.split_once("-dish") {
        Some((teeth, dish)) => (teeth, Some(dish)),
        None => (lower.as_str(), None),
    };
    let mut read = |key: &str, text: &str| {
        let attribute = PartKind::Chainring
            .attribute(key)
            .expect("rings have teeth and dish");
        let value = attribute
            .field
            .read(text, false)
            .map_err(|error| unreadable(key, &error))?;
        part.attributes.insert(key.to_owned(), value);
        Ok::<(), Refusal>(())
    };
    read("teeth", teeth.strip_suffix('t').ok_or_else(wrong)?)?;
    if let Some(dish) = dish {
        read("dish", dish)?;
    }
    part.id = text.to_owned();
    part.attributes
        .insert("name".into(), Value::Text(format!("chainring {text}")));
    Ok(part)
}

fn unknown(word: &str) -> Refusal {
    let words = Slot::ALL
        .iter()
        .map(|slot| slot.word())
        .chain(code::all().map(code::Code::key));
    let near = nearest(word, words);
    Refusal::unknown(
        "slot or code",
        word,
        &near,
        "a change is `ring=38T-dish5`, `slot=part` or `code=value`",
    )
}

fn unreadable(key: &str, error: &FieldError) -> Refusal {
    Refusal::new(Reason::BadInput, error.to_string()).with("field", key)
}

#[cfg(test)]
mod tests;
