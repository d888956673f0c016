//! Builds side by side, for the rider to choose from.

use std::collections::HashMap;

use lockring_proto::v1::{JobView, Proposal, ProposeReply};

use super::{NO_RULING, money, number};
use crate::model::{Block, Column, Document, Sheet, Table, Type};
use crate::picture;

/// Builds side by side at most.
pub const MOST: usize = 3;

/// The builds with these numbers, from 1; the first ones when none are named.
pub fn picked<'a>(reply: &'a ProposeReply, picks: &[usize]) -> Vec<(usize, &'a Proposal)> {
    (1..)
        .zip(&reply.proposals)
        .filter(|(at, _)| picks.is_empty() || picks.contains(at))
        .take(MOST)
        .collect()
}

/// These builds side by side, and what each does on the rider's hill and road. `names` has the catalogue's name
/// of every part.
pub fn quote(
    view: &JobView,
    reply: &ProposeReply,
    builds: &[(usize, &Proposal)],
    names: &HashMap<String, String>,
) -> Document {
    let mut columns = vec![Column::words("", 1.3)];
    columns.extend(
        builds
            .iter()
            .map(|(at, _)| Column::words(&format!("build {at}"), 1.0)),
    );
    let row = |name: &str, of: &dyn Fn(&Proposal) -> String| {
        let mut cells = vec![name.to_owned()];
        cells.extend(builds.iter().map(|(_, build)| of(build)));
        cells
    };
    let mut rows = vec![
        row("price of the parts", &|build| {
            build.price_minor.map_or_else(|| "not known".to_owned(), money)
        }),
        row("finished bicycle", &|build| {
            format!("{} kg", number(build.mass_kg))
        }),
        row("planned distance on a charge", &|build| {
            format!("{} km", number(build.range_km))
        }),
        row("over what was asked", &|build| {
            format!("{} km", number(build.range_margin_km))
        }),
        row(
            &format!("up a hill of {} %", number(reply.hill_percent)),
            &|build| format!("{} km/h", number(build.hill_kmh)),
        ),
        row("parts here in", &|build| {
            build
                .days
                .map_or_else(|| "not known".to_owned(), |days| format!("{days} days"))
        }),
    ];
    let mut slots: Vec<&str> = Vec::new();
    for part in builds.iter().flat_map(|(_, build)| &build.parts) {
        if !slots.contains(&part.field.as_str()) {
            slots.push(&part.field);
        }
    }
    for slot in slots {
        rows.push(row(slot, &|build| {
            build.parts.iter().find(|part| part.field == slot).map_or_else(
                || "as it is".to_owned(),
                |part| names.get(&part.value).unwrap_or(&part.value).clone(),
            )
        }));
    }
    let mut blocks = vec![asked(view), Block::Table(Table { columns, rows })];
    blocks.extend(picture::builds(builds).into_iter().flatten().map(Block::Picture));
    for (at, build) in builds {
        if !build.why.is_empty() {
            blocks.push(Block::Text(format!("Build {at}: {}", build.why.join("; "))));
        }
        for short in &build.short {
            blocks.push(Block::Text(format!(
                "Build {at}, {}: {}",
                short.verdict, short.summary
            )));
        }
    }
    for short in &reply.everywhere {
        blocks.push(Block::Text(format!(
            "With any of them, {}: {}",
            short.verdict, short.summary
        )));
    }
    blocks.push(Block::Text(
        "Figures are forecasts for the rider, load, hill and road told. The distance is planned: wind, cold and age of the \
         pack take from it, and a single ride may fall short. Labour is not in the prices."
            .to_owned(),
    ));
    blocks.push(Block::Signatures(vec![
        "chosen build, date".to_owned(),
        "rider".to_owned(),
    ]));
    let line = view.line.clone().unwrap_or_default();
    Document {
        kind: "Quote".to_owned(),
        title: format!("Job {}, {}: {}", line.job, line.rider, line.bike),
        mark: None,
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: NO_RULING.to_owned(),
    }
}

/// What the rider asked for, in the job's own words.
fn asked(view: &JobView) -> Block {
    const ASKED: [&str; 7] = [
        "range",
        "climb",
        "hill-grade",
        "hill-source",
        "hill-length",
        "hill-speed",
        "rider-mass",
    ];
    let fact = |code: &&str| view.facts.iter().find(|fact| fact.code == **code);
    let pairs = ASKED.iter().filter_map(fact);
    Block::Pairs(
        pairs
            .map(|fact| (fact.name.clone(), fact.value.clone()))
            .collect(),
    )
}
