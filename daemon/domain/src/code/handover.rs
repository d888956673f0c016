//! Codes of the handover.

use super::Group::Handover;
use super::{Code, kmh, volts};
use crate::field::Shape;
use crate::part::Slot::{Charger, Controller, Display, Pack};

pub(super) const CODES: &[Code] = &[
    Code::stated(
        Handover,
        "full-charge",
        "vfull",
        "pack volts after one full charge with its charger",
        volts(15.0, 90.0),
    )
    .read_with("meter", 0.05, 0.1)
    .stale_by(&[Pack, Charger]),
    Code::stated(
        Handover,
        "charger-used",
        "",
        "serial of the charger used for that charge",
        Shape::Text,
    )
    .stale_by(&[Charger]),
    Code::stated(
        Handover,
        "limit-readback",
        "",
        "assist limit read back",
        kmh(6.0, 50.0),
    )
    .stale_by(&[Display, Controller]),
    Code::stated(
        Handover,
        "circumference-readback",
        "",
        "circumference read back",
        super::bench::ROLLED,
    )
    .stale_by(&[Display, Controller]),
    Code::stated(
        Handover,
        "class-label",
        "label",
        "class label on the bicycle and photographed",
        Shape::Flag,
    ),
    Code::stated(Handover, "label-text", "", "text of the class label", Shape::Text),
    Code::stated(
        Handover,
        "instructions",
        "",
        "written instructions handed over",
        Shape::Flag,
    ),
    Code::stated(
        Handover,
        "cautions-read",
        "cautions",
        "cautions read out to the rider",
        Shape::Flag,
    ),
    Code::stated(
        Handover,
        "local-rules",
        "",
        "told in writing to check the rules of the place",
        Shape::Flag,
    ),
    Code::stated(
        Handover,
        "declaration",
        "",
        "maker's declaration on file",
        Shape::Flag,
    ),
    Code::stated(Handover, "first-check", "", "day of the first check", Shape::Day),
    Code::stated(Handover, "paid", "", "paid so far", Shape::Money),
    Code::stated(
        Handover,
        "signed-by",
        "signature",
        "who signed for the bicycle",
        Shape::Text,
    ),
];
