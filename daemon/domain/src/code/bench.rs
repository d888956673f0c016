//! Codes of the fitting: what is measured and set at the stand.

use super::Group::Fitting;
use super::{Code, count, kilograms, kmh, mm, percent, quantity, volts};
use crate::field::Shape;
use crate::part::Slot::{
    BrakeSet, Cassette, Chain, Chainring, Controller, Display, Motor, Pack, PedalSensor, ShiftSensor,
    TorqueArm, TyreFront, TyreRear,
};
use crate::unit::Kind;

pub(super) const CODES: &[Code] = &[
    Code::stated(
        Fitting,
        "spacer",
        "",
        "spacers on the drive side, together",
        mm(0.0, 20.0),
    )
    .stale_by(&[Motor])
    .set(),
    Code::stated(
        Fitting,
        "motor-gap",
        "gapm",
        "motor case to chainstay",
        mm(-5.0, 60.0),
    )
    .read_with("feeler", 0.05, 0.2)
    .stale_by(&[Motor])
    .moved_by(&["spacer"]),
    Code::stated(
        Fitting,
        "stack",
        "",
        "shell and spacers together",
        mm(60.0, 150.0),
    )
    .read_with("calliper", 0.1, 0.2)
    .stale_by(&[Motor])
    .moved_by(&["spacer"]),
    Code::stated(
        Fitting,
        "chainline-front",
        "clf",
        "front chainline",
        mm(20.0, 90.0),
    )
    .read_with("rule", 0.25, 0.5)
    .stale_by(&[Motor, Chainring])
    .moved_by(&["spacer"]),
    Code::stated(
        Fitting,
        "chainline-rear",
        "clr",
        "cassette centre line",
        mm(20.0, 90.0),
    )
    .read_with("rule", 0.25, 0.5)
    .stale_by(&[Motor, Cassette]),
    Code::stated(
        Fitting,
        "ring-gap",
        "gapc",
        "ring and chain to chainstay",
        mm(-2.0, 40.0),
    )
    .read_with("feeler", 0.1, 0.5)
    .stale_by(&[Motor, Chainring, Chain])
    .moved_by(&["spacer"]),
    Code::stated(
        Fitting,
        "back-pedal",
        "drops",
        "turns back-pedalled in the lowest gear without a drop",
        Shape::Tally,
    )
    .stale_by(&[Motor, Chainring, Cassette, Chain])
    .moved_by(&["spacer"]),
    Code::stated(
        Fitting,
        "chain-links",
        "",
        "links of the chain",
        count(60.0, 300.0),
    )
    .stale_by(&[Chainring, Cassette, Chain]),
    Code::stated(
        Fitting,
        "circumference",
        "circ",
        "rolled-out circumference, rider on",
        mm(900.0, 2500.0),
    )
    .read_with("tape", 1.0, 5.0)
    .stale_by(&[TyreRear]),
    Code::stated(
        Fitting,
        "circumference-setting",
        "circset",
        "circumference set in the display",
        mm(900.0, 2500.0),
    )
    .stale_by(&[Display, Controller])
    .set(),
    Code::stated(
        Fitting,
        "assist-limit",
        "limit",
        "assist limit set",
        kmh(6.0, 50.0),
    )
    .stale_by(&[Display, Controller])
    .set(),
    Code::stated(
        Fitting,
        "low-cutoff",
        "lvc",
        "low-voltage cut-off set",
        volts(15.0, 80.0),
    )
    .stale_by(&[Controller])
    .set(),
    Code::stated(
        Fitting,
        "current-limit",
        "",
        "battery current limit set",
        quantity(Kind::Current, "A", 2.0, 80.0),
    )
    .stale_by(&[Controller])
    .set(),
    Code::stated(
        Fitting,
        "cut-left",
        "",
        "cut-offs at the left lever",
        Shape::Tally,
    )
    .stale_by(&[BrakeSet, Controller]),
    Code::stated(
        Fitting,
        "cut-right",
        "",
        "cut-offs at the right lever",
        Shape::Tally,
    )
    .stale_by(&[BrakeSet, Controller]),
    Code::stated(Fitting, "cut-shift", "", "cuts seen when shifting", Shape::Tally)
        .stale_by(&[ShiftSensor, Controller]),
    Code::stated(
        Fitting,
        "torque-arm",
        "",
        "torque arm or reaction bracket fitted, no rock",
        Shape::Flag,
    )
    .stale_by(&[Motor, TorqueArm]),
    Code::stated(Fitting, "torque-arms", "", "torque arms fitted", count(0.0, 4.0))
        .stale_by(&[Motor, TorqueArm]),
    Code::stated(
        Fitting,
        "fuse",
        "",
        "rating of the fuse at the pack",
        quantity(Kind::Current, "A", 1.0, 120.0),
    )
    .stale_by(&[Pack, Controller]),
    Code::stated(
        Fitting,
        "wire-gauge",
        "gauge",
        "gauge of the leads from pack to controller, AWG",
        count(0.0, 40.0),
    )
    .set(),
    Code::stated(
        Fitting,
        "wire-length",
        "",
        "length of the leads, one way",
        quantity(Kind::Length, "m", 0.05, 6.0),
    )
    .set(),
    Code::stated(
        Fitting,
        "fuse-volts",
        "",
        "direct-current voltage rating of the fuse",
        volts(12.0, 600.0),
    )
    .stale_by(&[Pack]),
    Code::stated(
        Fitting,
        "mass-after",
        "",
        "mass of the bicycle with the kit",
        kilograms(10.0, 120.0),
    )
    .read_with("hanging scale", 0.1, 0.2)
    .stale_by(&[Motor, Pack]),
    Code::stated(
        Fitting,
        "magnet-gap",
        "mag",
        "speed magnet to sensor",
        mm(0.0, 15.0),
    )
    .read_with("feeler", 0.25, 0.5),
    Code::stated(
        Fitting,
        "tyre-pressure",
        "psi",
        "pressure of the rear tyre",
        quantity(Kind::Pressure, "bar", 0.5, 12.0),
    )
    .read_with("gauge", 0.1, 0.5)
    .stale_by(&[TyreRear]),
    Code::stated(
        Fitting,
        "tyre-pressure-front",
        "",
        "pressure of the front tyre",
        quantity(Kind::Pressure, "bar", 0.5, 12.0),
    )
    .read_with("gauge", 0.1, 0.5)
    .stale_by(&[TyreFront]),
    Code::stated(
        Fitting,
        "tyre-gap",
        "",
        "tyre to frame at the tightest",
        mm(0.0, 60.0),
    )
    .read_with("rule", 0.25, 0.5)
    .stale_by(&[TyreFront, TyreRear]),
    Code::stated(
        Fitting,
        "spoke-spread",
        "spoke",
        "spread of spoke tension on a side",
        percent(0.0, 100.0),
    )
    .read_with("tension meter", 2.0, 5.0)
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "steering-free",
        "",
        "nothing pulls or pinches lock to lock",
        Shape::Flag,
    )
    .stale_by(&[Motor, Display, PedalSensor]),
];
