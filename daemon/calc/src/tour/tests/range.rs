//! Range: the same road until the pack is at its cut-off or empty.

use super::*;

fn goes(rig: &Rig, steps: &[Step]) -> Range {
    range(&Track::new(steps).unwrap(), &rig.tourer()).unwrap()
}

#[test]
fn ends_where_the_pack_is_at_its_cutoff() {
    let rig = hub();
    let road = country(4, 1);
    let far = goes(&rig, &road);
    assert_eq!(far.end, RangeEnd::AtCutoff);
    let outcome = &far.outcome;
    // The pack is never drawn below its cut-off, and at the end less than a tenth of the current holds it there.
    let cutoff = pack(4).cutoff().si();
    near(outcome.lowest_voltage.si(), cutoff, 1e-6);
    let left =
        (rig.battery.open_circuit(outcome.state_of_charge).si() - cutoff) / rig.battery.resistance.si();
    assert!(left < HELP_LEFT * rig.system.battery_limit.si(), "{left}");
    // 3.0 V of open circuit is 3.3 % of the charge in the cell of Chen et al. 2020 (the facts' table).
    near(outcome.state_of_charge, 0.035, 0.006);
    // Before that it gives less than was asked for, on the way's last part alone.
    let folded = outcome.folded.unwrap();
    assert!(folded < outcome.distance && folded > outcome.distance * 0.85);
    assert!(outcome.ledger.electric_gap().abs() < 1e-9 && outcome.ledger.road_gap().abs() < 1e-9);
    // The rounds are the road laid end to end.
    let laid: Vec<Step> = road
        .iter()
        .copied()
        .cycle()
        .take((outcome.distance.si() / 10.0).round() as usize)
        .collect();
    let once = rig.ride(&laid);
    assert!(once.folded.is_some());
    close(once.distance.si(), outcome.distance.si(), 1e-9);
    // Stops ahead of a seam are seen only from within the round; these end on one, so nothing differs.
    close(once.energy().si(), outcome.energy().si(), 1e-6);
}

#[test]
fn shrinks_with_cold_age_and_load() {
    let road = country(4, 1);
    let base = goes(&hub(), &road).outcome.distance;
    let shorter = |change: &dyn Fn(&mut Rig)| {
        let mut rig = hub();
        change(&mut rig);
        let far = goes(&rig, &road);
        assert_eq!(far.end, RangeEnd::AtCutoff);
        assert!(far.outcome.distance < base);
    };
    shorter(&|rig| rig.road.mass = Mass::kilograms(140.0));
    shorter(&|rig| rig.battery = Battery::new(&pack(4), Temperature::celsius(-5.0)).unwrap());
    shorter(&|rig| rig.battery.charge = rig.battery.charge * 0.8);
    shorter(&|rig| rig.battery.state_of_charge = 0.9);
    shorter(&|rig| {
        rig.rider = rig.rider.map(|r| Rider {
            power: Power::watts(50.0),
            ..r
        })
    });
}

#[test]
fn a_level_road_gives_the_charge_over_the_current() {
    // One voltage, one speed: distance = Q·v/I once under way, empty at the end.
    let mut rig = hub();
    rig.heat = None;
    let state = PackState {
        open_circuit: Voltage::volts(48.0),
        resistance: Resistance::ohms(0.15),
    };
    rig.battery = Battery::constant(state, Charge::ampere_hours(20.0));
    let far = goes(&rig, &level(1_000.0, 100));
    assert_eq!(far.end, RangeEnd::Empty);
    let climb = {
        let system = DriveSystem {
            pack: state,
            ..rig.system.clone()
        };
        crate::performance::steady_climb(&system, rig.rider.as_ref(), &rig.road, rig.rho, Grade::LEVEL)
            .unwrap()
    };
    let want = 20.0 * 3_600.0 * climb.speed.si() / climb.battery_current.si();
    // Pulling away costs what some 100 m cost: one part in a thousand.
    close(far.outcome.distance.si(), want, 2e-3);
    near(far.outcome.state_of_charge, 0.0, 1e-3);
}

#[test]
fn without_a_motor_it_does_not_end() {
    let mut rig = hub();
    rig.system.motor = None;
    let far = goes(&rig, &level(5_000.0, 50));
    assert_eq!(far.end, RangeEnd::Beyond);
    assert!(far.outcome.distance >= LONGEST);
}

#[test]
fn an_empty_pack_gives_nothing_and_the_legs_go_on() {
    let mut rig = hub();
    rig.battery.state_of_charge = 0.0;
    let empty = rig.ride(&level(1_000.0, 100));
    assert_eq!(empty.energy().si(), 0.0);
    assert_eq!(empty.folded, Some(Length::ZERO));
    rig.system.motor = None;
    assert_eq!(rig.ride(&level(1_000.0, 100)).time, empty.time);
}

#[test]
fn current_is_taken_back_in_a_straight_line() {
    let mut battery = hub().battery;
    battery.fold.start = battery.fold.cutoff * 1.07;
    let limit = Current::amperes(15.0);
    let (from, to) = (battery.fold.start.si(), battery.fold.cutoff.si());
    for step in 1..200 {
        let soc = f64::from(step) / 200.0;
        let left = battery.supply(soc, limit, 0.96).battery_limit.si();
        let loaded = battery.open_circuit(soc).si() - left * battery.resistance.si();
        if left < 15.0 && left > 0.0 {
            // At the limit it allows, the loaded voltage asks for just that limit.
            close(left, 15.0 * (loaded - to) / (from - to), 1e-9);
        } else if left > 0.0 {
            assert!(loaded >= from - 1e-9);
        }
    }
    let nearly = battery.supply(0.01, limit, 0.96).battery_limit.si();
    assert!(nearly < 15.0);
    assert_eq!(battery.supply(0.0, limit, 0.96).battery_limit, Current::ZERO);
    assert_eq!(battery.supply(0.5, limit, 0.96).battery_limit, limit);
}
