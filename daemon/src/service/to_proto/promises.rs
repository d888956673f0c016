//! Promises against the earliest finish.

use lockring_domain::promise::{PROMISE_KIND, Promise, Told};
use lockring_proto::v1;

use super::day;
use crate::report::promises::{Line, Promises};

/// The report; only what is at risk unless `all` is asked for.
pub(in crate::service) fn promises(told: &Promises, all: bool) -> v1::PromisesReply {
    v1::PromisesReply {
        day: told.day.to_string(),
        weekday: told.day.strftime("%A").to_string(),
        promised: told.promised(),
        at_risk: told.at_risk(),
        lines: told
            .lines
            .iter()
            .filter(|line| all || line.outlook.at_risk)
            .map(promise_line)
            .collect(),
    }
}

fn promise_line(line: &Line) -> v1::PromiseLine {
    let (job, seen) = (&line.job, &line.outlook);
    v1::PromiseLine {
        job: job.number,
        rider: job.rider.clone(),
        bike: job.text("bike").unwrap_or_default().to_owned(),
        stage: job.stage.word().to_owned(),
        promise: day(job.promised()),
        promise_kind: job.text(PROMISE_KIND).unwrap_or_default().to_owned(),
        slips: job.slips(),
        days: job.promises.iter().map(promised_day).collect(),
        earliest_finish: day(seen.finish),
        late_days: seen.late,
        at_risk: seen.at_risk,
        reasons: seen.reasons.clone(),
        told: job.told_of_promise().map(told_words),
    }
}

fn promised_day(promise: &Promise) -> v1::PromisedDay {
    v1::PromisedDay {
        day: promise.day.to_string(),
        said: Some(v1::Said {
            by: promise.by.clone(),
            at_us: promise.at.as_microsecond(),
            why: promise.why.clone(),
        }),
    }
}

fn told_words(told: &Told) -> v1::Said {
    v1::Said {
        by: told.by.clone(),
        at_us: told.at.as_microsecond(),
        why: told.words.clone(),
    }
}
