//! Columns side by side, broken inside their cells to fit the width; or labelled lines.

use lockring_proto::units::Style;

use crate::command_error::CommandError;
use crate::output::{Out, Paint, wrap};

/// No column is squeezed below this, in terminal columns.
const NARROWEST: usize = 6;
/// Blank columns between two columns.
const GAP: usize = 2;

/// Text of one cell, stressed or not.
#[derive(Debug, Clone)]
pub(crate) struct Cell {
    text: String,
    paint: Option<Paint>,
}

impl Cell {
    /// A stressed cell.
    pub(crate) fn painted(text: impl Into<String>, paint: Paint) -> Self {
        Self {
            text: text.into(),
            paint: Some(paint),
        }
    }
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Self {
        Self {
            text: text.into(),
            paint: None,
        }
    }
}

/// Rows under headings.
pub(crate) struct Table {
    headings: Vec<&'static str>,
    rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table without rows.
    pub(crate) fn new<const N: usize>(headings: [&'static str; N]) -> Self {
        Self {
            headings: headings.to_vec(),
            rows: Vec::new(),
        }
    }

    /// Adds a row, a cell for each heading.
    pub(crate) fn row<const N: usize>(&mut self, cells: [Cell; N]) {
        debug_assert_eq!(N, self.headings.len(), "a cell for each heading");
        self.rows.push(cells.into());
    }

    /// Whether it has no rows.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Prints it: side by side, or as labelled lines when plain output is asked for.
    pub(crate) fn print(&self, out: &mut Out<'_>) -> Result<(), CommandError> {
        let told = self.in_units(out);
        if out.look.plain {
            told.print_labelled(out)
        } else {
            told.print_columns(out)
        }
    }

    /// Its cells in the units of whoever reads.
    fn in_units(&self, out: &Out<'_>) -> Self {
        let cell = |cell: &Cell| Cell {
            text: out.in_units(&cell.text, Style::Alone).into_owned(),
            paint: cell.paint,
        };
        Self {
            headings: self.headings.clone(),
            rows: self
                .rows
                .iter()
                .map(|row| row.iter().map(cell).collect())
                .collect(),
        }
    }

    fn print_labelled(&self, out: &mut Out<'_>) -> Result<(), CommandError> {
        for (number, row) in self.rows.iter().enumerate() {
            if number > 0 {
                out.blank()?;
            }
            for (heading, cell) in self
                .headings
                .iter()
                .zip(row)
                .filter(|(_, cell)| !cell.text.is_empty())
            {
                out.as_it_is(format_args!("{heading}: {}", cell.text.replace('\n', ", ")))?;
            }
        }
        Ok(())
    }

    fn print_columns(&self, out: &mut Out<'_>) -> Result<(), CommandError> {
        let widths = self.widths(out.width());
        let headings: Vec<Cell> = self
            .headings
            .iter()
            .map(|text| Cell::painted(*text, Paint::Strong))
            .collect();
        print_row(out, &headings, &widths)?;
        self.rows.iter().try_for_each(|row| print_row(out, row, &widths))
    }

    /// The natural width of each column, the widest squeezed until all fit.
    fn widths(&self, room: usize) -> Vec<usize> {
        let natural = |column: usize| {
            let cells = self.rows.iter().map(|row| row[column].text.as_str());
            let lines = cells.chain([self.headings[column]]).flat_map(str::lines);
            lines.map(wrap::columns).max().unwrap_or_default()
        };
        let mut widths: Vec<usize> = (0..self.headings.len()).map(natural).collect();
        let room = room.saturating_sub(GAP * self.headings.len().saturating_sub(1));
        while widths.iter().sum::<usize>() > room {
            match widths.iter_mut().max() {
                Some(widest) if *widest > NARROWEST => *widest -= 1,
                _ => break,
            }
        }
        widths
    }
}

fn print_row(out: &mut Out<'_>, cells: &[Cell], widths: &[usize]) -> Result<(), CommandError> {
    let broken: Vec<Vec<String>> = cells
        .iter()
        .zip(widths)
        .map(|(cell, width)| wrap::cell(&cell.text, *width))
        .collect();
    let height = broken.iter().map(Vec::len).max().unwrap_or_default();
    for number in 0..height {
        let mut line = String::new();
        let mut blanks = 0;
        for ((lines, cell), width) in broken.iter().zip(cells).zip(widths) {
            let text = lines.get(number).map_or("", String::as_str);
            if !text.is_empty() {
                line.push_str(&" ".repeat(blanks));
                blanks = 0;
                match cell.paint {
                    Some(paint) => line.push_str(&out.paint(paint, text)),
                    None => line.push_str(text),
                }
            }
            blanks += width.saturating_sub(wrap::columns(text)) + GAP;
        }
        out.as_it_is(line)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::{plain_text, text};

    fn sample() -> Table {
        let mut table = Table::new(["job", "rider", "waits for"]);
        table.row([
            "7".into(),
            "Ines H.".into(),
            "the cassette that was to come on Monday".into(),
        ]);
        table.row(["12".into(), "Bo\nfolder".into(), Cell::painted("", Paint::Bad)]);
        table
    }

    #[test]
    fn columns_are_as_wide_as_they_must_be() {
        let shown = text(80, |out| sample().print(out));
        let expected = "job  rider    waits for\n\
                        7    Ines H.  the cassette that was to come on Monday\n\
                        12   Bo\n     folder\n";
        assert_eq!(shown, expected);
    }

    #[test]
    fn the_widest_column_breaks_first_and_no_line_is_too_long() {
        let shown = text(35, |out| sample().print(out));
        assert!(shown.lines().all(|line| wrap::columns(line) <= 35), "{shown}");
        assert!(
            shown.contains("7    Ines H.  the cassette that was\n              to come on Monday\n"),
            "{shown}"
        );
    }

    #[test]
    fn plain_output_labels_every_cell() {
        let shown = plain_text(|out| sample().print(out));
        let expected = "job: 7\nrider: Ines H.\nwaits for: the cassette that was to come on Monday\n\n\
                        job: 12\nrider: Bo, folder\n";
        assert_eq!(shown, expected);
    }
}
