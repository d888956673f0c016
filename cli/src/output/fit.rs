//! The fit page: topics with what fits and by how much, and what a tried change would do.

use lockring_proto::v1::{CheckReport, FitReply};

use crate::command_error::CommandError;
use crate::output::{Out, check};

/// Prints the page; of a trial first what it changes.
pub(crate) fn print(out: &mut Out<'_>, reply: &FitReply) -> Result<(), CommandError> {
    if reply.changed.is_empty() {
        out.heading(&format!("Job {}, {}: fit", reply.job, reply.rider))?;
    } else {
        print_trial(out, reply)?;
    }
    for topic in &reply.topics {
        let concerned: Vec<&CheckReport> = topic
            .checks
            .iter()
            .filter(|report| report.verdict != "not applicable")
            .collect();
        if concerned.is_empty() {
            continue;
        }
        out.blank()?;
        out.heading(&topic.title)?;
        for report in concerned {
            check::print_line(out, report)?;
            check::print_cures(out, report)?;
        }
    }
    Ok(())
}

fn print_trial(out: &mut Out<'_>, reply: &FitReply) -> Result<(), CommandError> {
    out.heading(&format!(
        "Job {}, {}: tried, nothing of this is stored",
        reply.job, reply.rider
    ))?;
    for line in &reply.changed {
        out.wrapped("  ", "    ", line)?;
    }
    out.blank()?;
    out.heading("What it changes")?;
    if reply.differs.is_empty() {
        out.line("nothing: every check says what it said before")?;
    }
    for difference in &reply.differs {
        if let (Some(before), Some(after)) = (&difference.before, &difference.after) {
            out.wrapped(
                "was ",
                "    ",
                &format!("{} {}: {}", before.verdict, before.check, before.summary),
            )?;
            check::print_line(out, after)?;
            check::print_cures(out, after)?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{FitDifference, FitTopic};

    use super::*;
    use crate::output::samples::text;

    fn report(check: &str, verdict: &str, summary: &str) -> CheckReport {
        CheckReport {
            check: check.into(),
            verdict: verdict.into(),
            summary: summary.into(),
            holds: verdict == "pass",
            ..CheckReport::default()
        }
    }

    #[test]
    fn a_trial_says_what_was_before_and_leaves_out_what_does_not_concern_the_job() {
        let topic = FitTopic {
            title: "chainline".into(),
            checks: vec![
                report("chainline.centre", "caution", "+6.5 mm"),
                report("x.y", "not applicable", "no"),
            ],
        };
        let differs = FitDifference {
            before: Some(report("chainline.centre", "pass", "+4.0 mm")),
            after: Some(report("chainline.centre", "caution", "+6.5 mm")),
        };
        let reply = FitReply {
            job: 21,
            rider: "Tomas V.".into(),
            topics: vec![topic],
            changed: vec!["spacer: 2.5 mm".into()],
            differs: vec![differs],
        };
        let shown = text(80, |out| print(out, &reply));
        assert!(shown.contains("nothing of this is stored"), "{shown}");
        assert!(shown.contains("was pass chainline.centre: +4.0 mm\n"), "{shown}");
        assert!(!shown.contains("x.y"), "{shown}");
    }
}
