//! Tests of gathering: what follows, what is left out and counted, and what is kept.

use super::*;

fn with(time: f64, column: Column, figure: f64, gather: &mut Gather) {
    let mut figures: Figures = [None; Column::ALL.len()];
    figures[column as usize] = Some(figure);
    gather.take(time, &figures);
}

fn gathered() -> Gather {
    Gather::new(Format::Csv, true)
}

#[test]
fn a_time_follows_when_it_is_later_and_no_month_has_passed() {
    let mut gather = gathered();
    assert!(gather.follows(-7.0), "anything may begin");
    assert!(!gather.follows(f64::NAN) && !gather.follows(f64::INFINITY));
    with(1_000.0, Column::Speed, 5.0, &mut gather);
    for (time, follows) in [
        (1_000.0, false),
        (999.0, false),
        (1_000.1, true),
        (1_000.0 + LONGEST_STEP, true),
        (1_001.0 + LONGEST_STEP, false),
    ] {
        assert_eq!(gather.follows(time), follows, "{time}");
    }
    with(1_000.0, Column::Speed, 5.0, &mut gather);
    with(1_002.5, Column::Speed, 5.0, &mut gather);
    let log = gather.finish().unwrap();
    let times: Vec<f64> = log.samples.iter().map(|sample| sample.time.si()).collect();
    assert_eq!((times, log.began), (vec![0.0, 2.5], Some(1_000.0)));
    assert_eq!(log.repairs, [Repair::Times { samples: 1 }]);
}

#[test]
fn a_last_sample_taken_back_lets_the_next_follow_the_one_before() {
    let mut gather = gathered();
    for time in [100.0, 101.0, 5_000.0] {
        with(time, Column::Speed, 5.0, &mut gather);
    }
    gather.forget_last();
    assert!(gather.follows(102.0) && !gather.follows(101.0));
    gather.forget_last();
    gather.forget_last();
    assert!(gather.follows(-5.0), "nothing is left to follow");
    // Nothing is counted where nothing was.
    gather.forget_last();
    with(7.0, Column::Speed, 5.0, &mut gather);
    let log = gather.finish().unwrap();
    assert_eq!(log.repairs, [Repair::Times { samples: 3 }]);
    assert_eq!((log.samples.len(), log.began), (1, Some(7.0)));
}

/// Each window is closed: its ends are believed, what lies beyond is left out and counted.
#[test]
fn a_figure_outside_its_window_is_left_out_and_counted() {
    for column in Column::ALL {
        let (low, high, _) = column.window();
        let mut gather = gathered();
        for (time, figure) in [(0.0, low), (1.0, high), (2.0, low - 1e-6), (3.0, high + 1e-6)] {
            let mut figures: Figures = [None; Column::ALL.len()];
            // A place needs both.
            figures[Column::Latitude as usize] = Some(1.0);
            figures[Column::Longitude as usize] = Some(1.0);
            figures[column as usize] = Some(figure);
            gather.take(time, &figures);
        }
        gather.wrong(column);
        let log = gather.finish().unwrap();
        assert_eq!(log.repairs, [Repair::Figures { column, count: 3 }], "{column:?}");
        let told: Vec<bool> = log
            .samples
            .iter()
            .map(|sample| {
                let one = Log {
                    samples: vec![*sample],
                    ..log.clone()
                };
                one.has(column)
            })
            .collect();
        assert_eq!(told, [true, true, false, false], "{column:?}");
    }
}

#[test]
fn no_place_is_the_one_a_recorder_has_not_found_yet() {
    let mut gather = gathered();
    let at = |latitude: f64, longitude: f64| {
        let mut figures: Figures = [None; Column::ALL.len()];
        figures[Column::Latitude as usize] = Some(latitude);
        figures[Column::Longitude as usize] = Some(longitude);
        figures[Column::Altitude as usize] = Some(12.0);
        figures
    };
    for (time, (latitude, longitude)) in [(0.0, 0.0), (0.0, 7.0), (52.0, 0.0)].into_iter().enumerate() {
        gather.take(time as f64, &at(latitude, longitude));
    }
    let log = gather.finish().unwrap();
    let there: Vec<bool> = log.samples.iter().map(|sample| sample.place.is_some()).collect();
    assert_eq!(there, [false, true, true]);
    let place = log.samples[2].place.unwrap();
    assert_eq!(
        (
            place.latitude,
            place.longitude,
            place.height.map(|height| height.si())
        ),
        (52.0, 0.0, Some(12.0))
    );
}

#[test]
fn names_of_columns_are_told_up_to_a_number_and_cut_to_a_line() {
    let mut gather = gathered();
    for _ in 0..MOST_NAMES + 3 {
        gather.unread("x", false);
    }
    with(0.0, Column::Speed, 5.0, &mut gather);
    let log = gather.finish().unwrap();
    assert_eq!(log.repairs.len(), MOST_NAMES);
    assert_eq!(short(" a\tb "), "a b");
    let (fits, cut) = ("m".repeat(LONGEST_NAME), "m".repeat(LONGEST_NAME + 1));
    assert_eq!(short(&fits), fits);
    assert_eq!(short(&cut), format!("{fits}…"));
    let none = gathered().finish().unwrap_err();
    assert_eq!(none.to_string(), "the file holds no sample that can be read");
    let mut tried = gathered();
    tried.no_time();
    assert!(
        tried
            .finish()
            .unwrap_err()
            .to_string()
            .starts_with("the file holds no sample that can be read: ")
    );
}
