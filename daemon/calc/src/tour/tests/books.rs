//! The books: every joule is found again, and the totals are what the road itself says.

use super::*;
use crate::quantity::Energy;

fn rigs() -> [(&'static str, Rig); 4] {
    let mut alone = hub();
    alone.rider = None;
    let mut cargo = mid();
    cargo.assist = Assist::FULL;
    cargo.road.mass = Mass::kilograms(190.0);
    [("hub", hub()), ("mid", mid()), ("alone", alone), ("cargo", cargo)]
}

#[test]
fn balance_over_a_day_of_rolling_country() {
    for (name, rig) in rigs() {
        let outcome = rig.ride(&country(40, 1));
        let (electric, road) = (outcome.ledger.electric_gap(), outcome.ledger.road_gap());
        // The bar is 1e-6; what is left is rounding alone.
        assert!(electric.abs() < 1e-10, "{name}: {electric}");
        assert!(road.abs() < 1e-10, "{name}: {road}");
        assert!(outcome.ledger.cells > Energy::ZERO && outcome.ledger.brakes > Energy::ZERO);
        for part in [
            outcome.ledger.pack,
            outcome.ledger.controller,
            outcome.ledger.copper,
            outcome.ledger.motor_rest,
        ] {
            assert!(part > Energy::ZERO, "{name}");
        }
    }
}

#[test]
fn a_book_that_does_not_balance_shows_it() {
    let mut ledger = hub().ride(&country(4, 1)).ledger;
    let whole = ledger.cells;
    ledger.copper = ledger.copper + whole * 1e-3;
    near(ledger.electric_gap(), -1e-3, 1e-9);
    ledger.brakes = ledger.brakes - ledger.motor_work * 0.1;
    assert!(ledger.road_gap() > 1e-3);
    assert_eq!(Ledger::default().electric_gap(), 0.0);
    assert_eq!(Ledger::default().road_gap(), 0.0);
}

#[test]
fn climbing_rolling_and_motion_are_those_of_the_road() {
    let (rig, steps) = (hub(), country(7, 1));
    let outcome = rig.ride(&steps);
    let weight = rig.road.weight().si();
    let rise: f64 = steps.iter().map(|s| s.length.si() * s.grade.sin()).sum();
    let flat: f64 = steps.iter().map(|s| s.length.si() * s.grade.cos()).sum();
    close(outcome.ledger.climbing.si(), weight * rise, 1e-9);
    close(outcome.ledger.rolling.si(), weight * rig.road.crr * flat, 1e-12);
    close(outcome.distance.si(), 7_000.0, 1e-12);
    let mut last = 0.0;
    ride_observed(&Track::new(&steps).unwrap(), &rig.tourer(), |m| {
        last = m.speed.si()
    })
    .unwrap();
    assert!(last > 1.0);
    let kinetic = 0.5 * rig.road.equivalent_mass().si() * last * last;
    close(outcome.ledger.kinetic.si(), kinetic, 1e-12);
    // Heat of the motion: three stops of 15 s are part of the time.
    near(outcome.standing.si(), 45.0, 1e-12);
}

#[test]
fn energy_of_the_cells_is_the_area_under_their_curve() {
    let rig = hub();
    let outcome = rig.ride(&country(60, 1));
    let (from, to) = (1.0, outcome.state_of_charge);
    assert!(to < 0.6, "{to}");
    // Midpoint rule over the published curve itself, not the table.
    let pieces = 20_000;
    let mean: f64 = (0..pieces)
        .map(|i| to + (from - to) * (f64::from(i) + 0.5) / f64::from(pieces))
        .map(|soc| pack(4).open_circuit(soc).unwrap().si())
        .sum::<f64>()
        / f64::from(pieces);
    let charge = (from - to) * pack(4).charge().si();
    // The voltage counts as constant within a piece, at its beginning: a few parts in 100,000 high.
    close(outcome.ledger.cells.si(), mean * charge, 1e-4);
    assert!(outcome.energy() < outcome.ledger.cells);
}

#[test]
fn half_the_step_changes_little() {
    for (name, rig) in rigs() {
        let (whole, half) = (rig.ride(&country(20, 1)), rig.ride(&country(20, 2)));
        // The bar is 0.1 % of the energy; the time is held to the same.
        let change = (half.energy() / whole.energy() - 1.0).abs();
        assert!(change < 5e-4, "{name}: energy {change}");
        assert!((half.time / whole.time - 1.0).abs() < 5e-4, "{name}: time");
        let fine = rig.ride(&country(20, 16));
        let change = (fine.energy() / whole.energy() - 1.0).abs();
        assert!(change < 1e-3, "{name}: energy to sixteenths {change}");
    }
}

#[test]
fn uneven_steps_add_up_to_the_same_ride() {
    // A climb cut into 7 m, 23 m and 70 m steps: the same hill.
    let rig = hub();
    let cut = |lengths: &[f64]| {
        let mut steps = Vec::new();
        while steps.iter().map(|s: &Step| s.length.si()).sum::<f64>() < 1_999.9 {
            for metres in lengths {
                steps.push(Step::new(Length::metres(*metres), Grade::percent(4.0)));
            }
        }
        rig.ride(&steps)
    };
    let (even, uneven) = (cut(&[10.0]), cut(&[7.0, 23.0, 70.0]));
    close(uneven.distance.si(), even.distance.si(), 1e-9);
    close(uneven.energy().si(), even.energy().si(), 5e-4);
    close(uneven.time.si(), even.time.si(), 5e-4);
}

#[test]
fn lowest_voltage_and_heat_are_those_of_the_trace() {
    let rig = hub();
    let (mut low, mut at, mut hot) = (f64::INFINITY, 0.0, 0.0_f64);
    let track = Track::new(&country(10, 1)).unwrap();
    let mut before = 0.0;
    let outcome = ride_observed(&track, &rig.tourer(), |m| {
        if m.voltage.si() < low {
            (low, at) = (m.voltage.si(), before);
        }
        before = m.at.si();
        hot = hot.max(m.winding.unwrap().si());
    })
    .unwrap();
    assert_eq!(outcome.lowest_voltage.si(), low);
    assert_eq!(outcome.lowest_at.si(), at);
    let hottest = outcome.hottest.unwrap();
    near(hottest.winding.si(), hot, 0.5);
    assert!(hottest.winding > hottest.case && hottest.case > Temperature::celsius(20.0));
    assert_eq!(hottest.over_limit, None);
    // Sag: the lowest voltage is under the open circuit by current times resistance at most.
    let sag = 15.0 * rig.battery.resistance.si();
    assert!(low >= rig.battery.open_circuit(outcome.state_of_charge).si() - sag - 1e-9);
}
