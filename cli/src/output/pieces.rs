//! Pieces that were looked for, the path of one, and call sheets.

use lockring_proto::v1::{FindPiecesReply, FoundPiece, RecallCall, RecallLine, RecallSheet};

use crate::command_error::CommandError;
use crate::output::table::{Cell, Table};
use crate::output::{Out, Paint, times};

/// Most rows of the first group, and of each other one, that a screen takes.
const ROWS: (usize, usize) = (10, 3);

/// Headings of the places, in the order of the answer.
const PLACES: [(&str, &str); 7] = [
    ("handed-over", "With their riders"),
    ("bench", "On the bench"),
    ("ended", "On jobs that ended without a handover"),
    ("shelf", "On the shelf"),
    ("swapped", "Swapped out"),
    ("scrapped", "Thrown away"),
    ("returned", "Returned to the supplier"),
];

/// Prints every piece by where it is, on one screen unless all are asked for.
pub(crate) fn print(out: &mut Out<'_>, reply: &FindPiecesReply, all: bool) -> Result<(), CommandError> {
    if reply.places.is_empty() {
        return out.line("No piece bears that mark, or came from there then");
    }
    let counts: Vec<String> = reply
        .places
        .iter()
        .map(|place| format!("{} {}", place.pieces, place.whereabouts))
        .collect();
    out.wrapped("", "    ", &counts.join(", "))?;
    for (number, (place, heading)) in PLACES.iter().enumerate() {
        let members: Vec<&FoundPiece> = reply
            .pieces
            .iter()
            .filter(|piece| piece.whereabouts == *place)
            .collect();
        if members.is_empty() {
            continue;
        }
        out.heading(heading)?;
        let most = if number == 0 { ROWS.0 } else { ROWS.1 };
        print_some(out, &members, if all { usize::MAX } else { most })?;
    }
    Ok(())
}

fn print_some(out: &mut Out<'_>, members: &[&FoundPiece], most: usize) -> Result<(), CommandError> {
    let mut table = Table::new(["where", "who", "what", "marks"]);
    for piece in members.iter().take(most) {
        table.row([
            place(out, piece).into(),
            who(piece).into(),
            piece.name.clone().into(),
            marks(piece).into(),
        ]);
    }
    table.print(out)?;
    match members.len().saturating_sub(most) {
        0 => Ok(()),
        more => out.line(format!("and {more} more: --all")),
    }
}

fn place(out: &Out<'_>, piece: &FoundPiece) -> String {
    let day = |us: i64| times::date(us, &out.look.zone);
    let since = match piece.left_us {
        Some(left) => day(left),
        None if piece.whereabouts == "handed-over" => day(piece.stage_since_us),
        None => day(piece.came_us),
    };
    if piece.job > 0 {
        format!("job {} {since}", piece.job)
    } else {
        format!("item {} {since}", piece.item)
    }
}

fn who(piece: &FoundPiece) -> String {
    if piece.whereabouts == "returned" {
        return piece.supplier.clone();
    }
    if !piece.left_because.is_empty() {
        return piece.left_because.clone();
    }
    rider(piece)
}

/// The rider and how to reach them, whatever became of the piece since.
fn rider(piece: &FoundPiece) -> String {
    match (piece.rider.as_str(), piece.contact.as_str()) {
        ("", _) if piece.count > 1 => format!("{} pieces", piece.count),
        (rider, "") if piece.whereabouts == "handed-over" => format!("{rider}, no contact on file"),
        (rider, "") => rider.to_owned(),
        (rider, contact) => format!("{rider}, {contact}"),
    }
}

fn marks(piece: &FoundPiece) -> String {
    [&piece.serial, &piece.lot]
        .into_iter()
        .filter(|mark| !mark.is_empty())
        .cloned()
        .collect::<Vec<_>>()
        .join(" / ")
}

/// Prints where a piece is and ever was, oldest first.
pub(crate) fn print_path(out: &mut Out<'_>, mark: &str, reply: &FindPiecesReply) -> Result<(), CommandError> {
    for frame in &reply.frames {
        let since = times::date(frame.stage_since_us, &out.look.zone);
        let line = format!(
            "frame {mark}: job {}, {}, {} since {since}",
            frame.job, frame.rider, frame.stage
        );
        out.wrapped("", "    ", &line)?;
    }
    if reply.pieces.is_empty() {
        return if reply.frames.is_empty() {
            out.line(format!("No piece and no frame bears {mark}"))
        } else {
            Ok(())
        };
    }
    let mut path: Vec<&FoundPiece> = reply.pieces.iter().collect();
    path.sort_by_key(|piece| (piece.came_us, piece.left_us.is_none()));
    let mut table = Table::new(["from", "to", "where", "what", "marks"]);
    for piece in path {
        let zone = &out.look.zone;
        let until = match piece.left_us {
            Some(left) => format!("{}\n{}", times::date(left, zone), piece.left_because).into(),
            None => Cell::painted("now", Paint::Strong),
        };
        let supplier = if piece.supplier.is_empty() {
            String::new()
        } else {
            format!("\nfrom {}", piece.supplier)
        };
        let spot = if piece.job > 0 {
            format!("job {}, {} ({})", piece.job, piece.slot, piece.stage)
        } else {
            format!("shelf, item {}", piece.item)
        };
        table.row([
            times::date(piece.came_us, zone).into(),
            until,
            spot.into(),
            format!("{}{supplier}", piece.name).into(),
            marks(piece).into(),
        ]);
    }
    table.print(out)
}

/// Prints every recall.
pub(crate) fn print_recalls(out: &mut Out<'_>, recalls: &[RecallLine]) -> Result<(), CommandError> {
    if recalls.is_empty() {
        return out.words_and_command("", "No recalls", "lockring recall open NAME MARK --why …");
    }
    let mut table = Table::new(["recall", "name", "opened", "meant", "called", "done", "why"]);
    for recall in recalls {
        table.row([
            recall.recall.to_string().into(),
            recall.name.clone().into(),
            times::date(recall.opened_us, &out.look.zone).into(),
            recall.meant.to_string().into(),
            recall.called.to_string().into(),
            recall.done.to_string().into(),
            recall.why.clone().into(),
        ]);
    }
    table.print(out)?;
    for recall in recalls.iter().filter(|recall| !recall.unreadable.is_empty()) {
        out.wrapped("", "    ", &recall.unreadable)?;
    }
    Ok(())
}

/// Prints a call sheet, on one screen unless all are asked for.
pub(crate) fn print_sheet(out: &mut Out<'_>, sheet: &RecallSheet, all: bool) -> Result<(), CommandError> {
    let line = sheet.line.clone().unwrap_or_default();
    out.heading(&format!("Recall {}: {}", line.recall, line.name))?;
    out.wrapped("", "    ", &line.why)?;
    let done = sheet.calls.iter().filter(|call| call.state == "done").count();
    let is_to_reach = |call: &&RecallCall| {
        let is_with_rider = call
            .piece
            .as_ref()
            .is_some_and(|piece| piece.whereabouts == "handed-over");
        is_with_rider && ["to-call", "tried"].contains(&call.state.as_str())
    };
    let to_reach = sheet.calls.iter().filter(is_to_reach).count();
    let riders = times::count_of(sheet.calls.len() as u64, "rider", "riders");
    out.line(format!("{riders}: {to_reach} to reach, {done} done"))?;
    let most = if all { usize::MAX } else { ROWS.0 };
    if !sheet.calls.is_empty() {
        let mut table = Table::new(["state", "job", "rider", "what", "last"]);
        for call in sheet.calls.iter().take(most) {
            let piece = call.piece.clone().unwrap_or_default();
            table.row([
                state(call),
                piece.job.to_string().into(),
                rider(&piece).into(),
                on_the_bicycle(sheet, &piece).into(),
                last(out, call).into(),
            ]);
        }
        table.print(out)?;
    }
    let more = sheet.calls.len().saturating_sub(most);
    if more > 0 {
        out.line(format!("and {more} more: --all"))?;
    }
    // What is in the house is set aside before it goes on.
    for (place, heading) in PLACES
        .iter()
        .filter(|(place, _)| ["bench", "shelf"].contains(place))
    {
        let found = sheet.found.iter().flat_map(|found| &found.pieces);
        let members: Vec<&FoundPiece> = found.filter(|piece| piece.whereabouts == *place).collect();
        if !members.is_empty() {
            out.heading(heading)?;
            print_some(out, &members, if all { usize::MAX } else { ROWS.1 })?;
        }
    }
    let elsewhere = sheet.found.iter().flat_map(|found| &found.places);
    let words: Vec<String> = elsewhere
        .filter(|place| place.whereabouts != "handed-over")
        .map(|place| format!("{} {}", place.pieces, place.whereabouts))
        .collect();
    if words.is_empty() {
        Ok(())
    } else {
        out.wrapped("also: ", "    ", &words.join(", "))
    }
}

/// Every piece that is meant on the bicycle of a call, each with its marks.
fn on_the_bicycle(sheet: &RecallSheet, called: &FoundPiece) -> String {
    let found = sheet.found.iter().flat_map(|found| &found.pieces);
    let mut there: Vec<&FoundPiece> = found
        .filter(|piece| piece.job == called.job && piece.whereabouts == called.whereabouts)
        .collect();
    if there.is_empty() {
        there.push(called);
    }
    let lines: Vec<String> = there
        .into_iter()
        .map(|piece| format!("{} {}", piece.slot, marks(piece)).trim().to_owned())
        .collect();
    lines.join("\n")
}

fn state(call: &RecallCall) -> Cell<'static> {
    let (symbol, paint) = match call.state.as_str() {
        "done" => ('+', Paint::Good),
        "to-call" | "tried" => ('x', Paint::Bad),
        _ => ('!', Paint::Caution),
    };
    Cell::painted(format!("{symbol} {}", call.state), paint)
}

fn last(out: &Out<'_>, call: &RecallCall) -> String {
    let tries = call.steps.iter().filter(|step| step.state == "tried").count();
    let tried = if call.state == "tried" && tries > 1 {
        format!(" ({tries} tries)")
    } else {
        String::new()
    };
    call.steps.last().map_or_else(String::new, |step| {
        let day = times::date(step.at_us, &out.look.zone);
        let note = if step.note.is_empty() {
            String::new()
        } else {
            format!(": {}", step.note)
        };
        format!("{day} {}{note}{tried}", step.by)
    })
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{PieceCount, RecallStep};

    use super::*;
    use crate::output::samples::text;
    use crate::output::wrap;

    fn piece(job: u32) -> FoundPiece {
        FoundPiece {
            whereabouts: "handed-over".into(),
            name: "pack 36 V 10.4 Ah, rear rack, with a long name".into(),
            serial: format!("401{job:02}"),
            lot: "PK-2511-C".into(),
            job,
            rider: "Ines Halvorsen".into(),
            contact: "ines@example.org, 01234 567890".into(),
            stage: "handed-over".into(),
            came_us: 1_773_000_000_000_000,
            stage_since_us: 1_773_400_000_000_000,
            count: 1,
            ..FoundPiece::default()
        }
    }

    #[test]
    fn a_lot_is_answered_on_one_screen() {
        let mut pieces: Vec<FoundPiece> = (1..60).map(piece).collect();
        for (number, (place, _)) in PLACES.iter().enumerate().skip(1) {
            for more in 0..9 {
                pieces.push(FoundPiece {
                    whereabouts: (*place).into(),
                    job: if *place == "shelf" { 0 } else { 60 + more },
                    item: number as u64,
                    ..piece(1)
                });
            }
        }
        let places = PLACES.iter().map(|(place, _)| PieceCount {
            whereabouts: (*place).into(),
            pieces: 9,
        });
        let reply = FindPiecesReply {
            places: places.collect(),
            pieces,
            frames: Vec::new(),
        };
        let shown = text(100, |out| print(out, &reply, false));
        assert!(
            shown.contains("and 49 more: --all") && shown.contains("ines@example.org"),
            "{shown}"
        );
        let narrow = text(80, |out| print(out, &reply, false));
        assert!(narrow.lines().all(|line| wrap::columns(line) <= 80), "{narrow}");
        let all = text(80, |out| print(out, &reply, true));
        assert!(!all.contains("--all") && all.contains("Thrown away"), "{all}");
    }

    #[test]
    fn a_call_sheet_says_how_far_each_rider_is() {
        let step = |state: &str, note: &str| RecallStep {
            state: state.into(),
            note: note.into(),
            by: "K".into(),
            at_us: 1_773_400_000_000_000,
        };
        let of = |slot: &str, serial: &str| FoundPiece {
            slot: slot.into(),
            serial: serial.into(),
            ..piece(20)
        };
        let (pack, charger) = (of("pack", "40120"), of("charger", "C-7"));
        let sheet = RecallSheet {
            line: Some(RecallLine {
                recall: 1,
                name: "packs".into(),
                why: "notice".into(),
                ..RecallLine::default()
            }),
            calls: vec![RecallCall {
                piece: Some(pack.clone()),
                state: "tried".into(),
                steps: vec![step("tried", "no answer"), step("tried", "letter")],
            }],
            found: Some(FindPiecesReply {
                places: vec![PieceCount {
                    whereabouts: "shelf".into(),
                    pieces: 2,
                }],
                pieces: vec![pack, charger, piece(21)],
                frames: Vec::new(),
            }),
        };
        let shown = text(120, |out| print_sheet(out, &sheet, false));
        // Both pieces of the bicycle that is called about, none of another one.
        assert!(shown.contains("pack 40120 / PK-2511-C"), "{shown}");
        assert!(shown.contains("charger C-7 / PK-2511-C"), "{shown}");
        assert!(!shown.contains("40121"), "{shown}");
        for part in [
            "Recall 1: packs",
            "1 rider: 1 to reach, 0 done",
            "x tried",
            "(2 tries)",
            "also: 2 shelf",
        ] {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
    }
}
