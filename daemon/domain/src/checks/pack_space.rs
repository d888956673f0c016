//! `pack.space`: the pack in the open triangle of the frame, with room for its key.

use lockring_calc::doubt::{self, FitError, Limit};
use lockring_calc::pack_space::{self, KeySide, Mount, Mounting};
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known, PartView};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Pack and triangle.
pub static CHECK: Check = Check {
    id: "pack.space",
    title: "pack in the open triangle",
    gates: &[Stage::Intake],
    family: Family::Fit,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "elementary geometry of the triangle; the room that is good: workshop judgement; 60 mm at the key: common \
             practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let pack = case.optional_part(Slot::Pack);
    if let Some(place @ ("rack" | "elsewhere")) = pack.and_then(|pack| pack.optional_word("place")) {
        return Halt::not_applicable(format!(
            "the pack's place is not the triangle but the catalogue's `{place}`"
        ));
    }
    let frame_known = opening::SIDES.iter().any(|side| case.knows(side));
    let sized = |pack: &PartView<'_, '_>| {
        ["length", "height"]
            .iter()
            .any(|key| pack.optional_number(key).is_some())
    };
    if !frame_known && !pack.as_ref().is_some_and(sized) {
        return Halt::not_applicable("neither the triangle nor the pack's size was given");
    }
    let pack = known(case, pack)?;
    let (length, height) = (pack.number("length")?, pack.number("height")?);
    let mut findings = vec![along(case, length, height)?];
    findings.extend(across(case, &pack)?);
    findings.extend(key(case, &pack));
    Ok(findings)
}

/// The pack, once everything that is compared is known; names all that is missing at once.
fn known<'c, 'a>(case: &'c Case<'a>, pack: Option<PartView<'c, 'a>>) -> Result<PartView<'c, 'a>, Halt> {
    let mut missing: Vec<Missing> = Vec::new();
    let mut note = |halt: Halt| {
        if let Halt::Open(more) = halt {
            missing.extend(more);
        }
    };
    if let Err(halt) = Opening::measured(case) {
        note(halt);
    }
    let pack = match pack {
        Some(pack) => Ok(pack),
        None => case.part(Slot::Pack),
    };
    match &pack {
        Ok(pack) => ["length", "height"]
            .iter()
            .filter_map(|key| pack.number(key).err())
            .for_each(note),
        Err(halt) => note(halt.clone()),
    }
    if missing.is_empty() {
        pack
    } else {
        Err(Halt::Open(missing))
    }
}

/// Length left beside the pack on the down tube, and what the seat tube would give.
fn along(case: &Case<'_>, length: f64, height: f64) -> Result<Finding, Halt> {
    let opening = Opening::measured(case)?;
    let longest = |opening: &Opening, on| {
        longest(opening, height, on)
            .map_err(|error| prediction::unusable(case, "open triangle and pack", &error))
    };
    let (on_down, on_seat) = (
        longest(&opening, Mount::DownTube)?,
        longest(&opening, Mount::SeatTube)?,
    );
    // Half the change from a reading's less to its more (JCGM 100:2008, 5.1.3 note 2).
    let mut parts = Vec::new();
    for (less, more) in opening.moved() {
        parts.push((longest(&more, Mount::DownTube)? - longest(&less, Mount::DownTube)?) / 2.0);
    }
    let left = Known {
        value: on_down - length,
        u: doubt::combined(&parts),
        provenance: Provenance::Measured,
    };
    let good = case.rule("pack.space-good");
    let job = case.job().number;
    let finding = Judged::new("room left along the down tube", left, Kind::Length, "mm")
        .between(Limit::AtLeast(good), Limit::AtLeast(0.0))
        .with_arithmetic(format!(
            "{}: {:.0} mm long at {:.0} mm height, pack {:.0} mm",
            opening.said(),
            on_down * 1e3,
            height * 1e3,
            length * 1e3
        ))
        .with_remedy(format!(
            "a pack of at most {:.0} mm at this height: lockring build {job} pack=PART",
            // Down to the millimetre, the doubt kept off, so that the cure cures.
            ((on_down - good - left.expanded()) * 1e3 + 1e-6).floor().max(0.0)
        ));
    let finding = if on_seat > on_down {
        finding.with_remedy(format!(
            "on the seat tube {:.0} mm would be left, if its bosses and the motor's cable allow",
            (on_seat - length) * 1e3
        ))
    } else {
        finding
    };
    Ok(finding.with_remedy(
        "or a pack for the rack: it costs a rack, and its mass sits high on the rear wheel (see mass.tyres)",
    ))
}

/// Longest pack of a height in the opening, m.
fn longest(opening: &Opening, height: f64, on: Mount) -> Result<f64, FitError> {
    let open = opening.open()?;
    pack_space::longest(&open.frame, &open.tubes, &mounted(on), Length::metres(height)).map(Length::as_metres)
}

mod opening;
pub(super) use opening::Opening;

/// A pack on a tube of the open triangle, rail included in its height.
pub(super) const fn mounted(on: Mount) -> Mounting {
    let none = Length::ZERO;
    Mounting {
        on,
        standoff: none,
        clearance: none,
        key: KeySide::Lateral,
        key_room: none,
        shell_radius: none,
    }
}

/// Each side of the pack between the crank arms, where both are known.
fn across(case: &Case<'_>, pack: &PartView<'_, '_>) -> Result<Option<Finding>, Halt> {
    let (Some(arms), Some(width)) = (case.optional_number("crank-room"), pack.optional_number("width"))
    else {
        return Ok(None);
    };
    let room = pack_space::side_room(Length::metres(arms.value), Length::metres(width))
        .map_err(|error| prediction::unusable(case, "crank arms and pack", &error))?;
    let left = Known {
        value: room.as_metres(),
        u: arms.u / 2.0,
        ..arms
    };
    let good = case.rule("pack.width-good");
    Ok(Some(
        Judged::new("room each side to the crank arms", left, Kind::Length, "mm")
            .between(Limit::AtLeast(good), Limit::AtLeast(0.0))
            .with_arithmetic(format!(
                "({:.0} mm between the arms - {:.0} mm pack) / 2 = {:+.1} mm",
                arms.value * 1e3,
                width * 1e3,
                left.value * 1e3
            ))
            .with_remedy(format!(
                "a pack of at most {:.0} mm across: lockring build {} pack=PART",
                ((arms.value - 2.0 * (good + left.expanded())) * 1e3 + 1e-6)
                    .floor()
                    .max(0.0),
                case.job().number
            )),
    ))
}

/// The key side, where it was measured; what the key needs is the pack's own figure or usual.
fn key(case: &Case<'_>, pack: &PartView<'_, '_>) -> Option<Finding> {
    let room = case.optional_number("key-room")?;
    let own = pack.optional_number("key-clearance");
    let needed = own.unwrap_or_else(|| case.rule("pack.key-clear"));
    let job = case.job().number;
    let finding = Judged::new("room at the key side", room, Kind::Length, "mm")
        .against(Limit::AtLeast(needed))
        .with_arithmetic(format!(
            "{:.0} mm asked for by {}",
            needed * 1e3,
            if own.is_some() {
                "the pack"
            } else {
                "common practice"
            }
        ))
        .with_remedy(format!(
            "turn or move the pack until its key is free and measure again: {}",
            prediction::read_again(case, "key-room", &format!("{:.0}mm", needed * 1e3 + 10.0))
        ))
        .with_remedy(format!(
            "or a pack with its key on the other side: lockring build {job} pack=PART"
        ));
    Some(match own {
        Some(_) => finding,
        None => prediction::advise_only(finding, "60 mm is what is usual, the pack's own figure decides"),
    })
}

#[cfg(test)]
mod tests;
