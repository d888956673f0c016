//! Points of a recorder that had lost its place: far off the line for a moment, then back on it.

use super::{Place, SPARSE, distance};
use crate::quantity::Length;

/// A leap of more than this between neighbouring points is looked at (workshop judgement).
pub const FAR: Length = Length::from_si(20_000.0);
/// So many points at most are taken for a moment off the line (workshop judgement).
const MOMENT: usize = 60;
/// So many leaps are looked at in a segment; more are no recorder's slip.
const LEAPS: usize = 200;
/// At an end, where only one side is known, the line must have so many points for each one off it.
const OUTWEIGHS: usize = 10;

/// Takes out of a recorded segment what leaps more than [`FAR`] off it: up to 60 points before it is
/// back within [`SPARSE`], or points at an end that the rest outnumbers tenfold. Gives their number.
///
/// For what was recorded; a planned route may have its points as far apart as it likes.
pub fn without_strays(segment: &mut Vec<Place>) -> usize {
    let before = segment.len();
    inside(segment);
    for _ in 0..2 {
        // The end is the beginning of the way back.
        beginning(segment);
        segment.reverse();
    }
    before - segment.len()
}

fn inside(segment: &mut Vec<Place>) {
    let mut kept: Vec<Place> = Vec::with_capacity(segment.len());
    let (mut index, mut leaps) = (0, 0);
    while let Some(place) = segment.get(index) {
        let left = kept
            .last()
            .filter(|last| leaps < LEAPS && distance(**last, *place) > FAR);
        leaps += usize::from(left.is_some());
        let back = left.and_then(|left| {
            let later = segment[index + 1..].iter().take(MOMENT);
            later
                .map(|later| distance(*left, *later))
                .position(|off| off <= SPARSE)
        });
        match back {
            Some(skipped) => index += skipped + 1,
            None => {
                kept.push(*place);
                index += 1;
            }
        }
    }
    *segment = kept;
}

fn beginning(segment: &mut Vec<Place>) {
    let most = segment.len() / (OUTWEIGHS + 1);
    let leap = segment
        .windows(2)
        .take(most)
        .rposition(|pair| distance(pair[0], pair[1]) > FAR);
    if let Some(last) = leap {
        segment.drain(..=last);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(latitude: f64) -> Place {
        Place {
            latitude,
            longitude: 8.0,
            height: None,
        }
    }

    /// So many points 11 m apart.
    fn line(count: usize) -> Vec<Place> {
        (0..count)
            .map(|index| place(50.0 + 0.0001 * index as f64))
            .collect()
    }

    fn with(count: usize, at: usize, off: &[f64]) -> Vec<Place> {
        let mut places = line(count);
        places.splice(at..at, off.iter().map(|latitude| place(*latitude)));
        places
    }

    #[test]
    fn a_moment_far_off_is_left_out_wherever_it_is() {
        for (at, off) in [
            (5, vec![0.1]),
            (5, vec![51.0; 60]),
            (0, vec![-7.0]),
            (40, vec![0.0; 4]),
        ] {
            let mut places = with(40, at, &off);
            assert_eq!(without_strays(&mut places), off.len(), "{at} {off:?}");
            assert_eq!(places, line(40));
        }
    }

    #[test]
    fn two_hundred_leaps_are_looked_at_and_no_more() {
        let mut places: Vec<Place> = line(300)
            .into_iter()
            .flat_map(|near| [near, place(0.0)])
            .collect();
        inside(&mut places);
        assert_eq!(places.len(), 600 - 200);
    }

    #[test]
    fn what_may_be_a_ride_stays() {
        // 50.18° is 20.02 km from 50.0°, 50.179° is 19.9 km (111.2 km a degree).
        let near = with(40, 1, &[50.179]);
        let long = with(40, 20, &[51.0; 61]);
        let many = with(39, 0, &[51.0; 4]);
        for places in [near, long, many, line(1), Vec::new()] {
            let mut left = places.clone();
            assert_eq!((without_strays(&mut left), &left), (0, &places));
        }
        let mut far = with(40, 1, &[50.18]);
        assert_eq!(without_strays(&mut far), 1);
        // As many as the rest outnumbers tenfold, and one more.
        assert_eq!(without_strays(&mut with(40, 0, &[51.0; 4])), 4);
        // Back, but 1.1 km from where it left: nobody knows which of both is wrong.
        let mut moved = with(40, 20, &[52.0]);
        for place in &mut moved[21..] {
            place.latitude += 0.01;
        }
        assert_eq!(without_strays(&mut moved), 0);
    }
}
