//! Charge time: constant current until a cell reaches its full voltage, then constant voltage.

use super::{Load, Pack, PackError};
use crate::quantity::{Current, Duration, Energy, Temperature, Voltage};
use crate::simpson;

/// Resistance against charging over the sustained resistance: 46 mΩ over 42 mΩ.
///
/// Fitted to the physics model's charges with the parameters of Chen et al. 2020 at C/5 to 1 C, 25 °C.
const CHARGING: f64 = 46.0 / 42.0;

/// Coldest and hottest cells that may be charged, °C (from memory: cell makers' usual limits).
const CHARGE_CELSIUS: (f64, f64) = (0.0, 45.0);

/// Current at which a charger ends, over the pack's charge in 1/h: 0.05 (chargers: 0.02 to 0.2).
pub const CHARGE_END: f64 = 0.05;

/// How a pack is charged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charging {
    /// State of charge at the start, 0 to 1.
    pub from: f64,
    /// State of charge at the end, `from` to 1; 1 is the end of the charger.
    pub to: f64,
    /// Current of the charger, up to 1 per hour of the pack's charge.
    pub current: Current,
    /// Current at which the charger ends, more than 0 and less than `current`; see [`CHARGE_END`].
    pub end: Current,
    /// Temperature of the cells, 0 to 45 °C.
    pub cell: Temperature,
}

/// Time of a charge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChargeTime {
    /// At constant current.
    pub constant_current: Duration,
    /// At constant voltage.
    pub constant_voltage: Duration,
    /// State of charge at which the one gives way to the other; 1 when the current ends it.
    pub changeover: f64,
}

impl ChargeTime {
    /// The whole time.
    pub fn total(&self) -> Duration {
        self.constant_current + self.constant_voltage
    }
}

impl Pack {
    /// Time to charge between two states of charge.
    ///
    /// Constant current until `OCV(s) + I·R` is the full voltage, `R` the sustained resistance times 46/42.
    /// Then the current dies away, `i = I_end + (I − I_end)·(1 − s)/(1 − s1)` with `s1` the changeover, so
    /// that what is left at the changeover is just what flows: `τ = Q·(1 − s1)/(I − I_end)`, time
    /// `τ·ln(i_from/i_to)`. Against the physics model of the cell (Chen et al. 2020, C/5 to 1 C, 0 to 1) the
    /// total is within 3 %. Errors: [`PackError::Input`] outside the ranges of [`Charging`]; below 0 °C
    /// cells must not be charged at all. Those of [`Pack::resistance`].
    pub fn charge_time(&self, by: &Charging) -> Result<ChargeTime, PackError> {
        let (changeover, _) = self.changeover(by)?;

        let seconds = |soc: f64, current: Current| soc * self.charge().si() / current.si();
        let flat = (by.to.min(changeover) - by.from).max(0.0);
        let mut constant_voltage = 0.0;
        if by.to > changeover {
            let falling = by.current - by.end;
            let at = |soc: f64| by.end + falling * ((1.0 - soc) / (1.0 - changeover));
            let decay = seconds(1.0 - changeover, falling);
            constant_voltage = decay * (at(by.from.max(changeover)) / at(by.to)).ln();
        }
        Ok(ChargeTime {
            constant_current: Duration::seconds(seconds(flat, by.current)),
            constant_voltage: Duration::seconds(constant_voltage),
            changeover,
        })
    }

    /// Energy into the pack at its terminals between two states of charge.
    ///
    /// `Q·∫(OCV(s) + I·R)·ds` up to the changeover of [`Pack::charge_time`], by Simpson's rule, and from there
    /// the full voltage times the charge; so what the resistance takes is in it. Errors: those of
    /// [`Pack::charge_time`].
    pub fn charge_energy(&self, by: &Charging) -> Result<Energy, PackError> {
        const PAIRS: u32 = 100;
        let (changeover, drop) = self.changeover(by)?;
        let end = by.to.min(changeover).max(by.from);
        let at_rest = |soc: f64| Ok(self.open_circuit(soc)?.si());
        let rests = simpson::integral(at_rest, by.from, end, PAIRS)?;
        let flat = Voltage::from_si(rests) + drop * (end - by.from);
        let held = self.full() * (by.to - end);
        Ok(self.charge().times_voltage(flat + held))
    }

    /// State of charge at which the constant current gives way, and the voltage that current takes on its
    /// way in.
    fn changeover(&self, by: &Charging) -> Result<(f64, Voltage), PackError> {
        self.check()?;
        self.check_charging(by)?;
        let resistance = (self.resistance(Load::Sustained, by.cell)? - self.leads) * CHARGING + self.leads;
        let drop = by.current.times_resistance(resistance);
        Ok((self.charge_left_at(self.full() - drop)?, drop))
    }

    fn check_charging(&self, by: &Charging) -> Result<(), PackError> {
        let most = self.charge().as_ampere_hours();
        let celsius = by.cell.as_celsius();
        for (name, value, good) in [
            ("charge_to", by.to, (0.0..=1.0).contains(&by.to)),
            ("charge_from", by.from, (0.0..=by.to).contains(&by.from)),
            (
                "charge_current",
                by.current.si(),
                by.current.si() > 0.0 && by.current.as_amperes() <= most,
            ),
            (
                "charge_end",
                by.end.si(),
                by.end.si() > 0.0 && by.end < by.current,
            ),
            (
                "cell_temperature",
                by.cell.as_kelvins(),
                (CHARGE_CELSIUS.0..=CHARGE_CELSIUS.1).contains(&celsius),
            ),
        ] {
            if !good {
                return Err(PackError::Input { name, value });
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{pack, warm};
    use super::*;
    use crate::pack::{Chemistry, LEADS};
    use crate::quantity::{Charge, Resistance};
    use crate::solve::table::{close, near};

    /// The cell of the physics model, charged from empty to full, ended at 0.05 of its 5 Ah.
    fn cell() -> Pack {
        Pack {
            series: 1,
            parallel: 1,
            cell_charge: Charge::ampere_hours(5.153),
            ..pack()
        }
    }

    fn by(amperes: f64) -> Charging {
        Charging {
            from: 0.0,
            to: 1.0,
            current: Current::amperes(amperes),
            end: Current::amperes(0.25),
            cell: warm(),
        }
    }

    #[test]
    fn whole_charges_against_the_physics_model() {
        // Chen et al. 2020 in the full physics model, 25 °C, 0 to 100 %, ended at 0.05 C: current, hours at constant
        // current, in all, part of the charge by the changeover. 3 % of the whole time; between 0.85 and 0.95 the
        // curve is flat and a few millivolts move the changeover: 5.5 % of the first part, 0.03 of the charge.
        for (amperes, flat, total, part) in [
            (1.0, 4.885, 5.258, 0.962),
            (5.0 / 3.0, 2.822, 3.351, 0.927),
            (2.5, 1.765, 2.447, 0.870),
            (5.0, 0.708, 1.677, 0.698),
        ] {
            let found = cell().charge_time(&by(amperes)).unwrap();
            close(found.total().as_hours(), total, 0.03);
            close(found.constant_current.as_hours(), flat, 0.055);
            near(found.changeover, part, 0.03);
        }
    }

    #[test]
    fn a_charge_curve_of_another_cell() {
        // A cell maker's charge curve as restated publicly: at about 0.7 C a 2.6 Ah cell changes over at 80 %. The
        // default resistance scaled by the charge; 0.04.
        let other = Pack {
            cell_charge: Charge::ampere_hours(2.6),
            cell_sustained: crate::pack::SUSTAINED_CELL * (5.0 / 2.6),
            ..cell()
        };
        let charging = Charging {
            end: Current::amperes(0.13),
            ..by(0.7 * 2.6)
        };
        near(other.charge_time(&charging).unwrap().changeover, 0.80, 0.04);
    }

    #[test]
    fn the_parts_of_a_charge_make_the_whole() {
        let time = |from, to| {
            cell()
                .charge_time(&Charging { from, to, ..by(2.5) })
                .unwrap()
                .total()
                .as_hours()
        };
        let whole = time(0.0, 1.0);
        for cut in [0.1, 0.5, 0.8, 0.85, 0.9, 0.97, 0.999] {
            near(time(0.0, cut) + time(cut, 1.0), whole, 1e-12);
        }
        near(time(0.4, 0.4), 0.0, 1e-15);
        near(time(1.0, 1.0), 0.0, 1e-15);
        // Arithmetic while the current is constant: 0.6 · 5.153 Ah at 2.5 A.
        near(time(0.1, 0.7), 0.6 * 5.153 / 2.5, 1e-12);
    }

    #[test]
    fn what_flows_is_what_was_missing() {
        // The dying current summed in small steps of time gives the charge that was left at the changeover.
        let found = cell().charge_time(&by(2.5)).unwrap();
        let left = (1.0 - found.changeover) * 5.153;
        let decay = left / (2.5 - 0.25);
        let steps = 100_000;
        let step = found.constant_voltage.as_hours() / f64::from(steps);
        let flowed: f64 = (0..steps)
            .map(|i| 2.5 * (-(f64::from(i) + 0.5) * step / decay).exp() * step)
            .sum();
        close(flowed, left, 1e-6);
    }

    #[test]
    fn a_slow_charge_takes_the_mean_of_the_curve() {
        // Chen et al. 2020 between 2.5 and 4.2 V: 5.153 Ah, 19.18 Wh (the facts' table); so slow that the
        // resistance takes next to nothing, 0.1 %.
        let slow = Charging {
            end: Current::amperes(0.0005),
            ..by(0.001)
        };
        close(cell().charge_energy(&slow).unwrap().as_watt_hours(), 19.18, 1e-3);
        // What a charger at C/5 puts in besides is I^2 R: 1 A through 46 mOhm for 5 h, at most (by hand).
        let more = cell().charge_energy(&by(1.0)).unwrap() - cell().charge_energy(&slow).unwrap();
        assert!((0.15..=0.237).contains(&more.as_watt_hours()), "{more:?}");
    }

    #[test]
    fn the_energies_of_a_charge_s_parts_make_the_whole() {
        let energy = |from, to| {
            cell()
                .charge_energy(&Charging { from, to, ..by(2.5) })
                .unwrap()
                .as_watt_hours()
        };
        let whole = energy(0.0, 1.0);
        for cut in [0.1, 0.5, 0.8, 0.9, 0.97] {
            near(energy(0.0, cut) + energy(cut, 1.0), whole, 1e-5);
        }
        near(energy(0.4, 0.4), 0.0, 1e-12);
        // From 0.97 on it is held at its 4.2 V (by hand).
        near(energy(0.97, 1.0), 0.03 * 5.153 * 4.2, 1e-9);
    }

    #[test]
    fn a_pack_charges_like_its_cells() {
        let packed = Pack {
            series: 13,
            parallel: 4,
            ..cell()
        };
        let four = Charging {
            current: Current::amperes(10.0),
            end: Current::amperes(1.0),
            ..by(2.5)
        };
        let (one, all) = (
            cell().charge_time(&by(2.5)).unwrap(),
            packed.charge_time(&four).unwrap(),
        );
        close(all.total().as_hours(), one.total().as_hours(), 1e-9);
        // Leads bring the changeover on earlier; they do not grow with the cells' factor.
        let leads = Pack {
            leads: LEADS,
            ..packed
        };
        let sooner = leads.charge_time(&four).unwrap().changeover;
        assert!(sooner < all.changeover);
        let as_cells = Pack {
            cell_sustained: packed.cell_sustained + LEADS * (4.0 / 13.0 * 42.0 / 46.0),
            ..packed
        };
        near(sooner, as_cells.charge_time(&four).unwrap().changeover, 1e-9);
    }

    #[test]
    fn iron_phosphate_holds_its_current_nearly_to_the_end() {
        // Its curve ends at 3.6 V, 0.05 V below the charger's: 0.05 V over 46 mΩ is 1.09 A (by hand).
        let iron = Pack {
            chemistry: Chemistry::IronPhosphate,
            ..cell()
        };
        let slow = iron.charge_time(&by(1.0)).unwrap();
        near(slow.changeover, 1.0, 1e-12);
        near(slow.constant_voltage.as_hours(), 0.0, 1e-12);
        near(slow.total().as_hours(), 5.153, 1e-9);
        let fast = iron.charge_time(&by(2.5)).unwrap();
        assert!(fast.changeover > 0.95 && fast.changeover < 1.0);
        assert!(fast.constant_voltage > Duration::ZERO);
    }

    #[test]
    fn a_pack_too_worn_for_its_charger_is_at_constant_voltage_throughout() {
        let worn = Pack {
            cell_sustained: Resistance::ohms(2.0),
            ..cell()
        };
        let found = worn.charge_time(&by(2.5)).unwrap();
        near(found.changeover, 0.0, 1e-12);
        near(found.constant_current.as_hours(), 0.0, 1e-12);
        // τ·ln(I/I_end) with τ = Q/(I − I_end), by hand.
        near(found.constant_voltage.as_hours(), 5.153 / 2.25 * 10f64.ln(), 1e-9);
    }

    #[test]
    fn charges_out_of_range_are_refused() {
        let name = |charging: Charging| match cell().charge_time(&charging) {
            Err(PackError::Input { name, .. }) => name,
            other => panic!("{other:?}"),
        };
        let good = by(2.5);
        assert_eq!(name(Charging { to: 1.01, ..good }), "charge_to");
        assert_eq!(
            name(Charging {
                from: 0.6,
                to: 0.5,
                ..good
            }),
            "charge_from"
        );
        assert_eq!(name(Charging { from: -0.01, ..good }), "charge_from");
        assert_eq!(name(by(5.2)), "charge_current");
        assert_eq!(name(by(0.0)), "charge_current");
        for end in [0.0, 2.5, f64::NAN] {
            let end = Current::amperes(end);
            assert_eq!(name(Charging { end, ..good }), "charge_end");
        }
        for celsius in [-0.5, 45.5] {
            let cell = Temperature::celsius(celsius);
            assert_eq!(name(Charging { cell, ..good }), "cell_temperature");
        }
        let cold = Charging {
            cell: Temperature::celsius(0.0),
            ..good
        };
        assert!(cell().charge_time(&cold).is_ok());
        // One per hour of its charge is still in.
        let five = Pack {
            cell_charge: Charge::ampere_hours(5.0),
            ..cell()
        };
        assert!(five.charge_time(&by(5.0)).is_ok());
    }
}
