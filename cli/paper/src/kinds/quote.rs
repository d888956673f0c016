//! Builds side by side, for the rider to choose from.

use std::collections::HashMap;

use jiff::civil::Date;
use lockring_proto::v1::{
    AccountView, CompanionsReply, ForecastAnswer, JobView, PredictReply, Proposal, ProposeReply,
    QuoteLineView, RangeReply,
};

use super::NO_RULING;
use super::figures::{about, money, number};
use super::handover::title;
use super::said::{To, cautions, headed};
use crate::model::{Block, Column, Document, Sheet, Table, Type};
use crate::picture;

/// Builds side by side at most.
pub const MOST: usize = 3;

/// A build of the proposal, with what it is forecast to do.
#[derive(Debug, Clone, Copy)]
pub struct Choice<'a> {
    /// The number it is called by, from 1.
    pub number: usize,
    /// The build.
    pub build: &'a Proposal,
    /// Speeds and hills with it; `None` where they cannot be forecast.
    pub forecast: Option<&'a PredictReply>,
    /// The brief's road with it; `None` where it cannot be ridden.
    pub range: Option<&'a RangeReply>,
}

/// The answers a quote is made of.
#[derive(Debug, Clone, Copy)]
pub struct Quote<'a> {
    /// The job.
    pub view: &'a JobView,
    /// What was proposed.
    pub reply: &'a ProposeReply,
    /// The builds side by side.
    pub choices: &'a [Choice<'a>],
    /// The catalogue's name of every part.
    pub names: &'a HashMap<String, String>,
    /// The job's money.
    pub account: &'a AccountView,
    /// Cautions, of which the rider is told.
    pub companions: &'a CompanionsReply,
    /// The shop's money; empty when it did not say.
    pub currency: &'a str,
    /// Last day that the quote stands.
    pub until: Date,
}

/// The builds with these numbers, from 1; the first ones when none are named.
pub fn picked<'a>(reply: &'a ProposeReply, picks: &[usize]) -> Vec<(usize, &'a Proposal)> {
    (1..)
        .zip(&reply.proposals)
        .filter(|(at, _)| picks.is_empty() || picks.contains(at))
        .take(MOST)
        .collect()
}

/// These builds side by side, and what each does on the rider's hill and road.
pub fn quote(given: Quote<'_>) -> Document {
    let Quote {
        view,
        reply,
        choices,
        companions,
        until,
        ..
    } = given;
    let mut blocks = vec![
        Block::Text(format!(
            "This quote stands until {}.",
            until.strftime("%A %d %B %Y")
        )),
        Block::Heading("asked for".to_owned()),
        asked(view),
        Block::Heading("the builds".to_owned()),
        Block::Table(prices(given)),
    ];
    blocks.extend(work(given));
    blocks.push(Block::Heading("what each does for you".to_owned()));
    blocks.push(Block::Table(does(reply, choices)));
    blocks.push(Block::Note(
        "Middle of the forecast, and from the figure that nine in ten exceed to the one that one in ten exceeds; \
         planned: by the usual losses of such drives, the climbs spread over the whole road so that what you have to spare \
         on the level pays for hills as well, a fifth of the pack's energy kept for age and reserve, more in the cold. \
         Forecast hill after hill, with this drive's own losses for the rider, load, hill and road told, to where the help is \
         gone; a single ride may fall short. Where the two differ, count on the smaller."
            .to_owned(),
    ));
    blocks.extend(picture::builds(choices).into_iter().flatten().map(Block::Picture));
    let mut told = Vec::new();
    for Choice { number, build, .. } in choices {
        if !build.why.is_empty() {
            told.push(Block::Text(format!("Build {number}: {}", build.why.join("; "))));
        }
        for short in &build.short {
            told.push(Block::Text(format!(
                "Build {number}, {}: {}",
                short.verdict, short.summary
            )));
        }
    }
    for short in &reply.everywhere {
        told.push(Block::Text(format!(
            "With any of them, {}: {}",
            short.verdict, short.summary
        )));
    }
    blocks.extend(headed("why these, and what is left open", told));
    let advice = cautions(companions, To::Rider, |caution| {
        ["intake", "parts"].contains(&caution.when.as_str())
    });
    blocks.extend(headed("before you choose", advice));
    blocks.push(Block::Signatures(vec![
        "chosen build, date".to_owned(),
        "rider".to_owned(),
    ]));
    Document {
        kind: "Quote".to_owned(),
        title: title(view),
        mark: None,
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: NO_RULING.to_owned(),
        day: None,
    }
}

/// A table with a column for each build, and how its rows are made.
fn beside(choices: &[Choice<'_>]) -> Table {
    let mut columns = vec![Column::words("what")];
    columns.extend(
        choices
            .iter()
            .map(|choice| Column::words(&format!("build {}", choice.number))),
    );
    Table {
        columns,
        rows: Vec::new(),
    }
}

fn row(name: &str, choices: &[Choice<'_>], of: impl Fn(&Choice<'_>) -> String) -> Vec<String> {
    std::iter::once(name.to_owned())
        .chain(choices.iter().map(of))
        .collect()
}

/// Lines of the quote that are there with any build: work, and what no slot of the present one holds.
fn beside_parts<'a>(
    account: &'a AccountView,
    view: &JobView,
) -> (Vec<&'a QuoteLineView>, Vec<&'a QuoteLineView>) {
    let of_build = |line: &QuoteLineView| view.build.iter().any(|part| part.name == line.words);
    let lines = account.lines.iter();
    lines
        .filter(|line| line.kind != "part" || !of_build(line))
        .partition(|line| line.kind == "labour")
}

/// What the job costs besides the parts of a build, row by row. Work counts as planned until some is
/// quoted; a quoted part that no slot of the present build holds is named, so that nobody pays it unseen.
fn besides(account: &AccountView, view: &JobView) -> Vec<(String, i64)> {
    let (labour, others) = beside_parts(account, view);
    let sum = |lines: &[&QuoteLineView]| lines.iter().map(|line| line.price).sum();
    let mut rows = vec![if labour.is_empty() {
        ("work, as planned".to_owned(), account.planned_labour)
    } else {
        ("work".to_owned(), sum(&labour))
    }];
    if !others.is_empty() {
        let words: Vec<&str> = others.iter().map(|line| line.words.as_str()).collect();
        rows.push((format!("also quoted: {}", words.join(", ")), sum(&others)));
    }
    rows
}

/// What each build is and costs.
fn prices(given: Quote<'_>) -> Table {
    let Quote {
        choices,
        names,
        account,
        currency,
        view,
        ..
    } = given;
    let mut table = beside(choices);
    let price =
        |minor: Option<i64>| minor.map_or_else(|| "not known".to_owned(), |minor| money(minor, currency));
    table.rows = vec![row("parts", choices, |choice| price(choice.build.price_minor))];
    let besides = besides(account, view);
    for (name, price) in &besides {
        table.rows.push(row(name, choices, |_| money(*price, currency)));
    }
    let work: i64 = besides.iter().map(|(_, price)| price).sum();
    table
        .rows
        .push(row("the job, with this build", choices, |choice| {
            price(choice.build.price_minor.map(|parts| parts + work))
        }));
    table.rows.push(row("parts here in", choices, |choice| {
        choice
            .build
            .days
            .map_or_else(|| "not known".to_owned(), |days| format!("{days} days"))
    }));
    table.rows.push(row("finished bicycle", choices, |choice| {
        about(choice.build.mass_kg, "kg")
    }));
    let mut slots: Vec<&str> = Vec::new();
    for part in choices.iter().flat_map(|choice| &choice.build.parts) {
        if !slots.contains(&part.field.as_str()) {
            slots.push(&part.field);
        }
    }
    for slot in slots {
        table.rows.push(row(slot, choices, |choice| {
            let part = choice.build.parts.iter().find(|part| part.field == slot);
            part.map_or_else(
                || "as it is".to_owned(),
                |part| names.get(&part.value).unwrap_or(&part.value).clone(),
            )
        }));
    }
    table
}

/// What the prices hold, and what they do not.
fn work(given: Quote<'_>) -> Vec<Block> {
    let (account, currency) = (given.account, given.currency);
    let (labour, others) = beside_parts(account, given.view);
    let lines: Vec<String> = labour
        .iter()
        .chain(&others)
        .map(|line| format!("{} {}", line.words, money(line.price, currency)))
        .collect();
    let mut said = Vec::new();
    if labour.is_empty() {
        said.push(Block::Note(format!(
            "Work is not quoted line by line yet: {} planned, at the workshop's rate.",
            about(f64::from(account.planned_minutes) / 60.0, "h")
        )));
    }
    if !lines.is_empty() {
        said.push(Block::Note(format!(
            "Work and other lines: {}.",
            lines.join("; ")
        )));
    }
    if account.total != 0 {
        said.push(Block::Note(format!(
            "Quoted for the job as its build stands: {}.",
            money(account.total, currency)
        )));
    }
    if let Some(percent) = &account.tax_percent {
        let mut words = format!("Prices hold {percent} % tax");
        if account.total != 0 {
            words.push_str(&format!(
                "; of the {} to pay as quoted {} net and {} tax",
                money(account.to_pay, currency),
                money(account.net, currency),
                money(account.tax, currency)
            ));
        }
        said.push(Block::Note(format!("{words}.")));
    }
    if currency.is_empty() {
        said.push(Block::Note("Amounts in the workshop's own money.".to_owned()));
    }
    said
}

/// A forecast's middle and spread.
fn spread(answer: &ForecastAnswer) -> String {
    match (answer.p10, answer.p50, answer.p90) {
        (Some(low), Some(middle), Some(high)) if about(low, "") == about(high, "") => {
            about(middle, &answer.unit)
        }
        (Some(low), Some(middle), Some(high)) => format!(
            "{} ({} to {})",
            about(middle, &answer.unit),
            number(low, None, None),
            number(high, None, None)
        ),
        (None, Some(middle), _) => format!("{}; 1 in 10 or more stall", about(middle, &answer.unit)),
        _ => "half or more stall".to_owned(),
    }
}

/// What each build does on the rider's hill and road.
fn does(reply: &ProposeReply, choices: &[Choice<'_>]) -> Table {
    let mut table = beside(choices);
    table.rows = vec![
        row(
            &format!("up a hill of {}, as computed", about(reply.hill_percent, "%")),
            choices,
            |choice| about(choice.build.hill_kmh, "km/h"),
        ),
        row("planned distance on a charge", choices, |choice| {
            if choice.build.rider_alone {
                return "no limit at the rider's own pace".to_owned();
            }
            about(choice.build.range_km, "km")
        }),
        row("over what was asked", choices, |choice| {
            about(choice.build.range_margin_km, "km")
        }),
    ];
    // The level once, and every hill; how hard it starts is for the workshop to judge.
    let forecast = |choice: &Choice<'_>| {
        let answers = choice.forecast.map_or(&[][..], |reply| &reply.answers);
        let speeds = answers.iter().filter(|answer| answer.unit == "km/h");
        let (hills, level): (Vec<_>, Vec<_>) = speeds.partition(|answer| answer.name.starts_with("hill"));
        level.into_iter().take(1).chain(hills).cloned().collect()
    };
    let range = |choice: &Choice<'_>| {
        let cases = choice.range.map_or_else(Vec::new, |reply| reply.cases.clone());
        cases.into_iter().filter_map(|case| case.answer).collect()
    };
    sampled(&mut table, choices, forecast);
    sampled(&mut table, choices, range);
    table
}

/// A row for each figure that any of the builds was sampled for.
fn sampled(table: &mut Table, choices: &[Choice<'_>], of: impl Fn(&Choice<'_>) -> Vec<ForecastAnswer>) {
    let answers: Vec<Vec<ForecastAnswer>> = choices.iter().map(of).collect();
    let mut names: Vec<&str> = Vec::new();
    for answer in answers.iter().flatten() {
        if !names.contains(&answer.name.as_str()) {
            names.push(&answer.name);
        }
    }
    for name in names {
        let cells = answers.iter().map(|answers| {
            let found = answers.iter().find(|answer| answer.name == name);
            found.map_or_else(|| "not known".to_owned(), spread)
        });
        let cells = std::iter::once(name.to_owned()).chain(cells);
        table.rows.push(cells.collect());
    }
}

/// What the rider asked for, in the job's own words.
fn asked(view: &JobView) -> Block {
    const ASKED: [&str; 8] = [
        "range",
        "climb",
        "hill-grade",
        "hill-source",
        "hill-length",
        "hill-speed",
        "rider-mass",
        "load-mass",
    ];
    let fact = |code: &&str| view.facts.iter().find(|fact| fact.code == **code);
    let pairs = ASKED.iter().filter_map(fact);
    Block::Pairs(
        pairs
            .map(|fact| (fact.name.clone(), fact.value.clone()))
            .collect(),
    )
}
