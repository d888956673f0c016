//! Packs as they came: what was read of them once stays with them.

use super::*;

fn pack(serial: &str, volts: &str, spread: &str) -> Command {
    Command::Receive {
        slot: "pack".into(),
        found: Vec::new(),
        details: ReceiptText {
            serial: serial.into(),
            lot: "L-1".into(),
            volts: volts.into(),
            group_spread: spread.into(),
            papers: "transport summary".into(),
            ..ReceiptText::default()
        },
    }
}

/// The pack of the longtail has 13 cells in series: 26 V are 2.0 V a cell and 48 V are 3.69 V; sound are 3.3 to 3.8 V, and
/// groups at most 80 mV apart (common practice, no source).
#[test]
fn a_pack_that_came_dead_is_no_better_for_a_charge() {
    let mut journal = Journal::longtail();
    let read = |journal: &Journal| {
        let receipt = journal.job.build[&Slot::Pack].receipt.clone().unwrap();
        (receipt.volts, receipt.group_spread)
    };
    journal.change(&pack("P3", "26 V", "12 mV"));
    let said = journal.change(&pack("", "48 V", "")).said.join("\n");
    assert!(said.contains("what this pack came with stays: 26 V"), "{said}");
    assert_eq!(read(&journal), (Some(26.0), Some(0.012)));
    // A worse one counts, and so does another pack.
    journal.change(&pack("P3", "25 V", ""));
    assert_eq!(read(&journal).0, Some(25.0));
    let said = journal.change(&pack("P4", "48 V", "95 mV")).said.join("\n");
    assert!(!said.contains("stays"), "{said}");
    assert_eq!(read(&journal).0, Some(48.0));
    let said = journal.change(&pack("P4", "48.1 V", "20 mV")).said.join("\n");
    assert!(
        said.contains("stays: a spread of 95 mV") && !said.contains("48 V;"),
        "{said}"
    );
    assert_eq!(read(&journal), (Some(48.1), Some(0.095)));
    // What balances on its charger is read again.
    journal.change(&pack("P5", "48 V", "40 mV"));
    journal.change(&pack("P5", "48.6 V", "20 mV"));
    assert_eq!(read(&journal), (Some(48.6), Some(0.02)));
}

fn from_the_shelf(number: u64) -> Command {
    let parts = catalogue::read("catalogue", CATALOGUE).unwrap();
    let part = parts.iter().find(|known| known.id == "mid-48-250").unwrap();
    let item = crate::supply::item::Item {
        number,
        goods: part.into(),
        serial: None,
        lot: None,
        supplier: Some("supplier three".into()),
        line: None,
        from_job: None,
        came: "2026-03-01T08:00:00Z".parse().unwrap(),
        count: 1,
        seen: crate::supply::item::Seen::default(),
        kept_for: None,
        gone: Vec::new(),
        paid: None,
    };
    Command::Supply(SupplyCommand::TakeFromShelf {
        item: Box::new(item),
        slot: Slot::Motor,
    })
}

fn order_motor(due: &str) -> Command {
    Command::Order {
        slots: vec!["motor".into()],
        supplier: "supplier one".into(),
        due: Some(due.parse().unwrap()),
        price: "400".into(),
    }
}

fn came() -> Command {
    Command::Receive {
        slot: "motor".into(),
        found: Vec::new(),
        details: ReceiptText::default(),
    }
}

fn back(piece: &str) -> Command {
    Command::Supply(SupplyCommand::Send {
        slot: "motor".into(),
        piece: piece.into(),
        scrap: false,
        why: "hums".into(),
    })
}

#[test]
fn what_is_awaited_is_ordered_though_a_piece_of_the_shelf_lay_in_its_place() {
    let mut journal = Journal::longtail();
    journal.change(&order_motor("2026-03-10"));
    journal.change(&from_the_shelf(4));
    let said = journal.change(&back("")).said.join("\n");
    assert!(
        said.contains("the slot waits for the motor ordered from supplier one")
            && !said.contains("lockring order"),
        "{said}"
    );
    let order = journal.job.order_of(Slot::Motor).unwrap();
    assert_eq!(order.due, Some("2026-03-10".parse().unwrap()));
    assert!(!journal.job.is_to_order(Slot::Motor));
    journal.change(&came());
    let piece = journal.job.piece(Slot::Motor).cloned().unwrap();
    assert_eq!(piece.supplier.as_deref(), Some("supplier one"));
    assert_eq!(journal.job.paid_for(&piece), Some(crate::money::Money(40_000)));
}

#[test]
fn pieces_without_marks_are_told_apart_by_whence_they_came() {
    let mut journal = Journal::longtail();
    journal.change(&order_motor("2026-03-10"));
    journal.change(&came());
    // The first is off and the second on: the part names both, so the word that is printed is another.
    let said = journal.change(&from_the_shelf(4)).said.join("\n");
    assert!(said.contains("`lockring return 21 motor off --why …`"), "{said}");
    let said = journal.change(&from_the_shelf(5)).said.join("\n");
    assert!(said.contains("`lockring return 21 motor off2 --why …`"), "{said}");
    let refusal = journal.refused(&back("off"));
    assert!(
        refusal.message.contains("off1: from supplier one")
            && refusal.message.contains("off2: from the shelf, item 4"),
        "{refusal:?}"
    );
    journal.change(&back("off2"));
    assert_eq!(journal.job.orders[0].returned, 0, "it was the other");
    journal.change(&back("off"));
    assert_eq!(journal.job.orders[0].returned, 1);
}

/// 14 and 15 March 2026 are a Saturday and a Sunday.
#[test]
fn a_day_the_shop_does_not_work_is_said() {
    let mut journal = Journal::longtail();
    let said = journal.change(&order_motor("2026-03-15")).said.join("\n");
    assert!(
        said.contains("2026-03-15 is a Sunday: the shop does not work then"),
        "{said}"
    );
    let promise = |day: &str| Command::Promise {
        day: day.parse().unwrap(),
        hard: None,
        why: "ship late".into(),
    };
    let said = journal.change(&promise("2026-03-14")).said.join("\n");
    assert!(said.contains("2026-03-14 is a Saturday"), "{said}");
    journal
        .shop
        .calendar
        .holidays
        .insert("2026-03-16".parse().unwrap());
    let said = journal.change(&promise("2026-03-16")).said.join("\n");
    assert!(
        said.contains("2026-03-16 is a Monday on which the shop is shut"),
        "{said}"
    );
    let said = journal.change(&promise("2026-03-17")).said.join("\n");
    assert!(!said.contains("shop"), "{said}");
}

/// By hand: 337.82 quoted without a cost, a motor bought for 400: -62.18 before any work.
#[test]
fn what_a_part_cost_counts_though_its_line_has_no_cost() {
    let mut journal = Journal::longtail();
    journal.change(&order_motor("2026-03-10"));
    assert_eq!(journal.job.parts_cost(), crate::money::Money::ZERO);
    journal.change(&came());
    let four_hundred = crate::money::Money(40_000);
    assert_eq!(journal.job.parts_cost(), four_hundred);
    journal.change(&back(""));
    assert_eq!(journal.job.parts_cost(), crate::money::Money::ZERO);
}

/// By hand: a kit quoted at a cost of 600, of which a motor of 400 is here: 600, and nothing beside it.
#[test]
fn a_kit_quoted_as_another_line_holds_the_pieces_it_was_bought_with() {
    let kit = |cost: &str| {
        Command::Money(MoneyEntry::QuoteAdd(QuoteAdd {
            kind: "other".into(),
            words: "kit".into(),
            price: "900".into(),
            cost: cost.into(),
            ..QuoteAdd::default()
        }))
    };
    let mut journal = Journal::longtail();
    journal.change(&kit("600"));
    journal.change(&order_motor("2026-03-10"));
    journal.change(&came());
    assert_eq!(journal.job.parts_cost(), crate::money::Money(60_000));
    // What was bought for more than its lines say counts as it was bought: 400 beside 350 quoted.
    let mut journal = Journal::longtail();
    journal.change(&kit("350"));
    journal.change(&order_motor("2026-03-10"));
    journal.change(&came());
    assert_eq!(journal.job.parts_cost(), crate::money::Money(40_000));
}

#[test]
fn the_older_entry_that_a_refused_undo_names_can_be_undone() {
    for arrival in [pack("P4", "48 V", "20 mV"), from_the_shelf(4)] {
        let mut journal = Journal::longtail();
        let slot = match &arrival {
            Command::Supply(_) => Slot::Motor,
            _ => Slot::Pack,
        };
        journal.change(&measure(&[("clf", "51.5")]));
        journal.change(&arrival);
        journal.change(&Command::Supply(SupplyCommand::PutBack {
            slot,
            item: 6,
            why: "rider took another".into(),
        }));
        let hint = journal.undo("K", None).unwrap_err().hint.unwrap();
        let named = hint
            .split("--entry ")
            .nth(1)
            .and_then(|rest| rest.split('`').next());
        let seq = named.and_then(|seq| seq.parse().ok()).unwrap();
        journal.undo("K", Some(seq)).unwrap();
    }
}
