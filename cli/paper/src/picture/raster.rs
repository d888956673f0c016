//! A picture as PNG.

use resvg::{tiny_skia, usvg};

/// Why a picture cannot be made into dots.
#[derive(Debug, thiserror::Error)]
pub enum RasterError {
    /// Not an SVG.
    #[error("the drawing cannot be read: {0}")]
    Drawing(#[from] usvg::Error),
    /// No room for so many dots.
    #[error("a picture of {width} by {height} dots cannot be made; expected 16 to 8000 across")]
    Size {
        /// Across.
        width: u32,
        /// Down.
        height: u32,
    },
    /// The file format gave up.
    #[error("the picture cannot be written: {0}")]
    Png(String),
}

/// Reads an SVG with the fonts that documents use.
pub(crate) fn tree(svg: &str) -> Result<usvg::Tree, usvg::Error> {
    let mut options = usvg::Options::default();
    let fonts = options.fontdb_mut();
    for face in [dejavu::sans::regular(), dejavu::sans::bold()] {
        fonts.load_font_data(face.to_vec());
    }
    fonts.set_sans_serif_family("DejaVu Sans");
    options.font_family = "DejaVu Sans".to_owned();
    usvg::Tree::from_str(svg, &options)
}

/// A picture as PNG, `width` dots across (16 to 8000), on white.
///
/// # Errors
/// [`RasterError`].
pub fn png(svg: &str, width: u32) -> Result<Vec<u8>, RasterError> {
    let tree = tree(svg)?;
    let scale = width as f32 / tree.size().width();
    let height = (tree.size().height() * scale).ceil() as u32;
    let wrong = RasterError::Size { width, height };
    if !(16..=8000).contains(&width) {
        return Err(wrong);
    }
    let mut dots = tiny_skia::Pixmap::new(width, height).ok_or(wrong)?;
    dots.fill(tiny_skia::Color::WHITE);
    resvg::render(
        &tree,
        tiny_skia::Transform::from_scale(scale, scale),
        &mut dots.as_mut(),
    );
    dots.encode_png()
        .map_err(|error| RasterError::Png(error.to_string()))
}
