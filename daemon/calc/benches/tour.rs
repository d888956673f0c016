//! Speed of a tour: 100 km in steps of 10 m, once and a thousand times with sampled figures.
//!
//! Run: `cargo bench -p lockring-calc`. The same model in numpy and scipy stands under
//! `tests/reference/tour/`, on the same road.

use lockring_calc::motor::Motor;
use lockring_calc::pack::{Chemistry, LEADS, PULSE_CELL, Pack, SUSTAINED_CELL};
use lockring_calc::performance::{
    DrivePlace, DriveSystem, Gears, Place, Rider, climbs_at_least, steady_climb_at,
};
use lockring_calc::quantity::{
    AngularSpeed, Area, Charge, Current, Density, Duration, Grade, Inertia, Length, Mass, Power, Resistance,
    Speed, Temperature, ThermalResistance, Torque,
};
use lockring_calc::road::RoadLoad;
use lockring_calc::thermal::{Magnet, Nodes, Temperatures};
use lockring_calc::tour::{Assist, Battery, Habits, Heat, Step, Tourer, Track, range, ride};

fn main() {
    divan::main();
}

/// 100 km of rolling country in 10 m steps: slopes of three wave lengths up to 7.5 %, a stop every 2 km.
fn road() -> Vec<Step> {
    (0..10_000)
        .map(|i| {
            let x = 10.0 * f64::from(i);
            let wave = |metres: f64| (std::f64::consts::TAU * x / metres).sin();
            let grade = 0.03 * wave(5_000.0) + 0.03 * wave(1_300.0) + 0.015 * wave(400.0);
            let mut step = Step::new(Length::metres(10.0), Grade::ratio(grade));
            step.stop = (i % 200 == 199).then_some(Duration::seconds(15.0));
            step
        })
        .collect()
}

struct Bicycle {
    system: DriveSystem,
    battery: Battery,
    road: RoadLoad,
    rider: Rider,
    heat: Heat,
}

fn bicycle() -> Bicycle {
    let pack = Pack {
        series: 13,
        parallel: 12,
        chemistry: Chemistry::NickelRich,
        cell_charge: Charge::ampere_hours(5.0),
        cell_pulse: PULSE_CELL,
        cell_sustained: SUSTAINED_CELL,
        leads: LEADS,
        age_factor: 1.2,
    };
    let battery = Battery::new(&pack, Temperature::celsius(20.0)).expect("a nickel-rich pack in range");
    let motor = Motor {
        resistance: Resistance::ohms(0.11),
        kt: 0.2,
        reduction: 5.0,
        gear_efficiency: 0.93,
        drag_torque: Torque::newton_metres(0.12),
        viscous: 2e-4,
        phase_limit: Current::amperes(45.0),
    };
    let celsius = Temperature::celsius;
    Bicycle {
        system: DriveSystem {
            motor: Some(motor),
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
        rider: Rider {
            power: Power::watts(100.0),
            crank_torque_max: Torque::newton_metres(30.0),
            preferred_cadence: AngularSpeed::rpm(70.0),
            max_cadence: AngularSpeed::rpm(110.0),
        },
        heat: Heat {
            nodes: Nodes::from_time_constants(
                ThermalResistance::kelvins_per_watt(0.45),
                ThermalResistance::kelvins_per_watt(0.55),
                Duration::seconds(190.0),
                Duration::seconds(2_300.0),
            )
            .expect("heat paths above zero"),
            magnet: Some(Magnet::Neodymium),
            limit: celsius(110.0),
            air: celsius(20.0),
            start: Temperatures::even(celsius(20.0)),
        },
    }
}

fn tourer(b: &Bicycle) -> Tourer<'_> {
    Tourer {
        system: &b.system,
        battery: &b.battery,
        road: &b.road,
        rho: Density::kilograms_per_m3(1.2),
        rider: Some(&b.rider),
        assist: Assist::FULL,
        habits: Habits::usual(),
        heat: Some(b.heat),
    }
}

#[divan::bench]
fn one_hundred_kilometres(bencher: divan::Bencher<'_, '_>) {
    let (track, bicycle) = (Track::new(&road()).expect("a road in range"), bicycle());
    bencher.bench(|| ride(&track, &tourer(divan::black_box(&bicycle))));
}

#[divan::bench]
fn one_hundred_kilometres_following_the_legs(bencher: divan::Bencher<'_, '_>) {
    let (track, bicycle) = (Track::new(&road()).expect("a road in range"), bicycle());
    let assist = Assist::torque_sensor(2.0, Power::watts(250.0));
    bencher.bench(|| {
        let tourer = Tourer {
            assist,
            ..tourer(divan::black_box(&bicycle))
        };
        ride(&track, &tourer)
    });
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn a_thousand_sampled_rides(bencher: divan::Bencher<'_, '_>) {
    let (track, bicycle) = (Track::new(&road()).expect("a road in range"), bicycle());
    bencher.bench(|| {
        let mut sum = 0.0;
        for i in 0..1_000 {
            // A low-discrepancy walk through the spread of mass, drag and rolling stands for sampling.
            let part = |step: f64| (f64::from(i) * step).fract() - 0.5;
            let mut b = Bicycle {
                battery: bicycle.battery.clone(),
                system: bicycle.system.clone(),
                ..bicycle
            };
            b.road.mass = b.road.mass * (1.0 + 0.10 * part(0.754_877_67));
            b.road.cda = b.road.cda * (1.0 + 0.40 * part(0.569_840_29));
            b.road.crr *= 1.0 + 0.50 * part(0.618_033_99);
            sum += ride(&track, &tourer(&b)).map_or(f64::NAN, |o| o.energy().si());
        }
        sum
    });
}

#[divan::bench]
fn range_of_one_charge(bencher: divan::Bencher<'_, '_>) {
    let (track, bicycle) = (Track::new(&road()).expect("a road in range"), bicycle());
    bencher.bench(|| range(&track, &tourer(divan::black_box(&bicycle))));
}

/// The fastest gear and its speed on grades of 0 to 20 %, as a check of a hill solves them.
#[divan::bench]
fn climbs(bencher: divan::Bencher<'_, '_>) {
    let (bicycle, rho) = (bicycle(), Density::kilograms_per_m3(1.2));
    bencher.bench(|| {
        (0..=20)
            .map(|percent| {
                let place = Place::still(rho, Grade::percent(f64::from(percent)));
                steady_climb_at(
                    &bicycle.system,
                    Assist::FULL,
                    Some(&bicycle.rider),
                    &bicycle.road,
                    place,
                )
            })
            .filter(Result::is_ok)
            .count()
    });
}

/// Whether each of these grades is climbed at 10 km/h, as a chance is counted.
#[divan::bench]
fn climbs_as_wished(bencher: divan::Bencher<'_, '_>) {
    let (bicycle, rho) = (bicycle(), Density::kilograms_per_m3(1.2));
    let wished = Speed::kilometres_per_hour(10.0);
    bencher.bench(|| {
        (0..=20)
            .map(|percent| {
                let place = Place::still(rho, Grade::percent(f64::from(percent)));
                climbs_at_least(
                    &bicycle.system,
                    Assist::FULL,
                    Some(&bicycle.rider),
                    &bicycle.road,
                    place,
                    wished,
                )
            })
            .filter(Result::is_ok)
            .count()
    });
}
