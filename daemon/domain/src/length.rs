//! How long a text may be: lists show them for all jobs in one answer, which has an end (4 MiB).

use crate::refusal::{Reason, Refusal};

/// Longest name of somebody, characters (judgement: the longest on paper have half as many).
const MOST_NAME: usize = 200;

/// Longest free words, characters: a page and a half.
pub(crate) const MOST_WORDS: usize = 4000;

/// Words as they are kept, if they are not too long.
///
/// # Errors
/// [`Reason::BadInput`] beyond [`MOST_WORDS`], and for a noncharacter.
pub(crate) fn words(field: &str, text: &str) -> Result<String, Refusal> {
    let hint = "a file is kept as a photo or beside the job; the words say what it shows";
    at_most(MOST_WORDS, field, text, hint)
}

/// A name as it is kept, with one blank between its words, if it is not too long and stands on one line: a list has a line for each.
///
/// # Errors
/// [`Reason::BadInput`] beyond [`MOST_NAME`], and for a line break, another control character or a noncharacter.
pub(crate) fn name(field: &str, text: &str) -> Result<String, Refusal> {
    let text = text.trim();
    let breaks = |sign: char| sign.is_control() || matches!(sign, '\u{2028}' | '\u{2029}');
    if text.contains(breaks) {
        let message =
            format!("{field} has a line break or another control character in it; expected one line");
        return Err(Refusal::new(Reason::BadInput, message).with("field", field));
    }
    // One blank is as good as two, and looks the same: nobody is two riders for it.
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let hint = "what else is to be known stands in a note";
    at_most(MOST_NAME, field, &text, hint)
}

/// Whether a sign is a noncharacter, which Unicode keeps for a program's own use and nobody types (Unicode Standard, section
/// 23.7): a program that shows the text may take it for a mark of its own.
const fn is_noncharacter(sign: char) -> bool {
    let number = sign as u32;
    matches!(number, 0xfdd0..=0xfdef) || number & 0xfffe == 0xfffe
}

fn at_most(most: usize, field: &str, text: &str, hint: &str) -> Result<String, Refusal> {
    let text = text.trim();
    if let Some(sign) = text.chars().find(|sign| is_noncharacter(*sign)) {
        let message = format!(
            "{field} has U+{:04X} in it, which is no character; expected letters and signs",
            u32::from(sign)
        );
        return Err(Refusal::new(Reason::BadInput, message).with("field", field));
    }
    // Fewer bytes than that are fewer characters.
    let count = if text.len() > most {
        text.chars().count()
    } else {
        0
    };
    if count <= most {
        return Ok(text.to_owned());
    }
    Err(Refusal::new(
        Reason::BadInput,
        format!("{field} has {count} characters; expected at most {most}"),
    )
    .with("field", field)
    .hint(hint))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_counted_and_not_bytes() {
        assert_eq!(
            name("the name", &format!(" {} ", "ü".repeat(200))).unwrap().len(),
            400
        );
        let long = name("the name", &"ü".repeat(201)).unwrap_err();
        assert_eq!(long.message, "the name has 201 characters; expected at most 200");
        assert!(
            long.hint.as_deref().is_some_and(|hint| hint.contains("note")),
            "{long:?}"
        );
        assert_eq!(name("the name", " Ines \u{a0} H.").unwrap(), "Ines H.");
        for broken in ["Ines\nH.", "A\u{1b}[31mB", "A\u{9b}31mB", "A\u{2028}B"] {
            assert!(
                name("the name", broken).unwrap_err().message.contains("one line"),
                "{broken:?}"
            );
        }
        for sign in ["\u{fdd6}", "\u{fdef}", "\u{fffe}", "\u{10ffff}"] {
            for refused in [name("the name", sign), words("the note", sign)] {
                let message = refused.unwrap_err().message;
                assert!(message.contains("no character"), "{message}");
            }
        }
        assert!(words("the note", "\u{fdcf}\u{fdf0}\u{fffd}").is_ok());
        assert_eq!(words("the note", "two\nlines").unwrap(), "two\nlines");
        assert!(words("the note", &"x".repeat(4000)).is_ok());
        assert!(words("the note", &"x".repeat(4001)).is_err());
    }
}
