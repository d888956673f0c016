//! Parts of a build that the quote does not ask for.

use crate::account::LineKind;
use crate::command::Draft;
use crate::fact::Value;
use crate::money::Money;
use crate::part::{Part, Slot};

/// Says which parts of the build no line asks for, while all lines for goods come to less than the
/// catalogue asks for the build. A line names a part by its name, its id or its slot; one for several
/// together, or a price below the catalogue's, is the shop's own affair once the sum is there.
pub(in crate::command) fn warn_unquoted(draft: &mut Draft) {
    let account = &draft.job.account;
    if account.lines.is_empty() {
        return;
    }
    let goods = account
        .lines
        .iter()
        .filter(|line| line.kind != LineKind::Labour && !line.rework);
    let quoted: Money = goods.clone().map(|line| line.price).sum();
    let price = |part: &Part| match part.get("price") {
        Some(Value::Money(minor)) => Some(Money(*minor)),
        _ => None,
    };
    let priced = draft
        .job
        .build
        .iter()
        .filter_map(|(slot, line)| Some((*slot, &line.part, price(&line.part)?)));
    let build: Money = priced.clone().map(|(_, _, price)| price).sum();
    if quoted >= build {
        return;
    }
    let is_named = |slot: Slot, part: &Part| {
        goods.clone().any(|line| {
            let words = line.words.to_lowercase();
            let names = [
                part.name().to_lowercase(),
                part.id.to_lowercase(),
                slot.word().replace('-', " "),
            ];
            names.iter().any(|name| words.contains(name)) || words.contains(slot.word())
        })
    };
    let left: Vec<(Slot, Money)> = priced
        .filter(|(slot, part, _)| !is_named(*slot, part))
        .map(|(slot, _, price)| (slot, price))
        .collect();
    let Some((first, _)) = left.first() else { return };
    let sum: Money = left.iter().map(|(_, price)| *price).sum();
    let words: Vec<&str> = left.iter().map(|(slot, _)| slot.word()).collect();
    let (job, count) = (draft.job.number, left.len());
    let what = if count == 1 {
        "1 part of the build stands".to_owned()
    } else {
        format!("{count} parts of the build stand")
    };
    draft.say(format!(
        "CAUTION: {what} in no quote line (catalogue {sum}): {}; add each: `lockring quote {job} add part --slot {}`",
        words.join(", "),
        first.word()
    ));
}
