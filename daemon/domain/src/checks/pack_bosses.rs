//! `pack.bosses`: the holes or slots of a pack's rail over the bottle bosses of the down tube.

use lockring_calc::doubt::{FitError, Limit};
use lockring_calc::pack_space::{self, BOSS_SPACING_MM, Mount, PackSize, Slot as RailSlot};
use lockring_calc::quantity::Length;

use super::pack_space::{Opening, mounted};
use crate::block::Family;
use crate::case::{Case, Known, PartView};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Rail and bosses.
pub static CHECK: Check = Check {
    id: "pack.bosses",
    title: "pack's rail on the bottle bosses",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Fit,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "distances and the open triangle: elementary geometry; 1 mm that bolt and hole forgive: workshop \
             judgement, it only cautions; 5 mm of a bolt: common practice; 64 mm between two bosses: from memory",
    run,
};

const BOSSES: [&str; 3] = ["boss-lower", "boss-upper", "boss-third"];
const HOLES: [&str; 2] = ["hole-lower", "hole-upper"];

fn run(case: &Case<'_>) -> Outcome {
    let Some(pack) = case.optional_part(Slot::Pack) else {
        return Halt::not_applicable("no pack is chosen: pack.full_volts asks for one");
    };
    if let Some(place @ ("rack" | "elsewhere")) = pack.optional_word("place") {
        return Halt::not_applicable(format!("the pack's place is the catalogue's `{place}`"));
    }
    let bosses_known = BOSSES.iter().any(|code| case.knows(code));
    let holes_known = HOLES.iter().any(|key| pack.optional_number(key).is_some());
    if !bosses_known && !holes_known {
        return Halt::not_applicable("neither the bosses nor the holes of the rail were measured");
    }
    let (bosses, slots) = (bosses(case), slots(&pack));
    let (bosses, slots) = match (bosses, slots) {
        (Ok(bosses), Ok(slots)) => (bosses, slots),
        (bosses, slots) => return Err(both(bosses.err(), slots.err())),
    };
    let pitch = pitch(case, &bosses, &slots)?;
    let meets = pitch.verdict != Verdict::Fail;
    let mut findings = vec![pitch];
    if meets {
        findings.extend(place(case, &pack, &bosses, &slots)?);
    }
    Ok(findings)
}

/// All that is missing at once.
fn both(one: Option<Halt>, other: Option<Halt>) -> Halt {
    let missing: Vec<Missing> = [one, other]
        .into_iter()
        .flatten()
        .filter_map(|halt| match halt {
            Halt::Open(missing) => Some(missing),
            Halt::NotApplicable(_) => None,
        })
        .flatten()
        .collect();
    Halt::Open(missing)
}

/// The bosses from the lower corner up, two at least.
fn bosses(case: &Case<'_>) -> Result<Vec<Known>, Halt> {
    prediction::need(case, &BOSSES[..2])?;
    Ok(BOSSES
        .iter()
        .filter_map(|code| case.optional_number(code))
        .collect())
}

fn slots(pack: &PartView<'_, '_>) -> Result<[RailSlot; 2], Halt> {
    let travel = Length::metres(pack.optional_number("hole-travel").unwrap_or(0.0));
    let [lower, upper] = HOLES.map(|key| pack.number(key));
    match (lower, upper) {
        (Ok(lower), Ok(upper)) => {
            Ok([lower, upper].map(|middle| RailSlot::about(Length::metres(middle), travel)))
        }
        (lower, upper) => Err(both(lower.err(), upper.err())),
    }
}

/// The two bosses whose distance comes nearest to the middle of what the rail takes.
fn pitch(case: &Case<'_>, bosses: &[Known], slots: &[RailSlot; 2]) -> Result<Finding, Halt> {
    let [least, most] = slots[0].pitches(&slots[1]).map(Length::as_metres);
    let middle = f64::midpoint(least, most);
    let mut pairs = Vec::new();
    for (index, one) in bosses.iter().enumerate() {
        for other in &bosses[index + 1..] {
            pairs.push(Known {
                value: (other.value - one.value).abs(),
                u: one.u.hypot(other.u),
                ..*one
            });
        }
    }
    let nearest = pairs
        .into_iter()
        .min_by(|a, b| (a.value - middle).abs().total_cmp(&(b.value - middle).abs()))
        .expect("two bosses are known");
    // Two readings of one boss are no multiple either.
    let apart = nearest.value.max(0.010);
    let (play, bolt) = (case.rule("pack.boss-play"), case.rule("pack.boss-bolt"));
    let times = pack_space::boss_multiple(Length::metres(apart), Length::metres(play))
        .map_err(|error| prediction::unusable(case, "bosses", &error))?;
    let job = case.job().number;
    let lowest = bosses[0].value;
    Ok(
        Judged::new("distance between the bosses", nearest, Kind::Length, "mm")
            .between(
                Limit::Within(least - play, most + play),
                // Holes further off than judged may be filed, until the bolt stands beside them.
                Limit::Within(least - bolt.max(play), most + bolt.max(play)),
            )
            .with_arithmetic(match times {
                Some(times) => format!("{times} times {BOSS_SPACING_MM:.0} mm, the usual distance"),
                None => format!(
                    "no multiple of {BOSS_SPACING_MM:.0} mm, the usual distance: read both again if in doubt"
                ),
            })
            .with_arithmetic(format!(
                "the rail takes {:.1} to {:.1} mm, {:.1} mm more either way with the bolts' play",
                least * 1e3,
                most * 1e3,
                play * 1e3
            ))
            .with_remedy(format!(
                "a riveted nut {0:.1} mm from the lower corner, where the tube's wall and maker allow a hole: lockring \
                 measure {job} boss-third {0:.1}mm",
                (lowest + middle) * 1e3
            ))
            .with_remedy(format!(
                "or a plate between, drilled for both: lockring receive {job} pack hole-upper={:.1}mm",
                (slots[0].from.as_metres() + slots[0].to.as_metres()) * 0.5e3 + nearest.value * 1e3
            )),
    )
}

/// Where the bosses put the pack, against where the triangle lets it be; only once triangle and
/// pack are measured.
fn place(
    case: &Case<'_>,
    pack: &PartView<'_, '_>,
    bosses: &[Known],
    slots: &[RailSlot; 2],
) -> Result<Option<Finding>, Halt> {
    let size = (pack.optional_number("length"), pack.optional_number("height"));
    let (Ok(opening), (Some(length), Some(height))) = (Opening::measured(case), size) else {
        return Ok(None);
    };
    let unusable = |error: FitError| prediction::unusable(case, "bosses and open triangle", &error);
    let open = opening.open().map_err(unusable)?;
    let size = PackSize {
        length: Length::metres(length),
        height: Length::metres(height),
        // The width lies across the frame and is judged by pack.space.
        width: Length::millimetres(50.0),
    };
    let room =
        pack_space::room(&open.frame, &open.tubes, &mounted(Mount::DownTube), &size).map_err(unusable)?;
    let play = Length::metres(case.rule("pack.boss-play"));
    let eased = slots.map(|slot| RailSlot {
        from: slot.from - play / 2.0,
        to: slot.to + play / 2.0,
    });
    let at: Vec<Length> = bosses.iter().map(|boss| Length::metres(boss.value)).collect();
    let starts = pack_space::boss_starts(&at, &eased).map_err(unusable)?;
    // How far the better position lies inside the triangle; negative, how far outside.
    let inside = |start: &pack_space::BossStart| {
        (start.farthest - room.nearest)
            .min(room.farthest - start.nearest)
            .min(room.play)
    };
    let Some(best) = starts
        .iter()
        .max_by(|a, b| inside(a).as_metres().total_cmp(&inside(b).as_metres()))
    else {
        // The distance is in doubt: the finding before this one says so.
        return Ok(None);
    };
    let known = Known {
        value: inside(best).as_metres(),
        u: opening.along_down().u.hypot(bosses[0].u),
        ..opening.along_down()
    };
    let job = case.job().number;
    Ok(Some(
        Judged::new(
            "room to the nearer end with the pack on its bosses",
            known,
            Kind::Length,
            "mm",
        )
        .against(Limit::AtLeast(0.0))
        .with_arithmetic(format!(
            "lower end {:.0} to {:.0} mm from the corner by the bosses, {:.0} to {:.0} mm by the triangle",
            best.nearest.as_millimetres(),
            best.farthest.as_millimetres(),
            room.nearest.as_millimetres(),
            room.farthest.as_millimetres()
        ))
        .with_remedy(format!(
            "a rail drilled further along, or a shorter pack (see pack.space): lockring build {job} pack=PART"
        ))
        .with_remedy(format!(
            "or riveted nuts that put its lower end {:.0} mm from the corner: {}",
            room.middle().as_millimetres(),
            prediction::read_again(case, "boss-third", "MM")
        )),
    ))
}

#[cfg(test)]
mod tests;
