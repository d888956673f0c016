//! Codes of the chainline: both lines in one reading each, and what a calliper gives of them:
//! tube, gap and ring in front, a single cog behind.

use super::Group::{Donor, Fitting};
use super::{Code, mm};
use crate::part::Slot::{Cassette, Chainring, Motor};

pub(super) const CODES: &[Code] = &[
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
        Donor,
        "single-cog-gap",
        "",
        "locknut face to the outer face of the single cog",
        mm(1.0, 60.0),
    )
    .read_with("calliper", 0.1, 0.3)
    .stale_by(&[Cassette]),
    Code::stated(
        Fitting,
        "line-tube",
        "",
        "diameter of the tube beside the ring",
        mm(15.0, 100.0),
    )
    .read_with("calliper", 0.05, 0.2),
    Code::stated(
        Fitting,
        "line-gap",
        "",
        "face of that tube to the near face of the ring's teeth",
        mm(0.0, 90.0),
    )
    .read_with("calliper", 0.1, 0.3)
    .stale_by(&[Motor, Chainring])
    .moved_by(&["spacer"]),
    Code::stated(
        Fitting,
        "line-ring",
        "",
        "thickness of the ring's teeth",
        mm(0.8, 6.0),
    )
    .read_with("calliper", 0.03, 0.1)
    .stale_by(&[Chainring]),
];
