//! `lockring fill`: the sheet of the stand, box by box.

use std::ffi::OsString;
use std::io::stdin;

use lockring_proto::v1::bench_client::BenchClient;
use lockring_proto::v1::{SheetBox, SheetReply, SheetRequest};

use crate::client::ORDINARY;
use crate::command_error::{CommandError, Exit};
use crate::commands::prompt::of_every_line;
use crate::desk::Desk;
use crate::line;
use crate::output::table::{Cell, Table};
use crate::output::{Out, Paint, times};
use crate::prompt::{Typed, read};

/// Fill in the sheet of the stand, box by box
///
/// The boxes of the present gate in the order in which they are read off the bicycle, those first
/// without which the gate stays shut: Enter skips one, `-` goes back, `?` says what is expected,
/// Ctrl-D leaves. Each answer is stored at once. Without a terminal the answers are read from standard input, a line each.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  \
    lockring fill 21\n  \
    lockring fill 21 --empty\n  \
    lockring fill 21 --list")]
pub(crate) struct Fill {
    /// Number of the job
    job: u32,
    /// Only boxes in which nothing stands yet
    #[arg(long)]
    empty: bool,
    /// Only show the boxes
    #[arg(long)]
    list: bool,
}

impl Fill {
    pub(super) async fn run(self, desk: &mut Desk<'_>) -> Result<Exit, CommandError> {
        let ask = |channel, request| async move { BenchClient::new(channel).sheet(request).await };
        let request = SheetRequest { job: self.job };
        let mut sheet = desk.client().await?.call(ORDINARY, request, ask).await?;
        if self.empty {
            sheet.boxes.retain(|one| one.recorded.is_empty());
        }
        if !desk.out.look.json {
            sheet.boxes.sort_by_key(|one| !is_missing(one));
        }
        if desk.out.look.json {
            desk.out.json(&sheet)?;
        } else if self.list || sheet.boxes.is_empty() {
            print(&mut desk.out, &sheet)?;
        } else {
            walk(desk, &sheet).await?;
        }
        Ok(Exit::Ok)
    }
}

/// Prints the boxes.
fn print(out: &mut Out<'_>, sheet: &SheetReply) -> Result<(), CommandError> {
    out.heading(&format!("Job {}, {}: {}", sheet.job, sheet.rider, sheet.stage))?;
    if sheet.boxes.is_empty() {
        return out.line("no box is left: `lockring check` shows what the gate says");
    }
    let mut table = Table::new(["box", "code", "recorded", "expects"]);
    for one in &sheet.boxes {
        let (mark, paint) = if is_missing(one) {
            ("[____] needed".to_owned(), Paint::Open)
        } else if one.recorded.is_empty() {
            ("[____]".to_owned(), Paint::Open)
        } else {
            (one.recorded.clone(), Paint::Good)
        };
        table.row([
            one.name.clone().into(),
            short(one).into(),
            Cell::painted(mark, paint),
            one.expects.clone().into(),
        ]);
    }
    table.print(out)
}

/// Asks for one box after the other.
async fn walk(desk: &mut Desk<'_>, sheet: &SheetReply) -> Result<(), CommandError> {
    let count = times::count_of(sheet.boxes.len() as u64, "box", "boxes");
    desk.out.heading(&format!("Job {}, {}: {}, {count}", sheet.job, sheet.rider, sheet.stage))?;
    desk.out.line("Enter skips, - goes back, ? says what is expected, Ctrl-D leaves.")?;
    let missing = sheet.boxes.iter().filter(|one| is_missing(one)).count();
    let mut said: Vec<String> = sheet.boxes.iter().map(|one| one.recorded.clone()).collect();
    let (mut at, mut filled) = (0, 0);
    while let Some(one) = sheet.boxes.get(at) {
        desk.look_at_width();
        if at == missing {
            desk.out.line("The gate asks for none of the boxes from here on.")?;
        }
        let before = if said[at].is_empty() { String::new() } else { format!(" [{}]", said[at]) };
        let question = format!("{}/{} {} ({}){before}", at + 1, sheet.boxes.len(), one.name, short(one));
        desk.out.wrapped("", "    ", &question)?;
        match read(&mut stdin().lock(), &mut desk.out) {
            Ok(Typed::Skip) => at += 1,
            Ok(Typed::Back) => at = at.saturating_sub(1),
            Ok(Typed::Asked) => {
                desk.out.wrapped("  ", "    ", &format!("{}, such as {}", one.expects, one.example))?;
            }
            Ok(Typed::Answer(value)) => {
                if answer(desk, one, &value).await? {
                    said[at] = value;
                    filled += 1;
                    at += 1;
                }
            }
            // Whoever leaves has stored what was answered.
            Err(error) if error.kind == Exit::Usage => break,
            Err(error) => return Err(error),
        }
    }
    let filled = times::count_of(filled, "box", "boxes");
    let next = format!("lockring check {}", sheet.job);
    desk.out.words_and_command("next: ", &format!("{filled} filled in; see what the gate says"), &next)
}

/// Stores an answer; false when it was refused and is asked for again.
async fn answer(desk: &mut Desk<'_>, one: &SheetBox, value: &str) -> Result<bool, CommandError> {
    let mut words = of_every_line(desk);
    let (last, before) = one.words.split_last().map_or(("", &[][..]), |(last, before)| (last.as_str(), before));
    words.extend(before.iter().map(OsString::from));
    if last.ends_with('=') {
        words.push(format!("{last}{value}").into());
    } else {
        words.extend([last, value].map(OsString::from));
    }
    let mut bytes = Vec::new();
    let place = desk.place.clone();
    let done = line::perform(&place, &mut bytes, words).await;
    desk.out.passed(&without_next(&bytes))?;
    match done {
        Ok(_) => Ok(true),
        Err(error) if error.is_closed_pipe() => Err(error),
        Err(error) if is_cured_by_another_answer(error.kind) => {
            desk.tell(&error)?;
            Ok(false)
        }
        Err(error) => Err(error),
    }
}

/// An answer in the bytes of the terminal, without what to record next: the sheet says that.
fn without_next(answer: &[u8]) -> Vec<u8> {
    let mut kept = Vec::new();
    let mut after_next = false;
    for line in answer.split_inclusive(|byte| *byte == b'\n') {
        let goes_on = after_next && line.starts_with(b"    ");
        after_next = line.starts_with(b"next: ") || goes_on;
        if !after_next {
            kept.extend_from_slice(line);
        }
    }
    kept
}

/// Whether the gate stays shut for want of this box.
fn is_missing(one: &SheetBox) -> bool {
    one.needed && one.recorded.is_empty()
}

fn short(one: &SheetBox) -> &str {
    if one.alias.is_empty() { &one.code } else { &one.alias }
}

const fn is_cured_by_another_answer(kind: Exit) -> bool {
    matches!(kind, Exit::BadInput | Exit::OutsideWindow | Exit::UnknownWord)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    #[test]
    fn an_answer_loses_only_its_next_step() {
        let told = "gap 2 mm\nnext: third reading\n      lockring measure 2 gapm\n+ pass  motor.gap\n";
        assert_eq!(without_next(told.as_bytes()), b"gap 2 mm\n+ pass  motor.gap\n");
        // ISO 8859-1 is no UTF-8.
        assert_eq!(without_next(b"J\xfcrgen\nnext: x\n"), b"J\xfcrgen\n");
    }

    #[test]
    fn the_sheet_fits_80_columns_and_an_empty_box_is_drawn() {
        let one = SheetBox {
            code: "motor-gap".to_owned(),
            alias: "gapm".to_owned(),
            name: "motor case to chainstay".to_owned(),
            expects: "a value from -5 mm to 60 mm".to_owned(),
            ..SheetBox::default()
        };
        let sheet = SheetReply {
            job: 21,
            boxes: vec![one],
            ..SheetReply::default()
        };
        let shown = text(80, |out| print(out, &sheet));
        assert!(shown.contains("gapm  [____]"), "{shown}");
        assert!(shown.lines().all(|line| wrap::columns(line) <= 80), "{shown}");
    }
}
