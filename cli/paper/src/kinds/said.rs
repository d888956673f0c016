//! Cautions, to whom they speak.

use lockring_proto::v1::{CautionView, CompanionsReply, RangeReply};

use crate::model::{Block, Caution};

/// Whom a document speaks to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum To {
    /// Who works on the bicycle: orders.
    Shop,
    /// Who rides and keeps it: advice.
    Rider,
}

impl To {
    fn is_told(self, caution: &CautionView) -> bool {
        match self {
            Self::Shop => ["shop", "both"].contains(&caution.audience.as_str()),
            Self::Rider => ["rider", "both"].contains(&caution.audience.as_str()),
        }
    }

    fn word(self, severity: &str) -> &'static str {
        match (self, severity) {
            (Self::Shop, "stop") => "Must",
            (Self::Shop, "warn") => "Should",
            (Self::Rider, "stop") => "Important",
            (Self::Rider, "warn") => "Take care",
            _ => "Good to know",
        }
    }
}

/// What presses hardest comes first.
fn rank(severity: &str) -> usize {
    let ranks = ["stop", "warn", "info"];
    ranks
        .iter()
        .position(|word| *word == severity)
        .unwrap_or(ranks.len())
}

/// The cautions of some gates that speak to somebody, those that press hardest first.
pub(super) fn cautions(told: &CompanionsReply, to: To, at: impl Fn(&CautionView) -> bool) -> Vec<Block> {
    let mut sorted: Vec<&CautionView> = told
        .cautions
        .iter()
        .filter(|caution| to.is_told(caution) && at(caution))
        .collect();
    sorted.sort_by_key(|caution| rank(&caution.severity));
    let shown = sorted.into_iter().map(|caution| {
        let memory = if caution.from_memory {
            "; in part from memory"
        } else {
            ""
        };
        let word = to.word(&caution.severity);
        Block::Caution(Caution {
            word: word.to_owned(),
            text: match caution.applies_when.as_str() {
                "" => caution.text.clone(),
                when => format!("{}: {}", sentence(when), caution.text),
            },
            source: format!("{}{memory}", caution.source),
        })
    });
    shown.collect()
}

/// Where a road is too much for the motor's winding, at its first riding or on one charge over and over, and what the
/// figures make of it; `None` where it bears the road, or where its heat is not followed.
pub fn too_hot(reply: &RangeReply) -> Option<String> {
    let trip = reply.trip.as_ref()?;
    let limit = trip
        .winding_limit_c
        .map_or_else(String::new, |limit| format!(" of {limit:.0} C"));
    let later = || {
        reply
            .cases
            .iter()
            .filter_map(|case| case.over_limit_km)
            .reduce(f64::min)
    };
    let at = trip.over_limit_at_km.or_else(later)?;
    let guessed = if trip.winding_from_sheet {
        ""
    } else {
        " (heat paths or limit guessed: the motor's sheet gives not all of them)"
    };
    Some(format!(
        "its winding comes to its stored limit{limit} after {at:.1} km{guessed}; from there on all figures count with no \
         more current than holds it there, and a drive that does not cut back by itself is damaged"
    ))
}

/// A condition as a sentence begins.
fn sentence(words: &str) -> String {
    let mut signs = words.chars();
    signs
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(signs).collect())
}

/// Under a heading; nothing where nothing is said.
pub(super) fn headed(title: &str, said: Vec<Block>) -> Vec<Block> {
    if said.is_empty() {
        return said;
    }
    let heading = Block::Heading(title.to_owned());
    std::iter::once(heading).chain(said).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn caution(audience: &str, severity: &str, text: &str) -> CautionView {
        CautionView {
            audience: audience.into(),
            severity: severity.into(),
            text: text.into(),
            source: "somewhere".into(),
            ..CautionView::default()
        }
    }

    fn words(blocks: Vec<Block>) -> Vec<String> {
        let said = blocks.into_iter().map(|block| match block {
            Block::Caution(caution) => format!("{}. {}", caution.word, caution.text),
            other => panic!("{other:?}"),
        });
        said.collect()
    }

    #[test]
    fn orders_go_to_the_shop_and_advice_to_the_rider() {
        let told = CompanionsReply {
            cautions: vec![
                caution("rider", "info", "ask first"),
                caution("shop", "stop", "write it down"),
                caution("both", "stop", "leave it"),
            ],
            ..CompanionsReply::default()
        };
        let to = |to| words(cautions(&told, to, |_| true));
        assert_eq!(to(To::Rider), ["Important. leave it", "Good to know. ask first"]);
        assert_eq!(to(To::Shop), ["Must. write it down", "Must. leave it"]);
    }

    /// What it depends on may be a moment or a finding: it stands before what is said, and no "if" with it.
    #[test]
    fn when_it_applies_is_said_first() {
        let told = CompanionsReply {
            cautions: vec![CautionView {
                applies_when: "after the ride".into(),
                ..caution("shop", "info", "Tighten it again.")
            }],
            ..CompanionsReply::default()
        };
        let said = words(cautions(&told, To::Shop, |_| true));
        assert_eq!(said, ["Good to know. After the ride: Tighten it again."]);
    }
}
