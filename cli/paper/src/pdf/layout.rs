//! Blocks into lines, lines onto pages.

use super::measure::{Face, Measure};
use super::tags::{Piece, Role, Tree};
use crate::model::{Block, Document, Sheet, Type, clean};

mod rows;
#[cfg(test)]
mod tests;
mod told;
mod write;

/// Points in a millimetre (ISO 32000-1:2008, 8.3.2.3: 72 points an inch).
const POINT: f32 = 72.0 / 25.4;
/// Margin, millimetres.
const MARGIN: f32 = 14.0;
/// Line height over type size.
const LEAD: f32 = 1.35;
/// Side of the mark, points.
const MARK: f32 = 62.0;
/// How far a picture may shrink to stay on a page that has begun.
const SHRINK: f32 = 0.7;
/// A line as short as this leads to what follows it, in bytes.
const LEADS: usize = 200;
/// So many boxes stay on one page.
const FEW: usize = 4;
/// Small type over running type.
const SMALL: f32 = 0.82;

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

/// An item and the piece of the document that it is drawn of; `None` for what only decorates.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Put<'a> {
    pub(super) of: Option<Piece>,
    pub(super) item: Item<'a>,
}

/// Pages, and what stands on them.
pub(super) struct Laid<'a> {
    pub(super) pages: Vec<Vec<Put<'a>>>,
    pub(super) tree: Tree,
}

/// Width and height of a sheet in points.
pub(super) fn points(sheet: Sheet) -> (f32, f32) {
    let (width, height) = sheet.millimetres();
    (width * POINT, height * POINT)
}

/// The pages of a document.
pub(super) fn pages<'a>(document: &'a Document, mark: Option<&'a str>) -> Laid<'a> {
    let mut setter = Setter::new(document);
    setter.head(document, mark);
    for (at, block) in document.blocks.iter().enumerate() {
        setter.keep_together(&document.blocks[at..]);
        setter.block(block, document.blocks.get(at + 1));
    }
    setter.finish(document)
}

struct Setter<'a> {
    measure: Measure,
    left: f32,
    right: f32,
    top: f32,
    bottom: f32,
    /// Size of running text.
    size: f32,
    is_stand: bool,
    y: f32,
    pages: Vec<Vec<Put<'a>>>,
    tree: Tree,
}

impl<'a> Setter<'a> {
    fn new(document: &Document) -> Self {
        let (width, height) = points(document.sheet);
        let margin = MARGIN * POINT;
        let is_stand = document.size == Type::Stand;
        // At the stand: capitals of 3.4 mm, 18 minutes of arc at 650 mm; ANSI/HFES 100-2007 asks for 16 to
        // 22, from memory.
        let size = if is_stand { 13.0 } else { 9.5 };
        Self {
            measure: Measure::new(),
            left: margin,
            right: width - margin,
            top: margin,
            bottom: height - margin - 1.6 * size,
            size,
            is_stand,
            y: margin,
            pages: vec![Vec::new()],
            tree: Tree::default(),
        }
    }

    fn put_of(&mut self, of: Option<Piece>, item: Item<'a>) {
        self.pages
            .last_mut()
            .expect("there is at least one page")
            .push(Put { of, item });
    }

    /// Puts down what only decorates.
    fn put(&mut self, item: Item<'a>) {
        self.put_of(None, item);
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

    fn wide(&self) -> f32 {
        self.right - self.left
    }

    /// A line of text that belongs to the open piece.
    fn text(&mut self, x: f32, y: f32, size: f32, face: Face, text: String) {
        let of = self.tree.now();
        self.text_of(of, (x, y), size, face, text);
    }

    fn text_of(&mut self, of: Option<Piece>, (x, y): (f32, f32), size: f32, face: Face, text: String) {
        // An empty cell is a cell all the same for who is read to.
        let text = if text.is_empty() && of.is_some() {
            " ".to_owned()
        } else {
            text
        };
        if !text.is_empty() {
            let item = Item::Text {
                x,
                y,
                size,
                face,
                text,
            };
            self.put_of(of, item);
        }
    }

    fn rule(&mut self, y: f32, thick: f32) {
        let (x, width) = (self.left, self.wide());
        self.put(Item::Bar {
            x,
            y,
            width,
            height: thick,
        });
    }

    /// Running text from `x`, as wide as the rest of the page, as a piece of its own.
    fn paragraph(&mut self, role: Role, x: f32, size: f32, face: Face, text: &str) {
        self.tree.open(role);
        let lines = self.measure.lines(&clean(text), size, face, self.right - x);
        let last = lines.len() - 1;
        for (at, mut line) in lines.into_iter().enumerate() {
            self.room(size * LEAD);
            if at < last {
                // Words of two lines are two words for who is read to.
                line.push(' ');
            }
            self.text(x, self.y + size, size, face, line);
            self.y += size * LEAD;
        }
        self.tree.close();
    }

    /// A heading: its words also stand in the outline.
    fn heading(&mut self, level: u16, x: f32, size: f32, text: &str) {
        let words = clean(text);
        self.room(size * LEAD);
        self.tree.stands(level, &words, self.pages.len() - 1, self.y);
        self.paragraph(Role::Heading(level, words), x, size, Face::Bold, text);
    }

    fn head(&mut self, document: &'a Document, mark: Option<&'a str>) {
        let right = self.right;
        self.right -= if mark.is_some() { MARK + 10.0 } else { 0.0 };
        let size = self.size * if self.is_stand { 2.2 } else { 1.7 };
        self.heading(1, self.left, size, &document.kind);
        self.paragraph(
            Role::Paragraph,
            self.left,
            self.size * 1.15,
            Face::Plain,
            &document.title,
        );
        self.right = right;
        if let (Some(svg), Some(words)) = (mark, &document.mark) {
            let figure = self
                .tree
                .add(Role::Figure(format!("mark to scan: {}", clean(words))));
            let (x, y) = (self.right - MARK, self.top);
            self.put_of(
                Some(figure),
                Item::Drawing {
                    x,
                    y,
                    width: MARK,
                    height: MARK,
                    svg,
                },
            );
            self.y = self.y.max(self.top + MARK);
        }
        self.y += 3.0;
        self.rule(self.y, 1.4);
        self.rule(self.y + 2.6, 0.6);
        self.y += 8.0;
    }

    /// Begins a page where a heading would stand apart from the first of what follows, or a signature apart from
    /// what is signed.
    fn keep_together(&mut self, blocks: &[Block]) {
        let mut needed = 0.0;
        for (at, block) in blocks.iter().enumerate() {
            needed += self.least(block);
            let goes_on = match block {
                Block::Heading(_) | Block::Subheading(_) | Block::Verdict(_) => true,
                // A line that leads from a heading to what follows.
                Block::Text(text) => at > 0 && at < 3 && text.len() < LEADS,
                Block::Caution(_) => matches!(blocks.get(at + 1), Some(Block::Signatures(_))),
                _ => false,
            };
            if !goes_on {
                break;
            }
        }
        self.room(needed);
    }

    /// Height that a block needs to begin with.
    fn least(&self, block: &Block) -> f32 {
        match block {
            Block::Heading(_) => self.size * 2.6,
            Block::Subheading(_) => self.size * 2.0,
            Block::Verdict(verdict) => self.verdict_lines(verdict).len() as f32 * self.lead() + self.size,
            Block::Text(text) => {
                let lines = self
                    .measure
                    .lines(&clean(text), self.size, Face::Plain, self.wide());
                lines.len().min(2) as f32 * self.lead() + 2.5
            }
            Block::Note(_) | Block::Steps(_) => self.lead(),
            Block::Caution(caution) => self.caution_height(caution),
            Block::Picture(picture) => SHRINK * self.drawn(picture).1 + self.caption(picture),
            Block::Table(table) => self.table_begins(table),
            Block::Pairs(pairs) => {
                // Few stay together; each may take two lines.
                let lines = if pairs.len() <= 2 * FEW {
                    pairs.len() + 2
                } else {
                    3
                };
                lines as f32 * self.lead()
            }
            Block::Brief(_) => 3.0 * self.lead(),
            Block::Boxes(boxes) => {
                // Few boxes belong together; many begin with one.
                let all: f32 = boxes.iter().map(|one| self.box_height(one)).sum();
                let first = boxes.first().map_or(0.0, |one| self.box_height(one));
                if boxes.len() <= FEW { all } else { first }
            }
            Block::Room(room) => self.room_height(room),
            Block::Signatures(_) => self.size * 5.0,
            Block::NewPage => 0.0,
        }
    }

    fn block(&mut self, block: &'a Block, next: Option<&Block>) {
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
                self.heading(2, self.left + 9.0, self.size * 1.15, text);
                self.y += 2.0;
            }
            Block::Subheading(text) => {
                self.y += self.size * 0.35;
                self.heading(3, self.left, self.size, text);
                self.y += 1.0;
            }
            Block::Verdict(verdict) => self.verdict(verdict),
            Block::Text(text) => {
                self.paragraph(Role::Paragraph, self.left, self.size, Face::Plain, text);
                self.y += 2.5;
            }
            Block::Note(text) => {
                self.paragraph(Role::Paragraph, self.left, self.size * SMALL, Face::Plain, text);
                self.y += 2.0;
            }
            Block::Steps(steps) => self.steps(steps),
            Block::Caution(caution) => self.caution(caution),
            Block::Brief(lines) => self.brief(lines),
            Block::Pairs(pairs) => self.pairs(pairs),
            Block::Table(table) => self.table(table),
            Block::Boxes(boxes) => {
                for one in boxes {
                    self.writing_box(one);
                }
                self.y += 3.0;
            }
            Block::Room(room) => {
                let signed = next.filter(|next| matches!(next, Block::Signatures(_)));
                let below = signed.map_or(0.0, |next| self.least(next));
                self.writing_room(room, below);
            }
            Block::Picture(picture) => self.picture(picture),
            Block::Signatures(names) => self.signatures(names),
            Block::NewPage => self.new_page(),
        }
    }

    /// Sets the foot of every page and gives the pages.
    fn finish(mut self, document: &Document) -> Laid<'a> {
        let size = if self.is_stand { 8.0 } else { self.size * 0.8 };
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
                items.push(Put {
                    of: None,
                    item: Item::Text {
                        x,
                        y: y + down,
                        size,
                        face: Face::Plain,
                        text,
                    },
                });
            }
        }
        Laid {
            pages: self.pages,
            tree: self.tree,
        }
    }
}
