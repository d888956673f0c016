//! One row per value that people may enter: key, name, shape, window.
//!
//! Facts ([`crate::code`]) and part attributes ([`crate::part`]) are both described by
//! [`Field`], so a value is read, checked and shown by one piece of code wherever it comes
//! from.

use jiff::civil::Date;

use crate::fact::Value;
use crate::length::{self, MOST_WORDS};
use crate::money::Money;
use crate::unit::{self, Kind};

/// What a field holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// A quantity; `window` is the plausible range in the default unit.
    Quantity {
        /// What is measured.
        kind: Kind,
        /// The unit taken when none is written.
        unit: &'static str,
        /// Plausible range, in `unit`.
        window: (f64, f64),
    },
    /// Money in the shop's currency, such as `1450` or `98,50`.
    Money,
    /// One of these words.
    Word(&'static [&'static str]),
    /// Yes or no.
    Flag,
    /// Free text, not empty.
    Text,
    /// A calendar day, `2026-03-24`.
    Day,
    /// Teeth of the cogs, `11-13-15-17`, in rising order.
    Teeth,
    /// Ratios of the gears inside a hub, `0.75-1-1.33`, kept in rising order.
    Ratios {
        /// Plausible range of each.
        window: (f64, f64),
    },
    /// So many out of so many, `3/3`.
    Tally,
}

/// The one text that is not free: an id of the table of ride classes.
const RIDE_CLASS: &str = "ride-class";

/// One value that people may enter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// The word people type, such as `stay-length`.
    pub key: &'static str,
    /// What it is called in a sentence, such as `chainstay length`.
    pub name: &'static str,
    /// What it holds.
    pub shape: Shape,
}

/// Why a text is not a value of a field. Every variant names what was given and what is
/// expected.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FieldError {
    /// The text cannot be read.
    #[error("{name}: `{given}` cannot be read ({why}); expected {expected}, for example `{example}`")]
    Unreadable {
        /// The field's name.
        name: &'static str,
        /// The text as given.
        given: String,
        /// What went wrong.
        why: String,
        /// What would do.
        expected: String,
        /// An example.
        example: String,
    },
    /// The number is outside the plausible range.
    #[error("{name}: {given} is outside the plausible range {low} to {high}")]
    OutsideWindow {
        /// The field's name.
        name: &'static str,
        /// The value as understood.
        given: String,
        /// Lower end.
        low: String,
        /// Upper end.
        high: String,
        /// A value ten, a hundred or a thousand times off that would lie inside, if there is one.
        meant: Option<String>,
    },
}

/// Words to choose from that a command shows, together at most so many letters.
const LONGEST_CHOICE: usize = 64;

impl Field {
    /// A row of a table.
    pub const fn new(key: &'static str, name: &'static str, shape: Shape) -> Self {
        Self { key, name, shape }
    }

    /// Whether a text may stand in the books of a shop that counts in `home` (see [`Money::read_in`]); every text of
    /// another shape may.
    ///
    /// # Errors
    /// [`FieldError::Unreadable`] for an amount of another currency, or none.
    pub fn in_currency(&self, text: &str, home: &str) -> Result<(), FieldError> {
        if !matches!(self.shape, Shape::Money) {
            return Ok(());
        }
        let read = Money::read_in(text, home);
        read.map(|_| ())
            .map_err(|error| self.unreadable(text.trim(), error.to_string()))
    }

    /// Reads a text into a value.
    ///
    /// # Errors
    /// [`FieldError::Unreadable`] when the text is no value of this shape, or less than nothing where that cannot be;
    /// [`FieldError::OutsideWindow`] when a quantity is implausible and `force` is not set.
    pub fn read(&self, text: &str, force: bool) -> Result<Value, FieldError> {
        let text = text.trim();
        match self.shape {
            Shape::Quantity { kind, unit, window } => {
                let si = unit::parse(kind, unit, text)
                    .map_err(|error| self.unreadable(text, error.to_string()))?;
                // A row with values below nothing has them in its window: how far a rim is out of centre.
                let is_amount = window.0 >= 0.0 || matches!(kind, Kind::Temperature);
                if si < 0.0 && is_amount && kind.begins_at_nothing() {
                    return Err(self.unreadable(text, "it is less than nothing".into()));
                }
                if !force {
                    self.inside(kind, unit, window, si, text)?;
                }
                Ok(Value::Number(si))
            }
            Shape::Money => match Money::read(text) {
                Ok(amount) if !amount.is_negative() => Ok(Value::Money(amount.0)),
                Ok(_) => Err(self.unreadable(text, "it is less than nothing".into())),
                Err(error) => Err(self.unreadable(text, error.to_string())),
            },
            Shape::Word(words) => {
                let lower = text.to_lowercase();
                let lower = said::meant(self.key, &lower).unwrap_or(&lower);
                words
                    .iter()
                    .find(|word| **word == lower)
                    .map(|word| Value::Word((*word).to_owned()))
                    .ok_or_else(|| {
                        let near = crate::nearest::nearest(lower, words.iter().copied());
                        let why = match (said::why_unclear(self.key, lower), near.first()) {
                            (Some(why), _) => why.to_owned(),
                            (None, Some(word)) => format!("not one of the words; nearest is `{word}`"),
                            (None, None) => "not one of the words".into(),
                        };
                        self.unreadable(text, why)
                    })
            }
            Shape::Flag => match text.to_lowercase().as_str() {
                "yes" | "y" | "true" | "ok" | "1" => Ok(Value::Flag(true)),
                "no" | "n" | "false" | "0" => Ok(Value::Flag(false)),
                _ => Err(self.unreadable(text, "neither yes nor no".into())),
            },
            Shape::Text if text.is_empty() => Err(self.unreadable(text, "empty".into())),
            Shape::Text => match length::words(self.name, text) {
                Ok(text) => Ok(Value::Text(text)),
                Err(refusal) if text.chars().count() <= MOST_WORDS => {
                    Err(self.unreadable("what was typed", refusal.message))
                }
                Err(_) => Err(self.unreadable(
                    &format!("{} …", text.chars().take(40).collect::<String>()),
                    format!(
                        "it has {} characters, more than {MOST_WORDS}",
                        text.chars().count()
                    ),
                )),
            },
            Shape::Day => read_day(text)
                .map(Value::Day)
                .ok_or_else(|| self.unreadable(text, "not a calendar day".into())),
            Shape::Teeth => self.read_teeth(text),
            Shape::Ratios { window } => self.read_ratios(text, window),
            Shape::Tally => self.read_tally(text),
        }
    }

    /// Shows a value of this field, with its unit.
    pub fn show(&self, value: &Value) -> String {
        match (value, self.shape) {
            (Value::Number(si), Shape::Quantity { kind, unit, .. }) => unit::show(kind, unit, *si),
            _ => show_plain(value),
        }
    }

    /// Shows a quantity in its unit and the other system's; anything else as [`Field::show`].
    pub fn show_both(&self, value: &Value) -> String {
        match (value, self.shape) {
            (Value::Number(si), Shape::Quantity { kind, unit, .. }) => unit::show_both(kind, unit, *si),
            _ => show_plain(value),
        }
    }

    /// What may be entered, in words.
    pub fn expected(&self) -> String {
        match self.shape {
            Shape::Quantity {
                unit,
                window: (low, high),
                ..
            } => {
                format!(
                    "a value from {} to {}",
                    unit::with_unit(low, unit),
                    unit::with_unit(high, unit)
                )
            }
            Shape::Money => "an amount of money".into(),
            Shape::Word(words) => format!("one of {}", words.join(", ")),
            Shape::Flag => "yes or no".into(),
            Shape::Text if self.key == RIDE_CLASS => {
                "one of the ride classes; `lockring words classes` lists them".into()
            }
            Shape::Text => "some words".into(),
            Shape::Day => "a day as year-month-day".into(),
            Shape::Teeth => "the teeth of each cog, smallest first".into(),
            Shape::Ratios { window: (low, high) } => {
                format!("the ratio of every gear, each {low} to {high} turns of the wheel for one of the cog")
            }
            Shape::Tally => "how often it worked out of how often it was tried".into(),
        }
    }

    /// The unit a quantity is read in where none is typed; empty for anything else.
    pub const fn unit(&self) -> &'static str {
        match self.shape {
            Shape::Quantity { unit, .. } => unit,
            _ => "",
        }
    }

    /// A blank to be filled in, with the unit, or the words to choose from: an example would be taken for advice, and
    /// typed as it stands for a value.
    pub fn blank(&self) -> String {
        match self.shape {
            Shape::Quantity { unit, .. } => format!("…{unit}"),
            Shape::Money | Shape::Text | Shape::Teeth | Shape::Ratios { .. } => "…".into(),
            Shape::Day => "YEAR-MONTH-DAY".into(),
            Shape::Flag => "yes/no".into(),
            Shape::Tally => "…/…".into(),
            Shape::Word(words) => {
                let all = words.join("/");
                if all.len() <= LONGEST_CHOICE {
                    all
                } else {
                    "…".into()
                }
            }
        }
    }

    /// An example of an entry that would be taken.
    pub fn example(&self) -> String {
        match self.shape {
            Shape::Quantity {
                unit,
                window: (low, high),
                ..
            } => {
                // A round value well inside the window reads better than its exact middle.
                let middle = low + (high - low) * 0.4;
                let step = 10f64.powf(middle.abs().max(1e-9).log10().floor());
                let round = (middle / step).round() * step;
                unit::with_unit(
                    if round > low && round < high {
                        round
                    } else {
                        middle
                    },
                    unit,
                )
            }
            Shape::Money => "98,50".into(),
            Shape::Word(words) => words.first().copied().unwrap_or_default().to_owned(),
            Shape::Flag => "yes".into(),
            Shape::Text if self.key == RIDE_CLASS => "eu-epac".into(),
            Shape::Text => "as found".into(),
            Shape::Day => "2026-03-24".into(),
            Shape::Teeth => "11-13-15-17-20-23-26-30-34".into(),
            Shape::Ratios { .. } => "0.75-1-1.33".into(),
            Shape::Tally => "3/3".into(),
        }
    }

    fn unreadable(&self, given: &str, why: String) -> FieldError {
        FieldError::Unreadable {
            name: self.name,
            given: given.to_owned(),
            why,
            expected: self.expected(),
            example: self.example(),
        }
    }

    fn inside(
        &self,
        kind: Kind,
        unit: &'static str,
        (low, high): (f64, f64),
        si: f64,
        text: &str,
    ) -> Result<(), FieldError> {
        let written = unit::from_si(kind, unit, si);
        if (low..=high).contains(&written) {
            return Ok(());
        }
        let is_inside = |guess: &f64| (low..=high).contains(guess);
        // The figure with another unit behind it than is meant, such as pounds for kilograms.
        let figure = text.trim_end_matches(|letter: char| !letter.is_ascii_digit());
        let figure = unit::parse(kind, unit, figure).map(|si| unit::from_si(kind, unit, si));
        // Charge in hundreds is one in thousandths, as meters show it.
        let thousandth = (unit == "Ah" && written >= 100.0).then_some(0.001);
        // A ratio typed without its sign: 0.06 is 6 % before it is 0.6 %.
        let ratio = (unit == "%" && written.abs() < 1.0).then_some(100.0);
        // A slip of the decimal mark, or metres for millimetres and the like. What is counted has no mark to slip, and a figure that
        // was left out may be any.
        let factors: &[f64] = match kind {
            Kind::Count => &[0.1],
            _ => &[0.1, 10.0, 0.01, 100.0, 1000.0, 0.001],
        };
        let slips = thousandth.into_iter().chain(ratio).chain(factors.iter().copied());
        let slips = slips.map(|factor| written * factor);
        let meant = figure
            .ok()
            .into_iter()
            .chain(slips)
            .find(is_inside)
            .map(|guess| unit::with_unit(guess, unit));
        Err(FieldError::OutsideWindow {
            name: self.name,
            given: unit::show(kind, unit, si),
            low: unit::with_unit(low, unit),
            high: unit::with_unit(high, unit),
            meant,
        })
    }

    fn read_teeth(&self, text: &str) -> Result<Value, FieldError> {
        let teeth: Result<Vec<u32>, _> = text
            .split(['-', ',', ' ', '/'])
            .filter(|part| !part.is_empty())
            .map(str::parse::<u32>)
            .collect();
        let teeth = teeth.map_err(|_| self.unreadable(text, "not whole numbers".into()))?;
        if teeth.is_empty() || teeth.iter().any(|n| !(9..=70).contains(n)) {
            return Err(self.unreadable(text, "each cog needs 9 to 70 teeth".into()));
        }
        if !teeth.is_sorted_by(|a, b| a < b) {
            return Err(self.unreadable(text, "the cogs are not in rising order".into()));
        }
        Ok(Value::Teeth(teeth))
    }

    /// Ratios with a hyphen, blank, slash or semicolon between them, or with a comma where they are written with points.
    fn read_ratios(&self, text: &str, (low, high): (f64, f64)) -> Result<Value, FieldError> {
        let apart = |marks: &'static [char]| -> Vec<&str> {
            let parts = text.split(marks).map(|part| part.trim_matches(','));
            parts.filter(|part| !part.is_empty()).collect()
        };
        let mut parts = apart(&['-', ' ', '/', ';']);
        if parts.len() < 2 {
            parts = apart(&[',']);
        }
        let ratios: Result<Vec<f64>, _> = parts
            .iter()
            .map(|part| part.replace(',', ".").parse::<f64>())
            .collect();
        let mut ratios = ratios.map_err(|_| self.unreadable(text, "not numbers".into()))?;
        if let Some(ratio) = ratios.iter().find(|ratio| !(low..=high).contains(*ratio)) {
            return Err(self.unreadable(text, format!("{ratio} is no ratio of a gear inside a hub")));
        }
        if ratios.len() < 2 {
            return Err(self.unreadable(text, "gears inside a hub are two or more".into()));
        }
        ratios.sort_by(f64::total_cmp);
        if let Some(pair) = ratios.windows(2).find(|pair| pair[0] == pair[1]) {
            return Err(self.unreadable(text, format!("{} is there twice", pair[0])));
        }
        Ok(Value::Ratios(ratios))
    }

    fn read_tally(&self, text: &str) -> Result<Value, FieldError> {
        let told = text.replacen(" out of ", "/", 1).replacen(" of ", "/", 1);
        let parts: Vec<&str> = told.splitn(2, '/').map(str::trim).collect();
        let numbers: Option<Vec<u32>> = parts.iter().map(|part| part.parse().ok()).collect();
        match numbers.as_deref() {
            Some([good, tried]) if good <= tried && *tried > 0 => Ok(Value::Tally {
                good: *good,
                tried: *tried,
            }),
            _ => Err(self.unreadable(text, "not two whole numbers, the first no larger".into())),
        }
    }
}

/// A day that is written out, `2026-03-24` or `24.3.2026`; which day is meant by a word depends on when
/// it is said ([`day_said`](crate::calendar::day_said)).
fn read_day(text: &str) -> Option<Date> {
    if let Ok(day) = text.parse() {
        return Some(day);
    }
    let [day, month, year] = text.split('.').collect::<Vec<_>>().try_into().ok()?;
    let is_written = year.len() == 4 && text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    if !is_written {
        return None;
    }
    Date::new(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?).ok()
}

/// Shows a value without a unit; numbers come out in SI.
fn show_plain(value: &Value) -> String {
    match value {
        Value::Number(si) => unit::plain(*si),
        Value::Money(minor) => Money(*minor).to_string(),
        Value::Word(text) | Value::Text(text) => text.clone(),
        Value::Flag(true) => "yes".into(),
        Value::Flag(false) => "no".into(),
        Value::Day(day) => day.to_string(),
        Value::Teeth(teeth) => teeth.iter().map(u32::to_string).collect::<Vec<_>>().join("-"),
        Value::Ratios(ratios) => ratios.iter().map(f64::to_string).collect::<Vec<_>>().join("-"),
        Value::Tally { good, tried } => format!("{good}/{tried}"),
    }
}

mod said;
#[cfg(test)]
mod tests;
