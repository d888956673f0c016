//! Names and values, rows and columns.

use super::{Face, Setter};
use crate::model::{Table, clean};
use crate::pdf::columns::{self, Asked};
use crate::pdf::tags::{Piece, Role};

/// Room between two columns.
const GAP: f32 = 7.0;
/// More columns than this are set in smaller type, so much of running type.
const COLUMNS: usize = 5;
const CROWDED: f32 = 0.86;
/// So many names and values are set beside each other in two columns, where all are short.
const MANY: usize = 8;

/// Lines of a cell, where they begin, and what they belong to.
struct Cell {
    x: f32,
    face: Face,
    lines: Vec<String>,
    of: Option<Piece>,
}

impl Setter<'_> {
    pub(super) fn pairs(&mut self, pairs: &[(String, String)]) {
        self.tree.open(Role::List);
        match self.halves(pairs) {
            Some(middle) => {
                let rows = pairs.len().div_ceil(2);
                let half = (self.wide() - GAP * 2.0) / 2.0;
                // Read down the left column, then down the right one.
                let pieces: Vec<_> = pairs.iter().map(|_| self.entry()).collect();
                for at in 0..rows {
                    let mut cells = Vec::new();
                    for (column, index) in [at, at + rows].into_iter().enumerate() {
                        if let Some(pair) = pairs.get(index) {
                            let x = (half + GAP * 2.0).mul_add(column as f32, self.left);
                            cells.extend(self.pair(pair, x, middle, half, pieces[index]));
                        }
                    }
                    self.cells(cells);
                }
            }
            None => {
                let middle = self.wide() * 0.34;
                for pair in pairs {
                    let piece = self.entry();
                    let cells = self.pair(pair, self.left, middle, self.wide(), piece);
                    self.cells(cells.into());
                }
            }
        }
        self.tree.close();
        self.y += 3.0;
    }

    /// A list's entry with its label and body.
    fn entry(&mut self) -> (Piece, Piece) {
        self.tree.open(Role::Entry);
        let pieces = (self.tree.add(Role::Label), self.tree.add(Role::Body));
        self.tree.close();
        pieces
    }

    /// Where values begin when two pairs stand beside each other; `None` where one of them has no room for that.
    fn halves(&self, pairs: &[(String, String)]) -> Option<f32> {
        if pairs.len() < MANY || self.is_stand {
            return None;
        }
        let half = (self.wide() - GAP * 2.0) / 2.0;
        let width = |text: &str, face| self.measure.width(&clean(text), self.size, face);
        let value = pairs
            .iter()
            .map(|pair| width(&pair.1, Face::Bold))
            .fold(0.0, f32::max);
        (value <= half * 0.5).then_some(half - value)
    }

    fn pair(
        &self,
        (name, value): &(String, String),
        x: f32,
        middle: f32,
        wide: f32,
        (label, body): (Piece, Piece),
    ) -> [Cell; 2] {
        let lines = |text: &str, face, wide| self.measure.lines(&clean(text), self.size, face, wide);
        [
            Cell {
                x,
                face: Face::Plain,
                lines: lines(name, Face::Plain, middle - 6.0),
                of: Some(label),
            },
            Cell {
                x: x + middle,
                face: Face::Bold,
                lines: lines(value, Face::Bold, wide - middle),
                of: Some(body),
            },
        ]
    }

    fn height(&self, cells: &[Cell]) -> f32 {
        cells.iter().map(|cell| cell.lines.len()).max().unwrap_or(0) as f32 * self.lead()
    }

    /// Lines side by side; a row longer than a page goes on on the next.
    fn cells(&mut self, cells: Vec<Cell>) {
        let rows = cells.iter().map(|cell| cell.lines.len()).max().unwrap_or(0);
        let all = self.height(&cells);
        if all < (self.bottom - self.top) / 2.0 {
            self.room(all);
        }
        for row in 0..rows {
            self.room(self.lead());
            for Cell { x, face, lines, of } in &cells {
                if let Some(line) = lines.get(row) {
                    let ends = if row + 1 < lines.len() { " " } else { "" };
                    let at = (*x, self.y + self.size);
                    self.text_of(*of, at, self.size, *face, format!("{line}{ends}"));
                }
            }
            self.y += self.lead();
        }
    }

    /// Where the columns of a table begin, and how wide they are without their gaps.
    fn columns(&self, table: &Table) -> Vec<(f32, f32, bool)> {
        let asked: Vec<Asked> = (0..table.columns.len())
            .map(|at| {
                let cells = table.rows.iter().filter_map(|row| row.get(at));
                let texts = cells.map(|cell| (cell, Face::Plain));
                let texts = texts.chain([(&table.columns[at].head, Face::Bold)]);
                let mut asked = Asked {
                    least: 0.0,
                    most: 0.0,
                    grows: !table.columns[at].right,
                };
                for (text, face) in texts {
                    let text = clean(text);
                    asked.least = asked.least.max(self.measure.widest_word(&text, self.size, face));
                    asked.most = asked.most.max(self.measure.width(&text, self.size, face));
                }
                // A hair more, so that the word that set the width goes into it.
                asked.least += GAP + 0.05;
                asked.most += GAP + 0.05;
                asked
            })
            .collect();
        let mut x = self.left;
        let widths = columns::widths(&asked, self.wide());
        let placed = table.columns.iter().zip(widths).map(|(column, width)| {
            let from = x;
            x += width;
            (from, width - GAP, column.right)
        });
        placed.collect()
    }

    /// Sets a table in type that its columns have room for.
    pub(super) fn table(&mut self, table: &Table) {
        let size = self.size;
        if table.columns.len() > COLUMNS {
            self.size *= CROWDED;
        }
        self.whole_table(table);
        self.size = size;
    }

    /// Height of a table's heads and its first row.
    pub(super) fn table_begins(&self, table: &Table) -> f32 {
        let columns = self.columns(table);
        let heads: Vec<String> = table.columns.iter().map(|column| column.head.clone()).collect();
        let row = |cells: &[String], face| self.height(&self.set(&columns, cells, face, &[]));
        let first = table.rows.first().map_or(0.0, |cells| row(cells, Face::Plain));
        (row(&heads, Face::Bold) + first + 2.5).min((self.bottom - self.top) / 2.0)
    }

    fn whole_table(&mut self, table: &Table) {
        let columns = self.columns(table);
        let heads: Vec<String> = table.columns.iter().map(|column| column.head.clone()).collect();
        // Heads stay with their first row, and stand on every page; read out, they are said once.
        self.room(self.table_begins(table));
        self.tree.open(Role::Table);
        self.tree.open(Role::Head);
        let pieces = self.row_of(Role::HeadCell, columns.len());
        self.tree.close();
        self.heads(&columns, &heads, &pieces);
        self.tree.open(Role::Rows);
        for row in &table.rows {
            let pieces = self.row_of(Role::Cell, columns.len());
            let set = self.set(&columns, row, Face::Plain, &pieces);
            let height = self.height(&set);
            if self.y + height > self.bottom && height < (self.bottom - self.top) / 2.0 {
                self.new_page();
                self.heads(&columns, &heads, &[]);
            }
            self.cells(set);
            self.rule(self.y, 0.3);
            self.y += 1.0;
        }
        self.tree.close();
        self.tree.close();
        self.y += 4.0;
    }

    /// A row with its cells, empty ones too.
    fn row_of(&mut self, role: Role, count: usize) -> Vec<Piece> {
        self.tree.open(Role::Row);
        let cells = (0..count).map(|_| self.tree.add(role.clone())).collect();
        self.tree.close();
        cells
    }

    fn heads(&mut self, columns: &[(f32, f32, bool)], heads: &[String], pieces: &[Piece]) {
        let set = self.set(columns, heads, Face::Bold, pieces);
        self.cells(set);
        self.rule(self.y, 1.0);
        self.y += 1.5;
    }

    /// A row's lines, each cell where it begins.
    fn set(&self, columns: &[(f32, f32, bool)], cells: &[String], face: Face, pieces: &[Piece]) -> Vec<Cell> {
        let mut set = Vec::new();
        for (at, ((x, width, right), cell)) in columns.iter().zip(cells).enumerate() {
            let lines = self.measure.lines(&clean(cell), self.size, face, *width);
            let mut x = *x;
            if *right {
                // Numbers are short: each line is set from its own beginning.
                let wide = lines
                    .iter()
                    .map(|line| self.measure.width(line, self.size, face))
                    .fold(0.0, f32::max);
                x += width - wide;
            }
            set.push(Cell {
                x,
                face,
                lines,
                of: pieces.get(at).copied(),
            });
        }
        set
    }
}
