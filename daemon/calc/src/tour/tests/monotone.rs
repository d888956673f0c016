//! More mass, grade, wind or drag never makes the ride faster.

use super::*;

/// Level and up, with wind from both sides, no descent: there weight only ever holds back.
fn upward() -> Vec<Step> {
    (0..600)
        .map(|i| {
            let grade = 0.03 * (1.0 - (f64::from(i) * 0.05).cos());
            let mut step = Step::new(Length::metres(10.0), Grade::ratio(grade));
            step.headwind = Speed::metres_per_second(if i % 200 < 100 { 1.5 } else { -1.5 });
            step
        })
        .collect()
}

/// Speed at the end of every step.
fn speeds(rig: &Rig, steps: &[Step]) -> Vec<f64> {
    let mut speeds = Vec::new();
    let track = Track::new(steps).unwrap();
    let mut end = 0.0;
    ride_observed(&track, &rig.tourer(), |m| {
        end += 0.0;
        if (m.at.si() / 10.0 - (m.at.si() / 10.0).round()).abs() < 1e-6 {
            speeds.push(m.speed.si());
        }
    })
    .unwrap();
    speeds
}

type Change = (&'static str, fn(&mut Rig, &mut Vec<Step>));

const HARDER: [Change; 5] = [
    ("mass", |rig, _| rig.road.mass = rig.road.mass * 1.15),
    ("drag area", |rig, _| rig.road.cda = rig.road.cda * 1.3),
    ("rolling", |rig, _| rig.road.crr *= 1.5),
    ("grade", |_, steps| {
        for step in steps {
            step.grade = Grade::ratio(step.grade.as_ratio() + 0.005);
        }
    }),
    ("wind", |_, steps| {
        for step in steps {
            step.headwind = step.headwind + Speed::metres_per_second(1.0);
        }
    }),
];

#[test]
fn in_one_gear_not_anywhere_along_the_road() {
    for mut rig in [hub(), mid()] {
        rig.system.gears.cogs = vec![26];
        rig.heat = None;
        let easy = speeds(&rig, &upward());
        assert_eq!(easy.len(), 600);
        for (name, change) in HARDER {
            let (mut harder, mut steps) = (rig.clone(), upward());
            change(&mut harder, &mut steps);
            let hard = speeds(&harder, &steps);
            let faster = easy
                .iter()
                .zip(&hard)
                .position(|(easy, hard)| *hard > easy + 1e-6);
            assert_eq!(faster, None, "{name}");
            assert!(hard.iter().sum::<f64>() < easy.iter().sum::<f64>(), "{name}");
        }
    }
}

#[test]
fn through_all_gears_the_time_never_shrinks() {
    for rig in [hub(), mid()] {
        let easy = rig.ride(&upward());
        for (name, change) in HARDER {
            let (mut harder, mut steps) = (rig.clone(), upward());
            change(&mut harder, &mut steps);
            let hard = harder.ride(&steps);
            assert!(hard.time > easy.time, "{name}");
            assert!(hard.energy() > easy.energy(), "{name}");
        }
    }
}

#[test]
fn stronger_legs_are_faster_and_draw_less() {
    let mut rig = hub();
    let before = rig.ride(&upward());
    rig.rider = rig.rider.map(|r| Rider {
        power: r.power * 1.5,
        ..r
    });
    let after = rig.ride(&upward());
    assert!(after.time < before.time && after.energy() < before.energy());
}

#[test]
fn a_cold_and_aged_pack_sags_deeper() {
    let mut rig = hub();
    let warm = rig.ride(&upward());
    rig.battery = Battery::new(&pack(4), Temperature::celsius(-10.0)).unwrap();
    let cold = rig.ride(&upward());
    assert!(cold.lowest_voltage < warm.lowest_voltage);
    assert!(cold.ledger.pack > warm.ledger.pack * 2.0);
}
