//! What a check sees of a job: values with their doubt, parts as they really are, limits.
//!
//! A case remembers what was looked at, so that a changed value re-opens exactly the
//! checks that used it, and which values had to be assumed.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Date;
use lockring_calc::doubt::{COVERAGE, Readings};

use crate::code;
use crate::fact::{Fact, Provenance, Reading, Value};
use crate::finding::{Beside, Finding, Halt, Missing, Verdict};
use crate::job::{Job, Line};
use crate::part::Slot;
use crate::receipt::Receipt;
use crate::rules::{Rule, RuleSheet};
use crate::stage::Stage;

/// A number with its doubt, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Known {
    /// The value.
    pub value: f64,
    /// Standard uncertainty.
    pub u: f64,
    /// Where it comes from.
    pub provenance: Provenance,
}

impl Known {
    /// A number off a sheet or a sum of such: no doubt of its own.
    pub const fn stated(value: f64) -> Self {
        Self {
            value,
            u: 0.0,
            provenance: Provenance::Stated,
        }
    }

    /// What stands for several readings of one thing, as for those of a code: the middle one, or the mean of two, with the doubt of their scatter beside
    /// that of the instruments. These read every one of them, so theirs does not average out. At least one reading.
    pub fn of_repeats(readings: &[Self]) -> Self {
        let values: Vec<f64> = readings.iter().map(|one| one.value).collect();
        let series = Readings::new(&values).expect("at least one finite reading");
        let spread = series.standard_deviation().unwrap_or(0.0);
        let instruments = readings.iter().map(|one| one.u).sum::<f64>() / readings.len() as f64;
        Self {
            value: series.median(),
            u: instruments.hypot(repeat_doubt(readings.len(), spread)),
            provenance: readings[0].provenance,
        }
    }

    /// Expanded uncertainty, k = 2 (JCGM 100:2008, 6.3.3: about 95 %).
    pub const fn expanded(self) -> f64 {
        COVERAGE * self.u
    }
}

/// What a check sees of a job.
pub struct Case<'a> {
    job: &'a Job,
    rules: &'a RuleSheet,
    gate: Stage,
    words: bool,
    beside: &'a [Beside<'a>],
    used: RefCell<BTreeSet<String>>,
    /// Each assumption, and what does away with it where that can be said.
    assumed: RefCell<BTreeMap<String, Option<String>>>,
    limits: RefCell<BTreeSet<String>>,
    lacking: RefCell<Vec<Missing>>,
    looked_past: Cell<bool>,
}

/// What a job is called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct JobName {
    /// Its number, for the commands a finding names.
    pub number: u32,
}

impl<'a> Case<'a> {
    /// A case for one run of one check at a gate. It shows what that gate looks at: values
    /// taken at later stages, and parts as they arrived, are for the gates that prove.
    pub fn new(job: &'a Job, rules: &'a RuleSheet, gate: Stage) -> Self {
        Self {
            job,
            rules,
            gate,
            words: true,
            beside: &[],
            used: RefCell::default(),
            assumed: RefCell::default(),
            limits: RefCell::default(),
            lacking: RefCell::default(),
            looked_past: Cell::new(false),
        }
    }

    /// The same for a run of which only the verdict is wanted.
    pub fn without_words(job: &'a Job, rules: &'a RuleSheet, gate: Stage) -> Self {
        Self {
            words: false,
            ..Self::new(job, rules, gate)
        }
    }

    /// The same beside what other checks said of this job at this gate.
    pub fn beside(self, others: &'a [Beside<'a>]) -> Self {
        Self {
            beside: others,
            ..self
        }
    }

    /// The same job for a cure: what a cure looks at decides nothing, and is not noted.
    pub fn for_cures(&self) -> Self {
        Self::new(self.job, self.rules, self.gate)
    }

    /// What another check said of this job at this gate, where that is known already.
    pub fn said_by(&self, check: &str) -> Option<Beside<'a>> {
        self.beside.iter().copied().find(|said| said.check == check)
    }

    /// Whether anybody reads more than the verdict: cures and chances, which take long to
    /// compute and decide nothing, may be left out where nobody does.
    pub const fn wants_words(&self) -> bool {
        self.words
    }

    /// What a check may say of its job without looking at it.
    pub const fn job(&self) -> JobName {
        JobName {
            number: self.job.number,
        }
    }

    /// The job itself, for what is not a fact, a part or what arrived (orders, history). What a check
    /// finds that looks at it is not remembered.
    pub fn whole_job(&self) -> &'a Job {
        self.looked_past.set(true);
        self.job
    }

    /// Whether the job was looked at past what is noted.
    pub const fn looked_past(&self) -> bool {
        self.looked_past.get()
    }

    /// The gate the check is run at.
    pub const fn gate(&self) -> Stage {
        self.gate
    }

    /// The rule sheet.
    pub const fn rules(&self) -> &'a RuleSheet {
        self.rules
    }

    /// A threshold of the rule sheet, in SI; what stands behind it is noted.
    pub fn rule(&self, key: &str) -> f64 {
        let rule = self
            .rules
            .get(key)
            .expect("a check names only rules of the shipped sheet");
        let mut limits = self.limits.borrow_mut();
        if !limits.contains(key) {
            limits.insert(key.to_owned());
        }
        rule.number
    }

    /// The thresholds read, in the order of their words.
    pub fn limits(&self) -> Vec<Arc<Rule>> {
        let limits = self.limits.borrow();
        limits.iter().filter_map(|key| self.rules.shared(key)).collect()
    }

    /// A number that must be known.
    ///
    /// # Errors
    /// [`Halt::Open`] when it is missing or stale.
    pub fn number(&self, key: &str) -> Result<Known, Halt> {
        self.optional_number(key).ok_or_else(|| self.open(key))
    }

    /// A number that may be unknown.
    pub fn optional_number(&self, key: &str) -> Option<Known> {
        let fact = self.fact(key)?;
        let value = fact.value.number()?;
        let row = code::find(key)?;
        // Type A from repeats, type B from the instrument, combined in quadrature
        // (JCGM 100:2008, 5.1.2). A stated value was read by somebody too: it carries the
        // instrument's doubt, never less.
        let u = row
            .uncertainty_si()
            .hypot(repeat_doubt(fact.readings.len(), fact.spread));
        Some(Known {
            value,
            u,
            provenance: fact.provenance,
        })
    }

    /// Every reading behind a number, each with the doubt of its instrument; none where it was stated.
    pub fn readings(&self, key: &str) -> Vec<Known> {
        self.readings_by_entry(key)
            .into_iter()
            .map(|(_, known)| known)
            .collect()
    }

    /// The same, each with the entry it came in.
    pub fn readings_by_entry(&self, key: &str) -> Vec<(u64, Known)> {
        let known = |fact: &Fact, row: &code::Code| {
            let of_one = |reading: &Reading| {
                let known = Known {
                    value: reading.value.number()?,
                    u: row.uncertainty_si(),
                    provenance: fact.provenance,
                };
                Some((reading.seq, known))
            };
            fact.readings.iter().filter_map(of_one).collect()
        };
        let found = self.fact(key).zip(code::find(key));
        found.map_or_else(Vec::new, |(fact, row)| known(fact, row))
    }

    /// A number, or an assumption that caps the verdict at caution and is named in it.
    pub fn number_or(&self, key: &str, assumed_si: f64) -> Known {
        self.optional_number(key)
            .unwrap_or_else(|| self.suppose(key, assumed_si))
    }

    /// A number taken for want of a better one: the verdict becomes a caution at best, and names it.
    pub fn suppose(&self, key: &str, si: f64) -> Known {
        self.suppose_until(key, si, self.known_by(key))
    }

    /// The same with what does away with the assumption.
    pub fn suppose_until(&self, key: &str, si: f64, cure: Option<String>) -> Known {
        let name = code::find(key).map_or(key, |row| row.field.name);
        let shown = code::find(key).map_or_else(String::new, |row| row.field.show(&Value::Number(si)));
        self.assume_until(format!("{name} {shown}"), cure);
        Known {
            value: si,
            u: 0.0,
            provenance: Provenance::Assumed,
        }
    }

    /// A word or text that must be known.
    ///
    /// # Errors
    /// [`Halt::Open`] when it is missing or stale.
    pub fn word(&self, key: &str) -> Result<&'a str, Halt> {
        self.optional_word(key).ok_or_else(|| self.open(key))
    }

    /// A word or text that may be unknown.
    pub fn optional_word(&self, key: &str) -> Option<&'a str> {
        self.fact(key).and_then(|fact| fact.value.text())
    }

    /// A yes or no that must be known.
    ///
    /// # Errors
    /// [`Halt::Open`] when it is missing or stale.
    pub fn flag(&self, key: &str) -> Result<bool, Halt> {
        match self.fact(key).map(|fact| &fact.value) {
            Some(Value::Flag(flag)) => Ok(*flag),
            _ => Err(self.open(key)),
        }
    }

    /// So many out of so many, `(good, tried)`.
    ///
    /// # Errors
    /// [`Halt::Open`] when it is missing or stale.
    pub fn tally(&self, key: &str) -> Result<(u32, u32), Halt> {
        match self.fact(key).map(|fact| &fact.value) {
            Some(Value::Tally { good, tried }) => Ok((*good, *tried)),
            _ => Err(self.open(key)),
        }
    }

    /// Money in minor units.
    ///
    /// # Errors
    /// [`Halt::Open`] when it is missing.
    pub fn money(&self, key: &str) -> Result<i64, Halt> {
        match self.fact(key).map(|fact| &fact.value) {
            Some(Value::Money(minor)) => Ok(*minor),
            _ => Err(self.open(key)),
        }
    }

    /// A calendar day.
    ///
    /// # Errors
    /// [`Halt::Open`] when it is missing.
    pub fn day(&self, key: &str) -> Result<Date, Halt> {
        match self.fact(key).map(|fact| &fact.value) {
            Some(Value::Day(day)) => Ok(*day),
            _ => Err(self.open(key)),
        }
    }

    /// Teeth stated for the donor.
    ///
    /// # Errors
    /// [`Halt::Open`] when they are missing.
    pub fn teeth(&self, key: &str) -> Result<&'a [u32], Halt> {
        match self.fact(key).map(|fact| &fact.value) {
            Some(Value::Teeth(teeth)) => Ok(teeth),
            _ => Err(self.open(key)),
        }
    }

    /// Ratios stated for the donor, lowest first; `None` where they are not known.
    pub fn ratios(&self, key: &str) -> Option<&'a [f64]> {
        match &self.fact(key)?.value {
            Value::Ratios(ratios) => Some(ratios),
            _ => None,
        }
    }

    /// The part of a slot that must be chosen.
    ///
    /// # Errors
    /// [`Halt::Open`] when the slot is empty.
    pub fn part(&self, slot: Slot) -> Result<PartView<'_, 'a>, Halt> {
        self.optional_part(slot).ok_or_else(|| {
            Halt::Open(vec![Missing {
                what: slot.word().to_owned(),
                how: format!("lockring build {} {}=PART", self.job.number, slot.word()),
            }])
        })
    }

    /// The part of a slot that may be empty.
    pub fn optional_part(&self, slot: Slot) -> Option<PartView<'_, 'a>> {
        let line = self.job.build.get(&slot);
        self.note_use(slot.word());
        line.map(|line| PartView {
            case: self,
            slot,
            line,
        })
    }

    /// What arrived for a slot.
    pub fn receipt(&self, slot: Slot) -> Option<&'a Receipt> {
        self.note_use(Receipt::word(slot));
        self.job.build.get(&slot).and_then(|line| line.receipt.as_ref())
    }

    /// Whether a value is known to this gate.
    pub fn knows(&self, key: &str) -> bool {
        self.fact(key).is_some()
    }

    /// The entry that last touched what is known.
    pub fn entry_of(&self, key: &str) -> Option<u64> {
        self.fact(key).map(|fact| fact.seq)
    }

    /// What was taken before the build was changed, at whichever stage: it proves nothing of this build.
    pub fn outlived(&self, key: &str) -> Option<&'a Fact> {
        let fact = self.job.facts.get(key).filter(|fact| fact.stale.is_some())?;
        self.note_use(key);
        Some(fact)
    }

    /// The shop's day the gate looks from: that on which it was passed, else that of the job's last entry.
    pub fn today(&self) -> Date {
        let job = self.whole_job();
        let passed = job.passed.get(&self.gate);
        self.rules.day(passed.map_or(job.touched, |passed| passed.at))
    }

    /// Notes an assumption: the verdict becomes a caution at best, and names it.
    pub fn assume(&self, what: impl Into<String>) {
        self.assume_until(what, None);
    }

    /// The same with what does away with the assumption: the remedy of what would pass without it.
    pub fn assume_until(&self, what: impl Into<String>, cure: Option<String>) {
        self.assumed.borrow_mut().insert(what.into(), cure);
    }

    /// The remedy of an assumed value of a code.
    fn known_by(&self, key: &str) -> Option<String> {
        let row = code::find(key)?;
        let how = row.how_to_record(self.job.number);
        Some(format!("{} as it is: {how}", row.field.name))
    }

    /// Halts as open, asking for a code.
    pub fn open(&self, key: &str) -> Halt {
        if !self.used.borrow().contains(key) {
            // A value out of this gate's sight may be stale all the same.
            self.looked_past.set(true);
        }
        let stale = self.job.facts.get(key).and_then(|fact| fact.stale.as_deref());
        let row = code::find(key);
        let name = row.map_or(key, |row| row.field.name);
        let what = match stale {
            Some(changed) => format!("{name} (last measured before the {changed} was changed)"),
            None => name.to_owned(),
        };
        Halt::Open(vec![Missing {
            what,
            how: row.map_or_else(String::new, |row| row.how_to_record(self.job.number)),
        }])
    }

    /// An open finding for a value that is missing, beside findings that can be made without it.
    pub fn lack(&self, key: &str) -> Finding {
        let Halt::Open(missing) = self.open(key) else {
            unreachable!("a code that is asked for is open")
        };
        let how: Vec<String> = missing.iter().map(|one| one.how.clone()).collect();
        how.into_iter().fold(self.lack_all(missing), Finding::with_remedy)
    }

    /// One open finding for several values; how to record each stands with what is missing.
    pub fn lack_all(&self, missing: Vec<Missing>) -> Finding {
        let names: Vec<&str> = missing.iter().map(|one| one.what.as_str()).collect();
        let finding = Finding::new(Verdict::Open, format!("missing: {}", names.join(", ")));
        self.lacking.borrow_mut().extend(missing);
        finding
    }

    /// What was missing beside the findings made.
    pub fn lacking(&self) -> Vec<Missing> {
        self.lacking.borrow().clone()
    }

    /// The codes and `slot.attribute` names looked at.
    pub fn uses(&self) -> BTreeSet<String> {
        self.used.borrow().clone()
    }

    /// The assumptions made.
    pub fn assumptions(&self) -> Vec<String> {
        self.assumed.borrow().keys().cloned().collect()
    }

    /// What does away with them, as far as that can be said.
    pub fn ends_of_assumptions(&self) -> Vec<String> {
        self.assumed.borrow().values().flatten().cloned().collect()
    }

    /// Notes that something was looked at which is neither a fact nor a part attribute.
    pub fn note_use(&self, key: impl AsRef<str> + Into<String>) {
        let mut used = self.used.borrow_mut();
        if !used.contains(key.as_ref()) {
            used.insert(key.into());
        }
    }

    fn fact(&self, key: &str) -> Option<&'a Fact> {
        debug_assert!(code::find(key).is_some(), "{key} is not in the table of codes");
        // What is taken at a later stage is out of sight here.
        let row = code::find(key).filter(|row| row.since() <= self.gate)?;
        self.note_use(key);
        let fact = self.job.facts.get(key).filter(|fact| fact.stale.is_none())?;
        if fact.provenance == Provenance::Assumed {
            self.assume_until(
                format!("{} {}", row.field.name, row.field.show(&fact.value)),
                self.known_by(key),
            );
        }
        Some(fact)
    }
}

/// Standard uncertainty of the value that stands for several readings, from their scatter.
fn repeat_doubt(count: usize, spread: f64) -> f64 {
    let of_the_mean = spread / (count.max(1) as f64).sqrt();
    if count > 2 {
        // The middle reading stands, which scatters more than the mean does: by sqrt(pi/2) for
        // many readings of a normal distribution, by less for few (standard result on the
        // median's variance, from memory).
        std::f64::consts::FRAC_PI_2.sqrt() * of_the_mean
    } else {
        of_the_mean
    }
}

/// A part as it really is: what was read off it on arrival stands before the catalogue.
#[derive(Clone, Copy)]
pub struct PartView<'c, 'a> {
    case: &'c Case<'a>,
    slot: Slot,
    line: &'a Line,
}

impl<'a> PartView<'_, 'a> {
    /// What it is called.
    pub fn name(&self) -> &'a str {
        self.line.part.name()
    }

    /// Order and receipt.
    pub const fn line(&self) -> &'a Line {
        self.line
    }

    /// A number in SI that must be known.
    ///
    /// # Errors
    /// [`Halt::Open`] when the catalogue does not give it.
    pub fn number(&self, key: &str) -> Result<f64, Halt> {
        self.optional_number(key).ok_or_else(|| self.open(key))
    }

    /// A number in SI that may be unknown.
    pub fn optional_number(&self, key: &str) -> Option<f64> {
        self.value(key).and_then(Value::number)
    }

    /// A whole number, such as cells in series.
    ///
    /// # Errors
    /// [`Halt::Open`] when the catalogue does not give it.
    pub fn count(&self, key: &str) -> Result<u32, Halt> {
        // Counts are kept as plain numbers inside a window of small positive values.
        self.number(key).map(|number| number.round() as u32)
    }

    /// Money in minor units that may be unknown.
    pub fn optional_money(&self, key: &str) -> Option<i64> {
        match self.value(key) {
            Some(Value::Money(minor)) => Some(*minor),
            _ => None,
        }
    }

    /// A word that must be known.
    ///
    /// # Errors
    /// [`Halt::Open`] when the catalogue does not give it.
    pub fn word(&self, key: &str) -> Result<&'a str, Halt> {
        self.optional_word(key).ok_or_else(|| self.open(key))
    }

    /// A word that may be unknown.
    pub fn optional_word(&self, key: &str) -> Option<&'a str> {
        self.value(key).and_then(Value::text)
    }

    /// A yes or no; no when it is not given.
    pub fn flag(&self, key: &str) -> bool {
        matches!(self.value(key), Some(Value::Flag(true)))
    }

    /// Teeth of the cogs.
    ///
    /// # Errors
    /// [`Halt::Open`] when the catalogue does not give them.
    pub fn teeth(&self, key: &str) -> Result<&'a [u32], Halt> {
        match self.value(key) {
            Some(Value::Teeth(teeth)) => Ok(teeth),
            _ => Err(self.open(key)),
        }
    }

    fn value(&self, key: &str) -> Option<&'a Value> {
        debug_assert!(
            self.line.part.kind.attribute(key).is_some(),
            "{key} is no attribute of {}",
            self.slot.word()
        );
        // At intake nothing has arrived: the catalogue's part is what was judged there.
        let arrived = self.case.gate > Stage::Intake;
        let value = if arrived {
            self.line.attribute(key)
        } else {
            self.line.part.get(key)
        };
        self.case.note_use(format!("{}.{key}", self.slot.word()));
        value
    }

    /// The remedy of an attribute that nobody gave.
    pub fn given_by(&self, key: &str) -> String {
        let Missing { what, how } = self.missing(key);
        format!("{what}: {how}")
    }

    fn open(&self, key: &str) -> Halt {
        Halt::Open(vec![self.missing(key)])
    }

    fn missing(&self, key: &str) -> Missing {
        let name = self
            .line
            .part
            .kind
            .attribute(key)
            .map_or(key, |attribute| attribute.field.name);
        let (word, job) = (self.slot.word(), self.case.job.number);
        // Before anything has arrived only the catalogue speaks.
        if self.case.gate == Stage::Intake {
            return Missing {
                what: format!(
                    "{name} of the {word}, which the catalogue does not give ({key}); put there, it counts once the part is built again"
                ),
                how: format!("lockring build {job} {word}=PART"),
            };
        }
        Missing {
            what: format!("{name} of the {word}"),
            how: format!("lockring receive {job} {word} {key}=VALUE"),
        }
    }
}
