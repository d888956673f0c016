//! What checks say of a job that was handed over, where a part was swapped since.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::Memory;
use crate::check::{self, Glance, Report, Verdict};
use crate::job::Job;
use crate::part::Slot;
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// A check on arrival that does not hold of a part swapped after handover.
#[derive(Debug, Clone)]
pub struct Unheld {
    /// The swapped parts that it looks at, one at least.
    pub slots: Vec<Slot>,
    /// What it says.
    pub report: Report,
}

impl Unheld {
    /// Part, check and what it says: `pack swapped: pack.receipt_volts open: missing: …`.
    pub fn what(&self) -> String {
        let Self { slots, report } = self;
        let words: Vec<&str> = slots.iter().map(|slot| slot.word()).collect();
        let (check, verdict) = (report.check.id, report.verdict.word());
        format!(
            "{} swapped: {check} {verdict}: {}",
            words.join(", "),
            report.summary()
        )
    }

    /// What the check itself names against what is wrong, or what takes the values that are missing; where neither is,
    /// another part goes on.
    pub fn goes_on(&self, job: u32) -> String {
        let missing = self.report.missing.iter().map(|missing| missing.how.as_str());
        let bad = self
            .report
            .findings
            .iter()
            .filter(|finding| !finding.verdict.is_good());
        let remedies = bad.flat_map(|finding| &finding.remedies).map(String::as_str);
        let swap = format!("lockring swap {job} ");
        let mut hows = remedies.chain(missing).filter(|how| how.contains(&swap));
        let slot = self.slots.first().map_or("SLOT", |slot| slot.word());
        hows.next().map_or_else(|| another(job, slot), str::to_owned)
    }
}

/// The checks on arrival that do not hold of parts that were swapped on a bicycle with its rider: no gate comes after
/// handover that would stop at them. What was so when they arrived, before the swap, is not told of it. A caution is
/// said when the part goes on and not again: nobody can concede it any more.
pub fn unheld(job: &Job, rules: &RuleSheet, memory: &Memory) -> Vec<Unheld> {
    if job.stage != Stage::HandedOver || job.after.swaps.is_empty() {
        return Vec::new();
    }
    let swapped = swapped(job);
    let arrived = job.passed.get(&Stage::Parts).map(|passed| &passed.findings);
    let was_so = |report: &Report| {
        let mut before = arrived.into_iter().flatten();
        before.any(|kept| kept.check == report.check.id && report.objects_as(&kept.fingerprint))
    };
    let look = |glance: &Arc<Glance>| {
        let slots: Vec<Slot> = swapped
            .iter()
            .copied()
            .filter(|slot| looks_at(glance, *slot))
            .collect();
        if slots.is_empty() || !matches!(glance.verdict, Verdict::Open | Verdict::Fail) {
            return None;
        }
        let report = check::run(glance.check, job, rules, Stage::Parts);
        let report = as_swapped(job, report);
        (!report.holds() && !was_so(&report)).then_some(Unheld { slots, report })
    };
    memory
        .glance(Stage::Parts, job, rules)
        .iter()
        .filter_map(look)
        .collect()
}

/// Whether a check looks at the part of a slot.
pub(crate) fn looks_at(glance: &Glance, slot: Slot) -> bool {
    glance.uses.contains(slot.word())
}

/// The slots in which a part was swapped after handover.
fn swapped(job: &Job) -> BTreeSet<Slot> {
    job.after.swaps.iter().map(|swap| swap.slot).collect()
}

/// The line by which another part goes on.
fn another(job: u32, slot: &str) -> String {
    format!("lockring swap {job} {slot} --in SERIAL --lot LOT --payer WHO --why TEXT")
}

/// What a check says, with the command that still takes what was seen on a part swapped after handover: it arrived then,
/// and `receive` is over.
pub fn as_swapped(job: &Job, mut report: Report) -> Report {
    if job.stage != Stage::HandedOver {
        return report;
    }
    for slot in swapped(job) {
        let of = |verb: &str| format!("lockring {verb} {} {}", job.number, slot.word());
        let (receive, swap) = (of("receive"), of("swap"));
        // No other part is chosen any more: it is swapped.
        let choose = format!("lockring build {} {}=PART", job.number, slot.word());
        let other = another(job.number, slot.word());
        let remedies = report
            .findings
            .iter_mut()
            .flat_map(|finding| &mut finding.remedies);
        let hows = report.missing.iter_mut().map(|missing| &mut missing.how);
        for text in remedies.chain(hows) {
            *text = in_place_of(&in_place_of(text, &receive, &swap), &choose, &other);
        }
    }
    report
}

/// A text with a command in place of another wherever that ends there: `receive 21 chain` is none of the chainring's.
fn in_place_of(text: &str, command: &str, other: &str) -> String {
    let goes_on = |next: char| next.is_alphanumeric() || matches!(next, '-' | '_');
    let mut pieces = text.split(command);
    let mut told = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        told.push_str(if piece.starts_with(goes_on) {
            command
        } else {
            other
        });
        told.push_str(piece);
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_command_is_replaced_only_where_it_ends() {
        let told = |text: &str| in_place_of(text, "lockring receive 21 chain", "lockring swap 21 chain");
        for text in [
            "lockring receive 21 chainring --lot L",
            "lockring receive 210 chain",
            "none",
        ] {
            assert_eq!(told(text), text);
        }
        assert_eq!(
            told(
                "`lockring receive 21 chain`, lockring receive 21 chainring teeth=42, lockring receive 21 chain"
            ),
            "`lockring swap 21 chain`, lockring receive 21 chainring teeth=42, lockring swap 21 chain"
        );
    }
}
