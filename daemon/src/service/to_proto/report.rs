//! Reports.

use lockring_proto::v1;

use super::{block_of_age, day};
use crate::report::blocked::{Blocked, Line};

/// The evening report.
pub(in crate::service) fn blocked_report(told: &Blocked) -> v1::BlockedReport {
    v1::BlockedReport {
        day: told.day.to_string(),
        weekday: told.day.strftime("%A").to_string(),
        builds: told.builds,
        blocks: u32::try_from(told.lines.len()).unwrap_or(u32::MAX),
        oldest_days: told.oldest,
        lines: told.lines.iter().map(line).collect(),
        by_family: counts(&told.by_family),
        by_age: counts(&told.by_age),
        calls: told.calls.clone(),
    }
}

fn line(line: &Line) -> v1::BlockedLine {
    v1::BlockedLine {
        job: line.job,
        rider: line.rider.clone(),
        bike: line.bike.clone(),
        block: Some(block_of_age(line.job, &line.block, line.age)),
        overdue: line.overdue,
        promise: day(line.promise),
        promise_kind: line.promise_kind.clone(),
        effect: line.effect.clone(),
    }
}

fn counts(counts: &[(&'static str, u32)]) -> Vec<v1::Count> {
    counts
        .iter()
        .map(|(name, count)| v1::Count {
            name: (*name).to_owned(),
            count: *count,
        })
        .collect()
}
