//! What checks found of jobs lately, so that a change runs only the checks that look at what it
//! changed.
//!
//! A case notes what a check looks at. What the check found holds as long as that is the same; one
//! that looked at the job past its case ([`Case::whole_job`]) is run each time.
//!
//! [`Case::whole_job`]: crate::case::Case::whole_job

use std::cmp::Ordering;
use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::check::{self, Glance};
use crate::job::{Facts, Job, Line};
use crate::part::Slot;
use crate::receipt::Receipt;
use crate::rules::RuleSheet;
use crate::shared::{Common, Shared};
use crate::stage::Stage;
use crate::uses::Word;

/// Jobs remembered: as many as benches may change at a time.
const JOBS: usize = 64;

/// What checks found of jobs by one rule sheet.
#[derive(Debug)]
pub struct Memory {
    rules: RuleSheet,
    known: Mutex<Known>,
}

#[derive(Debug, Default)]
struct Known {
    jobs: HashMap<u32, Remembered>,
    turn: u64,
}

/// What a check may look at of a job, as it was when its checks were last looked at, and what those
/// found that still holds.
#[derive(Debug, Default)]
struct Remembered {
    facts: Common<Facts>,
    build: Common<BTreeMap<Slot, Shared<Line>>>,
    gates: BTreeMap<Stage, Vec<Arc<Glance>>>,
    turn: u64,
}

impl Memory {
    /// Nothing known yet.
    pub fn of(rules: &RuleSheet) -> Self {
        Self {
            rules: rules.clone(),
            known: Mutex::default(),
        }
    }

    /// What every check of a gate finds of a job, in the order they are listed; those are run that
    /// have to be.
    pub(crate) fn glance(&self, gate: Stage, job: &Job, rules: &RuleSheet) -> Vec<Arc<Glance>> {
        if !self.rules.is(rules) {
            return super::glance(gate, job, rules);
        }
        // Others are not kept waiting while checks run.
        let mut remembered = self.lock().jobs.remove(&job.number).unwrap_or_default();
        remembered.catch_up(job);
        // What holds stands in the order in which the checks are listed.
        let mut holds = remembered
            .gates
            .remove(&gate)
            .unwrap_or_default()
            .into_iter()
            .peekable();
        let all: Vec<Arc<Glance>> = super::listed(gate)
            .map(|check| {
                holds
                    .next_if(|glance| std::ptr::eq(glance.check, check))
                    .unwrap_or_else(|| Arc::new(check::glance(check, job, rules, gate)))
            })
            .collect();
        remembered.gates.insert(gate, all.clone());
        self.lock().keep(job.number, remembered);
        all
    }

    fn lock(&self) -> MutexGuard<'_, Known> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Known {
    fn keep(&mut self, number: u32, mut remembered: Remembered) {
        self.turn += 1;
        remembered.turn = self.turn;
        self.jobs.insert(number, remembered);
        if self.jobs.len() > JOBS {
            let oldest = self.jobs.iter().min_by_key(|(_, job)| job.turn);
            if let Some(number) = oldest.map(|(number, _)| *number) {
                self.jobs.remove(&number);
            }
        }
    }
}

impl Remembered {
    /// Takes over the job as it is now and forgets what no longer holds.
    fn catch_up(&mut self, job: &Job) {
        let slots = differing(&self.build, &job.build);
        let receipts: Vec<String> = slots.iter().map(|slot| Receipt::word(**slot)).collect();
        let facts = differing(&self.facts, &job.facts).into_iter().map(|key| &**key);
        let slots = slots.iter().map(|slot| slot.word());
        let words = Word::known(slots.chain(receipts.iter().map(String::as_str)).chain(facts));
        for glances in self.gates.values_mut() {
            glances.retain(|glance| !glance.looked_past && !glance.uses.any(&words));
        }
        self.facts = job.facts.clone();
        self.build = job.build.clone();
    }
}

/// The keys under which two maps differ, in order.
fn differing<'m, K: Ord, V: PartialEq>(
    old: &'m Common<BTreeMap<K, V>>,
    new: &'m Common<BTreeMap<K, V>>,
) -> Vec<&'m K> {
    let mut differing = Vec::new();
    if old.is(new) {
        return differing;
    }
    let (mut old, mut new) = (old.iter().peekable(), new.iter().peekable());
    loop {
        let order = match (old.peek(), new.peek()) {
            (None, None) => return differing,
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (Some((was, _)), Some((is, _))) => was.cmp(is),
        };
        let was = old.next_if(|_| order.is_le());
        let is = new.next_if(|_| order.is_ge());
        if was.map(|(_, value)| value) != is.map(|(_, value)| value) {
            differing.extend(was.or(is).map(|(key, _)| key));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail};
    use crate::gate;

    /// Three bicycles that differ in a value, in a part, and in something taken away.
    fn course() -> Vec<Bench> {
        let first = longtail();
        let steeper = first.clone().state(&[("hill-grade", "12 %")]);
        let geared = steeper.clone().build(&[("chainring", "ring-36-2")]);
        let arrived = geared.clone().receive_all();
        let without = arrived.clone().forget("hill-grade");
        vec![first, steeper, geared, arrived, without]
    }

    fn said(glances: &[Arc<Glance>]) -> Vec<String> {
        glances.iter().map(|glance| format!("{glance:?}")).collect()
    }

    #[test]
    fn what_is_remembered_is_what_a_check_would_find_again() {
        let rules = RuleSheet::shipped();
        let memory = Memory::of(&rules);
        let course = course();
        // There and back, so that what is forgotten is found again.
        for bench in course.iter().chain(course.iter().rev()) {
            for gate in [Stage::Intake, Stage::Fitting] {
                let fresh = gate::glance(gate, &bench.job, &rules);
                assert_eq!(
                    said(&memory.glance(gate, &bench.job, &rules)),
                    said(&fresh),
                    "{gate:?}"
                );
            }
        }
    }

    #[test]
    fn only_checks_that_look_at_what_changed_are_run_again() {
        let rules = RuleSheet::shipped();
        let memory = Memory::of(&rules);
        let course = course();
        let gate = Stage::Intake;
        let first = memory.glance(gate, &course[0].job, &rules);
        let kept = |now: &[Arc<Glance>], of: &dyn Fn(&Glance) -> bool| {
            now.iter()
                .zip(&first)
                .filter(|(_, before)| of(before))
                .all(|(now, before)| Arc::ptr_eq(now, before))
        };
        let again = memory.glance(gate, &course[0].job, &rules);
        assert!(kept(&again, &|glance| !glance.looked_past), "nothing changed");
        let steeper = memory.glance(gate, &course[1].job, &rules);
        let about_the_hill = |glance: &Glance| glance.uses.contains("hill-grade");
        assert!(kept(&steeper, &|glance| !glance.looked_past && !about_the_hill(glance)));
        let run = steeper
            .iter()
            .zip(&first)
            .filter(|(_, before)| about_the_hill(before));
        assert!(run.clone().count() > 0 && run.into_iter().all(|(now, before)| !Arc::ptr_eq(now, before)));
        // Another sheet is not the one that is remembered.
        let other = RuleSheet::shipped()
            .with_override("chainline.centre-good", "1 mm", "tried")
            .unwrap();
        assert!(rules.is(&rules.clone()) && !rules.is(&other));
        assert!(!memory.rules.is(&other));
        let by_other = memory.glance(gate, &course[0].job, &other);
        assert_eq!(said(&by_other), said(&gate::glance(gate, &course[0].job, &other)));
        assert!(
            by_other
                .iter()
                .zip(&first)
                .all(|(now, before)| !Arc::ptr_eq(now, before))
        );
    }

    #[test]
    fn the_job_that_was_looked_at_longest_ago_is_forgotten_first() {
        let mut known = Known::default();
        let jobs = JOBS as u32;
        for number in 1..=jobs {
            known.keep(number, Remembered::default());
        }
        assert_eq!(known.jobs.len(), JOBS);
        known.keep(1, Remembered::default());
        known.keep(jobs + 1, Remembered::default());
        assert_eq!(known.jobs.len(), JOBS);
        assert!(known.jobs.contains_key(&1) && !known.jobs.contains_key(&2));
    }

    #[test]
    fn the_keys_are_told_under_which_two_maps_differ() {
        let map = |pairs: &[(u8, char)]| Common::from(BTreeMap::from_iter(pairs.iter().copied()));
        let old = map(&[(1, 'a'), (2, 'b'), (3, 'c')]);
        let new = map(&[(2, 'b'), (3, 'd'), (4, 'e')]);
        assert_eq!(differing(&old, &new), [&1, &3, &4]);
        assert_eq!(differing(&new, &old), [&1, &3, &4]);
        assert!(differing(&old, &old.clone()).is_empty());
        assert!(differing(&old, &map(&[(1, 'a'), (2, 'b'), (3, 'c')])).is_empty());
        assert_eq!(differing(&old, &Common::default()), [&1, &2, &3]);
        assert_eq!(differing(&Common::default(), &new), [&2, &3, &4]);
        assert_eq!(Receipt::word(Slot::Pack), "pack.receipt");
    }
}
