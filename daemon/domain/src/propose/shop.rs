//! The bench on which builds are tried, and what the checks said there.
//!
//! A check decides from what it looks at and nothing else. What it said of one build therefore
//! holds for every build that has the same values wherever it looked; that is remembered, so
//! that thousands of builds cost few runs.

use std::collections::HashMap;

use crate::account::Account;
use crate::block::Family;
use crate::case::Case;
use crate::check::{self, Check, Glance, Verdict};
use crate::checks::class_power;
use crate::command::{Desk, find_check};
use crate::job::{Job, Line};
use crate::money::Money;
use crate::part::{Part, Slot};
use crate::propose::candidates::{ALWAYS, CHOSEN, Pick, Shelf, price_of};
use crate::propose::{Tier, nothing_of};
use crate::refusal::Refusal;
use crate::rules::RuleSheet;
use crate::stage::Stage;
use crate::tax::TaxRate;

/// The bench.
pub(super) struct Shop<'d> {
    pub(super) rules: &'d RuleSheet,
    pub(super) shelf: Shelf,
    /// The job without the parts that are to be chosen.
    bare: Job,
    /// A copy on which builds are put together.
    bench: Job,
    said: HashMap<&'static str, Vec<Said>>,
    /// The tax in what the rider pays for the job.
    rate: Option<TaxRate>,
}

/// What a check said wherever it looked at the same attributes.
#[derive(Default)]
struct Said {
    /// Slots, and attributes of slots.
    looked_at: Vec<(Slot, Option<String>)>,
    verdicts: HashMap<Vec<u32>, Verdict>,
}

impl<'d> Shop<'d> {
    pub(super) fn of(job: &Job, desk: &Desk<'d>) -> Result<Self, Refusal> {
        let ids = (desk.part_ids)();
        let offered = ids.iter().filter(|id| desk.shop.offers(id));
        let parts = offered.filter_map(|id| (desk.part)(id)).collect();
        let shelf = Shelf::of(&Case::new(job, desk.rules, Stage::Intake), parts);
        if let Some(slot) = ALWAYS.iter().find(|slot| shelf.slot(**slot).is_empty()) {
            return Err(nothing_of(slot.word()));
        }
        let mut bare = job.clone();
        // What was quoted was quoted for another build.
        bare.account = Account::default().into();
        bare.build.retain(|slot, _| !shelf.fills(*slot));
        Ok(Self {
            rules: desk.rules,
            shelf,
            bench: bare.clone(),
            bare,
            said: HashMap::new(),
            rate: job.account.rate(desk.shop.tax_rate()),
        })
    }

    /// The job with a build.
    pub(super) fn job(&mut self, pick: &Pick) -> &Job {
        self.bench.build.clone_from(&self.bare.build);
        for slot in CHOSEN {
            if let Some(choice) = self.shelf.chosen(slot, pick) {
                let line = Line {
                    part: choice.part.clone(),
                    order: None,
                    receipt: None,
                    newer: None,
                    damaged_in: Vec::new(),
                };
                self.bench.build.insert(slot, line.into());
            }
        }
        &self.bench
    }

    /// The job without the parts that are to be chosen.
    pub(super) const fn bare(&self) -> &Job {
        &self.bare
    }

    /// Slot and part of a build.
    pub(super) fn parts(&self, pick: &Pick) -> Vec<(Slot, String)> {
        let chosen = CHOSEN.iter().filter_map(|slot| {
            let choice = self.shelf.chosen(*slot, pick)?;
            Some((*slot, choice.part.id.clone()))
        });
        chosen.collect()
    }

    /// Parts of the present build that stay: those with a price, which the rider buys with the rest, or those without.
    pub(super) fn stays(&self, priced: bool) -> Vec<(Slot, String)> {
        let lines = self.bare.build.iter();
        lines
            .filter(|(_, line)| price_of(&line.part).is_some() == priced)
            .map(|(slot, line)| (*slot, line.part.id.clone()))
            .collect()
    }

    /// Parts of a job's own build in the slots that a proposal fills.
    pub(super) fn own<'j>(&self, job: &'j Job) -> impl Iterator<Item = (Slot, &'j Line)> {
        let lines = job.build.iter().map(|(slot, line)| (*slot, &**line));
        lines.filter(|(slot, _)| self.shelf.fills(*slot))
    }

    /// What those with a price come to, minor units.
    pub(super) fn staying_price(&self) -> i64 {
        let lines = self.bare.build.values();
        lines.filter_map(|line| price_of(&line.part)).sum()
    }

    /// The parts of a build.
    pub(super) fn chosen(&self, pick: &Pick) -> impl Iterator<Item = &Part> {
        let chosen = CHOSEN.iter().filter_map(|slot| self.shelf.chosen(*slot, pick));
        chosen.map(|choice| &choice.part)
    }

    /// The tax in the price of some parts and of what stays, part by part; `None` without a rate.
    pub(super) fn tax<'p>(&'p self, chosen: impl Iterator<Item = &'p Part>) -> Option<Money> {
        let rate = self.rate?;
        let staying = self.bare.build.values().map(|line| &line.part);
        let prices = chosen.chain(staying).filter_map(price_of);
        Some(prices.map(|price| rate.tax_in(Money(price))).sum())
    }

    /// The first of some checks that a tier does not let pass; `None` when all let it be.
    pub(super) fn against(&mut self, ids: &[&'static str], pick: &Pick, tier: Tier) -> Option<&'static str> {
        ids.iter().copied().find(|id| {
            let check = find_check(id).expect("the lists name checks that exist");
            let (verdict, of_choice) = self.verdict(check, pick);
            !allowed(check, verdict, of_choice, tier)
                || (verdict == Verdict::Caution && self.out_of_class(id, pick))
        })
    }

    /// Whether a motor is hardly one of its class: the owner may concede one that is there, but it is never proposed.
    fn out_of_class(&mut self, id: &str, pick: &Pick) -> bool {
        let rules = self.rules;
        id == class_power::CHECK.id
            && class_power::is_out_of_class(&Case::new(self.job(pick), rules, Stage::Intake))
    }

    /// The verdict of a check on a build, and whether it looks at any part of it.
    fn verdict(&mut self, check: &'static Check, pick: &Pick) -> (Verdict, bool) {
        if let Some(known) = self.remembered(check.id, pick) {
            return known;
        }
        let rules = self.rules;
        let Glance { verdict, uses, .. } = check::glance(check, self.job(pick), rules, Stage::Intake);
        let looked_at: Vec<(Slot, Option<String>)> = uses
            .iter()
            .filter_map(|used| {
                let (word, key) = match used.split_once('.') {
                    Some((word, key)) => (word, Some(key.to_owned())),
                    None => (used, None),
                };
                let slot = Slot::from_word(word)?;
                self.shelf.fills(slot).then_some((slot, key))
            })
            .collect();
        let values = self.values(&looked_at, pick);
        let of_choice = !looked_at.is_empty();
        let all = self.said.entry(check.id).or_default();
        let same = all.iter().position(|said| said.looked_at == looked_at);
        let index = same.unwrap_or_else(|| {
            all.push(Said {
                looked_at,
                verdicts: HashMap::new(),
            });
            all.len() - 1
        });
        all[index].verdicts.insert(values, verdict);
        (verdict, of_choice)
    }

    /// The values of a build wherever some checks have looked so far in some slots: builds with
    /// the same ones are the same to these checks.
    pub(super) fn seen(&self, ids: &[&str], slots: &[Slot], pick: &Pick) -> Vec<u32> {
        let said = ids.iter().filter_map(|id| self.said.get(id)).flatten();
        let looked_at = said.flat_map(|said| &said.looked_at);
        let looks = looked_at.filter(|(looked, _)| slots.contains(looked));
        looks.map(|look| self.value(look, pick)).collect()
    }

    fn remembered(&self, id: &str, pick: &Pick) -> Option<(Verdict, bool)> {
        self.said.get(id)?.iter().find_map(|said| {
            let values = self.values(&said.looked_at, pick);
            let verdict = said.verdicts.get(&values)?;
            Some((*verdict, !said.looked_at.is_empty()))
        })
    }

    fn values(&self, looked_at: &[(Slot, Option<String>)], pick: &Pick) -> Vec<u32> {
        looked_at.iter().map(|look| self.value(look, pick)).collect()
    }

    fn value(&self, (slot, key): &(Slot, Option<String>), pick: &Pick) -> u32 {
        let choice = self.shelf.chosen(*slot, pick);
        match key {
            Some(key) => choice
                .and_then(|choice| choice.values.get(key))
                .copied()
                .unwrap_or(0),
            None => u32::from(choice.is_some()),
        }
    }
}

/// Whether a build may be shown with this verdict. What is not known rules nothing out; a
/// caution that no choice of parts could lift is not the build's.
pub(super) fn allowed(check: &Check, verdict: Verdict, of_choice: bool, tier: Tier) -> bool {
    match verdict {
        Verdict::Fail => false,
        Verdict::Caution if of_choice => match tier {
            Tier::Clear => false,
            Tier::Conceded => !matches!(check.family, Family::Ride | Family::Law),
            Tier::Tolerated => true,
        },
        _ => true,
    }
}
