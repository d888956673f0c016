//! `lockring words`: the tables of words people type.

use lockring_proto::v1::{AttributeRow, CodeRow, WordsReply, WordsRequest};

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::of_shop;
use crate::desk::Desk;
use crate::output::Out;
use crate::output::table::{Cell, Table};

/// Group of the codes that record a torque.
const TORQUE: &str = "torque";

/// List the words to type: codes, bolts, runs, checks, classes, parts
///
/// Without a table's name, all of them. `lockring help words` explains the vocabulary instead.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring words codes\n  \
    lockring words checks --json")]
pub(crate) struct Words {
    /// Which table
    #[arg(value_enum)]
    table: Option<Which>,
}

/// A table of words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Which {
    /// Values of a job, with alias, window and instrument
    Codes,
    /// Fasteners
    Bolts,
    /// Runs of the test ride and their fields
    Runs,
    /// Checks, their gates, and whether they may be conceded
    Checks,
    /// Ride classes and their limits
    Classes,
    /// Kinds of parts, their slots and attributes
    Parts,
}

impl Which {
    const ALL: [Self; 6] = [Self::Codes, Self::Bolts, Self::Runs, Self::Checks, Self::Classes, Self::Parts];

    const fn heading(self) -> &'static str {
        match self {
            Self::Codes => "Codes: lockring brief, donor, measure",
            Self::Bolts => "Bolts: lockring torque",
            Self::Runs => "Runs: lockring ride",
            Self::Checks => "Checks: lockring explain, concede",
            Self::Classes => "Ride classes: lockring brief JOB ride-class=CLASS",
            Self::Parts => "Parts: lockring build, receive, catalogue",
        }
    }
}

impl Words {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let words = desk.client().await?.call(ORDINARY, WordsRequest {}, of_shop!(words)).await?;
        let tables = self.table.map_or_else(|| Which::ALL.to_vec(), |table| vec![table]);
        for (number, table) in tables.iter().enumerate() {
            if desk.out.look.json {
                print_json(&mut desk.out, &words, *table)?;
                continue;
            }
            if number > 0 {
                desk.out.blank()?;
            }
            desk.out.heading(table.heading())?;
            print_table(&mut desk.out, &words, *table)?;
        }
        Ok(Exit::Ok)
    }
}

/// Codes of the table asked for: those of torques are the bolts.
fn codes(words: &WordsReply, bolts: bool) -> impl Iterator<Item = &CodeRow> {
    words.codes.iter().filter(move |row| (row.group == TORQUE) == bolts)
}

fn print_json(out: &mut Out<'_>, words: &WordsReply, table: Which) -> Result<(), CommandError> {
    match table {
        Which::Codes => codes(words, false).try_for_each(|row| out.json(row)),
        Which::Bolts => codes(words, true).try_for_each(|row| out.json(row)),
        Which::Runs => words.runs.iter().try_for_each(|row| out.json(row)),
        Which::Checks => words.checks.iter().try_for_each(|row| out.json(row)),
        Which::Classes => words.classes.iter().try_for_each(|row| out.json(row)),
        Which::Parts => words.kinds.iter().try_for_each(|row| out.json(row)),
    }
}

fn print_table(out: &mut Out<'_>, words: &WordsReply, table: Which) -> Result<(), CommandError> {
    match table {
        Which::Codes => print_codes(out, words),
        Which::Bolts => print_bolts(out, words),
        Which::Runs => print_runs(out, words),
        Which::Checks => print_checks(out, words),
        Which::Classes => print_classes(out, words),
        Which::Parts => print_parts(out, words),
    }
}

fn print_codes(out: &mut Out<'_>, words: &WordsReply) -> Result<(), CommandError> {
    let mut table = Table::new(["code", "short", "group", "what it is", "expects"]);
    for row in codes(words, false) {
        let expects = format!("{}{}", row.expects, with(&row.instrument));
        table.row([cell(&row.code), cell(&row.alias), cell(&row.group), cell(&row.name), expects.into()]);
    }
    table.print(out)
}

fn print_bolts(out: &mut Out<'_>, words: &WordsReply) -> Result<(), CommandError> {
    let mut table = Table::new(["bolt", "what it is", "expects"]);
    for row in codes(words, true) {
        let bolt = row.code.strip_prefix("torque-").unwrap_or(&row.code);
        table.row([bolt.into(), cell(&row.name), cell(&row.expects)]);
    }
    table.print(out)
}

fn print_runs(out: &mut Out<'_>, words: &WordsReply) -> Result<(), CommandError> {
    let mut table = Table::new(["run", "fields in order", "what is done"]);
    for row in &words.runs {
        table.row([cell(&row.run), row.fields.join(" ").into(), cell(&row.what)]);
    }
    table.print(out)
}

fn print_checks(out: &mut Out<'_>, words: &WordsReply) -> Result<(), CommandError> {
    let mut table = Table::new(["check", "gates", "family", "concession", "what it asks"]).whole(0);
    for row in &words.checks {
        let concession = if row.concedable { "owner" } else { "never" };
        let gates = row.gates.join(", ");
        table.row([cell(&row.check), gates.into(), cell(&row.family), concession.into(), cell(&row.title)]);
    }
    table.print(out)
}

fn print_classes(out: &mut Out<'_>, words: &WordsReply) -> Result<(), CommandError> {
    let mut table = Table::new(["class", "region", "name", "limits"]);
    for row in &words.classes {
        let memory = if row.from_memory { " (from memory: look it up)" } else { "" };
        table.row([cell(&row.class), cell(&row.region), cell(&row.name), format!("{}{memory}", row.limits).into()]);
    }
    table.print(out)
}

fn print_parts(out: &mut Out<'_>, words: &WordsReply) -> Result<(), CommandError> {
    for (number, kind) in words.kinds.iter().enumerate() {
        if number > 0 {
            out.blank()?;
        }
        out.line(format_args!("{} (slots: {})", kind.kind, kind.slots.join(", ")))?;
        let mut table = Table::new(["attribute", "what it is", "expects"]);
        for row in &kind.attributes {
            table.row([attribute(row), cell(&row.name), cell(&row.expects)]);
        }
        if !table.is_empty() {
            table.print(out)?;
        }
    }
    Ok(())
}

/// An attribute's key; one that must be there says so.
fn attribute(row: &AttributeRow) -> Cell<'_> {
    if row.required { format!("{} (required)", row.key).into() } else { row.key.clone().into() }
}

fn cell(text: &str) -> Cell<'_> {
    text.into()
}

fn with(instrument: &str) -> String {
    if instrument.is_empty() { String::new() } else { format!("; by {instrument}") }
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{CheckRow, ClassRow, KindRow, RunRow};

    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    fn words() -> WordsReply {
        let code = |code: &str, group: &str| CodeRow {
            code: code.to_owned(),
            alias: "clf".to_owned(),
            name: "front chainline".to_owned(),
            group: group.to_owned(),
            expects: "a length between 20 and 90 mm, for example 51.5 or 2 1/16 in".to_owned(),
            example: "51.5".to_owned(),
            instrument: "rule".to_owned(),
            choices: Vec::new(),
        };
        WordsReply {
            codes: vec![code("chainline-front", "fitting"), code("torque-crank", "torque")],
            runs: vec![RunRow {
                run: "cutoff".to_owned(),
                what: "speed at which assistance ends".to_owned(),
                fields: vec!["out".to_owned(), "back".to_owned()],
            }],
            checks: vec![CheckRow {
                check: "pack.papers".to_owned(),
                title: "papers of the pack".to_owned(),
                gates: vec!["parts".to_owned()],
                family: "power".to_owned(),
                concedable: false,
                source: "common practice, no source".to_owned(),
            }],
            classes: vec![ClassRow {
                class: "eu-25".to_owned(),
                limits: "25 km/h, 250 W".to_owned(),
                from_memory: true,
                ..ClassRow::default()
            }],
            kinds: vec![KindRow {
                kind: "motor".to_owned(),
                slots: vec!["motor".to_owned()],
                attributes: vec![AttributeRow { key: "volts".to_owned(), required: true, ..AttributeRow::default() }],
            }],
            ..WordsReply::default()
        }
    }

    #[test]
    fn every_table_fits_80_columns_and_shows_its_words() {
        let expected = [
            (Which::Codes, "chainline-front"),
            (Which::Bolts, "crank"),
            (Which::Runs, "out back"),
            (Which::Checks, "never"),
            (Which::Classes, "from memory"),
            (Which::Parts, "volts (required)"),
        ];
        for (table, part) in expected {
            let shown = text(80, |out| print_table(out, &words(), table));
            assert!(shown.contains(part), "{part} in\n{shown}");
            assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
        }
    }

    #[test]
    fn bolts_and_codes_share_no_row() {
        let words = words();
        let json = |table| text(80, |out| print_json(out, &words, table));
        assert!(json(Which::Codes).contains("chainline-front") && !json(Which::Codes).contains("torque-crank"));
        assert_eq!(json(Which::Bolts).lines().count(), 1);
        assert!(json(Which::Bolts).contains("\"code\":\"torque-crank\""));
    }
}
