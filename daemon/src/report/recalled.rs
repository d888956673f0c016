//! Bicycles with pieces of open recalls on them: whom the shop has to call, and what is still to be done then.

use std::collections::BTreeSet;

use jiff::Timestamp;
use lockring_domain::job::Job;
use lockring_domain::recalled::{self, Recalled as Meant, Search};
use lockring_domain::stage::Stage;
use lockring_domain::supply::recall::{CallState, Found, Recall, Spot};
use lockring_store::{Reader, StorageError};

use crate::standing::Standing;

/// A bicycle that a recall means and whose rider is not done with it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Recalled {
    /// The recall, and the pieces that it means.
    pub(crate) meant: Meant,
    /// The job.
    pub(crate) job: Job,
}

/// Whether somebody has to be called: the bicycle is with its rider, whom nobody has reached. Who was removed
/// from the shop's files cannot be.
const fn is_to_call(stage: Stage, state: CallState) -> bool {
    matches!(stage, Stage::HandedOver) && matches!(state, CallState::ToCall | CallState::Tried)
}

impl Recalled {
    /// Whether its rider is to be called.
    pub(crate) fn is_to_call(&self) -> bool {
        is_to_call(self.job.stage, self.meant.state) && self.job.rider_removed.is_none()
    }

    /// The call, in words.
    pub(crate) fn call(&self) -> String {
        let Self { meant, job } = self;
        let whom = match job.text("contact") {
            Some(contact) => format!("rider {} ({contact})", job.rider),
            None => format!("rider {}", job.rider),
        };
        format!(
            "{whom}: job {} ({}), recall {} ({}): {}; {}",
            job.number,
            meant.pieces_in_words(),
            meant.recall,
            meant.name,
            meant.state.word(),
            meant.noted(job.number, CallState::Reached)
        )
    }

    /// What is left to do about it, in words.
    pub(crate) fn left(&self) -> String {
        let Self { meant, job } = self;
        let state = match (job.stage, job.rider_removed) {
            (Stage::HandedOver, Some(day)) => format!("nobody can be called: rider removed on {day}"),
            (Stage::HandedOver, None) => format!("rider {}", meant.state.word()),
            _ => "still here: exchange it before it goes".to_owned(),
        };
        format!(
            "recall {} ({}): {}, {state}; once exchanged, or found to be another: {}",
            meant.recall,
            meant.name,
            meant.pieces_in_words(),
            meant.noted(job.number, CallState::Done)
        )
    }
}

/// What is left to do about each recall that means a bicycle, in words.
pub(crate) fn left_of(at: &Standing, job: &Job) -> Vec<String> {
    recalled::searches(&at.shop, &at.zone)
        .filter_map(|search| of(&search, job))
        .map(|recalled| recalled.left())
        .collect()
}

/// A recall for which riders are to be called.
pub(crate) struct Due {
    /// The recall.
    pub(crate) recall: u32,
    /// What it is called.
    pub(crate) name: String,
    /// How many riders.
    pub(crate) riders: u32,
}

/// The recalls for which riders are to be called as things stand.
pub(crate) fn to_reach(reader: &Reader<'_>, at: &Standing) -> Result<Vec<Due>, StorageError> {
    let mut due = Vec::new();
    for Search { number, recall, find } in recalled::searches(&at.shop, &at.zone) {
        let found = reader.find_pieces(&find)?;
        let with_riders: BTreeSet<u32> = found
            .iter()
            .filter_map(|piece| rider_to_call(recall, piece))
            .collect();
        let mut riders = 0;
        for job in with_riders {
            let job = reader.job(job)?;
            riders += u32::from(job.is_some_and(|job| job.rider_removed.is_none()));
        }
        if riders > 0 {
            due.push(Due {
                recall: number,
                name: recall.name.clone(),
                riders,
            });
        }
    }
    Ok(due)
}

fn rider_to_call(recall: &Recall, found: &Found) -> Option<u32> {
    match &found.at {
        Spot::Job(bearer) if found.left.is_none() => {
            let serial = found.serial.as_deref();
            let state = recall.state_about(bearer.job, &found.goods, serial, found.came);
            is_to_call(bearer.stage, state).then_some(bearer.job)
        }
        _ => None,
    }
}

/// Bicycles that open recalls mean, by what was made before a moment and stored up to an entry; `known` are jobs
/// that were read so already.
pub(crate) fn known(
    reader: &Reader<'_>,
    at: &Standing,
    made_before: Timestamp,
    upto: u64,
    known: &[&Job],
) -> Result<Vec<Recalled>, StorageError> {
    let mut bicycles = Vec::new();
    for search in recalled::searches(&at.shop, &at.zone) {
        let read: BTreeSet<u32> = known.iter().map(|job| job.number).collect();
        let found = reader.find_pieces(&search.find)?;
        let others: BTreeSet<u32> = found
            .iter()
            .filter_map(|piece| match &piece.at {
                Spot::Job(bearer) => Some(bearer.job).filter(|job| !read.contains(job)),
                Spot::Shelf { .. } => None,
            })
            .collect();
        bicycles.extend(known.iter().filter_map(|job| of(&search, job)));
        for job in others {
            let history = reader.history_known(job, made_before, upto)?;
            bicycles.extend(history.and_then(|history| of(&search, &history.job)));
        }
    }
    bicycles.sort_by_key(|one| (one.meant.state, one.meant.recall, one.job.number));
    Ok(bicycles)
}

fn of(search: &Search<'_>, job: &Job) -> Option<Recalled> {
    let meant = search.of(job)?;
    Some(Recalled {
        meant,
        job: job.clone(),
    })
}

#[cfg(test)]
mod tests {
    use jiff::tz::TimeZone;
    use lockring_domain::part::Slot;
    use lockring_domain::shop::Shop;
    use lockring_domain::supply::recall::{Call, FindText};

    use super::*;
    use crate::report::testing::{Bench, on};

    fn recall(states: &[CallState]) -> Recall {
        let call = |state: &CallState| Call {
            state: *state,
            note: String::new(),
            by: "K".into(),
            at: on("2026-03-03"),
            there: None,
        };
        Recall {
            name: "cells overheat".into(),
            why: "maker's notice".into(),
            find: FindText {
                marks: vec!["PK*".into()],
                ..FindText::default()
            },
            at: on("2026-03-02"),
            calls: [(1, states.iter().map(call).collect())].into(),
        }
    }

    fn bicycle(stage: Stage, serial: &str) -> Job {
        let mut bench = Bench::job(1, "Ines H.", on("2026-03-02"));
        bench.choose(Slot::Pack).receive(Slot::Pack);
        let mut job = bench.job;
        job.stage = stage;
        for piece in job.pieces.iter_mut() {
            piece.serial = Some(serial.into());
        }
        job
    }

    fn told(states: &[CallState], stage: Stage, serial: &str) -> Option<Recalled> {
        of_shop(states, &bicycle(stage, serial))
    }

    fn of_shop(states: &[CallState], job: &Job) -> Option<Recalled> {
        let mut shop = Shop::default();
        shop.recalls.insert(1, recall(states));
        recalled::searches(&shop, &TimeZone::UTC).find_map(|search| of(&search, job))
    }

    #[test]
    fn a_rider_nobody_reached_is_to_be_called_and_one_who_was_is_not_forgotten() {
        use CallState::{Done, Inspected, Reached, ToCall, Tried};
        for (states, is_to_call) in [
            (&[][..], true),
            (&[ToCall], true),
            (&[Tried], true),
            (&[Tried, Reached], false),
            (&[Inspected], false),
        ] {
            let told = told(states, Stage::HandedOver, "PK-1").unwrap();
            assert_eq!(told.is_to_call(), is_to_call, "{states:?}");
        }
        let call = told(&[], Stage::HandedOver, "PK-1").unwrap().call();
        assert_eq!(
            call,
            "rider Ines H.: job 1 (pack PK-1), recall 1 (cells overheat): to-call; lockring recall call 1 1 reached"
        );
        assert_eq!(told(&[Done], Stage::HandedOver, "PK-1"), None);
        assert_eq!(told(&[], Stage::HandedOver, "XK-1"), None);
        assert_eq!(told(&[], Stage::Returned, "PK-1"), None);
        // Whose name and number are gone cannot be called, and is not forgotten.
        let mut removed = bicycle(Stage::HandedOver, "PK-1");
        removed.rider_removed = Some(jiff::civil::date(2026, 3, 5));
        let removed = of_shop(&[], &removed).unwrap();
        assert!(!removed.is_to_call());
        assert_eq!(
            removed.left(),
            "recall 1 (cells overheat): pack PK-1, nobody can be called: rider removed on 2026-03-05; once exchanged, \
             or found to be another: lockring recall call 1 1 done"
        );
        let here = told(&[], Stage::Fitting, "PK-1").unwrap();
        assert!(
            !here.is_to_call() && here.left().contains("still here"),
            "{}",
            here.left()
        );
    }
}
