//! The call sheet of a recall: whom to call, what for, and room to write what came of it.

use jiff::tz::TimeZone;
use lockring_proto::v1::{FoundPiece, RecallCall, RecallSheet};

use super::told_at;
use crate::model::{Block, Caution, Column, Document, Room, Sheet, Table, Type};

/// Lines for the answer of each call.
const ANSWER: u8 = 3;

/// The sheet; days are in `zone`.
pub fn recall(reply: &RecallSheet, zone: &TimeZone) -> Document {
    let line = reply.line.clone().unwrap_or_default();
    let mut blocks = vec![
        Block::Caution(Caution::plain(format!("Why: {}", line.why))),
        Block::Pairs(vec![
            ("opened".to_owned(), day(line.opened_us, zone)),
            (
                "to call".to_owned(),
                format!(
                    "{}; called {}, done {}",
                    reply.calls.len(),
                    line.called,
                    line.done
                ),
            ),
        ]),
        Block::Heading("bicycles on the road".to_owned()),
    ];
    if reply.calls.is_empty() {
        blocks.push(Block::Text(
            "No bicycle that was handed over has such a piece: nobody is to be called.".to_owned(),
        ));
    }
    for call in &reply.calls {
        let piece = call.piece.clone().unwrap_or_default();
        blocks.push(Block::Subheading(format!(
            "job {}, {}: {}",
            piece.job, piece.rider, piece.contact
        )));
        blocks.push(Block::Pairs(vec![
            ("piece".to_owned(), named(&piece)),
            ("handed over".to_owned(), day(piece.stage_since_us, zone)),
            ("so far".to_owned(), so_far(call, zone)),
        ]));
        blocks.push(Block::Room(Room {
            label: "called on, by; reached; the answer; comes in on".to_owned(),
            lines: ANSWER,
            grows: false,
        }));
    }
    let found = reply.found.clone().unwrap_or_default();
    blocks.push(Block::Heading("every piece that is meant".to_owned()));
    blocks.push(Block::Table(Table {
        columns: vec![
            Column::words("where"),
            Column::words("piece"),
            Column::words("from"),
            Column::words("came"),
            Column::words("at"),
        ],
        rows: found
            .pieces
            .iter()
            .map(|piece| {
                let at = match (piece.job, piece.item) {
                    (0, item) => format!("shelf item {item}, {} of them", piece.count),
                    (job, _) => format!("job {job}, {}", piece.rider),
                };
                vec![
                    piece.whereabouts.clone(),
                    named(piece),
                    piece.supplier.clone(),
                    day(piece.came_us, zone),
                    at,
                ]
            })
            .collect(),
    }));
    Document {
        kind: format!("Recall {}", line.recall),
        title: line.name,
        mark: None,
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: format!(
            "lockring recall call {} JOB STATE writes down what came of a call.",
            line.recall
        ),
        day: None,
    }
}

/// How far a rider is, and by which calls.
fn so_far(call: &RecallCall, zone: &TimeZone) -> String {
    let steps = call.steps.iter();
    let told: Vec<String> = steps
        .map(|step| {
            format!(
                "{} {} {}: {}",
                day(step.at_us, zone),
                step.by,
                step.state,
                step.note
            )
        })
        .collect();
    if told.is_empty() {
        return "not called".to_owned();
    }
    format!("{}; {}", call.state, told.join("; "))
}

fn named(piece: &FoundPiece) -> String {
    let mut words = vec![piece.name.clone()];
    words.extend(
        Some(&piece.serial)
            .filter(|mark| !mark.is_empty())
            .map(|mark| format!("serial {mark}")),
    );
    words.extend(
        Some(&piece.lot)
            .filter(|mark| !mark.is_empty())
            .map(|mark| format!("lot {mark}")),
    );
    words.join(", ")
}

fn day(us: i64, zone: &TimeZone) -> String {
    told_at(us, zone, "%Y-%m-%d")
}
