//! Texts in the lines that people are shown to type.

/// A text as a shell takes it for one word.
pub fn quoted(text: &str) -> String {
    let is_plain = |letter: char| letter.is_alphanumeric() || "-_.,/%+:@".contains(letter);
    if !text.is_empty() && text.chars().all(is_plain) {
        text.to_owned()
    } else {
        format!("'{}'", text.replace('\'', "'\\''"))
    }
}
