//! Units of rules that nobody enters at the bench: kept as written, no conversion.

use crate::unit::{self, Kind, UnitError};

const PLAIN: &[&str] = &["", "A/Ah", "kg m2", "days", "years"];

/// Whether a unit is kept as written.
pub(super) fn is_plain(unit: &str) -> bool {
    PLAIN.contains(&unit)
}

/// A number with or without exactly this unit behind it.
pub(super) fn parse(unit: &str, text: &str) -> Result<f64, UnitError> {
    let text = text.trim();
    let bare = if unit.is_empty() {
        text
    } else {
        text.strip_suffix(unit).unwrap_or(text)
    };
    unit::parse(Kind::Count, "", bare).map_err(|error| {
        if unit.is_empty() {
            error
        } else {
            UnitError(format!("{error}, or in {unit}"))
        }
    })
}
