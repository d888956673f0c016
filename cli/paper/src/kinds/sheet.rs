//! Reports of sections: the same cells as on the screen and in CSV.

use lockring_proto::v1::{Row, Section, Sheet as Figures};

use super::family;
use crate::model::{Block, Column, Document, Picture, Sheet, Table, Type};

/// A report of a day or a week, pictures after its sections; `currency` is the shop's, empty when it did not say.
pub fn report(told: &Figures, pictures: Vec<Picture>, currency: &str) -> Document {
    let title = if told.from == told.to {
        told.from.clone()
    } else {
        format!("{} to {}", told.from, told.to)
    };
    let mut blocks: Vec<Block> = told.sections.iter().flat_map(section).collect();
    let mut under = String::new();
    for picture in pictures {
        if under != picture.name {
            under.clone_from(&picture.name);
            blocks.push(Block::Heading(under.clone()));
        }
        blocks.push(Block::Picture(picture));
    }
    let amounts = match currency.split(' ').next().unwrap_or_default() {
        "" => String::new(),
        code => format!(" Amounts in {code}."),
    };
    Document {
        kind: told.title.clone(),
        title,
        mark: None,
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: format!("As it was known then. Ages and lateness in the shop's working days.{amounts}"),
        day: None,
    }
}

/// In which order the columns of the blocks are read off paper: what is wrong, and whose move it is, before how
/// they are filed. The day to ask again stands with who is asked.
const BLOCKED: [&str; 7] = [
    "job",
    "about",
    "whose_move",
    "clears_when",
    "age_days",
    "family",
    "number",
];

/// The section with its columns in reading order.
fn in_order(section: &Section) -> Section {
    let mut order: Vec<usize> = (0..section.columns.len()).collect();
    let is_blocked = section.key == "blocked";
    let of_key = |key: &str| {
        let mut columns = section.columns.iter();
        columns.position(|column| is_blocked && column.key == key)
    };
    let (moves, asks) = (of_key("whose_move"), of_key("chase"));
    if is_blocked {
        let place = |at: &usize| BLOCKED.iter().position(|key| *key == section.columns[*at].key);
        order.retain(|at| Some(*at) != asks);
        order.sort_by_key(|at| place(at).unwrap_or(BLOCKED.len()));
    }
    // A column of which no row says anything is left out.
    if section.rows.len() > 1 {
        let says = |at: &usize| {
            let mut cells = section.rows.iter().filter_map(|row| row.cells.get(*at));
            cells.any(|cell| !cell.is_empty())
        };
        order.retain(says);
    }
    let cell = |row: &Row, at: usize| {
        let again = asks
            .filter(|_| Some(at) == moves)
            .and_then(|asks| row.cells.get(asks));
        let cell = row.cells.get(at)?;
        Some(match again.filter(|day| !day.is_empty()) {
            Some(day) => format!("{cell}, ask again {day}"),
            None => cell.clone(),
        })
    };
    let cells = |row: &Row| Row {
        cells: order.iter().filter_map(|at| cell(row, *at)).collect(),
    };
    Section {
        columns: order.iter().map(|at| section.columns[*at].clone()).collect(),
        rows: section.rows.iter().map(cells).collect(),
        ..section.clone()
    }
}

fn section(section: &Section) -> Vec<Block> {
    let section = &in_order(section);
    let mut blocks = vec![Block::Heading(section.title.clone())];
    let heads = section.columns.iter().map(|column| match column.unit.as_str() {
        "" => column.title.clone(),
        unit => format!("{}, {unit}", column.title),
    });
    let heads: Vec<String> = heads.collect();
    let rows: Vec<Vec<String>> = section.rows.iter().map(|row| cells(section, row)).collect();
    match rows.as_slice() {
        [] => {}
        // One row reads better as names and values.
        [only] => blocks.push(Block::Pairs(
            heads
                .into_iter()
                .zip(only.iter().cloned())
                .filter(|(_, cell)| !cell.is_empty())
                .collect(),
        )),
        rows => blocks.push(Block::Table(Table {
            columns: (0..)
                .zip(heads)
                .map(|(at, head)| Column {
                    right: is_of_numbers(rows.iter().filter_map(|row| row.get(at))),
                    ..Column::words(&head)
                })
                .collect(),
            rows: rows.to_vec(),
        })),
    }
    if !section.note.is_empty() {
        blocks.push(Block::Text(section.note.clone()));
    }
    blocks
}

/// A row's cells, families by the word that heads them.
fn cells(section: &Section, row: &Row) -> Vec<String> {
    let keys = section.columns.iter().map(|column| column.key.as_str());
    let is_by_family = row.cells.first().is_some_and(|cell| cell == "family");
    let shown = keys.zip(&row.cells).map(|(key, cell)| match key {
        "family" => family(cell).to_owned(),
        _ if is_by_family => family(cell).to_owned(),
        _ => cell.clone(),
    });
    shown.collect()
}

fn is_of_numbers<'a>(mut cells: impl Iterator<Item = &'a String> + Clone) -> bool {
    let is_number = |cell: &String| cell.is_empty() || cell.parse::<f64>().is_ok();
    cells.clone().any(|cell| !cell.is_empty()) && cells.all(is_number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_right_and_one_row_becomes_names_and_values() {
        let cells = |texts: &[&str]| Row {
            cells: texts.iter().map(|text| (*text).to_owned()).collect(),
        };
        let columns = ["gate", "jobs"].map(|title| lockring_proto::v1::Column {
            key: title.into(),
            title: title.into(),
            unit: String::new(),
        });
        let mut told = Section {
            title: "gates".into(),
            columns: columns.to_vec(),
            rows: vec![cells(&["intake", "3"]), cells(&["parts", ""])],
            ..Section::default()
        };
        let blocks = section(&told);
        let Block::Table(table) = &blocks[1] else {
            panic!("{blocks:?}");
        };
        assert_eq!(
            table
                .columns
                .iter()
                .map(|column| column.right)
                .collect::<Vec<_>>(),
            [false, true]
        );
        told.rows.pop();
        let pairs =
            [("gate", "intake"), ("jobs", "3")].map(|(name, value)| (name.to_owned(), value.to_owned()));
        assert_eq!(section(&told)[1], Block::Pairs(pairs.to_vec()));
    }

    #[test]
    fn the_day_to_ask_again_stands_with_who_is_asked_and_takes_no_column() {
        let column = |key: &str| lockring_proto::v1::Column {
            key: key.into(),
            title: key.into(),
            unit: String::new(),
        };
        let row = |cells: [&str; 4]| Row {
            cells: cells.map(str::to_owned).to_vec(),
        };
        let told = Section {
            key: "blocked".into(),
            title: "why".into(),
            columns: ["job", "whose_move", "chase", "about"].map(column).to_vec(),
            rows: vec![
                row(["1", "supplier", "2026-03-24", "no pack"]),
                row(["2", "owner", "", "no budget"]),
            ],
            ..Section::default()
        };
        let Block::Table(table) = &section(&told)[1] else {
            panic!("a table");
        };
        let expected = [
            ["1", "no pack", "supplier, ask again 2026-03-24"],
            ["2", "no budget", "owner"],
        ];
        assert_eq!(table.rows, expected);
    }

    #[test]
    fn a_family_does_not_read_as_a_claim() {
        let column = |key: &str| lockring_proto::v1::Column {
            key: key.into(),
            title: key.into(),
            unit: String::new(),
        };
        let told = Section {
            title: "why".into(),
            columns: vec![column("family"), column("what")],
            rows: vec![Row {
                cells: vec!["safe".into(), "a safe place".into()],
            }],
            ..Section::default()
        };
        let pairs = [("family", "safety"), ("what", "a safe place")];
        let pairs = pairs.map(|(name, value)| (name.to_owned(), value.to_owned()));
        assert_eq!(section(&told)[1], Block::Pairs(pairs.to_vec()));
    }
}
