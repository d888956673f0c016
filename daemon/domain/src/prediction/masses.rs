//! What bicycle, kit, rider and load weigh: as on the scale, or summed.

use lockring_calc::doubt::COVERAGE;
use lockring_calc::mass;
use lockring_calc::quantity::{Charge, Energy};

use super::{battery, unusable};
use crate::case::{Case, Known, PartView};
use crate::fact::Provenance;
use crate::finding::Halt;
use crate::part::Slot;

/// Masses of parts that are heavy enough to matter on the scale; the rest is allowed for
/// as small parts by the rule `mass.small-parts`.
const HEAVY: [Slot; 3] = [Slot::Motor, Slot::Controller, Slot::Pack];

/// Mass of the bicycle with its kit: as weighed, or the bicycle as it came in and its parts.
///
/// # Errors
/// [`Halt::Open`] when the bicycle was not weighed.
pub fn bicycle_mass(case: &Case<'_>) -> Result<Known, Halt> {
    match case.optional_number("mass-after") {
        Some(weighed) => Ok(weighed),
        None => summed_mass(case),
    }
}

/// Mass of the bicycle as it came in and of the parts added to it. A part whose mass nobody
/// gave stands in with the heaviest that is usual, as an assumption: no limit is met by
/// leaving it out.
///
/// # Errors
/// [`Halt::Open`] when the bicycle was not weighed.
pub fn summed_mass(case: &Case<'_>) -> Result<Known, Halt> {
    let before = case.number("mass-before")?;
    let mut sum = before.value + case.rule("mass.small-parts");
    for slot in HEAVY {
        let Some(part) = case.optional_part(slot) else {
            continue;
        };
        sum += match part.optional_number("mass") {
            Some(mass) => mass,
            None => stand_in(case, slot, &part)?,
        };
    }
    // The rule gives an expanded uncertainty.
    let doubt = case.rule("mass.parts-doubt") / COVERAGE;
    Ok(Known {
        value: sum,
        u: before.u.hypot(doubt),
        provenance: Provenance::Stated,
    })
}

/// Bicycle, kit, rider and load together.
///
/// # Errors
/// [`Halt::Open`] when a mass is missing.
pub fn gross_mass(case: &Case<'_>) -> Result<Known, Halt> {
    let bicycle = bicycle_mass(case)?;
    let rider = case.number("rider-mass")?;
    let load = case.number("load-mass")?;
    Ok(Known {
        value: bicycle.value + rider.value + load.value,
        u: bicycle.u.hypot(rider.u).hypot(load.u),
        provenance: bicycle.provenance,
    })
}

/// The heaviest that is usual for a part without a mass, in kg.
fn stand_in(case: &Case<'_>, slot: Slot, part: &PartView<'_, '_>) -> Result<f64, Halt> {
    let heaviest = |id: &str| {
        let row = mass::part_mass(id).expect("the stored masses name these parts");
        row.kg[1]
    };
    let kilograms = match slot {
        Slot::Pack => {
            let pack = battery(part)?;
            let energy = Energy::watt_hours(
                pack.nominal().as_volts() * Charge::coulombs(part.number("capacity")?).as_ampere_hours(),
            );
            let (_, heaviest) = mass::pack_mass(energy).map_err(|error| unusable(case, "pack", &error))?;
            heaviest.as_kilograms()
        }
        Slot::Controller => heaviest("controller"),
        _ if part.word("place")? == "mid" => heaviest("mid-motor"),
        _ => heaviest("hub-motor-direct"),
    };
    case.assume_until(
        format!(
            "{} of {kilograms:.1} kg, the heaviest usual (from memory): the part as chosen has no mass",
            slot.word()
        ),
        Some(part.given_by("mass")),
    );
    Ok(kilograms)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail};
    use crate::part::Part;
    use crate::rules::RuleSheet;
    use crate::stage::Stage;

    fn summed(bench: &Bench) -> (f64, Vec<String>) {
        let rules = RuleSheet::shipped();
        let case = Case::new(&bench.job, &rules, Stage::Intake);
        let mass = summed_mass(&case).unwrap().value;
        (mass, case.assumptions())
    }

    fn without_mass(mut bench: Bench, slot: Slot) -> Bench {
        let part: &mut Part = &mut bench.job.build.get_mut(&slot).unwrap().part;
        assert!(part.attributes.remove("mass").is_some());
        bench
    }

    #[test]
    fn a_part_without_a_mass_weighs_the_heaviest_that_is_usual() {
        // Usual masses, from memory: mid motors 3 to 6 kg, controllers 0.3 to 0.6, packs 140 to 200
        // Wh/kg: 13 x 3.6 V x 13 Ah = 608.4 Wh, 4.35 kg at 140.
        let (all, assumed) = summed(&longtail());
        assert!(assumed.is_empty(), "{assumed:?}");
        let given = |slot| {
            longtail().job.build[&slot]
                .part
                .get("mass")
                .unwrap()
                .number()
                .unwrap()
        };
        for (slot, heaviest) in [
            (Slot::Motor, 6.0),
            (Slot::Controller, 0.6),
            (Slot::Pack, 608.4 / 140.0),
        ] {
            let (mass, assumed) = summed(&without_mass(longtail(), slot));
            assert!(
                (mass - all + given(slot) - heaviest).abs() < 1e-9,
                "{slot:?}: {mass}"
            );
            assert_eq!(assumed.len(), 1, "{assumed:?}");
            assert!(assumed[0].contains("heaviest usual"), "{assumed:?}");
        }
    }
}
