//! The reader of quantities as people write them at the bench.

use super::table::{self, ROWS, Row};
use super::{Kind, UnitError, symbols};

/// Longer texts are no quantity.
const MOST_LETTERS: usize = 80;

pub(super) fn quantity(kind: Kind, default: &str, text: &str) -> Result<f64, UnitError> {
    let clean = normalised(text);
    if clean.is_empty() {
        return Err(refusal("nothing was given", kind));
    }
    if clean.chars().count() > MOST_LETTERS {
        return Err(refusal(&format!("more than {MOST_LETTERS} letters"), kind));
    }
    let (negative, body) = signed(&clean);
    let size = match kind {
        Kind::Ratio | Kind::Grade => one_in(body)?,
        Kind::Time => clock(body)?,
        _ => None,
    };
    let sign = if negative { -1.0 } else { 1.0 };
    let si = match size {
        Some(size) => sign * size,
        None => terms(kind, default, sign, body)?,
    };
    if !si.is_finite() {
        return Err(refusal(&format!("`{text}` is too large"), kind));
    }
    if kind == Kind::Temperature && si < 0.0 {
        return Err(UnitError(format!("`{text}` is below absolute zero, -273.15 C")));
    }
    Ok(si)
}

/// One spelling for each mark that keyboards and telephones write in several ways.
fn normalised(text: &str) -> String {
    let mut clean = String::with_capacity(text.len());
    for letter in text.trim().chars() {
        match letter {
            '\u{2212}' | '\u{2013}' => clean.push('-'),
            '\u{2019}' | '\u{2032}' => clean.push('\''),
            '\u{201d}' | '\u{2033}' => clean.push('"'),
            '\u{3a9}' | '\u{2126}' => clean.push_str("ohm"),
            '²' => clean.push('2'),
            '½' => clean.push_str(" 1/2"),
            '¼' => clean.push_str(" 1/4"),
            '¾' => clean.push_str(" 3/4"),
            '°' => clean.push_str(" deg "),
            letter if letter.is_whitespace() => clean.push(' '),
            letter => clean.push(letter),
        }
    }
    clean.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn signed(text: &str) -> (bool, &str) {
    match (text.strip_prefix('-'), text.strip_prefix('+')) {
        (Some(rest), _) => (true, rest.trim_start()),
        (None, Some(rest)) => (false, rest.trim_start()),
        (None, None) => (false, text),
    }
}

/// `1:12` or `1 in 12`: rise over run.
fn one_in(text: &str) -> Result<Option<f64>, UnitError> {
    let Some((rise, run)) = text.split_once(':').or_else(|| text.split_once(" in ")) else {
        return Ok(None);
    };
    let whole = |part: &str| match number(part.trim()) {
        Ok((value, "")) => Ok(value),
        _ => Err(UnitError(format!(
            "`{text}` is not a gradient; write `1:12`, `1 in 12`, `8 %` or `5 deg`"
        ))),
    };
    let (rise, run) = (whole(rise)?, whole(run)?);
    if run == 0.0 {
        return Err(UnitError(format!("`{text}` is not a gradient: the run is 0")));
    }
    Ok(Some(rise / run))
}

/// `2:05` minutes and seconds, `1:02:05` hours, minutes and seconds.
fn clock(text: &str) -> Result<Option<f64>, UnitError> {
    if !text.contains(':') {
        return Ok(None);
    }
    let wrong = || {
        UnitError(format!(
            "`{text}` is not a time; write min:s as `2:05` or h:min:s as `1:02:05`"
        ))
    };
    let parts: Vec<&str> = text.split(':').collect();
    if !(2..=3).contains(&parts.len()) {
        return Err(wrong());
    }
    let mut seconds = 0.0;
    for (place, part) in parts.iter().enumerate() {
        let (value, rest) = number(part).map_err(|_| wrong())?;
        let whole = place + 1 < parts.len();
        if !rest.is_empty() || (place > 0 && value >= 60.0) || (whole && value.fract() != 0.0) {
            return Err(wrong());
        }
        seconds = seconds * 60.0 + value;
    }
    Ok(Some(seconds))
}

/// One number with a unit, or a compound of falling units.
fn terms(kind: Kind, default: &str, sign: f64, text: &str) -> Result<f64, UnitError> {
    let (mut value, mut rest) = number(text)?;
    if rest.is_empty() {
        let row = table::find(kind, default)
            .ok_or_else(|| UnitError(format!("a unit is missing; {}", accepted(kind))))?;
        return Ok(row.to_si(sign * value));
    }
    if matches!(kind, Kind::Ratio | Kind::Grade) && matches!(rest, "deg" | "degree" | "degrees") {
        if value >= 90.0 {
            return Err(UnitError(format!(
                "a gradient of {value} degrees is not below 90"
            )));
        }
        return Ok((sign * value).to_radians().tan());
    }
    let mut sum = 0.0;
    let mut smaller: Option<(&str, f64)> = None;
    loop {
        let (word, after) = unit_word(kind, rest);
        let row = match (word, smaller) {
            ("", Some((symbol, _))) => table::find(kind, symbol)
                .ok_or_else(|| UnitError(format!("`{symbol}` is no unit of {}", kind.name())))?,
            (word, _) => unit(kind, word)?,
        };
        if let Some((symbol, times)) = smaller {
            if row.symbol != symbol {
                return Err(UnitError(format!("expected {symbol} there, not `{word}`")));
            }
            if value >= times {
                return Err(UnitError(format!(
                    "{value} {symbol} is not below {times} {symbol}"
                )));
            }
        }
        if after.is_empty() {
            // An offset unit stands alone: no compound has one.
            return Ok(if smaller.is_none() {
                row.to_si(sign * value)
            } else {
                sign * (sum + row.to_si(value))
            });
        }
        if row.then.is_none() {
            let after_text =
                format!("`{after}` after `{word}` cannot be read; thousands separators are not accepted");
            return Err(refusal(&after_text, kind));
        }
        if value.fract() != 0.0 {
            return Err(UnitError(format!(
                "`{value} {word}` must be a whole number before `{after}`"
            )));
        }
        sum += row.to_si(value);
        smaller = row.then;
        (value, rest) = number(after)?;
    }
}

/// Splits a unit's word off; the whole rest when that is a unit (`m2` holds a digit).
fn unit_word(kind: Kind, rest: &str) -> (&str, &str) {
    if matches!(lookup(kind, rest), Lookup::Here(_) | Lookup::Elsewhere(_)) {
        return (rest, "");
    }
    let end = rest
        .find(|letter: char| letter.is_ascii_digit())
        .unwrap_or(rest.len());
    (rest[..end].trim(), rest[end..].trim())
}

enum Lookup {
    Here(Row),
    Elsewhere(Row),
    Nowhere,
}

fn lookup(kind: Kind, word: &str) -> Lookup {
    let word = word.trim_end_matches('.').replace(['·', '⋅', '*', '-'], " ");
    let word = word.split_whitespace().collect::<Vec<_>>().join(" ");
    if word.is_empty() {
        return Lookup::Nowhere;
    }
    // Letter for letter first: mohm and Mohm differ by case alone.
    let exact = |row: &&Row| row.is_called(&word, false);
    if let Some(row) = table::of(kind).find(exact) {
        return Lookup::Here(*row);
    }
    let loose: Vec<&Row> = table::of(kind).filter(|row| row.is_called(&word, true)).collect();
    if let [row] = loose.as_slice() {
        return Lookup::Here(**row);
    }
    let elsewhere = ROWS
        .iter()
        .find(exact)
        .or_else(|| ROWS.iter().find(|row| row.is_called(&word, true)));
    match elsewhere {
        Some(row) if row.kind != kind => Lookup::Elsewhere(*row),
        _ => Lookup::Nowhere,
    }
}

fn unit(kind: Kind, word: &str) -> Result<Row, UnitError> {
    match lookup(kind, word) {
        Lookup::Here(row) => Ok(row),
        Lookup::Elsewhere(row) => Err(refusal(
            &format!(
                "`{word}` is a unit of {}, not of {}",
                row.kind.name(),
                kind.name()
            ),
            kind,
        )),
        Lookup::Nowhere => {
            // One letter is a step away from every other.
            let near = if word.len() > 1 {
                crate::nearest::nearest(word, symbols(kind))
            } else {
                Vec::new()
            };
            let hint = near
                .first()
                .map(|near| format!(" (nearest is `{near}`)"))
                .unwrap_or_default();
            Err(refusal(&format!("`{word}` is no unit known{hint}"), kind))
        }
    }
}

/// Reads an unsigned number, decimal or with a common fraction, and gives what follows it.
fn number(text: &str) -> Result<(f64, &str), UnitError> {
    let (whole, rest) = decimal(text)?;
    if let Some((bottom, after)) = over(rest) {
        return Ok((divided(text, whole, bottom)?, after));
    }
    // A mixed number: `2 1/16`.
    if rest.starts_with(' ')
        && rest
            .trim_start()
            .starts_with(|letter: char| letter.is_ascii_digit())
    {
        let (top, after_top) = decimal(rest.trim_start())?;
        let Some((bottom, after)) = over(after_top) else {
            return Err(separators(text));
        };
        if whole.fract() != 0.0 || top >= bottom {
            return Err(UnitError(format!(
                "`{text}` is not a mixed number such as `2 1/16`"
            )));
        }
        return Ok((whole + divided(text, top, bottom)?, after));
    }
    Ok((whole, rest.trim()))
}

/// `/16` and what follows; `None` for a slash within a unit.
fn over(rest: &str) -> Option<(f64, &str)> {
    let bottom = rest.strip_prefix('/')?;
    let digits = bottom.len()
        - bottom
            .trim_start_matches(|letter: char| letter.is_ascii_digit())
            .len();
    Some((bottom[..digits].parse().ok()?, bottom[digits..].trim()))
}

fn divided(text: &str, top: f64, bottom: f64) -> Result<f64, UnitError> {
    if bottom == 0.0 {
        return Err(UnitError(format!("`{text}` divides by 0")));
    }
    Ok(top / bottom)
}

/// Digits with at most one comma or point, and what follows.
fn decimal(text: &str) -> Result<(f64, &str), UnitError> {
    let end = text
        .find(|letter: char| !letter.is_ascii_digit() && letter != '.' && letter != ',')
        .unwrap_or(text.len());
    let (token, rest) = text.split_at(end);
    if token.matches(['.', ',']).count() > 1 {
        return Err(separators(text));
    }
    if !token.ends_with(|letter: char| letter.is_ascii_digit()) {
        return Err(UnitError(format!("`{text}` is not a number")));
    }
    let value = token
        .replace(',', ".")
        .parse()
        .map_err(|_| UnitError(format!("`{text}` is not a number")))?;
    Ok((value, rest))
}

fn separators(text: &str) -> UnitError {
    UnitError(format!(
        "`{text}` is not one number: thousands separators are not accepted, one comma or point marks the decimals"
    ))
}

fn refusal(what: &str, kind: Kind) -> UnitError {
    UnitError(format!("{what}; {}", accepted(kind)))
}

fn accepted(kind: Kind) -> String {
    match symbols(kind).as_slice() {
        [] => "expected a number without a unit".into(),
        symbols => format!("{} is taken in {}", kind.name(), symbols.join(", ")),
    }
}
