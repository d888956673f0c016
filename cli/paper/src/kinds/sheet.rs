//! Reports of sections: the same cells as on the screen and in CSV.

use lockring_proto::v1::{Section, Sheet as Figures};

use crate::model::{Block, Column, Document, Picture, Sheet, Table, Type};

/// A report of a day or a week, pictures after its sections.
pub fn report(told: &Figures, pictures: Vec<Picture>) -> Document {
    let title = if told.from == told.to {
        told.from.clone()
    } else {
        format!("{} to {}", told.from, told.to)
    };
    let mut blocks: Vec<Block> = told.sections.iter().flat_map(section).collect();
    blocks.extend(pictures.into_iter().map(Block::Picture));
    Document {
        kind: told.title.clone(),
        title,
        mark: None,
        sheet: Sheet::A4,
        size: Type::Hand,
        blocks,
        foot: "As it was known then. Ages and lateness in the shop's working days.".to_owned(),
    }
}

fn section(section: &Section) -> Vec<Block> {
    let mut blocks = vec![Block::Heading(section.title.clone())];
    let heads = section.columns.iter().map(|column| match column.unit.as_str() {
        "" => column.title.clone(),
        unit => format!("{}, {unit}", column.title),
    });
    let heads: Vec<String> = heads.collect();
    match section.rows.as_slice() {
        [] => {}
        // One row reads better as names and values.
        [only] => blocks.push(Block::Pairs(
            heads
                .into_iter()
                .zip(only.cells.iter().cloned())
                .filter(|(_, cell)| !cell.is_empty())
                .collect(),
        )),
        rows => blocks.push(Block::Table(Table {
            columns: (0..)
                .zip(heads)
                .map(|(at, head)| column(&head, rows.iter().filter_map(|row| row.cells.get(at))))
                .collect(),
            rows: rows.iter().map(|row| row.cells.clone()).collect(),
        })),
    }
    if !section.note.is_empty() {
        blocks.push(Block::Text(section.note.clone()));
    }
    blocks
}

/// A column as wide as its words ask for, numbers to the right.
fn column<'a>(head: &str, cells: impl Iterator<Item = &'a String> + Clone) -> Column {
    let is_number = |cell: &String| cell.is_empty() || cell.parse::<f64>().is_ok();
    let longest = cells
        .clone()
        .map(|cell| cell.chars().count())
        .max()
        .unwrap_or_default();
    // Blanks beside the words, and no column so narrow that a word breaks.
    let share = longest.clamp(head.chars().count().clamp(6, 12), 40) as f32 + 3.0;
    Column {
        right: cells.clone().any(|cell| !cell.is_empty()) && cells.clone().all(is_number),
        ..Column::words(head, share)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_right_and_one_row_becomes_names_and_values() {
        let cells = |texts: &[&str]| lockring_proto::v1::Row {
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
}
