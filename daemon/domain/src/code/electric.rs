//! Codes of the electrics: charging as the rider lives, connectors, fuse, looms, supplies.

use super::Group::{Brief, Donor, Fitting};
use super::{Code, mm, quantity, volts};
use crate::field::Shape;
use crate::part::Slot::{BrakeSet, Controller, Display, Motor, Pack, PedalSensor};
use crate::unit::Kind;

const fn loom_path(key: &'static str, name: &'static str) -> Code {
    Code::stated(Donor, key, "", name, mm(30.0, 3000.0)).read_with("string and rule", 3.0, 10.0)
}

const fn extension(key: &'static str, name: &'static str) -> Code {
    Code::stated(Fitting, key, "", name, mm(0.0, 2000.0)).set()
}

pub(super) const CODES: &[Code] = &[
    Code::stated(
        Brief,
        "charge-hours",
        "",
        "time there is for a full charge",
        quantity(Kind::Time, "h", 0.5, 72.0),
    ),
    Code::stated(
        Brief,
        "charge-coldest",
        "",
        "coldest it gets where the pack is charged",
        quantity(Kind::Temperature, "C", -30.0, 50.0),
    ),
    Code::stated(
        Brief,
        "charge-warmest",
        "",
        "warmest it gets where the pack is charged",
        quantity(Kind::Temperature, "C", -30.0, 60.0),
    ),
    loom_path(
        "path-display",
        "path of the display's loom, at the worse of the two locks",
    ),
    loom_path(
        "path-levers",
        "path of the levers' loom, at the worse of the two locks",
    ),
    loom_path("path-sensor", "path of the pedal sensor's loom"),
    loom_path("path-motor", "path of the motor's lead"),
    extension("extension-display", "extension in the display's loom").stale_by(&[Display]),
    extension("extension-levers", "extension in the levers' loom").stale_by(&[BrakeSet]),
    extension("extension-sensor", "extension in the pedal sensor's loom").stale_by(&[PedalSensor]),
    extension("extension-motor", "extension of the motor's lead").stale_by(&[Motor]),
    Code::stated(
        Fitting,
        "connector-place",
        "",
        "where the pack's connector sits",
        Shape::Word(&["sealed", "open"]),
    )
    .set(),
    Code::stated(
        Fitting,
        "contact-resistance",
        "",
        "resistance of one mated contact of the pack's connector",
        quantity(Kind::Resistance, "mohm", 0.01, 200.0),
    )
    .read_with("four-wire meter", 0.02, 0.1)
    .stale_by(&[Pack, Controller]),
    Code::stated(
        Fitting,
        "precharge-resistor",
        "",
        "resistor the controller is charged through before the pack mates",
        quantity(Kind::Resistance, "ohm", 1.0, 10_000.0),
    )
    .stale_by(&[Pack, Controller])
    .set(),
    Code::stated(
        Fitting,
        "precharge-time",
        "",
        "time the resistor is held before the pack mates",
        quantity(Kind::Time, "s", 0.05, 60.0),
    )
    .stale_by(&[Pack, Controller])
    .set(),
    Code::stated(
        Fitting,
        "fuse-breaks",
        "",
        "direct current that the fuse can break",
        quantity(Kind::Current, "A", 20.0, 200_000.0),
    )
    .stale_by(&[Pack]),
    Code::stated(
        Fitting,
        "fuse-distance",
        "",
        "lead between pack and fuse",
        mm(0.0, 3000.0),
    )
    .read_with("rule", 2.0, 10.0)
    .stale_by(&[Pack]),
    Code::stated(
        Fitting,
        "cut-sensor",
        "",
        "what tells the controller that a brake is pulled",
        Shape::Word(&["lever-switch", "magnet-kit", "in-line-cable", "none"]),
    )
    .stale_by(&[BrakeSet])
    .set(),
    Code::stated(
        Fitting,
        "pedal-gap",
        "",
        "pedal sensor to its magnets",
        mm(0.0, 15.0),
    )
    .read_with("feeler", 0.1, 0.5)
    .stale_by(&[PedalSensor]),
    Code::stated(
        Fitting,
        "accessory-power",
        "",
        "horn, socket and what else hangs on the light's supply, together",
        quantity(Kind::Power, "W", 0.0, 200.0),
    )
    .set(),
    Code::stated(
        Fitting,
        "converter-volts",
        "",
        "voltage a converter gives to the light's supply",
        volts(3.0, 60.0),
    )
    .set(),
    Code::stated(
        Fitting,
        "converter-current",
        "",
        "greatest current the converter gives",
        quantity(Kind::Current, "A", 0.1, 30.0),
    )
    .set(),
    Code::stated(
        Fitting,
        "converter-least-volts",
        "",
        "lowest voltage the converter works at",
        volts(3.0, 90.0),
    )
    .set(),
    Code::stated(
        Fitting,
        "converter-max-volts",
        "",
        "highest voltage the converter takes",
        volts(12.0, 150.0),
    )
    .set(),
];
