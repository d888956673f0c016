//! What is asked about suppliers, goods and the shelf.

use jiff::Timestamp;
use lockring_domain::command::{Command, ReceiptText, SupplyCommand};
use lockring_domain::origin::Origin;
use lockring_domain::refusal::Refusal;
use lockring_domain::shop::suppliers::SupplierText;
use lockring_domain::supply::recall::FindText;
use lockring_domain::supply::stocking::Shelving;
use lockring_proto::v1;

use super::super::decide::Asked;
use super::looks::strange_token;
use super::{asker, bad, change, day, typed};

/// How many order lines were given before those that are asked for.
pub(in crate::service) fn lines_skipped(request: &v1::ListOrdersRequest) -> Result<usize, Refusal> {
    match request.page_token.as_str() {
        "" => Ok(0),
        token => token.parse().map_err(|_| strange_token(token)),
    }
}

/// What is asked of the shop's supply.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::service) enum SupplyAsk {
    /// A supplier added or changed.
    Supplier {
        /// What is said of it.
        text: SupplierText,
        /// It must not be on file yet.
        is_new: bool,
    },
    /// A change of the shelf.
    Shelf(Shelving),
    /// A recall opened.
    OpenRecall {
        /// Its name.
        name: String,
        /// Why.
        why: String,
        /// Which pieces.
        find: FindText,
    },
    /// How far a rider is with a recall.
    CallRecall {
        /// The recall.
        recall: u32,
        /// The job.
        job: u32,
        /// State as typed.
        state: String,
        /// In words.
        note: String,
    },
}

/// A change as asked.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::service) struct SupplyAsked {
    /// Chosen by the client.
    pub(in crate::service) request_id: String,
    /// Who, where, when.
    pub(in crate::service) origin: Origin,
    /// Decide and answer, store nothing.
    pub(in crate::service) validate_only: bool,
    /// What is asked.
    pub(in crate::service) ask: SupplyAsk,
}

fn asks(origin: Option<v1::Origin>, now: Timestamp, ask: SupplyAsk) -> Result<SupplyAsked, Refusal> {
    let asker = asker(origin, now)?;
    Ok(SupplyAsked {
        request_id: asker.request_id,
        origin: asker.origin,
        validate_only: asker.validate_only,
        ask,
    })
}

/// A supplier added or changed.
pub(in crate::service) fn supplier(
    request: v1::SetSupplierRequest,
    now: Timestamp,
) -> Result<SupplyAsked, Refusal> {
    let text = SupplierText {
        name: request.name,
        lead: request.lead,
        contact: request.contact,
        terms: request.terms,
    };
    let is_new = request.is_new;
    asks(request.origin, now, SupplyAsk::Supplier { text, is_new })
}

/// Another day is promised for orders of a job.
pub(in crate::service) fn move_order(
    request: v1::MoveOrderRequest,
    now: Timestamp,
) -> Result<Asked, Refusal> {
    let due = day("due", &request.due)?.ok_or_else(|| {
        bad(
            "due",
            "missing; expected the day promised now, for example `2026-04-02`",
        )
    })?;
    let command = SupplyCommand::MoveOrder {
        slots: request.slots,
        due,
        why: request.why,
    };
    change(request.origin, request.job, Command::Supply(command), now)
}

/// Orders of a job are no longer awaited.
pub(in crate::service) fn cancel_order(
    request: v1::CancelOrderRequest,
    now: Timestamp,
) -> Result<Asked, Refusal> {
    let command = SupplyCommand::CancelOrder {
        slots: request.slots,
        why: request.why,
    };
    change(request.origin, request.job, Command::Supply(command), now)
}

/// A part goes back to its supplier, or is thrown away.
pub(in crate::service) fn return_part(
    request: v1::ReturnPartRequest,
    now: Timestamp,
) -> Result<Asked, Refusal> {
    let scrap = match request.to.as_str() {
        "" | "supplier" => false,
        "scrap" => true,
        other => {
            return Err(bad(
                "to",
                &format!("`{other}` is no place; expected supplier or scrap"),
            ));
        }
    };
    let command = SupplyCommand::Send {
        slot: request.slot,
        piece: request.piece,
        scrap,
        why: request.why,
    };
    change(request.origin, request.job, Command::Supply(command), now)
}

/// The supplier paid for what went back.
pub(in crate::service) fn credit(request: v1::CreditRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let command = SupplyCommand::Credit {
        slot: request.slot,
        amount: request.amount,
    };
    change(request.origin, request.job, Command::Supply(command), now)
}

/// Another part in place of a chosen one.
pub(in crate::service) fn substitute(
    request: v1::SubstituteRequest,
    now: Timestamp,
) -> Result<Asked, Refusal> {
    let command = SupplyCommand::Substitute {
        slot: request.slot,
        part: request.part,
        supplier: request.supplier,
        due: day("due", &request.due)?,
        price: request.price,
    };
    change(request.origin, request.job, Command::Supply(command), now)
}

/// Which pieces are looked for.
pub(in crate::service) fn find(request: v1::FindPiecesRequest) -> Result<FindText, Refusal> {
    Ok(FindText {
        marks: request.marks,
        supplier: request.supplier,
        part: request.part,
        since: day("since", &request.since)?,
        until: day("until", &request.until)?,
    })
}

/// A recall opened.
pub(in crate::service) fn open_recall(
    request: v1::OpenRecallRequest,
    now: Timestamp,
) -> Result<SupplyAsked, Refusal> {
    let ask = SupplyAsk::OpenRecall {
        name: request.name,
        why: request.why,
        find: find(request.find.unwrap_or_default())?,
    };
    asks(request.origin, now, ask)
}

/// How far a rider is with a recall.
pub(in crate::service) fn call_recall(
    request: v1::CallRecallRequest,
    now: Timestamp,
) -> Result<SupplyAsked, Refusal> {
    let v1::CallRecallRequest {
        origin,
        recall,
        job,
        state,
        note,
    } = request;
    let ask = SupplyAsk::CallRecall {
        recall,
        job,
        state,
        note,
    };
    asks(origin, now, ask)
}

/// A change of the shelf.
pub(in crate::service) fn shelf(
    request: v1::ChangeShelfRequest,
    now: Timestamp,
) -> Result<SupplyAsked, Refusal> {
    use v1::change_shelf_request::Change;
    let asked = match request
        .change
        .ok_or_else(|| bad("change", "missing; expected what changes"))?
    {
        Change::Order(order) => Shelving::Order {
            part: order.part,
            count: order.count,
            supplier: order.supplier,
            due: day("due", &order.due)?,
            price: order.price,
        },
        Change::Line(change) => line(change)?,
        Change::Receipt(receipt) => Shelving::Receive {
            what: receipt.what,
            count: receipt.count,
            found: typed(receipt.found),
            details: ReceiptText {
                serial: receipt.serial,
                lot: receipt.lot,
                volts: receipt.volts,
                group_spread: receipt.group_spread,
                papers: receipt.papers,
                damage: receipt.damage,
            },
        },
        Change::Item(change) => item(change)?,
    };
    asks(request.origin, now, SupplyAsk::Shelf(asked))
}

fn line(change: v1::ShelfLineChange) -> Result<Shelving, Refusal> {
    let v1::ShelfLineChange {
        line,
        act,
        due,
        amount,
        why,
    } = change;
    match act.as_str() {
        "move" => Ok(Shelving::Move {
            line,
            due: day("due", &due)?
                .ok_or_else(|| bad("due", "missing; expected a day, for example `2026-04-02`"))?,
            why,
        }),
        "cancel" => Ok(Shelving::Cancel { line, why }),
        "credit" => Ok(Shelving::Credit { line, amount }),
        other => Err(bad(
            "act",
            &format!("`{other}` is no act; expected move, cancel or credit"),
        )),
    }
}

fn item(change: v1::ShelfItemChange) -> Result<Shelving, Refusal> {
    let v1::ShelfItemChange {
        item,
        act,
        count,
        job,
        why,
    } = change;
    match act.as_str() {
        "return" => Ok(Shelving::Return { item, count, why }),
        "count" => Ok(Shelving::Count { item, count, why }),
        "keep" => Ok(Shelving::Keep {
            item,
            job: (job > 0).then_some(job),
        }),
        other => Err(bad(
            "act",
            &format!("`{other}` is no act; expected return, count or keep"),
        )),
    }
}

/// A part that goes between the shelf and a job.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::service) struct Carried {
    /// Chosen by the client.
    pub(in crate::service) request_id: String,
    /// Who, where, when.
    pub(in crate::service) origin: Origin,
    /// Refused when the job is at another revision.
    pub(in crate::service) expected_revision: Option<u64>,
    /// Decide and answer, store nothing.
    pub(in crate::service) validate_only: bool,
    /// The job.
    pub(in crate::service) job: u32,
    /// Slot as typed.
    pub(in crate::service) slot: String,
    /// Which way.
    pub(in crate::service) way: Way,
}

/// Which way a part is carried.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::service) enum Way {
    /// To the job; the item, or the oldest that fits.
    ToJob(Option<u64>),
    /// Onto the shelf.
    OntoShelf {
        /// Which piece, as typed; may be empty.
        piece: String,
        /// Why.
        why: String,
    },
}

fn carried(
    origin: Option<v1::Origin>,
    job: u32,
    slot: String,
    way: Way,
    now: Timestamp,
) -> Result<Carried, Refusal> {
    let asker = asker(origin, now)?;
    Ok(Carried {
        request_id: asker.request_id,
        origin: asker.origin,
        expected_revision: asker.expected_revision,
        validate_only: asker.validate_only,
        job,
        slot,
        way,
    })
}

/// One is taken for the slot of a job.
pub(in crate::service) fn take_from_shelf(
    request: v1::TakeFromShelfRequest,
    now: Timestamp,
) -> Result<Carried, Refusal> {
    let way = Way::ToJob((request.item > 0).then_some(request.item));
    carried(request.origin, request.job, request.slot, way, now)
}

/// The part of a slot is put onto the shelf.
pub(in crate::service) fn put_on_shelf(
    request: v1::PutOnShelfRequest,
    now: Timestamp,
) -> Result<Carried, Refusal> {
    let way = Way::OntoShelf {
        piece: request.piece,
        why: request.why,
    };
    carried(request.origin, request.job, request.slot, way, now)
}
