//! Answers, written in the contract's words. Nothing else fills them in.

use jiff::civil::Date;
use lockring_domain::block::Block;
use lockring_domain::check::{Check, Figure, Finding, Missing, Report};
use lockring_domain::command::Draft;
use lockring_domain::entry::Event;
use lockring_domain::job::{Concession, Job};
use lockring_domain::recalled::Recalled;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_domain::stage::Stage;
use lockring_proto::v1;
use prost::Message;

use crate::report::days::Days;

mod access;
mod bench;
mod compare;
mod desk;
mod fit;
mod forecast;
mod hills;
mod money;
mod papers;
mod promises;
mod propose;
mod range;
mod recall;
mod regear;
mod report;
mod ride_logs;
mod ride_plan;
mod riders;
mod sheet;
mod shop;
mod supply;
mod view;
mod words;

pub(super) use access::{pair_made, pairs};
pub(super) use bench::sheet;
pub(super) use compare::{compared, predictions};
pub(super) use desk::{people, rules, settings, shop_history, shop_reply};
pub(super) use fit::{chainline, fit_page, fit_trial};
pub(super) use forecast::forecast;
pub(super) use hills::hills;
pub(super) use money::account;
pub(super) use papers::{card, companions};
pub(super) use promises::promises;
pub(super) use propose::propose;
pub(super) use range::range;
pub(super) use recall::{found, recall_line, recall_sheet};
pub(super) use regear::regear;
pub(super) use report::blocked_report;
pub(super) use ride_logs::{ride_log, ride_logs};
pub(super) use ride_plan::ride_plan;
pub(super) use riders::{cut, rider_against, rider_job, rider_view};
pub(crate) use sheet::report_sheet;
pub(super) use shop::{backed_up, export, hello, imported, moved, part, part_list, status, verification};
pub(super) use supply::{order_list, shelf_list, supplier_list, supply_reply};
pub(super) use view::{history, history_line, job_line, job_list, job_view, photo, photos};
pub(super) use words::words;

/// The answer to a change.
pub(super) fn job_reply(draft: &Draft, days: &Days<'_>) -> v1::JobReply {
    let gate = gate_tried(draft).unwrap_or(draft.job.stage);
    let number = draft.job.number;
    v1::JobReply {
        job: number,
        revision: draft.job.revision,
        rider: draft.job.rider.clone(),
        stage: draft.job.stage.word().to_owned(),
        said: draft.said.clone(),
        checks: draft
            .checks
            .iter()
            .map(|report| check_report(&draft.job, report, gate))
            .collect(),
        opened: draft
            .opened
            .iter()
            .map(|opened| block(number, opened, days))
            .collect(),
        cleared: draft
            .cleared
            .iter()
            .map(|cleared| block(number, cleared, days))
            .collect(),
        next: draft.next.iter().map(missing).collect(),
        passed: draft.passed,
        repeated: false,
        differs: draft
            .differs
            .iter()
            .map(|(before, after)| v1::FitDifference {
                before: Some(check_report(&draft.job, before, gate)),
                after: Some(check_report(&draft.job, after, gate)),
            })
            .collect(),
    }
}

/// The gate that was tried: after it is passed the job stands at another.
fn gate_tried(draft: &Draft) -> Option<Stage> {
    draft.events.iter().find_map(|event| match event {
        Event::GateTried { gate, .. } => Some(*gate),
        _ => None,
    })
}

/// An answer that is kept for a retry, under the word of its kind.
pub(super) trait Kept: Message + Default {
    /// The word; stored, so never changed.
    const KIND: &str;

    /// The same, said to be given again, where the message has a place for it.
    fn repeated(self) -> Self {
        self
    }
}

impl Kept for v1::JobReply {
    const KIND: &str = "job";

    fn repeated(self) -> Self {
        Self {
            repeated: true,
            ..self
        }
    }
}

impl Kept for v1::ImportReply {
    const KIND: &str = "import";
}

impl Kept for v1::MakePairReply {
    const KIND: &str = "pair";

    fn repeated(self) -> Self {
        Self {
            repeated: true,
            ..self
        }
    }
}

/// An answer as it is kept: the word of its kind, a zero, the message.
pub(super) fn keep<M: Kept>(reply: &M) -> Vec<u8> {
    let mut kept = M::KIND.as_bytes().to_vec();
    kept.push(0);
    kept.extend(reply.encode_to_vec());
    kept
}

/// The answer that was kept.
///
/// # Errors
/// [`Reason::BadInput`] when the request id was used for a change of another kind, or by a
/// program whose answers this one does not read.
pub(super) fn recall<M: Kept>(kept: &[u8]) -> Result<M, Refusal> {
    let other = || {
        Refusal::new(
            Reason::BadInput,
            "origin.request_id: it was used for another kind of change before",
        )
        .with("field", "origin.request_id")
        .hint("choose a new request id for each intended change")
    };
    let message = kept
        .strip_prefix(M::KIND.as_bytes())
        .and_then(|rest| rest.strip_prefix(&[0]));
    M::decode(message.ok_or_else(other)?).map_err(|_| other())
}

/// All checks of a gate.
pub(super) fn check_reply(
    job: &Job,
    gate: Stage,
    reports: &[Report],
    held: Option<&Recalled>,
) -> v1::CheckReply {
    v1::CheckReply {
        held: held.map_or_else(String::new, |recalled| {
            format!("{}: {}", recalled.words(), recalled.way_out(job.number))
        }),
        job: job.number,
        revision: job.revision,
        rider: job.rider.clone(),
        stage: job.stage.word().to_owned(),
        gate: gate.word().to_owned(),
        checks: reports
            .iter()
            .map(|report| check_report(job, report, gate))
            .collect(),
    }
}

/// What a check says of a job, at a gate, and the photos that stand beside it.
pub(super) fn check_report(job: &Job, report: &Report, gate: Stage) -> v1::CheckReport {
    let check = report.check;
    v1::CheckReport {
        check: check.id.to_owned(),
        title: check.title.to_owned(),
        gate: gate_of(check, gate).to_owned(),
        family: check.family.word().to_owned(),
        verdict: report.verdict.word().to_owned(),
        summary: report.summary().to_owned(),
        holds: report.holds(),
        concedable: report.is_concedable(),
        version: check.version,
        source: check.source.to_owned(),
        findings: report.findings.iter().map(finding).collect(),
        missing: report.missing.iter().map(missing).collect(),
        uses: report.uses.iter().cloned().collect(),
        assumed: report.assumed.clone(),
        limits: report.limits.iter().map(|rule| rule.standing()).collect(),
        concession: report.concession.as_ref().map(concession),
        evidence: evidence(job, check.id),
    }
}

fn evidence(job: &Job, check: &str) -> Vec<v1::Evidence> {
    let kept = job.photos.iter().filter(|kept| kept.photo.check == check);
    kept.map(|kept| v1::Evidence {
        photo: kept.photo.number,
        caption: kept.photo.caption.clone(),
        by: kept.by.clone(),
        at_us: kept.at.as_microsecond(),
    })
    .collect()
}

/// The gate a check is shown at: the one asked about when it belongs there, else the last
/// one before it, else its first.
fn gate_of(check: &Check, asked: Stage) -> &'static str {
    let belongs = check.gates.contains(&asked).then_some(&asked);
    let before = || check.gates.iter().filter(|gate| **gate < asked).max();
    belongs
        .or_else(before)
        .or(check.gates.first())
        .map_or("", |gate| gate.word())
}

fn finding(finding: &Finding) -> v1::Finding {
    v1::Finding {
        verdict: finding.verdict.word().to_owned(),
        summary: finding.summary.clone(),
        figures: finding.figures.iter().map(figure).collect(),
        arithmetic: finding.arithmetic.clone(),
        remedies: finding.remedies.clone(),
    }
}

fn figure(figure: &Figure) -> v1::Figure {
    v1::Figure {
        name: figure.name.clone(),
        value: figure.value,
        unit: figure.unit.clone(),
        limit: figure.limit.clone(),
        margin: figure.margin,
        uncertainty: figure.uncertainty,
    }
}

fn missing(missing: &Missing) -> v1::Missing {
    v1::Missing {
        what: missing.what.clone(),
        how: missing.how.clone(),
    }
}

fn concession(concession: &Concession) -> v1::Concession {
    v1::Concession {
        why: concession.why.clone(),
        by: concession.by.clone(),
        at_us: concession.at.as_microsecond(),
        finding: concession.finding.clone(),
    }
}

fn block(job: u32, block: &Block, days: &Days<'_>) -> v1::Block {
    block_of_age(job, block, days.since(block.opened))
}

/// A block with its age in working days.
fn block_of_age(job: u32, block: &Block, age: u32) -> v1::Block {
    v1::Block {
        number: block.number,
        family: block.family.word().to_owned(),
        gate: block.gate.word().to_owned(),
        check: block.check.clone().unwrap_or_default(),
        about: block.about.clone(),
        whose_move: block.whose.word().to_owned(),
        chase: day(block.chase),
        clears_when: block.way_out(job),
        opened_us: block.opened.as_microsecond(),
        age_days: age,
        by: block.by.clone(),
    }
}

/// A day as text; empty when nobody said.
fn day(day: Option<Date>) -> String {
    day.map_or_else(String::new, |day| day.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kept_answer_comes_back_and_one_of_another_kind_does_not() {
        let reply = v1::JobReply {
            job: 21,
            revision: 7,
            said: vec!["noted".into()],
            ..Default::default()
        };
        let kept = keep(&reply);
        assert_eq!(recall::<v1::JobReply>(&kept).unwrap(), reply);
        let refusal = recall::<v1::ImportReply>(&kept).unwrap_err();
        assert_eq!(refusal.reason, Reason::BadInput);
        assert!(refusal.hint.is_some_and(|hint| hint.contains("new request id")));
    }
}
