//! Builds that a search looks at, and what it put aside.

use std::collections::BTreeMap;

use crate::part::Slot;
use crate::propose::Tier;
use crate::propose::candidates::Pick;
use crate::propose::merits::{Key, Merits};
use crate::propose::shop::Shop;

/// Checks of the ride, the dear ones last, after that of what shifts under its power: it asks for cogs and sensor together.
pub(super) const RIDE: &[&str] = &[
    "sensors.shift",
    "hill.restart",
    "speed.top",
    "speed.motor_alone",
    "hill.climb_speed",
];

/// A build that can be judged.
#[derive(Debug, Clone)]
pub(super) struct Build {
    pub(super) pick: Pick,
    pub(super) key: Key,
    pub(super) merits: Merits,
}

/// What was put aside: for each check how often, and the cheapest with its price; for a check of the ride each
/// motor by itself.
#[derive(Debug, Default)]
pub(super) struct Aside(BTreeMap<(&'static str, usize), (usize, i64, Pick)>);

impl Aside {
    /// Whether a check rules parts out; it is noted then.
    pub(super) fn rules_out(
        &mut self,
        shop: &mut Shop<'_>,
        ids: &[&'static str],
        pick: &Pick,
        tier: Tier,
    ) -> bool {
        match shop.against(ids, pick, tier) {
            Some(id) => {
                self.note(shop, id, *pick);
                true
            }
            None => false,
        }
    }

    /// Notes parts that a check put aside.
    pub(super) fn note(&mut self, shop: &Shop<'_>, id: &'static str, pick: Pick) {
        let (price, _) = shop.shelf.cost(&pick);
        let motor = if RIDE.contains(&id) {
            usize::from(pick[Slot::Motor as usize])
        } else {
            0
        };
        let entry = self.0.entry((id, motor)).or_insert((0, price, pick));
        entry.0 += 1;
        if (price, pick) < (entry.1, entry.2) {
            (entry.1, entry.2) = (price, pick);
        }
    }

    /// What a check put aside of each motor, or of all of them together.
    pub(super) fn told(&self, each_motor: bool) -> Vec<(&'static str, usize, Pick)> {
        let mut told: Vec<(&'static str, (usize, i64, Pick))> = Vec::new();
        for ((check, _), more) in &self.0 {
            match told.last_mut().filter(|(last, _)| last == check && !each_motor) {
                Some((_, all)) => {
                    all.0 += more.0;
                    if (more.1, more.2) < (all.1, all.2) {
                        (all.1, all.2) = (more.1, more.2);
                    }
                }
                None => told.push((*check, *more)),
            }
        }
        told.into_iter()
            .map(|(check, (times, _, pick))| (check, times, pick))
            .collect()
    }
}
