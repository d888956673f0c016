//! A photo, turned upright and made small enough to travel with a document.

use std::io::Cursor;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageDecoder as _, ImageReader, Limits, RgbImage, Rgba, RgbaImage, imageops};

use super::picture;
use crate::model::Picture;

/// Why a photo cannot be shown.
#[derive(Debug, thiserror::Error)]
#[error("the photo cannot be shown: {0}")]
pub struct PhotoError(#[from] image::ImageError);

/// Dots along the longer side: 10 a millimetre on the width of a sheet, more than print shows.
const LONGEST: u32 = 1200;
/// Share of the sheet that a photo takes.
const SHARE: f32 = 0.6;
/// Of 100; JPEG's own scale.
const QUALITY: u8 = 80;

/// The photo as a drawing, named by its caption. JPEG, PNG and WebP are read; how the camera was held is
/// made good.
///
/// # Errors
/// [`PhotoError`] for a picture of another format, one that is damaged, or one that unpacks beyond the
/// library's bound (512 MiB).
pub fn photo(content: &[u8], caption: String) -> Result<Picture, PhotoError> {
    let reader = ImageReader::new(Cursor::new(content))
        .with_guessed_format()
        .map_err(image::ImageError::IoError)?;
    let mut decoder = reader.into_decoder()?;
    let held = decoder.orientation()?;
    // A few bytes may say that they unpack to more than there is room for.
    Limits::default().reserve(decoder.total_bytes())?;
    let mut shown = DynamicImage::from_decoder(decoder)?;
    if shown.width().max(shown.height()) > LONGEST {
        shown = shown.thumbnail(LONGEST, LONGEST);
    }
    shown.apply_orientation(held);
    let mut packed = Vec::new();
    JpegEncoder::new_with_quality(&mut packed, QUALITY).encode_image(&on_white(&shown))?;
    let (width, height) = (shown.width(), shown.height());
    let data = STANDARD.encode(&packed);
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\">\
         <image width=\"{width}\" height=\"{height}\" href=\"data:image/jpeg;base64,{data}\"/></svg>"
    );
    Ok(Picture {
        share: SHARE,
        ..picture("Photo", [&svg, ""], caption, width as f32 / height as f32)
    })
}

/// What lets light through stands on paper.
fn on_white(shown: &DynamicImage) -> RgbImage {
    let mut paper = RgbaImage::from_pixel(shown.width(), shown.height(), Rgba([255; 4]));
    imageops::overlay(&mut paper, &shown.to_rgba8(), 0, 0);
    DynamicImage::from(paper).into_rgb8()
}

#[cfg(test)]
mod tests {
    use image::{ImageFormat, Rgb, RgbImage};

    use super::*;

    /// Twice as wide as high, its left half white.
    fn packed(format: ImageFormat) -> Vec<u8> {
        let dots = RgbImage::from_fn(
            2000,
            1000,
            |x, _| if x < 1000 { Rgb([255; 3]) } else { Rgb([0; 3]) },
        );
        let mut packed = Cursor::new(Vec::new());
        dots.write_to(&mut packed, format).unwrap();
        packed.into_inner()
    }

    fn unpacked(picture: &Picture) -> RgbImage {
        let data = picture
            .svg
            .split("base64,")
            .nth(1)
            .unwrap()
            .split('"')
            .next()
            .unwrap();
        image::load_from_memory(&STANDARD.decode(data).unwrap())
            .unwrap()
            .to_rgb8()
    }

    #[test]
    fn a_large_photo_is_made_small_and_keeps_its_shape() {
        for format in [ImageFormat::Jpeg, ImageFormat::Png] {
            let shown = photo(&packed(format), "left <dropout>".to_owned()).unwrap();
            assert_eq!((shown.aspect, shown.share), (2.0, SHARE));
            assert!(
                shown.svg.contains("left &lt;dropout&gt;"),
                "{}",
                &shown.svg[..200]
            );
            let dots = unpacked(&shown);
            assert_eq!(dots.dimensions(), (1200, 600));
            assert!(dots.get_pixel(100, 300).0[0] > 250 && dots.get_pixel(1100, 300).0[0] < 5);
        }
    }

    /// EXIF orientation 6 says that the camera was held a quarter turn to the left: row 0 is the right side
    /// (CIPA DC-008, tag 0x0112). The white left half comes to lie on top.
    #[test]
    fn a_photo_taken_on_its_side_stands_upright() {
        let plain = packed(ImageFormat::Jpeg);
        let mut exif = b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0".to_vec();
        let mut turned = vec![0xff, 0xd8, 0xff, 0xe1];
        turned.extend(u16::try_from(exif.len() + 2).unwrap().to_be_bytes());
        turned.append(&mut exif);
        turned.extend(&plain[2..]);
        let shown = photo(&turned, "turned".to_owned()).unwrap();
        assert_eq!(shown.aspect, 0.5);
        let dots = unpacked(&shown);
        assert_eq!(dots.dimensions(), (600, 1200));
        assert!(dots.get_pixel(300, 100).0[0] > 250 && dots.get_pixel(300, 1100).0[0] < 5);
    }

    /// Baseline frame header (ITU-T T.81, B.2.2): two bytes of height, two of width.
    #[test]
    fn a_photo_that_claims_to_be_huge_is_refused_before_room_is_taken() {
        let mut huge = packed(ImageFormat::Jpeg);
        let frame = huge.windows(2).position(|at| at == [0xff, 0xc0]).unwrap();
        huge[frame + 5..frame + 9].copy_from_slice(&[0xea, 0x60, 0xea, 0x60]);
        let told = photo(&huge, String::new()).unwrap_err().to_string();
        assert!(told.contains("imit"), "{told}");
    }

    #[test]
    fn what_lets_light_through_is_white() {
        let clear = RgbaImage::from_pixel(20, 10, Rgba([0, 0, 0, 0]));
        let mut packed = Cursor::new(Vec::new());
        clear.write_to(&mut packed, ImageFormat::Png).unwrap();
        let dots = unpacked(&photo(&packed.into_inner(), String::new()).unwrap());
        assert!(dots.get_pixel(5, 5).0[0] > 250);
    }

    #[test]
    fn what_is_no_picture_or_broken_is_said() {
        let mut broken = packed(ImageFormat::Png);
        broken.truncate(200);
        for content in [&b""[..], b"\xff\xd8\xff\xe0nothing follows", &broken] {
            let told = photo(content, String::new()).unwrap_err().to_string();
            assert!(told.starts_with("the photo cannot be shown: "), "{told}");
        }
    }
}
