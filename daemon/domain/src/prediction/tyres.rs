//! The tyres of a case: their marks, and how far the wheels roll.

use lockring_calc::dropout::Wheel;
use lockring_calc::quantity::Length;
use lockring_calc::wheel::{self, TyreMark};

use super::driven_hub;

use crate::case::{Case, Known};
use crate::code::bead_seats;
use crate::fact::Provenance;
use crate::finding::{Halt, Missing};
use crate::part::Slot;

/// Code of the bicycle's own tyre on the wheel of a slot: the front wheel's own where one is stated.
pub fn tyre_code(case: &Case<'_>, slot: Slot) -> &'static str {
    if slot == Slot::TyreFront && case.knows("tyre-size-front") {
        "tyre-size-front"
    } else {
        "tyre-size"
    }
}

/// Size mark of the tyre fitted in a slot, or of the bicycle's own tyre on that wheel.
///
/// # Errors
/// [`Halt::Open`] when neither is known.
pub fn tyre_mark<'a>(case: &Case<'a>, slot: Slot) -> Result<&'a str, Halt> {
    let fitted = case
        .optional_part(slot)
        .and_then(|tyre| tyre.optional_word("size"));
    match fitted {
        Some(mark) => Ok(mark),
        None => case.word(tyre_code(case, slot)),
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
        let code = tyre_code(case, slot);
        Halt::Open(vec![Missing {
            what: format!("a tyre size that names the width, not `{mark}`"),
            how: format!("lockring donor {} {code}=42-622", case.job().number),
        }])
    })
}

/// Circumference of the wheel that a hub motor sits in, of the rear wheel under a motor at the crank: rolled
/// out, or from its tyre's mark. It is the wheel whose turns are the road speed, so its roll-out is what is set in
/// the display.
///
/// # Errors
/// [`Halt::Open`] when neither is known, or the mark fits several sizes.
pub fn circumference(case: &Case<'_>) -> Result<Known, Halt> {
    match case.optional_number("circumference") {
        Some(rolled) => Ok(rolled),
        None if motor_is_in_front(case) => by_mark(case, Slot::TyreFront),
        None => by_mark(case, Slot::TyreRear),
    }
}

/// Circumference of the wheel that the chain drives. A roll-out of the motor's wheel in front is this one's only where
/// both tyres are of one size.
///
/// # Errors
/// [`Halt::Open`] when it is not known, or the mark fits several sizes.
pub fn geared_circumference(case: &Case<'_>) -> Result<Known, Halt> {
    match case.optional_number("circumference") {
        Some(rolled) if !(motor_is_in_front(case) && wheels_differ(case)) => Ok(rolled),
        _ => by_mark(case, Slot::TyreRear),
    }
}

fn motor_is_in_front(case: &Case<'_>) -> bool {
    matches!(driven_hub(case), Ok(Some(Wheel::Front)))
}

/// Whether the tyres are marked for wheels that roll differently far; what is not marked is taken as equal.
pub fn wheels_differ(case: &Case<'_>) -> bool {
    let read = |slot| -> Option<TyreMark> { wheel::parse_tyre(tyre_mark(case, slot).ok()?).ok() };
    let (front, rear) = (read(Slot::TyreFront), read(Slot::TyreRear));
    front.zip(rear).is_some_and(|(front, rear)| front != rear)
}

/// Circumference by the mark of the tyre on one wheel.
fn by_mark(case: &Case<'_>, slot: Slot) -> Result<Known, Halt> {
    let mark = tyre_mark(case, slot)?;
    let unclear = |why: String| {
        let code = tyre_code(case, slot);
        Halt::Open(vec![Missing {
            what: format!("a tyre size that means one wheel: {why}"),
            how: format!("lockring donor {} {code}=47-622", case.job().number),
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
