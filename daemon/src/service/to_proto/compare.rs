//! A ride held against its expectation, in the contract's words.

use lockring_domain::diagnosis::{Comparison, Explanation, Row, Settle};
use lockring_domain::job::Job;
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
    v1::SettlingMeasurement {
        what: settle.what.clone(),
        if_first,
        if_second,
        spreads: settle.spreads,
        command: settle.command.clone(),
    }
}
