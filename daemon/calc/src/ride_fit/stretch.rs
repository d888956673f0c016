//! Which parts of a ride's log a fit can use: pulls, climbs and coast-downs.
//!
//! A log does not know of brakes. Under power nobody brakes for long, so what is pedalled or
//! driven counts; a coast-down counts only while it slows no harder than air and tyres can make it.

use std::ops::Range;

use super::Reading;
use crate::quantity::{Acceleration, Duration, Grade, Length, Power, Speed};

/// What a stretch is good for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Driven all along.
    Pull,
    /// Uphill from its foot to its top, driven or not; lies across pulls.
    Climb,
    /// Rolling without drive: shows drag and rolling resistance without a power meter.
    Coast,
}

/// A usable stretch.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// What it is.
    pub kind: Kind,
    /// Its readings in the log.
    pub rows: Range<usize>,
    /// How long it took.
    pub time: Duration,
    /// How far it went, by the speeds.
    pub distance: Length,
    /// Height at its end above its start.
    pub climb: Length,
}

/// What makes a stretch usable. The defaults are judgement, no source, but for those said to be
/// otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usable {
    /// Shortest pull.
    pub pull: Duration,
    /// Longest pause in the drive that a pull still spans.
    pub pause: Duration,
    /// Lowest speed; below it wheel sensors report badly and people put a foot down.
    pub slowest: Speed,
    /// Longest step between two readings; a longer one is a gap in the log.
    pub step: Duration,
    /// Least grade of a climb: where the road is flatter for long it has not begun or has ended.
    pub climb: Grade,
    /// So far may a climb fall behind that grade and go on: noise of the height, and small dips.
    pub dip: Length,
    /// Least gain of height in a climb.
    pub rise: Length,
    /// Shortest coast-down.
    pub coast: Duration,
    /// Hardest slowing of a coast-down; harder is a brake.
    pub brake: Acceleration,
}

impl Default for Usable {
    /// 60 s, 3 s, 1.5 m/s, 1.5 s, 3 %, 2 m, 5 m, 10 s, 0.5 m/s².
    fn default() -> Self {
        Self {
            pull: Duration::seconds(60.0),
            pause: Duration::seconds(3.0),
            slowest: Speed::metres_per_second(1.5),
            step: Duration::seconds(1.5),
            climb: Grade::ratio(0.03),
            dip: Length::metres(2.0),
            rise: Length::metres(5.0),
            coast: Duration::seconds(10.0),
            brake: Acceleration::from_si(0.5),
        }
    }
}

/// All usable stretches of a log, in its order.
///
/// Range: any readings; those with a figure that is not finite, a time that does not rise or a
/// step longer than `usable.step` end a stretch.
pub fn usable(readings: &[Reading], usable: &Usable) -> Vec<Stretch> {
    let mut found = Vec::new();
    for rows in unbroken(readings, usable) {
        found.extend(pulls(readings, rows.clone(), usable));
        found.extend(climbs(readings, rows.clone(), usable));
        found.extend(coasts(readings, rows, usable));
    }
    found.sort_by_key(|stretch| stretch.rows.start);
    found
}

/// Rows of moving readings without a gap between them.
fn unbroken(readings: &[Reading], usable: &Usable) -> Vec<Range<usize>> {
    let moving = |r: &Reading| {
        r.time.si().is_finite()
            && r.power.si().is_finite()
            && r.altitude.si().is_finite()
            && r.speed.si().is_finite()
            && r.speed >= usable.slowest
    };
    let mut rows = Vec::new();
    let mut start = 0;
    for i in 0..readings.len() {
        if !moving(&readings[i]) {
            rows.push(start..i);
            start = i + 1;
        } else if i > start {
            let dt = readings[i].time - readings[i - 1].time;
            if dt.si() <= 0.0 || dt > usable.step {
                rows.push(start..i);
                start = i;
            }
        }
    }
    rows.push(start..readings.len());
    rows.retain(|r| r.len() > 1);
    rows
}

fn pulls(readings: &[Reading], rows: Range<usize>, usable: &Usable) -> Vec<Stretch> {
    let driven = |i: &usize| readings[*i].power > Power::ZERO;
    let mut found = Vec::new();
    let mut current: Option<(usize, usize)> = None;
    for i in rows.filter(driven) {
        current = match current {
            // The pause is what lies between two driven readings, without the step to the second.
            Some((start, last)) if paused(readings, last, i) <= usable.pause => Some((start, i)),
            Some(done) => {
                found.push(done);
                Some((i, i))
            }
            None => Some((i, i)),
        };
    }
    found.extend(current);
    found
        .into_iter()
        .map(|(start, last)| measured(readings, start..last + 1))
        .filter(|stretch| stretch.time >= usable.pull)
        .collect()
}

/// Climbs: along height less what the least grade would have gained, each rise from a foot to the
/// top after which it falls by more than a dip.
fn climbs(readings: &[Reading], rows: Range<usize>, usable: &Usable) -> Vec<Stretch> {
    let mut found = Vec::new();
    let mut gone_by = 0.0;
    let mut above = Vec::with_capacity(rows.len());
    for i in rows.clone() {
        if i > rows.start {
            gone_by += gone(&readings[i - 1], &readings[i]);
        }
        above.push(readings[i].altitude.si() - usable.climb.as_ratio() * gone_by);
    }
    let (mut foot, mut top) = (0, 0);
    for i in 0..above.len() {
        if above[i] > above[top] {
            top = i;
        }
        let ended = above[top] - above[i] > usable.dip.si() || i + 1 == above.len();
        if above[i] < above[foot] || ended {
            found.extend((top > foot).then(|| rows.start + foot..rows.start + top + 1));
            (foot, top) = (i, i);
        }
    }
    found
        .into_iter()
        .map(|rows| Stretch {
            kind: Kind::Climb,
            ..measured(readings, rows)
        })
        .filter(|stretch| stretch.climb >= usable.rise)
        .collect()
}

fn paused(readings: &[Reading], last: usize, next: usize) -> Duration {
    if next == last + 1 {
        Duration::ZERO
    } else {
        readings[next - 1].time - readings[last].time
    }
}

fn coasts(readings: &[Reading], rows: Range<usize>, usable: &Usable) -> Vec<Stretch> {
    let rolling = |i: usize| readings[i].power == Power::ZERO;
    let braked = |i: usize| {
        let (from, to) = (&readings[i - 1], &readings[i]);
        (from.speed - to.speed).si() > usable.brake.si() * (to.time - from.time).si()
    };
    let mut found = Vec::new();
    let mut start = rows.start;
    for i in rows.clone() {
        if !rolling(i) {
            found.push(start..i);
            start = i + 1;
        } else if i > start && braked(i) {
            found.push(start..i);
            start = i;
        }
    }
    found.push(start..rows.end);
    found
        .into_iter()
        .filter(|rows| !rows.is_empty())
        .map(|rows| measured(readings, rows))
        .filter(|stretch| stretch.time >= usable.coast)
        .map(|stretch| Stretch {
            kind: Kind::Coast,
            ..stretch
        })
        .collect()
}

/// Time, distance and climb of rows that are not empty.
fn measured(readings: &[Reading], rows: Range<usize>) -> Stretch {
    let (first, last) = (&readings[rows.start], &readings[rows.end - 1]);
    let distance = readings[rows.clone()]
        .windows(2)
        .map(|pair| gone(&pair[0], &pair[1]))
        .sum();
    Stretch {
        kind: Kind::Pull,
        time: last.time - first.time,
        distance: Length::from_si(distance),
        climb: last.altitude - first.altitude,
        rows,
    }
}

fn gone(from: &Reading, to: &Reading) -> f64 {
    0.5 * (from.speed + to.speed).si() * (to.time - from.time).si()
}
