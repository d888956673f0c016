//! The technical file: everything about one job, readable without the tool.

use std::collections::{BTreeMap, BTreeSet};

use jiff::tz::TimeZone;
use lockring_proto::v1::{
    ChainlineReply, CheckReply, CheckReport, CompanionsReply, CompareRideReply, Figure, HistoryReply,
    JobView, PhotoView, RangeReply,
};

use super::figures::{doubt, figure_of, name};
use super::handover::{class, concessions, parts, title};
use super::said::{To, cautions, headed};
use super::{NO_RULING, family, mark, told_at};
use crate::model::{Block, Column, Document, Picture, Sheet, Table, Type, Verdict};
use crate::picture;

/// A moment of the file.
const MINUTE: &str = "%Y-%m-%d %H:%M";
/// A line of arithmetic that so many checks end with is told once, after them.
const OFTEN: usize = 3;

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
/// arithmetic and source, cautions for shop and rider, the whole history. Times are in `zone`.
pub fn technical_file(given: File<'_>, zone: &TimeZone) -> Document {
    let File {
        view,
        gates,
        history,
        companions,
        photos,
        ..
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
    blocks.extend(drawings(given));
    let often = Often::in_all(gates);
    for gate in gates {
        blocks.push(Block::Heading(format!("checks of {}", gate.gate)));
        checks(gate, &often, &mut blocks);
    }
    blocks.extend(headed("said with several checks", often.blocks()));
    blocks.push(Block::Heading("accepted by the owner".to_owned()));
    blocks.extend(concessions(view));
    let (shop, rider) = (
        cautions(companions, To::Shop, |_| true),
        cautions(companions, To::Rider, |_| true),
    );
    blocks.extend(headed("cautions: orders to the workshop", shop));
    blocks.extend(headed("cautions: advice to whoever rides and keeps it", rider));
    blocks.extend(shown(photos, zone));
    blocks.push(Block::Heading("history".to_owned()));
    blocks.push(lines(history, zone));
    Document {
        kind: "Technical file".to_owned(),
        title: title(view),
        mark: Some(mark(line.job)),
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: NO_RULING.to_owned(),
        day: None,
    }
}

/// The pictures of the job, each group under its heading.
fn drawings(given: File<'_>) -> Vec<Block> {
    let File {
        view,
        gates,
        chainline,
        compare,
        range,
        ..
    } = given;
    let groups = [
        ("chainline", vec![chainline.map(picture::chainline)]),
        (
            "the ride",
            vec![
                picture::runs(view, gates),
                picture::stops(gates),
                compare.and_then(picture::compared),
            ],
        ),
        (
            "the road",
            vec![range.and_then(picture::profile), range.and_then(picture::chances)],
        ),
    ];
    let groups = groups.into_iter().flat_map(|(title, pictures)| {
        headed(
            title,
            pictures.into_iter().flatten().map(Block::Picture).collect(),
        )
    });
    groups.collect()
}

fn shown(photos: &[(PhotoView, Result<Picture, String>)], zone: &TimeZone) -> Vec<Block> {
    let mut blocks = Vec::new();
    for (view, shown) in photos {
        let words = format!("Photo {}: {}", view.number, view.caption);
        blocks.push(match shown {
            Ok(picture) => Block::Picture(Picture {
                text: words,
                ..picture.clone()
            }),
            Err(why) => Block::Text(format!("{words}; {why}")),
        });
        blocks.push(Block::Note(format!(
            "kept with the job {}, as {}, SHA-256 {}",
            told_at(view.at_us, zone, MINUTE),
            view.format,
            view.sha256
        )));
    }
    headed("photos", blocks)
}

fn values(view: &JobView) -> Block {
    let columns = vec![
        Column::words("group"),
        Column::words("what"),
        Column::words("value"),
        Column::words("how it is known"),
        Column::words("readings"),
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

/// Lines that many checks end with, by the number they are called by.
struct Often<'a>(BTreeMap<&'a str, usize>);

impl<'a> Often<'a> {
    fn in_all(gates: &'a [CheckReply]) -> Self {
        let mut told_by: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        let mut order = Vec::new();
        let reports = gates.iter().flat_map(|gate| &gate.checks);
        for report in reports.filter(|report| report.verdict != "not applicable") {
            for step in report.findings.iter().flat_map(|finding| &finding.arithmetic) {
                let by = told_by.entry(step).or_default();
                by.insert(&report.check);
                if by.len() == OFTEN {
                    order.push(step.as_str());
                }
            }
        }
        order.dedup();
        Self(order.into_iter().zip(1..).collect())
    }

    fn blocks(&self) -> Vec<Block> {
        let mut lines: Vec<_> = self.0.iter().collect();
        lines.sort_by_key(|(_, number)| **number);
        let notes = lines
            .into_iter()
            .map(|(step, number)| Block::Note(format!("[{number}] {step}")));
        notes.collect()
    }
}

/// A gate's checks: each with its verdict, its line, its figures, its arithmetic and its source; those that are not
/// about this bicycle in one paragraph.
fn checks(gate: &CheckReply, often: &Often<'_>, blocks: &mut Vec<Block>) {
    let (others, about): (Vec<_>, Vec<_>) = gate
        .checks
        .iter()
        .partition(|report| report.verdict == "not applicable");
    for report in about {
        blocks.push(Block::Verdict(Verdict {
            word: report.verdict.clone(),
            title: report.title.clone(),
            check: report.check.clone(),
        }));
        findings(report, often, blocks);
    }
    if !others.is_empty() {
        let others = others
            .iter()
            .map(|report| format!("{} ({})", report.title, report.summary));
        blocks.push(Block::Subheading("not about this bicycle".to_owned()));
        blocks.push(Block::Note(others.collect::<Vec<_>>().join("; ")));
    }
}

fn findings(report: &CheckReport, often: &Often<'_>, blocks: &mut Vec<Block>) {
    let mut said = BTreeSet::new();
    let mut notes = BTreeSet::new();
    if report.findings.is_empty() {
        blocks.push(Block::Text(report.summary.clone()));
    }
    let mut steps = Vec::new();
    for finding in &report.findings {
        blocks.push(Block::Text(match report.findings.len() {
            1 => finding.summary.clone(),
            _ => format!("{}: {}", finding.verdict, finding.summary),
        }));
        for step in &finding.arithmetic {
            match often.0.get(step.as_str()) {
                Some(number) => {
                    notes.insert(*number);
                }
                None if said.insert(step) => steps.push(step.clone()),
                None => {}
            }
        }
    }
    blocks.extend(figures(report));
    if !steps.is_empty() {
        blocks.push(Block::Steps(steps));
    }
    let missing: Vec<&str> = report.missing.iter().map(|one| one.what.as_str()).collect();
    if !missing.is_empty() {
        blocks.push(Block::Note(format!("Missing: {}", missing.join(", "))));
    }
    let mut source = match report.source.as_str() {
        "" => String::new(),
        source => format!("Source: {source}. "),
    };
    source.push_str(&format!(
        "Check {}, version {}, family {}",
        report.check,
        report.version,
        family(&report.family)
    ));
    if !notes.is_empty() {
        let notes = notes.iter().map(|number| format!("[{number}]"));
        source.push_str(&format!("; see {}", notes.collect::<Vec<_>>().join(" ")));
    }
    blocks.push(Block::Note(source));
}

/// The figures of a check, with limit and doubt where any has one; nothing where it has none.
fn figures(report: &CheckReport) -> Option<Block> {
    let all = || report.findings.iter().flat_map(|finding| &finding.figures);
    let any_doubt = all().any(|one| doubt(one).is_some());
    let any_limit = all().any(|one| !one.limit.is_empty());
    let mut columns = vec![Column::words("figure"), Column::numbers("value")];
    columns.extend(any_doubt.then(|| Column::numbers("doubt, k\u{a0}=\u{a0}2")));
    columns.extend(any_limit.then(|| Column::words("stored limit")));
    let row = |one: &Figure| {
        let mut cells = vec![name(one), figure_of(&report.check, one, "")];
        if any_doubt {
            cells.push(doubt(one).map_or_else(String::new, |doubt| format!("± {doubt}")));
        }
        cells.extend(any_limit.then(|| one.limit.clone()));
        cells
    };
    let rows: Vec<Vec<String>> = all().map(row).collect();
    (!rows.is_empty()).then_some(Block::Table(Table { columns, rows }))
}

fn lines(history: &HistoryReply, zone: &TimeZone) -> Block {
    let columns = vec![
        Column::numbers("no."),
        Column::words("made"),
        Column::words("by"),
        Column::words("what"),
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
