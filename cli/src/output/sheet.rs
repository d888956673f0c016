//! Reports as sections of rows: on a screen, or as CSV (RFC 4180) for other programs.

use lockring_proto::v1::{Column, Section, Sheet};

use crate::command_error::{CommandError, Exit};
use crate::output::{Out, times, wrap};

/// Blank columns between two columns.
const GAP: usize = 2;

/// Prints a report for people.
pub(crate) fn print(out: &mut Out<'_>, sheet: &Sheet) -> Result<(), CommandError> {
    let when = if sheet.from == sheet.to {
        times::day(&sheet.to)
    } else {
        format!("{} to {}", times::day(&sheet.from), times::day(&sheet.to))
    };
    out.heading(&format!("{}, {when}", sheet.title))?;
    for section in &sheet.sections {
        out.blank()?;
        out.heading(&section.title)?;
        if !section.note.is_empty() {
            out.wrapped("  ", "  ", &section.note)?;
        }
        match section.rows.as_slice() {
            [] => {}
            [row] if section.columns.len() > 3 => print_one(out, section, &row.cells)?,
            _ => print_rows(out, section)?,
        }
    }
    Ok(())
}

/// One row: a line for each column that says something.
fn print_one(out: &mut Out<'_>, section: &Section, cells: &[String]) -> Result<(), CommandError> {
    let widest = section
        .columns
        .iter()
        .map(|column| wrap::columns(&column.title))
        .max();
    let widest = widest.unwrap_or(0);
    for (column, cell) in section.columns.iter().zip(cells) {
        if !cell.is_empty() {
            let pad = " ".repeat(widest - wrap::columns(&column.title));
            out.wrapped(
                &format!("  {}{pad}  ", column.title),
                "      ",
                &with_unit(column, cell),
            )?;
        }
    }
    Ok(())
}

/// Several rows: columns side by side, the last one wrapped.
fn print_rows(out: &mut Out<'_>, section: &Section) -> Result<(), CommandError> {
    let shown = |column: usize| {
        section
            .rows
            .iter()
            .any(|row| row.cells.get(column).is_some_and(|cell| !cell.is_empty()))
    };
    let columns: Vec<usize> = (0..section.columns.len())
        .filter(|column| shown(*column))
        .collect();
    let width = |column: usize| {
        let cells = section.rows.iter().filter_map(|row| row.cells.get(column));
        let cells = cells.map(|cell| wrap::columns(cell)).max().unwrap_or(0);
        cells.max(wrap::columns(&section.columns[column].title))
    };
    let line = |cell: &dyn Fn(usize) -> String| {
        let mut text = String::from("  ");
        for (place, column) in columns.iter().enumerate() {
            let cell = cell(*column);
            text.push_str(&cell);
            if place + 1 < columns.len() {
                text.push_str(&" ".repeat(width(*column).saturating_sub(wrap::columns(&cell)) + GAP));
            }
        }
        text
    };
    let mut lead = 2;
    for column in columns.iter().rev().skip(1) {
        lead += width(*column) + GAP;
    }
    let head = line(&|column| section.columns[column].title.clone());
    if wrap::columns(&head) > out.width() || lead + 20 > out.width() {
        // Too wide to stand side by side.
        for row in &section.rows {
            let words: Vec<String> = columns
                .iter()
                .map(|column| (&section.columns[*column], &row.cells[*column]))
                .filter(|(_, cell)| !cell.is_empty())
                .map(|(column, cell)| format!("{}: {}", column.title, with_unit(column, cell)))
                .collect();
            out.wrapped("  ", "      ", &words.join(", "))?;
        }
        return Ok(());
    }
    out.line(head.trim_end())?;
    let Some(last) = columns.last() else {
        return Ok(());
    };
    for row in &section.rows {
        let text = line(&|column| row.cells.get(column).cloned().unwrap_or_default());
        if wrap::columns(&text) <= out.width() {
            out.line(text.trim_end())?;
        } else {
            let before = line(&|column| {
                if column == *last {
                    String::new()
                } else {
                    row.cells[column].clone()
                }
            });
            out.wrapped(&before, &" ".repeat(lead), &row.cells[*last])?;
        }
    }
    Ok(())
}

fn with_unit(column: &Column, cell: &str) -> String {
    match column.unit.as_str() {
        "" => cell.to_owned(),
        "%" => format!("{cell} %"),
        unit => format!("{cell} {unit}"),
    }
}

/// Prints a report as CSV: a line for each cell, with its section, row and column.
pub(crate) fn print_csv(out: &mut Out<'_>, sheet: &Sheet) -> Result<(), CommandError> {
    let mut lines = vec![["section", "row", "column", "value"].map(str::to_owned)];
    for section in &sheet.sections {
        for (number, row) in section.rows.iter().enumerate() {
            for (column, cell) in section.columns.iter().zip(&row.cells) {
                lines.push([
                    section.key.clone(),
                    (number + 1).to_string(),
                    column.key.clone(),
                    cell.clone(),
                ]);
            }
        }
    }
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |error: &dyn std::error::Error| {
        CommandError::new(Exit::Unexpected, format!("the CSV cannot be written: {error}"))
    };
    for line in lines {
        writer.write_record(line).map_err(|error| failed(&error))?;
    }
    let bytes = writer.into_inner().map_err(|error| failed(&error))?;
    let text = String::from_utf8(bytes).map_err(|error| failed(&error))?;
    out.raw(&text)
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::Row;

    use super::*;
    use crate::output::samples::text;

    fn column(key: &str, unit: &str) -> Column {
        Column {
            key: key.to_owned(),
            title: key.to_owned(),
            unit: unit.to_owned(),
        }
    }

    fn sheet() -> Sheet {
        let row = |cells: [&str; 3]| Row {
            cells: cells.map(str::to_owned).to_vec(),
        };
        Sheet {
            title: "Week".to_owned(),
            from: "2026-03-09".to_owned(),
            to: "2026-03-15".to_owned(),
            sections: vec![
                Section {
                    key: "gates".to_owned(),
                    title: "First time through".to_owned(),
                    columns: vec![column("gate", ""), column("share", "%"), column("said", "")],
                    rows: vec![
                        row(["intake", "66.7", "a, \"b\""]),
                        row([
                            "parts",
                            "",
                            "a long remark that goes on and on beyond the edge of the screen",
                        ]),
                    ],
                    note: String::new(),
                },
                Section {
                    key: "failing".to_owned(),
                    title: "Checks".to_owned(),
                    note: "no gate stayed shut".to_owned(),
                    ..Section::default()
                },
            ],
        }
    }

    #[test]
    fn columns_stand_side_by_side_and_the_last_is_wrapped() {
        let shown = text(60, |out| print(out, &sheet()));
        assert_eq!(
            shown,
            "Week, Mon 9 Mar 2026 to Sun 15 Mar 2026\n\nFirst time through\n  \
             gate    share  said\n  intake  66.7   a, \"b\"\n  \
             parts          a long remark that goes on and on beyond\n                 \
             the edge of the screen\n\nChecks\n  no gate stayed shut\n"
        );
    }

    #[test]
    fn csv_quotes_what_rfc_4180_says() {
        // RFC 4180, section 2, rules 6 and 7: fields with commas or quotes in quotes, quotes doubled.
        let shown = text(80, |out| print_csv(out, &sheet()));
        assert!(
            shown.starts_with("section,row,column,value\ngates,1,gate,intake\n"),
            "{shown}"
        );
        assert!(shown.contains("gates,1,said,\"a, \"\"b\"\"\"\n"), "{shown}");
        assert!(shown.contains("gates,2,share,\n"), "{shown}");
    }
}
