//! What years and kilometres take from a cell.

use super::PackError;
use crate::quantity::{Temperature, Voltage};

/// What a cell has left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aged {
    /// Charge now over charge new.
    pub charge: f64,
    /// Resistance now over resistance new.
    pub resistance: f64,
}

/// How a cell has lived.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Life {
    /// Age, days, 0 to 7 300.
    pub days: f64,
    /// Mean temperature over that time, −20 to 50 °C.
    pub kept_at: Temperature,
    /// Mean voltage of the cell over that time, 3.0 to 4.2 V.
    pub kept_volts: Voltage,
    /// Full cycles, or parts of them that add up, 0 to 5 000.
    pub cycles: f64,
    /// Depth of a cycle, 0.05 to 1.
    pub depth: f64,
    /// Mean voltage while cycling, 3.0 to 4.2 V.
    pub cycled_volts: Voltage,
}

/// Charge of the cell the model was made for, Ah.
const CELL_AH: f64 = 2.15;

/// What is left after a life: `C/C0 = 1 − a·t^0.75 − b·√Q`, `R/R0 = 1 + ar·t^0.75 + br·Q` with `t`
/// in days and `Q` the charge moved both ways per 2.15 Ah cell.
///
/// The cycling part was measured at 35 °C and one rate; it knows no knee.
/// Source: Schmalstieg, Käbitz, Ecker, Sauer, J. Power Sources 257 (2014) 325, as coded in a public
/// battery-life library (coefficients read there).
///
/// Errors: [`PackError::Input`] outside the ranges of [`Life`].
pub fn aged(life: &Life) -> Result<Aged, PackError> {
    check(life)?;
    let (volts, kelvins) = (life.kept_volts.si(), life.kept_at.si());
    let a = (7.543 * volts - 23.75) * 1e6 * (-6976.0 / kelvins).exp();
    let ar = (5.270 * volts - 16.32) * 1e5 * (-5986.0 / kelvins).exp();
    let cycled = life.cycled_volts.si();
    let b = 7.348e-3 * (cycled - 3.667).powi(2) + 7.600e-4 + 4.081e-3 * life.depth;
    let br = 2.153e-4 * (cycled - 3.725).powi(2) - 1.521e-5 + 2.798e-4 * life.depth;
    let moved = 2.0 * CELL_AH * life.depth * life.cycles;
    let by_time = life.days.powf(0.75);
    Ok(Aged {
        charge: 1.0 - a.max(0.0) * by_time - b * moved.sqrt(),
        resistance: 1.0 + ar.max(0.0) * by_time + (br * moved).max(0.0),
    })
}

fn check(life: &Life) -> Result<(), PackError> {
    let figures = [
        ("days", life.days, 0.0, 7_300.0),
        ("kept_at", life.kept_at.si(), 253.15, 323.15),
        ("kept_volts", life.kept_volts.si(), 3.0, 4.2),
        ("cycles", life.cycles, 0.0, 5_000.0),
        ("depth", life.depth, 0.05, 1.0),
        ("cycled_volts", life.cycled_volts.si(), 3.0, 4.2),
    ];
    let bad = figures
        .into_iter()
        .find(|(_, value, low, high)| !(low..=high).contains(&value));
    match bad {
        Some((name, value, ..)) => Err(PackError::Input { name, value }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kept(volts: f64, celsius: f64, days: f64) -> Life {
        Life {
            days,
            kept_at: Temperature::celsius(celsius),
            kept_volts: Voltage::volts(volts),
            cycles: 0.0,
            depth: 0.5,
            cycled_volts: Voltage::volts(3.7),
        }
    }

    #[test]
    fn a_year_on_the_shelf() {
        // Computed from the published coefficients: 3.8 V, 25 °C, 365 days lose 2.83 % and raise the
        // resistance by 5.9 %; 4.1 V loses 4.13 %; 3.8 V at 35 °C 6.05 %.
        for (volts, celsius, loss) in [(3.8, 25.0, 0.0283), (4.1, 25.0, 0.0413), (3.8, 35.0, 0.0605)] {
            let left = aged(&kept(volts, celsius, 365.0)).unwrap();
            assert!(
                (1.0 - left.charge - loss).abs() < 1e-4,
                "{volts} {celsius}: {left:?}"
            );
        }
        assert!((aged(&kept(3.8, 25.0, 365.0)).unwrap().resistance - 1.059).abs() < 1e-3);
        let new = aged(&kept(3.8, 25.0, 0.0)).unwrap();
        assert!((new.charge - 1.0).abs() < 1e-12 && (new.resistance - 1.0).abs() < 1e-12);
    }

    #[test]
    fn three_hundred_cycles() {
        // Computed from the published coefficients: depth 0.8 at 3.7 V, 1 032 Ah moved, loses 12.96 %
        // and raises the resistance by 21.5 %; depth 0.5 loses 7.13 %.
        let cycled = |depth| {
            aged(&Life {
                cycles: 300.0,
                depth,
                ..kept(3.8, 25.0, 0.0)
            })
            .unwrap()
        };
        assert!(
            (1.0 - cycled(0.8).charge - 0.1296).abs() < 1e-4,
            "{:?}",
            cycled(0.8)
        );
        assert!((cycled(0.8).resistance - 1.215).abs() < 1e-3, "{:?}", cycled(0.8));
        assert!(
            (1.0 - cycled(0.5).charge - 0.0713).abs() < 1e-4,
            "{:?}",
            cycled(0.5)
        );
    }

    #[test]
    fn older_warmer_and_fuller_is_never_better() {
        let charge = |volts, celsius, days| aged(&kept(volts, celsius, days)).unwrap().charge;
        assert!(charge(3.8, 25.0, 800.0) < charge(3.8, 25.0, 400.0));
        assert!(charge(3.8, 40.0, 400.0) < charge(3.8, 20.0, 400.0));
        assert!(charge(4.1, 25.0, 400.0) < charge(3.6, 25.0, 400.0));
    }

    #[test]
    fn no_life_is_refused() {
        for life in [
            kept(3.8, 25.0, -1.0),
            kept(3.8, 51.0, 1.0),
            kept(4.3, 25.0, 1.0),
            Life {
                depth: 0.0,
                ..kept(3.8, 25.0, 1.0)
            },
            Life {
                cycles: f64::NAN,
                ..kept(3.8, 25.0, 1.0)
            },
            Life {
                cycled_volts: Voltage::volts(2.9),
                ..kept(3.8, 25.0, 1.0)
            },
        ] {
            assert!(aged(&life).is_err(), "{life:?}");
        }
    }
}
