//! Breaking text at words, counted in terminal columns: the same on a screen and in the files that the
//! daemon writes.

use std::borrow::Cow;

use unicode_width::UnicodeWidthStr;

/// Whether every byte is a letter of one column.
fn is_simple(text: &str) -> bool {
    text.bytes().all(|byte| (b' '..=b'~').contains(&byte))
}

/// Marks in a text where its colour changes. They stand for the codes of a terminal until the text is written, so
/// that a code which somebody wrote is none: they are noncharacters, which Unicode keeps for a program's own use.
pub const COLOURS: std::ops::RangeInclusive<char> = '\u{fdd0}'..='\u{fddf}';

/// Columns a text takes on a terminal; marks of colour take none.
pub fn columns(text: &str) -> usize {
    // Nearly all that is shown; looking each letter up takes longer than all else of a table.
    if is_simple(text) {
        return text.len();
    }
    let shown = text.split(|sign| COLOURS.contains(&sign));
    shown.map(UnicodeWidthStr::width).sum()
}

/// Whether a text is one line that fits and has no blank too many.
fn needs_no_break(text: &str, width: usize) -> bool {
    let bytes = text.as_bytes();
    let is_blank = |byte: Option<&u8>| byte == Some(&b' ');
    bytes.len() <= width
        && is_simple(text)
        && !is_blank(bytes.first())
        && !is_blank(bytes.last())
        && !bytes.windows(2).any(|pair| pair == b"  ")
}

/// Breaks at spaces so that no line is wider than `width` columns; a word that is wider by
/// itself stays whole, so that paths and commands can be copied. At least one line.
pub fn words(text: &str, width: usize) -> Vec<String> {
    hanging(text, width, width)
}

/// As [`words`], with a width of its own for the first line.
pub fn hanging(text: &str, first: usize, rest: usize) -> Vec<String> {
    if needs_no_break(text, first) {
        return vec![text.to_owned()];
    }
    let mut lines = Vec::new();
    for paragraph in text.split('\n') {
        let (mut line, mut taken) = (String::new(), 0_usize);
        for word in paragraph.split_whitespace() {
            let width = if lines.is_empty() { first } else { rest };
            let wide = columns(word);
            if !line.is_empty() && taken.saturating_add(1 + wide) > width {
                lines.push(std::mem::take(&mut line));
                taken = 0;
            }
            if !line.is_empty() {
                line.push(' ');
                taken += 1;
            }
            line.push_str(word);
            taken = taken.saturating_add(wide);
        }
        lines.push(line);
    }
    lines
}

/// As [`words`], but breaks a word that is too wide, so that columns stay straight.
pub fn cell(text: &str, width: usize) -> Vec<Cow<'_, str>> {
    let width = width.max(2);
    let mut lines = Vec::new();
    for paragraph in text.split('\n') {
        if needs_no_break(paragraph, width) {
            lines.push(Cow::Borrowed(paragraph));
            continue;
        }
        for line in words(paragraph, width) {
            let mut rest = line.as_str();
            while columns(rest) > width {
                let end = fitting(rest, width);
                lines.push(Cow::Owned(rest[..end].to_owned()));
                rest = &rest[end..];
            }
            lines.push(Cow::Owned(rest.to_owned()));
        }
    }
    lines
}

/// Where to cut so that the first part is at most `width` columns wide; never 0.
fn fitting(text: &str, width: usize) -> usize {
    let mut end = 0;
    for (place, letter) in text.char_indices() {
        let next = place + letter.len_utf8();
        if columns(&text[..next]) > width && end > 0 {
            break;
        }
        end = next;
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_words_and_long_words_stay_whole() {
        assert_eq!(words("one two three", 7), ["one two", "three"]);
        assert_eq!(words("a verylongword b", 6), ["a", "verylongword", "b"]);
        assert_eq!(words("", 6), [""]);
        assert_eq!(words("a\nb c", 80), ["a", "b c"]);
        assert_eq!(words(" one  two ", 80), ["one two"]);
        assert_eq!(words("one two", 7), ["one two"]);
    }

    #[test]
    fn cells_break_long_words_too() {
        assert_eq!(cell("a verylongword b", 6), ["a", "verylo", "ngword", "b"]);
        assert_eq!(cell("schräg", 4), ["schr", "äg"]);
    }

    #[test]
    fn the_first_line_may_have_less_room() {
        assert_eq!(hanging("one two three four", 4, 10), ["one", "two three", "four"]);
    }

    #[test]
    fn marks_of_colour_take_no_columns() {
        assert_eq!(columns("\u{fdd3}x fail\u{fdd0}  shell"), "x fail  shell".len());
    }

    #[test]
    fn wide_letters_count_twice() {
        assert_eq!(columns("輪"), 2);
        assert_eq!(cell("輪輪輪", 4), ["輪輪", "輪"]);
    }
}
