//! Bottle bosses and the holes or slots of a pack's rail.

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::Length;

/// Distance between the two bosses of a bottle cage, mm (from memory).
pub const BOSS_SPACING_MM: f64 = 64.0;
/// How [`BOSS_SPACING_MM`] is known.
pub const BOSS_BASIS: Basis = Basis::Memory;

/// How many spacings of [`BOSS_SPACING_MM`] lie between two bosses (distance 10 to 800 mm), to
/// within a play either way; `None` when it is no multiple.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn boss_multiple(distance: Length, play: Length) -> Result<Option<u32>, FitError> {
    let mm = in_range(
        "distance between bosses",
        distance.as_millimetres(),
        10.0,
        800.0,
        "mm",
    )?;
    let times = (mm / BOSS_SPACING_MM).round();
    let near = (mm - times * BOSS_SPACING_MM).abs() <= play.as_millimetres() + 1e-9;
    // At most 13 in this range.
    Ok((near && times >= 1.0).then_some(times as u32))
}

/// A hole or slot of a rail: where the middle of a bolt may sit, from the pack's lower end. A
/// round hole has both ends alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slot {
    /// Nearest the lower end.
    pub from: Length,
    /// Farthest from it.
    pub to: Length,
}

impl Slot {
    /// A slot about its middle, along which a bolt can be moved by `travel` in all.
    pub fn about(middle: Length, travel: Length) -> Self {
        Self {
            from: middle - travel / 2.0,
            to: middle + travel / 2.0,
        }
    }

    /// Least and greatest distance from a bolt in this slot up to one in another.
    pub fn pitches(&self, upper: &Self) -> [Length; 2] {
        [upper.from - self.to, upper.to - self.from]
    }
}

/// Positions of a pack that put two bosses under its rail's holes or slots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BossStart {
    /// Least distance from the shell's centre to the pack's lower end.
    pub nearest: Length,
    /// Greatest.
    pub farthest: Length,
    /// The two bosses used, by their place in the list given.
    pub bosses: [usize; 2],
    /// The slots over them, in the same order; one long slot may take both.
    pub slots: [usize; 2],
}

/// All positions in which two bosses (distances from the shell's centre, −100 to 1 000 mm)
/// meet holes or slots (−100 to 1 000 mm from the pack's lower end, `to` not below `from`).
/// With fewer than two bosses or no slot the answer is empty. Interval arithmetic.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn boss_starts(bosses: &[Length], slots: &[Slot]) -> Result<Vec<BossStart>, FitError> {
    for boss in bosses {
        in_range("boss", boss.as_millimetres(), -100.0, 1000.0, "mm")?;
    }
    for slot in slots {
        let from = in_range("slot's start", slot.from.as_millimetres(), -100.0, 1000.0, "mm")?;
        in_range("slot's end", slot.to.as_millimetres(), from, 1000.0, "mm")?;
    }
    let mut starts = Vec::new();
    for (i, first) in bosses.iter().enumerate() {
        for (j, second) in bosses.iter().enumerate().skip(i + 1) {
            for (a, under) in slots.iter().enumerate() {
                for (b, over) in slots.iter().enumerate() {
                    let nearest = (*first - under.to).max(*second - over.to);
                    let farthest = (*first - under.from).min(*second - over.from);
                    if (farthest - nearest).as_millimetres() >= -1e-6 {
                        starts.push(BossStart {
                            nearest,
                            farthest,
                            bosses: [i, j],
                            slots: [a, b],
                        });
                    }
                }
            }
        }
    }
    Ok(starts)
}
