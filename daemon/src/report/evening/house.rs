//! The evening page on the shop itself: benches, money, clocks, what was left undone.

use lockring_domain::job::Job;
use lockring_domain::money::Money;
use lockring_domain::part::Slot;
use lockring_domain::shop::setting::Setting;
use lockring_domain::shop::wip;
use lockring_domain::stage::Stage;
use lockring_domain::supply::line::OrderLine;
use lockring_domain::supply::piece::{Off, Piece};

use super::is_news;
use crate::report::days::Days;
use crate::report::history::Span;
use crate::report::known::Known;
use crate::report::recalled::Recalled;
use crate::report::sheet::Section;
use crate::report::standing::owed;

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

/// Parts paid for, or to be paid for, that nobody was charged for yet: on open jobs, and on the
/// shelf. Lines without a price are counted, not guessed.
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
    let here = |line: &OrderLine| (line.came.saturating_sub(line.returned), line.price);
    let open = known.jobs().filter(|job| !job.stage.is_end());
    put("open jobs", open.flat_map(|job| &job.orders).map(here).collect());
    let shelf = known.stock.items.values().map(|item| {
        let line = item.line.and_then(|line| known.stock.lines.get(&line));
        (item.count, line.and_then(|line| line.price))
    });
    put("shelf", shelf.collect());
    section
}

/// What was left undone: parts that were taken off or left over and went nowhere, parts without the
/// marks a recall needs, moved promises the rider has not heard of, money to give back, recalls that need no call (any more)
/// and are not done with.
pub(super) fn loose_ends(jobs: &[Job], recalled: &[Recalled]) -> Section {
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
        if let Some(due) = job.refund_due() {
            let number = job.number;
            loose.push(format!("refund due: lockring pay {number} {due} --kind refund"));
        }
        for what in loose {
            section.row([job.number.to_string(), job.rider.clone(), what]);
        }
    }
    for recalled in recalled.iter().filter(|recalled| !recalled.is_to_call()) {
        let job = &recalled.job;
        section.row([job.number.to_string(), job.rider.clone(), recalled.left()]);
    }
    section.or("none")
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

/// What riders owe for bicycles that are finished or gone.
pub(super) fn to_collect(jobs: &[Job]) -> Section {
    let mut section = Section::new(
        "to_collect",
        "Money to collect",
        &[
            ("job", "job", ""),
            ("rider", "rider", ""),
            ("stage", "stage", ""),
            ("quoted", "quoted", ""),
            ("owed", "owed", ""),
        ],
    );
    let ready = |job: &&Job| matches!(job.stage, Stage::Handover | Stage::HandedOver);
    for job in jobs.iter().filter(ready) {
        let Some(owed) = owed(job).filter(|owed| *owed > 0) else {
            continue;
        };
        section.row([
            job.number.to_string(),
            job.rider.clone(),
            job.stage.word().to_owned(),
            job.account.total().to_string(),
            Money(owed).to_string(),
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
