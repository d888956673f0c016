//! What a text must make sense as, beyond being a text.

use std::borrow::Cow;

use lockring_calc::electrics::Gauge;
use lockring_calc::quantity::Area;
use lockring_calc::shell::{Hand, SHELLS, ShellStandard, shell};
use lockring_calc::wheel::{self, TyreError, TyreMark};

use super::marks::read_marks;
use crate::field::FieldError;
use crate::nearest::nearest;

/// What a text stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sense {
    /// Any text.
    Any,
    /// A tyre's size mark or name that means one size. What a rider calls a tyre by phone, such as
    /// `28 inch`, may be several: it is refused, and the size stays open until it is known.
    TyreSize,
    /// A stored shell standard, which tells a thread and its hand or a bore, by its name here or in the trade.
    Shell,
    /// Torques marked on parts.
    TorqueMarks,
    /// A power that may be told as an effort in words.
    Effort,
    /// A wire's gauge, a whole number, or its cross-section with its unit.
    Gauge,
}

/// Efforts that riders tell in words, and the power they stand for (common practice, no source:
/// easy 60 to 80 W, steady 100 to 120, sporty 150 and more; a healthy adult holds 75 W for eight
/// hours, Malewicki 1983 as restated).
const EFFORTS: [(&str, &str); 3] = [("easy", "70 W"), ("steady", "110 W"), ("sporty", "160 W")];

impl Sense {
    /// What a text stands for: an effort's power, else itself.
    pub(super) fn stands_for(self, text: &str) -> Cow<'_, str> {
        let word = text.trim();
        if self == Self::Shell {
            return Cow::Borrowed(shell_called(word).map_or(text, |shell| shell.id));
        }
        if self == Self::Gauge {
            return gauge_called(word).map_or(Cow::Borrowed(text), Cow::Owned);
        }
        let effort = EFFORTS
            .iter()
            .find(|(effort, _)| effort.eq_ignore_ascii_case(word));
        Cow::Borrowed(match (self, effort) {
            (Self::Effort, Some((_, power))) => power,
            _ => text,
        })
    }

    /// Looks whether a number makes sense; a fraction of a gauge is a cross-section without its unit.
    pub(super) fn check_number(self, number: f64) -> Result<(), Nonsense> {
        if self != Self::Gauge || number.fract() == 0.0 {
            return Ok(());
        }
        Err(Nonsense {
            why: "gauges are whole numbers".to_owned(),
            expected: format!("a gauge such as 12, or a cross-section with its unit: {number}mm2"),
            example: self.example(),
        })
    }

    /// The complaint with the words that would do too.
    pub(super) fn words_too(self, error: FieldError) -> FieldError {
        match (self, error) {
            (
                Self::Effort,
                FieldError::Unreadable {
                    name,
                    given,
                    why,
                    expected,
                    example,
                },
            ) => {
                let words: Vec<&str> = EFFORTS.iter().map(|(word, _)| *word).collect();
                let expected = format!("{expected}, or {}", words.join(", "));
                FieldError::Unreadable {
                    name,
                    given,
                    why,
                    expected,
                    example,
                }
            }
            (_, error) => error,
        }
    }

    /// A text that makes sense.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Any => "as found",
            Self::TyreSize => "42-622",
            Self::Shell => "english",
            Self::TorqueMarks => "stem max 6",
            Self::Effort => "steady",
            Self::Gauge => "12",
        }
    }

    /// Looks whether a text makes sense; the error says what is wrong, what is expected, and
    /// gives an example.
    pub(super) fn check(self, text: &str) -> Result<(), Nonsense> {
        match self {
            // An effort has become a power, a gauge a number before it comes here.
            Self::Any | Self::Effort | Self::Gauge => Ok(()),
            Self::TyreSize => match wheel::parse_tyre(text) {
                Ok(mark) if mark.bead_seats.len() > 1 => Err(several_sizes(&mark)),
                // A size that is not stored may still be what is on the wheel.
                Ok(_) | Err(TyreError::UnknownSize { .. }) => Ok(()),
                Err(error @ TyreError::TwoSizes { .. }) => Err(Nonsense {
                    why: error.to_string(),
                    expected:
                        "one size: tyre-size for the rear wheel, tyre-size-front for a front wheel of another"
                            .to_owned(),
                    example: self.example(),
                }),
                Err(error) => Err(Nonsense {
                    why: error.to_string(),
                    expected: "a size mark or name".to_owned(),
                    example: self.example(),
                }),
            },
            Self::Shell => shell_standard(text),
            Self::TorqueMarks => read_marks(text).map(|_| ()).map_err(|why| Nonsense {
                why,
                expected: "bolts and their torques".to_owned(),
                example: self.example(),
            }),
        }
    }
}

/// The number of a gauge written with its name, `AWG 12`, or of one no thicker than a cross-section, `2.5 mm²`, is.
fn gauge_called(text: &str) -> Option<String> {
    let plain = text.to_lowercase().replace(',', ".");
    if let Some(number) = plain.strip_prefix("awg").or_else(|| plain.strip_suffix("awg")) {
        return Some(number.trim().to_owned());
    }
    let mm2 = ["mm2", "mm²", "mm^2", "sqmm", "qmm"]
        .into_iter()
        .find_map(|unit| plain.strip_suffix(unit))?;
    let area = Area::square_millimetres(mm2.trim().parse().ok()?);
    Some(Gauge::within(area).ok()?.number().to_string())
}

/// Why a text makes no sense.
pub(super) struct Nonsense {
    pub(super) why: String,
    pub(super) expected: String,
    pub(super) example: &'static str,
}

/// Bead seats that a size mark may mean, such as `622 or 635 mm`.
pub fn bead_seats(mark: &TyreMark) -> String {
    let seats: Vec<String> = mark.bead_seats.iter().map(u16::to_string).collect();
    format!("{} mm", seats.join(" or "))
}

/// A name that several sizes go by; the mark off the sidewall ends in the bead seat.
fn several_sizes(mark: &TyreMark) -> Nonsense {
    let ends: Vec<String> = mark.bead_seats.iter().map(|seat| format!("-{seat}")).collect();
    Nonsense {
        why: format!("several sizes go by this name, bead seats {}", bead_seats(mark)),
        expected: format!(
            "the mark in mm off the sidewall, which ends in {}",
            ends.join(" or ")
        ),
        example: Sense::TyreSize.example(),
    }
}

/// What the trade calls stored shells (dealer tables and crib sheets of bottom brackets).
const CALLED: [(&str, &str); 11] = [
    ("bsa", "english"),
    ("british", "english"),
    ("iso", "iso-1.375"),
    ("t47", "m47"),
    ("pf86", "press-41x86.5"),
    ("bb86", "press-41x86.5"),
    ("pf92", "press-41x92"),
    ("bb92", "press-41x92"),
    ("ashtabula", "one-piece"),
    ("mid", "bmx-mid"),
    ("spanish", "bmx-spanish"),
];

/// The stored shell of a name, in whatever spelling: `BSA`, `BSA 68 mm`, `PF 41x92`, `41 × 92`.
pub(crate) fn shell_called(text: &str) -> Option<&'static ShellStandard> {
    let plain = text
        .trim()
        .to_lowercase()
        .replace(['×', '*'], "x")
        .replace(',', ".")
        .replace(" x ", "x")
        .replace([' ', '_'], "-");
    let named = |name: &str| {
        let called = CALLED.iter().find(|(called, _)| *called == name);
        shell(called.map_or(name, |(_, id)| id))
    };
    // A width may follow the name; it is measured all the same.
    let bare = plain
        .trim_end_matches("mm")
        .trim_end_matches(|letter: char| letter.is_ascii_digit() || matches!(letter, '.' | '-'));
    let pressed = || {
        let bore = plain.trim_start_matches(|letter: char| letter.is_alphabetic() || letter == '-');
        shell(&format!(
            "press-{}",
            bore.trim_end_matches("mm").trim_end_matches('-')
        ))
    };
    named(&plain).or_else(pressed).or_else(|| named(bare))
}

/// What is not stored is refused while the bicycle is there to look at: no check could judge it. A bare thread may be one
/// of several that ruin each other.
fn shell_standard(text: &str) -> Result<(), Nonsense> {
    if shell_called(text).is_some() {
        return Ok(());
    }
    let threads = thread(text).map(of_thread).unwrap_or_default();
    if threads.is_empty() {
        return Err(unknown_shell(text));
    }
    let told: Vec<String> = threads.iter().filter_map(|row| handed(row)).collect();
    Err(Nonsense {
        why: "a thread without its hand does not tell which shell it is".to_owned(),
        expected: told.join(" or "),
        example: Sense::Shell.example(),
    })
}

/// A shell of which only that it is pressed is said: its bore and width say which it is.
pub(crate) fn is_pressed_alone(text: &str) -> bool {
    let plain = text.trim().to_lowercase().replace([' ', '_', '-'], "");
    matches!(plain.as_str(), "pressfit" | "press" | "pressed" | "pf")
}

fn unknown_shell(text: &str) -> Nonsense {
    if is_pressed_alone(text) {
        return Nonsense {
            why: "shells of several bores are pressed, and no part fits two of them".to_owned(),
            expected: "its bore and width in mm, such as press-41x92 or press-46x73; leave it out until both are measured"
                .to_owned(),
            example: "press-41x92",
        };
    }
    let ids = SHELLS.iter().map(|row| row.id);
    let called = CALLED.iter().map(|(called, _)| *called);
    let near = nearest(&text.trim().to_lowercase(), ids.chain(called));
    let threads = SHELLS.iter().filter(|row| row.thread.is_some()).map(|row| row.id);
    Nonsense {
        why: match near.as_slice() {
            [] => "no shell of that name is stored".to_owned(),
            near => format!("no shell of that name is stored; near it are {}", near.join(", ")),
        },
        expected: format!(
            "a thread by its name ({}), a pressed shell by bore and width such as press-41x92, one-piece, press-cup or \
             clamped-cartridge; leave it out while nobody knows",
            threads.collect::<Vec<_>>().join(", ")
        ),
        example: Sense::Shell.example(),
    }
}

/// Diameter and pitch, mm, of a thread such as `35x1`, `M35 x 1`, `1.37x24` (inches and threads
/// per inch) or `36x24`.
fn thread(text: &str) -> Option<(f64, f64)> {
    let plain = text.to_lowercase().replace(['×', '*'], "x").replace(',', ".");
    let (diameter, pitch) = plain.trim_start_matches('m').split_once('x')?;
    let number = |text: &str| {
        text.trim()
            .trim_end_matches(char::is_alphabetic)
            .trim()
            .parse::<f64>()
            .ok()
    };
    let (diameter, pitch) = (number(diameter)?, number(pitch)?);
    // No shell is 2 mm wide, none has a pitch of 10 mm.
    let diameter = if diameter < 2.0 { 25.4 * diameter } else { diameter };
    let pitch = if pitch > 10.0 { 25.4 / pitch } else { pitch };
    Some((diameter, pitch))
}

fn of_thread((diameter, pitch): (f64, f64)) -> Vec<&'static ShellStandard> {
    let same = |row: &&ShellStandard| {
        row.thread.is_some_and(|thread| {
            (thread.diameter_mm - diameter).abs() < 0.15 && (thread.pitch_mm - pitch).abs() < 0.02
        })
    };
    SHELLS.iter().filter(same).collect()
}

fn handed(row: &ShellStandard) -> Option<String> {
    let hand = match row.thread?.drive {
        Hand::Left => "left",
        Hand::Right => "right",
    };
    Some(format!("{} ({hand}-hand on the drive side)", row.id))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn why(sense: Sense, text: &str) -> String {
        let nonsense = sense.check(text).err().unwrap();
        format!("{}; {}", nonsense.why, nonsense.expected)
    }

    #[test]
    fn a_thread_without_its_hand_is_refused_with_the_shells_it_may_be() {
        // French and Swiss shells share 35 x 1 and differ in hand (dealer tables, and Brown,
        // threaded bottom-bracket cribsheet, from memory).
        for text in ["35x1", "M35 x 1.0", "35×1,0"] {
            let why = why(Sense::Shell, text);
            assert!(why.contains("without its hand"), "{why}");
            assert!(why.contains("french (right-hand on the drive side)"), "{why}");
            assert!(why.contains("swiss (left-hand on the drive side)"), "{why}");
        }
        let inch = why(Sense::Shell, "1.37x24");
        assert!(
            inch.contains("english (left-hand") && !inch.contains("italian"),
            "{inch}"
        );
        assert!(why(Sense::Shell, "36x24").contains("italian (right-hand"));
    }

    /// Dealer tables of shells: the English thread has a short name too; pressed ones go by bore and width.
    #[test]
    fn a_shell_goes_by_what_the_trade_calls_it() {
        for (text, id) in [
            ("english", "english"),
            ("BSA", "english"),
            ("BSA 68 mm", "english"),
            ("bsa73", "english"),
            ("T47", "m47"),
            ("m47", "m47"),
            ("english-26", "english-26"),
            ("ISO", "iso-1.375"),
            ("Italian", "italian"),
            ("41x92", "press-41x92"),
            ("PF 41 × 92", "press-41x92"),
            ("press-41x86,5", "press-41x86.5"),
            ("pressfit-46x73 mm", "press-46x73"),
            ("PF92", "press-41x92"),
            ("BB86", "press-41x86.5"),
            ("Ashtabula", "one-piece"),
            ("one piece", "one-piece"),
            ("Spanish", "bmx-spanish"),
        ] {
            assert_eq!(Sense::Shell.stands_for(text), id, "{text}");
            assert!(Sense::Shell.check(text).is_ok(), "{text}");
        }
    }

    #[test]
    fn a_shell_that_is_not_stored_is_refused_with_near_ones() {
        let near = why(Sense::Shell, "englsh");
        assert!(near.contains("near it are english"), "{near}");
        for text in ["12x3", "press-40x80", "round", "68"] {
            let why = why(Sense::Shell, text);
            assert!(
                why.contains("no shell of that name") && why.contains("press-41x92"),
                "{why}"
            );
        }
    }

    #[test]
    fn an_effort_in_words_is_a_power_and_only_where_powers_are_told() {
        // Common practice, no source: easy 60 to 80 W, steady 100 to 120, sporty 150 and more.
        for (word, low, high) in [
            ("easy", 60.0, 80.0),
            ("Steady ", 100.0, 120.0),
            ("sporty", 150.0, 180.0),
        ] {
            let watts: f64 = Sense::Effort
                .stands_for(word)
                .trim_end_matches(" W")
                .parse()
                .unwrap();
            assert!((low..=high).contains(&watts), "{word}: {watts}");
        }
        assert_eq!(Sense::Effort.stands_for("95 W"), "95 W");
        assert_eq!(Sense::Any.stands_for("easy"), "easy");
    }

    #[test]
    fn a_name_of_several_sizes_is_refused_with_its_candidates() {
        // 28 inch is 622 and 635, 20 inch 406 and 451 (encyclopaedia of tyre sizes, its warning on
        // both names); 26 x 1 is 571 and, from memory, 587.
        for (text, seats, ends) in [
            ("28 inch", "622 or 635 mm", "-622 or -635"),
            ("20in", "406 or 451 mm", "-406 or -451"),
            ("26x1", "571 or 587 mm", "-571 or -587"),
        ] {
            let why = why(Sense::TyreSize, text);
            assert!(why.contains(seats) && why.contains(ends), "{why}");
        }
        for text in ["42-622", "700C", "26x1.5", "28x1 5/8"] {
            assert!(Sense::TyreSize.check(text).is_ok(), "{text}");
        }
        assert!(Sense::Any.check("28 inch").is_ok());
    }

    #[test]
    fn two_sizes_in_one_text_are_refused_with_the_code_of_the_front_wheel() {
        for text in [
            "55-406 front, 55-559 rear",
            "55-406 / 55-559",
            "55-406/559",
            "55-406,55-559",
            "47-622, 50-622",
        ] {
            let why = why(Sense::TyreSize, text);
            assert!(
                why.contains("names two sizes") && why.contains("tyre-size-front"),
                "{why}"
            );
        }
        assert!(Sense::TyreSize.check("37-622 (28x1 3/8), 37-622").is_ok());
    }

    #[test]
    fn a_wire_goes_by_its_gauge_or_its_cross_section() {
        // Handbook table, restated: AWG 14 has 2.08 mm2, 13 would have 2.6; IEC 60228 has 2.5.
        for (text, number) in [
            ("12", "12"),
            ("AWG 12", "12"),
            ("12awg", "12"),
            ("2.5mm2", "14"),
            ("2.5 mm²", "14"),
            ("2,5mm2", "14"),
            ("6 mm2", "10"),
        ] {
            assert_eq!(Sense::Gauge.stands_for(text), number, "{text}");
        }
        let row = crate::code::find("wire-gauge").unwrap();
        let said = row.read("2.5", true).unwrap_err().to_string();
        assert!(
            said.contains("whole numbers") && said.contains("2.5mm2"),
            "{said}"
        );
        assert_eq!(
            row.read("2.5 mm2", false).unwrap(),
            row.read("14", false).unwrap()
        );
    }

    #[test]
    fn a_tyre_must_be_one_and_marks_must_name_bolts() {
        for text in ["42-622", "26x1 1/2", "700C", "42-623"] {
            assert!(Sense::TyreSize.check(text).is_ok(), "{text}");
        }
        assert!(why(Sense::TyreSize, "700-622").contains("10 to 130"));
        assert!(Sense::TyreSize.check("fat").is_err());
        assert!(Sense::TorqueMarks.check("stem 5-6").is_ok());
        assert!(why(Sense::TorqueMarks, "stem 6-5").contains("over the most"));
        assert!(Sense::Any.check("anything").is_ok());
    }
}
