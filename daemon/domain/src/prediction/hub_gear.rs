//! Gears inside the rear hub: which the build keeps, what the chain drive makes of them, and what is said where only
//! their number is known.

use lockring_calc::dropout::Wheel;
use lockring_calc::performance::{Engaged, Gears};

use super::{advise_only, driven_hub, least_ring, teeth};
use crate::case::Case;
use crate::fact::Value;
use crate::finding::{Finding, Halt, Verdict};
use crate::part::{Part, Slot};

/// The gears inside the rear hub that the build keeps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HubGears<'a> {
    /// How many.
    pub count: usize,
    /// Wheel turns for each turn of the cog, lowest first; `None` where only their number is known.
    pub ratios: Option<&'a [f64]>,
}

/// The gears inside the rear hub that the build keeps; `None` without any. A motor in the rear wheel takes the place of the
/// hub and its gears, and so does a wheel with several cogs; one cog alone may be the hub's own.
pub fn hub_gears<'a>(case: &Case<'a>) -> Option<HubGears<'a>> {
    let count = stated_hub_gears(case)?;
    let ratios = case.ratios("hub-ratios");
    let is_replaced = matches!(driven_hub(case), Ok(Some(Wheel::Rear))) || chooses_several_cogs(case);
    (!is_replaced).then_some(HubGears { count, ratios })
}

/// Whether the build has a cassette of several cogs: no hub with gears inside and no coaster brake carries one.
pub fn chooses_several_cogs(case: &Case<'_>) -> bool {
    case.optional_part(Slot::Cassette)
        .and_then(|cassette| Some(cassette.teeth("cogs").ok()?.len()))
        .is_some_and(|cogs| cogs > 1)
}

/// Whether a part of the catalogue is a cassette of several cogs, which a derailleur must shift.
pub fn has_several_cogs(part: &Part) -> bool {
    matches!(part.get("cogs"), Some(Value::Teeth(cogs)) if cogs.len() > 1)
}

/// Whether the bicycle came without a rear derailleur: no figure of one was stated, and it has one cog, or gears in
/// its hub and nobody listed cogs.
pub fn came_without_derailleur(case: &Case<'_>) -> bool {
    if ["derailleur-cog", "derailleur-capacity"]
        .iter()
        .any(|key| case.knows(key))
    {
        return false;
    }
    has_one_cog(case).unwrap_or_else(|| stated_hub_gears(case).is_some())
}

/// Whether the bicycle's own wheel has one cog, by its teeth or else by their count; `None` where nobody stated either.
pub fn has_one_cog(case: &Case<'_>) -> Option<bool> {
    if case.knows("cogs") {
        return Some(case.teeth("cogs").is_ok_and(|cogs| cogs.len() == 1));
    }
    // A count inside the window of its code.
    case.optional_number("speeds").map(|speeds| speeds.value < 1.5)
}

/// How many gears the rear hub has that the bicycle came with; `None` where nobody stated any.
pub fn stated_hub_gears(case: &Case<'_>) -> Option<usize> {
    let stated = case.optional_number("hub-gears");
    match case.ratios("hub-ratios") {
        Some(ratios) => Some(ratios.len()),
        // A count inside the window of its code.
        None => Some(stated?.value.round() as usize),
    }
}

/// Whether what goes through the chain goes through a hub gear whose ratios are known, too.
pub fn through_hub_gear(case: &Case<'_>) -> bool {
    hub_gears(case).is_some_and(|hub| hub.ratios.is_some())
}

/// Efficiency of what the chain drives, from crank to wheel, a hub gear whose ratios are known included.
pub fn chain_efficiency(case: &Case<'_>) -> f64 {
    case.rule(if through_hub_gear(case) {
        "model.hub-gear-efficiency"
    } else {
        "model.chain-efficiency"
    })
}

/// The chain drive: rings, cogs and the gears inside the hub.
///
/// # Errors
/// [`Halt::Open`] when no motor is chosen, or ring or cogs are neither chosen nor stated.
pub fn gears(case: &Case<'_>) -> Result<Gears, Halt> {
    let (ring_teeth, cogs) = teeth(case)?;
    let ratios = hub_gears(case).and_then(|hub| hub.ratios);
    Ok(Gears {
        ring_teeth,
        least_ring: least_ring(case)?,
        cogs,
        hub_ratios: ratios.map_or_else(Vec::new, <[f64]>::to_vec),
        chain_efficiency: chain_efficiency(case),
    })
}

/// A gear in words: `44/19`, and which of the gears inside the hub it is: `44/19 in hub gear 3 of 8 (x 0.85)`.
pub fn gear_named(engaged: Engaged) -> String {
    let Engaged { ring, cog, hub } = engaged;
    match hub {
        None => format!("{ring}/{cog}"),
        Some(hub) => format!(
            "{ring}/{cog} in hub gear {} of {} (x {:.2})",
            hub.number, hub.of, hub.ratio
        ),
    }
}

/// A finding of the speed on the level, of rider and a motor at the crank, with gears in the rear hub of which only the
/// number is known: it is computed in direct drive, so that it stops nothing that the hub's higher gears may reach.
pub fn below_higher_gears(case: &Case<'_>, finding: Finding) -> Finding {
    let Some(gears) = of_unknown_ratios(case) else {
        return finding;
    };
    let finding = finding.with_arithmetic(format!(
        "reckoned in direct drive: in the highest of the hub's {gears} gears the pedals turn slower at the same speed, as \
         many times as that gear is higher"
    ));
    with_ratios_asked(
        case,
        advise_only(
            finding,
            "a hub gear of unknown ratios is reckoned in direct drive, its higher gears are not; ride the level",
        ),
    )
}

/// A finding of the hill on a bicycle with gears in its rear hub of which only the number is known: it is computed in direct
/// drive, so that it stops nothing that the hub's lower gears may climb.
pub fn in_direct_drive(case: &Case<'_>, finding: Finding) -> Finding {
    let Some(gears) = of_unknown_ratios(case) else {
        return finding;
    };
    let finding = finding.with_arithmetic(format!(
        "reckoned in direct drive: in the lowest of the hub's {gears} gears what goes through the chain pulls more, as many \
         times as that gear is lower"
    ));
    with_ratios_asked(
        case,
        advise_only(
            finding,
            "a hub gear of unknown ratios is reckoned in direct drive, its lower gears are not; ride the hill",
        ),
    )
}

/// How many gears the hub has, where it stays and their ratios are not known.
fn of_unknown_ratios(case: &Case<'_>) -> Option<usize> {
    let hub = hub_gears(case)?;
    hub.ratios.is_none().then_some(hub.count)
}

/// The finding with what makes an end of reckoning in direct drive.
fn with_ratios_asked(case: &Case<'_>, finding: Finding) -> Finding {
    if finding.verdict == Verdict::Pass {
        return finding;
    }
    finding.with_remedy(format!(
        "look up the ratios on the hub's sheet, lowest first, and it is computed in the hub's own gears: lockring donor {} \
         hub-ratios=RATIOS",
        case.job().number
    ))
}
