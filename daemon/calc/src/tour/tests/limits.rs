//! Limits that have closed forms: no motor, no rider, no hill, no air, and the steady answers.

use super::*;
use crate::brakes;
use crate::performance::{Place, steady_climb, steady_climb_at};

/// One gear, one voltage, no warming: what the steady answers know.
pub(super) fn steady(mut rig: Rig, cog: u32) -> Rig {
    rig.system.gears.cogs = vec![cog];
    rig.system.pack = PackState {
        open_circuit: Voltage::volts(48.0),
        resistance: Resistance::ohms(0.15),
    };
    rig.battery = Battery::constant(rig.system.pack, Charge::ampere_hours(1e6));
    rig.heat = None;
    rig
}

pub(super) fn last_speed(rig: &Rig, steps: &[Step]) -> f64 {
    let mut last = 0.0;
    let track = Track::new(steps).unwrap();
    ride_observed(&track, &rig.tourer(), |m| last = m.speed.si()).unwrap();
    last
}

#[test]
fn a_long_slope_ends_at_the_steady_speed() {
    let (mut ridden, mut walked) = (0, 0);
    for (rig, cog) in [(hub(), 17), (mid(), 17), (mid(), 34)] {
        let mut rig = steady(rig, cog);
        rig.assist = Assist::FULL;
        for grade in [0.0, 0.02, 0.04, 0.08, -0.01] {
            let slope = slope(8_000.0, 800, grade);
            let at = Grade::ratio(grade);
            for rider in [rig.rider, None] {
                rig.rider = rider;
                let climb = steady_climb(&rig.system, rider.as_ref(), &rig.road, rig.rho, at).unwrap();
                if climb.speed > rig.habits.walking {
                    close(last_speed(&rig, &slope), climb.speed.si(), 1e-6);
                    ridden += 1;
                } else {
                    assert_eq!(last_speed(&rig, &slope), rig.habits.walking.si());
                    assert!(!rig.ride(&slope).walked.is_empty());
                    walked += 1;
                }
            }
            rig.rider = hub().rider;
        }
    }
    assert!(ridden > 24 && walked > 0, "{ridden} ridden, {walked} walked");
}

#[test]
fn without_a_motor_the_legs_alone() {
    let mut rig = steady(hub(), 17);
    rig.system.motor = None;
    let power = Power::watts(100.0 * 0.95);
    for (grade, wind) in [(0.0, 0.0), (0.02, 0.0), (0.0, 3.0), (0.0, -3.0)] {
        let mut road = slope(10_000.0, 1_000, grade);
        for step in &mut road {
            step.headwind = Speed::metres_per_second(wind);
        }
        let want = rig.road.steady_speed(
            power,
            Grade::ratio(grade),
            Speed::metres_per_second(wind),
            rig.rho,
        );
        close(last_speed(&rig, &road), want.unwrap().si(), 1e-6);
    }
    let outcome = rig.ride(&level(1_000.0, 100));
    assert_eq!(outcome.energy().si(), 0.0);
    assert_eq!(outcome.state_of_charge, 1.0);
    // Switched off is the same as none.
    let mut off = steady(hub(), 17);
    off.assist = Assist::OFF;
    assert_eq!(off.ride(&level(1_000.0, 100)).time, outcome.time);
}

#[test]
fn a_rougher_surface_rolls_harder_in_proportion() {
    let mut rig = steady(hub(), 17);
    let mut road = level(10_000.0, 1_000);
    for step in &mut road {
        step.rolling = 2.5;
    }
    let rough = last_speed(&rig, &road);
    rig.road.crr *= 2.5;
    close(rough, last_speed(&rig, &level(10_000.0, 1_000)), 1e-12);
}

/// Nothing resists: no air, no rolling, no bearings, no wheels to spin up.
fn space(power: f64, torque: f64) -> Rig {
    let mut rig = steady(hub(), 34);
    rig.system.motor = None;
    rig.rho = Density::ZERO;
    rig.road.crr = 0.0;
    rig.road.bearing = false;
    rig.road.wheel_inertia = Inertia::ZERO;
    rig.habits.fastest = Speed::metres_per_second(50.0);
    rig.rider = Some(Rider {
        power: Power::watts(power),
        crank_torque_max: Torque::newton_metres(torque),
        preferred_cadence: AngularSpeed::rpm(70.0),
        max_cadence: AngularSpeed::rpm(2_000.0),
    });
    rig
}

#[test]
fn constant_force_speeds_up_by_the_book() {
    // v² = 2·F·x/m, t = √(2·x·m/F), with F = 30 N·m·0.95·34/42/0.34 m: exact for any step.
    let rig = space(1e9, 30.0);
    let force = 30.0 * 0.95 * 34.0 / 42.0 / 0.34;
    let outcome = rig.ride(&level(100.0, 10));
    let v = (2.0 * force * 100.0 / 115.0_f64).sqrt();
    close(outcome.fastest.si(), v, 1e-9);
    close(outcome.time.si(), (2.0 * 100.0 * 115.0 / force).sqrt(), 1e-9);
    close(outcome.ledger.rider_work.si(), force * 100.0, 1e-9);
}

#[test]
fn constant_power_speeds_up_by_the_book() {
    // m·v²·dv/dx = P gives v³ = 3·P·x/m and t = m·v²/(2·P).
    let rig = space(200.0, 1e6);
    let power = 200.0 * 0.95;
    let outcome = rig.ride(&level(400.0, 40));
    let v = (3.0 * power * 400.0 / 115.0_f64).cbrt();
    close(outcome.fastest.si(), v, 2e-3);
    close(outcome.time.si(), 115.0 * v * v / (2.0 * power), 5e-3);
}

#[test]
fn rolling_down_against_the_air_follows_its_exponential() {
    // From rest v² = vT²·(1 − e^(−rho·A·x/m)), vT² = 2·m·g·sin/(rho·A).
    let mut rig = space(0.0, 30.0);
    rig.rho = Density::kilograms_per_m3(1.2);
    rig.rider = None;
    let grade = -0.03;
    let steps = slope(1_500.0, 150, grade);
    let area = rig.road.cda.si() + rig.road.spoke_drag_area.si();
    let pull = -rig.road.weight().si() * Grade::ratio(grade).sin();
    for metres in [50.0, 300.0, 1_500.0] {
        let count = (metres / 10.0) as usize;
        let terminal = 2.0 * pull / (1.2 * area);
        let v = (terminal * (1.0 - (-1.2 * area * metres / 115.0_f64).exp())).sqrt();
        // The first half metre is one piece; what it misses fades along the way.
        close(
            last_speed(&rig, &steps[..count]),
            v,
            if metres < 100.0 { 1e-3 } else { 1e-4 },
        );
    }
}

#[test]
fn a_long_descent_heats_the_rotors_by_its_steady_power() {
    let rig = hub();
    let outcome = rig.ride(&slope(9_000.0, 900, -0.10));
    let v = rig.habits.fastest;
    close(outcome.fastest.si(), v.si(), 1e-12);
    let level = rig.road.resistance(v, Grade::LEVEL, Speed::ZERO, rig.rho);
    let rolling = rig.road.weight() * (rig.road.crr * (1.0 - Grade::ratio(-0.10).cos()));
    let power = brakes::descent_power(rig.road.mass, Grade::ratio(-0.10), v, level - rolling).unwrap();
    // Thirteen lags of a minute later the steady power is reached.
    close(outcome.rotor_power.si(), power.si(), 1e-4);
    // Never more than the steady power, and much less on a short one.
    assert!(rig.ride(&slope(200.0, 20, -0.10)).rotor_power < power * 0.5);
}

#[test]
fn what_cannot_be_ridden_is_walked() {
    let mut rig = steady(hub(), 34);
    rig.system.motor = None;
    let mut steps = level(200.0, 20);
    steps.extend(slope(100.0, 10, 0.25));
    steps.extend(level(200.0, 20));
    let outcome = rig.ride(&steps);
    assert_eq!(outcome.walked.len(), 1);
    let stretch = outcome.walked[0];
    // The run-up carries a little way into the slope; from its foot to its top at walking pace.
    assert!(
        stretch.from.si() >= 200.0 && stretch.from.si() < 220.0,
        "{stretch:?}"
    );
    near(stretch.to.si(), 300.0, 1e-9);
    assert!(outcome.ledger.pushed.si() > 0.0);
    assert!(outcome.ledger.road_gap().abs() < 1e-10);
    // All of it, from the first metre: the time is the length over the pace.
    let up = rig.ride(&slope(100.0, 10, 0.25));
    close(up.time.si(), 100.0 / rig.habits.walking.si(), 1e-12);
    assert_eq!(
        up.walked,
        [Stretch {
            from: Length::ZERO,
            to: Length::metres(100.0)
        }]
    );
    // The motor makes it rideable.
    let helped = steady(hub(), 34).ride(&slope(100.0, 10, 0.08));
    assert!(helped.walked.is_empty());
}

#[test]
fn stops_brake_what_the_motion_holds() {
    let rig = steady(hub(), 17);
    let mut steps = level(3_000.0, 300);
    let free = rig.ride(&steps);
    for place in [99, 199, 299] {
        steps[place].stop = Some(Duration::seconds(20.0));
    }
    let stopped = rig.ride(&steps);
    near(stopped.standing.si(), 60.0, 1e-12);
    assert_eq!(stopped.ledger.kinetic.si(), 0.0);
    // From 25 km/h three times; braking at 1.5 m/s², less what air and tyres take on those 16 m.
    let kinetic = 0.5 * rig.road.equivalent_mass().si() * (25.0 / 3.6_f64).powi(2);
    let share = stopped.ledger.brakes.si() / (3.0 * kinetic);
    assert!(share > 0.75 && share < 1.0, "{share}");
    assert!(stopped.time.si() - free.time.si() > 60.0 + 3.0 * 25.0 / 3.6 / 1.5 / 2.0);
    // Harder braking, later: faster and no less heat.
    let mut hard = rig.clone();
    hard.habits.braking = Acceleration::metres_per_second2(3.0);
    let late = hard.ride(&steps);
    assert!(late.time < stopped.time && late.ledger.brakes > stopped.ledger.brakes);
}

#[test]
fn legs_and_motor_share_by_the_ratio() {
    let mut rig = steady(hub(), 17);
    rig.assist = Assist::torque_sensor(1.5, Power::watts(1_000.0));
    rig.system.assist_cutoff = None;
    let outcome = rig.ride(&level(2_000.0, 200));
    let crank = outcome.ledger.rider_work.si() / 0.95;
    let output = outcome.ledger.motor_work + outcome.ledger.chain;
    close(output.si(), 1.5 * crank, 1e-9);
    // The cap: never more than it, so the mean is below.
    rig.assist = Assist::torque_sensor(1.5, Power::watts(80.0));
    let capped = rig.ride(&level(2_000.0, 200));
    close(capped.ledger.motor_work.si(), 80.0 * capped.time.si(), 0.02);
    assert!(capped.ledger.motor_work.si() <= 80.0 * capped.time.si());
    // At the speed the rider wants both give way alike, so the ratio stays.
    rig.assist = Assist::torque_sensor(1.5, Power::watts(1_000.0));
    rig.habits.cruise = Some(Speed::kilometres_per_hour(15.0));
    let calm = rig.ride(&level(2_000.0, 200));
    close(calm.fastest.as_kilometres_per_hour(), 15.0, 1e-9);
    let crank = calm.ledger.rider_work.si() / 0.95;
    assert!(crank < 0.5 * 100.0 * calm.time.si());
    close(
        (calm.ledger.motor_work + calm.ledger.chain).si(),
        1.5 * crank,
        1e-9,
    );
    // At full assist the legs go on and the motor gives the rest.
    rig.assist = Assist::FULL;
    let pushed = rig.ride(&level(2_000.0, 200));
    close(pushed.fastest.as_kilometres_per_hour(), 15.0, 1e-9);
    assert!(pushed.ledger.motor_work < calm.ledger.motor_work);
}

#[test]
fn a_long_level_road_settles_at_the_steady_speed_of_each_assist() {
    let power = Power::watts(150.0);
    let taper = Some(Taper::new(Speed::kilometres_per_hour(25.0), Taper::USUAL_BAND).unwrap());
    let last = Some(Speed::kilometres_per_hour(18.0));
    for policy in [
        Policy::TorqueSensor {
            ratio: 2.0,
            most: power,
        },
        Policy::CadenceSensor { power },
        Policy::Throttle { power, up_to: None },
        Policy::Throttle { power, up_to: last },
        Policy::Full,
    ] {
        for taper in [None, taper] {
            let assist = Assist { policy, taper };
            let mut rig = steady(hub(), 17);
            rig.assist = assist;
            let steps = level(3_000.0, 300);
            let mut settled = Speed::ZERO;
            let track = Track::new(&steps).unwrap();
            ride_observed(&track, &rig.tourer(), |moment| settled = moment.speed).unwrap();
            let level = Grade::LEVEL;
            let steady = steady_climb_at(
                &rig.system,
                assist,
                rig.rider.as_ref(),
                &rig.road,
                Place::still(rig.rho, level),
            )
            .unwrap();
            close(settled.si(), steady.speed.si(), 1e-4);
        }
    }
}

#[test]
fn impossible_figures_are_refused() {
    let good = hub();
    let track = Track::new(&level(10.0, 1)).unwrap();
    let refused = |rig: &Rig, field: &str| match ride(&track, &rig.tourer()) {
        Err(TourError::Input { name, .. } | TourError::Performance(PerformanceError::Input { name, .. })) => {
            assert_eq!(name, field);
        }
        other => panic!("{field}: {other:?}"),
    };
    let with = |change: &dyn Fn(&mut Rig)| {
        let mut rig = good.clone();
        change(&mut rig);
        rig
    };
    refused(&with(&|r| r.habits.walking = Speed::ZERO), "walking");
    refused(&with(&|r| r.habits.slack = 0.0), "slack");
    refused(&with(&|r| r.habits.cruise = Some(Speed::ZERO)), "cruise");
    refused(&with(&|r| r.battery.state_of_charge = 1.01), "state_of_charge");
    refused(
        &with(&|r| r.battery.fold.start = r.battery.fold.cutoff * 0.99),
        "fold_start",
    );
    refused(&with(&|r| r.battery.charge = Charge::ZERO), "battery_charge");
    refused(
        &with(&|r| r.system.controller_efficiency = 1.1),
        "controller_efficiency",
    );
    let most = Power::watts(-1.0);
    let greedy = with(&|r| r.assist = Assist::torque_sensor(1.0, most));
    assert!(matches!(
        ride(&track, &greedy.tourer()),
        Err(TourError::Performance(PerformanceError::Assist(_)))
    ));
    let cold = with(&|r| {
        r.heat = r.heat.map(|h| Heat {
            air: Temperature::kelvins(0.0),
            ..h
        })
    });
    refused(&cold, "air");

    assert_eq!(Track::new(&[]).map(|_| ()), Err(TourError::NoSteps));
    let mut steps = level(30.0, 3);
    steps[1].grade = Grade::ratio(f64::NAN);
    assert!(matches!(
        Track::new(&steps),
        Err(TourError::Step {
            index: 1,
            name: "grade",
            ..
        })
    ));
    steps[1] = Step {
        length: Length::ZERO,
        ..steps[0]
    };
    let short = Track::new(&steps).map(|_| ()).unwrap_err();
    assert_eq!(
        short.to_string(),
        "step 2: length is 0 (SI unit), outside the range the model holds for"
    );
}
