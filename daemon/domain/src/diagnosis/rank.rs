//! Which single cause explains all the differences together.
//!
//! Each cause is given every size it comes in; the readings' density at each size, weighed with
//! how plausible the size is, adds up to the evidence for the cause (JCGM 101:2008 speaks of the
//! same densities; the sum over sizes is Bayes' rule). A cause that could be of any size spreads
//! its weight thin and so pays for its freedom; a cause that only works at a size nobody meets pays
//! too. The doubt of the expectation is taken as it is with the cause at work.

use super::cause::Cause;
use super::model::{Expected, Hypothesis, Model};
use super::readings::Readings;

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

/// The hypotheses by the belief they deserve, the best first. Where even the best one fits badly, every one
/// is computed again where the readings point.
pub(super) fn rank(
    model: &Model<'_>,
    hypotheses: &[Hypothesis],
    readings: &Readings<'_>,
    model_error: f64,
) -> Vec<Ranked> {
    let ranked = rank_as_computed(hypotheses, readings, model_error);
    let n = readings.read() as f64;
    // One standard deviation above the mean of a chi-squared variable.
    let fits = |best: &Ranked| best.distance_squared <= n + (2.0 * n).sqrt();
    if ranked.first().is_none_or(fits) {
        return ranked;
    }
    let nearer = hypotheses
        .iter()
        .map(|one| model.nearer(one, readings, model_error));
    rank_as_computed(&nearer.collect::<Vec<_>>(), readings, model_error)
}

fn rank_as_computed(hypotheses: &[Hypothesis], readings: &Readings<'_>, model_error: f64) -> Vec<Ranked> {
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
        let covariances = side.covariances(readings, model_error)?;
        for expected in &side.expected {
            let covariance = &covariances[expected.covariance];
            let density = readings.log_density(covariance, &expected.values);
            let distance = readings.distance_squared(covariance, &expected.values);
            terms.push((
                density + (share * expected.weight).ln(),
                expected.size,
                expected,
                distance,
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
