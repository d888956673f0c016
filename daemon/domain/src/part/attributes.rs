//! The table of part attributes. Windows are workshop judgement: wide enough for any part
//! met, narrow enough to catch a slipped decimal.

use lockring_calc::connector;

use super::Need::{Always, Optional, When};
use super::{Attribute, Need, PartKind, quantity};
use crate::field::{Field, Shape};
use crate::unit::Kind;

const fn row(need: Need, key: &'static str, name: &'static str, shape: Shape) -> Attribute {
    Attribute {
        field: Field::new(key, name, shape),
        need,
    }
}

const fn mm(low: f64, high: f64) -> Shape {
    quantity(Kind::Length, "mm", low, high)
}

const fn volts(low: f64, high: f64) -> Shape {
    quantity(Kind::Voltage, "V", low, high)
}

const fn amperes(low: f64, high: f64) -> Shape {
    quantity(Kind::Current, "A", low, high)
}

const fn count(low: f64, high: f64) -> Shape {
    quantity(Kind::Count, "", low, high)
}

/// Kinds of connector, as the stored table names them.
const CONNECTORS: Shape = Shape::Word(&connector::IDS);
/// Switches that tell of a brake: closed, or open, while the lever is let go.
const SWITCH: Shape = Shape::Word(&["normally-open", "normally-closed"]);
const LOOM: Shape = mm(30.0, 3000.0);
const MID: Need = When("place", &["mid"]);
const HUB: Need = When("place", &["rear-hub", "front-hub"]);
const SLOTTED: Need = When("axle-kind", &["slotted"]);
const CHEMISTRY: Shape = Shape::Word(&["nickel-rich", "iron-phosphate"]);

pub(super) const COMMON: &[Attribute] = &[
    row(Always, "name", "name", Shape::Text),
    row(Optional, "mass", "mass", quantity(Kind::Mass, "kg", 0.001, 30.0)),
    row(Optional, "price", "price", Shape::Money),
    row(Optional, "supplier", "supplier", Shape::Text),
    row(
        Optional,
        "lead-time",
        "days from order to arrival",
        quantity(Kind::Time, "d", 0.0, 365.0),
    ),
    row(Optional, "note", "note", Shape::Text),
];

pub(super) const fn of(kind: PartKind) -> &'static [Attribute] {
    match kind {
        PartKind::Motor => MOTOR,
        PartKind::Controller => CONTROLLER,
        PartKind::Pack => PACK,
        PartKind::Charger => CHARGER,
        PartKind::Display => DISPLAY,
        PartKind::Chainring => CHAINRING,
        PartKind::Cassette => CASSETTE,
        PartKind::Chain => CHAIN,
        PartKind::PedalSensor => PEDAL_SENSOR,
        PartKind::ShiftSensor => SHIFT_SENSOR,
        PartKind::BrakeSet => BRAKE_SET,
        PartKind::Rotor => ROTOR,
        PartKind::Tyre => TYRE,
        PartKind::Light => LIGHT,
        PartKind::TorqueArm => TORQUE_ARM,
    }
}

const MOTOR: &[Attribute] = &[
    row(
        Always,
        "place",
        "where it drives",
        Shape::Word(&["mid", "rear-hub", "front-hub"]),
    ),
    row(
        Always,
        "rated-power",
        "rated power",
        quantity(Kind::Power, "W", 50.0, 5000.0),
    ),
    row(
        Always,
        "power-basis",
        "what the rated power is",
        Shape::Word(&["continuous", "nominal", "thirty-minute", "peak"]),
    ),
    row(
        Always,
        "peak-torque",
        "peak torque at crank or wheel",
        quantity(Kind::Torque, "N m", 5.0, 300.0),
    ),
    row(Always, "nominal-volts", "nominal voltage", volts(12.0, 96.0)),
    row(
        Always,
        "max-volts",
        "highest voltage it takes",
        volts(12.0, 120.0),
    ),
    row(
        Always,
        "no-load-speed",
        "no-load speed of crank or wheel at nominal voltage",
        quantity(Kind::Rotation, "rpm", 40.0, 600.0),
    ),
    row(
        Always,
        "no-load-current",
        "no-load current at nominal voltage",
        amperes(0.05, 10.0),
    ),
    row(
        Always,
        "best-efficiency",
        "best efficiency, gears included",
        quantity(Kind::Ratio, "%", 40.0, 98.0),
    ),
    row(
        Optional,
        "point1-torque",
        "torque of measured point 1 of efficiency, at crank or wheel",
        quantity(Kind::Torque, "N m", 0.5, 300.0),
    ),
    row(
        Optional,
        "point1-speed",
        "speed of measured point 1, of crank or wheel",
        quantity(Kind::Rotation, "rpm", 5.0, 600.0),
    ),
    row(
        Optional,
        "point1-efficiency",
        "efficiency measured there, terminals to output",
        quantity(Kind::Ratio, "%", 10.0, 98.0),
    ),
    row(
        Optional,
        "point2-torque",
        "torque of measured point 2 of efficiency, at crank or wheel",
        quantity(Kind::Torque, "N m", 0.5, 300.0),
    ),
    row(
        Optional,
        "point2-speed",
        "speed of measured point 2, of crank or wheel",
        quantity(Kind::Rotation, "rpm", 5.0, 600.0),
    ),
    row(
        Optional,
        "point2-efficiency",
        "efficiency measured there, terminals to output",
        quantity(Kind::Ratio, "%", 10.0, 98.0),
    ),
    row(
        Optional,
        "point3-torque",
        "torque of measured point 3 of efficiency, at crank or wheel",
        quantity(Kind::Torque, "N m", 0.5, 300.0),
    ),
    row(
        Optional,
        "point3-speed",
        "speed of measured point 3, of crank or wheel",
        quantity(Kind::Rotation, "rpm", 5.0, 600.0),
    ),
    row(
        Optional,
        "point3-efficiency",
        "efficiency measured there, terminals to output",
        quantity(Kind::Ratio, "%", 10.0, 98.0),
    ),
    row(
        Optional,
        "winding-heat-path",
        "heat path from winding to case, K/W",
        count(0.05, 20.0),
    ),
    row(
        Optional,
        "case-heat-path",
        "heat path from case to air, K/W",
        count(0.05, 20.0),
    ),
    row(
        Optional,
        "winding-time",
        "time constant of the winding's warming",
        quantity(Kind::Time, "min", 0.2, 30.0),
    ),
    row(
        Optional,
        "case-time",
        "time constant of the whole motor's warming",
        quantity(Kind::Time, "min", 5.0, 240.0),
    ),
    row(
        Optional,
        "winding-limit",
        "temperature its winding must not pass",
        quantity(Kind::Temperature, "C", 70.0, 180.0),
    ),
    row(
        MID,
        "body-diameter",
        "diameter of the body inside the shell",
        mm(20.0, 60.0),
    ),
    row(
        MID,
        "tube-length",
        "length from shoulder to thread end",
        mm(60.0, 160.0),
    ),
    row(
        MID,
        "thread-least",
        "least thread for the lock rings",
        mm(1.0, 40.0),
    ),
    row(
        MID,
        "shell-least",
        "narrowest shell with spacers",
        mm(50.0, 140.0),
    ),
    row(MID, "shell-most", "widest shell with spacers", mm(50.0, 140.0)),
    row(
        MID,
        "ring-plane",
        "chainring mounting plane from the frame centre, no spacer",
        mm(20.0, 90.0),
    ),
    row(
        Optional,
        "ring-plane-shell",
        "shell width that this plane is told for",
        mm(50.0, 140.0),
    ),
    row(HUB, "hub-width", "width over the lock nuts", mm(60.0, 210.0)),
    row(HUB, "axle-diameter", "axle diameter", mm(8.0, 20.0)),
    row(SLOTTED, "axle-flats", "width over the axle flats", mm(6.0, 16.0)),
    row(
        HUB,
        "axle-kind",
        "how it is held",
        Shape::Word(&["slotted", "thru-axle"]),
    ),
    row(
        Optional,
        "cog-mount",
        "what cogs its rear hub holds",
        Shape::Word(&["cassette", "freewheel", "single"]),
    ),
    row(
        Optional,
        "cogs-most",
        "most cogs that its rear hub holds",
        count(1.0, 13.0),
    ),
    row(Optional, "reverse-torque", "brakes by the motor", Shape::Flag),
    row(
        Optional,
        "coaster-brake",
        "at the crank: back-pedalling pulls the chain, for a brake in the rear hub",
        Shape::Flag,
    ),
    row(
        Optional,
        "flange-diameter",
        "hole circle of the spoke flanges",
        mm(20.0, 350.0),
    ),
    row(
        Optional,
        "flange-left",
        "left spoke flange from the middle of the hub",
        mm(2.0, 90.0),
    ),
    row(
        Optional,
        "flange-right",
        "right spoke flange from the middle of the hub",
        mm(2.0, 90.0),
    ),
    row(Optional, "spoke-hole", "spoke hole of the flange", mm(1.5, 4.5)),
    row(
        Optional,
        "cup-thread",
        "thread of the part that screws into the shell, by the shell's stored name",
        Shape::Text,
    ),
    row(
        Optional,
        "bolt-circle",
        "bolt circle of its spider",
        mm(40.0, 160.0),
    ),
    row(Optional, "arms", "arms of its spider", count(3.0, 8.0)),
    row(Optional, "loom-length", "length of its lead", LOOM),
];

const CONTROLLER: &[Attribute] = &[
    row(
        Always,
        "battery-current",
        "battery current limit",
        amperes(2.0, 80.0),
    ),
    row(
        Always,
        "max-volts",
        "highest voltage it takes",
        volts(12.0, 120.0),
    ),
    row(Always, "low-cutoff", "low-voltage cut-off", volts(12.0, 90.0)),
    row(
        Optional,
        "phase-current",
        "phase current limit",
        amperes(2.0, 250.0),
    ),
    row(
        Optional,
        "efficiency",
        "efficiency",
        quantity(Kind::Ratio, "%", 70.0, 100.0),
    ),
    row(
        Optional,
        "light-volts",
        "voltage of its output for a light",
        volts(3.0, 120.0),
    ),
    row(
        Optional,
        "light-current",
        "greatest current of that output",
        amperes(0.05, 20.0),
    ),
    row(
        Optional,
        "input-capacitance",
        "capacitance of its input",
        quantity(Kind::Capacitance, "uF", 10.0, 50_000.0),
    ),
    row(Optional, "connector", "connector to the pack", CONNECTORS),
    row(
        Optional,
        "brake-input",
        "switch its brake input is made for",
        SWITCH,
    ),
    row(Optional, "brake-plug", "plug of its brake inputs", Shape::Text),
    row(
        Optional,
        "sensor-plug",
        "plug of its pedal-sensor input",
        Shape::Text,
    ),
    row(Optional, "display-plug", "plug of its display lead", Shape::Text),
    row(
        Optional,
        "protocol",
        "protocol it speaks with a display",
        Shape::Text,
    ),
    row(Optional, "settable", "cut-off and limit can be set", Shape::Flag),
    row(
        Optional,
        "low-ratio",
        "motor's power over the rider's at the low level, torque sensor",
        count(0.0, 10.0),
    ),
    row(
        Optional,
        "low-share",
        "share of its power at the low level, cadence sensor or throttle",
        quantity(Kind::Ratio, "%", 1.0, 100.0),
    ),
    row(
        Optional,
        "mid-ratio",
        "motor's power over the rider's at the mid level, torque sensor",
        count(0.0, 10.0),
    ),
    row(
        Optional,
        "mid-share",
        "share of its power at the mid level, cadence sensor or throttle",
        quantity(Kind::Ratio, "%", 1.0, 100.0),
    ),
    row(
        Optional,
        "high-ratio",
        "motor's power over the rider's at the high level, torque sensor",
        count(0.0, 10.0),
    ),
    row(
        Optional,
        "high-share",
        "share of its power at the high level, cadence sensor or throttle",
        quantity(Kind::Ratio, "%", 1.0, 100.0),
    ),
    row(
        Optional,
        "taper",
        "band below the assist limit over which the help fades",
        quantity(Kind::Speed, "km/h", 0.2, 15.0),
    ),
];

const PACK: &[Attribute] = &[
    row(Always, "chemistry", "chemistry", CHEMISTRY),
    row(Always, "series", "cells in series", count(3.0, 28.0)),
    row(Always, "parallel", "cells in parallel", count(1.0, 40.0)),
    row(
        Always,
        "capacity",
        "capacity",
        quantity(Kind::Charge, "Ah", 1.0, 100.0),
    ),
    row(
        Always,
        "continuous-current",
        "continuous current its protection allows",
        amperes(2.0, 150.0),
    ),
    row(
        Optional,
        "charge-current",
        "highest charging current",
        amperes(0.5, 50.0),
    ),
    row(
        Optional,
        "cell-resistance",
        "sustained resistance of one cell",
        quantity(Kind::Resistance, "mohm", 3.0, 300.0),
    ),
    row(
        Optional,
        "label-volts",
        "voltage on the label",
        volts(10.0, 100.0),
    ),
    row(
        Optional,
        "place",
        "where it is carried",
        Shape::Word(&["triangle", "rack", "elsewhere"]),
    ),
    row(
        Optional,
        "length",
        "length along the tube, rail included",
        mm(50.0, 700.0),
    ),
    row(
        Optional,
        "height",
        "height over the tube, rail included",
        mm(20.0, 300.0),
    ),
    row(Optional, "width", "width across the frame", mm(20.0, 250.0)),
    row(
        Optional,
        "key-clearance",
        "room its key and plug need",
        mm(0.0, 300.0),
    ),
    row(
        Optional,
        "max-volts",
        "voltage when full, as marked",
        volts(10.0, 120.0),
    ),
    row(Optional, "plug", "charging plug", Shape::Text),
    row(Optional, "plug-kind", "kind of its charging socket", CONNECTORS),
    row(Optional, "connector", "connector to the controller", CONNECTORS),
    row(
        Optional,
        "hole-lower",
        "middle of the rail's lower hole or slot from the pack's lower end",
        mm(-50.0, 700.0),
    ),
    row(
        Optional,
        "hole-upper",
        "middle of the rail's upper hole or slot from the pack's lower end",
        mm(-50.0, 700.0),
    ),
    row(
        Optional,
        "hole-travel",
        "how far a bolt can be moved along each slot of the rail",
        mm(0.0, 300.0),
    ),
];

const CHARGER: &[Attribute] = &[
    row(
        Always,
        "output-volts",
        "voltage at the end of charge",
        volts(10.0, 120.0),
    ),
    row(Always, "output-current", "charging current", amperes(0.5, 30.0)),
    row(Always, "chemistry", "chemistry it is made for", CHEMISTRY),
    row(
        Optional,
        "efficiency",
        "efficiency from the wall to the pack",
        quantity(Kind::Ratio, "%", 50.0, 99.0),
    ),
    row(Optional, "plug", "charging plug", Shape::Text),
];

const DISPLAY: &[Attribute] = &[
    row(
        Always,
        "max-volts",
        "highest voltage it takes",
        volts(12.0, 120.0),
    ),
    row(
        Optional,
        "least-volts",
        "lowest voltage it works at",
        volts(6.0, 90.0),
    ),
    row(Optional, "protocol", "protocol", Shape::Text),
    row(Optional, "signal-plug", "plug of its lead", Shape::Text),
    row(Optional, "loom-length", "length of its loom", LOOM),
    row(Optional, "clamp-diameter", "bore of its clamp", mm(15.0, 60.0)),
    row(
        Optional,
        "clamp-width",
        "width it takes on the handlebar",
        mm(5.0, 200.0),
    ),
];

const CHAINRING: &[Attribute] = &[
    row(Always, "teeth", "teeth", count(18.0, 70.0)),
    row(
        Always,
        "dish",
        "how far the teeth sit inboard of the mounting face",
        mm(-20.0, 25.0),
    ),
    row(Optional, "bolt-circle", "bolt circle", mm(40.0, 160.0)),
    row(Optional, "arms", "bolts of the circle", count(3.0, 8.0)),
    row(Optional, "speeds", "speeds it is made for", count(1.0, 13.0)),
];

const CASSETTE: &[Attribute] = &[
    row(Always, "cogs", "teeth of the cogs", Shape::Teeth),
    row(Optional, "speeds", "speeds it is sold as", count(1.0, 13.0)),
    row(Optional, "spacing", "spacing family", Shape::Word(&["a", "b"])),
    row(
        Optional,
        "mount",
        "hub it goes on",
        Shape::Word(&["cassette", "freewheel", "single"]),
    ),
];

const CHAIN: &[Attribute] = &[
    row(Always, "speeds", "speeds it is made for", count(1.0, 13.0)),
    row(Optional, "outer-width", "outer width", mm(4.5, 10.0)),
    row(Optional, "inner-width", "inner width", mm(1.8, 5.0)),
    row(Optional, "links", "links as bought", count(60.0, 300.0)),
];

const PEDAL_SENSOR: &[Attribute] = &[
    row(
        Always,
        "senses",
        "what it senses",
        Shape::Word(&["cadence", "torque"]),
    ),
    row(
        Optional,
        "side",
        "side of the shell it goes on",
        Shape::Word(&["left", "right", "either"]),
    ),
    row(Optional, "width", "width it takes on the spindle", mm(1.0, 60.0)),
    row(Optional, "signal-plug", "plug of its lead", Shape::Text),
    row(Optional, "loom-length", "length of its loom", LOOM),
];

const SHIFT_SENSOR: &[Attribute] = &[];

const BRAKE_SET: &[Attribute] = &[
    row(
        Always,
        "type",
        "type",
        Shape::Word(&[
            "hydraulic-disc",
            "mechanical-disc",
            "rim-linear",
            "rim-caliper",
            "rim-cantilever",
            "drum",
            "coaster",
        ]),
    ),
    row(
        Always,
        "lever-switches",
        "levers with cut-off switches",
        count(0.0, 2.0),
    ),
    row(Optional, "pistons", "pistons per calliper", count(1.0, 6.0)),
    row(
        Optional,
        "switch-contact",
        "contact of its levers' switches, lever let go",
        SWITCH,
    ),
    row(
        Optional,
        "signal-plug",
        "plug of its levers' switches",
        Shape::Text,
    ),
    row(Optional, "loom-length", "length of the levers' loom", LOOM),
];

const ROTOR: &[Attribute] = &[
    row(Always, "diameter", "diameter", mm(120.0, 260.0)),
    row(Optional, "mount", "mount", Shape::Word(&["six-bolt", "splined"])),
    row(Optional, "thickness", "thickness when new", mm(1.2, 3.5)),
];

const TYRE: &[Attribute] = &[
    row(Always, "size", "size mark", Shape::Text),
    row(
        Optional,
        "load",
        "load mark",
        quantity(Kind::Mass, "kg", 30.0, 250.0),
    ),
    row(
        Optional,
        "max-pressure",
        "highest pressure",
        quantity(Kind::Pressure, "bar", 0.5, 12.0),
    ),
];

const LIGHT: &[Attribute] = &[
    row(Always, "max-volts", "highest voltage it takes", volts(3.0, 120.0)),
    row(
        Optional,
        "least-volts",
        "lowest voltage it works at",
        volts(3.0, 90.0),
    ),
    row(
        Always,
        "fed-from",
        "what feeds it",
        Shape::Word(&["pack", "controller-output", "own-battery", "dynamo"]),
    ),
    row(Optional, "power", "power", quantity(Kind::Power, "W", 0.1, 60.0)),
];

const TORQUE_ARM: &[Attribute] = &[
    row(Always, "sides", "sides it holds", count(1.0, 2.0)),
    row(Optional, "length", "arm length", mm(20.0, 300.0)),
    row(Optional, "flats", "width over the flats it takes", mm(6.0, 16.0)),
];
