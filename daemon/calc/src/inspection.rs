//! Inspection of the donor bicycle: what is worn, by which limit, and what that costs the job.

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::Length;

mod tables;
mod wheels;
pub use tables::{Criterion, WEAR_ITEMS, WearItem, wear_item};
pub use wheels::{
    BicycleKind, RIM_WALL_LEAST_MM, RIM_WALL_WATCH_MM, RUN_OUT_MOST_MM, RimWall, WheelAge, rim_wall, run_out,
    wheel_clearance,
};

/// Rounding of binary fractions, in the unit compared.
const ROUNDING: f64 = 1e-9;

/// What a finding costs the job, least first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cost {
    /// Nothing.
    None,
    /// A word to the rider and a second look later.
    Caution,
    /// A line in the quote: the job goes on with it.
    RepairLine,
    /// The bicycle is not converted as it stands.
    Refusal,
}

/// What a part needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Need {
    /// Nothing.
    Nothing,
    /// To be watched.
    Watch,
    /// Adjusting, truing, centring.
    Adjust,
    /// Replacing.
    Replace,
    /// Replacing, with the parts it wore in with.
    ReplaceWithMates,
    /// No cure at the bench.
    Reject,
}

impl Need {
    /// What it costs the job.
    pub const fn cost(self) -> Cost {
        match self {
            Self::Nothing => Cost::None,
            Self::Watch => Cost::Caution,
            Self::Adjust | Self::Replace | Self::ReplaceWithMates => Cost::RepairLine,
            Self::Reject => Cost::Refusal,
        }
    }
}

/// A part, judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worn {
    /// What it needs.
    pub need: Need,
    /// The limit that decided, in the unit of the item; `None` when the eye did.
    pub limit: Option<f64>,
    /// Distance to that limit: positive inside, negative outside.
    pub margin: Option<f64>,
    /// How the limit is known.
    pub basis: Basis,
}

impl Worn {
    const fn seen(need: Need, basis: Basis) -> Self {
        Self {
            need,
            limit: None,
            margin: None,
            basis,
        }
    }

    const fn measured(need: Need, limit: f64, margin: f64, basis: Basis) -> Self {
        Self {
            need,
            limit: Some(limit),
            margin: Some(margin),
            basis,
        }
    }

    /// What it costs the job; what memory or judgement alone rejects is a caution.
    pub const fn cost(&self) -> Cost {
        match self.need.cost() {
            Cost::Refusal if !self.basis.may_stop() => Cost::Caution,
            cost => cost,
        }
    }
}

/// Which limit a chain is held to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ChainRule {
    /// It will pull a motor: 0.5 % whatever the speeds (workshop judgement).
    Motor,
    /// The twelve-inch rule's 1/16 inch, 0.52 % (common practice, read).
    Ruler,
    /// By speeds: 0.5 % for 11 and 12, 0.75 % for 5 to 10 (from memory).
    Speeds(u8),
    /// One sprocket or a hub gear: 1.0 % (from memory).
    Single,
}

/// Stretch of a chain over any number of pitches (2 to 200) of half an inch.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range or for a stretch outside −2 to 4 %.
pub fn stretch(measured: Length, pitches: u32) -> Result<f64, FitError> {
    let pitches = in_range("pitches", f64::from(pitches), 2.0, 200.0, "pitches")?;
    let share = measured / (Length::inches(0.5) * pitches) - 1.0;
    in_range("chain stretch", share * 100.0, -2.0, 4.0, "%")?;
    Ok(share)
}

/// Stretch from which a chain is replaced, as a fraction, and how it is known; speeds 5 to 12.
///
/// # Errors
/// [`FitError::OutOfRange`] for another number of speeds.
pub fn chain_limit(rule: ChainRule) -> Result<(f64, Basis), FitError> {
    Ok(match rule {
        ChainRule::Motor => (0.005, Basis::Judgement),
        ChainRule::Ruler => (RULER_CHAIN, Basis::Read),
        ChainRule::Single => (0.010, Basis::Memory),
        ChainRule::Speeds(speeds) => {
            in_range("speeds", f64::from(speeds), 5.0, 12.0, "speeds")?;
            let narrow = speeds >= 11;
            (if narrow { 0.005 } else { 0.0075 }, Basis::Memory)
        }
    })
}

/// Stretch of 1/16 inch in twelve inches.
pub const RULER_CHAIN: f64 = 1.0 / 192.0;
/// Stretch of 1/8 inch in twelve inches: the sprockets and rings go with the chain.
pub const RULER_MATES: f64 = 1.0 / 96.0;
/// Stretch from which the cassette goes with a chain that will pull a motor (common practice of gauges that
/// read 0.75 to 1.0 %, the shop's choice between them).
pub const MOTOR_MATES: f64 = 0.0075;

/// Judges a chain's stretch (a fraction, −0.02 to 0.04): replaced from the rule's limit on, with
/// sprockets and rings from [`RULER_MATES`] on, for a motor from [`MOTOR_MATES`] on. Limit and margin in
/// percent.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range or as in [`chain_limit`].
pub fn chain(stretch: f64, rule: ChainRule) -> Result<Worn, FitError> {
    let percent = in_range("chain stretch", stretch * 100.0, -2.0, 4.0, "%")?;
    let (limit, basis) = chain_limit(rule)?;
    let worn = |need, limit: f64, basis| Worn::measured(need, limit * 100.0, limit * 100.0 - percent, basis);
    Ok(if stretch >= RULER_MATES - ROUNDING {
        worn(Need::ReplaceWithMates, RULER_MATES, Basis::Read)
    } else if rule == ChainRule::Motor && stretch >= MOTOR_MATES - ROUNDING {
        worn(Need::ReplaceWithMates, MOTOR_MATES, Basis::Judgement)
    } else if stretch >= limit - ROUNDING {
        worn(Need::Replace, limit, basis)
    } else {
        worn(Need::Nothing, limit, basis)
    })
}

/// Least thicknesses usual on rotors without a mark, thinnest and thickest, mm (makers' pages,
/// read; 1.52 between them).
pub const ROTOR_LEAST_MM: [f64; 2] = [1.5, 1.55];
/// Most wear of a rotor when its new thickness is known, mm (makers' pages, read).
pub const ROTOR_WEAR_MM: f64 = 0.3;

/// Judges a rotor at its thinnest (0.3 to 5 mm). Its own mark rules. Without a mark: replaced
/// under the thinnest usual minimum or once worn by more than [`ROTOR_WEAR_MM`], watched under
/// the thickest. Mark and new thickness 1 to 5 mm.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn rotor(thickness: Length, mark: Option<Length>, new: Option<Length>) -> Result<Worn, FitError> {
    let mm = in_range("rotor thickness", thickness.as_millimetres(), 0.3, 5.0, "mm")?;
    if let Some(mark) = mark {
        let least = in_range("least thickness marked", mark.as_millimetres(), 1.0, 5.0, "mm")?;
        let need = if mm < least - ROUNDING {
            Need::Replace
        } else {
            Need::Nothing
        };
        return Ok(Worn::measured(need, least, mm - least, Basis::Read));
    }
    let [thin, thick] = ROTOR_LEAST_MM;
    let worn_out = match new {
        Some(new) => in_range("rotor thickness new", new.as_millimetres(), 1.0, 5.0, "mm")? - ROTOR_WEAR_MM,
        None => thin,
    };
    // The stricter of the two stops first.
    let least = thin.max(worn_out);
    Ok(if mm < least - ROUNDING {
        Worn::measured(Need::Replace, least, mm - least, Basis::Read)
    } else if mm < thick - ROUNDING {
        Worn::measured(Need::Watch, thick, mm - thick, Basis::Read)
    } else {
        Worn::measured(
            Need::Nothing,
            least.max(thick),
            mm - least.max(thick),
            Basis::Read,
        )
    })
}

/// Friction material of a disc pad that is no longer enough, mm (common practice, read).
pub const DISC_PAD_MM: f64 = 0.5;

/// Judges a disc pad's friction material (0 to 8 mm): replaced at [`DISC_PAD_MM`] or under a
/// third of the new thickness (1 to 8 mm), where that is known.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn disc_pad(left: Length, new: Option<Length>) -> Result<Worn, FitError> {
    let mm = in_range("pad left", left.as_millimetres(), 0.0, 8.0, "mm")?;
    let third = match new {
        Some(new) => in_range("pad new", new.as_millimetres(), 1.0, 8.0, "mm")? / 3.0,
        None => 0.0,
    };
    let gone = mm <= DISC_PAD_MM + ROUNDING || mm < third - ROUNDING;
    let limit = DISC_PAD_MM.max(third);
    let need = if gone { Need::Replace } else { Need::Nothing };
    Ok(Worn::measured(need, limit, mm - limit, Basis::Read))
}

/// Rubber of a rim pad that is to stand above its holder, mm (from memory).
pub const RIM_PAD_MM: f64 = 1.0;

/// Judges a rim pad by what stands above its holder (0 to 20 mm) and its wear line.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn rim_pad(above_holder: Length, line_reached: bool) -> Result<Worn, FitError> {
    let mm = in_range(
        "pad above its holder",
        above_holder.as_millimetres(),
        0.0,
        20.0,
        "mm",
    )?;
    if line_reached {
        return Ok(Worn::seen(Need::Replace, Basis::Memory));
    }
    let need = if mm < RIM_PAD_MM - ROUNDING {
        Need::Replace
    } else {
        Need::Nothing
    };
    Ok(Worn::measured(need, RIM_PAD_MM, mm - RIM_PAD_MM, Basis::Memory))
}

#[cfg(test)]
mod tests;
