//! What is asked about suppliers, goods and the shelf.

use jiff::Timestamp;
use lockring_domain::command::{Command, SupplyCommand};
use lockring_domain::entry::Origin;
use lockring_domain::refusal::Refusal;
use lockring_domain::supply::recall::FindText;
use lockring_domain::supply::supplier::SupplierText;
use lockring_proto::v1;

use super::super::decide::Asked;
use super::{asker, bad, change, day};

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

/// A part goes back to its supplier.
pub(in crate::service) fn return_part(
    request: v1::ReturnPartRequest,
    now: Timestamp,
) -> Result<Asked, Refusal> {
    let command = SupplyCommand::ReturnPart {
        slot: request.slot,
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
