//! Bicycles with pieces of open recalls on them: whom the shop has to call, and what is still to be done then.

use std::collections::BTreeSet;

use jiff::Timestamp;
use lockring_domain::job::Job;
use lockring_domain::stage::Stage;
use lockring_domain::supply::piece::Piece;
use lockring_domain::supply::recall::{CallState, Find, Found, Recall, Spot};
use lockring_domain::supply::{mark_key, supplier};
use lockring_store::{Reader, StorageError};

use crate::service::Standing;

/// A bicycle that a recall means and whose rider is not done with it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Recalled {
    /// The recall.
    pub(crate) recall: u32,
    /// What it is called.
    pub(crate) name: String,
    /// How far the rider is.
    pub(crate) state: CallState,
    /// The job.
    pub(crate) job: Job,
    /// The pieces that are meant, in words.
    pub(crate) pieces: Vec<String>,
}

/// Whether somebody has to be called: the bicycle is with its rider, whom nobody has reached. Who was removed
/// from the shop's files cannot be.
const fn is_to_call(stage: Stage, state: CallState) -> bool {
    matches!(stage, Stage::HandedOver) && matches!(state, CallState::ToCall | CallState::Tried)
}

impl Recalled {
    /// Whether its rider is to be called.
    pub(crate) fn is_to_call(&self) -> bool {
        is_to_call(self.job.stage, self.state) && self.job.rider_removed.is_none()
    }

    /// The call, in words.
    pub(crate) fn call(&self) -> String {
        let Self {
            recall, name, job, ..
        } = self;
        let whom = match job.text("contact") {
            Some(contact) => format!("rider {} ({contact})", job.rider),
            None => format!("rider {}", job.rider),
        };
        format!(
            "{whom}: job {} ({}), recall {recall} ({name}): {}; {}",
            job.number,
            self.pieces.join(", "),
            self.state.word(),
            noted(*recall, job.number, CallState::Reached)
        )
    }

    /// What is left to do about it, in words.
    pub(crate) fn left(&self) -> String {
        let Self {
            recall, name, job, ..
        } = self;
        let state = match (job.stage, job.rider_removed) {
            (Stage::HandedOver, Some(day)) => format!("nobody can be called: rider removed on {day}"),
            (Stage::HandedOver, None) => format!("rider {}", self.state.word()),
            _ => "still here: exchange it before it goes".to_owned(),
        };
        format!(
            "recall {recall} ({name}): {}, {state}; once exchanged, or found to be another: {}",
            self.pieces.join(", "),
            noted(*recall, job.number, CallState::Done)
        )
    }
}

fn noted(recall: u32, job: u32, state: CallState) -> String {
    format!("lockring recall call {recall} {job} {}", state.word())
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
    for (number, recall, find) in searches(at) {
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
            is_to_call(bearer.stage, recall.state(bearer.job)).then_some(bearer.job)
        }
        _ => None,
    }
}

/// Every recall with what it looks for.
fn searches(at: &Standing) -> impl Iterator<Item = (u32, &Recall, Find)> {
    let recalls = at.shop.recalls.iter();
    recalls.filter_map(|(number, recall)| Some((*number, recall, Find::read(&recall.find, &at.zone).ok()?)))
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
    let mut recalled = Vec::new();
    for (number, recall, find) in searches(at) {
        let read: BTreeSet<u32> = known.iter().map(|job| job.number).collect();
        let found = reader.find_pieces(&find)?;
        let others: BTreeSet<u32> = found
            .iter()
            .filter_map(|piece| match &piece.at {
                Spot::Job(bearer) => Some(bearer.job).filter(|job| !read.contains(job)),
                Spot::Shelf { .. } => None,
            })
            .collect();
        recalled.extend(known.iter().filter_map(|job| of(number, recall, &find, job)));
        for job in others {
            let history = reader.history_known(job, made_before, upto)?;
            recalled.extend(history.and_then(|history| of(number, recall, &find, &history.job)));
        }
    }
    recalled.sort_by_key(|one| (one.state, one.recall, one.job.number));
    Ok(recalled)
}

/// What a recall says of a job; nothing of one that it does not mean, whose rider is done, or that went back.
fn of(number: u32, recall: &Recall, find: &Find, job: &Job) -> Option<Recalled> {
    let state = recall.state(job.number);
    if state == CallState::Done || matches!(job.stage, Stage::Returned | Stage::Cancelled) {
        return None;
    }
    let meant = |piece: &&Piece| piece.left.is_none() && means(find, piece);
    let pieces: Vec<String> = job.pieces.iter().filter(meant).map(words).collect();
    (!pieces.is_empty()).then(|| Recalled {
        recall: number,
        name: recall.name.clone(),
        state,
        job: job.clone(),
        pieces,
    })
}

fn words(piece: &Piece) -> String {
    let mark = piece.serial.as_ref().or(piece.lot.as_ref());
    mark.map_or_else(
        || piece.slot.word().to_owned(),
        |mark| format!("{} {mark}", piece.slot.word()),
    )
}

/// Whether a search means a piece, as the store's tables say it.
fn means(find: &Find, piece: &Piece) -> bool {
    let key = |mark: &Option<String>| mark.as_deref().map(mark_key);
    let (serial, lot) = (key(&piece.serial), key(&piece.lot));
    let from = piece.supplier.as_deref().map(supplier::key);
    find.supplier
        .as_ref()
        .is_none_or(|wanted| Some(wanted) == from.as_ref())
        && find.part.as_ref().is_none_or(|part| *part == piece.goods.part)
        && (find.since..find.before).contains(&piece.came)
        && find.means(serial.as_deref(), lot.as_deref())
}

#[cfg(test)]
mod tests {
    use lockring_domain::part::Slot;
    use lockring_domain::supply::recall::{Call, FindText};

    use super::*;
    use crate::report::testing::{Bench, on};

    fn recall(states: &[CallState]) -> Recall {
        let call = |state: &CallState| Call {
            state: *state,
            note: String::new(),
            by: "K".into(),
            at: on("2026-03-03"),
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
        let recall = recall(states);
        let find = Find::read(&recall.find, &jiff::tz::TimeZone::UTC).unwrap();
        of(1, &recall, &find, &bicycle(stage, serial))
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
        let find = Find::read(&recall(&[]).find, &jiff::tz::TimeZone::UTC).unwrap();
        let mut removed = bicycle(Stage::HandedOver, "PK-1");
        removed.rider_removed = Some(jiff::civil::date(2026, 3, 5));
        let removed = of(1, &recall(&[]), &find, &removed).unwrap();
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

    #[test]
    fn every_part_of_a_search_narrows_it() {
        let job = bicycle(Stage::HandedOver, "PK-1");
        let piece = job.pieces.iter().next().unwrap();
        let zone = jiff::tz::TimeZone::UTC;
        let day = |day: &str| Some(day.parse().unwrap());
        let finds = |text: FindText| means(&Find::read(&text, &zone).unwrap(), piece);
        let of_part = |part: &str| FindText {
            part: part.into(),
            ..FindText::default()
        };
        assert!(finds(of_part(&piece.goods.part)) && !finds(of_part("other")));
        let since = |since: &str| FindText {
            since: day(since),
            ..FindText::default()
        };
        assert!(finds(since("2026-03-02")) && !finds(since("2026-03-03")));
        let from = FindText {
            supplier: "N".into(),
            ..FindText::default()
        };
        assert!(!finds(from));
    }
}
