//! Orders and pieces of a job as decided: awaited, moved, cancelled, returned, credited.

use super::*;
use crate::money::Money;

fn order(slots: &[&str], price: &str) -> Command {
    Command::Order {
        slots: slots.iter().map(|slot| (*slot).to_owned()).collect(),
        supplier: "supplier one".into(),
        due: Some("2026-03-10".parse().unwrap()),
        price: price.into(),
    }
}

fn receive(slot: &str, serial: &str) -> Command {
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

fn give_back(slot: &str) -> Command {
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

fn refused(journal: &mut Journal, command: &Command) -> Refusal {
    journal.try_change("K", command).unwrap_err()
}

fn awaited(journal: &Journal) -> Vec<Slot> {
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
    let said = journal.change(&credit("motor", "15")).said.join("\n");
    assert!(said.contains("15.00, 5.00 more than it cost"), "{said}");
    assert_eq!(journal.job.orders[0].credited, Money(41_500));
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
