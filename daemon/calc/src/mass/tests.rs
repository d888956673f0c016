//! Tests of masses and the axle split.

use super::*;
use crate::quantity::Energy;

fn kg(value: f64) -> Mass {
    Mass::kilograms(value)
}

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected} ± {tolerance}"
    );
}

#[test]
fn split_is_usual_from_40_to_45_in_front() {
    // Dictionary of bicycle terms (common practice): 40 to 45 % in front. 38 and 62 kg is
    // outside, 45 and 55 inside.
    let split = |front, rear| Axles::weighed(kg(front), kg(rear)).unwrap().split();
    let Split::LightFront { move_forward } = split(38.0, 62.0) else {
        panic!("38 % is light");
    };
    near(move_forward.as_kilograms(), 2.0, 1e-9);
    assert_eq!(split(45.0, 55.0), Split::Usual);
    assert_eq!(split(40.0, 60.0), Split::Usual);
    assert!(matches!(split(39.9, 60.1), Split::LightFront { .. }));
    let Split::HeavyFront { move_back } = split(50.0, 50.0) else {
        panic!("50 % is heavy");
    };
    near(move_back.as_kilograms(), 5.0, 1e-9);
    assert!(matches!(split(45.1, 54.9), Split::HeavyFront { .. }));
    near(
        Axles::weighed(kg(38.0), kg(62.0)).unwrap().front_share(),
        0.38,
        1e-12,
    );
    assert!(Axles::weighed(kg(0.0), kg(62.0)).is_err());
    assert!(FRONT_SHARE_BASIS.may_stop());
}

#[test]
fn a_pack_by_its_place() {
    // Balance of moments by hand, wheelbase 1 050 mm, 3 kg: over the rear axle +3.0 rear and 0
    // front; at 470 mm +1.34 rear and +1.66 front.
    let bare = Axles {
        front: kg(45.0),
        rear: kg(60.0),
    };
    let rack = bare.with(kg(3.0), mm(1050.0), mm(1050.0)).unwrap();
    near(rack.rear.as_kilograms(), 63.0, 1e-9);
    near(rack.front.as_kilograms(), 45.0, 1e-9);
    let tube = bare.with(kg(3.0), mm(470.0), mm(1050.0)).unwrap();
    near(tube.rear.as_kilograms(), 61.34, 0.005);
    near(tube.front.as_kilograms(), 46.66, 0.005);
    near(tube.total().as_kilograms(), 108.0, 1e-9);

    let moved = rack.moved(kg(3.0), mm(1050.0), mm(470.0), mm(1050.0)).unwrap();
    near(moved.rear.as_kilograms(), tube.rear.as_kilograms(), 1e-9);
    near(moved.front.as_kilograms(), tube.front.as_kilograms(), 1e-9);
    let off = tube.without(kg(3.0), mm(470.0), mm(1050.0)).unwrap();
    near(off.rear.as_kilograms(), 60.0, 1e-9);
    near(off.front.as_kilograms(), 45.0, 1e-9);
    assert!(bare.with(kg(3.0), mm(470.0), mm(499.0)).is_err());
    assert!(bare.without(kg(-3.0), mm(470.0), mm(1050.0)).is_err());
}

#[test]
fn stored_masses() {
    // EN ISO 4210-4:2014 (extract): 100 kg, young adult 60; TBIS 15194:2019: 100 and 120.
    let tested: Vec<f64> = TEST_MASSES.iter().map(|row| row.kg).collect();
    assert_eq!(tested, [100.0, 60.0, 100.0, 120.0]);
    assert!(
        TEST_MASSES
            .iter()
            .all(|row| row.basis == Basis::Read && !row.source.is_empty())
    );
    // From memory: geared 2 to 4, direct 4.5 to 8, mid 3 to 6 kg.
    assert_eq!(part_mass("hub-motor-geared").unwrap().kg, [2.0, 4.0]);
    assert_eq!(part_mass("hub-motor-direct").unwrap().kg, [4.5, 8.0]);
    assert_eq!(part_mass("mid-motor").unwrap().kg, [3.0, 6.0]);
    assert_eq!(part_mass("anchor"), None);
    assert!(
        PART_MASSES
            .iter()
            .all(|row| row.basis == Basis::Memory && row.kg[0] <= row.kg[1])
    );
}

#[test]
fn packs_by_energy() {
    // From memory: 500 W·h is 2.5 to 3.6 kg. A data sheet read: 360 to 430 W·h at 3.5 kg is 103
    // to 123 W·h/kg, older cells, heavier than the range.
    let (light, heavy) = pack_mass(Energy::watt_hours(500.0)).unwrap();
    near(light.as_kilograms(), 2.5, 1e-9);
    near(heavy.as_kilograms(), 3.571, 0.001);
    assert!(pack_mass(Energy::watt_hours(430.0)).unwrap().1 < kg(3.5));
    assert!(pack_mass(Energy::watt_hours(49.0)).is_err());
    assert!(pack_mass(Energy::watt_hours(5001.0)).is_err());
}
