//! Motor, controller and pack, and everything that can be built around them.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::rc::Rc;

use lockring_calc::assist::Assist;
use lockring_calc::pack::Load;
use lockring_calc::performance::{self, DriveSystem, Gears, Place, Rider};
use lockring_calc::quantity::{Density, Grade, Speed};
use lockring_calc::road::RoadLoad;

use crate::assist::Help;
use crate::case::Case;
use crate::finding::Halt;
use crate::part::Slot;
use crate::prediction;
use crate::propose::Tier;
use crate::propose::aside::{Aside, Build};
use crate::propose::candidates::{NOTHING, Pick, may_be_empty, must_be_empty};
use crate::propose::merits::{Going, HILL, Key, beats, faster_than, key};
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
    "lights.load",
    "mass.gross",
    "mass.margin",
    "mass.tyres",
    "mass.wheels",
    "range.energy",
];
/// Checks of a ring and cogs.
pub(super) const COGS: &[&str] = &[
    "derailleur.capacity",
    "chainring.bolts",
    "chain.pull",
    "hub.cogs",
    "hub.torque",
    "chainline.predicted",
];
/// Checks of a ring and cogs with their chain.
pub(super) const CHAIN: &[&str] = &["chain.width"];
/// Checks of what hangs on a core, by the one more part they look at.
pub(super) const HANGS_ON: &[(Slot, &[&str])] = &[
    (
        Slot::Display,
        &[
            "cockpit.clamp",
            "cockpit.width",
            "pack.full_volts",
            "pack.headroom",
            "pack.low_window",
            "wiring.looms",
            "wiring.plugs",
        ],
    ),
    (Slot::Charger, &["pack.charger_match", "pack.charging"]),
    (
        Slot::PedalSensor,
        &["sensors.pedal", "class.power", "wiring.looms", "wiring.plugs"],
    ),
    (Slot::ShiftSensor, &[]),
    (
        Slot::TorqueArm,
        &["axle.arms", "fork.front_hub", "fork.signature"],
    ),
];
/// Checks of wear and brakes, which new parts may mend.
pub(super) const SERVICE: &[&str] = &[
    "donor.wear",
    "brakes.fitness",
    "brakes.size",
    "brakes.heat",
    "brakes.mount",
    "brakes.cut_sensors",
    "wiring.looms",
    "wiring.plugs",
];
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
    rings: Rings,
    inside: bool,
    cogs: Vec<u32>,
    set: Set,
}

/// Teeth of the ring, and of the smallest where there are several.
type Rings = (u32, Option<u32>);

/// Rings, and whether the gears inside the hub that came with the bicycle stay behind them.
type Behind = (Rings, bool);

/// All gearings of one motor.
pub(super) struct Gearings {
    all: Vec<Gearing>,
    /// Cogs that stand against the rings in any of them.
    by_rings: BTreeMap<Behind, BTreeSet<u32>>,
    /// A drive with the gears inside the hub, and one without; with the cassette's place that it has.
    drives: BTreeMap<bool, (Gears, u16)>,
}

impl Gearings {
    /// The gearings whose own checks hold. Those with the same teeth differ in nothing that a
    /// ride's check looks at, so only the cheapest and the soonest of them stay.
    pub(super) fn of(shop: &mut Shop<'_>, motor: &Pick, tier: Tier, aside: &mut Aside) -> Self {
        let mut same: BTreeMap<(Behind, Vec<u32>, bool, bool), Vec<Set>> = BTreeMap::new();
        let mut drives = BTreeMap::new();
        for ring in places(shop, Slot::Chainring, motor) {
            for cassette in places(shop, Slot::Cassette, motor) {
                let mut pick = *motor;
                pick[Slot::Chainring as usize] = ring;
                pick[Slot::Cassette as usize] = cassette;
                if aside.rules_out(shop, COGS, &pick, tier) {
                    continue;
                }
                let rules = shop.rules;
                let case = Case::new(shop.job(&pick), rules, Stage::Intake);
                let Ok(gears) = prediction::gears(&case) else {
                    continue;
                };
                let (rings, cogs) = ((gears.ring_teeth, gears.least_ring), gears.cogs.clone());
                let behind = (rings, !gears.hub_ratios.is_empty());
                drives.insert(behind.1, (gears, cassette));
                for chain in places(shop, Slot::Chain, &pick) {
                    let mut geared = pick;
                    geared[Slot::Chain as usize] = chain;
                    if aside.rules_out(shop, CHAIN, &geared, tier) {
                        continue;
                    }
                    geared[Slot::Motor as usize] = 0;
                    let like = (behind, cogs.clone(), chain > 0, cassette > 0);
                    same.entry(like).or_default().push(Set::of(shop, geared));
                }
            }
        }
        let mut gearings = Self {
            all: Vec::new(),
            by_rings: BTreeMap::new(),
            drives,
        };
        for ((behind, cogs, _, _), sets) in same {
            gearings.by_rings.entry(behind).or_default().extend(cogs.iter());
            gearings.all.extend(spare(sets).into_iter().map(|set| Gearing {
                rings: behind.0,
                inside: behind.1,
                cogs: cogs.clone(),
                set,
            }));
        }
        gearings
    }

    /// A core as its checks are to see it, with gears inside the hub and without: where there are both, what a cassette
    /// takes away from is looked at with one.
    fn seen_with(&self, core: &Pick) -> Vec<(bool, Pick)> {
        let both = self.drives.len() > 1;
        let seen = |(inside, (_, cassette)): (&bool, &(Gears, u16))| {
            let mut pick = *core;
            if both && !inside {
                pick[Slot::Cassette as usize] = *cassette;
            }
            (*inside, pick)
        };
        self.drives.iter().map(seen).collect()
    }

    /// Whether these are the gearings of another motor too: it has the same where those checks
    /// looked, and leaves the same slots empty.
    pub(super) fn same_for(shop: &Shop<'_>, one: &Pick, other: &Pick) -> bool {
        let slots = [Slot::Chainring, Slot::Cassette, Slot::Chain];
        let seen = |ids: &[&str], pick| shop.seen(ids, &[Slot::Motor], pick);
        let alike = |ids: &[&str]| seen(ids, one) == seen(ids, other);
        alike(COGS)
            && alike(CHAIN)
            && slots
                .iter()
                .all(|slot| places(shop, *slot, one) == places(shop, *slot, other))
    }
}

/// The worst hill as a core rides it.
struct Hill {
    system: DriveSystem,
    assist: Assist,
    rider: Rider,
    road: RoadLoad,
    rho: Density,
    grade: Grade,
    wished: f64,
}

/// The steepest grade that the hill is computed at, a ratio.
pub(super) fn steepest(case: &Case<'_>) -> Result<f64, Halt> {
    let grades = prediction::hill_grades(case)?;
    Ok(grades
        .iter()
        .map(|hill| hill.grade.value)
        .fold(f64::NEG_INFINITY, f64::max))
}

impl Hill {
    fn of(case: &Case<'_>) -> Result<Self, Halt> {
        Ok(Self {
            system: prediction::drive(case, Load::Sustained)?,
            assist: Help::of(case, None)?.assist,
            rider: prediction::rider(case, case.number("rider-power-hill")?.value),
            road: prediction::road(case, prediction::gross_mass(case)?.value)?,
            rho: prediction::air_density(case)?,
            grade: prediction::grade(steepest(case)?),
            wished: case.number("hill-speed")?.value,
        })
    }

    fn geared(&self, gears: Gears) -> DriveSystem {
        DriveSystem {
            gears,
            ..self.system.clone()
        }
    }

    /// Speed in each gear of a drive that goes faster than a floor, m/s, with it.
    fn above(&self, system: &DriveSystem, floor: f64) -> Vec<Option<Speed>> {
        let here = Place::still(self.rho, self.grade);
        let floor = Speed::from_si(floor);
        // A ring that the model cannot take climbs nothing.
        performance::speeds_above(system, self.assist, Some(&self.rider), &self.road, here, floor)
            .unwrap_or_default()
    }

    /// Speed of every cog with its rings that goes faster than a floor, m/s.
    fn speeds(&self, gearings: &Gearings, floor: f64) -> HashMap<(Behind, u32), f64> {
        let mut speeds: HashMap<_, f64> = HashMap::new();
        for (behind, cogs) in &gearings.by_rings {
            let ((ring_teeth, least_ring), inside) = *behind;
            let system = self.geared(Gears {
                ring_teeth,
                least_ring,
                cogs: cogs.iter().copied().collect(),
                ..gearings.drives[&inside].0.clone()
            });
            let above = self.above(&system, floor);
            for (engaged, speed) in system.gears.all().zip(above) {
                let Some(speed) = speed else { continue };
                let fastest = speeds.entry((*behind, engaged.cog)).or_default();
                *fastest = fastest.max(speed.si());
            }
        }
        speeds
    }
}

/// Speed on the worst hill with the gears of the case's own build, and what the brief asks for, both m/s.
pub(super) fn hill_of(case: &Case<'_>) -> Result<(f64, f64), Halt> {
    let hill = Hill::of(case)?;
    let speeds = hill.above(&hill.system, 0.0).into_iter().flatten();
    Ok((speeds.map(Speed::si).fold(0.0, f64::max), hill.wished))
}

/// Display, charger and whatever else hangs on a core by itself.
pub(super) struct Around {
    sets: Vec<Set>,
}

impl Around {
    /// What goes with a core, of equals only the cheapest and the soonest.
    pub(super) fn of(shop: &mut Shop<'_>, core: &Pick, tier: Tier, aside: &mut Aside) -> Self {
        let mut around = vec![Set::of(shop, NOTHING)];
        for (slot, ids) in HANGS_ON {
            let mut sets = Vec::new();
            for place in places(shop, *slot, core) {
                let mut pick = *core;
                pick[*slot as usize] = place;
                if !aside.rules_out(shop, ids, &pick, tier) {
                    sets.push(only(shop, *slot, place));
                }
            }
            around = spare(each_with_each(&around, &spare(sets)));
        }
        Self { sets: around }
    }

    /// What decides about them: the values that their checks have looked at in a core, and which
    /// slots its motor leaves empty.
    pub(super) fn decided_by(shop: &Shop<'_>, core: &Pick) -> Vec<u32> {
        let mut decided = Vec::new();
        for (slot, ids) in HANGS_ON {
            decided.extend(shop.seen(ids, &[Slot::Motor, Slot::Controller, Slot::Pack], core));
            let (must, may) = emptiness(shop, *slot, core);
            decided.push(u32::from(must) + 2 * u32::from(may));
        }
        decided
    }
}

/// Motor, controller and pack.
pub(super) struct Core {
    /// Their places.
    pub(super) pick: Pick,
    /// What no build around them can be ahead of; the hill is not known yet.
    pub(super) ideal: Key,
    /// With gears inside the hub and without.
    going: BTreeMap<bool, Going>,
    around: Rc<Around>,
    gearings: Rc<Gearings>,
}

impl Core {
    /// What can be said before the hill; `None` where nothing goes with them or nothing drives.
    pub(super) fn of(
        shop: &mut Shop<'_>,
        pick: Pick,
        around: &Rc<Around>,
        gearings: &Rc<Gearings>,
    ) -> Option<Self> {
        let least = |sets: &mut dyn Iterator<Item = &Set>| {
            sets.map(|set| (set.price, set.days))
                .reduce(|one, other| (one.0.min(other.0), one.1.min(other.1)))
        };
        let hung = least(&mut around.sets.iter())?;
        let geared = least(&mut gearings.all.iter().map(|one| &one.set))?;
        let rules = shop.rules;
        let mut going = BTreeMap::new();
        for (inside, seen) in gearings.seen_with(&pick) {
            let of = Going::of(&Case::new(shop.job(&seen), rules, Stage::Intake)).ok()?;
            going.insert(inside, of);
        }
        let (price, days) = shop.shelf.cost(&pick);
        let cost = (price + hung.0 + geared.0, days.max(hung.1).max(geared.1));
        let keys = going
            .values()
            .map(|going| key(&going.merits(cost, 0.0, 0.0), cost));
        let mut ideal = keys.reduce(|mut best, other| {
            for (best, other) in best.iter_mut().zip(other) {
                *best = (*best).min(other);
            }
            best
        })?;
        ideal[HILL] = i64::MIN;
        Some(Self {
            pick,
            ideal,
            going,
            around: Rc::clone(around),
            gearings: Rc::clone(gearings),
        })
    }

    /// Every build around them that meets the hill, is faster on it than those that beat them
    /// everywhere else, and whose checks of fit, volts and brakes hold; in the order of keys.
    pub(super) fn builds(
        &self,
        shop: &mut Shop<'_>,
        kept: &[Build],
        tier: Tier,
        aside: &mut Aside,
    ) -> Vec<Build> {
        let Some(hill) = self.hill(shop) else {
            return Vec::new();
        };
        let ahead = kept.iter().filter(|kept| {
            let mut elsewhere = kept.key;
            elsewhere[HILL] = i64::MIN;
            beats(&elsewhere, &self.ideal)
        });
        let to_beat = ahead.map(|kept| kept.key[HILL]).min();
        let floor = to_beat.map_or(0.0, |key| faster_than(key, hill.wished));
        // A hair lower, so that a build on the very step is not lost.
        let floor = floor.max(hill.wished) * (1.0 - 1e-9);
        let speeds = hill.speeds(&self.gearings, floor);
        if speeds.is_empty() {
            if to_beat.is_none() {
                aside.note(shop, "hill.climb_speed", self.cheapest(shop));
            }
            return Vec::new();
        }
        let mut stand = BTreeSet::new();
        for (inside, seen) in self.gearings.seen_with(&self.pick) {
            if !aside.rules_out(shop, CORE, &seen, tier) {
                stand.insert(inside);
            }
        }
        if stand.is_empty() {
            return Vec::new();
        }
        let own = Set::of(shop, self.pick);
        let around: Vec<Set> = self.around.sets.iter().map(|set| set.with(&own)).collect();
        let mut serviced: HashMap<(bool, bool, bool), Vec<Set>> = HashMap::new();
        let mut builds = Vec::new();
        let stands = |gearing: &&Gearing| stand.contains(&gearing.inside);
        for gearing in self.gearings.all.iter().filter(stands) {
            let behind = (gearing.rings, gearing.inside);
            let speed = |cog: &u32| speeds.get(&(behind, *cog)).copied().unwrap_or(0.0);
            let fastest = gearing.cogs.iter().map(speed).fold(0.0, f64::max);
            if fastest < hill.wished {
                continue;
            }
            let new = |slot: Slot| gearing.set.pick[slot as usize];
            let (chain, cassette) = (new(Slot::Chain), new(Slot::Cassette));
            // A brake inside the hub goes where several cogs take the hub's place.
            let chosen = shop.shelf.chosen(Slot::Cassette, &gearing.set.pick);
            let several = chosen.is_some_and(|cassette| prediction::has_several_cogs(&cassette.part));
            let service = serviced
                .entry((chain > 0, cassette > 0, several))
                .or_insert_with(|| self.service(shop, chain, cassette, tier, aside));
            for set in each_with_each(&around, service) {
                let set = set.with(&gearing.set);
                let cost = (set.price, set.days);
                let merits = self.going[&gearing.inside].merits(cost, fastest, hill.wished);
                let key = key(&merits, cost);
                if !kept.iter().any(|kept| beats(&kept.key, &key)) {
                    builds.push(Build {
                        pick: set.pick,
                        key,
                        merits,
                    });
                }
            }
        }
        builds.sort_by_key(|build| (build.key, build.pick));
        builds
    }

    fn hill(&self, shop: &mut Shop<'_>) -> Option<Hill> {
        let (rules, geared) = (shop.rules, self.cheapest(shop));
        Hill::of(&Case::new(shop.job(&geared), rules, Stage::Intake)).ok()
    }

    /// Them with their cheapest gears.
    fn cheapest(&self, shop: &Shop<'_>) -> Pick {
        let own = Set::of(shop, self.pick);
        let gears = self.gearings.all.iter().map(|gearing| &gearing.set).min();
        gears.map_or(self.pick, |gears| own.with(gears).pick)
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
        let mut sets = vec![Set::of(shop, NOTHING)];
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
    let mut pick = NOTHING;
    pick[slot as usize] = place;
    Set::of(shop, pick)
}

/// Places of a slot that go with a motor.
pub(super) fn places(shop: &Shop<'_>, slot: Slot, pick: &Pick) -> Vec<u16> {
    match emptiness(shop, slot, pick) {
        (true, _) => vec![0],
        (false, empty) => shop.shelf.places(slot, empty).collect(),
    }
}

/// Whether a slot must stay empty with a motor, and whether it may.
fn emptiness(shop: &Shop<'_>, slot: Slot, pick: &Pick) -> (bool, bool) {
    let motor = shop.shelf.chosen(Slot::Motor, pick);
    let motor = &motor.expect("a motor is chosen before what hangs on it").part;
    // A new cassette runs with a new chain (common practice, no source).
    let chain_goes_too = slot == Slot::Chain
        && shop.shelf.chosen(Slot::Cassette, pick).is_some()
        && !shop.shelf.slot(Slot::Chain).is_empty();
    (
        must_be_empty(slot, motor),
        may_be_empty(slot, motor, shop.bare(), &shop.shelf) && !chain_goes_too,
    )
}
