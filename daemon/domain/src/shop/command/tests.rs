//! Tests of what the owner asks of the shop. People, days and limits are invented.

use jiff::civil::date;
use jiff::{SignedDuration, Timestamp};

use super::*;
use crate::shop::SHOP;

fn origin(by: &str) -> Origin {
    Origin {
        by: by.into(),
        terminal: "desk".into(),
        made: Timestamp::from_second(1_773_000_000).unwrap(),
    }
}

/// A shop with its history, as a store would keep it.
#[derive(Default)]
struct Book {
    shop: Shop,
    entries: Vec<Entry>,
}

impl Book {
    fn keep(&mut self, draft: ShopDraft) -> Vec<String> {
        for event in draft.events {
            let seq = self.entries.len() as u64 + 1;
            self.entries.push(Entry {
                id: seq,
                job: SHOP,
                seq,
                origin: draft.origin.clone(),
                stored: draft.origin.made,
                event,
                previous: [0; 32],
                hash: [0; 32],
            });
        }
        self.shop = Shop::fold(&self.entries);
        assert_eq!(self.shop, draft.shop, "the draft and the fold agree");
        draft.said
    }

    fn ask(&mut self, by: &str, command: &ShopCommand) -> Result<Vec<String>, Refusal> {
        let last = self.entries.len() as u64;
        let known = |name: &str| name == "Europe/Berlin";
        let draft = change(self.shop.clone(), last, origin(by), command, &known)?;
        Ok(self.keep(draft))
    }

    fn undo(&mut self, by: &str, seq: Option<u64>) -> Result<Vec<String>, Refusal> {
        let draft = undo(&self.entries, origin(by), seq, "")?;
        Ok(self.keep(draft))
    }
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

fn rule(key: &str, value: &str) -> ShopCommand {
    ShopCommand::Rule {
        key: key.into(),
        value: value.into(),
        why: "ours".into(),
    }
}

fn shut(days: &[&str]) -> ShopCommand {
    ShopCommand::Shut {
        days: words(days),
        why: "spring".into(),
    }
}

fn set(key: &str, value: &str) -> ShopCommand {
    ShopCommand::Set {
        key: key.into(),
        value: value.into(),
        why: String::new(),
    }
}

fn join(initials: &str, role: &str) -> ShopCommand {
    ShopCommand::Join {
        initials: initials.into(),
        name: String::new(),
        role: role.into(),
    }
}

fn leave(initials: &str) -> ShopCommand {
    ShopCommand::Leave {
        initials: initials.into(),
        why: String::new(),
    }
}

#[test]
fn a_range_of_days_is_shut_and_part_of_it_opened_again() {
    let mut book = Book::default();
    let said = book
        .ask("K", &shut(&["2026-04-03..2026-04-06", "2026-05-01"]))
        .unwrap();
    assert_eq!(said, ["shut on 2026-04-03..2026-04-06, 2026-05-01: spring"]);
    assert_eq!(book.shop.calendar.holidays.len(), 5);
    let open = ShopCommand::Open {
        days: words(&["2026-04-05..2026-04-30"]),
        why: String::new(),
    };
    let said = book.ask("K", &open).unwrap();
    assert_eq!(said, ["not shut on 2026-04-05..2026-04-06"]);
    assert_eq!(
        book.shop.calendar.holidays,
        [date(2026, 4, 3), date(2026, 4, 4), date(2026, 5, 1)].into()
    );
    assert_eq!(book.shop.shut.len(), 3);
    assert_eq!(book.ask("K", &open).unwrap_err().reason, Reason::BadInput);
}

#[test]
fn a_range_goes_over_a_leap_day_and_a_wrong_one_is_refused() {
    let mut book = Book::default();
    book.ask("K", &shut(&["2028-02-28..2028-03-01"])).unwrap();
    // 2028 is a leap year (Gregorian calendar): 28 and 29 February, 1 March.
    assert_eq!(book.shop.calendar.holidays.len(), 3);
    for wrong in [
        "2026-04-06..2026-04-03",
        "2026-02-29",
        "easter",
        "2026-01-01..2027-06-01",
        "..",
    ] {
        let refusal = book.ask("K", &shut(&[wrong])).unwrap_err();
        assert_eq!(refusal.reason, Reason::BadInput, "{wrong}");
        assert!(refusal.message.contains(wrong) && refusal.message.contains("2026-04-03"));
    }
}

#[test]
fn days_of_the_week_are_read_from_their_beginnings() {
    let mut book = Book::default();
    let days = |days: &[&str]| ShopCommand::Days {
        days: words(days),
        why: String::new(),
    };
    let said = book.ask("K", &days(&["Tue", "saturday", "wed"])).unwrap();
    assert_eq!(said, ["worked: tuesday, wednesday, saturday"]);
    assert_eq!(
        book.ask("K", &days(&["t"])).unwrap_err().reason,
        Reason::UnknownWord
    );
    assert_eq!(book.ask("K", &days(&[])).unwrap_err().reason, Reason::BadInput);
}

#[test]
fn a_limit_is_changed_with_a_reason_and_goes_back_to_shipped() {
    let mut book = Book::default();
    let bare = ShopCommand::Rule {
        key: "chainline.centre-good".into(),
        value: "1.5 mm".into(),
        why: " ".into(),
    };
    assert_eq!(book.ask("K", &bare).unwrap_err().reason, Reason::BadInput);
    let said = book.ask("K", &rule("chainline.centre-good", "1,5mm")).unwrap();
    assert!(
        said[0].starts_with("chainline.centre-good is 1.5 mm from now on; it was "),
        "{said:?}"
    );
    assert_eq!(book.shop.rules().0.number("chainline.centre-good"), Some(0.0015));
    let near = book.ask("K", &rule("chainline.center-good", "1 mm")).unwrap_err();
    assert_eq!(near.reason, Reason::UnknownWord);
    assert!(near.message.contains("chainline.centre-good"), "{near}");
    assert_eq!(
        book.ask("K", &rule("chainline.centre-good", "wide"))
            .unwrap_err()
            .reason,
        Reason::BadInput
    );
    let shipped = ShopCommand::RuleShipped {
        key: "chainline.centre-good".into(),
        why: String::new(),
    };
    book.ask("K", &shipped).unwrap();
    assert!(book.shop.own_rules.is_empty());
    assert_eq!(book.ask("K", &shipped).unwrap_err().reason, Reason::BadInput);
}

/// Shipped: slack from 8 mm to 18 mm. The least may go over 18 mm only once the most has.
#[test]
fn what_would_leave_the_sheet_crossed_is_refused_whichever_way_it_is_asked() {
    let mut book = Book::default();
    assert_eq!(
        book.ask("K", &rule("chain.slack-least", "20 mm"))
            .unwrap_err()
            .reason,
        Reason::BadInput
    );
    book.ask("K", &rule("chain.slack-most", "25 mm")).unwrap();
    book.ask("K", &rule("chain.slack-least", "20 mm")).unwrap();
    let shipped = ShopCommand::RuleShipped {
        key: "chain.slack-most".into(),
        why: String::new(),
    };
    assert_eq!(book.ask("K", &shipped).unwrap_err().reason, Reason::CannotStand);
    let refusal = book.undo("K", Some(1)).unwrap_err();
    assert_eq!(refusal.reason, Reason::CannotStand);
    assert!(refusal.message.contains("chain.slack-least"), "{refusal}");
    // Setting the most again must not make the least fall out.
    book.ask("K", &rule("chain.slack-most", "24 mm")).unwrap();
    assert_eq!(book.shop.rules().0.number("chain.slack-least"), Some(0.02));
    book.undo("K", Some(2)).unwrap();
    book.undo("K", None).unwrap();
    let (sheet, refused) = book.shop.rules();
    assert_eq!(
        (sheet.number("chain.slack-most"), refused.len()),
        (Some(0.025), 0)
    );
}

#[test]
fn a_setting_is_kept_in_one_form_and_undone_to_what_it_was() {
    let mut book = Book::default();
    book.ask("K", &set("closing-time", "18:00")).unwrap();
    book.ask("K", &set("closing-time", "7:30")).unwrap();
    assert_eq!(book.shop.text(Setting::ClosingTime), "07:30");
    book.undo("K", None).unwrap();
    assert_eq!(book.shop.text(Setting::ClosingTime), "18:00");
    book.ask("K", &set("time-zone", "Europe/Berlin")).unwrap();
    let refusal = book.ask("K", &set("time-zone", "Mars/Olympus")).unwrap_err();
    assert!(refusal.message.contains("Mars/Olympus") && refusal.message.contains("Europe/Berlin"));
    assert_eq!(
        book.ask("K", &set("bench", "2")).unwrap_err().reason,
        Reason::UnknownWord
    );
    let unset = ShopCommand::Unset {
        key: "time-zone".into(),
        why: String::new(),
    };
    book.ask("K", &unset).unwrap();
    assert_eq!(book.shop.zone_name(), None);
    assert_eq!(book.ask("K", &unset).unwrap_err().reason, Reason::BadInput);
}

#[test]
fn the_first_is_the_owner_and_an_owner_always_stays() {
    let mut book = Book::default();
    assert_eq!(
        book.ask("X", &join("K", "mechanic")).unwrap_err().reason,
        Reason::CannotStand
    );
    book.ask("X", &join("K", "owner")).unwrap();
    let stranger = book.ask("X", &join("M", "")).unwrap_err();
    assert_eq!(stranger.reason, Reason::UnknownPerson);
    assert!(stranger.message.contains("K (owner)"), "{stranger}");
    book.ask("k", &join("M", "")).unwrap();
    assert_eq!(
        book.entries.last().unwrap().origin.by,
        "K",
        "kept as it stands in the list"
    );
    let mechanic = book.ask("M", &set("benches", "2")).unwrap_err();
    assert_eq!(mechanic.reason, Reason::OwnerOnly);
    assert_eq!(
        book.ask("K", &leave("K")).unwrap_err().reason,
        Reason::CannotStand
    );
    assert_eq!(
        book.ask("K", &join("K", "mechanic")).unwrap_err().reason,
        Reason::CannotStand
    );
    assert_eq!(book.undo("K", Some(1)).unwrap_err().reason, Reason::CannotStand);
    assert_eq!(book.undo("M", Some(2)).unwrap_err().reason, Reason::OwnerOnly);
    book.ask("K", &join("m", "owner")).unwrap();
    book.ask("K", &leave("K")).unwrap();
    assert_eq!(book.shop.owners().collect::<Vec<_>>(), ["M"]);
    assert_eq!(book.shop.person("K").unwrap_err().reason, Reason::UnknownPerson);
    assert!(book.shop.people["K"].left.is_some());
}

/// The last that was said is a pair, which is revoked and not undone: nothing older goes in its stead.
#[test]
fn a_bare_undo_takes_the_last_or_nothing_and_says_what_holds() {
    let mut book = Book::default();
    book.ask("K", &join("K", "owner")).unwrap();
    book.ask("K", &join("M", "")).unwrap();
    book.ask("K", &set("bench-address", "192.0.2.7:4711")).unwrap();
    let pair = ShopCommand::Pair {
        bench: "bench-2".into(),
        person: "M".into(),
        fingerprint: "ab".repeat(32),
        until: origin("K").made + SignedDuration::from_hours(24),
    };
    book.ask("K", &pair).unwrap();
    let before = book.shop.clone();
    let refusal = book.undo("K", None).unwrap_err();
    assert_eq!(refusal.reason, Reason::NothingToUndo);
    assert!(refusal.message.contains("is entry 4 (pair 1"), "{refusal}");
    let older = "`lockring settings undo --entry 3` takes back `bench-address is 192.0.2.7:4711`";
    let hint = refusal.hint.as_deref().unwrap_or_default();
    assert!(hint.contains(older), "{hint}");
    assert_eq!(book.shop, before);

    let now = |said: Vec<String>| said.last().cloned().unwrap();
    assert_eq!(
        now(book.undo("K", Some(3)).unwrap()),
        "bench-address is not set now"
    );
    assert_eq!(now(book.undo("K", Some(2)).unwrap()), "M does not work here now");
    let nobody = "nobody is entered now: everybody may do everything";
    assert_eq!(now(book.undo("K", Some(1)).unwrap()), nobody);
}

#[test]
fn what_the_daemon_wrote_is_not_undone() {
    let mut book = Book::default();
    let mut draft = ShopDraft::new(Shop::default(), 0, origin("lockringd"));
    draft.push(ShopEvent::EveningWritten {
        day: date(2026, 3, 25),
        as_of: Timestamp::UNIX_EPOCH,
        upto: 0,
    });
    book.keep(draft);
    assert_eq!(
        book.undo("lockringd", None).unwrap_err().reason,
        Reason::NothingToUndo
    );
    assert_eq!(book.undo("K", Some(1)).unwrap_err().reason, Reason::NothingToUndo);
    assert_eq!(book.undo("K", Some(9)).unwrap_err().reason, Reason::NothingToUndo);
}

#[test]
fn everybody_chooses_their_own_units_and_the_owner_anybodys() {
    let mut book = Book::default();
    let units = |initials: &str, units: &str| ShopCommand::Units {
        initials: initials.into(),
        units: units.into(),
    };
    // While nobody has been entered, anybody may.
    let said = book.ask("K", &units("K", "Imperial")).unwrap();
    assert_eq!(said, ["K reads imperial units first"]);
    assert_eq!(book.shop.units_of("k"), Units::Imperial);
    assert_eq!(book.shop.units_of("M"), Units::Metric);
    book.ask("K", &join("K", "owner")).unwrap();
    book.ask("K", &join("M", "")).unwrap();
    book.ask("M", &units("m", "imperial")).unwrap();
    assert_eq!(book.shop.units_of("M"), Units::Imperial);
    let refused = book.ask("M", &units("K", "metric")).unwrap_err();
    assert_eq!(refused.reason, Reason::OwnerOnly);
    let refused = book.ask("M", &units("M", "metrik")).unwrap_err();
    assert_eq!(refused.reason, Reason::UnknownWord);
    assert!(refused.message.contains("`metrik`"), "{}", refused.message);
    book.ask("K", &units("M", "")).unwrap();
    assert_eq!(book.shop.units_of("M"), Units::Metric);
    book.ask("K", &set("units", "imperial")).unwrap();
    assert_eq!(book.shop.units_of("M"), Units::Imperial, "as the shop again");
}

#[test]
fn who_may_not_is_told_what_is_the_owners() {
    let mut book = Book::default();
    let join = |initials: &str, role: &str| ShopCommand::Join {
        initials: initials.into(),
        name: String::new(),
        role: role.into(),
    };
    book.ask("O", &join("O", "owner")).unwrap();
    book.ask("O", &join("M", "")).unwrap();
    let text = String::new;
    let cases: Vec<(ShopCommand, &str)> = vec![
        (
            ShopCommand::Days {
                days: words(&["mon"]),
                why: text(),
            },
            "the calendar",
        ),
        (
            ShopCommand::Shut {
                days: words(&["2026-04-03"]),
                why: "x".into(),
            },
            "the calendar",
        ),
        (
            ShopCommand::Open {
                days: words(&["2026-04-03"]),
                why: text(),
            },
            "the calendar",
        ),
        (
            ShopCommand::Rule {
                key: "x".into(),
                value: "1".into(),
                why: "x".into(),
            },
            "the rule sheet",
        ),
        (
            ShopCommand::RuleShipped {
                key: "x".into(),
                why: text(),
            },
            "the rule sheet",
        ),
        (
            ShopCommand::Set {
                key: "benches".into(),
                value: "2".into(),
                why: text(),
            },
            "a setting",
        ),
        (
            ShopCommand::Unset {
                key: "benches".into(),
                why: text(),
            },
            "a setting",
        ),
        (join("N", ""), "the list of people"),
        (
            ShopCommand::Leave {
                initials: "M".into(),
                why: text(),
            },
            "the list of people",
        ),
        (
            ShopCommand::Units {
                initials: "O".into(),
                units: "metric".into(),
            },
            "the units of somebody else",
        ),
        (
            ShopCommand::RevokePair {
                number: 1,
                why: text(),
            },
            "pairing a bench",
        ),
    ];
    for (command, words) in cases {
        let refusal = book.ask("m", &command).unwrap_err();
        assert_eq!(refusal.reason, Reason::OwnerOnly, "{command:?}");
        assert!(refusal.message.contains(words), "{refusal}");
    }
    let own = ShopCommand::Units {
        initials: " M ".into(),
        units: "imperial".into(),
    };
    book.ask("m", &own).unwrap();
    assert_eq!(book.shop.units_of("M"), Units::Imperial);
}

#[test]
fn a_setting_says_what_it_was_and_what_it_opens() {
    let mut book = Book::default();
    let mut set = |key: &str, value: &str| {
        let command = ShopCommand::Set {
            key: key.into(),
            value: value.into(),
            why: String::new(),
        };
        book.ask("K", &command).map(|said| said.join("\n"))
    };
    assert_eq!(set("benches", "2").unwrap(), "benches is 2 from now on");
    assert_eq!(set("benches", "3").unwrap(), "benches is 3 from now on; it was 2");
    assert_eq!(
        set("day-hours", "8").unwrap(),
        "day-hours is 8 from now on; it was 7.5"
    );
    // Each of the three that let somebody in or run says so; the others do not.
    for (key, value, warning) in [
        ("evening-command", "/bin/lp", "without a shell"),
        ("wall-address", "127.0.0.1:8090", "http://127.0.0.1:8090/"),
        ("bench-address", "192.168.1.5:7470", "not private"),
    ] {
        let said = set(key, value).unwrap();
        assert!(said.contains(warning) && said.lines().count() == 2, "{said}");
    }
    assert_eq!(set("time-zone", "Europe/Berlin").unwrap().lines().count(), 1);
    // Another money converts nothing; the first, and other decimals of the same, relabel nothing.
    assert_eq!(set("currency", "EUR").unwrap().lines().count(), 1);
    assert_eq!(set("currency", "EUR 0").unwrap().lines().count(), 1);
    assert!(
        set("currency", "GBP")
            .unwrap()
            .contains("CAUTION: nothing is converted")
    );
    assert_eq!(
        set("time-zone", "Europe/Nowhere").unwrap_err().reason,
        Reason::BadInput
    );
    assert_eq!(
        set("bench", "2").unwrap_err().metadata["nearest"],
        "bench-address benches"
    );
    let unset = |key: &str| ShopCommand::Unset {
        key: key.into(),
        why: String::new(),
    };
    assert_eq!(
        book.ask("K", &unset("benches")).unwrap(),
        ["benches is not set any more"]
    );
    assert_eq!(
        book.ask("K", &unset("day-hours")).unwrap(),
        ["day-hours is as shipped again: 7.5"]
    );
    assert_eq!(
        book.ask("K", &unset("benches")).unwrap_err().reason,
        Reason::BadInput
    );
}
