//! Pieces that are found, and call sheets.

use std::collections::BTreeMap;

use lockring_domain::job::Job;
use lockring_domain::supply::recall::{Call, CallState, Found, Recall, Spot, places};
use lockring_proto::v1;

/// Pieces by where they are, with how many are where, and jobs of a frame.
pub(in crate::service) fn found(mut pieces: Vec<Found>, frames: &[Job]) -> v1::FindPiecesReply {
    pieces.sort_by_key(Found::whereabouts);
    v1::FindPiecesReply {
        places: places(&pieces)
            .into_iter()
            .map(|(whereabouts, pieces)| v1::PieceCount {
                whereabouts: whereabouts.word().to_owned(),
                pieces,
            })
            .collect(),
        pieces: pieces.iter().map(piece).collect(),
        frames: frames
            .iter()
            .map(|job| v1::FramedJob {
                job: job.number,
                rider: job.rider.clone(),
                stage: job.stage.word().to_owned(),
                stage_since_us: job.stage_since.as_microsecond(),
            })
            .collect(),
    }
}

fn piece(found: &Found) -> v1::FoundPiece {
    let mut view = v1::FoundPiece {
        whereabouts: found.whereabouts().word().to_owned(),
        kind: found.goods.kind.word().to_owned(),
        part: found.goods.part.clone(),
        name: found.goods.name.clone(),
        serial: found.serial.clone().unwrap_or_default(),
        lot: found.lot.clone().unwrap_or_default(),
        supplier: found.supplier.clone().unwrap_or_default(),
        came_us: found.came.as_microsecond(),
        count: 1,
        left_us: found.left.as_ref().map(|left| left.at.as_microsecond()),
        left_because: found
            .left
            .as_ref()
            .map(|left| left.why.clone())
            .unwrap_or_default(),
        ..v1::FoundPiece::default()
    };
    match &found.at {
        Spot::Job(bearer) => {
            view.job = bearer.job;
            bearer.slot.word().clone_into(&mut view.slot);
            view.rider.clone_from(&bearer.rider);
            // Name and contact of a rider who was removed say the same; once is enough.
            if !(bearer.is_removed && bearer.rider.ends_with(&bearer.contact)) {
                view.contact.clone_from(&bearer.contact);
            }
            bearer.stage.word().clone_into(&mut view.stage);
            view.stage_since_us = bearer.since.as_microsecond();
        }
        Spot::Shelf { item, count } => {
            view.item = *item;
            view.count = *count;
        }
    }
    view
}

/// A recall in one line, with the pieces it means.
pub(in crate::service) fn recall_line(number: u32, recall: &Recall, pieces: &[Found]) -> v1::RecallLine {
    let states = || recall.calls.keys().map(|job| recall.state_of(*job, pieces));
    v1::RecallLine {
        recall: number,
        name: recall.name.clone(),
        why: recall.why.clone(),
        opened_us: recall.at.as_microsecond(),
        called: count(states().filter(|state| *state != CallState::ToCall)),
        done: count(states().filter(|state| *state == CallState::Done)),
        unreadable: String::new(),
        meant: places(pieces).values().sum(),
    }
}

fn count(items: impl Iterator) -> u32 {
    u32::try_from(items.count()).unwrap_or(u32::MAX)
}

/// The call sheet: every bicycle that was handed over with such a piece, those least far first.
pub(in crate::service) fn recall_sheet(number: u32, recall: &Recall, pieces: Vec<Found>) -> v1::RecallSheet {
    let line = recall_line(number, recall, &pieces);
    let called = recall.calls.keys().copied();
    let bearers = pieces.iter().filter_map(|piece| match &piece.at {
        Spot::Job(bearer) => Some(bearer.job),
        Spot::Shelf { .. } => None,
    });
    let states: BTreeMap<u32, CallState> = called
        .chain(bearers)
        .map(|job| (job, recall.state_of(job, &pieces)))
        .collect();
    let state = |job: u32| states.get(&job).copied().unwrap_or(CallState::ToCall);
    let found = found(pieces, &[]);
    let mut calls: Vec<v1::RecallCall> = Vec::new();
    for piece in &found.pieces {
        let with_the_rider = piece.stage == "handed-over" && piece.left_us.is_none();
        let called = piece.job > 0 && recall.calls.contains_key(&piece.job);
        let listed = calls
            .iter()
            .any(|call| call.piece.as_ref().is_some_and(|other| other.job == piece.job));
        if (with_the_rider || called) && !listed {
            let steps = recall.calls.get(&piece.job).map_or(&[][..], Vec::as_slice);
            calls.push(v1::RecallCall {
                piece: Some(piece.clone()),
                state: state(piece.job).word().to_owned(),
                steps: steps.iter().map(step).collect(),
            });
        }
    }
    calls.sort_by_key(|call| state(call.piece.as_ref().map_or(0, |piece| piece.job)));
    v1::RecallSheet {
        line: Some(line),
        calls,
        found: Some(found),
    }
}

fn step(call: &Call) -> v1::RecallStep {
    v1::RecallStep {
        state: call.state.word().to_owned(),
        note: call.note.clone(),
        by: call.by.clone(),
        at_us: call.at.as_microsecond(),
    }
}
