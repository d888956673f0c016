//! Tests of the shop's fold. Days and limits are invented.

use jiff::civil::date;

use super::*;
use crate::calendar::WorkingDay;

fn origin(minute: i64) -> Origin {
    Origin {
        by: "K".into(),
        terminal: "bench".into(),
        made: Timestamp::from_second(60 * minute).unwrap(),
    }
}

fn entry(seq: u64, event: Event) -> Entry {
    Entry {
        id: seq,
        job: SHOP,
        seq,
        origin: origin(0),
        stored: Timestamp::UNIX_EPOCH,
        event,
        previous: [0; 32],
        hash: [0; 32],
    }
}

fn limit(value: &str) -> ShopEvent {
    ShopEvent::RuleSet {
        key: "chainline.centre-good".into(),
        value: value.into(),
        why: "what our hubs bear".into(),
    }
}

#[test]
fn a_draft_and_the_fold_of_its_entries_agree() {
    let mut draft = ShopDraft::new(Shop::default(), 0, origin(0));
    draft.push(ShopEvent::WorkingDays {
        days: [WorkingDay::Tuesday, WorkingDay::Saturday].into(),
        why: String::new(),
    });
    draft.push(ShopEvent::Shut {
        days: [date(2026, 4, 3), date(2026, 4, 6)].into(),
        why: "spring".into(),
    });
    draft.push(ShopEvent::Open {
        days: [date(2026, 4, 6)].into(),
        why: String::new(),
    });
    draft.push(limit("1.5 mm"));
    let entries: Vec<Entry> = (1..)
        .zip(draft.events.clone())
        .map(|(seq, event)| entry(seq, event))
        .collect();
    let shop = Shop::fold(&entries);
    assert_eq!(shop, draft.shop);
    assert_eq!(shop.revision, 4);
    assert!(shop.calendar.is_working(date(2026, 4, 4)) && !shop.calendar.is_working(date(2026, 4, 3)));
    assert_eq!(shop.calendar.holidays, [date(2026, 4, 3)].into());
}

#[test]
fn the_catalogue_is_not_the_shops_state() {
    let entries = [
        entry(1, Event::Catalogued { parts: Vec::new() }),
        entry(2, Event::Shop(limit("1.5 mm"))),
        entry(3, Event::Catalogued { parts: Vec::new() }),
    ];
    assert_eq!(Shop::fold(&entries).revision, 2);
    assert_eq!(Shop::fold(&entries[..1]), Shop::default());
}

#[test]
fn a_retracted_limit_is_the_shipped_one_again() {
    let entries = [
        entry(1, Event::Shop(limit("1.5 mm"))),
        entry(
            2,
            Event::Retracted {
                seq: 1,
                why: String::new(),
            },
        ),
    ];
    let (sheet, _) = Shop::fold(&entries[..1]).rules();
    assert_eq!(sheet.number("chainline.centre-good"), Some(0.0015));
    assert_eq!(sheet.overridden().count(), 1);
    let (sheet, refused) = Shop::fold(&entries).rules();
    assert_eq!(sheet, RuleSheet::shipped());
    assert!(refused.is_empty());
}

#[test]
fn a_limit_the_shipped_sheet_does_not_take_is_named() {
    let mut draft = ShopDraft::new(Shop::default(), 0, origin(0));
    draft.push(ShopEvent::RuleSet {
        key: "no.such-rule".into(),
        value: "1".into(),
        why: "from an older sheet".into(),
    });
    draft.push(limit("2 mm"));
    let (sheet, refused) = draft.shop.rules();
    assert_eq!(sheet.number("chainline.centre-good"), Some(0.002));
    assert!(matches!(&refused[..], [RuleError::Unknown { key, .. }] if key == "no.such-rule"));
}

#[test]
fn an_event_reads_back_as_it_was_written() {
    let events = [
        limit("1.5 mm"),
        ShopEvent::WorkingDays {
            days: [WorkingDay::Monday].into(),
            why: String::new(),
        },
        ShopEvent::RuleRestored {
            key: "a.b".into(),
            why: "no".into(),
        },
    ];
    for event in events.map(Event::Shop) {
        let text = serde_json::to_string(&event).unwrap();
        assert_eq!(serde_json::from_str::<Event>(&text).unwrap(), event, "{text}");
    }
    assert!(serde_json::from_str::<Event>(r#"{"event":"shop","what":"open","days":[],"x":1}"#).is_err());
}
