//! Usable stretches against those another program cut, and each rule on both sides.

use super::super::stretch::{Kind, Usable, usable};
use super::*;

#[test]
fn real_rides_are_cut_as_another_program_cuts_them() {
    // Driven stretches of 60 s and more with pauses of at most 3 s: 18 and 11 of them. The other
    // program also drops the first row after a gap in the log, which has no step to come from;
    // here it is where the stretch begins.
    for (text, segments) in [(ROLLING, ROLLING_CUT), (SHORT, SHORT_CUT)] {
        let readings = real_ride(text);
        let after_gap = |row: usize| (readings[row].time - readings[row - 1].time).si() > 1.5;
        let found: Vec<_> = usable(&readings, &Usable::default())
            .into_iter()
            .filter(|stretch| stretch.kind == Kind::Pull)
            .map(|stretch| stretch.rows)
            .map(|rows| rows.start + usize::from(after_gap(rows.start))..rows.end)
            .collect();
        assert_eq!(found, cut(segments));
    }
}

/// Readings a second apart.
fn ride(lines: impl IntoIterator<Item = (f64, f64, f64)>) -> Vec<Reading> {
    lines
        .into_iter()
        .enumerate()
        .map(|(i, (speed, power, altitude))| reading(i as f64, speed, power, altitude))
        .collect()
}

fn kinds(readings: &[Reading]) -> Vec<(Kind, usize, usize)> {
    usable(readings, &Usable::default())
        .into_iter()
        .map(|s| (s.kind, s.rows.start, s.rows.end))
        .collect()
}

#[test]
fn a_pull_lasts_a_minute() {
    assert_eq!(kinds(&ride(vec![(7.0, 100.0, 0.0); 60])), []);
    assert_eq!(kinds(&ride(vec![(7.0, 100.0, 0.0); 61])), [(Kind::Pull, 0, 61)]);
}

#[test]
fn a_pull_spans_a_pause_of_three_seconds_and_none_longer() {
    let paused = |rows: usize| {
        let mut lines = vec![(7.0, 100.0, 0.0); 140];
        lines[65..65 + rows].fill((7.0, 0.0, 0.0));
        kinds(&ride(lines))
    };
    assert_eq!(paused(3), [(Kind::Pull, 0, 140)]);
    assert_eq!(paused(4), [(Kind::Pull, 0, 65), (Kind::Pull, 69, 140)]);
}

#[test]
fn standing_and_gaps_end_a_pull() {
    let mut slow = vec![(7.0, 100.0, 0.0); 140];
    slow[70].0 = 1.49;
    assert_eq!(
        kinds(&ride(slow.clone())),
        [(Kind::Pull, 0, 70), (Kind::Pull, 71, 140)]
    );
    slow[70].0 = 1.5;
    assert_eq!(kinds(&ride(slow.clone())), [(Kind::Pull, 0, 140)]);
    let shifted = |by: f64| {
        let mut readings = ride(slow.clone());
        for reading in &mut readings[70..] {
            reading.time = reading.time + Duration::seconds(by);
        }
        kinds(&readings)
    };
    assert_eq!(shifted(0.5), [(Kind::Pull, 0, 140)]);
    assert_eq!(shifted(0.6), [(Kind::Pull, 0, 70), (Kind::Pull, 70, 140)]);
    assert_eq!(shifted(-1.0), [(Kind::Pull, 0, 70), (Kind::Pull, 70, 140)]);
    let mut broken = ride(slow);
    broken[70].altitude = Length::from_si(f64::NAN);
    assert_eq!(kinds(&broken), [(Kind::Pull, 0, 70), (Kind::Pull, 71, 140)]);
}

#[test]
fn a_climb_begins_at_its_foot_and_ends_at_its_top() {
    // 5 m a second: 40 s level, 60 s of so much, 40 s level.
    let hill = |grade: f64, dip: f64| {
        let height = move |i: i32| match i {
            0..=40 => 0.0,
            41..=100 => f64::from(i - 40) * 5.0 * grade,
            _ => 300.0 * grade,
        };
        let dipped = move |i: i32| if i == 70 { height(i) - dip } else { height(i) };
        kinds(&ride((0..141).map(|i| (5.0, 0.5, dipped(i)))))
            .into_iter()
            .filter(|(kind, ..)| *kind == Kind::Climb)
            .collect::<Vec<_>>()
    };
    assert_eq!(hill(0.08, 0.0), [(Kind::Climb, 40, 101)]);
    assert_eq!(hill(0.031, 0.0), [(Kind::Climb, 40, 101)]);
    assert_eq!(hill(0.029, 0.0), []);
    // 5 m of rise are the least: 1.7 % over 300 m would be enough, and are too flat.
    assert_eq!(hill(0.017, 0.0), []);
    // At 8 % the road is 0.25 m a second above the least grade: a dip of 2.3 m falls 2.05 m behind.
    assert_eq!(hill(0.08, 2.2), [(Kind::Climb, 40, 101)]);
    assert_eq!(hill(0.08, 2.3), [(Kind::Climb, 40, 70), (Kind::Climb, 70, 101)]);
}

#[test]
fn a_climb_gains_five_metres_at_least() {
    let short = |seconds: i32| {
        let lines = (0..=seconds).map(|i| (5.0, 0.5, f64::from(i) * 0.25));
        kinds(&ride(lines)).len()
    };
    assert_eq!((short(19), short(20)), (0, 1));
}

#[test]
fn a_coast_lasts_ten_seconds_and_is_not_braked() {
    let coast =
        |rows: usize, slowing: f64| kinds(&ride((0..rows).map(|i| (12.0 - slowing * i as f64, 0.0, 0.0))));
    assert_eq!(coast(10, 0.2), []);
    assert_eq!(coast(11, 0.2), [(Kind::Coast, 0, 11)]);
    assert_eq!(coast(15, 0.5), [(Kind::Coast, 0, 15)]);
    assert_eq!(coast(15, 0.52), []);
    // A touch of the brake parts two coasts; drive before and after stays out.
    let mut lines = vec![(9.0, 80.0, 0.0); 5];
    lines.extend((0..12).map(|i| (9.0 - 0.1 * f64::from(i), 0.0, 0.0)));
    lines.extend((0..12).map(|i| (6.0 - 0.1 * f64::from(i), 0.0, 0.0)));
    lines.extend(vec![(5.0, 80.0, 0.0); 5]);
    assert_eq!(kinds(&ride(lines)), [(Kind::Coast, 5, 17), (Kind::Coast, 17, 29)]);
}

#[test]
fn an_empty_or_broken_log_holds_nothing() {
    assert_eq!(kinds(&[]), []);
    assert_eq!(kinds(&ride([(7.0, 100.0, 0.0)])), []);
    assert_eq!(kinds(&ride(vec![(f64::NAN, 100.0, 0.0); 100])), []);
    assert_eq!(kinds(&vec![reading(3.0, 7.0, 100.0, 0.0); 100]), []);
}
