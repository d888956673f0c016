//! A document as PDF: the same blocks, laid out in lines, set in a font that travels with them, and tagged for who
//! is read to. It is marked as PDF/A-2a (ISO 19005-2:2011) and PDF/UA-1 (ISO 14289-1:2014) where the library finds
//! nothing against it.

use jiff::civil::Date;
use krilla::SerializeSettings;
use krilla::color::rgb;
use krilla::configure::{Accessibility, Archival, Configuration, ConfigurationBuilder};
use krilla::error::KrillaError;
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::metadata::{DateTime, Metadata};
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Identifier, SpanTag};
use krilla::text::{Font, TextDirection};
use krilla_svg::{SurfaceExt as _, SvgSettings};

use crate::model::{Document, clean};
use crate::picture;
use layout::{Item, Laid, Put};
use measure::{Face, Measure};

mod columns;
mod layout;
mod measure;
mod tags;

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
    let broken = |error: &dyn std::fmt::Debug| PdfError::Library(format!("{error:?}"));
    let strict = ConfigurationBuilder::new()
        .with_archival_validator(Archival::A2_A)
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|error| broken(&error))?;
    match written(document, strict)? {
        Ok(file) => Ok(file),
        // What a standard does not take is printed all the same, and not marked as conforming.
        Err(KrillaError::Validation(_)) => {
            written(document, Configuration::default())?.map_err(|error| broken(&error))
        }
        Err(error) => Err(broken(&error)),
    }
}

fn written(
    document: &Document,
    configuration: Configuration,
) -> Result<Result<Vec<u8>, KrillaError>, PdfError> {
    let mark = document.mark.as_deref().map(picture::mark).transpose()?;
    let Laid { pages, tree } = layout::pages(document, mark.as_deref());
    let (width, height) = layout::points(document.sheet);
    let fonts = Fonts::load()?;
    let mut file = krilla::Document::new_with(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    });
    file.set_metadata(metadata(document));
    let mut drawn: Vec<Vec<Identifier>> = (0..tree.len()).map(|_| Vec::new()).collect();
    for items in &pages {
        let settings = PageSettings::from_wh(width, height)
            .ok_or_else(|| PdfError::Library(format!("a page of {width} by {height} points is none")))?;
        let mut page = file.start_page_with(settings);
        let mut surface = page.surface();
        for Put { of, item } in items {
            let plain = match item {
                Item::Text { text, face, .. } => fonts.measure.known(text, *face),
                _ => String::new(),
            };
            let identifier = surface.start_tagged(tag(*of, item, &plain));
            paint(&mut surface, item, &plain, &fonts)?;
            surface.end_tagged();
            if let Some(piece) = of {
                drawn[*piece].push(identifier);
            }
        }
        surface.finish();
        page.finish();
    }
    file.set_tag_tree(tree.tags(&mut drawn));
    file.set_outline(tree.outline());
    Ok(file.finish())
}

fn metadata(document: &Document) -> Metadata {
    let title = format!("{}: {}", clean(&document.kind), clean(&document.title));
    let metadata = Metadata::new()
        .title(title)
        .creator("lockring".to_owned())
        .language("en".to_owned());
    match document.day {
        Some(day) => metadata.creation_date(midnight(day)),
        None => metadata,
    }
}

fn midnight(day: Date) -> DateTime {
    let part = |number: i8| number.unsigned_abs();
    DateTime::new(day.year().unsigned_abs())
        .month(part(day.month()))
        .day(part(day.day()))
}

/// What an item is in the file: a part of its piece, or what only decorates. Where the font lacks a sign the words
/// themselves are kept for who is read to.
fn tag<'a>(of: Option<usize>, item: &'a Item<'_>, plain: &str) -> ContentTag<'a> {
    match (of, item) {
        (None, _) => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Other)),
        (Some(_), Item::Text { text, .. }) => {
            let actual = Some(text.as_str()).filter(|text| *text != plain);
            ContentTag::Span(SpanTag::empty().with_actual_text(actual))
        }
        (Some(_), _) => ContentTag::Other,
    }
}

struct Fonts {
    plain: Font,
    bold: Font,
    measure: Measure,
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
            measure: Measure::new(),
        })
    }
}

fn paint(surface: &mut Surface<'_>, item: &Item<'_>, plain: &str, fonts: &Fonts) -> Result<(), PdfError> {
    match item {
        Item::Text { x, y, size, face, .. } => {
            surface.set_fill(Some(ink()));
            surface.set_stroke(None);
            let font = match face {
                Face::Plain => &fonts.plain,
                Face::Bold => &fonts.bold,
            };
            let at = Point::from_xy(*x, *y);
            surface.draw_text(at, font.clone(), *size, plain, false, TextDirection::Auto);
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
