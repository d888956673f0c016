//! Values in the units of whoever reads: the daemon's answers are metric, and stay so in
//! `--json` and in files; on the screen of somebody who reads imperial units, each value gets
//! its other unit.
//!
//! The daemon's own table of units is the one that reads and decides; what stands here only
//! shows, and a test of the daemon holds the two against each other.

use std::borrow::Cow;

/// Which unit system stands first.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Units {
    /// Metric.
    #[default]
    Metric,
    /// Imperial.
    Imperial,
}

/// A metric unit and the imperial one it is shown in: imperial = metric·factor + offset.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// As answers write it.
    pub metric: &'static str,
    /// What stands for it.
    pub imperial: &'static str,
    /// How many imperial ones make a metric one.
    pub factor: f64,
    /// Added after that.
    pub offset: f64,
}

const INCH: f64 = 0.0254;
const MILE: f64 = 1609.344;
const POUND: f64 = 0.453_592_37;
/// Standard gravity.
const G: f64 = 9.806_65;

const fn pair(metric: &'static str, imperial: &'static str, factor: f64) -> Pair {
    Pair {
        metric,
        imperial,
        factor,
        offset: 0.0,
    }
}

/// All pairs, exact by definition: international yard and pound agreement of 1959, standard
/// gravity of the 3rd CGPM (1901).
pub const PAIRS: &[Pair] = &[
    pair("mm", "in", 1e-3 / INCH),
    pair("cm", "in", 1e-2 / INCH),
    pair("m", "ft", 1.0 / (12.0 * INCH)),
    pair("km", "mi", 1e3 / MILE),
    pair("g", "oz", 16.0 * 1e-3 / POUND),
    pair("kg", "lb", 1.0 / POUND),
    pair("km/h", "mph", 1e3 / MILE),
    pair("m/s", "mph", 3600.0 / MILE),
    pair("Wh/km", "Wh/mi", MILE / 1e3),
    pair("N m", "lbf in", 1.0 / (POUND * G * INCH)),
    pair("bar", "psi", 1e5 * INCH * INCH / (POUND * G)),
    pair("kPa", "psi", 1e3 * INCH * INCH / (POUND * G)),
    pair("m2", "ft2", 1.0 / (144.0 * INCH * INCH)),
    Pair {
        metric: "C",
        imperial: "F",
        factor: 1.8,
        offset: 32.0,
    },
];

impl Pair {
    /// The pair of a metric unit, or none.
    pub fn of(metric: &str) -> Option<Self> {
        PAIRS.iter().find(|pair| pair.metric == metric).copied()
    }

    /// A metric value in the imperial unit.
    pub fn convert(self, metric: f64) -> f64 {
        metric * self.factor + self.offset
    }
}

/// How a text is put into imperial units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// In sentences: the value as it was written stays behind it, in brackets, because limits
    /// are compared in the units they were set in.
    Both,
    /// In columns, where there is no room for two.
    Alone,
}

/// A text with its metric values put into imperial units. What follows the word `lockring`, and
/// what stands between backticks, is a command to be typed and stays as it is.
pub fn imperial(text: &str, style: Style) -> Cow<'_, str> {
    let mut told = String::new();
    let mut done = 0;
    let mut at = 0;
    let mut in_command = false;
    while let Some(letter) = text[at..].chars().next() {
        let rest = &text[at..];
        if letter == '`' {
            in_command = !in_command;
        } else if !in_command && begins_word(text, at) && rest.starts_with("lockring ") {
            // To the end of the line.
            at += rest.find('\n').unwrap_or(rest.len());
            continue;
        } else if !in_command
            && begins_word(text, at)
            && let Some(found) = Group::read(text, at)
        {
            told.push_str(&text[done..at]);
            let shown = found.shown(style);
            let end = found.end;
            told.push_str(&shown);
            done = end + pad(&mut told, &shown, &text[at..end], &text[end..]);
            at = done;
            continue;
        }
        at += letter.len_utf8();
    }
    if done == 0 {
        return Cow::Borrowed(text);
    }
    told.push_str(&text[done..]);
    Cow::Owned(told)
}

/// Keeps columns where they stand: blanks that part one from the next take up what the text
/// before them lost or won. Gives how many of them are used up.
fn pad(told: &mut String, shown: &str, was: &str, after: &str) -> usize {
    let blanks = after.len() - after.trim_start_matches(' ').len();
    if blanks < 2 {
        return 0;
    }
    let (is, was) = (crate::wrap::columns(shown), crate::wrap::columns(was));
    told.push_str(&" ".repeat((was + blanks).saturating_sub(is).max(1)));
    blanks
}

/// Whether something begins here that no letter, digit or mark before it belongs to.
fn begins_word(text: &str, at: usize) -> bool {
    let before = text[..at].chars().next_back();
    before.is_none_or(|letter| letter.is_whitespace() || matches!(letter, '(' | '[' | '±'))
}

/// What may stand between numbers that share the unit behind the last.
const JOINS: &[&str] = &[" to ", " or ", " and ", " ± ", "..", "-", " - ", ", ", " x "];

/// Numbers with one unit: `51.5 mm`, `5 to 8 mm`, `25.0 ± 0.8 km/h`.
#[derive(Debug)]
struct Group<'t> {
    /// As written, without what the brackets behind it say.
    written: &'t str,
    /// Each number and what stands before it.
    numbers: Vec<(&'t str, f64)>,
    pair: Pair,
    /// Whether the number is a difference: a doubt, or what something changed by.
    is_difference: bool,
    /// The imperial value that was written beside it already.
    beside: Option<&'t str>,
    end: usize,
}

impl<'t> Group<'t> {
    fn read(text: &'t str, start: usize) -> Option<Self> {
        let mut numbers = Vec::new();
        let (mut at, mut join) = (start, "");
        loop {
            let (number, length) = number(&text[at..])?;
            numbers.push((join, number));
            at += length;
            let rest = &text[at..];
            if let Some((pair, unit)) = unit(rest) {
                let before = text[..start].strip_suffix(" (");
                if before.is_some_and(|before| before.ends_with(&format!(" {}", pair.imperial))) {
                    return None;
                }
                let end = at + unit;
                let beside = beside(&text[end..], pair);
                return Some(Self {
                    written: &text[start..end],
                    numbers,
                    pair,
                    is_difference: text[..start].ends_with("± "),
                    end: end + beside.map_or(0, |text| text.len() + " ()".len()),
                    beside,
                });
            }
            join = JOINS
                .iter()
                .filter(|join| rest.starts_with(**join))
                .max_by_key(|join| join.len())?;
            at += join.len();
        }
    }

    fn shown(&self, style: Style) -> String {
        if let Some(beside) = self.beside {
            return format!("{beside} ({})", self.written);
        }
        let mut shown = String::new();
        for (join, metric) in &self.numbers {
            shown.push_str(join);
            let value = if self.is_difference || *join == " ± " {
                metric * self.pair.factor
            } else {
                self.pair.convert(*metric)
            };
            let signed = self.written.starts_with('+') && value > 0.0;
            if signed && join.is_empty() {
                shown.push('+');
            }
            shown.push_str(&digits(value));
        }
        shown.push(' ');
        shown.push_str(self.pair.imperial);
        match style {
            Style::Alone => shown,
            Style::Both => format!("{shown} ({})", self.written),
        }
    }
}

/// A number at the beginning of a text, and how long it is.
fn number(text: &str) -> Option<(f64, usize)> {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    let sign = text.len() - digits.len();
    let whole = digits.len()
        - digits
            .trim_start_matches(|letter: char| letter.is_ascii_digit())
            .len();
    if whole == 0 {
        return None;
    }
    let mut length = sign + whole;
    if let Some(fraction) = text[length..].strip_prefix('.') {
        let more = fraction.len()
            - fraction
                .trim_start_matches(|letter: char| letter.is_ascii_digit())
                .len();
        if more > 0 {
            length += 1 + more;
        }
    }
    text[..length].parse().ok().map(|number| (number, length))
}

/// A blank and a metric unit at the beginning of a text, and how long they are.
fn unit(text: &str) -> Option<(Pair, usize)> {
    let text = text.strip_prefix(' ')?;
    let pair = PAIRS
        .iter()
        .filter(|pair| text.starts_with(pair.metric))
        .max_by_key(|pair| pair.metric.len())?;
    let after = text[pair.metric.len()..].chars().next();
    let ends = after.is_none_or(|letter| !letter.is_alphanumeric() && !matches!(letter, '/' | '·' | '^'));
    ends.then_some((*pair, 1 + pair.metric.len()))
}

/// The imperial value in brackets behind a metric one: ` (2.03 in)`.
fn beside(text: &str, pair: Pair) -> Option<&str> {
    let (inside, _) = text.strip_prefix(" (")?.split_once(')')?;
    let (value, unit) = inside.split_once(' ')?;
    let said = number(value).is_some_and(|(_, length)| length == value.len()) && unit == pair.imperial;
    said.then_some(inside)
}

/// About three digits, whole part whole, no trailing zeros: as echoes have them.
pub fn digits(number: f64) -> String {
    let magnitude = if number == 0.0 {
        0
    } else {
        number.abs().log10().floor() as i32
    };
    let decimals = (2 - magnitude).clamp(0, 12) as usize;
    let text = format!("{number:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sentence_keeps_what_was_written_behind_it() {
        // 25.4 mm to the inch, 0.45359237 kg to the pound, 1.609344 km to the mile.
        for (metric, told) in [
            (
                "gap 51.5 mm, at least 49 mm",
                "gap 2.03 in (51.5 mm), at least 1.93 in (49 mm)",
            ),
            ("5 to 8 mm: fine", "0.197 to 0.315 in (5 to 8 mm): fine"),
            ("25.0 ± 0.8 km/h", "15.5 ± 0.497 mph (25.0 ± 0.8 km/h)"),
            ("11 C ± 2 C", "51.8 F (11 C) ± 3.6 F (2 C)"),
            ("-3 C", "26.6 F (-3 C)"),
            ("+2.54 mm outboard", "+0.1 in (+2.54 mm) outboard"),
            ("51.5 mm (2.03 in) by K", "2.03 in (51.5 mm) by K"),
            ("2.03 in (51.5 mm) by K", "2.03 in (51.5 mm) by K"),
            ("tighten to 40 N m.", "tighten to 354 lbf in (40 N m)."),
        ] {
            assert_eq!(imperial(metric, Style::Both), told);
        }
    }

    #[test]
    fn what_is_no_metric_value_stays() {
        for text in [
            "start +1.46 m/s2",
            "1.5 mm2 of copper",
            "M5 mm",
            "42 V and 250 W, 10.4 Ah, 3/3, 8 %",
            "lockring measure 21 clf 51.5 mm",
            "say `lockring measure 21 clf 51.5 mm` first",
            "5 mmx",
            "1:12 m",
            "1.2.3 m",
        ] {
            assert_eq!(imperial(text, Style::Both), text);
        }
    }

    #[test]
    fn columns_stay_where_they_stand() {
        assert_eq!(
            imperial("  4.0 %   25.0 km/h  9.8 min", Style::Alone),
            "  4.0 %   15.5 mph   9.8 min"
        );
        assert_eq!(imperial("40 N m  next", Style::Alone), "354 lbf in next");
    }
}
