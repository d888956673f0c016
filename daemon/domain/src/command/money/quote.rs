//! The quote, what is paid on it, and the invoice.

use super::read::{bad, read_amount, read_minutes, word};
use super::unquoted::warn_unquoted;
use super::{QuoteAdd, labour_rate};
use crate::account::{AccountEvent, LineKind, PayKind, QuoteLine, QuotedPart};
use crate::after::Payer;
use crate::command::{Desk, Draft, find_slot, require_text};
use crate::entry::Event;
use crate::fact::Value;
use crate::labour::at_rate;
use crate::money::Money;
use crate::refusal::{Reason, Refusal};
use crate::stage::Stage;
use crate::tax::TaxRate;

pub(super) fn quote_add(draft: &mut Draft, add: &QuoteAdd, desk: &Desk<'_>) -> Result<(), Refusal> {
    let kind = word("kind of quote line", &add.kind, &LineKind::ALL, LineKind::word)?;
    let mut words = add.words.trim().to_owned();
    let tax = draft.job.account.rate(desk.shop.tax_rate());
    let on_top = tax.filter(|_| desk.shop.types_without_tax());
    let paid = |typed: Money| on_top.map_or(typed, |rate| rate.on(typed));
    let mut price = match add.price.trim() {
        "" => None,
        typed => Some(paid(read_amount("price", typed, desk.shop)?)),
    };
    let cost = match add.cost.trim() {
        "" => Money::ZERO,
        typed => read_amount("cost", typed, desk.shop)?,
    };
    let mut minutes = 0;
    if kind == LineKind::Labour {
        minutes = read_minutes(&add.hours)?;
        let charged = match add.rate.trim() {
            "" => at_rate(labour_rate(desk.rules), minutes.into()),
            typed => paid(at_rate(read_amount("rate", typed, desk.shop)?, minutes.into())),
        };
        price = price.or(Some(charged));
    }
    let mut of = None;
    if !add.slot.trim().is_empty() {
        let slot = find_slot(add.slot.trim())?;
        let line = draft.job.build.get(&slot).ok_or_else(|| {
            Refusal::new(
                Reason::SlotEmpty,
                format!("job {} has no {} chosen", draft.job.number, slot.word()),
            )
            .hint(format!(
                "choose one with `lockring build {} {}=PART`, or give words and --price",
                draft.job.number,
                slot.word()
            ))
        })?;
        if words.is_empty() {
            words = line.part.name().to_owned();
        }
        // Work and what is bought again are owed whatever the slot holds later.
        if kind != LineKind::Labour && !add.rework {
            let part = line.part.id.clone();
            of = Some(QuotedPart { slot, part });
        }
        if let (None, Some(Value::Money(minor))) = (price, line.part.get("price")) {
            price = Some(Money(*minor));
        }
    }
    let words = require_text("what the line is for", &words, "new chain")?;
    let Some(price) = price else {
        return Err(bad(
            "price",
            "no price is given and the catalogue has none; expected one such as --price 98.50",
        ));
    };
    let typed = draft
        .job
        .account
        .typed_quote
        .filter(|_| draft.job.account.lines.is_empty());
    if let Some(typed) = typed.filter(|_| is_agreed(draft)) {
        keep_agreed(draft, typed);
    }
    let falls_from = typed.filter(|_| draft.job.account.lines.is_empty());
    let line = QuoteLine {
        number: draft.job.account.last_line + 1,
        kind,
        words,
        price,
        cost,
        minutes,
        rework: add.rework,
        of,
    };
    keep_tax(draft, tax);
    let event = AccountEvent::Quoted(line);
    draft.say(event.line());
    draft.push(Event::Account(event));
    let total = format!(
        "total {}, owed {}",
        draft.job.account.total(),
        draft.job.balance()
    );
    draft.say(total);
    say_tax(draft, desk);
    if let Some(typed) = falls_from {
        let job = draft.job.number;
        draft.say(format!(
            "CAUTION: lines stand before the total that was typed without them: {typed} counts no more; if it holds beside \
             them: `lockring quote {job} add other \"{AS_TOLD}\" --price {typed}`"
        ));
    }
    warn_over(draft);
    warn_over_budget(draft);
    Ok(())
}

/// Whether the rider was asked for, or said yes to, what is quoted.
fn is_agreed(draft: &Draft) -> bool {
    let account = &draft.job.account;
    account.agreed.is_some() || !account.invoices.is_empty()
}

/// A total that was typed for a job with something agreed to stands as a line of its own once there are others: they add to
/// it. It is called agreed only where the rider said yes to that very sum.
fn keep_agreed(draft: &mut Draft, typed: Money) {
    let number = draft.job.account.last_line + 1;
    let is_it = draft.job.account.agreed == Some(typed);
    let event = AccountEvent::Quoted(QuoteLine {
        number,
        kind: LineKind::Other,
        words: if is_it { AS_AGREED } else { AS_TOLD }.to_owned(),
        price: typed,
        cost: Money::ZERO,
        minutes: 0,
        rework: false,
        of: None,
    });
    draft.say(event.line());
    draft.push(Event::Account(event));
    let job = draft.job.number;
    let which = if is_it {
        "agreed total"
    } else {
        "total typed before"
    };
    draft.say(format!(
        "the {which} stays, as line {number}, and the new line adds to it; if lines are to take its place: \
         `lockring quote {job} strike {number} --why \"told line by line\"`"
    ));
}

/// What a total is called that was agreed to before there were lines.
const AS_AGREED: &str = "as agreed";

/// What a total is called that was typed before there were lines, whatever was agreed to.
const AS_TOLD: &str = "as told";

pub(super) fn quote_strike(
    draft: &mut Draft,
    number: u32,
    why: &str,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    let why = require_text("the reason (--why)", why, "not needed after all")?;
    let lines = &draft.job.account.lines;
    if !lines.iter().any(|line| line.number == number) {
        let have: Vec<String> = lines.iter().map(|line| line.number.to_string()).collect();
        let refusal = bad(
            "number",
            &format!("job {} has no quote line {number}", draft.job.number),
        );
        return Err(match have.as_slice() {
            [] => refusal.hint("it has no quote lines at all"),
            have => refusal.hint(format!("its lines are {}", have.join(", "))),
        });
    }
    let event = AccountEvent::Struck { number, why };
    draft.say(event.line());
    draft.push(Event::Account(event));
    let total = draft.job.account.total();
    draft.say(format!("total {total}"));
    say_tax(draft, desk);
    Ok(())
}

/// Enters the tax where it is another than the account's.
fn keep_tax(draft: &mut Draft, tax: Option<TaxRate>) {
    if let Some(rate) = tax.filter(|rate| draft.job.account.tax != Some(*rate)) {
        let event = AccountEvent::Taxed { rate };
        draft.say(event.line());
        draft.push(Event::Account(event));
    }
}

/// Says how what is to be paid parts into what is the shop's and the tax.
fn say_tax(draft: &mut Draft, desk: &Desk<'_>) {
    let account = &draft.job.account;
    let is_priced = account.total() != Money::ZERO;
    if let Some(rate) = account.rate(desk.shop.tax_rate()).filter(|_| is_priced) {
        let (net, all) = (account.net(Some(rate)), account.to_pay());
        let line = format!("net {net}, tax {rate} % {}, to pay {all}", all - net);
        draft.say(line);
    }
}

/// Says when the total lies above what the rider agreed to.
pub(super) fn warn_over(draft: &mut Draft) {
    if let Some(over) = draft.job.account.over_ceiling() {
        let job = draft.job.number;
        draft.say(format!(
            "CAUTION: {over} over what the rider agreed to; ask, then: lockring quote {job} agreed --how \"by phone\""
        ));
    }
}

/// Says when more is to be paid than the budget of the brief and than the rider agreed to since.
fn warn_over_budget(draft: &mut Draft) {
    let account = &draft.job.account;
    let budget = match draft.job.facts.get("budget").map(|fact| &fact.value) {
        Some(Value::Money(minor)) => Money(*minor),
        _ => return,
    };
    let over = account.to_pay() - budget;
    // Over what was agreed is said by itself.
    if account.to_pay() > account.purse(budget) && account.over_ceiling().is_none() {
        let job = draft.job.number;
        draft.say(format!(
            "CAUTION: {over} over the budget of {budget}; cheaper builds: lockring propose {job}"
        ));
    }
}

pub(super) fn pay(
    draft: &mut Draft,
    kind: &str,
    amount: &str,
    how: &str,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    let kind = word("kind of payment", kind, &PayKind::ALL, PayKind::word)?;
    let amount = read_amount("amount", amount, desk.shop)?;
    if amount == Money::ZERO {
        return Err(bad(
            "amount",
            "nothing was paid; expected an amount such as 480.80",
        ));
    }
    let how = match kind {
        PayKind::Credit | PayKind::WriteOff => {
            require_text("the reason (--how)", how, "scratch on the frame")?
        }
        PayKind::Deposit | PayKind::Balance | PayKind::Refund => how.trim().to_owned(),
    };
    let paid = draft.job.account.paid();
    if kind == PayKind::Refund && amount > paid {
        return Err(bad(
            "amount",
            &format!("{amount} is more than the {paid} that was paid"),
        ));
    }
    let (to_pay, owed) = (draft.job.to_pay(), draft.job.balance());
    if kind.takes_off() && amount > to_pay {
        return Err(bad(
            "amount",
            &format!("{amount} is more than the {to_pay} to pay"),
        ));
    }
    if kind == PayKind::WriteOff && amount > owed {
        return Err(bad("amount", &format!("{amount} is more than the {owed} owed")));
    }
    let event = AccountEvent::Paid { kind, amount, how };
    draft.say(event.line());
    draft.push(Event::Account(event));
    say_standing(draft);
    warn_refund(draft, kind);
    if kind == PayKind::Refund {
        ask_why_it_goes(draft, amount);
    }
    Ok(())
}

/// Says what is paid and what is owed.
pub(super) fn say_standing(draft: &mut Draft) {
    let (job, paid) = (&draft.job, draft.job.account.paid());
    let standing = format!("paid {paid} of {}, owed {}", job.to_pay(), job.balance());
    draft.say(standing);
}

/// Says of money given back on a bicycle that is with its rider that it counts as owed until something takes it off.
fn ask_why_it_goes(draft: &mut Draft, amount: Money) {
    let job = &draft.job;
    let owed = job.balance();
    if job.stage != Stage::HandedOver || owed <= Money::ZERO {
        return;
    }
    let (number, sum) = (job.number, amount.min(owed));
    let claims = job.after.claims.iter();
    let mut open = claims.filter(|claim| claim.against == Payer::Shop && claim.settled.is_none());
    let takes_it_off = match open.next() {
        Some(claim) => format!(
            "`lockring claim {number} --settle {} --paid {sum} --how TEXT` ends the claim it is paid for",
            claim.number
        ),
        None => format!(
            "`lockring pay {number} {sum} --kind credit --how TEXT` takes it off, if it is given for good"
        ),
    };
    draft.say(format!(
        "CAUTION: {owed} count as owed by the rider; {takes_it_off}"
    ));
}

/// Says when the shop has more of the rider's money than it is due.
pub(super) fn warn_refund(draft: &mut Draft, kind: PayKind) {
    let Some(due) = draft.job.refund_due() else { return };
    let job = draft.job.number;
    let entered_twice = match kind {
        PayKind::Deposit | PayKind::Balance => {
            let entry = draft.job.revision;
            format!("; entered twice: `lockring undo {job} --entry {entry}`")
        }
        PayKind::Refund | PayKind::Credit | PayKind::WriteOff => String::new(),
    };
    draft.say(format!(
        "CAUTION: {due} more than there is to pay; give it back: `lockring pay {job} {due} --kind refund`{entered_twice}"
    ));
}

pub(super) fn invoice(draft: &mut Draft, desk: &Desk<'_>) -> Result<(), Refusal> {
    let account = &draft.job.account;
    let job = draft.job.number;
    if account.lines.is_empty() && account.typed_quote.is_none() {
        return Err(
            bad("job", &format!("job {job} has nothing to invoice")).hint(format!(
                "add a line with `lockring quote {job} add part \"new chain\" --price 22`"
            )),
        );
    }
    if let Some(over) = account.over_ceiling() {
        return Err(Refusal::new(
            Reason::GateClosed,
            format!(
                "the total {} is {over} over what the rider agreed to",
                account.total()
            ),
        )
        .with("job", job)
        .with("over", over)
        .hint(format!(
            "ask the rider, then enter it: lockring quote {job} agreed --how \"by phone\""
        )));
    }
    let total = account.to_pay();
    if account
        .invoices
        .last()
        .is_some_and(|invoice| invoice.total == total)
    {
        draft.say(format!("invoice {} stands: {total}", account.invoices.len()));
        say_tax(draft, desk);
        warn_unquoted(draft);
        return Ok(());
    }
    let numbers = account.invoices.iter().map(|invoice| invoice.number);
    let number = numbers.max().unwrap_or(0) + 1;
    let tax = draft.job.account.rate(desk.shop.tax_rate());
    keep_tax(draft, tax);
    let event = AccountEvent::Invoiced { number, total };
    draft.say(event.line());
    draft.push(Event::Account(event));
    say_tax(draft, desk);
    let standing = format!("paid {}, owed {}", draft.job.account.paid(), draft.job.balance());
    draft.say(standing);
    warn_unquoted(draft);
    Ok(())
}
