//! The photos of a job.

use jiff::tz::TimeZone;
use lockring_proto::v1::{ListPhotosReply, PhotoView};

use crate::command_error::CommandError;
use crate::output::table::{Cell, Table};
use crate::output::{Out, times};

/// Prints the photos of a job.
pub(crate) fn print(out: &mut Out<'_>, reply: &ListPhotosReply) -> Result<(), CommandError> {
    out.heading(&format!("Job {}, {}: photos", reply.job, reply.rider))?;
    if reply.photos.is_empty() {
        let words = "none; keep one with";
        return out.words_and_command("", words, &format!("lockring photo {} CAPTION FILE", reply.job));
    }
    let zone = out.look.zone.clone();
    table(&reply.photos, &zone).print(out)
}

/// Photos, a row each.
pub(crate) fn table(photos: &[PhotoView], zone: &TimeZone) -> Table<'static> {
    let mut table = Table::new(["photo", "what it shows", "for", "kind", "size", "kept", "by"]);
    for photo in photos {
        table.row([
            Cell::from(photo.number.to_string()),
            Cell::from(photo.caption.clone()),
            Cell::from(photo.check.clone()),
            Cell::from(photo.format.clone()),
            Cell::from(if photo.removed_on.is_empty() {
                size(photo.bytes)
            } else {
                format!("removed on {}", photo.removed_on)
            }),
            Cell::from(times::moment(photo.at_us, zone)),
            Cell::from(photo.by.clone()),
        ]);
    }
    table
}

/// Says how many photos came along with a copy of the shop, and which did not.
pub(crate) fn print_brought(out: &mut Out<'_>, photos: u64, problems: &[String]) -> Result<(), CommandError> {
    if photos > 0 {
        out.line(format_args!(
            "with {}",
            times::count_of(photos, "photo", "photos")
        ))?;
    }
    for problem in problems {
        out.wrapped("without: ", "    ", problem)?;
    }
    Ok(())
}

/// A number of bytes for people.
fn size(bytes: u64) -> String {
    if bytes < 1_000_000 {
        format!("{:.0} kB", (bytes as f64 / 1e3).max(1.0))
    } else {
        format!("{:.1} MB", bytes as f64 / 1e6)
    }
}
