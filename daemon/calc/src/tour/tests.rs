//! Tests of the tour: energy books, limits with closed forms, monotony, a separate solve.

mod books;
mod heat;
mod limits;
mod monotone;
mod range;
mod reference;
mod wild;

use super::*;
use crate::motor::Motor;
use crate::pack::{Chemistry, LEADS, PULSE_CELL, Pack, PackState, SUSTAINED_CELL};
use crate::performance::{DrivePlace, Gears};
use crate::quantity::{
    Area, Charge, Current, Duration, Grade, Inertia, Mass, Power, Resistance, ThermalResistance, Torque,
};
use crate::solve::table::{close, near, rows};

/// Everything a tour borrows, in one place.
#[derive(Clone)]
struct Rig {
    system: DriveSystem,
    battery: Battery,
    road: RoadLoad,
    rho: Density,
    rider: Option<Rider>,
    assist: Assist,
    habits: Habits,
    heat: Option<Heat>,
}

impl Rig {
    fn tourer(&self) -> Tourer<'_> {
        Tourer {
            system: &self.system,
            battery: &self.battery,
            road: &self.road,
            rho: self.rho,
            rider: self.rider.as_ref(),
            assist: self.assist,
            habits: self.habits,
            heat: self.heat,
        }
    }

    fn ride(&self, steps: &[Step]) -> Outcome {
        ride(&Track::new(steps).unwrap(), &self.tourer()).unwrap()
    }
}

fn pack(parallel: u32) -> Pack {
    Pack {
        series: 13,
        parallel,
        chemistry: Chemistry::NickelRich,
        cell_charge: Charge::ampere_hours(5.0),
        cell_pulse: PULSE_CELL,
        cell_sustained: SUSTAINED_CELL,
        leads: LEADS,
        age_factor: 1.2,
    }
}

/// A notional geared hub motor on a 115 kg bicycle with nine gears, 25 km/h.
fn hub() -> Rig {
    let battery = Battery::new(&pack(4), Temperature::celsius(20.0)).unwrap();
    Rig {
        system: DriveSystem {
            motor: Some(Motor {
                resistance: Resistance::ohms(0.11),
                kt: 0.2,
                reduction: 5.0,
                gear_efficiency: 0.93,
                drag_torque: Torque::newton_metres(0.12),
                viscous: 2e-4,
                phase_limit: Current::amperes(45.0),
            }),
            place: DrivePlace::Hub,
            gears: Gears {
                ring_teeth: 42,
                least_ring: None,
                cogs: vec![11, 13, 15, 17, 20, 23, 26, 30, 34],
                hub_ratios: Vec::new(),
                chain_efficiency: 0.95,
            },
            battery_limit: Current::amperes(15.0),
            fold: None,
            controller_efficiency: 0.96,
            pack: battery.state(1.0),
            assist_cutoff: Some(Speed::kilometres_per_hour(25.0)),
        },
        battery,
        road: RoadLoad {
            mass: Mass::kilograms(115.0),
            cda: Area::square_metres(0.55),
            spoke_drag_area: Area::square_metres(0.0044),
            crr: 0.007,
            bearing: true,
            wheel_inertia: Inertia::kilogram_m2(0.2),
            tyre_radius: Length::metres(0.34),
            gravity: RoadLoad::STANDARD_GRAVITY,
        },
        rho: Density::kilograms_per_m3(1.2),
        rider: Some(Rider {
            power: Power::watts(100.0),
            crank_torque_max: Torque::newton_metres(30.0),
            preferred_cadence: AngularSpeed::rpm(70.0),
            max_cadence: AngularSpeed::rpm(110.0),
        }),
        assist: Assist::FULL,
        habits: Habits::usual(),
        heat: Some(Heat {
            nodes: Nodes::from_time_constants(
                ThermalResistance::kelvins_per_watt(0.45),
                ThermalResistance::kelvins_per_watt(0.55),
                Duration::seconds(190.0),
                Duration::seconds(2_300.0),
            )
            .unwrap(),
            magnet: Some(Magnet::Neodymium),
            limit: Temperature::celsius(110.0),
            air: Temperature::celsius(20.0),
            start: Temperatures::even(Temperature::celsius(20.0)),
        }),
    }
}

/// A notional mid-drive on the same bicycle.
fn mid() -> Rig {
    let mut rig = hub();
    rig.system.place = DrivePlace::Mid;
    rig.system.motor = Some(Motor {
        resistance: Resistance::ohms(0.09),
        kt: 0.1,
        reduction: 30.0,
        gear_efficiency: 0.9,
        drag_torque: Torque::newton_metres(0.02),
        viscous: 2e-5,
        phase_limit: Current::amperes(30.0),
    });
    rig.assist = Assist::torque_sensor(2.0, Power::watts(300.0));
    rig
}

fn level(metres: f64, steps: usize) -> Vec<Step> {
    slope(metres, steps, 0.0)
}

fn slope(metres: f64, steps: usize, grade: f64) -> Vec<Step> {
    vec![Step::new(Length::metres(metres / steps as f64), Grade::ratio(grade)); steps]
}

/// The slope of rolling country with waves of 5 km, 1.3 km and 400 m, up to 7.5 %.
fn rolling_grade(x: f64) -> f64 {
    let wave = |metres: f64| (std::f64::consts::TAU * x / metres).sin();
    0.03 * wave(5_000.0) + 0.03 * wave(1_300.0) + 0.015 * wave(400.0)
}

/// Rolling country in 10 m steps with a stop every 2 km, each step cut into `pieces` equal ones.
fn country(kilometres: usize, pieces: usize) -> Vec<Step> {
    let mut steps = Vec::new();
    for i in 0..kilometres * 100 {
        let mut step = Step::new(
            Length::metres(10.0 / pieces as f64),
            Grade::ratio(rolling_grade(10.0 * i as f64)),
        );
        step.headwind = Speed::metres_per_second(if i % 300 < 150 { 2.0 } else { -2.0 });
        for piece in 1..=pieces {
            step.stop = (piece == pieces && i % 200 == 199).then_some(Duration::seconds(15.0));
            steps.push(step);
        }
    }
    steps
}
