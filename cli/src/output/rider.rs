//! What is stored about a rider, and what came of taking it out.

use lockring_proto::v1::{RemoveRiderReply, RiderJob, RiderView};

use crate::command_error::CommandError;
use crate::output::money::amount;
use crate::output::table::{Cell, Table};
use crate::output::{Out, Paint, photo, times};

/// Prints all that is stored about a rider.
pub(crate) fn print(out: &mut Out<'_>, view: &RiderView) -> Result<(), CommandError> {
    out.heading(&format!("What is stored about {}", view.name))?;
    for job in &view.jobs {
        out.blank()?;
        print_job(out, job)?;
    }
    list(
        out,
        "the shop's own history, entry",
        view.shop_lines
            .iter()
            .map(|line| format!("{}: {}", line.seq, line.text)),
    )?;
    list(
        out,
        "another rider's job",
        view.other_lines.iter().map(|line| {
            format!(
                "{0}, entry {1}: {2} (--words {0}:{1})",
                line.job, line.seq, line.text
            )
        }),
    )?;
    for other in &view.others {
        let contact = if other.contact.is_empty() {
            "no contact"
        } else {
            &other.contact
        };
        let words = format!(
            "job {} is under the same name with {contact}: it is not counted",
            other.job
        );
        out.wrapped("", "  ", &words)?;
    }
    out.blank()?;
    list(out, "in the backup", view.backups.iter().cloned())?;
    list(out, "in the file", view.files.iter().cloned())?;
    match view.keep_months {
        0 => out.words_and_command(
            "",
            "no keeping period is set",
            "lockring settings set --why SOURCE keep-riders MONTHS",
        )?,
        months => {
            let why = if view.keep_why.is_empty() {
                String::new()
            } else {
                format!(" ({})", view.keep_why)
            };
            let months = times::count_of(u64::from(months), "month", "months");
            out.wrapped(
                "",
                "  ",
                &format!("riders are kept for {months} after the end{why}"),
            )?;
        }
    }
    for against in &view.against {
        let mark = if against.may_be_overruled {
            ", unless the owner overrules it"
        } else {
            ""
        };
        out.wrapped("! against removing: ", "    ", &format!("{}{mark}", against.why))?;
    }
    cautions(out, &view.cautions)
}

fn print_job(out: &mut Out<'_>, job: &RiderJob) -> Result<(), CommandError> {
    let zone = out.look.zone.clone();
    let over = job
        .over_us
        .map_or_else(String::new, |us| format!(" since {}", times::date(us, &zone)));
    out.heading(&format!("Job {}, {}", job.job, job.rider))?;
    out.wrapped(
        "",
        "  ",
        &format!(
            "taken in on {}, {}{over}",
            times::date(job.opened_us, &zone),
            job.stage
        ),
    )?;
    if !job.contact.is_empty() {
        out.labelled("contact", &job.contact)?;
    }
    if job.owed != 0 {
        out.labelled("owed", &amount(job.owed))?;
    }
    let mut table = Table::new(["entry", "what", "text", "when the rider is removed"]);
    for text in &job.texts {
        let fate = if text.removed {
            Cell::from("was removed")
        } else if text.fixed {
            Cell::painted("stands in the journal itself", Paint::Caution)
        } else if text.goes {
            Cell::from("goes")
        } else if text.names {
            Cell::painted(
                format!("holds the name: --words {}:{}", job.job, text.entry),
                Paint::Caution,
            )
        } else {
            Cell::from("stays")
        };
        table.row([
            Cell::from(text.entry.to_string()),
            Cell::from(text.kind.clone()),
            Cell::from(text.text.clone()),
            fate,
        ]);
    }
    table.print(out)?;
    if !job.photos.is_empty() {
        photo::table(&job.photos, &zone).print(out)?;
    }
    let lines = times::count_of(job.lines.len() as u64, "entry", "entries");
    out.words_and_command(
        "",
        &format!("history of {lines}"),
        &format!("lockring history {}", job.job),
    )
}

fn list(out: &mut Out<'_>, what: &str, items: impl Iterator<Item = String>) -> Result<(), CommandError> {
    for item in items {
        out.wrapped(&format!("{what} "), "    ", &item)?;
    }
    Ok(())
}

fn cautions(out: &mut Out<'_>, cautions: &[String]) -> Result<(), CommandError> {
    out.blank()?;
    for caution in cautions {
        out.wrapped("- ", "  ", caution)?;
    }
    Ok(())
}

/// Prints what a removal came to.
pub(crate) fn print_removed(
    out: &mut Out<'_>,
    reply: &RemoveRiderReply,
    dry_run: bool,
) -> Result<(), CommandError> {
    for said in &reply.said {
        out.wrapped("", "  ", said)?;
    }
    if dry_run {
        out.line("nothing is stored: --dry-run")?;
    } else if reply.cleaned {
        out.wrapped(
            "",
            "  ",
            "the data file was written anew and its log emptied: no byte of what was removed is left there",
        )?;
    } else {
        out.wrapped(
            "! ",
            "  ",
            "the data file may still hold bytes of what was removed: it is cleaned tonight, or when lockringd starts again",
        )?;
    }
    if reply.repeated {
        out.line("this was done before, under the same request id")?;
    }
    list(out, "! holds the name still:", reply.left.iter().cloned())?;
    list(out, "! in the backup", reply.backups.iter().cloned())?;
    if !reply.backups.is_empty() {
        let words = "a backup keeps what it has until it is deleted; restoring one removes the rider again";
        out.wrapped("  ", "  ", words)?;
    }
    list(out, "! in the file", reply.files.iter().cloned())?;
    cautions(out, &reply.cautions)
}
