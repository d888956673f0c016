//! Choosing, ordering and receiving parts.

use std::ops::Deref;

use jiff::civil::Date;

use crate::account::LineKind;
use crate::checks::pack_receipt_volts;
use crate::command::gates::do_or_does;
use crate::command::money::unquoted::{warn_left, warn_unquoted};
use crate::command::{Desk, Draft, ReceiptText, Typed, Values, find_slot, refuse_field, require_text};
use crate::entry::Event;
use crate::field::{Field, Shape};
use crate::gate;
use crate::job::{Job, Line};
use crate::length;
use crate::money::Money;
use crate::nearest::nearest;
use crate::part::{Part, PartKind, Slot};
use crate::recalled;
use crate::receipt::Receipt;
use crate::refusal::{Reason, Refusal};
use crate::rules::RuleSheet;
use crate::shell_word::quoted;
use crate::shop::{Shop, suppliers};
use crate::stage::Stage;
use crate::supply::event::SupplyEvent;
use crate::supply::line::OrderLine;
use crate::supply::piece::{self, Fate, Holder, Off, Piece};
use crate::supply::{goods_in, mark_key};
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
        // One that is there already stays.
        let is_held = draft
            .job
            .build
            .get(&slot)
            .is_some_and(|line| line.part.id == part.id);
        if !is_held {
            refuse_withdrawn(&part, desk.shop)?;
        }
        let said = format!("{}: {}", slot.word(), part.name());
        match draft.job.build.get(&slot) {
            Some(line) if line.part == part => draft.say(format!("{said} (as before)")),
            // The same part, of which the catalogue says something else by now: no other piece comes in its place.
            Some(line) if line.part.id == part.id => {
                let changes = line.part.changes(&part);
                let said = format!("{said}, as the catalogue has it now: {}", changes.join(", "));
                events.push((Event::Corrected { slot, part }, said));
            }
            _ => events.push((Event::Chosen { slot, part }, said)),
        }
    }
    let mut gone = Vec::new();
    for (event, said) in events {
        if let Event::Dropped { slot } | Event::Chosen { slot, .. } = &event {
            let before = draft.job.build.get(slot);
            gone.extend(before.map(|line| line.part.name().to_owned()));
        }
        let chosen = match &event {
            Event::Chosen { slot, part } => Some((*slot, part.id.clone())),
            _ => None,
        };
        draft.push(event);
        draft.say(said);
        let lies = |(slot, id): &(Slot, String)| {
            let mut loose = draft.job.loose();
            loose.any(|piece| piece.slot == *slot && piece.goods.part == *id)
        };
        if let Some((slot, _)) = chosen.filter(lies) {
            let (job, slot) = (draft.job.number, slot.word());
            draft.say(format!(
                "the one that was taken off lies in the shop: `lockring receive {job} {slot}` once it is on again"
            ));
        }
    }
    if !gone.is_empty() {
        warn_left(draft, &gone);
    }
    Ok(())
}

/// Finds a part of the right kind for a slot.
pub(crate) fn find_part(slot: Slot, id: &str, desk: &Desk<'_>) -> Result<Part, Refusal> {
    let part = find_part_of(id, desk)?;
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

/// Refuses a part that the shop offers no more.
///
/// # Errors
/// [`Reason::CannotStand`] with why it was withdrawn and the ways out.
pub(crate) fn refuse_withdrawn(part: &Part, shop: &Shop) -> Result<(), Refusal> {
    let Some(said) = shop.withdrawn.get(&part.id) else {
        return Ok(());
    };
    Err(Refusal::new(
        Reason::CannotStand,
        format!("`{}` was withdrawn from the catalogue: {}", part.id, said.why),
    )
    .with("given", &part.id)
    .hint(format!(
        "choose another: `lockring catalogue list {}` shows what is offered; or offer it again with `lockring catalogue offer {}`",
        part.kind.word(),
        part.id
    )))
}

/// Finds a part of any kind.
pub(crate) fn find_part_of(id: &str, desk: &Desk<'_>) -> Result<Part, Refusal> {
    (desk.part)(id).ok_or_else(|| {
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
    })
}

pub(super) fn order(
    draft: &mut Draft,
    slots: &[String],
    supplier: &str,
    due: Option<Date>,
    price: &str,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    let supplier = require_text("supplier", supplier, "M")?;
    let price = read_price(price, desk.shop)?;
    let slots: Vec<Slot> = if slots.is_empty() {
        draft
            .job
            .build
            .keys()
            .copied()
            .filter(|slot| draft.job.is_to_order(*slot))
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
    if price.is_some() && slots.len() > 1 {
        let words: Vec<&str> = slots.iter().map(|slot| slot.word()).collect();
        return Err(Refusal::new(
            Reason::BadInput,
            format!(
                "one price for {}; expected one slot with a price",
                words.join(", ")
            ),
        )
        .with("field", "price")
        .hint(
            "order each part with its own price, for example `lockring order 21 motor --from N --price 268`",
        ));
    }
    for slot in &slots {
        let line = line_of(draft, *slot)?;
        if line.receipt.is_some() {
            return Err(is_here(&draft.job, *slot, &supplier));
        }
    }
    place(draft, &slots, &supplier, due, price, desk);
    warn_shut(draft, desk);
    warn_deposit(draft, desk.rules);
    warn_unquoted(draft);
    warn_cost(draft, desk.rules);
    Ok(())
}

/// Says that parts are ordered for a bicycle of which nobody knows yet that they fit.
fn warn_shut(draft: &mut Draft, desk: &Desk<'_>) {
    if draft.job.stage != Stage::Intake {
        return;
    }
    let reports = gate::run(Stage::Intake, &draft.job, desk.rules);
    let short = reports.iter().filter(|report| !report.holds()).count();
    let job = draft.job.number;
    draft.say(if short == 0 {
        format!("CAUTION: gate intake has not passed, and nothing stands in its way: `lockring advance {job}`")
    } else {
        format!(
            "CAUTION: gate intake has not passed, {short} of its {} checks {} not hold: what is ordered may not fit; \
             `lockring check {job}`",
            reports.len(),
            do_or_does(short)
        )
    });
}

/// Says what is missing of the deposit that orders wait for: without it the shop buys with its own
/// money. A job without a quote has none.
fn warn_deposit(draft: &mut Draft, rules: &RuleSheet) {
    let due = deposit_due(&draft.job, rules);
    if due > Money::ZERO {
        let share = rules.number("money.deposit-share").unwrap_or(0.0);
        let (total, paid) = (draft.job.account.total(), draft.job.account.paid());
        let job = draft.job.number;
        draft.say(format!(
            "CAUTION: {paid} paid, a deposit of {} ({:.0} % of {total}) comes before the order; until then this is \
             the shop's own money: `lockring pay {job} {due} --kind deposit`",
            paid + due,
            100.0 * share
        ));
    }
}

/// What is missing of the deposit that orders of a job wait for; nothing where nothing is quoted.
pub fn deposit_due(job: &Job, rules: &RuleSheet) -> Money {
    let share = rules.number("money.deposit-share").unwrap_or(0.0);
    let wanted = job
        .account
        .total()
        .share((10_000.0 * share).round() as i64, 10_000);
    (wanted - job.account.paid()).max(Money::ZERO)
}

/// Says when what is ordered costs more than the quote was made with.
fn warn_cost(draft: &mut Draft, rules: &RuleSheet) {
    let share = rules.number("money.cost-over-quote").unwrap_or(0.0);
    let lines = draft.job.account.lines.iter();
    let quoted: Money = lines
        .filter(|line| line.kind == LineKind::Part && !line.rework)
        .map(|line| line.cost)
        .sum();
    let kept = |line: &&OrderLine| line.cancelled.is_none() && line.returned == 0;
    let priced = draft.job.orders.iter().filter(kept);
    let ordered: Money = priced
        .filter_map(|line| line.price.map(|price| price.times(line.count)))
        .sum();
    let allowed = quoted + quoted.share((10_000.0 * share).round() as i64, 10_000);
    if quoted > Money::ZERO && ordered > allowed {
        let job = draft.job.number;
        draft.say(format!(
            "CAUTION: {ordered} ordered, quoted at a cost of {quoted}: more than {:.0} % over it; quote again or carry it: \
             lockring quote {job}",
            100.0 * share
        ));
    }
}

/// The refusal of an order for a slot whose part is here: the build would await nothing of it.
fn is_here(job: &Job, slot: Slot, supplier: &str) -> Refusal {
    let (number, word) = (job.number, slot.word());
    let mark = job
        .piece(slot)
        .and_then(|piece| piece.serial.as_ref().or(piece.lot.as_ref()))
        .map_or_else(String::new, |mark| format!(" ({mark})"));
    let id = job.build.get(&slot).map_or("PART", |line| &line.part.id);
    Refusal::new(
        Reason::BadInput,
        format!("the {word} of job {number} is here{mark}: it is not ordered again"),
    )
    .with("slot", word)
    .hint(format!(
        "to order its replacement, send this one back first: `lockring return {number} {word} --why …`; another part in its \
         place: `lockring order substitute {number} {word} PART`; one for the shelf: \
         `lockring order shelf {id} --from {}`",
        quoted(supplier)
    ))
}

/// Writes orders down with the day of each, and says so.
pub(super) fn place(
    draft: &mut Draft,
    slots: &[Slot],
    supplier: &str,
    due: Option<Date>,
    price: Option<Money>,
    desk: &Desk<'_>,
) {
    let (supplier, mut remarks) = suppliers::ordered_from(desk.shop, supplier, due);
    let today = desk.day_of(&draft.origin);
    for slot in slots {
        let part = draft.job.build.get(slot).map(|line| &line.part);
        let usual = part
            .filter(|_| due.is_none())
            .and_then(|part| suppliers::usual_day(desk.shop, &supplier, part, today));
        place_one(
            draft,
            *slot,
            &supplier,
            due.or(usual.as_ref().map(|(day, _)| *day)),
            price,
        );
        let said = usual.map(|(_, said)| said);
        remarks.extend(said.filter(|said| !remarks.contains(said)));
    }
    for remark in remarks {
        draft.say(remark);
    }
    warn_elsewhere(draft, slots, &supplier);
}

/// Says whom the catalogue has parts from that were ordered from somebody else.
fn warn_elsewhere(draft: &mut Draft, slots: &[Slot], supplier: &str) {
    let mut by_supplier: Vec<(String, Vec<Slot>)> = Vec::new();
    for slot in slots {
        let part = draft.job.build.get(slot).map(|line| &line.part);
        let Some(from) = part.and_then(|part| suppliers::elsewhere(part, supplier)) else {
            continue;
        };
        match by_supplier.iter_mut().find(|(known, _)| known == from) {
            Some((_, slots)) => slots.push(*slot),
            None => by_supplier.push((from.to_owned(), vec![*slot])),
        }
    }
    let job = draft.job.number;
    for (from, slots) in by_supplier {
        let words: Vec<&str> = slots.iter().map(|slot| slot.word()).collect();
        draft.say(format!(
            "CAUTION: the catalogue has it from {from}, not from {supplier}: {}; if {supplier} is a slip: \
             `lockring order {job} {} --from {}`",
            words.join(", "),
            words.join(" "),
            quoted(&from)
        ));
    }
}

/// Writes an order down and says so.
fn place_one(draft: &mut Draft, slot: Slot, supplier: &str, due: Option<Date>, price: Option<Money>) {
    let due_words = due.map_or_else(|| "no day promised".to_owned(), |due| format!("due {due}"));
    let price_words = price.map_or_else(String::new, |price| format!(", {price}"));
    if let Some(before) = draft.job.open_order(slot) {
        let before = format!("the order from {} is no longer awaited", before.supplier);
        draft.say(before);
    }
    draft.say(format!(
        "{} ordered from {supplier}, {due_words}{price_words}",
        slot.word()
    ));
    draft.push(Event::Ordered {
        slot,
        supplier: supplier.to_owned(),
        due,
        price,
    });
}

/// A price as typed, in the shop's money; none when nothing was typed.
pub(crate) fn read_price(text: &str, shop: &Shop) -> Result<Option<Money>, Refusal> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let wrong = |message: String| {
        Refusal::new(Reason::BadInput, message)
            .with("field", "price")
            .with("given", text)
    };
    let price = Money::read_in(text, &shop.currency().code).map_err(|error| wrong(error.to_string()))?;
    if price.is_negative() {
        return Err(wrong(format!(
            "`{text}` is less than nothing; expected a price such as 98.50"
        )));
    }
    Ok(Some(price))
}

pub(super) fn receive(
    draft: &mut Draft,
    slot: &str,
    found: &[Typed],
    details: &ReceiptText,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    if slot.trim().eq_ignore_ascii_case("all") {
        return Err(each_by_itself(draft));
    }
    let slot = find_slot(slot)?;
    let line = line_of(draft, slot)?.clone();
    let receipt = read_receipt(slot, found, details, desk.shop)?;
    let receipt = match &line.receipt {
        Some(before) if piece::is_same(before, &receipt) => {
            draft.say(format!("added to what is on file of the {}", slot.word()));
            say_damage_stays(draft, before, &receipt);
            say_readings_stay(draft, before, &receipt, desk.rules);
            added(&draft.job, before, receipt, desk.rules)
        }
        _ => Receipt {
            // It may come with an order of which the build says nothing any more.
            supplier: draft
                .job
                .order_of(slot)
                .filter(|_| line.order.is_none())
                .map(|order| order.supplier),
            ..receipt
        },
    };
    if let Some(serial) = &receipt.serial {
        refuse_twice(&draft.job, slot, serial, desk)?;
        say_shared(draft, slot, serial, desk);
    }
    say_receipt(draft, &line, &receipt);
    if !receipt.tells() {
        draft.say(format!("look at: {}", goods_in::look_at(slot.kind()).join("; ")));
    }
    let lay_loose = lay_loose(draft, &line, &receipt);
    let came = draft.job.pieces.len();
    draft.push(Event::Received(receipt));
    if draft.job.pieces.len() > came {
        note_refitted(draft, slot, lay_loose);
    }
    say_recalls(draft, slot, desk);
    Ok(())
}

/// Says which recalls mean what just came for a slot.
pub(super) fn say_recalls(draft: &mut Draft, slot: Slot, desk: &Desk<'_>) {
    let words = recalled::on_arrival(desk.shop, desk.zone, &draft.job, slot);
    draft.said.extend(words);
}

/// The refusal of parts received by the parcel: a wrong one is found by reading what is printed on it, and only while it can
/// still go back.
fn each_by_itself(draft: &Draft) -> Refusal {
    let number = draft.job.number;
    let open = draft.job.orders.iter().filter(|line| line.is_open());
    let lines: Vec<String> = open
        .filter_map(|line| line.slot)
        .map(|slot| format!("`lockring receive {number} {}`", slot.word()))
        .collect();
    let refusal = Refusal::new(
        Reason::BadInput,
        "parts are not received by the parcel: what came is read off each of them",
    )
    .with("field", "slot");
    match lines.as_slice() {
        [] => refusal.hint(format!("job {number} awaits no order")),
        lines => refusal.hint(format!(
            "one line each, with what its label says (--serial, --lot): {}",
            lines.join(", ")
        )),
    }
}

/// Reads what was seen on goods that came for a slot.
pub(crate) fn read_receipt(
    slot: Slot,
    found: &[Typed],
    details: &ReceiptText,
    shop: &Shop,
) -> Result<Receipt, Refusal> {
    let home = shop.currency().code;
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
            .in_currency(&typed.text, &home)
            .and_then(|()| attribute.field.read(&typed.text, false))
            .map_err(|error| refuse_field(&typed.field, &error, ""))?;
        read.insert(attribute.field.key.to_owned(), value);
    }
    let volts = read_detail(&VOLTS, &details.volts)?;
    let group_spread = read_detail(&GROUP_SPREAD, &details.group_spread)?;
    let given = |field: &str, text: &str| {
        let text = length::words(field, text)?;
        Ok(Some(text).filter(|text| !text.is_empty()))
    };
    Ok(Receipt {
        slot,
        found: read,
        serial: given("serial", &details.serial)?,
        lot: given("lot", &details.lot)?,
        volts,
        group_spread,
        papers: given("papers", &details.papers)?,
        damage: given("damage", &details.damage)?,
        shelf: None,
        supplier: None,
        paid: None,
    })
}

/// The piece that was taken off and is received now without an order: it went back on.
fn lay_loose(draft: &Draft, line: &Line, receipt: &Receipt) -> Option<Off> {
    if draft.job.open_order(receipt.slot).is_some() {
        return None;
    }
    let is_it = |piece: &&Piece| {
        let bears = match (&piece.serial, &receipt.serial) {
            (Some(known), Some(now)) => mark_key(known) == mark_key(now),
            (None, Some(_)) => false,
            // Into an empty slot goes what lies beside it; over another piece, a further one came.
            (_, None) => line.receipt.is_none(),
        };
        piece.slot == receipt.slot && piece.goods.part == line.part.id && bears
    };
    draft.job.loose().find(is_it).map(Off::from)
}

fn note_refitted(draft: &mut Draft, slot: Slot, off: Option<Off>) {
    let Some(off) = off else { return };
    draft.say(format!(
        "it is the one that was taken off ({}), on the job again",
        off.mark()
    ));
    draft.push(Event::Supply(SupplyEvent::PartWent {
        slot,
        off: Some(off),
        to: Fate::Refitted,
        item: None,
        why: "received again".into(),
        moved: false,
    }));
}

/// The kind of the piece that somebody holds; `None` for a part that left the catalogue.
fn kind_of(holder: &Holder, desk: &Desk<'_>) -> Option<PartKind> {
    let of_part = || (desk.part)(&holder.part).map(|part| part.kind);
    holder.slot.map(Slot::kind).or_else(of_part)
}

/// Where else a serial is than in this slot of this job.
fn elsewhere(job: u32, slot: Slot, serial: &str, desk: &Desk<'_>) -> Vec<Holder> {
    let mut holders = (desk.holders)(&mark_key(serial));
    holders.retain(|holder| !(holder.job == Some(job) && holder.slot == Some(slot)));
    holders
}

/// Says of a serial that another part bears too: makers number alike, and so does a label that was read twice.
pub(super) fn say_shared(draft: &mut Draft, slot: Slot, serial: &str, desk: &Desk<'_>) {
    if let Some(holder) = elsewhere(draft.job.number, slot, serial, desk).first() {
        draft.say(format!(
            "serial {serial} is {} too: is it this {}'s own label?",
            holder.place(),
            slot.word()
        ));
    }
}

/// A piece with a serial number is in one place at a time; the same number on another part is another piece.
pub(super) fn refuse_twice(job: &Job, slot: Slot, serial: &str, desk: &Desk<'_>) -> Result<(), Refusal> {
    refuse_where(job, slot, serial, desk, |holder, line| {
        holder.part == line.part.id
    })
}

/// As [`refuse_twice`] for a piece of which nobody says which part of the catalogue it is: any of its kind may be it.
pub(super) fn refuse_twice_of_kind(
    job: &Job,
    slot: Slot,
    serial: &str,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    refuse_where(job, slot, serial, desk, |holder, line| {
        holder.part == line.part.id || kind_of(holder, desk) == Some(line.part.kind)
    })
}

fn refuse_where(
    job: &Job,
    slot: Slot,
    serial: &str,
    desk: &Desk<'_>,
    is_it: impl Fn(&Holder, &Line) -> bool,
) -> Result<(), Refusal> {
    let Some(line) = job.build.get(&slot) else {
        return Ok(());
    };
    let found = elsewhere(job.number, slot, serial, desk);
    match found.into_iter().find(|holder| is_it(holder, line)) {
        None => Ok(()),
        Some(holder) => Err(Refusal::new(
            Reason::ElsewhereAlready,
            format!(
                "serial {serial} of {} is {} already; a piece is in one place",
                line.part.name(),
                holder.place()
            ),
        )
        .with("serial", serial)
        .with("slot", slot.word())
        .hint(format!(
            "read it off the part again; `lockring where {serial}` shows where it was"
        ))),
    }
}

/// Says that a piece that was damaged once is not whole because somebody now says so.
pub(super) fn say_damage_stays(draft: &mut Draft, before: &Receipt, now: &Receipt) {
    let denied = now.damage.as_ref().filter(|_| now.damaged().is_none());
    if let (Some(damage), Some(_)) = (before.damaged(), denied) {
        let (word, job) = (now.slot.word(), draft.job.number);
        // Every receipt since then carries the damage, the one of now too.
        let carry = draft.job.build.get(&now.slot).map(|line| line.damaged_in.clone());
        let carry = carry
            .unwrap_or_default()
            .into_iter()
            .chain([draft.job.revision + 1]);
        let undos: Vec<String> = carry
            .rev()
            .map(|seq| format!("`lockring undo {job} --entry {seq}`"))
            .collect();
        let by_mistake = match before.shelf {
            None => format!("written by mistake: {}; ", undos.join(", then ")),
            // What came from the shelf goes back there.
            Some(_) => String::new(),
        };
        draft.say(format!(
            "the damage on file of this {word} stays: {damage}; {by_mistake}another piece is received with its own serial"
        ));
    }
}

/// Says that a pack that came too empty, too full or with its groups too far apart is not sound because it was charged since.
pub(super) fn say_readings_stay(draft: &mut Draft, before: &Receipt, now: &Receipt, rules: &RuleSheet) {
    let kept = kept(&draft.job, before, now, rules);
    let mut stays: Vec<String> = Vec::new();
    stays.extend(
        kept.volts
            .map(|volts| VOLTS.show(&crate::fact::Value::Number(volts))),
    );
    stays.extend(kept.group_spread.map(|spread| {
        let spread = GROUP_SPREAD.show(&crate::fact::Value::Number(spread));
        format!("a spread of {spread}")
    }));
    if stays.is_empty() {
        return;
    }
    let (word, job) = (now.slot.word(), draft.job.number);
    draft.say(format!(
        "what this {word} came with stays: {}; written by mistake: `lockring undo {job} --entry NUMBER` for each entry \
         since then that tells it (`lockring history {job}`); another piece is received with its own serial",
        stays.join(" and ")
    ));
}

/// Readings on file that another one takes nothing away from.
struct KeptReadings {
    volts: Option<f64>,
    group_spread: Option<f64>,
}

/// What was read of a pack on arrival and sends it back, where it is read again and the new reading would not.
fn kept(job: &Job, before: &Receipt, now: &Receipt, rules: &RuleSheet) -> KeptReadings {
    // An old entry that swapped a pack left on file what was read of the one before it.
    let is_of_another = job.piece(now.slot).is_some_and(|piece| {
        let mut before = job.pieces.iter().filter(|before| before.slot == piece.slot);
        before.any(|before| {
            let left = before.left.as_ref();
            left.is_some_and(|left| left.fate == Fate::Gone && left.at == piece.came)
        })
    });
    let tells = now.volts.is_some() || now.group_spread.is_some();
    if now.slot != Slot::Pack || is_of_another || !tells {
        return KeptReadings {
            volts: None,
            group_spread: None,
        };
    }
    let (then, since) = (
        pack_receipt_volts::sends_back(job, rules, before),
        pack_receipt_volts::sends_back(job, rules, now),
    );
    KeptReadings {
        volts: before.volts.filter(|_| then.0 && now.volts.is_some() && !since.0),
        group_spread: before
            .group_spread
            .filter(|_| then.1 && now.group_spread.is_some() && !since.1),
    }
}

/// What is told now before what was on file: damage seen once, or a figure read off the part,
/// does not go away because its papers come later, nor does a reading that sends a pack back.
pub(super) fn added(job: &Job, before: &Receipt, now: Receipt, rules: &RuleSheet) -> Receipt {
    let kept = kept(job, before, &now, rules);
    let mut found = before.found.clone();
    found.extend(now.found);
    Receipt {
        slot: now.slot,
        found,
        serial: now.serial.or_else(|| before.serial.clone()),
        lot: now.lot.or_else(|| before.lot.clone()),
        volts: kept.volts.or(now.volts).or(before.volts),
        group_spread: kept.group_spread.or(now.group_spread).or(before.group_spread),
        papers: now.papers.or_else(|| before.papers.clone()),
        // A dent is no dent less because the next to look wrote that there is none.
        damage: now
            .damage
            .filter(|words| before.damaged().is_none() || !goods_in::is_whole(words))
            .or_else(|| before.damage.clone()),
        shelf: before.shelf,
        supplier: before.supplier.clone(),
        paid: before.paid,
    }
}

fn say_receipt(draft: &mut Draft, line: &Line, receipt: &Receipt) {
    let differs = |(key, value): (&String, &crate::fact::Value)| {
        line.part.get(key).is_some_and(|ordered| ordered != value)
    };
    let name = line.part.name();
    let mut words = vec![if receipt.found.iter().any(differs) {
        format!("{} received, not as ordered ({name})", receipt.slot.word())
    } else {
        format!("{} received: {name}", receipt.slot.word())
    }];
    words.extend(receipt.serial.iter().map(|serial| format!("serial {serial}")));
    words.extend(receipt.lot.iter().map(|lot| format!("lot {lot}")));
    words.extend(
        receipt
            .volts
            .map(|volts| VOLTS.show(&crate::fact::Value::Number(volts))),
    );
    words.extend(receipt.damage_words());
    draft.say(words.join(", "));
    say_found(draft, line, receipt);
}

/// What was read off a part, beside what was ordered.
pub(super) fn say_found(draft: &mut Draft, line: &Line, receipt: &Receipt) {
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
    draft.job.build.get(&slot).map(Deref::deref).ok_or_else(|| {
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
