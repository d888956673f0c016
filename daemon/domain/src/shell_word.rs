//! Texts in the lines that people are shown to type.

/// A text as a shell takes it for one word, and the bench prompt as well, which knows double quotes alone: only what a shell
/// reads inside of those stands in single ones.
pub fn quoted(text: &str) -> String {
    let is_plain = |letter: char| {
        letter.is_alphanumeric()
            || "-_.,/%+:@".contains(letter)
            || !letter.is_ascii() && !letter.is_whitespace()
    };
    if !text.is_empty() && text.chars().all(is_plain) {
        text.to_owned()
    } else if text.contains(['"', '\\', '$', '`', '!']) {
        format!("'{}'", text.replace('\'', "'\\''"))
    } else {
        format!("\"{text}\"")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_one_word_as_it_is_or_in_quotes() {
        for plain in ["P7", "ring-36-2", "…mm", "none/walk/full", "…/3", "…·m"] {
            assert_eq!(quoted(plain), plain);
        }
        assert_eq!(quoted("P 7"), "\"P 7\"");
        assert_eq!(quoted("the rider's"), "\"the rider's\"");
        assert_eq!(quoted("a(b)"), "\"a(b)\"");
        assert_eq!(quoted(""), "\"\"");
        assert_eq!(quoted("2\" $x it's"), "'2\" $x it'\\''s'");
    }
}
