//! What documents need, in the contract's words.

use lockring_domain::card::{Card, CardBox, CardGroup};
use lockring_domain::care;
use lockring_domain::cautions::{self, Caution};
use lockring_domain::job::Job;
use lockring_domain::ride_class;
use lockring_proto::v1;

use super::words::class_limits;

/// The card of a job, with what is left to do about each recall that means it.
pub(in crate::service) fn card(job: &Job, card: &Card, recalls: Vec<String>) -> v1::CardReply {
    v1::CardReply {
        job: job.number,
        rider: job.rider.clone(),
        brief: card
            .brief
            .iter()
            .map(|(name, text)| v1::CardLine {
                name: (*name).to_owned(),
                text: text.clone(),
            })
            .collect(),
        groups: card.groups.iter().map(group).collect(),
        recalls,
    }
}

fn group(group: &CardGroup) -> v1::CardGroup {
    v1::CardGroup {
        title: group.title.to_owned(),
        boxes: group.boxes.iter().map(to_fill).collect(),
    }
}

fn to_fill(one: &CardBox) -> v1::CardBox {
    v1::CardBox {
        code: one.code.field.key.to_owned(),
        alias: one.code.alias.to_owned(),
        name: one.code.field.name.to_owned(),
        instrument: one.code.instrument.to_owned(),
        allowed: one.allowed.clone(),
        recorded: one.recorded.clone(),
    }
}

/// The class of a job as stored and the cautions it does not rule out.
pub(in crate::service) fn companions(job: &Job) -> v1::CompanionsReply {
    let class = job.text("ride-class").and_then(ride_class::find);
    let text = |of: fn(&ride_class::RideClass) -> String| class.map_or_else(String::new, of);
    v1::CompanionsReply {
        job: job.number,
        rider: job.rider.clone(),
        ride_class: text(|class| class.id.clone()),
        class_name: text(|class| class.name.clone()),
        class_region: text(|class| class.region.clone()),
        class_limits: text(class_limits),
        class_label: text(|class| class.label.clone()),
        class_source: text(|class| class.source.clone()),
        rules_as_of: ride_class::AS_OF.to_string(),
        cautions: cautions::for_job(job).map(|one| caution(one, job)).collect(),
        care: care::SCHEDULE
            .iter()
            .map(|line| v1::CareLine {
                every: line.every.to_owned(),
                what: line.what.to_owned(),
            })
            .collect(),
    }
}

fn caution(caution: &Caution, job: &Job) -> v1::CautionView {
    v1::CautionView {
        id: caution.id.clone(),
        when: caution.gate.clone(),
        severity: caution.severity.word().to_owned(),
        applies_when: if caution.is_settled(job) {
            String::new()
        } else {
            caution.applies_when.clone()
        },
        text: caution.text.clone(),
        source: caution.source.clone(),
        from_memory: caution.from_memory,
        audience: caution.audience.word().to_owned(),
    }
}
