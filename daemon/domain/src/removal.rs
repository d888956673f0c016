//! What was taken out of a job's entries to let go of a person, and why.

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// What a private text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The rider's name.
    Name,
    /// How the rider is reached, or who signed.
    Contact,
    /// A note that was marked private.
    PrivateNote,
    /// Free words.
    Words,
}

impl Kind {
    /// The word people see.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::Contact => "contact",
            Self::PrivateNote => "private note",
            Self::Words => "words",
        }
    }

    /// Whether it goes with the rider, unasked.
    pub const fn tells_who(self) -> bool {
        !matches!(self, Self::Words)
    }

    /// What stands where the text was.
    pub fn removed(self, on: Date) -> String {
        match self {
            Self::Name => format!("customer removed on {on}"),
            Self::Contact | Self::PrivateNote | Self::Words => format!("removed on {on}"),
        }
    }
}

/// What was taken out of a job's entries, and why. It never holds what was taken out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Removal {
    /// The day.
    pub on: Date,
    /// Why.
    pub why: String,
    /// Entries from which all that tells who somebody is was taken.
    pub who: BTreeSet<u64>,
    /// Entries from which all free words were taken.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub words: BTreeSet<u64>,
    /// Entries whose pictures were removed.
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    pub pictures: BTreeSet<u64>,
    /// What spoke against it and was overruled.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub although: Vec<String>,
}

impl Removal {
    /// Whether it took a text of this kind from an entry.
    pub fn takes(&self, seq: u64, kind: Kind) -> bool {
        let from = if kind.tells_who() { &self.who } else { &self.words };
        from.contains(&seq)
    }

    /// What it says, in one line for histories.
    pub fn line(&self) -> String {
        let what = if self.who.is_empty() {
            "taken out"
        } else {
            "customer removed"
        };
        let mut words = vec![format!("{what} on {}: {}", self.on, self.why)];
        for (what, from) in [("words", &self.words), ("pictures", &self.pictures)] {
            if !from.is_empty() {
                words.push(format!("{what} removed: {}", listed(from)));
            }
        }
        words.extend(self.although.iter().map(|against| format!("although {against}")));
        words.join("; ")
    }
}

/// Entries by number, in words.
pub fn listed(entries: &BTreeSet<u64>) -> String {
    let listed: Vec<String> = entries.iter().map(u64::to_string).collect();
    let word = if listed.len() == 1 { "entry" } else { "entries" };
    format!("{word} {}", listed.join(", "))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn a_removal_takes_what_it_names_and_nothing_else() {
        let removal = Removal {
            on: date(2026, 11, 26),
            why: "asked for it".into(),
            who: BTreeSet::from([1, 2]),
            words: BTreeSet::from([4]),
            pictures: BTreeSet::from([5, 7]),
            although: vec!["12.00 is owed".into()],
        };
        assert!(removal.takes(1, Kind::Name) && removal.takes(2, Kind::PrivateNote));
        assert!(!removal.takes(3, Kind::Name) && !removal.takes(1, Kind::Words));
        assert!(removal.takes(4, Kind::Words) && !removal.takes(4, Kind::Contact));
        assert_eq!(
            removal.line(),
            "customer removed on 2026-11-26: asked for it; words removed: entry 4; \
             pictures removed: entries 5, 7; although 12.00 is owed"
        );
        let words = Removal {
            who: BTreeSet::new(),
            pictures: BTreeSet::new(),
            although: Vec::new(),
            ..removal
        };
        assert_eq!(
            words.line(),
            "taken out on 2026-11-26: asked for it; words removed: entry 4"
        );
    }
}
