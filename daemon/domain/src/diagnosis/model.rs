//! What each hypothesis leads one to expect: a cause at every size it comes in, and how far each doubtful
//! input moves that.
//!
//! Readings do not go straight with grade or current: near a hill that just wins a little decides
//! much. So the doubts' effects are computed at two sizes of a cause, and, where nothing explains a
//! ride well, once more at the doubtful inputs that the readings themselves point to.

use lockring_calc::gaussian::Covariance;

use super::cause::{self, Cause, Sizes};
use super::doubts::Doubt;
use super::quantity::Quantity;
use super::readings::Readings;
use super::ridden::Ridden;

/// The bicycle, what may be off on it without a fault, and what was read.
pub(super) struct Model<'a> {
    pub(super) base: &'a Ridden,
    pub(super) doubts: &'a [Doubt],
    pub(super) quantities: &'a [Quantity],
}

/// What is expected under one size of one cause.
#[derive(Clone)]
pub(super) struct Expected {
    pub(super) size: f64,
    pub(super) weight: f64,
    pub(super) values: Vec<f64>,
    /// Which of the side's covariances holds there.
    pub(super) covariance: usize,
}

/// One side of one cause, ready to be held against readings.
#[derive(Clone)]
pub(super) struct Side {
    /// Sizes it comes in; `None` for nothing wrong.
    sizes: Option<Sizes>,
    pub(super) expected: Vec<Expected>,
    /// What one standard uncertainty of each doubtful input does to every reading.
    pub(super) together: Vec<Vec<Vec<f64>>>,
}

/// A hypothesis ready to be held against readings: a cause, or that nothing is wrong.
pub(super) struct Hypothesis {
    pub(super) cause: Option<Cause>,
    pub(super) met: f64,
    pub(super) sides: Vec<Side>,
}

/// Where the doubts' effects are computed: every doubtful input off by so many standard uncertainties,
/// with the cause at a size.
struct Point {
    off: Vec<f64>,
    size: f64,
}

/// Sizes computed on one side, and sizes between two of them that are read off a straight line.
const COMPUTED: usize = 12;
const BETWEEN: usize = 8;
/// Sizes, as steps of the computed ones, at which the doubts are computed when nothing is known better.
const ANCHORS: [usize; 2] = [3, 8];
/// Times the doubtful inputs are looked for where the readings point.
const NEARER: usize = 2;

/// How far each doubtful input, at one standard uncertainty, moves every reading: a row for each
/// doubt. `None` where the model has no answer to begin with.
pub(super) fn moved(base: &Ridden, doubts: &[Doubt], quantities: &[Quantity]) -> Option<Vec<Vec<f64>>> {
    let still: Vec<f64> = base.expect(quantities).into_iter().collect::<Option<_>>()?;
    let shifted = |doubt: &Doubt, by: f64| {
        let mut ridden = base.clone();
        (doubt.push)(&mut ridden, by);
        let values = ridden.expect(quantities);
        // Where a shifted bicycle has no answer the unshifted one's stands.
        let or_still = values
            .into_iter()
            .zip(&still)
            .map(|(value, still)| value.unwrap_or(*still));
        or_still.collect::<Vec<f64>>()
    };
    let row = |doubt: &Doubt| {
        let (up, down) = (shifted(doubt, doubt.u), shifted(doubt, -doubt.u));
        up.iter().zip(&down).map(|(up, down)| 0.5 * (up - down)).collect()
    };
    Some(doubts.iter().map(row).collect())
}

impl Model<'_> {
    /// Every hypothesis, as met by nobody with a share of zero.
    pub(super) fn hypotheses(&self, met: impl Fn(Cause) -> f64) -> Vec<Hypothesis> {
        let causes = cause::ALL.into_iter().map(|cause| (Some(cause), met(cause)));
        std::iter::once((None, cause::NOTHING))
            .chain(causes)
            .filter(|(_, met)| *met > 0.0)
            .filter_map(|(cause, met)| {
                let sizes = cause.map_or_else(
                    || vec![None],
                    |cause: Cause| cause.sizes().into_iter().map(Some).collect(),
                );
                let sides = sizes
                    .into_iter()
                    .filter_map(|sizes| self.side(cause, sizes, None));
                let sides: Vec<Side> = sides.collect();
                (!sides.is_empty()).then_some(Hypothesis { cause, met, sides })
            })
            .collect()
    }

    /// The hypothesis with its doubts computed where the readings point; as it was where that leads
    /// nowhere.
    pub(super) fn nearer(&self, from: &Hypothesis, readings: &Readings<'_>, model_error: f64) -> Hypothesis {
        let nearer = |from_side: &Side| {
            let mut side = from_side.clone();
            for _ in 0..NEARER {
                let point = self.pointed_to(&side, readings, model_error);
                let again = point.and_then(|point| self.side(from.cause, side.sizes, Some(&point)));
                let Some(again) = again else { break };
                side = again;
            }
            side
        };
        Hypothesis {
            sides: from.sides.iter().map(nearer).collect(),
            ..*from
        }
    }

    /// The most plausible doubtful inputs at the best size of a side, given the readings: the
    /// step of Gauss and Newton (standard result, from memory).
    fn pointed_to(&self, side: &Side, readings: &Readings<'_>, model_error: f64) -> Option<Point> {
        let covariances = side.covariances(readings, model_error)?;
        let density = |expected: &Expected| {
            readings.log_density(&covariances[expected.covariance], &expected.values) + expected.weight.ln()
        };
        let best = side
            .expected
            .iter()
            .max_by(|a, b| density(a).total_cmp(&density(b)))?;
        let covariance = &covariances[best.covariance];
        let pulls = readings.pulls(covariance, &best.values);
        let off = |moved: &Vec<f64>| moved.iter().zip(&pulls).map(|(moved, pull)| moved * pull).sum();
        Some(Point {
            off: side.together[best.covariance].iter().map(off).collect(),
            size: best.size,
        })
    }

    fn side(&self, cause: Option<Cause>, sizes: Option<Sizes>, at: Option<&Point>) -> Option<Side> {
        let with = |size: f64| {
            let mut ridden = self.base.clone();
            if let Some(cause) = cause {
                cause.apply(&mut ridden, size);
            }
            for (doubt, off) in self.doubts.iter().zip(at.map_or(&[][..], |at| &at.off)) {
                (doubt.push)(&mut ridden, off * doubt.u);
            }
            ridden
        };
        let grid = |steps: usize| sizes.map_or_else(|| vec![(0.0, 1.0)], |sizes| sizes.grid(steps));
        let coarse = grid(COMPUTED);
        let computed: Vec<Option<Vec<f64>>> = coarse
            .iter()
            .map(|(size, _)| with(*size).expect(self.quantities).into_iter().collect())
            .collect();
        let anchors = match at {
            Some(point) => vec![point.size],
            None if sizes.is_none() => vec![0.0],
            None => ANCHORS.iter().map(|step| coarse[*step].0).collect(),
        };
        let together: Option<Vec<_>> = anchors
            .iter()
            .map(|size| moved(&with(*size), self.doubts, self.quantities))
            .collect();
        let together = together?;
        let switch = ANCHORS.iter().sum::<usize>() / ANCHORS.len();
        // Computed with the inputs off, told as if they were not: the covariance says the rest.
        let told = |values: Vec<f64>, covariance: usize| match at {
            None => values,
            Some(point) => {
                let by = |reading: usize| -> f64 {
                    let rows = point.off.iter().zip(&together[covariance]);
                    rows.map(|(off, moved)| off * moved[reading]).sum()
                };
                let values = values.into_iter().enumerate();
                values.map(|(reading, value)| value - by(reading)).collect()
            }
        };
        let expected = grid(COMPUTED * BETWEEN).into_iter().enumerate();
        let expected = expected.filter_map(|(step, (size, weight))| {
            let (below, part) = (step / BETWEEN, (step % BETWEEN) as f64 / BETWEEN as f64);
            let low = computed[below].as_ref()?;
            let high = computed[(below + 1).min(computed.len() - 1)].as_ref()?;
            let values = low.iter().zip(high).map(|(low, high)| low + part * (high - low));
            let covariance = usize::from(below > switch).min(anchors.len() - 1);
            Some(Expected {
                size,
                weight,
                values: told(values.collect(), covariance),
                covariance,
            })
        });
        let expected: Vec<Expected> = expected.collect();
        (!expected.is_empty()).then_some(Side {
            sizes,
            expected,
            together,
        })
    }
}

impl Side {
    /// Every covariance with the readings' own doubts: of the instrument, and what the model may be off
    /// by in any figure.
    pub(super) fn covariances(&self, readings: &Readings<'_>, model_error: f64) -> Option<Vec<Covariance>> {
        let middle = &self.expected.get(self.expected.len() / 2)?.values;
        let with_model = |(own, expected): (&f64, &f64)| own.hypot(model_error * expected);
        let own: Vec<f64> = readings.own.iter().zip(middle).map(with_model).collect();
        let covariance = |together: &Vec<Vec<f64>>| Covariance::new(&own, together).ok();
        self.together.iter().map(covariance).collect()
    }
}
