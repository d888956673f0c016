//! Gathers samples whatever the format, leaves out what cannot be, and counts it.

use lockring_calc::quantity::{AngularSpeed, Duration, Length, Power, Speed};
use lockring_calc::trace::Place;

use super::{Column, Format, Log, LogError, MOST_SAMPLES, Repair, Sample};

/// A longer step of time is damage, not a rest: 30 days, judgement.
const LONGEST_STEP: f64 = 30.0 * 86_400.0;

/// Longest name repeated in a message, in characters.
const LONGEST_NAME: usize = 40;

/// Most columns named as not read.
const MOST_NAMES: usize = 50;

/// The figures of one line, in SI units, by [`Column`].
pub(super) type Figures = [Option<f64>; Column::ALL.len()];

/// A log in the making.
pub(super) struct Gather {
    format: Format,
    /// Whether times are moments since 1970.
    moments: bool,
    first: f64,
    last: f64,
    samples: Vec<Sample>,
    repairs: Vec<Repair>,
    times: usize,
    wrong: [usize; Column::ALL.len()],
    unread: usize,
    cut: bool,
}

impl Gather {
    pub(super) fn new(format: Format, moments: bool) -> Self {
        Self {
            format,
            moments,
            first: 0.0,
            last: 0.0,
            samples: Vec::new(),
            repairs: Vec::new(),
            times: 0,
            wrong: [0; Column::ALL.len()],
            unread: 0,
            cut: false,
        }
    }

    pub(super) fn repair(&mut self, repair: Repair) {
        self.repairs.push(repair);
    }

    /// Says that a column is not read.
    pub(super) fn unread(&mut self, name: &str, twice: bool) {
        if self.unread < MOST_NAMES {
            self.unread += 1;
            let name = short(name);
            self.repairs.push(Repair::Unread { name, twice });
        }
    }

    /// Counts a figure that could not be read at all.
    pub(super) fn wrong(&mut self, column: Column) {
        self.wrong[column as usize] += 1;
    }

    /// Counts a sample whose time could not be read.
    pub(super) fn no_time(&mut self) {
        self.times += 1;
    }

    /// Whether a time can follow the last one.
    pub(super) fn follows(&self, time: f64) -> bool {
        let step = time - self.last;
        time.is_finite() && (self.samples.is_empty() || (step > 0.0 && step <= LONGEST_STEP))
    }

    /// Takes the last sample back: it proved to be damage.
    pub(super) fn forget_last(&mut self) {
        if self.samples.pop().is_some() {
            self.times += 1;
        }
        self.last = self
            .samples
            .last()
            .map_or(0.0, |sample| self.first + sample.time.si());
    }

    /// Keeps a sample. Figures outside their window are left out of it.
    pub(super) fn take(&mut self, time: f64, figures: &Figures) {
        if !self.follows(time) {
            self.no_time();
            return;
        }
        if self.samples.len() >= MOST_SAMPLES {
            self.cut = true;
            return;
        }
        if self.samples.is_empty() {
            self.first = time;
        }
        self.last = time;
        let mut figure = |column: Column| {
            let value = figures[column as usize]?;
            let (low, high, _) = column.window();
            if (low..=high).contains(&value) {
                Some(value)
            } else {
                self.wrong[column as usize] += 1;
                None
            }
        };
        let altitude = figure(Column::Altitude).map(Length::from_si);
        // 0, 0 in the ocean is what a recorder writes that has not found its place yet.
        let degrees = figure(Column::Latitude).zip(figure(Column::Longitude));
        let place = degrees.filter(|at| *at != (0.0, 0.0));
        let sample = Sample {
            time: Duration::from_si(time - self.first),
            speed: figure(Column::Speed).map(Speed::from_si),
            power: figure(Column::Power).map(Power::from_si),
            motor_power: figure(Column::MotorPower).map(Power::from_si),
            cadence: figure(Column::Cadence).map(AngularSpeed::from_si),
            altitude,
            distance: figure(Column::Distance).map(Length::from_si),
            battery: figure(Column::Battery),
            place: place.map(|(latitude, longitude)| Place {
                latitude,
                longitude,
                height: altitude,
            }),
        };
        self.samples.push(sample);
    }

    /// # Errors
    /// [`LogError::NoSamples`] when nothing was kept.
    pub(super) fn finish(mut self) -> Result<Log, LogError> {
        if self.times > 0 {
            self.repairs.push(Repair::Times { samples: self.times });
        }
        for column in Column::ALL {
            let count = self.wrong[column as usize];
            if count > 0 {
                self.repairs.push(Repair::Figures { column, count });
            }
        }
        if self.cut {
            self.repairs.push(Repair::Cut);
        }
        if self.samples.is_empty() {
            return Err(LogError::NoSamples {
                repairs: self.repairs.iter().map(ToString::to_string).collect(),
            });
        }
        Ok(Log {
            format: self.format,
            began: self.moments.then_some(self.first),
            samples: self.samples,
            repairs: self.repairs,
        })
    }
}

/// A name from a file, fit for one line of a message.
pub(super) fn short(name: &str) -> String {
    let name = name.trim();
    let mut short: String = name
        .chars()
        .take(LONGEST_NAME)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if name.chars().count() > LONGEST_NAME {
        short.push('…');
    }
    short
}

#[cfg(test)]
mod tests;
