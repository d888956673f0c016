//! Who may ask for what, and whose clock runs where.

use super::*;
use crate::command::MoneyEntry;
use crate::shop::event::ShopEvent;
use crate::shop::people::Role;

/// A shop of an owner, O, and a mechanic, M.
fn staffed() -> Journal {
    with_people(Journal::longtail())
}

fn with_people(mut journal: Journal) -> Journal {
    let shop = [("O", Role::Owner), ("M", Role::Mechanic)];
    for (initials, role) in shop {
        let joined = ShopEvent::Joined {
            initials: initials.into(),
            name: String::new(),
            role,
        };
        journal.shop.take(1, &origin("O", journal.now), &joined);
    }
    journal
}

fn pay(kind: &str) -> Command {
    Command::Money(MoneyEntry::Pay {
        kind: kind.into(),
        amount: "1".into(),
        how: "moved away".into(),
    })
}

#[test]
fn concessions_ends_and_what_is_written_off_are_the_owners() {
    let concede = Command::Concede {
        check: "hill.climb_speed".into(),
        why: "knows that road".into(),
    };
    let close = Command::Close {
        end: "returned".into(),
        why: "glued".into(),
    };
    let note = Command::Note {
        text: "seen".into(),
        private: false,
    };
    for (command, owners) in [
        (concede, true),
        (close, true),
        (pay("write-off"), true),
        (pay(" Write-Off "), true),
        (pay("credit"), true),
        (pay(" Credit"), true),
        (pay("deposit"), false),
        (note, false),
        (Command::Advance, false),
    ] {
        let mut journal = staffed();
        journal.job.account.typed_quote = Some(crate::money::Money(10_000));
        let by = |journal: &mut Journal, who: &str| journal.try_change(who, &command);
        let stranger = by(&mut journal, "X").unwrap_err();
        assert_eq!(stranger.reason, Reason::UnknownPerson, "{command:?}");
        match by(&mut journal, "m") {
            Err(refusal) => assert!(
                owners && refusal.reason == Reason::OwnerOnly,
                "{command:?}: {refusal}"
            ),
            Ok(draft) => {
                assert!(!owners, "{command:?}");
                assert_eq!(draft.origin.by, "M", "as the list has it");
            }
        }
        let draft = by(&mut journal, "o").unwrap();
        assert_eq!(draft.origin.by, "O", "{command:?}");
    }
}

#[test]
fn what_the_owner_said_is_undone_by_the_owner() {
    let mut journal = staffed();
    let concede = Command::Concede {
        check: "hill.climb_speed".into(),
        why: "knows that road".into(),
    };
    let draft = journal.try_change("O", &concede).unwrap();
    journal.store(&draft);
    let seq = Some(
        journal
            .entries
            .iter()
            .find(|entry| matches!(entry.event, Event::Conceded { .. }))
            .unwrap()
            .seq,
    );
    assert_eq!(journal.undo("M", seq).unwrap_err().reason, Reason::OwnerOnly);
    assert_eq!(journal.undo("X", seq).unwrap_err().reason, Reason::UnknownPerson);
    journal.undo("O", seq).unwrap();
    let quoted = Command::State {
        group: None,
        values: vec![Typed::new("quote", "100")],
        assumed: false,
    };
    for (by, command) in [("O", &quoted), ("O", &pay("write-off")), ("M", &pay("deposit"))] {
        let draft = journal.try_change(by, command).unwrap();
        journal.store(&draft);
    }
    let paid: Vec<u64> = journal
        .entries
        .iter()
        .filter(|entry| matches!(entry.event, Event::Account(_)))
        .map(|entry| entry.seq)
        .collect();
    assert_eq!(
        journal.undo("M", Some(paid[0])).unwrap_err().reason,
        Reason::OwnerOnly
    );
    journal.undo("O", Some(paid[0])).unwrap();
    journal.undo("M", Some(paid[1])).unwrap();
    assert!(journal.job.account.payments.is_empty());
}

/// The undoing of a credit is the owner's as the credit is, and so is that of what was paid for a claim against the shop; what
/// a supplier paid for one takes nothing off.
#[test]
fn what_was_taken_off_what_the_rider_owes_is_taken_back_by_the_owner() {
    let claim = |against: &str| {
        Command::Money(MoneyEntry::Claim {
            against: against.into(),
            about: "paint scratched".into(),
            amount: String::new(),
        })
    };
    let settle = |number: u32| {
        Command::Money(MoneyEntry::ClaimSettle {
            number,
            paid: "20".into(),
            how: "goodwill".into(),
        })
    };
    let mut journal = with_people(after::handed_over());
    let last = |journal: &Journal| journal.entries.len() as u64;
    let mut enter = |by: &str, command: &Command| {
        let draft = journal.try_change(by, command).unwrap();
        journal.store(&draft);
        last(&journal)
    };
    let credit = enter("O", &pay("credit"));
    enter("M", &claim("shop"));
    let of_shop = enter("O", &settle(1)) - 1;
    enter("M", &claim("supplier"));
    let of_supplier = enter("M", &settle(2));
    for seq in [credit, of_shop] {
        let refusal = journal.undo("M", Some(seq)).unwrap_err();
        assert_eq!(refusal.reason, Reason::OwnerOnly, "{refusal}");
        journal.undo("O", Some(seq)).unwrap();
    }
    assert!(journal.job.account.payments.is_empty());
    journal.undo("M", Some(of_supplier)).unwrap();
}

fn on(who: &str) -> Command {
    Command::Money(MoneyEntry::ClockOn {
        who: who.into(),
        stage: String::new(),
        rework: String::new(),
    })
}

fn off(who: &str) -> Command {
    Command::Money(MoneyEntry::ClockOff { who: who.into() })
}

#[test]
fn nobody_is_on_at_two_bicycles() {
    let mut journal = Journal::longtail();
    journal.clocks = vec![Running {
        job: 30,
        stage: Stage::Fitting,
    }];
    let refusal = journal.refused(&on(""));
    assert!(refusal.message.contains("on at job 30, fitting"), "{refusal}");
    let hint = refusal.hint.unwrap();
    assert!(hint.contains("clock off 30`"), "{hint}");
    let hint = journal.refused(&on("M")).hint.unwrap();
    assert!(hint.contains("clock off 30 --who M`"), "{hint}");
    journal.clocks.clear();
    journal.change(&on(""));
    journal.change(&on("M"));
    assert_eq!(journal.job.labour.stints.len(), 2, "two people are");
    // Each ends their own.
    journal.change(&off("M"));
    let runs: Vec<bool> = journal
        .job
        .labour
        .stints
        .iter()
        .map(|stint| stint.to.is_none())
        .collect();
    assert_eq!(runs, [true, false]);
}

#[test]
fn an_end_that_is_taken_back_lets_no_second_clock_run() {
    let mut journal = Journal::longtail();
    journal.change(&on(""));
    journal.change(&off(""));
    let ended = journal.entries.last().unwrap().seq;
    // On at another bicycle since: the first clock cannot run on.
    journal.clocks = vec![Running {
        job: 30,
        stage: Stage::Fitting,
    }];
    let refusal = journal.undo("K", Some(ended)).unwrap_err();
    assert!(refusal.message.contains("on at job 30"), "{refusal}");
    // Something else may be taken back, whoever is on elsewhere.
    journal.change(&measure(&[("clf", "51.5")]));
    journal.undo("K", None).unwrap();
    journal.clocks.clear();
    journal.undo("K", Some(ended)).unwrap();
    assert!(journal.job.labour.running("K").is_some());
    // It runs already: another entry that is taken back lets nothing run on.
    journal.change(&measure(&[("clf", "51.5")]));
    journal.clocks = vec![Running {
        job: 30,
        stage: Stage::Fitting,
    }];
    journal.undo("K", None).unwrap();
}
