//! The fit page: topics with what fits and by how much, and what a tried change would do.

use lockring_proto::v1::{CheckReport, FitCure, FitReply};

use crate::command_error::CommandError;
use crate::output::{Out, check, times};

/// Prints the page; of a trial first what it changes.
pub(crate) fn print(out: &mut Out<'_>, reply: &FitReply) -> Result<(), CommandError> {
    if reply.changed.is_empty() {
        out.heading(&format!("Job {}, {}: fit", reply.job, reply.rider))?;
    } else {
        return print_trial(out, reply);
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
    print_helps(out, reply)
}

/// Changes that would help, each with what it does elsewhere.
fn print_helps(out: &mut Out<'_>, reply: &FitReply) -> Result<(), CommandError> {
    if reply.cures.is_empty() {
        return Ok(());
    }
    out.blank()?;
    out.heading("Rings and spacers that would help, and what they cost")?;
    for cure in &reply.cures {
        print_cure(out, reply.job, cure)?;
    }
    Ok(())
}

fn print_cure(out: &mut Out<'_>, job: u32, cure: &FitCure) -> Result<(), CommandError> {
    out.line(format_args!("lockring fit {job} --what-if {}", cure.change))?;
    for effect in &cure.effects {
        let (Some(before), Some(after)) = (&effect.before, &effect.after) else {
            continue;
        };
        let verdicts = if before.verdict == after.verdict {
            after.verdict.clone()
        } else {
            format!("{} to {}", before.verdict, after.verdict)
        };
        let line = format!("{}, {verdicts}: {}", after.check, after.summary);
        let turn = if out.look.plain {
            format!("  {} ", effect.turn)
        } else {
            format!("  {:<7} ", effect.turn)
        };
        out.wrapped(&turn, "          ", &line)?;
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
    if reply.differs.is_empty() {
        out.heading("What it changes")?;
        out.line("nothing: every check says what it said before")?;
    }
    for (heading, members) in check::by_turn(&reply.differs) {
        out.heading(heading)?;
        for (before, after) in members {
            out.wrapped(
                "was ",
                "    ",
                &format!("{} {}: {}", before.verdict, before.check, before.summary),
            )?;
            check::print_line(out, after)?;
            check::print_cures(out, after)?;
        }
        out.blank()?;
    }
    let all: usize = reply.topics.iter().map(|topic| topic.checks.len()).sum();
    let rest = all.saturating_sub(reply.differs.len());
    let others = times::count_of(
        rest as u64,
        "other check says what it said",
        "other checks say what they said",
    );
    out.line(format_args!("{others}: lockring fit {}", reply.job))
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{FitDifference, FitEffect, FitTopic};

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
            cures: Vec::new(),
        };
        let shown = text(80, |out| print(out, &reply));
        assert!(shown.contains("nothing of this is stored"), "{shown}");
        assert!(shown.contains("was pass chainline.centre: +4.0 mm\n"), "{shown}");
        assert!(!shown.contains("x.y"), "{shown}");
        // The rest of the page is not told again.
        assert_eq!(shown.matches("+6.5 mm").count(), 1, "{shown}");
        assert!(
            shown.contains("1 other check says what it said: lockring fit 21\n"),
            "{shown}"
        );
    }

    #[test]
    fn what_a_trial_breaks_comes_before_what_it_mends_and_what_stays() {
        let differs = |check: &str, before: &str, after: &str| FitDifference {
            before: Some(report(check, before, "1 V")),
            after: Some(report(check, after, "2 V")),
        };
        let reply = FitReply {
            changed: vec!["pack: 52 V".into()],
            differs: vec![
                differs("range.energy", "pass", "pass"),
                differs("pack.c_rate", "fail", "pass"),
                differs("pack.charger_match", "pass", "fail"),
            ],
            ..FitReply::default()
        };
        let shown = text(80, |out| print(out, &reply));
        let place = |words: &str| shown.find(words).unwrap_or_else(|| panic!("{words} in\n{shown}"));
        assert!(place("No longer holds") < place("pack.charger_match"), "{shown}");
        assert!(place("pack.charger_match") < place("Holds now"), "{shown}");
        assert!(place("pack.c_rate") < place("Says something else"), "{shown}");
        assert!(place("Says something else") < place("range.energy"), "{shown}");
    }

    #[test]
    fn a_change_that_helps_shows_its_price_beside_its_gain() {
        let effect = |turn: &str, before, after| FitEffect {
            turn: turn.into(),
            before: Some(before),
            after: Some(after),
        };
        let cure = FitCure {
            change: "spacer=2.5mm".into(),
            effects: vec![
                effect(
                    "better",
                    report("clearance.motor_and_ring", "fail", "0 mm"),
                    report("clearance.motor_and_ring", "pass", "2.5 mm"),
                ),
                effect(
                    "moved",
                    report("chainline.centre", "caution", "+5.5 mm"),
                    report("chainline.centre", "caution", "+6.5 mm"),
                ),
            ],
        };
        let reply = FitReply {
            job: 21,
            cures: vec![cure],
            ..FitReply::default()
        };
        let shown = text(80, |out| print(out, &reply));
        for line in [
            "lockring fit 21 --what-if spacer=2.5mm\n",
            "  better  clearance.motor_and_ring, fail to pass: 2.5 mm\n",
            "  moved   chainline.centre, caution: +6.5 mm\n",
        ] {
            assert!(shown.contains(line), "{shown}");
        }
    }
}
