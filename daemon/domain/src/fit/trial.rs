//! Changes tried on a copy of a job: a ring, a spacer, another part, another reading.

use std::collections::BTreeMap;

use jiff::Timestamp;

use super::{Topic, page};
use crate::check::{Report, Verdict};
use crate::code;
use crate::command::{Desk, Typed, find_part};
use crate::entry::{Event, Origin};
use crate::fact::{Fact, Provenance, Value};
use crate::field::FieldError;
use crate::job::Job;
use crate::nearest::nearest;
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
    /// The page after the change.
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
    let before = page(job, desk);
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
    let topics = page(&tried.job, desk);
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
        if word == "ring" {
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
                self.carry(slot, &kept, dish_known);
                self.unread(slot, &kept);
            }
            _ => self.unread(slot, &kept),
        }
        if let (Slot::Chainring, Some(outward)) = (slot, less_dish) {
            self.shift(outward, HANGS_ON_DISH, "the ring's dish");
        }
    }

    /// Takes back readings that a ring, cassette or chain leaves as they are or moves; what was
    /// ridden stays what was ridden. The links of a chain are its own, and where a ring of unknown
    /// dish runs nobody knows.
    fn carry(&mut self, slot: Slot, before: &BTreeMap<String, Fact>, dish_known: bool) {
        for (key, fact) in before {
            let ridden = code::find(key).is_some_and(|row| row.since() > Stage::Fitting);
            let own = slot == Slot::Chain && key == "chain-links";
            let lost = !dish_known && HANGS_ON_DISH.contains(&key.as_str());
            if ridden || (CARRIED.contains(&key.as_str()) && !own && !lost) {
                self.job.facts.insert(key.clone(), fact.clone());
            }
        }
    }

    /// Names the readings taken with the part before, which say nothing of another one.
    fn unread(&mut self, slot: Slot, before: &BTreeMap<String, Fact>) {
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
        self.job.facts.insert(key.to_owned(), fact);
    }
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
mod tests {
    use super::*;
    use crate::checks::testing::{longtail, with_desk};

    fn changes(pairs: &[(&str, &str)]) -> Vec<Typed> {
        pairs
            .iter()
            .map(|(field, text)| Typed::new(*field, *text))
            .collect()
    }

    fn verdict(topics: &[Topic], id: &str) -> Verdict {
        let mut reports = topics.iter().flat_map(|topic| &topic.reports);
        reports.find(|report| report.check.id == id).unwrap().verdict
    }

    #[test]
    fn a_spacer_frees_the_stay_and_pushes_the_chainline_out() {
        // Worked example of the trade (common practice, no source): 2.5 mm spacer, gap 0 to
        // 2.5 mm, front line 49.0 to 51.5, +6.5 mm to the cassette's centre.
        let job = longtail()
            .measure(&[("gapm", "0"), ("gapc", "4"), ("clf", "49.0"), ("clr", "45.0")])
            .job;
        let trial =
            with_desk(|desk| what_if(&job, &changes(&[("spacer", "2.5mm")]), job.touched, desk)).unwrap();
        assert_eq!(verdict(&trial.topics, "clearance.motor_and_ring"), Verdict::Pass);
        assert_eq!(verdict(&trial.topics, "chainline.centre"), Verdict::Caution);
        assert!(
            trial.changed.iter().any(|line| line.contains("51.5 mm")),
            "{:?}",
            trial.changed
        );
        let differs: Vec<&str> = trial.differs.iter().map(|(_, after)| after.check.id).collect();
        assert!(
            differs.contains(&"clearance.motor_and_ring") && differs.contains(&"chainline.centre"),
            "{differs:?}"
        );
    }

    #[test]
    fn a_ring_of_less_dish_moves_the_line_by_the_difference() {
        // Worked example of the trade (common practice, no source): dish 6 to 5 mm takes the
        // front line from 51.5 to 52.5 mm.
        let job = longtail()
            .measure(&[("clf", "51.5"), ("clr", "45.0"), ("drops", "20/20")])
            .job;
        let before = job.clone();
        let trial =
            with_desk(|desk| what_if(&job, &changes(&[("ring", "38T-dish5")]), job.touched, desk)).unwrap();
        assert!(
            trial.changed.iter().any(|line| line.contains("52.5 mm")),
            "{:?}",
            trial.changed
        );
        assert_eq!(job, before);
    }

    #[test]
    fn a_spacer_moves_the_right_pedal_and_the_calliper_s_gap_too() {
        // A millimetre for a millimetre (geometry): 77 + 2.5 = 79.5 mm and 30 + 2.5 = 32.5 mm.
        let job = longtail()
            .measure(&[
                ("pedal-left", "75"),
                ("pedal-right", "77"),
                ("line-tube", "34"),
                ("line-gap", "30"),
                ("line-ring", "2"),
            ])
            .job;
        let trial =
            with_desk(|desk| what_if(&job, &changes(&[("spacer", "2.5mm")]), job.touched, desk)).unwrap();
        for moved in ["79.5 mm", "32.5 mm"] {
            assert!(
                trial.changed.iter().any(|line| line.contains(moved)),
                "{moved}: {:?}",
                trial.changed
            );
        }
        let differs: Vec<&str> = trial.differs.iter().map(|(_, after)| after.check.id).collect();
        assert!(
            differs.contains(&"pedal.offset") && differs.contains(&"chainline.centre"),
            "{differs:?}"
        );
    }

    #[test]
    fn turns_back_pedalled_in_one_gear_say_nothing_of_another() {
        let job = longtail()
            .measure(&[
                ("clf", "51.5"),
                ("clr", "45.0"),
                ("drops", "20/20"),
                ("chain-links", "116"),
            ])
            .job;
        let tried = |field, text| {
            with_desk(|desk| what_if(&job, &changes(&[(field, text)]), job.touched, desk)).unwrap()
        };
        for (field, text) in [
            ("ring", "36T"),
            ("cassette", "cassette-9-11-36"),
            ("chain", "chain-9"),
            ("spacer", "2.5mm"),
            ("clr", "44.0"),
        ] {
            let trial = tried(field, text);
            let reports = trial.topics.iter().flat_map(|topic| &topic.reports);
            let angles = reports
                .clone()
                .find(|report| report.check.id == "chainline.cog_angles")
                .unwrap();
            assert_eq!(angles.verdict, Verdict::Open, "{field}");
            assert!(
                angles.summary().contains("back-pedalled"),
                "{field}: {}",
                angles.summary()
            );
            // The angle itself is geometry and stands.
            assert!(angles.findings[0].figures[0].unit == "deg", "{field}");
            assert!(
                trial
                    .changed
                    .iter()
                    .any(|line| line.contains("to be read anew") && line.contains("back-pedalled")),
                "{field}: {:?}",
                trial.changed
            );
        }
        // The same line as before changes nothing; a chain's links are its own.
        assert_eq!(
            verdict(&tried("clr", "45.0").topics, "chainline.cog_angles"),
            Verdict::Pass
        );
        assert_eq!(
            verdict(&tried("ring", "38T").topics, "chain.length"),
            Verdict::Pass
        );
        assert_eq!(
            verdict(&tried("chain", "chain-9").topics, "chain.length"),
            Verdict::Open
        );
    }

    #[test]
    fn what_says_the_same_is_not_among_what_a_change_does() {
        let job = longtail().job;
        let trial =
            with_desk(|desk| what_if(&job, &changes(&[("motor", "mid-48-700")]), job.touched, desk)).unwrap();
        assert!(!trial.differs.is_empty());
        for (before, after) in &trial.differs {
            assert!(
                (before.verdict, before.summary()) != (after.verdict, after.summary()),
                "{}: {}",
                before.check.id,
                before.summary()
            );
        }
    }

    #[test]
    fn readings_of_the_part_before_say_nothing_of_another() {
        let job = longtail()
            .measure(&[("gapm", "2.5"), ("gapc", "6"), ("mass-after", "38 kg")])
            .job;
        let other = |slot: &str, part: &str| {
            with_desk(|desk| what_if(&job, &changes(&[(slot, part)]), job.touched, desk)).unwrap()
        };
        let motor = other("motor", "mid-48-700");
        assert_eq!(verdict(&motor.topics, "clearance.motor_and_ring"), Verdict::Open);
        assert!(
            motor
                .changed
                .iter()
                .any(|line| line.contains("to be read anew with the motor") && line.contains("chainstay")),
            "{:?}",
            motor.changed
        );
        // The scale's reading holds another pack; the sum of the parts takes its place.
        let pack = other("pack", "pack-13s5p");
        assert!(
            pack.changed
                .iter()
                .any(|line| line.contains("mass of the bicycle with the kit")),
            "{:?}",
            pack.changed
        );
        assert_eq!(verdict(&pack.topics, "mass.as_weighed"), Verdict::Open);
    }

    #[test]
    fn what_cannot_be_read_is_refused_with_an_example() {
        let job = longtail().job;
        for (field, text, words) in [
            ("ring", "38", "38T-dish5"),
            ("ring", "38T-dishx", "`x` cannot be read"),
            ("spacer", "2.5kg", "2.5kg"),
            ("chainring", "ring-99", "ring-99"),
            ("rng", "38T", "rng"),
        ] {
            let refusal =
                with_desk(|desk| what_if(&job, &changes(&[(field, text)]), job.touched, desk)).unwrap_err();
            assert!(
                refusal.message.contains(words),
                "{field}={text}: {}",
                refusal.message
            );
        }
        assert!(with_desk(|desk| what_if(&job, &[], job.touched, desk)).is_err());
    }
}
