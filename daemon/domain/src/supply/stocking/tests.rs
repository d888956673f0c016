//! Tests of the shelf as asked: counts that cannot be, and what a piece leaves behind.

use jiff::tz::TimeZone;

use super::*;
use crate::catalogue;
use crate::entry::Event;
use crate::origin::Origin;
use crate::rules::RuleSheet;
use crate::shop::Shop;
use crate::supply::item::Whither;
use crate::supply::recall::{FindText, Recall};

const CATALOGUE: &str = include_str!("../../../../../cli/demo/catalogue.toml");

struct Shelf(Stock);

impl Shelf {
    /// Does something at the desk of a shop.
    fn at_desk<T>(shop: &Shop, work: impl FnOnce(&Desk<'_>) -> T) -> T {
        let parts = catalogue::read("catalogue", CATALOGUE).unwrap();
        let rules = RuleSheet::shipped();
        let part = |id: &str| parts.iter().find(|part| part.id == id).cloned();
        let ids = || parts.iter().map(|part| part.id.clone()).collect();
        work(&Desk {
            rules: &rules,
            shop,
            zone: &TimeZone::UTC,
            holders: &|_| Vec::new(),
            history: &|_| Vec::new(),
            clocks: &|_| Vec::new(),
            memory: None,
            part: &part,
            part_ids: &ids,
        })
    }

    fn asked(&mut self, asked: &Shelving) -> Result<StockDraft, Refusal> {
        self.asked_of(&Shop::default(), asked)
    }

    fn asked_of(&mut self, shop: &Shop, asked: &Shelving) -> Result<StockDraft, Refusal> {
        let origin = Origin {
            by: "K".into(),
            terminal: "bench".into(),
            made: "2026-03-03T08:00:00Z".parse().unwrap(),
        };
        let mut draft = StockDraft::new(self.0.clone(), origin);
        Self::at_desk(shop, |desk| decide(&mut draft, asked, desk))?;
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
    assert!(
        said.contains("line 1: 3 x") && said.contains("12.50 each, 37.50 in all"),
        "{said}"
    );
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
fn more_pieces_than_a_workshop_has_are_a_slip_of_the_finger() {
    let mut shelf = Shelf(Stock::default());
    let dear = |count| Shelving::Order {
        part: "chain-9".into(),
        count,
        supplier: "N".into(),
        due: None,
        price: "1000000000".into(),
    };
    shelf.asked(&dear(10_000)).unwrap();
    shelf.asked(&receive("chain-9", 10_000, "", "")).unwrap();
    let count = Shelving::Count {
        item: 1,
        count: 10_001,
        why: "counted".into(),
    };
    for asked in [
        dear(10_001),
        dear(u32::MAX),
        receive("chain-9", 10_001, "", ""),
        count,
    ] {
        let refusal = shelf.refused(&asked);
        assert!(refusal.message.contains("at most 10000"), "{}", refusal.message);
    }
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
    // Five at 12.50 are 62.50, of which 41.25 are left.
    assert_eq!(shelf.refused(&credit("41.26")).reason, Reason::BadInput);
    shelf.asked(&credit("41.25")).unwrap();
    assert_eq!(shelf.refused(&credit("0.01")).reason, Reason::BadInput);
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

#[test]
fn what_a_recall_means_is_said_as_it_comes_and_taken_last() {
    let mut shop = Shop::default();
    let find = FindText {
        marks: vec!["L-OLD".into()],
        ..FindText::default()
    };
    let recall = Recall {
        name: "links crack".into(),
        why: "maker's notice".into(),
        find,
        at: jiff::Timestamp::UNIX_EPOCH,
        calls: [].into(),
    };
    shop.recalls.insert(3, recall);
    let (mut shelf, job) = (Shelf(Stock::default()), job());
    let said = shelf
        .asked_of(&shop, &receive("chain-9", 1, "", "L-OLD"))
        .unwrap()
        .said;
    assert!(
        said.contains(
            &"recall 3 (links crack) means it: set it aside; lockring shelf return 1 --why TEXT".to_owned()
        ),
        "{said:?}"
    );
    let take = |shelf: &Shelf| {
        Shelf::at_desk(&shop, |desk| {
            to_take(&shelf.0, &job, Slot::Chain, None, desk).map(|item| item.number)
        })
    };
    assert_eq!(take(&shelf), Ok(1), "there is no other");
    let said = shelf
        .asked_of(&shop, &receive("chain-9", 1, "", "L-NEW"))
        .unwrap()
        .said;
    assert!(said.iter().all(|line| !line.contains("recall")), "{said:?}");
    assert_eq!(take(&shelf), Ok(2));
    let keep =
        |shelf: &mut Shelf, item, job| shelf.asked_of(&shop, &Shelving::Keep { item, job }).unwrap().said;
    let told = keep(&mut shelf, 1, Some(3));
    assert!(
        told.iter()
            .any(|line| line.contains("recall 3 (links crack) means it")),
        "{told:?}"
    );
    assert_eq!(
        (
            keep(&mut shelf, 1, None).len(),
            keep(&mut shelf, 2, Some(3)).len()
        ),
        (1, 1)
    );
    assert_eq!(keep(&mut shelf, 2, None).len(), 1);
    let item = &shelf.0.items[&1];
    assert_eq!(
        recalled::on_item(&shop, &TimeZone::UTC, item),
        ["recall 3 (links crack)"]
    );
}

/// A longtail at the bench: its chain is the one that lies on the shelf.
fn job() -> Job {
    crate::checks::testing::longtail().job
}

#[test]
fn the_item_kept_for_the_job_is_taken_before_the_oldest_that_is_free() {
    let mut shelf = Shelf(Stock::default());
    let job = job();
    let shop = Shop::default();
    let take_for = |shelf: &Shelf, slot, wanted| {
        Shelf::at_desk(&shop, |desk| {
            to_take(&shelf.0, &job, slot, wanted, desk).map(|item| item.number)
        })
    };
    let take = |shelf: &Shelf, wanted| take_for(shelf, Slot::Chain, wanted);
    let reason = |shelf: &Shelf, wanted| take(shelf, wanted).unwrap_err().reason;
    assert_eq!(
        take_for(&shelf, Slot::Light, None).unwrap_err().reason,
        Reason::SlotEmpty
    );
    assert_eq!(reason(&shelf, None), Reason::NotOnShelf);
    assert_eq!(reason(&shelf, Some(1)), Reason::NotOnShelf);
    // Item 1 is another chain, items 2 to 4 are those wanted.
    for what in ["chain-10", "chain-9", "chain-9", "chain-9"] {
        shelf.asked(&receive(what, 1, "", "")).unwrap();
    }
    assert_eq!(take(&shelf, None).unwrap(), 2);
    assert_eq!(take(&shelf, Some(4)).unwrap(), 4);
    let other = take(&shelf, Some(1)).unwrap_err();
    assert!(other.hint.unwrap().contains("order substitute 21 chain chain-10"));
    let keep = |item, job| Shelving::Keep { item, job };
    shelf.asked(&keep(3, Some(21))).unwrap();
    assert_eq!(take(&shelf, None).unwrap(), 3);
    shelf.asked(&keep(2, Some(9))).unwrap();
    shelf.asked(&keep(3, Some(9))).unwrap();
    assert_eq!(take(&shelf, None).unwrap(), 4);
    shelf.asked(&keep(4, Some(8))).unwrap();
    let refusal = take(&shelf, None).unwrap_err();
    assert_eq!(refusal.reason, Reason::Reserved);
    assert!(
        refusal
            .message
            .contains("item 2 for job 9, item 3 for job 9, item 4 for job 8"),
        "{refusal}"
    );
    // What is gone is not taken, kept or not.
    shelf.asked(&give_back(4, 0)).unwrap();
    assert_eq!(reason(&shelf, Some(4)), Reason::NotOnShelf);
    assert_eq!(shelf.0.items[&4].kept_for, None);
    for item in [2, 3] {
        shelf.asked(&give_back(item, 0)).unwrap();
    }
    assert_eq!(reason(&shelf, None), Reason::NotOnShelf);
}

/// Before items kept their price it stood with the line alone: 7.40 there, and one that knows 6.90 itself.
#[test]
fn what_lay_on_the_shelf_before_says_what_it_cost_when_it_is_taken() {
    let mut shelf = Shelf(Stock::default());
    shelf.asked(&receive("chain-9", 1, "", "")).unwrap();
    let goods = shelf.0.items[&1].goods.clone();
    let at = shelf.0.items[&1].came;
    let line = OrderLine {
        price: Some(Money(740)),
        ..OrderLine::new(1, None, goods, 1, "supplier one".into(), at)
    };
    shelf.0.lines.insert(1, line);
    let (job, shop) = (job(), Shop::default());
    let paid = |shelf: &Shelf| {
        Shelf::at_desk(&shop, |desk| to_take(&shelf.0, &job, Slot::Chain, None, desk))
            .unwrap()
            .paid
    };
    assert_eq!(paid(&shelf), None);
    shelf.0.items.get_mut(&1).unwrap().line = Some(1);
    assert_eq!(paid(&shelf), Some(Money(740)));
    shelf.0.items.get_mut(&1).unwrap().paid = Some(Money(690));
    assert_eq!(paid(&shelf), Some(Money(690)));
}

#[test]
fn a_piece_put_back_is_a_new_item_with_what_was_seen_on_it() {
    let mut shelf = Shelf(Stock::default());
    let origin = Origin {
        by: "K".into(),
        terminal: "bench".into(),
        made: "2026-03-05T08:00:00Z".parse().unwrap(),
    };
    let bench = crate::checks::testing::longtail();
    let (rules, shop) = (RuleSheet::shipped(), Shop::default());
    let desk = Desk {
        rules: &rules,
        shop: &shop,
        zone: &TimeZone::UTC,
        holders: &|_| Vec::new(),
        history: &|_| Vec::new(),
        clocks: &|_| Vec::new(),
        memory: None,
        part: &|_| None,
        part_ids: &Vec::new,
    };
    let put_back = |shelf: &Shelf, job: &Job| put_back(&shelf.0, (job, &[]), Slot::Motor, "", &origin, &desk);
    assert_eq!(
        put_back(&shelf, &bench.job).unwrap_err().reason,
        Reason::SlotEmpty
    );
    shelf.asked(&receive("chain-9", 2, "", "")).unwrap();
    let details = ReceiptText {
        serial: "M-1".into(),
        lot: "L-1".into(),
        damage: "dented".into(),
        ..ReceiptText::default()
    };
    let job = bench.receive("motor", &[], details).job;
    let (item, off) = put_back(&shelf, &job).unwrap();
    assert_eq!(off, None, "the one in the slot");
    assert_eq!(
        (item.number, item.from_job, item.count, item.line),
        (2, Some(21), 1, None)
    );
    assert_eq!(
        (item.serial.as_deref(), item.lot.as_deref()),
        (Some("M-1"), Some("L-1"))
    );
    assert_eq!(
        (item.seen.damage.as_deref(), item.came),
        (Some("dented"), origin.made)
    );
    assert_eq!(item.goods.part, "mid-48-250");
    // Bought for a job, back to its supplier from the shelf: that it owes for it is known there.
    let item = Item {
        supplier: Some("supplier one".into()),
        paid: Some(Money(38_000)),
        ..item
    };
    let mut draft = StockDraft::new(shelf.0.clone(), origin);
    draft.push(StockEvent::Came { item });
    shelf.0 = draft.stock;
    let said = shelf.asked(&give_back(2, 1)).unwrap().said.join("\n");
    assert!(said.contains("its credit is awaited as line 1"), "{said}");
    assert!(shelf.0.lines[&1].awaits_credit());
    let credit = |amount: &str| Shelving::Credit {
        line: 1,
        amount: amount.into(),
    };
    assert_eq!(shelf.refused(&credit("380.01")).reason, Reason::BadInput);
    shelf.asked(&credit("380")).unwrap();
    assert!(shelf.0.lines[&1].is_settled());
}

#[test]
fn a_serial_that_is_somewhere_already_is_not_received_again() {
    let mut shelf = Shelf(Stock::default());
    shelf.asked(&receive("pack-13s4p", 1, "P-1", "L-1")).unwrap();
    let parts = catalogue::read("catalogue", CATALOGUE).unwrap();
    let (rules, shop) = (RuleSheet::shipped(), Shop::default());
    let part = |id: &str| parts.iter().find(|part| part.id == id).cloned();
    let ids = || parts.iter().map(|part| part.id.clone()).collect();
    for (held, refused) in [("pack-13s4p", true), ("pack-10s4p", false)] {
        let holders = |key: &str| {
            assert_eq!(key, mark_key("P-1"));
            vec![crate::supply::piece::Holder {
                part: held.into(),
                job: None,
                slot: None,
                item: Some(1),
            }]
        };
        let desk = Desk {
            rules: &rules,
            shop: &shop,
            zone: &TimeZone::UTC,
            holders: &holders,
            history: &|_| Vec::new(),
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
        let mut draft = StockDraft::new(shelf.0.clone(), origin);
        let answer = decide(&mut draft, &receive("pack-13s4p", 1, "P-1", "L-1"), &desk);
        let reason = answer.err().map(|refusal| refusal.reason);
        assert_eq!(reason, refused.then_some(Reason::ElsewhereAlready), "{held}");
    }
}

/// The rows that are written anew are those the entries are about, and the fold of the entries is
/// what they led to.
#[test]
fn each_entry_touches_its_item_and_its_line() {
    let mut shelf = Shelf(Stock::default());
    let mut entries = Vec::new();
    let taken = StockEvent::Taken {
        item: 2,
        job: 21,
        slot: Slot::Chain,
    };
    let day = "2026-04-01".parse().unwrap();
    let steps: Vec<(Shelving, &[u64], &[u64])> = vec![
        (order(5, "supplier one"), &[], &[1]),
        (order(2, "supplier two"), &[], &[2]),
        (
            Shelving::Move {
                line: 2,
                due: day,
                why: "late".into(),
            },
            &[],
            &[2],
        ),
        (receive("1", 3, "", ""), &[1], &[1]),
        (receive("chain-9", 4, "", ""), &[2], &[]),
        (give_back(1, 1), &[1], &[1]),
        (give_back(2, 1), &[2], &[]),
        (
            Shelving::Credit {
                line: 1,
                amount: "5".into(),
            },
            &[],
            &[1],
        ),
        (
            Shelving::Count {
                item: 2,
                count: 2,
                why: "counted".into(),
            },
            &[2],
            &[],
        ),
        (
            Shelving::Keep {
                item: 2,
                job: Some(21),
            },
            &[2],
            &[],
        ),
        (
            Shelving::Cancel {
                line: 2,
                why: "late".into(),
            },
            &[],
            &[2],
        ),
    ];
    let mut keep = |events: &[Event], origin: &Origin| {
        for event in events {
            let seq = entries.len() as u64 + 1;
            entries.push(Entry {
                id: seq,
                job: 0,
                seq,
                origin: origin.clone(),
                stored: origin.made,
                event: event.clone(),
                previous: [0; 32],
                hash: [0; 32],
            });
        }
        Stock::fold(&entries)
    };
    for (asked, items, lines) in steps {
        let before = shelf.0.clone();
        let draft = shelf.asked(&asked).unwrap();
        let touched = crate::supply::shelf::touched(&before, &draft.events);
        assert_eq!(
            touched,
            (items.iter().copied().collect(), lines.iter().copied().collect()),
            "{asked:?}"
        );
        assert_eq!(keep(&draft.events, &draft.origin), shelf.0, "{asked:?}");
    }
    let lines: Vec<(u32, u32, bool)> = shelf
        .0
        .lines
        .values()
        .map(|line| (line.came, line.returned, line.is_settled()))
        .collect();
    // Two of five are still to come, and what went back of them was paid for; the other is cancelled.
    assert_eq!(lines, [(3, 1, false), (0, 0, true)]);
    let line = &shelf.0.lines[&2];
    assert_eq!((line.first_due(), line.due), (None, Some(day)));
    assert_eq!(shelf.0.lines[&1].first_due(), shelf.0.lines[&1].due);
    let made = shelf.0.items[&2].came;
    let mut stock = shelf.0.clone();
    let by = Origin {
        by: "K".into(),
        terminal: "bench".into(),
        made,
    };
    stock.take(&by, &taken);
    assert_eq!(
        (stock.items[&2].count, stock.items[&2].kept_for),
        (1, None),
        "what was kept for it went there"
    );
    let gone = stock.items[&2].gone.last().unwrap();
    assert_eq!(
        (gone.count, gone.to, gone.why.as_str()),
        (1, Whither::Job(21), "chain")
    );
    let touched = crate::supply::shelf::touched(&stock, &[Event::Stock(taken)]);
    assert_eq!(touched, ([2].into(), [].into()));
}

#[test]
fn a_pack_that_comes_to_the_shelf_without_papers_is_said_to() {
    let mut shelf = Shelf(Stock::default());
    let mut said = |papers: &str, serial: &str| {
        let details = ReceiptText {
            serial: serial.into(),
            lot: "L-1".into(),
            papers: papers.into(),
            ..ReceiptText::default()
        };
        let draft = shelf.asked(&Shelving::Receive {
            what: "pack-10s4p".into(),
            count: 1,
            found: Vec::new(),
            details,
        });
        let lacking = draft
            .unwrap()
            .said
            .into_iter()
            .filter(|line| line.contains("on file of it"));
        lacking.collect::<Vec<_>>()
    };
    let none = said("none", "P-1");
    assert!(
        none[0].contains("no transport test summary (UN 38.3) and no report on the pack"),
        "{none:?}"
    );
    assert_eq!(said("", "P-2").len(), 1);
    // A report of the transport tests is no report on the pack.
    let half = said("UN 38.3 test report", "P-3");
    assert!(half[0].starts_with("no report on the pack"), "{half:?}");
    assert!(said("UN 38.3 summary, UL 2271 report", "P-4").is_empty());
}
