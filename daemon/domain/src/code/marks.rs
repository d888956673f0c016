//! Torques marked on the parts themselves, read from one line of text such as
//! `calliper-front 6-8; stem max 6; rotor-front 35-55 lb in`.

use std::collections::BTreeMap;

use lockring_calc::fastener::Mark;
use lockring_calc::quantity::Torque;

use super::{Group, all, torque_code, torque_word};
use crate::nearest::nearest;
use crate::unit::{self, Kind};

/// What is shown to whoever wrote something that cannot be read.
pub(crate) const EXAMPLE: &str = "calliper-front 6-8; stem max 6; rotor-front 35-55 lb in";
/// Torques that a bicycle's bolts are marked with, N m (workshop judgement).
const WINDOW: (f64, f64) = (0.5, 80.0);

/// Reads marks by the word of their bolt.
///
/// # Errors
/// A line that says what was given, what is expected, and an example.
pub fn read_marks(text: &str) -> Result<BTreeMap<&'static str, Mark>, String> {
    let mut marks = BTreeMap::new();
    for entry in text.split(';').map(str::trim).filter(|entry| !entry.is_empty()) {
        let refuse = |why: String| format!("the mark `{entry}`: {why}; for example `{EXAMPLE}`");
        let (word, range) = entry
            .split_once(char::is_whitespace)
            .ok_or_else(|| refuse("expected a bolt and its torque".into()))?;
        let row = torque_code(word).ok_or_else(|| refuse(no_bolt(word)))?;
        let mark = read_range(range).map_err(refuse)?;
        if marks.insert(torque_word(row.key()), mark).is_some() {
            return Err(refuse(format!("`{word}` is given twice")));
        }
    }
    if marks.is_empty() {
        return Err(format!(
            "no mark is given; expected bolts and their torques, for example `{EXAMPLE}`"
        ));
    }
    Ok(marks)
}

/// `6-8`, `6 to 8 Nm`, `5`, `max 6`, `35-55 lb-in`; without a unit newton metres.
fn read_range(text: &str) -> Result<Mark, String> {
    let lower = text.trim().to_lowercase().replace(" to ", "-").replace('–', "-");
    let (only_most, numbers) = match lower.strip_prefix("max") {
        Some(rest) => (true, rest.trim_start_matches('.').trim()),
        None => (false, lower.as_str()),
    };
    let end = numbers.find(char::is_alphabetic).unwrap_or(numbers.len());
    let (numbers, unit) = numbers.split_at(end);
    let unit = unit.replace(['-', '·', '.'], " ");
    let torque = |number: &str| {
        let si = unit::parse(Kind::Torque, "N m", &format!("{number} {unit}"))
            .map_err(|error| error.to_string())?;
        let inside = (WINDOW.0..=WINDOW.1).contains(&si);
        inside.then_some(Torque::newton_metres(si)).ok_or_else(|| {
            format!(
                "{si:.1} N m is outside the plausible range {} to {} N m",
                WINDOW.0, WINDOW.1
            )
        })
    };
    match numbers.trim().split_once('-') {
        Some((least, most)) if !only_most => {
            let (least, most) = (torque(least.trim())?, torque(most.trim())?);
            if least > most {
                return Err("the least is over the most".into());
            }
            Ok(Mark::Between(least, most))
        }
        Some(_) => Err("expected `6-8` or `max 6`, not both".into()),
        None if only_most => torque(numbers.trim()).map(Mark::UpTo),
        None => torque(numbers.trim()).map(Mark::Single),
    }
}

fn no_bolt(word: &str) -> String {
    let bolts: Vec<&str> = all()
        .filter(|row| row.group == Group::Torque)
        .map(|row| torque_word(row.key()))
        .collect();
    match nearest(&word.to_lowercase(), bolts.iter().copied()).first() {
        Some(near) => format!("`{word}` is no bolt; nearest is `{near}`"),
        None => format!("`{word}` is no bolt; the bolts are {}", bolts.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_limits_and_units_are_read() {
        // Repair handbooks' tables, restated: 45 to 55 lbf in is 5.08 to 6.21 N m.
        let marks = read_marks(
            "calliper-front 6-8; stem max. 6 Nm ;rotor-front 45-55 lb-in; crank 38 to 42 N·m; cassette 40",
        )
        .unwrap();
        let nm = Torque::newton_metres;
        assert_eq!(marks["calliper-front"], Mark::Between(nm(6.0), nm(8.0)));
        assert_eq!(marks["stem"], Mark::UpTo(nm(6.0)));
        assert_eq!(marks["crank"], Mark::Between(nm(38.0), nm(42.0)));
        assert_eq!(marks["cassette"], Mark::Single(nm(40.0)));
        let rotor = marks["rotor-front"].range().unwrap();
        assert!((rotor.min.as_newton_metres() - 5.08).abs() < 0.006);
        assert!((rotor.max.as_newton_metres() - 6.21).abs() < 0.006);
    }

    #[test]
    fn what_cannot_be_read_is_refused_with_an_example() {
        for (text, words) in [
            ("", "no mark is given"),
            ("stem", "expected a bolt and its torque"),
            ("stme 5-6", "nearest is `stem`"),
            ("arm 5-6", "is no bolt"),
            ("marks 5-6", "is no bolt"),
            ("stem max 5-6", "not both"),
            ("stem x", "x"),
            ("stem 6-5", "the least is over the most"),
            ("stem 5-6; stem 5-6", "given twice"),
            ("stem 5-600", "outside the plausible range"),
            ("stem 5-6 kg", "kg"),
        ] {
            let why = read_marks(text).unwrap_err();
            assert!(
                why.contains(words) && why.contains("for example"),
                "{text}: {why}"
            );
        }
    }
}
