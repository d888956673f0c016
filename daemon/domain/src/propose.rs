//! Complete builds from the catalogue that fit the donor and meet the brief.
//!
//! What does not fit is put aside before anything is computed: a motor that does not go into
//! the shell or between the dropouts never meets a pack, and volts and amperes are matched
//! before hills. Every verdict is that of a check itself, run on a copy of the job. Of what is
//! left only builds stay that no other one beats on price, mass, range, hill and date together.

use crate::case::Case;
use crate::check::{self, Verdict};
use crate::checks::money_budget;
use crate::command::{Desk, find_check};
use crate::gate;
use crate::job::Job;
use crate::money::Money;
use crate::outlook;
use crate::part::Slot;
use crate::prediction;
use crate::refusal::{Reason, Refusal};
use crate::rules::RuleSheet;
use crate::stage::Stage;

mod aside;
mod candidates;
mod core;
mod merits;
mod screen;
mod search;
mod shop;

pub use merits::Merits;

use aside::Build;
use candidates::{UNDATED, UNPRICED, price_of};
use merits::Going;
use search::Found;
use shop::Shop;

/// Most builds shown: what a screen takes.
pub const SCREENFUL: usize = 8;

/// How much a build may leave to the owner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tier {
    /// No check of the build is short of good.
    Clear,
    /// Cautions outside ride and law: the brief is met, something is to be conceded.
    Conceded,
    /// Nothing fails: the brief is met within the doubt of the prediction, or the class is not
    /// settled.
    Tolerated,
}

/// What a check says that is not a pass.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// The check.
    pub check: &'static str,
    /// Its verdict.
    pub verdict: Verdict,
    /// Its line.
    pub summary: String,
}

/// One build.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// Slot and part, as `lockring build` takes them.
    pub parts: Vec<(Slot, String)>,
    /// Slots of the present build that this one leaves empty.
    pub emptied: Vec<Slot>,
    /// What it is compared by.
    pub merits: Merits,
    /// The tax in its price, each part's rounded by itself as that of a quoted line; `None` without a price or a rate.
    pub tax: Option<Money>,
    /// Minutes of work planned for a conversion with it.
    pub planned_minutes: i64,
    /// Why it is shown, in words.
    pub why: Vec<String>,
    /// What is not a pass with it and is one with another, or says something else there.
    pub left: Vec<Said>,
}

/// Parts put aside, with what rules them out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Miss {
    /// The cheapest of them.
    pub parts: Vec<(Slot, String)>,
    /// How many sets of parts the same check put aside until enough builds were found.
    pub times: usize,
    /// What the check says of it.
    pub said: Said,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Proposals {
    /// What had to be left to the owner for any build to be found.
    pub tier: Tier,
    /// How many builds nothing beats.
    pub unbeaten: usize,
    /// At most a screenful of them, cheapest first.
    pub kept: Vec<Proposal>,
    /// The build of the job as it is chosen, with all that is no pass with it; `None` where the job lacks the parts, or its
    /// ride cannot be computed.
    pub present: Option<Proposal>,
    /// What is not a pass with any of them, in the same words.
    pub everywhere: Vec<Said>,
    /// Near misses, in the order of the checks.
    pub misses: Vec<Miss>,
    /// Parts of the present build that stay and have no price, so that they are in none.
    pub stays: Vec<(Slot, String)>,
    /// Parts of the present build that stay and are bought for the rider as the others are: they are in each price.
    pub bought: Vec<(Slot, String)>,
    /// Steepest grade that the hill is computed at, a ratio.
    pub hill_grade: f64,
}

/// What must be known of brief and donor before builds can be compared.
const NEEDED: &[&str] = &[
    "ride-class",
    "range",
    "climb",
    "stops",
    "cruise-speed",
    "coldest",
    "rider-power",
    "rider-power-hill",
    "rider-mass",
    "load-mass",
    "mass-before",
    "posture",
    "rolling",
    "hill-grade",
    "hill-length",
    "hill-source",
    "hill-speed",
];

/// Finds the builds; nothing is stored.
///
/// # Errors
/// A refusal naming what the brief or the donor lacks, or the kind of part that the catalogue
/// lacks.
pub fn propose(job: &Job, desk: &Desk<'_>) -> Result<Proposals, Refusal> {
    complete(job, desk)?;
    let hill_grade =
        core::steepest(&Case::new(job, desk.rules, Stage::Intake)).map_err(|halt| halt.refuse(job.number))?;
    let mut shop = Shop::of(job, desk)?;
    let mut found = Found::default();
    let mut tier = Tier::Clear;
    for tried in [Tier::Clear, Tier::Conceded, Tier::Tolerated] {
        tier = tried;
        found = search::unbeaten(&mut shop, tier);
        if !found.builds.is_empty() {
            break;
        }
    }
    let shown = screen::choose(&found.builds);
    let kept = shown
        .into_iter()
        .map(|(index, why)| shop.proposal(job, &found.builds[index], why))
        // The search ran the same checks without their words; what is shown has passed both.
        .filter(|proposal| proposal.left.iter().all(|said| said.verdict != Verdict::Fail))
        .collect();
    let (kept, everywhere) = shared(kept);
    Ok(Proposals {
        tier,
        unbeaten: found.builds.len(),
        kept,
        present: shop.present(job),
        everywhere,
        hill_grade,
        misses: shop.misses(&found),
        stays: shop.stays(false),
        bought: shop.stays(true),
    })
}

fn complete(job: &Job, desk: &Desk<'_>) -> Result<(), Refusal> {
    let case = Case::new(job, desk.rules, Stage::Intake);
    prediction::need(&case, NEEDED).map_err(|halt| halt.refuse(job.number))
}

/// Takes what every build leaves in the same words out of each of them.
fn shared(mut kept: Vec<Proposal>) -> (Vec<Proposal>, Vec<Said>) {
    let Some(first) = kept.first() else {
        return (kept, Vec::new());
    };
    let mut everywhere = first.left.clone();
    everywhere.retain(|said| kept.iter().all(|proposal| proposal.left.contains(said)));
    for proposal in &mut kept {
        proposal.left.retain(|said| !everywhere.contains(said));
    }
    (kept, everywhere)
}

impl Shop<'_> {
    /// A build in the words of the answer, with what the checks of intake say of it.
    fn proposal(&mut self, job: &Job, build: &Build, why: Vec<String>) -> Proposal {
        let parts = self.parts(&build.pick);
        let emptied = job.build.keys().copied().filter(|slot| {
            let stays = self.bare().build.contains_key(slot);
            !stays && !parts.iter().any(|(chosen, _)| chosen == slot)
        });
        let emptied = emptied.collect();
        let rules = self.rules;
        let left = left(self.job(&build.pick), rules);
        let staying = self.staying_price();
        Proposal {
            tax: build
                .merits
                .price
                .and_then(|_| self.tax(self.chosen(&build.pick))),
            parts,
            emptied,
            // The same on top of each: it changes nothing in how they compare.
            merits: Merits {
                price: build.merits.price.map(|price| price + staying),
                ..build.merits
            },
            planned_minutes: outlook::planned_minutes(self.job(&build.pick), rules),
            why,
            left,
        }
    }

    /// The job's own build in the words of the answer.
    fn present(&self, job: &Job) -> Option<Proposal> {
        let case = Case::new(job, self.rules, Stage::Intake);
        let going = Going::of(&case).ok()?;
        let (hill, wished) = core::hill_of(&case).ok()?;
        let cost = self.own(job).fold((0, 0), |(price, days), (_, line)| {
            // What is here is not waited for.
            let lead = line
                .receipt
                .as_ref()
                .map_or_else(|| line.part.lead_days().unwrap_or(UNDATED), |_| 0);
            (price + price_of(&line.part).unwrap_or(UNPRICED), lead.max(days))
        });
        let mut merits = going.merits(cost, hill, wished);
        merits.price = merits.price.map(|price| price + self.staying_price());
        Some(Proposal {
            parts: self
                .own(job)
                .map(|(slot, line)| (slot, line.part.id.clone()))
                .collect(),
            emptied: Vec::new(),
            tax: merits
                .price
                .and_then(|_| self.tax(self.own(job).map(|(_, line)| &line.part))),
            merits,
            planned_minutes: outlook::planned_minutes(job, self.rules),
            why: Vec::new(),
            left: left(job, self.rules),
        })
    }

    /// One near miss for each check that put something aside. Where no build is left, each motor that could not do
    /// the ride comes first, with its way out.
    fn misses(&mut self, found: &Found) -> Vec<Miss> {
        let rules = self.rules;
        let none = found.builds.is_empty();
        let mut misses = Vec::new();
        for (check, times, pick) in found.aside.told(none) {
            let parts = self.parts(&pick);
            let check = find_check(check).expect("what put something aside is a check");
            let report = check::run(check, self.job(&pick), rules, Stage::Intake);
            let mut said = said(&report);
            let worst = report.findings.iter().find(|one| one.verdict == report.verdict);
            if let Some(way) = worst.and_then(|worst| worst.remedies.first()).filter(|_| none) {
                said.summary.push_str(&format!("; way out: {way}"));
            }
            misses.push(Miss { parts, times, said });
        }
        let order = |miss: &Miss| {
            let all = crate::checks::ALL.iter();
            let place = all.take_while(|check| check.id != miss.said.check).count();
            (none && !aside::RIDE.contains(&miss.said.check), place)
        };
        misses.sort_by_key(order);
        misses
    }
}

/// What the checks of intake and that of the budget say of a job short of a pass. The budget is judged when parts are bought;
/// who chooses wants to know before.
fn left(job: &Job, rules: &RuleSheet) -> Vec<Said> {
    let mut reports = gate::run(Stage::Intake, job, rules);
    reports.push(check::run(&money_budget::CHECK, job, rules, Stage::Parts));
    reports.retain(|report| !matches!(report.verdict, Verdict::Pass | Verdict::NotApplicable));
    reports.iter().map(said).collect()
}

fn said(report: &check::Report) -> Said {
    Said {
        check: report.check.id,
        verdict: report.verdict,
        summary: report.summary().to_owned(),
    }
}

fn nothing_of(kind: &str) -> Refusal {
    Refusal::new(
        Reason::NoSuchPart,
        format!("the catalogue has no {kind} to propose"),
    )
    .with("kind", kind)
    .hint("`lockring catalogue import FILE` adds parts")
}

#[cfg(test)]
mod tests;
