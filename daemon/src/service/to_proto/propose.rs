//! Proposed builds, in the contract's words and units.

use lockring_domain::command::labour_rate;
use lockring_domain::job::Job;
use lockring_domain::labour::at_rate;
use lockring_domain::part::Slot;
use lockring_domain::propose::{Merits, Miss, Proposal, Proposals, Said, Tier};
use lockring_domain::rules::RuleSheet;
use lockring_domain::tax::TaxRate;
use lockring_domain::unit::{self, Kind};
use lockring_proto::v1;

/// The proposals, with the tax in their prices where the job has a rate.
pub(in crate::service) fn propose(
    job: &Job,
    proposals: &Proposals,
    rules: &RuleSheet,
    tax: Option<TaxRate>,
) -> v1::ProposeReply {
    v1::ProposeReply {
        job: job.number,
        revision: job.revision,
        leaves: leaves(proposals.tier).to_owned(),
        unbeaten: count(proposals.unbeaten),
        proposals: proposals
            .kept
            .iter()
            .map(|one| proposal(one, rules, tax))
            .collect(),
        everywhere: proposals.everywhere.iter().map(said).collect(),
        misses: proposals.misses.iter().map(miss).collect(),
        stays: assignments(&proposals.stays),
        bought: assignments(&proposals.bought),
        present: proposals.present.as_ref().map(|one| proposal(one, rules, tax)),
        hill_percent: 100.0 * proposals.hill_grade,
    }
}

const fn leaves(tier: Tier) -> &'static str {
    match tier {
        Tier::Clear => "nothing",
        Tier::Conceded => "cautions",
        Tier::Tolerated => "cautions of the ride",
    }
}

fn proposal(proposal: &Proposal, rules: &RuleSheet, tax: Option<TaxRate>) -> v1::Proposal {
    let planned_labour = at_rate(labour_rate(rules), proposal.planned_minutes);
    let Merits {
        price,
        mass,
        range,
        rider_alone,
        range_margin,
        hill_speed,
        hill_margin,
        days,
    } = proposal.merits;
    let kilometres = |metres| unit::from_si(Kind::Length, "km", metres);
    let kmh = |speed| unit::from_si(Kind::Speed, "km/h", speed);
    let mut parts = assignments(&proposal.parts);
    parts.extend(proposal.emptied.iter().map(|slot| assignment(*slot, "none")));
    v1::Proposal {
        parts,
        price_minor: price,
        tax_minor: proposal.tax.map(|tax| tax.0),
        mass_kg: mass,
        // No distance empties the pack then: what the brief asks is all there is to say.
        range_km: kilometres(if rider_alone { range - range_margin } else { range }),
        range_margin_km: if rider_alone {
            0.0
        } else {
            kilometres(range_margin)
        },
        rider_alone,
        hill_kmh: kmh(hill_speed),
        hill_margin_kmh: kmh(hill_margin),
        days: days.and_then(|days| u32::try_from(days).ok()),
        why: proposal.why.clone(),
        short: proposal.left.iter().map(said).collect(),
        planned_minutes: u32::try_from(proposal.planned_minutes).unwrap_or_default(),
        planned_labour: planned_labour.0,
        planned_labour_tax: tax.map_or(0, |rate| rate.tax_in(planned_labour).0),
    }
}

fn miss(miss: &Miss) -> v1::NearMiss {
    v1::NearMiss {
        parts: assignments(&miss.parts),
        times: count(miss.times),
        short: Some(said(&miss.said)),
    }
}

fn said(said: &Said) -> v1::GearingShort {
    v1::GearingShort {
        check: said.check.to_owned(),
        verdict: said.verdict.word().to_owned(),
        summary: said.summary.clone(),
    }
}

fn assignments(parts: &[(Slot, String)]) -> Vec<v1::Assignment> {
    let parts = parts.iter();
    parts.map(|(slot, part)| assignment(*slot, part)).collect()
}

fn assignment(slot: Slot, part: &str) -> v1::Assignment {
    v1::Assignment {
        field: slot.word().to_owned(),
        value: part.to_owned(),
    }
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
