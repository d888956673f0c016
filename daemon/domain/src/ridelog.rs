//! A ride as the bicycle's computer wrote it, read from a file's bytes.
//!
//! FIT, TCX, GPX and CSV all end in one [`Log`]. Files come off devices that were switched off in
//! mid-write and cards that lost sectors: whatever can be rescued is given, and every repair is
//! said. Nothing in a file can make the reader fail other than by a [`LogError`].

mod columns;
pub mod course;
mod crc;
mod csv;
mod definition;
mod fit;
mod gather;
mod kept;
pub mod packed;
pub mod study;
pub mod way;
mod xml;

use std::fmt;

use lockring_calc::quantity::{AngularSpeed, Duration, Length, Power, Speed};
use lockring_calc::trace::Place;
use thiserror::Error;

use crate::markup;

pub use columns::{Column, Named};
pub(crate) use fit::is_fit;
pub use kept::{Kept, Logged};

/// Largest file read, in bytes: a day of riding at 1 Hz takes about 40 MB in the wordiest format.
pub const MOST_BYTES: usize = 64 * 1024 * 1024;

/// Most samples kept: more than five days at 1 Hz.
pub const MOST_SAMPLES: usize = 500_000;

/// The formats read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// The binary format of most bicycle computers.
    Fit,
    /// Training Center XML.
    Tcx,
    /// GPS exchange format; gives time, height and power, and speed only where it is written.
    Gpx,
    /// A table with a line of column names.
    Csv,
}

/// One line of a log. What the file does not say is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sample {
    /// Time since the first sample; rises from sample to sample.
    pub time: Duration,
    /// Ground speed.
    pub speed: Option<Speed>,
    /// Power a meter reports: the rider's, or all, as the meter sits.
    pub power: Option<Power>,
    /// Power the motor reports.
    pub motor_power: Option<Power>,
    /// Cadence of the cranks.
    pub cadence: Option<AngularSpeed>,
    /// Height above sea level.
    pub altitude: Option<Length>,
    /// Distance since the start.
    pub distance: Option<Length>,
    /// Charge of the battery, 0 to 1.
    pub battery: Option<f64>,
    /// Where it was taken, with the height if there is one.
    pub place: Option<Place>,
}

/// A ride.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// What the file was.
    pub format: Format,
    /// When the first sample was taken, seconds since 1970-01-01 UTC, where the file says so.
    pub began: Option<f64>,
    /// The samples, time rising.
    pub samples: Vec<Sample>,
    /// What was mended or left out, in the order found.
    pub repairs: Vec<Repair>,
}

/// Something mended or left out while reading.
#[derive(Debug, Clone, PartialEq)]
pub enum Repair {
    /// The file ends before it says it should.
    Truncated {
        /// Bytes there are.
        bytes: usize,
        /// Bytes announced; `None` where the format does not say.
        announced: Option<usize>,
    },
    /// The recording was never closed: its length is written as nothing.
    NeverClosed,
    /// The check sum over the file does not match: some figures may be wrong unnoticed.
    Checksum,
    /// Bytes that made no sense were skipped.
    Skipped {
        /// Where, in bytes from the start.
        at: usize,
        /// How many.
        bytes: usize,
    },
    /// Messages under a number that is none of samples, with just the fields of the samples before
    /// them, were read as samples.
    Misnumbered {
        /// Where they were defined, in bytes from the start.
        at: usize,
    },
    /// Reading stopped at markup that cannot be read.
    Broken {
        /// Where, in bytes from the start.
        at: usize,
    },
    /// Samples without a time, or at a time not after the one before, were left out.
    Times {
        /// How many.
        samples: usize,
    },
    /// Figures that cannot be were left out.
    Figures {
        /// Of what.
        column: Column,
        /// How many.
        count: usize,
    },
    /// A column was not read.
    Unread {
        /// Its name in the file.
        name: String,
        /// Whether another column gave the same figure.
        twice: bool,
    },
    /// More samples than are kept.
    Cut,
}

impl Format {
    /// What people call it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fit => "FIT",
            Self::Tcx => "TCX",
            Self::Gpx => "GPX",
            Self::Csv => "CSV",
        }
    }
}

impl fmt::Display for Repair {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Truncated {
                bytes,
                announced: Some(announced),
            } => write!(f, "the file ends after {bytes} bytes and should have {announced}"),
            Self::Truncated { bytes, .. } => write!(f, "the file ends unfinished after {bytes} bytes"),
            Self::NeverClosed => f.write_str("the recording was never closed by the device"),
            Self::Checksum => f.write_str("the check sum does not match: figures may be wrong unnoticed"),
            Self::Skipped { at, bytes } => {
                write!(f, "{bytes} bytes at byte {at} made no sense and were skipped")
            }
            Self::Misnumbered { at } => write!(
                f,
                "from byte {at} samples stand under a wrong number; they were read by their fields"
            ),
            Self::Broken { at } => write!(f, "reading stopped at byte {at}: what follows is no markup"),
            Self::Times { samples } => {
                write!(
                    f,
                    "{samples} samples without a time after the one before were left out"
                )
            }
            Self::Figures { column, count } => {
                let (low, high, unit) = column.window();
                write!(
                    f,
                    "{count} figures of {} were no numbers from {low} to {high}{unit} and were left out",
                    column.word()
                )
            }
            Self::Unread { name, twice: false } => write!(f, "column `{name}` is not known and was not read"),
            Self::Unread { name, .. } => write!(
                f,
                "column `{name}` says what another column said and was not read"
            ),
            Self::Cut => write!(f, "only the first {MOST_SAMPLES} samples were kept"),
        }
    }
}

/// Why a file gives no ride.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LogError {
    /// Nothing in it.
    #[error("the file is empty")]
    Empty,
    /// Larger than [`MOST_BYTES`].
    #[error("the file has {bytes} bytes; at most {MOST_BYTES} are read")]
    TooLarge {
        /// Its size.
        bytes: usize,
    },
    /// Something that is no ride by its first bytes.
    #[error("the file is {kind}")]
    OtherKind {
        /// What it is.
        kind: &'static str,
    },
    /// Markup that declares a document type.
    #[error("the file declares a document type, which may hide entities; expected plain TCX or GPX")]
    DocumentType,
    /// Markup in another encoding than UTF-8.
    #[error("the file's encoding is {name}; expected UTF-8")]
    Encoding {
        /// The encoding, cut short.
        name: String,
    },
    /// Markup of some other kind.
    #[error("the file is markup, but neither TCX nor GPX: it begins with <{root}>")]
    OtherMarkup {
        /// Its outermost element, cut short; empty when there is none.
        root: String,
    },
    /// Columns were named for a file that is no table.
    #[error("the file is no table of columns; expected one where columns are named")]
    NoTable,
    /// A table without a column of times.
    #[error(
        "the table has no column of times; expected one named like {}; found {found}",
        columns::TIME_NAMES
    )]
    NoTimes {
        /// The names it has, cut short.
        found: String,
    },
    /// Not one sample could be read.
    #[error("the file holds no sample that can be read{}", tried(repairs))]
    NoSamples {
        /// What was tried.
        repairs: Vec<String>,
    },
}

/// What was tried before a file was given up, in words.
fn tried(repairs: &[String]) -> String {
    if repairs.is_empty() {
        String::new()
    } else {
        format!(": {}", repairs.join("; "))
    }
}

/// Reads a ride from a file's bytes; the format is told from the content.
///
/// # Errors
/// [`LogError`] when there is nothing to be had; a damaged file that still holds samples gives a
/// [`Log`] that says in [`Log::repairs`] what was done.
pub fn read(bytes: &[u8]) -> Result<Log, LogError> {
    read_named(bytes, &Named::default())
}

/// The same, with columns of a table named by hand.
///
/// # Errors
/// As [`read`]; [`LogError::NoTable`] when columns are named and the file is no table.
pub fn read_named(bytes: &[u8], named: &Named) -> Result<Log, LogError> {
    if bytes.len() > MOST_BYTES {
        return Err(LogError::TooLarge { bytes: bytes.len() });
    }
    let text = bytes
        .strip_prefix(b"\xef\xbb\xbf")
        .unwrap_or(bytes)
        .trim_ascii_start();
    if text.is_empty() {
        return Err(LogError::Empty);
    }
    if let Some(kind) = markup::other_kind(bytes) {
        return Err(LogError::OtherKind { kind });
    }
    let is_markup = text.starts_with(b"<");
    if !is_fit(bytes) && !is_markup {
        return csv::read(text, named);
    }
    if !named.is_empty() {
        return Err(LogError::NoTable);
    }
    if is_markup {
        xml::read(text)
    } else {
        fit::read(bytes)
    }
}

#[cfg(test)]
mod tests;
