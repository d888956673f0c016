//! Where a name or a contact stands in the entries of jobs.

use std::collections::BTreeSet;

use lockring_domain::entry::{self, Entry, Event};
use lockring_domain::private;
use lockring_domain::removal::{Kind, Removal};

/// What tells who somebody is: names and contacts of jobs that still have them.
pub(super) fn who_texts(entries: &[Entry]) -> Vec<(Kind, String)> {
    let removals = removals(entries);
    let mut found = Vec::new();
    for entry in entries {
        let mut event = entry.event.clone();
        for private in private::texts(&mut event) {
            let gone = removals
                .iter()
                .any(|removal| removal.takes(entry.seq, private.kind));
            if private.kind.tells_who() && !gone {
                found.push((private.kind, std::mem::take(private.text)));
            }
        }
    }
    found
}

/// Removals there were.
pub(super) fn removals(entries: &[Entry]) -> Vec<&Removal> {
    let removals = entries.iter().filter_map(|entry| match &entry.event {
        Event::RiderRemoved(removal) => Some(removal),
        _ => None,
    });
    removals.collect()
}

/// Whether words hold a name or a contact.
pub(super) fn names(words: &str, who: &[(Kind, String)]) -> bool {
    who.iter().any(|(kind, text)| match kind {
        Kind::Name => private::holds(words, text),
        Kind::Contact => words.to_lowercase().contains(&text.to_lowercase()),
        Kind::PrivateNote | Kind::Words => false,
    })
}

/// Entries of a job whose free words hold a name or a contact.
pub(super) fn found(entries: &[Entry], who: &[(Kind, String)]) -> BTreeSet<u64> {
    let removals = removals(entries);
    let holds = |entry: &&Entry| {
        let mut event = entry.event.clone();
        private::texts(&mut event).iter().any(|private| {
            private.kind == Kind::Words
                && names(private.text, who)
                && !removals
                    .iter()
                    .any(|removal| removal.takes(entry.seq, Kind::Words))
        })
    };
    entries.iter().filter(holds).map(|entry| entry.seq).collect()
}

/// Entries that hold a name or a contact in words that are no private texts, as they read after a
/// removal.
pub(super) fn fast(entries: &[Entry], removal: &Removal, who: &[(Kind, String)]) -> BTreeSet<u64> {
    let mut left = entries.to_vec();
    private::redact(&mut left, removal);
    let holds = |entry: &&Entry| names(&entry::line(&entry.event), who);
    left.iter().filter(holds).map(|entry| entry.seq).collect()
}
