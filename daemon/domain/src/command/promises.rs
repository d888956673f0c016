//! Promising a day, and telling the rider.

use jiff::civil::Date;

use crate::command::{Draft, require_text};
use crate::entry::Event;
use crate::length;
use crate::refusal::{Reason, Refusal};

/// A first promise, or another day: the old one is kept, and the change has a reason.
pub(super) fn promise(draft: &mut Draft, day: Date, hard: Option<bool>, why: &str) -> Result<(), Refusal> {
    let job = &draft.job;
    let number = job.number;
    let before = job.promised();
    let same_kind = hard.is_none_or(|hard| hard == job.is_hard());
    if before == Some(day) && same_kind && job.text(crate::promise::PROMISE_KIND).is_some() {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("job {number} is promised for {day} already"),
        )
        .with("job", number));
    }
    let why = match before {
        Some(before) if before != day => {
            require_text("the reason (--why)", why, "shift sensor comes on 7 April")?
        }
        _ => length::words("the reason (--why)", why)?,
    };
    draft.push(Event::Promised { day, hard, why });
    let kind = draft
        .job
        .text(crate::promise::PROMISE_KIND)
        .unwrap_or("soft")
        .to_owned();
    let slips = draft.job.slips();
    draft.say(match before {
        Some(before) if before < day => format!("promised for {day}, {kind}; it was {before}, slip {slips}"),
        Some(before) if before > day => format!("promised for {day}, {kind}; it was {before}"),
        _ => format!("promised for {day}, {kind}"),
    });
    if before.is_some_and(|before| before != day) {
        draft.say(format!(
            "rider told: not yet; `lockring told {number} WORDS` when you have"
        ));
    }
    Ok(())
}

/// The rider was told something about the promise.
pub(super) fn tell(draft: &mut Draft, words: &str) -> Result<(), Refusal> {
    let words = require_text("what the rider was told", words, "new day is 14 April, agreed")?;
    draft.say(format!("rider told: {words}"));
    draft.push(Event::Told { words });
    Ok(())
}
