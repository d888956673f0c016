//! Made roads against the totals they were made from, added up step by step.

use super::*;
use crate::tour::Track;

fn words() -> Description {
    Description {
        length: Length::kilometres(24.0),
        climb: Length::metres(240.0),
        stops_per_km: 1.5,
        standing: Duration::seconds(15.0),
        hills: Grade::percent(4.0),
        worst: Some(Hill {
            grade: Grade::percent(10.8),
            length: Length::metres(350.0),
        }),
        surfaces: vec![
            Surface {
                share: 0.7,
                rolling: 1.0,
            },
            Surface {
                share: 0.25,
                rolling: 2.0,
            },
            Surface {
                share: 0.05,
                rolling: 3.0,
            },
        ],
    }
}

fn rise(step: &Step) -> f64 {
    step.length.si() * step.grade.sin()
}

fn sum(steps: &[Step], of: impl Fn(&Step) -> f64) -> f64 {
    steps.iter().map(of).sum()
}

fn close(found: f64, wanted: f64, what: &str) {
    assert!(
        (found - wanted).abs() <= 1e-9 * wanted.abs().max(1.0),
        "{what}: {found} {wanted}"
    );
}

fn check_totals(words: &Description) -> Described {
    let road = words.road().unwrap();
    close(
        sum(&road.steps, |step| step.length.si()),
        words.length.si(),
        "length",
    );
    close(
        sum(&road.steps, |step| rise(step).max(0.0)),
        words.climb.si(),
        "climb",
    );
    close(
        sum(&road.steps, |step| (-rise(step)).max(0.0)),
        words.climb.si(),
        "fall",
    );
    for surface in &words.surfaces {
        let on = |step: &Step| f64::from(u8::from(step.rolling == surface.rolling)) * step.length.si();
        close(sum(&road.steps, on), surface.share * words.length.si(), "surface");
    }
    let stops = road.steps.iter().filter(|step| step.stop.is_some()).count();
    assert_eq!(stops, road.stops);
    let wanted = words.stops_per_km * words.length.as_kilometres();
    assert!((stops as f64 - wanted).abs() <= 0.5, "{stops} {wanted}");
    assert!(road.steps.iter().all(|step| step.length.si() <= LONGEST));
    assert_eq!(
        Track::new(&road.steps).unwrap().length(),
        road.steps.iter().map(|step| step.length).sum()
    );
    road
}

#[test]
fn length_climbing_stops_and_surfaces_come_out_as_told() {
    check_totals(&words());
    for (km, climb, stops, hills) in [
        (0.1, 0.0, 0.0, 4.0),
        (0.5, 3.0, 10.0, 4.0),
        (3.0, 0.0, 2.5, 4.0),
        (9.99, 400.0, 0.3, 2.0),
        (100.0, 1_000.0, 50.0, 8.0),
        (2_000.0, 30_000.0, 0.01, 35.0),
    ] {
        check_totals(&Description {
            length: Length::kilometres(km),
            climb: Length::metres(climb),
            stops_per_km: stops,
            hills: Grade::percent(hills),
            worst: None,
            surfaces: Vec::new(),
            ..words()
        });
    }
}

#[test]
fn hills_have_the_grade_told_while_there_is_room_and_are_steeper_beyond() {
    // By hand: 10 km are 5 rounds of 2 000 m; 0.4 of each at 4 % rise 5 * 800 * 0.039968 = 159.87 m.
    let with = |climb: f64| {
        check_totals(&Description {
            length: Length::kilometres(10.0),
            climb: Length::metres(climb),
            worst: None,
            ..words()
        })
    };
    assert!((with(159.8).hills.as_percent() - 4.0).abs() < 1e-9);
    assert!((with(100.0).hills.as_percent() - 4.0).abs() < 1e-9);
    // 400 m on 4 000 m of hills: a sine of 0.1, 10.05 %.
    assert!((with(400.0).hills.as_percent() - 10.050_378).abs() < 1e-6);
    assert_eq!(with(0.0).hills, Grade::LEVEL);
}

#[test]
fn the_worst_hill_stands_once_near_the_middle_and_goes_down_again() {
    let road = check_totals(&words());
    let steep = |step: &&Step| (step.grade.as_percent().abs() - 10.8).abs() < 1e-9;
    let up: f64 = road
        .steps
        .iter()
        .filter(steep)
        .filter(|step| step.grade > Grade::LEVEL)
        .map(|step| step.length.si())
        .sum();
    let down: f64 = road
        .steps
        .iter()
        .filter(steep)
        .filter(|step| step.grade < Grade::LEVEL)
        .map(|step| step.length.si())
        .sum();
    close(up, 350.0, "up");
    close(down, 350.0, "down");
    let first = road.steps.iter().position(|step| steep(&step)).unwrap();
    let before: f64 = road.steps[..first].iter().map(|step| step.length.si()).sum();
    // 23.3 km in 12 rounds, six of them before it.
    close(before, 11_650.0, "before the hill");
    let hill = &road.steps[first..];
    let gravel: f64 = hill
        .iter()
        .take_while(|step| step.grade > Grade::LEVEL)
        .filter(|step| step.rolling == 2.0)
        .map(|step| step.length.si())
        .sum();
    close(gravel, 0.25 * 350.0, "gravel on the hill");
}

#[test]
fn stops_are_evenly_apart() {
    let road = check_totals(&words());
    let mut at = 0.0;
    let mut stops = Vec::new();
    for step in &road.steps {
        at += step.length.si();
        if let Some(standing) = step.stop {
            assert_eq!(standing, Duration::seconds(15.0));
            stops.push(at);
        }
    }
    // 36 stops on 24 km: the first after half of 666.7 m, the others 666.7 m apart.
    assert_eq!(stops.len(), 36);
    for (index, at) in stops.iter().enumerate() {
        assert!(
            (at - (index as f64 + 0.5) * 24_000.0 / 36.0).abs() < 2.0 * TINY * 36.0,
            "{index}: {at}"
        );
    }
    let level = Description {
        length: Length::kilometres(4.0),
        climb: Length::ZERO,
        stops_per_km: 1.0,
        worst: None,
        ..words()
    };
    assert_eq!(check_totals(&level).stops, 4);
    let seam = Description {
        length: Length::kilometres(6.0),
        stops_per_km: 0.5,
        surfaces: vec![
            Surface {
                share: 0.5,
                rolling: 1.0,
            },
            Surface {
                share: 0.5,
                rolling: 2.0,
            },
        ],
        ..level
    };
    // Stops at 1, 3 and 5 km, where one surface goes over into the other: one stop each.
    assert_eq!(check_totals(&seam).stops, 3);
}

#[test]
fn what_makes_no_road_is_refused_by_name() {
    let name = |change: &dyn Fn(&mut Description)| {
        let mut words = words();
        change(&mut words);
        match words.road() {
            Err(DescribedError::Input { name, .. }) => name,
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(name(&|w| w.length = Length::metres(99.9)), "length");
    assert_eq!(name(&|w| w.length = Length::kilometres(2_000.1)), "length");
    assert_eq!(name(&|w| w.length = Length::from_si(f64::NAN)), "length");
    assert_eq!(name(&|w| w.climb = Length::metres(-0.1)), "climb");
    assert_eq!(name(&|w| w.stops_per_km = 50.1), "stops_per_km");
    assert_eq!(name(&|w| w.standing = Duration::seconds(-1.0)), "standing");
    assert_eq!(name(&|w| w.hills = Grade::LEVEL), "hills");
    assert_eq!(name(&|w| w.hills = Grade::percent(35.1)), "hills");
    assert_eq!(
        name(&|w| w.surfaces[0].share = 0.69),
        "shares of surfaces together"
    );
    assert_eq!(name(&|w| w.surfaces[2].rolling = 20.1), "rolling");
    assert_eq!(
        name(&|w| (w.surfaces[0].share, w.surfaces[1].share) = (-0.05, 1.0)),
        "share"
    );
    let worst = |grade: f64, length: f64| {
        Some(Hill {
            grade: Grade::percent(grade),
            length: Length::metres(length),
        })
    };
    assert_eq!(name(&|w| w.worst = worst(36.0, 100.0)), "worst_grade");
    assert_eq!(name(&|w| w.worst = worst(8.0, 0.9)), "worst_length");
}

#[test]
fn a_worst_hill_that_does_not_fit_and_climbing_beyond_any_road_are_refused() {
    let hill = Hill {
        grade: Grade::percent(10.0),
        length: Length::metres(1_000.0),
    };
    let mut words = Description {
        worst: Some(hill),
        ..words()
    };
    // GRAD-2 of the project's physics notes: 1 000 m along a 1 in 10 slope rise 99.5 m.
    assert!((hill.rise().si() - 99.5).abs() < 0.01);
    words.climb = hill.rise();
    assert_eq!(check_totals(&words).hills, Grade::LEVEL);
    words.climb = Length::metres(99.4);
    assert!(matches!(words.road(), Err(DescribedError::HillTooHigh { .. })));
    words.climb = Length::metres(99.6);
    words.length = Length::metres(2_000.0);
    assert!(matches!(words.road(), Err(DescribedError::HillTooLong { .. })));
    words.length = Length::metres(2_001.0);
    check_totals(&words);
    // 0.4 of 10 km at 35 % at most: a sine of 0.330 350, 1 321.4 m.
    let steep = |climb: f64| {
        Description {
            length: Length::kilometres(10.0),
            climb: Length::metres(climb),
            worst: None,
            ..words.clone()
        }
        .road()
    };
    assert!(steep(1_321.3).is_ok());
    let Err(DescribedError::TooSteep { most, .. }) = steep(1_321.5) else {
        panic!("steeper than any road");
    };
    assert!((most.si() - 1_321.4).abs() < 0.1, "{most:?}");
    // With 1 000 m of worst hill up and down it is 0.4 of 8 km, 1 057.1 m, and its own 99.5 m.
    words.length = Length::kilometres(10.0);
    words.climb = Length::metres(1_200.0);
    let Err(DescribedError::TooSteep { most, .. }) = words.road() else {
        panic!("steeper than any road");
    };
    assert!((most.si() - 1_156.6).abs() < 0.1, "{most:?}");
}
