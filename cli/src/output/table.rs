//! Columns side by side, broken inside their cells to fit the width; or labelled lines.

use std::borrow::Cow;

use lockring_proto::units::Style;

use crate::command_error::CommandError;
use crate::output::{Out, Paint, wrap};

/// No column is squeezed below this, in terminal columns.
const NARROWEST: usize = 6;
/// Blank columns between two columns.
const GAP: usize = 2;

/// Text of one cell, stressed or not.
#[derive(Debug, Clone)]
pub(crate) struct Cell<'t> {
    text: Cow<'t, str>,
    paint: Option<Paint>,
}

impl<'t> Cell<'t> {
    /// A stressed cell.
    pub(crate) fn painted(text: impl Into<Cow<'t, str>>, paint: Paint) -> Self {
        Self {
            text: text.into(),
            paint: Some(paint),
        }
    }

    /// The cell in the units and letters of whoever reads.
    fn told<'s>(&'s self, out: &Out<'_>) -> Cell<'s> {
        Cell {
            text: out.in_units(&self.text, Style::Alone),
            paint: self.paint,
        }
    }
}

impl<'t, T: Into<Cow<'t, str>>> From<T> for Cell<'t> {
    fn from(text: T) -> Self {
        Self {
            text: text.into(),
            paint: None,
        }
    }
}

/// Rows under headings.
pub(crate) struct Table<'t> {
    headings: Vec<&'static str>,
    rows: Vec<Vec<Cell<'t>>>,
    /// The column whose words are typed again: squeezed last.
    whole: Option<usize>,
}

impl<'t> Table<'t> {
    /// A table without rows.
    pub(crate) fn new<const N: usize>(headings: [&'static str; N]) -> Self {
        Self {
            headings: headings.to_vec(),
            rows: Vec::new(),
            whole: None,
        }
    }

    /// Leaves the cells of a column in one piece while the others can be squeezed.
    pub(crate) fn whole(self, column: usize) -> Self {
        Self {
            whole: Some(column),
            ..self
        }
    }

    /// Adds a row, a cell for each heading.
    pub(crate) fn row<const N: usize>(&mut self, cells: [Cell<'t>; N]) {
        debug_assert_eq!(N, self.headings.len(), "a cell for each heading");
        self.rows.push(cells.into());
    }

    /// Whether it has no rows.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Prints it: side by side, or as labelled lines when plain output is asked for.
    pub(crate) fn print(&self, out: &mut Out<'_>) -> Result<(), CommandError> {
        let rows: Vec<Vec<Cell<'_>>> = self
            .rows
            .iter()
            .map(|row| row.iter().map(|cell| cell.told(out)).collect())
            .collect();
        if out.look.plain {
            self.print_labelled(out, &rows)
        } else {
            self.print_columns(out, &rows)
        }
    }

    fn print_labelled(&self, out: &mut Out<'_>, rows: &[Vec<Cell<'_>>]) -> Result<(), CommandError> {
        for (number, row) in rows.iter().enumerate() {
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

    fn print_columns(&self, out: &mut Out<'_>, rows: &[Vec<Cell<'_>>]) -> Result<(), CommandError> {
        let widths = self.widths(rows, out.width());
        let headings: Vec<Cell<'_>> = self
            .headings
            .iter()
            .map(|text| Cell::painted(*text, Paint::Strong))
            .collect();
        let mut lines = String::new();
        add_row(&mut lines, out, &headings, &widths);
        for row in rows {
            add_row(&mut lines, out, row, &widths);
        }
        out.raw(&lines)
    }

    /// The natural width of each column, the widest squeezed until all fit.
    fn widths(&self, rows: &[Vec<Cell<'_>>], room: usize) -> Vec<usize> {
        let natural = |column: usize| {
            let cells = rows.iter().map(|row| &*row[column].text);
            let lines = cells.chain([self.headings[column]]).flat_map(str::lines);
            lines.map(wrap::columns).max().unwrap_or_default()
        };
        let mut widths: Vec<usize> = (0..self.headings.len()).map(natural).collect();
        let room = room.saturating_sub(GAP * self.headings.len().saturating_sub(1));
        for spared in [self.whole, None] {
            while widths.iter().sum::<usize>() > room {
                let mut squeezed = widths.iter_mut().enumerate();
                let squeezed = squeezed.by_ref().filter(|(column, _)| Some(*column) != spared);
                match squeezed.map(|(_, width)| width).max() {
                    Some(widest) if *widest > NARROWEST => *widest -= 1,
                    _ => break,
                }
            }
        }
        widths
    }
}

/// Adds so many blanks, many at a time.
fn add_blanks(to: &mut String, mut count: usize) {
    const BLANKS: &str = "                                                                ";
    while count > 0 {
        let some = count.min(BLANKS.len());
        to.push_str(&BLANKS[..some]);
        count -= some;
    }
}

/// Adds the lines that a row takes.
fn add_row(to: &mut String, out: &Out<'_>, cells: &[Cell<'_>], widths: &[usize]) {
    let broken: Vec<Vec<Cow<'_, str>>> = cells
        .iter()
        .zip(widths)
        .map(|(cell, width)| wrap::cell(&cell.text, *width))
        .collect();
    let height = broken.iter().map(Vec::len).max().unwrap_or_default();
    for number in 0..height {
        let mut blanks = 0;
        for ((lines, cell), width) in broken.iter().zip(cells).zip(widths) {
            let text = lines.get(number).map_or("", |line| &**line);
            if !text.is_empty() {
                add_blanks(to, std::mem::take(&mut blanks));
                match cell.paint {
                    Some(paint) => to.push_str(&out.paint(paint, text)),
                    None => to.push_str(text),
                }
            }
            blanks += width.saturating_sub(wrap::columns(text)) + GAP;
        }
        to.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::{plain_text, text};

    fn sample() -> Table<'static> {
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
    fn a_column_that_is_typed_again_is_squeezed_last() {
        let table = || {
            let mut table = Table::new(["check", "what it asks"]).whole(0);
            table.row([
                "clearance.motor_and_ring".into(),
                "motor case and ring clear".into(),
            ]);
            table
        };
        let shown = text(40, |out| table().print(out));
        assert!(
            shown.contains("clearance.motor_and_ring  motor case and\n"),
            "{shown}"
        );
        let shown = text(24, |out| table().print(out));
        assert!(shown.lines().all(|line| wrap::columns(line) <= 24), "{shown}");
    }

    #[test]
    fn plain_output_labels_every_cell() {
        let shown = plain_text(|out| sample().print(out));
        let expected = "job: 7\nrider: Ines H.\nwaits for: the cassette that was to come on Monday\n\n\
                        job: 12\nrider: Bo, folder\n";
        assert_eq!(shown, expected);
    }
}
