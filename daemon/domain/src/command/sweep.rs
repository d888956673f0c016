//! What opens and clears by itself because of a day that has come: order lines past theirs.

use jiff::civil::Date;

use crate::block::{Block, LateLine};
use crate::command::Draft;
use crate::entry::Event;
use crate::job::{Job, Line};
use crate::origin::Origin;
use crate::part::Slot;
use crate::shared::Shared;

/// Order lines past their day that the build waits for: not those for a slot that is filled
/// already, or for a part it no longer wants.
pub fn late_lines(job: &Job, today: Date) -> Vec<(LateLine, String)> {
    let late = |(slot, line): (&Slot, &Shared<Line>)| {
        let order = job.wanted_order(*slot).filter(|_| line.receipt.is_none())?;
        let due = order.missed(today)?;
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
            let order = draft.job.wanted_order(late.slot);
            let why = match (line, order) {
                (Some(line), _) if line.receipt.is_some() => "arrived",
                (None, _) | (_, None) => "no longer ordered",
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

#[cfg(test)]
mod tests {
    use jiff::Timestamp;
    use jiff::civil::date;

    use super::*;
    use crate::checks::testing::{self, hardtail};
    use crate::command::Command;
    use crate::supply::event::SupplyEvent;

    /// The hardtail's display is ordered for 20 March 2026 and has not come.
    fn job() -> Job {
        let order = Command::Order {
            slots: vec!["display".into()],
            supplier: "N".into(),
            due: Some(date(2026, 3, 20)),
            price: String::new(),
        };
        hardtail().change(&order).job
    }

    fn swept(job: Job, day: i8) -> Option<Job> {
        sweep(job, date(2026, 3, day), testing::origin(Timestamp::UNIX_EPOCH)).map(|draft| draft.job)
    }

    #[test]
    fn a_line_past_its_day_opens_one_block_that_ends_when_another_day_is_promised() {
        assert_eq!(swept(job(), 20), None, "it may come today");
        let late = swept(job(), 21).unwrap();
        assert_eq!(
            late.blocks.last().unwrap().about,
            "display from N was due on 2026-03-20"
        );
        assert_eq!(swept(late.clone(), 23), None, "it stands already");
        let mut draft = Draft::new(late, testing::origin(Timestamp::UNIX_EPOCH));
        draft.push(Event::Supply(SupplyEvent::OrderMoved {
            slot: Slot::Display,
            due: date(2026, 3, 24),
            why: "ship late".into(),
        }));
        clear_lines(&mut draft);
        assert!(draft.job.blocks.iter().all(|block| block.line.is_none()));
        assert_eq!(draft.cleared.len(), 1);
        // The day the orders list calls late is the day the block opens again.
        assert!(
            draft
                .job
                .open_order(Slot::Display)
                .unwrap()
                .missed(date(2026, 3, 25))
                .is_some()
        );
        assert!(swept(draft.job, 25).is_some());
    }

    #[test]
    fn an_order_that_the_build_no_longer_waits_for_blocks_nothing() {
        // Another part was chosen: the order is still awaited, but not by this build.
        let mut job = job();
        let line = job.build.get_mut(&Slot::Display).unwrap();
        line.part.id = "another".into();
        assert!(
            job.open_order(Slot::Display)
                .is_some_and(|order| job.is_unwanted(order))
        );
        assert_eq!(swept(job.clone(), 21), None);
        // Chosen again, its own older order counts, whatever was ordered meanwhile.
        let own = job.orders.last().unwrap().clone();
        job.build.get_mut(&Slot::Display).unwrap().part.id = own.goods.part.clone();
        let mut other = own;
        other.goods.part = "another".into();
        job.orders.push(other);
        assert!(swept(job, 21).is_some());
    }
}
