//! A substitute: every check that says something else with it, worst first.

use lockring_proto::v1::JobReply;

use crate::command_error::CommandError;
use crate::output::{Out, check, reply};

/// Prints what a substitute does; `taken` when it was stored.
pub(crate) fn print(out: &mut Out<'_>, answer: &JobReply, taken: bool) -> Result<(), CommandError> {
    if !taken {
        out.line("tried, and nothing of it stored; with it:")?;
    }
    reply::print_said(out, &answer.said, false, answer.repeated)?;
    for (heading, members) in check::by_turn(&answer.differs) {
        out.heading(heading)?;
        for (before, after) in members {
            check::print_line(out, after)?;
            out.wrapped(
                "    was ",
                "        ",
                &format!("{}: {}", before.verdict, before.summary),
            )?;
        }
    }
    if taken {
        return Ok(());
    }
    out.line("nothing of this is stored; take it with --take")
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{CheckReport, FitDifference};

    use super::*;
    use crate::output::samples::text;

    fn report(check: &str, verdict: &str, summary: &str) -> Option<CheckReport> {
        Some(CheckReport {
            check: check.into(),
            verdict: verdict.into(),
            summary: summary.into(),
            holds: verdict == "pass",
            ..CheckReport::default()
        })
    }

    #[test]
    fn what_no_longer_holds_comes_first_and_nothing_is_said_to_be_stored() {
        let answer = JobReply {
            said: vec!["pack: 52 V 14.0 Ah in place of 48 V 17.5 Ah".into()],
            differs: vec![
                FitDifference {
                    before: report("pack.c_rate", "fail", "2.1 C"),
                    after: report("pack.c_rate", "pass", "1.4 C"),
                },
                FitDifference {
                    before: report("pack.full_volts", "pass", "54.6 V"),
                    after: report("pack.full_volts", "fail", "58.8 V over 55.0 V"),
                },
            ],
            ..JobReply::default()
        };
        let shown = text(80, |out| print(out, &answer, false));
        assert!(shown.starts_with("tried, and nothing of it stored"), "{shown}");
        let place = |words: &str| shown.find(words).unwrap_or_else(|| panic!("{words} in\n{shown}"));
        assert!(place("No longer holds") < place("pack.full_volts"), "{shown}");
        assert!(place("pack.full_volts") < place("Holds now"), "{shown}");
        assert!(
            place("was pass: 54.6 V") > 0 && shown.ends_with("take it with --take\n"),
            "{shown}"
        );
        assert!(!text(80, |out| print(out, &answer, true)).contains("--take"));
        assert!(text(80, |out| print(out, &answer, true)).starts_with("pack: 52 V"));
    }
}
