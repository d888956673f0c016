//! A report of sections as lines of text: one layout, for the screen and for the files that the
//! daemon writes, so that an evening read again is the evening that was written.

use jiff::civil::Date;

use crate::v1::{Column, Section, Sheet};
use crate::{signs, wrap};

/// Columns of a page that is written to a file.
pub const WIDTH: usize = 80;
/// Blank columns between two columns.
const GAP: usize = 2;
/// Columns that the last column needs at least to stand beside the others.
const LEAST: usize = 20;
/// Widest column that stands beside others where they do not all fit.
const LONG: usize = 34;

/// A line of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The text.
    pub text: String,
    /// Whether it heads what follows.
    pub is_heading: bool,
}

/// A day of the contract (`2026-03-25`) as people read it (`Wed 25 Mar 2026`). What is no day
/// is shown as it is.
pub fn day(text: &str) -> String {
    match text.parse::<Date>() {
        Ok(date) => date.strftime("%a %-d %b %Y").to_string(),
        Err(_) => text.to_owned(),
    }
}

/// A report as a text of [`WIDTH`] columns.
pub fn text(sheet: &Sheet) -> String {
    let lines = lines(sheet, WIDTH);
    let text: String = lines.into_iter().map(|line| line.text + "\n").collect();
    signs::quiet(&text).into_owned()
}

/// What a report is called, and which days it tells of.
pub fn called(sheet: &Sheet) -> String {
    let when = if sheet.from == sheet.to {
        day(&sheet.to)
    } else {
        format!("{} to {}", day(&sheet.from), day(&sheet.to))
    };
    format!("{}, {when}", sheet.title)
}

/// A report as lines of so many columns.
pub fn lines(sheet: &Sheet, width: usize) -> Vec<Line> {
    let mut page = Page {
        width,
        lines: Vec::new(),
    };
    page.heading(called(sheet));
    for section in &sheet.sections {
        page.line(String::new());
        page.heading(section.title.clone());
        if !section.note.is_empty() {
            page.wrapped("  ", "  ", &section.note);
        }
        match section.rows.as_slice() {
            [] => {}
            [row] if section.columns.len() > 3 => page.one(section, &row.cells),
            _ => page.rows(section),
        }
    }
    page.lines
}

struct Page {
    width: usize,
    lines: Vec<Line>,
}

impl Page {
    fn heading(&mut self, text: String) {
        self.lines.push(Line {
            text,
            is_heading: true,
        });
    }

    fn line(&mut self, text: String) {
        self.lines.push(Line {
            text,
            is_heading: false,
        });
    }

    /// A text broken at words; the first line begins with `first`, the others with `rest`.
    fn wrapped(&mut self, first: &str, rest: &str, text: &str) {
        let room = |lead: &str| self.width.saturating_sub(wrap::columns(lead));
        let mut lead = first;
        for line in wrap::hanging(text, room(first), room(rest)) {
            self.line(format!("{lead}{line}"));
            lead = rest;
        }
    }

    /// One row: a line for each column that says something.
    fn one(&mut self, section: &Section, cells: &[String]) {
        let titles = section.columns.iter().map(|column| wrap::columns(&column.title));
        let widest = titles.max().unwrap_or(0);
        for (column, cell) in section.columns.iter().zip(cells) {
            if !cell.is_empty() {
                let pad = " ".repeat(widest - wrap::columns(&column.title));
                let lead = format!("  {}{pad}  ", column.title);
                self.wrapped(&lead, "      ", &with_unit(column, cell));
            }
        }
    }

    /// Several rows: columns side by side, the last one wrapped; where they are too wide for
    /// that, as many as fit stand side by side and the others below, each with its name.
    fn rows(&mut self, section: &Section) {
        let whole = Table::of(section);
        let is_narrow = whole.width(section) <= self.width && whole.lead + LEAST <= self.width;
        let (table, below) = if is_narrow {
            (whole, Vec::new())
        } else {
            whole.split(section, self.width)
        };
        self.line(table.line(&|column| title(&section.columns[column])));
        let last = table.columns.last().copied();
        for row in &section.rows {
            let cell = |column: usize| row.cells.get(column).cloned().unwrap_or_default();
            let text = table.line(&cell);
            match last {
                Some(last) if wrap::columns(&text) > self.width => {
                    let before = table.line_before(&cell);
                    self.wrapped(&before, &" ".repeat(table.lead), &cell(last));
                }
                _ => self.line(text),
            }
            for column in &below {
                let said = cell(*column);
                if !said.is_empty() {
                    let lead = format!("      {}: ", section.columns[*column].title);
                    self.wrapped(&lead, "        ", &with_unit(&section.columns[*column], &said));
                }
            }
        }
    }
}

/// The columns of a section that say something, and their widths.
struct Table {
    columns: Vec<usize>,
    widths: Vec<usize>,
    /// Columns before the last one.
    lead: usize,
}

impl Table {
    fn of(section: &Section) -> Self {
        let cells = |column: usize| section.rows.iter().filter_map(move |row| row.cells.get(column));
        let columns = (0..section.columns.len()).filter(|column| cells(*column).any(|cell| !cell.is_empty()));
        Self::with(section, columns.collect())
    }

    fn with(section: &Section, columns: Vec<usize>) -> Self {
        let width = |column: &usize| {
            let cells = section.rows.iter().filter_map(|row| row.cells.get(*column));
            let widest = cells.map(|cell| wrap::columns(cell)).max().unwrap_or(0);
            widest.max(wrap::columns(&title(&section.columns[*column])))
        };
        let widths: Vec<usize> = columns.iter().map(width).collect();
        let before = widths.iter().rev().skip(1).map(|width| width + GAP);
        let lead = 2 + before.sum::<usize>();
        Self {
            columns,
            widths,
            lead,
        }
    }

    /// Columns of the titles side by side.
    fn width(&self, section: &Section) -> usize {
        let last = self
            .columns
            .last()
            .map(|column| wrap::columns(&title(&section.columns[*column])));
        self.lead + last.unwrap_or(0)
    }

    /// The first columns that stand side by side, and those that do not: from the first on that
    /// is wider than [`LONG`] or goes over the edge.
    fn split(self, section: &Section, width: usize) -> (Self, Vec<usize>) {
        let mut taken = 2;
        let fits = self.widths.iter().take_while(|wide| {
            taken += **wide + GAP;
            **wide <= LONG && taken - GAP <= width
        });
        let count = fits.count().max(1).min(self.columns.len());
        let below = self.columns[count..].to_vec();
        let columns = self.columns[..count].to_vec();
        (Self::with(section, columns), below)
    }

    fn line(&self, cell: &dyn Fn(usize) -> String) -> String {
        let last = self
            .columns
            .last()
            .map_or_else(String::new, |column| cell(*column));
        (self.line_before(cell) + &last).trim_end().to_owned()
    }

    /// All but the last column, with the gap before that one.
    fn line_before(&self, cell: &dyn Fn(usize) -> String) -> String {
        let mut text = String::from("  ");
        let before = self.columns.len().saturating_sub(1);
        for (column, width) in self.columns.iter().zip(&self.widths).take(before) {
            let cell = cell(*column);
            text.push_str(&cell);
            text.push_str(&" ".repeat(width.saturating_sub(wrap::columns(&cell)) + GAP));
        }
        text
    }
}

/// The title over a column, with the unit of what stands under it.
fn title(column: &Column) -> String {
    match column.unit.as_str() {
        "" => column.title.clone(),
        unit => format!("{} ({unit})", column.title),
    }
}

/// A cell with the unit of its column.
pub fn with_unit(column: &Column, cell: &str) -> String {
    match column.unit.as_str() {
        "" => cell.to_owned(),
        "%" => format!("{cell} %"),
        unit => format!("{cell} {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::v1::Row;

    fn column(key: &str, unit: &str) -> Column {
        Column {
            key: key.to_owned(),
            title: key.to_owned(),
            unit: unit.to_owned(),
        }
    }

    #[test]
    fn a_section_whose_cells_are_all_empty_is_laid_out_in_any_width() {
        let section = Section {
            columns: vec![column("gate", ""), column("share", "%")],
            rows: vec![
                Row::default(),
                Row {
                    cells: vec![String::new(); 2],
                },
            ],
            ..Section::default()
        };
        let sheet = Sheet {
            sections: vec![section],
            ..Sheet::default()
        };
        for width in 0..40 {
            assert!(!lines(&sheet, width).is_empty());
        }
    }

    #[test]
    fn columns_stand_side_by_side_and_the_last_is_wrapped() {
        let row = |cells: [&str; 3]| Row {
            cells: cells.map(str::to_owned).to_vec(),
        };
        let sheet = Sheet {
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
        };
        let shown: String = lines(&sheet, 60)
            .into_iter()
            .map(|line| line.text + "\n")
            .collect();
        assert_eq!(
            shown,
            "Week, Mon 9 Mar 2026 to Sun 15 Mar 2026\n\nFirst time through\n  \
             gate    share (%)  said\n  intake  66.7       a, \"b\"\n  \
             parts              a long remark that goes on and on\n                     \
             beyond the edge of the screen\n\nChecks\n  no gate stayed shut\n"
        );
        let narrow: Vec<Line> = lines(&sheet, 30);
        let shown: Vec<&str> = narrow.iter().map(|line| line.text.as_str()).collect();
        let expected = [
            "  gate    share (%)",
            "  intake  66.7",
            "      said: a, \"b\"",
            "  parts",
            "      said: a long remark that",
            "        goes on and on beyond",
            "        the edge of the screen",
        ];
        assert_eq!(shown[3..10], expected, "{shown:?}");
        let headings = narrow.iter().filter(|line| line.is_heading);
        assert_eq!(headings.count(), 3);
    }

    /// 25 March 2026 is a Wednesday (Gregorian calendar).
    #[test]
    fn a_day_carries_its_weekday_and_other_words_stay() {
        assert_eq!(day("2026-03-25"), "Wed 25 Mar 2026");
        assert_eq!(day("when it comes"), "when it comes");
    }
}
