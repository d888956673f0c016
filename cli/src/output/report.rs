//! The report of an evening: which builds are blocked, why, whose move it is.

use lockring_proto::v1::{BlockedLine, BlockedReport, Count, Sheet};

use crate::command_error::CommandError;
use crate::output::reply::chase_words;
use crate::output::sheet::section;
use crate::output::{Out, Paint, times};

/// Prints the report of blocked builds.
pub(crate) fn print(out: &mut Out<'_>, report: &BlockedReport) -> Result<(), CommandError> {
    out.heading(&format!("Blocked builds on {}", times::day(&report.day)))?;
    if report.lines.is_empty() {
        return out.line("Nothing is blocked.");
    }
    let builds = times::count_of(u64::from(report.builds), "build", "builds");
    let blocks = times::count_of(u64::from(report.blocks), "block", "blocks");
    let oldest = times::count_of(u64::from(report.oldest_days), "working day", "working days");
    out.line(format_args!("{builds}, {blocks}, the oldest {oldest} old."))?;
    let mut before = None;
    for line in &report.lines {
        if before != Some(line.job) {
            print_job(out, line)?;
        }
        before = Some(line.job);
        print_block(out, line)?;
    }
    out.blank()?;
    print_counts(out, "by family", &report.by_family)?;
    print_counts(out, "by age in working days", &report.by_age)?;
    if !report.calls.is_empty() {
        out.blank()?;
        out.heading("To ask on the next working day")?;
        report
            .calls
            .iter()
            .try_for_each(|call| out.wrapped("  ", "      ", call))?;
    }
    Ok(())
}

/// The report as sections, for CSV: every block with its build, the counts, the calls.
pub(crate) fn as_sheet(report: &BlockedReport) -> Sheet {
    let lines = report.lines.iter().map(|line| {
        let block = line.block.clone().unwrap_or_default();
        [
            line.job.to_string(),
            line.rider.clone(),
            line.bike.clone(),
            block.number.to_string(),
            block.family,
            block.check,
            block.about,
            block.age_days.to_string(),
            block.whose_move,
            block.chase,
            line.overdue.to_string(),
            block.clears_when,
            line.promise.clone(),
            line.promise_kind.clone(),
            line.effect.clone(),
        ]
    });
    let columns = [
        "job",
        "rider",
        "bike",
        "block",
        "family",
        "check",
        "about",
        "age_days",
        "whose_move",
        "chase",
        "overdue",
        "clears_when",
        "promise",
        "promise_kind",
        "effect",
    ];
    let counts = |counts: &[Count]| {
        let rows = counts
            .iter()
            .map(|count| [count.name.clone(), count.count.to_string()]);
        rows.collect()
    };
    let calls = report.calls.iter().map(|call| [call.clone()]);
    Sheet {
        from: report.day.clone(),
        to: report.day.clone(),
        sections: vec![
            section("blocked", columns, lines.collect()),
            section("by_family", ["name", "count"], counts(&report.by_family)),
            section("by_age", ["name", "count"], counts(&report.by_age)),
            section("calls", ["call"], calls.collect()),
        ],
        ..Sheet::default()
    }
}

fn print_job(out: &mut Out<'_>, line: &BlockedLine) -> Result<(), CommandError> {
    out.blank()?;
    let bike = if line.bike.is_empty() {
        String::new()
    } else {
        format!(", {}", line.bike)
    };
    let heading = format!("Job {}, {}{bike}", line.job, line.rider);
    out.heading(&heading)?;
    if line.promise.is_empty() && line.effect.is_empty() {
        return Ok(());
    }
    let promise = if line.promise.is_empty() {
        "nobody said".to_owned()
    } else {
        times::day(&line.promise)
    };
    let words: Vec<&str> = [promise.as_str(), &line.promise_kind, &line.effect]
        .into_iter()
        .filter(|word| !word.is_empty())
        .collect();
    out.wrapped("  promised: ", "      ", &words.join(", "))
}

fn print_block(out: &mut Out<'_>, line: &BlockedLine) -> Result<(), CommandError> {
    let Some(block) = &line.block else {
        return out.line("  (the block is missing from the answer)");
    };
    let age = times::days(block.age_days);
    let check = if block.check.is_empty() {
        String::new()
    } else {
        format!(" [{}]", block.check)
    };
    // What a recall holds has no number: nobody clears it.
    let number = match block.number {
        0 => "recall,".to_owned(),
        number => format!("block {number}"),
    };
    let lead = format!("{number} {}, {} to move, {age}", block.family, block.whose_move);
    out.wrapped(
        "  ",
        "      ",
        &format!("{lead}{}: {}{check}", chase_words(block), block.about),
    )?;
    if line.overdue {
        let late = out.paint(Paint::Bad, "x overdue");
        out.line(format_args!("      {late}: the day to ask again is past"))?;
    }
    if !block.clears_when.is_empty() {
        out.wrapped("      clears when: ", "        ", &block.clears_when)?;
    }
    Ok(())
}

fn print_counts(out: &mut Out<'_>, label: &str, counts: &[Count]) -> Result<(), CommandError> {
    if counts.is_empty() {
        return Ok(());
    }
    let words: Vec<String> = counts
        .iter()
        .map(|count| format!("{}: {}", count.name, count.count))
        .collect();
    out.wrapped(&format!("{label}, "), "    ", &words.join(", "))
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::Block;

    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    fn line(number: u32, overdue: bool) -> BlockedLine {
        BlockedLine {
            job: 21,
            rider: "Ines H.".to_owned(),
            bike: "steel trekking bicycle".to_owned(),
            block: Some(Block {
                number,
                family: "parts".to_owned(),
                whose_move: "supplier".to_owned(),
                about: "cassette 11-42 not here, promised for Monday and then again for Thursday".to_owned(),
                chase: "2026-03-25".to_owned(),
                clears_when: "cassette received".to_owned(),
                age_days: 4,
                ..Block::default()
            }),
            overdue,
            promise: "2026-03-27".to_owned(),
            promise_kind: "hard".to_owned(),
            effect: "late by 2 working days if it comes on Tuesday".to_owned(),
        }
    }

    #[test]
    fn the_evening_report_names_job_block_mover_and_promise() {
        let report = BlockedReport {
            day: "2026-03-25".to_owned(),
            weekday: "Wednesday".to_owned(),
            builds: 1,
            blocks: 2,
            oldest_days: 4,
            lines: vec![line(1, true), line(2, false)],
            by_family: vec![Count {
                name: "parts".to_owned(),
                count: 2,
            }],
            by_age: vec![Count {
                name: "3-5".to_owned(),
                count: 2,
            }],
            calls: vec!["supplier of job 21: cassette".to_owned()],
        };
        let shown = text(80, |out| print(out, &report));
        for part in [
            "Blocked builds on Wed 25 Mar 2026\n1 build, 2 blocks, the oldest 4 working days old.\n",
            "Job 21, Ines H., steel trekking bicycle\n",
            "  promised: Fri 27 Mar 2026, hard, late by 2 working days if it comes on Tuesday\n",
            "  block 1 parts, supplier to move, 4 days, chase Wed 25 Mar 2026: cassette 11-42",
            "      x overdue: the day to ask again is past\n",
            "by family, parts: 2\nby age in working days, 3-5: 2\n",
            "To ask on the next working day\n  supplier of job 21: cassette\n",
        ] {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
        assert_eq!(shown.matches("Job 21,").count(), 1, "{shown}");
        assert_eq!(shown.matches("overdue").count(), 1, "{shown}");
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
    }

    #[test]
    fn an_evening_without_blocks_says_so() {
        let report = BlockedReport {
            day: "2026-03-25".to_owned(),
            ..BlockedReport::default()
        };
        assert_eq!(
            text(80, |out| print(out, &report)),
            "Blocked builds on Wed 25 Mar 2026\nNothing is blocked.\n"
        );
    }
}
