//! What arrived for a slot, and what was seen on it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::fact::Value;
use crate::money::Money;
use crate::part::Slot;
use crate::supply::goods_in;

/// What arrived for a slot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Receipt {
    /// Slot.
    pub slot: Slot,
    /// Attributes as read off the part where they differ from, or add to, what was ordered.
    pub found: BTreeMap<String, Value>,
    /// Serial number.
    pub serial: Option<String>,
    /// Lot mark.
    pub lot: Option<String>,
    /// Pack volts at rest, V.
    pub volts: Option<f64>,
    /// Spread between cell groups, V.
    pub group_spread: Option<f64>,
    /// Papers on file, in words.
    pub papers: Option<String>,
    /// Damage seen, in words; "none" when somebody looked and saw none. Read it by [`Receipt::damaged`].
    pub damage: Option<String>,
    /// The item of the shelf it was taken from; `None` straight from the supplier.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shelf: Option<u64>,
    /// Who delivered what was taken from the shelf.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supplier: Option<String>,
    /// What it cost when it was bought, where it was taken from the shelf.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paid: Option<Money>,
}

impl Receipt {
    /// The damage seen on it, in words; `None` when nobody saw any.
    pub fn damaged(&self) -> Option<&str> {
        self.damage.as_deref().filter(|words| !goods_in::is_whole(words))
    }

    /// What was seen of damage, in words; `None` where nobody said that they looked.
    pub fn damage_words(&self) -> Option<String> {
        self.damage.as_ref()?;
        Some(match self.damaged() {
            Some(damage) => format!("DAMAGED: {damage}"),
            None => "no damage seen".to_owned(),
        })
    }

    /// Whether it tells anything beyond that a part came.
    pub fn tells(&self) -> bool {
        !self.found.is_empty()
            || self.volts.is_some()
            || self.group_spread.is_some()
            || [&self.serial, &self.lot, &self.papers, &self.damage]
                .iter()
                .any(|text| text.is_some())
    }

    /// What was seen on it beside its marks, in words; `None` for nothing.
    pub fn seen(&self) -> Option<String> {
        let mut words = Vec::new();
        words.extend(self.volts.map(|volts| format!("{volts:.2} V")));
        words.extend(self.papers.iter().map(|papers| format!("papers {papers}")));
        words.extend(self.damage_words());
        if !self.found.is_empty() {
            let found: Vec<&str> = self.found.keys().map(String::as_str).collect();
            words.push(format!("read off the part: {}", found.join(", ")));
        }
        Some(words.join(", ")).filter(|words| !words.is_empty())
    }

    /// What it says, in one line for histories.
    pub fn line(&self) -> String {
        let mut words = vec![format!("{} received", self.slot.word())];
        words.extend(
            self.shelf
                .iter()
                .map(|item| format!("from the shelf, item {item}")),
        );
        words.extend(self.serial.iter().map(|serial| format!("serial {serial}")));
        words.extend(self.lot.iter().map(|lot| format!("lot {lot}")));
        words.extend(self.seen());
        words.join(", ")
    }

    /// The word under which a check looks at what arrived for a slot.
    pub(crate) fn word(slot: Slot) -> String {
        format!("{}.receipt", slot.word())
    }
}
