//! Open-circuit curves of cells: published fits as data, and a table of one for inner loops.

use std::sync::Arc;

use super::{Chemistry, Pack, PackError};
use crate::quantity::Voltage;

/// How full an electrode is over the cell's state of charge `s`: `empty + s·(full − empty)`.
#[derive(Debug, Clone, Copy)]
struct Filling {
    empty: f64,
    full: f64,
}

impl Filling {
    fn at(self, s: f64) -> f64 {
        self.empty + (self.full - self.empty) * s
    }
}

/// Published curve of one cell: two electrodes and how far each is filled.
struct Curve {
    negative: Filling,
    positive: Filling,
    positive_volts: fn(f64) -> f64,
}

/// 5 Ah 21700 cell between 2.5 V and 4.2 V at rest.
///
/// Source: Chen, Brosa Planella, O'Regan, Gastol, Widanage, Kendrick, J. Electrochem. Soc. 167 (2020)
/// 080534; stoichiometry ends solved for 2.5 V and 4.2 V. Two other published nickel-rich cells rest 54
/// to 84 mV away in mid-range.
const NICKEL_RICH: Curve = Curve {
    negative: Filling {
        empty: 0.026_345_8,
        full: 0.910_618_1,
    },
    positive: Filling {
        empty: 0.853_974_7,
        full: 0.263_845_2,
    },
    positive_volts: nickel_rich_volts,
};

/// 2.3 Ah cell between 2.0 V and 3.6 V at rest.
///
/// Source: the set named after Prada et al. 2013 of the battery library PyBaMM (read): electrode
/// sizes and initial filling 0.81 and 0.0038, iron-phosphate curve of Afshar, Morris, Khajepour,
/// arXiv 1709.03970 (2017), and, since neither work gives a graphite curve, that of Chen et al. 2020.
/// Stoichiometry ends solved from its lithium for 2.0 V and 3.6 V: 2.303 Ah. The
/// plateau of other makes lies some 30 mV higher (judgement).
const IRON_PHOSPHATE: Curve = Curve {
    negative: Filling {
        empty: 0.017_617_9,
        full: 0.810_043_5,
    },
    positive: Filling {
        empty: 0.703_502_0,
        full: 0.003_761_6,
    },
    positive_volts: iron_phosphate_volts,
};

impl Curve {
    const fn of(chemistry: Chemistry) -> &'static Self {
        match chemistry {
            Chemistry::NickelRich => &NICKEL_RICH,
            Chemistry::IronPhosphate => &IRON_PHOSPHATE,
        }
    }

    fn volts(&self, s: f64) -> f64 {
        (self.positive_volts)(self.positive.at(s)) - graphite_volts(self.negative.at(s))
    }
}

/// Graphite against lithium, V (Chen et al. 2020).
fn graphite_volts(x: f64) -> f64 {
    1.979_3 * (-39.363_1 * x).exp() + 0.248_2
        - 0.090_9 * (29.853_8 * (x - 0.123_4)).tanh()
        - 0.044_78 * (14.915_9 * (x - 0.276_9)).tanh()
        - 0.020_5 * (30.444_4 * (x - 0.610_3)).tanh()
}

/// Nickel-rich oxide against lithium, V (Chen et al. 2020).
fn nickel_rich_volts(y: f64) -> f64 {
    -0.809_0 * y + 4.487_5
        - 0.042_8 * (18.513_8 * (y - 0.554_2)).tanh()
        - 17.732_6 * (15.789_0 * (y - 0.311_7)).tanh()
        + 17.584_2 * (15.930_8 * (y - 0.312_0)).tanh()
}

/// Iron phosphate against lithium, V (Afshar et al. 2017).
fn iron_phosphate_volts(y: f64) -> f64 {
    3.407_7 - 0.020_269 * y + 0.5 * (-150.0 * y).exp() - 0.9 * (-30.0 * (1.0 - y)).exp()
}

/// Open-circuit voltage of one cell at a state of charge `s`, 0 to 1; rises with `s` throughout.
///
/// `OCV = Up(y) − Un(x)`, the electrodes' voltages against lithium, each filled in proportion to `s`.
/// Nickel-rich: 2.5 V at 0, 4.2 V at 1; iron phosphate: 2.0 V at 0, 3.6 V at 1. At 25 °C, rested.
/// Error: [`PackError::Input`] outside 0 to 1.
/// Source: Chen et al., J. Electrochem. Soc. 167 (2020) 080534; for iron phosphate the set named after
/// Prada et al. 2013 with the curve of Afshar et al. 2017.
pub fn cell_open_circuit(chemistry: Chemistry, soc: f64) -> Result<Voltage, PackError> {
    if !(0.0..=1.0).contains(&soc) {
        return Err(PackError::Input {
            name: "soc",
            value: soc,
        });
    }
    Ok(Voltage::volts(Curve::of(chemistry).volts(soc)))
}

/// Open-circuit voltages of a pack in equal pieces of charge, for loops that cannot afford the
/// exponentials of [`cell_open_circuit`]: one multiplication, two reads.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveTable {
    volts: Arc<[f64]>,
}

impl CurveTable {
    /// Pieces of the table. A straight line over one is off by less than 0.15 mV a cell.
    pub const PIECES: usize = 2_048;

    /// Table of a pack. Error: that of [`Pack::check`].
    pub fn new(pack: &Pack) -> Result<Self, PackError> {
        pack.check()?;
        let curve = Curve::of(pack.chemistry);
        let volts = (0..=Self::PIECES)
            .map(|piece| curve.volts(piece as f64 / Self::PIECES as f64) * f64::from(pack.series))
            .collect();
        Ok(Self { volts })
    }

    /// A pack that rests at one voltage whatever its charge, for comparison with steady answers.
    pub fn flat(volts: Voltage) -> Self {
        Self {
            volts: std::iter::repeat_n(volts.si(), Self::PIECES + 1).collect(),
        }
    }

    /// Open-circuit voltage of the pack at a state of charge; the ends hold beyond 0 and 1.
    #[inline]
    pub fn open_circuit(&self, soc: f64) -> Voltage {
        let place = soc.clamp(0.0, 1.0) * Self::PIECES as f64;
        let below = (place as usize).min(Self::PIECES - 1);
        let (low, high) = (self.volts[below], self.volts[below + 1]);
        Voltage::from_si(low + (high - low) * (place - below as f64))
    }
}

#[cfg(test)]
mod tests;
