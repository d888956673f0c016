//! What is said beside a decision: where pieces go, what readings and arrivals changed, which days are over.

use std::collections::BTreeSet;

use crate::check::{self, Finding, Verdict};
use crate::command::{Desk, Draft};
use crate::entry::Event;
use crate::fact::Value;
use crate::job::Job;
use crate::promise::PROMISE;
use crate::receipt::Receipt;
use crate::stage::Stage;
use crate::supply::event::SupplyEvent;
use crate::supply::leaving;

/// Asks where each piece goes that a decision took off the job; `before` are the places of those that
/// were on it.
pub(super) fn ask_where_it_goes(draft: &mut Draft, before: &[usize]) {
    let pieces = before.iter().filter_map(|place| draft.job.pieces.get(*place));
    let asked: Vec<String> = pieces
        .filter(|piece| piece.is_loose())
        .map(|piece| leaving::ask(&draft.job, piece))
        .collect();
    asked.into_iter().for_each(|line| draft.say(line));
}

/// Most lines said of one check beside the one that stands for it.
const TOUCHED_LINES: usize = 3;

/// Says what checks of several lines say anew since values were recorded, beside the one line that stands
/// for each.
pub(super) fn say_what_it_touched(draft: &mut Draft, before: &Job, desk: &Desk<'_>) {
    let mut said = Vec::new();
    for report in draft.checks.iter().filter(|report| report.findings.len() > 1) {
        let known = check::lines(report.check, before, desk.rules, draft.job.stage);
        let is_new = |finding: &&Finding| {
            let line = (finding.verdict, finding.summary.clone());
            finding.verdict != Verdict::Open && finding.summary != report.summary() && !known.contains(&line)
        };
        let mut touched: Vec<&Finding> = report.findings.iter().filter(is_new).collect();
        touched.sort_by_key(|finding| std::cmp::Reverse(finding.verdict));
        let lines = touched.iter().map(|finding| {
            format!(
                "{}: {}: {}",
                report.check.id,
                finding.verdict.word(),
                finding.summary
            )
        });
        said.extend(lines.take(TOUCHED_LINES));
    }
    said.into_iter().for_each(|line| draft.say(line));
}

/// Says what the gate of parts will refuse of a part that just came, where that gate is still ahead: who opens the parcel
/// can send it back on that day.
pub(super) fn say_what_arrival_fails(draft: &mut Draft, before: &Job, desk: &Desk<'_>) {
    let came = |event: &Event| match event {
        Event::Received(receipt) => Some(Receipt::word(receipt.slot)),
        _ => None,
    };
    let words: Vec<String> = draft.events.iter().filter_map(came).collect();
    if words.is_empty() || draft.job.stage >= Stage::Parts {
        return;
    }
    let mut said = Vec::new();
    for glance in desk.glance(Stage::Parts, &draft.job) {
        let looked = words.iter().any(|word| glance.uses.contains(word));
        if glance.verdict != Verdict::Fail || !looked {
            continue;
        }
        let report = check::run(glance.check, &draft.job, desk.rules, Stage::Parts);
        let known = check::lines(report.check, before, desk.rules, Stage::Parts);
        let shown = draft.checks.iter().flat_map(|shown| &shown.findings);
        let shown: Vec<&str> = shown.map(|finding| finding.summary.as_str()).collect();
        let never = if report.is_concedable() {
            ""
        } else {
            " (never conceded)"
        };
        let fails = report.findings.iter().filter(|finding| {
            let line = (finding.verdict, finding.summary.clone());
            finding.verdict == Verdict::Fail
                && !known.contains(&line)
                && !shown.contains(&finding.summary.as_str())
        });
        said.extend(fails.map(|finding| {
            let id = report.check.id;
            format!("the gate of parts will stop it: {id}: {}{never}", finding.summary)
        }));
    }
    said.into_iter().for_each(|line| draft.say(line));
}

/// Says of every day that is to come that the shop does not work then, of a hold that it lasts beyond the promise, and of every day, and of every order that is awaited, when its day is over already
/// by the shop's clock: an entry may be made up for later, so it is no fault, but a slip of the year is.
pub(super) fn say_what_is_past(draft: &mut Draft, desk: &Desk<'_>) {
    let today = desk.day_of(&draft.origin);
    let mut orders = BTreeSet::new();
    let (mut days, mut moved) = (BTreeSet::new(), BTreeSet::new());
    for event in &draft.events {
        match event {
            Event::Ordered { due, .. } => orders.extend(*due),
            Event::Supply(SupplyEvent::OrderMoved { due, .. }) => {
                orders.insert(*due);
                moved.insert(*due);
            }
            Event::Promised { day, .. } => {
                days.insert(*day);
            }
            Event::Held { until: day, .. }
            | Event::Blocked { chase: day, .. }
            | Event::Chased { chase: day, .. } => {
                days.extend(*day);
            }
            Event::Stated { values, .. } => {
                if let Some(Value::Day(day)) = values.get(PROMISE) {
                    days.insert(*day);
                }
            }
            _ => {}
        }
    }
    for day in orders.range(..today) {
        draft.say(format!(
            "{day} is past: overdue already; its block opens by the next working day"
        ));
    }
    for day in days.range(..today) {
        draft.say(format!("{day} is past already"));
    }
    // A day that was just ordered for says so where it is ordered.
    for day in days.range(today..).chain(moved.range(today..)) {
        draft.said.extend(desk.shop.calendar.shut_words(*day));
    }
    let until = draft.events.iter().find_map(|event| match event {
        Event::Held { until, .. } => *until,
        _ => None,
    });
    if let (Some(until), Some(promise)) = (until, draft.job.promised())
        && until > promise
    {
        let job = draft.job.number;
        draft.say(format!(
            "CAUTION: on hold past the promise of {promise}: `lockring promise {job} DAY --why …`, then `lockring told {job} \
             WORDS`"
        ));
    }
}
