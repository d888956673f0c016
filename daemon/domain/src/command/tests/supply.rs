//! Orders and pieces of a job as decided: awaited, moved, cancelled, returned, credited.

use super::*;
use crate::command::{MoneyEntry, QuoteAdd};
use crate::money::Money;

pub(super) fn order(slots: &[&str], price: &str) -> Command {
    Command::Order {
        slots: slots.iter().map(|slot| (*slot).to_owned()).collect(),
        supplier: "supplier one".into(),
        due: Some("2026-03-10".parse().unwrap()),
        price: price.into(),
    }
}

pub(super) fn receive(slot: &str, serial: &str) -> Command {
    Command::Receive {
        slot: slot.into(),
        found: Vec::new(),
        details: ReceiptText {
            serial: serial.into(),
            lot: "L-1".into(),
            ..ReceiptText::default()
        },
    }
}

fn cancel(slots: &[&str]) -> Command {
    Command::Supply(SupplyCommand::CancelOrder {
        slots: slots.iter().map(|slot| (*slot).to_owned()).collect(),
        why: "not made any more".into(),
    })
}

pub(super) fn give_back(slot: &str) -> Command {
    Command::Supply(SupplyCommand::ReturnPart {
        slot: slot.into(),
        why: "dead on arrival".into(),
    })
}

fn credit(slot: &str, amount: &str) -> Command {
    Command::Supply(SupplyCommand::Credit {
        slot: slot.into(),
        amount: amount.into(),
    })
}

pub(super) fn refused(journal: &mut Journal, command: &Command) -> Refusal {
    journal.try_change("K", command).unwrap_err()
}

pub(super) fn awaited(journal: &Journal) -> Vec<Slot> {
    let open = journal.job.orders.iter().filter(|line| line.is_open());
    open.filter_map(|line| line.slot).collect()
}

#[test]
fn an_order_is_awaited_until_it_comes_or_is_cancelled() {
    let mut journal = Journal::longtail();
    assert_eq!(refused(&mut journal, &cancel(&[])).reason, Reason::NoSuchLine);
    journal.change(&order(&["motor"], "410"));
    journal.change(&order(&["pack"], ""));
    assert_eq!(awaited(&journal), [Slot::Motor, Slot::Pack]);
    let refusal = refused(&mut journal, &cancel(&["motor", "chain"]));
    assert_eq!(refusal.reason, Reason::NoSuchLine);
    assert!(refusal.hint.unwrap().contains("awaited are motor, pack"));
    assert_eq!(awaited(&journal).len(), 2, "a refusal changes nothing");
    journal.change(&cancel(&["pack"]));
    assert_eq!(awaited(&journal), [Slot::Motor]);
    journal.change(&receive("motor", "M-1"));
    assert_eq!(awaited(&journal), []);
    assert_eq!(
        refused(&mut journal, &cancel(&["motor"])).reason,
        Reason::NoSuchLine
    );
}

/// Common practice, no source: 40 % of the quote before the order; 40 % of 1814.00 are 725.60.
#[test]
fn an_order_without_its_deposit_says_what_is_missing() {
    let mut journal = Journal::longtail();
    let pay = |amount: &str| {
        Command::Money(MoneyEntry::Pay {
            kind: "deposit".into(),
            amount: amount.into(),
            how: "card".into(),
        })
    };
    journal.change(&pay("725.59"));
    let said = journal.change(&order(&["motor"], "")).said.join("\n");
    assert!(
        said.contains("CAUTION: 725.59 paid, a deposit of 725.60 (40 % of 1814.00)"),
        "{said}"
    );
    assert!(said.contains("`lockring pay 21 0.01 --kind deposit`"), "{said}");
    journal.change(&pay("0.01"));
    let said = journal.change(&order(&["pack"], "")).said.join("\n");
    assert!(!said.contains("deposit"), "{said}");
}

#[test]
fn an_order_before_the_gate_of_intake_says_that_it_is_shut() {
    let mut journal = Journal::longtail();
    let said = journal.change(&order(&["motor"], "")).said.join("\n");
    let intake = gate::run(Stage::Intake, &journal.job, &journal.rules);
    let short = intake.iter().filter(|report| !report.holds()).count();
    assert!(
        said.contains(&format!(
            "CAUTION: gate intake has not passed, {short} of its {} checks do not hold",
            intake.len()
        )) && said.contains("`lockring check 21`"),
        "{said}"
    );
    journal.job.stage = Stage::Parts;
    let said = journal
        .try_change("K", &order(&["pack"], ""))
        .unwrap()
        .said
        .join("\n");
    assert!(!said.contains("gate intake"), "{said}");
}

/// Common practice, no source: the owner decides from 3 % over the cost that was quoted with on.
#[test]
fn an_order_dearer_than_what_was_quoted_with_says_so() {
    let said = |price: &str| {
        let mut journal = Journal::longtail();
        journal.change(&Command::Money(MoneyEntry::QuoteAdd(QuoteAdd {
            kind: "part".into(),
            words: "motor".into(),
            price: "150".into(),
            cost: "100".into(),
            ..QuoteAdd::default()
        })));
        journal.change(&order(&["motor"], price)).said.join("\n")
    };
    assert!(!said("103").contains("quoted at a cost"), "{}", said("103"));
    let dearer = said("103.01");
    assert!(
        dearer.contains("CAUTION: 103.01 ordered, quoted at a cost of 100.00: more than 3 % over it"),
        "{dearer}"
    );
}

#[test]
fn an_order_moves_to_another_day_for_the_slots_named_or_for_all() {
    let mut journal = Journal::longtail();
    journal.change(&order(&["motor"], ""));
    journal.change(&order(&["pack"], ""));
    let moved = |slots: &[&str], day: &str, why: &str| {
        Command::Supply(SupplyCommand::MoveOrder {
            slots: slots.iter().map(|slot| (*slot).to_owned()).collect(),
            due: day.parse().unwrap(),
            why: why.into(),
        })
    };
    let due = |journal: &Journal, slot| journal.job.open_order(slot).unwrap().due.unwrap().to_string();
    journal.change(&moved(&["pack"], "2026-03-20", "ship late"));
    assert_eq!(
        (due(&journal, Slot::Motor), due(&journal, Slot::Pack)),
        ("2026-03-10".into(), "2026-03-20".into())
    );
    let said = journal
        .change(&moved(&[], "2026-04-01", "customs"))
        .said
        .join("\n");
    assert!(
        said.contains("motor now promised for 2026-04-01, promised for 2026-03-10 before"),
        "{said}"
    );
    assert!(
        said.contains("pack now promised for 2026-04-01, promised for 2026-03-20 before"),
        "{said}"
    );
    assert_eq!(
        refused(&mut journal, &moved(&[], "2026-05-01", " ")).reason,
        Reason::BadInput
    );
}

#[test]
fn only_what_came_goes_back_and_only_what_went_back_is_credited() {
    let mut journal = Journal::longtail();
    journal.change(&order(&["motor"], "410"));
    assert_eq!(
        refused(&mut journal, &give_back("motor")).reason,
        Reason::SlotEmpty
    );
    assert_eq!(
        refused(&mut journal, &credit("motor", "10")).reason,
        Reason::NoSuchLine
    );
    journal.change(&receive("motor", "M-1"));
    assert_eq!(
        refused(&mut journal, &credit("motor", "10")).reason,
        Reason::NoSuchLine
    );
    let said = journal.change(&give_back("motor")).said.join("\n");
    assert!(
        said.contains("motor (serial M-1) returned to supplier one: dead on arrival"),
        "{said}"
    );
    assert!(said.contains("the slot waits for a part again"), "{said}");
    assert!(journal.job.piece(Slot::Motor).is_none());
    assert_eq!(
        refused(&mut journal, &give_back("motor")).reason,
        Reason::SlotEmpty,
        "twice"
    );
    for bad in ["0", "-4", "soon"] {
        assert_eq!(
            refused(&mut journal, &credit("motor", bad)).reason,
            Reason::BadInput,
            "{bad}"
        );
    }
    let said = journal.change(&credit("motor", "400")).said.join("\n");
    assert!(said.contains("400.00, 10.00 of its price still open"), "{said}");
    // What went back cost 410: no more than that is credited for it, in however many parts.
    for more in ["400", "10.01"] {
        assert_eq!(
            refused(&mut journal, &credit("motor", more)).reason,
            Reason::BadInput
        );
    }
    journal.change(&credit("motor", "10"));
    assert_eq!(journal.job.orders[0].credited, Money(41_000));
    // The next one that goes back is another line.
    journal.now += SignedDuration::from_hours(24);
    journal.change(&order(&["motor"], ""));
    journal.change(&receive("motor", "M-2"));
    journal.change(&give_back("motor"));
    journal.change(&credit("motor", "390"));
    assert_eq!(journal.job.orders[1].credited, Money(39_000));
    let refusal = refused(&mut journal, &credit("motor", "390"));
    assert!(refusal.message.contains("390.00 is credited"), "{refusal:?}");
}

#[test]
fn a_job_goes_back_to_an_earlier_stage_only_with_a_reason() {
    let mut journal = Journal::longtail();
    let back = |stage: &str, why: &str| Command::SendBack {
        stage: stage.into(),
        why: why.into(),
    };
    let refusal = refused(&mut journal, &back("intake", "again"));
    assert_eq!(refusal.reason, Reason::NotEarlier);
    assert!(refusal.hint.unwrap().contains("first stage"));
    journal.job.stage = Stage::Fitting;
    for bad in ["fitting", "test-ride", "handed-over", "yard", ""] {
        let refusal = refused(&mut journal, &back(bad, "again"));
        assert_eq!(refusal.reason, Reason::NotEarlier, "{bad}");
        assert!(refusal.hint.unwrap().contains("intake, parts"), "{bad}");
    }
    assert_eq!(
        refused(&mut journal, &back("parts", "  ")).reason,
        Reason::BadInput
    );
    let draft = journal
        .try_change("K", &back("Parts", "chainring changed"))
        .unwrap();
    assert_eq!(draft.job.stage, Stage::Parts);
}

fn substitute(slot: &str, part: &str, supplier: &str, price: &str) -> Command {
    Command::Supply(SupplyCommand::Substitute {
        slot: slot.into(),
        part: part.into(),
        supplier: supplier.into(),
        due: None,
        price: price.into(),
    })
}

#[test]
fn a_substitute_takes_the_place_of_a_part_and_of_its_order() {
    let mut journal = Journal::longtail();
    journal.change(&order(&["chainring"], "31"));
    let own = journal.job.build[&Slot::Chainring].part.id.clone();
    assert_eq!(
        refused(&mut journal, &substitute("chainring", &own, "", "")).reason,
        Reason::BadInput
    );
    let empty = refused(&mut journal, &substitute("light", "light-pack", "", ""));
    assert_eq!(empty.reason, Reason::SlotEmpty);
    assert!(refused(&mut journal, &substitute("chainring", "ring-99", "", "")).reason == Reason::NoSuchPart);
    // Not ordered again: nobody named a supplier.
    let draft = journal.change(&substitute("chainring", "ring-36-2", " ", ""));
    let said = draft.said.join("\n");
    assert!(
        said.contains("the order from supplier one is no longer awaited: tell them"),
        "{said}"
    );
    assert_eq!(journal.job.build[&Slot::Chainring].part.id, "ring-36-2");
    assert!(journal.job.open_order(Slot::Chainring).is_none());
    assert!(journal.job.orders[0].cancelled.is_some());
    // A smaller ring climbs better: that check says something else, both ways round.
    let told = |draft: &Draft| -> Vec<(&'static str, bool, bool)> {
        let differs = draft.differs.iter();
        differs
            .map(|(before, after)| (before.check.id, before.holds(), after.holds()))
            .collect()
    };
    let there = told(&draft);
    assert!(
        there.iter().any(|(id, ..)| *id == "hill.climb_speed"),
        "{there:?}"
    );
    let count = |now: bool| {
        there
            .iter()
            .filter(|(_, before, after)| *before != now && *after == now)
            .count()
    };
    let sum = format!(
        "{} checks say something else: {} now hold, {} no longer hold",
        there.len(),
        count(true),
        count(false)
    );
    assert!(said.contains(&sum), "{sum}: {said}");
    assert!(
        draft
            .differs
            .iter()
            .all(|(before, after)| before.fingerprint != after.fingerprint)
    );
    let back = journal.change(&substitute("chainring", &own, "supplier two", "31.50"));
    let turned: Vec<_> = there
        .iter()
        .map(|(id, before, after)| (*id, *after, *before))
        .collect();
    assert_eq!(told(&back), turned);
    let line = journal.job.open_order(Slot::Chainring).unwrap();
    assert_eq!(
        (line.supplier.as_str(), line.price, line.goods.part.as_str()),
        ("supplier two", Some(Money(3_150)), own.as_str())
    );
}

fn item(number: u64, part: &str, serial: Option<&str>) -> crate::supply::item::Item {
    let parts = catalogue::read("catalogue", CATALOGUE).unwrap();
    let part = parts.iter().find(|known| known.id == part).unwrap();
    crate::supply::item::Item {
        number,
        goods: part.into(),
        serial: serial.map(str::to_owned),
        lot: Some("L-7".into()),
        supplier: Some("supplier three".into()),
        line: None,
        from_job: None,
        came: "2026-03-01T08:00:00Z".parse().unwrap(),
        count: 1,
        seen: crate::supply::item::Seen {
            damage: Some("scratched".into()),
            ..Default::default()
        },
        kept_for: None,
        paid: None,
        gone: Vec::new(),
    }
}

#[test]
fn what_is_taken_from_the_shelf_comes_with_what_was_seen_on_it_and_says_what_it_displaces() {
    let mut journal = Journal::longtail();
    let take = |number: u64, serial: &str| {
        Command::Supply(SupplyCommand::TakeFromShelf {
            item: Box::new(item(number, "mid-48-250", Some(serial))),
            slot: Slot::Motor,
        })
    };
    journal.change(&order(&["motor"], "410"));
    let said = journal.change(&take(4, "M-4")).said.join("\n");
    for part in [
        "from the shelf, item 4, serial M-4",
        "the order from supplier one is still awaited",
        "order cancel 21 motor",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(!said.contains("off the job"), "{said}");
    assert!(
        journal.job.open_order(Slot::Motor).is_some(),
        "the order is still to come"
    );
    let receipt = journal.job.build[&Slot::Motor].receipt.clone().unwrap();
    assert_eq!(
        (receipt.shelf, receipt.damage.as_deref(), receipt.lot.as_deref()),
        (Some(4), Some("scratched"), Some("L-7"))
    );
    let piece = journal.job.piece(Slot::Motor).unwrap();
    assert_eq!(
        (piece.item, piece.supplier.as_deref()),
        (Some(4), Some("supplier three"))
    );
    journal.change(&cancel(&["motor"]));
    let said = journal.change(&take(5, "M-5")).said.join("\n");
    assert!(
        said.contains("M-4) is off the job: where does it go?") && !said.contains("awaited"),
        "{said}"
    );
    // It goes back to the shelf, and the slot waits again.
    let back = |why: &str| {
        Command::Supply(SupplyCommand::PutBack {
            slot: Slot::Motor,
            item: 6,
            why: why.into(),
        })
    };
    assert_eq!(refused(&mut journal, &back(" ")).reason, Reason::BadInput);
    journal.change(&back("rider took another"));
    assert!(journal.job.piece(Slot::Motor).is_none());
    assert!(journal.job.build[&Slot::Motor].receipt.is_none());
    assert_eq!(
        journal
            .undo("K", Some(journal.entries.len() as u64))
            .unwrap_err()
            .reason,
        Reason::NothingToUndo
    );
}

#[test]
fn what_came_from_the_shelf_and_goes_back_to_the_supplier_is_no_return_of_the_order() {
    let mut journal = Journal::longtail();
    journal.change(&order(&["motor"], "410"));
    journal.change(&receive("motor", "M-1"));
    journal.change(&Command::Supply(SupplyCommand::TakeFromShelf {
        item: Box::new(crate::supply::item::Item {
            paid: Some(Money(38_000)),
            ..item(4, "mid-48-250", Some("M-4"))
        }),
        slot: Slot::Motor,
    }));
    let taken = journal.job.piece(Slot::Motor).cloned().unwrap();
    assert_eq!(journal.job.paid_for(&taken), Some(Money(38_000)));
    let loose = journal.job.loose().next().cloned().unwrap();
    assert_eq!(journal.job.paid_for(&loose), Some(Money(41_000)));
    journal.change(&send("motor", "on", false));
    assert_eq!(journal.job.orders[0].returned, 0);
    // Whoever delivered it owes for it: 380, as the shelf knows.
    let owed = journal.job.orders[1].clone();
    assert_eq!(
        (owed.supplier.as_str(), owed.price, owed.awaits_credit()),
        ("supplier three", Some(Money(38_000)), true)
    );
    journal.change(&credit("motor", "380"));
    assert!(journal.job.orders[1].is_settled());
    assert_eq!(journal.job.orders[0].credited, Money::ZERO);
    assert_eq!(
        refused(&mut journal, &credit("motor", "380")).reason,
        Reason::BadInput
    );
}

fn send(slot: &str, piece: &str, scrap: bool) -> Command {
    Command::Supply(SupplyCommand::Send {
        slot: slot.into(),
        piece: piece.into(),
        scrap,
        why: "re-geared".into(),
    })
}

fn choose(part: &str) -> Command {
    Command::Build {
        parts: vec![Typed::new("chainring", part)],
    }
}

/// The marks of the pieces that were taken off and went nowhere.
fn loose(journal: &Journal) -> Vec<String> {
    let marks = journal
        .job
        .loose()
        .map(|piece| crate::supply::piece::Off::from(piece).mark().to_owned());
    marks.collect()
}

#[test]
fn a_part_without_damage_is_said_back_so_and_a_later_word_takes_no_damage_away() {
    let mut journal = Journal::longtail();
    journal.change(&order(&["chainring"], "31"));
    let came = |damage: &str| Command::Receive {
        slot: "chainring".into(),
        found: Vec::new(),
        details: ReceiptText {
            damage: damage.into(),
            ..ReceiptText::default()
        },
    };
    let said = journal.change(&came("none")).said.join("\n");
    assert!(said.contains("no damage seen"), "{said}");
    let receipt = |journal: &Journal| journal.job.build[&Slot::Chainring].receipt.clone().unwrap();
    assert_eq!(receipt(&journal).damaged(), None);
    let said = journal.change(&came("one tooth bent")).said.join("\n");
    assert!(said.contains("DAMAGED: one tooth bent"), "{said}");
    let said = journal.change(&came("none")).said.join("\n");
    assert!(
        said.contains("the damage on file of this chainring stays: one tooth bent")
            && said.contains("written by mistake"),
        "{said}"
    );
    assert_eq!(receipt(&journal).damaged(), Some("one tooth bent"));
    // What it says takes it back does: with the receipt of now the one that said so first, as both carry it.
    let undos: Vec<u64> = said
        .split("`lockring undo 21 --entry ")
        .skip(1)
        .map(|rest| rest.split_once('`').unwrap().0.parse().unwrap())
        .collect();
    assert_eq!(undos.len(), 2, "{said}");
    for seq in undos {
        journal.undo("K", Some(seq)).unwrap();
    }
    assert_eq!(receipt(&journal).damage.as_deref(), Some("none"));
}

#[test]
fn a_part_that_came_and_is_replaced_stays_in_the_house_until_somebody_says_where_it_went() {
    let mut journal = Journal::longtail();
    let own = journal.job.build[&Slot::Chainring].part.id.clone();
    journal.change(&order(&["chainring"], "31"));
    // Nothing came yet: nothing has to go anywhere.
    let none = journal.try_change("K", &choose("ring-36-2")).unwrap();
    assert!(
        !none.said.concat().contains("where does it go"),
        "{:?}",
        none.said
    );
    journal.change(&Command::Receive {
        slot: "chainring".into(),
        found: Vec::new(),
        details: ReceiptText {
            damage: "one tooth bent".into(),
            ..ReceiptText::default()
        },
    });
    let said = journal.change(&choose("ring-36-2")).said.join("\n");
    for part in [
        format!("`lockring shelf put 21 chainring {own} --why …`"),
        format!("`lockring return 21 chainring {own} --why …`"),
        format!("`lockring shelf scrap 21 chainring {own} --why …`"),
    ] {
        assert!(said.contains(&part), "{part}: {said}");
    }
    assert_eq!(loose(&journal), [own.as_str()]);
    // It is the only one there is, so that nobody has to name it; the order is owed for it.
    let back = journal.try_change("K", &give_back("chainring")).unwrap();
    assert_eq!(back.job.loose().count(), 0);
    assert_eq!(back.job.orders[0].returned, 1);
    assert!(
        back.said[0].contains("returned to supplier one"),
        "{:?}",
        back.said
    );
    assert!(back.job.build[&Slot::Chainring].receipt.is_none());

    // With another in the slot it is asked which.
    journal.change(&receive("chainring", "R-2"));
    let refusal = refused(&mut journal, &give_back("chainring"));
    assert_eq!(refusal.reason, Reason::BadInput);
    assert!(refusal.message.contains("R-2 on the bicycle"), "{refusal}");
    assert!(
        refusal.message.contains(&format!("{own} that was taken off")),
        "{refusal}"
    );
    let refusal = refused(&mut journal, &send("chainring", "R-9", false));
    assert_eq!(refusal.reason, Reason::SlotEmpty);
    for word in [own.as_str(), "off"] {
        let draft = journal.try_change("K", &send("chainring", word, true)).unwrap();
        assert_eq!(draft.job.loose().count(), 0, "{word}");
        assert!(draft.job.piece(Slot::Chainring).is_some(), "{word}");
        assert_eq!(
            draft.job.orders[0].returned, 0,
            "{word}: what is thrown away is owed by nobody"
        );
    }
    for word in ["r-2", "on", "ring-36-2"] {
        let draft = journal.try_change("K", &send("chainring", word, true)).unwrap();
        assert!(draft.job.piece(Slot::Chainring).is_none(), "{word}");
        assert_eq!(draft.job.loose().count(), 1, "{word}");
    }

    // What was seen on it when it came goes along to the shelf.
    let stock = crate::supply::shelf::Stock::default();
    let origin = journal.entries.last().unwrap().origin.clone();
    let put = |journal: &Journal| {
        let job = (&journal.job, journal.entries.as_slice());
        let slot = Slot::Chainring;
        journal.at_desk(|desk| crate::supply::stocking::put_back(&stock, job, slot, "off", &origin, desk))
    };
    let (item, off) = put(&journal).unwrap();
    assert_eq!(item.seen.damage.as_deref(), Some("one tooth bent"));
    assert_eq!(
        (item.goods.part.as_str(), item.from_job),
        (own.as_str(), Some(21))
    );
    let chosen = journal
        .entries
        .iter()
        .rfind(|entry| matches!(entry.event, Event::Chosen { .. }))
        .unwrap()
        .seq;
    journal.change(&Command::Supply(SupplyCommand::PutOffBack {
        slot: Slot::Chainring,
        off: off.unwrap(),
        item: item.number,
        why: "re-geared".into(),
    }));
    assert!(loose(&journal).is_empty());
    // It lies on the shelf now: the change that took it off cannot be unmade beneath it.
    let refusal = journal.undo("K", Some(chosen)).unwrap_err();
    assert!(refusal.message.contains("put onto the shelf"), "{refusal}");
}

#[test]
fn a_part_that_was_taken_off_and_goes_on_again_is_in_one_place() {
    let mut journal = Journal::longtail();
    let own = journal.job.build[&Slot::Chainring].part.id.clone();
    journal.change(&receive("chainring", "R-1"));
    journal.change(&choose("ring-36-2"));
    let said = journal.change(&choose(&own)).said.join("\n");
    assert!(
        said.contains("lies in the shop: `lockring receive 21 chainring`"),
        "{said}"
    );
    // Another serial is another piece.
    let other = journal.try_change("K", &receive("chainring", "R-7")).unwrap();
    assert_eq!(other.job.loose().count(), 1);
    let said = journal.change(&receive("chainring", "R-1")).said.join("\n");
    assert!(said.contains("the one that was taken off (R-1)"), "{said}");
    assert!(loose(&journal).is_empty());
    assert_eq!(
        journal.job.piece(Slot::Chainring).unwrap().serial.as_deref(),
        Some("R-1")
    );
}

/// Taken off here, R-1 was received on another job or put onto the shelf before anybody said so here.
#[test]
fn a_part_that_was_taken_off_is_not_shelved_or_put_back_on_while_it_is_elsewhere() {
    let mut journal = Journal::longtail();
    let own = journal.job.build[&Slot::Chainring].part.id.clone();
    journal.change(&receive("chainring", "R-1"));
    journal.change(&choose("ring-36-2"));
    let holder = |part: &str, job: Option<u32>, item: Option<u64>| Holder {
        part: part.into(),
        job,
        slot: job.map(|_| Slot::Chainring),
        item,
    };
    for (holder, place) in [
        (holder(&own, Some(9), None), "on job 9 as its chainring"),
        (holder(&own, None, Some(4)), "on the shelf as item 4"),
    ] {
        journal.holders = vec![holder];
        let stock = crate::supply::shelf::Stock::default();
        let origin = journal.entries.last().unwrap().origin.clone();
        let job = (&journal.job, journal.entries.as_slice());
        let put = journal.at_desk(|desk| {
            let put = crate::supply::stocking::put_back;
            put(&stock, job, Slot::Chainring, "", &origin, desk)
        });
        let undone = journal.undo("K", None);
        for refusal in [put.unwrap_err(), undone.unwrap_err()] {
            assert_eq!(refusal.reason, Reason::ElsewhereAlready);
            assert!(refusal.message.contains(place), "{refusal}");
        }
        // It went, whatever it was called when it did.
        let draft = journal.try_change("K", &send("chainring", "R-1", true)).unwrap();
        assert_eq!(draft.job.loose().count(), 0);
    }
    // The same number on another part is another piece.
    journal.holders = vec![holder("ring-36-2", Some(9), None)];
    journal.undo("K", None).unwrap();
    assert_eq!(
        journal.job.piece(Slot::Chainring).unwrap().serial.as_deref(),
        Some("R-1")
    );
}

/// The ring came, was replaced, and was put back on: two entries, which go together.
#[test]
fn a_part_put_back_on_is_off_again_after_one_undo() {
    for unmarked in [false, true] {
        let mut journal = Journal::longtail();
        let own = journal.job.build[&Slot::Chainring].part.id.clone();
        let ring = if unmarked {
            Command::Receive {
                slot: "chainring".into(),
                found: Vec::new(),
                details: ReceiptText::default(),
            }
        } else {
            receive("chainring", "R-1")
        };
        journal.change(&ring);
        let first = journal.entries.last().unwrap().seq;
        journal.change(&choose("ring-36-2"));
        journal.change(&choose(&own));
        let off = journal.job.clone();
        journal.change(&ring);
        let [receipt, refit] = journal.entries.last_chunk::<2>().unwrap();
        assert!(matches!(receipt.event, Event::Received(_)), "{unmarked}");
        let (receipt, refit) = (receipt.seq, refit.seq);
        assert!(loose(&journal).is_empty());
        let refusal = journal.undo("K", Some(refit)).unwrap_err();
        assert_eq!(refusal.reason, Reason::NothingToUndo);
        assert!(refusal.hint.unwrap().contains(&format!("undo entry {receipt}")));
        let said = journal.undo("K", None).unwrap().said;
        assert!(
            said[0].contains("chainring received") && said[1].contains("is on the job again"),
            "{said:?}"
        );
        assert_eq!(
            (&journal.job.pieces, &journal.job.build),
            (&off.pieces, &off.build)
        );
        assert_eq!(loose(&journal).len(), 1);
        // And on once more; what the piece went through before may go without it being in two places.
        journal.change(&ring);
        journal.undo("K", Some(first)).unwrap();
        let here = journal.job.pieces.iter().filter(|piece| piece.left.is_none());
        assert_eq!((here.count(), journal.job.loose().count()), (1, 0), "{unmarked}");
    }
}

#[test]
fn parts_that_went_nowhere_keep_a_job_that_is_over_in_mind() {
    let mut journal = Journal::longtail();
    journal.change(&receive("chainring", "R-1"));
    journal.change(&choose("ring-36-2"));
    journal.job.account = crate::account::Account::default().into();
    journal.job.facts.remove("first-check");
    for (stage, outstanding) in [
        (Stage::HandedOver, true),
        (Stage::Returned, true),
        (Stage::Cancelled, true),
    ] {
        journal.job.stage = stage;
        assert_eq!(journal.job.is_outstanding(), outstanding, "{stage:?}");
        let gone = journal.try_change("K", &give_back("chainring")).unwrap();
        assert!(!gone.job.is_outstanding(), "{stage:?}");
    }
    // What is on a bicycle that was handed over stays on it.
    let mut journal = Journal::longtail();
    journal.change(&receive("motor", "M-1"));
    journal.job.stage = Stage::HandedOver;
    assert_eq!(
        refused(&mut journal, &send("motor", "M-1", false)).reason,
        Reason::JobOver
    );
    journal.job.stage = Stage::Cancelled;
    assert_eq!(journal.job.left_over().count(), 1);
}

/// A piece with a serial number is in one place at a time, and a receipt that says more of the piece
/// on file is no other piece.
#[test]
fn a_second_receipt_adds_to_the_first_unless_it_is_of_another_piece() {
    let mut journal = Journal::longtail();
    journal.change(&receive("motor", "M-1"));
    let details = |serial: &str, papers: &str| Command::Receive {
        slot: "motor".into(),
        found: Vec::new(),
        details: ReceiptText {
            serial: serial.into(),
            papers: papers.into(),
            ..ReceiptText::default()
        },
    };
    for serial in ["", "M-1"] {
        let said = journal.change(&details(serial, "report")).said.join("\n");
        assert!(said.contains("added to what is on file of the motor"), "{said}");
        let receipt = journal.job.build[&Slot::Motor].receipt.clone().unwrap();
        assert_eq!(
            (receipt.serial.as_deref(), receipt.papers.as_deref()),
            (Some("M-1"), Some("report"))
        );
        assert_eq!(journal.job.pieces.len(), 1);
    }
    let said = journal.change(&details("M-2", "")).said.join("\n");
    assert!(said.contains("M-1) is off the job: where does it go?"), "{said}");
    assert_eq!(journal.job.pieces.len(), 2);
    // Nothing told at all: another piece came.
    let said = journal.change(&details("", "")).said.join("\n");
    assert!(
        said.contains("look at: ") && said.contains("M-2) is off the job"),
        "{said}"
    );
    journal.holders = vec![Holder {
        part: journal.job.build[&Slot::Motor].part.id.clone(),
        job: Some(9),
        slot: Some(Slot::Motor),
        item: None,
    }];
    assert_eq!(
        refused(&mut journal, &details("M-3", "")).reason,
        Reason::ElsewhereAlready
    );
}

#[test]
fn an_order_of_nothing_named_is_of_what_was_neither_ordered_nor_came() {
    let mut journal = Journal::longtail();
    journal.change(&order(&["motor"], ""));
    journal.change(&receive("pack", "P-1"));
    let several = refused(&mut journal, &order(&["chain", "cassette"], "10"));
    assert!(
        several.message.contains("one price for chain, cassette"),
        "{several}"
    );
    for bad in ["-1", "soon"] {
        assert_eq!(
            refused(&mut journal, &order(&["chain"], bad)).metadata["field"],
            "price",
            "{bad}"
        );
    }
    journal.change(&order(&[], ""));
    let ordered = awaited(&journal);
    assert!(ordered.contains(&Slot::Motor) && !ordered.contains(&Slot::Pack));
    assert_eq!(ordered.len() + 1, journal.job.build.len());
    let refusal = refused(&mut journal, &order(&[], ""));
    assert_eq!(refusal.reason, Reason::SlotEmpty);
    // Ordered elsewhere: the first order is no longer awaited.
    let said = journal.change(&order(&["chain"], "12.50")).said.join("\n");
    assert!(
        said.contains("the order from supplier one is no longer awaited") && said.contains("12.50"),
        "{said}"
    );
    let lines = journal
        .job
        .orders
        .iter()
        .filter(|line| line.slot == Some(Slot::Chain));
    let open: Vec<bool> = lines.map(|line| line.is_open()).collect();
    assert_eq!(open, [false, true]);
}

/// What is told later of one piece is told of that piece, whatever came since; orders are numbered on.
#[test]
fn each_piece_keeps_its_own_marks_and_each_order_its_number() {
    let mut journal = Journal::longtail();
    for slots in [["motor"], ["pack"], ["chain"]] {
        journal.change(&order(&slots, ""));
    }
    let numbers: Vec<u64> = journal.job.orders.iter().map(|line| line.number).collect();
    assert_eq!(numbers, [1, 2, 3]);
    let bare = |slot: &str, serial: &str, papers: &str| Command::Receive {
        slot: slot.into(),
        found: Vec::new(),
        details: ReceiptText {
            serial: serial.into(),
            papers: papers.into(),
            ..ReceiptText::default()
        },
    };
    journal.change(&bare("motor", "", "report"));
    journal.change(&receive("pack", "P-1"));
    journal.change(&bare("motor", "M-1", ""));
    let marks = |journal: &Journal| -> Vec<(Slot, Option<String>, bool)> {
        let pieces = journal.job.pieces.iter();
        pieces
            .map(|piece| (piece.slot, piece.serial.clone(), piece.left.is_some()))
            .collect()
    };
    assert_eq!(
        marks(&journal),
        [
            (Slot::Motor, Some("M-1".into()), false),
            (Slot::Pack, Some("P-1".into()), false)
        ]
    );
    // The one that goes is the one of that slot that is there.
    journal.change(&give_back("motor"));
    journal.change(&receive("motor", "M-2"));
    journal.change(&bare("motor", "M-2", "report"));
    assert_eq!(
        marks(&journal),
        [
            (Slot::Motor, Some("M-1".into()), true),
            (Slot::Pack, Some("P-1".into()), false),
            (Slot::Motor, Some("M-2".into()), false)
        ]
    );
    assert_eq!(
        journal.job.piece(Slot::Motor).unwrap().serial.as_deref(),
        Some("M-2")
    );
}

#[test]
fn more_about_the_same_part_leaves_what_was_measured_with_it_and_another_part_does_not() {
    let mut journal = Journal::longtail();
    journal.change(&receive("motor", "M-1"));
    journal.change(&measure(&[("motor-gap", "2.6 mm")]));
    let stale = |journal: &Journal| journal.job.facts["motor-gap"].stale.clone();
    let more = Command::Receive {
        slot: "motor".into(),
        found: Vec::new(),
        details: ReceiptText {
            papers: "kit card".into(),
            ..ReceiptText::default()
        },
    };
    journal.change(&more);
    assert_eq!(stale(&journal), None);
    journal.change(&receive("motor", "M-1"));
    assert_eq!(stale(&journal), None);
    journal.change(&receive("motor", "M-2"));
    assert_eq!(stale(&journal).as_deref(), Some("motor"));
}

/// New York GBS 495-a and EN 15194:2017+A1:2023 name the reports they take; a pack without is never conceded. Who opens the
/// parcel while the job is still at intake hears of it then.
#[test]
fn wrong_papers_are_named_when_the_parcel_is_opened() {
    let with = |papers: &str| {
        let mut command = receive("pack", "P-1");
        if let Command::Receive { details, .. } = &mut command {
            details.papers = papers.into();
        }
        let mut journal = Journal::longtail();
        assert_eq!(journal.job.stage, Stage::Intake);
        journal.change(&command).said
    };
    let stops = |said: &[String]| -> Vec<String> {
        let of_papers = said.iter().filter(|line| line.contains("pack.papers"));
        of_papers.cloned().collect()
    };
    let wrong = stops(&with("UN 38.3 summary, UL 2271 report"));
    assert_eq!(
        wrong,
        [
            "the gate of parts will stop it: pack.papers: no report on the pack by EN 50604-1, as eu-epac asks, among the \
             pack's papers: UN 38.3 summary, UL 2271 report (never conceded)"
        ]
    );
    assert_eq!(stops(&with("none")).len(), 2);
    assert!(stops(&with("UN 38.3 summary, EN 50604-1 report")).is_empty());
}

#[test]
fn parts_are_received_one_by_one_and_the_refusal_names_each() {
    let mut journal = Journal::longtail();
    let all = Command::Receive {
        slot: "all".into(),
        found: Vec::new(),
        details: ReceiptText::default(),
    };
    let refusal = journal.refused(&all);
    assert!(refusal.hint.unwrap().contains("awaits no order"));
    journal.change(&Command::Order {
        slots: vec!["motor".into(), "chain".into()],
        supplier: "N".into(),
        due: None,
        price: String::new(),
    });
    let hint = journal.refused(&all).hint.unwrap();
    for line in ["`lockring receive 21 motor`", "`lockring receive 21 chain`"] {
        assert!(hint.contains(line), "{hint}");
    }
}
