//! The kinds of documents, each built from the daemon's answers.

use jiff::Timestamp;
use jiff::tz::TimeZone;

mod figures;
mod file;
mod handover;
mod invoice;
mod quote;
mod recall;
mod said;
mod sheet;
mod stand;

pub use file::{File, technical_file};
pub use handover::{Handover, build_sheet, handover};
pub use invoice::{Invoice, invoice};
pub use quote::{Choice, MOST as SIDE_BY_SIDE, Quote, picked, quote};
pub use recall::recall;
pub use said::too_hot;
pub use sheet::report;
pub use stand::{card, ride_sheet};

/// Said at the foot of what leaves the shop.
const NO_RULING: &str = "Compared with one stored set of rules; no ruling on what may be ridden where. Local rules and licensed practice come first.";

/// What a scanner types from the mark of a job's papers: the line that shows the job, in a shell and at the bench prompt.
fn mark(job: u32) -> String {
    format!("lockring show {job}")
}

/// A moment on the clock of `zone`, in a format of `strftime`.
fn told_at(us: i64, zone: &TimeZone, format: &str) -> String {
    Timestamp::from_microsecond(us).map_or_else(
        |_| format!("{us} us after 1970-01-01T00:00Z"),
        |moment| {
            moment
                .to_zoned_datetime(zone.clone())
                .strftime(format)
                .to_string()
        },
    )
}

/// A family of checks or blocks as its heading reads: the word that is typed for one would read as a claim.
pub(crate) fn family(word: &str) -> &str {
    match word {
        "safe" => "safety",
        word => word,
    }
}
