//! Lines of a quote whose part left the build.

use super::supply::order;
use super::*;
use crate::account::AccountEvent;
use crate::command::{MoneyEntry, QuoteAdd, SupplyCommand};
use crate::money::Money;
use crate::part::{PartKind, Slot};

fn of_slot(slot: &str) -> Command {
    Command::Money(MoneyEntry::QuoteAdd(QuoteAdd {
        kind: "part".into(),
        slot: slot.into(),
        ..QuoteAdd::default()
    }))
}

/// A part of the catalogue of this kind that is not in the build.
fn other(journal: &Journal, kind: PartKind, held: Slot) -> Part {
    let held = &journal.job.build[&held].part.id;
    let mut parts = journal.parts.iter();
    let found = parts.find(|part| part.kind == kind && part.id != *held && part.get("price").is_some());
    found.unwrap().clone()
}

fn cautions(journal: &mut Journal, command: &Command) -> Vec<String> {
    let said = journal.change(command).said.into_iter();
    said.filter(|line| line.starts_with("CAUTION") && line.contains("quote line"))
        .collect()
}

/// A quote of 1 pack and 1 charger: once others are chosen, both lines are named with their sums, and both new parts as not
/// quoted, although "charger" stands in the words of the old line.
#[test]
fn a_line_whose_part_left_the_build_is_named_until_it_is_struck() {
    let mut journal = Journal::longtail();
    let build = journal.job.build.iter();
    let priced = build.filter(|(_, line)| line.part.get("price").is_some());
    let quoted: Vec<&str> = priced.map(|(slot, _)| slot.word()).collect();
    for slot in quoted {
        journal.change(&of_slot(slot));
    }
    let (pack, charger) = (
        other(&journal, PartKind::Pack, Slot::Pack),
        other(&journal, PartKind::Charger, Slot::Charger),
    );
    let number = |journal: &Journal, slot: Slot| {
        let name = journal.job.build[&slot].part.name();
        let line = journal.job.account.lines.iter().find(|line| line.words == name);
        line.unwrap().number
    };
    let (first, second) = (number(&journal, Slot::Pack), number(&journal, Slot::Charger));
    let again = Command::Build {
        parts: vec![Typed::new("pack", &pack.id), Typed::new("charger", &charger.id)],
    };
    let told = cautions(&mut journal, &again);
    let (low, high) = (first.min(second), first.max(second));
    assert!(
        told[0].starts_with(&format!("CAUTION: quote lines {low} ("))
            && told[0].contains(&format!("), {high} (")),
        "{told:?}"
    );
    assert!(
        told[0].ends_with(&format!(
            "`lockring quote 21 strike {low} --why \"not in the build\"`"
        )),
        "{told:?}"
    );
    assert!(
        told[1].contains("2 parts of the build stand in no quote line") && told[1].contains("pack, charger"),
        "{told:?}"
    );
    // Whoever agrees, invoices or orders is told as well.
    let agreed = |total: &str| {
        Command::Money(MoneyEntry::Agreed {
            total: total.into(),
            how: "by phone".into(),
        })
    };
    for command in [
        &agreed("2050"),
        &Command::Money(MoneyEntry::Invoice),
        &order(&["pack"], ""),
    ] {
        assert_eq!(cautions(&mut journal, command), told, "{command:?}");
    }
    // The rider's paper leaves both lines out: a yes to the total as it stands would be one to another sum.
    let refusal = journal.try_change("K", &agreed("")).unwrap_err();
    assert_eq!(refusal.reason, Reason::LaterStands);
    assert_eq!(refusal.metadata["lines"], format!("{low} {high}"));
    let strike = format!("strike each: `lockring quote 21 strike {low} --why \"not in the build\"`");
    assert!(refusal.hint.unwrap().starts_with(&strike));
    for number in [first, second] {
        journal.change(&Command::Money(MoneyEntry::QuoteStrike {
            number,
            why: "not in the build".into(),
        }));
    }
    journal.change(&of_slot("pack"));
    journal.change(&of_slot("charger"));
    let total = journal.job.account.total();
    let draft = journal.change(&agreed(""));
    assert!(
        draft.said[0].starts_with(&format!("rider agreed to {total}")),
        "{:?}",
        draft.said
    );
    assert_eq!(
        cautions(&mut journal, &Command::Money(MoneyEntry::Invoice)),
        [""; 0]
    );
    // Another in its place by the order's own way.
    let Command::Build { parts } = &again else {
        panic!()
    };
    let back = other(&journal, PartKind::Pack, Slot::Pack);
    assert_ne!(parts[0].text, back.id);
    let told = cautions(
        &mut journal,
        &Command::Supply(SupplyCommand::Substitute {
            slot: "pack".into(),
            part: back.id,
            supplier: String::new(),
            due: None,
            price: String::new(),
        }),
    );
    assert!(
        told[0].contains("asks for a part that is not in the build"),
        "{told:?}"
    );
}

/// As entries from before a line kept its part tell it: by its words alone, when the part leaves.
#[test]
fn a_line_that_keeps_no_part_is_named_when_the_part_called_like_it_leaves() {
    let mut journal = Journal::longtail();
    let name = journal.job.build[&Slot::Pack].part.name().to_owned();
    journal.change(&Command::Money(MoneyEntry::QuoteAdd(QuoteAdd {
        kind: "part".into(),
        words: name,
        price: "400".into(),
        ..QuoteAdd::default()
    })));
    assert!(journal.job.account.lines[0].of.is_none());
    let stored = serde_json::to_string(&journal.job.account.lines[0]).unwrap();
    assert!(!stored.contains("\"of\""), "{stored}");
    let pack = other(&journal, PartKind::Pack, Slot::Pack);
    let told = cautions(
        &mut journal,
        &Command::Build {
            parts: vec![Typed::new("pack", &pack.id)],
        },
    );
    assert!(told[0].contains("quote line 1 ("), "{told:?}");
}

/// Work and what is bought again stay owed whatever the slot holds.
#[test]
fn work_on_a_part_and_one_bought_again_are_not_struck_with_it() {
    let mut journal = Journal::longtail();
    let add = |kind: &str, rework: bool| {
        Command::Money(MoneyEntry::QuoteAdd(QuoteAdd {
            kind: kind.into(),
            slot: "pack".into(),
            hours: "1".into(),
            rework,
            ..QuoteAdd::default()
        }))
    };
    journal.change(&add("labour", false));
    journal.change(&add("part", true));
    let pack = other(&journal, PartKind::Pack, Slot::Pack);
    let build = Command::Build {
        parts: vec![Typed::new("pack", &pack.id)],
    };
    assert_eq!(cautions(&mut journal, &build), [""; 0]);
    assert_eq!(journal.job.account.lines.len(), 2);
    let lines = journal.entries.iter().filter(
        |entry| matches!(&entry.event, Event::Account(AccountEvent::Quoted(line)) if line.of.is_some()),
    );
    assert_eq!(lines.count(), 0);
    assert!(journal.job.account.total() > Money::ZERO);
}
