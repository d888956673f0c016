//! What to look at when goods of a kind come in, before they leave the counter.
//!
//! Common practice, no source, but where a line says otherwise. What can be measured is
//! recorded with the receipt and judged by checks; this is the list for the eye and the meter.

use crate::part::PartKind;

/// The list of a kind, in the order in which it is gone through.
pub const fn look_at(kind: PartKind) -> &'static [&'static str] {
    match kind {
        PartKind::Pack => &[
            "dents, swelling, smell, wetness: if any, outside and away from people, connect nothing",
            "series and amp-hours off the pack's own label, not off the parcel",
            "volts at rest, spread between groups, polarity at the plug",
            "papers of transport and cells, serial, lot",
        ],
        PartKind::Charger => &[
            "volts off its label and by meter against the pack's full volts",
            "polarity and plug, serial, lot",
        ],
        PartKind::Motor => &[
            "every small part against the count card: lock ring, arm, magnet, washers",
            "plug against the controller's, spin on the bench, serial, lot",
        ],
        PartKind::Controller => {
            &["volts and amps off its label, plugs against motor, pack and display, serial, lot"]
        }
        PartKind::Display => &["highest volts off its label, plug, power-up on the bench"],
        PartKind::Chainring => &["teeth, bolt circle, bolts, dish by calliper"],
        PartKind::Cassette => &["cogs counted, hub body, biggest cog against the derailleur"],
        PartKind::Chain => &["speeds off the box against the cogs, links"],
        PartKind::PedalSensor | PartKind::ShiftSensor => &["plug, direction mark, cable length"],
        PartKind::BrakeSet => &["lever kind and cut-off plug, hoses and joints dry"],
        PartKind::Rotor => &["size, bolts or splines, thickness by micrometer, flat on glass"],
        PartKind::Tyre => &["size and load mark, direction, cuts"],
        PartKind::Light => &["volts off its label against the output, plug"],
        PartKind::TorqueArm => &["slot for the axle flats, clamp or bolts against the frame"],
    }
}

/// What people write where they looked for damage and saw none. Of a doubt ("?", "not sure") it is none.
const WHOLE: [&str; 22] = [
    "none",
    "no",
    "nothing",
    "nil",
    "n",
    "ok",
    "okay",
    "-",
    "--",
    "–",
    "—",
    "0",
    "no damage",
    "no damages",
    "no damage seen",
    "none seen",
    "nothing seen",
    "not damaged",
    "undamaged",
    "whole",
    "intact",
    "all ok",
];

/// Whether words about damage say that there is none.
pub(crate) fn is_whole(words: &str) -> bool {
    let words = words
        .trim()
        .trim_end_matches(['.', '!'])
        .trim_end()
        .to_lowercase();
    WHOLE.contains(&words.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_denial_of_damage_is_none_and_all_else_is_damage() {
        for whole in [
            "none",
            "No",
            " nothing ",
            "OK.",
            "n",
            "-",
            "no damage seen",
            "Undamaged",
        ] {
            assert!(is_whole(whole), "{whole}");
        }
        for damaged in [
            "yes",
            "?",
            "none but a dent",
            "no plug",
            "nothing but the lid is cracked",
            "dent",
            "",
        ] {
            assert!(!is_whole(damaged), "{damaged}");
        }
    }

    #[test]
    fn every_kind_has_a_list_and_what_is_traced_asks_for_its_marks() {
        for kind in PartKind::ALL {
            assert!(!look_at(kind).is_empty(), "{}", kind.word());
        }
        for slot in crate::part::Slot::ALL.into_iter().filter(|slot| slot.is_traced()) {
            let list = look_at(slot.kind()).join("; ");
            assert!(list.contains("serial") && list.contains("lot"), "{list}");
        }
    }
}
