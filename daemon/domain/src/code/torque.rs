//! Codes of fasteners: `torque-` and the bolt's word. Ranges are in the table of
//! fasteners; three bolts of the kits alone are in the rule sheet.

use super::Group::Torque;
use super::{Code, quantity};
use crate::part::Slot::{self, BrakeSet, Cassette, Chainring, Motor, Pack, RotorFront, RotorRear, TorqueArm};
use crate::unit::Kind;

const fn bolt(key: &'static str, name: &'static str, slots: &'static [Slot]) -> Code {
    Code::stated(Torque, key, "", name, quantity(Kind::Torque, "N m", 0.5, 80.0))
        .read_with("torque wrench", 0.5, 4.0)
        .adjusted()
        .stale_by(slots)
}

pub(super) const CODES: &[Code] = &[
    bolt("torque-lockring", "motor lock ring", &[Motor]).of_mid(),
    bolt("torque-reaction", "reaction bracket bolts", &[Motor, TorqueArm]).of_mid(),
    bolt("torque-axle", "hub-motor axle nuts", &[Motor]).of_hub(),
    bolt("torque-arm-bolt", "torque-arm bolt", &[Motor, TorqueArm]).of_hub(),
    bolt("torque-crank", "crank bolts", &[Motor]),
    bolt("torque-chainring", "chainring bolts", &[Chainring]),
    bolt("torque-cassette", "cassette lock ring", &[Cassette]),
    bolt("torque-pedal", "pedals", &[Motor]),
    bolt("torque-stem", "stem faceplate", &[]),
    bolt("torque-stem-quill", "handlebar binder bolt of a quill stem", &[]),
    bolt("torque-rotor-front", "front rotor bolts", &[RotorFront]),
    bolt("torque-rotor-rear", "rear rotor bolts", &[RotorRear]),
    bolt("torque-calliper-front", "front calliper mount", &[BrakeSet]),
    bolt("torque-calliper-rear", "rear calliper mount", &[BrakeSet]),
    bolt("torque-stem-steerer", "stem on the steerer", &[]),
    bolt("torque-seatpost", "seat post clamp, one bolt", &[]),
    bolt("torque-saddle", "saddle rail clamp", &[]),
    bolt("torque-bottom-bracket", "bottom-bracket cups", &[]),
    bolt("torque-derailleur", "rear derailleur on its hanger", &[]),
    bolt("torque-cable-anchor", "derailleur cable anchor", &[]),
    bolt(
        "torque-rotor-lockring",
        "lock ring of a splined rotor",
        &[RotorFront, RotorRear],
    ),
    bolt("torque-rim-brake-pad", "rim-brake pads", &[BrakeSet]),
    bolt("torque-rim-brake-arm", "rim-brake arms", &[BrakeSet]),
    bolt("torque-brake-cable", "brake cable anchor", &[BrakeSet]),
    bolt("torque-coaster-arm", "coaster brake's arm", &[BrakeSet]),
    bolt("torque-axle-plain", "axle nuts of a plain rear wheel", &[]),
    bolt("torque-disc-cover", "cover screws of a hub motor", &[Motor]),
    bolt("torque-battery-rail", "battery rail in rivet nuts", &[Pack]),
];
