//! Notes, blocks opened by hand, holds, and ends without a handover.

use jiff::civil::Date;

use crate::block::Block;
use crate::code;
use crate::command::{Draft, find_family, find_whose, recatalogued, require_text};
use crate::entry::Event;
use crate::fact::Provenance;
use crate::job::Job;
use crate::length;
use crate::part::Slot;
use crate::refusal::{Reason, Refusal};
use crate::rules::RuleSheet;
use crate::stage::Stage;
use crate::supply::leaving;

pub(super) fn note(draft: &mut Draft, text: &str, private: bool) -> Result<(), Refusal> {
    let text = require_text("the note", text, "key number 4711")?;
    draft.say(if private {
        "noted; it goes when the rider is removed"
    } else {
        "noted"
    });
    draft.push(Event::Noted { text, private });
    Ok(())
}

pub(super) fn open(
    draft: &mut Draft,
    family: &str,
    about: &str,
    whose: &str,
    chase: Option<Date>,
    clears_when: &str,
) -> Result<(), Refusal> {
    let family = find_family(family)?;
    let about = require_text("what is wrong", about, "cable guide sticks into the shell")?;
    let whose = if whose.trim().is_empty() {
        family.usual_move()
    } else {
        find_whose(whose)?
    };
    let number = draft.job.last_block + 1;
    let clears_when = match clears_when.trim() {
        "" => format!("lockring clear {} {number} --why …", draft.job.number),
        given => length::words("what clears it", given)?,
    };
    draft.push(Event::Blocked {
        number,
        family,
        check: None,
        about,
        whose,
        chase,
        clears_when,
    });
    draft.opened.extend(draft.job.blocks.last().cloned());
    Ok(())
}

pub(super) fn clear(draft: &mut Draft, number: u32, why: &str, rules: &RuleSheet) -> Result<(), Refusal> {
    let why = require_text("the reason (--why)", why, "guide shortened")?;
    let job = draft.job.number;
    let block = find(draft, number)?;
    if let Some(check) = &block.check {
        return Err(Refusal::new(
            Reason::GateClosed,
            format!("block {number} comes from the check {check}: it clears by itself when the check passes or is conceded"),
        )
        .with("check", check)
        .hint(format!("see what it needs with `lockring explain {job} {check}`")));
    }
    if let Some(late) = &block.line {
        let slot = late.slot.word();
        return Err(Refusal::new(
            Reason::GateClosed,
            format!("block {number} is about {slot}, due {}: it clears by itself when {}", late.due, block.clears_when),
        )
        .hint(format!(
            "`lockring receive {job} {slot}` when it is here, or its new day with `lockring order {job} {slot} --from SUPPLIER --due DAY`"
        )));
    }
    if let Some(slot) = block.part {
        recatalogued::refuse_to_clear(&draft.job, number, slot, rules)?;
    }
    draft.push(Event::Cleared { number, why });
    draft.cleared.push(block);
    Ok(())
}

/// Somebody asked about a block: what was said, whose move it is, when to ask again.
pub(super) fn chase(
    draft: &mut Draft,
    number: u32,
    chase: Option<Date>,
    whose: &str,
    said: &str,
) -> Result<(), Refusal> {
    let block = find(draft, number)?;
    let whose = if whose.trim().is_empty() {
        None
    } else {
        Some(find_whose(whose)?)
    };
    let event = Event::Chased {
        number: block.number,
        chase,
        whose,
        said: length::words("what was said", said)?,
    };
    draft.say(crate::entry::line(&event));
    draft.push(event);
    Ok(())
}

/// An open block by its number.
fn find(draft: &Draft, number: u32) -> Result<Block, Refusal> {
    let job = &draft.job;
    if let Some(block) = job.blocks.iter().find(|block| block.number == number) {
        return Ok(block.clone());
    }
    let open: Vec<String> = job.blocks.iter().map(|block| block.number.to_string()).collect();
    let refusal = Refusal::new(
        Reason::NoSuchBlock,
        format!("job {} has no open block {number}", job.number),
    )
    .with("job", job.number)
    .with("block", number);
    Err(match open.as_slice() {
        [] => refusal.hint("it has no open block at all"),
        open => refusal.hint(format!("open are {}", open.join(", "))),
    })
}

pub(super) fn hold(draft: &mut Draft, why: &str, until: Option<Date>) -> Result<(), Refusal> {
    let why = require_text("the reason (--why)", why, "rider on holiday")?;
    if let Some(hold) = &draft.job.hold {
        return Err(Refusal::new(
            Reason::OnHold,
            format!("job {} is on hold already: {}", draft.job.number, hold.why),
        )
        .hint(format!(
            "end it first with `lockring release {}`",
            draft.job.number
        )));
    }
    let end = until.map_or_else(String::new, |until| format!(" until {until}"));
    draft.say(format!("on hold{end}: {why}"));
    draft.push(Event::Held { why, until });
    Ok(())
}

pub(super) fn release(draft: &mut Draft) -> Result<(), Refusal> {
    if draft.job.hold.is_none() {
        return Err(Refusal::new(
            Reason::NotOnHold,
            format!("job {} is not on hold", draft.job.number),
        )
        .with("job", draft.job.number));
    }
    draft.push(Event::Released {});
    draft.say("hold ended");
    Ok(())
}

pub(super) fn close(draft: &mut Draft, end: &str, why: &str) -> Result<(), Refusal> {
    let why = require_text("the reason (--why)", why, "motor will not go into the shell")?;
    let end = match end {
        "returned" => Stage::Returned,
        "cancelled" => Stage::Cancelled,
        _ => {
            return Err(Refusal::new(
                Reason::BadInput,
                format!("`{end}` is no end; expected returned or cancelled"),
            )
            .with("given", end));
        }
    };
    if let (Stage::Cancelled, Some(what)) = (end, touched(&draft.job)) {
        let job = draft.job.number;
        return Err(Refusal::new(
            Reason::CannotStand,
            format!(
                "job {job} was begun ({what}): a job is cancelled before its bicycle is touched; returned is one that went \
                 back as it came, without a motor"
            ),
        )
        .with("job", job)
        .hint(format!(
            "put the bicycle back as it was, then: `lockring close {job} --returned --why REASON`"
        )));
    }
    draft.push(Event::Closed { end, why });
    draft.say(format!("job {} is over: {}", draft.job.number, end.word()));
    say_what_is_in_the_house(draft);
    say_what_is_owed_back(draft);
    Ok(())
}

/// What was done to the bicycle, in words: how far it came, by the first of what was measured or set there, and how much
/// more was since fitting began. What was planned does not count.
fn touched(job: &Job) -> Option<String> {
    let done = job.facts.iter().filter_map(|(key, fact)| {
        let row = code::find(key)?;
        let at = row.since();
        let is_done = fact.provenance == Provenance::Measured && at >= Stage::Fitting;
        is_done.then_some((at, &**key))
    });
    let (count, furthest) = done.fold((0, None), |(count, furthest), one: (Stage, &str)| {
        let stands = furthest.filter(|(at, _)| *at >= one.0);
        (count + 1, stands.or(Some(one)))
    });
    let (stage, key) = furthest?;
    let more = match count {
        1 => String::new(),
        count => format!(" and {} more", count - 1),
    };
    Some(format!("{}: {key}{more}", stage.word()))
}

/// Lists every part that came for a bicycle that is not converted, and the orders still awaited.
fn say_what_is_in_the_house(draft: &mut Draft) {
    let job = draft.job.number;
    let mut said: Vec<String> = Vec::new();
    for piece in draft.job.left_over() {
        let slot = piece.slot.word();
        let mark = piece
            .serial
            .as_ref()
            .map_or_else(String::new, |serial| format!(" ({serial})"));
        said.push(format!(
            "{slot}{mark} is still in the house: `lockring shelf put {job} {slot} --why …` or `lockring return {job} {slot} --why …`"
        ));
    }
    said.extend(draft.job.loose().map(|piece| leaving::ask(&draft.job, piece)));
    let awaited: Vec<&str> = draft
        .job
        .orders
        .iter()
        .filter(|line| line.is_open())
        .filter_map(|line| line.slot)
        .map(Slot::word)
        .collect();
    if !awaited.is_empty() {
        said.push(format!(
            "still awaited: {}; `lockring order cancel {job} --why …`",
            awaited.join(", ")
        ));
    }
    said.into_iter().for_each(|line| draft.say(line));
}

/// Says what of the rider's money goes back when a bicycle is not converted.
fn say_what_is_owed_back(draft: &mut Draft) {
    let (job, paid) = (draft.job.number, draft.job.account.paid());
    if let Some(due) = draft.job.refund_due() {
        draft.say(format!(
            "CAUTION: refund due, {due} of the {paid} paid is not invoiced: `lockring pay {job} {due} --kind refund`; what \
             is kept for work done is invoiced: `lockring quote {job}`, `lockring invoice {job}`"
        ));
    }
}
