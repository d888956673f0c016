//! Requests about promises, and about the shop as a whole.

use jiff::Timestamp;
use lockring_domain::command::Command;
use lockring_domain::origin::Origin;
use lockring_domain::refusal::Refusal;
use lockring_domain::shop::command::ShopCommand;
use lockring_proto::v1;

use super::{Asked, asker, bad, change, day};

/// What is asked of the shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::service) enum ShopAsk {
    /// A change.
    Change(ShopCommand),
    /// An entry retracted; `None` for the asker's own last one.
    Undo {
        /// The entry.
        seq: Option<u64>,
        /// Why; may be empty.
        why: String,
    },
}

/// A change of the shop as asked.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::service) struct ShopAsked {
    /// Chosen by the client; a retry carries the same.
    pub(in crate::service) request_id: String,
    /// Who, where, when.
    pub(in crate::service) origin: Origin,
    /// Decide and answer, store nothing.
    pub(in crate::service) validate_only: bool,
    /// What is asked.
    pub(in crate::service) ask: ShopAsk,
}

pub(super) fn asks(origin: Option<v1::Origin>, now: Timestamp, ask: ShopAsk) -> Result<ShopAsked, Refusal> {
    let asker = asker(origin, now)?;
    Ok(ShopAsked {
        request_id: asker.request_id,
        origin: asker.origin,
        validate_only: asker.validate_only,
        ask,
    })
}

/// A day promised.
pub(in crate::service) fn promise(request: v1::PromiseRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let expected = "expected year-month-day, for example `2026-03-24`";
    let day = day("day", &request.day)?.ok_or_else(|| bad("day", &format!("missing; {expected}")))?;
    let hard = match request.kind.as_str() {
        "" => None,
        "hard" => Some(true),
        "soft" => Some(false),
        other => {
            let problem = format!("`{other}` is no kind of promise; expected hard, soft, or none");
            return Err(bad("kind", &problem));
        }
    };
    let why = request.why;
    change(
        request.origin,
        request.job,
        Command::Promise { day, hard, why },
        now,
    )
}

/// The rider told.
pub(in crate::service) fn tell(request: v1::TellRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let words = request.words;
    change(request.origin, request.job, Command::Tell { words }, now)
}

/// A block asked about.
pub(in crate::service) fn chase(request: v1::ChaseRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let command = Command::Chase {
        number: request.number,
        chase: day("chase", &request.chase)?,
        whose: request.whose_move,
        said: request.said,
    };
    change(request.origin, request.job, command, now)
}

/// Days of the week.
pub(in crate::service) fn days(request: v1::SetDaysRequest, now: Timestamp) -> Result<ShopAsked, Refusal> {
    let v1::SetDaysRequest { origin, days, why } = request;
    asks(origin, now, ShopAsk::Change(ShopCommand::Days { days, why }))
}

/// Days the shop is shut.
pub(in crate::service) fn shut(request: v1::ShutRequest, now: Timestamp) -> Result<ShopAsked, Refusal> {
    let v1::ShutRequest { origin, days, why } = request;
    asks(origin, now, ShopAsk::Change(ShopCommand::Shut { days, why }))
}

/// Days the shop is not shut after all.
pub(in crate::service) fn reopen(request: v1::ReopenRequest, now: Timestamp) -> Result<ShopAsked, Refusal> {
    let v1::ReopenRequest { origin, days, why } = request;
    asks(origin, now, ShopAsk::Change(ShopCommand::Open { days, why }))
}

/// A limit of the rule sheet.
pub(in crate::service) fn rule(request: v1::SetRuleRequest, now: Timestamp) -> Result<ShopAsked, Refusal> {
    let v1::SetRuleRequest {
        origin,
        rule: key,
        value,
        shipped,
        why,
    } = request;
    let command = if shipped {
        ShopCommand::RuleShipped { key, why }
    } else {
        ShopCommand::Rule { key, value, why }
    };
    asks(origin, now, ShopAsk::Change(command))
}

/// A setting.
pub(in crate::service) fn set(request: v1::SetRequest, now: Timestamp) -> Result<ShopAsked, Refusal> {
    let v1::SetRequest {
        origin,
        setting: key,
        value,
        shipped,
        why,
    } = request;
    let command = if shipped {
        ShopCommand::Unset { key, why }
    } else {
        ShopCommand::Set { key, value, why }
    };
    asks(origin, now, ShopAsk::Change(command))
}

/// Somebody works here.
pub(in crate::service) fn join(request: v1::AddPersonRequest, now: Timestamp) -> Result<ShopAsked, Refusal> {
    let v1::AddPersonRequest {
        origin,
        initials,
        name,
        role,
    } = request;
    asks(
        origin,
        now,
        ShopAsk::Change(ShopCommand::Join { initials, name, role }),
    )
}

/// Somebody no longer works here.
pub(in crate::service) fn leave(
    request: v1::PersonLeavesRequest,
    now: Timestamp,
) -> Result<ShopAsked, Refusal> {
    let v1::PersonLeavesRequest {
        origin,
        initials,
        why,
    } = request;
    asks(origin, now, ShopAsk::Change(ShopCommand::Leave { initials, why }))
}

/// A part that is offered no more, or again.
pub(in crate::service) fn withdraw(
    request: v1::WithdrawRequest,
    now: Timestamp,
) -> Result<ShopAsked, Refusal> {
    let v1::WithdrawRequest {
        origin,
        part,
        why,
        back,
    } = request;
    let part = part.trim().to_owned();
    let command = if back {
        ShopCommand::Offer { part, why }
    } else {
        ShopCommand::Withdraw { part, why }
    };
    asks(origin, now, ShopAsk::Change(command))
}

/// Which unit system somebody reads first.
pub(in crate::service) fn choose_units(
    request: v1::ChooseUnitsRequest,
    now: Timestamp,
) -> Result<ShopAsked, Refusal> {
    let v1::ChooseUnitsRequest {
        origin,
        initials,
        units,
    } = request;
    let command = ShopCommand::Units { initials, units };
    asks(origin, now, ShopAsk::Change(command))
}

/// An entry of the shop retracted.
pub(in crate::service) fn undo_shop(
    request: v1::UndoShopRequest,
    now: Timestamp,
) -> Result<ShopAsked, Refusal> {
    let v1::UndoShopRequest { origin, seq, why } = request;
    let seq = (seq != 0).then_some(seq);
    asks(origin, now, ShopAsk::Undo { seq, why })
}
