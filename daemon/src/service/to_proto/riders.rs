//! Riders, in the contract's words.

use lockring_domain::command::Against;
use lockring_domain::entry::{self, Entry};
use lockring_domain::job::Job;
use lockring_domain::shop::Shop;
use lockring_domain::shop::setting::Setting;
use lockring_proto::v1;
use prost::Message as _;

use super::{Kept, history_line, photo};

impl Kept for v1::RemoveRiderReply {
    const KIND: &str = "rider";

    fn repeated(self) -> Self {
        Self {
            repeated: true,
            ..self
        }
    }
}

/// A rider with the jobs left out.
pub(in crate::service) fn rider_view(jobs: &[Job], others: &[Job], shop: &Shop) -> v1::RiderView {
    let keep = shop.settings.get(&Setting::KeepRiders);
    v1::RiderView {
        name: jobs.first().map_or_else(String::new, |job| job.rider.clone()),
        jobs: Vec::new(),
        others: others
            .iter()
            .map(|job| v1::OtherJob {
                job: job.number,
                contact: job.text("contact").unwrap_or_default().to_owned(),
            })
            .collect(),
        against: Vec::new(),
        keep_months: shop.count(Setting::KeepRiders).unwrap_or(0),
        keep_why: keep.map_or_else(String::new, |given| given.said.why.clone()),
        backups: Vec::new(),
        files: Vec::new(),
        cautions: Vec::new(),
        shop_lines: Vec::new(),
        other_lines: Vec::new(),
    }
}

/// A job of a rider, private texts left out.
pub(in crate::service) fn rider_job(job: &Job, entries: &[Entry]) -> v1::RiderJob {
    let retracted = entry::retracted(entries);
    v1::RiderJob {
        job: job.number,
        stage: job.stage.word().to_owned(),
        opened_us: job.opened.as_microsecond(),
        over_us: job.stage.is_end().then(|| job.stage_since.as_microsecond()),
        rider: job.rider.clone(),
        contact: job.text("contact").unwrap_or_default().to_owned(),
        removed_on: job.rider_removed.map_or_else(String::new, |day| day.to_string()),
        texts: Vec::new(),
        photos: job.photos.iter().map(photo).collect(),
        lines: entries
            .iter()
            .map(|entry| history_line(entry, retracted.contains(&entry.seq)))
            .collect(),
        owed: job.balance().0,
    }
}

/// What speaks against a removal.
pub(in crate::service) fn rider_against(against: Against) -> v1::RiderAgainst {
    v1::RiderAgainst {
        why: against.why,
        may_be_overruled: against.may_be_overruled,
    }
}

/// What is kept in the place of an answer that named somebody who was removed: that it was given,
/// and about which job.
pub(in crate::service) fn cut(kept: &[u8]) -> Vec<u8> {
    let Ok(reply) = super::recall::<v1::JobReply>(kept) else {
        let kind = kept.iter().take_while(|byte| **byte != 0).count();
        return kept.iter().take(kind + 1).copied().collect();
    };
    let reply = v1::JobReply {
        job: reply.job,
        revision: reply.revision,
        stage: reply.stage,
        said: vec!["done before; what was answered went with the rider".into()],
        ..Default::default()
    };
    let mut kept = <v1::JobReply as Kept>::KIND.as_bytes().to_vec();
    kept.push(0);
    kept.extend(reply.encode_to_vec());
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::service::to_proto::{keep, recall};

    #[test]
    fn a_cut_answer_still_is_one_of_its_kind_and_names_nobody() {
        let reply = v1::JobReply {
            job: 7,
            revision: 3,
            rider: "Ines H.".into(),
            said: vec!["taken in for Ines H.".into()],
            ..Default::default()
        };
        let left: v1::JobReply = recall(&cut(&keep(&reply))).unwrap();
        assert_eq!((left.job, left.revision, left.rider.as_str()), (7, 3, ""));
        assert!(!left.said.concat().contains("Ines"));
        let other = v1::ShopReply {
            said: vec!["Ines".into()],
            ..Default::default()
        };
        assert_eq!(
            recall::<v1::ShopReply>(&cut(&keep(&other))).unwrap(),
            v1::ShopReply::default()
        );
    }
}
