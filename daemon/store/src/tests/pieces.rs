//! Pieces found by mark, supplier, part and day: a recall that misses one leaves it under a rider.

use jiff::civil::date;
use jiff::tz::TimeZone;
use lockring_domain::entry::Event;
use lockring_domain::fact::Value;
use lockring_domain::part::{PartKind, Slot};
use lockring_domain::supply::event::SupplyEvent;
use lockring_domain::supply::piece::Fate;
use lockring_domain::supply::recall::{Find, FindText, Found, Spot};

use super::{Bench, at, part, receipt, stated};

/// Minutes of a day; the first is 28 May 2026.
const DAY: i64 = 24 * 60;

/// A job that gets a pack of a supplier, with its marks, on a day.
fn fitted(bench: &Bench, job: u32, day: i64, pack: &str, supplier: &str, (serial, lot): (&str, &str)) {
    bench.take_in(job, day * DAY);
    let events = vec![
        Event::Chosen {
            slot: Slot::Pack,
            part: part(pack, PartKind::Pack),
        },
        Event::Ordered {
            slot: Slot::Pack,
            supplier: supplier.into(),
            due: None,
            price: None,
        },
        Event::Received(receipt(Slot::Pack, serial, lot)),
    ];
    bench.add(job, day * DAY + 1, events).unwrap();
}

fn found(bench: &Bench, text: FindText) -> Vec<Found> {
    let find = Find::read(&text, &TimeZone::UTC).unwrap();
    bench.store.read(|reader| reader.find_pieces(&find)).unwrap()
}

fn serials(bench: &Bench, text: FindText) -> Vec<String> {
    let found = found(bench, text);
    found.into_iter().map(|piece| piece.serial.unwrap()).collect()
}

fn marked(mark: &str) -> FindText {
    FindText {
        marks: vec![mark.into()],
        ..FindText::default()
    }
}

fn shop() -> Bench {
    let bench = Bench::new();
    fitted(&bench, 1, 0, "pack-a", "supplier one", ("PK-0009", "L-7"));
    fitted(&bench, 2, 1, "pack-a", "supplier two", ("PK-0010", "L-8"));
    fitted(&bench, 3, 2, "pack-b", "supplier one", ("PK-0011", "L-7"));
    fitted(&bench, 4, 3, "pack-b", "supplier one", ("QX-0010", "PK-0010"));
    bench
}

#[test]
fn every_piece_with_a_mark_is_found_whether_it_is_its_serial_or_its_lot() {
    let bench = shop();
    assert_eq!(serials(&bench, marked("l-7")), ["PK-0009", "PK-0011"]);
    assert_eq!(serials(&bench, marked("PK-0010")), ["PK-0010", "QX-0010"]);
    assert_eq!(
        serials(&bench, marked("PK-00*")),
        ["PK-0009", "PK-0010", "PK-0011", "QX-0010"]
    );
    assert_eq!(
        serials(&bench, marked("PK-001*")),
        ["PK-0010", "PK-0011", "QX-0010"]
    );
    // Both ends of a range are meant, one of them alone as well.
    assert_eq!(
        serials(&bench, marked("PK-0009..PK-0010")),
        ["PK-0009", "PK-0010", "QX-0010"]
    );
    assert_eq!(serials(&bench, marked("PK-0011..PK-0011")), ["PK-0011"]);
    assert_eq!(serials(&bench, marked("PK-0012..PK-0099")), [""; 0]);
    assert_eq!(serials(&bench, marked("L-9")), [""; 0]);
    let two = FindText {
        marks: vec!["L-8".into(), "PK-0010".into()],
        ..FindText::default()
    };
    assert_eq!(serials(&bench, two), ["PK-0010", "QX-0010"], "none twice");
}

#[test]
fn a_piece_is_found_whatever_dashes_its_label_was_typed_with() {
    let bench = shop();
    fitted(
        &bench,
        5,
        4,
        "pack-b",
        "supplier one",
        ("PK\u{2013}0012", "L-7\u{2212}B"),
    );
    for mark in [
        "PK-0012",
        "PK\u{2014}0012",
        "PK-001*",
        "PK-0012..PK-0020",
        "l-7-b",
        "L-7-*",
    ] {
        let serials = serials(&bench, marked(mark));
        assert!(
            serials.contains(&"PK\u{2013}0012".to_owned()),
            "{mark}: {serials:?}"
        );
    }
    assert_eq!(serials(&bench, marked("L-7")), ["PK-0009", "PK-0011"]);
    assert_eq!(serials(&bench, marked("PK\u{2013}0009..PK-0009")), ["PK-0009"]);
}

#[test]
fn supplier_part_and_days_narrow_a_search_and_make_one_of_their_own() {
    let bench = shop();
    let of = |supplier: &str, part: &str| FindText {
        supplier: supplier.into(),
        part: part.into(),
        ..FindText::default()
    };
    let one = ["PK-0009", "PK-0011", "QX-0010"];
    assert_eq!(serials(&bench, of("Supplier One", "")), one);
    assert_eq!(serials(&bench, of("", "pack-b")), ["PK-0011", "QX-0010"]);
    assert_eq!(serials(&bench, of("supplier two", "pack-b")), [""; 0]);
    let narrowed = FindText {
        marks: vec!["L-7".into()],
        ..of("", "pack-b")
    };
    assert_eq!(serials(&bench, narrowed), ["PK-0011"]);
    // The first and the last day count.
    let days = FindText {
        since: Some(date(2026, 5, 29)),
        until: Some(date(2026, 5, 30)),
        ..FindText::default()
    };
    assert_eq!(serials(&bench, days), ["PK-0010", "PK-0011"]);
}

#[test]
fn a_piece_says_where_it_is_whom_to_call_and_how_it_left() {
    let bench = shop();
    let contact = Value::Text("0555 0100".into());
    let gone = Event::Supply(SupplyEvent::PartReturned {
        slot: Slot::Pack,
        why: "dead".into(),
        moved: false,
    });
    bench
        .add(1, 4 * DAY, vec![stated("contact", contact), gone])
        .unwrap();
    let [piece, there] = &found(&bench, marked("L-7"))[..] else {
        panic!("two have the lot")
    };
    let Spot::Job(bearer) = &piece.at else {
        panic!("{piece:?}")
    };
    assert_eq!(
        (
            bearer.job,
            bearer.slot,
            bearer.rider.as_str(),
            bearer.contact.as_str()
        ),
        (1, Slot::Pack, "rider 1", "0555 0100")
    );
    assert_eq!((piece.goods.part.as_str(), piece.came), ("pack-a", at(1)));
    let left = piece.left.clone().unwrap();
    assert_eq!(
        (left.fate, left.at, left.why.as_str()),
        (Fate::Returned, at(4 * DAY), "dead")
    );
    let Spot::Job(bearer) = &there.at else {
        panic!("{there:?}")
    };
    assert_eq!((bearer.job, bearer.contact.as_str(), &there.left), (3, "", &None));
}
