//! Codes of fasteners: `torque-` and the bolt's word. Ranges are in the rule sheet.

use super::Group::Torque;
use super::{Code, quantity};
use crate::part::Slot::{self, BrakeSet, Cassette, Chainring, Motor, RotorFront, RotorRear, TorqueArm};
use crate::unit::Kind;

const fn bolt(key: &'static str, name: &'static str, slots: &'static [Slot]) -> Code {
    Code::stated(Torque, key, "", name, quantity(Kind::Torque, "N m", 0.5, 80.0))
        .read_with("torque wrench", 0.5, 4.0)
        .stale_by(slots)
}

pub(super) const CODES: &[Code] = &[
    bolt("torque-lockring", "motor lock ring", &[Motor]),
    bolt("torque-reaction", "reaction bracket bolts", &[Motor, TorqueArm]),
    bolt("torque-axle", "hub-motor axle nuts", &[Motor]),
    bolt("torque-arm-bolt", "torque-arm bolt", &[Motor, TorqueArm]),
    bolt("torque-crank", "crank bolts", &[Motor]),
    bolt("torque-chainring", "chainring bolts", &[Chainring]),
    bolt("torque-cassette", "cassette lock ring", &[Cassette]),
    bolt("torque-pedal", "pedals", &[Motor]),
    bolt("torque-stem", "stem faceplate", &[]),
    bolt("torque-rotor-front", "front rotor bolts", &[RotorFront]),
    bolt("torque-rotor-rear", "rear rotor bolts", &[RotorRear]),
    bolt("torque-calliper-front", "front calliper mount", &[BrakeSet]),
    bolt("torque-calliper-rear", "rear calliper mount", &[BrakeSet]),
];
