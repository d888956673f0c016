//! What comes after handover: visits and claims.

use jiff::Timestamp;

use super::quote::{say_standing, warn_refund};
use super::read::{bad, optional_word, read_amount, read_km, word};
use crate::account::{AccountEvent, PayKind};
use crate::after::{AfterEvent, Payer, Visit};
use crate::command::{Desk, Draft, require_text};
use crate::entry::Event;
use crate::labour::Cause;
use crate::money::Money;
use crate::refusal::{Reason, Refusal};
use crate::stage::Stage;

pub(super) fn handed_over(draft: &Draft, what: &str) -> Result<(), Refusal> {
    if draft.job.stage == Stage::HandedOver {
        return Ok(());
    }
    Err(Refusal::new(
        Reason::GateClosed,
        format!(
            "job {} is at {}: {what} comes after handover",
            draft.job.number,
            draft.job.stage.word()
        ),
    )
    .with("job", draft.job.number)
    .hint(format!(
        "hand it over with `lockring advance {}`",
        draft.job.number
    )))
}

/// Says what looks like a slip of what was just entered, and how it goes.
fn warn_slip(draft: &mut Draft, what: &str) {
    let (job, entry) = (draft.job.number, draft.job.revision);
    draft.say(format!(
        "CAUTION: {what}; if it was a slip: lockring undo {job} --entry {entry}"
    ));
}

/// What of a distance ridden, km, cannot well be: less than was read before, or more than anybody rides since the handover.
fn unlikely(draft: &Draft, ridden: u32, desk: &Desk<'_>) -> Option<String> {
    let before = draft
        .job
        .after
        .visits
        .iter()
        .filter_map(|one| one.visit.odometer_km);
    if let Some(before) = before.max().filter(|before| ridden < *before) {
        return Some(format!(
            "{ridden} km is less than the {before} km of a visit before"
        ));
    }
    let a_day = desk.rules.number("after.ridden-a-day")? / 1000.0;
    let hours = draft.origin.made.duration_since(draft.job.stage_since).as_hours();
    // The day of the handover counts whole.
    let days = (hours / 24).max(0) + 1;
    let most = a_day * days as f64;
    (f64::from(ridden) > most).then(|| {
        format!("{ridden} km since the handover is more than {most:.0} km, {a_day:.0} km on each day of it")
    })
}

pub(super) fn visit(
    draft: &mut Draft,
    typed: [&String; 5],
    first_check: bool,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    let [symptom, odometer, found, cause, payer] = typed;
    handed_over(draft, "a visit")?;
    let visit = Visit {
        symptom: symptom.trim().to_owned(),
        odometer_km: read_km(odometer)?,
        found: require_text("what was found (--found)", found, "spokes tightened")?,
        cause: optional_word("cause", cause, &Cause::ALL, Cause::word)?,
        payer: optional_word("payer", payer, &Payer::ALL, Payer::word)?,
        first_check,
    };
    let slip = visit.odometer_km.and_then(|ridden| unlikely(draft, ridden, desk));
    let event = AfterEvent::Visited(visit);
    draft.say(event.line());
    draft.push(Event::After(event));
    if let Some(what) = slip {
        warn_slip(draft, &what);
    }
    Ok(())
}

pub(super) fn claim(
    draft: &mut Draft,
    against: &str,
    about: &str,
    amount: &str,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    handed_over(draft, "a claim")?;
    let against = word("side to claim against", against, &Payer::ALL, Payer::word)?;
    let about = require_text("what the claim is for", about, "controller dead after rain")?;
    let amount = match amount.trim() {
        "" => None,
        typed => Some(read_amount("amount", typed, desk.shop)?),
    };
    let numbers = draft.job.after.claims.iter().map(|claim| claim.number);
    let event = AfterEvent::Claimed {
        number: numbers.max().unwrap_or(0) + 1,
        against,
        about,
        amount,
    };
    draft.say(event.line());
    draft.push(Event::After(event));
    Ok(())
}

pub(super) fn claim_settle(
    draft: &mut Draft,
    number: u32,
    paid: &str,
    how: &str,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    let how = require_text("how it ended (--how)", how, "supplier sent a new one")?;
    let paid = match paid.trim() {
        "" => Money::ZERO,
        typed => read_amount("paid", typed, desk.shop)?,
    };
    let claims = draft.job.after.claims.iter();
    let mut open = claims.filter(|claim| claim.number == number && claim.settled.is_none());
    let Some((against, asked)) = open.next().map(|claim| (claim.against, claim.amount)) else {
        return Err(bad(
            "number",
            &format!("job {} has no open claim {number}", draft.job.number),
        ));
    };
    // It takes off what there is to pay, as what is written off does.
    if against == Payer::Shop && paid != Money::ZERO {
        desk.shop
            .owner(&draft.origin.by, "paying a claim against the shop")?;
    }
    let event = AfterEvent::ClaimSettled {
        number,
        paid,
        how: how.clone(),
    };
    draft.say(event.line());
    draft.push(Event::After(event));
    if let Some(asked) = asked.filter(|asked| paid > *asked) {
        warn_slip(
            draft,
            &format!("{paid} paid is more than the {asked} that were claimed"),
        );
    }
    if against == Payer::Shop && paid != Money::ZERO {
        give_up(draft, number, paid, &how);
    }
    Ok(())
}

/// Says which credits were entered by hand since a claim was opened: with its end, one meant for it counts twice.
fn warn_credited(draft: &mut Draft, number: u32) {
    let job = &draft.job;
    let claims = &job.after.claims;
    let Some(opened) = claims
        .iter()
        .find(|claim| claim.number == number)
        .map(|claim| claim.opened)
    else {
        return;
    };
    let came_with_an_end = |at: Timestamp| {
        claims
            .iter()
            .any(|claim| matches!(claim.settled, Some((ended, ..)) if ended == at))
    };
    let by_hand: Vec<String> = job
        .account
        .payments
        .iter()
        .filter(|payment| payment.kind == PayKind::Credit && payment.at >= opened)
        .filter(|payment| !came_with_an_end(payment.at))
        .map(|payment| {
            format!(
                "{} ({}): `lockring undo {} --entry {}`",
                payment.amount, payment.how, job.number, payment.seq
            )
        })
        .collect();
    if !by_hand.is_empty() {
        draft.say(format!(
            "CAUTION: a credit entered since claim {number} was opened counts beside what its end takes off; take it back if it \
             was for the claim: {}",
            by_hand.join(", ")
        ));
    }
}

/// What the shop pays for a claim against itself comes off what there is to pay, so that a refund of it is not owed again.
fn give_up(draft: &mut Draft, number: u32, paid: Money, how: &str) {
    let amount = paid.min(draft.job.to_pay()).max(Money::ZERO);
    let beyond = paid - amount;
    if amount != Money::ZERO {
        warn_credited(draft, number);
        let event = AccountEvent::Paid {
            kind: PayKind::Credit,
            amount,
            how: format!("claim {number}: {how}"),
        };
        draft.say(event.line());
        draft.push(Event::Account(event));
    }
    if beyond != Money::ZERO {
        draft.say(format!(
            "{beyond} of it is more than the bicycle costs the rider: it stands in no sum of this job"
        ));
    }
    say_standing(draft);
    warn_refund(draft, PayKind::Credit);
}
