//! The fit page and the chainline, in the contract's words.

use lockring_domain::chainline::{Cog, Picture};
use lockring_domain::check::Report;
use lockring_domain::fit::{Cure, Effect, Topic, Trial, Turn};
use lockring_domain::job::Job;
use lockring_proto::v1;

use super::check_report;

/// The page as things are, with what would help.
pub(in crate::service) fn fit_page(job: &Job, topics: &[Topic], cures: &[Cure]) -> v1::FitReply {
    v1::FitReply {
        job: job.number,
        rider: job.rider.clone(),
        topics: topics.iter().map(|topic| fit_topic(job, topic)).collect(),
        changed: Vec::new(),
        differs: Vec::new(),
        cures: cures.iter().map(|cure| fit_cure(job, cure)).collect(),
    }
}

fn fit_cure(job: &Job, cure: &Cure) -> v1::FitCure {
    let effect = |effect: &Effect| v1::FitEffect {
        turn: match effect.turn {
            Turn::Better => "better",
            Turn::Moved => "moved",
            Turn::Worse => "worse",
        }
        .to_owned(),
        before: Some(check_report(job, &effect.before, job.stage)),
        after: Some(check_report(job, &effect.after, job.stage)),
    };
    v1::FitCure {
        change: cure.change.clone(),
        effects: cure.effects.iter().map(effect).collect(),
    }
}

/// The page after changes that were only tried.
pub(in crate::service) fn fit_trial(job: &Job, trial: &Trial) -> v1::FitReply {
    let report = |report: &Report| Some(check_report(job, report, job.stage));
    let differs = trial.differs.iter().map(|(before, after)| v1::FitDifference {
        before: report(before),
        after: report(after),
    });
    v1::FitReply {
        changed: trial.changed.clone(),
        differs: differs.collect(),
        ..fit_page(job, &trial.topics, &[])
    }
}

/// Where ring and cogs sit.
pub(in crate::service) fn chainline(job: &Job, picture: &Picture) -> v1::ChainlineReply {
    let (nearest, off) = picture.nearest;
    v1::ChainlineReply {
        job: job.number,
        ring_teeth: picture.ring_teeth,
        front_mm: millimetres(picture.front),
        front_how: picture.front_how.clone(),
        rear_mm: millimetres(picture.rear),
        rear_how: picture.rear_how.clone(),
        stay_mm: millimetres(picture.stay),
        nearest_standard: nearest.to_owned(),
        nearest_off_mm: millimetres(off),
        cogs: picture.cogs.iter().map(cog_line).collect(),
    }
}

fn fit_topic(job: &Job, topic: &Topic) -> v1::FitTopic {
    v1::FitTopic {
        title: topic.title.to_owned(),
        checks: topic
            .reports
            .iter()
            .map(|report| check_report(job, report, job.stage))
            .collect(),
    }
}

fn cog_line(cog: &Cog) -> v1::CogLine {
    v1::CogLine {
        teeth: cog.teeth,
        line_mm: millimetres(cog.line),
        offset_mm: millimetres(cog.offset),
        angle_deg: cog.angle.to_degrees(),
    }
}

fn millimetres(metres: f64) -> f64 {
    1e3 * metres
}
