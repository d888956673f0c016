//! The tyres of a case: their marks, and how far the driven wheel rolls.

use lockring_calc::quantity::Length;
use lockring_calc::wheel;

use crate::case::{Case, Known};
use crate::code::bead_seats;
use crate::fact::Provenance;
use crate::finding::{Halt, Missing};
use crate::part::Slot;

/// Size mark of the tyre fitted in a slot, or of the bicycle's own tyres.
///
/// # Errors
/// [`Halt::Open`] when neither is known.
pub fn tyre_mark<'a>(case: &Case<'a>, slot: Slot) -> Result<&'a str, Halt> {
    let fitted = case
        .optional_part(slot)
        .and_then(|tyre| tyre.optional_word("size"));
    match fitted {
        Some(mark) => Ok(mark),
        None => case.word("tyre-size"),
    }
}

/// Width by the mark of the tyre fitted in a slot, or of the bicycle's own.
///
/// # Errors
/// [`Halt::Open`] when neither is known, or the mark names no width.
pub fn tyre_width(case: &Case<'_>, slot: Slot) -> Result<Length, Halt> {
    let mark = tyre_mark(case, slot)?;
    let width = wheel::parse_tyre(mark).ok().and_then(|tyre| tyre.width);
    width.ok_or_else(|| {
        Halt::Open(vec![Missing {
            what: format!("a tyre size that names the width, not `{mark}`"),
            how: format!("lockring donor {} tyre-size=42-622", case.job().number),
        }])
    })
}

/// Circumference of the driven wheel: rolled out, or from the tyre's mark.
///
/// # Errors
/// [`Halt::Open`] when neither is known, or the mark fits several sizes.
pub fn circumference(case: &Case<'_>) -> Result<Known, Halt> {
    if let Some(rolled) = case.optional_number("circumference") {
        return Ok(rolled);
    }
    let mark = tyre_mark(case, Slot::TyreRear)?;
    let unclear = |why: String| {
        Halt::Open(vec![Missing {
            what: format!("a tyre size that means one wheel: {why}"),
            how: format!("lockring donor {} tyre-size=47-622", case.job().number),
        }])
    };
    let parsed = wheel::parse_tyre(mark).map_err(|error| unclear(error.to_string()))?;
    let tyre = parsed.known().ok_or_else(|| match parsed.bead_seats[..] {
        [_] => unclear(format!("`{mark}` names no width")),
        _ => unclear(format!("`{mark}` fits bead seats of {}", bead_seats(&parsed))),
    })?;
    let length =
        wheel::circumference(tyre.bead_seat, tyre.width).map_err(|error| unclear(error.to_string()))?;
    let tolerance = wheel::circumference_tolerance(tyre.bead_seat).unwrap_or(0.04);
    // The tolerance is the largest deviation seen from tables: a rectangular half-width.
    let u = length.si() * tolerance / 3f64.sqrt();
    Ok(Known {
        value: length.si(),
        u,
        provenance: Provenance::Stated,
    })
}
