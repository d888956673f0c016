//! How far and how fast, for every sample: as the file says, else worked out of what it does say.

use lockring_calc::quantity::{Duration, Length, Speed};
use lockring_calc::trace::{Road, TraceError, distance};

use super::{Log, Sample};

/// A longer step between two samples is a pause: nothing is taken as ridden across it (judgement).
pub const PAUSE: Duration = Duration::from_si(10.0);

/// Where the distances come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// The file's own distances.
    Distance,
    /// Speeds, summed up.
    Speed,
    /// Places, as geodesics.
    Places,
    /// Nothing: the file tells no way.
    Nothing,
}

impl By {
    /// In words.
    pub const fn said(self) -> &'static str {
        match self {
            Self::Distance => "by the file's own distances",
            Self::Speed => "by its speeds",
            Self::Places => "by its places",
            Self::Nothing => "",
        }
    }
}

/// The way of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Distance ridden up to each sample.
    pub gone: Vec<Length>,
    /// Where it comes from.
    pub by: By,
    /// Speed at each sample.
    pub speed: Vec<Option<Speed>>,
    /// Whether the speeds were worked out of the distances.
    pub derived: bool,
}

impl Way {
    /// The way of a log.
    pub fn of(log: &Log) -> Self {
        let samples = &log.samples;
        // A figure that only a few samples have is not what the file tells the way by.
        let many = |has: fn(&Sample) -> bool| 2 * samples.iter().filter(|s| has(s)).count() > samples.len();
        let (by, gone) = if many(|s| s.distance.is_some()) {
            (By::Distance, written(samples))
        } else if many(|s| s.speed.is_some()) {
            (By::Speed, summed(samples, by_speed))
        } else if many(|s| s.place.is_some()) {
            (By::Places, summed(samples, by_places))
        } else {
            (By::Nothing, vec![Length::ZERO; samples.len()])
        };
        let derived = !many(|s| s.speed.is_some()) && by != By::Nothing;
        let speed = if derived {
            (0..samples.len()).map(|i| across(samples, &gone, i)).collect()
        } else {
            samples.iter().map(|sample| sample.speed).collect()
        };
        Self {
            gone,
            by,
            speed,
            derived,
        }
    }

    /// All of it.
    pub fn length(&self) -> Length {
        self.gone.last().copied().unwrap_or_default()
    }

    /// The road ridden, parted where the log pauses; its heights are those of the samples.
    ///
    /// # Errors
    /// [`TraceError`] when nothing was ridden or more than any ride.
    pub fn road(&self, log: &Log) -> Result<Road, TraceError> {
        let mut stretches: Vec<Vec<(Length, Option<Length>)>> = Vec::new();
        let mut before: Option<&Sample> = None;
        for (sample, gone) in log.samples.iter().zip(&self.gone) {
            if before.is_none_or(|before| sample.time - before.time > PAUSE) {
                stretches.push(Vec::new());
            }
            if let Some(stretch) = stretches.last_mut() {
                stretch.push((*gone, sample.altitude));
            }
            before = Some(sample);
        }
        Road::along(&stretches)
    }
}

/// The distances written, from zero; one that falls (a counter set back) adds nothing.
fn written(samples: &[Sample]) -> Vec<Length> {
    let (mut gone, mut before) = (Length::ZERO, None);
    samples
        .iter()
        .map(|sample| {
            if let Some(now) = sample.distance {
                gone = gone + before.map_or(Length::ZERO, |before| (now - before).max(Length::ZERO));
                before = Some(now);
            }
            gone
        })
        .collect()
}

fn summed(samples: &[Sample], step: fn(&Sample, &Sample) -> Option<Length>) -> Vec<Length> {
    let mut gone = Length::ZERO;
    let mut all = vec![gone; samples.len().min(1)];
    for pair in samples.windows(2) {
        if pair[1].time - pair[0].time <= PAUSE {
            gone = gone + step(&pair[0], &pair[1]).unwrap_or_default();
        }
        all.push(gone);
    }
    all
}

fn by_speed(from: &Sample, to: &Sample) -> Option<Length> {
    let mean = 0.5 * (from.speed? + to.speed?).si();
    Some(Length::from_si(mean * (to.time - from.time).si()))
}

fn by_places(from: &Sample, to: &Sample) -> Option<Length> {
    Some(distance(from.place?, to.place?))
}

/// Speed from the sample before to the one after; at a pause from the one side there is.
fn across(samples: &[Sample], gone: &[Length], here: usize) -> Option<Speed> {
    let near = |other: usize| {
        let step = (samples.get(other)?.time - samples[here].time).si().abs();
        (step <= PAUSE.si()).then_some(other)
    };
    let from = here.checked_sub(1).and_then(near).unwrap_or(here);
    let to = near(here + 1).unwrap_or(here);
    let time = (samples[to].time - samples[from].time).si();
    (time > 0.0).then(|| Speed::from_si((gone[to] - gone[from]).si() / time))
}

#[cfg(test)]
mod tests;
