//! A part put in for another one after handover, and what is seen on it then or later.

use super::after::handed_over;
use super::read::{bad, word};
use crate::after::{AfterEvent, Payer};
use crate::check;
use crate::command::{Desk, Draft, ReceiptText, Typed, find_slot, gates, parts, require_text};
use crate::entry::Event;
use crate::gate;
use crate::part::Slot;
use crate::receipt::Receipt;
use crate::refusal::{Reason, Refusal};
use crate::stage::Stage;
use crate::supply::goods_in;

/// A swap as typed; see [`MoneyEntry::Swap`](super::MoneyEntry::Swap).
pub(super) struct Asked<'t> {
    pub(super) slot: &'t str,
    pub(super) serial_out: &'t str,
    pub(super) payer: &'t str,
    pub(super) why: &'t str,
    pub(super) found: &'t [Typed],
    pub(super) came: &'t ReceiptText,
}

pub(super) fn swap(draft: &mut Draft, typed: &Asked<'_>, desk: &Desk<'_>) -> Result<(), Refusal> {
    handed_over(draft, "a swap")?;
    let slot = find_slot(typed.slot)?;
    let on_file = draft.job.build.get(&slot).and_then(|line| line.receipt.clone());
    let Some(on_file) = on_file else {
        return Err(Refusal::new(
            Reason::SlotEmpty,
            format!(
                "job {} was handed over without a {}",
                draft.job.number,
                slot.word()
            ),
        ));
    };
    let seen = parts::read_receipt(slot, typed.found, typed.came, desk.shop)?;
    let is_a_look = [
        typed.came.serial.as_str(),
        typed.serial_out,
        typed.payer,
        typed.why,
    ]
    .iter()
    .all(|text| text.trim().is_empty());
    let event = if is_a_look && seen.tells() {
        parts::say_readings_stay(draft, &on_file, &seen, desk.rules);
        look(draft, &on_file, seen, desk)?
    } else {
        replace(draft, &on_file, typed, seen, desk)?
    };
    draft.say(event.line());
    let receipt = match &event {
        AfterEvent::Replaced { came, .. } | AfterEvent::LookedAt(came) => Some(came.clone()),
        _ => None,
    };
    if let (Some(line), Some(receipt)) = (draft.job.build.get(&slot).cloned(), receipt) {
        if let Some(serial) = &receipt.serial {
            parts::say_shared(draft, slot, serial, desk);
        }
        parts::say_found(draft, &line, &receipt);
        if receipt.seen().is_none() {
            draft.say(format!("look at: {}", goods_in::look_at(slot.kind()).join("; ")));
        }
    }
    draft.push(Event::After(event));
    parts::say_recalls(draft, slot, desk);
    judge(draft, slot, desk);
    Ok(())
}

/// Another one goes on: of the one before nothing counts for it.
fn replace(
    draft: &Draft,
    on_file: &Receipt,
    typed: &Asked<'_>,
    seen: Receipt,
    desk: &Desk<'_>,
) -> Result<AfterEvent, Refusal> {
    let (slot, job) = (on_file.slot, draft.job.number);
    let known = on_file.serial.clone().unwrap_or_default();
    let serial_out = match typed.serial_out.trim() {
        "" => known.clone(),
        typed => typed.to_owned(),
    };
    if !known.is_empty() && serial_out != known {
        return Err(bad(
            "serial_out",
            &format!("`{serial_out}` came off, but {known} is on this bicycle"),
        )
        .hint("look at the label again; the bicycle may be another one"));
    }
    let serial_in = require_text("the serial that goes on (--in)", &typed.came.serial, "40871")?;
    parts::refuse_twice_of_kind(&draft.job, slot, &serial_in, desk)?;
    if slot.is_traced() && seen.lot.is_none() {
        let word = slot.word();
        let why = format!(
            "a {word} goes on without a lot; expected the mark on its label, so that a recall finds it"
        );
        return Err(bad("lot_in", &why).hint(format!(
            "add --lot as it stands on the label: lockring swap {job} {word} --in {serial_in} --lot LOT --payer WHO --why \
             TEXT"
        )));
    }
    Ok(AfterEvent::Replaced {
        serial_out,
        came: Receipt {
            serial: Some(serial_in),
            ..seen
        },
        payer: word("payer", typed.payer, &Payer::ALL, Payer::word)?,
        why: require_text("the reason (--why)", typed.why, "pack swollen")?,
    })
}

/// More is seen on one that went on: it is added to what is on file of it.
fn look(draft: &Draft, on_file: &Receipt, seen: Receipt, desk: &Desk<'_>) -> Result<AfterEvent, Refusal> {
    let (slot, job) = (on_file.slot, draft.job.number);
    if draft.job.after.swaps.iter().all(|swap| swap.slot != slot) {
        let word = slot.word();
        return Err(bad(
            "serial_in",
            &format!(
                "the {word} of job {job} is the one it was handed over with: what its gates saw on it stays as it is"
            ),
        )
        .hint(format!(
            "if another one goes on: lockring swap {job} {word} --in SERIAL --lot LOT --payer WHO --why TEXT"
        )));
    }
    Ok(AfterEvent::LookedAt(parts::added(
        &draft.job, on_file, seen, desk.rules,
    )))
}

/// The checks on arrival, by what is on file of the new one: no gate comes after handover, so they are said here.
fn judge(draft: &mut Draft, slot: Slot, desk: &Desk<'_>) {
    let glances = desk.glance(Stage::Parts, &draft.job);
    let reports = glances
        .iter()
        .filter(|glance| gate::looks_at(glance, slot))
        .map(|glance| check::run(glance.check, &draft.job, desk.rules, Stage::Parts));
    draft.checks = reports
        .map(|report| gate::as_swapped(&draft.job, report))
        .collect();
    draft.next = gates::next_steps(draft.checks.iter().flat_map(|report| &report.missing));
}
