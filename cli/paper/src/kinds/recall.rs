//! The call sheet of a recall: whom to call, what for, and room to write what came of it.

use jiff::tz::TimeZone;
use lockring_proto::v1::{FoundPiece, RecallSheet};

use super::told_at;
use crate::model::{Block, Box, Column, Document, Sheet, Table, Type};

/// The sheet; days are in `zone`.
pub fn recall(reply: &RecallSheet, zone: &TimeZone) -> Document {
    let line = reply.line.clone().unwrap_or_default();
    let mut blocks = vec![
        Block::Caution(format!("Why: {}", line.why)),
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
    for call in &reply.calls {
        let piece = call.piece.clone().unwrap_or_default();
        let told: Vec<String> = call
            .steps
            .iter()
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
        blocks.push(Block::Boxes(vec![Box {
            label: format!(
                "job {}, {}: {}; {}; handed over {}",
                piece.job,
                piece.rider,
                piece.contact,
                named(&piece),
                day(piece.stage_since_us, zone)
            ),
            beside: told.join("; "),
            value: if call.steps.is_empty() {
                String::new()
            } else {
                call.state.clone()
            },
        }]));
    }
    let found = reply.found.clone().unwrap_or_default();
    blocks.push(Block::Heading("every piece that is meant".to_owned()));
    blocks.push(Block::Table(Table {
        columns: vec![
            Column::words("where", 1.2),
            Column::words("piece", 2.6),
            Column::words("from", 1.0),
            Column::words("came", 1.0),
            Column::words("at", 1.6),
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
            "lockring recall call {} JOB STATE writes down what came of a call",
            line.recall
        ),
    }
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
    told_at(us, zone, "%a %Y-%m-%d")
}
