//! Colour: marks around a word until it is written, codes of a terminal then.

use lockring_proto::wrap::COLOURS;

/// A way to stress a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Paint {
    /// It holds.
    Good,
    /// Look twice.
    Caution,
    /// It does not hold.
    Bad,
    /// Something is missing.
    Open,
    /// Beside the point.
    Quiet,
    /// A heading.
    Strong,
    /// An error.
    Alarm,
}

/// Where the stress ends.
const END: char = *COLOURS.start();

impl Paint {
    const fn mark(self) -> char {
        match self {
            Self::Good => '\u{fdd1}',
            Self::Caution => '\u{fdd2}',
            Self::Bad => '\u{fdd3}',
            Self::Open => '\u{fdd4}',
            Self::Quiet => '\u{fdd5}',
            Self::Strong => '\u{fdd6}',
            Self::Alarm => '\u{fdd7}',
        }
    }

    /// The word, stressed where colour is wanted: marks stand around it until it is written ([`code`]).
    pub(crate) fn around(self, word: &str, colour: bool) -> String {
        if colour {
            format!("{}{word}{END}", self.mark())
        } else {
            word.to_owned()
        }
    }
}

/// The code that a mark of colour stands for; `None` for any other sign.
pub(crate) const fn code(mark: char) -> Option<&'static str> {
    match mark {
        END => Some("\x1b[0m"),
        '\u{fdd1}' => Some("\x1b[32m"),
        '\u{fdd2}' => Some("\x1b[33m"),
        '\u{fdd3}' => Some("\x1b[31m"),
        '\u{fdd4}' => Some("\x1b[36m"),
        '\u{fdd5}' => Some("\x1b[2m"),
        '\u{fdd6}' => Some("\x1b[1m"),
        '\u{fdd7}' => Some("\x1b[1;31m"),
        _ => None,
    }
}
