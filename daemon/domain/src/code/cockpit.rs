//! Codes of what goes on the frame and the handlebar: bosses, spindle, bar and grips.

use super::Group::{Donor, Fitting};
use super::{Code, mm, quantity};
use crate::field::Shape;
use crate::unit::Kind;

pub(super) const CODES: &[Code] = &[
    Code::stated(
        Donor,
        "tube-head",
        "",
        "open side along the head tube, inside, where top and down tube do not meet",
        mm(10.0, 400.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "angle-shell",
        "",
        "angle between seat and down tube, at the shell",
        quantity(Kind::Angle, "deg", 20.0, 120.0),
    )
    .read_with("bevel gauge", 0.3, 1.0),
    Code::stated(
        Donor,
        "angle-seat",
        "",
        "angle between seat and top tube",
        quantity(Kind::Angle, "deg", 30.0, 150.0),
    )
    .read_with("bevel gauge", 0.3, 1.0),
    Code::stated(
        Donor,
        "boss-lower",
        "",
        "lower bottle boss from the lower corner of the open triangle, along the down tube",
        mm(0.0, 1000.0),
    )
    .read_with("rule", 0.25, 1.0),
    Code::stated(
        Donor,
        "boss-upper",
        "",
        "upper bottle boss from the same corner",
        mm(0.0, 1000.0),
    )
    .read_with("rule", 0.25, 1.0),
    Code::stated(
        Donor,
        "boss-third",
        "",
        "third bottle boss from the same corner",
        mm(0.0, 1000.0),
    )
    .read_with("rule", 0.25, 1.0),
    Code::stated(
        Donor,
        "stem-kind",
        "",
        "stem",
        Shape::Word(&["faceplate", "quill"]),
    ),
    Code::stated(Donor, "carbon-bar", "", "handlebar of carbon", Shape::Flag),
    Code::stated(Donor, "carbon-steerer", "", "steerer of carbon", Shape::Flag),
    Code::stated(Donor, "carbon-post", "", "seat post of carbon", Shape::Flag),
    Code::stated(Donor, "carbon-rails", "", "saddle rails of carbon", Shape::Flag),
    Code::stated(
        Donor,
        "spindle-room-left",
        "",
        "free spindle between shell and left crank arm",
        mm(0.0, 80.0),
    )
    .read_with("calliper", 0.1, 0.5),
    Code::stated(
        Donor,
        "spindle-room-right",
        "",
        "free spindle between shell and right crank or ring",
        mm(0.0, 80.0),
    )
    .read_with("calliper", 0.1, 0.5),
    Code::stated(
        Donor,
        "bar-stem",
        "",
        "width of the stem's clamp on the bar",
        mm(15.0, 200.0),
    )
    .read_with("rule", 0.5, 2.0),
    Code::stated(
        Donor,
        "bar-bend",
        "",
        "bulge or bend beside the stem that takes no clamp, on each side",
        mm(0.0, 300.0),
    )
    .read_with("rule", 1.0, 4.0),
    Code::stated(
        Donor,
        "shifter-kind",
        "shifter",
        "shifter on the right of the bar",
        Shape::Word(&["none", "trigger", "twist"]),
    ),
    Code::stated(Fitting, "grip-length", "", "length of the grips", mm(50.0, 200.0)).set(),
    Code::stated(
        Fitting,
        "throttle-kind",
        "",
        "throttle on the right of the bar",
        Shape::Word(&["thumb", "half-twist"]),
    )
    .set(),
    Code::stated(
        Fitting,
        "bell-side",
        "",
        "side of the bar that the bell is on",
        Shape::Word(&["left", "right", "stem"]),
    )
    .set(),
];
