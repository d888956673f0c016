//! Tests of removing a rider. The cases are the workshop's own; no outside source is needed.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::date;
use jiff::tz::TimeZone;

use super::*;
use crate::account::{AccountEvent, LineKind, PayKind, QuoteLine};
use crate::fact::{Provenance, Value};
use crate::photo::{Format, Photo};
use crate::rules::RuleSheet;
use crate::shop::Shop;
use crate::shop::event::ShopEvent;
use crate::shop::people::Role;
use crate::stage::Stage;

const NAME: &str = "Ines H.";

fn at(day: i8) -> Timestamp {
    date(2026, 3, day)
        .at(9, 0, 0, 0)
        .in_tz("UTC")
        .unwrap()
        .timestamp()
}

fn origin(by: &str, day: i8) -> Origin {
    Origin {
        by: by.into(),
        terminal: "t".into(),
        made: at(day),
    }
}

fn history(events: Vec<Event>) -> Vec<Entry> {
    let entry = |(seq, event)| Entry {
        id: seq,
        job: 7,
        seq,
        origin: origin("K", 2),
        stored: at(2),
        event,
        previous: [0; 32],
        hash: [0; 32],
    };
    (1..).zip(events).map(entry).collect()
}

fn photo(number: u32) -> Event {
    Event::Photographed(Photo {
        number,
        caption: "Ines and her bicycle".into(),
        file: "a.jpg".into(),
        format: Format::Jpeg,
        bytes: 4,
        sha256: format!("{number:064}"),
        check: String::new(),
    })
}

/// A job that is over: 1 taken in, 2 contact, 3 a note, 4 a private note, 5 a photo undone,
/// 6 its undoing, 7 a photo, 8 the end.
fn over() -> Vec<Entry> {
    let note = |text: &str, private| Event::Noted {
        text: text.into(),
        private,
    };
    history(vec![
        Event::TakenIn { rider: NAME.into() },
        Event::Stated {
            values: BTreeMap::from([
                ("contact".to_owned(), Value::Text("ines at example".into())),
                ("bike".to_owned(), Value::Text("trekking".into())),
            ]),
            provenance: Provenance::Stated,
        },
        note("told Ines: no throttle", false),
        note("hard of hearing", true),
        photo(1),
        Event::Retracted {
            seq: 5,
            why: "slip".into(),
        },
        photo(1),
        Event::Closed {
            end: Stage::Returned,
            why: "too dear".into(),
        },
    ])
}

fn ask(why: &str) -> RemoveRider {
    RemoveRider {
        why: why.into(),
        words: BTreeSet::new(),
        photos: BTreeSet::new(),
        all_photos: false,
        anyway: false,
    }
}

fn shop(events: Vec<ShopEvent>) -> Shop {
    let entry = |(seq, event): (u64, ShopEvent)| {
        Entry {
            job: 0,
            ..history(vec![Event::Shop(event)])[0].clone()
        }
        .at(seq)
    };
    Shop::fold(&(1..).zip(events).map(entry).collect::<Vec<_>>())
}

impl Entry {
    fn at(self, seq: u64) -> Self {
        Self { id: seq, seq, ..self }
    }
}

fn decide(entries: &[Entry], by: &str, ask: &RemoveRider, shop: &Shop) -> Result<Draft, Refusal> {
    let rules = RuleSheet::shipped();
    let desk = Desk {
        rules: &rules,
        shop,
        zone: &TimeZone::UTC,
        holders: &|_| Vec::new(),
        history: &|_| Vec::new(),
        clocks: &|_| Vec::new(),
        part: &|_| None,
        part_ids: &Vec::new,
        memory: None,
    };
    remove_rider(entries, origin(by, 20), ask, &[], &desk)
}

#[test]
fn name_contact_and_private_notes_go_and_the_rest_stays() {
    let draft = decide(&over(), "K", &ask("asked for it"), &Shop::default()).unwrap();
    let job = &draft.job;
    assert_eq!(job.rider, "customer removed on 2026-03-20");
    assert_eq!(job.text("contact"), Some("removed on 2026-03-20"));
    assert_eq!(job.text("bike"), Some("trekking"));
    assert_eq!(job.rider_removed, Some(date(2026, 3, 20)));
    let Event::RiderRemoved(removal) = &draft.events[0] else {
        panic!("{:?}", draft.events)
    };
    assert_eq!(removal.who, BTreeSet::from([1, 2, 4]));
    assert!(removal.words.is_empty() && removal.pictures.is_empty());
    let told = serde_json::to_string(&draft.events).unwrap();
    assert!(!told.contains("Ines") && !told.contains("example"), "{told}");
}

#[test]
fn words_and_pictures_go_when_they_are_named() {
    let asked = RemoveRider {
        words: BTreeSet::from([3]),
        all_photos: true,
        ..ask("asked for it")
    };
    let draft = decide(&over(), "K", &asked, &Shop::default()).unwrap();
    let Event::RiderRemoved(removal) = &draft.events[0] else {
        panic!("{:?}", draft.events)
    };
    // The picture of the photo that was undone goes with the one that stands.
    assert_eq!(
        (&removal.words, &removal.pictures),
        (&BTreeSet::from([3]), &BTreeSet::from([5, 7]))
    );
    assert_eq!(draft.job.photos[0].removed, Some(date(2026, 3, 20)));
    let one = RemoveRider {
        photos: BTreeSet::from([1]),
        ..ask("asked for it")
    };
    let draft = decide(&over(), "K", &one, &Shop::default()).unwrap();
    let Event::RiderRemoved(removal) = &draft.events[0] else {
        panic!("{:?}", draft.events)
    };
    assert_eq!(removal.pictures, BTreeSet::from([7]));
}

#[test]
fn what_is_not_there_or_rests_under_a_gate_is_refused() {
    for (words, photos, told) in [
        (6, 1, "no words that can be removed"),
        (9, 1, "no such entry"),
        (3, 2, "no picture of a photo 2"),
    ] {
        let asked = RemoveRider {
            words: BTreeSet::from([words]),
            photos: BTreeSet::from([photos]),
            ..ask("asked for it")
        };
        let refusal = decide(&over(), "K", &asked, &Shop::default()).unwrap_err();
        assert!(refusal.message.contains(told), "{}", refusal.message);
    }
}

#[test]
fn the_reason_stays_and_so_must_not_hold_what_goes() {
    for (why, fine) in [
        ("", false),
        ("Ines asked", false),
        ("mail of INES AT EXAMPLE", false),
        ("letter of 3 March", true),
    ] {
        assert_eq!(
            decide(&over(), "K", &ask(why), &Shop::default()).is_ok(),
            fine,
            "{why}"
        );
    }
}

#[test]
fn what_was_removed_is_not_removed_twice_but_what_came_since_is() {
    let mut entries = over();
    let draft = decide(&entries, "K", &ask("asked for it"), &Shop::default()).unwrap();
    let Event::RiderRemoved(removal) = draft.events[0].clone() else {
        panic!("{:?}", draft.events)
    };
    private::redact(&mut entries, &removal);
    entries.push(history(vec![draft.events[0].clone()])[0].clone().at(9));
    let again = decide(&entries, "K", &ask("asked for it"), &Shop::default()).unwrap_err();
    assert!(
        again.message.contains("removed already on 2026-03-20"),
        "{}",
        again.message
    );
    entries.push(
        history(vec![Event::Noted {
            text: "her sister rang".into(),
            private: true,
        }])[0]
            .clone()
            .at(10),
    );
    let more = decide(&entries, "K", &ask("removed again"), &Shop::default()).unwrap();
    let Event::RiderRemoved(removal) = &more.events[0] else {
        panic!("{:?}", more.events)
    };
    assert_eq!(removal.who, BTreeSet::from([10]));
}

#[test]
fn an_open_job_keeps_its_rider_whatever_the_owner_says() {
    let mut open = over();
    open.pop();
    let asked = RemoveRider {
        anyway: true,
        ..ask("asked for it")
    };
    let refusal = decide(&open, "K", &asked, &Shop::default()).unwrap_err();
    assert_eq!(refusal.reason, Reason::RiderStays);
    assert!(refusal.message.contains("job 7 is open"), "{}", refusal.message);
}

#[test]
fn money_and_the_keeping_period_speak_against_it_until_the_owner_overrules_them() {
    let line = QuoteLine {
        number: 1,
        kind: LineKind::Other,
        words: "work".into(),
        price: Money(1_200),
        cost: Money::ZERO,
        minutes: 0,
        rework: false,
        of: None,
    };
    // A bicycle that went back owes what was invoiced, not what was quoted for a conversion.
    let mut owing = over();
    let mut enter = |seq, event| owing.push(history(vec![Event::Account(event)])[0].clone().at(seq));
    enter(9, AccountEvent::Quoted(line));
    enter(
        10,
        AccountEvent::Invoiced {
            number: 1,
            total: Money(1_200),
        },
    );
    let keeps = ShopEvent::Set {
        setting: Setting::KeepRiders,
        value: "1".into(),
        why: "local rule".into(),
    };
    let keeping = shop(vec![keeps]);
    let refusal = decide(&owing, "K", &ask("asked for it"), &keeping).unwrap_err();
    assert!(
        refusal.message.contains("12.00 is owed for job 7"),
        "{}",
        refusal.message
    );
    // Ended on 2 March 2026; a month on is 2 April.
    assert!(
        refusal.message.contains("until 2026-04-02"),
        "{}",
        refusal.message
    );
    let overruled = RemoveRider {
        anyway: true,
        ..ask("asked for it")
    };
    let draft = decide(&owing, "K", &overruled, &keeping).unwrap();
    let Event::RiderRemoved(removal) = &draft.events[0] else {
        panic!("{:?}", draft.events)
    };
    assert_eq!(removal.although.len(), 2);
    let paid = AccountEvent::Paid {
        kind: PayKind::Balance,
        amount: Money(1_200),
        how: String::new(),
    };
    owing.push(history(vec![Event::Account(paid)])[0].clone().at(11));
    assert!(decide(&owing, "K", &ask("asked for it"), &Shop::default()).is_ok());
}

#[test]
fn it_is_the_owners() {
    let joined = |initials: &str, role| ShopEvent::Joined {
        initials: initials.into(),
        name: String::new(),
        role,
    };
    let staff = shop(vec![joined("EG", Role::Owner), joined("MK", Role::Mechanic)]);
    let refusal = decide(&over(), "MK", &ask("asked for it"), &staff).unwrap_err();
    assert_eq!(refusal.reason, Reason::OwnerOnly);
    assert!(decide(&over(), "EG", &ask("asked for it"), &staff).is_ok());
}

#[test]
fn one_contact_is_one_person_and_two_are_two() {
    let job = |number: u32, contact: Option<&str>| {
        let mut events = vec![Event::TakenIn { rider: NAME.into() }];
        events.extend(contact.map(|contact| Event::Stated {
            values: BTreeMap::from([("contact".to_owned(), Value::Text(contact.into()))]),
            provenance: Provenance::Stated,
        }));
        let mut job = Job::fold(&history(events)).unwrap();
        job.number = number;
        job
    };
    let told = |jobs: &[(u32, Option<&str>)], of| {
        let jobs = jobs
            .iter()
            .map(|(number, contact)| job(*number, *contact))
            .collect();
        person(jobs, of).map(|person| {
            let numbers = |jobs: &[Job]| jobs.iter().map(|job| job.number).collect::<Vec<_>>();
            (numbers(&person.jobs), numbers(&person.others))
        })
    };
    let one = [(1, Some("01234")), (2, None), (5, Some(" 01234"))];
    assert_eq!(told(&one, None).unwrap(), (vec![1, 2, 5], vec![]));
    assert_eq!(told(&one, Some(2)).unwrap(), (vec![1, 2, 5], vec![]));
    let two = [(1, Some("01234")), (2, None), (5, Some("99999"))];
    let refusal = told(&two, None).unwrap_err();
    assert!(refusal.message.contains("jobs 1, 2, 5"), "{}", refusal.message);
    assert_eq!(told(&two, Some(5)).unwrap(), (vec![5], vec![1, 2]));
    // Whose the job without a contact is nobody can say: it stands alone.
    assert_eq!(told(&two, Some(2)).unwrap(), (vec![2], vec![1, 5]));
}
