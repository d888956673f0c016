//! The week: flow, gates, promises, expectations, hours, contribution, returns.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use lockring_domain::job::Job;
use lockring_domain::labour::Cause;
use lockring_domain::money::Money;
use lockring_domain::rules::RuleSheet;
use lockring_domain::stage::Stage;
use lockring_domain::supply::line::OrderLine;
use lockring_domain::supply::supplier;
use lockring_domain::{learning, outlook};
use lockring_store::History;

use super::history::{Span, handed_over, promises, trials};
use super::known::Known;
use super::money::Sums;
use super::quantile::{median, percentile, share, shown};
use super::sheet::{Section, Sheet};
use crate::standing::Standing;

/// Failing checks shown, and as many more as failed as often as the last of them (workshop setting).
const TOP: usize = 3;

/// The week of `span`, Monday to Sunday.
pub(crate) fn report(known: &Known, span: &Span<'_>) -> Sheet {
    let (histories, rules) = (known.histories.as_slice(), &known.at.rules);
    Sheet {
        title: "Week".to_owned(),
        from: span.from,
        to: span.to,
        sections: vec![
            flow(histories, span),
            gates(histories, span),
            failing(histories, span),
            promise_keeping(histories, span),
            predictions(histories, span, rules),
            suppliers(known, span),
            hours(histories, span),
            plan(histories, span, rules),
            contribution(histories, span, &known.at),
            returns(histories, span),
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
        "Checks that kept gates shut most often",
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
    let least = counts.get(TOP - 1).map_or(0, |(_, times)| *times);
    for (check, times) in counts.into_iter().filter(|(_, times)| *times >= least) {
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

/// How far expectations were off on the bicycles whose test ride was passed in the period.
fn predictions(histories: &[History], span: &Span<'_>, rules: &RuleSheet) -> Section {
    let mut section = Section::new(
        "predictions",
        "Measured against expected, of what passed its test ride",
        &[
            ("kind", "kind", ""),
            ("rides", "rides", ""),
            ("mean", "off, mean", "%"),
            ("spread", "spread", "%"),
            ("above", "above", ""),
            ("figure", "figure", ""),
        ],
    );
    let ridden = histories.iter().filter(|history| {
        let passed = first_passed(history, Stage::TestRide);
        passed.is_some_and(|at| span.holds(at))
    });
    let lessons: Vec<_> = ridden
        .filter_map(|history| learning::errors(&history.job, rules))
        .collect();
    let percent = |share: f64| format!("{:+.1}", 100.0 * share);
    for bias in learning::learn(&lessons, rules).biases {
        section.row([
            bias.kind,
            bias.rides.to_string(),
            percent(bias.mean),
            bias.spread
                .map_or_else(String::new, |spread| format!("{:.1}", 100.0 * spread)),
            bias.above.to_string(),
            bias.name,
        ]);
    }
    section.or("nothing passed its test ride")
}

/// Hours planned and worked at a stage, on the jobs that passed its gate in the period.
fn plan(histories: &[History], span: &Span<'_>, rules: &RuleSheet) -> Section {
    let mut section = Section::new(
        "plan",
        "Time against plan, of what passed each gate",
        &[
            ("stage", "stage", ""),
            ("jobs", "jobs", ""),
            ("plan_minutes", "planned", "min"),
            ("minutes", "worked, first time", "min"),
            ("share", "worked of planned", "%"),
        ],
    );
    for stage in Stage::GATED {
        let passed = histories
            .iter()
            .filter(|history| first_passed(history, stage).is_some_and(|at| span.holds(at)));
        let jobs: Vec<&Job> = passed.map(|history| &history.job).collect();
        let planned: i64 = jobs
            .iter()
            .map(|job| (60.0 * outlook::plan_hours(job, stage, rules)).round() as i64)
            .sum();
        let worked: i64 = jobs.iter().map(|job| job.labour.first_minutes_at(stage)).sum();
        section.row([
            stage.word().to_owned(),
            jobs.len().to_string(),
            planned.to_string(),
            worked.to_string(),
            share(whole(worked), whole(planned)),
        ]);
    }
    section
}

/// When a gate let a job through for the first time.
fn first_passed(history: &History, gate: Stage) -> Option<Timestamp> {
    let mut trials = trials(history).into_iter();
    let passed = trials.find(|trial| trial.gate == gate && trial.passed);
    passed.map(|trial| trial.at)
}

fn whole(minutes: i64) -> usize {
    usize::try_from(minutes).unwrap_or(0)
}

/// Lines that came in the period, for jobs and for the shelf, against the day first promised for
/// them.
fn suppliers(known: &Known, span: &Span<'_>) -> Section {
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
            ("went_back", "went back", ""),
        ],
    );
    let mut by_supplier: BTreeMap<String, Vec<&OrderLine>> = BTreeMap::new();
    for (_, line) in known.lines() {
        if line.came_at.is_some_and(|at| span.holds(at)) && !line.is_owed_only() {
            let lines = by_supplier.entry(supplier::key(&line.supplier)).or_default();
            lines.push(line);
        }
    }
    for lines in by_supplier.into_values() {
        let late: Vec<i64> = lines
            .iter()
            .filter_map(|line| Some(lateness(span, line.first_due()?, span.day_of(line.came_at?))))
            .collect();
        let on_time = late.iter().filter(|days| **days == 0).count();
        section.row([
            lines[0].supplier.clone(),
            lines.len().to_string(),
            late.len().to_string(),
            on_time.to_string(),
            share(on_time, late.len()),
            shown(median(&late)),
            shown(late.iter().max().map(|most| most * 100)),
            lines.iter().filter(|line| line.returned > 0).count().to_string(),
        ]);
    }
    section.or("nothing came")
}

/// Working days after the promised day; what comes on a day that is not worked is late by one
/// at least.
fn lateness(span: &Span<'_>, due: Date, came: Date) -> i64 {
    span.working_days(due, came).max(i64::from(came > due))
}

/// Minutes on the clock that ended in the period, by stage.
fn hours(histories: &[History], span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "hours",
        "Time on the clock",
        &[
            ("stage", "stage", ""),
            ("minutes", "first time", "min"),
            ("rework_minutes", "again", "min"),
        ],
    );
    // Work on what came back is clocked on jobs that are over; it is told when there was some.
    for stage in Stage::GATED.into_iter().chain([Stage::HandedOver]) {
        let sum = |again: bool| -> i64 {
            let stints = histories.iter().flat_map(|history| &history.job.labour.stints);
            let these = stints.filter(|stint| stint.stage == stage && stint.rework.is_some() == again);
            let ended = these.filter(|stint| stint.to.is_some_and(|to| span.holds(to)));
            ended.map(lockring_domain::labour::Stint::minutes).sum()
        };
        let (first, again) = (sum(false), sum(true));
        if stage == Stage::HandedOver && first + again == 0 {
            continue;
        }
        section.row([stage.word().to_owned(), first.to_string(), again.to_string()]);
    }
    section
}

/// What the jobs handed over in the period brought in, those that brought least first.
fn contribution(histories: &[History], span: &Span<'_>, at: &Standing) -> Section {
    let mut section = Section::new(
        "contribution",
        "Contribution of what was handed over",
        &[
            ("job", "job", ""),
            ("price", "price", ""),
            ("tax", "tax in it", ""),
            ("parts", "parts", ""),
            ("labour", "labour", ""),
            ("rework", "rework", ""),
            ("contribution", "left", ""),
            ("minutes", "time", "min"),
            ("causes", "done again because of", ""),
        ],
    );
    let mut rows: Vec<(Money, u32, [String; 9])> = Vec::new();
    for history in histories {
        if handed_over(history).filter(|at| span.holds(*at)).is_none() {
            continue;
        }
        let sums = Sums::of(&history.job, at);
        let mut causes: Vec<Cause> = history
            .job
            .labour
            .stints
            .iter()
            .filter_map(|stint| stint.rework)
            .collect();
        causes.sort_unstable();
        causes.dedup();
        let causes: Vec<&str> = causes.into_iter().map(Cause::word).collect();
        let left = sums.contribution();
        rows.push((
            left,
            history.job.number,
            [
                history.job.number.to_string(),
                sums.price.to_string(),
                sums.tax.to_string(),
                sums.parts.to_string(),
                sums.labour.to_string(),
                sums.rework.to_string(),
                left.to_string(),
                (sums.minutes + sums.rework_minutes).to_string(),
                causes.join(", "),
            ],
        ));
    }
    rows.sort_by_key(|(left, job, _)| (*left, *job));
    for (_, _, cells) in rows {
        section.row(cells);
    }
    section.or("nothing was handed over")
}

/// Bicycles that came back, other than for a first check without a complaint.
fn returns(histories: &[History], span: &Span<'_>) -> Section {
    let mut section = Section::new(
        "returns",
        "Came back after handover",
        &[
            ("job", "job", ""),
            ("days", "days after", "days"),
            ("cause", "cause", ""),
            ("payer", "paid by", ""),
            ("symptom", "what the rider said", ""),
        ],
    );
    for history in histories {
        let Some(handed) = handed_over(history) else {
            continue;
        };
        for visited in history
            .job
            .after
            .visits
            .iter()
            .filter(|visited| span.holds(visited.at))
        {
            let visit = &visited.visit;
            if visit.cause.is_none() {
                continue;
            }
            let days = span
                .day_of(visited.at)
                .since(span.day_of(handed))
                .map_or(0, |span| span.get_days());
            section.row([
                history.job.number.to_string(),
                days.to_string(),
                visit.cause.map_or("", Cause::word).to_owned(),
                visit
                    .payer
                    .map_or("", lockring_domain::after::Payer::word)
                    .to_owned(),
                visit.symptom.clone(),
            ]);
        }
    }
    section.or("none came back")
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use lockring_domain::account::{AccountEvent, LineKind, PayKind, QuoteLine};
    use lockring_domain::entry::Event;
    use lockring_domain::fact::Value;
    use lockring_domain::shop::setting::Setting;
    use lockring_domain::shop::{Given, Said, Shop};
    use lockring_domain::supply::shelf::Stock;
    use lockring_domain::tax::TaxRate;

    use super::*;
    use crate::report::testing::{Bench, known, on};

    fn hand_over(bench: &mut Bench) {
        let passed = Event::GateTried {
            gate: Stage::Handover,
            findings: Vec::new(),
            passed: true,
        };
        bench.take(on("2026-03-11"), &passed);
    }

    /// By hand, at 19 %: 119.00 typed with the tax hold 19.00; 22.00 typed without are 26.18 and hold 4.18; 11.90 taken off
    /// hold 1.90. So 133.28 are to be paid with 21.28 of tax in them, and 112.00 less 80.00 of parts leave 32.00. A total of
    /// 1000.00 without lines parts into 840.34 and 159.66 (1000 / 1.19 = 840.336..).
    #[test]
    fn the_tax_in_each_price_is_not_the_shops() {
        let rate = TaxRate::read("19").unwrap();
        let without_tax = rate.on(Money(2_200));
        assert_eq!(without_tax, Money(2_618));
        let quoted = |number, price, cost| {
            Event::Account(AccountEvent::Quoted(QuoteLine {
                number,
                kind: LineKind::Part,
                words: "part".into(),
                price,
                cost: Money(cost),
                minutes: 0,
                rework: false,
                of: None,
            }))
        };
        let mut lines = Bench::job(1, "Ines H.", on("2026-03-02"));
        for event in [
            quoted(1, Money(11_900), 7_000),
            quoted(2, without_tax, 1_000),
            Event::Account(AccountEvent::Taxed { rate }),
            Event::Account(AccountEvent::Paid {
                kind: PayKind::Credit,
                amount: Money(1_190),
                how: "scratch".into(),
            }),
        ] {
            lines.take(on("2026-03-03"), &event);
        }
        hand_over(&mut lines);
        let mut total = Bench::job(2, "Tomas V.", on("2026-03-02"));
        total.state("quote", Value::Money(100_000));
        hand_over(&mut total);
        let mut shop = Shop::default();
        let given = Given {
            value: "19".into(),
            said: Said {
                why: "looked up".into(),
                by: "K".into(),
                at: on("2026-03-02"),
            },
        };
        shop.settings.insert(Setting::TaxRate, given);
        let known = known(vec![lines, total], Stock::default(), shop, "2026-03-15");
        let span = known.span(date(2026, 3, 9), date(2026, 3, 15));
        let told = contribution(&known.histories, &span, &known.at);
        assert_eq!(
            told.rows,
            [
                ["1", "133.28", "21.28", "80.00", "0.00", "0.00", "32.00", "0", ""],
                [
                    "2", "1000.00", "159.66", "0.00", "0.00", "0.00", "840.34", "0", ""
                ],
            ]
        );
        // Nothing of it is told of another week.
        let next = known.span(date(2026, 3, 16), date(2026, 3, 22));
        assert!(contribution(&known.histories, &next, &known.at).rows.is_empty());
    }
}
