//! What opens and clears by itself because of a day that has come: order lines past theirs.

use jiff::civil::Date;

use crate::block::{Block, LateLine};
use crate::command::Draft;
use crate::entry::{Event, Origin};
use crate::job::Job;
use crate::part::Slot;

/// Order lines that are still on the way on a day after the one they were due.
pub fn late_lines(job: &Job, today: Date) -> Vec<(LateLine, String)> {
    let late = |(slot, line): (&Slot, &crate::job::Line)| {
        let order = line.order.as_ref().filter(|_| line.receipt.is_none())?;
        let due = order.due.filter(|due| *due < today)?;
        let about = format!("{} from {} was due on {due}", slot.word(), order.supplier);
        Some((LateLine { slot: *slot, due }, about))
    };
    job.build.iter().filter_map(late).collect()
}

/// Opens a block for each late line that has none; `None` when there is nothing to open.
pub fn sweep(job: Job, today: Date, origin: Origin) -> Option<Draft> {
    if job.stage.is_end() {
        return None;
    }
    let mut draft = Draft::new(job, origin);
    for (line, about) in late_lines(&draft.job, today) {
        if draft
            .job
            .blocks
            .iter()
            .any(|block| block.line.as_ref() == Some(&line))
        {
            continue;
        }
        draft.push(Event::LineLate {
            number: draft.job.last_block + 1,
            line,
            about,
        });
        draft.opened.extend(draft.job.blocks.last().cloned());
    }
    (!draft.events.is_empty()).then_some(draft)
}

/// Clears blocks whose line has arrived, got another day, or is no longer ordered.
pub(super) fn clear_lines(draft: &mut Draft) {
    let settled: Vec<(Block, &'static str)> = draft
        .job
        .blocks
        .iter()
        .filter_map(|block| {
            let late = block.line.as_ref()?;
            let line = draft.job.build.get(&late.slot);
            let order = line.and_then(|line| line.order.as_ref());
            let why = match (line, order) {
                (None, _) | (_, None) => "no longer ordered",
                (Some(line), _) if line.receipt.is_some() => "arrived",
                (_, Some(order)) if order.due != Some(late.due) => "promised for another day",
                _ => return None,
            };
            Some((block.clone(), why))
        })
        .collect();
    for (block, why) in settled {
        draft.push(Event::Cleared {
            number: block.number,
            why: why.to_owned(),
        });
        draft.cleared.push(block);
    }
}
