//! Traces against two recorded tracks, geodesic tables and roads made by hand.

use super::*;
use crate::solve::table::{Row, rows};

const TOWN: &str = include_str!("../../../../tests/reference/gpx/town.gpx");
const FLAT: &str = include_str!("../../../../tests/reference/gpx/flat.gpx");
const LENGTH: &str = include_str!("../../../../tests/reference/gpx/length.csv");
const ASCENT: &str = include_str!("../../../../tests/reference/gpx/ascent.csv");
const GEODESIC: &str = include_str!("../../../../tests/reference/tables/geodesic.csv");

/// Points of a reference file, whose lines are all of one form.
fn points(file: &str) -> Vec<Place> {
    let between = |text: &str, from: &str, to: &str| -> f64 {
        let rest = &text[text.find(from).unwrap() + from.len()..];
        rest[..rest.find(to).unwrap()].parse().unwrap()
    };
    file.lines()
        .filter(|line| line.contains("<trkpt"))
        .map(|line| Place {
            latitude: between(line, "lat=\"", "\""),
            longitude: between(line, "lon=\"", "\""),
            height: Some(Length::from_si(between(line, "<ele>", "</ele>"))),
        })
        .collect()
}

fn track(name: &str) -> Road {
    Road::new(&[points(if name == "town" { TOWN } else { FLAT })]).unwrap()
}

/// A road along a meridian near 50° north with a point every `step` metres or so.
fn made(heights: &[f64], step: f64) -> Vec<Place> {
    let degrees = step / 111_230.0;
    heights
        .iter()
        .enumerate()
        .map(|(index, height)| Place {
            latitude: 50.0 + degrees * index as f64,
            longitude: 8.0,
            height: Some(Length::from_si(*height)),
        })
        .collect()
}

fn recipe(name: &str) -> Recipe {
    let figure = |text: &str| Length::from_si(text.trim_end_matches('m').parse().unwrap());
    match name.split_once('_') {
        None => Recipe::Raw,
        Some(("band", width)) => Recipe::Band(figure(width)),
        Some(("zigzag", back)) => Recipe::Turns(figure(back)),
        Some(("mean", count)) => Recipe::Mean(count.parse().unwrap()),
        Some(("every", step)) => Recipe::Every(figure(step)),
        Some(other) => panic!("{other:?}"),
    }
}

#[test]
fn lengths_of_recorded_tracks_agree_with_geodesic_codes() {
    for row in rows(LENGTH) {
        let found = track(row.text("track")).length().si();
        assert!(
            (found - row.number("karney2d_m")).abs() < 1e-3,
            "{}: {found}",
            row.text("track")
        );
    }
}

#[test]
fn distances_agree_with_the_geodesic_table() {
    let place = |latitude, longitude| Place {
        latitude,
        longitude,
        height: None,
    };
    let table: Vec<Row<'_>> = rows(GEODESIC);
    assert!(table.len() > 100);
    for row in table {
        let from = place(row.number("lat1"), row.number("lon1"));
        let to = place(row.number("lat2"), row.number("lon2"));
        let found = distance(from, to).si();
        assert!(
            (found - row.number("karney_m")).abs() < 1e-6 * found.max(1.0),
            "{found}"
        );
    }
}

#[test]
fn climbing_agrees_recipe_by_recipe() {
    let tracks = [("town", track("town")), ("flat", track("flat"))];
    let table = rows(ASCENT);
    assert_eq!(table.len(), 44);
    for row in table {
        let (_, road) = tracks
            .iter()
            .find(|(name, _)| *name == row.text("track"))
            .unwrap();
        let found = road.climb(recipe(row.text("recipe"))).unwrap();
        for (found, column) in [(found.ascent, "ascent_m"), (found.descent, "descent_m")] {
            let wanted = row.number(column);
            assert!(
                (found.si() - wanted).abs() < 1.1e-3,
                "{} {} {column}: {} {wanted}",
                row.text("track"),
                row.text("recipe"),
                found.si()
            );
        }
    }
}

#[test]
fn a_recipe_out_of_range_is_refused() {
    let road = track("town");
    for recipe in [
        Recipe::Band(Length::from_si(-1.0)),
        Recipe::Turns(Length::from_si(101.0)),
        Recipe::Mean(4),
        Recipe::Mean(0),
        Recipe::Every(Length::from_si(0.5)),
        Recipe::Band(Length::from_si(f64::NAN)),
    ] {
        assert!(
            matches!(road.climb(recipe), Err(TraceError::Input { .. })),
            "{recipe:?}"
        );
    }
}

#[test]
fn legs_keep_length_and_rise() {
    // 1 in 20 over 2 000 m by hand: rises 100 m, each leg is hypot(10, 0.5) m.
    let heights: Vec<f64> = (0..=200).map(|index| f64::from(index) * 0.5).collect();
    let mut road = Road::new(&[made(&heights, 10.0)]).unwrap();
    let legs = road.legs(Length::from_si(10.0), Length::ZERO).unwrap();
    let rise: f64 = legs.iter().map(|leg| leg.length.si() * leg.grade.sin()).sum();
    assert!((rise - 100.0).abs() < 1e-6, "{rise}");
    let run: f64 = legs.iter().map(|leg| leg.length.si() * leg.grade.cos()).sum();
    assert!((run - road.length().si()).abs() < 1e-6, "{run}");
    assert!(legs.iter().all(|leg| (leg.grade.as_ratio() - 0.05).abs() < 2e-4));
    assert_eq!(road.mended.cut, 0);
}

#[test]
fn noise_makes_no_hills_once_it_is_smoothed() {
    // A level road whose heights jump by 1 m from point to point: 10 % up and down unsmoothed.
    let heights: Vec<f64> = (0..=400).map(|index| f64::from(index % 2)).collect();
    let mut road = Road::new(&[made(&heights, 10.0)]).unwrap();
    let steepest = |legs: Vec<Leg>| {
        legs.iter()
            .map(|leg| leg.grade.as_ratio().abs())
            .fold(0.0, f64::max)
    };
    let rough = steepest(road.legs(Length::from_si(10.0), Length::ZERO).unwrap());
    let smooth = steepest(road.legs(Length::from_si(10.0), Length::from_si(100.0)).unwrap());
    assert!(rough > 0.09 && smooth < 0.02, "{rough} {smooth}");
}

#[test]
fn a_cliff_is_cut_and_counted() {
    let mut road = Road::new(&[made(&[0.0, 0.0, 30.0, 30.0], 20.0)]).unwrap();
    let legs = road.legs(Length::from_si(20.0), Length::ZERO).unwrap();
    assert!(legs.iter().all(|leg| leg.grade.as_ratio() <= STEEPEST + 1e-12));
    assert_eq!(road.mended.cut, 1);
    for (step, window) in [
        (0.5, 0.0),
        (1_001.0, 0.0),
        (10.0, -1.0),
        (10.0, 1_001.0),
        (f64::NAN, 0.0),
    ] {
        assert!(
            road.legs(Length::from_si(step), Length::from_si(window)).is_err(),
            "{step} {window}"
        );
    }
}

#[test]
fn missing_heights_are_taken_between_their_neighbours_and_counted() {
    let mut places = made(&[10.0, 0.0, 0.0, 40.0, 40.0], 10.0);
    places[1].height = None;
    // Out of any height on a road: a recorder's fault.
    places[2].height = Some(Length::from_si(9_999.0));
    places[4].height = Some(Length::from_si(f64::NAN));
    let road = Road::new(std::slice::from_ref(&places)).unwrap();
    assert_eq!((road.mended.heights, road.mended.level), (3, false));
    for (found, wanted) in road.runs[0].height.iter().zip([10.0, 20.0, 30.0, 40.0, 40.0]) {
        assert!((found - wanted).abs() < 1e-3, "{:?}", road.runs);
    }
    for place in &mut places {
        place.height = None;
    }
    let level = Road::new(&[places]).unwrap();
    assert!(level.mended.level && level.mended.heights == 5);
    assert_eq!(level.climb(Recipe::Raw).unwrap().ascent, Length::ZERO);
    // Before the first known height and after the last it is level.
    let mut ends = made(&[0.0, 7.0, 0.0], 10.0);
    ends[0].height = None;
    ends[2].height = None;
    assert_eq!(Road::new(&[ends]).unwrap().runs[0].height, vec![7.0, 7.0, 7.0]);
}

#[test]
fn short_gaps_are_ridden_and_long_ones_left_out() {
    let all = made(&[0.0; 40], 50.0);
    let parts = |first: usize, second: usize| vec![all[..first].to_vec(), all[second..].to_vec()];
    let whole = Road::new(std::slice::from_ref(&all)).unwrap().length().si();
    let near = Road::new(&parts(20, 21)).unwrap();
    assert_eq!((near.mended.joined, near.mended.left_out), (1, 0));
    assert!((near.length().si() - whole).abs() < 1e-6);
    let far = Road::new(&parts(20, 30)).unwrap();
    assert_eq!((far.mended.joined, far.mended.left_out), (0, 1));
    assert!((far.length().si() + far.mended.gap.si() - whole).abs() < 1e-6);
    assert!(far.mended.gap.si() > 500.0);
}

#[test]
fn what_is_no_road_is_refused() {
    let place = |latitude, longitude| Place {
        latitude,
        longitude,
        height: None,
    };
    assert_eq!(Road::new(&[]).unwrap_err(), TraceError::NoRoad);
    assert_eq!(
        Road::new(&[vec![place(50.0, 8.0)]]).unwrap_err(),
        TraceError::NoRoad
    );
    assert_eq!(
        Road::new(&[vec![place(50.0, 8.0); 9]]).unwrap_err(),
        TraceError::NoRoad
    );
    for (latitude, longitude) in [
        (91.0, 8.0),
        (-90.1, 8.0),
        (50.0, 180.1),
        (f64::NAN, 8.0),
        (50.0, f64::INFINITY),
    ] {
        let refused = Road::new(&[vec![place(50.0, 8.0), place(latitude, longitude)]]).unwrap_err();
        assert!(
            matches!(refused, TraceError::Point { index: 1, .. }),
            "{refused:?}"
        );
    }
    assert!(Road::new(&[vec![place(90.0, 180.0), place(89.99, -180.0)]]).is_ok());
}

#[test]
fn heights_on_both_sides_of_a_gap_left_out_make_no_hill() {
    // 20 points at 0 m, 9 left out, 20 points at 300 m: level both sides, by hand.
    let all = made(&[vec![0.0; 20], vec![300.0; 20]].concat(), 50.0);
    let mut road = Road::new(&[all[..15].to_vec(), all[25..].to_vec()]).unwrap();
    assert_eq!(road.mended.left_out, 1);
    for recipe in [
        Recipe::Raw,
        Recipe::Band(Length::from_si(2.0)),
        Recipe::Turns(Length::from_si(2.0)),
        Recipe::Mean(5),
        Recipe::Every(Length::from_si(25.0)),
    ] {
        let climb = road.climb(recipe).unwrap();
        assert_eq!(
            (climb.ascent, climb.descent),
            (Length::ZERO, Length::ZERO),
            "{recipe:?}"
        );
    }
    let legs = road.legs(Length::from_si(10.0), Length::from_si(60.0)).unwrap();
    assert!(legs.iter().all(|leg| leg.grade.as_ratio() == 0.0));
    assert_eq!(road.mended.cut, 0);
}

#[test]
fn smoothing_keeps_the_rise_and_the_last_leg_is_no_stub() {
    // 1 in 10 over 1 000 m or so: rises 100 m however it is smoothed; a road of 1 003.1 m in legs of
    // about 10 m is 100 legs of 10.031 m.
    let heights: Vec<f64> = (0..=100).map(f64::from).collect();
    let mut road = Road::new(&[made(&heights, 10.031)]).unwrap();
    for window in [0.0, 60.0, 1_000.0] {
        let legs = road.legs(Length::from_si(10.0), Length::from_si(window)).unwrap();
        let rise: f64 = legs.iter().map(|leg| leg.length.si() * leg.grade.sin()).sum();
        assert!((rise - 100.0).abs() < 1e-9, "{window}: {rise}");
        assert_eq!(legs.len(), 100);
        assert!(
            legs.iter()
                .all(|leg| (leg.grade.as_ratio() - 100.0 / road.length().si()).abs() < 2e-4)
        );
        let run = |leg: &Leg| leg.length.si() * leg.grade.cos();
        let even = road.length().si() / 100.0;
        assert!(legs.iter().all(|leg| (run(leg) - even).abs() < 1e-9));
    }
}

#[test]
fn a_gap_of_exactly_what_is_joined_is_ridden_and_a_wider_one_is_not() {
    let apart = |metres: f64| {
        let first = made(&[0.0, 0.0], 10.0);
        // Northward from the last point by the local radius, then measured.
        let mut second = first.clone();
        for place in &mut second {
            place.latitude += (metres + 10.0) / 111_229.0;
        }
        (
            distance(first[1], second[0]),
            Road::new(&[first, second]).unwrap(),
        )
    };
    let (gap, road) = apart(99.9);
    assert!(gap < JOINED && road.mended.joined == 1, "{gap:?}");
    let (gap, road) = apart(100.1);
    assert!(
        gap > JOINED && road.mended.left_out == 1 && road.mended.gap == gap,
        "{gap:?}"
    );
}

#[test]
fn heights_are_not_carried_over_a_gap_left_out() {
    let mut first = made(&[5.0, 5.0, 5.0], 50.0);
    first[2].height = None;
    let mut second = made(&[0.0, 90.0, 90.0], 50.0);
    for place in &mut second {
        place.latitude += 0.1;
    }
    second[0].height = None;
    let mut third = made(&[0.0, 0.0], 50.0);
    for place in &mut third {
        place.latitude += 0.2;
        place.height = None;
    }
    let road = Road::new(&[first, second, third]).unwrap();
    assert_eq!((road.mended.heights, road.mended.level), (4, false));
    assert_eq!(road.climb(Recipe::Raw).unwrap(), Climb::default());
    assert_eq!(road.runs[0].height, vec![5.0; 3]);
    assert_eq!(road.runs[1].height, vec![90.0; 3]);
}

#[test]
fn a_road_longer_than_any_ride_is_refused_before_it_fills_the_memory() {
    // From pole to pole and back: 20 004 km each time (meridian of WGS84).
    let poles: Vec<Place> = (0..1_000)
        .map(|index| Place {
            latitude: if index % 2 == 0 { 90.0 } else { -90.0 },
            longitude: 0.0,
            height: None,
        })
        .collect();
    let Err(TraceError::TooLong { length }) = Road::new(&[poles]) else {
        panic!("ridden from pole to pole");
    };
    assert!((length.as_kilometres() - 20_004.0).abs() < 1.0, "{length:?}");
    // On both sides of the bound: 18 degrees of meridian near the equator are 1 991 km, 19 are 2 101 km.
    let north = |degrees: u32| {
        (0..=degrees)
            .map(|index| Place {
                latitude: f64::from(index),
                longitude: 0.0,
                height: None,
            })
            .collect::<Vec<_>>()
    };
    let road = Road::new(&[north(18)]).unwrap();
    assert_eq!(road.mended.sparse, 18);
    assert!(Road::new(&[north(19)]).is_err());
}

#[test]
fn what_was_cut_is_counted_anew_each_time() {
    let mut road = Road::new(&[made(&[0.0, 0.0, 30.0, 30.0], 20.0)]).unwrap();
    for _ in 0..2 {
        drop(road.legs(Length::from_si(20.0), Length::ZERO).unwrap());
        assert_eq!(road.mended.cut, 1);
    }
}

#[test]
fn a_road_shorter_than_a_step_is_one_leg() {
    let mut road = Road::new(&[made(&[0.0, 0.05], 3.0)]).unwrap();
    let legs = road.legs(Length::from_si(10.0), Length::from_si(60.0)).unwrap();
    assert_eq!(legs.len(), 1);
    let rise = legs[0].length.si() * legs[0].grade.sin();
    assert!((rise - 0.05).abs() < 1e-12, "{rise}");
}

#[test]
fn neighbours_far_apart_are_ridden_straight_and_counted() {
    let near = Road::new(&[made(&[0.0; 3], 999.0)]).unwrap();
    assert_eq!(near.mended.sparse, 0);
    let far = Road::new(&[made(&[0.0; 3], 1_001.0)]).unwrap();
    assert_eq!(far.mended.sparse, 2);
    assert!((far.length().si() - 2_002.0).abs() < 1.0);
}

#[test]
fn a_summit_is_rounded_by_the_mean_over_the_window() {
    // By hand: 0, 0, 0, 3, 0, 0, 0 m over three neighbours is 0, 0, 1, 1, 1, 0, 0 m.
    let mut road = Road::new(&[made(&[0.0, 0.0, 0.0, 3.0, 0.0, 0.0, 0.0], 10.0)]).unwrap();
    let grades = |legs: Vec<Leg>| -> Vec<f64> {
        legs.iter()
            .map(|leg| (leg.grade.as_ratio() * 1_000.0).round() / 1_000.0)
            .collect()
    };
    // Half a window of one step, and of half a step rounded up.
    for window in [20.0, 10.1] {
        let legs = road.legs(Length::from_si(10.0), Length::from_si(window)).unwrap();
        assert_eq!(grades(legs), [0.0, 0.1, 0.0, 0.0, -0.1, 0.0]);
    }
    let legs = road.legs(Length::from_si(10.0), Length::from_si(9.0)).unwrap();
    assert_eq!(grades(legs), [0.0, 0.0, 0.3, -0.3, 0.0, 0.0]);
}

#[test]
fn a_lone_point_beyond_a_gap_is_no_leg_and_no_hill() {
    let mut lone = made(&[900.0], 10.0);
    lone[0].latitude += 1.0;
    let line = made(&[0.0, 1.0, 2.0], 10.0);
    for segments in [[line.clone(), lone.clone()], [lone, line]] {
        let mut road = Road::new(&segments).unwrap();
        for recipe in [
            Recipe::Raw,
            Recipe::Band(Length::from_si(1.0)),
            Recipe::Turns(Length::from_si(1.0)),
            Recipe::Mean(1),
            Recipe::Every(Length::from_si(1.0)),
        ] {
            let climb = road.climb(recipe).unwrap();
            assert!((climb.ascent.si() - 2.0).abs() < 1e-9, "{recipe:?}: {climb:?}");
            assert_eq!(climb.descent, Length::ZERO);
        }
        let legs = road.legs(Length::from_si(10.0), Length::ZERO).unwrap();
        assert_eq!(legs.len(), 2);
        assert!(legs.iter().all(|leg| (leg.grade.as_ratio() - 0.1).abs() < 1e-4));
    }
}

#[test]
fn heights_are_filled_by_distance_not_by_count() {
    // 20 m to the first known height, then points at 10, 10 and 30 m further: 100, ., ., 150 m.
    let mut places = made(&[100.0, 100.0, 0.0, 0.0, 150.0], 20.0);
    for (place, metres) in places.iter_mut().zip([0.0, 20.0, 30.0, 40.0, 70.0]) {
        place.latitude = 50.0 + metres / 111_230.0;
    }
    (places[2].height, places[3].height) = (None, None);
    let road = Road::new(&[places]).unwrap();
    for (found, wanted) in road.runs[0]
        .height
        .iter()
        .zip([100.0, 100.0, 110.0, 120.0, 150.0])
    {
        assert!((found - wanted).abs() < 1e-3, "{:?}", road.runs);
    }
}

#[test]
fn a_road_measured_along_is_the_same_road() {
    // Worked by hand: 100 m up 5 m, then a gap, then 50 m down 2 m; the height missing in the middle
    // lies straight between its neighbours.
    let at = |metres: f64, height: Option<f64>| (Length::metres(metres), height.map(Length::metres));
    let road = Road::along(&[
        vec![at(10.0, Some(100.0)), at(60.0, None), at(110.0, Some(105.0))],
        vec![],
        vec![at(400.0, Some(90.0)), at(450.0, Some(88.0))],
    ])
    .unwrap();
    assert_eq!(road.length(), Length::metres(150.0));
    let climb = road.climb(Recipe::Raw).unwrap();
    assert_eq!(
        (climb.ascent, climb.descent),
        (Length::metres(5.0), Length::metres(2.0))
    );
    assert_eq!(road.mended.heights, 1);
    assert_eq!(Road::along(&[vec![at(1.0, None)]]), Err(TraceError::NoRoad));
    for bad in [0.0, f64::NAN] {
        let falls = Road::along(&[vec![at(1.0, None), at(bad, None)]]);
        assert!(matches!(falls, Err(TraceError::Input { name: "distance", .. })));
    }
    let long = Road::along(&[vec![at(0.0, None), at(2e6 + 1.0, None)]]);
    assert!(matches!(long, Err(TraceError::TooLong { .. })));
}
