//! The search: cheapest first, so that whatever could beat a build has been looked at before.
//!
//! A core waits under the best that any build around it could be. Once that is beaten nothing
//! around it needs a look; until then it is built out, and its builds wait in turn. A build
//! that comes up unbeaten is judged by the checks of the ride, and only then.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};
use std::rc::Rc;

use crate::part::Slot;
use crate::propose::Tier;
use crate::propose::aside::{Aside, Build, RIDE};
use crate::propose::candidates::{NOTHING, Pick};
use crate::propose::core::{Around, Core, Gearings};
use crate::propose::merits::beats;
use crate::propose::shop::Shop;

/// Checks of the motor in the frame.
pub(super) const MOTOR: &[&str] = &[
    "frame.soundness",
    "donor.inspection",
    "shell.fit",
    "stay.predicted_gap",
    "dropout.fit",
];
/// Checks of the pack in the frame.
pub(super) const PACK: &[&str] = &["pack.space", "pack.bosses", "mass.carrier"];
/// Checks of a pack with a controller.
pub(super) const CURRENT: &[&str] = &[
    "pack.current",
    "pack.current_margin",
    "pack.c_rate",
    "pack.low_cutoff",
    "wiring.connector",
];
/// Checks of motor, controller and pack together. Those of volts are run again with a display.
pub(super) const VOLTS: &[&str] = &["pack.full_volts", "pack.headroom", "class.power"];

/// What a search found.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The builds that nothing beats, cheapest first.
    pub(super) builds: Vec<Build>,
    /// What was put aside.
    pub(super) aside: Aside,
}

/// What waits: a core before the builds of the same key.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Waiting {
    Core(usize),
    Build(Pick, usize),
}

/// The builds that nothing beats.
pub(super) fn unbeaten(shop: &mut Shop<'_>, tier: Tier) -> Found {
    let mut found = Found::default();
    let cores = cores(shop, tier, &mut found.aside);
    let mut builds: Vec<std::vec::IntoIter<Build>> = Vec::new();
    let mut ahead: Vec<Option<Build>> = Vec::new();
    let mut waiting = BinaryHeap::new();
    for (index, core) in cores.iter().enumerate() {
        waiting.push(Reverse((core.ideal, Waiting::Core(index))));
        builds.push(Vec::new().into_iter());
        ahead.push(None);
    }
    while let Some(Reverse((_, next))) = waiting.pop() {
        let index = match next {
            Waiting::Core(index) => {
                let around = cores[index].builds(shop, &found.builds, tier, &mut found.aside);
                builds[index] = around.into_iter();
                index
            }
            Waiting::Build(_, index) => {
                let build = ahead[index]
                    .take()
                    .expect("what waits is ahead of its core's builds");
                let beaten = found.builds.iter().any(|kept| beats(&kept.key, &build.key));
                if !beaten && !found.aside.rules_out(shop, RIDE, &build.pick, tier) {
                    found.builds.push(build);
                }
                index
            }
        };
        let unbeaten = |build: &Build| !found.builds.iter().any(|kept| beats(&kept.key, &build.key));
        if let Some(build) = builds[index].find(unbeaten) {
            waiting.push(Reverse((build.key, Waiting::Build(build.pick, index))));
            ahead[index] = Some(build);
        }
    }
    found
}

/// Motors that fit the frame, with controllers and packs that go with each other and with them.
fn cores(shop: &mut Shop<'_>, tier: Tier, aside: &mut Aside) -> Vec<Core> {
    let motors = fitting(shop, Slot::Motor, MOTOR, tier, aside);
    let packs = fitting(shop, Slot::Pack, PACK, tier, aside);
    let mut powers = Vec::new();
    for controller in shop.shelf.places(Slot::Controller, false) {
        for pack in &packs {
            let mut pick = *pack;
            pick[Slot::Controller as usize] = controller;
            if !aside.rules_out(shop, CURRENT, &pick, tier) {
                powers.push(pick);
            }
        }
    }
    let mut gearings: Vec<(Pick, Rc<Gearings>)> = Vec::new();
    let mut around: HashMap<Vec<u32>, Rc<Around>> = HashMap::new();
    let mut cores = Vec::new();
    for motor in motors {
        // Most motors take the same gearings.
        let known = gearings
            .iter()
            .find(|(like, _)| Gearings::same_for(shop, like, &motor));
        let geared = match known {
            Some((_, same)) => Rc::clone(same),
            None => Rc::new(Gearings::of(shop, &motor, tier, aside)),
        };
        gearings.push((motor, Rc::clone(&geared)));
        for power in &powers {
            let mut pick = *power;
            pick[Slot::Motor as usize] = motor[Slot::Motor as usize];
            if aside.rules_out(shop, VOLTS, &pick, tier) {
                continue;
            }
            let hung = match around.get(&Around::decided_by(shop, &pick)) {
                Some(same) => Rc::clone(same),
                None => {
                    let hung = Rc::new(Around::of(shop, &pick, tier, aside));
                    // Looking may have shown more that decides.
                    around.insert(Around::decided_by(shop, &pick), Rc::clone(&hung));
                    hung
                }
            };
            cores.extend(Core::of(shop, pick, &hung, &geared));
        }
    }
    cores
}

/// The parts of a slot that fit the frame by themselves.
fn fitting(
    shop: &mut Shop<'_>,
    slot: Slot,
    ids: &[&'static str],
    tier: Tier,
    aside: &mut Aside,
) -> Vec<Pick> {
    let mut fits = Vec::new();
    for place in shop.shelf.places(slot, false) {
        let mut pick = NOTHING;
        pick[slot as usize] = place;
        if !aside.rules_out(shop, ids, &pick, tier) {
            fits.push(pick);
        }
    }
    fits
}
