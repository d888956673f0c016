//! Tests of the way: distances, speeds and roads out of what a file says, worked by hand.

use super::*;
use crate::ridelog::Format;
use lockring_calc::trace::Place;

fn sample(time: f64) -> Sample {
    Sample {
        time: Duration::from_si(time),
        speed: None,
        power: None,
        motor_power: None,
        cadence: None,
        altitude: None,
        distance: None,
        battery: None,
        place: None,
    }
}

fn of(samples: Vec<Sample>) -> Way {
    Way::of(&log(samples))
}

fn log(samples: Vec<Sample>) -> Log {
    Log {
        format: Format::Csv,
        began: None,
        samples,
        repairs: Vec::new(),
    }
}

fn gone(way: &Way) -> Vec<f64> {
    way.gone.iter().map(|gone| gone.si()).collect()
}

fn speeds(way: &Way) -> Vec<Option<f64>> {
    way.speed
        .iter()
        .map(|speed| speed.map(|speed| speed.si()))
        .collect()
}

fn with_distance(rows: &[(f64, f64)]) -> Vec<Sample> {
    let sample = |(time, distance): &(f64, f64)| Sample {
        distance: Some(Length::from_si(*distance)),
        ..sample(*time)
    };
    rows.iter().map(sample).collect()
}

#[test]
fn distances_written_count_from_zero_and_a_counter_set_back_adds_nothing() {
    let way = of(with_distance(&[
        (0.0, 100.0),
        (1.0, 105.0),
        (2.0, 3.0),
        (3.0, 9.0),
    ]));
    assert_eq!(way.by, By::Distance);
    assert_eq!(gone(&way), [0.0, 5.0, 5.0, 11.0]);
    assert_eq!(way.length().si(), 11.0);
    assert_eq!(of(Vec::new()).length().si(), 0.0);
}

/// Speed across the neighbours: (5 - 0) / 1, (9 - 0) / 3, (9 - 5) / 2; after the pause from its own side.
#[test]
fn a_speed_is_worked_out_across_the_neighbours_and_not_across_a_pause() {
    let way = of(with_distance(&[
        (0.0, 0.0),
        (1.0, 5.0),
        (3.0, 9.0),
        (13.5, 40.0),
        (14.5, 44.0),
    ]));
    assert!(way.derived);
    assert_eq!(
        speeds(&way),
        [Some(5.0), Some(3.0), Some(2.0), Some(4.0), Some(4.0)]
    );
    // Ten seconds are no pause yet; a sample between two pauses has no speed.
    let way = of(with_distance(&[(0.0, 0.0), (10.0, 50.0)]));
    assert_eq!(speeds(&way), [Some(5.0), Some(5.0)]);
    let way = of(with_distance(&[(0.0, 0.0), (10.1, 50.0), (20.3, 60.0)]));
    assert_eq!(speeds(&way), [None, None, None]);
}

#[test]
fn speeds_are_summed_by_their_mean_and_not_across_a_pause() {
    let rows = [(0.0, 4.0), (2.0, 6.0), (12.0, 6.0), (22.1, 8.0), (23.1, 2.0)];
    let samples = rows.map(|(time, speed)| Sample {
        speed: Some(Speed::from_si(speed)),
        ..sample(time)
    });
    let way = of(samples.into());
    assert_eq!(way.by, By::Speed);
    // 5 m/s for 2 s, 6 m/s for 10 s, a pause of 10.1 s, 5 m/s for 1 s.
    assert_eq!(gone(&way), [0.0, 10.0, 70.0, 70.0, 75.0]);
    assert!(!way.derived);
    assert_eq!(speeds(&way), rows.map(|(_, speed)| Some(speed)));
}

/// A minute of arc of latitude at the equator is 1842.9 m (WGS 84, to a tenth; from memory).
#[test]
fn places_are_summed_as_geodesics() {
    let at = |minutes: f64| {
        Some(Place {
            latitude: minutes / 60.0,
            longitude: 7.0,
            height: None,
        })
    };
    let samples = [0.0, 1.0, 2.0].map(|minutes| Sample {
        place: at(minutes),
        ..sample(minutes)
    });
    let way = of(samples.into());
    assert_eq!((way.by, way.derived), (By::Places, true));
    for (got, want) in gone(&way).iter().zip([0.0, 1842.9, 2.0 * 1842.9]) {
        assert!((got - want).abs() < 0.5, "{got}");
    }
}

#[test]
fn what_only_half_of_the_samples_tell_is_not_what_the_way_is_told_by() {
    let speed = |speed: f64| Some(Speed::from_si(speed));
    let mut samples = with_distance(&[(0.0, 0.0), (1.0, 90.0), (2.0, 0.0), (3.0, 0.0)]);
    for (place, sample) in samples.iter_mut().enumerate() {
        sample.speed = speed(3.0);
        if place >= 2 {
            sample.distance = None;
        }
    }
    let way = of(samples.clone());
    assert_eq!((way.by, way.length().si()), (By::Speed, 9.0), "two of four");
    samples[2].distance = Some(Length::from_si(91.0));
    assert_eq!(of(samples.clone()).by, By::Distance, "three of four");
    // Speeds that only half have are worked out instead, where the way is known.
    samples[3].speed = None;
    samples[2].speed = None;
    let way = of(samples);
    assert!(way.derived);
    let nothing = of(vec![sample(0.0), sample(1.0)]);
    assert_eq!((nothing.by, nothing.derived), (By::Nothing, false));
    assert_eq!(gone(&nothing), [0.0, 0.0]);
    assert_eq!(
        [By::Distance, By::Speed, By::Places, By::Nothing].map(By::said),
        [
            "by the file's own distances",
            "by its speeds",
            "by its places",
            ""
        ]
    );
}

/// Up 2 m, a pause of 20 s in which 5 m are gained, up 3 m: the gain of the pause is not ridden.
#[test]
fn a_road_is_parted_where_the_log_pauses() {
    let mut samples = with_distance(&[
        (0.0, 0.0),
        (5.0, 50.0),
        (10.0, 100.0),
        (30.0, 100.0),
        (35.0, 150.0),
    ]);
    for (sample, height) in samples.iter_mut().zip([0.0, 1.0, 2.0, 7.0, 10.0]) {
        sample.altitude = Some(Length::from_si(height));
    }
    let log = log(samples);
    let road = Way::of(&log).road(&log).unwrap();
    let band = lockring_calc::trace::Recipe::Band(Length::from_si(0.5));
    let climb = road.climb(band).unwrap();
    assert!((climb.ascent.si() - 5.0).abs() < 1e-9, "{climb:?}");
}
