//! Tests of requests: what is refused, naming the field, and what is understood.

use lockring_domain::stage::Stage;

use super::looks::JobPage;
use super::*;

fn now() -> Timestamp {
    "2026-03-09T10:00:00.1234567Z".parse().unwrap()
}

fn origin() -> v1::Origin {
    v1::Origin {
        request_id: "r-1".into(),
        by: " K ".into(),
        terminal: "bench".into(),
        ..Default::default()
    }
}

fn refused(change: impl FnOnce(&mut v1::Origin)) -> Refusal {
    let mut origin = origin();
    change(&mut origin);
    let refusal = asker(Some(origin), now()).err().unwrap();
    assert_eq!(refusal.reason, Reason::BadInput);
    assert_eq!(refusal.violations.len(), 1);
    refusal
}

#[test]
fn who_asks_must_say_so_and_name_the_request() {
    assert_eq!(asker(None, now()).err().unwrap().violations[0].field, "origin");
    assert_eq!(
        refused(|origin| origin.request_id.clear()).metadata["field"],
        "origin.request_id"
    );
    let long = refused(|origin| origin.request_id = "x".repeat(65));
    assert!(
        long.message.contains("65 characters; expected 1 to 64"),
        "{}",
        long.message
    );
    assert_eq!(
        refused(|origin| origin.by = "  ".into()).metadata["field"],
        "origin.by"
    );
    assert_eq!(
        refused(|origin| origin.by = "a\nb".into()).metadata["field"],
        "origin.by"
    );
    assert_eq!(
        refused(|origin| origin.terminal = "x".repeat(65)).metadata["field"],
        "origin.terminal"
    );
    let asker = asker(
        Some(v1::Origin {
            request_id: "x".repeat(64),
            ..origin()
        }),
        now(),
    )
    .unwrap();
    assert_eq!(asker.origin.by, "K");
    // The journal keeps whole microseconds.
    assert_eq!(asker.origin.made, "2026-03-09T10:00:00.123456Z".parse().unwrap());
}

#[test]
fn a_time_of_making_lies_between_2000_and_five_minutes_ahead() {
    let at = |text: &str| text.parse::<Timestamp>().unwrap().as_microsecond();
    for (given, taken) in [
        ("2000-01-01T00:00:00Z", true),
        ("1999-12-31T23:59:59.999999Z", false),
        ("2026-03-09T10:05:00Z", true),
        ("2026-03-09T10:05:00.2Z", false),
    ] {
        let origin = v1::Origin {
            made_at_us: Some(at(given)),
            ..origin()
        };
        assert_eq!(asker(Some(origin), now()).is_ok(), taken, "{given}");
    }
    // The same holds for when a piece of work began and ended.
    let fix = |from: &str, to: &str| {
        enter(
            v1::EnterRequest {
                origin: Some(origin()),
                job: 3,
                entry: Some(v1::enter_request::Entry::ClockFix(v1::ClockFix {
                    number: 1,
                    from_us: at(from),
                    to_us: at(to),
                    why: "forgot".into(),
                })),
            },
            now(),
        )
    };
    assert!(fix("2026-03-09T08:00Z", "2026-03-09T10:00Z").is_ok());
    let refusal = fix("2026-03-09T08:00Z", "2026-03-09T12:00Z").err().unwrap();
    assert_eq!(refusal.violations[0].field, "to_us");
    assert!(
        refusal.message.starts_with("2026-03-09 12:00 UTC"),
        "{}",
        refusal.message
    );
    assert!(fix("1900-03-09T08:00Z", "1900-03-09T09:00Z").is_err());
    let refusal = refused(|origin| origin.made_at_us = Some(i64::MAX));
    assert!(
        refusal.message.contains("9223372036854775807 us"),
        "{}",
        refusal.message
    );
}

#[test]
fn a_bad_day_names_its_field_and_an_example() {
    let request = v1::OrderRequest {
        origin: Some(origin()),
        job: 3,
        due: "next week".into(),
        ..Default::default()
    };
    let refusal = order(request, now()).unwrap_err();
    assert_eq!(refusal.violations[0].field, "due");
    assert!(refusal.message.contains("`next week`") && refusal.message.contains("2026-03-24"));
    assert_eq!(
        day("due", " 2026-04-07 ").unwrap(),
        Some(jiff::civil::date(2026, 4, 7))
    );
    assert_eq!(day("due", "").unwrap(), None);
}

/// What a client lets through where no daemon is reached is what the daemon reads.
#[test]
fn the_currencies_a_client_knows_are_those_that_are_read() {
    use lockring_domain::money::Money;
    use lockring_proto::amount::{SIGNS, WORDS, may_be};
    for word in SIGNS.iter().chain(&WORDS) {
        for text in [format!("{word} 98.50"), format!("98.50 {word}")] {
            assert!(may_be(&text), "{text}");
            assert_eq!(Money::read(&text), Ok(Money(9_850)), "{text}");
        }
    }
}

#[test]
fn words_of_the_contract_are_checked() {
    let act = v1::RecordRequest {
        origin: Some(origin()),
        act: "weigh".into(),
        ..Default::default()
    };
    assert!(
        record(act, now())
            .unwrap_err()
            .message
            .contains("expected measure, torque or ride")
    );
    let group = v1::StateRequest {
        origin: Some(origin()),
        group: "ride".into(),
        ..Default::default()
    };
    assert!(
        state(group, now())
            .unwrap_err()
            .message
            .contains("expected brief, donor, or none")
    );
    assert_eq!(gate("").unwrap(), None);
    assert_eq!(gate("Test-Ride").unwrap(), Some(Stage::TestRide));
    let unknown = gate("fiting").unwrap_err();
    assert_eq!(
        (unknown.reason, unknown.metadata["nearest"].as_str()),
        (Reason::UnknownWord, "fitting")
    );
    assert!(gate("handed-over").is_err());
    assert_eq!(kind("moter").unwrap_err().metadata["nearest"], "motor");
}

#[test]
fn pages_have_limits_and_tokens_of_their_own() {
    let request = |page_size, page_token: &str| v1::ListJobsRequest {
        all: false,
        page_size,
        page_token: page_token.into(),
    };
    assert_eq!(
        job_page(&request(0, "")).unwrap(),
        JobPage {
            all: false,
            after: 0,
            size: 100
        }
    );
    assert_eq!(
        job_page(&request(500, "40")).unwrap(),
        JobPage {
            all: false,
            after: 40,
            size: 500
        }
    );
    assert!(
        job_page(&request(501, ""))
            .unwrap_err()
            .message
            .contains("at most 500")
    );
    assert_eq!(
        job_page(&request(0, "x")).unwrap_err().metadata["field"],
        "page_token"
    );
}

const SHEET: &str = "rider = \"Ines H.\"\n[brief]\nrange = \"35 km\"\nhill-grade = \"8 %\"\n[donor]\nstay-length = 440\n[build]\nmotor = \"mid-1\"\n";

fn with_sheet(content: &str, rider: &str, values: Vec<v1::Assignment>) -> Result<Asked, Refusal> {
    let sheet = Some(v1::SheetFile {
        name: "ines.toml".into(),
        content: content.into(),
    });
    take_in(
        v1::TakeInRequest {
            origin: Some(origin()),
            rider: rider.into(),
            values,
            build: vec![],
            sheet,
        },
        now(),
    )
}

#[test]
fn a_sheet_is_read_and_what_is_typed_stands_before_it() {
    // `grade` is the short form of `hill-grade`: the same value under another word.
    let typed = vec![v1::Assignment {
        field: "grade".into(),
        value: "10 %".into(),
    }];
    let asked = with_sheet(SHEET, "", typed).unwrap();
    assert_eq!(asked.file.as_deref(), Some("ines.toml"));
    let Ask::TakeIn { rider, values, build } = asked.ask else {
        panic!("{:?}", asked.ask)
    };
    assert_eq!(rider, "Ines H.");
    let read: Vec<(&str, &str, Option<u32>)> = values
        .iter()
        .map(|typed| (typed.field.as_str(), typed.text.as_str(), typed.line))
        .collect();
    assert_eq!(
        read,
        [
            ("range", "35 km", Some(3)),
            ("stay-length", "440", Some(6)),
            ("grade", "10 %", None)
        ]
    );
    assert_eq!(build[0].line, Some(8));
    let asked = with_sheet(SHEET, "Ada N.", vec![]).unwrap();
    assert!(matches!(asked.ask, Ask::TakeIn { rider, .. } if rider == "Ada N."));
}

#[test]
fn a_strange_table_or_key_is_refused_with_its_line() {
    let table = with_sheet(&SHEET.replace("[donor]", "[bike]"), "", vec![]).unwrap_err();
    assert!(
        table.message.starts_with("ines.toml line 5: bike"),
        "{}",
        table.message
    );
    let key = with_sheet(&SHEET.replace("rider =", "name ="), "", vec![]).unwrap_err();
    assert!(
        key.message.starts_with("ines.toml line 1: name"),
        "{}",
        key.message
    );
}

#[test]
fn a_backup_goes_to_the_data_folder_or_to_a_path_from_the_root() {
    let to = |folder: &str| {
        backup_folder(
            v1::BackupRequest {
                to_folder: folder.into(),
            },
            Path::new("/data"),
        )
    };
    assert_eq!(to("").unwrap(), Path::new("/data/backups"));
    assert_eq!(to("/media/stick").unwrap(), Path::new("/media/stick"));
    assert_eq!(to("stick").unwrap_err().metadata["field"], "to_folder");
}

/// The command line refuses at once what the daemon would: neither sees the other's list.
#[test]
fn bench_and_daemon_read_the_same_currencies() {
    use lockring_domain::money;
    use lockring_proto::amount;
    use std::collections::BTreeSet;

    assert_eq!(BTreeSet::from(amount::WORDS), BTreeSet::from(money::WORDS));
    let signs = money::SIGNS.map(|(sign, _)| sign);
    assert_eq!(BTreeSet::from(amount::SIGNS), BTreeSet::from(signs));
}

/// A day said at an option is read at the bench, one in the brief here.
#[test]
fn bench_and_daemon_mean_the_same_day_by_a_word() {
    use lockring_domain::calendar::day_said;
    use lockring_proto::day::read;

    let days = [
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
        "friday",
        "saturday",
        "sunday",
    ];
    let words = ["today", "Tomorrow", "FRI", "wed", "fr", "fridays", "soon", ""];
    let mut today = jiff::civil::date(2026, 11, 26);
    for _ in 0..7 {
        for word in days.into_iter().chain(words) {
            assert_eq!(
                day_said(word, today),
                read(word, Some(today)).ok(),
                "{word} said on {today}"
            );
        }
        today = today.tomorrow().unwrap();
    }
}
