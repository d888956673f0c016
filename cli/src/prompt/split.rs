//! A typed line into words.

/// Splits a line at blanks. A double quote at the beginning of a word, or after its `=`, holds
/// words together; anywhere else it is an inch mark.
pub(crate) fn split(line: &str) -> Vec<String> {
    cut(line).words
}

/// A line cut for completion: the words before the cursor, and the beginning of the one under it.
pub(crate) struct Cut {
    /// Whole words; the last of them may be unfinished.
    pub(crate) words: Vec<String>,
    /// Byte at which the last word begins, quote included; the line's end after a blank.
    pub(crate) last_begins: usize,
    /// The line ends in a blank outside quotes, or is empty: the next word has not begun.
    pub(crate) at_gap: bool,
    /// A quote is open.
    pub(crate) quoted: bool,
}

/// Cuts a line, or the part of it before the cursor.
pub(crate) fn cut(line: &str) -> Cut {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let (mut quoted, mut begins) = (false, line.len());
    for (at, letter) in line.char_indices() {
        match letter {
            '"' if quoted => quoted = false,
            '"' if word.as_ref().is_none_or(|word| word.ends_with('=')) => {
                if word.is_none() {
                    begins = at;
                }
                word.get_or_insert_default();
                quoted = true;
            }
            letter if letter.is_whitespace() && !quoted => words.extend(word.take()),
            letter => {
                if word.is_none() {
                    begins = at;
                }
                word.get_or_insert_default().push(letter);
            }
        }
    }
    let at_gap = word.is_none();
    words.extend(word);
    Cut {
        words,
        last_begins: if at_gap { line.len() } else { begins },
        at_gap,
        quoted,
    }
}

/// Writes words as a line that [`split`] reads back.
pub(crate) fn join(words: &[String]) -> String {
    let quoted = |word: &String| {
        if !word.is_empty() && !word.contains(char::is_whitespace) {
            return word.clone();
        }
        match word.split_once('=') {
            Some((key, value)) if !key.contains(char::is_whitespace) => format!("{key}=\"{value}\""),
            _ => format!("\"{word}\""),
        }
    };
    words.iter().map(quoted).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_hold_words_together_and_inches_are_no_quotes() {
        assert_eq!(split("note 1 \"two words\"  x"), ["note", "1", "two words", "x"]);
        assert_eq!(split("note 1 \"\""), ["note", "1", ""]);
        assert_eq!(split("measure clf 2 1/16\""), ["measure", "clf", "2", "1/16\""]);
        assert_eq!(
            split("brief height=5'11\" x=\"a b\""),
            ["brief", "height=5'11\"", "x=a b"]
        );
    }

    #[test]
    fn the_word_under_the_cursor_is_known() {
        let cut_at = |line: &str| {
            let cut = cut(line);
            (cut.words.len(), cut.last_begins, cut.at_gap, cut.quoted)
        };
        assert_eq!(cut_at(""), (0, 0, true, false));
        assert_eq!(cut_at("measure cl"), (2, 8, false, false));
        assert_eq!(cut_at("measure "), (1, 8, true, false));
        assert_eq!(cut_at("note \"he rang "), (2, 5, false, true));
    }

    #[test]
    fn what_is_joined_is_split_into_the_same() {
        for words in [vec!["note", "a b", ""], vec!["brief", "bike=long tail"]] {
            let words: Vec<String> = words.into_iter().map(str::to_owned).collect();
            assert_eq!(split(&join(&words)), words);
        }
    }
}
