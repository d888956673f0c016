//! The evening report: what stands still, why, and whose move it is.

use lockring_proto::v1::BlockedReport;

use crate::model::{Block, Column, Document, Sheet, Table, Type};

/// The report of one evening.
pub fn evening(report: &BlockedReport) -> Document {
    let columns = vec![
        Column::numbers("job", 0.45),
        Column::words("rider, bicycle", 1.5),
        Column::words("family", 0.9),
        Column::words("what", 3.0),
        Column::words("whose move", 0.9),
        Column::numbers("days", 0.6),
        Column::words("asked again", 1.0),
        Column::words("promise", 2.0),
    ];
    let rows = report
        .lines
        .iter()
        .map(|line| {
            let block = line.block.clone().unwrap_or_default();
            let late = if line.overdue { " (past)" } else { "" };
            vec![
                line.job.to_string(),
                format!("{}, {}", line.rider, line.bike),
                block.family,
                format!("{}; clears when {}", block.about, block.clears_when),
                block.whose_move,
                block.age_days.to_string(),
                format!("{}{late}", block.chase),
                format!("{} {}", line.promise, line.effect),
            ]
        })
        .collect();
    let counts = |counts: &[lockring_proto::v1::Count]| {
        counts
            .iter()
            .filter(|one| one.count > 0)
            .map(|one| format!("{} {}", one.name, one.count))
            .collect::<Vec<_>>()
            .join(", ")
    };
    let mut blocks = vec![
        Block::Pairs(vec![
            (
                "builds that stand".to_owned(),
                format!("{}, with {} blocks", report.builds, report.blocks),
            ),
            (
                "oldest".to_owned(),
                format!("{} working days", report.oldest_days),
            ),
            ("by family".to_owned(), counts(&report.by_family)),
            ("by age".to_owned(), counts(&report.by_age)),
        ]),
        Block::Table(Table { columns, rows }),
    ];
    if !report.calls.is_empty() {
        blocks.push(Block::Heading("to ask on the next working day".to_owned()));
        blocks.extend(report.calls.iter().cloned().map(Block::Text));
    }
    Document {
        kind: "Evening".to_owned(),
        title: format!("{} {}", report.weekday, report.day),
        mark: None,
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: "Ages in the shop's working days.".to_owned(),
    }
}
