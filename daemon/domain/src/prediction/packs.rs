//! The pack of a case: its cells, its volts, and what it feeds.

use lockring_calc::pack::{self, Chemistry, FoldBack, Load, Pack, PackState};
use lockring_calc::quantity::{Charge, Resistance, Temperature, Voltage};

use super::unusable;
use crate::case::{Case, Known, PartView};
use crate::fact::Provenance;
use crate::finding::Halt;
use crate::part::Slot;

/// Charge at which a hill is judged: between a third and two fifths full, where a pack
/// sags (common practice, no source).
pub const HILL_CHARGE: f64 = 0.35;

/// The pack as built of cells.
///
/// # Errors
/// [`Halt::Open`] when no pack is chosen or its data are incomplete.
pub fn battery(part: &PartView<'_, '_>) -> Result<Pack, Halt> {
    let parallel = part.count("parallel")?;
    let capacity = Charge::coulombs(part.number("capacity")?);
    let cell_charge = capacity / f64::from(parallel.max(1));
    // Resistance falls as the cell grows: scaled from the 5 Ah cell of the source.
    let scale = Charge::ampere_hours(5.0) / cell_charge;
    let sustained = part
        .optional_number("cell-resistance")
        .map_or(pack::SUSTAINED_CELL * scale, Resistance::ohms);
    Ok(Pack {
        series: part.count("series")?,
        parallel,
        chemistry: chemistry(part)?,
        cell_charge,
        cell_pulse: sustained * (pack::PULSE_CELL / pack::SUSTAINED_CELL),
        cell_sustained: sustained,
        leads: pack::LEADS,
        age_factor: 1.0,
    })
}

/// Chemistry of a pack or charger.
///
/// # Errors
/// [`Halt::Open`] when it is not given.
pub fn chemistry(part: &PartView<'_, '_>) -> Result<Chemistry, Halt> {
    Ok(match part.word("chemistry")? {
        "iron-phosphate" => Chemistry::IronPhosphate,
        _ => Chemistry::NickelRich,
    })
}

/// Full-charge volts of the pack, by its series count and never by its label.
///
/// # Errors
/// [`Halt::Open`] when no pack is chosen or its data are incomplete.
pub fn full_volts(case: &Case<'_>) -> Result<Voltage, Halt> {
    let part = case.part(Slot::Pack)?;
    Ok(chemistry(&part)?.full() * part.number("series")?)
}

/// The low-voltage cut-off, V: as set, or the controller's own.
///
/// # Errors
/// [`Halt::Open`] when no controller is chosen.
pub fn low_cutoff(case: &Case<'_>) -> Result<Known, Halt> {
    match case.optional_number("low-cutoff") {
        Some(set) => Ok(set),
        None => {
            let value = case.part(Slot::Controller)?.number("low-cutoff")?;
            Ok(Known {
                value,
                u: 0.0,
                provenance: Provenance::Stated,
            })
        }
    }
}

/// Where the controller takes its current back to keep the pack above its cut-off, on hills as on a road.
///
/// # Errors
/// [`Halt::Open`] when no controller is chosen.
pub fn fold_back(case: &Case<'_>) -> Result<FoldBack, Halt> {
    let cutoff = Voltage::from_si(low_cutoff(case)?.value);
    Ok(FoldBack {
        // Below the cut-off nothing is left to fold.
        start: cutoff * case.rule("range.fold-start").max(1.0),
        cutoff,
    })
}

/// The remedy where the cut-off takes current that the controller and the pack would give.
pub fn lower_cutoff(job: u32) -> String {
    format!(
        "a lower cut-off, where the cells stand it: lockring measure {job} low-cutoff VOLTS; or a pack of more volts or less \
         resistance: lockring build {job} pack=PART"
    )
}

/// The controller's battery current limit, A: as set, or its own.
///
/// # Errors
/// [`Halt::Open`] when no controller is chosen.
pub fn current_limit(case: &Case<'_>) -> Result<f64, Halt> {
    match case.optional_number("current-limit") {
        Some(set) => Ok(set.value),
        None => case.part(Slot::Controller)?.number("battery-current"),
    }
}

/// The devices fed straight from the pack, with the highest voltage each takes.
///
/// # Errors
/// [`Halt::Open`] when motor or controller are not chosen, or a maximum is not given.
pub fn fed_from_pack(case: &Case<'_>) -> Result<Vec<(Slot, Voltage)>, Halt> {
    let mut fed = Vec::new();
    for slot in [Slot::Motor, Slot::Controller] {
        fed.push((slot, Voltage::volts(case.part(slot)?.number("max-volts")?)));
    }
    for slot in [Slot::Display, Slot::Light] {
        let Some(part) = case.optional_part(slot) else {
            continue;
        };
        if slot == Slot::Display || part.word("fed-from")? == "pack" {
            fed.push((slot, Voltage::volts(part.number("max-volts")?)));
        }
    }
    Ok(fed)
}

/// The least maximum, V, that leaves a device its headroom over the full pack.
pub fn roomy_maximum(case: &Case<'_>, full: Voltage) -> f64 {
    // The small amount keeps an exact fit from being rounded up by the division.
    full.as_volts() / case.rule("volts.headroom") - 1e-9
}

/// The pack fresh off its charger: what a limit of speed is computed with.
///
/// # Errors
/// [`Halt::Open`] when no pack is chosen or its data are incomplete.
pub fn full_pack(case: &Case<'_>, load: Load) -> Result<PackState, Halt> {
    let pack = battery(&case.part(Slot::Pack)?)?;
    let state = pack_state(case, &pack, load)?;
    Ok(PackState {
        open_circuit: pack.full(),
        ..state
    })
}

/// The pack at a state of charge, 0 to 1.
///
/// # Errors
/// [`Halt::Open`] when no pack is chosen or its data are incomplete.
pub fn pack_at(case: &Case<'_>, charge: f64, load: Load) -> Result<PackState, Halt> {
    state_of(case, &battery(&case.part(Slot::Pack)?)?, charge, load)
}

pub(super) fn pack_state(case: &Case<'_>, pack: &Pack, load: Load) -> Result<PackState, Halt> {
    state_of(case, pack, HILL_CHARGE, load)
}

fn state_of(case: &Case<'_>, pack: &Pack, charge: f64, load: Load) -> Result<PackState, Halt> {
    pack.state(charge, load, Temperature::celsius(25.0))
        .map_err(|error| unusable(case, "pack", &error))
}
