//! Photos of a job: what may be kept as one, and what the journal says of it.
//!
//! The entry holds caption, kind, size and SHA-256; the picture itself lies beside the data
//! file under its hash, because a telephone's picture is a hundred times the size of an entry.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize};
use sha2::{Digest, Sha256};

use crate::refusal::{Reason, Refusal};

/// Largest picture kept, bytes.
pub const MOST_BYTES: usize = 16 * 1024 * 1024;

/// Longest caption, characters: a line of a page.
const MOST_CAPTION: usize = 200;

/// The kinds of picture that are kept, told by how a file begins and not by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Format {
    /// JPEG: begins with a start of image and another marker (ITU-T T.81, annex B).
    Jpeg,
    /// PNG: begins with its signature (W3C PNG, third edition, 5.2).
    Png,
    /// WebP: a RIFF file of that form (RFC 9649, 2.5).
    Webp,
    /// HEIC: a file of boxes whose brand is one of high-efficiency pictures (ISO/IEC 23008-12,
    /// 10.2); kept as it is, never opened.
    Heic,
}

impl Format {
    /// All.
    pub const ALL: [Self; 4] = [Self::Jpeg, Self::Png, Self::Webp, Self::Heic];

    /// The word people see.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Jpeg => "JPEG",
            Self::Png => "PNG",
            Self::Webp => "WebP",
            Self::Heic => "HEIC",
        }
    }

    /// How the name of such a file ends.
    pub const fn extension(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
            Self::Webp => "webp",
            Self::Heic => "heic",
        }
    }

    /// The kind of a file by how it begins.
    pub fn of(content: &[u8]) -> Option<Self> {
        let brand = |at: usize| content.get(at..at + 4);
        if content.starts_with(&[0xff, 0xd8, 0xff]) {
            Some(Self::Jpeg)
        } else if content.starts_with(b"\x89PNG\r\n\x1a\n") {
            Some(Self::Png)
        } else if content.starts_with(b"RIFF") && brand(8) == Some(b"WEBP") {
            Some(Self::Webp)
        } else if brand(4) == Some(b"ftyp")
            && [b"heic", b"heix", b"heim", b"heis", b"mif1"]
                .iter()
                .any(|known| brand(8) == Some(known.as_slice()))
        {
            Some(Self::Heic)
        } else {
            None
        }
    }
}

/// What an entry says of a photo.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Photo {
    /// Number within the job, from 1.
    pub number: u32,
    /// What it shows.
    pub caption: String,
    /// Name of the file it came from.
    pub file: String,
    /// Kind of picture.
    pub format: Format,
    /// Its length.
    pub bytes: u64,
    /// SHA-256 of the file, in 64 lower-case hexadecimal digits: the file's name is made of it.
    #[serde(deserialize_with = "digits_of_a_hash")]
    pub sha256: String,
    /// The check it is evidence for; empty for none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub check: String,
}

/// Reads a hash, and nothing else that a path could be made of.
fn digits_of_a_hash<'de, D: Deserializer<'de>>(from: D) -> Result<String, D::Error> {
    let text = String::deserialize(from)?;
    let is_digit = |digit: u8| matches!(digit, b'0'..=b'9' | b'a'..=b'f');
    if text.len() == 64 && text.bytes().all(is_digit) {
        return Ok(text);
    }
    Err(D::Error::custom(format!(
        "the photo's sha256 is `{text}`; expected 64 lower-case hexadecimal digits"
    )))
}

impl Photo {
    /// Name of the file beside the data file.
    pub fn kept_as(&self) -> String {
        format!("{}.{}", self.sha256, self.format.extension())
    }

    /// The photo in one line.
    pub fn line(&self) -> String {
        let check = if self.check.is_empty() {
            String::new()
        } else {
            format!(", for {}", self.check)
        };
        format!(
            "photo {}: {} ({}, {}, {}){check}",
            self.number,
            self.caption,
            self.file,
            self.format.word(),
            size(self.bytes)
        )
    }
}

/// A photo of a job as it stands there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// The entry it was kept with.
    pub seq: u64,
    /// When it was kept.
    pub at: Timestamp,
    /// By whom.
    pub by: String,
    /// The photo.
    pub photo: Photo,
    /// The day its picture was removed with the rider.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub removed: Option<Date>,
}

/// A picture as it was sent, looked at as far as can be done without the job.
#[derive(Clone, PartialEq, Eq)]
pub struct Picture {
    /// Name of the file.
    pub name: String,
    /// Kind of picture.
    pub format: Format,
    /// SHA-256, in hexadecimal.
    pub sha256: String,
    /// Its length.
    pub bytes: u64,
}

/// Shown by its hash: what tells one request from another.
impl std::fmt::Debug for Picture {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "Picture({} {} {})", self.name, self.sha256, self.bytes)
    }
}

impl Picture {
    /// Looks at a file.
    ///
    /// # Errors
    /// A refusal when it is too large or no picture of a kind that is kept.
    pub fn of(name: &str, content: &[u8]) -> Result<Self, Refusal> {
        let refuse = |problem: String| {
            Refusal::new(Reason::BadInput, format!("{name}: {problem}"))
                .with("file", name)
                .hint("for example `lockring photo 21 dropout cracked left.jpg`")
        };
        if content.len() > MOST_BYTES {
            return Err(refuse(format!(
                "{} bytes are more than {}; expected a picture of {MOST_BYTES} bytes at most",
                content.len(),
                size(MOST_BYTES as u64)
            )));
        }
        let format = Format::of(content).ok_or_else(|| {
            let all: Vec<&str> = Format::ALL.iter().map(|format| format.word()).collect();
            refuse(format!(
                "it does not begin as a picture does; expected {}",
                all.join(", ")
            ))
        })?;
        Ok(Self {
            name: name.to_owned(),
            format,
            sha256: sha256(content),
            bytes: content.len() as u64,
        })
    }
}

/// The hash a picture is kept under.
pub fn sha256(content: &[u8]) -> String {
    use std::fmt::Write as _;
    Sha256::digest(content)
        .iter()
        .fold(String::with_capacity(64), |mut text, byte| {
            write!(text, "{byte:02x}").expect("a String takes everything");
            text
        })
}

/// A caption as it is kept: one line.
///
/// # Errors
/// A refusal when it is empty or longer than a line.
pub(crate) fn caption(text: &str) -> Result<String, Refusal> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let count = text.chars().count();
    if (1..=MOST_CAPTION).contains(&count) {
        return Ok(text);
    }
    Err(Refusal::new(
        Reason::BadInput,
        format!("the caption has {count} characters; expected 1 to {MOST_CAPTION}, for example `dropout cracked on the left`"),
    )
    .with("field", "caption"))
}

/// A number of bytes for people.
fn size(bytes: u64) -> String {
    if bytes < 1_000_000 {
        format!("{:.0} kB", (bytes as f64 / 1e3).max(1.0))
    } else {
        format!("{:.1} MB", bytes as f64 / 1e6)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_is_told_by_how_it_begins() {
        // The signatures as the standards named beside each kind print them.
        let cases: [(&[u8], Option<Format>); 8] = [
            (b"\xff\xd8\xff\xe0\0\x10JFIF\0", Some(Format::Jpeg)),
            (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", Some(Format::Png)),
            (b"RIFF\x10\0\0\0WEBPVP8 ", Some(Format::Webp)),
            (b"\0\0\0\x18ftypheic\0\0\0\0", Some(Format::Heic)),
            (b"RIFF\x10\0\0\0WAVEfmt ", None),
            (b"\0\0\0\x18ftypisom\0\0\0\0", None),
            (b"<svg xmlns=", None),
            (b"", None),
        ];
        for (content, format) in cases {
            assert_eq!(Format::of(content), format, "{content:?}");
        }
    }

    #[test]
    fn the_hash_is_the_standards() {
        // FIPS 180-2, appendix B.1: the message "abc".
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(sha256(b"abc"), expected);
    }

    #[test]
    fn what_is_no_picture_or_too_large_is_refused_with_what_is_kept() {
        let refusal = Picture::of("notes.txt", b"hello").unwrap_err();
        assert!(
            refusal.message.contains("expected JPEG, PNG, WebP, HEIC"),
            "{}",
            refusal.message
        );
        let mut large = b"\xff\xd8\xff".to_vec();
        large.resize(MOST_BYTES, 0);
        assert_eq!(Picture::of("a.jpg", &large).unwrap().bytes, MOST_BYTES as u64);
        large.push(0);
        let refusal = Picture::of("a.jpg", &large).unwrap_err();
        assert!(refusal.message.contains("16777217 bytes"), "{}", refusal.message);
    }

    #[test]
    fn a_caption_is_one_line() {
        assert_eq!(caption(" dropout \n left ").unwrap(), "dropout left");
        assert!(caption("  ").is_err());
        assert!(caption(&"x".repeat(201)).is_err());
    }
}
