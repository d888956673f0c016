//! A document before it has a shape: blocks in reading order.

use jiff::civil::Date;

mod typeset;

pub(crate) use typeset::NO_BREAK;
pub use typeset::clean;

/// Size of the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sheet {
    /// 210 mm by 297 mm (ISO 216:2007).
    A4,
    /// 148 mm by 210 mm (ISO 216:2007).
    A5,
    /// 8.5 in by 11 in (ANSI/ASME Y14.1, size A).
    Letter,
}

impl Sheet {
    /// Width and height in millimetres.
    pub const fn millimetres(self) -> (f32, f32) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::A5 => (148.0, 210.0),
            Self::Letter => (215.9, 279.4),
        }
    }

    /// The name that CSS gives it.
    pub const fn css(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::A5 => "A5",
            Self::Letter => "letter",
        }
    }
}

/// How large the type is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Type {
    /// To be read in the hand.
    Hand,
    /// To be read at the stand, an arm's length and a bicycle away.
    Stand,
}

/// A document.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// What it is, such as `Test ride`.
    pub kind: String,
    /// What it is about, such as the job and its rider.
    pub title: String,
    /// Words a scanner reads from the mark in its corner; `None` for no mark.
    pub mark: Option<String>,
    /// Size of the sheet.
    pub sheet: Sheet,
    /// How large the type is.
    pub size: Type,
    /// In reading order.
    pub blocks: Vec<Block>,
    /// At the foot of every page.
    pub foot: String,
    /// The day it was made on; `None` when nobody says.
    pub day: Option<Date>,
}

/// A piece of a document.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A heading below one.
    Subheading(String),
    /// What a check said, as the heading of its figures.
    Verdict(Verdict),
    /// A paragraph.
    Text(String),
    /// A paragraph in small type, such as a source.
    Note(String),
    /// Steps of a calculation, a line each.
    Steps(Vec<String>),
    /// A paragraph that warns; marked by a word and a bar, not by colour alone.
    Caution(Caution),
    /// Names and values in the largest type.
    Brief(Vec<(String, String)>),
    /// Names and values.
    Pairs(Vec<(String, String)>),
    /// Rows and columns.
    Table(Table),
    /// Boxes to write into.
    Boxes(Vec<Box>),
    /// Ruled room to write into.
    Room(Room),
    /// A drawing.
    Picture(Picture),
    /// Lines to sign on, each with who signs.
    Signatures(Vec<String>),
    /// What follows begins a page.
    NewPage,
}

/// What a check said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// Its word, such as `pass`.
    pub word: String,
    /// What was checked.
    pub title: String,
    /// The check's own name.
    pub check: String,
}

impl Verdict {
    /// A sign that stands before the word, told apart without colour.
    pub fn sign(&self) -> &'static str {
        match self.word.as_str() {
            "pass" => "✓",
            "caution" => "△",
            "fail" => "✗",
            _ => "○",
        }
    }
}

/// A paragraph that warns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// How hard it presses, such as `Important`; empty where its place says it.
    pub word: String,
    /// What is said.
    pub text: String,
    /// Where it comes from, in small type; empty for nothing.
    pub source: String,
}

impl Caution {
    /// A warning with nothing but its text.
    pub fn plain(text: impl Into<String>) -> Self {
        Self {
            word: String::new(),
            text: text.into(),
            source: String::new(),
        }
    }
}

/// Rows and columns. How wide a column is follows from what stands in it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Heads of the columns.
    pub columns: Vec<Column>,
    /// Rows of as many cells.
    pub rows: Vec<Vec<String>>,
}

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Head.
    pub head: String,
    /// Numbers stand at the right.
    pub right: bool,
}

impl Column {
    /// A column of words.
    pub fn words(head: &str) -> Self {
        Self {
            head: head.to_owned(),
            right: false,
        }
    }

    /// A column of numbers.
    pub fn numbers(head: &str) -> Self {
        Self {
            right: true,
            ..Self::words(head)
        }
    }
}

/// A longer word than this, in signs, may be broken: the columns beside it would be pushed off the sheet.
const WORD: usize = 28;
/// A longer cell than this, in signs, is a sentence.
const SENTENCE: usize = 32;
/// Columns of sentences that a sheet has room for beside what else a table holds.
const PROSE: usize = 2;
/// Columns that a telephone still shows beside each other; more are stacked there.
const NARROW: usize = 3;

impl Table {
    /// Whether a column, from 0, holds numbers.
    pub fn is_right(&self, column: &usize) -> bool {
        self.columns.get(*column).is_some_and(|column| column.right)
    }

    /// The head of a column, from 0.
    pub fn head(&self, column: &usize) -> &str {
        self.columns.get(*column).map_or("", |column| &column.head)
    }

    /// Whether a cell holds sentences in a table that has room to keep them in few lines: a browser would give a column of them
    /// little beside one of longer ones.
    pub fn is_prose(&self, cell: &str) -> bool {
        let is_long = |cell: &String| cell.chars().count() > SENTENCE;
        let column = |at: usize| self.rows.iter().filter_map(move |row| row.get(at)).any(is_long);
        let long = (0..self.columns.len()).filter(|at| column(*at)).count();
        cell.chars().count() > SENTENCE && long <= PROSE
    }

    /// Whether a cell holds a word that is broken where its line ends.
    pub fn breaks(&self, cell: &str) -> bool {
        cell.split_whitespace().any(|word| word.chars().count() > WORD)
    }

    /// Whether a cell holds nothing but a day, a moment or a number: a browser would break it at its hyphens.
    pub fn is_day(&self, cell: &str) -> bool {
        cell.chars().any(|sign| sign.is_ascii_digit())
            && cell
                .chars()
                .all(|sign| sign.is_ascii_digit() || "-:. ".contains(sign))
    }

    /// Whether a narrow page shows each row as lines of head and cell.
    pub fn is_wide(&self) -> bool {
        self.columns.len() > NARROW
    }
}

/// A box to write into.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Box {
    /// What belongs in it.
    pub label: String,
    /// What is allowed or expected; empty for nothing.
    pub beside: String,
    /// What is already known; empty for room to write.
    pub value: String,
    /// The word under which it is typed in; empty for none.
    pub code: String,
}

/// Ruled room to write into.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Room {
    /// What belongs in it.
    pub label: String,
    /// Lines to write on, at least.
    pub lines: u8,
    /// Whether it takes what the page has left.
    pub grows: bool,
}

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// What it is, in a few words.
    pub name: String,
    /// A self-contained SVG.
    pub svg: String,
    /// The same drawn for a telephone; empty where one drawing does for both.
    pub narrow: String,
    /// What it shows, for who cannot see it.
    pub text: String,
    /// Width over height.
    pub aspect: f32,
    /// Share of the sheet's width it takes, above 0 to 1.
    pub share: f32,
}
