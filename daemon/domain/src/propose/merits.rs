//! What builds are compared by.

use crate::case::Case;
use crate::checks::range_energy::Plan;
use crate::finding::Halt;
use crate::prediction;
use crate::propose::candidates::{UNDATED, UNPRICED};

/// What a build is compared by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Merits {
    /// Price of the parts chosen and, where it is shown, of those that stay, minor units; `None` when one of those chosen
    /// has no price.
    pub price: Option<i64>,
    /// Mass of the finished bicycle, kg.
    pub mass: f64,
    /// Planned range, m; of no meaning where the rider alone holds the pace.
    pub range: f64,
    /// Whether the rider alone holds the pace, so that there is no range to plan.
    pub rider_alone: bool,
    /// How much more than the brief asks, m.
    pub range_margin: f64,
    /// Speed on the steepest grade that the hill is computed at, m/s.
    pub hill_speed: f64,
    /// How much more than the brief asks, m/s.
    pub hill_margin: f64,
    /// Days until the last part is there; `None` when the catalogue does not say.
    pub days: Option<i64>,
}

/// Merits as whole steps, less is better. Differences finer than the figures are shown in
/// (0.1 kg, 1 km, 0.1 km/h) are none.
pub(super) type Key = [i64; 5];

/// Place of the hill in a key.
pub(super) const HILL: usize = 3;

/// A tenth of a kilometre per hour, m/s.
const HILL_STEP: f64 = 0.1 / 3.6;
/// Part of a step by which a speed may miss the next one: the assist limit holds a bicycle a hair
/// below it, which is that limit.
const HAIR: f64 = 1e-6;
/// A kilometre, m.
const RANGE_STEP: f64 = 1000.0;

/// What a build weighs and how far it goes, apart from its gears.
#[derive(Debug, Clone, Copy)]
pub(super) struct Going {
    pub(super) mass: f64,
    pub(super) range: f64,
    pub(super) rider_alone: bool,
    pub(super) range_margin: f64,
}

impl Going {
    pub(super) fn of(case: &Case<'_>) -> Result<Self, Halt> {
        let plan = Plan::of(case)?;
        Ok(Self {
            mass: prediction::bicycle_mass(case)?.value,
            range: plan.planned,
            rider_alone: plan.rider_alone,
            range_margin: plan.planned - plan.wished,
        })
    }

    /// The merits with a price and days as the shelf counts them, and a hill.
    pub(super) fn merits(self, (price, days): (i64, i64), hill_speed: f64, wished: f64) -> Merits {
        Merits {
            price: (price < UNPRICED).then_some(price),
            mass: self.mass,
            range: self.range,
            rider_alone: self.rider_alone,
            range_margin: self.range_margin,
            hill_speed,
            hill_margin: hill_speed - wished,
            days: (days < UNDATED).then_some(days),
        }
    }
}

/// Whole steps of merits; price and days as the shelf counts them.
pub(super) fn key(merits: &Merits, (price, days): (i64, i64)) -> Key {
    [
        price,
        (merits.mass * 10.0).round() as i64,
        -((merits.range_margin / RANGE_STEP).floor() as i64),
        -((merits.hill_margin / HILL_STEP + HAIR).floor() as i64),
        days,
    ]
}

/// The speed, m/s, from which a build is ahead of one with this hill in its key.
pub(super) fn faster_than(hill: i64, wished: f64) -> f64 {
    wished + ((1 - hill) as f64 - HAIR) * HILL_STEP
}

/// Whether one is nowhere behind the other: then it beats it, or is as good.
pub(super) fn beats(one: &Key, other: &Key) -> bool {
    one.iter().zip(other).all(|(one, other)| one <= other)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_build_is_beaten_only_by_one_that_is_nowhere_behind() {
        let all = [100, 200, -5, -7, 3];
        assert!(beats(&all, &all));
        for index in 0..5 {
            let mut behind = all;
            behind[index] += 1;
            assert!(beats(&all, &behind) && !beats(&behind, &all));
            // Ahead elsewhere does not make up for it.
            behind[(index + 1) % 5] -= 10;
            assert!(!beats(&all, &behind) && !beats(&behind, &all));
        }
    }

    #[test]
    fn more_range_and_hill_are_better_and_differences_that_are_not_shown_are_none() {
        let going = Going {
            mass: 20.04,
            range: 42_900.0,
            rider_alone: false,
            range_margin: 12_900.0,
        };
        let of = |going: Going, hill| key(&going.merits((100, 2), hill, 2.5), (100, 2));
        // (3.0 - 2.5) m/s = 1.8 km/h.
        assert_eq!(of(going, 3.001), [100, 200, -12, -18, 2]);
        assert_eq!(of(going, 3.02), of(going, 3.001));
        assert!(of(going, 3.04) < of(going, 3.001));
        assert!(of(going, 2.49)[3] > 0, "short of the brief");
        let step = faster_than(-18, 2.5);
        assert_eq!(of(going, step + 1e-9)[HILL], -19);
        assert_eq!(of(going, step - 1e-9)[HILL], -18);
        let further = Going {
            range_margin: 13_000.0,
            ..going
        };
        assert!(beats(&of(further, 3.001), &of(going, 3.001)));
        assert!(!beats(&of(going, 3.001), &of(further, 3.001)));
        let unknown = going.merits((UNPRICED + 5, UNDATED), 3.0, 2.5);
        assert_eq!((unknown.price, unknown.days), (None, None));
        assert_eq!(going.merits((7, 0), 3.0, 2.5).price, Some(7));
    }
}
