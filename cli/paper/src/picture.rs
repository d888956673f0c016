//! Pictures as self-contained SVG: drawings to scale and plots with axes and units, all in black
//! and grey, told apart by dashes and labels.

use qrcode::render::svg;
use qrcode::{EcLevel, QrCode};

use crate::model::Picture;

mod chainline;
mod labels;
mod photo;
mod plot;
mod raster;
mod rows;
mod view;

pub use chainline::chainline;
pub use photo::{PhotoError, photo};
pub use plot::{hills, profile};
pub(crate) use raster::tree;
pub use raster::{RasterError, png};
pub use rows::{blocked, builds, chances, compared, errors, errors_by_kind, runs, stops};

/// A mark that holds more than a scanner reads off paper.
#[derive(Debug, thiserror::Error)]
#[error("`{words}` is too long for a mark: {source}")]
pub struct MarkError {
    words: String,
    source: qrcode::types::QrError,
}

/// Side of a mark's smallest square in units of the drawing.
const MODULE: u32 = 4;

/// The mark (QR code, ISO/IEC 18004) that holds these words, readable with 15 % of it dirty.
///
/// # Errors
/// [`MarkError`] when there are too many words.
pub fn mark(words: &str) -> Result<String, MarkError> {
    let code = QrCode::with_error_correction_level(words, EcLevel::M).map_err(|source| MarkError {
        words: words.to_owned(),
        source,
    })?;
    let drawn = code
        .render::<svg::Color<'_>>()
        .module_dimensions(MODULE, MODULE)
        .build();
    Ok(inline(&drawn).replacen("<svg", "<svg role=\"img\" aria-label=\"job number to scan\"", 1))
}

/// A drawing without the head that an SVG file has and a page must not.
fn inline(svg: &str) -> String {
    svg.find("<svg")
        .map_or_else(String::new, |at| svg[at..].to_owned())
}

/// A picture, named and told for those who cannot see it; drawn a second time for narrow pages where one drawing
/// does not do for both.
fn picture(name: &str, [wide, narrow]: [&str; 2], text: String, aspect: f32) -> Picture {
    Picture {
        name: name.to_owned(),
        svg: told(wide, name, &text),
        narrow: told(narrow, name, &text),
        text,
        aspect,
        share: 1.0,
    }
}

/// A drawing with its name and what it shows; nothing for none.
fn told(svg: &str, name: &str, text: &str) -> String {
    let svg = inline(svg);
    let Some((head, rest)) = svg.split_once('>') else {
        return String::new();
    };
    let (name, text) = (escaped(name), escaped(text));
    let head = head.replacen("<svg", &format!("<svg role=\"img\" aria-label=\"{name}\""), 1);
    format!("{head}><title>{name}</title><desc>{text}</desc>{rest}")
}

/// Text inside SVG.
fn escaped(text: &str) -> String {
    crate::model::clean(text)
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}
