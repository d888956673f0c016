//! Reports as sections of rows: on a screen, or as CSV (RFC 4180) for other programs.

use lockring_proto::page;
use lockring_proto::v1::{Column, Row, Section, Sheet};

use crate::command_error::{CommandError, Exit};
use crate::output::Out;

/// Prints a report for people.
pub(crate) fn print(out: &mut Out<'_>, sheet: &Sheet) -> Result<(), CommandError> {
    if out.look.plain {
        return print_labelled(out, sheet);
    }
    for line in page::lines(sheet, out.width()) {
        if line.is_heading {
            out.heading(&line.text)?;
        } else {
            out.line(line.text)?;
        }
    }
    Ok(())
}

/// A row after the other, each cell behind its name.
fn print_labelled(out: &mut Out<'_>, sheet: &Sheet) -> Result<(), CommandError> {
    out.heading(&page::called(sheet))?;
    for section in &sheet.sections {
        out.blank()?;
        out.heading(&section.title)?;
        if !section.note.is_empty() {
            out.wrapped("", "", &section.note)?;
        }
        for (number, row) in section.rows.iter().enumerate() {
            if number > 0 {
                out.blank()?;
            }
            for (column, cell) in section
                .columns
                .iter()
                .zip(&row.cells)
                .filter(|(_, cell)| !cell.is_empty())
            {
                out.labelled(&column.title, &page::with_unit(column, cell))?;
            }
        }
    }
    Ok(())
}

/// A section of cells, for reports whose answer is no sheet of its own.
pub(crate) fn section<const N: usize>(key: &str, columns: [&str; N], rows: Vec<[String; N]>) -> Section {
    let column = |key: &str| Column {
        key: key.to_owned(),
        ..Column::default()
    };
    Section {
        key: key.to_owned(),
        columns: columns.into_iter().map(column).collect(),
        rows: rows
            .into_iter()
            .map(|cells| Row { cells: cells.into() })
            .collect(),
        ..Section::default()
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
