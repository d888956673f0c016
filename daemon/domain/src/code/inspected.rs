//! Codes of the donor's inspection: what eye, hand and rule find on the bicycle as it came in.

use super::Group::Donor;
use super::{Code, count, mm};
use crate::field::Shape;

pub(super) const CODES: &[Code] = &[
    Code::stated(
        Donor,
        "frame-twist",
        "",
        "frame or wheels out of line to the eye",
        Shape::Flag,
    ),
    Code::stated(
        Donor,
        "fork-replaced",
        "",
        "fork replaced, which tells of a crash",
        Shape::Flag,
    ),
    Code::stated(
        Donor,
        "rim-mark",
        "",
        "wear mark of a braked rim",
        Shape::Word(&["seen", "gone"]),
    ),
    Code::stated(
        Donor,
        "rim-shape",
        "",
        "wall of a braked rim",
        Shape::Word(&["flat", "hollow", "bulging"]),
    ),
    Code::stated(
        Donor,
        "cable-caps",
        "",
        "cable ends capped or sealed",
        Shape::Flag,
    ),
    Code::stated(
        Donor,
        "cable-strands",
        "",
        "severed strands at a cable",
        Shape::Flag,
    ),
    Code::stated(
        Donor,
        "bolt-beyond",
        "",
        "bolt beyond its nut where it could injure, in thread diameters",
        count(0.0, 10.0),
    ),
    Code::stated(
        Donor,
        "bottom-bracket",
        "",
        "bottom bracket that is kept",
        Shape::Word(&["ok", "loose", "notchy"]),
    ),
    Code::stated(
        Donor,
        "hubs",
        "",
        "hub bearings",
        Shape::Word(&["ok", "loose", "notchy"]),
    ),
    Code::stated(
        Donor,
        "insertion-mark",
        "",
        "insertion mark of stem or seat post in sight",
        Shape::Flag,
    ),
    Code::stated(
        Donor,
        "seatpost-depth",
        "",
        "seat post inside its tube",
        mm(5.0, 500.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(Donor, "bar-width", "", "handlebar, end to end", mm(200.0, 1300.0))
        .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "grip-rise",
        "",
        "grips above the saddle",
        mm(-400.0, 900.0),
    )
    .read_with("rule", 3.0, 10.0),
    Code::stated(
        Donor,
        "lever-span",
        "",
        "span from bar to brake lever",
        mm(20.0, 180.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "lever-gap",
        "",
        "brake lever to the bar, pulled hard",
        mm(0.0, 120.0),
    )
    .read_with("rule", 1.0, 3.0)
    .least(),
    Code::stated(
        Donor,
        "rotor-new",
        "",
        "thickness of the rotor when new",
        mm(1.0, 5.0),
    ),
    Code::stated(
        Donor,
        "hanger-deviation",
        "hanger",
        "derailleur hanger off the wheel's plane, over the rim",
        mm(0.0, 60.0),
    )
    .read_with("hanger gauge", 0.5, 1.0),
    Code::stated(
        Donor,
        "dropout-parallel",
        "",
        "rear dropouts out of parallel, over their gauge",
        mm(0.0, 30.0),
    )
    .read_with("dropout gauge", 0.2, 0.5),
    Code::stated(Donor, "rotor-runout", "", "run-out of the rotor", mm(0.0, 10.0))
        .read_with("dial gauge", 0.02, 0.05)
        .most(),
    Code::stated(
        Donor,
        "bearing-play",
        "",
        "play at the rim from a wheel's bearings",
        mm(0.0, 20.0),
    )
    .read_with("dial gauge", 0.05, 0.1)
    .most(),
];
