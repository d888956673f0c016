//! A ride held against its expectation, in the contract's words.

use lockring_domain::diagnosis::{Comparison, Explanation, Row, Settle};
use lockring_domain::job::Job;
use lockring_domain::learning::{self, Learnt};
use lockring_domain::rules::RuleSheet;
use lockring_proto::v1;

/// The comparison of a job.
pub(in crate::service) fn compared(job: &Job, found: &Comparison) -> v1::CompareRideReply {
    v1::CompareRideReply {
        job: job.number,
        rider: job.rider.clone(),
        conditions: found.conditions.clone(),
        figures: found.rows.iter().map(figure).collect(),
        explanations: found.explanations.iter().map(explanation).collect(),
        settle: found.settle.as_ref().map(settle),
        remarks: found.remarks.clone(),
        first: found.first.clone(),
    }
}

/// What all rides teach.
pub(in crate::service) fn predictions(
    jobs: usize,
    learnt: &Learnt,
    rules: &RuleSheet,
) -> v1::PredictionsReport {
    let percent = |share: f64| 100.0 * share;
    let error = |bias: &learning::Bias| v1::PredictionError {
        kind: bias.kind.clone(),
        code: bias.key.to_owned(),
        name: bias.name.clone(),
        rides: bias.rides,
        mean_percent: percent(bias.mean),
        spread_percent: percent(bias.spread.unwrap_or_default()),
        above: bias.above,
    };
    let offer = |offer: &learning::Offer| v1::OfferedConstant {
        rule: offer.rule.clone(),
        stands: offer.stands.clone(),
        offered: offer.offered.clone(),
        rides: offer.rides,
        why: offer.why.clone(),
        command: offer.command.clone(),
    };
    v1::PredictionsReport {
        jobs: u32::try_from(jobs).unwrap_or(u32::MAX),
        errors: learnt.biases.iter().map(error).collect(),
        offers: learnt.offers.iter().map(offer).collect(),
        rule: learning::rule_in_words(rules),
    }
}

fn figure(row: &Row) -> v1::ComparedFigure {
    v1::ComparedFigure {
        code: row.key.to_owned(),
        name: row.name.clone(),
        unit: row.unit.to_owned(),
        expected: row.shown(row.expected.0),
        expected_uncertainty: row.expanded(row.expected.1),
        measured: row.shown(row.measured.0),
        measured_uncertainty: row.expanded(row.measured.1),
        spreads: row.spreads,
        verdict: row.agreement.word().to_owned(),
        mostly: row.mostly.to_owned(),
    }
}

fn explanation(explanation: &Explanation) -> v1::RideExplanation {
    let ranked = &explanation.ranked;
    v1::RideExplanation {
        cause: ranked.cause.map_or("", |cause| cause.word()).to_owned(),
        said: explanation.said.clone(),
        look: explanation.look.to_owned(),
        share: ranked.share,
        size: ranked.size,
        size_uncertainty: ranked.size_u,
    }
}

fn settle(settle: &Settle) -> v1::SettlingMeasurement {
    let [if_first, if_second] = settle.expected.clone();
    let [first, second] = settle.between.clone();
    v1::SettlingMeasurement {
        what: settle.what.clone(),
        if_first,
        if_second,
        first,
        second,
        spreads: settle.spreads,
        command: settle.command.clone(),
    }
}
