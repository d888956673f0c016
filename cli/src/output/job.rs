//! One job on one page, and its history.

use lockring_proto::v1::{Block, BuildLine, FactView, GateView, HistoryLine, JobView};

use crate::command_error::{CommandError, Exit};
use crate::output::reply::chase_words;
use crate::output::table::{Cell, Table};
use crate::output::{Out, Paint, mark, photo, times};

/// Prints a job on one page.
///
/// # Errors
/// [`Exit::Unexpected`] when the answer lacks the job's line.
pub(crate) fn print(out: &mut Out<'_>, view: &JobView) -> Result<(), CommandError> {
    let Some(line) = &view.line else {
        return Err(CommandError::new(
            Exit::Unexpected,
            "the answer of lockringd lacks the job's line",
        ));
    };
    out.heading(&format!(
        "Job {}, {}, at {} (revision {})",
        line.job, line.rider, line.stage, view.revision
    ))?;
    let opened = times::moment(view.opened_us, &out.look.zone);
    let moving = if line.whose_move.is_empty() {
        String::new()
    } else {
        format!(", {} to move", line.whose_move)
    };
    out.wrapped(
        "",
        "    ",
        &format!(
            "taken in {opened}{moving}; {} at this stage",
            times::days(line.days_here)
        ),
    )?;
    for (label, text) in [
        ("bicycle", line.bike.clone()),
        (
            "promise",
            format!("{} {}", times::day(&line.promise), line.promise_kind)
                .trim()
                .to_owned(),
        ),
        ("waits for", line.waits_for.clone()),
        ("on hold", view.hold.clone()),
        ("closed", view.closed_because.clone()),
        (
            "owed by the rider",
            line.owed_minor.map(money).unwrap_or_default(),
        ),
    ] {
        if !text.is_empty() {
            out.labelled(label, &text)?;
        }
    }
    for recall in &view.recalls {
        out.labelled("recalled", recall)?;
    }
    for left in &view.swapped {
        out.labelled("after handover", left)?;
    }
    print_gates(out, &view.gates)?;
    print_blocks(out, &view.blocks)?;
    print_build(out, &view.build)?;
    print_facts(out, &view.facts)?;
    if !view.photos.is_empty() {
        out.blank()?;
        out.heading("Photos")?;
        photo::table(&view.photos, &out.look.zone).print(out)?;
    }
    for conceded in &view.concessions {
        let Some(given) = &conceded.concession else {
            continue;
        };
        let stands = if conceded.stands {
            ""
        } else {
            " (no longer stands: the values changed)"
        };
        let when = times::moment(given.at_us, &out.look.zone);
        out.blank()?;
        let text = format!(
            "{}{stands} by {}, {when}: {}; it said: {}",
            conceded.check, given.by, given.why, given.finding
        );
        out.wrapped("conceded: ", "    ", &text)?;
    }
    Ok(())
}

/// Minor units with two decimals; the contract names no currency.
pub(crate) fn money(minor: i64) -> String {
    let sign = if minor < 0 { "-" } else { "" };
    let amount = minor.unsigned_abs();
    format!("{sign}{}.{:02}", amount / 100, amount % 100)
}

fn print_gates(out: &mut Out<'_>, gates: &[GateView]) -> Result<(), CommandError> {
    if gates.is_empty() {
        return Ok(());
    }
    out.blank()?;
    for gate in gates {
        let (symbol, paint) = mark::of_gate(&gate.state);
        let state = if out.look.plain {
            format!("gate {}: {symbol} {}", gate.gate, gate.state)
        } else {
            out.paint(paint, &format!("{symbol} {:<10} {}", gate.gate, gate.state))
        };
        let passed = gate
            .passed_us
            .map(|us| format!(" {}", times::moment(us, &out.look.zone)))
            .unwrap_or_default();
        let tries = match gate.tries {
            0 => String::new(),
            tries => format!(", tried {}", times::count_of(u64::from(tries), "time", "times")),
        };
        out.line(format_args!("{state}{passed}{tries}"))?;
    }
    Ok(())
}

/// Prints open blocks under a heading; nothing when there are none.
fn print_blocks(out: &mut Out<'_>, blocks: &[Block]) -> Result<(), CommandError> {
    if blocks.is_empty() {
        return Ok(());
    }
    out.blank()?;
    out.heading("Blocks")?;
    for block in blocks {
        let (age, chase) = (times::days(block.age_days), chase_words(block));
        let lead = format!(
            "{} {}, {} to move, {age}{chase}",
            block.number, block.family, block.whose_move
        );
        out.wrapped("  ", "      ", &format!("{lead}: {}", block.about))?;
        if !block.clears_when.is_empty() {
            out.wrapped("      clears when: ", "        ", &block.clears_when)?;
        }
    }
    Ok(())
}

fn print_build(out: &mut Out<'_>, build: &[BuildLine]) -> Result<(), CommandError> {
    if build.is_empty() {
        return Ok(());
    }
    let mut table = Table::new(["slot", "part", "state", "remarks"]);
    for line in build {
        let due = if line.due.is_empty() {
            String::new()
        } else {
            format!("due {}", times::day(&line.due))
        };
        let from = if line.supplier.is_empty() {
            String::new()
        } else {
            format!("from {}", line.supplier)
        };
        let serial = if line.serial.is_empty() {
            String::new()
        } else {
            format!("serial {}", line.serial)
        };
        let lot = if line.lot.is_empty() {
            String::new()
        } else {
            format!("lot {}", line.lot)
        };
        let differs = line.differs.iter().map(|one| format!("differs: {one}"));
        let remarks: Vec<String> = [from, due, serial, lot]
            .into_iter()
            .chain(differs)
            .filter(|word| !word.is_empty())
            .collect();
        let part = format!("{}\n{}", line.name, line.part);
        table.row([
            line.slot.as_str().into(),
            part.into(),
            line.state.as_str().into(),
            remarks.join("\n").into(),
        ]);
    }
    out.blank()?;
    table.print(out)
}

fn print_facts(out: &mut Out<'_>, facts: &[FactView]) -> Result<(), CommandError> {
    if facts.is_empty() {
        return Ok(());
    }
    let mut table = Table::new(["group", "code", "value", "provenance"]);
    let mut before = "";
    for fact in facts {
        // A group's word stands once, except where every line must speak for itself.
        let group = if fact.group == before && !out.look.plain {
            ""
        } else {
            fact.group.as_str()
        };
        before = &fact.group;
        let provenance: Cell<'_> = if fact.stale.is_empty() {
            match fact.readings.len() {
                0 | 1 => fact.provenance.as_str().into(),
                _ => format!("{}\nread {}", fact.provenance, fact.readings.join(", ")).into(),
            }
        } else {
            Cell::painted(format!("! stale: {} was changed", fact.stale), Paint::Caution)
        };
        table.row([
            group.into(),
            fact.code.as_str().into(),
            fact.value.as_str().into(),
            provenance,
        ]);
    }
    out.blank()?;
    table.print(out)
}

/// Prints one entry; the job is named where entries of several stand together.
pub(crate) fn print_entry(
    out: &mut Out<'_>,
    entry: &HistoryLine,
    name_job: bool,
) -> Result<(), CommandError> {
    let job = if name_job && entry.job == 0 {
        "shop ".to_owned()
    } else if name_job {
        format!("job {} ", entry.job)
    } else {
        String::new()
    };
    let when = times::moment(entry.made_us, &out.look.zone);
    // An entry written down later than the day it tells of says so.
    let stored = times::moment(entry.stored_us, &out.look.zone);
    let late = if stored == when {
        String::new()
    } else {
        format!(" (stored {stored})")
    };
    let gone = if entry.retracted { " [retracted]" } else { "" };
    let lead = format!(
        "{job}#{} {when}{late} {} at {}, {}{gone}",
        entry.seq, entry.by, entry.terminal, entry.kind
    );
    out.wrapped("", "    ", &lead)?;
    match entry.kind.as_str() {
        // What somebody wrote is quoted.
        "note" | "photo" => out.wrapped_as_it_is("    ", "    ", &entry.text),
        _ => out.wrapped("    ", "    ", &entry.text),
    }
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{ConcededView, Concession, JobLine};

    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    fn view() -> JobView {
        JobView {
            line: Some(JobLine {
                job: 21,
                rider: "Ines H.".to_owned(),
                bike: "steel trekking bicycle".to_owned(),
                stage: "fitting".to_owned(),
                whose_move: "mechanic".to_owned(),
                promise: "2026-03-25".to_owned(),
                promise_kind: "hard".to_owned(),
                owed_minor: Some(120_050),
                days_here: 1,
                ..JobLine::default()
            }),
            revision: 14,
            gates: vec![
                GateView {
                    gate: "intake".to_owned(),
                    state: "passed".to_owned(),
                    tries: 2,
                    passed_us: Some(0),
                },
                GateView {
                    gate: "parts".to_owned(),
                    state: "here".to_owned(),
                    tries: 0,
                    passed_us: None,
                },
            ],
            blocks: vec![Block {
                number: 3,
                family: "fit".to_owned(),
                whose_move: "mechanic".to_owned(),
                about: "gap between motor case and chainstay 1.2 mm, at least 2.0 mm".to_owned(),
                clears_when: "motor-gap measured again".to_owned(),
                age_days: 2,
                ..Block::default()
            }],
            build: vec![BuildLine {
                slot: "motor".to_owned(),
                part: "mid-48-250".to_owned(),
                name: "mid motor 48 V 250 W".to_owned(),
                state: "received".to_owned(),
                serial: "A17".to_owned(),
                differs: vec!["shell-width 68 mm (73 mm)".to_owned()],
                ..BuildLine::default()
            }],
            facts: vec![FactView {
                code: "chainline-front".to_owned(),
                group: "fitting".to_owned(),
                value: "51.5 mm (2.03 in)".to_owned(),
                provenance: "measured".to_owned(),
                readings: vec!["51.4 mm".to_owned(), "51.6 mm".to_owned()],
                stale: "motor".to_owned(),
                ..FactView::default()
            }],
            concessions: vec![ConcededView {
                check: "chainline.centre".to_owned(),
                concession: Some(Concession {
                    why: "0 drops in 10 turns".to_owned(),
                    by: "MK".to_owned(),
                    at_us: 0,
                    finding: "4 mm off the middle".to_owned(),
                }),
                stands: true,
            }],
            ..JobView::default()
        }
    }

    #[test]
    fn a_title_is_broken_at_its_words_where_the_terminal_ends() {
        let shown = text(30, |out| print(out, &view()));
        assert!(
            shown.contains("Job 21, Ines H., at fitting\n    (revision 14)\n"),
            "{shown}"
        );
    }

    #[test]
    fn a_job_stands_on_one_page_of_80_columns() {
        let shown = text(80, |out| print(out, &view()));
        for part in [
            "Job 21, Ines H., at fitting (revision 14)\n",
            "taken in Thu 1 Jan 1970 00:00, mechanic to move; 1 day at this stage\n",
            "promise: Wed 25 Mar 2026 hard\n",
            "owed by the rider: 1200.50\n",
            "+ intake     passed Thu 1 Jan 1970 00:00, tried 2 times\n",
            "> parts      here\n",
            "  3 fit, mechanic to move, 2 days: gap between",
            "      clears when: motor-gap measured again\n",
            "differs: shell-width 68 mm (73 mm)",
            "! stale: motor was changed",
            "conceded: chainline.centre by MK, Thu 1 Jan 1970 00:00: 0 drops in 10 turns",
        ] {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
    }

    #[test]
    fn money_keeps_its_sign_and_its_cents() {
        assert_eq!(
            [0, 5, -5, 120_050, -120_050].map(money),
            ["0.00", "0.05", "-0.05", "1200.50", "-1200.50"]
        );
    }

    #[test]
    fn an_entry_written_later_says_so() {
        let entry = HistoryLine {
            job: 21,
            seq: 4,
            made_us: 0,
            stored_us: 3_600_000_000,
            by: "MK".to_owned(),
            terminal: "bench".to_owned(),
            kind: "note".to_owned(),
            text: "rider rang".to_owned(),
            retracted: true,
        };
        let shown = text(80, |out| print_entry(out, &entry, true));
        assert!(
            shown.starts_with("job 21 #4 Thu 1 Jan 1970 00:00 (stored Thu 1 Jan 1970 01:00) MK at bench"),
            "{shown}"
        );
        assert!(
            shown.contains("[retracted]") && shown.ends_with("    rider rang\n"),
            "{shown}"
        );
    }
}
