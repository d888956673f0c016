//! What entries say about a person: which texts those are, and taking them out.
//!
//! The store keeps these texts beside the journal, under a hash with a salt, and the entry holds
//! the hash alone (see its `private.rs`). So the chain of hashes holds after a text is gone, and
//! the hash of a text that is gone tells nothing.
//!
//! Two kinds: what tells who somebody is goes when the rider is removed; free words go when
//! somebody names their entry, because they may be about the bicycle alone. Words that the gates
//! rest on (concessions, what went back and why, receipts) are no private texts and always stay.

use crate::account::AccountEvent;
use crate::after::AfterEvent;
use crate::entry::{Entry, Event};
use crate::fact::Value;
use crate::removal::{Kind, Removal};

/// What stands before the hash of a text that is kept apart.
pub const SEAL: &str = "sealed:";

/// The codes whose text tells who somebody is.
pub const CODES: [&str; 2] = ["contact", "signed-by"];

/// The check that looks at who signed, and what its first version said before the name.
const SIGNATURE: &str = "handover.signature";
const SIGNED_BY: &str = "signed for by ";

/// What nobody here can say for a shop, and where the reach of a removal ends.
pub const CAUTIONS: [&str; 4] = [
    "Which of a customer's data must go, which must stay and for how long differs by place: \
     look it up in the local text or ask whoever advises the shop. This is no advice on the law.",
    "The technical file stays: bicycle, parts, measurements, gates, concessions, money and what hands \
     signed off. Product law of many places asks for it for years; check the local text.",
    "Printed papers, exported files, copies of backups and pictures elsewhere are not reached from \
     here: let go of them by hand.",
    "Without a contact nobody can be called when a part on the bicycle is recalled.",
];

/// A private text of an event.
#[derive(Debug, PartialEq, Eq)]
pub struct Private<'e> {
    /// What it is.
    pub kind: Kind,
    /// The text; never empty.
    pub text: &'e mut String,
}

/// The private texts of an event, those left out that are empty.
pub fn texts(event: &mut Event) -> Vec<Private<'_>> {
    let words = |text| (Kind::Words, text);
    let found: Vec<(Kind, &mut String)> = match event {
        Event::TakenIn { rider } => vec![(Kind::Name, rider)],
        Event::Stated { values, .. } | Event::Recorded { readings: values, .. } => values
            .iter_mut()
            .filter(|(code, _)| CODES.contains(&code.as_str()))
            .filter_map(|(_, value)| match value {
                Value::Text(text) => Some((Kind::Contact, text)),
                _ => None,
            })
            .collect(),
        // The first version of the check told the name; what it said is remembered by a hash, too.
        Event::GateTried { findings, .. } => findings
            .iter_mut()
            .filter(|kept| kept.check == SIGNATURE)
            .filter(|kept| {
                [SIGNED_BY, SEAL]
                    .iter()
                    .any(|begun| kept.summary.starts_with(begun))
            })
            .flat_map(|kept| [&mut kept.summary, &mut kept.fingerprint])
            .map(|text| (Kind::Contact, text))
            .collect(),
        Event::Noted { text, private: true } => vec![(Kind::PrivateNote, text)],
        Event::Noted { text, .. } => vec![words(text)],
        Event::Told { words: text } => vec![words(text)],
        Event::Chased { said, .. } => vec![words(said)],
        Event::Promised { why, .. } | Event::Held { why, .. } | Event::Closed { why, .. } => vec![words(why)],
        // A block that opened by itself speaks of the bicycle.
        Event::Blocked {
            about, check: None, ..
        } => vec![words(about)],
        Event::Photographed(photo) => vec![words(&mut photo.caption), words(&mut photo.file)],
        Event::RideLogged(logged) => vec![words(&mut logged.file)],
        Event::Account(AccountEvent::Agreed { how, .. } | AccountEvent::Paid { how, .. }) => vec![words(how)],
        Event::After(AfterEvent::Visited(visit)) => {
            vec![words(&mut visit.symptom), words(&mut visit.found)]
        }
        Event::After(
            AfterEvent::Claimed { about: text, .. } | AfterEvent::ClaimSettled { how: text, .. },
        ) => {
            vec![words(text)]
        }
        _ => Vec::new(),
    };
    let shown = found.into_iter().filter(|(_, text)| !text.is_empty());
    shown.map(|(kind, text)| Private { kind, text }).collect()
}

/// Entries as they read after a removal.
pub fn redact(entries: &mut [Entry], removal: &Removal) {
    for entry in entries {
        let seq = entry.seq;
        for private in texts(&mut entry.event) {
            if removal.takes(seq, private.kind) {
                *private.text = private.kind.removed(removal.on);
            }
        }
    }
}

/// A rider's name as it is compared: case and the number of blanks do not matter, because nobody sees them.
pub fn name_key(name: &str) -> String {
    let words: Vec<&str> = name.split_whitespace().collect();
    words.join(" ").to_lowercase()
}

/// Whether words hold a name or a part of it, whatever the case and the blanks. Parts shorter than three
/// letters, such as initials, are found only as the whole.
pub fn holds(words: &str, name: &str) -> bool {
    let (words, name) = (name_key(words), name_key(name));
    let part =
        |part: &str| part.chars().filter(|c| c.is_alphanumeric()).count() >= 3 && has_word(&words, part);
    !name.is_empty() && (has_word(&words, &name) || name.split_whitespace().any(part))
}

/// Whether a word stands in a text, not inside another word.
fn has_word(text: &str, word: &str) -> bool {
    let inside = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
    text.match_indices(word).any(|(at, _)| {
        !inside(text[..at].chars().next_back()) && !inside(text[at + word.len()..].chars().next())
    })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::fact::Provenance;
    use crate::finding::{Kept, Verdict};
    use crate::stage::Stage;

    fn stated(code: &str, value: Value) -> Event {
        Event::Stated {
            values: BTreeMap::from([(code.into(), value)]),
            provenance: Provenance::Stated,
        }
    }

    fn found(mut event: Event) -> Vec<(Kind, String)> {
        let texts = texts(&mut event);
        texts
            .into_iter()
            .map(|private| (private.kind, private.text.clone()))
            .collect()
    }

    #[test]
    fn who_somebody_is_and_free_words_are_told_apart_from_facts_about_the_bicycle() {
        let taken_in = Event::TakenIn {
            rider: "Ines H.".into(),
        };
        assert_eq!(found(taken_in), [(Kind::Name, "Ines H.".into())]);
        let contact = stated("contact", Value::Text("01234".into()));
        assert_eq!(found(contact), [(Kind::Contact, "01234".into())]);
        assert_eq!(found(stated("frame-number", Value::Text("F1".into()))), []);
        let note = |private| Event::Noted {
            text: "rang".into(),
            private,
        };
        assert_eq!(found(note(true)), [(Kind::PrivateNote, "rang".into())]);
        assert_eq!(found(note(false)), [(Kind::Words, "rang".into())]);
        // What version 1 of the check on the signature kept.
        let signed = |summary: &str| Event::GateTried {
            gate: Stage::Handover,
            findings: vec![Kept {
                check: "handover.signature".into(),
                version: 1,
                verdict: Verdict::Pass,
                summary: summary.into(),
                uses: Vec::new(),
                fingerprint: "00ff".into(),
                conceded: false,
            }],
            passed: true,
        };
        assert_eq!(
            found(signed("signed for by Ines H.")),
            [
                (Kind::Contact, "signed for by Ines H.".into()),
                (Kind::Contact, "00ff".into())
            ]
        );
        assert_eq!(found(signed("signed for")), []);
        // Kept apart, they are the same two.
        assert_eq!(found(signed("sealed:00ff")).len(), 2);
        // Nothing was said: there is nothing to seal.
        let silent = Event::Told { words: String::new() };
        assert_eq!(found(silent), []);
    }

    #[test]
    fn a_name_is_found_in_words_but_not_inside_other_words() {
        for (words, name, there) in [
            ("Ines rang", "Ines H.", true),
            ("told INES H. so", "Ines H.", true),
            ("rang H.", "Ines H.", false),
            ("seven lines of code", "Ines H.", false),
            ("Jo came", "Jo", true),
            ("joint greased", "Jo", false),
            ("über Ümit gefragt", "ümit", true),
            ("Jo\u{a0} Li  came", "jo li", true),
            ("anything", "", false),
        ] {
            assert_eq!(holds(words, name), there, "{words} / {name}");
        }
    }
}
