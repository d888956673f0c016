//! The week: flow, gates, promises, suppliers.

use std::collections::BTreeMap;

use jiff::civil::Date;
use lockring_domain::entry::Event;
use lockring_domain::part::Slot;
use lockring_domain::stage::Stage;
use lockring_store::History;

use super::history::{Span, handed_over, promises, trials};
use super::quantile::{median, percentile, share, shown};
use super::sheet::{Section, Sheet};

/// Failing checks shown (workshop setting).
const TOP: usize = 3;

/// The week of `span`, Monday to Sunday.
pub(crate) fn report(histories: &[History], span: &Span<'_>) -> Sheet {
    Sheet {
        title: "Week".to_owned(),
        from: span.from,
        to: span.to,
        sections: vec![
            flow(histories, span),
            gates(histories, span),
            failing(histories, span),
            promise_keeping(histories, span),
            suppliers(histories, span),
        ],
    }
}

fn flow(histories: &[History], span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "flow",
        "Flow",
        &[
            ("taken_in", "taken in", ""),
            ("handed_over", "handed over", ""),
            ("returned", "returned", ""),
            ("cancelled", "cancelled", ""),
            ("in_house", "in the house", ""),
            ("lead_median_days", "lead, median", "working days"),
            ("lead_p85_days", "lead, 85th percentile", "working days"),
        ],
    );
    let ended = |stage: Stage| {
        let these = histories.iter().filter(|history| history.job.stage == stage);
        these
            .filter(|history| span.holds(history.job.stage_since))
            .count()
    };
    let leads: Vec<i64> = histories
        .iter()
        .filter_map(|history| {
            let at = handed_over(history).filter(|at| span.holds(*at))?;
            Some(span.working_days(span.day_of(history.job.opened), span.day_of(at)))
        })
        .collect();
    let taken_in = histories.iter().filter(|history| span.holds(history.job.opened));
    let in_house = histories.iter().filter(|history| !history.job.stage.is_end());
    section.row([
        taken_in.count().to_string(),
        leads.len().to_string(),
        ended(Stage::Returned).to_string(),
        ended(Stage::Cancelled).to_string(),
        in_house.count().to_string(),
        shown(median(&leads)),
        shown(percentile(&leads, 85)),
    ]);
    section
}

/// First-time pass: of the jobs that came to a gate for the first time, those it let through.
fn gates(histories: &[History], span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "gates",
        "First time through each gate",
        &[
            ("gate", "gate", ""),
            ("tried", "jobs", ""),
            ("passed", "passed at once", ""),
            ("share", "share", "%"),
        ],
    );
    for gate in Stage::GATED {
        let first: Vec<bool> = histories
            .iter()
            .flat_map(trials)
            .filter(|trial| trial.gate == gate && trial.first && span.holds(trial.at))
            .map(|trial| trial.passed)
            .collect();
        let passed = first.iter().filter(|passed| **passed).count();
        section.row([
            gate.word().to_owned(),
            first.len().to_string(),
            passed.to_string(),
            share(passed, first.len()),
        ]);
    }
    section
}

/// The checks that kept gates shut most often; those that did so equally often by name.
fn failing(histories: &[History], span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "failing",
        "Checks that kept gates shut",
        &[("check", "check", ""), ("times", "times", "")],
    );
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for history in histories {
        for trial in trials(history) {
            if !trial.passed && span.holds(trial.at) {
                for check in trial.failing() {
                    *counts.entry(check).or_default() += 1;
                }
            }
        }
    }
    let mut counts: Vec<(&str, usize)> = counts.into_iter().collect();
    counts.sort_by_key(|(check, times)| (std::cmp::Reverse(*times), *check));
    for (check, times) in counts.into_iter().take(TOP) {
        section.row([check.to_owned(), times.to_string()]);
    }
    section.or("no gate stayed shut")
}

/// Promises against the first day given to the rider, whatever it was moved to since.
fn promise_keeping(histories: &[History], span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "promises",
        "Promises kept",
        &[
            ("promised", "handed over with a promise", ""),
            ("on_time", "on the first day promised", ""),
            ("share", "share", "%"),
            ("slip_median_days", "late, median", "working days"),
            ("slip_most_days", "late, worst", "working days"),
            ("moved", "promises moved", ""),
        ],
    );
    let mut slips = Vec::new();
    let mut moved = 0;
    for history in histories {
        let Some(at) = handed_over(history).filter(|at| span.holds(*at)) else {
            continue;
        };
        let days = promises(history);
        let Some(first) = days.first() else { continue };
        moved += usize::from(days.len() > 1);
        slips.push(
            span.working_days(*first, span.day_of(at))
                .max(i64::from(span.day_of(at) > *first)),
        );
    }
    let late: Vec<i64> = slips.iter().map(|slip| (*slip).max(0)).collect();
    let on_time = slips.iter().filter(|slip| **slip <= 0).count();
    section.row([
        slips.len().to_string(),
        on_time.to_string(),
        share(on_time, slips.len()),
        shown(median(&late)),
        shown(late.iter().max().map(|most| most * 100)),
        moved.to_string(),
    ]);
    section
}

/// One line that came: its supplier, promised day and day of arrival.
struct Arrival {
    supplier: String,
    due: Option<Date>,
    came: Date,
}

/// Lines that came in the period against the day first promised for them.
fn suppliers(histories: &[History], span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "suppliers",
        "Suppliers",
        &[
            ("supplier", "supplier", ""),
            ("lines", "lines came", ""),
            ("dated", "with a day", ""),
            ("on_time", "on time", ""),
            ("share", "share", "%"),
            ("late_median_days", "late, median", "working days"),
            ("late_most_days", "late, worst", "working days"),
        ],
    );
    let mut by_supplier: BTreeMap<String, Vec<Arrival>> = BTreeMap::new();
    for arrival in histories.iter().flat_map(|history| arrivals(history, span)) {
        by_supplier
            .entry(arrival.supplier.clone())
            .or_default()
            .push(arrival);
    }
    for (supplier, arrivals) in by_supplier {
        let late: Vec<i64> = arrivals
            .iter()
            .filter_map(|arrival| Some(lateness(span, arrival.due?, arrival.came)))
            .collect();
        let on_time = late.iter().filter(|days| **days == 0).count();
        section.row([
            supplier,
            arrivals.len().to_string(),
            late.len().to_string(),
            on_time.to_string(),
            share(on_time, late.len()),
            shown(median(&late)),
            shown(late.iter().max().map(|most| most * 100)),
        ]);
    }
    section.or("nothing came")
}

/// Working days after the promised day; what comes on a day that is not worked is late by one
/// at least.
fn lateness(span: &Span<'_>, due: Date, came: Date) -> i64 {
    span.working_days(due, came).max(i64::from(came > due))
}

fn arrivals(history: &History, span: &Span<'_>) -> Vec<Arrival> {
    let mut orders: BTreeMap<Slot, (String, Option<Date>)> = BTreeMap::new();
    let mut found = Vec::new();
    for entry in &history.entries {
        match &entry.event {
            Event::Ordered { slot, supplier, due } => {
                orders.entry(*slot).or_insert_with(|| (supplier.clone(), *due));
            }
            Event::Received(receipt) => {
                // A second receipt tells more of the same part; it did not come twice.
                if let Some((supplier, due)) = orders.remove(&receipt.slot)
                    && span.holds(entry.origin.made)
                {
                    let came = span.day_of(entry.origin.made);
                    found.push(Arrival { supplier, due, came });
                }
            }
            Event::Chosen { slot, .. } | Event::Dropped { slot } => {
                orders.remove(slot);
            }
            _ => {}
        }
    }
    found
}
