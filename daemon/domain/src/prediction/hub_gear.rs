//! Gears inside the rear hub: which the build keeps, what the chain drive makes of them, and what is said where only
//! their number is known.

use lockring_calc::dropout::Wheel;
use lockring_calc::performance::{Engaged, Gears};

use super::{advise_only, driven_hub, least_ring, teeth};
use crate::case::Case;
use crate::finding::{Finding, Halt, Verdict};
use crate::part::Slot;

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
    let stated = case.optional_number("hub-gears");
    let ratios = case.ratios("hub-ratios");
    let count = match ratios {
        Some(ratios) => ratios.len(),
        // A count inside the window of its code.
        None => stated?.value.round() as usize,
    };
    let cogs = case
        .optional_part(Slot::Cassette)
        .and_then(|cassette| Some(cassette.teeth("cogs").ok()?.len()));
    let is_replaced = matches!(driven_hub(case), Ok(Some(Wheel::Rear))) || cogs.is_some_and(|cogs| cogs > 1);
    (!is_replaced).then_some(HubGears { count, ratios })
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
