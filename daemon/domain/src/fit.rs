//! The fit page: everything known about whether the parts fit, and what a change would do.
//!
//! The page runs the checks of fit with all that is known, whatever the stage. A change is
//! tried on a copy of the job and never stored: another part, a spacer, another reading. What
//! a ring or a spacer moves is moved with it (chainline, gaps, stack), so that the price of a
//! cure elsewhere is on the same page.

use crate::check::{self, Report};
use crate::command::{Desk, Typed, find_check};
use crate::job::Job;

mod cures;
mod trial;
pub use cures::{Cure, Effect, Turn, cures};
pub(crate) use trial::Bench;
pub use trial::{Trial, what_if};

/// The topics of the page with their checks, in bench order.
const TOPICS: &[(&str, &[&str])] = &[
    (
        "frame and wear",
        &[
            "frame.soundness",
            "donor.wear",
            "donor.wheels",
            "donor.inspection",
        ],
    ),
    (
        "bottom bracket and motor",
        &[
            "shell.fit",
            "stay.predicted_gap",
            "shell.stack",
            "clearance.motor_and_ring",
            "pedal.offset",
            "pedal.lean",
            "pedal.toe",
        ],
    ),
    (
        "rear end, fork and axle",
        &["dropout.fit", "fork.front_hub", "fork.signature", "axle.reaction"],
    ),
    (
        "chainline",
        &["chainline.predicted", "chainline.centre", "chainline.cog_angles"],
    ),
    (
        "chain and gears",
        &[
            "chain.length",
            "chain.width",
            "chain.slack",
            "chain.pull",
            "hub.cogs",
            "hub.torque",
            "chainring.bolts",
            "derailleur.capacity",
            "sensors.shift",
        ],
    ),
    (
        "wheels",
        &[
            "wheel.rim_tyre",
            "wheel.circumference",
            "wheel.clearances",
            "wheel.spokes",
            "wheel.true",
            "tyre.pressure",
            "mass.tyres",
        ],
    ),
    (
        "brakes",
        &[
            "brakes.fitness",
            "brakes.size",
            "brakes.mount",
            "brakes.heat",
            "brakes.pitch_over",
            "brakes.cut_sensors",
        ],
    ),
    (
        "mass",
        &[
            "mass.gross",
            "mass.margin",
            "mass.as_weighed",
            "mass.axles",
            "mass.carrier",
            "mass.wheels",
        ],
    ),
    (
        "volts and amperes",
        &[
            "pack.full_volts",
            "pack.headroom",
            "pack.current",
            "pack.current_margin",
            "pack.c_rate",
            "pack.charger_match",
            "pack.low_cutoff",
            "pack.low_window",
            "pack.charging",
            "lights.supply",
            "lights.load",
            "pack.insulation",
            "pack.fuse",
            "pack.precharge",
            "wiring.connector",
            "wiring.leads",
            "wiring.plugs",
        ],
    ),
    (
        "pack and cockpit",
        &[
            "pack.space",
            "pack.bosses",
            "cockpit.clamp",
            "cockpit.width",
            "wiring.looms",
            "sensors.pedal",
        ],
    ),
    ("fasteners", &["torque.list"]),
];

/// What a change does to the ride: no matter of fit, and the reason for most changes of gears.
const RIDE: (&str, &[&str]) = (
    "hill and speed",
    &["hill.climb_speed", "hill.restart", "speed.top"],
);

/// One topic of the page.
#[derive(Debug, Clone)]
pub struct Topic {
    /// What it is about.
    pub title: &'static str,
    /// What its checks say.
    pub reports: Vec<Report>,
}

/// The page as things are.
pub fn page(job: &Job, desk: &Desk<'_>) -> Vec<Topic> {
    topics(TOPICS, job, desk)
}

fn topics(of: &[(&'static str, &[&str])], job: &Job, desk: &Desk<'_>) -> Vec<Topic> {
    of.iter()
        .map(|(title, ids)| Topic {
            title,
            reports: ids.iter().map(|id| say(id, job, desk)).collect(),
        })
        .collect()
}

/// Changes as they are typed after `--what-if`.
pub(crate) fn typed(changes: &[Typed]) -> String {
    let pairs: Vec<String> = changes
        .iter()
        .map(|typed| format!("{}={}", typed.field, typed.text))
        .collect();
    pairs.join(",")
}

/// What a check says with all that is known: at the last gate it belongs to.
pub(crate) fn say(id: &str, job: &Job, desk: &Desk<'_>) -> Report {
    let check = find_check(id).expect("the lists name checks that exist");
    let last = check.gates.iter().copied().max().unwrap_or(job.stage);
    check::run(check, job, desk.rules, last)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{longtail, with_desk};

    #[test]
    fn the_page_shows_every_check_of_fit_once() {
        let topics = with_desk(|desk| page(&longtail().job, desk));
        let ids: Vec<&str> = topics
            .iter()
            .flat_map(|topic| topic.reports.iter().map(|report| report.check.id))
            .collect();
        let mut unique = ids.clone();
        unique.sort_unstable();
        unique.dedup();
        assert_eq!(unique.len(), ids.len());
        assert_eq!(ids.len(), TOPICS.iter().map(|(_, ids)| ids.len()).sum::<usize>());
    }
}
