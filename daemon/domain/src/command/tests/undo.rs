//! What goes when nobody says which entry: the last request, whole, or nothing.

use super::*;
use crate::command::{MoneyEntry, SupplyCommand};
use crate::money::Money;
use crate::supply::event::SupplyEvent;

fn pay(kind: &str, amount: &str) -> Command {
    Command::Money(MoneyEntry::Pay {
        kind: kind.into(),
        amount: amount.into(),
        how: "card".into(),
    })
}

fn last(journal: &Journal) -> u64 {
    journal.entries.last().unwrap().seq
}

/// By hand: the sheet quotes 1884; 700 are paid, of which the undo by number leaves nothing.
#[test]
fn money_goes_only_by_its_number_and_the_answer_says_what_is_owed() {
    let mut journal = Journal::longtail();
    let owed = journal.job.balance();
    journal.change(&measure(&[("clf", "51.5")]));
    journal.change(&pay("deposit", "700"));
    let paid = last(&journal);
    let refusal = journal.undo("K", None).unwrap_err();
    assert_eq!(refusal.reason, Reason::NothingToUndo);
    assert!(
        refusal
            .message
            .contains(&format!("is entry {paid} (deposit 700.00: card)")),
        "{refusal}"
    );
    let hint = refusal.hint.unwrap();
    assert!(
        hint.contains(&format!("`lockring undo 21 --entry {paid}`")),
        "{hint}"
    );
    assert_eq!(journal.job.balance(), owed - Money(70_000));

    let said = journal.undo("K", Some(paid)).unwrap().said.join("\n");
    let told = format!(
        "paid 0.00 of {owed}, owed {owed}; owed {} before",
        owed - Money(70_000)
    );
    assert!(said.contains(&told), "{said}");
    // Before it came the reading, which is no money.
    let said = journal.undo("K", None).unwrap().said.join("\n");
    assert!(
        said.contains("chainline-front") && !said.contains("owed"),
        "{said}"
    );
}

#[test]
fn what_came_last_goes_or_nothing_and_an_older_entry_is_named() {
    let mut journal = Journal::longtail();
    journal.change(&measure(&[("clf", "51.5")]));
    let measured = last(&journal);
    journal.change(&Command::Advance);
    assert!(matches!(
        journal
            .entries
            .iter()
            .find(|entry| entry.seq > measured)
            .unwrap()
            .event,
        Event::GateTried { passed: false, .. }
    ));
    let refusal = journal.undo("K", None).unwrap_err();
    assert_eq!(refusal.reason, Reason::NothingToUndo);
    assert!(refusal.message.contains("gate intake stays shut"), "{refusal}");
    let hint = refusal.hint.unwrap();
    assert!(
        hint.contains(&format!("`lockring undo 21 --entry {measured}`")) && hint.contains("chainline-front"),
        "{hint}"
    );
    journal.undo("K", Some(measured)).unwrap();
}

#[test]
fn what_began_a_job_stays() {
    let mut journal = Journal::longtail();
    let refusal = journal.undo("K", None).unwrap_err();
    assert_eq!(refusal.reason, Reason::NothingToUndo);
    assert!(
        refusal.message.contains("taken in for Tomas V.") && refusal.message.contains("a job that began"),
        "{refusal}"
    );
}

/// After handover a reading is refused and stored nowhere; what came before the handover does not go in its place.
#[test]
fn after_the_last_gate_nothing_older_goes_unasked() {
    let mut journal = Journal::longtail();
    journal.change(&pay("balance", "843.16"));
    let paid = last(&journal);
    journal.later();
    for gate in Stage::GATED {
        journal.pass(gate);
    }
    assert_eq!(journal.job.stage, Stage::HandedOver);
    let owed = journal.job.balance();
    journal.refused(&measure(&[("chain-wear", "0.6")]));
    let refusal = journal.undo("K", None).unwrap_err();
    assert_eq!(refusal.reason, Reason::JobOver);
    assert!(refusal.message.contains("gate "), "{refusal}");
    assert!(refusal.hint.unwrap().contains(&format!("--entry {paid}")));
    assert_eq!(journal.job.balance(), owed);
}

#[test]
fn what_one_request_entered_goes_together() {
    let mut journal = Journal::longtail();
    let slots: Vec<String> = ["motor", "pack", "charger"].map(str::to_owned).to_vec();
    journal.change(&Command::Order {
        slots: slots.clone(),
        supplier: "M".into(),
        due: None,
        price: String::new(),
    });
    let awaited = |journal: &Journal| journal.job.orders.iter().filter(|line| line.is_open()).count();
    let ordered = journal.job.clone();
    assert_eq!(awaited(&journal), 3);
    journal.change(&Command::Supply(SupplyCommand::CancelOrder {
        slots: slots[..2].to_vec(),
        why: "slip".into(),
    }));
    assert_eq!(awaited(&journal), 1);
    let draft = journal.undo("K", None).unwrap();
    let gone = draft
        .events
        .iter()
        .filter(|event| matches!(event, Event::Retracted { .. }));
    assert_eq!(gone.count(), 2);
    assert_eq!(journal.job.orders, ordered.orders);
    // Named, one goes alone; what is left of its request goes with the next.
    let first = last(&journal) - 6;
    assert!(matches!(
        journal.entries[first as usize - 1].event,
        Event::Ordered { .. }
    ));
    journal.undo("K", Some(first)).unwrap();
    assert_eq!(awaited(&journal), 2);
    journal.undo("K", None).unwrap();
    assert_eq!(awaited(&journal), 0);
}

#[test]
fn a_substitute_goes_with_its_order() {
    let mut journal = Journal::longtail();
    let before = journal.job.build.clone();
    journal.change(&Command::Supply(SupplyCommand::Substitute {
        slot: "chainring".into(),
        part: "ring-38-5".into(),
        supplier: "M".into(),
        due: None,
        price: String::new(),
    }));
    assert_ne!(journal.job.build, before);
    journal.undo("K", None).unwrap();
    assert_eq!(journal.job.build, before);
}

#[test]
fn money_typed_as_a_value_and_a_supplier_s_credit_go_only_by_their_number() {
    let value = |key: &str| [(key.to_owned(), Value::Money(50_000))].into();
    let credited = SupplyEvent::Credited {
        slot: Slot::Motor,
        amount: Money(10_000),
        ordered: None,
    };
    for event in [
        Event::Recorded {
            run: None,
            readings: value("paid"),
            forced: false,
            anew: false,
        },
        Event::Stated {
            values: value("quote"),
            provenance: Provenance::Stated,
        },
        Event::Supply(credited),
    ] {
        let mut journal = Journal::longtail();
        journal.later();
        journal.enter(event.clone());
        let typed = last(&journal);
        let refusal = journal.undo("K", None).unwrap_err();
        assert!(
            refusal.message.contains("only by its number"),
            "{event:?}: {refusal}"
        );
        journal.undo("K", Some(typed)).unwrap();
    }
}

#[test]
fn a_job_that_a_change_sent_back_stays_there_and_says_so_when_the_change_is_taken_back() {
    let mut journal = Journal::longtail();
    journal.bring_to(Stage::TestRide);
    let said = journal
        .change(&measure(&[("shell-width", "92 mm")]))
        .said
        .join("\n");
    assert!(said.contains("back at intake"), "{said}");
    let read = |entry: &&Entry| matches!(entry.event, Event::Recorded { .. });
    let measured = journal.entries.iter().rfind(read).unwrap().seq;
    let said = journal.undo("K", Some(measured)).unwrap().said.join("\n");
    assert_eq!(journal.job.stage, Stage::Intake);
    assert!(
        said.contains(
            "job 21 stays at intake, where the change had sent it back from test-ride: `lockring advance 21`"
        ),
        "{said}"
    );
    // What sends nothing back leaves the job where it is.
    journal.change(&measure(&[("clf", "51.5")]));
    let said = journal.undo("K", None).unwrap().said.join("\n");
    assert!(!said.contains("stays at"), "{said}");
}
