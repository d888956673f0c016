//! A document as one page of HTML that needs nothing but itself.

use askama::Template;

use crate::model::{Block, Document, Type};
use crate::picture;

/// Why a page cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum HtmlError {
    /// The template engine gave up.
    #[error("the page cannot be written: {0}")]
    Template(#[from] askama::Error),
    /// The mark does not hold its words.
    #[error(transparent)]
    Mark(#[from] picture::MarkError),
}

#[derive(Template)]
#[template(path = "document.html")]
struct Page<'a> {
    document: &'a Document,
    mark: Option<String>,
    is_large: bool,
}

/// The page as text, UTF-8.
///
/// # Errors
/// [`HtmlError`] when the mark's words are too many.
pub fn page(document: &Document) -> Result<String, HtmlError> {
    let mark = document.mark.as_deref().map(picture::mark).transpose()?;
    let page = Page {
        document,
        mark,
        is_large: document.size == Type::Stand,
    };
    Ok(page.render()?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Column, Sheet, Table};

    #[test]
    fn a_column_of_sentences_keeps_room_beside_one_of_longer_ones() {
        let (wrong, clears) = (
            "the cut-off of the left lever does not answer",
            "lockring measure 2 ".repeat(9),
        );
        let mut table = Table {
            columns: ["job", "what is wrong", "clears when"]
                .map(Column::words)
                .to_vec(),
            rows: vec![vec!["2".into(), wrong.into(), clears.clone()]],
        };
        assert!(table.is_prose(wrong) && table.is_prose(&clears) && !table.is_prose("2"));
        // More of them than a sheet has room for share it as they can.
        table.columns.push(Column::words("why"));
        table.rows[0].push(clears);
        assert!(!table.is_prose(wrong));
    }

    /// A browser gives a column no more than its narrowest cell may be broken down to: only words that no line holds
    /// are broken, and no day.
    #[test]
    fn only_a_word_that_no_line_holds_is_broken_inside() {
        let long = "Bremsleitungsbefestigungsschellensatzverpackung";
        let document = Document {
            kind: "Test".into(),
            title: "of the page".into(),
            mark: None,
            sheet: Sheet::A4,
            size: Type::Hand,
            blocks: vec![Block::Table(Table {
                columns: vec![Column::words("made"), Column::words("by"), Column::words("what")],
                rows: vec![vec!["2026-03-24 12:00".into(), "mechanic".into(), long.into()]],
            })],
            foot: String::new(),
            day: None,
        };
        let page = page(&document).unwrap();
        for (class, cell) in [
            (" class=\"day\"", "2026-03-24 12:00"),
            ("", "mechanic"),
            (" class=\"long\"", long),
        ] {
            assert!(page.contains(&format!("{class}>{cell}</td>")), "{cell}");
        }
        let (_, printed) = page.split_once("@media print").unwrap();
        assert!(!printed.split("</style>").next().unwrap().contains("anywhere"));
    }
}
