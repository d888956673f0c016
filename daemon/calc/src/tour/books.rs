//! What a tour adds up to: energy books that must balance, and the extremes along the way.

use crate::quantity::{Consumption, Duration, Energy, Length, Power, Speed, Temperature, Voltage};

/// Where every joule came from and went.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ledger {
    /// Drawn from the cells, their own resistance included.
    pub cells: Energy,
    /// Heat in the pack and its leads.
    pub pack: Energy,
    /// Heat in the controller.
    pub controller: Energy,
    /// Heat in the winding.
    pub copper: Energy,
    /// Heat elsewhere in the motor: drag and gears.
    pub motor_rest: Energy,
    /// Heat in the chain from the motor's share.
    pub chain: Energy,
    /// Work of the motor at the wheel.
    pub motor_work: Energy,
    /// Work of the rider's legs at the wheel; the crank's is that over the chain's efficiency.
    pub rider_work: Energy,
    /// Work of the rider pushing the bicycle on foot.
    pub pushed: Energy,
    /// Air drag; negative when the wind pushed.
    pub air: Energy,
    /// Rolling resistance.
    pub rolling: Energy,
    /// Wheel bearings.
    pub bearing: Energy,
    /// Climbing; negative when the tour ends lower.
    pub climbing: Energy,
    /// Kept in the motion at the end.
    pub kinetic: Energy,
    /// Heat in the brakes.
    pub brakes: Energy,
}

impl Ledger {
    /// What is missing on the electric side, as a share of the energy drawn:
    /// `cells − (pack + controller + copper + rest + chain + motor work)`; zero without a motor.
    pub fn electric_gap(&self) -> f64 {
        let spent =
            self.pack + self.controller + self.copper + self.motor_rest + self.chain + self.motor_work;
        gap(self.cells, spent)
    }

    /// What is missing on the road's side, as a share of all work done on the bicycle:
    /// `motor + rider + pushed − (air + rolling + bearing + climbing + kinetic + brakes)`.
    pub fn road_gap(&self) -> f64 {
        let given = self.motor_work + self.rider_work + self.pushed;
        let taken = [
            self.air,
            self.rolling,
            self.bearing,
            self.climbing,
            self.kinetic,
            self.brakes,
        ];
        // Downhill the slope is the giver; the sum of all sizes is the scale then.
        let scale: Energy = taken.iter().map(|e| e.abs()).sum();
        let difference = given - taken.into_iter().sum();
        if scale > Energy::ZERO {
            difference / scale
        } else {
            0.0
        }
    }
}

fn gap(drawn: Energy, spent: Energy) -> f64 {
    if drawn > Energy::ZERO {
        (drawn - spent) / drawn
    } else {
        0.0
    }
}

/// A stretch of road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Where it begins, from the start of the tour.
    pub from: Length,
    /// Where it ends.
    pub to: Length,
}

/// The warmest that the motor became.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hottest {
    /// Highest temperature of the winding.
    pub winding: Temperature,
    /// Where that was.
    pub winding_at: Length,
    /// Highest temperature of the case.
    pub case: Temperature,
    /// Where the winding first passed its limit, if it did; from there on the motor is held to the current that keeps
    /// it there.
    pub over_limit: Option<Length>,
}

/// A tour ridden.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Distance ridden and walked.
    pub distance: Length,
    /// Time, stops included.
    pub time: Duration,
    /// Time standing at stops.
    pub standing: Duration,
    /// Highest speed.
    pub fastest: Speed,
    /// Lowest pack voltage under load.
    pub lowest_voltage: Voltage,
    /// Where that was.
    pub lowest_at: Length,
    /// Warmest temperatures; `None` when no heat path was given.
    pub hottest: Option<Hottest>,
    /// Stretches that had to be walked because the drive could not hold the slope.
    pub walked: Vec<Stretch>,
    /// Largest braking power after the lag of a brake rotor: the steady power that would make the
    /// rotors as hot as they became, both wheels together.
    pub rotor_power: Power,
    /// State of charge left, 0 to 1.
    pub state_of_charge: f64,
    /// Where the controller first took current back for low voltage.
    pub folded: Option<Length>,
    /// The books.
    pub ledger: Ledger,
}

impl Outcome {
    /// Energy drawn from the pack at its terminals.
    pub fn energy(&self) -> Energy {
        self.ledger.cells - self.ledger.pack
    }

    /// Energy at the pack's terminals per distance.
    pub fn consumption(&self) -> Consumption {
        Consumption::from_si(self.energy().si() / self.distance.si())
    }
}
