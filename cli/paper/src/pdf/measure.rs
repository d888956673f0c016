//! How wide text is, and where its lines break.

use textwrap::core::Fragment;
use textwrap::wrap_algorithms::wrap_first_fit;
use ttf_parser::Face as Metrics;

use crate::model::NO_BREAK;

/// Which cut of the font.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Face {
    Plain,
    Bold,
}

/// Advance widths of both faces.
pub(super) struct Measure {
    plain: Option<Metrics<'static>>,
    bold: Option<Metrics<'static>>,
}

/// Whether a line may end here.
fn breaks(sign: char) -> bool {
    sign.is_whitespace() && !matches!(sign, NO_BREAK | '\u{202f}')
}

/// Width of a sign the font does not have, in ems.
const UNKNOWN: f32 = 0.6;

impl Measure {
    pub(super) fn new() -> Self {
        Self {
            plain: Metrics::parse(dejavu::sans::regular(), 0).ok(),
            bold: Metrics::parse(dejavu::sans::bold(), 0).ok(),
        }
    }

    fn metrics(&self, face: Face) -> Option<&Metrics<'static>> {
        match face {
            Face::Plain => self.plain.as_ref(),
            Face::Bold => self.bold.as_ref(),
        }
    }

    /// A text with a sign that says so wherever the font has none of its own.
    pub(super) fn known(&self, text: &str, face: Face) -> String {
        let has = |sign: char| {
            self.metrics(face)
                .is_none_or(|metrics| metrics.glyph_index(sign).is_some())
        };
        text.chars()
            .map(|sign| {
                if has(sign) {
                    sign
                } else {
                    char::REPLACEMENT_CHARACTER
                }
            })
            .collect()
    }

    /// Width of a text in points. Pairs are not kerned, which only makes it wider.
    pub(super) fn width(&self, text: &str, size: f32, face: Face) -> f32 {
        let metrics = self.metrics(face);
        let advance = |sign: char| {
            let metrics = metrics?;
            let advance = metrics.glyph_hor_advance(metrics.glyph_index(sign)?)?;
            Some(f32::from(advance) / f32::from(metrics.units_per_em()))
        };
        text.chars()
            .map(|sign| advance(sign).unwrap_or(UNKNOWN) * size)
            .sum()
    }

    /// Lines of a text no wider than `width` points; a word that is wider is cut.
    pub(super) fn lines(&self, text: &str, size: f32, face: Face, width: f32) -> Vec<String> {
        let blank = self.width(" ", size, face);
        let words: Vec<Word> = text
            .split(breaks)
            .filter(|word| !word.is_empty())
            .flat_map(|word| self.cut(word, size, face, width))
            .map(|text| Word {
                width: self.width(&text, size, face).into(),
                blank: blank.into(),
                text,
            })
            .collect();
        if words.is_empty() {
            return vec![String::new()];
        }
        wrap_first_fit(&words, &[width.into()])
            .into_iter()
            .map(|line| {
                line.iter()
                    .map(|word| word.text.as_str())
                    .collect::<Vec<_>>()
                    .join(" ")
            })
            .collect()
    }

    /// Width of the widest piece of a text that no line may end in.
    pub(super) fn widest_word(&self, text: &str, size: f32, face: Face) -> f32 {
        let words = text.split(breaks).map(|word| self.width(word, size, face));
        words.fold(0.0, f32::max)
    }

    /// A word in pieces that each fit a line: where it must break, at a blank of its own first.
    fn cut(&self, word: &str, size: f32, face: Face, width: f32) -> Vec<String> {
        if self.width(word, size, face) <= width {
            return vec![word.to_owned()];
        }
        if let Some((before, after)) = word.split_once(NO_BREAK) {
            let halves = [before, after].into_iter();
            return halves
                .flat_map(|half| self.cut(half, size, face, width))
                .collect();
        }
        let mut pieces = vec![String::new()];
        let mut used = 0.0;
        for sign in word.chars() {
            let wide = self.width(sign.encode_utf8(&mut [0; 4]), size, face);
            if used + wide > width && used > 0.0 {
                pieces.push(String::new());
                used = 0.0;
            }
            used += wide;
            pieces.last_mut().expect("there is at least one piece").push(sign);
        }
        pieces
    }
}

#[derive(Debug)]
struct Word {
    text: String,
    width: f64,
    blank: f64,
}

impl Fragment for Word {
    fn width(&self) -> f64 {
        self.width
    }

    fn whitespace_width(&self) -> f64 {
        self.blank
    }

    fn penalty_width(&self) -> f64 {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_its_column() {
        let measure = Measure::new();
        let long = "W".repeat(300);
        let text = format!("a few words and {long} then more \u{1f6b2} words");
        for width in [30.0, 111.0, 500.0] {
            let lines = measure.lines(&text, 10.0, Face::Plain, width);
            for line in &lines {
                assert!(measure.width(line, 10.0, Face::Plain) <= width, "{line}");
            }
            let kept: String = lines.concat().replace(' ', "");
            assert_eq!(kept, text.replace(' ', ""));
        }
    }

    #[test]
    fn no_line_ends_between_a_number_and_its_unit() {
        let measure = Measure::new();
        let text = "allowed at most 25\u{a0}km/h here";
        for width in 60..200u16 {
            let lines = measure.lines(text, 10.0, Face::Plain, f32::from(width));
            assert!(
                lines.iter().any(|line| line.contains("25\u{a0}km/h")),
                "{lines:?}"
            );
        }
        // Where there is no room for both, the blank is better than the middle of a word.
        let narrow = measure.lines("1234\u{a0}km/h", 10.0, Face::Plain, 30.0);
        assert_eq!(narrow, ["1234", "km/h"]);
    }

    /// DejaVu Sans 2.37 has 2048 units to the em; its digits are 1303 wide (table hmtx).
    #[test]
    fn a_digit_is_as_wide_as_the_font_says() {
        let width = Measure::new().width("0", 2048.0, Face::Plain);
        assert!((width - 1303.0).abs() < 0.01, "{width}");
    }
}
