//! All jobs, grouped by whose move it is.

use lockring_proto::v1::{JobLine, RecallDue, SwapDue};

use crate::command_error::CommandError;
use crate::output::table::{Cell, Table};
use crate::output::{Out, Paint, times};

/// Prints the jobs in groups, in the order in which a day's work looks at them.
///
/// `over` says how many others are over, where that is known.
pub(crate) fn print(out: &mut Out<'_>, jobs: &[JobLine], over: u64) -> Result<(), CommandError> {
    if jobs.is_empty() && over > 0 {
        let over = times::count_of(over, "job is", "jobs are");
        return out.words_and_command(
            "",
            &format!("Nothing is under way; {over} over"),
            "lockring jobs --all",
        );
    }
    if jobs.is_empty() {
        out.words_and_command("", "No jobs", "lockring take-in \"Ines H.\"")?;
        return out.words_and_command("", "To see it at work first", "lockring demo");
    }
    let mut groups: Vec<(usize, String)> = jobs.iter().map(group).collect();
    groups.sort();
    groups.dedup();
    for (number, wanted) in groups.iter().enumerate() {
        if number > 0 {
            out.blank()?;
        }
        let members: Vec<&JobLine> = jobs.iter().filter(|job| group(job) == *wanted).collect();
        let count = times::count_of(members.len() as u64, "job", "jobs");
        out.heading(&format!("{} ({count})", wanted.1))?;
        print_group(out, &members)?;
    }
    Ok(())
}

/// Prints the recalls for which riders are to be called.
pub(crate) fn print_recalls(out: &mut Out<'_>, recalls: &[RecallDue]) -> Result<(), CommandError> {
    for due in recalls {
        let riders = times::count_of(due.riders.into(), "rider", "riders");
        out.words_and_command(
            "",
            &format!("Recall {} ({}): {riders} to reach", due.recall, due.name),
            &format!("lockring recall show {}", due.recall),
        )?;
    }
    if recalls.is_empty() { Ok(()) } else { out.blank() }
}

/// Prints what does not hold of parts swapped after handover.
pub(crate) fn print_swaps(out: &mut Out<'_>, swaps: &[SwapDue]) -> Result<(), CommandError> {
    for due in swaps {
        let words = format!("Job {} ({}), handed over: {}", due.job, due.rider, due.what);
        out.words_and_command("", &words, &due.how)?;
    }
    if swaps.is_empty() { Ok(()) } else { out.blank() }
}

/// The group of a job: place in the order, heading.
fn group(job: &JobLine) -> (usize, String) {
    if job.on_hold {
        return (5, "On hold".to_owned());
    }
    match job.whose_move.as_str() {
        "mechanic" => (0, "Mechanic to move".to_owned()),
        "owner" => (1, "Owner to move".to_owned()),
        "supplier" => (2, "Supplier to move".to_owned()),
        "rider" => (3, "Rider to move".to_owned()),
        "nobody" => (6, "Over".to_owned()),
        other => (4, format!("{other} to move")),
    }
}

fn print_group(out: &mut Out<'_>, jobs: &[&JobLine]) -> Result<(), CommandError> {
    let mut table = Table::new(["job", "rider, bicycle", "stage", "promise", "waits for"]);
    for job in jobs {
        let rider = lines([job.rider.clone(), job.bike.clone()]);
        let stage = lines([job.stage.clone(), times::days(job.days_here)]);
        let waits = match job.blocks {
            0 => job.waits_for.clone(),
            blocks => lines([
                job.waits_for.clone(),
                times::count_of(u64::from(blocks), "block", "blocks"),
            ]),
        };
        table.row([
            job.job.to_string().into(),
            rider.into(),
            stage.into(),
            promise(job),
            waits.into(),
        ]);
    }
    table.print(out)
}

fn promise(job: &JobLine) -> Cell<'static> {
    if job.promise.is_empty() {
        return "".into();
    }
    let left = match job.days_left {
        None => String::new(),
        Some(0) => "today".to_owned(),
        Some(left) if left < 0 => format!("{} late", times::working_days(left.unsigned_abs())),
        Some(left) => format!("{} left", times::working_days(left.unsigned_abs())),
    };
    let remark: Vec<String> = [job.promise_kind.clone(), left]
        .into_iter()
        .filter(|word| !word.is_empty())
        .collect();
    let text = lines([times::day(&job.promise), remark.join(", ")]);
    if job.days_left.is_some_and(|left| left < 0) {
        Cell::painted(text, Paint::Bad)
    } else {
        text.into()
    }
}

/// The words that say something, a line each.
fn lines<const N: usize>(words: [String; N]) -> String {
    words
        .into_iter()
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::{plain_text, text};
    use crate::output::wrap;

    fn job(number: u32, whose: &str) -> JobLine {
        JobLine {
            job: number,
            rider: "Ines H.".to_owned(),
            bike: "steel trekking bicycle, green".to_owned(),
            stage: "test-ride".to_owned(),
            days_here: 3,
            whose_move: whose.to_owned(),
            waits_for: "hill speed 9 km/h short of the brief's 12 km/h: another chainring".to_owned(),
            promise: "2026-03-25".to_owned(),
            promise_kind: "hard".to_owned(),
            days_left: Some(-1),
            blocks: 2,
            ..JobLine::default()
        }
    }

    #[test]
    fn jobs_stand_under_whoever_moves_and_fit_80_columns() {
        let held = JobLine {
            on_hold: true,
            ..job(9, "rider")
        };
        let shown = text(80, |out| {
            print(
                out,
                &[
                    job(3, "supplier"),
                    held,
                    job(4, "nobody"),
                    job(21, "mechanic"),
                    job(22, "mechanic"),
                ],
                0,
            )
        });
        let headings: Vec<&str> = shown
            .lines()
            .filter(|line| line.ends_with("job)") || line.ends_with("jobs)"))
            .collect();
        assert_eq!(
            headings,
            [
                "Mechanic to move (2 jobs)",
                "Supplier to move (1 job)",
                "On hold (1 job)",
                "Over (1 job)"
            ]
        );
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
        assert!(
            shown.contains("Wed 25 Mar 2026")
                && shown.contains("hard, 1 working day")
                && shown.contains("2 blocks"),
            "{shown}"
        );
    }

    #[test]
    fn plain_output_is_labelled() {
        let shown = plain_text(|out| print(out, &[job(21, "mechanic")], 0));
        assert!(
            shown.contains("job: 21\nrider, bicycle: Ines H., steel trekking bicycle, green\n"),
            "{shown}"
        );
        assert!(
            shown.contains("promise: Wed 25 Mar 2026, hard, 1 working day late\n"),
            "{shown}"
        );
    }

    #[test]
    fn an_empty_shop_says_how_to_begin() {
        assert_eq!(
            text(80, |out| print(out, &[], 0)),
            "No jobs — lockring take-in \"Ines H.\"\nTo see it at work first — lockring demo\n"
        );
        assert_eq!(
            text(80, |out| print(out, &[], 2)),
            "Nothing is under way; 2 jobs are over — lockring jobs --all\n"
        );
    }
}
