//! The words of what checks look at, each kept once in the program: they are some hundreds, and every
//! check of every job notes a score of them.

use std::collections::BTreeSet;
use std::sync::{Mutex, PoisonError};

/// Words of what a check looked at, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Uses(Box<[&'static str]>);

impl Uses {
    /// The words of a set.
    pub fn of(words: &BTreeSet<String>) -> Self {
        static ALL: Mutex<BTreeSet<&'static str>> = Mutex::new(BTreeSet::new());
        let mut all = ALL.lock().unwrap_or_else(PoisonError::into_inner);
        let kept = words.iter().map(|word| {
            all.get(word.as_str()).copied().unwrap_or_else(|| {
                let word: &'static str = word.clone().leak();
                all.insert(word);
                word
            })
        });
        Self(kept.collect())
    }

    /// Whether a word is among them.
    pub fn contains(&self, word: &str) -> bool {
        self.0.binary_search(&word).is_ok()
    }

    /// All words, in order.
    pub fn iter(&self) -> impl Iterator<Item = &'static str> {
        self.0.iter().copied()
    }
}
