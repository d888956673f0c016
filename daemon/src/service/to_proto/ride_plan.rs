//! The sheet for the test ride, in the contract's words.

use lockring_domain::job::Job;
use lockring_domain::ride_plan::{Blank, Line, Plan};
use lockring_proto::v1;

/// The sheet of a job.
pub(in crate::service) fn ride_plan(job: &Job, plan: &Plan) -> v1::RidePlanReply {
    v1::RidePlanReply {
        job: job.number,
        rider: job.rider.clone(),
        before: plan.before.clone(),
        lines: plan.lines.iter().map(line).collect(),
    }
}

fn line(line: &Line) -> v1::RidePlanLine {
    let limit = |(name, limit): &(String, String)| v1::RidePlanLimit {
        name: name.clone(),
        limit: limit.clone(),
    };
    v1::RidePlanLine {
        run: line.run.word.to_owned(),
        what: line.run.what.to_owned(),
        how: line.how.clone(),
        boxes: line.boxes.iter().map(blank).collect(),
        limits: line.limits.iter().map(limit).collect(),
        command: line.command.clone(),
        is_asked: line.is_asked,
    }
}

fn blank(blank: &Blank) -> v1::RidePlanBox {
    v1::RidePlanBox {
        field: blank.word.to_owned(),
        name: blank.name.to_owned(),
        expected: blank.expected.clone(),
        recorded: blank.recorded.clone(),
        unit: blank.unit.to_owned(),
    }
}
