//! The one table of codes: every value about a job that people may state or measure.
//!
//! A row gives the code and its short alias, the name, the shape with default unit and
//! plausible window, the instrument with its standard uncertainty, the disagreement of two
//! readings that asks for a third, and the slots whose change makes an old reading stale.
//! Windows and uncertainties are workshop judgement unless a row says otherwise; common
//! practice, no source.

use std::collections::HashMap;
use std::sync::OnceLock;

use crate::fact::Value;
use crate::field::{Field, FieldError, Shape};
use crate::nearest::nearest;
use crate::part::Slot;
use crate::stage::Stage;
use crate::unit::{self, Kind};

mod bench;
mod brief;
mod cockpit;
mod donor;
mod electric;
mod handover;
mod inspected;
mod lines;
pub mod marks;
mod ride;
mod sense;
mod steps;
mod torque;
pub use sense::{Sense, bead_seats};
pub(crate) use sense::{is_pressed_alone, shell_called};

/// Which part of the job a code belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// What the rider needs.
    Brief,
    /// The bicycle as it came in.
    Donor,
    /// Measured and set while fitting.
    Fitting,
    /// A fastener tightened.
    Torque,
    /// A run of the test ride.
    Ride,
    /// The handover.
    Handover,
}

impl Group {
    /// The stage at which values of this group are taken.
    pub const fn stage(self) -> Stage {
        match self {
            Self::Brief | Self::Donor => Stage::Intake,
            Self::Fitting | Self::Torque => Stage::Fitting,
            Self::Ride => Stage::TestRide,
            Self::Handover => Stage::Handover,
        }
    }

    /// The word people read.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Brief => "brief",
            Self::Donor => "donor",
            Self::Fitting => "fitting",
            Self::Torque => "torque",
            Self::Ride => "ride",
            Self::Handover => "handover",
        }
    }
}

/// Which of several readings is the worst of what is read at its worst place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Worst {
    /// The least: a wall is as thick as its thinnest spot, a gap as wide as its tightest.
    Least,
    /// The greatest: a rim is out of true by as much as where it is furthest out.
    Most,
}

/// One row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Code {
    /// Key, name and shape.
    pub field: Field,
    /// Short form, such as `clf`; empty when there is none.
    pub alias: &'static str,
    /// Group.
    pub group: Group,
    /// What it is read with.
    pub instrument: &'static str,
    /// Standard uncertainty of one reading, in the field's unit; 0 where nothing is read.
    pub uncertainty: f64,
    /// Two readings further apart than this ask for a third, in the field's unit.
    pub agree: f64,
    /// Changing the part in one of these slots makes an older reading stale.
    pub stale_by: &'static [Slot],
    /// Another value of one of these codes makes an older reading stale too.
    pub moved_by: &'static [&'static str],
    /// A setting rather than a reading: it may be planned long before it is made, so every
    /// gate looks at it.
    pub setting: bool,
    /// A measure of a part itself, which may lie in the shop long before it is fitted: every gate looks at it.
    pub of_part: bool,
    /// Read while it is adjusted, as a bolt with the wrench: the last reading stands, and an earlier
    /// one says nothing of it.
    pub adjusted: bool,
    /// Read at its worst place: of several readings this one stands, whatever the others say.
    pub worst: Option<Worst>,
    /// How often a check asks for something that is tried so many times.
    pub tries: u32,
    /// What a text of this code must make sense as.
    pub sense: Sense,
    /// Where the motor sits of a bicycle that has it, as its part says; empty for any.
    pub places: &'static [&'static str],
}

impl Code {
    /// A row for a value that is stated rather than read off an instrument.
    const fn stated(
        group: Group,
        key: &'static str,
        alias: &'static str,
        name: &'static str,
        shape: Shape,
    ) -> Self {
        Self {
            field: Field::new(key, name, shape),
            alias,
            group,
            instrument: "",
            uncertainty: 0.0,
            agree: f64::INFINITY,
            stale_by: &[],
            moved_by: &[],
            setting: false,
            of_part: false,
            adjusted: false,
            worst: None,
            tries: 3,
            sense: Sense::Any,
            places: &[],
        }
    }

    /// The same row, for what only a bicycle with a mid motor has.
    const fn of_mid(mut self) -> Self {
        self.places = &["mid"];
        self
    }

    /// The same row, for what only a bicycle with a hub motor has.
    const fn of_hub(mut self) -> Self {
        self.places = &["rear-hub", "front-hub"];
        self
    }

    /// Whether a bicycle with its motor there has it; where the motor is not known, anything may be.
    pub fn is_of(&self, place: Option<&str>) -> bool {
        self.places.is_empty() || place.is_none_or(|place| self.places.contains(&place))
    }

    /// The same row, stale once one of these codes has another value.
    const fn moved_by(mut self, codes: &'static [&'static str]) -> Self {
        self.moved_by = codes;
        self
    }

    /// The same row, for something that is set and may be planned.
    const fn set(mut self) -> Self {
        self.setting = true;
        self
    }

    /// The same row, for a measure of a part that may be taken before it is fitted.
    const fn of_part(mut self) -> Self {
        self.of_part = true;
        self
    }

    /// The same row, for something that is adjusted with the instrument at hand.
    const fn adjusted(mut self) -> Self {
        self.adjusted = true;
        self
    }

    /// The same row, of which the least reading stands.
    const fn least(mut self) -> Self {
        self.worst = Some(Worst::Least);
        self
    }

    /// The same row, of which the greatest reading stands.
    const fn most(mut self) -> Self {
        self.worst = Some(Worst::Most);
        self
    }

    /// The same row, tried so many times.
    const fn tried(mut self, times: u32) -> Self {
        self.tries = times;
        self
    }

    /// The same row, for a text that must make sense.
    const fn meaning(mut self, sense: Sense) -> Self {
        self.sense = sense;
        self
    }

    /// Whether readings soon after each other are of one thing and stand together: repeats of an
    /// instrument's reading, and tries of what either works or does not.
    pub const fn gathers(&self) -> bool {
        let read = !self.instrument.is_empty() && !self.setting && !self.adjusted;
        read || matches!(self.field.shape, Shape::Tally)
    }

    /// The first gate that looks at this value. A gate before it predicts and is not
    /// re-opened by what is measured later: fit and ride are looked at twice, predicted
    /// and proved.
    pub const fn since(&self) -> Stage {
        if self.setting || self.of_part {
            Stage::Intake
        } else {
            self.group.stage()
        }
    }

    /// The same row, read with an instrument of a standard uncertainty.
    const fn read_with(mut self, instrument: &'static str, uncertainty: f64, agree: f64) -> Self {
        self.instrument = instrument;
        self.uncertainty = uncertainty;
        self.agree = agree;
        self
    }

    /// Whether a change of one of these slots unsettles it.
    pub fn is_stale_by(&self, slots: [Slot; 2]) -> bool {
        slots.iter().any(|slot| self.stale_by.contains(slot))
    }

    /// The same row, stale once a part in one of these slots is changed.
    const fn stale_by(mut self, slots: &'static [Slot]) -> Self {
        self.stale_by = slots;
        self
    }

    /// The code itself.
    pub const fn key(&self) -> &'static str {
        self.field.key
    }

    /// Standard uncertainty of one reading in the kind's SI unit.
    pub fn uncertainty_si(&self) -> f64 {
        let [uncertainty, _] = self.differences();
        *uncertainty.get_or_init(|| self.difference_si(self.uncertainty))
    }

    /// The disagreement that asks for a third reading, in the kind's SI unit.
    pub fn agree_si(&self) -> f64 {
        let [_, agree] = self.differences();
        *agree.get_or_init(|| self.difference_si(self.agree))
    }

    /// Room for doubt and disagreement in SI: read from the row's text once, and asked for by every
    /// check that looks at the value.
    fn differences(&self) -> &'static [OnceLock<f64>; 2] {
        static ALL: OnceLock<HashMap<&'static str, [OnceLock<f64>; 2]>> = OnceLock::new();
        let of_all = ALL.get_or_init(|| all().map(|row| (row.key(), Default::default())).collect());
        of_all.get(self.key()).expect("every code is a row of the table")
    }

    /// The command that would record this value for a job, the value left blank.
    pub fn how_to_record(&self, job: u32) -> String {
        let words = self.words_before_value(job).join(" ");
        let gap = if words.ends_with('=') { "" } else { " " };
        let beside = self
            .read_beside()
            .map_or_else(String::new, |(field, row)| format!(" {field}={}", row.blank()));
        format!("lockring {words}{gap}{}{beside}", self.blank())
    }

    /// The reading of the same run without which this one says little, and its field: a stop goes with the square of the
    /// speed it was begun at.
    fn read_beside(&self) -> Option<(&'static str, &'static Self)> {
        let beside = (self.key() == "stop-distance").then_some("stop-speed")?;
        let (_, field) = run_of(beside)?;
        Some((field, find(beside)?))
    }

    /// The words of that command before the value, without the program's name; a last word that
    /// ends in `=` is followed by the value at once.
    pub fn words_before_value(&self, job: u32) -> Vec<String> {
        let job = job.to_string();
        let pair = || format!("{}=", self.key());
        let key = || self.key().to_owned();
        let (command, rest) = match (self.group, run_of(self.key())) {
            _ if self.key() == "paid" => ("pay", vec!["--kind".to_owned(), "balance".to_owned()]),
            (Group::Brief, _) => ("brief", vec![pair()]),
            (Group::Donor, _) if self.instrument.is_empty() => ("donor", vec![pair()]),
            (Group::Torque, _) => ("torque", vec![torque_word(self.key()).to_owned()]),
            (Group::Ride, Some((run, field))) => ("ride", vec![run.word.to_owned(), format!("{field}=")]),
            _ => ("measure", vec![key()]),
        };
        [command.to_owned(), job].into_iter().chain(rest).collect()
    }

    /// A value that is taken.
    pub fn example(&self) -> String {
        match (self.sense, self.field.shape) {
            (Sense::Any, Shape::Tally) => format!("{0}/{0}", self.tries),
            (Sense::Any, _) => self.field.example(),
            (sense, _) => sense.example().to_owned(),
        }
    }

    /// A blank to be filled in, with the unit.
    pub fn blank(&self) -> String {
        match self.field.shape {
            Shape::Tally if self.sense == Sense::Any => format!("…/{}", self.tries),
            _ => self.field.blank(),
        }
    }

    /// Reads a text into a value of this code; see [`Field::read`].
    ///
    /// # Errors
    /// As [`Field::read`], and [`FieldError::Unreadable`] for a text that makes no sense.
    pub fn read(&self, text: &str, force: bool) -> Result<Value, FieldError> {
        let value = self
            .field
            .read(&self.sense.stands_for(text), force)
            .map_err(|error| self.sense.words_too(error))?;
        let sensible = match &value {
            Value::Text(said) => self.sense.check(said),
            Value::Number(number) => self.sense.check_number(*number),
            _ => Ok(()),
        };
        sensible.map_err(|nonsense| FieldError::Unreadable {
            name: self.field.name,
            given: text.trim().to_owned(),
            why: nonsense.why,
            expected: nonsense.expected,
            example: nonsense.example.to_owned(),
        })?;
        Ok(value)
    }

    fn difference_si(&self, amount: f64) -> f64 {
        match self.field.shape {
            Shape::Quantity { kind, unit, .. } if amount.is_finite() => {
                // Differences: an offset unit such as °C must not add its offset.
                unit::parse(kind, unit, &unit::with_unit(amount, unit))
                    .and_then(|si| unit::parse(kind, unit, &unit::with_unit(0.0, unit)).map(|zero| si - zero))
                    .unwrap_or(amount)
            }
            _ => amount,
        }
    }
}

/// A kind of test run: the word after `ride JOB`, and the fields it takes in order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// The word people type.
    pub word: &'static str,
    /// What is done, in one line.
    pub what: &'static str,
    /// Field word and the code it records; values without a word are taken in this order.
    pub fields: &'static [(&'static str, &'static str)],
}

/// All codes, in bench order within their group.
pub fn all() -> impl Iterator<Item = &'static Code> {
    [
        brief::CODES,
        donor::CODES,
        inspected::CODES,
        cockpit::CODES,
        bench::CODES,
        lines::CODES,
        electric::CODES,
        torque::CODES,
        ride::CODES,
        steps::CODES,
        handover::CODES,
    ]
    .into_iter()
    .flatten()
}

/// All kinds of test run, in the order they are ridden.
pub fn runs() -> &'static [Run] {
    ride::RUNS
}

/// The run and the field word that record a code of the test ride.
pub fn run_of(code: &str) -> Option<(&'static Run, &'static str)> {
    runs().iter().find_map(|run| {
        run.fields
            .iter()
            .find(|(_, key)| *key == code)
            .map(|(word, _)| (run, *word))
    })
}

/// Finds a code by key or alias.
pub fn find(word: &str) -> Option<&'static Code> {
    static INDEX: OnceLock<HashMap<&'static str, &'static Code>> = OnceLock::new();
    let index = INDEX.get_or_init(|| {
        let aliases = all()
            .filter(|code| !code.alias.is_empty())
            .map(|code| (code.alias, code));
        all().map(|code| (code.key(), code)).chain(aliases).collect()
    });
    let as_it_is = index.get(word);
    as_it_is
        .or_else(|| index.get(word.to_lowercase().as_str()))
        .copied()
}

/// Codes nearest to an unknown word, best first.
pub fn near(word: &str) -> Vec<&'static str> {
    let words = all()
        .flat_map(|code| [code.key(), code.alias])
        .filter(|word| !word.is_empty());
    let near = nearest(&word.to_lowercase(), words);
    if near.is_empty() { measured_in(word) } else { near }
}

/// Codes read in a unit of this name, where those are few: `psi` is no code, tyres are measured in it.
/// The air of a run has its own words.
fn measured_in(unit: &str) -> Vec<&'static str> {
    let of_unit = |code: &&Code| match code.field.shape {
        Shape::Quantity { kind, .. } if code.group != Group::Ride => unit::symbols(kind)
            .iter()
            .any(|symbol| symbol.eq_ignore_ascii_case(unit)),
        _ => false,
    };
    let codes: Vec<&'static str> = all().filter(of_unit).map(|code| code.key()).collect();
    if codes.len() > 4 { Vec::new() } else { codes }
}

/// The code that records the torque of a bolt, `torque-` before the bolt's word.
pub fn torque_code(bolt: &str) -> Option<&'static Code> {
    // `torque-arm` and `torque-marks` begin alike and are no bolts.
    find(&format!("torque-{}", bolt.to_lowercase())).filter(|row| row.group == Group::Torque)
}

/// The bolt's word of a torque code.
pub fn torque_word(key: &str) -> &str {
    key.strip_prefix("torque-").unwrap_or(key)
}

const fn quantity(kind: Kind, unit: &'static str, low: f64, high: f64) -> Shape {
    Shape::Quantity {
        kind,
        unit,
        window: (low, high),
    }
}

const fn mm(low: f64, high: f64) -> Shape {
    quantity(Kind::Length, "mm", low, high)
}

const fn kmh(low: f64, high: f64) -> Shape {
    quantity(Kind::Speed, "km/h", low, high)
}

const fn volts(low: f64, high: f64) -> Shape {
    quantity(Kind::Voltage, "V", low, high)
}

const fn kilograms(low: f64, high: f64) -> Shape {
    quantity(Kind::Mass, "kg", low, high)
}

const fn percent(low: f64, high: f64) -> Shape {
    quantity(Kind::Ratio, "%", low, high)
}

const fn gradient(low: f64, high: f64) -> Shape {
    quantity(Kind::Grade, "%", low, high)
}

const fn watts(low: f64, high: f64) -> Shape {
    quantity(Kind::Power, "W", low, high)
}

const fn count(low: f64, high: f64) -> Shape {
    quantity(Kind::Count, "", low, high)
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    /// A line to type shows a blank as it is: who types the value quotes it.
    #[test]
    fn no_blank_holds_what_a_shell_reads_otherwise() {
        for row in all() {
            let blank = row.blank();
            assert!(
                !blank.contains(['(', ')', '\'', '"', '&', ';', '|', '<', '>', '$', '`', '*', '?']),
                "{blank}"
            );
        }
    }

    /// Somebody who types a unit's name means a value in it.
    #[test]
    fn no_word_is_the_name_of_a_unit_its_values_may_have() {
        for code in all() {
            let Shape::Quantity { kind, .. } = code.field.shape else {
                continue;
            };
            for word in [code.key(), code.alias] {
                assert!(
                    !unit::symbols(kind)
                        .iter()
                        .any(|unit| unit.eq_ignore_ascii_case(word)),
                    "{word}"
                );
            }
        }
        // Who types one all the same is told what is measured in it.
        assert!(find("psi").is_none());
        assert!(near("psi").contains(&"tyre-pressure"), "{:?}", near("psi"));
        assert!(near("mm").is_empty(), "too much is");
    }

    #[test]
    fn no_word_stands_for_two_codes() {
        let mut seen = HashSet::new();
        for code in all() {
            assert!(seen.insert(code.key()), "{} twice", code.key());
            assert!(
                code.alias.is_empty() || seen.insert(code.alias),
                "{} twice",
                code.alias
            );
        }
    }

    #[test]
    fn what_moves_a_code_is_a_code() {
        for code in all() {
            assert!(
                code.moved_by.iter().all(|word| find(word).is_some()),
                "{}",
                code.key()
            );
        }
    }

    #[test]
    fn no_blank_is_taken_for_a_value() {
        for code in all().filter(|code| code.field.shape != Shape::Text) {
            let blank = code.blank();
            assert!(code.read(&blank, true).is_err(), "{}: {blank}", code.key());
        }
    }

    #[test]
    fn every_example_is_taken_and_every_run_names_codes() {
        for code in all() {
            let example = code.example();
            assert!(code.read(&example, false).is_ok(), "{}: {example}", code.key());
        }
        for run in runs() {
            for (word, key) in run.fields {
                assert!(
                    find(key).is_some_and(|code| code.group == Group::Ride),
                    "{} {word} {key}",
                    run.word
                );
            }
        }
    }
}
