//! What people ask of the shelf, decided into entries or a refusal.

use jiff::civil::Date;

use crate::checks::pack_papers;
use crate::command::{Desk, ReceiptText, Typed, find_part_of, read_price, read_receipt, refuse_withdrawn};
use crate::entry::Entry;
use crate::job::Job;
use crate::length;
use crate::money::Money;
use crate::part::{Part, PartKind, Slot};
use crate::recalled;
use crate::receipt::Receipt;
use crate::refusal::{Reason, Refusal};
use crate::shop::suppliers;
use crate::supply::event::StockEvent;
use crate::supply::item::{Item, Seen};
use crate::supply::leaving;
use crate::supply::line::OrderLine;
use crate::supply::mark_key;
use crate::supply::piece::{Off, Piece};
use crate::supply::shelf::{Stock, StockDraft};

#[cfg(test)]
mod tests;

/// A change of the shelf, as asked.
#[derive(Debug, Clone, PartialEq)]
pub enum Shelving {
    /// Ordered for the shelf.
    Order {
        /// Id of the part.
        part: String,
        /// How many.
        count: u32,
        /// Supplier.
        supplier: String,
        /// Promised day.
        due: Option<Date>,
        /// Price of one as typed.
        price: String,
    },
    /// The supplier promises another day.
    Move {
        /// The line.
        line: u64,
        /// The day.
        due: Date,
        /// Why.
        why: String,
    },
    /// The rest of a line is no longer awaited.
    Cancel {
        /// The line.
        line: u64,
        /// Why.
        why: String,
    },
    /// The supplier paid for what went back.
    Credit {
        /// The line.
        line: u64,
        /// Amount as typed.
        amount: String,
    },
    /// Something came in: with a line, or found without one.
    Receive {
        /// The number of a line, or the id of a part.
        what: String,
        /// How many; 0 for one.
        count: u32,
        /// Attributes as read off the part.
        found: Vec<Typed>,
        /// Serial, lot and the like as typed.
        details: ReceiptText,
    },
    /// Back to the supplier.
    Return {
        /// The item.
        item: u64,
        /// How many; 0 for all.
        count: u32,
        /// Why.
        why: String,
    },
    /// Counted.
    Count {
        /// The item.
        item: u64,
        /// How many are there.
        count: u32,
        /// Why it differs.
        why: String,
    },
    /// Kept for a job, or for nobody.
    Keep {
        /// The item.
        item: u64,
        /// The job.
        job: Option<u32>,
    },
}

/// Decides what is asked of the shelf.
///
/// # Errors
/// A [`Refusal`] naming what was given, what is expected and how to go on.
pub fn decide(draft: &mut StockDraft, asked: &Shelving, desk: &Desk<'_>) -> Result<(), Refusal> {
    match asked {
        Shelving::Order {
            part,
            count,
            supplier,
            due,
            price,
        } => order(
            draft,
            &find_part_of(part, desk)?,
            *count,
            supplier,
            *due,
            price,
            desk,
        ),
        Shelving::Move { line, due, why } => {
            let why = words("why", why)?;
            let before = awaited(&draft.stock, *line)?
                .due
                .map_or_else(|| "no day".to_owned(), |day| day.to_string());
            draft.say(format!("line {line} now promised for {due}, {before} before"));
            draft.said.extend(desk.shop.calendar.shut_words(*due));
            draft.push(StockEvent::Moved {
                line: *line,
                due: *due,
                why,
            });
            Ok(())
        }
        Shelving::Cancel { line, why } => {
            let why = words("why", why)?;
            let rest = awaited(&draft.stock, *line)?.awaited();
            draft.say(format!("line {line}: {rest} no longer awaited: {why}"));
            draft.push(StockEvent::Cancelled { line: *line, why });
            Ok(())
        }
        Shelving::Credit { line, amount } => credit(draft, *line, amount, desk),
        Shelving::Receive {
            what,
            count,
            found,
            details,
        } => receive(draft, what, *count, found, details, desk),
        Shelving::Return { item, count, why } => give_back(draft, *item, *count, why),
        Shelving::Count { item, count, why } => {
            let why = words("why", why)?;
            plausible(*count)?;
            let there = on_shelf(&draft.stock, *item)?;
            if there.serial.is_some() && *count > 1 {
                return Err(bad(
                    "count",
                    &format!("item {item} bears a serial; expected 0 or 1, not {count}"),
                ));
            }
            let said = format!(
                "item {item}, {}: {count} there, {} before",
                there.goods.name, there.count
            );
            draft.say(said);
            draft.push(StockEvent::Counted {
                item: *item,
                count: *count,
                why,
            });
            Ok(())
        }
        Shelving::Keep { item, job } => {
            let kept = on_shelf(&draft.stock, *item)?.clone();
            let whom = job.map_or_else(|| "nobody".to_owned(), |job| format!("job {job}"));
            draft.say(format!("item {item}, {}: kept for {whom}", kept.goods.name));
            if job.is_some() {
                say_recalls(draft, &kept, desk);
            }
            draft.push(StockEvent::Kept {
                item: *item,
                job: *job,
            });
            Ok(())
        }
    }
}

/// Most pieces that are ordered, received or counted at once (judgement: a box of small parts has
/// hundreds, a slip of the finger millions).
const MOST_PIECES: u32 = 10_000;

fn plausible(count: u32) -> Result<(), Refusal> {
    if count <= MOST_PIECES {
        return Ok(());
    }
    Err(bad(
        "count",
        &format!("{count} pieces; expected at most {MOST_PIECES}: did a digit slip in?"),
    ))
}

fn order(
    draft: &mut StockDraft,
    part: &Part,
    count: u32,
    supplier: &str,
    due: Option<Date>,
    price: &str,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    if count == 0 {
        return Err(bad(
            "count",
            "0 pieces; expected at least 1, for example `--count 3`",
        ));
    }
    plausible(count)?;
    refuse_withdrawn(part, desk.shop)?;
    let price = read_price(price, desk.shop)?;
    let supplier = words("supplier", supplier)?;
    let (supplier, remarks) = suppliers::ordered_from(desk.shop, &supplier, due);
    let today = desk.day_of(&draft.origin);
    let usual = due.map_or_else(
        || suppliers::usual_day(desk.shop, &supplier, part, today),
        |_| None,
    );
    let due = due.or(usual.as_ref().map(|(day, _)| *day));
    let remarks = remarks.into_iter().chain(usual.map(|(_, said)| said));
    let number = draft.stock.last_line + 1;
    let when = due.map_or_else(|| "no day promised".to_owned(), |due| format!("due {due}"));
    let sum = price.map_or_else(String::new, |price| match count {
        1 => format!(", {price}"),
        count => format!(", {price} each, {} in all", price.times(count)),
    });
    draft.say(format!(
        "line {number}: {count} x {} for the shelf from {supplier}, {when}{sum}",
        part.name()
    ));
    remarks.for_each(|remark| draft.say(remark));
    if let Some(from) = suppliers::elsewhere(part, &supplier) {
        draft.say(format!(
            "CAUTION: the catalogue has it from {from}, not from {supplier}"
        ));
    }
    let at = draft.origin.made;
    draft.push(StockEvent::Ordered {
        line: OrderLine {
            due,
            price,
            ..OrderLine::new(number, None, part.into(), count, supplier, at)
        },
    });
    Ok(())
}

fn credit(draft: &mut StockDraft, line: u64, amount: &str, desk: &Desk<'_>) -> Result<(), Refusal> {
    let amount = read_price(amount, desk.shop)?
        .filter(|amount| *amount > Money::ZERO)
        .ok_or_else(|| {
            bad(
                "amount",
                &format!("`{amount}` is no credit; expected an amount above 0, for example 98.50"),
            )
        })?;
    let owed = draft.stock.lines.get(&line).filter(|line| line.returned > 0);
    let Some(owed) = owed else {
        return Err(no_line(
            &draft.stock,
            line,
            "nothing of it went back, or it was credited",
        ));
    };
    let rest = leaving::may_credit(owed, &format!("line {line} for the shelf"), amount)?;
    let said = format!("line {line} credited by {}: {amount}{rest}", owed.supplier);
    draft.say(said);
    draft.push(StockEvent::Credited { line, amount });
    Ok(())
}

fn receive(
    draft: &mut StockDraft,
    what: &str,
    count: u32,
    found: &[Typed],
    details: &ReceiptText,
    desk: &Desk<'_>,
) -> Result<(), Refusal> {
    let count = count.max(1);
    plausible(count)?;
    let line = match what.trim().parse::<u64>() {
        Ok(number) => Some(awaited(&draft.stock, number)?.clone()),
        Err(_) => None,
    };
    let id = line.as_ref().map_or(what.trim(), |line| line.goods.part.as_str());
    let part = find_part_of(id, desk)?;
    if let Some(line) = line.as_ref().filter(|line| count > line.awaited()) {
        return Err(bad(
            "count",
            &format!(
                "{count} came, line {} awaits {}; count again, or receive the rest by the part's id",
                line.number,
                line.awaited()
            ),
        ));
    }
    // The slot plays no part on the shelf; any of the kind reads the same words.
    let slot = Slot::ALL
        .into_iter()
        .find(|slot| slot.kind() == part.kind)
        .ok_or_else(|| bad("part", "no slot takes such a part"))?;
    let receipt = read_receipt(slot, found, details, desk.shop)?;
    if let Some(serial) = &receipt.serial {
        if count > 1 {
            return Err(bad(
                "count",
                &format!("{count} pieces with the one serial {serial}; receive each with its own"),
            ));
        }
        let holders = (desk.holders)(&mark_key(serial));
        if let Some(holder) = holders.into_iter().find(|holder| holder.part == part.id) {
            return Err(Refusal::new(
                Reason::ElsewhereAlready,
                format!(
                    "serial {serial} of {} is {} already; a piece is in one place",
                    part.name(),
                    holder.place()
                ),
            )
            .with("serial", serial)
            .hint(format!(
                "read it off the part again; `lockring where {serial}` shows where it was"
            )));
        }
    }
    if slot.is_traced() && (receipt.serial.is_none() || receipt.lot.is_none()) {
        return Err(bad(
            "serial",
            &format!(
                "a {} is kept with serial and lot, so that a recall finds it; expected --serial and --lot, read off the part",
                part.kind.word()
            ),
        ));
    }
    let number = draft.stock.last_item + 1;
    let rest = line.as_ref().map(|line| line.awaited() - count);
    let rest = match rest {
        Some(0) => ", the line is complete".to_owned(),
        Some(rest) => format!(", {rest} still awaited"),
        None => String::new(),
    };
    let marks: Vec<String> = [("serial", &receipt.serial), ("lot", &receipt.lot)]
        .into_iter()
        .filter_map(|(word, mark)| mark.as_ref().map(|mark| format!(", {word} {mark}")))
        .collect();
    let damage = receipt.damage_words().map(|words| format!(", {words}"));
    draft.say(format!(
        "item {number}: {count} x {}{}{}{rest}",
        part.name(),
        marks.concat(),
        damage.unwrap_or_default()
    ));
    if part.kind == PartKind::Pack {
        say_what_papers_lack(draft, &receipt);
    }
    let came = draft.origin.made;
    let item = Item {
        number,
        goods: (&part).into(),
        supplier: line.as_ref().map(|line| line.supplier.clone()),
        line: line.as_ref().map(|line| line.number),
        from_job: None,
        came,
        count,
        seen: Seen::of(&receipt),
        serial: receipt.serial,
        lot: receipt.lot,
        kept_for: None,
        gone: Vec::new(),
        paid: line.as_ref().and_then(|line| line.price),
    };
    say_recalls(draft, &item, desk);
    draft.push(StockEvent::Came { item });
    Ok(())
}

/// Says of each recall that it means an item.
fn say_recalls(draft: &mut StockDraft, item: &Item, desk: &Desk<'_>) {
    for recall in recalled::on_item(desk.shop, desk.zone, item) {
        draft.say(format!(
            "{recall} means it: set it aside; lockring shelf return {} --why TEXT",
            item.number
        ));
    }
}

/// Says which papers a pack for the shelf came without: no job takes it so, and nobody will ask the supplier later.
fn say_what_papers_lack(draft: &mut StockDraft, receipt: &Receipt) {
    let papers = receipt.papers.as_deref().unwrap_or_default();
    let lacking = pack_papers::lacking_anywhere(papers);
    if lacking.is_empty() {
        return;
    }
    draft.say(format!(
        "no {} on file of it: no job takes a pack without; ask the supplier for it or send the pack back, and connect \
         it to nothing meanwhile",
        lacking.join(" and no ")
    ));
}

fn give_back(draft: &mut StockDraft, item: u64, count: u32, why: &str) -> Result<(), Refusal> {
    let why = words("why", why)?;
    let there = on_shelf(&draft.stock, item)?;
    let count = if count == 0 { there.count } else { count };
    if count > there.count {
        return Err(bad(
            "count",
            &format!("{count} of item {item} cannot go back; {} lie there", there.count),
        ));
    }
    let to = there
        .supplier
        .as_ref()
        .map_or_else(String::new, |supplier| format!(" to {supplier}"));
    let said = format!("item {item}: {count} x {} returned{to}: {why}", there.goods.name);
    // What came back from a job was ordered for one: its supplier owes for it under a line of its own.
    let is_owed = there.line.is_none() && there.supplier.is_some();
    let owed = is_owed.then_some(draft.stock.last_line + 1);
    draft.say(said);
    if let Some(line) = owed {
        draft.say(format!(
            "its credit is awaited as line {line}: `lockring shelf credit {line} AMOUNT`"
        ));
    }
    draft.push(StockEvent::Returned {
        item,
        count,
        why,
        owed,
    });
    Ok(())
}

/// The item to take for a slot: the one named, else the oldest of the part that is kept for the
/// job, else the oldest that is kept for nobody; one that a recall means only if there is no other. It says what it cost, as
/// the stock knows, whatever it knew itself when it came.
///
/// # Errors
/// [`Reason::SlotEmpty`] when the slot has no part chosen, [`Reason::NotOnShelf`] when none
/// lies there, [`Reason::Reserved`] when all are kept for others.
pub fn to_take<'s>(
    stock: &'s Stock,
    job: &Job,
    slot: Slot,
    wanted: Option<u64>,
    desk: &Desk<'_>,
) -> Result<Item, Refusal> {
    let number = job.number;
    let Some(line) = job.build.get(&slot) else {
        return Err(Refusal::new(
            Reason::SlotEmpty,
            format!("job {number} has no {} chosen", slot.word()),
        )
        .with("slot", slot.word())
        .hint(format!(
            "choose one with `lockring build {number} {}=PART`",
            slot.word()
        )));
    };
    let fits = |item: &&Item| item.goods.part == line.part.id && item.count > 0;
    let candidates: Vec<&Item> = match wanted {
        None => stock.items.values().filter(fits).collect(),
        Some(wanted) => {
            let item = on_shelf(stock, wanted)?;
            if !fits(&item) {
                return Err(bad(
                    "item",
                    &format!(
                        "item {wanted} is {}; job {number} wants {} as its {}",
                        item.goods.name,
                        line.part.name(),
                        slot.word()
                    ),
                )
                .hint(format!(
                    "try it with `lockring order substitute {number} {} {}`; the same with --take puts it into the build, \
                     and then it is taken from the shelf",
                    slot.word(),
                    item.goods.part
                )));
            }
            vec![item]
        }
    };
    if candidates.is_empty() {
        return Err(Refusal::new(
            Reason::NotOnShelf,
            format!("no {} lies on the shelf", line.part.name()),
        )
        .with("part", &line.part.id)
        .hint("`lockring shelf` lists what lies there"));
    }
    let (meant, sound): (Vec<&Item>, Vec<&Item>) = candidates
        .iter()
        .partition(|item| !recalled::on_item(desk.shop, desk.zone, item).is_empty());
    let of = |items: &[&'s Item]| {
        let kept = items.iter().find(|item| item.kept_for == Some(number));
        let free = items.iter().find(|item| item.kept_for.is_none());
        kept.or(free).copied()
    };
    let found = of(&sound).or_else(|| of(&meant)).ok_or_else(|| {
        let others: Vec<String> = candidates
            .iter()
            .filter_map(|item| Some(format!("item {} for job {}", item.number, item.kept_for?)))
            .collect();
        Refusal::new(
            Reason::Reserved,
            format!(
                "every {} on the shelf is kept: {}",
                line.part.name(),
                others.join(", ")
            ),
        )
        .hint("free one with `lockring shelf keep ITEM none`")
    })?;
    Ok(Item {
        paid: stock.paid_for(found),
        ..found.clone()
    })
}

/// The item that a piece of a slot becomes when it is put onto the shelf, and which of those that
/// were taken off it is; `None` for the one in the slot. `word` names it as
/// [`which`](leaving::which) reads it, `entries` are those of the job.
///
/// # Errors
/// As [`which`](leaving::which) refuses, [`Reason::SlotEmpty`] when nothing came for the slot, and
/// [`Reason::ElsewhereAlready`] when the one that was taken off went somewhere since.
pub fn put_back(
    stock: &Stock,
    (job, entries): (&Job, &[Entry]),
    slot: Slot,
    word: &str,
    origin: &crate::origin::Origin,
    desk: &Desk<'_>,
) -> Result<(Item, Option<Off>), Refusal> {
    let off = leaving::which(job, slot, word, "put onto the shelf")?;
    let place = job.pieces.iter().position(|piece| match &off {
        None => piece.slot == slot && piece.left.is_none(),
        Some(off) => piece.slot == slot && piece.is_loose() && off.means(piece),
    });
    let piece = place.and_then(|place| job.pieces.get(place));
    // What was seen on a piece that was taken off stands in its receipt of then.
    let receipt = match (&off, place) {
        (Some(_), Some(place)) => leaving::last_receipt(entries, place),
        _ => job.build.get(&slot).and_then(|line| line.receipt.clone()),
    };
    let (Some(piece), Some(receipt)) = (piece, receipt) else {
        return Err(Refusal::new(
            Reason::SlotEmpty,
            format!(
                "job {} has no {} that came: there is nothing to put onto the shelf",
                job.number,
                slot.word()
            ),
        )
        .with("slot", slot.word()));
    };
    if off.is_some() {
        refuse_elsewhere(job, piece, desk)?;
    }
    let item = Item {
        number: stock.last_item + 1,
        goods: piece.goods.clone(),
        serial: piece.serial.clone(),
        lot: piece.lot.clone(),
        supplier: piece.supplier.clone(),
        line: None,
        from_job: Some(job.number),
        came: origin.made,
        count: 1,
        seen: Seen::of(&receipt),
        kept_for: None,
        gone: Vec::new(),
        paid: job.paid_for(piece),
    };
    Ok((item, off))
}

/// A piece that was taken off lies in no place that a receipt looks at: it may have been received anywhere since.
fn refuse_elsewhere(job: &Job, piece: &Piece, desk: &Desk<'_>) -> Result<(), Refusal> {
    let Some(serial) = &piece.serial else {
        return Ok(());
    };
    let mut holders = (desk.holders)(&mark_key(serial)).into_iter();
    let Some(holder) = holders.find(|holder| holder.part == piece.goods.part) else {
        return Ok(());
    };
    let (number, slot, place) = (job.number, piece.slot.word(), holder.place());
    let which = leaving::word_for(job, piece);
    Err(Refusal::new(
        Reason::ElsewhereAlready,
        format!(
            "serial {serial} of {}, taken off job {number}, is {place} now; a piece is in one place",
            piece.goods.name
        ),
    )
    .with("serial", serial)
    .with("slot", slot)
    .hint(format!(
        "if it lies here, undo the entry that has it {place}; if not, end the question with `lockring shelf scrap \
         {number} {slot} {which} --why \"{place}\"`"
    )))
}

fn awaited(stock: &Stock, line: u64) -> Result<&OrderLine, Refusal> {
    let found = stock.lines.get(&line).filter(|line| line.is_open());
    found.ok_or_else(|| no_line(stock, line, "it is not awaited"))
}

fn no_line(stock: &Stock, line: u64, why: &str) -> Refusal {
    let open: Vec<String> = stock
        .lines
        .values()
        .filter(|line| line.is_open())
        .map(|line| format!("{} ({})", line.number, line.goods.name))
        .collect();
    let refusal =
        Refusal::new(Reason::NoSuchLine, format!("line {line} for the shelf: {why}")).with("line", line);
    match open.as_slice() {
        [] => refusal
            .hint("no line for the shelf is awaited; order with `lockring order shelf PART --from SUPPLIER`"),
        open => refusal.hint(format!("awaited are {}", open.join(", "))),
    }
}

fn on_shelf(stock: &Stock, item: u64) -> Result<&Item, Refusal> {
    stock
        .items
        .get(&item)
        .filter(|item| item.count > 0)
        .ok_or_else(|| {
            Refusal::new(
                Reason::NotOnShelf,
                format!("item {item} does not lie on the shelf"),
            )
            .with("item", item)
            .hint("`lockring shelf` lists what lies there")
        })
}

fn words(field: &str, text: &str) -> Result<String, Refusal> {
    match text.trim() {
        "" => Err(bad(field, &format!("`{field}` is empty; expected some words"))),
        text => length::words(field, text),
    }
}

fn bad(field: &str, message: &str) -> Refusal {
    Refusal::new(Reason::BadInput, message).with("field", field)
}
