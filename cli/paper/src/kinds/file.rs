//! The technical file: everything about one job, readable without the tool.

use jiff::tz::TimeZone;
use lockring_proto::v1::{
    ChainlineReply, CheckReply, CompanionsReply, CompareRideReply, HistoryReply, JobView, PhotoView,
    RangeReply,
};

use super::handover::{class, parts};
use super::{NO_RULING, figure, told_at};
use crate::model::{Block, Column, Document, Picture, Sheet, Table, Type};
use crate::picture;

/// A moment of the file.
const MINUTE: &str = "%Y-%m-%d %H:%M";

/// The answers a technical file is made of.
#[derive(Debug, Clone, Copy)]
pub struct File<'a> {
    /// The job.
    pub view: &'a JobView,
    /// Every gate's checks.
    pub gates: &'a [CheckReply],
    /// All its entries.
    pub history: &'a HistoryReply,
    /// Class and cautions.
    pub companions: &'a CompanionsReply,
    /// The chainline; `None` where too little is known.
    pub chainline: Option<&'a ChainlineReply>,
    /// Ridden against expected; `None` before a ride.
    pub compare: Option<&'a CompareRideReply>,
    /// The brief's road; `None` where too little is known.
    pub range: Option<&'a RangeReply>,
    /// Its photos, oldest first.
    pub photos: &'a [(PhotoView, Result<Picture, String>)],
}

/// Everything about one job: values with where they come from, parts, every finding with its
/// arithmetic and source, the whole history. Times are in `zone`.
pub fn technical_file(given: File<'_>, zone: &TimeZone) -> Document {
    let File {
        view,
        gates,
        history,
        companions,
        chainline,
        compare,
        range,
        photos,
    } = given;
    let line = view.line.clone().unwrap_or_default();
    let mut blocks = vec![
        Block::Pairs(vec![
            ("stage".to_owned(), line.stage.clone()),
            ("taken in".to_owned(), told_at(view.opened_us, zone, MINUTE)),
            ("last entry".to_owned(), view.revision.to_string()),
        ]),
        Block::Heading("ride class it is compared with".to_owned()),
        class(companions),
        Block::Heading("parts".to_owned()),
        parts(view),
        Block::Heading("values".to_owned()),
        values(view),
    ];
    if let Some(chainline) = chainline {
        blocks.push(Block::Heading("chainline".to_owned()));
        blocks.push(Block::Picture(picture::chainline(chainline)));
    }
    let ridden = [
        picture::runs(view, gates),
        picture::stops(gates),
        compare.and_then(picture::compared),
    ];
    let road = [range.and_then(picture::profile), range.and_then(picture::chances)];
    for (title, pictures) in [("the ride", ridden.to_vec()), ("the road", road.to_vec())] {
        let mut pictures = pictures.into_iter().flatten().peekable();
        if pictures.peek().is_some() {
            blocks.push(Block::Heading(title.to_owned()));
            blocks.extend(pictures.map(Block::Picture));
        }
    }
    for gate in gates {
        blocks.push(Block::Heading(format!("checks of {}", gate.gate)));
        for report in &gate.checks {
            findings(report, &mut blocks);
        }
    }
    if !photos.is_empty() {
        blocks.push(Block::Heading("photos".to_owned()));
    }
    for (view, shown) in photos {
        let words = format!("Photo {}: {}", view.number, view.caption);
        blocks.push(match shown {
            Ok(picture) => Block::Picture(Picture {
                text: words,
                ..picture.clone()
            }),
            Err(why) => Block::Text(format!("{words}; {why}")),
        });
        blocks.push(Block::Text(format!(
            "kept with the job {}, as {}, SHA-256 {}",
            told_at(view.at_us, zone, MINUTE),
            view.format,
            view.sha256
        )));
    }
    blocks.push(Block::Heading("history".to_owned()));
    blocks.push(lines(history, zone));
    Document {
        kind: "Technical file".to_owned(),
        title: format!("Job {}, {}: {}", line.job, line.rider, line.bike),
        mark: Some(format!("lockring job {}", line.job)),
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: NO_RULING.to_owned(),
    }
}

fn values(view: &JobView) -> Block {
    let columns = vec![
        Column::words("group", 0.7),
        Column::words("what", 2.0),
        Column::words("value", 1.6),
        Column::words("how it is known", 1.0),
        Column::words("readings", 1.4),
    ];
    let rows = view
        .facts
        .iter()
        .map(|fact| {
            let stale = match fact.stale.as_str() {
                "" => String::new(),
                slot => format!(" (no longer counts: {slot} changed)"),
            };
            vec![
                fact.group.clone(),
                fact.name.clone(),
                format!("{}{stale}", fact.value),
                fact.provenance.clone(),
                fact.readings.join("; "),
            ]
        })
        .collect();
    Block::Table(Table { columns, rows })
}

fn findings(report: &lockring_proto::v1::CheckReport, blocks: &mut Vec<Block>) {
    blocks.push(Block::Text(format!(
        "{} ({}, version {}): {}. {}",
        report.title, report.check, report.version, report.verdict, report.summary
    )));
    if report.verdict == "not applicable" {
        return;
    }
    for finding in &report.findings {
        let figures: Vec<String> = finding
            .figures
            .iter()
            .map(|one| {
                let limit = if one.limit.is_empty() {
                    String::new()
                } else {
                    format!(", {}", one.limit)
                };
                let doubt = one.uncertainty.map_or_else(String::new, |doubt| {
                    format!(", doubt {} {}", super::number(doubt), one.unit)
                });
                format!("{}: {}{limit}{doubt}", one.name, figure(one))
            })
            .collect();
        if !figures.is_empty() {
            blocks.push(Block::Text(figures.join("; ")));
        }
        for step in &finding.arithmetic {
            blocks.push(Block::Text(format!("= {step}")));
        }
    }
    if !report.source.is_empty() {
        blocks.push(Block::Text(format!("Source: {}", report.source)));
    }
}

fn lines(history: &HistoryReply, zone: &TimeZone) -> Block {
    let columns = vec![
        Column::numbers("no.", 0.4),
        Column::words("made", 1.1),
        Column::words("by", 0.6),
        Column::words("what", 4.0),
    ];
    let rows = history
        .lines
        .iter()
        .map(|line| {
            let gone = if line.retracted { " (retracted)" } else { "" };
            vec![
                line.seq.to_string(),
                told_at(line.made_us, zone, MINUTE),
                line.by.clone(),
                format!("{}{gone}", line.text),
            ]
        })
        .collect();
    Block::Table(Table { columns, rows })
}
