//! Which single cause explains all the differences together.
//!
//! Each cause is given every size it comes in; the readings' density at each size, weighed with
//! how plausible the size is, adds up to the evidence for the cause (JCGM 101:2008 speaks of the
//! same densities; the sum over sizes is Bayes' rule). A cause that could be of any size spreads
//! its weight thin and so pays for its freedom; a cause that only works at a size nobody meets pays
//! too. The doubt of the expectation is taken as it is with the cause at work.

use lockring_calc::gaussian::Covariance;

use super::cause::{self, Cause, Sizes};
use super::doubts::Doubt;
use super::quantity::Quantity;
use super::ridden::Ridden;

/// What is expected under one size of one cause.
struct Expected {
    size: f64,
    weight: f64,
    values: Vec<f64>,
    covariance: usize,
}

/// One side of one cause, ready to be held against readings.
struct Side {
    expected: Vec<Expected>,
    covariances: Vec<Vec<Vec<f64>>>,
}

/// A hypothesis ready to be held against readings: a cause, or that nothing is wrong.
pub(super) struct Hypothesis {
    pub(super) cause: Option<Cause>,
    met: f64,
    sides: Vec<Side>,
}

/// How a hypothesis fared.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked {
    /// The cause; `None` where nothing stands out.
    pub cause: Option<Cause>,
    /// Share of the belief, 0 to 1; all shares add up to one.
    pub share: f64,
    /// Best size, in the cause's own unit, and its standard uncertainty.
    pub size: f64,
    /// Standard uncertainty of the size.
    pub size_u: f64,
    /// Squared distance of the readings at the best size, in standard deviations.
    pub distance_squared: f64,
    /// What is expected of each reading at the best size, in SI.
    pub expected: Vec<f64>,
}

/// Sizes computed on one side, and sizes between two of them that are read off a straight line.
const COMPUTED: usize = 12;
const BETWEEN: usize = 8;
/// Sizes, as steps of the computed ones, at which the doubts are computed anew.
const ANCHORS: [usize; 2] = [3, 8];

/// Readings with a doubt each: what everything is held against.
pub(super) struct Readings<'a> {
    pub(super) values: &'a [f64],
    pub(super) own: &'a [f64],
}

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

/// Every hypothesis for these quantities.
pub(super) fn hypotheses(
    base: &Ridden,
    doubts: &[Doubt],
    quantities: &[Quantity],
    met: impl Fn(Cause) -> f64,
) -> Vec<Hypothesis> {
    let mut all = Vec::new();
    if let (Some(values), Some(together)) = (
        base.expect(quantities).into_iter().collect::<Option<Vec<f64>>>(),
        moved(base, doubts, quantities),
    ) {
        let expected = Expected {
            size: 0.0,
            weight: 1.0,
            values,
            covariance: 0,
        };
        all.push(Hypothesis {
            cause: None,
            met: cause::NOTHING,
            sides: vec![Side {
                expected: vec![expected],
                covariances: vec![together],
            }],
        });
    }
    for cause in cause::ALL {
        let met = met(cause);
        if met <= 0.0 {
            continue;
        }
        let side = |sizes: &Sizes| side(base, doubts, quantities, cause, *sizes);
        let sides: Vec<Side> = cause.sizes().iter().filter_map(side).collect();
        if !sides.is_empty() {
            all.push(Hypothesis {
                cause: Some(cause),
                met,
                sides,
            });
        }
    }
    all
}

fn side(
    base: &Ridden,
    doubts: &[Doubt],
    quantities: &[Quantity],
    cause: Cause,
    sizes: Sizes,
) -> Option<Side> {
    let with = |size: f64| {
        let mut ridden = base.clone();
        cause.apply(&mut ridden, size);
        ridden
    };
    let coarse = sizes.grid(COMPUTED);
    let computed: Vec<Option<Vec<f64>>> = coarse
        .iter()
        .map(|(size, _)| with(*size).expect(quantities).into_iter().collect())
        .collect();
    let covariances: Option<Vec<_>> = ANCHORS
        .iter()
        .map(|anchor| moved(&with(coarse[*anchor].0), doubts, quantities))
        .collect();
    let covariances = covariances?;
    let switch = ANCHORS.iter().sum::<usize>() / ANCHORS.len();
    let fine = sizes.grid(COMPUTED * BETWEEN);
    let expected = fine.into_iter().enumerate().filter_map(|(step, (size, weight))| {
        let (below, part) = (step / BETWEEN, (step % BETWEEN) as f64 / BETWEEN as f64);
        let low = computed[below].as_ref()?;
        let high = computed[(below + 1).min(COMPUTED)].as_ref()?;
        let values = low.iter().zip(high).map(|(low, high)| low + part * (high - low));
        Some(Expected {
            size,
            weight,
            values: values.collect(),
            covariance: usize::from(below > switch),
        })
    });
    let expected: Vec<Expected> = expected.collect();
    (!expected.is_empty()).then_some(Side {
        expected,
        covariances,
    })
}

/// The hypotheses by the belief they deserve, the best first.
pub(super) fn rank(hypotheses: &[Hypothesis], readings: &Readings<'_>, model_error: f64) -> Vec<Ranked> {
    let judged: Vec<(f64, Ranked)> = hypotheses
        .iter()
        .filter_map(|hypothesis| hold_against(hypothesis, readings, model_error))
        .collect();
    let best = judged
        .iter()
        .map(|(log, _)| *log)
        .fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = judged.iter().map(|(log, _)| (log - best).exp()).sum();
    let mut ranked: Vec<Ranked> = judged
        .into_iter()
        .map(|(log, ranked)| Ranked {
            share: (log - best).exp() / sum,
            ..ranked
        })
        .collect();
    ranked.sort_by(|a, b| b.share.total_cmp(&a.share));
    ranked
}

/// Log of the evidence, and the best size with what is expected there.
fn hold_against(hypothesis: &Hypothesis, readings: &Readings<'_>, model_error: f64) -> Option<(f64, Ranked)> {
    // Logarithm of weight times density, size, side and index.
    let mut terms: Vec<(f64, f64, &Expected, f64)> = Vec::new();
    let share = hypothesis.met / hypothesis.sides.len() as f64;
    for side in &hypothesis.sides {
        let covariances: Vec<Covariance> = side
            .covariances
            .iter()
            .map(|together| Covariance::new(&own_doubts(readings, side, model_error), together).ok())
            .collect::<Option<_>>()?;
        for expected in &side.expected {
            let differences: Vec<f64> = readings
                .values
                .iter()
                .zip(&expected.values)
                .map(|(read, expected)| read - expected)
                .collect();
            let covariance = &covariances[expected.covariance];
            let log = covariance.log_density(&differences) + (share * expected.weight).ln();
            terms.push((
                log,
                expected.size,
                expected,
                covariance.distance_squared(&differences),
            ));
        }
    }
    let best = terms.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
    let weights: Vec<f64> = terms.iter().map(|term| (term.0 - best.0).exp()).collect();
    let sum: f64 = weights.iter().sum();
    // Too much and too little are two explanations: the size's doubt is that of the better one.
    let own_side = || {
        terms
            .iter()
            .zip(&weights)
            .filter(|(term, _)| term.1 * best.1 >= 0.0)
    };
    let of_side: f64 = own_side().map(|(_, weight)| weight).sum();
    let near = |power: i32, about: f64| -> f64 {
        own_side()
            .map(|(term, weight)| weight * (term.1 - about).powi(power))
            .sum::<f64>()
            / of_side
    };
    let ranked = Ranked {
        cause: hypothesis.cause,
        share: 0.0,
        size: best.1,
        size_u: near(2, near(1, 0.0)).sqrt(),
        distance_squared: best.3,
        expected: best.2.values.clone(),
    };
    Some((best.0 + sum.ln(), ranked))
}

/// Each reading's own doubt: its instrument's, and what the model may be off by in any figure.
fn own_doubts(readings: &Readings<'_>, side: &Side, model_error: f64) -> Vec<f64> {
    let Some(middle) = side.expected.get(side.expected.len() / 2) else {
        return readings.own.to_vec();
    };
    let with_model = |(own, expected): (&f64, &f64)| own.hypot(model_error * expected);
    readings.own.iter().zip(&middle.values).map(with_model).collect()
}
