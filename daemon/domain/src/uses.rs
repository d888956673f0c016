//! The words of what checks look at, each kept once in the program: they are some hundreds, and every
//! check of every job notes a score of them.

use std::collections::BTreeSet;
use std::sync::{Mutex, PoisonError};

/// A word that is kept: there is but one of it, so that its place tells it from all others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Word(&'static str);

/// Every word that is kept.
static ALL: Mutex<BTreeSet<&'static str>> = Mutex::new(BTreeSet::new());

impl Word {
    /// Those of some texts at which any check ever looked.
    pub fn known<'t>(texts: impl IntoIterator<Item = &'t str>) -> Vec<Self> {
        let all = ALL.lock().unwrap_or_else(PoisonError::into_inner);
        let known = texts.into_iter().filter_map(|text| all.get(text).copied());
        known.map(Self).collect()
    }

    fn is(self, other: Self) -> bool {
        std::ptr::eq(self.0, other.0)
    }
}

/// Words of what a check looked at, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Uses(Box<[Word]>);

impl Uses {
    /// The words of a set.
    pub fn of(words: &BTreeSet<String>) -> Self {
        let mut all = ALL.lock().unwrap_or_else(PoisonError::into_inner);
        let kept = words.iter().map(|word| {
            Word(all.get(word.as_str()).copied().unwrap_or_else(|| {
                let word: &'static str = word.clone().leak();
                all.insert(word);
                word
            }))
        });
        Self(kept.collect())
    }

    /// Whether a word is among them.
    pub fn contains(&self, word: &str) -> bool {
        self.0.binary_search_by(|own| own.0.cmp(word)).is_ok()
    }

    /// Whether any of some words is among them.
    pub fn any(&self, words: &[Word]) -> bool {
        words.iter().any(|word| self.0.iter().any(|own| own.is(*word)))
    }

    /// All words, in order.
    pub fn iter(&self) -> impl Iterator<Item = &'static str> {
        self.0.iter().map(|word| word.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn uses(words: &[&str]) -> Uses {
        Uses::of(&words.iter().map(|word| (*word).to_owned()).collect())
    }

    #[test]
    fn words_that_are_kept_are_found_among_those_of_a_check() {
        let (one, other) = (uses(&["ring-teeth", "hill-grade"]), uses(&["purse"]));
        assert_eq!(one.iter().collect::<Vec<_>>(), ["hill-grade", "ring-teeth"]);
        assert!(one.contains("ring-teeth") && !one.contains("purse"));
        let known = Word::known(["purse", "a word nobody ever looked at"]);
        assert_eq!(known.len(), 1);
        assert!(other.any(&known) && !one.any(&known) && !one.any(&[]));
        let more = Word::known(["purse", "hill-grade"]);
        assert!(one.any(&more) && other.any(&more));
        assert_eq!(one, uses(&["hill-grade", "ring-teeth"]));
    }
}
