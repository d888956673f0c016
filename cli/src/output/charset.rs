//! What the terminal can show: a symbol that it cannot is written in the letters it has.

use std::borrow::Cow;

use lockring_proto::signs;
use lockring_proto::wrap::COLOURS;

use crate::output::paint::code;

/// The letters of a terminal.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) enum Charset {
    /// All of Unicode.
    #[default]
    Utf8,
    /// ISO 8859-1 or its sister 8859-15: the first 256 letters of Unicode, a byte each.
    Latin1,
    /// The first 128.
    Ascii,
}

impl Charset {
    /// What the environment says, as POSIX reads it: the first of LC_ALL, LC_CTYPE and LANG that
    /// is set and not empty; without any of them the locale is `C`.
    pub(crate) fn of_environment() -> Self {
        let named = ["LC_ALL", "LC_CTYPE", "LANG"]
            .iter()
            .filter_map(std::env::var_os)
            .find(|value| !value.is_empty());
        named.map_or(Self::Ascii, |locale| Self::of_locale(&locale.to_string_lossy()))
    }

    fn of_locale(locale: &str) -> Self {
        let charset = locale.split('@').next().unwrap_or_default();
        let charset = charset.split_once('.').map_or("", |(_, charset)| charset);
        let letters = charset.to_lowercase().replace(['-', '_'], "");
        match letters.as_str() {
            "utf8" => Self::Utf8,
            "iso88591" | "iso885915" | "latin1" | "latin9" => Self::Latin1,
            _ => Self::Ascii,
        }
    }

    fn has(self, letter: char) -> bool {
        match self {
            Self::Utf8 => true,
            // The eight letters in which 8859-15 differs are not ours to tell apart.
            Self::Latin1 => (letter as u32) < 0x100 || COLOURS.contains(&letter),
            Self::Ascii => letter.is_ascii() || COLOURS.contains(&letter),
        }
    }

    /// A text in letters that can be shown, without what disturbs its neighbours. It may be longer than it was.
    pub(crate) fn fit(self, text: &str) -> Cow<'_, str> {
        match signs::quiet(text) {
            Cow::Borrowed(text) => self.lettered(text),
            Cow::Owned(text) => Cow::Owned(self.lettered(&text).into_owned()),
        }
    }

    fn lettered(self, text: &str) -> Cow<'_, str> {
        if self == Self::Utf8 || text.is_ascii() || text.chars().all(|letter| self.has(letter)) {
            return Cow::Borrowed(text);
        }
        let mut fitted = String::with_capacity(text.len());
        for letter in text.chars() {
            if self.has(letter) {
                fitted.push(letter);
            } else {
                fitted.push_str(spelt(letter));
            }
        }
        Cow::Owned(fitted)
    }

    /// A text as the bytes the terminal reads: no order to it but the colours that were marked, and without colour
    /// none at all: a mark is then one that somebody wrote, and left out.
    pub(crate) fn bytes(self, text: &str, colour: bool) -> Cow<'_, [u8]> {
        let quiet = signs::quiet(text);
        if quiet.is_ascii() || !quiet.contains(|sign| COLOURS.contains(&sign)) {
            return match quiet {
                Cow::Borrowed(text) => self.exact(text),
                Cow::Owned(text) => Cow::Owned(self.exact(&text).into_owned()),
            };
        }
        let mut bytes = Vec::with_capacity(quiet.len());
        let mut rest = &*quiet;
        while let Some((at, mark)) = rest.char_indices().find(|(_, sign)| COLOURS.contains(sign)) {
            bytes.extend_from_slice(&self.exact(&rest[..at]));
            if colour {
                bytes.extend_from_slice(code(mark).unwrap_or_default().as_bytes());
            }
            rest = &rest[at + mark.len_utf8()..];
        }
        bytes.extend_from_slice(&self.exact(rest));
        Cow::Owned(bytes)
    }

    /// A text for programs, all its signs in the bytes there are.
    pub(crate) fn exact(self, text: &str) -> Cow<'_, [u8]> {
        match self {
            Self::Utf8 => Cow::Borrowed(text.as_bytes()),
            Self::Ascii | Self::Latin1 if text.is_ascii() => Cow::Borrowed(text.as_bytes()),
            Self::Ascii | Self::Latin1 => {
                // What does not fit into a byte was spelt before.
                let byte = |letter: char| u8::try_from(u32::from(letter)).unwrap_or(b'?');
                Cow::Owned(self.lettered(text).chars().map(byte).collect())
            }
        }
    }
}

/// A letter in those that every terminal has.
const fn spelt(letter: char) -> &'static str {
    match letter {
        '±' => "+/-",
        '—' | '–' | '−' => "-",
        '…' => "...",
        '·' => "*",
        '×' => "x",
        '²' => "2",
        '³' => "3",
        '°' => " deg",
        'µ' | 'μ' => "u",
        'Ω' => "ohm",
        '≤' => "<=",
        '≥' => ">=",
        '→' => "->",
        '←' => "<-",
        '’' | '‘' => "'",
        '“' | '”' | '„' => "\"",
        '€' => "EUR",
        '£' => "GBP",
        'à' | 'á' | 'â' | 'ã' | 'å' => "a",
        'ä' | 'æ' => "ae",
        'ç' => "c",
        'è' | 'é' | 'ê' | 'ë' => "e",
        'ì' | 'í' | 'î' | 'ï' => "i",
        'ñ' => "n",
        'ò' | 'ó' | 'ô' | 'õ' => "o",
        'ö' | 'ø' | 'œ' => "oe",
        'ù' | 'ú' | 'û' => "u",
        'ü' => "ue",
        'ß' => "ss",
        'À' | 'Á' | 'Â' | 'Ã' | 'Å' => "A",
        'Ä' | 'Æ' => "Ae",
        'Ç' => "C",
        'È' | 'É' | 'Ê' | 'Ë' => "E",
        'Ñ' => "N",
        'Ò' | 'Ó' | 'Ô' | 'Õ' => "O",
        'Ö' | 'Ø' => "Oe",
        'Ù' | 'Ú' | 'Û' => "U",
        'Ü' => "Ue",
        '\u{a0}' | '\u{202f}' => " ",
        _ => "?",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_locale_names_the_letters() {
        for (locale, charset) in [
            ("en_GB.UTF-8", Charset::Utf8),
            ("C.utf8", Charset::Utf8),
            ("de_DE.ISO-8859-1", Charset::Latin1),
            ("de_DE.iso885915@euro", Charset::Latin1),
            ("C", Charset::Ascii),
            ("POSIX", Charset::Ascii),
            ("de_DE", Charset::Ascii),
        ] {
            assert_eq!(Charset::of_locale(locale), charset, "{locale}");
        }
    }

    #[test]
    fn what_cannot_be_shown_is_spelt() {
        let text = "Jürgen: 5 m ± 0,3 … — m/s²";
        assert_eq!(Charset::Utf8.fit(text), text);
        assert_eq!(Charset::Ascii.fit(text), "Juergen: 5 m +/- 0,3 ... - m/s2");
        assert_eq!(Charset::Latin1.fit(text), "Jürgen: 5 m ± 0,3 ... - m/s²");
        assert_eq!(Charset::Latin1.bytes("ü±", true).as_ref(), [0xfc, 0xb1]);
        assert_eq!(Charset::Ascii.bytes("字", true).as_ref(), b"?");
    }

    #[test]
    fn what_people_wrote_gives_the_terminal_no_orders() {
        let text = "\u{fdd3}x\u{fdd0} \u{1b}[2J\u{1b}]52;c;\u{7}\u{9b}8m\u{202e}ü\n";
        for (charset, shown) in [
            (Charset::Utf8, "\u{1b}[31mx\u{1b}[0m  [2J ]52;c;  8m ü\n"),
            (Charset::Ascii, "\u{1b}[31mx\u{1b}[0m  [2J ]52;c;  8m ue\n"),
        ] {
            assert_eq!(charset.bytes(text, true).as_ref(), shown.as_bytes());
            assert_eq!(charset.bytes(&charset.fit(text), true).as_ref(), shown.as_bytes());
            let plain = shown.replace("\u{1b}[31m", "").replace("\u{1b}[0m", "");
            assert_eq!(charset.bytes(text, false).as_ref(), plain.as_bytes());
        }
        assert_eq!(Charset::Utf8.exact(text).as_ref(), text.as_bytes());
    }
}
