//! Money, labour and what comes after handover, decided into entries.

use jiff::{SignedDuration, Timestamp};

use crate::account::{AccountEvent, LineKind, PayKind, QuoteLine};
use crate::after::{AfterEvent, Payer, Visit};
use crate::command::{Desk, Draft, find_slot, require_text};
use crate::entry::Event;
use crate::fact::Value;
use crate::labour::{Cause, LONGEST_HOURS, LabourEvent, at_rate};
use crate::money::Money;
use crate::nearest::nearest;
use crate::refusal::{Reason, Refusal, Violation};
use crate::stage::Stage;

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
        /// Word of a [`PayKind`].
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
        /// Word of a [`Cause`]; may be empty.
        cause: String,
        /// Word of a [`Payer`]; may be empty.
        payer: String,
        /// Whether it is the first check.
        first_check: bool,
    },
    /// Somebody is asked to pay.
    Claim {
        /// Word of a [`Payer`].
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
    /// A part is swapped.
    Swap {
        /// Slot.
        slot: String,
        /// Serial that comes off; empty for the one on file.
        serial_out: String,
        /// Serial that goes on.
        serial_in: String,
        /// Lot of the one that goes on; may be empty.
        lot_in: String,
        /// Word of a [`Payer`].
        payer: String,
        /// Why.
        why: String,
    },
}

/// A line of the quote as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct QuoteAdd {
    /// Word of a [`LineKind`].
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

/// Decides an entry.
pub(super) fn enter(draft: &mut Draft, entry: &MoneyEntry, desk: &Desk<'_>) -> Result<(), Refusal> {
    match entry {
        MoneyEntry::QuoteAdd(line) => quote_add(draft, line, desk),
        MoneyEntry::QuoteStrike { number, why } => quote_strike(draft, *number, why),
        MoneyEntry::Ceiling { amount } => {
            let amount = read_amount("ceiling", amount)?;
            draft.say(format!("no call needed up to {amount}"));
            draft.push(Event::Account(AccountEvent::Ceiling { amount }));
            warn_over(draft);
            Ok(())
        }
        MoneyEntry::Agreed { total, how } => {
            let how = require_text("how the rider agreed (--how)", how, "by phone")?;
            let total = match total.trim() {
                "" => draft.job.account.total(),
                typed => read_amount("total", typed)?,
            };
            draft.say(format!("rider agreed to {total}: {how}"));
            draft.push(Event::Account(AccountEvent::Agreed { total, how }));
            warn_over(draft);
            Ok(())
        }
        MoneyEntry::Pay { kind, amount, how } => pay(draft, kind, amount, how),
        MoneyEntry::Invoice => invoice(draft),
        MoneyEntry::ClockOn { who, stage, rework } => clock_on(draft, who, stage, rework),
        MoneyEntry::ClockOff { who } => clock_off(draft, who),
        MoneyEntry::ClockFix {
            number,
            from,
            to,
            why,
        } => clock_fix(draft, *number, *from, *to, why),
        MoneyEntry::Visit {
            symptom,
            odometer,
            found,
            cause,
            payer,
            first_check,
        } => visit(draft, [symptom, odometer, found, cause, payer], *first_check),
        MoneyEntry::Claim {
            against,
            about,
            amount,
        } => claim(draft, against, about, amount),
        MoneyEntry::ClaimSettle { number, paid, how } => claim_settle(draft, *number, paid, how),
        MoneyEntry::Swap {
            slot,
            serial_out,
            serial_in,
            lot_in,
            payer,
            why,
        } => swap(draft, slot, [serial_out, serial_in, lot_in, payer, why], desk),
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

fn quote_add(draft: &mut Draft, add: &QuoteAdd, desk: &Desk<'_>) -> Result<(), Refusal> {
    let kind = word("kind of quote line", &add.kind, &LineKind::ALL, LineKind::word)?;
    let mut words = add.words.trim().to_owned();
    let mut price = match add.price.trim() {
        "" => None,
        typed => Some(read_amount("price", typed)?),
    };
    let cost = match add.cost.trim() {
        "" => Money::ZERO,
        typed => read_amount("cost", typed)?,
    };
    let mut minutes = 0;
    if kind == LineKind::Labour {
        minutes = read_minutes(&add.hours)?;
        let rate = match add.rate.trim() {
            "" => labour_rate(desk.rules),
            typed => read_amount("rate", typed)?,
        };
        price = price.or_else(|| Some(at_rate(rate, minutes.into())));
    }
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
    let had_typed = draft.job.account.lines.is_empty() && draft.job.account.typed_quote.is_some();
    let line = QuoteLine {
        number: draft.job.account.last_line + 1,
        kind,
        words,
        price,
        cost,
        minutes,
        rework: add.rework,
    };
    let event = AccountEvent::Quoted(line);
    draft.say(event.line());
    draft.push(Event::Account(event));
    let account = &draft.job.account;
    let total = format!("total {}, owed {}", account.total(), account.owed());
    draft.say(total);
    if had_typed {
        draft.say("lines stand before the total that was typed without them");
    }
    warn_over(draft);
    Ok(())
}

fn quote_strike(draft: &mut Draft, number: u32, why: &str) -> Result<(), Refusal> {
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
    Ok(())
}

/// Says when the total lies above what the rider agreed to.
fn warn_over(draft: &mut Draft) {
    if let Some(over) = draft.job.account.over_ceiling() {
        let job = draft.job.number;
        draft.say(format!(
            "CAUTION: {over} over what the rider agreed to; ask, then: lockring quote {job} agreed --how \"by phone\""
        ));
    }
}

fn pay(draft: &mut Draft, kind: &str, amount: &str, how: &str) -> Result<(), Refusal> {
    let kind = word("kind of payment", kind, &PayKind::ALL, PayKind::word)?;
    let amount = read_amount("amount", amount)?;
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
    let owed = draft.job.account.owed();
    if matches!(kind, PayKind::Credit | PayKind::WriteOff) && amount > draft.job.account.to_pay() {
        return Err(bad(
            "amount",
            &format!("{amount} is more than the {} to pay", draft.job.account.to_pay()),
        ));
    }
    if kind == PayKind::WriteOff && amount > owed {
        return Err(bad("amount", &format!("{amount} is more than the {owed} owed")));
    }
    let event = AccountEvent::Paid { kind, amount, how };
    draft.say(event.line());
    draft.push(Event::Account(event));
    let account = &draft.job.account;
    let standing = format!(
        "paid {} of {}, owed {}",
        account.paid(),
        account.to_pay(),
        account.owed()
    );
    draft.say(standing);
    Ok(())
}

fn invoice(draft: &mut Draft) -> Result<(), Refusal> {
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
        return Ok(());
    }
    let number = account.invoices.len() as u32 + 1;
    let event = AccountEvent::Invoiced { number, total };
    draft.say(event.line());
    draft.push(Event::Account(event));
    let account = &draft.job.account;
    let standing = format!("paid {}, owed {}", account.paid(), account.owed());
    draft.say(standing);
    Ok(())
}

fn whoever(draft: &Draft, who: &str) -> String {
    match who.trim() {
        "" => draft.origin.by.clone(),
        who => who.to_owned(),
    }
}

fn clock_on(draft: &mut Draft, who: &str, stage: &str, rework: &str) -> Result<(), Refusal> {
    let who = whoever(draft, who);
    let stage = match stage.trim() {
        "" => draft.job.stage,
        typed => Stage::from_word(&typed.to_lowercase()).ok_or_else(|| {
            let all: Vec<&str> = Stage::GATED.iter().map(|stage| stage.word()).collect();
            let near = nearest(&typed.to_lowercase(), all.iter().copied());
            Refusal::unknown(
                "stage",
                typed,
                &near,
                &format!("the stages are {}", all.join(", ")),
            )
        })?,
    };
    let rework = optional_word("cause", rework, &Cause::ALL, Cause::word)?;
    if let Some(running) = draft.job.labour.running(&who) {
        let job = draft.job.number;
        return Err(
            bad("who", &format!("{who} is on at {} already", running.stage.word()))
                .hint(format!("end it first with `lockring clock off {job}`")),
        );
    }
    let number = draft.job.labour.stints.len() as u32 + 1;
    let event = LabourEvent::ClockedOn {
        number,
        who,
        stage,
        rework,
    };
    draft.say(event.line());
    draft.push(Event::Labour(event));
    Ok(())
}

fn clock_off(draft: &mut Draft, who: &str) -> Result<(), Refusal> {
    let who = whoever(draft, who);
    let job = draft.job.number;
    let Some(stint) = draft.job.labour.running(&who).cloned() else {
        return Err(bad("who", &format!("{who} is not on at job {job}"))
            .hint(format!("begin with `lockring clock on {job}`")));
    };
    let now = draft.origin.made;
    let length = now.duration_since(stint.from);
    if length.is_negative() || length > SignedDuration::from_hours(LONGEST_HOURS) {
        return Err(bad(
            "made_at",
            &format!("the clock of {who} runs since {}: longer than {LONGEST_HOURS} hours, or ended before it began", stint.from),
        )
        .hint(format!(
            "say when the work ended: lockring clock fix {job} {} --to 2026-03-10T17:30 --why \"forgot it\"",
            stint.number
        )));
    }
    draft.push(Event::Labour(LabourEvent::ClockedOff { number: stint.number }));
    let minutes = (length.as_secs() + 30) / 60;
    let (first, again) = draft.job.labour.minutes();
    draft.say(format!("{who} off at {}: {minutes} min", stint.stage.word()));
    draft.say(format!(
        "on this job {} min, {again} of them again",
        first + again
    ));
    Ok(())
}

fn clock_fix(
    draft: &mut Draft,
    number: u32,
    from: Option<Timestamp>,
    to: Timestamp,
    why: &str,
) -> Result<(), Refusal> {
    let why = require_text("the reason (--why)", why, "forgot it")?;
    let job = draft.job.number;
    let stint = draft
        .job
        .labour
        .stints
        .iter()
        .find(|stint| stint.number == number);
    let Some(stint) = stint else {
        return Err(bad("number", &format!("job {job} has no clock {number}"))
            .hint(format!("`lockring money {job}` lists them")));
    };
    let from = from.unwrap_or(stint.from);
    let length = to.duration_since(from);
    if length <= SignedDuration::ZERO || length > SignedDuration::from_hours(LONGEST_HOURS) {
        return Err(bad(
            "to",
            &format!(
                "{from} to {to} is no piece of work; expected an end after the beginning, {LONGEST_HOURS} hours later at most"
            ),
        ));
    }
    let event = LabourEvent::ClockFixed {
        number,
        from,
        to,
        why,
    };
    draft.push(Event::Labour(event));
    draft.say(format!("clock {number}: {} min", (length.as_secs() + 30) / 60));
    Ok(())
}

fn handed_over(draft: &Draft, what: &str) -> Result<(), Refusal> {
    if draft.job.stage == Stage::HandedOver {
        return Ok(());
    }
    Err(Refusal::new(
        Reason::GateClosed,
        format!(
            "job {} is at {}: {what} comes after handover",
            draft.job.number,
            draft.job.stage.word()
        ),
    )
    .with("job", draft.job.number)
    .hint(format!(
        "hand it over with `lockring advance {}`",
        draft.job.number
    )))
}

fn visit(draft: &mut Draft, typed: [&String; 5], first_check: bool) -> Result<(), Refusal> {
    let [symptom, odometer, found, cause, payer] = typed;
    handed_over(draft, "a visit")?;
    let visit = Visit {
        symptom: symptom.trim().to_owned(),
        odometer_km: read_km(odometer)?,
        found: require_text("what was found (--found)", found, "spokes tightened")?,
        cause: optional_word("cause", cause, &Cause::ALL, Cause::word)?,
        payer: optional_word("payer", payer, &Payer::ALL, Payer::word)?,
        first_check,
    };
    let event = AfterEvent::Visited(visit);
    draft.say(event.line());
    draft.push(Event::After(event));
    Ok(())
}

fn claim(draft: &mut Draft, against: &str, about: &str, amount: &str) -> Result<(), Refusal> {
    handed_over(draft, "a claim")?;
    let against = word("side to claim against", against, &Payer::ALL, Payer::word)?;
    let about = require_text("what the claim is for", about, "controller dead after rain")?;
    let amount = match amount.trim() {
        "" => None,
        typed => Some(read_amount("amount", typed)?),
    };
    let event = AfterEvent::Claimed {
        number: draft.job.after.claims.len() as u32 + 1,
        against,
        about,
        amount,
    };
    draft.say(event.line());
    draft.push(Event::After(event));
    Ok(())
}

fn claim_settle(draft: &mut Draft, number: u32, paid: &str, how: &str) -> Result<(), Refusal> {
    let how = require_text("how it ended (--how)", how, "supplier sent a new one")?;
    let paid = match paid.trim() {
        "" => Money::ZERO,
        typed => read_amount("paid", typed)?,
    };
    let open = draft.job.after.claims.iter().find(|claim| claim.number == number);
    if open.is_none_or(|claim| claim.settled.is_some()) {
        return Err(bad(
            "number",
            &format!("job {} has no open claim {number}", draft.job.number),
        ));
    }
    let event = AfterEvent::ClaimSettled { number, paid, how };
    draft.say(event.line());
    draft.push(Event::After(event));
    Ok(())
}

fn swap(draft: &mut Draft, slot: &str, typed: [&String; 5], desk: &Desk<'_>) -> Result<(), Refusal> {
    let [serial_out, serial_in, lot_in, payer, why] = typed;
    handed_over(draft, "a swap")?;
    let slot = find_slot(slot)?;
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
    let on_file = on_file.serial.unwrap_or_default();
    let serial_out = match serial_out.trim() {
        "" => on_file.clone(),
        typed => typed.to_owned(),
    };
    if !on_file.is_empty() && serial_out != on_file {
        return Err(bad(
            "serial_out",
            &format!("`{serial_out}` came off, but {on_file} is on this bicycle"),
        )
        .hint("look at the label again; the bicycle may be another one"));
    }
    let serial_in = require_text("the serial that goes on (--in)", serial_in, "40871")?;
    super::parts::refuse_twice(draft, slot, &serial_in, desk)?;
    let event = AfterEvent::Swapped {
        slot,
        serial_out,
        serial_in,
        lot_in: lot_in.trim().to_owned(),
        payer: word("payer", payer, &Payer::ALL, Payer::word)?,
        why: require_text("the reason (--why)", why, "pack swollen")?,
    };
    draft.say(event.line());
    draft.push(Event::After(event));
    Ok(())
}

fn bad(field: &str, problem: &str) -> Refusal {
    let violation = Violation {
        field: field.to_owned(),
        line: None,
        problem: problem.to_owned(),
    };
    Refusal::new(Reason::BadInput, problem.to_owned())
        .with("field", field)
        .violations(vec![violation])
}

fn read_amount(field: &str, text: &str) -> Result<Money, Refusal> {
    let amount = Money::read(text).map_err(|error| bad(field, &error.to_string()))?;
    if amount.is_negative() {
        return Err(bad(
            field,
            &format!("{amount} is less than nothing; expected an amount such as 98.50"),
        ));
    }
    Ok(amount)
}

/// Hours as typed (`6.5`, `6.5h`, `6,5 h`, `90min`), in whole minutes, rounded half up.
fn read_minutes(text: &str) -> Result<u32, Refusal> {
    let refuse = || {
        bad(
            "hours",
            &format!(
                "`{}` is no time; expected hours such as 6.5 or 90min",
                text.trim()
            ),
        )
    };
    let lower = text.trim().to_lowercase().replace(',', ".");
    let (number, each) = match lower.strip_suffix("min") {
        Some(number) => (number, 1.0),
        None => (lower.strip_suffix('h').unwrap_or(&lower), 60.0),
    };
    let number: f64 = number.trim().parse().map_err(|_| refuse())?;
    let minutes = (number * each).round();
    if !(1.0..=60_000.0).contains(&minutes) {
        return Err(refuse());
    }
    Ok(minutes as u32)
}

fn read_km(text: &str) -> Result<Option<u32>, Refusal> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let field = crate::code::find("range").ok_or_else(|| bad("odometer", "distances cannot be read"))?;
    let value = field
        .read(text, true)
        .map_err(|error| bad("odometer", &error.to_string()))?;
    let km = value.number().unwrap_or(-1.0) / 1000.0;
    if !(0.0..=1_000_000.0).contains(&km) {
        return Err(bad(
            "odometer",
            &format!("`{text}` is no distance; expected one such as 140km"),
        ));
    }
    Ok(Some(km.round() as u32))
}

fn word<T: Copy>(what: &str, typed: &str, all: &[T], shown: fn(T) -> &'static str) -> Result<T, Refusal> {
    let lower = typed.trim().to_lowercase();
    all.iter()
        .copied()
        .find(|item| shown(*item) == lower)
        .ok_or_else(|| {
            let words: Vec<&str> = all.iter().map(|item| shown(*item)).collect();
            let near = nearest(&lower, words.iter().copied());
            Refusal::unknown(what, typed, &near, &format!("expected {}", words.join(", ")))
        })
}

fn optional_word<T: Copy>(
    what: &str,
    typed: &str,
    all: &[T],
    shown: fn(T) -> &'static str,
) -> Result<Option<T>, Refusal> {
    match typed.trim() {
        "" => Ok(None),
        typed => word(what, typed, all, shown).map(Some),
    }
}
