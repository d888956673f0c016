//! What is entered late: it counts where it would have counted then, and takes the place of nothing later.

use super::*;

/// A reading on paper: entered now, made at another time.
fn of_then(journal: &Journal, made: Timestamp, command: &Command) -> Result<Draft, Refusal> {
    journal.at_desk(|desk| change(journal.job.clone(), None, origin("K", made), command, desk))
}

fn anew(code: &str, text: &str) -> Command {
    Command::Record {
        act: Act::Measure,
        values: vec![Typed::new(code, text)],
        force: true,
        anew: true,
    }
}

fn brief(code: &str, text: &str) -> Command {
    Command::State {
        group: None,
        values: vec![Typed::new(code, text)],
        assumed: false,
    }
}

#[test]
fn an_older_reading_takes_the_place_of_no_later_one() {
    let mut journal = Journal::longtail();
    journal.later();
    let before = journal.now;
    journal.later();
    journal.change(&torque("stem", "4"));
    journal.change(&measure(&[("cut-left", "0/3")]));
    let since = journal.now;
    let entry = journal.job.revision;
    for older in [
        measure(&[("cut-left", "3/3")]),
        anew("cut-left", "3/3"),
        torque("stem", "6"),
        torque("stem", "4"),
    ] {
        let refusal = of_then(&journal, before, &older).unwrap_err();
        assert_eq!(refusal.reason, Reason::LaterStands, "{refusal}");
    }
    let refusal = of_then(&journal, before, &measure(&[("cut-left", "3/3")])).unwrap_err();
    let stands = journal.at_desk(|desk| desk.moment(since));
    let words = format!("0/3 stands since {stands} (entry {entry})");
    assert!(refusal.message.contains(&words), "{refusal}");
    let way_out = format!("`lockring undo 21 --entry {entry}`");
    assert!(refusal.hint.unwrap().contains(&way_out));
    // Once what stands is taken back nothing is later.
    journal.undo("K", Some(entry)).unwrap();
    assert!(of_then(&journal, before, &measure(&[("cut-left", "3/3")])).is_ok());
    // One failed round more within the hour is no way past what failed, nor is a series begun before it.
    journal.change(&measure(&[("cut-left", "0/3")]));
    let round = journal.now - SignedDuration::from_mins(30);
    let joined = of_then(&journal, round, &measure(&[("cut-left", "3/3")])).unwrap();
    let (good, tried) = (3, 6);
    assert_eq!(joined.job.facts["cut-left"].value, Value::Tally { good, tried });
    assert!(of_then(&journal, round, &anew("cut-left", "3/3")).is_err());
    journal.store(&joined);
    let further = round - SignedDuration::from_mins(45);
    assert!(of_then(&journal, further, &measure(&[("cut-left", "3/3")])).is_err());
}

#[test]
fn what_is_told_of_an_earlier_time_corrects_nothing_told_later() {
    let mut journal = Journal::longtail();
    journal.later();
    let before = journal.now;
    journal.change(&brief("rider-mass", "84 kg"));
    let entry = journal.job.revision;
    let refusal = of_then(&journal, before, &brief("rider-mass", "60 kg")).unwrap_err();
    assert_eq!(refusal.metadata["entry"], entry.to_string());
    assert!(refusal.message.contains("84 kg"), "{refusal}");
    assert!(of_then(&journal, journal.now, &brief("rider-mass", "60 kg")).is_ok());
    // Beside a reading that counts it displaces nothing in either order, and a reading counts more than what was told.
    journal.change(&brief("stay-gap", "3 mm"));
    assert!(of_then(&journal, before, &measure(&[("stay-gap", "2 mm")])).is_ok());
    journal.change(&measure(&[("stay-gap", "2 mm")]));
    assert!(of_then(&journal, before, &brief("stay-gap", "3 mm")).is_ok());
}

#[test]
fn a_reading_of_before_a_change_counts_as_none_of_after_it() {
    let mut journal = Journal::longtail();
    journal.change(&measure(&[("clf", "51.5"), ("ring-gap", "4")]));
    journal.later();
    let before = journal.now;
    journal.change(&Command::Build {
        parts: vec![Typed::new("chainring", "ring-38-5")],
    });
    let entry = journal.job.revision;
    let refusal = of_then(&journal, before, &measure(&[("ring-gap", "8")])).unwrap_err();
    assert_eq!(refusal.reason, Reason::LaterStands);
    assert!(
        refusal.message.contains("the chainring was changed")
            && refusal.message.contains(&format!("(entry {entry})")),
        "{refusal}"
    );
    assert!(of_then(&journal, before, &anew("ring-gap", "8")).is_err());
    let after = journal.now;
    assert!(of_then(&journal, after, &measure(&[("ring-gap", "8")])).is_ok());
    // What was never read before it is of the old set-up all the same, and an older note in between hides nothing.
    assert!(of_then(&journal, before, &measure(&[("motor-gap", "8")])).is_ok());
    journal.change(&measure(&[("spacer", "2 mm")]));
    let old_note = Command::Note {
        text: "x".into(),
        private: false,
    };
    let draft = of_then(&journal, before, &old_note).unwrap();
    journal.store(&draft);
    let refusal = of_then(&journal, after, &measure(&[("motor-gap", "8")])).unwrap_err();
    assert!(refusal.message.contains("the spacer was changed"), "{refusal}");
}

/// Two benches that were cut off, whichever comes back first.
#[test]
fn benches_that_reconnect_in_either_order_leave_the_later_reading() {
    let value = |first: bool| {
        let mut journal = Journal::longtail();
        let times = [
            journal.now + SignedDuration::from_hours(3),
            journal.now + SignedDuration::from_hours(5),
        ];
        let mut lines = vec![(times[0], "51 mm"), (times[1], "53 mm")];
        if !first {
            lines.reverse();
        }
        let mut refused = 0;
        for (made, text) in lines {
            match of_then(&journal, made, &measure(&[("clf", text)])) {
                Ok(draft) => journal.store(&draft),
                Err(_) => refused += 1,
            }
        }
        (journal.job.facts["chainline-front"].value.clone(), refused)
    };
    assert_eq!(value(true), (Value::Number(0.053), 0));
    assert_eq!(value(false), (Value::Number(0.053), 1));
}

#[test]
fn a_time_before_the_bicycle_was_here_is_asked_about() {
    let mut journal = Journal::longtail();
    let before = journal.job.opened - SignedDuration::from_hours(24);
    for reading in [measure(&[("drops", "10/10")]), torque("stem", "5")] {
        let refusal = of_then(&journal, before, &reading).unwrap_err();
        assert_eq!(refusal.reason, Reason::OutsideWindow);
        assert!(refusal.message.contains("2026-03-02 08:00") && refusal.message.contains("2026-03-03 08:00"));
    }
    let forced = Command::Record {
        act: Act::Torque,
        values: vec![Typed::new("stem", "5")],
        force: true,
        anew: false,
    };
    assert!(of_then(&journal, before, &forced).is_ok());
    let pay = |kind: &str| {
        Command::Money(MoneyEntry::Pay {
            kind: kind.into(),
            amount: "100".into(),
            how: "cash".into(),
        })
    };
    let said = |command: &Command| of_then(&journal, before, command).unwrap().said.join("\n");
    assert!(!said(&pay("deposit")).contains("before the bicycle"));
    let paid = said(&pay("balance"));
    let entry = journal.job.revision + 1;
    assert!(
        paid.contains("before the bicycle was taken in")
            && paid.contains(&format!("`lockring undo 21 --entry {entry}`")),
        "{paid}"
    );
    let clock = Command::Money(MoneyEntry::ClockOn {
        who: String::new(),
        stage: String::new(),
        rework: String::new(),
    });
    assert!(said(&clock).contains("CAUTION: work at 2026-03-02 08:00"));
    journal.later();
    let now = of_then(&journal, journal.now, &clock).unwrap();
    assert!(!now.said.join("\n").contains("CAUTION"));
}
