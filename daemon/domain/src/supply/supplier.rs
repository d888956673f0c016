//! Suppliers: who delivers, how fast as a rule, whom to call, on which terms.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// Somebody who delivers.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Supplier {
    /// The shop's own short name for it.
    pub name: String,
    /// Usual lead time in working days; `None` when nobody said.
    pub lead_days: Option<u32>,
    /// Whom to call or write to.
    pub contact: String,
    /// Terms of payment, returns and claims, in words.
    pub terms: String,
}

/// Suppliers by the key of their name.
pub type Suppliers = BTreeMap<String, Supplier>;

/// The key under which a name is known: case and outer blanks do not matter.
pub fn key(name: &str) -> String {
    name.trim().to_lowercase()
}

/// A supplier in one line.
pub fn line(supplier: &Supplier) -> String {
    let mut words = vec![supplier.name.clone()];
    words.extend(supplier.lead_days.map(lead_words));
    for text in [&supplier.contact, &supplier.terms] {
        words.extend((!text.is_empty()).then(|| text.clone()));
    }
    words.join(", ")
}

/// A lead time in words.
pub(crate) fn lead_words(days: u32) -> String {
    match days {
        1 => "1 working day as a rule".to_owned(),
        days => format!("{days} working days as a rule"),
    }
}
