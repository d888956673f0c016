//! Builds side by side, for the rider to choose from.

use std::collections::{BTreeSet, HashMap};

use jiff::civil::Date;
use lockring_proto::units::{Style, Units, imperial};
use lockring_proto::v1::{
    AccountView, CompanionsReply, FactView, ForecastAnswer, GearingShort, JobView, PredictReply, Proposal,
    ProposeReply, QuoteLineView, RangeReply,
};

use super::NO_RULING;
use super::figures::{about, money, number};
use super::handover::title;
use super::said::{To, cautions, headed, too_hot};
use crate::model::{Block, Caution, Column, Document, Sheet, Table, Type};
use crate::picture;

/// Builds side by side at most.
pub const MOST: usize = 3;

/// The build of the job, or one of the proposal, with what it is forecast to do.
#[derive(Debug, Clone, Copy)]
pub struct Choice<'a> {
    /// The number it is called by: 0 for the build of the job, from 1 for those of the proposal.
    pub number: usize,
    /// The build.
    pub build: &'a Proposal,
    /// Speeds and hills with it; `None` where they cannot be forecast.
    pub forecast: Option<&'a PredictReply>,
    /// The brief's road with it; `None` where it cannot be ridden.
    pub range: Option<&'a RangeReply>,
}

impl Choice<'_> {
    /// What it is called.
    pub(crate) fn name(&self) -> String {
        match self.number {
            0 => "chosen build".to_owned(),
            number => format!("build {number}"),
        }
    }

    /// The same at the beginning of a sentence.
    fn begins(&self) -> String {
        self.name()
            .replacen(['c', 'b'], if self.number == 0 { "C" } else { "B" }, 1)
    }
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
    /// What the shop reads in.
    pub units: Units,
}

/// The builds with these numbers. Where none are named, the build of the job, and as long as it is still open which that
/// is the first ones of the proposal beside it.
pub fn picked<'a>(reply: &'a ProposeReply, view: &JobView, picks: &[usize]) -> Vec<(usize, &'a Proposal)> {
    let own = reply.present.as_ref();
    let others = (1..).zip(&reply.proposals);
    let all = own.map(|build| (0, build)).into_iter().chain(others);
    let is_shown = |(at, build): &(usize, &Proposal)| match own {
        _ if !picks.is_empty() => picks.contains(at),
        Some(own) if *at > 0 => is_open(view) && parts_of(build) != parts_of(own),
        _ => true,
    };
    all.filter(is_shown).take(MOST).collect()
}

/// Whether the rider may still choose another build.
fn is_open(view: &JobView) -> bool {
    view.line.as_ref().is_none_or(|line| line.stage == "intake")
}

/// The parts of a build by their slots, those that are emptied left out.
fn parts_of(build: &Proposal) -> BTreeSet<(&str, &str)> {
    let parts = build.parts.iter().filter(|part| part.value != "none");
    parts
        .map(|part| (part.field.as_str(), part.value.as_str()))
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
        Block::Brief(totals(given)),
    ];
    blocks.extend(work(given));
    blocks.push(Block::Heading("what each does for you".to_owned()));
    blocks.push(Block::Table(does(reply, choices)));
    blocks.extend(choices.iter().filter_map(overheats));
    blocks.push(Block::Note(
        "Forecast figures: the first is the middle, which half of all rides do better than; in brackets, nine rides in ten \
         reach the lower figure and one in ten the higher. They are computed hill after hill for you, your load and your \
         road, to where the help ends. The planned distance is a simpler sum with the usual losses of such drives: it keeps \
         a fifth of the pack's energy for age and reserve, more in the cold. Where the two differ, count on the smaller; a \
         single ride may still fall short."
            .to_owned(),
    ));
    // A hill that somebody measured or read off a map is the same in all rows.
    let source = view.facts.iter().find(|fact| fact.code == "hill-source");
    if source.is_some_and(|source| source.value == "told") {
        blocks.push(Block::Note(
            "Grades differ because few hills are measured: the first row takes your hill as steep as it may turn out, the \
             forecast about as steep as it was told."
                .to_owned(),
        ));
    }
    blocks.extend(picture::builds(choices).into_iter().flatten().map(Block::Picture));
    blocks.extend(headed(
        "why these, and what is left open",
        reasons(reply, choices),
    ));
    let advice = cautions(companions, To::Rider, |caution| {
        ["intake", "parts"].contains(&caution.when.as_str())
    });
    blocks.extend(headed("before you choose", advice));
    blocks.push(Block::Signatures(vec![
        "chosen build, date".to_owned(),
        "rider".to_owned(),
    ]));
    if given.units == Units::Imperial {
        blocks.iter_mut().for_each(in_imperial);
    }
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

/// Why each build is shown, what the workshop has to say of it, and what is still to be found out.
fn reasons(reply: &ProposeReply, choices: &[Choice<'_>]) -> Vec<Block> {
    let said = |who: &str, short: &[GearingShort]| {
        let is_open = |short: &&GearingShort| short.verdict == "open";
        let told = short.iter().filter(|short| !is_open(short));
        let mut told: Vec<Block> = told
            .map(|short| {
                let summary = without_code(&short.summary);
                Block::Text(format!("{who}, {}: {summary}", short.verdict))
            })
            .collect();
        // What to measure with which command is for the workshop; the rider is told what is not known yet.
        let open: Vec<String> = short
            .iter()
            .filter(is_open)
            .map(|short| short.check.replace(['.', '_'], " "))
            .collect();
        if !open.is_empty() {
            told.push(Block::Text(format!(
                "{who}, still to be measured or asked before the work begins: {}",
                open.join(", ")
            )));
        }
        told
    };
    let mut told = Vec::new();
    for choice in choices {
        let build = choice.build;
        // One alone is the best at everything, which says nothing.
        if !build.why.is_empty() && reply.proposals.len() > 1 {
            told.push(Block::Text(format!(
                "{}, of the {} that fit best: {}",
                choice.begins(),
                reply.proposals.len(),
                build.why.join("; ")
            )));
        }
        told.extend(said(&choice.begins(), &build.short));
    }
    // What all proposals have in common is told once; of the job's own build all is told with it.
    let proposed: Vec<&Choice<'_>> = choices.iter().filter(|choice| choice.number > 0).collect();
    let all = match proposed.as_slice() {
        [] => return told,
        [one] => one.begins(),
        many if many.len() < choices.len() => "With each of the other builds".to_owned(),
        _ => "With each of these builds".to_owned(),
    };
    told.extend(said(&all, &reply.everywhere));
    told
}

/// What a check says, without the code that it asks the workshop to measure.
fn without_code(summary: &str) -> &str {
    match summary.rsplit_once(": measure ") {
        Some((said, code)) if !code.contains(' ') => said,
        _ => summary,
    }
}

/// What the rider is told of a build whose motor does not bear the road.
fn overheats(choice: &Choice<'_>) -> Option<Block> {
    let hot = too_hot(choice.range?)?;
    Some(Block::Caution(Caution {
        word: "Important".to_owned(),
        text: format!("{}: its motor does not bear this road: {hot}", choice.begins()),
        source: String::new(),
    }))
}

/// The block with its values in imperial units, each with the metric one it was computed in behind it; pictures keep the units of their axes.
fn in_imperial(block: &mut Block) {
    let put = |text: &mut String| {
        let told = imperial(text, Style::Both).into_owned();
        *text = told;
    };
    match block {
        Block::Text(text) | Block::Note(text) => put(text),
        Block::Caution(caution) => put(&mut caution.text),
        Block::Pairs(pairs) => pairs.iter_mut().for_each(|(_, value)| put(value)),
        Block::Table(table) => table.rows.iter_mut().flatten().for_each(put),
        _ => {}
    }
}

/// A table with a column for each build, and how its rows are made.
fn beside(choices: &[Choice<'_>]) -> Table {
    let mut columns = vec![Column::words("what")];
    columns.extend(choices.iter().map(|choice| Column::words(&choice.name())));
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

/// Whether a line of the quote asks for one part of a build.
fn names_part(view: &JobView, line: &QuoteLineView) -> bool {
    let is_called = || view.build.iter().any(|part| part.name == line.words);
    !line.slot.is_empty() || line.kind == "part" && is_called()
}

/// Lines of the quote that are there with any build: work, and what asks for no part of one.
fn beside_parts<'a>(
    account: &'a AccountView,
    view: &JobView,
) -> (Vec<&'a QuoteLineView>, Vec<&'a QuoteLineView>) {
    let lines = account.lines.iter();
    lines
        .filter(|line| !names_part(view, line))
        .partition(|line| line.kind == "labour")
}

/// What the job costs besides the parts of a build, row by row. Work counts as planned for such a build until some is
/// quoted; a line that asks for no slot's part is named, so that nobody pays it unseen.
fn besides(account: &AccountView, view: &JobView, build: &Proposal) -> Vec<(String, i64)> {
    let (labour, others) = beside_parts(account, view);
    let sum = |lines: &[&QuoteLineView]| lines.iter().map(|line| line.price).sum();
    let mut rows = vec![if labour.is_empty() {
        ("work, as planned".to_owned(), build.planned_labour)
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
    const IN_IT: &str = "in what is quoted";
    let (labour, others) = beside_parts(account, view);
    let apart: i64 = labour.iter().chain(&others).map(|line| line.price).sum();
    table.rows = vec![row("parts", choices, |choice| match as_quoted(given, choice) {
        // An agreed total may be below what is quoted beside the parts.
        Some(quoted) if quoted.lines <= apart => IN_IT.to_owned(),
        Some(quoted) => money(quoted.lines - apart, currency),
        None => price(choice.build.price_minor),
    })];
    let of = |build: &Proposal| besides(account, view, build);
    for (at, (name, _)) in of(&Proposal::default()).into_iter().enumerate() {
        table.rows.push(row(&name, choices, |choice| {
            let is_planned = at == 0 && labour.is_empty();
            if is_planned && as_quoted(given, choice).is_some_and(|quoted| !quoted.plans_work) {
                return IN_IT.to_owned();
            }
            // The same rows with every build.
            of(choice.build)
                .get(at)
                .map_or_else(String::new, |(_, price)| money(*price, currency))
        }));
    }
    table
        .rows
        .push(row("the job, with this build", choices, |choice| {
            price(in_all(given, choice))
        }));
    if let Some(percent) = &account.tax_percent {
        table
            .rows
            .push(row(&format!("{percent} % tax in it"), choices, |choice| {
                price(tax_in(given, choice))
            }));
    }
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
    let spoken = |slot: &str| slot.replace('-', " ");
    for kept in &given.reply.bought {
        let name = names.get(&kept.value).unwrap_or(&kept.value);
        table
            .rows
            .push(row(&spoken(&kept.field), choices, |_| name.clone()));
    }
    for slot in slots {
        table.rows.push(row(&spoken(slot), choices, |choice| {
            let part = choice.build.parts.iter().find(|part| part.field == slot);
            part.map_or_else(
                || "as it is".to_owned(),
                |part| names.get(&part.value).unwrap_or(&part.value).clone(),
            )
        }));
    }
    table
}

/// What the rider pays for the job with a build, minor units; `None` where a part has no price.
fn in_all(given: Quote<'_>, choice: &Choice<'_>) -> Option<i64> {
    if let Some(quoted) = as_quoted(given, choice) {
        let work = if quoted.plans_work {
            choice.build.planned_labour
        } else {
            0
        };
        return Some(quoted.lines + work);
    }
    let besides = besides(given.account, given.view, choice.build);
    let besides: i64 = besides.iter().map(|(_, price)| price).sum();
    choice.build.price_minor.map(|parts| parts + besides)
}

/// What is quoted for the job as it stands.
#[derive(Debug, Clone, Copy)]
struct Quoted {
    /// The sum of the lines, or the one sum it is settled or quoted in; minor units.
    lines: i64,
    /// The tax in that; minor units.
    tax: i64,
    /// Whether the work is not in it, so that what is planned comes on top.
    plans_work: bool,
}

/// What is quoted for the job where that is for this very build: it is the build of the job, and it is settled or quoted in one
/// sum, or the lines for goods come to its catalogue price or more, whether they name each part or stand for several together.
/// While the job is at intake, lines whose part left the build are not in it.
///
/// With no line for work and nothing agreed, lines that each name a part hold no work whatever they ask for it, nor does what
/// comes to the catalogue's price alone: that is planned. A line for several together that asks for more holds it.
fn as_quoted(given: Quote<'_>, choice: &Choice<'_>) -> Option<Quoted> {
    let account = given.account;
    let is_settled = !is_open(given.view) || account.lines.is_empty();
    if choice.number == 0 && is_settled && account.total > 0 {
        return Some(Quoted {
            lines: account.total,
            tax: account.total_tax,
            plans_work: false,
        });
    }
    let mut parts = choice.build.parts.iter().chain(&given.reply.bought);
    let is_chosen = parts.all(|part| {
        let mut lines = given.view.build.iter();
        let own = lines.find(|line| line.slot == part.field);
        own.map_or(part.value == "none", |own| own.part == part.value)
    });
    let price = choice.build.price_minor.filter(|_| is_chosen)?;
    let sum = |of: &dyn Fn(&&QuoteLineView) -> bool| -> i64 {
        account.lines.iter().filter(of).map(|line| line.price).sum()
    };
    let is_goods = |line: &&QuoteLineView| line.kind != "labour" && !line.rework && !line.left_build;
    let goods = sum(&is_goods);
    let by_name = sum(&|line| is_goods(line) && names_part(given.view, line));
    let left = |of: fn(&QuoteLineView) -> i64| -> i64 {
        let lines = account.lines.iter();
        lines.filter(|line| line.left_build).map(of).sum()
    };
    let has_work = account.agreed.is_some()
        || account.lines.iter().any(|line| line.kind == "labour")
        || goods > price && by_name < price;
    (goods >= price).then(|| Quoted {
        lines: account.total - left(|line| line.price),
        tax: account.total_tax - left(|line| line.tax),
        plans_work: !has_work,
    })
}

/// The one total of each build, in the largest type.
fn totals(given: Quote<'_>) -> Vec<(String, String)> {
    let total = |choice: &Choice<'_>| {
        let all = in_all(given, choice);
        let all = all.map_or_else(|| "not known".to_owned(), |all| money(all, given.currency));
        (format!("{}, in all", choice.name()), all)
    };
    given.choices.iter().map(total).collect()
}

/// The tax in what the rider pays for the job with a build, minor units: the sum of what the answers say of each price.
fn tax_in(given: Quote<'_>, choice: &Choice<'_>) -> Option<i64> {
    let account = given.account;
    let of = |lines: &[&QuoteLineView]| lines.iter().map(|line| line.tax).sum::<i64>();
    if let Some(quoted) = as_quoted(given, choice) {
        let build = choice.build;
        let work = if quoted.plans_work {
            build.planned_labour_tax
        } else {
            0
        };
        return Some(quoted.tax + work);
    }
    let (labour, others) = beside_parts(account, given.view);
    let work = if labour.is_empty() {
        choice.build.planned_labour_tax
    } else {
        of(&labour)
    };
    choice.build.tax_minor.map(|parts| parts + work + of(&others))
}

/// What the prices include, and what they do not.
fn work(given: Quote<'_>) -> Vec<Block> {
    let (account, currency) = (given.account, given.currency);
    let (labour, others) = beside_parts(account, given.view);
    let lines: Vec<String> = labour
        .iter()
        .chain(&others)
        .map(|line| format!("{} {}", line.words, money(line.price, currency)))
        .collect();
    let mut said = Vec::new();
    let is_added = |choice: &Choice<'_>| as_quoted(given, choice).is_none_or(|quoted| quoted.plans_work);
    if labour.is_empty() && given.choices.iter().any(is_added) {
        let added = given.choices.iter().filter(|choice| is_added(choice));
        let hours = |choice: &Choice<'_>| about(f64::from(choice.build.planned_minutes) / 60.0, "h");
        let each: Vec<String> = added
            .map(|choice| format!("{} {}", choice.name(), hours(choice)))
            .collect();
        said.push(Block::Note(format!(
            "Work is not quoted line by line yet: {}, as planned, at the workshop's rate.",
            each.join(", ")
        )));
    }
    if !lines.is_empty() {
        said.push(Block::Note(format!(
            "Work and other lines: {}.",
            lines.join("; ")
        )));
    }
    if let Some(percent) = &account.tax_percent {
        said.push(Block::Note(format!("All prices include {percent} % tax.")));
    }
    if !given.reply.stays.is_empty() {
        let kept = given.reply.stays.iter().map(|kept| kept.field.replace('-', " "));
        said.push(Block::Note(format!(
            "On the bicycle and in no price: {}.",
            kept.collect::<Vec<_>>().join(", ")
        )));
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
            about(high, &answer.unit)
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
            .map(|fact| (fact.name.clone(), in_few_digits(fact)))
            .collect(),
    )
}

/// A fact's value as the rider reads it: a number that was typed in another unit has no more digits than it carries.
fn in_few_digits(fact: &FactView) -> String {
    let (first, rest) = fact.value.split_once(' ').unwrap_or((&fact.value, ""));
    match first.parse::<f64>() {
        Ok(value) if !rest.is_empty() => format!("{} {rest}", number(value, None, None)),
        _ => fact.value.clone(),
    }
}

#[cfg(test)]
mod tests;
