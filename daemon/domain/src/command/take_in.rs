//! Taking a bicycle in: a job begins.

use jiff::tz::TimeZone;

use crate::command::facts::{as_many_gears, read_stated};
use crate::command::parts::{find_part, refuse_withdrawn};
use crate::command::{Desk, Draft, Typed, find_slot, mended, require_text, settle};
use crate::entry::{Entry, Event};
use crate::fact::Provenance;
use crate::job::Job;
use crate::length;
use crate::origin::Origin;
use crate::refusal::{Refusal, Violation};
use crate::shell_word::quoted;

/// Decides a new job with a number.
///
/// # Errors
/// A [`Refusal`] naming every value that cannot be taken, or the first part that is not in
/// the catalogue.
pub fn take_in(
    number: u32,
    origin: Origin,
    rider: &str,
    values: &[Typed],
    build: &[Typed],
    desk: &Desk<'_>,
) -> Result<Draft, Refusal> {
    let by = desk.shop.person(&origin.by)?;
    let origin = Origin { by, ..origin };
    let rider = require_text("the rider's name", rider, "Ines H.")?;
    let rider = length::name("the rider's name", &rider)?;
    let home = desk.shop.currency().code;
    let values = read_stated(number, None, values, desk.day_of(&origin), &home).map_err(|refusal| {
        let parts = build
            .iter()
            .map(|part| format!(" --part {}={}", part.field, part.text));
        let begun = format!("lockring take-in {}{}", quoted(&rider), parts.collect::<String>());
        mended::line(&begun, values, "", refusal)
    })?;
    as_many_gears(&values, None)?;
    let mut parts = Vec::new();
    for typed in build {
        let slot = find_slot(&typed.field).map_err(|refusal| at_line(refusal, typed))?;
        let part = find_part(slot, &typed.text, desk).map_err(|refusal| at_line(refusal, typed))?;
        refuse_withdrawn(&part, desk.shop).map_err(|refusal| at_line(refusal, typed))?;
        parts.push((slot, part));
    }
    let first = Event::TakenIn { rider: rider.clone() };
    let mut draft = Draft::new(begin(number, &origin, &first), origin);
    draft.events.push(first);
    draft.say(format!("job {number} taken in for {rider}"));
    if !values.is_empty() {
        draft.say(format!("{} values of brief and donor", values.len()));
        draft.push(Event::Stated {
            values,
            provenance: Provenance::Stated,
        });
    }
    if !parts.is_empty() {
        draft.say(format!("{} parts chosen", parts.len()));
    }
    for (slot, part) in parts {
        draft.push(Event::Chosen { slot, part });
    }
    settle(&mut draft, desk);
    Ok(draft)
}

/// What is said of a frame that was here as another job before, or still is; days by the shop's clock.
pub fn same_frame(frame: &str, other: &Job, zone: &TimeZone) -> String {
    let day = other.stage_since.to_zoned_datetime(zone.clone()).date();
    let (number, stage) = (other.number, other.stage.word());
    let where_it_is = if other.stage.is_end() {
        format!("{stage} on {day}")
    } else {
        format!("still open, at {stage} since {day}")
    };
    format!("frame {frame} was here as job {number}, {where_it_is}; `lockring show {number}`")
}

/// Names the line of the sheet that a refusal is about.
fn at_line(refusal: Refusal, typed: &Typed) -> Refusal {
    let problem = refusal.message.clone();
    refusal.violations(vec![Violation {
        field: typed.field.clone(),
        line: typed.line,
        problem,
    }])
}

/// The job as its first entry leaves it. The hashes play no part in the fold and are set
/// when the entry is stored.
fn begin(number: u32, origin: &Origin, event: &Event) -> Job {
    let entry = Entry {
        id: 0,
        job: number,
        seq: 1,
        origin: origin.clone(),
        stored: origin.made,
        event: event.clone(),
        previous: [0; 32],
        hash: [0; 32],
    };
    Job::begin(&entry).expect("a first `taken-in` entry begins a job")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::longtail;
    use crate::stage::Stage;

    #[test]
    fn a_frame_that_was_here_is_said_with_what_became_of_it() {
        let mut job = longtail().job;
        let said = |job: &Job| same_frame("T-0777", job, &TimeZone::UTC);
        assert_eq!(
            said(&job),
            "frame T-0777 was here as job 21, still open, at intake since 2026-03-02; `lockring show 21`"
        );
        job.stage = Stage::HandedOver;
        assert_eq!(
            said(&job),
            "frame T-0777 was here as job 21, handed-over on 2026-03-02; `lockring show 21`"
        );
    }
}
