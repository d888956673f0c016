//! Blocks opened, asked about and cleared by hand, holds, and ends without a handover.

use super::*;

fn open(family: &str, whose: &str, clears_when: &str) -> Command {
    Command::OpenBlock {
        family: family.into(),
        about: " guide sticks out ".into(),
        whose: whose.into(),
        chase: Some("2026-03-09".parse().unwrap()),
        clears_when: clears_when.into(),
    }
}

fn clear(number: u32, why: &str) -> Command {
    Command::ClearBlock {
        number,
        why: why.into(),
    }
}

fn chase(number: u32, day: Option<&str>, whose: &str, said: &str) -> Command {
    Command::Chase {
        number,
        chase: day.map(|day| day.parse().unwrap()),
        whose: whose.into(),
        said: said.into(),
    }
}

/// What stands in lists of all jobs has an end, whatever was pasted.
#[test]
fn words_and_names_that_fill_an_answer_are_refused() {
    let mut journal = Journal::longtail();
    let long = "x".repeat(4001);
    let about = Command::OpenBlock {
        family: "fit".into(),
        about: long.clone(),
        whose: String::new(),
        chase: None,
        clears_when: String::new(),
    };
    for asked in [
        about,
        open("fit", "", &long),
        Command::Note {
            text: long.clone(),
            private: false,
        },
    ] {
        let refusal = journal.refused(&asked);
        assert!(
            refusal
                .message
                .contains("has 4001 characters; expected at most 4000"),
            "{}",
            refusal.message
        );
    }
    journal.change(&open("fit", "", &long[..4000]));
    let refusal = journal.refused(&chase(1, None, "", &long));
    assert_eq!(refusal.metadata["field"], "what was said");
}

#[test]
fn a_block_opened_by_hand_has_a_number_of_its_own_and_a_side_to_move() {
    let mut journal = Journal::longtail();
    let draft = journal.change(&open("Fit", "", ""));
    let block = &draft.opened[0];
    assert_eq!(
        (block.number, block.family, block.whose),
        (1, Family::Fit, Whose::Mechanic)
    );
    assert_eq!(
        (block.about.as_str(), block.clears_when.as_str()),
        ("guide sticks out", "lockring clear 21 1 --why …")
    );
    assert_eq!(block.chase.unwrap().to_string(), "2026-03-09");
    let draft = journal.change(&open("parts", "Rider", " it is here "));
    let block = &draft.opened[0];
    assert_eq!(
        (block.number, block.whose, block.clears_when.as_str()),
        (2, Whose::Rider, "it is here")
    );
    // A number is not given twice.
    journal.change(&clear(2, "it came"));
    assert_eq!(journal.change(&open("parts", "", "")).opened[0].number, 3);
    for (family, whose, nearest) in [("fitt", "", "fit"), ("fit", "ridr", "rider")] {
        let refusal = journal.refused(&open(family, whose, ""));
        assert_eq!(refusal.reason, Reason::UnknownWord);
        assert_eq!(refusal.metadata["nearest"], nearest);
    }
}

#[test]
fn a_block_is_cleared_with_a_reason_and_only_by_its_number() {
    let mut journal = Journal::longtail();
    let refusal = journal.refused(&clear(1, "done"));
    assert_eq!(refusal.reason, Reason::NoSuchBlock);
    assert!(refusal.hint.unwrap().contains("no open block at all"));
    journal.change(&open("fit", "", ""));
    journal.change(&open("shop", "", ""));
    assert_eq!(journal.refused(&clear(1, " ")).reason, Reason::BadInput);
    let refusal = journal.refused(&clear(3, "done"));
    assert!(refusal.hint.unwrap().contains("open are 1, 2"));
    let draft = journal.change(&clear(1, "guide shortened"));
    assert_eq!(draft.cleared[0].number, 1);
    let left: Vec<u32> = journal.job.blocks.iter().map(|block| block.number).collect();
    assert_eq!(left, [2]);
}

#[test]
fn a_block_that_opened_by_itself_is_not_cleared_by_hand() {
    let mut journal = Journal::longtail();
    journal.change(&Command::Advance);
    let number = journal.job.blocks[0].number;
    let refusal = journal.refused(&clear(number, "looks well"));
    assert_eq!(refusal.reason, Reason::GateClosed);
    assert!(refusal.hint.unwrap().contains("lockring explain 21"));
    journal.change(&Command::Order {
        slots: vec!["motor".into()],
        supplier: "N".into(),
        due: Some("2026-03-02".parse().unwrap()),
        price: String::new(),
    });
    let swept = sweep(
        journal.job.clone(),
        "2026-03-04".parse().unwrap(),
        origin("lockringd", journal.now),
    );
    journal.store(&swept.unwrap());
    let late = journal
        .job
        .blocks
        .iter()
        .find(|block| block.line.is_some())
        .unwrap();
    let refusal = journal.refused(&clear(late.number, "it will come"));
    assert_eq!(refusal.reason, Reason::GateClosed);
    assert!(refusal.hint.unwrap().contains("lockring receive 21 motor"));
}

#[test]
fn who_asked_about_a_block_says_when_to_ask_again_and_whose_move_it_is() {
    let mut journal = Journal::longtail();
    journal.change(&open("fit", "", ""));
    journal.change(&open("fit", "", ""));
    let draft = journal.change(&chase(2, Some("2026-03-20"), "supplier", " calls back "));
    assert_eq!(
        draft.said,
        ["block 2 asked about, calls back, supplier to move, again on 2026-03-20"]
    );
    let of = |journal: &Journal, at: usize| {
        let block = &journal.job.blocks[at];
        (block.whose, block.chase.map(|day| day.to_string()))
    };
    assert_eq!(of(&journal, 1), (Whose::Supplier, Some("2026-03-20".into())));
    assert_eq!(of(&journal, 0), (Whose::Mechanic, Some("2026-03-09".into())));
    // Nothing said of the side leaves it; no day means nobody asks again.
    journal.change(&chase(2, None, " ", ""));
    assert_eq!(of(&journal, 1), (Whose::Supplier, None));
    assert_eq!(
        journal.refused(&chase(3, None, "", "")).reason,
        Reason::NoSuchBlock
    );
    assert_eq!(
        journal.refused(&chase(2, None, "nobody", "")).reason,
        Reason::UnknownWord
    );
}

#[test]
fn a_wait_is_planned_once_and_ends_once() {
    let mut journal = Journal::longtail();
    assert_eq!(journal.refused(&Command::Release).reason, Reason::NotOnHold);
    let hold = |why: &str, until: Option<&str>| Command::Hold {
        why: why.into(),
        until: until.map(|day| day.parse().unwrap()),
    };
    assert_eq!(journal.refused(&hold(" ", None)).reason, Reason::BadInput);
    let draft = journal.change(&hold("holiday", Some("2026-05-01")));
    // The longtail is promised for Tuesday 24 March.
    assert_eq!(draft.said[0], "on hold until 2026-05-01: holiday");
    assert!(
        draft.said[1].starts_with("CAUTION: on hold past the promise of 2026-03-24"),
        "{:?}",
        draft.said
    );
    assert_eq!(draft.said.len(), 2);
    let held = journal.job.hold.clone().unwrap();
    assert_eq!((held.why.as_str(), held.since), ("holiday", journal.now));
    assert_eq!(journal.refused(&hold("again", None)).reason, Reason::OnHold);
    assert_eq!(journal.change(&Command::Release).said, ["hold ended"]);
    assert_eq!(journal.job.hold, None);
}

#[test]
fn a_job_ends_without_a_handover_in_one_of_two_ways() {
    for (end, stage) in [("returned", Stage::Returned), ("cancelled", Stage::Cancelled)] {
        let mut journal = Journal::longtail();
        journal.change(&open("fit", "", ""));
        let close = |end: &str, why: &str| Command::Close {
            end: end.into(),
            why: why.into(),
        };
        assert_eq!(journal.refused(&close("sold", "x")).reason, Reason::BadInput);
        assert_eq!(journal.refused(&close(end, "")).reason, Reason::BadInput);
        journal.change(&close(end, "glued"));
        assert_eq!(journal.job.stage, stage);
        assert_eq!(journal.job.closed_because.as_deref(), Some("glued"));
        assert!(journal.job.blocks.is_empty() && journal.job.hold.is_none());
        assert_eq!(journal.undo("K", None).unwrap_err().reason, Reason::JobOver);
    }
}

#[test]
fn a_bicycle_that_was_touched_is_returned_and_not_cancelled_and_its_parts_are_named() {
    let close = |end: &str| Command::Close {
        end: end.into(),
        why: "rider bought another".into(),
    };
    let recorded = |act: Act, code: &str, value: &str| Command::Record {
        act,
        values: vec![Typed::new(code, value)],
        force: false,
        anew: false,
    };
    // Of several the first of the furthest gate tells how far it came.
    let mut journal = Journal::longtail();
    journal.change(&recorded(Act::Torque, "lockring", "40Nm"));
    journal.change(&recorded(Act::Measure, "gapm", "2.6mm"));
    let message = journal.refused(&close("cancelled")).message;
    assert!(message.contains("(fitting: motor-gap and 1 more)"), "{message}");
    for code in ["stop-rear", "stop-distance"] {
        let now = journal.now;
        journal
            .job
            .state(code, &Value::Number(5.0), Provenance::Measured, 1, now);
    }
    let message = journal.refused(&close("cancelled")).message;
    assert!(
        message.contains("(test-ride: stop-distance and 3 more)"),
        "{message}"
    );
    for (what, command) in [
        ("fitting: motor-gap", recorded(Act::Measure, "gapm", "2.6mm")),
        (
            "fitting: torque-lockring",
            recorded(Act::Torque, "lockring", "40Nm"),
        ),
    ] {
        let mut journal = Journal::longtail();
        journal.change(&command);
        let refusal = journal.refused(&close("cancelled"));
        assert_eq!(refusal.reason, Reason::CannotStand);
        assert!(refusal.message.contains(what), "{refusal}");
        assert!(
            refusal
                .hint
                .unwrap()
                .contains("`lockring close 21 --returned --why REASON`")
        );
        journal.change(&close("returned"));
    }
    // What is only measured on the bicycle as it came, or planned, touches nothing.
    let mut journal = Journal::longtail();
    journal.change(&recorded(Act::Measure, "shell-width", "73mm"));
    journal.change(&Command::Order {
        slots: vec!["motor".into(), "pack".into()],
        supplier: "M".into(),
        due: None,
        price: String::new(),
    });
    journal.change(&Command::Receive {
        slot: "motor".into(),
        found: Vec::new(),
        details: ReceiptText {
            serial: "M-1".into(),
            ..ReceiptText::default()
        },
    });
    let said = journal.change(&close("cancelled")).said.join("\n");
    for part in [
        "motor (M-1) is still in the house: `lockring shelf put 21 motor --why …` or `lockring return 21 motor --why …`",
        "still awaited: pack; `lockring order cancel 21 --why …`",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
}

#[test]
fn a_job_that_is_over_takes_what_may_still_come_and_nothing_else() {
    let late = |stage: Stage| {
        let mut journal = Journal::longtail();
        journal.job.stage = stage;
        journal
    };
    let slot = || "motor".to_owned();
    let why = || "late".to_owned();
    let of_supply: Vec<(SupplyCommand, bool, bool)> = vec![
        // Command, taken after a handover, taken after an end without one.
        (
            SupplyCommand::MoveOrder {
                slots: Vec::new(),
                due: "2026-04-01".parse().unwrap(),
                why: why(),
            },
            true,
            true,
        ),
        (
            SupplyCommand::CancelOrder {
                slots: Vec::new(),
                why: why(),
            },
            true,
            true,
        ),
        (
            SupplyCommand::Credit {
                slot: slot(),
                amount: "1".into(),
            },
            true,
            true,
        ),
        (
            SupplyCommand::ReturnPart {
                slot: slot(),
                why: why(),
            },
            false,
            true,
        ),
        (
            SupplyCommand::PutBack {
                slot: Slot::Motor,
                item: 1,
                why: why(),
            },
            false,
            true,
        ),
        (
            SupplyCommand::Substitute {
                slot: slot(),
                part: "motor".into(),
                supplier: String::new(),
                due: None,
                price: String::new(),
            },
            false,
            false,
        ),
    ];
    for (command, handed_over, ended) in of_supply {
        for (stage, taken) in [
            (Stage::HandedOver, handed_over),
            (Stage::Returned, ended),
            (Stage::Cancelled, ended),
        ] {
            let answer = late(stage).try_change("K", &Command::Supply(command.clone()));
            let over = answer.is_err_and(|refusal| refusal.reason == Reason::JobOver);
            assert_eq!(!over, taken, "{command:?} at {stage:?}");
        }
    }
    let note = Command::Note {
        text: "called".into(),
        private: true,
    };
    let draft = late(Stage::HandedOver).try_change("K", &note).unwrap();
    assert!(draft.said[0].contains("it goes when the rider is removed"));
    assert!(draft.next.is_empty() && draft.checks.is_empty());
    let refusal = late(Stage::HandedOver)
        .try_change("K", &measure(&[("clf", "51")]))
        .unwrap_err();
    assert_eq!(refusal.reason, Reason::JobOver);
}

/// Who has to move while a gate is shut: a doubt is the owner's to concede, what is missing the
/// mechanic's to record, parts the owner's to order and then the supplier's to bring.
#[test]
fn a_block_names_the_side_that_can_clear_it() {
    let mut journal = Journal::longtail();
    journal.pass(Stage::Intake);
    let side = |journal: &Journal, check: &str| {
        let mut blocks = journal.job.blocks.iter();
        let block = blocks
            .find(|block| block.check.as_deref() == Some(check))
            .unwrap();
        (block.whose, block.clears_when.clone())
    };
    journal.change(&Command::Advance);
    assert_eq!(
        side(&journal, "parts.received").0,
        Whose::Owner,
        "not ordered yet"
    );
    journal.change(&Command::Order {
        slots: Vec::new(),
        supplier: "N".into(),
        due: None,
        price: String::new(),
    });
    journal.change(&Command::Advance);
    assert_eq!(
        side(&journal, "parts.received").0,
        Whose::Supplier,
        "all are ordered"
    );
    // One of them came: it is still the supplier's move.
    journal.change(&Command::Receive {
        slot: "chain".into(),
        found: Vec::new(),
        details: ReceiptText::default(),
    });
    journal.change(&Command::Advance);
    assert_eq!(side(&journal, "parts.received").0, Whose::Supplier);
    // What came counts as ordered, however it came.
    journal.change(&Command::Supply(SupplyCommand::CancelOrder {
        slots: vec!["cassette".into()],
        why: "found one".into(),
    }));
    journal.change(&Command::Advance);
    assert_eq!(
        side(&journal, "parts.received").0,
        Whose::Owner,
        "one is to be ordered again"
    );
    for gate in [Stage::Intake, Stage::Parts, Stage::Fitting] {
        let reports = gate::run(gate, &journal.job, &journal.rules);
        for block in journal.job.blocks.iter().filter(|block| block.gate == gate) {
            let Some(report) = reports
                .iter()
                .find(|report| Some(report.check.id) == block.check.as_deref())
            else {
                continue;
            };
            let expected = match report.verdict {
                Verdict::Caution => Whose::Owner,
                Verdict::Fail => report.check.family.usual_move(),
                Verdict::Open if report.check.family != Family::Parts => Whose::Mechanic,
                _ => block.whose,
            };
            assert_eq!(block.whose, expected, "{block:?}");
            if let Some(missing) = report.missing.first() {
                assert_eq!(block.clears_when, missing.how);
            } else {
                let never = !report.is_concedable();
                assert_eq!(block.clears_when.contains("never conceded"), never, "{block:?}");
                assert!(block.clears_when.contains(report.check.id), "{block:?}");
            }
        }
    }
}

#[test]
fn what_to_record_next_is_told_once_and_in_the_order_of_the_checks() {
    let mut journal = Journal::longtail();
    journal.pass(Stage::Intake);
    journal.pass(Stage::Parts);
    let draft = journal.change(&Command::Advance);
    let missing: Vec<_> = draft
        .checks
        .iter()
        .flat_map(|report| report.missing.clone())
        .collect();
    assert!(missing.len() >= draft.next.len() && !draft.next.is_empty());
    let mut once: Vec<Missing> = Vec::new();
    for item in missing {
        if !once.iter().any(|known| known.how == item.how) {
            once.push(item);
        }
    }
    assert_eq!(draft.next, once);
    let said = draft.said.join("\n");
    let short = draft.checks.iter().filter(|report| !report.holds()).count();
    assert!(
        said.contains(&format!("{short} of {} checks do not hold", draft.checks.len())),
        "{said}"
    );
    assert_eq!(draft.opened.len(), short);
}
