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
