//! Codes of the fitting: what is measured and set at the stand.

use super::Group::Fitting;
use super::{Code, Sense, count, kilograms, kmh, mm, percent, quantity, volts};
use crate::field::Shape;
use crate::part::Slot::{
    BrakeSet, Cassette, Chain, Chainring, Controller, Display, Motor, Pack, PedalSensor, RotorFront,
    RotorRear, ShiftSensor, TorqueArm, TyreFront, TyreRear,
};
use crate::unit::Kind;

/// A gap at a stay that somebody has reason to measure: 3 mm and less are looked at, and a feeler reads no wide one. Negative
/// where the parts meet.
const GAP: Shape = mm(-5.0, 25.0);

/// Circumferences that wheels are rolled out to: the widest tyres met on bicycles, 122-559 and 114-584, come to 2 522 and
/// 2 551 mm by their marks.
pub(super) const ROLLED: Shape = mm(900.0, 2600.0);

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
    Code::stated(Fitting, "motor-gap", "gapm", "motor case to chainstay", GAP)
        .read_with("feeler", 0.05, 0.2)
        .least()
        .stale_by(&[Motor])
        .moved_by(&["spacer"])
        .of_mid(),
    Code::stated(
        Fitting,
        "stack",
        "",
        "shell and spacers together",
        mm(60.0, 150.0),
    )
    .read_with("calliper", 0.1, 0.2)
    .stale_by(&[Motor])
    .moved_by(&["spacer"])
    .of_mid(),
    Code::stated(Fitting, "ring-gap", "gapc", "ring and chain to chainstay", GAP)
        .read_with("feeler", 0.1, 0.5)
        .least()
        .stale_by(&[Motor, Chainring, Chain])
        .moved_by(&["spacer"])
        .of_mid(),
    Code::stated(
        Fitting,
        "chain-gap",
        "",
        "chain on the smallest cog to the stay",
        GAP,
    )
    .read_with("feeler", 0.1, 0.5)
    .least()
    .stale_by(&[Motor, Cassette, Chain]),
    Code::stated(
        Fitting,
        "insulation",
        "ins",
        "resistance from pack plus to the frame",
        quantity(Kind::Resistance, "Mohm", 0.0, 10_000.0),
    )
    .stale_by(&[Motor, Controller, Pack]),
    Code::stated(
        Fitting,
        "back-pedal",
        "drops",
        "turns back-pedalled in the lowest gear without a drop",
        Shape::Tally,
    )
    .tried(10)
    .stale_by(&[Motor, Chainring, Cassette, Chain])
    .moved_by(&["spacer"])
    .of_mid(),
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
        ROLLED,
    )
    .read_with("tape", 1.0, 5.0)
    .stale_by(&[TyreRear]),
    Code::stated(
        Fitting,
        "circumference-setting",
        "circset",
        "circumference set in the display",
        ROLLED,
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
    Code::stated(
        Fitting,
        "torque-marks",
        "marks",
        "torques marked on the parts themselves",
        Shape::Text,
    )
    .meaning(Sense::TorqueMarks)
    .stale_by(&[
        Motor, Chainring, Cassette, BrakeSet, RotorFront, RotorRear, TorqueArm,
    ]),
    Code::stated(
        Fitting,
        "clamp-shim",
        "",
        "wall of the sleeve under the display's clamp",
        mm(0.0, 15.0),
    )
    .stale_by(&[Display])
    .set(),
    Code::stated(Fitting, "torque-arms", "", "torque arms fitted", count(0.0, 4.0))
        .stale_by(&[Motor, TorqueArm])
        .of_hub(),
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
    .meaning(Sense::Gauge)
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
        "press",
        "pressure of the rear tyre",
        quantity(Kind::Pressure, "bar", 0.5, 12.0),
    )
    .read_with("gauge", 0.1, 0.5)
    .adjusted()
    .stale_by(&[TyreRear]),
    Code::stated(
        Fitting,
        "tyre-pressure-front",
        "",
        "pressure of the front tyre",
        quantity(Kind::Pressure, "bar", 0.5, 12.0),
    )
    .read_with("gauge", 0.1, 0.5)
    .adjusted()
    .stale_by(&[TyreFront]),
    Code::stated(
        Fitting,
        "tyre-gap",
        "",
        "tyre to frame at the tightest",
        mm(0.0, 60.0),
    )
    .read_with("rule", 0.25, 0.5)
    .least()
    .stale_by(&[TyreFront, TyreRear]),
    Code::stated(
        Fitting,
        "spoke-spread",
        "spoke",
        "spread of spoke tension on a side",
        percent(0.0, 100.0),
    )
    .read_with("tension meter", 2.0, 5.0)
    .most()
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "scale-front",
        "",
        "front wheel on the scale, rider on, rear on a block as high",
        kilograms(5.0, 300.0),
    )
    .read_with("floor scale", 0.2, 0.5)
    .stale_by(&[Motor, Pack]),
    Code::stated(
        Fitting,
        "scale-rear",
        "",
        "rear wheel on the scale, rider on, front on a block as high",
        kilograms(5.0, 300.0),
    )
    .read_with("floor scale", 0.2, 0.5)
    .stale_by(&[Motor, Pack]),
    Code::stated(
        Fitting,
        "pack-position",
        "",
        "middle of the pack behind the front axle",
        mm(-500.0, 3000.0),
    )
    .read_with("rule", 5.0, 20.0)
    .stale_by(&[Pack]),
    Code::stated(
        Fitting,
        "erd",
        "",
        "effective diameter of the rim, between the nipples' seats",
        mm(150.0, 640.0),
    )
    .read_with("two cut spokes", 0.2, 0.5),
    Code::stated(
        Fitting,
        "spoke-count",
        "spokes",
        "spokes of the wheel, both sides",
        count(12.0, 48.0),
    )
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "spoke-crossings",
        "crossings",
        "crossings of each spoke",
        count(0.0, 5.0),
    )
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "spoke-hole",
        "",
        "spoke hole of the flange",
        mm(1.5, 4.5),
    )
    .read_with("calliper", 0.05, 0.1)
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "flange-left-diameter",
        "",
        "hole circle of the left flange",
        mm(20.0, 350.0),
    )
    .read_with("calliper", 0.1, 0.3)
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "flange-left-distance",
        "",
        "left flange from the middle of the hub",
        mm(2.0, 90.0),
    )
    .read_with("calliper", 0.2, 0.5)
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "spoke-length-left",
        "",
        "length of the left spokes",
        mm(50.0, 330.0),
    )
    .read_with("spoke ruler", 0.15, 0.5)
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "flange-right-diameter",
        "",
        "hole circle of the right flange",
        mm(20.0, 350.0),
    )
    .read_with("calliper", 0.1, 0.3)
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "flange-right-distance",
        "",
        "right flange from the middle of the hub",
        mm(2.0, 90.0),
    )
    .read_with("calliper", 0.2, 0.5)
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "spoke-length-right",
        "",
        "length of the right spokes",
        mm(50.0, 330.0),
    )
    .read_with("spoke ruler", 0.15, 0.5)
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "steering-free",
        "",
        "nothing pulls or pinches lock to lock",
        Shape::Flag,
    )
    .stale_by(&[Motor, Display, PedalSensor]),
    Code::stated(
        Fitting,
        "pedal-left",
        "",
        "middle of the frame to the left pedal's mounting face",
        mm(40.0, 250.0),
    )
    .read_with("rule", 0.5, 2.0)
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "pedal-right",
        "",
        "middle of the frame to the right pedal's mounting face",
        mm(40.0, 250.0),
    )
    .read_with("rule", 0.5, 2.0)
    .stale_by(&[Motor])
    .moved_by(&["spacer"]),
    Code::stated(
        Fitting,
        "toe-clearance",
        "toe",
        "pedal's middle to the front tyre or mudguard at the nearest, as measured",
        mm(-100.0, 500.0),
    )
    .read_with("rule", 1.0, 3.0)
    .least()
    .stale_by(&[TyreFront, Motor]),
    Code::stated(
        Fitting,
        "adapter-outer",
        "",
        "diameter over the adapter rings in the shell",
        mm(30.0, 60.0),
    )
    .stale_by(&[Motor])
    .set(),
    Code::stated(
        Fitting,
        "adapter-inner",
        "",
        "bore of the adapter rings in the shell",
        mm(25.0, 55.0),
    )
    .stale_by(&[Motor])
    .set(),
    Code::stated(
        Fitting,
        "chain-slack",
        "slack",
        "play of the chain at mid-span, up and down, where no derailleur tensions it",
        mm(0.0, 80.0),
    )
    .read_with("rule", 0.5, 2.0)
    .adjusted()
    .stale_by(&[Motor, Chainring, Cassette, Chain]),
    Code::stated(
        Fitting,
        "spider-bolts",
        "",
        "neighbouring bolt holes of the motor's spider, centre to centre",
        mm(25.0, 130.0),
    )
    .read_with("calliper", 0.1, 0.3)
    .stale_by(&[Motor])
    .of_part(),
    Code::stated(
        Fitting,
        "spider-arms",
        "",
        "arms of the motor's spider",
        count(3.0, 8.0),
    )
    .stale_by(&[Motor])
    .of_part(),
    Code::stated(
        Fitting,
        "calliper-gap",
        "",
        "brake calliper to the motor's cover at the nearest",
        mm(-5.0, 60.0),
    )
    .read_with("feeler", 0.1, 0.3)
    .least()
    .stale_by(&[Motor, BrakeSet, RotorFront, RotorRear]),
    Code::stated(
        Fitting,
        "mass-height",
        "",
        "centre of mass above the ground, rider on",
        mm(300.0, 1900.0),
    )
    .read_with("scale, one wheel raised", 20.0, 60.0)
    .stale_by(&[Motor, Pack]),
    Code::stated(
        Fitting,
        "true-lateral",
        "",
        "built wheel out of true, side to side",
        mm(0.0, 30.0),
    )
    .read_with("dial gauge", 0.05, 0.1)
    .most()
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "true-radial",
        "",
        "built wheel out of round",
        mm(0.0, 30.0),
    )
    .read_with("dial gauge", 0.05, 0.1)
    .most()
    .stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "dish",
        "",
        "rim off the middle of the hub, by the dishing gauge",
        mm(0.0, 30.0),
    )
    .read_with("dishing gauge", 0.1, 0.3)
    .stale_by(&[Motor]),
];
