//! How long a text may be: lists show them for all jobs in one answer, which has an end (4 MiB).

use crate::refusal::{Reason, Refusal};

/// Longest name of somebody, characters (judgement: the longest on paper have half as many).
const MOST_NAME: usize = 200;

/// Longest free words, characters: a page and a half.
pub(crate) const MOST_WORDS: usize = 4000;

/// Words as they are kept, if they are not too long.
///
/// # Errors
/// [`Reason::BadInput`] beyond [`MOST_WORDS`].
pub(crate) fn words(field: &str, text: &str) -> Result<String, Refusal> {
    at_most(MOST_WORDS, field, text)
}

/// A name as it is kept, if it is not too long.
///
/// # Errors
/// [`Reason::BadInput`] beyond [`MOST_NAME`].
pub(crate) fn name(field: &str, text: &str) -> Result<String, Refusal> {
    at_most(MOST_NAME, field, text)
}

fn at_most(most: usize, field: &str, text: &str) -> Result<String, Refusal> {
    let text = text.trim();
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
    .hint("a file is kept as a photo or beside the job; the words say what it shows"))
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
        assert!(words("the note", &"x".repeat(4000)).is_ok());
        assert!(words("the note", &"x".repeat(4001)).is_err());
    }
}
