//! Codes of the donor: the bicycle as it came in.

use super::Group::Donor;
use super::{Code, Sense, count, kilograms, mm, percent, quantity};
use lockring_calc::gearing::HUB_RATIOS;

use crate::field::Shape;
use crate::part::Slot::{TyreFront, TyreRear};
use crate::unit::Kind;

const BRAKES: &[&str] = &[
    "none",
    "hydraulic-disc",
    "mechanical-disc",
    "rim-linear",
    "rim-caliper",
    "rim-cantilever",
    "drum",
    "coaster",
];

const MOUNTS: &[&str] = &["tab", "post-mount", "flat-mount", "none"];
const ROTOR_SEATS: &[&str] = &["six-bolt", "splined", "none"];

pub(super) const CODES: &[Code] = &[
    Code::stated(Donor, "frame-number", "frameno", "frame number", Shape::Text),
    Code::stated(
        Donor,
        "frame-material",
        "frame",
        "frame material",
        Shape::Word(&["steel", "aluminium", "titanium", "carbon", "other"]),
    ),
    Code::stated(
        Donor,
        "fork-kind",
        "fork",
        "fork",
        Shape::Word(&["steel-rigid", "aluminium-rigid", "suspension", "carbon"]),
    ),
    Code::stated(
        Donor,
        "damage",
        "crack",
        "cracks, wrinkles, bulges, cracked paint, dents or deep corrosion of frame and fork",
        Shape::Word(&[
            "none",
            "crack",
            "wrinkle",
            "bulge",
            "paint-crack",
            "dent",
            "corrosion",
            "bent",
        ]),
    ),
    Code::stated(
        Donor,
        "permitted-mass",
        "",
        "permitted total mass of the frame",
        kilograms(60.0, 400.0),
    ),
    Code::stated(
        Donor,
        "mass-before",
        "mass",
        "mass of the bicycle as it came in",
        kilograms(6.0, 90.0),
    )
    .read_with("hanging scale", 0.1, 0.2),
    Code::stated(
        Donor,
        "shell-standard",
        "shell",
        "bottom-bracket shell",
        Shape::Text,
    )
    .meaning(Sense::Shell),
    Code::stated(Donor, "shell-width", "bbw", "shell width", mm(30.0, 140.0))
        .read_with("calliper", 0.05, 0.1),
    Code::stated(Donor, "shell-bore", "bbd", "shell bore", mm(20.0, 60.0)).read_with("calliper", 0.05, 0.1),
    Code::stated(
        Donor,
        "stay-gap",
        "stay",
        "predicted gap to the chainstay, by template",
        mm(-10.0, 25.0),
    )
    .read_with("template", 0.25, 0.5),
    Code::stated(Donor, "stay-length", "", "chainstay length", mm(300.0, 900.0)).read_with("rule", 1.0, 2.0),
    Code::stated(
        Donor,
        "stay-longest",
        "",
        "longest chainstay in the travel of a sprung rear end, spring let down",
        mm(300.0, 950.0),
    )
    .read_with("rule", 1.0, 2.0),
    Code::stated(
        Donor,
        "dropout-rear",
        "oldr",
        "rear dropout width",
        mm(90.0, 210.0),
    )
    .read_with("inside calliper", 0.1, 0.3),
    Code::stated(
        Donor,
        "dropout-front",
        "oldf",
        "front dropout width",
        mm(60.0, 160.0),
    )
    .read_with("inside calliper", 0.1, 0.3),
    Code::stated(
        Donor,
        "axle-kind",
        "axle",
        "how the driven wheel is held",
        Shape::Word(&["slotted", "thru-axle"]),
    ),
    Code::stated(
        Donor,
        "slot-width",
        "slot",
        "slot width of the dropout",
        mm(7.0, 16.0),
    )
    .read_with("slot gauge", 0.03, 0.1),
    Code::stated(
        Donor,
        "axle-diameter-frame",
        "axled",
        "diameter of the through axle that the driven wheel's dropouts take",
        mm(8.0, 25.0),
    ),
    Code::stated(Donor, "tyre-size", "", "tyre size", Shape::Text).meaning(Sense::TyreSize),
    Code::stated(
        Donor,
        "tyre-size-front",
        "",
        "tyre size of the front wheel, where it is another than the rear one's",
        Shape::Text,
    )
    .meaning(Sense::TyreSize),
    Code::stated(
        Donor,
        "rim-inner",
        "rimw",
        "inner width of the rims",
        mm(10.0, 80.0),
    )
    .read_with("calliper", 0.1, 0.3),
    Code::stated(
        Donor,
        "rim-bead",
        "",
        "bead-seat diameter marked on the rims",
        mm(130.0, 640.0),
    ),
    Code::stated(
        Donor,
        "rim-runout",
        "runout",
        "run-out of the worse rim, side to side",
        mm(0.0, 20.0),
    )
    .read_with("dial gauge", 0.05, 0.1)
    .most(),
    Code::stated(
        Donor,
        "tyre-clearance",
        "",
        "tyre to frame, fork or guard at the tightest, as it came in",
        mm(0.0, 60.0),
    )
    .read_with("rule", 0.25, 0.5)
    .least()
    .stale_by(&[TyreFront, TyreRear]),
    Code::stated(Donor, "speeds", "", "number of cogs", count(1.0, 13.0)),
    Code::stated(Donor, "cogs", "", "teeth of the cogs", Shape::Teeth),
    Code::stated(
        Donor,
        "cog-mount",
        "",
        "hub the cogs go on: splined, threaded or for a single cog",
        Shape::Word(&["cassette", "freewheel", "single"]),
    ),
    Code::stated(
        Donor,
        "ring-teeth",
        "",
        "teeth of the chainring kept",
        count(18.0, 70.0),
    ),
    Code::stated(
        Donor,
        "ring-teeth-least",
        "",
        "teeth of the smallest chainring kept, where there are several",
        count(18.0, 70.0),
    ),
    Code::stated(
        Donor,
        "hub-gears",
        "",
        "gears inside the rear hub, where it has them",
        count(2.0, 18.0),
    ),
    Code::stated(
        Donor,
        "hub-ratios",
        "",
        "ratios of the gears inside the rear hub, wheel turns for one turn of the cog, off the hub's sheet",
        Shape::Ratios { window: HUB_RATIOS },
    ),
    Code::stated(
        Donor,
        "hub-torque-limit",
        "",
        "greatest torque at the cog that the gear hub's sheet allows",
        quantity(Kind::Torque, "N m", 20.0, 400.0),
    ),
    Code::stated(
        Donor,
        "hub-ring-ratio",
        "",
        "least teeth of the ring over those of the cog that the gear hub's sheet allows",
        count(0.5, 5.0),
    ),
    Code::stated(
        Donor,
        "derailleur-cog",
        "",
        "largest cog the derailleur takes, in teeth",
        count(11.0, 60.0),
    ),
    Code::stated(
        Donor,
        "derailleur-capacity",
        "",
        "capacity of the derailleur in teeth",
        count(0.0, 70.0),
    ),
    Code::stated(
        Donor,
        "first-cog-gap",
        "",
        "locknut face to the outer face of the smallest cog",
        mm(0.5, 15.0),
    )
    .read_with("calliper", 0.1, 0.3),
    Code::stated(Donor, "brake-front", "", "front brake", Shape::Word(BRAKES)),
    Code::stated(Donor, "brake-rear", "", "rear brake", Shape::Word(BRAKES)),
    Code::stated(Donor, "rotor-front", "", "front rotor diameter", mm(120.0, 260.0)),
    Code::stated(Donor, "rotor-rear", "", "rear rotor diameter", mm(120.0, 260.0)),
    Code::stated(
        Donor,
        "rotor-wear",
        "rotor",
        "rotor thickness at its thinnest",
        mm(0.5, 4.0),
    )
    .read_with("micrometer", 0.01, 0.05)
    .least(),
    Code::stated(
        Donor,
        "rotor-limit",
        "",
        "least thickness marked on the rotor",
        mm(1.0, 3.0),
    ),
    Code::stated(
        Donor,
        "pad-lining",
        "pad",
        "thickness of the pad lining",
        mm(0.0, 8.0),
    )
    .read_with("wall calliper", 0.1, 0.2)
    .least(),
    Code::stated(
        Donor,
        "rim-wall",
        "rim",
        "thickness of the rim wall at its thinnest",
        mm(0.2, 5.0),
    )
    .read_with("wall calliper", 0.05, 0.1)
    .least(),
    Code::stated(Donor, "chain-wear", "chain", "chain stretch", percent(-0.2, 5.0))
        .read_with("12-inch rule", 0.02, 0.1)
        .most(),
    Code::stated(
        Donor,
        "headset",
        "",
        "headset",
        Shape::Word(&["ok", "loose", "pitted"]),
    ),
    Code::stated(
        Donor,
        "drive-kind",
        "",
        "what turns the rear wheel, chain or toothed belt",
        Shape::Word(&["chain", "belt"]),
    ),
    Code::stated(
        Donor,
        "belt-state",
        "",
        "toothed belt",
        Shape::Word(&["ok", "cracked", "teeth-missing", "cords-bare"]),
    ),
    Code::stated(
        Donor,
        "tyre-state",
        "",
        "tyres",
        Shape::Word(&["ok", "cut", "perished", "bulging", "casing"]),
    ),
    Code::stated(
        Donor,
        "tyre-max",
        "",
        "highest pressure marked on the tyre",
        quantity(Kind::Pressure, "bar", 0.5, 12.0),
    ),
    Code::stated(
        Donor,
        "rim-max",
        "",
        "highest pressure marked on the rims",
        quantity(Kind::Pressure, "bar", 0.5, 12.0),
    ),
    Code::stated(
        Donor,
        "rim-edge",
        "edge",
        "what holds the tyre's bead",
        Shape::Word(&["hooked", "hookless"]),
    ),
    Code::stated(
        Donor,
        "tyre-load",
        "",
        "load mark of the weaker tyre",
        kilograms(30.0, 250.0),
    ),
    Code::stated(
        Donor,
        "tube-top",
        "",
        "open triangle along the top tube, inside",
        mm(100.0, 1200.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "tube-seat",
        "",
        "open triangle along the seat tube, inside",
        mm(100.0, 1200.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "tube-down",
        "",
        "open triangle along the down tube, inside",
        mm(100.0, 1200.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "crank-room",
        "",
        "distance between the inner faces of the crank arms",
        mm(60.0, 250.0),
    )
    .read_with("rule", 0.5, 2.0),
    Code::stated(
        Donor,
        "key-room",
        "",
        "free room at the pack's key side",
        mm(0.0, 500.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "bar-diameter",
        "bar",
        "diameter of the handlebar where the display goes",
        mm(18.0, 40.0),
    )
    .read_with("calliper", 0.05, 0.1),
    Code::stated(
        Donor,
        "bar-free",
        "",
        "free width of the handlebar where the display goes",
        mm(0.0, 500.0),
    )
    .read_with("rule", 0.5, 2.0),
    Code::stated(Donor, "wheelbase", "", "wheelbase", mm(800.0, 2600.0)).read_with("rule", 2.0, 5.0),
    Code::stated(
        Donor,
        "bracket-height",
        "bbh",
        "middle of the bottom bracket above the ground",
        mm(150.0, 500.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "crank-length",
        "crank-mm",
        "crank, axle to axle",
        mm(100.0, 220.0),
    )
    .read_with("rule", 0.5, 2.0),
    Code::stated(
        Donor,
        "pedal-thickness",
        "",
        "thickness of the pedal",
        mm(5.0, 60.0),
    )
    .read_with("calliper", 0.1, 0.5),
    Code::stated(
        Donor,
        "pedal-width",
        "",
        "pedal's mounting face to its outer edge",
        mm(40.0, 200.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "front-centre",
        "",
        "bottom bracket to the front axle",
        mm(300.0, 1500.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "front-radius",
        "",
        "front axle to the outside of tyre or mudguard, whichever reaches further",
        mm(80.0, 420.0),
    )
    .read_with("rule", 1.0, 3.0),
    Code::stated(
        Donor,
        "toe-clips",
        "",
        "toe clips that hold the foot",
        Shape::Flag,
    ),
    Code::stated(
        Donor,
        "cog-thickness",
        "",
        "tooth thickness of the single cog",
        mm(1.0, 6.0),
    )
    .read_with("calliper", 0.03, 0.1),
    Code::stated(
        Donor,
        "mount-front",
        "",
        "mount of the front calliper",
        Shape::Word(MOUNTS),
    ),
    Code::stated(
        Donor,
        "mount-front-least",
        "",
        "rotor that the front mount takes without an adapter",
        mm(120.0, 260.0),
    ),
    Code::stated(
        Donor,
        "mount-front-most",
        "",
        "largest rotor marked for the front end",
        mm(120.0, 260.0),
    ),
    Code::stated(
        Donor,
        "rotor-seat-front",
        "",
        "what holds a rotor on the front hub",
        Shape::Word(ROTOR_SEATS),
    ),
    Code::stated(
        Donor,
        "wheel-limit-front",
        "",
        "load marked on the front wheel or its rim",
        kilograms(20.0, 400.0),
    ),
    Code::stated(
        Donor,
        "mount-rear",
        "",
        "mount of the rear calliper",
        Shape::Word(MOUNTS),
    ),
    Code::stated(
        Donor,
        "mount-rear-least",
        "",
        "rotor that the rear mount takes without an adapter",
        mm(120.0, 260.0),
    ),
    Code::stated(
        Donor,
        "mount-rear-most",
        "",
        "largest rotor marked for the rear end",
        mm(120.0, 260.0),
    ),
    Code::stated(
        Donor,
        "rotor-seat-rear",
        "",
        "what holds a rotor on the rear hub",
        Shape::Word(ROTOR_SEATS),
    ),
    Code::stated(
        Donor,
        "wheel-limit-rear",
        "",
        "load marked on the rear wheel or its rim",
        kilograms(20.0, 400.0),
    ),
    Code::stated(
        Donor,
        "carrier-limit",
        "",
        "load marked on the carrier",
        kilograms(1.0, 150.0),
    ),
];
