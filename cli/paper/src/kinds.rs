//! The kinds of documents, each built from the daemon's answers.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use lockring_proto::v1::{CompanionsReply, Figure};

use crate::model::Block;

mod file;
mod handover;
mod quote;
mod recall;
mod sheet;
mod stand;

pub use file::{File, technical_file};
pub use handover::{Handover, build_sheet, handover};
pub use quote::{MOST as SIDE_BY_SIDE, picked, quote};
pub use recall::recall;
pub use sheet::report;
pub use stand::{card, ride_sheet};

/// Said at the foot of what leaves the shop.
const NO_RULING: &str = "Compared with one stored set of rules; no ruling on what may be ridden where. Local rules and licensed practice come first.";

/// A figure with its unit, in at most two decimals.
fn figure(figure: &Figure) -> String {
    let value = number(figure.value);
    match figure.unit.as_str() {
        "" => value,
        unit => format!("{value} {unit}"),
    }
}

/// A number with at most two decimals, without trailing noughts.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
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

/// Money in minor units.
fn money(minor: i64) -> String {
    let sign = if minor < 0 { "-" } else { "" };
    format!(
        "{sign}{}.{:02}",
        minor.unsigned_abs() / 100,
        minor.unsigned_abs() % 100
    )
}

/// The cautions, those that stop the work first.
fn cautions(companions: &CompanionsReply) -> Vec<Block> {
    let mut sorted: Vec<_> = companions.cautions.iter().collect();
    let rank = |severity: &str| ["stop", "warn", "info"].iter().position(|word| *word == severity);
    sorted.sort_by_key(|caution| rank(&caution.severity));
    sorted
        .into_iter()
        .map(|caution| {
            let memory = if caution.from_memory { ", from memory" } else { "" };
            let word = match caution.severity.as_str() {
                "stop" => "Important",
                "warn" => "Take care",
                _ => "Good to know",
            };
            let applies = match caution.applies_when.as_str() {
                "" | "always" => String::new(),
                when => format!(", if: {when}"),
            };
            Block::Caution(format!(
                "{word}{applies}. {} ({}{memory})",
                caution.text, caution.source
            ))
        })
        .collect()
}
