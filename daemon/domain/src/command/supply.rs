//! What becomes of orders and pieces of a job: another day, cancelled, returned, credited,
//! substituted.

use jiff::civil::Date;

use crate::check::{self, Report};
use crate::checks;
use crate::command::money::unquoted::warn_left;
use crate::command::parts::{self, find_part, place, read_price};
use crate::command::{Desk, Draft, find_slot, require_text};
use crate::entry::Event;
use crate::job::Job;
use crate::money::Money;
use crate::part::Slot;
use crate::refusal::{Reason, Refusal};
use crate::stage::Stage;
use crate::supply::event::SupplyEvent;
use crate::supply::item::Item;
use crate::supply::leaving;
use crate::supply::line::OrderLine;
use crate::supply::piece::{Fate, Off};

/// A change to orders and pieces of a job.
#[derive(Debug, Clone, PartialEq)]
pub enum SupplyCommand {
    /// The supplier promises another day.
    MoveOrder {
        /// Slots; none for every open order.
        slots: Vec<String>,
        /// The day.
        due: Date,
        /// Why.
        why: String,
    },
    /// Orders are no longer awaited.
    CancelOrder {
        /// Slots.
        slots: Vec<String>,
        /// Why.
        why: String,
    },
    /// A part goes back to the supplier.
    ReturnPart {
        /// Slot.
        slot: String,
        /// Why.
        why: String,
    },
    /// The supplier paid for what went back.
    Credit {
        /// Slot.
        slot: String,
        /// Amount as typed.
        amount: String,
    },
    /// The part of a slot is taken from the shelf.
    TakeFromShelf {
        /// The item, as the shelf has it.
        item: Box<Item>,
        /// Slot.
        slot: Slot,
    },
    /// The part of a slot is put onto the shelf.
    PutBack {
        /// Slot.
        slot: Slot,
        /// Its item from now on.
        item: u64,
        /// Why.
        why: String,
    },
    /// A part that was taken off a slot is put onto the shelf.
    PutOffBack {
        /// Slot.
        slot: Slot,
        /// Which.
        off: Off,
        /// Its item from now on.
        item: u64,
        /// Why.
        why: String,
    },
    /// A part that is on the job, or was taken off it, goes to its supplier or is thrown away.
    Send {
        /// Slot.
        slot: String,
        /// Which, as typed; may be empty.
        piece: String,
        /// Whether it is thrown away.
        scrap: bool,
        /// Why.
        why: String,
    },
    /// Another part in place of the one that was chosen, ordered if a supplier is named.
    Substitute {
        /// Slot.
        slot: String,
        /// Id of the part.
        part: String,
        /// Supplier; empty when it is not ordered yet.
        supplier: String,
        /// Promised day.
        due: Option<Date>,
        /// Price as typed.
        price: String,
    },
}

impl SupplyCommand {
    /// Whether it may be asked of a job that is over: suppliers answer late, and the parts of a
    /// bicycle that was not converted go back.
    pub(super) fn outlives(&self, job: &Job) -> bool {
        match self {
            Self::MoveOrder { .. } | Self::CancelOrder { .. } | Self::Credit { .. } => true,
            Self::ReturnPart { .. } | Self::PutBack { .. } | Self::PutOffBack { .. } | Self::Send { .. } => {
                job.stage != Stage::HandedOver || job.loose().next().is_some()
            }
            Self::Substitute { .. } | Self::TakeFromShelf { .. } => false,
        }
    }
}

/// A reason for which parts come onto the shelf, as an example.
const PUT_BACK: &str = "the rider took the larger one";

pub(super) fn decide(draft: &mut Draft, command: &SupplyCommand, desk: &Desk<'_>) -> Result<(), Refusal> {
    match command {
        SupplyCommand::MoveOrder { slots, due, why } => move_order(draft, slots, *due, why),
        SupplyCommand::CancelOrder { slots, why } => cancel(draft, slots, why),
        SupplyCommand::ReturnPart { slot, why } => send(draft, slot, "", Fate::Returned, why),
        SupplyCommand::Send {
            slot,
            piece,
            scrap,
            why,
        } => {
            let to = if *scrap { Fate::Scrapped } else { Fate::Returned };
            send(draft, slot, piece, to, why)
        }
        SupplyCommand::Credit { slot, amount } => credit(draft, slot, amount, desk),
        SupplyCommand::TakeFromShelf { item, slot } => {
            take_from_shelf(draft, item, *slot);
            parts::say_recalls(draft, *slot, desk);
            Ok(())
        }
        SupplyCommand::PutOffBack { slot, off, item, why } => {
            let why = require_text("the reason (--why)", why, PUT_BACK)?;
            draft.say(format!(
                "{} that was taken off ({}) put onto the shelf as item {item}",
                slot.word(),
                off.mark()
            ));
            draft.push(Event::Supply(SupplyEvent::PartWent {
                slot: *slot,
                off: Some(off.clone()),
                to: Fate::PutBack,
                item: Some(*item),
                why,
                moved: false,
            }));
            Ok(())
        }
        SupplyCommand::PutBack { slot, item, why } => {
            let why = require_text("the reason (--why)", why, PUT_BACK)?;
            draft.say(format!("{} put onto the shelf as item {item}", slot.word()));
            draft.push(Event::Supply(SupplyEvent::PutBack {
                slot: *slot,
                item: *item,
                why,
            }));
            Ok(())
        }
        SupplyCommand::Substitute {
            slot,
            part,
            supplier,
            due,
            price,
        } => substitute(draft, (slot, part), supplier, *due, price, desk),
    }
}

fn move_order(draft: &mut Draft, slots: &[String], due: Date, why: &str) -> Result<(), Refusal> {
    let why = require_text("the reason (--why)", why, "ship late")?;
    for slot in awaited(draft, slots)? {
        let before = draft.job.open_order(slot).and_then(|line| line.due);
        let before = before.map_or_else(
            || "no day promised".to_owned(),
            |day| format!("promised for {day}"),
        );
        draft.say(format!("{} now promised for {due}, {before} before", slot.word()));
        draft.push(Event::Supply(SupplyEvent::OrderMoved {
            slot,
            due,
            why: why.clone(),
        }));
    }
    Ok(())
}

fn cancel(draft: &mut Draft, slots: &[String], why: &str) -> Result<(), Refusal> {
    let why = require_text("the reason (--why)", why, "not made any more")?;
    for slot in awaited(draft, slots)? {
        draft.say(format!("{} is no longer awaited: {why}", slot.word()));
        draft.push(Event::Supply(SupplyEvent::OrderCancelled {
            slot,
            why: why.clone(),
        }));
    }
    Ok(())
}

/// The slots named, each with an order that is awaited; all that are when none is named.
fn awaited(draft: &Draft, slots: &[String]) -> Result<Vec<Slot>, Refusal> {
    let open: Vec<Slot> = draft
        .job
        .orders
        .iter()
        .filter(|line| line.is_open())
        .filter_map(|line| line.slot)
        .collect();
    let number = draft.job.number;
    let none = |what: String| {
        let words: Vec<&str> = open.iter().map(|slot| slot.word()).collect();
        let refusal = Refusal::new(Reason::NoSuchLine, what).with("job", number);
        match words.as_slice() {
            [] => refusal.hint(format!(
                "order with `lockring order {number} [SLOT] --from SUPPLIER`"
            )),
            words => refusal.hint(format!("awaited are {}", words.join(", "))),
        }
    };
    if slots.is_empty() {
        if open.is_empty() {
            return Err(none(format!("job {number} awaits no order")));
        }
        return Ok(open);
    }
    let find = |word: &String| {
        let slot = find_slot(word)?;
        if open.contains(&slot) {
            Ok(slot)
        } else {
            Err(none(format!(
                "no order of the {} of job {number} is awaited",
                slot.word()
            )))
        }
    };
    slots.iter().map(find).collect()
}

/// A piece goes to its supplier or is thrown away.
fn send(draft: &mut Draft, slot: &str, piece: &str, to: Fate, why: &str) -> Result<(), Refusal> {
    let slot = find_slot(slot)?;
    let (nothing, went, example) = match to {
        Fate::Scrapped => ("scrap", "scrapped", "teeth worn"),
        _ => ("return", "returned", "dead on arrival"),
    };
    let why = require_text("the reason (--why)", why, example)?;
    let off = leaving::which(&draft.job, slot, piece, nothing)?;
    let meant = match &off {
        None => draft.job.piece(slot),
        Some(off) => draft
            .job
            .loose()
            .find(|piece| piece.slot == slot && off.means(piece)),
    };
    let supplier = meant
        .and_then(|piece| piece.supplier.clone())
        .filter(|_| to == Fate::Returned)
        .map_or_else(String::new, |supplier| format!(" to {supplier}"));
    let mark = match (&off, meant.and_then(|piece| piece.serial.as_ref())) {
        (Some(off), _) => format!(" that was taken off ({})", off.mark()),
        (None, Some(serial)) => format!(" (serial {serial})"),
        (None, None) => String::new(),
    };
    let moved =
        to == Fate::Returned && meant.is_some_and(|piece| piece.item.is_some() && piece.supplier.is_some());
    draft.say(format!("{}{mark} {went}{supplier}: {why}", slot.word()));
    let stays = off.is_some();
    draft.push(Event::Supply(if off.is_none() && to == Fate::Returned {
        SupplyEvent::PartReturned { slot, why, moved }
    } else {
        SupplyEvent::PartWent {
            slot,
            off,
            to,
            item: None,
            why,
            moved,
        }
    }));
    if !stays && !draft.job.stage.is_end() {
        let job = draft.job.number;
        draft.say(match draft.job.order_of(slot) {
            Some(order) => format!(
                "the slot waits for the {} ordered from {}",
                slot.word(),
                order.supplier
            ),
            None => {
                let again = "the slot waits for a part again";
                match draft.job.build.get(&slot) {
                    Some(line) => format!("{again}: {}", line.part.order_command(job, slot)),
                    None => again.to_owned(),
                }
            }
        });
    }
    Ok(())
}

fn take_from_shelf(draft: &mut Draft, item: &Item, slot: Slot) {
    let mark = item
        .serial
        .as_ref()
        .map_or_else(String::new, |serial| format!(", serial {serial}"));
    draft.say(format!(
        "{}: {} from the shelf, item {}{mark}",
        slot.word(),
        item.goods.name,
        item.number
    ));
    if let Some(line) = draft.job.open_order(slot) {
        let (supplier, job) = (line.supplier.clone(), draft.job.number);
        draft.say(format!(
            "the order from {supplier} is still awaited: `lockring order cancel {job} {} --why …` if it is not",
            slot.word()
        ));
    }
    draft.push(Event::Received(item.receipt(slot)));
}

fn credit(draft: &mut Draft, slot: &str, amount: &str, desk: &Desk<'_>) -> Result<(), Refusal> {
    let slot = find_slot(slot)?;
    let amount = read_price(amount, desk.shop)?
        .filter(|amount| *amount > Money::ZERO)
        .ok_or_else(|| {
            Refusal::new(
                Reason::BadInput,
                format!("`{amount}` is no credit; expected an amount above 0, for example 98.50"),
            )
            .with("field", "amount")
        })?;
    let job = draft.job.number;
    let went_back = |line: &&OrderLine| line.slot == Some(slot) && line.returned > 0;
    let mut owed = draft.job.orders.iter().rev().filter(went_back);
    let is_open = owed.clone().find(|line| line.may_be_credited());
    let Some(line) = is_open.or_else(|| owed.next()) else {
        return Err(Refusal::new(
            Reason::NoSuchLine,
            format!(
                "no ordered {} of job {job} went back: there is nothing to credit",
                slot.word()
            ),
        )
        .with("slot", slot.word())
        .hint(format!(
            "return it first: `lockring return {job} {} --why …`",
            slot.word()
        )));
    };
    let rest = leaving::may_credit(line, &format!("the {} of job {job}", slot.word()), amount)?;
    let ordered = Some(line.at);
    let said = format!("{} credited by {}: {amount}{rest}", slot.word(), line.supplier);
    draft.say(said);
    draft.push(Event::Supply(SupplyEvent::Credited {
        slot,
        amount,
        ordered,
    }));
    Ok(())
}

/// Another part in a slot, with every check that looks at it run before and after.
fn substitute(
    draft: &mut Draft,
    (slot, part): (&str, &str),
    supplier: &str,
    due: Option<Date>,
    price: &str,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    let slot = find_slot(slot)?;
    let part = find_part(slot, part, desk)?;
    parts::refuse_withdrawn(&part, desk.shop)?;
    let price = read_price(price, desk.shop)?;
    let number = draft.job.number;
    let Some(chosen) = draft.job.build.get(&slot) else {
        return Err(Refusal::new(
            Reason::SlotEmpty,
            format!("job {number} has no {} to substitute", slot.word()),
        )
        .with("slot", slot.word())
        .hint(format!(
            "choose one with `lockring build {number} {}={}`",
            slot.word(),
            part.id
        )));
    };
    if chosen.part.id == part.id {
        return Err(Refusal::new(
            Reason::BadInput,
            format!("`{}` is the {} of job {number} already", part.id, slot.word()),
        )
        .with("given", &part.id)
        .hint(format!(
            "as the catalogue has it now: `lockring build {number} {}={}`",
            slot.word(),
            part.id
        )));
    }
    let gone = chosen.part.name().to_owned();
    draft.say(format!("{}: {} in place of {gone}", slot.word(), part.name()));
    let before = reports(&draft.job, desk);
    let was_awaited = draft.job.open_order(slot).map(|line| line.supplier.clone());
    if was_awaited.is_some() {
        let why = format!("{} instead", part.name());
        draft.push(Event::Supply(SupplyEvent::OrderCancelled { slot, why }));
    }
    draft.push(Event::Chosen { slot, part });
    if let Some(supplier) = was_awaited {
        draft.say(format!(
            "the order from {supplier} is no longer awaited: tell them"
        ));
    }
    if !supplier.trim().is_empty() {
        place(draft, &[slot], supplier, due, price, desk);
    }
    let after = reports(&draft.job, desk);
    draft.differs = before
        .into_iter()
        .zip(after)
        .filter(|(before, after)| before.fingerprint != after.fingerprint)
        .collect();
    let worse = draft
        .differs
        .iter()
        .filter(|(before, after)| before.holds() && !after.holds())
        .count();
    let better = draft
        .differs
        .iter()
        .filter(|(before, after)| !before.holds() && after.holds())
        .count();
    draft.say(format!(
        "{} checks say something else: {better} now hold, {worse} no longer hold",
        draft.differs.len()
    ));
    warn_left(draft, &[gone]);
    Ok(())
}

/// Every check, each as the gate looks at it that is nearest to where the job stands.
fn reports(job: &Job, desk: &Desk<'_>) -> Vec<Report> {
    checks::ALL
        .iter()
        .map(|check| check::run(check, job, desk.rules, check::gate_of(check, job.stage)))
        .collect()
}
