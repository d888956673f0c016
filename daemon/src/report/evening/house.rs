//! The evening page on the shop itself: benches, money, clocks, what was left undone.

use std::collections::BTreeMap;

use lockring_domain::command::deposit_due;
use lockring_domain::job::Job;
use lockring_domain::money::Money;
use lockring_domain::part::Slot;
use lockring_domain::recalled;
use lockring_domain::rules::RuleSheet;
use lockring_domain::shop::setting::Setting;
use lockring_domain::shop::wip;
use lockring_domain::stage::Stage;
use lockring_domain::supply::line::OrderLine;
use lockring_domain::supply::piece::{Off, Piece};
use lockring_domain::supply::supplier;

use super::is_news;
use crate::report::days::Days;
use crate::report::history::Span;
use crate::report::known::Known;
use crate::report::recalled::Recalled;
use crate::report::sheet::Section;
use crate::report::standing::owed;
use crate::report::swapped;
use crate::standing::Standing;

/// Bicycles on the benches and ahead of them, against what the shop set.
pub(super) fn benches(known: &Known) -> Section {
    let mut section = Section::new(
        "benches",
        "Work in progress",
        &[
            ("what", "what", ""),
            ("count", "now", ""),
            ("limit", "meant to be the most", ""),
        ],
    );
    let shop = &known.at.shop;
    let at = |stages: &[Stage]| known.jobs().filter(|job| stages.contains(&job.stage)).count();
    let limit = |limit: Option<u32>| limit.map_or_else(String::new, |limit| limit.to_string());
    for (what, stages, most) in [
        (
            "at intake and parts",
            &[Stage::Intake, Stage::Parts][..],
            shop.count(Setting::IntakeAhead),
        ),
        (
            "at fitting",
            &[Stage::Fitting],
            wip::fittings_meant(shop).map(|(limit, _)| limit),
        ),
        (
            "at test ride and handover",
            &[Stage::TestRide, Stage::Handover],
            None,
        ),
    ] {
        section.row([what.to_owned(), at(stages).to_string(), limit(most)]);
    }
    section
}

/// Parts paid for, or to be paid for, that nobody was charged for yet: each where it is now, on open jobs or on the
/// shelf. Pieces without a price are counted, not guessed.
pub(super) fn tied_up(known: &Known) -> Section {
    let mut section = Section::new(
        "tied_up",
        "Money in parts that are here",
        &[
            ("where", "where", ""),
            ("pieces", "pieces", ""),
            ("cost", "cost", ""),
            ("unpriced", "pieces without a price", ""),
        ],
    );
    let mut put = |place: &str, held: Vec<(u32, Option<Money>)>| {
        let pieces: u64 = held.iter().map(|(count, _)| u64::from(*count)).sum();
        let unpriced = held
            .iter()
            .filter(|(_, price)| price.is_none())
            .map(|(count, _)| u64::from(*count));
        // Counts that older versions took may lead beyond all money.
        let cost: i128 = held
            .iter()
            .filter_map(|(count, price)| Some(i128::from((*price)?.0) * i128::from(*count)))
            .sum();
        let cost = Money(i64::try_from(cost).unwrap_or(i64::MAX));
        section.row([
            place.to_owned(),
            pieces.to_string(),
            cost.to_string(),
            unpriced.sum::<u64>().to_string(),
        ]);
    };
    // What the shelf knew of it stands in the stock where it came before pieces kept their price.
    let of_piece = |job: &Job, piece: &Piece| {
        let item = piece.item.and_then(|item| known.stock.items.get(&item));
        job.paid_for(piece)
            .or(item.and_then(|item| known.stock.paid_for(item)))
    };
    let open = known.jobs().filter(|job| !job.stage.is_end());
    let here = open.flat_map(|job| job.bought_and_here().map(move |piece| (1, of_piece(job, piece))));
    put("open jobs", here.collect());
    let shelf = known
        .stock
        .items
        .values()
        .map(|item| (item.count, known.stock.paid_for(item)));
    put("shelf", shelf.collect());
    section
}

/// What was left undone: parts that were taken off or left over and went nowhere, parts without the
/// marks a recall needs, moved promises the rider has not heard of, parts swapped after handover that do not hold, money
/// to give back, recalls that need no call (any more) and are not done with.
pub(super) fn loose_ends(jobs: &[Job], recalled: &[Recalled], at: &Standing) -> Section {
    let mut section = Section::new(
        "loose_ends",
        "Loose ends",
        &[("job", "job", ""), ("rider", "rider", ""), ("what", "what", "")],
    );
    for job in jobs {
        let mut loose: Vec<String> = job.loose().map(taken_off).collect();
        let over: Vec<&str> = job.left_over().map(|piece| piece.slot.word()).collect();
        if !over.is_empty() {
            loose.push(format!("{}: shelf, supplier or scrap?", over.join(", ")));
        }
        if !job.stage.is_end() {
            loose.extend(of_open(job));
        }
        loose.extend(still_awaited(job));
        loose.extend(swapped::left_of(at, job));
        if let Some(due) = job.refund_due() {
            let number = job.number;
            loose.push(format!("refund due: lockring pay {number} {due} --kind refund"));
        }
        for what in loose {
            section.row([job.number.to_string(), job.rider.clone(), what]);
        }
    }
    for (_, told) in recalled::unreadable(&at.shop, &at.zone) {
        section.row([String::new(), String::new(), told]);
    }
    for recalled in recalled.iter().filter(|recalled| !recalled.is_to_call()) {
        let job = &recalled.job;
        section.row([job.number.to_string(), job.rider.clone(), recalled.left()]);
    }
    section.or("none")
}

/// What is on order still for a bicycle that needs it no more, by supplier.
fn still_awaited(job: &Job) -> Vec<String> {
    let is_over = job.stage.is_end();
    let mut by_supplier: BTreeMap<String, (&str, Vec<&str>)> = BTreeMap::new();
    for line in job.orders.iter().filter(|line| is_over && line.is_open()) {
        let of_supplier = by_supplier.entry(supplier::key(&line.supplier));
        let (_, slots) = of_supplier.or_insert_with(|| (&line.supplier, Vec::new()));
        slots.extend(line.slot.map(Slot::word));
    }
    let in_words = |(supplier, slots): (&str, Vec<&str>)| {
        format!(
            "still awaited from {supplier}: {}; lockring order cancel {} {} --why …",
            slots.join(", "),
            job.number,
            slots.join(" ")
        )
    };
    by_supplier.into_values().map(in_words).collect()
}

/// A part that was taken off and went nowhere.
fn taken_off(piece: &Piece) -> String {
    let off = Off::from(piece);
    format!(
        "{} {} is off the job: shelf, supplier or scrap?",
        piece.slot.word(),
        off.mark()
    )
}

/// What was left undone on an open job.
fn of_open(job: &Job) -> Vec<String> {
    let mut loose = Vec::new();
    for slot in [Slot::Motor, Slot::Controller, Slot::Pack, Slot::Charger] {
        let Some(piece) = job.piece(slot) else { continue };
        let missing: Vec<&str> = [(&piece.serial, "serial"), (&piece.lot, "lot")]
            .into_iter()
            .filter_map(|(mark, word)| mark.is_none().then_some(word))
            .collect();
        if !missing.is_empty() {
            loose.push(format!("{} without {}", slot.word(), missing.join(" and ")));
        }
    }
    if let (true, None, Some(day)) = (job.promises.len() > 1, job.told_of_promise(), job.promised()) {
        loose.push(format!("rider not told of {day}"));
    }
    if job.account.over_ceiling().is_some() {
        loose.push("total over what the rider agreed to".to_owned());
    }
    loose
}

/// What riders owe for bicycles that are finished, gone or asked for already, and what is missing of the deposit where parts
/// were ordered.
pub(super) fn to_collect(jobs: &[Job], rules: &RuleSheet) -> Section {
    let mut section = Section::new(
        "to_collect",
        "Money to collect",
        &[
            ("job", "job", ""),
            ("rider", "rider", ""),
            ("stage", "stage", ""),
            ("what", "what", ""),
            ("quoted", "quoted", ""),
            ("owed", "owed", ""),
        ],
    );
    for job in jobs {
        let (what, owed) = match job.stage {
            Stage::Handover | Stage::HandedOver | Stage::Returned | Stage::Cancelled => {
                ("balance", owed(job).map(Money))
            }
            // Whoever was asked for all of it is not asked for a share.
            _ if !job.account.invoices.is_empty() => ("balance", owed(job).map(Money)),
            _ if !job.orders.iter().any(OrderLine::is_to_be_paid) => continue,
            _ => ("deposit", Some(deposit_due(job, rules))),
        };
        let Some(owed) = owed.filter(|owed| *owed > Money::ZERO) else {
            continue;
        };
        section.row([
            job.number.to_string(),
            job.rider.clone(),
            job.stage.word().to_owned(),
            what.to_owned(),
            job.account.total().to_string(),
            owed.to_string(),
        ]);
    }
    section.or("nothing to collect")
}

/// Clocks of the day, those still running first.
pub(super) fn clocks(jobs: &[Job], known: &Known, span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "clocks",
        "On the clock",
        &[
            ("who", "who", ""),
            ("job", "job", ""),
            ("stage", "stage", ""),
            ("minutes", "time", "min"),
            ("note", "note", ""),
        ],
    );
    let mut rows = Vec::new();
    for job in jobs {
        for stint in &job.labour.stints {
            let note = match (stint.to, &stint.fixed) {
                (None, _) => format!(
                    "STILL ON since {}: lockring clock fix {} {} --to TIME --why ...",
                    span.day_of(stint.from),
                    job.number,
                    stint.number
                ),
                (Some(to), _) if !is_news(known, span, to) => continue,
                (Some(_), Some(why)) => format!("put right: {why}"),
                (Some(_), None) => String::new(),
            };
            rows.push((
                stint.to.is_some(),
                stint.who.clone(),
                job.number,
                stint.stage.word(),
                stint.minutes(),
                note,
            ));
        }
    }
    rows.sort();
    for (_, who, job, stage, minutes, note) in rows {
        section.row([who, job.to_string(), stage.to_owned(), minutes.to_string(), note]);
    }
    section.or("nobody was on the clock")
}

/// First checks agreed for a day that is past, and not made yet.
pub(super) fn first_checks(jobs: &[Job], days: &Days<'_>) -> Section {
    let mut section = Section::new(
        "first_checks",
        "First checks not made",
        &[("job", "job", ""), ("rider", "rider", ""), ("due", "due", "")],
    );
    let gone = jobs.iter().filter(|job| job.stage == Stage::HandedOver);
    for job in gone.filter(|job| !job.after.first_check_made()) {
        if let Some(due) = job.day("first-check").filter(|due| *due <= days.today()) {
            section.row([job.number.to_string(), job.rider.clone(), due.to_string()]);
        }
    }
    section.or("none is due")
}

#[cfg(test)]
mod tests {
    use lockring_domain::account::AccountEvent;
    use lockring_domain::entry::Event;
    use lockring_domain::fact::Value;
    use lockring_domain::shop::Shop;
    use lockring_domain::supply::event::SupplyEvent;
    use lockring_domain::supply::item::{Item, Seen};
    use lockring_domain::supply::line::Goods;
    use lockring_domain::supply::recall::{FindText, Recall};
    use lockring_domain::supply::shelf::Stock;

    use super::*;
    use crate::report::testing::{Bench, known, on};

    /// By hand: a quote of 1788.10 with 700.00 paid and invoiced whole leaves 1088.10, whatever share a deposit is.
    #[test]
    fn what_was_invoiced_is_collected_and_a_closed_job_still_owes_it() {
        let mut bench = Bench::job(5, "Ines H.", on("2026-03-02"));
        bench
            .state("quote", Value::Money(178_810))
            .state("paid", Value::Money(70_000))
            .choose(Slot::Motor)
            .order(Slot::Motor, "S", None);
        bench.job.stage = Stage::Parts;
        let invoiced = AccountEvent::Invoiced {
            number: 1,
            total: Money(178_810),
        };
        bench.take(on("2026-03-03"), &Event::Account(invoiced));
        let rules = RuleSheet::shipped();
        let told = |bench: &Bench| {
            let section = to_collect(std::slice::from_ref(&bench.job), &rules);
            section
                .rows
                .iter()
                .map(|row| row[2..].join(" "))
                .collect::<Vec<_>>()
        };
        assert_eq!(told(&bench), ["parts balance 1788.10 1088.10"]);
        bench.job.stage = Stage::Returned;
        assert_eq!(told(&bench), ["returned balance 1788.10 1088.10"]);
        bench.state("paid", Value::Money(178_810));
        assert!(told(&bench).is_empty());
    }

    #[test]
    fn no_deposit_is_asked_for_when_all_orders_were_cancelled() {
        let mut bench = Bench::job(1, "Ines H.", on("2026-03-02"));
        bench.state("quote", Value::Money(181_400)).choose(Slot::Motor);
        bench.job.stage = Stage::Parts;
        let rules = RuleSheet::shipped();
        let asked = |bench: &Bench| to_collect(std::slice::from_ref(&bench.job), &rules).rows.len();
        assert_eq!(asked(&bench), 0);
        bench.order(Slot::Motor, "S", None);
        assert_eq!(asked(&bench), 1);
        let cancelled = SupplyEvent::OrderCancelled {
            slot: Slot::Motor,
            why: "another motor".into(),
        };
        bench.take(on("2026-03-03"), &Event::Supply(cancelled));
        assert_eq!(asked(&bench), 0);
        bench.order(Slot::Motor, "S", None).receive(Slot::Motor);
        assert_eq!(asked(&bench), 1);
    }

    /// By hand: 410.00 for a motor; three chains at 12.50 are 37.50; a pack and two tubes have no price. What was bought for
    /// a job that ended is on no open one.
    #[test]
    fn money_in_parts_is_told_where_they_are_and_pieces_without_a_price_are_counted() {
        let mut open = Bench::job(1, "Ines H.", on("2026-03-02"));
        open.bought(Slot::Motor, Some(Money(41_000)))
            .bought(Slot::Pack, None);
        let mut ended = Bench::job(2, "Tomas V.", on("2026-03-02"));
        ended.bought(Slot::Motor, Some(Money(39_000)));
        ended.job.stage = Stage::Cancelled;
        let item = |number, count, paid| Item {
            number,
            goods: Goods {
                part: "chain-9".into(),
                kind: Slot::Chain.kind(),
                name: "chain of nine".into(),
            },
            serial: None,
            lot: None,
            supplier: None,
            line: None,
            from_job: None,
            came: on("2026-03-02"),
            count,
            seen: Seen::default(),
            kept_for: None,
            gone: Vec::new(),
            paid,
        };
        let stock = Stock {
            items: [(1, item(1, 3, Some(Money(1_250)))), (2, item(2, 2, None))].into(),
            ..Stock::default()
        };
        let told = tied_up(&known(vec![open, ended], stock, Shop::default(), "2026-03-09"));
        assert_eq!(
            told.rows,
            [["open jobs", "2", "410.00", "1"], ["shelf", "5", "37.50", "2"]]
        );
    }

    /// By hand: 40 % of 1814.00, the rule sheet's share, are 725.60, of which 200.00 are paid; at handover the whole is owed.
    #[test]
    fn what_is_missing_of_a_deposit_is_told_until_the_bicycle_is_finished_and_then_the_balance() {
        let mut bench = Bench::job(1, "Ines H.", on("2026-03-02"));
        bench
            .state("quote", Value::Money(181_400))
            .state("paid", Value::Money(20_000))
            .choose(Slot::Motor)
            .order(Slot::Motor, "S", None);
        let rules = RuleSheet::shipped();
        let told = |bench: &Bench| to_collect(std::slice::from_ref(&bench.job), &rules).rows;
        bench.job.stage = Stage::Parts;
        assert_eq!(
            told(&bench),
            [["1", "Ines H.", "parts", "deposit", "1814.00", "525.60"]]
        );
        for stage in [Stage::Handover, Stage::HandedOver] {
            bench.job.stage = stage;
            assert_eq!(
                told(&bench),
                [["1", "Ines H.", stage.word(), "balance", "1814.00", "1614.00"]]
            );
        }
        bench.state("paid", Value::Money(181_400));
        assert!(told(&bench).is_empty());
    }

    #[test]
    fn what_is_still_awaited_for_a_job_that_ended_is_a_loose_end_by_supplier() {
        let mut bench = Bench::job(1, "Ines H.", on("2026-03-02"));
        for (slot, supplier) in [(Slot::Motor, "S"), (Slot::Pack, "s"), (Slot::Chain, "N")] {
            bench.choose(slot).order(slot, supplier, None);
        }
        let at = known(Vec::new(), Stock::default(), Shop::default(), "2026-03-09").at;
        let told = |bench: &Bench| loose_ends(std::slice::from_ref(&bench.job), &[], &at).rows;
        assert!(told(&bench).is_empty(), "it is wanted yet");
        bench.job.stage = Stage::Cancelled;
        let row = |what: &str| ["1", "Ines H.", what].map(str::to_owned).to_vec();
        assert_eq!(
            told(&bench),
            [
                row("still awaited from N: chain; lockring order cancel 1 chain --why …"),
                row("still awaited from S: motor, pack; lockring order cancel 1 motor pack --why …"),
            ]
        );
    }

    #[test]
    fn a_recall_that_finds_nothing_any_more_is_a_loose_end() {
        let mut shop = Shop::default();
        let recall = Recall {
            name: "cells overheat".into(),
            why: "maker's notice".into(),
            find: FindText {
                marks: vec!["P*K".into()],
                ..FindText::default()
            },
            at: on("2026-03-02"),
            calls: BTreeMap::new(),
        };
        shop.recalls.insert(1, recall);
        let at = known(Vec::new(), Stock::default(), shop, "2026-03-09").at;
        let told = loose_ends(&[], &[], &at).rows;
        assert!(
            told.len() == 1 && told[0][2].starts_with("recall 1 (cells overheat) finds NOTHING any more"),
            "{told:?}"
        );
    }
}
