//! Amounts, hours, distances and words as people type them.

use crate::money::Money;
use crate::nearest::nearest;
use crate::refusal::{Reason, Refusal, Violation};
use crate::shop::Shop;

pub(super) fn bad(field: &str, problem: &str) -> Refusal {
    let violation = Violation {
        field: field.to_owned(),
        line: None,
        problem: problem.to_owned(),
    };
    Refusal::new(Reason::BadInput, problem.to_owned())
        .with("field", field)
        .violations(vec![violation])
}

/// An amount in the shop's money.
pub(super) fn read_amount(field: &str, text: &str, shop: &Shop) -> Result<Money, Refusal> {
    let amount =
        Money::read_in(text, &shop.currency().code).map_err(|error| bad(field, &error.to_string()))?;
    if amount.is_negative() {
        return Err(bad(
            field,
            &format!("{amount} is less than nothing; expected an amount such as 98.50"),
        ));
    }
    Ok(amount)
}

/// Hours as typed (`6.5`, `6.5h`, `6,5 h`, `90min`, `0:40` and `0:40 h` as they are shown), in whole minutes, rounded half up.
pub(super) fn read_minutes(text: &str) -> Result<u32, Refusal> {
    let refuse = || {
        bad(
            "hours",
            &format!(
                "`{}` is no time; expected hours such as 1:30, 6.5 or 90min",
                text.trim()
            ),
        )
    };
    let lower = text.trim().to_lowercase().replace(',', ".");
    let (number, each) = match lower.strip_suffix("min") {
        Some(number) => (number, 1.0),
        None => (lower.strip_suffix('h').unwrap_or(&lower), 60.0),
    };
    let minutes = match number.trim().split_once(':') {
        Some((hours, minutes)) if each > 1.0 => by_the_clock(hours, minutes).ok_or_else(refuse)?,
        _ => {
            let number: f64 = number.trim().parse().map_err(|_| refuse())?;
            (number * each).round()
        }
    };
    if !(1.0..=60_000.0).contains(&minutes) {
        return Err(refuse());
    }
    Ok(minutes as u32)
}

/// Hours and minutes with a colon between, in minutes; minutes have two digits, as on a clock.
fn by_the_clock(hours: &str, minutes: &str) -> Option<f64> {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(hours) || !digits(minutes) || minutes.len() != 2 {
        return None;
    }
    let (hours, minutes): (u16, u16) = (hours.parse().ok()?, minutes.parse().ok()?);
    (minutes < 60).then(|| f64::from(hours) * 60.0 + f64::from(minutes))
}

pub(super) fn read_km(text: &str) -> Result<Option<u32>, Refusal> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let refuse = || {
        bad(
            "odometer",
            &format!("`{text}` is no distance; expected one such as 140km"),
        )
    };
    let field = crate::code::find("range").ok_or_else(refuse)?;
    // The words of the field are about a range; only how it reads a distance is wanted.
    let value = field.read(text, true).map_err(|_| refuse())?;
    let km = value.number().ok_or_else(refuse)? / 1000.0;
    if !(0.0..=1_000_000.0).contains(&km) {
        return Err(refuse());
    }
    Ok(Some(km.round() as u32))
}

pub(super) fn word<T: Copy>(
    what: &str,
    typed: &str,
    all: &[T],
    shown: fn(T) -> &'static str,
) -> Result<T, Refusal> {
    let lower = typed.trim().to_lowercase();
    all.iter()
        .copied()
        .find(|item| shown(*item) == lower)
        .ok_or_else(|| {
            let words: Vec<&str> = all.iter().map(|item| shown(*item)).collect();
            let near = nearest(&lower, words.iter().copied());
            Refusal::unknown(what, typed, &near, &format!("expected {}", words.join(", ")))
        })
}

pub(super) fn optional_word<T: Copy>(
    what: &str,
    typed: &str,
    all: &[T],
    shown: fn(T) -> &'static str,
) -> Result<Option<T>, Refusal> {
    match typed.trim() {
        "" => Ok(None),
        typed => word(what, typed, all, shown).map(Some),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_read_as_they_are_shown() {
        for (text, minutes) in [
            ("0:40", 40),
            ("0:40 h", 40),
            ("5:24h", 324),
            ("6,5 h", 390),
            ("90min", 90),
        ] {
            assert_eq!(read_minutes(text).ok(), Some(minutes), "{text}");
        }
        for text in [
            "0:00", "1:60", "1:5", ":30", "1:30min", "-1:30", "1:+5", "1:30:00",
        ] {
            assert!(read_minutes(text).is_err(), "{text}");
        }
    }
}
