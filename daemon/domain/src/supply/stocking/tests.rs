//! Tests of the shelf as asked: counts that cannot be, and what a piece leaves behind.

use jiff::tz::TimeZone;

use super::*;
use crate::catalogue;
use crate::entry::Origin;
use crate::rules::RuleSheet;
use crate::shop::Shop;
use crate::supply::shelf::Whither;

const CATALOGUE: &str = include_str!("../../../../../cli/demo/catalogue.toml");

struct Shelf(Stock);

impl Shelf {
    fn asked(&mut self, asked: &Shelving) -> Result<StockDraft, Refusal> {
        let parts = catalogue::read("catalogue", CATALOGUE).unwrap();
        let (rules, shop) = (RuleSheet::shipped(), Shop::default());
        let part = |id: &str| parts.iter().find(|part| part.id == id).cloned();
        let ids = || parts.iter().map(|part| part.id.clone()).collect();
        let desk = Desk {
            rules: &rules,
            shop: &shop,
            zone: &TimeZone::UTC,
            holders: &|_| Vec::new(),
            clocks: &|_| Vec::new(),
            memory: None,
            part: &part,
            part_ids: &ids,
        };
        let origin = Origin {
            by: "K".into(),
            terminal: "bench".into(),
            made: "2026-03-03T08:00:00Z".parse().unwrap(),
        };
        let mut draft = StockDraft::new(self.0.clone(), origin);
        decide(&mut draft, asked, &desk)?;
        assert!(!draft.events.is_empty() && !draft.said.is_empty());
        self.0 = draft.stock.clone();
        Ok(draft)
    }

    fn refused(&mut self, asked: &Shelving) -> Refusal {
        let before = self.0.clone();
        let refusal = self.asked(asked).unwrap_err();
        assert_eq!(self.0, before, "a refusal changes nothing");
        refusal
    }
}

fn order(count: u32, supplier: &str) -> Shelving {
    Shelving::Order {
        part: "chain-9".into(),
        count,
        supplier: supplier.into(),
        due: None,
        price: "12.50".into(),
    }
}

fn receive(what: &str, count: u32, serial: &str, lot: &str) -> Shelving {
    Shelving::Receive {
        what: what.into(),
        count,
        found: Vec::new(),
        details: ReceiptText {
            serial: serial.into(),
            lot: lot.into(),
            ..ReceiptText::default()
        },
    }
}

fn give_back(item: u64, count: u32) -> Shelving {
    Shelving::Return {
        item,
        count,
        why: "rusty".into(),
    }
}

#[test]
fn what_is_ordered_is_awaited_until_all_of_it_came() {
    let mut shelf = Shelf(Stock::default());
    assert_eq!(shelf.refused(&order(0, "supplier one")).reason, Reason::BadInput);
    assert_eq!(shelf.refused(&order(3, " ")).reason, Reason::BadInput);
    let said = shelf.asked(&order(3, "supplier one")).unwrap().said.join("\n");
    assert!(said.contains("line 1: 3 x") && said.contains("37.50"), "{said}");
    assert_eq!(shelf.0.lines[&1].awaited(), 3);
    let said = shelf.asked(&receive("1", 2, "", "")).unwrap().said.join("\n");
    assert!(said.contains("1 still awaited"), "{said}");
    let refusal = shelf.refused(&receive("1", 2, "", ""));
    assert!(refusal.message.contains("2 came, line 1 awaits 1"), "{refusal}");
    // No count is one.
    let said = shelf.asked(&receive("1", 0, "", "")).unwrap().said.join("\n");
    assert!(said.contains("the line is complete"), "{said}");
    shelf.refused(&receive("1", 1, "", ""));
    let there: Vec<(u64, u32, Option<u64>)> = shelf
        .0
        .items
        .values()
        .map(|item| (item.number, item.count, item.line))
        .collect();
    assert_eq!(there, [(1, 2, Some(1)), (2, 1, Some(1))]);
}

#[test]
fn a_traced_piece_comes_alone_with_serial_and_lot() {
    let mut shelf = Shelf(Stock::default());
    for (count, serial, lot) in [(1, "", ""), (1, "P-1", ""), (1, "", "L-1"), (2, "P-1", "L-1")] {
        let refusal = shelf.refused(&receive("pack-13s4p", count, serial, lot));
        assert_eq!(refusal.reason, Reason::BadInput, "{count} {serial} {lot}");
    }
    shelf.asked(&receive("pack-13s4p", 1, "P-1", "L-1")).unwrap();
    let count = |count| Shelving::Count {
        item: 1,
        count,
        why: "counted".into(),
    };
    assert!(shelf.refused(&count(2)).message.contains("expected 0 or 1"));
    shelf.asked(&count(0)).unwrap();
    assert_eq!(shelf.0.items[&1].count, 0);
    // What is not there is not counted again: it would have come without its marks.
    assert_eq!(shelf.refused(&count(1)).reason, Reason::NotOnShelf);
}

#[test]
fn no_more_goes_back_than_lies_there_and_the_line_hears_of_it() {
    let mut shelf = Shelf(Stock::default());
    shelf.asked(&order(5, "supplier one")).unwrap();
    shelf.asked(&receive("1", 5, "", "")).unwrap();
    let credit = |amount: &str| Shelving::Credit {
        line: 1,
        amount: amount.into(),
    };
    assert_eq!(shelf.refused(&credit("5")).reason, Reason::NoSuchLine);
    assert!(shelf.refused(&give_back(1, 6)).message.contains("5 lie there"));
    assert_eq!(shelf.refused(&give_back(2, 1)).reason, Reason::NotOnShelf);
    shelf.asked(&give_back(1, 2)).unwrap();
    assert_eq!((shelf.0.items[&1].count, shelf.0.lines[&1].returned), (3, 2));
    // No count is all.
    shelf.asked(&give_back(1, 0)).unwrap();
    let item = &shelf.0.items[&1];
    assert_eq!((item.count, shelf.0.lines[&1].returned), (0, 5));
    let gone: Vec<(u32, Whither)> = item.gone.iter().map(|gone| (gone.count, gone.to)).collect();
    assert_eq!(gone, [(2, Whither::Supplier), (3, Whither::Supplier)]);
    for bad in ["0", "-1", "much"] {
        assert_eq!(shelf.refused(&credit(bad)).reason, Reason::BadInput, "{bad}");
    }
    shelf.asked(&credit("20")).unwrap();
    shelf.asked(&credit("1.25")).unwrap();
    assert_eq!(shelf.0.lines[&1].credited, Money(2_125));
}

#[test]
fn what_is_no_longer_awaited_does_not_come_and_what_is_kept_is_for_that_job_alone() {
    let mut shelf = Shelf(Stock::default());
    shelf.asked(&order(2, "supplier one")).unwrap();
    let day = "2026-04-01".parse().unwrap();
    let moved = |line| Shelving::Move {
        line,
        due: day,
        why: "ship late".into(),
    };
    shelf.asked(&moved(1)).unwrap();
    assert_eq!(shelf.0.lines[&1].due, Some(day));
    assert_eq!(shelf.refused(&moved(2)).reason, Reason::NoSuchLine);
    let cancel = Shelving::Cancel {
        line: 1,
        why: "too late".into(),
    };
    shelf.asked(&cancel).unwrap();
    assert_eq!(shelf.0.lines[&1].awaited(), 0);
    assert_eq!(shelf.refused(&cancel).reason, Reason::NoSuchLine);
    assert_eq!(shelf.refused(&receive("1", 1, "", "")).reason, Reason::NoSuchLine);
    shelf.asked(&receive("chain-9", 2, "", "")).unwrap();
    let keep = |job| Shelving::Keep { item: 1, job };
    shelf.asked(&keep(Some(7))).unwrap();
    assert_eq!(shelf.0.items[&1].kept_for, Some(7));
    shelf.asked(&keep(None)).unwrap();
    assert_eq!(shelf.0.items[&1].kept_for, None);
}
