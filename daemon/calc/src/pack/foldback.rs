//! Fold-back: a controller takes less current as the pack's voltage nears its low cut-off.

use super::{PackError, PackState};
use crate::quantity::{Current, Voltage};

/// A controller's battery-current limit over the pack's voltage under load: whole from `start` up,
/// falling in a straight line to nothing at `cutoff` (common practice, no source). With `start` equal
/// to `cutoff` the controller holds the pack at its cut-off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoldBack {
    /// Voltage under load from which the whole limit holds; `cutoff` or more.
    pub start: Voltage,
    /// Voltage under load at which nothing is left; more than 0 V.
    pub cutoff: Voltage,
}

impl FoldBack {
    /// A controller that takes no less than it wants until the pack is at its cut-off, and holds it there.
    pub const fn at_cutoff(cutoff: Voltage) -> Self {
        Self {
            start: cutoff,
            cutoff,
        }
    }

    /// Checks the two voltages. Error: [`PackError::Input`] naming the field.
    pub fn check(&self) -> Result<(), PackError> {
        let (start, cutoff) = (self.start.si(), self.cutoff.si());
        if !(cutoff.is_finite() && cutoff > 0.0) {
            return Err(PackError::Input {
                name: "cutoff",
                value: cutoff,
            });
        }
        if !(start.is_finite() && start >= cutoff) {
            return Err(PackError::Input {
                name: "fold_start",
                value: start,
            });
        }
        Ok(())
    }

    /// Most current the controller draws from a pack, its voltage sagging under that same current.
    ///
    /// Between the two voltages `I = L·(U0 − R·I − Vc)/(Vs − Vc)`, solved for `I`: `L·(U0 − Vc)/(Vs −
    /// Vc + L·R)`, at most the limit `L` and at least 0. With `start` equal to `cutoff` it is the current
    /// that holds the pack at the cut-off. Holds for voltages that pass [`FoldBack::check`].
    pub fn limit(&self, pack: &PackState, whole: Current) -> Current {
        let room = (pack.open_circuit - self.cutoff).si();
        let width = (self.start - self.cutoff).si() + whole.si() * pack.resistance.si();
        if room <= 0.0 {
            Current::ZERO
        } else if room >= width {
            whole
        } else {
            Current::from_si(whole.si() * room / width)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Resistance;
    use crate::solve::table::near;

    fn pack(open: f64, milliohms: f64) -> PackState {
        PackState {
            open_circuit: Voltage::volts(open),
            resistance: Resistance::milliohms(milliohms),
        }
    }

    fn fold() -> FoldBack {
        FoldBack {
            start: Voltage::volts(42.0),
            cutoff: Voltage::volts(39.0),
        }
    }

    #[test]
    fn the_current_agrees_with_the_voltage_it_causes() {
        // The straight line put back into itself: limit over whole equals loaded volts over the window.
        for step in 0..=100 {
            let pack = pack(39.0 + 0.08 * f64::from(step), 130.0);
            let whole = Current::amperes(20.0);
            let found = fold().limit(&pack, whole);
            let share =
                ((pack.loaded_voltage(found) - fold().cutoff) / (fold().start - fold().cutoff)).min(1.0);
            near(found / whole, share, 1e-12);
        }
    }

    #[test]
    fn whole_above_and_nothing_below() {
        let limit = |open| {
            fold()
                .limit(&pack(open, 100.0), Current::amperes(20.0))
                .as_amperes()
        };
        // 42 V under 20 A through 100 mΩ is 44 V at rest (by hand); half the limit at 10 A, 40.5 V, 41.5 V at rest.
        near(limit(44.1), 20.0, 1e-12);
        near(limit(44.0), 20.0, 1e-9);
        assert!(limit(43.9) < 20.0);
        near(limit(41.5), 10.0, 1e-9);
        near(limit(39.0), 0.0, 1e-12);
        near(limit(30.0), 0.0, 1e-12);
    }

    #[test]
    fn without_a_window_the_pack_is_held_at_the_cutoff() {
        let sudden = FoldBack::at_cutoff(Voltage::volts(39.0));
        assert_eq!(sudden.check(), Ok(()));
        // 1 V of room through 100 mΩ is 10 A (by hand).
        let limit = |open, milliohms| {
            sudden
                .limit(&pack(open, milliohms), Current::amperes(20.0))
                .as_amperes()
        };
        near(limit(40.0, 100.0), 10.0, 1e-9);
        near(limit(42.0, 100.0), 20.0, 1e-12);
        // A pack without resistance never sags: all or nothing.
        near(limit(39.1, 0.0), 20.0, 1e-12);
        near(limit(39.0, 0.0), 0.0, 1e-12);
    }

    #[test]
    fn windows_upside_down_are_refused() {
        let upside_down = FoldBack {
            start: Voltage::volts(38.9),
            ..fold()
        };
        assert!(matches!(
            upside_down.check(),
            Err(PackError::Input {
                name: "fold_start",
                ..
            })
        ));
        for cutoff in [0.0, f64::NAN, f64::INFINITY] {
            let wrong = FoldBack {
                cutoff: Voltage::volts(cutoff),
                ..fold()
            };
            assert!(matches!(
                wrong.check(),
                Err(PackError::Input { name: "cutoff", .. })
            ));
        }
    }
}
