//! Gears inside the hub: what they are to the road is a cog of other teeth, and to the chain nothing.

use super::*;

/// A three-speed hub with a sun of 20 and an annulus of 60 teeth: 60/(60 + 20), direct and 1 + 20/60 (Shigley, Mechanical
/// Engineering Design, planetary gear trains).
const THREE: [f64; 3] = [0.75, 1.0, 1.0 + 20.0 / 60.0];

fn through_hub() -> DriveSystem {
    let mut system = longtail(42, &[24]);
    system.gears.hub_ratios = THREE.to_vec();
    system
}

#[test]
fn a_gear_inside_the_hub_rides_as_the_cog_that_turns_the_wheel_as_often() {
    // First principles: 24 teeth through 4/3, 1 and 3/4 turn the wheel as 18, 24 and 32 teeth do by themselves.
    let (hub, cogs) = (through_hub(), longtail(42, &[18, 24, 32]));
    let (rider, road) = (rider(110.0), longtail_road(190.0));
    for percent in [0.0, 4.0, 8.0, 10.8, 14.0] {
        let grade = Grade::percent(percent);
        let place = Place::still(rho(1.2), grade);
        let by_gear = |system| speeds_by_gear(system, &rider, &road, grade);
        for (inside, plain) in by_gear(&hub).into_iter().zip(by_gear(&cogs)) {
            assert_eq!(inside.gear, plain.gear);
            near(inside.speed.si(), plain.speed.si(), 1e-9);
            near(inside.cadence.as_rpm(), plain.cadence.as_rpm(), 1e-6);
            near(inside.motor_power.si(), plain.motor_power.si(), 1e-6);
        }
        let steady = |system| steady_climb_at(system, Assist::FULL, Some(&rider), &road, place).unwrap();
        let (inside, plain) = (steady(&hub), steady(&cogs));
        assert_eq!((inside.gear, inside.limit), (plain.gear, plain.limit));
        near(inside.speed.si(), plain.speed.si(), 1e-9);
        near(
            restart(&hub, &road, grade).si(),
            restart(&cogs, &road, grade).si(),
            1e-12,
        );
    }
}

#[test]
fn gears_are_named_by_ring_cog_and_their_place_in_the_hub_highest_first() {
    let mut gears = through_hub().gears;
    let named = |gears: &Gears| -> Vec<(u32, u32, u32, u32)> {
        let hub = |engaged: &Engaged| engaged.hub.map_or((0, 0), |hub| (hub.number, hub.of));
        let all = gears.all();
        all.map(|one| (one.ring, one.cog, hub(&one).0, hub(&one).1))
            .collect()
    };
    assert_eq!(named(&gears), [(42, 24, 3, 3), (42, 24, 2, 3), (42, 24, 1, 3)]);
    close(gears.lowest().unwrap().ratio(), 42.0 / 32.0, 1e-12);
    close(gears.highest().unwrap().ratio(), 42.0 / 18.0, 1e-12);
    close(gears.at(2).unwrap().gear().unwrap().hub(), 0.75, 1e-12);
    // Behind two rings and two cogs each of them has all three.
    gears.least_ring = Some(28);
    gears.cogs = vec![18, 24];
    let all = named(&gears);
    assert_eq!(all.len(), 12);
    assert_eq!(
        (all[0], all[3], all[11]),
        ((42, 18, 3, 3), (42, 24, 3, 3), (28, 24, 1, 3))
    );
    gears.hub_ratios.clear();
    assert_eq!(named(&gears)[..2], [(42, 18, 0, 0), (42, 24, 0, 0)]);
}

#[test]
fn a_ratio_no_hub_has_is_refused() {
    let mut system = through_hub();
    system.gears.hub_ratios = vec![0.1, 1.0];
    let refused = steady_climb(&system, None, &longtail_road(190.0), rho(1.2), Grade::LEVEL);
    assert_eq!(
        refused,
        Err(PerformanceError::Gear(GearError::HubRatio { ratio: 0.1 }))
    );
}
