//! Stops with both brakes: each brought to the speed it is judged at from the speed it was itself begun at.

use lockring_calc::brakes;
use lockring_calc::quantity::{Length, Speed};

use super::{ridden_mass, unusable};
use crate::case::{Case, Known};
use crate::finding::{Finding, Halt, Verdict};
use crate::unit::{self, Kind};

/// The stops of the ride, brought to one speed; at least one.
#[derive(Debug)]
pub struct Stops {
    all: Vec<Stop>,
    nominal: Speed,
}

#[derive(Debug, Clone, Copy)]
struct Stop {
    ridden: f64,
    start: Speed,
    is_told: bool,
    brought: Known,
}

/// The speed that each stop was begun at: that of its own entry; else one told by itself afterwards, or before it where
/// the stop before has its own. A speed from before the first stop belongs to one that was replaced by a new beginning.
fn starts_of(distances: &[(u64, Known)], speeds: Vec<(u64, Known)>) -> Vec<Option<Known>> {
    let mut starts = vec![None; distances.len()];
    let mut alone = Vec::new();
    for (entry, speed) in speeds {
        match distances.iter().rposition(|(stop, _)| *stop == entry) {
            Some(own) if starts[own].is_none() => starts[own] = Some(speed),
            _ => alone.push((entry, speed)),
        }
    }
    for (entry, speed) in alone {
        let before = distances.iter().rposition(|(stop, _)| *stop < entry);
        let free = before
            .into_iter()
            .flat_map(|before| [before, before + 1])
            .find(|at| starts.get(*at).is_some_and(Option::is_none));
        if let Some(free) = free {
            starts[free] = Some(speed);
        }
    }
    starts
}

impl Stops {
    /// The stops with both brakes, brought to a speed by `S = (V_s/V_m)²·S_m` (EN 14766:2005, track method), each
    /// from the speed it was itself begun at. One whose speed nobody noted counts as from the rule `brake.stop-speed`.
    ///
    /// # Errors
    /// [`Halt::Open`] when no stop was ridden or the figures lie outside the equation's range.
    pub fn brought_to(case: &Case<'_>, nominal: Speed) -> Result<Self, Halt> {
        let usual = Known::stated(case.rule("brake.stop-speed"));
        let mut distances = case.readings_by_entry("stop-distance");
        let mut speeds = case.readings_by_entry("stop-speed");
        if distances.is_empty() {
            // Stated, not read: one stop, and its speed with it.
            distances.push((0, case.number("stop-distance")?));
            speeds = case
                .optional_number("stop-speed")
                .map(|speed| (0, speed))
                .into_iter()
                .collect();
        }
        let starts = starts_of(&distances, speeds);
        let bring = |((_, ridden), start): ((u64, Known), Option<Known>)| {
            let from = start.unwrap_or(usual);
            let (length, speed) = (Length::metres(ridden.value), Speed::from_si(from.value));
            let brought = brakes::corrected_distance(length, speed, nominal)
                .map_err(|error| unusable(case, "stop", &error))?
                .as_metres();
            // Distance goes with the square of the speed.
            let relative = (ridden.u / ridden.value).hypot(2.0 * from.u / from.value);
            Ok(Stop {
                ridden: ridden.value,
                start: speed,
                is_told: start.is_some(),
                brought: Known {
                    value: brought,
                    u: brought * relative,
                    ..ridden
                },
            })
        };
        let all = distances.into_iter().zip(starts).map(bring);
        Ok(Self {
            all: all.collect::<Result<_, Halt>>()?,
            nominal,
        })
    }

    /// As [`Stops::brought_to`] the speed of the rule `brake.stop-speed`.
    ///
    /// # Errors
    /// As [`Stops::brought_to`].
    pub fn at_the_usual_speed(case: &Case<'_>) -> Result<Self, Halt> {
        Self::brought_to(case, Speed::from_si(case.rule("brake.stop-speed")))
    }

    /// Notes the speed of a stop that nobody noted as an assumption. A speed told by itself belongs to the last stop; for want
    /// of others they are ridden again.
    pub fn suppose_speeds(&self, case: &Case<'_>) {
        let (key, usual) = ("stop-speed", case.rule("brake.stop-speed"));
        match self.all.iter().rev().position(|stop| !stop.is_told) {
            None => {}
            Some(0) if self.all.iter().filter(|stop| !stop.is_told).count() == 1 => {
                case.suppose(key, usual);
            }
            Some(_) => {
                let again = format!(
                    "stop again, each time with its speed, the first with --anew: lockring ride {} stop distance=…m speed=…km/h",
                    case.job().number
                );
                case.suppose_until(key, usual, Some(again));
            }
        }
    }

    /// How many there are.
    pub const fn count(&self) -> usize {
        self.all.len()
    }

    /// Those that count against a limit, m, each brought to the speed; all of them where none does.
    pub fn counting(&self, most: f64) -> Vec<Known> {
        let of = |stops: &mut dyn Iterator<Item = &Stop>| stops.map(|stop| stop.brought).collect::<Vec<_>>();
        let counting = of(&mut self.all.iter().filter(|stop| self.counts(stop, most)));
        if counting.is_empty() {
            return of(&mut self.all.iter());
        }
        counting
    }

    /// One distance for those that count: the middle one, or the mean of two, with the doubt of their scatter.
    pub fn together(&self, most: f64) -> Known {
        Known::of_repeats(&self.counting(most))
    }

    /// The longest of those that count, m.
    pub fn longest(&self, most: f64) -> Known {
        longest(&self.counting(most)).unwrap_or_else(|| self.together(most))
    }

    fn counts(&self, stop: &Stop, most: f64) -> bool {
        let brought = Length::metres(stop.brought.value);
        brakes::run_counts(brought, Length::metres(most), stop.start, self.nominal)
    }

    /// The finding against a limit, m, with what does not count because it began too far from the speed it is judged at.
    pub fn counted(&self, mut finding: Finding, most: f64) -> Finding {
        let speed = |speed: Speed| unit::show(Kind::Speed, "km/h", speed.si());
        let out: Vec<&Stop> = self.all.iter().filter(|stop| !self.counts(stop, most)).collect();
        if out.is_empty() {
            return finding;
        }
        let mut begun: Vec<String> = out.iter().map(|stop| speed(stop.start)).collect();
        begun.dedup();
        let begun = begun.join(" and ");
        let line = if out.len() == self.all.len() {
            finding.verdict = Verdict::Caution;
            format!("begun at {begun}, more than 1.5 km/h off: the stop does not count")
        } else {
            format!("left out, begun at {begun}, more than 1.5 km/h off")
        };
        finding.summary = format!("{}; {line}", finding.summary);
        finding
    }

    /// How each was brought to the speed, a line for each.
    pub fn working(&self) -> Vec<String> {
        let metres = |si| unit::show(Kind::Length, "m", si);
        let speed = |speed: Speed| unit::show(Kind::Speed, "km/h", speed.si());
        let line = |stop: &Stop| {
            let untold = if stop.is_told {
                ""
            } else {
                ", for want of the speed it began at"
            };
            format!(
                "{} from {}{untold}, brought to {}: {}",
                metres(stop.ridden),
                speed(stop.start),
                speed(self.nominal),
                metres(stop.brought.value)
            )
        };
        self.all.iter().map(line).collect()
    }
}

/// The longest of several stops; `None` of none.
pub fn longest(stops: &[Known]) -> Option<Known> {
    stops
        .iter()
        .copied()
        .max_by(|one, other| one.value.total_cmp(&other.value))
}

/// The stop with both brakes that everyday bicycles make from the rule's speed: heavier ones stop later with
/// the same force.
///
/// # Errors
/// [`Halt::Open`] when a mass is missing.
pub fn usual_stop(case: &Case<'_>) -> Result<Known, Halt> {
    let mass = ridden_mass(case)?.value;
    let heavier = (mass / case.rule("brake.stop-usual-mass")).max(1.0);
    Ok(Known {
        u: case.rule("brake.stop-usual-spread") * heavier,
        ..Known::stated(case.rule("brake.stop-usual") * heavier)
    })
}

/// What the usual stop is over, in words; `None` where it is good.
///
/// # Errors
/// As [`usual_stop`].
pub fn usual_stop_over(case: &Case<'_>) -> Result<Option<String>, Halt> {
    Ok(stop_over(case, usual_stop(case)?.value))
}

/// What a stop with both brakes, m from the rule's speed, is over, in words; `None` where it is good.
pub fn stop_over(case: &Case<'_>, metres: f64) -> Option<String> {
    let (good, most) = (case.rule("brake.stop-good"), case.rule("brake.stop-most"));
    let shown = |si| unit::show(Kind::Length, "m", si);
    if metres > most {
        Some(format!("over the {} that count as a failed brake", shown(most)))
    } else {
        (metres > good).then(|| format!("over the {} that are good", shown(good)))
    }
}

#[cfg(test)]
mod tests;
