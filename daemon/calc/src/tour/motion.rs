//! One piece of road: the speed at its end.

use super::push::{Drive, Level, Push};
use crate::road::{Drag, Slope};

/// Agreement of two guesses of the piece's speed, relative, at which the search stops.
const AGREE: f64 = 1e-4;
/// Guesses before the last one is taken; halving alone narrows 50 m/s to a nanometre a second in 36.
const MOST_GUESSES: usize = 60;
/// Levels tried before the last answer is taken; there are three, and each is left one way only.
const MOST_LEVELS: usize = 6;
/// Speed below which a bicycle counts as standing, m/s.
const STANDING: f64 = 1e-6;

/// A piece of road and the one who rides it.
pub(super) struct Piece<'a> {
    pub(super) drive: Drive<'a>,
    pub(super) drag: &'a Drag,
    /// Mass with the wheels' rotation, kg.
    pub(super) mass: f64,
    pub(super) slope: Slope,
    pub(super) headwind: f64,
    /// Length, m.
    pub(super) length: f64,
    /// Speeds at which motor and legs end and the brakes begin, rising.
    pub(super) ends: [f64; 3],
}

/// What happened on a piece.
pub(super) struct Moved {
    /// Speed at the end, m/s.
    pub(super) last: f64,
    /// Speed that all forces were taken at; the length over it is the time.
    pub(super) mean: f64,
    pub(super) level: Level,
    pub(super) push: Push,
    /// Air, rolling, bearing, climbing, N.
    pub(super) resistance: [f64; 4],
    /// Braking force, N.
    pub(super) brake: f64,
}

/// The push of the piece before, to guess the next from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Before {
    pub(super) level: Level,
    pub(super) speed: f64,
    pub(super) force: f64,
    pub(super) slope: f64,
}

impl Piece<'_> {
    /// The motion from a speed `v0`; `None` when the bicycle comes to a stand on the piece.
    #[inline]
    pub(super) fn ride(&self, v0: f64, before: &Before) -> Option<Moved> {
        let mut level = self.level_at(v0);
        // Held at an end of a push: most likely it still is.
        if let Some(held) = self.stays_held(v0) {
            return Some(held);
        }
        for _ in 0..MOST_LEVELS {
            let moved = self.free(v0, level, before);
            let last = moved.as_ref().map_or(0.0, |m| m.last);
            if last > self.end_of(level) {
                match self.above(level) {
                    Some(above) if !self.enough(v0, level, above) => level = above,
                    _ => return Some(self.held(v0, level)),
                }
            } else if let Some(below) = self.below(level).filter(|b| last < self.end_of(*b)) {
                if self.can_hold(v0, below) {
                    return Some(self.held(v0, below));
                }
                level = below;
            } else {
                return moved;
            }
        }
        self.free(v0, level, before)
    }

    /// Net force to expect at the start of the piece, N.
    pub(super) fn expected(&self, v0: f64, before: &Before) -> f64 {
        before.force + before.slope * (v0 - before.speed) - self.resistance(v0).iter().sum::<f64>()
    }

    /// Force left over at a speed with all that pushes, N.
    pub(super) fn surplus(&self, v: f64) -> f64 {
        let level = self.level_at(v);
        self.drive.at(v.max(STANDING), level).force() - self.resistance(v).iter().sum::<f64>()
    }

    pub(super) fn resistance(&self, v: f64) -> [f64; 4] {
        self.drag.forces(v, self.headwind, &self.slope)
    }

    fn end_of(&self, level: Level) -> f64 {
        self.ends[level as usize]
    }

    /// The next level that ends at a higher speed; `None` where only the brakes are left.
    fn above(&self, level: Level) -> Option<Level> {
        let higher = |l: &Level| self.end_of(*l) > self.end_of(level);
        Level::RISING.into_iter().find(|l| *l > level && higher(l))
    }

    /// The level before, or the lowest of those that end with it.
    fn below(&self, level: Level) -> Option<Level> {
        let before = Level::RISING.into_iter().rev().find(|l| *l < level)?;
        Level::RISING
            .into_iter()
            .find(|l| self.end_of(*l) == self.end_of(before))
    }

    fn level_at(&self, v: f64) -> Level {
        if v < self.ends[0] {
            Level::Both
        } else if v < self.ends[1] {
            Level::Legs
        } else {
            Level::Nobody
        }
    }

    /// Free motion on one level: the root of `m·(v1² − v0²)/2 = h·F(v)`, whose two sides cross once
    /// because no push rises with speed and no resistance falls.
    #[inline]
    fn free(&self, v0: f64, level: Level, before: &Before) -> Option<Moved> {
        let (m, h) = (self.mass, self.length);
        let (force, slope) = self.first_guess(v0, level, before);
        let theta = self.theta(v0, force, slope);
        let mut low = v0 * (1.0 - theta);
        let mut high = f64::INFINITY;
        // Gain of speed if the force were a straight line; the quadratic's root without cancellation.
        let gain = |force: f64, slope: f64| {
            let linear = m * v0 - h * theta * slope;
            let square = linear * linear + 2.0 * m * h * force;
            2.0 * h * force / (linear + square.max(0.0).sqrt())
        };
        let mut mean = v0 + theta * gain(force, slope);
        for _ in 0..MOST_GUESSES {
            if !(mean > low && mean < high) {
                mean = if high.is_finite() {
                    0.5 * (low + high)
                } else {
                    2.0 * low + 0.1
                };
            }
            let push = self.drive.at(mean, level);
            let resistance = self.resistance(mean);
            let net = push.force() - resistance.iter().sum::<f64>();
            let rise = (mean - v0) / theta;
            if 0.5 * m * rise * (2.0 * v0 + rise) < h * net {
                low = mean;
            } else {
                high = mean;
            }
            let slope = push.slope - self.drag.rise(mean, self.headwind);
            let next = v0 + theta * gain(net - slope * (mean - v0), slope);
            let square = v0 * v0 + 2.0 * h * net / m;
            if (next - mean).abs() <= AGREE * mean && square > 0.0 {
                return Some(Moved {
                    last: square.sqrt(),
                    mean,
                    level,
                    push,
                    resistance,
                    brake: 0.0,
                });
            }
            if high - low <= STANDING {
                return None;
            }
            mean = next;
        }
        None
    }

    fn first_guess(&self, v0: f64, level: Level, before: &Before) -> (f64, f64) {
        let rise = self.drag.rise(v0, self.headwind);
        if before.level == level {
            return (self.expected(v0, before), before.slope - rise);
        }
        let push = self.drive.at(v0.max(0.1), level);
        let net = push.force() - self.resistance(v0).iter().sum::<f64>();
        (net, push.slope - rise)
    }

    /// `max(1/2, 1 − 1/z)` with `z = h·|dF/dv|/(m·v)`: the largest share of the start that keeps the
    /// speed from swinging.
    fn theta(&self, v0: f64, force: f64, slope: f64) -> f64 {
        let typical = v0
            .max((self.length * force.abs() / self.mass).sqrt())
            .max(STANDING);
        (1.0 - self.mass * typical / (self.length * slope.abs())).max(0.5)
    }

    /// Force that leads from `v0` exactly to the end of a level, with the speed in between.
    fn need(&self, v0: f64, level: Level) -> (f64, f64, [f64; 4]) {
        let end = self.end_of(level);
        let mean = 0.5 * (v0 + end);
        let resistance = self.resistance(mean);
        let kinetic = 0.5 * self.mass * (end * end - v0 * v0) / self.length;
        (kinetic + resistance.iter().sum::<f64>(), mean, resistance)
    }

    /// Whether the level above would fall short of the end that this level passes.
    fn enough(&self, v0: f64, level: Level, above: Level) -> bool {
        let (need, mean, _) = self.need(v0, level);
        need >= self.drive.at(mean, above).force()
    }

    fn can_hold(&self, v0: f64, level: Level) -> bool {
        let (need, mean, _) = self.need(v0, level);
        need <= self.drive.at(mean, level).force()
    }

    #[inline]
    fn stays_held(&self, v0: f64) -> Option<Moved> {
        let level = Level::RISING
            .into_iter()
            .find(|level| v0 > 0.0 && v0 == self.end_of(*level))?;
        let (need, mean, resistance) = self.need(v0, level);
        let push = self.drive.at(mean, level);
        let fits = need <= push.force()
            && self
                .above(level)
                .is_none_or(|a| need >= self.drive.at(mean, a).force());
        fits.then(|| self.holding(level, need, mean, resistance, &push))
    }

    fn held(&self, v0: f64, level: Level) -> Moved {
        let (need, mean, resistance) = self.need(v0, level);
        let push = self.drive.at(mean, level);
        self.holding(level, need, mean, resistance, &push)
    }

    /// The piece that ends at the end of a level: the push gives just the force that is needed, or
    /// the brakes take what is too much.
    #[inline]
    fn holding(&self, level: Level, need: f64, mean: f64, resistance: [f64; 4], push: &Push) -> Moved {
        let together = self.ends[0] == self.ends[1];
        let brake = (-need).max(0.0);
        let push = self.drive.cut(push, mean, need.max(0.0), together);
        // A push just too weak for the end comes as far as its work goes.
        let lacking = need + brake - push.force();
        let end = self.end_of(level);
        let last = if lacking > 1e-9 * need.abs() {
            (end * end - 2.0 * self.length * lacking / self.mass)
                .max(0.0)
                .sqrt()
        } else {
            end
        };
        Moved {
            last,
            mean,
            level,
            push,
            resistance,
            brake,
        }
    }
}
