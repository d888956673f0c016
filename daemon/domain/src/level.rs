//! Levels of help by their words.

use crate::nearest::nearest;
use crate::refusal::Refusal;

/// A level of help.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// The motor gives nothing.
    Off,
    /// A little.
    Low,
    /// Some.
    Mid,
    /// Much.
    High,
    /// All that the drive gives, whatever the sensor; no more than the class's ratio where it has one.
    Full,
}

/// The words of the levels.
pub const LEVELS: &[&str] = &["off", "low", "mid", "high", "full"];

impl Level {
    const ALL: [Self; 5] = [Self::Off, Self::Low, Self::Mid, Self::High, Self::Full];

    /// The level of a word; `None` for no word at all.
    ///
    /// # Errors
    /// A refusal for a word that is no level.
    pub fn read(word: &str) -> Result<Option<Self>, Refusal> {
        let word = word.trim();
        if word.is_empty() {
            return Ok(None);
        }
        let found = Self::ALL.into_iter().zip(LEVELS).find(|(_, own)| **own == word);
        if let Some((level, _)) = found {
            return Ok(Some(level));
        }
        let near = nearest(word, LEVELS.iter().copied());
        let all = format!("levels are {}", LEVELS.join(", "));
        Err(Refusal::unknown("level of assist", word, &near, &all).with("field", "assist"))
    }

    pub(crate) fn word(self) -> &'static str {
        Self::ALL
            .into_iter()
            .zip(LEVELS)
            .find_map(|(level, word)| (level == self).then_some(*word))
            .unwrap_or("full")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_levels_and_others_are_told_the_nearest() {
        for (level, word) in Level::ALL.into_iter().zip(LEVELS) {
            assert_eq!(Level::read(word).unwrap(), Some(level));
        }
        assert_eq!(Level::read(" ").unwrap(), None);
        let refusal = Level::read("hihg").unwrap_err();
        let hint = refusal.hint.unwrap();
        assert!(hint.contains("`high`") && hint.contains("mid"), "{hint}");
    }
}
