//! How text is set: what may disturb its neighbours is taken out, and no line ends between a number and its unit.

use lockring_proto::signs;

/// The blank that no line breaks at.
pub(crate) const NO_BREAK: char = '\u{a0}';

/// Units that stay with the number before them.
const UNITS: &[&str] = &[
    "%", "A", "A/Ah", "Ah", "C", "F", "J", "K", "N", "N m", "Nm", "T", "V", "W", "Wh", "Wh/km", "Wh/mi",
    "bar", "cm", "d", "dB", "deg", "ft", "g", "h", "hPa", "in", "kPa", "kWh", "kg", "km", "km/h", "lb",
    "lbf in", "m", "m/s", "m/s2", "m/s²", "mV", "mi", "min", "mm", "mm2", "mohm", "mph", "ohm", "oz", "psi",
    "rpm", "s", "st", "times", "teeth", "years", "°",
];

/// Text as it may stand on paper: signs that disturb their neighbours become blanks ([`signs::disturbs`]); the blank between a number and its unit becomes one at which no
/// line ends (SI Brochure, 9th edition, 5.4.3).
pub fn clean(text: &str) -> String {
    held(&text.replace(signs::disturbs, " "))
}

/// The text with each number held to its unit.
fn held(text: &str) -> String {
    let mut set = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(' ') {
        let (before, after) = (&rest[..at], &rest[at + 1..]);
        set.push_str(before);
        match unit(after).filter(|_| before.ends_with(|sign: char| sign.is_ascii_digit())) {
            Some(unit) => {
                set.push(NO_BREAK);
                set.push_str(&unit.replace(' ', "\u{a0}"));
                rest = &after[unit.len()..];
            }
            None => {
                set.push(' ');
                rest = after;
            }
        }
    }
    set.push_str(rest);
    set
}

/// The longest unit that a text begins with as a word of its own.
fn unit(text: &str) -> Option<&'static str> {
    let whole = |unit: &&&str| {
        text.strip_prefix(**unit).is_some_and(|after| {
            let next = after.chars().next();
            next.is_none_or(|sign| !sign.is_alphanumeric() && !matches!(sign, '/' | '-' | '²'))
        })
    };
    UNITS.iter().filter(whole).max_by_key(|unit| unit.len()).copied()
}

#[cfg(test)]
mod tests {
    use super::clean;

    #[test]
    fn a_number_stays_with_its_unit_and_words_come_apart() {
        for (given, set) in [
            ("at most 25 km/h here", "at most 25\u{a0}km/h here"),
            ("40 N m (354 lbf in)", "40\u{a0}N\u{a0}m (354\u{a0}lbf\u{a0}in)"),
            ("8 %, for 700 m, told", "8\u{a0}%, for 700\u{a0}m, told"),
            ("1.5 A/Ah; 5 mm", "1.5\u{a0}A/Ah; 5\u{a0}mm"),
            // A word that only begins as a unit does is none.
            ("2 motors, 3 Apr, 4 m-long", "2 motors, 3 Apr, 4 m-long"),
            ("job 3 is here", "job 3 is here"),
            ("12 ", "12 "),
        ] {
            assert_eq!(clean(given), set);
        }
    }

    #[test]
    fn what_turns_or_rings_becomes_a_blank() {
        assert_eq!(clean("a\u{202e}b\u{7}c\nd"), "a b c d");
    }
}
