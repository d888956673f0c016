//! Choosing, ordering and receiving parts.

use jiff::civil::Date;

use crate::command::{Desk, Draft, ReceiptText, Typed, Values, find_slot, refuse_field, require_text};
use crate::entry::{Event, Receipt};
use crate::field::{Field, Shape};
use crate::job::Line;
use crate::nearest::nearest;
use crate::part::{Part, PartKind, Slot};
use crate::refusal::{Reason, Refusal};
use crate::unit::Kind;

const VOLTS: Field = Field::new(
    "volts",
    "pack volts at rest",
    Shape::Quantity {
        kind: Kind::Voltage,
        unit: "V",
        window: (5.0, 100.0),
    },
);
const GROUP_SPREAD: Field = Field::new(
    "spread",
    "spread between cell groups",
    Shape::Quantity {
        kind: Kind::Voltage,
        unit: "mV",
        window: (0.0, 1500.0),
    },
);

pub(super) fn build(draft: &mut Draft, parts: &[Typed], desk: &Desk<'_>) -> Result<(), Refusal> {
    if parts.is_empty() {
        return Err(Refusal::new(
            Reason::BadInput,
            "no part given; expected SLOT=PART, for example `lockring build 21 motor=mid-48-250`",
        ));
    }
    // All are looked up before any is taken, so that one unknown part stores nothing.
    let mut events = Vec::new();
    for typed in parts {
        let slot = find_slot(&typed.field)?;
        if typed.text == "none" {
            if draft.job.build.contains_key(&slot) {
                events.push((Event::Dropped { slot }, format!("{}: empty", slot.word())));
            } else {
                draft.say(format!("{}: empty (as before)", slot.word()));
            }
            continue;
        }
        let part = find_part(slot, &typed.text, desk)?;
        let said = format!("{}: {}", slot.word(), part.name());
        let same = draft.job.build.get(&slot).is_some_and(|line| line.part == part);
        if same {
            draft.say(format!("{said} (as before)"));
        } else {
            events.push((Event::Chosen { slot, part }, said));
        }
    }
    for (event, said) in events {
        draft.push(event);
        draft.say(said);
    }
    Ok(())
}

/// Finds a part of the right kind for a slot.
pub(crate) fn find_part(slot: Slot, id: &str, desk: &Desk<'_>) -> Result<Part, Refusal> {
    let part = (desk.part)(id).ok_or_else(|| {
        let ids = (desk.part_ids)();
        let near = nearest(id, ids.iter().map(String::as_str)).join(", ");
        let refusal =
            Refusal::new(Reason::NoSuchPart, format!("the catalogue has no part `{id}`")).with("given", id);
        match near.as_str() {
            "" => refusal.hint(
                "`lockring catalogue list` shows all parts; `lockring catalogue import FILE` adds some",
            ),
            near => refusal.hint(format!(
                "did you mean {near}? `lockring catalogue list` shows all parts"
            )),
        }
    })?;
    if part.kind != slot.kind() {
        return Err(Refusal::new(
            Reason::BadInput,
            format!(
                "`{id}` is a {}; the slot `{}` takes a {}",
                part.kind.word(),
                slot.word(),
                slot.kind().word()
            ),
        )
        .with("given", id)
        .with("slot", slot.word())
        .hint(format!(
            "`lockring catalogue list {}` shows what fits the slot",
            slot.kind().word()
        )));
    }
    Ok(part)
}

pub(super) fn order(
    draft: &mut Draft,
    slots: &[String],
    supplier: &str,
    due: Option<Date>,
) -> Result<(), Refusal> {
    let supplier = require_text("supplier", supplier, "M")?;
    let slots: Vec<Slot> = if slots.is_empty() {
        draft
            .job
            .build
            .iter()
            .filter(|(_, line)| line.order.is_none() && line.receipt.is_none())
            .map(|(slot, _)| *slot)
            .collect()
    } else {
        slots
            .iter()
            .map(|word| find_slot(word))
            .collect::<Result<_, _>>()?
    };
    if slots.is_empty() {
        return Err(Refusal::new(
            Reason::SlotEmpty,
            format!("job {} has no part left to order", draft.job.number),
        )
        .hint(format!(
            "choose parts with `lockring build {} SLOT=PART`",
            draft.job.number
        )));
    }
    for slot in &slots {
        line_of(draft, *slot)?;
    }
    for slot in slots {
        let due_words = due.map_or_else(|| "no day promised".to_owned(), |due| format!("due {due}"));
        draft.say(format!("{} ordered from {supplier}, {due_words}", slot.word()));
        draft.push(Event::Ordered {
            slot,
            supplier: supplier.clone(),
            due,
        });
    }
    Ok(())
}

pub(super) fn receive(
    draft: &mut Draft,
    slot: &str,
    found: &[Typed],
    details: &ReceiptText,
) -> Result<(), Refusal> {
    let slot = find_slot(slot)?;
    let line = line_of(draft, slot)?.clone();
    let mut read = Values::new();
    for typed in found {
        let kind: PartKind = slot.kind();
        let attribute = kind.attribute(&typed.field).ok_or_else(|| {
            let keys: Vec<&str> = kind.attributes().map(|attribute| attribute.field.key).collect();
            let near = nearest(&typed.field, keys.iter().copied());
            let what = format!("attribute of a {}", kind.word());
            Refusal::unknown(
                &what,
                &typed.field,
                &near,
                &format!("a {} has {}", kind.word(), keys.join(", ")),
            )
        })?;
        let value = attribute
            .field
            .read(&typed.text, false)
            .map_err(|error| refuse_field(&typed.field, &error, ""))?;
        read.insert(attribute.field.key.to_owned(), value);
    }
    let volts = read_detail(&VOLTS, &details.volts)?;
    let group_spread = read_detail(&GROUP_SPREAD, &details.group_spread)?;
    let given = |text: &str| (!text.trim().is_empty()).then(|| text.trim().to_owned());
    let receipt = Receipt {
        slot,
        found: read,
        serial: given(&details.serial),
        lot: given(&details.lot),
        volts,
        group_spread,
        papers: given(&details.papers),
        damage: given(&details.damage),
    };
    let receipt = match &line.receipt {
        Some(before) if is_same_part(before, &receipt) => {
            draft.say(format!("added to what is on file of the {}", slot.word()));
            added(before, receipt)
        }
        _ => receipt,
    };
    say_receipt(draft, &line, &receipt);
    draft.push(Event::Received(receipt));
    Ok(())
}

/// Whether a further receipt speaks of the part on file: it tells something, and no other
/// serial. One that tells nothing, or another serial, is a replacement and begins anew.
fn is_same_part(before: &Receipt, now: &Receipt) -> bool {
    let tells = !now.found.is_empty()
        || now.volts.is_some()
        || now.group_spread.is_some()
        || [&now.serial, &now.lot, &now.papers, &now.damage]
            .iter()
            .any(|text| text.is_some());
    let other = matches!((&before.serial, &now.serial), (Some(old), Some(new)) if old != new);
    tells && !other
}

/// What is told now before what was on file: damage seen once, or a figure read off the part,
/// does not go away because its papers come later.
fn added(before: &Receipt, now: Receipt) -> Receipt {
    let mut found = before.found.clone();
    found.extend(now.found);
    Receipt {
        slot: now.slot,
        found,
        serial: now.serial.or_else(|| before.serial.clone()),
        lot: now.lot.or_else(|| before.lot.clone()),
        volts: now.volts.or(before.volts),
        group_spread: now.group_spread.or(before.group_spread),
        papers: now.papers.or_else(|| before.papers.clone()),
        damage: now.damage.or_else(|| before.damage.clone()),
    }
}

fn say_receipt(draft: &mut Draft, line: &Line, receipt: &Receipt) {
    let mut words = vec![format!("{} received: {}", receipt.slot.word(), line.part.name())];
    words.extend(receipt.serial.iter().map(|serial| format!("serial {serial}")));
    words.extend(receipt.lot.iter().map(|lot| format!("lot {lot}")));
    words.extend(
        receipt
            .volts
            .map(|volts| VOLTS.show(&crate::fact::Value::Number(volts))),
    );
    draft.say(words.join(", "));
    for (key, value) in &receipt.found {
        let Some(attribute) = line.part.kind.attribute(key) else {
            continue;
        };
        let found = attribute.field.show(value);
        match line.part.get(key) {
            Some(ordered) if ordered == value => {
                draft.say(format!("{}: {found}, as ordered", attribute.field.name))
            }
            Some(ordered) => {
                draft.say(format!(
                    "{}: {found}, ordered {}",
                    attribute.field.name,
                    attribute.field.show(ordered)
                ));
            }
            None => draft.say(format!("{}: {found}", attribute.field.name)),
        }
    }
}

fn read_detail(field: &Field, text: &str) -> Result<Option<f64>, Refusal> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let value = field
        .read(text, false)
        .map_err(|error| refuse_field(field.key, &error, ""))?;
    Ok(value.number())
}

fn line_of(draft: &Draft, slot: Slot) -> Result<&Line, Refusal> {
    draft.job.build.get(&slot).ok_or_else(|| {
        Refusal::new(
            Reason::SlotEmpty,
            format!("job {} has no {} chosen", draft.job.number, slot.word()),
        )
        .with("slot", slot.word())
        .hint(format!(
            "choose one with `lockring build {} {}=PART`",
            draft.job.number,
            slot.word()
        ))
    })
}
