//! The rule sheet: every threshold of the checks with its unit, basis and source.
//!
//! The defaults are shipped (`data/rules.toml`); a shop may override a value with a note,
//! never a source. A limit that ends on a day ends with the shop's day, so the sheet carries the shop's time zone.

mod plain;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::fmt;
use std::sync::{Arc, OnceLock};

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::Deserialize;
use toml::Value;

use crate::nearest::nearest;
use crate::unit::{self, Kind};

const SHIPPED: &str = include_str!("../data/rules.toml");

/// What stands behind a threshold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// A publication.
    Published,
    /// What the trade does; no publication.
    CommonPractice,
    /// A publication known from memory, to be confirmed.
    Memory,
    /// The workshop's own choice.
    Judgement,
    /// Computed from other figures.
    Computed,
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Published => "published",
            Self::CommonPractice => "common practice",
            Self::Memory => "from memory",
            Self::Judgement => "judgement",
            Self::Computed => "computed",
        })
    }
}

/// One threshold.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Its word, such as `chainline.centre-good`.
    pub key: String,
    /// The number in `unit`.
    pub value: f64,
    /// Unit: a symbol of [`crate::unit`], or one of the plain units (`A/Ah`, `kg m2`,
    /// `days`, `years`) that are kept as written.
    pub unit: String,
    /// What is measured; [`Kind::Count`] for plain units.
    pub kind: Kind,
    /// The value the checks use: SI, or as written for plain units.
    pub number: f64,
    /// What stands behind the shipped value.
    pub basis: Basis,
    /// Where the shipped value comes from.
    pub source: String,
    /// Why the shop changed it; `None` for a shipped value.
    pub note: Option<String>,
}

/// How many times its shipped value a rule may be set to: a digit too many is allowed, a number by which
/// sums and calendars end is not (judgement).
const MOST_TIMES: f64 = 1000.0;

impl Rule {
    /// A number the checks use, as it is shown.
    fn shown(&self, number: f64) -> f64 {
        if plain::is_plain(&self.unit) {
            number
        } else {
            unit::from_si(self.kind, &self.unit, number)
        }
    }

    /// The value with its unit.
    pub fn show(&self) -> String {
        unit::with_unit(self.value, &self.unit)
    }

    /// Its word, its value, and what stands behind it: basis and source, and the shop's note
    /// where the shop changed it.
    pub fn standing(&self) -> String {
        let basis = self.basis.to_string();
        // Most sources name their basis themselves.
        let source = if self.source.contains(&basis) {
            self.source.clone()
        } else {
            format!("{basis}: {}", self.source)
        };
        let (word, value) = (&self.key, self.show());
        match &self.note {
            None => format!("{word} {value} ({source})"),
            Some(note) => format!("{word} {value}, the shop's own: {note} (as shipped: {source})"),
        }
    }
}

/// Why a rule cannot be had or changed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RuleError {
    /// No such rule.
    #[error("no rule is called `{key}`{}", near_words(.near))]
    Unknown {
        /// The word as given.
        key: String,
        /// The nearest words, best first.
        near: Vec<String>,
    },
    /// The value cannot be taken.
    #[error("{key}: `{given}` cannot be taken: {why}")]
    Value {
        /// The rule.
        key: String,
        /// The text as given.
        given: String,
        /// What is wrong.
        why: String,
    },
    /// An override needs a reason.
    #[error("{key}: a changed rule needs a note that says why")]
    NoNote {
        /// The rule.
        key: String,
    },
    /// The sheet itself is broken.
    #[error("rule sheet: {0}")]
    Sheet(String),
}

fn near_words(near: &[String]) -> String {
    match near {
        [] => String::new(),
        near => format!("; nearest: {}", near.join(", ")),
    }
}

/// All thresholds, shipped ones and the shop's.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleSheet {
    /// Shared by all copies until one is changed.
    rules: Arc<BTreeMap<String, Arc<Rule>>>,
    /// Where the days are counted, shared likewise.
    zone: Arc<TimeZone>,
}

impl RuleSheet {
    /// The sheet as shipped, its days in UTC.
    pub fn shipped() -> Self {
        static SHEET: OnceLock<RuleSheet> = OnceLock::new();
        SHEET
            .get_or_init(|| Self::read(SHIPPED).expect("the shipped rule sheet is whole; a test reads it"))
            .clone()
    }

    /// The rule with this word.
    ///
    /// # Errors
    /// [`RuleError::Unknown`] with the nearest words.
    pub fn get(&self, key: &str) -> Result<&Rule, RuleError> {
        let rule = self.rules.get(key).ok_or_else(|| RuleError::Unknown {
            key: key.to_owned(),
            near: nearest(key, self.keys()).into_iter().map(str::to_owned).collect(),
        });
        rule.map(|rule| &**rule)
    }

    /// The rule with this word, to be kept; `None` for no rule.
    pub(crate) fn shared(&self, key: &str) -> Option<Arc<Rule>> {
        self.rules.get(key).cloned()
    }

    /// Whether another sheet is this one or an unchanged copy of it, which takes no time to see; two that
    /// were read apart are not.
    pub fn is(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.rules, &other.rules) && Arc::ptr_eq(&self.zone, &other.zone)
    }

    /// The sheet with its days counted in the shop's time zone.
    #[must_use]
    pub fn in_zone(self, zone: TimeZone) -> Self {
        Self {
            zone: Arc::new(zone),
            ..self
        }
    }

    /// The day of a moment by the shop's clock.
    pub fn day(&self, moment: Timestamp) -> Date {
        self.zone.to_datetime(moment).date()
    }

    /// The value the checks use: SI for units of [`crate::unit`], as written for plain units.
    pub fn number(&self, key: &str) -> Option<f64> {
        self.rules.get(key).map(|rule| rule.number)
    }

    /// All words, in order.
    pub fn keys(&self) -> impl Iterator<Item = &str> {
        self.rules.keys().map(String::as_str)
    }

    /// All rules, in the order of their words.
    pub fn rules(&self) -> impl Iterator<Item = &Rule> {
        self.rules.values().map(|rule| &**rule)
    }

    /// The rules the shop changed.
    pub fn overridden(&self) -> impl Iterator<Item = &Rule> {
        self.rules().filter(|rule| rule.note.is_some())
    }

    /// The sheet with one value changed: a number in the rule's unit or in any unit of its
    /// kind, with a note that says why.
    ///
    /// # Errors
    /// [`RuleError::Unknown`]; [`RuleError::NoNote`]; [`RuleError::Value`] when the text is no
    /// such quantity, is negative where the shipped value is not, is more than a thousand times the
    /// shipped one, or puts a least value over its most.
    pub fn with_override(mut self, key: &str, value_text: &str, note: &str) -> Result<Self, RuleError> {
        let rule = self.get(key)?;
        let refused = |why: String| RuleError::Value {
            key: key.to_owned(),
            given: value_text.to_owned(),
            why,
        };
        if note.trim().is_empty() {
            return Err(RuleError::NoNote { key: key.to_owned() });
        }
        let number = if plain::is_plain(&rule.unit) {
            plain::parse(&rule.unit, value_text)
        } else {
            unit::parse(rule.kind, &rule.unit, value_text)
        }
        .map_err(|error| refused(error.to_string()))?;
        if rule.number >= 0.0 && number < 0.0 {
            return Err(refused("it is negative".into()));
        }
        let shipped = Self::shipped().number(key).unwrap_or(rule.number);
        let most = shipped.abs() * MOST_TIMES;
        // Shipped as 0 are a count of drops and a switch.
        if shipped != 0.0 && number.abs() > most {
            let most = unit::with_unit(rule.shown(most), &rule.unit);
            return Err(refused(format!(
                "expected at most {most}, a thousand times the shipped value"
            )));
        }
        if let Some(why) = self.crossed(key, number) {
            return Err(refused(why));
        }
        if let Some(rule) = Arc::make_mut(&mut self.rules).get_mut(key) {
            let rule = Arc::make_mut(rule);
            rule.number = number;
            rule.value = rule.shown(number);
            rule.note = Some(note.trim().to_owned());
        }
        Ok(self)
    }

    /// Why `number` as the value of `key` would put a least value over its most.
    fn crossed(&self, key: &str, number: f64) -> Option<String> {
        for (low, high) in [("least", "most"), ("min", "max")] {
            if let Some(stem) = key.strip_suffix(low) {
                let most = self.rules.get(&format!("{stem}{high}"))?;
                return (number > most.number).then(|| format!("it is over {} = {}", most.key, most.show()));
            }
            if let Some(stem) = key.strip_suffix(high) {
                let least = self.rules.get(&format!("{stem}{low}"))?;
                return (number < least.number)
                    .then(|| format!("it is under {} = {}", least.key, least.show()));
            }
        }
        None
    }

    fn read(content: &str) -> Result<Self, RuleError> {
        let table: toml::Table = content
            .parse()
            .map_err(|error| RuleError::Sheet(format!("{error}")))?;
        let mut rules = BTreeMap::new();
        collect("", table, &mut rules)?;
        Ok(Self {
            rules: Arc::new(rules),
            zone: Arc::new(TimeZone::UTC),
        })
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    value: f64,
    unit: String,
    basis: Basis,
    source: String,
}

/// Walks the dotted tables; a table with a `value` is a rule.
fn collect(path: &str, table: toml::Table, rules: &mut BTreeMap<String, Arc<Rule>>) -> Result<(), RuleError> {
    for (word, value) in table {
        let key = if path.is_empty() {
            word
        } else {
            format!("{path}.{word}")
        };
        match value {
            Value::Table(inner) if inner.contains_key("value") => {
                let rule = rule(&key, inner)?;
                rules.insert(key, Arc::new(rule));
            }
            Value::Table(inner) => collect(&key, inner, rules)?,
            other => {
                return Err(RuleError::Sheet(format!(
                    "{key}: `{other}` is neither a rule nor a group"
                )));
            }
        }
    }
    Ok(())
}

fn rule(key: &str, table: toml::Table) -> Result<Rule, RuleError> {
    let broken = |why: String| RuleError::Sheet(format!("{key}: {why}"));
    let row: Row = table.try_into().map_err(|error| broken(format!("{error}")))?;
    if row.source.trim().is_empty() {
        return Err(broken("no source".into()));
    }
    if !row.value.is_finite() {
        return Err(broken(format!("{} is no threshold", row.value)));
    }
    let (kind, number) = if plain::is_plain(&row.unit) {
        (Kind::Count, row.value)
    } else {
        let kind =
            unit::kind_of(&row.unit).ok_or_else(|| broken(format!("unit `{}` is not known", row.unit)))?;
        let number =
            unit::to_si(kind, &row.unit, row.value).expect("a symbol found in the table belongs to its kind");
        (kind, number)
    };
    Ok(Rule {
        key: key.to_owned(),
        value: row.value,
        unit: row.unit,
        kind,
        number,
        basis: row.basis,
        source: row.source,
        note: None,
    })
}
