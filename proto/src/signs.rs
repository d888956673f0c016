//! Signs in what people wrote that may disturb what stands beside them: the same on a screen, on the page for
//! browsers, in the files that the daemon writes, and on paper.

use std::borrow::Cow;

/// Whether a sign controls where it is shown instead of being shown: a control character (Unicode general
/// category Cc: C0 and C1, so that no terminal takes a text for an order), one that turns the reading
/// direction of what follows (Unicode Standard Annex 9, explicit formatting characters and marks), one that
/// ends a line or paragraph, or a byte order mark.
pub const fn disturbs(sign: char) -> bool {
    matches!(
        sign,
        '\0'..='\u{1f}'
            | '\u{7f}'..='\u{9f}'
            | '\u{61c}'
            | '\u{200e}'
            | '\u{200f}'
            | '\u{2028}'..='\u{202e}'
            | '\u{2066}'..='\u{2069}'
            | '\u{feff}'
    )
}

/// Text of several lines with a blank for each sign that [`disturbs`]; line ends and tabs stay.
pub fn quiet(text: &str) -> Cow<'_, str> {
    let rings = |sign: char| disturbs(sign) && !matches!(sign, '\n' | '\t');
    // Nearly all that is shown; looking each sign up takes longer than all else of a line.
    if text.bytes().all(|byte| matches!(byte, b' '..=b'~' | b'\n')) || !text.contains(rings) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.replace(rings, " "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn orders_to_a_terminal_become_blanks_and_lines_stay() {
        assert_eq!(
            quiet("\u{1b}[2J\u{1b}]52;c;QQ==\u{7}\u{9b}31m a\rb\u{202e}c\n\td"),
            " [2J ]52;c;QQ==  31m a b c\n\td"
        );
        assert!(matches!(quiet("Zoë, 5 ± 1 mm\n"), Cow::Borrowed(_)));
    }

    #[test]
    fn every_control_character_disturbs() {
        let all = (0..=u32::from(char::MAX)).filter_map(char::from_u32);
        assert!(all.filter(|sign| sign.is_control()).all(disturbs));
    }
}
