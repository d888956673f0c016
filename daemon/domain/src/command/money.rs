//! Money, labour and what comes after handover, decided into entries.

use jiff::Timestamp;

use self::read::read_amount;
use crate::account::{AccountEvent, PayKind};
use crate::command::{Desk, Draft, ReceiptText, Typed, kind_of_pay, require_text};
use crate::entry::Event;
use crate::money::Money;
use crate::refusal::Refusal;

mod after;
mod clock;

pub(in crate::command) use clock::runs_alone;
mod quote;
mod read;
mod swap;
pub(in crate::command) mod unquoted;

/// What is entered about money, labour or a bicycle that was handed over; amounts as typed.
#[derive(Debug, Clone, PartialEq)]
pub enum MoneyEntry {
    /// A line of the quote.
    QuoteAdd(QuoteAdd),
    /// A line does not stand any more.
    QuoteStrike {
        /// Its number.
        number: u32,
        /// Why.
        why: String,
    },
    /// The total up to which nobody has to call.
    Ceiling {
        /// The total.
        amount: String,
    },
    /// The rider agreed to a total.
    Agreed {
        /// The total; empty for the present one.
        total: String,
        /// How it was said.
        how: String,
    },
    /// Money came, went or was taken off.
    Pay {
        /// Word of a [`PayKind`](crate::account::PayKind).
        kind: String,
        /// How much.
        amount: String,
        /// How it came, or why.
        how: String,
    },
    /// The rider is asked for the total.
    Invoice,
    /// Somebody begins.
    ClockOn {
        /// Who; empty for whoever asks.
        who: String,
        /// Stage; empty for the present one.
        stage: String,
        /// Why it is done again; empty otherwise.
        rework: String,
    },
    /// Somebody ends.
    ClockOff {
        /// Who; empty for whoever asks.
        who: String,
    },
    /// A clock is put right.
    ClockFix {
        /// Number of the clock.
        number: u32,
        /// When the work began; `None` leaves it.
        from: Option<Timestamp>,
        /// When it ended.
        to: Timestamp,
        /// Why it was wrong.
        why: String,
    },
    /// The bicycle came back.
    Visit {
        /// What the rider said.
        symptom: String,
        /// Distance ridden.
        odometer: String,
        /// What was found.
        found: String,
        /// Word of a [`Cause`](crate::labour::Cause); may be empty.
        cause: String,
        /// Word of a [`Payer`](crate::after::Payer); may be empty.
        payer: String,
        /// Whether it is the first check.
        first_check: bool,
    },
    /// Somebody is asked to pay.
    Claim {
        /// Word of a [`Payer`](crate::after::Payer).
        against: String,
        /// What for.
        about: String,
        /// How much; may be empty.
        amount: String,
    },
    /// A claim ends.
    ClaimSettle {
        /// Its number.
        number: u32,
        /// What was paid; empty for nothing.
        paid: String,
        /// How it ended.
        how: String,
    },
    /// A part is swapped, or more is seen on one that was.
    Swap {
        /// Slot.
        slot: String,
        /// Serial that comes off; empty for the one on file.
        serial_out: String,
        /// Word of a [`Payer`](crate::after::Payer).
        payer: String,
        /// Why.
        why: String,
        /// Attributes as read off the one that goes on.
        found: Vec<Typed>,
        /// The one that goes on: its serial and lot, and what was seen on it. Without a serial, payer and reason it is the
        /// one that went on before.
        came: ReceiptText,
    },
}

/// A line of the quote as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct QuoteAdd {
    /// Word of a [`LineKind`](crate::account::LineKind).
    pub kind: String,
    /// What it is.
    pub words: String,
    /// Slot whose part it is; may be empty.
    pub slot: String,
    /// Price; empty for the catalogue's, or hours times rate.
    pub price: String,
    /// Cost; may be empty.
    pub cost: String,
    /// Hours of labour.
    pub hours: String,
    /// Charge for an hour; empty for the shop's own.
    pub rate: String,
    /// Bought or done again.
    pub rework: bool,
}

/// Says of a time before the bicycle was here that it may be a slip; work before the taking in was typed is none.
fn say_before_it_came(draft: &mut Draft, what: &str, at: Timestamp, desk: &Desk<'_>) {
    let Draft { job, .. } = &*draft;
    if at < job.opened {
        let (number, entry) = (job.number, job.revision);
        let line = format!(
            "CAUTION: {what} at {}, before the bicycle was taken in at {}; if the day is a slip: `lockring undo {number} --entry \
             {entry}`",
            desk.moment(at),
            desk.moment(job.opened)
        );
        draft.say(line);
    }
}

/// Decides an entry.
pub(super) fn enter(draft: &mut Draft, entry: &MoneyEntry, desk: &Desk<'_>) -> Result<(), Refusal> {
    match entry {
        MoneyEntry::QuoteAdd(line) => quote::quote_add(draft, line, desk),
        MoneyEntry::QuoteStrike { number, why } => quote::quote_strike(draft, *number, why, desk),
        MoneyEntry::Ceiling { amount } => {
            let amount = read_amount("ceiling", amount, desk.shop)?;
            draft.say(format!("no call needed up to {amount}"));
            draft.push(Event::Account(AccountEvent::Ceiling { amount }));
            quote::warn_over(draft);
            Ok(())
        }
        MoneyEntry::Agreed { total, how } => {
            let how = require_text("how the rider agreed (--how)", how, "by phone")?;
            let total = match total.trim() {
                "" => unquoted::total_shown(&draft.job)?,
                typed => read_amount("total", typed, desk.shop)?,
            };
            draft.say(format!("rider agreed to {total}: {how}"));
            draft.push(Event::Account(AccountEvent::Agreed { total, how }));
            quote::warn_over(draft);
            unquoted::warn_left(draft, &[]);
            Ok(())
        }
        MoneyEntry::Pay { kind, amount, how } => {
            quote::pay(draft, kind, amount, how, desk)?;
            // What is paid before the bicycle comes is a deposit.
            if kind_of_pay(kind) != Some(PayKind::Deposit) {
                say_before_it_came(draft, "paid", draft.origin.made, desk);
            }
            Ok(())
        }
        MoneyEntry::Invoice => quote::invoice(draft, desk),
        MoneyEntry::ClockOn { who, stage, rework } => {
            clock::clock_on(draft, who, stage, rework, desk)?;
            say_before_it_came(draft, "work", draft.origin.made, desk);
            Ok(())
        }
        MoneyEntry::ClockOff { who } => clock::clock_off(draft, who, desk),
        MoneyEntry::ClockFix {
            number,
            from,
            to,
            why,
        } => {
            clock::clock_fix(draft, *number, *from, *to, why)?;
            say_before_it_came(draft, "work", from.unwrap_or(*to), desk);
            Ok(())
        }
        MoneyEntry::Visit {
            symptom,
            odometer,
            found,
            cause,
            payer,
            first_check,
        } => after::visit(
            draft,
            [symptom, odometer, found, cause, payer],
            *first_check,
            desk,
        ),
        MoneyEntry::Claim {
            against,
            about,
            amount,
        } => after::claim(draft, against, about, amount, desk),
        MoneyEntry::ClaimSettle { number, paid, how } => after::claim_settle(draft, *number, paid, how, desk),
        MoneyEntry::Swap {
            slot,
            serial_out,
            payer,
            why,
            found,
            came,
        } => {
            let typed = swap::Asked {
                slot,
                serial_out,
                payer,
                why,
                found,
                came,
            };
            swap::swap(draft, &typed, desk)
        }
    }
}

/// The shop's charge for an hour of work.
pub fn labour_rate(rules: &crate::rules::RuleSheet) -> Money {
    rate(rules, "money.labour-rate")
}

/// What an hour of work costs the shop.
pub fn labour_cost(rules: &crate::rules::RuleSheet) -> Money {
    rate(rules, "money.labour-cost")
}

fn rate(rules: &crate::rules::RuleSheet, key: &str) -> Money {
    let units = rules.number(key).unwrap_or(0.0);
    // A rule is at most a few thousand units with two decimals: exact in hundredths.
    Money((units * 100.0).round() as i64)
}
