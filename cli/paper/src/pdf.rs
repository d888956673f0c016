//! A document as PDF: the same blocks, laid out in lines, set in a font that travels with them.

use krilla::color::rgb;
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke};
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};
use krilla_svg::{SurfaceExt as _, SvgSettings};

use crate::model::Document;
use crate::picture;
use layout::{Face, Item};

mod layout;
mod measure;

/// Why a PDF cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum PdfError {
    /// The mark does not hold its words.
    #[error(transparent)]
    Mark(#[from] picture::MarkError),
    /// A picture cannot be read.
    #[error("a picture of the document cannot be read: {0}")]
    Picture(#[from] resvg::usvg::Error),
    /// The library gave up.
    #[error("the PDF cannot be written: {0}")]
    Library(String),
}

/// The document as PDF.
///
/// # Errors
/// [`PdfError`].
pub fn pdf(document: &Document) -> Result<Vec<u8>, PdfError> {
    let mark = document.mark.as_deref().map(picture::mark).transpose()?;
    let pages = layout::pages(document, mark.as_deref());
    let (width, height) = layout::points(document.sheet);
    let fonts = Fonts::load()?;
    let mut file = krilla::Document::new();
    file.set_metadata(
        Metadata::new()
            .title(format!("{}: {}", document.kind, document.title))
            .creator("lockring".to_owned())
            .language("en".to_owned()),
    );
    for items in &pages {
        let settings = PageSettings::from_wh(width, height)
            .ok_or_else(|| PdfError::Library(format!("a page of {width} by {height} points is none")))?;
        let mut page = file.start_page_with(settings);
        let mut surface = page.surface();
        for item in items {
            paint(&mut surface, item, &fonts)?;
        }
        surface.finish();
        page.finish();
    }
    file.finish()
        .map_err(|error| PdfError::Library(format!("{error:?}")))
}

struct Fonts {
    plain: Font,
    bold: Font,
}

impl Fonts {
    fn load() -> Result<Self, PdfError> {
        let font = |data: &'static [u8]| {
            Font::new(data.to_vec().into(), 0).ok_or_else(|| {
                PdfError::Library("the font that travels with the program cannot be read".into())
            })
        };
        Ok(Self {
            plain: font(dejavu::sans::regular())?,
            bold: font(dejavu::sans::bold())?,
        })
    }
}

fn paint(surface: &mut Surface<'_>, item: &Item<'_>, fonts: &Fonts) -> Result<(), PdfError> {
    match item {
        Item::Text {
            x,
            y,
            size,
            face,
            text,
        } => {
            surface.set_fill(Some(ink()));
            surface.set_stroke(None);
            let font = match face {
                Face::Plain => &fonts.plain,
                Face::Bold => &fonts.bold,
            };
            let at = Point::from_xy(*x, *y);
            surface.draw_text(at, font.clone(), *size, text, false, TextDirection::Auto);
        }
        Item::Bar { x, y, width, height } => {
            if let Some(path) = rectangle(*x, *y, *width, *height) {
                surface.set_fill(Some(ink()));
                surface.set_stroke(None);
                surface.draw_path(&path);
            }
        }
        Item::Frame { x, y, width, height } => {
            if let Some(path) = rectangle(*x, *y, *width, *height) {
                surface.set_fill(None);
                surface.set_stroke(Some(Stroke {
                    width: 0.8,
                    ..Stroke::default()
                }));
                surface.draw_path(&path);
            }
        }
        Item::Drawing {
            x,
            y,
            width,
            height,
            svg,
        } => {
            let tree = picture::tree(svg)?;
            if let Some(size) = Size::from_wh(*width, *height) {
                surface.push_transform(&Transform::from_translate(*x, *y));
                let drawn = surface.draw_svg(&tree, size, SvgSettings::default());
                surface.pop();
                drawn.ok_or_else(|| PdfError::Library("a picture cannot be drawn".into()))?;
            }
        }
    }
    Ok(())
}

fn rectangle(x: f32, y: f32, width: f32, height: f32) -> Option<krilla::geom::Path> {
    let mut path = PathBuilder::new();
    path.push_rect(Rect::from_xywh(x, y, width, height)?);
    path.finish()
}

fn ink() -> Fill {
    Fill {
        paint: rgb::Color::new(17, 17, 17).into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::default(),
    }
}
