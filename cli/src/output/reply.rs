//! The answer to a change: what was understood, the verdicts it led to, what comes next.

use lockring_proto::v1::{Block, CheckReport, JobReply};

use crate::command_error::CommandError;
use crate::output::{Out, check, times};

/// Most steps named under `next`.
const NEXT_STEPS: usize = 2;
/// Most verdicts shown one by one when they all hold.
const FEW_VERDICTS: usize = 4;

/// Prints the answer to a change.
pub(crate) fn print(out: &mut Out<'_>, reply: &JobReply, dry_run: bool) -> Result<(), CommandError> {
    print_said(out, &reply.said, dry_run, reply.repeated)?;
    print_verdicts(out, &reply.checks)?;
    print_blocks(out, reply)?;
    print_next(out, reply)
}

/// Prints the verdicts a change led to: all of a few, and of many those that do not hold.
fn print_verdicts(out: &mut Out<'_>, reports: &[CheckReport]) -> Result<(), CommandError> {
    let concerned: Vec<&CheckReport> = reports
        .iter()
        .filter(|report| report.verdict != "not applicable")
        .collect();
    let many = concerned.len() > FEW_VERDICTS;
    for report in concerned.iter().filter(|report| !many || !report.holds) {
        check::print_line(out, report)?;
    }
    let holding = concerned.iter().filter(|report| report.holds).count();
    if many {
        out.line(format!(
            "{holding} of {} checks that look at it hold",
            concerned.len()
        ))?;
    }
    Ok(())
}

/// Prints the answer to trying a gate: a shut one with what would open it.
pub(crate) fn print_advance(out: &mut Out<'_>, reply: &JobReply, dry_run: bool) -> Result<(), CommandError> {
    print_said(out, &reply.said, dry_run, reply.repeated)?;
    if !reply.passed {
        check::print_shut(out, reply.job, &reply.checks)?;
        if !reply.opened.is_empty() || !reply.cleared.is_empty() {
            out.blank()?;
        }
    }
    print_blocks(out, reply)?;
    // What a shut gate lacks stands beside its checks already.
    if reply.passed {
        print_next(out, reply)
    } else {
        Ok(())
    }
}

/// Prints what was understood, and whether it was stored.
pub(crate) fn print_said(
    out: &mut Out<'_>,
    said: &[String],
    dry_run: bool,
    repeated: bool,
) -> Result<(), CommandError> {
    if dry_run {
        out.line("dry run: nothing of this was stored")?;
    }
    if repeated {
        out.line("this was stored before; the answer is the first one's")?;
    }
    said.iter().try_for_each(|line| out.wrapped("", "    ", line))
}

fn print_blocks(out: &mut Out<'_>, reply: &JobReply) -> Result<(), CommandError> {
    let opened: Vec<String> = reply
        .opened
        .iter()
        .map(|block| {
            let (number, family, whose) = (block.number, &block.family, &block.whose_move);
            format!("{number} {family}, {whose} to move{}", chase_words(block))
        })
        .collect();
    if !opened.is_empty() {
        out.wrapped("blocks opened: ", "    ", &opened.join("; "))?;
    }
    for block in &reply.cleared {
        out.wrapped(
            "block ",
            "    ",
            &format!("{} cleared: {} {}", block.number, block.family, block.check),
        )?;
    }
    Ok(())
}

fn print_next(out: &mut Out<'_>, reply: &JobReply) -> Result<(), CommandError> {
    reply
        .next
        .iter()
        .take(NEXT_STEPS)
        .try_for_each(|step| out.words_and_command("next: ", &step.what, &step.how))
}

/// `, chase Wed 25 Mar 2026`, or nothing.
pub(crate) fn chase_words(block: &Block) -> String {
    if block.chase.is_empty() {
        String::new()
    } else {
        format!(", chase {}", times::day(&block.chase))
    }
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::Missing;

    use super::*;
    use crate::output::samples::{self, text};
    use crate::output::wrap;

    fn reply() -> JobReply {
        let step = |what: &str, how: &str| Missing {
            what: what.to_owned(),
            how: how.to_owned(),
        };
        JobReply {
            job: 21,
            revision: 14,
            rider: "Ines H.".to_owned(),
            stage: "fitting".to_owned(),
            said: vec!["front chainline: 51.5 mm (2.03 in), measured by MK with a rule".to_owned()],
            checks: vec![samples::failing()],
            opened: vec![Block {
                number: 3,
                family: "fit".to_owned(),
                about: "chain angle on the largest cog 3.4°".to_owned(),
                whose_move: "mechanic".to_owned(),
                chase: "2026-03-25".to_owned(),
                ..Block::default()
            }],
            next: vec![
                step("rear chainline", "lockring measure 21 chainline-rear 45.0"),
                step(
                    "a second reading of the gap between motor case and chainstay",
                    "lockring measure 21 motor-gap 4.5",
                ),
                step("never shown", "lockring show 21"),
            ],
            ..JobReply::default()
        }
    }

    #[test]
    fn a_reply_says_verdict_block_and_next_within_80_columns() {
        let shown = text(80, |out| print(out, &reply(), false));
        let expected = "\
front chainline: 51.5 mm (2.03 in), measured by MK with a rule
x fail  chainline.cog_angles: chain angle on the largest cog 3.4°, at most 3.0°:
    over stored limit
blocks opened: 3 fit, mechanic to move, chase Wed 25 Mar 2026
next: rear chainline — lockring measure 21 chainline-rear 45.0
next: a second reading of the gap between motor case and chainstay
      lockring measure 21 motor-gap 4.5
";
        assert_eq!(shown, expected);
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80));
    }

    #[test]
    fn a_dry_run_and_a_repetition_are_said() {
        assert!(
            text(80, |out| print(out, &reply(), true)).starts_with("dry run: nothing of this was stored\n")
        );
        let again = JobReply {
            repeated: true,
            ..reply()
        };
        assert!(text(80, |out| print(out, &again, false)).starts_with("this was stored before"));
    }

    #[test]
    fn colour_is_added_only_when_asked_for_and_around_the_word() {
        let plain = text(80, |out| print(out, &reply(), false));
        assert!(!plain.contains('\u{1b}'));
        let coloured = samples::shown(
            crate::output::Look {
                colour: true,
                ..samples::look(80)
            },
            |out| print(out, &reply(), false),
        );
        assert!(
            coloured.contains("\u{1b}[31mx fail\u{1b}[0m  chainline.cog_angles"),
            "{coloured}"
        );
    }

    /// The contract's field names, and nothing it does not know.
    #[test]
    fn json_is_the_contract_and_refuses_unknown_fields() {
        let shown = text(80, |out| out.json(&reply()));
        assert_eq!(shown.lines().count(), 1);
        let value: serde_json::Value = serde_json::from_str(&shown).unwrap();
        let mut names: Vec<&str> = value.as_object().unwrap().keys().map(String::as_str).collect();
        names.sort_unstable();
        let contract = [
            "checks", "cleared", "differs", "job", "next", "opened", "passed", "repeated", "revision",
            "rider", "said", "stage",
        ];
        assert_eq!(names, contract);
        assert_eq!(value["opened"][0]["whose_move"], "mechanic");
        assert_eq!(serde_json::from_str::<JobReply>(&shown).unwrap(), reply());
        let more = shown.replacen("{\"job\"", "{\"bench\":1,\"job\"", 1);
        assert!(
            serde_json::from_str::<JobReply>(&more)
                .unwrap_err()
                .to_string()
                .contains("bench")
        );
    }
}
