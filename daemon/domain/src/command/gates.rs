//! Gates: trying them, conceding, going back, and what follows by itself.

use std::collections::BTreeSet;

use jiff::Timestamp;

use crate::block::{Block, Family, Whose};
use crate::check::{self, Check, Concede, Kept, Missing, Report, Verdict};
use crate::checks;
use crate::command::{Desk, Draft, earlier_gates, require_text};
use crate::entry::Event;
use crate::gate;
use crate::job::{Job, Passed};
use crate::nearest::nearest;
use crate::recalled;
use crate::refusal::{Reason, Refusal};
use crate::stage::Stage;

/// Tries the present gate: moves the job on, or opens a block for each check that fails or
/// is open, and for each caution that nobody has conceded.
pub(super) fn advance(mut draft: Draft, desk: &Desk<'_>) -> Result<Draft, Refusal> {
    if let Some(hold) = &draft.job.hold {
        return Err(Refusal::new(
            Reason::OnHold,
            format!("job {} is on hold: {}", draft.job.number, hold.why),
        )
        .with("job", draft.job.number)
        .hint(format!(
            "end the hold with `lockring release {}`",
            draft.job.number
        )));
    }
    recalled::refuse_to_go_on(desk.shop, desk.zone, &draft.job)?;
    let gate = draft.job.stage;
    let reports = gate::run(gate, &draft.job, desk.rules);
    clear_held(&mut draft, &reports);
    restate_what_changed(&mut draft, &reports);
    let by_hand: Vec<u32> = draft
        .job
        .blocks
        .iter()
        .filter(|block| block.check.is_none())
        .map(|block| block.number)
        .collect();
    let passed = reports.iter().all(Report::holds) && by_hand.is_empty();
    draft.push(Event::GateTried {
        gate,
        findings: reports.iter().map(Report::kept).collect(),
        passed,
    });
    if passed {
        draft.say(format!(
            "gate {} passed: now at {}",
            gate.word(),
            draft.job.stage.word()
        ));
        draft.passed = true;
        if !draft.job.stage.is_end() {
            let ahead = desk.glance(draft.job.stage, &draft.job);
            draft.next = next_steps(ahead.iter().flat_map(|glance| &glance.missing));
        }
    } else {
        for report in reports.iter().filter(|report| !report.holds()) {
            open_block(&mut draft, report);
        }
        let short = reports.iter().filter(|report| !report.holds()).count();
        draft.say(format!(
            "gate {} stays shut: {short} of {} checks {} not hold",
            gate.word(),
            reports.len(),
            do_or_does(short)
        ));
        if !by_hand.is_empty() {
            let numbers: Vec<String> = by_hand.iter().map(u32::to_string).collect();
            draft.say(format!(
                "blocks that no check clears stand in the way: {}",
                numbers.join(", ")
            ));
        }
        draft.next = next_steps(reports.iter().flat_map(|report| &report.missing));
    }
    draft.checks = reports;
    Ok(draft)
}

/// As [`advance`], but for the last gate, which is refused.
pub(super) fn advance_unseen(draft: Draft, desk: &Desk<'_>) -> Result<Draft, Refusal> {
    let (job, gate) = (draft.job.number, draft.job.stage);
    if gate == Stage::Handover {
        let message = format!(
            "job {job} is at {}: the last gate is not passed by a line that may have waited",
            gate.word()
        );
        return Err(Refusal::new(Reason::GateClosed, message)
            .with("job", job)
            .hint(format!(
                "while the bicycle stands here: `lockring handover {job}`"
            )));
    }
    advance(draft, desk)
}

pub(super) fn concede(draft: &mut Draft, word: &str, why: &str, desk: &Desk<'_>) -> Result<(), Refusal> {
    let check = find_check(word)?;
    let why = require_text("the reason (--why)", why, "0 drops in 10 turns")?;
    let job = draft.job.number;
    let never = |told: &str| {
        Refusal::new(
            Reason::NeverConceded,
            format!("{} is never conceded{told}", check.id),
        )
        .with("check", check.id)
        .hint(format!(
            "cure it: `lockring explain {job} {}` shows the remedies",
            check.id
        ))
    };
    if check.concede == Concede::Never {
        return Err(never(&format!(": {}", check.title)));
    }
    if !check.gates.contains(&draft.job.stage) {
        let gates: Vec<&str> = check.gates.iter().map(|gate| gate.word()).collect();
        return Err(Refusal::new(
            Reason::NothingToConcede,
            format!(
                "{} belongs to {}; job {} is at {}",
                check.id,
                gates.join(" and "),
                draft.job.number,
                draft.job.stage.word()
            ),
        )
        .with("check", check.id));
    }
    let report = check::run(check, &draft.job, desk.rules, draft.job.stage);
    if let Some(barred) = report.barred() {
        return Err(never(&format!(" where it says: {}", barred.summary)));
    }
    match report.verdict {
        Verdict::Pass | Verdict::NotApplicable => Err(Refusal::new(
            Reason::NothingToConcede,
            format!("{} holds: there is nothing to concede", check.id),
        )
        .with("check", check.id)),
        Verdict::Open => {
            let how = report.missing.first().map(|missing| missing.how.clone());
            let refusal = Refusal::new(
                Reason::NothingToConcede,
                format!("{} is open, {}: record it first", check.id, report.summary()),
            )
            .with("check", check.id);
            Err(match how {
                Some(how) => refusal.hint(format!("`{how}`")),
                None => refusal,
            })
        }
        Verdict::Caution | Verdict::Fail => {
            draft.push(Event::Conceded {
                check: check.id.to_owned(),
                why,
                fingerprint: report.objection.clone(),
                finding: report.objections().collect::<Vec<_>>().join("; also: "),
            });
            for objection in report.objections() {
                draft.say(format!("{} conceded as it stands: {objection}", check.id));
            }
            Ok(())
        }
    }
}

pub(super) fn send_back(draft: &mut Draft, word: &str, why: &str) -> Result<(), Refusal> {
    let why = require_text("the reason (--why)", why, "chainring changed")?;
    let earlier = earlier_gates(draft.job.stage);
    let stage = Stage::from_word(&word.to_lowercase()).filter(|stage| earlier.contains(&stage.word()));
    let Some(stage) = stage else {
        let refusal = Refusal::new(
            Reason::NotEarlier,
            format!(
                "`{word}` is not a stage before {}, where job {} stands",
                draft.job.stage.word(),
                draft.job.number
            ),
        )
        .with("given", word)
        .with("stage", draft.job.stage.word());
        return Err(match earlier.as_slice() {
            [] => refusal.hint("intake is the first stage"),
            earlier => refusal.hint(format!("it can go back to {}", earlier.join(", "))),
        });
    };
    draft.push(Event::SentBack { stage, why });
    draft.say(format!("back at {}", stage.word()));
    Ok(())
}

/// Sends the job back to the earliest passed gate of which a check was touched and no
/// longer holds. A check whose fingerprint is unchanged was not touched, unless the
/// concession it stood by was withdrawn.
pub(super) fn reopen(draft: &mut Draft, desk: &Desk<'_>) {
    let mut earliest: Option<(Stage, Vec<Report>)> = None;
    for (gate, passed) in &draft.job.passed {
        // The words of a check that is good anyway are not needed.
        let broken: Vec<Report> = desk
            .glance(*gate, &draft.job)
            .into_iter()
            .filter(|glance| !glance.is_good())
            .map(|glance| check::run(glance.check, &draft.job, desk.rules, *gate))
            .filter(|report| !report.holds())
            .filter(|report| was_touched(&draft.job, passed, report))
            .collect();
        if !broken.is_empty() {
            earliest = Some((*gate, broken));
            break;
        }
    }
    if let Some((stage, broken)) = earliest {
        let ids: Vec<&str> = broken.iter().map(|report| report.check.id).collect();
        let ids = ids.join(", ");
        let why = format!("re-opened by a changed value: {ids}");
        draft.say(format!("back at {}: {ids} no longer holds", stage.word()));
        for report in &broken {
            let way = way_on(draft.job.number, report);
            draft.say(format!("{}: {}; {way}", report.check.id, report.summary()));
        }
        draft.push(Event::SentBack { stage, why });
        // Whoever looks at the job sees what it waits for there, before what waits at a later gate.
        for report in &broken {
            open_block(draft, report);
        }
    }
}

/// Whether a check that no longer holds says something else than when its gate was passed. What the rider
/// pays and signs sends no bicycle back, and a check that the gate did not have then only where nobody may
/// concede it.
fn was_touched(job: &Job, passed: &Passed, report: &Report) -> bool {
    if report.check.family == Family::Rider {
        return false;
    }
    let kept = passed.findings.iter().find(|kept| kept.check == report.check.id);
    kept.map_or(!report.is_concedable(), |kept| {
        !report.objects_as(&kept.fingerprint) || withdrawn(job, kept, passed.at)
    })
}

/// What can be done about a check that no longer holds, as a command.
fn way_on(job: u32, report: &Report) -> String {
    let id = report.check.id;
    match (report.missing.first(), report.is_concedable()) {
        (Some(missing), _) => format!("record it: `{}`", missing.how),
        (None, false) => format!("its cures: `lockring explain {job} {id}`"),
        (None, true) => format!(
            "its cures: `lockring explain {job} {id}`; or the owner accepts it as it is now: `lockring concede {job} {id} \
             --why REASON`"
        ),
    }
}

/// Whether the concession a check stood by at a gate is gone. One given since, for what the
/// check says at a later gate, took its place and withdrew nothing.
fn withdrawn(job: &Job, kept: &Kept, passed: Timestamp) -> bool {
    kept.conceded
        && job
            .concessions
            .get(&kept.check)
            .is_none_or(|concession| concession.at < passed)
}

/// Clears the blocks that opened by themselves and whose check now holds, and lets the others
/// say what their check says now.
pub(super) fn clear_what_holds(draft: &mut Draft, desk: &Desk<'_>) {
    let ids: BTreeSet<String> = draft
        .job
        .blocks
        .iter()
        .filter_map(|block| block.check.clone())
        .collect();
    let reports: Vec<Report> = checks::ALL
        .iter()
        .filter(|check| ids.contains(check.id))
        .map(|check| {
            check::run(
                check,
                &draft.job,
                desk.rules,
                check::gate_of(check, draft.job.stage),
            )
        })
        .collect();
    clear_held(draft, &reports);
    restate_what_changed(draft, &reports);
}

fn clear_held(draft: &mut Draft, reports: &[Report]) {
    let holding: Vec<(Block, String)> = draft
        .job
        .blocks
        .iter()
        .filter_map(|block| {
            let report = reports
                .iter()
                .find(|report| Some(report.check.id) == block.check.as_deref())?;
            let why = if report.concession.is_some() {
                "conceded"
            } else {
                report.verdict.word()
            };
            report
                .holds()
                .then(|| (block.clone(), format!("{}: {why}", report.check.id)))
        })
        .collect();
    for (block, why) in holding {
        draft.push(Event::Cleared {
            number: block.number,
            why,
        });
        draft.cleared.push(block);
    }
}

fn open_block(draft: &mut Draft, report: &Report) {
    let check = report.check;
    if draft
        .job
        .blocks
        .iter()
        .any(|block| block.check.as_deref() == Some(check.id))
    {
        return;
    }
    let (whose, clears_when) = way_out(&draft.job, report);
    draft.push(Event::Blocked {
        number: draft.job.last_block + 1,
        family: check.family,
        check: Some(check.id.to_owned()),
        about: report.summary().to_owned(),
        whose,
        chase: None,
        clears_when,
    });
    draft.opened.extend(draft.job.blocks.last().cloned());
}

/// Lets blocks that opened by themselves say what their check says now; their age stays.
fn restate_what_changed(draft: &mut Draft, reports: &[Report]) {
    let said: Vec<(Block, &Report)> = draft
        .job
        .blocks
        .iter()
        .filter_map(|block| {
            let report = reports
                .iter()
                .find(|report| Some(report.check.id) == block.check.as_deref())?;
            (!report.holds()).then(|| (block.clone(), report))
        })
        .collect();
    for (block, report) in said {
        let (whose, clears_when) = way_out(&draft.job, report);
        let about = report.summary().to_owned();
        if (&block.about, block.whose, &block.clears_when) != (&about, whose, &clears_when) {
            draft.push(Event::Restated {
                number: block.number,
                about,
                whose,
                clears_when,
            });
        }
    }
}

/// Whose move it is and what clears the block of a check that does not hold.
fn way_out(job: &Job, report: &Report) -> (Whose, String) {
    let check = report.check;
    let by_itself = if report.is_concedable() {
        format!("{} passes or is conceded", check.id)
    } else {
        format!("{} passes; it is never conceded", check.id)
    };
    match report.verdict {
        Verdict::Open => {
            let whose = if check.family == Family::Parts {
                parts_move(job)
            } else {
                Whose::Mechanic
            };
            (
                whose,
                report
                    .missing
                    .first()
                    .map_or(by_itself, |missing| missing.how.clone()),
            )
        }
        Verdict::Caution => (Whose::Owner, by_itself),
        _ => (check.family.usual_move(), by_itself),
    }
}

/// Whose move it is while parts are missing: the owner's until all are ordered, then the
/// supplier's.
fn parts_move(job: &Job) -> Whose {
    let unordered = job.build.keys().any(|slot| job.is_to_order(*slot));
    if unordered { Whose::Owner } else { Whose::Supplier }
}

/// What so many checks do not do: hold.
pub(super) const fn do_or_does(checks: usize) -> &'static str {
    if checks == 1 { "does" } else { "do" }
}

/// What is missing, each command once, in the order of the checks.
pub(super) fn next_steps<'m>(all_missing: impl Iterator<Item = &'m Missing>) -> Vec<Missing> {
    let mut steps: Vec<Missing> = Vec::new();
    for missing in all_missing {
        if !steps.iter().any(|step| step.how == missing.how) {
            steps.push(missing.clone());
        }
    }
    steps
}

/// Finds a check by id, with the nearest ones when there is none.
///
/// # Errors
/// [`Reason::UnknownWord`].
pub fn find_check(word: &str) -> Result<&'static Check, Refusal> {
    let lower = word.to_lowercase();
    checks::ALL
        .iter()
        .find(|check| check.id == lower)
        .copied()
        .ok_or_else(|| {
            let near = nearest(&lower, checks::ALL.iter().map(|check| check.id));
            Refusal::unknown("check", word, &near, "`lockring words checks` lists them")
        })
}
