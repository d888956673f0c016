//! Recalled pieces: said when they come, and no bicycle goes on with one.

use std::collections::BTreeMap;

use super::supply::{give_back, order, receive};
use super::*;
use crate::supply::recall::{Call, CallState, FindText, Recall};

/// A recall of all that `text` looks for.
fn recall(text: FindText) -> Recall {
    Recall {
        name: "cells overheat".into(),
        why: "maker's notice".into(),
        find: text,
        at: Timestamp::UNIX_EPOCH,
        calls: BTreeMap::new(),
    }
}

fn of_mark(mark: &str) -> FindText {
    FindText {
        marks: vec![mark.into()],
        ..FindText::default()
    }
}

#[test]
fn a_recalled_piece_is_said_when_it_comes_and_lets_the_bicycle_no_further() {
    let mut journal = Journal::longtail();
    journal.shop.recalls.insert(1, recall(of_mark("M-*")));
    let said = journal.change(&receive("motor", "M-1")).said;
    assert!(
        said.iter()
            .any(|line| line.starts_with("recall 1 (cells overheat) means motor M-1: set it aside")),
        "{said:?}"
    );
    let said = journal.change(&receive("chain", "C-1")).said;
    assert!(said.iter().all(|line| !line.contains("recall")), "{said:?}");
    for gate in Stage::GATED {
        let tried = journal.try_change("K", &Command::Advance);
        if gate < Stage::Fitting {
            assert!(tried.is_ok(), "at {gate:?}");
        } else {
            let refusal = tried.unwrap_err();
            assert_eq!(refusal.reason, Reason::Recalled, "at {gate:?}");
            let hint = refusal.hint.unwrap();
            assert!(
                hint.contains("lockring return 21 motor on --why")
                    && hint.contains("lockring recall call 1 21 done"),
                "{hint}"
            );
        }
        journal.pass(gate);
    }
}

#[test]
fn a_bicycle_goes_on_once_the_recall_is_done_with_it_or_the_piece_went_back() {
    let mut journal = Journal::longtail();
    journal.shop.recalls.insert(1, recall(of_mark("M-1")));
    journal.change(&receive("motor", "M-1"));
    for gate in [Stage::Intake, Stage::Parts] {
        journal.pass(gate);
    }
    assert_eq!(journal.refused(&Command::Advance).reason, Reason::Recalled);
    let mut done = journal.shop.recalls[&1].clone();
    done.calls.insert(
        21,
        vec![Call {
            state: CallState::Done,
            note: "label read again: M-1 of another maker".into(),
            by: "K".into(),
            at: journal.now,
            there: crate::recalled::searches(&journal.shop, &TimeZone::UTC)
                .find_map(|search| search.there(&journal.job, journal.now)),
        }],
    );
    assert_eq!(done.calls[&21][0].there.as_ref().map(Vec::len), Some(1));
    let open = journal.shop.recalls.insert(1, done.clone()).unwrap();
    assert!(journal.try_change("K", &Command::Advance).is_ok());
    journal.shop.recalls.insert(1, open);
    journal.change(&give_back("motor"));
    assert!(journal.try_change("K", &Command::Advance).is_ok());
    // Done is done with what was there then, not with another of the same lot.
    journal.shop.recalls.insert(1, done);
    let came = receive("motor", "M-1");
    // Nor is it, when its receipt says that it came before the call.
    for made in [journal.later(), journal.job.opened + SignedDuration::from_mins(5)] {
        let draft = journal.at_desk(|desk| change(journal.job.clone(), None, origin("K", made), &came, desk));
        let said = draft.unwrap().said;
        assert!(said.iter().any(|line| line.contains("set it aside")), "{said:?}");
    }
    let draft = journal.at_desk(|desk| {
        let made = journal.job.opened + SignedDuration::from_mins(5);
        change(journal.job.clone(), None, origin("K", made), &came, desk)
    });
    journal.store(&draft.unwrap());
    journal.pass(Stage::Parts);
    assert_eq!(journal.refused(&Command::Advance).reason, Reason::Recalled);
}

#[test]
fn every_part_of_what_a_recall_looks_for_narrows_it() {
    let mut journal = Journal::longtail();
    journal.change(&order(&["motor"], ""));
    journal.change(&receive("motor", "M-1"));
    let part = journal.job.pieces[0].goods.part.clone();
    let mut means = |text: FindText| {
        journal.shop.recalls.insert(1, recall(text));
        !crate::recalled::on_job(&journal.shop, &TimeZone::UTC, &journal.job).is_empty()
    };
    assert!(means(of_mark("m-1")) && means(of_mark("L-1")) && !means(of_mark("M-2")));
    let of_part = |part: &str| FindText {
        part: part.into(),
        ..FindText::default()
    };
    assert!(means(of_part(&part)) && !means(of_part("other")));
    let from = |supplier: &str| FindText {
        supplier: supplier.into(),
        ..FindText::default()
    };
    assert!(means(from("Supplier One")) && !means(from("another")));
    let since = |day: &str| FindText {
        since: Some(day.parse().unwrap()),
        ..FindText::default()
    };
    assert!(means(since("2026-03-03")) && !means(since("2026-03-04")));
}
