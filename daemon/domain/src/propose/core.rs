//! Motor, controller and pack, and everything that can be built around them.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use lockring_calc::pack::Load;
use lockring_calc::performance::{self, DriveSystem, Rider};
use lockring_calc::quantity::{Density, Grade, Speed};
use lockring_calc::road::RoadLoad;

use crate::case::Case;
use crate::finding::Halt;
use crate::part::Slot;
use crate::prediction;
use crate::propose::Tier;
use crate::propose::candidates::{Pick, may_be_empty, must_be_empty};
use crate::propose::merits::{Going, Key, key};
use crate::propose::search::{Aside, Build};
use crate::propose::shop::Shop;
use crate::stage::Stage;

/// Checks that look at motor, controller and pack, and at what the bicycle is without them.
pub(super) const CORE: &[&str] = &[
    "class.throttle",
    "class.assist_speed",
    "class.rider_age",
    "donor.wheels",
    "wheel.rim_tyre",
    "lights.supply",
    "mass.gross",
    "mass.margin",
    "mass.tyres",
    "range.energy",
];
/// Checks of a ring and cogs with their chain.
pub(super) const GEARS: &[&str] = &["derailleur.capacity", "chain.width"];
/// Checks of what hangs on one more part, by that part.
pub(super) const HANGS_ON: &[(Slot, &[&str])] = &[
    (
        Slot::Display,
        &[
            "cockpit.clamp",
            "pack.full_volts",
            "pack.headroom",
            "pack.low_window",
        ],
    ),
    (Slot::Charger, &["pack.charger_match"]),
    (Slot::PedalSensor, &[]),
    (Slot::ShiftSensor, &[]),
    (Slot::TorqueArm, &["fork.front_hub", "fork.signature"]),
];
/// Checks of wear and brakes, which new parts may mend.
pub(super) const SERVICE: &[&str] = &["donor.wear", "brakes.fitness", "brakes.size", "brakes.heat"];
const BRAKES: [Slot; 3] = [Slot::BrakeSet, Slot::RotorFront, Slot::RotorRear];

/// Parts for some slots with what they cost together.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Set {
    price: i64,
    days: i64,
    pick: Pick,
}

impl Set {
    fn of(shop: &Shop<'_>, pick: Pick) -> Self {
        let (price, days) = shop.shelf.cost(&pick);
        Self { price, days, pick }
    }

    fn with(&self, other: &Self) -> Self {
        let mut pick = self.pick;
        for (place, more) in pick.iter_mut().zip(other.pick) {
            *place += more;
        }
        Self {
            price: self.price + other.price,
            days: self.days.max(other.days),
            pick,
        }
    }
}

/// Of sets that differ in nothing but price and days those that are not beaten on both.
fn spare(mut sets: Vec<Set>) -> Vec<Set> {
    sets.sort();
    let mut soonest = i64::MAX;
    sets.retain(|set| {
        let sooner = set.days < soonest;
        soonest = soonest.min(set.days);
        sooner
    });
    sets
}

fn each_with_each(left: &[Set], right: &[Set]) -> Vec<Set> {
    let pairs = left
        .iter()
        .flat_map(|one| right.iter().map(|more| one.with(more)));
    pairs.collect()
}

/// Ring, cogs and chain that go with a motor.
struct Gearing {
    ring: u32,
    cogs: Vec<u32>,
    set: Set,
}

/// All gearings of one motor.
pub(super) struct Gearings {
    all: Vec<Gearing>,
    /// Cogs that stand against each ring in any of them.
    by_ring: BTreeMap<u32, BTreeSet<u32>>,
}

impl Gearings {
    /// The gearings whose own checks hold. Those with the same teeth differ in nothing that a
    /// ride's check looks at, so only the cheapest and the soonest of them stay.
    pub(super) fn of(shop: &mut Shop<'_>, motor: &Pick, tier: Tier, aside: &mut Aside) -> Self {
        let mut same: BTreeMap<(u32, Vec<u32>, bool, bool), Vec<Set>> = BTreeMap::new();
        for ring in places(shop, Slot::Chainring, motor) {
            for cassette in places(shop, Slot::Cassette, motor) {
                for chain in places(shop, Slot::Chain, motor) {
                    let mut pick = *motor;
                    pick[Slot::Chainring as usize] = ring;
                    pick[Slot::Cassette as usize] = cassette;
                    pick[Slot::Chain as usize] = chain;
                    if aside.rules_out(shop, GEARS, &pick, tier) {
                        continue;
                    }
                    let rules = shop.rules;
                    let case = Case::new(shop.job(&pick), rules, Stage::Intake);
                    let Ok((ring_teeth, cogs)) = prediction::teeth(&case) else {
                        continue;
                    };
                    pick[Slot::Motor as usize] = 0;
                    let set = Set::of(shop, pick);
                    let like = (ring_teeth, cogs, chain > 0, cassette > 0);
                    same.entry(like).or_default().push(set);
                }
            }
        }
        let mut gearings = Self {
            all: Vec::new(),
            by_ring: BTreeMap::new(),
        };
        for ((ring, cogs, _, _), sets) in same {
            gearings.by_ring.entry(ring).or_default().extend(cogs.iter());
            gearings.all.extend(spare(sets).into_iter().map(|set| Gearing {
                ring,
                cogs: cogs.clone(),
                set,
            }));
        }
        gearings
    }

    fn any(&self) -> Option<&Gearing> {
        self.all.first()
    }
}

/// The worst hill as a core rides it.
struct Hill {
    system: DriveSystem,
    rider: Rider,
    road: RoadLoad,
    rho: Density,
    grade: Grade,
    wished: f64,
}

impl Hill {
    fn of(case: &Case<'_>) -> Result<Self, Halt> {
        let grades = prediction::hill_grades(case)?;
        let steepest = grades
            .iter()
            .map(|hill| hill.grade.value)
            .fold(f64::NEG_INFINITY, f64::max);
        Ok(Self {
            system: prediction::drive(case, Load::Sustained)?,
            rider: prediction::rider(case, case.number("rider-power-hill")?.value),
            road: prediction::road(case, prediction::gross_mass(case)?.value)?,
            rho: prediction::air_density(case)?,
            grade: prediction::grade(steepest),
            wished: case.number("hill-speed")?.value,
        })
    }

    fn geared(&self, ring: u32, cogs: Vec<u32>) -> DriveSystem {
        let mut system = self.system.clone();
        system.gears.ring_teeth = ring;
        system.gears.cogs = cogs;
        system
    }

    /// Speed in the best gear of any gearing, m/s, a hair above; 0 where the model has none.
    fn best(&self, gearings: &Gearings) -> f64 {
        let rings = gearings.by_ring.iter();
        let best = rings.fold(Speed::ZERO, |best, (ring, cogs)| {
            let system = self.geared(*ring, cogs.iter().copied().collect());
            performance::fastest_above(&system, Some(&self.rider), &self.road, self.rho, self.grade, best)
                .unwrap_or(best)
        });
        best.si() * (1.0 + 1e-9)
    }

    /// Speed of every ring against every cog, m/s.
    fn speeds(&self, gearings: &Gearings) -> HashMap<(u32, u32), f64> {
        let mut speeds = HashMap::new();
        for (ring, cogs) in &gearings.by_ring {
            let system = self.geared(*ring, cogs.iter().copied().collect());
            // A ring that the model cannot take climbs nothing.
            let climbs =
                performance::speed_by_gear(&system, Some(&self.rider), &self.road, self.rho, self.grade)
                    .unwrap_or_default();
            speeds.extend(
                system
                    .gears
                    .cogs
                    .iter()
                    .zip(climbs)
                    .map(|(cog, climb)| ((*ring, *cog), climb.speed.si())),
            );
        }
        speeds
    }
}

/// Motor, controller and pack.
pub(super) struct Core {
    /// Their places.
    pub(super) pick: Pick,
    /// What no build around them can be ahead of.
    pub(super) ideal: Key,
    going: Going,
    hill: Hill,
}

impl Core {
    /// What can be computed before anything is built around them; `None` where nothing drives.
    pub(super) fn of(shop: &mut Shop<'_>, pick: Pick, gearings: &Gearings) -> Option<Self> {
        let any = gearings.any()?;
        let geared = Set::of(shop, pick).with(&any.set).pick;
        let rules = shop.rules;
        let case = Case::new(shop.job(&geared), rules, Stage::Intake);
        let (going, hill) = (Going::of(&case).ok()?, Hill::of(&case).ok()?);
        let cost = shop.shelf.cost(&pick);
        let merits = going.merits(cost, hill.best(gearings), hill.wished);
        Some(Self {
            pick,
            ideal: key(&merits, cost),
            going,
            hill,
        })
    }

    /// Every build around them that meets the hill and whose checks of fit, volts and brakes
    /// hold, in the order of their keys.
    pub(super) fn builds(
        &self,
        shop: &mut Shop<'_>,
        gearings: &Gearings,
        tier: Tier,
        aside: &mut Aside,
    ) -> Vec<Build> {
        if aside.rules_out(shop, CORE, &self.pick, tier) {
            return Vec::new();
        }
        let mut around = vec![Set::of(shop, self.pick)];
        for (slot, ids) in HANGS_ON {
            let mut sets = Vec::new();
            for place in places(shop, *slot, &self.pick) {
                let mut pick = self.pick;
                pick[*slot as usize] = place;
                if !aside.rules_out(shop, ids, &pick, tier) {
                    sets.push(only(shop, *slot, place));
                }
            }
            around = spare(each_with_each(&around, &spare(sets)));
        }
        let speeds = self.hill.speeds(gearings);
        let mut serviced: HashMap<(bool, bool), Vec<Set>> = HashMap::new();
        let mut builds = Vec::new();
        for gearing in &gearings.all {
            let speed = |cog: &u32| speeds.get(&(gearing.ring, *cog)).copied().unwrap_or(0.0);
            let hill = gearing.cogs.iter().map(speed).fold(0.0, f64::max);
            if hill < self.hill.wished {
                let pick = around.first().map(|set| set.with(&gearing.set).pick);
                aside.note(shop, "hill.climb_speed", pick.unwrap_or(self.pick));
                continue;
            }
            let new = |slot: Slot| gearing.set.pick[slot as usize];
            let (chain, cassette) = (new(Slot::Chain), new(Slot::Cassette));
            let service = serviced
                .entry((chain > 0, cassette > 0))
                .or_insert_with(|| self.service(shop, chain, cassette, tier, aside));
            for set in each_with_each(&around, service) {
                let set = set.with(&gearing.set);
                let cost = (set.price, set.days);
                let merits = self.going.merits(cost, hill, self.hill.wished);
                builds.push(Build {
                    pick: set.pick,
                    key: key(&merits, cost),
                    merits,
                });
            }
        }
        builds.sort_by(|a, b| (a.key, a.pick).cmp(&(b.key, b.pick)));
        builds
    }

    /// New brakes and rotors that do, none being the first tried; only the cheapest and the
    /// soonest of them.
    fn service(
        &self,
        shop: &mut Shop<'_>,
        chain: u16,
        cassette: u16,
        tier: Tier,
        aside: &mut Aside,
    ) -> Vec<Set> {
        let mut sets = vec![Set::of(shop, [0; Slot::ALL.len()])];
        for slot in BRAKES {
            let more: Vec<Set> = places(shop, slot, &self.pick)
                .into_iter()
                .map(|place| only(shop, slot, place))
                .collect();
            sets = each_with_each(&sets, &more);
        }
        sets.sort();
        let mut soonest = i64::MAX;
        sets.retain(|set| {
            if set.days >= soonest {
                return false;
            }
            let mut pick = set.with(&Set::of(shop, self.pick)).pick;
            pick[Slot::Chain as usize] = chain;
            pick[Slot::Cassette as usize] = cassette;
            if aside.rules_out(shop, SERVICE, &pick, tier) {
                return false;
            }
            soonest = set.days;
            true
        });
        sets
    }
}

/// One part alone.
fn only(shop: &Shop<'_>, slot: Slot, place: u16) -> Set {
    let mut pick = [0; Slot::ALL.len()];
    pick[slot as usize] = place;
    Set::of(shop, pick)
}

/// Places of a slot that go with a motor.
pub(super) fn places(shop: &Shop<'_>, slot: Slot, pick: &Pick) -> Vec<u16> {
    let motor = shop.shelf.chosen(Slot::Motor, pick);
    let motor = &motor.expect("a motor is chosen before what hangs on it").part;
    if must_be_empty(slot, motor) {
        return vec![0];
    }
    let empty = may_be_empty(slot, motor, shop.bare(), &shop.shelf);
    shop.shelf.places(slot, empty).collect()
}
