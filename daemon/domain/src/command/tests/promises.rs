//! Days promised and what the rider was told, as decided.

use super::*;

fn promise(day: &str, hard: Option<bool>, why: &str) -> Command {
    Command::Promise {
        day: day.parse().unwrap(),
        hard,
        why: why.into(),
    }
}

/// A longtail of which no day was named yet.
fn unpromised() -> Journal {
    let mut journal = Journal::longtail();
    assert!(journal.entries.len() > 1);
    for entry in &mut journal.entries {
        if let Event::Stated { values, .. } = &mut entry.event {
            values.remove(PROMISE);
            values.remove(crate::promise::PROMISE_KIND);
        }
    }
    journal.job = Job::fold(&journal.entries).unwrap();
    assert_eq!((journal.job.promised(), journal.job.is_hard()), (None, false));
    journal
}

#[test]
fn a_later_day_is_a_slip_and_an_earlier_one_is_none() {
    let mut journal = unpromised();
    let said = journal.change(&promise("2026-04-01", None, "")).said;
    assert_eq!(said, ["promised for 2026-04-01, soft"]);
    assert_eq!(journal.job.slips(), 0);
    let draft = journal.change(&promise("2026-04-08", None, "sensor comes late"));
    assert_eq!(
        draft.said[0],
        "promised for 2026-04-08, soft; it was 2026-04-01, slip 1"
    );
    assert!(draft.said[1].contains("lockring told 21"), "{:?}", draft.said);
    let draft = journal.change(&promise("2026-04-07", None, "it came"));
    assert_eq!(draft.said[0], "promised for 2026-04-07, soft; it was 2026-04-08");
    assert_eq!((draft.said.len(), journal.job.slips()), (2, 1));
    let kept: Vec<(String, &str)> = journal
        .job
        .promises
        .iter()
        .map(|promise| (promise.day.to_string(), promise.why.as_str()))
        .collect();
    assert_eq!(
        kept,
        [
            ("2026-04-01".to_owned(), ""),
            ("2026-04-08".to_owned(), "sensor comes late"),
            ("2026-04-07".to_owned(), "it came")
        ]
    );
}

#[test]
fn another_day_has_a_reason_and_the_same_day_is_no_news() {
    let mut journal = unpromised();
    journal.change(&promise("2026-04-01", None, ""));
    let refusal = journal.refused(&promise("2026-04-02", None, " "));
    assert!(refusal.message.contains("--why"), "{refusal}");
    // Nobody said yet whether it is hard: the same day may be promised once more.
    journal.change(&promise("2026-04-01", Some(false), ""));
    for same in [None, Some(false)] {
        let refusal = journal.refused(&promise("2026-04-01", same, ""));
        assert!(refusal.message.contains("already"), "{refusal}");
    }
    // The same day, but nothing else will do: that is news, and needs no reason.
    let draft = journal.change(&promise("2026-04-01", Some(true), ""));
    assert_eq!(draft.said, ["promised for 2026-04-01, hard"]);
    assert!(journal.job.is_hard());
    journal.refused(&promise("2026-04-01", Some(true), ""));
    // Another day leaves it hard unless something else is said.
    let draft = journal.change(&promise("2026-04-03", None, "a day more"));
    assert!(draft.said[0].contains("2026-04-03, hard"), "{:?}", draft.said);
}

#[test]
fn the_rider_counts_as_told_once_it_was_after_the_last_promise() {
    let mut journal = unpromised();
    let tell = |words: &str| Command::Tell { words: words.into() };
    assert_eq!(journal.refused(&tell("  ")).reason, Reason::BadInput);
    journal.change(&promise("2026-04-01", None, ""));
    assert_eq!(journal.job.told_of_promise(), None);
    let draft = journal.change(&tell("1 April, agreed"));
    assert_eq!(draft.said, ["rider told: 1 April, agreed"]);
    let told = |journal: &Journal| journal.job.told_of_promise().map(|told| told.words.clone());
    assert_eq!(told(&journal).as_deref(), Some("1 April, agreed"));
    journal.change(&promise("2026-04-09", None, "ship late"));
    assert_eq!(told(&journal), None, "not of the new day");
}

#[test]
fn a_day_that_is_over_already_is_said_to_be() {
    let mut journal = unpromised();
    let today = journal.now.to_zoned_datetime(TimeZone::UTC).date();
    let before = today.yesterday().unwrap();
    let past = |draft: Draft| draft.said.iter().any(|line| line.contains("is past"));
    let hold = |day| Command::Hold {
        why: "rider on holiday".into(),
        until: Some(day),
    };
    assert!(past(journal.change(&promise(&before.to_string(), None, ""))));
    assert!(!past(journal.change(&promise(&today.to_string(), None, "slip"))));
    let stated = Command::State {
        group: None,
        values: vec![Typed::new("promise", before.to_string())],
        assumed: false,
    };
    assert!(past(journal.change(&stated)));
    assert!(past(journal.change(&hold(before))));
    journal.change(&Command::Release);
    assert!(!past(journal.change(&hold(today))));
}

#[test]
fn a_day_stated_again_once_a_promise_was_made_is_another_promise() {
    let mut journal = unpromised();
    let state = |day: &str| Command::State {
        group: None,
        values: vec![Typed::new("promise", day)],
        assumed: false,
    };
    journal.change(&state("2026-04-01"));
    assert!(journal.job.promises.is_empty(), "the brief's day begins no list");
    journal.change(&promise("2026-04-02", None, "a day more"));
    let days = |journal: &Journal| -> Vec<String> {
        let promises = journal.job.promises.iter();
        promises.map(|promise| promise.day.to_string()).collect()
    };
    assert_eq!(days(&journal), ["2026-04-01", "2026-04-02"]);
    journal.change(&state("2026-04-02"));
    assert_eq!(days(&journal).len(), 2, "the same day is no other promise");
    journal.change(&state("2026-04-05"));
    assert_eq!(days(&journal)[2..], ["2026-04-05"]);
    assert_eq!(journal.job.slips(), 2);
}

/// 5 March 2026 is a Thursday (Gregorian calendar).
#[test]
fn a_day_in_the_brief_is_read_as_it_is_said() {
    let mut journal = Journal::longtail();
    let brief = |day: &str| Command::State {
        group: None,
        values: vec![Typed::new("promise", day)],
        assumed: false,
    };
    for (said, meant) in [
        ("friday", "2026-03-06"),
        ("Thu", "2026-03-12"),
        ("tomorrow", "2026-03-06"),
        ("today", "2026-03-05"),
        ("24.3.2026", "2026-03-24"),
    ] {
        journal.now = "2026-03-05T08:00Z".parse().unwrap();
        let draft = journal.try_change("K", &brief(said)).unwrap();
        let meant: Date = meant.parse().unwrap();
        assert_eq!(draft.job.day("promise"), Some(meant), "{said}");
    }
    assert_eq!(journal.refused(&brief("soon")).reason, Reason::BadInput);
}
