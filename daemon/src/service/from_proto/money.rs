//! Money, labour and what comes after handover, as the contract words them.

use jiff::Timestamp;
use lockring_domain::command::{Command, MoneyEntry, QuoteAdd, ReceiptText};
use lockring_domain::refusal::Refusal;
use lockring_proto::v1;
use lockring_proto::v1::enter_request::Entry;

use super::{Asked, bad, change, made_at, typed};

/// An entry about a job's money, labour or life after handover.
pub(in crate::service) fn enter(request: v1::EnterRequest, now: Timestamp) -> Result<Asked, Refusal> {
    let entry = request
        .entry
        .ok_or_else(|| bad("entry", "missing; expected what is entered"))?;
    change(
        request.origin,
        request.job,
        Command::Money(entered(entry, now)?),
        now,
    )
}

fn entered(entry: Entry, now: Timestamp) -> Result<MoneyEntry, Refusal> {
    Ok(match entry {
        Entry::QuoteAdd(add) => MoneyEntry::QuoteAdd(QuoteAdd {
            kind: add.kind,
            words: add.words,
            slot: add.slot,
            price: add.price,
            cost: add.cost,
            hours: add.hours,
            rate: add.rate,
            rework: add.rework,
        }),
        Entry::QuoteStrike(v1::QuoteStrike { number, why }) => MoneyEntry::QuoteStrike { number, why },
        Entry::Ceiling(v1::Ceiling { amount }) => MoneyEntry::Ceiling { amount },
        Entry::Agreed(v1::Agreed { total, how }) => MoneyEntry::Agreed { total, how },
        Entry::Pay(v1::Pay { kind, amount, how }) => MoneyEntry::Pay { kind, amount, how },
        Entry::Invoice(v1::IssueInvoice {}) => MoneyEntry::Invoice,
        Entry::ClockOn(v1::ClockOn { who, stage, rework }) => MoneyEntry::ClockOn { who, stage, rework },
        Entry::ClockOff(v1::ClockOff { who }) => MoneyEntry::ClockOff { who },
        Entry::ClockFix(fix) => MoneyEntry::ClockFix {
            number: fix.number,
            from: match fix.from_us {
                0 => None,
                given => Some(made_at("from_us", given, now)?),
            },
            to: made_at("to_us", fix.to_us, now)?,
            why: fix.why,
        },
        Entry::Visit(visit) => MoneyEntry::Visit {
            symptom: visit.symptom,
            odometer: visit.odometer,
            found: visit.found,
            cause: visit.cause,
            payer: visit.payer,
            first_check: visit.first_check,
        },
        Entry::Claim(v1::ClaimOpen {
            against,
            about,
            amount,
        }) => MoneyEntry::Claim {
            against,
            about,
            amount,
        },
        Entry::ClaimSettle(v1::ClaimSettle { number, paid, how }) => {
            MoneyEntry::ClaimSettle { number, paid, how }
        }
        Entry::Swap(swap) => MoneyEntry::Swap {
            slot: swap.slot,
            serial_out: swap.serial_out,
            payer: swap.payer,
            why: swap.why,
            found: typed(swap.found),
            came: ReceiptText {
                serial: swap.serial_in,
                lot: swap.lot_in,
                volts: swap.volts,
                group_spread: swap.group_spread,
                papers: swap.papers,
                damage: swap.damage,
            },
        },
    })
}
