//! A document before it has a shape: blocks in reading order.

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
}

/// A piece of a document.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// A paragraph that warns; marked by a word and a bar, not by colour alone.
    Caution(String),
    /// Names and values.
    Pairs(Vec<(String, String)>),
    /// Rows and columns.
    Table(Table),
    /// Boxes to write into.
    Boxes(Vec<Box>),
    /// A drawing.
    Picture(Picture),
    /// Lines to sign on, each with who signs.
    Signatures(Vec<String>),
    /// What follows begins a page.
    NewPage,
}

/// Rows and columns.
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
    /// Share of the width, beside the others'.
    pub share: f32,
    /// Numbers stand at the right.
    pub right: bool,
}

impl Column {
    /// A column of words.
    pub fn words(head: &str, share: f32) -> Self {
        Self {
            head: head.to_owned(),
            share,
            right: false,
        }
    }

    /// A column of numbers.
    pub fn numbers(head: &str, share: f32) -> Self {
        Self {
            right: true,
            ..Self::words(head, share)
        }
    }
}

/// A box to write into.
#[derive(Debug, Clone, PartialEq)]
pub struct Box {
    /// What belongs in it.
    pub label: String,
    /// What is allowed or expected; empty for nothing.
    pub beside: String,
    /// What is already known; empty for room to write.
    pub value: String,
}

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// A self-contained SVG.
    pub svg: String,
    /// What it shows, for who cannot see it.
    pub text: String,
    /// Width over height.
    pub aspect: f32,
    /// Share of the sheet's width it takes, above 0 to 1.
    pub share: f32,
}

/// Text as it may stand on paper: control characters and those that turn the reading direction
/// of what follows become blanks (Unicode Standard Annex 9, explicit formatting characters), so
/// that a name cannot disturb its neighbours.
pub fn clean(text: &str) -> String {
    let turns = |sign: char| matches!(sign, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}');
    text.chars()
        .map(|sign| {
            if sign.is_control() || turns(sign) {
                ' '
            } else {
                sign
            }
        })
        .collect()
}

impl Table {
    /// Whether a column, from 0, holds numbers.
    pub fn is_right(&self, column: &usize) -> bool {
        self.columns.get(*column).is_some_and(|column| column.right)
    }
}
