//! Codes of the test ride, and the runs that record them.

use super::Group::Ride;
use super::{Code, Run, count, gradient, kilograms, kmh, mm, quantity, volts};
use crate::field::Shape;
use crate::part::Slot::{
    self, BrakeSet, Cassette, Chainring, Controller, Display, Motor, Pack, PedalSensor, RotorFront,
    RotorRear, TyreFront, TyreRear,
};
use crate::unit::Kind;

/// What changes how the bicycle pulls.
const DRIVE: &[Slot] = &[Motor, Controller, Pack, Chainring, Cassette];
/// What changes where assistance ends.
const LIMIT: &[Slot] = &[Motor, Controller, Display, TyreRear];
/// What changes how fast the motor drives alone.
const ALONE: &[Slot] = &[Motor, Controller, Display, Pack, Chainring, Cassette, TyreRear];
/// What changes how it rolls.
const ROLLING: &[Slot] = &[Motor, TyreFront, TyreRear, BrakeSet];
/// What changes how it stops.
const STOPPING: &[Slot] = &[BrakeSet, RotorFront, RotorRear];

pub(super) const CODES: &[Code] = &[
    Code::stated(
        Ride,
        "test-mass",
        "",
        "rider and load on the test",
        kilograms(20.0, 350.0),
    )
    .read_with("scale", 0.5, 2.0),
    Code::stated(
        Ride,
        "test-wind",
        "",
        "mean wind",
        quantity(Kind::Speed, "m/s", 0.0, 15.0),
    )
    .read_with("wind meter", 0.3, 1.0),
    Code::stated(
        Ride,
        "test-air",
        "",
        "air temperature",
        quantity(Kind::Temperature, "C", -20.0, 45.0),
    )
    .read_with("thermometer", 0.5, 2.0),
    Code::stated(
        Ride,
        "test-pressure",
        "",
        "air pressure as a barometer at the strip reads it",
        quantity(Kind::Pressure, "hPa", 600.0, 1100.0),
    )
    .read_with("barometer", 1.0, 5.0),
    Code::stated(
        Ride,
        "test-sea-pressure",
        "",
        "air pressure at sea level as the weather report gives it",
        quantity(Kind::Pressure, "hPa", 940.0, 1060.0),
    )
    .read_with("weather report", 1.0, 5.0),
    Code::stated(
        Ride,
        "test-humidity",
        "",
        "relative humidity",
        quantity(Kind::Ratio, "%", 0.0, 100.0),
    )
    .read_with("hygrometer", 3.0, 10.0),
    Code::stated(
        Ride,
        "cutoff-out",
        "",
        "speed at which assistance ends, out",
        kmh(4.0, 60.0),
    )
    .read_with("display", 0.1, 0.5)
    .stale_by(LIMIT),
    Code::stated(
        Ride,
        "cutoff-back",
        "",
        "speed at which assistance ends, back",
        kmh(4.0, 60.0),
    )
    .read_with("display", 0.1, 0.5)
    .stale_by(LIMIT),
    Code::stated(
        Ride,
        "speed-out",
        "",
        "top speed over the strip, out",
        kmh(5.0, 70.0),
    )
    .read_with("stopwatch", 0.15, 1.0)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "speed-back",
        "",
        "top speed over the strip, back",
        kmh(5.0, 70.0),
    )
    .read_with("stopwatch", 0.15, 1.0)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "strip-grade",
        "",
        "grade of the strip, outward",
        gradient(-3.0, 3.0),
    )
    .read_with("level", 0.1, 0.2),
    Code::stated(
        Ride,
        "strip-length",
        "",
        "length of the strip",
        quantity(Kind::Length, "m", 20.0, 2000.0),
    )
    .read_with("tape", 0.2, 1.0),
    Code::stated(
        Ride,
        "strip-time-out",
        "",
        "time over the strip, out",
        quantity(Kind::Time, "s", 2.0, 600.0),
    )
    .read_with("stopwatch", 0.2, 1.0)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "strip-time-back",
        "",
        "time over the strip, back",
        quantity(Kind::Time, "s", 2.0, 600.0),
    )
    .read_with("stopwatch", 0.2, 1.0)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "strip-wind",
        "",
        "wind along the strip, against the way out; negative from behind",
        quantity(Kind::Speed, "m/s", -10.0, 10.0),
    )
    .read_with("wind meter", 0.3, 1.0),
    Code::stated(
        Ride,
        "speed-volts",
        "",
        "mean pack volts on the speed run",
        volts(15.0, 90.0),
    )
    .read_with("watt meter", 0.1, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "speed-amps",
        "",
        "mean pack current on the speed run",
        quantity(Kind::Current, "A", 0.0, 80.0),
    )
    .read_with("watt meter", 0.2, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "speed-amps-out",
        "",
        "pack current on the speed run, out",
        quantity(Kind::Current, "A", 0.0, 80.0),
    )
    .read_with("watt meter", 0.2, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "speed-amps-back",
        "",
        "pack current on the speed run, back",
        quantity(Kind::Current, "A", 0.0, 80.0),
    )
    .read_with("watt meter", 0.2, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "speed-rest",
        "",
        "pack volts at rest before the speed run",
        volts(15.0, 90.0),
    )
    .read_with("watt meter", 0.1, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "alone-out",
        "",
        "speed by the motor alone, throttle open, out",
        kmh(3.0, 60.0),
    )
    .read_with("display", 0.1, 0.5)
    .stale_by(ALONE),
    Code::stated(
        Ride,
        "alone-back",
        "",
        "speed by the motor alone, throttle open, back",
        kmh(3.0, 60.0),
    )
    .read_with("display", 0.1, 0.5)
    .stale_by(ALONE),
    Code::stated(Ride, "walk-speed", "walk", "walk-assist speed", kmh(0.5, 15.0))
        .read_with("display", 0.1, 0.5)
        .stale_by(LIMIT),
    Code::stated(
        Ride,
        "run-on",
        "runon",
        "run-on after pedalling stops",
        quantity(Kind::Length, "m", 0.0, 50.0),
    )
    .read_with("tape", 0.2, 0.5)
    .stale_by(&[Controller, PedalSensor]),
    Code::stated(
        Ride,
        "run-on-lever",
        "",
        "run-on with a brake lever pulled",
        quantity(Kind::Length, "m", 0.0, 50.0),
    )
    .read_with("tape", 0.2, 0.5)
    .stale_by(&[Controller, BrakeSet]),
    Code::stated(
        Ride,
        "hill-grade-ridden",
        "",
        "grade of the hill ridden, mean",
        gradient(0.5, 30.0),
    )
    .read_with("inclinometer", 0.2, 0.5),
    Code::stated(Ride, "hill-speed-ridden", "", "speed up the hill", kmh(1.0, 45.0))
        .read_with("stopwatch", 0.15, 0.5)
        .stale_by(DRIVE),
    Code::stated(
        Ride,
        "hill-volts",
        "",
        "lowest pack volts on the hill",
        volts(15.0, 90.0),
    )
    .read_with("watt meter", 0.1, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "hill-amps",
        "",
        "mean pack current up the hill",
        quantity(Kind::Current, "A", 0.0, 80.0),
    )
    .read_with("watt meter", 0.2, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "hill-rest",
        "",
        "pack volts at rest before the hill",
        volts(15.0, 90.0),
    )
    .read_with("watt meter", 0.1, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "coast-out",
        "",
        "time to roll from 20 to 10 km/h on the strip, motor off, out",
        quantity(Kind::Time, "s", 2.0, 180.0),
    )
    .read_with("stopwatch", 0.5, 2.0)
    .stale_by(ROLLING),
    Code::stated(
        Ride,
        "coast-back",
        "",
        "time to roll from 20 to 10 km/h on the strip, motor off, back",
        quantity(Kind::Time, "s", 2.0, 180.0),
    )
    .read_with("stopwatch", 0.5, 2.0)
    .stale_by(ROLLING),
    Code::stated(
        Ride,
        "legs-out",
        "",
        "speed over the strip at the rider's usual push, motor off, out",
        kmh(2.0, 50.0),
    )
    .read_with("stopwatch", 0.15, 1.0)
    .stale_by(ROLLING),
    Code::stated(
        Ride,
        "legs-back",
        "",
        "speed over the strip at the rider's usual push, motor off, back",
        kmh(2.0, 50.0),
    )
    .read_with("stopwatch", 0.15, 1.0)
    .stale_by(ROLLING),
    Code::stated(
        Ride,
        "stand-free",
        "",
        "speed shown with the driven wheel up, smallest cog, the assist limit lifted for it",
        kmh(1.0, 120.0),
    )
    .read_with("display", 0.1, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "stand-amps",
        "",
        "pack current with the driven wheel up, smallest cog, full assist",
        quantity(Kind::Current, "A", 0.0, 20.0),
    )
    .read_with("watt meter", 0.1, 0.3)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "hill-restart-done",
        "",
        "starts on the steepest part",
        Shape::Tally,
    )
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "case-temperature",
        "heat",
        "motor case after the last climb",
        quantity(Kind::Temperature, "C", -10.0, 180.0),
    )
    .read_with("contact thermometer", 1.0, 3.0)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "stop-distance",
        "",
        "stopping distance, both brakes, dry",
        quantity(Kind::Length, "m", 1.0, 40.0),
    )
    .read_with("tape", 0.1, 0.5)
    .stale_by(STOPPING),
    Code::stated(
        Ride,
        "stop-speed",
        "",
        "speed held at the start of the stop",
        kmh(10.0, 50.0),
    )
    .read_with("display", 0.2, 1.0)
    .stale_by(STOPPING),
    Code::stated(
        Ride,
        "stop-rear",
        "",
        "stopping distance, rear brake alone",
        quantity(Kind::Length, "m", 1.0, 80.0),
    )
    .read_with("tape", 0.1, 1.0)
    .stale_by(STOPPING),
    Code::stated(
        Ride,
        "energy-distance",
        "",
        "distance of the energy run",
        quantity(Kind::Length, "km", 1.0, 150.0),
    )
    .read_with("display", 0.05, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "energy-charge",
        "",
        "charge drawn on the energy run",
        quantity(Kind::Charge, "Ah", 0.05, 60.0),
    )
    .read_with("watt meter", 0.02, 0.1)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "energy-volts",
        "",
        "mean pack volts of the energy run",
        volts(15.0, 90.0),
    )
    .read_with("watt meter", 0.1, 0.5)
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "energy-stops",
        "",
        "stops on the energy run",
        count(0.0, 200.0),
    )
    .stale_by(DRIVE),
    Code::stated(
        Ride,
        "noise",
        "",
        "noise at one metre",
        quantity(Kind::Sound, "dB", 20.0, 110.0),
    )
    .read_with("sound meter", 1.5, 4.0),
    Code::stated(Ride, "codes-open", "codes", "fault codes left open", Shape::Text)
        .stale_by(&[Motor, Controller, Display, Pack]),
    Code::stated(
        Ride,
        "torque-recheck",
        "",
        "nothing moved when re-torqued hot",
        Shape::Flag,
    )
    .stale_by(&[Motor]),
    Code::stated(
        Ride,
        "ride-gap",
        "",
        "smallest gap seen under load",
        mm(-5.0, 60.0),
    ),
];

pub(super) const RUNS: &[Run] = &[
    Run {
        word: "stand",
        what: "driven wheel up, full assist: pack current, and the speed with the limit lifted",
        fields: &[
            ("works", "stand-works"),
            ("amps", "stand-amps"),
            ("free", "stand-free"),
        ],
    },
    Run {
        word: "bedding",
        what: "hard stops to bed the brakes in",
        fields: &[
            ("stops", "bedding-stops"),
            ("speed", "bedding-speed"),
            ("firm", "bedding-firm"),
        ],
    },
    Run {
        word: "stop-front",
        what: "stop with the front brake alone",
        fields: &[("distance", "stop-front")],
    },
    Run {
        word: "stall",
        what: "brake held, full demand for two seconds at most",
        fields: &[("time", "stall-time"), ("recovers", "stall-recovers")],
    },
    Run {
        word: "water",
        what: "five minutes of water, then 1 km",
        fields: &[("clean", "water-clean")],
    },
    Run {
        word: "conditions",
        what: "who and what was on the bicycle, wind and air",
        fields: &[
            ("mass", "test-mass"),
            ("wind", "test-wind"),
            ("air", "test-air"),
            ("pressure", "test-pressure"),
            ("sea-pressure", "test-sea-pressure"),
            ("humidity", "test-humidity"),
        ],
    },
    Run {
        word: "stop",
        what: "stop with both brakes, dry, from the speed the ride sheet names",
        fields: &[("distance", "stop-distance"), ("speed", "stop-speed")],
    },
    Run {
        word: "stop-rear",
        what: "stop with the rear brake alone",
        fields: &[("distance", "stop-rear")],
    },
    Run {
        word: "cutoff",
        what: "speed at which assistance ends, both ways over one line",
        fields: &[("out", "cutoff-out"), ("back", "cutoff-back")],
    },
    Run {
        word: "speed",
        what: "top speed both ways over one strip",
        fields: &[
            ("out", "speed-out"),
            ("back", "speed-back"),
            ("grade", "strip-grade"),
            ("volts", "speed-volts"),
            ("amps", "speed-amps"),
            ("amps-out", "speed-amps-out"),
            ("amps-back", "speed-amps-back"),
            ("rest", "speed-rest"),
            ("length", "strip-length"),
            ("time-out", "strip-time-out"),
            ("time-back", "strip-time-back"),
            ("wind", "strip-wind"),
        ],
    },
    Run {
        word: "coast",
        what: "rolling out on the strip from 20 to 10 km/h shown, motor off, both ways",
        fields: &[("out", "coast-out"), ("back", "coast-back")],
    },
    Run {
        word: "legs",
        what: "motor off at the rider's usual push, both ways over the strip",
        fields: &[("out", "legs-out"), ("back", "legs-back")],
    },
    Run {
        word: "throttle",
        what: "motor alone: throttle open, nobody pedalling, both ways over one line",
        fields: &[("out", "alone-out"), ("back", "alone-back")],
    },
    Run {
        word: "walk",
        what: "walk assistance held",
        fields: &[("speed", "walk-speed")],
    },
    Run {
        word: "run-on",
        what: "distance driven on after pedalling stops; again with a lever",
        fields: &[("pedal", "run-on"), ("lever", "run-on-lever")],
    },
    Run {
        word: "hill",
        what: "the rider's hill, steady and seated",
        fields: &[
            ("speed", "hill-speed-ridden"),
            ("grade", "hill-grade-ridden"),
            ("volts", "hill-volts"),
            ("amps", "hill-amps"),
            ("rest", "hill-rest"),
            ("cadence", "hill-cadence"),
            ("worst", "hill-grade-worst"),
            ("amps-most", "hill-amps-most"),
            ("climbed", "hill-climbed"),
        ],
    },
    Run {
        word: "restart",
        what: "starts on the steepest part",
        fields: &[("starts", "hill-restart-done")],
    },
    Run {
        word: "soak",
        what: "climbs back to back, then the motor case",
        fields: &[("case", "case-temperature")],
    },
    Run {
        word: "energy",
        what: "mixed loop at the brief's cruising speed",
        fields: &[
            ("distance", "energy-distance"),
            ("charge", "energy-charge"),
            ("volts", "energy-volts"),
            ("stops", "energy-stops"),
        ],
    },
    Run {
        word: "noise",
        what: "noise at one metre",
        fields: &[("level", "noise")],
    },
    Run {
        word: "codes",
        what: "fault codes left open at the end; `none` when there are none",
        fields: &[("open", "codes-open")],
    },
    Run {
        word: "recheck",
        what: "fasteners tried again hot",
        fields: &[("held", "torque-recheck")],
    },
    Run {
        word: "rough",
        what: "rough lane, gap watched",
        fields: &[
            ("gap", "ride-gap"),
            ("drops", "rough-drops"),
            ("cuts", "rough-cuts"),
        ],
    },
];
