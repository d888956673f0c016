//! Blocks into lines, lines onto pages.

use super::measure::Measure;
use crate::model::{Block, Box, Document, Picture, Sheet, Table, Type, clean};

/// Points in a millimetre (ISO 32000-1:2008, 8.3.2.3: 72 points an inch).
const POINT: f32 = 72.0 / 25.4;
/// Margin, millimetres.
const MARGIN: f32 = 14.0;
/// Line height over type size.
const LEAD: f32 = 1.35;
/// Side of the mark, points.
const MARK: f32 = 62.0;

/// Which cut of the font.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Face {
    Plain,
    Bold,
}

/// Something at its place; x to the right and y down from the top left corner, in points. The
/// place of text is the beginning of its base line.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Item<'a> {
    Text {
        x: f32,
        y: f32,
        size: f32,
        face: Face,
        text: String,
    },
    Bar {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
    },
    Frame {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
    },
    Drawing {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
        svg: &'a str,
    },
}

/// Width and height of a sheet in points.
pub(super) fn points(sheet: Sheet) -> (f32, f32) {
    let (width, height) = sheet.millimetres();
    (width * POINT, height * POINT)
}

/// The pages of a document.
pub(super) fn pages<'a>(document: &'a Document, mark: Option<&'a str>) -> Vec<Vec<Item<'a>>> {
    let mut setter = Setter::new(document);
    setter.head(document, mark);
    for (at, block) in document.blocks.iter().enumerate() {
        if matches!(block, Block::Heading(_)) {
            setter.keep_together(&document.blocks[at..]);
        }
        setter.block(block);
    }
    setter.finish(document)
}

/// Lines that a table needs at least: its heads and a row of three.
const TABLE: f32 = 5.0;

struct Setter<'a> {
    measure: Measure,
    left: f32,
    right: f32,
    top: f32,
    bottom: f32,
    /// Size of running text.
    size: f32,
    y: f32,
    pages: Vec<Vec<Item<'a>>>,
}

impl<'a> Setter<'a> {
    fn new(document: &Document) -> Self {
        let (width, height) = points(document.sheet);
        let margin = MARGIN * POINT;
        let size = match document.size {
            Type::Hand => 9.5,
            Type::Stand => 12.0,
        };
        Self {
            measure: Measure::new(),
            left: margin,
            right: width - margin,
            top: margin,
            bottom: height - margin - 1.6 * size,
            size,
            y: margin,
            pages: vec![Vec::new()],
        }
    }

    fn put(&mut self, item: Item<'a>) {
        self.pages
            .last_mut()
            .expect("there is at least one page")
            .push(item);
    }

    fn new_page(&mut self) {
        self.pages.push(Vec::new());
        self.y = self.top;
    }

    /// Begins a page when so much does not fit any more.
    fn room(&mut self, height: f32) {
        if self.y + height > self.bottom && self.y > self.top {
            self.new_page();
        }
    }

    fn lead(&self) -> f32 {
        self.size * LEAD
    }

    fn text(&mut self, x: f32, y: f32, size: f32, face: Face, text: String) {
        if !text.is_empty() {
            self.put(Item::Text {
                x,
                y,
                size,
                face,
                text,
            });
        }
    }

    fn rule(&mut self, y: f32, thick: f32) {
        let (x, width) = (self.left, self.right - self.left);
        self.put(Item::Bar {
            x,
            y,
            width,
            height: thick,
        });
    }

    /// Running text from `x`, as wide as the rest of the page.
    fn paragraph(&mut self, x: f32, size: f32, face: Face, text: &str) {
        let width = self.right - x;
        for line in self.measure.lines(&clean(text), size, face, width) {
            self.room(size * LEAD);
            self.text(x, self.y + size, size, face, line);
            self.y += size * LEAD;
        }
    }

    fn head(&mut self, document: &'a Document, mark: Option<&'a str>) {
        let right = self.right;
        if let Some(svg) = mark {
            let (x, y) = (self.right - MARK, self.top);
            self.put(Item::Drawing {
                x,
                y,
                width: MARK,
                height: MARK,
                svg,
            });
            self.right -= MARK + 10.0;
        }
        self.paragraph(self.left, self.size * 1.7, Face::Bold, &document.kind);
        self.paragraph(self.left, self.size * 1.15, Face::Plain, &document.title);
        self.right = right;
        if mark.is_some() {
            self.y = self.y.max(self.top + MARK);
        }
        self.y += 3.0;
        self.rule(self.y, 1.4);
        self.rule(self.y + 2.6, 0.6);
        self.y += 8.0;
    }

    /// Begins a page where a heading would stand apart from the first of what follows.
    fn keep_together(&mut self, blocks: &[Block]) {
        let mut needed = 0.0;
        for block in blocks {
            needed += match block {
                Block::Heading(_) => self.size * 2.5,
                Block::Text(_) => self.lead() + 2.5,
                Block::Picture(picture) => self.drawn(picture).1 + 2.0 * self.lead(),
                Block::Table(_) => self.lead() * TABLE,
                _ => self.lead() * 2.0,
            };
            if !matches!(block, Block::Heading(_) | Block::Text(_)) {
                break;
            }
        }
        self.room(needed);
    }

    fn block(&mut self, block: &'a Block) {
        match block {
            Block::Heading(text) => {
                self.y += self.size * 0.7;
                let (x, y) = (self.left, self.y);
                self.put(Item::Bar {
                    x,
                    y: y + 1.0,
                    width: 4.0,
                    height: self.size * 1.25,
                });
                self.paragraph(self.left + 9.0, self.size * 1.15, Face::Bold, text);
                self.y += 2.0;
            }
            Block::Text(text) => {
                self.paragraph(self.left, self.size, Face::Plain, text);
                self.y += 2.5;
            }
            Block::Caution(text) => self.caution(text),
            Block::Pairs(pairs) => self.pairs(pairs),
            Block::Table(table) => self.table(table),
            Block::Boxes(boxes) => {
                for one in boxes {
                    self.writing_box(one);
                }
                self.y += 3.0;
            }
            Block::Picture(picture) => self.picture(picture),
            Block::Signatures(names) => self.signatures(names),
            Block::NewPage => self.new_page(),
        }
    }

    fn caution(&mut self, text: &str) {
        let x = self.left + 12.0;
        let lines = self
            .measure
            .lines(&clean(text), self.size, Face::Plain, self.right - x - 4.0);
        let height = lines.len() as f32 * self.lead() + 6.0;
        self.room(height);
        let (left, y, width) = (self.left, self.y, self.right - self.left);
        self.put(Item::Frame {
            x: left,
            y,
            width,
            height,
        });
        self.put(Item::Bar {
            x: left,
            y,
            width: 6.0,
            height,
        });
        for (at, line) in (0u8..).zip(lines) {
            self.text(
                x,
                y + 3.0 + self.size + f32::from(at) * self.lead(),
                self.size,
                Face::Plain,
                line,
            );
        }
        self.y += height + 4.0;
    }

    fn pairs(&mut self, pairs: &[(String, String)]) {
        let middle = self.left + (self.right - self.left) * 0.34;
        for (name, value) in pairs {
            let names = self
                .measure
                .lines(&clean(name), self.size, Face::Plain, middle - self.left - 6.0);
            let values = self
                .measure
                .lines(&clean(value), self.size, Face::Bold, self.right - middle);
            self.cells(&[(self.left, Face::Plain, names), (middle, Face::Bold, values)]);
        }
        self.y += 3.0;
    }

    fn height(&self, cells: &[(f32, Face, Vec<String>)]) -> f32 {
        cells.iter().map(|cell| cell.2.len()).max().unwrap_or(0) as f32 * self.lead()
    }

    /// Lines side by side; a row longer than a page goes on on the next.
    fn cells(&mut self, cells: &[(f32, Face, Vec<String>)]) {
        let rows = cells.iter().map(|cell| cell.2.len()).max().unwrap_or(0);
        let all = self.height(cells);
        if all < (self.bottom - self.top) / 2.0 {
            self.room(all);
        }
        for row in 0..rows {
            self.room(self.lead());
            for (x, face, lines) in cells {
                if let Some(line) = lines.get(row) {
                    self.text(*x, self.y + self.size, self.size, *face, line.clone());
                }
            }
            self.y += self.lead();
        }
    }

    fn table(&mut self, table: &Table) {
        const GAP: f32 = 6.0;
        let mut x = self.left;
        let mut columns = Vec::new();
        for (column, width) in table.columns.iter().zip(self.widths(table, GAP)) {
            columns.push((x, width - GAP, column.right));
            x += width;
        }
        let heads: Vec<String> = table.columns.iter().map(|column| column.head.clone()).collect();
        // Heads stay with their first row, and stand on every page.
        self.room(self.lead() * TABLE);
        self.heads(&columns, &heads);
        for row in &table.rows {
            let set = self.set(&columns, row, Face::Plain);
            let height = self.height(&set);
            if self.y + height > self.bottom && height < (self.bottom - self.top) / 2.0 {
                self.new_page();
                self.heads(&columns, &heads);
            }
            self.cells(&set);
            self.rule(self.y, 0.3);
            self.y += 1.0;
        }
        self.y += 4.0;
    }

    /// Widths of a table's columns: by their shares, but none narrower than its longest word if there is
    /// room for all of those.
    fn widths(&self, table: &Table, gap: f32) -> Vec<f32> {
        let longest = |at: usize, head: &str| {
            let of = |text: &str, face: Face| {
                let words = text.split_whitespace();
                words
                    .map(|word| self.measure.width(&clean(word), self.size, face))
                    .fold(0.0, f32::max)
            };
            let cells = table.rows.iter().filter_map(|row| row.get(at));
            cells
                .map(|cell| of(cell, Face::Plain))
                .fold(of(head, Face::Bold), f32::max)
                + gap
        };
        let columns = || table.columns.iter().enumerate();
        let least: Vec<f32> = columns().map(|(at, column)| longest(at, &column.head)).collect();
        shared(
            &table
                .columns
                .iter()
                .map(|column| column.share)
                .collect::<Vec<_>>(),
            &least,
            self.right - self.left,
        )
    }

    fn heads(&mut self, columns: &[(f32, f32, bool)], heads: &[String]) {
        let set = self.set(columns, heads, Face::Bold);
        self.cells(&set);
        self.rule(self.y, 1.0);
        self.y += 1.5;
    }

    /// A row's lines, each cell where it begins.
    fn set(
        &self,
        columns: &[(f32, f32, bool)],
        cells: &[String],
        face: Face,
    ) -> Vec<(f32, Face, Vec<String>)> {
        let mut set = Vec::new();
        for ((x, width, right), cell) in columns.iter().zip(cells) {
            let lines = self.measure.lines(&clean(cell), self.size, face, *width);
            if *right {
                // Numbers are short: each line is set from its own beginning.
                let wide = lines
                    .iter()
                    .map(|line| self.measure.width(line, self.size, face))
                    .fold(0.0, f32::max);
                set.push((x + width - wide, face, lines));
            } else {
                set.push((*x, face, lines));
            }
        }
        set
    }

    fn writing_box(&mut self, one: &Box) {
        let height = self.size * 2.0;
        let wide = (self.right - self.left) * 0.27;
        let x = self.left + wide + 8.0;
        let words = match one.beside.as_str() {
            "" => clean(&one.label),
            beside => format!("{}: {}", clean(&one.label), clean(beside)),
        };
        let lines = self.measure.lines(&words, self.size, Face::Plain, self.right - x);
        let needed = (lines.len() as f32 * self.lead()).max(height) + 3.0;
        self.room(needed);
        let (left, y) = (self.left, self.y);
        self.put(Item::Frame {
            x: left,
            y,
            width: wide,
            height,
        });
        let value = self
            .measure
            .lines(&clean(&one.value), self.size, Face::Bold, wide - 8.0);
        self.text(
            left + 4.0,
            y + self.size * 1.4,
            self.size,
            Face::Bold,
            value.join(" "),
        );
        for (at, line) in (0u8..).zip(lines) {
            self.text(
                x,
                y + self.size * 1.4 + f32::from(at) * self.lead(),
                self.size,
                Face::Plain,
                line,
            );
        }
        self.y += needed;
    }

    /// Width and height of a picture on this sheet.
    fn drawn(&self, picture: &Picture) -> (f32, f32) {
        let width = (self.right - self.left) * picture.share;
        let room = self.bottom - self.top - 5.5 * self.lead();
        let height = (width / picture.aspect).min(room);
        (height * picture.aspect, height)
    }

    fn picture(&mut self, picture: &'a Picture) {
        let (width, height) = self.drawn(picture);
        self.room(height + 2.0 * self.lead());
        let (x, y) = (self.left, self.y);
        self.put(Item::Drawing {
            x,
            y,
            width,
            height,
            svg: &picture.svg,
        });
        self.y += height + 2.0;
        self.paragraph(self.left, self.size * 0.85, Face::Plain, &picture.text);
        self.y += 4.0;
    }

    fn signatures(&mut self, names: &[String]) {
        let count = names.len().max(1) as f32;
        let wide = (self.right - self.left) / count;
        self.room(self.size * 5.0);
        self.y += self.size * 3.0;
        let y = self.y;
        for (at, name) in (0u8..).zip(names) {
            let x = self.left + f32::from(at) * wide;
            self.put(Item::Bar {
                x,
                y,
                width: wide - 12.0,
                height: 0.6,
            });
            let line = self
                .measure
                .lines(&clean(name), self.size, Face::Plain, wide - 12.0)
                .swap_remove(0);
            self.text(x, y + self.size * 1.2, self.size, Face::Plain, line);
        }
        self.y += self.size * 1.8;
    }

    /// Sets the foot of every page and gives the pages.
    fn finish(mut self, document: &Document) -> Vec<Vec<Item<'a>>> {
        let size = self.size * 0.8;
        let count = self.pages.len();
        let y = self.bottom + 1.6 * self.size;
        for (page, items) in (1..).zip(&mut self.pages) {
            let number = format!("{page} / {count}");
            let wide = self.measure.width(&number, size, Face::Plain);
            let foot = self.measure.lines(
                &clean(&document.foot),
                size,
                Face::Plain,
                self.right - self.left - wide - 12.0,
            );
            // What does not go beside the number goes on into the margin, which has room for three lines.
            let lines = (0u8..).zip(foot);
            let lines = lines.map(|(at, line)| (self.left, f32::from(at) * size * LEAD, line));
            for (x, down, text) in lines.chain([(self.right - wide, 0.0, number)]) {
                items.push(Item::Text {
                    x,
                    y: y + down,
                    size,
                    face: Face::Plain,
                    text,
                });
            }
        }
        self.pages
    }
}

/// Shares out a width; what would fall below its least gets that, and the others share what is left. By shares
/// alone where the least are too much together.
fn shared(shares: &[f32], least: &[f32], wide: f32) -> Vec<f32> {
    let enough = least.iter().sum::<f32>() <= wide;
    let mut held = vec![false; shares.len()];
    loop {
        let free = |of: &[f32], which: bool| -> f32 {
            let some = of.iter().zip(&held).filter(|(_, held)| **held == which);
            some.map(|(value, _)| value).sum()
        };
        let (left, whole) = (wide - free(least, true), free(shares, false));
        let widths: Vec<f32> = shares
            .iter()
            .zip(least)
            .zip(&held)
            .map(|((share, least), held)| if *held { *least } else { left * share / whole })
            .collect();
        let short = |at: &usize| enough && !held[*at] && widths[*at] < least[*at];
        let Some(at) = (0..shares.len()).find(short) else {
            return widths;
        };
        held[at] = true;
    }
}

#[cfg(test)]
mod tests {
    use super::shared;

    #[test]
    fn a_column_is_as_wide_as_its_longest_word_and_the_others_make_room() {
        assert_eq!(shared(&[1.0, 3.0], &[10.0, 10.0], 100.0), [25.0, 75.0]);
        assert_eq!(shared(&[1.0, 3.0], &[40.0, 10.0], 100.0), [40.0, 60.0]);
        // The room that one takes may leave another short.
        let widths = shared(&[1.0, 2.0, 1.0], &[50.0, 30.0, 20.0], 100.0);
        assert_eq!(widths, [50.0, 30.0, 20.0]);
        // No room for all: by the shares.
        assert_eq!(shared(&[1.0, 1.0], &[80.0, 80.0], 100.0), [50.0, 50.0]);
    }
}
