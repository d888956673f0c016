//! What may carry the mass: frame, tyres, wheels, carriers; the least margin rules.

use super::tables::UNMARKED_FRAME_KG;
use super::{Axles, ROUNDING};
use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::Mass;

/// Share of a limit below which the margin left is remarked on (workshop judgement).
pub const NEARLY: f64 = 0.05;

/// What carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Bearer {
    /// Frame and fork, by the maker's greatest total: the gross mass.
    Frame,
    /// Front tyre: the front axle's load.
    FrontTyre,
    /// Rear tyre: the rear axle's load.
    RearTyre,
    /// Front wheel: the front axle's load.
    FrontWheel,
    /// Rear wheel: the rear axle's load.
    RearWheel,
    /// Carrier: what is on it.
    Carrier,
}

/// A stored or marked load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rating {
    /// Most it may carry, 1 to 1 000 kg.
    pub most: Mass,
    /// How it is known; a mark read off the part is [`Basis::Read`].
    pub basis: Basis,
}

/// The limits that are known; `None` is not unlimited but unknown, and the frame falls back to
/// [`UNMARKED_FRAME_KG`].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LimitsKnown {
    /// Greatest total of the frame, as marked.
    pub frame: Option<Rating>,
    /// Front tyre.
    pub front_tyre: Option<Rating>,
    /// Rear tyre.
    pub rear_tyre: Option<Rating>,
    /// Front wheel.
    pub front_wheel: Option<Rating>,
    /// Rear wheel.
    pub rear_wheel: Option<Rating>,
    /// Carrier.
    pub carrier: Option<Rating>,
}

/// How a load stands to its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Reach {
    /// At least [`NEARLY`] of the limit is left.
    Within,
    /// Within the limit, less than [`NEARLY`] of it left.
    Nearly,
    /// Over a limit that memory or judgement gives: it can advise.
    OverUnproven,
    /// Over a limit that was read.
    Over,
}

/// One limit, judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassLimit {
    /// What carries.
    pub bearer: Bearer,
    /// What it carries.
    pub load: Mass,
    /// What it may.
    pub rating: Rating,
    /// What is left; negative over the limit.
    pub margin: Mass,
    /// Margin as a share of the limit.
    pub share_left: f64,
    /// How it stands.
    pub reach: Reach,
}

/// Judges every known limit, frame first: the gross mass against the frame, each axle's load
/// against its tyre and wheel, what is on the carrier (0 to 250 kg) against the carrier.
///
/// # Errors
/// [`FitError::OutOfRange`] for a rating outside 1 to 1 000 kg or a load outside 0 to
/// 1 000 kg.
pub fn mass_limits(axles: &Axles, on_carrier: Mass, known: &LimitsKnown) -> Result<Vec<MassLimit>, FitError> {
    in_range("mass on the carrier", on_carrier.as_kilograms(), 0.0, 250.0, "kg")?;
    let unmarked = Rating {
        most: Mass::kilograms(UNMARKED_FRAME_KG),
        basis: Basis::Judgement,
    };
    [
        (
            Bearer::Frame,
            axles.total(),
            Some(known.frame.unwrap_or(unmarked)),
        ),
        (Bearer::FrontTyre, axles.front, known.front_tyre),
        (Bearer::RearTyre, axles.rear, known.rear_tyre),
        (Bearer::FrontWheel, axles.front, known.front_wheel),
        (Bearer::RearWheel, axles.rear, known.rear_wheel),
        (Bearer::Carrier, on_carrier, known.carrier),
    ]
    .into_iter()
    .filter_map(|(bearer, load, rating)| rating.map(|rating| judge(bearer, load, rating)))
    .collect()
}

fn judge(bearer: Bearer, load: Mass, rating: Rating) -> Result<MassLimit, FitError> {
    in_range("load", load.as_kilograms(), 0.0, 1000.0, "kg")?;
    in_range("load rating", rating.most.as_kilograms(), 1.0, 1000.0, "kg")?;
    let margin = rating.most - load;
    let share_left = margin / rating.most;
    let reach = if share_left >= NEARLY - ROUNDING {
        Reach::Within
    } else if share_left >= -ROUNDING {
        Reach::Nearly
    } else if rating.basis.may_stop() {
        Reach::Over
    } else {
        Reach::OverUnproven
    };
    Ok(MassLimit {
        bearer,
        load,
        rating,
        margin,
        share_left,
        reach,
    })
}

/// The limit with the least share left; of two as near, the earlier. `None` of none.
pub fn tightest(limits: &[MassLimit]) -> Option<&MassLimit> {
    limits.iter().min_by(|a, b| a.share_left.total_cmp(&b.share_left))
}
