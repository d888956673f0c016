//! What rests on each axle: as weighed, or by the rule of thumb.

use lockring_calc::quantity::Mass;
use lockring_calc::wheel;

use super::unusable;
use crate::case::{Case, Known};
use crate::finding::Halt;

/// One axle's part of the gross mass.
#[derive(Debug, Clone, PartialEq)]
pub struct Axle {
    /// `front` or `rear`.
    pub word: &'static str,
    /// Load, kg.
    pub load: Known,
    /// Its share of the gross mass, 0 to 1, without a unit.
    pub share: Known,
}

/// Front and rear axle of a gross mass: shared as the scale found it, else by the rule
/// `tyre.load-factor`.
///
/// # Errors
/// [`Halt::Open`] when the readings or the mass are outside the model.
pub fn axles(case: &Case<'_>, gross: Known) -> Result<[Axle; 2], Halt> {
    let weighed = weighed_share(case)?;
    let share = weighed.unwrap_or_else(|| Known {
        // Half the gross mass times the load factor is the heavier axle's part, the rear one's.
        value: 1.0 - case.rule("tyre.load-factor") / 2.0,
        u: 0.0,
        ..gross
    });
    let (front, rear) = wheel::axle_loads(Mass::kilograms(gross.value), 1.0 - share.value)
        .map_err(|error| unusable(case, "gross mass", &error))?;
    let axle = |word, load: Mass, part: f64| Axle {
        word,
        load: Known {
            value: load.as_kilograms(),
            u: (gross.u * part).hypot(gross.value * share.u),
            ..gross
        },
        share: Known { value: part, ..share },
    };
    Ok([
        axle("front", front, share.value),
        axle("rear", rear, 1.0 - share.value),
    ])
}

/// The front axle's share by the scale; `None` where not both wheels were weighed.
fn weighed_share(case: &Case<'_>) -> Result<Option<Known>, Halt> {
    let (Some(front), Some(rear)) = (
        case.optional_number("scale-front"),
        case.optional_number("scale-rear"),
    ) else {
        return Ok(None);
    };
    let value = wheel::front_share(Mass::kilograms(front.value), Mass::kilograms(rear.value))
        .map_err(|error| unusable(case, "scale", &error))?;
    let sum = front.value + rear.value;
    // From F/(F + R) by both readings (JCGM 100:2008, 5.1.2).
    let u = (rear.value * front.u).hypot(front.value * rear.u) / (sum * sum);
    Ok(Some(Known { value, u, ..front }))
}
