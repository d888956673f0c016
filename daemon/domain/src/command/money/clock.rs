//! Clocking on and off, and putting a forgotten clock right.

use jiff::{SignedDuration, Timestamp};

use super::read::{bad, optional_word};
use crate::command::{Desk, Draft, require_text};
use crate::entry::Event;
use crate::job::Job;
use crate::labour::{Cause, LONGEST_HOURS, LabourEvent, Running, Stint};
use crate::nearest::nearest;
use crate::refusal::Refusal;
use crate::stage::Stage;

/// Whose clock it is: that of whoever types, or of somebody else of the shop.
fn whoever(draft: &Draft, who: &str, desk: &Desk<'_>) -> Result<String, Refusal> {
    match who.trim() {
        "" => Ok(draft.origin.by.clone()),
        who => desk.shop.person(who),
    }
}

/// The refusal of one more clock for somebody who is on somewhere: nobody works on two bicycles at
/// once, and hours would be counted twice.
fn already_on(job: &Job, who: &str, by: &str, desk: &Desk<'_>) -> Option<Refusal> {
    let here = job.labour.running(who).map(|stint| Running {
        job: job.number,
        stage: stint.stage,
    });
    let Running { job, stage } = here.or_else(|| (desk.clocks)(who).into_iter().next())?;
    let whose = if who == by {
        String::new()
    } else {
        format!(" --who {who}")
    };
    let refusal = bad(
        "who",
        &format!("{who} is on at job {job}, {}, already", stage.word()),
    );
    Some(refusal.hint(format!("end it first with `lockring clock off {job}{whose}`")))
}

/// Refuses what lets a clock run on that had ended, while whoever it is of is on somewhere.
pub(in crate::command) fn runs_alone(
    before: &Job,
    after: &Job,
    by: &str,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    let ran = |number: u32| {
        let mut stints = before.labour.stints.iter();
        stints.any(|stint| stint.number == number && stint.to.is_none())
    };
    let mut again = after
        .labour
        .stints
        .iter()
        .filter(|stint| stint.to.is_none() && !ran(stint.number));
    match again.find_map(|stint| already_on(before, &stint.who, by, desk)) {
        Some(refusal) => Err(refusal),
        None => Ok(()),
    }
}

/// The stages at which work is done on a job: after handover, on a visit, too.
fn stages_of_work(job: &Job) -> impl Iterator<Item = Stage> + use<> {
    let after = Some(Stage::HandedOver).filter(|stage| job.stage == *stage);
    Stage::GATED.into_iter().chain(after)
}

fn stage_of_work(job: &Job, word: &str) -> Option<Stage> {
    stages_of_work(job).find(|stage| stage.word() == word)
}

pub(super) fn clock_on(
    draft: &mut Draft,
    who: &str,
    stage: &str,
    rework: &str,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    let who = whoever(draft, who, desk)?;
    let stage = match stage.trim() {
        "" => draft.job.stage,
        typed => stage_of_work(&draft.job, &typed.to_lowercase()).ok_or_else(|| {
            let all: Vec<&str> = stages_of_work(&draft.job).map(Stage::word).collect();
            let near = nearest(&typed.to_lowercase(), all.iter().copied());
            Refusal::unknown(
                "stage",
                typed,
                &near,
                &format!("the stages are {}", all.join(", ")),
            )
        })?,
    };
    let rework = optional_word("cause", rework, &Cause::ALL, Cause::word)?;
    if let Some(refusal) = already_on(&draft.job, &who, &draft.origin.by, desk) {
        return Err(refusal);
    }
    // One of them may have been retracted: a number is not given twice.
    let numbers = draft.job.labour.stints.iter().map(|stint| stint.number);
    let number = numbers.max().unwrap_or(0) + 1;
    let event = LabourEvent::ClockedOn {
        number,
        who,
        stage,
        rework,
    };
    draft.say(event.line());
    draft.push(Event::Labour(event));
    Ok(())
}

pub(super) fn clock_off(draft: &mut Draft, who: &str, desk: &Desk<'_>) -> Result<(), Refusal> {
    let who = whoever(draft, who, desk)?;
    let job = draft.job.number;
    let Some(stint) = draft.job.labour.running(&who).cloned() else {
        return Err(bad("who", &format!("{who} is not on at job {job}"))
            .hint(format!("begin with `lockring clock on {job}`")));
    };
    let now = draft.origin.made;
    let length = now.duration_since(stint.from);
    if length.is_negative() || length > SignedDuration::from_hours(LONGEST_HOURS) {
        let (from, now) = (desk.moment(stint.from), desk.moment(now));
        let problem = if length.is_negative() {
            format!(
                "the clock of {who} runs since {from}, which is later than {now}: was the computer's clock ahead then?"
            )
        } else {
            format!(
                "the clock of {who} runs since {from}, and {now} is more than {LONGEST_HOURS} hours later"
            )
        };
        let (what, from) = if length.is_negative() {
            ("began and ended", " --from 2026-03-10T09:00")
        } else {
            ("ended", "")
        };
        return Err(bad("made_at", &problem)
        .hint(format!(
            "say when the work {what}: lockring clock fix {job} {}{from} --to 2026-03-10T17:30 --why \"forgot it\"",
            stint.number
        )));
    }
    draft.push(Event::Labour(LabourEvent::ClockedOff { number: stint.number }));
    let minutes = (length.as_secs() + 30) / 60;
    let (first, again) = draft.job.labour.minutes();
    draft.say(format!("{who} off at {}: {minutes} min", stint.stage.word()));
    let whole = first + again;
    draft.say(match again {
        0 => format!("on this job {whole} min"),
        again if again == whole => format!("on this job {whole} min, all of it work done again"),
        again => format!("on this job {whole} min, {again} of them work done again"),
    });
    Ok(())
}

pub(super) fn clock_fix(
    draft: &mut Draft,
    number: u32,
    from: Option<Timestamp>,
    to: Timestamp,
    why: &str,
) -> Result<(), Refusal> {
    let why = require_text("the reason (--why)", why, "forgot it")?;
    let job = draft.job.number;
    let stint = draft
        .job
        .labour
        .stints
        .iter()
        .find(|stint| stint.number == number);
    let Some(stint) = stint else {
        return Err(bad("number", &format!("job {job} has no clock {number}"))
            .hint(format!("`lockring money {job}` lists them")));
    };
    let from = from.unwrap_or(stint.from);
    let length = to.duration_since(from);
    if length <= SignedDuration::ZERO || length > SignedDuration::from_hours(LONGEST_HOURS) {
        return Err(bad(
            "to",
            &format!(
                "{from} to {to} is no piece of work; expected an end after the beginning, {LONGEST_HOURS} hours later at most"
            ),
        ));
    }
    let of_same_hand = draft.job.labour.stints.iter();
    let mut of_same_hand = of_same_hand.filter(|other| other.who == stint.who && other.number != number);
    let meets = |other: &&Stint| other.from < to && other.to.is_none_or(|end| from < end);
    if let Some(other) = of_same_hand.find(meets) {
        let end = other
            .to
            .map_or_else(|| "still on".to_owned(), |end| format!("to {end}"));
        return Err(bad(
            "from",
            &format!(
                "{from} to {to} lies over clock {} of {}, {} {end}: nobody works twice at once",
                other.number, other.who, other.from
            ),
        )
        .hint(format!(
            "`lockring money {job}` lists the clocks; put clock {} right first",
            other.number
        )));
    }
    let event = LabourEvent::ClockFixed {
        number,
        from,
        to,
        why,
    };
    draft.push(Event::Labour(event));
    draft.say(format!("clock {number}: {} min", (length.as_secs() + 30) / 60));
    Ok(())
}
