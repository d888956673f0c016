//! Codes of the steps of a test ride that are done rather than timed: stand, bedding, stall,
//! rough lane, water.

use super::Group::Ride;
use super::{Code, count, kmh, quantity};
use crate::field::Shape;
use crate::part::Slot::{
    BrakeSet, Cassette, Chain, Chainring, Controller, Display, Motor, Pack, RotorFront, RotorRear,
};
use crate::unit::Kind;

pub(super) const CODES: &[Code] = &[
    Code::stated(
        Ride,
        "stand-works",
        "",
        "wheel up: start, stop, levers, shift cut, lights, walk assist, reverse pedal all work",
        Shape::Flag,
    )
    .stale_by(&[Motor, Controller, Display, Pack, BrakeSet]),
    Code::stated(
        Ride,
        "bedding-stops",
        "",
        "hard stops to bed the brakes in",
        count(0.0, 60.0),
    )
    .stale_by(&[BrakeSet, RotorFront, RotorRear]),
    Code::stated(
        Ride,
        "bedding-speed",
        "",
        "speed the bedding stops began at",
        kmh(5.0, 50.0),
    )
    .read_with("display", 0.5, 5.0)
    .stale_by(&[BrakeSet, RotorFront, RotorRear]),
    Code::stated(
        Ride,
        "bedding-firm",
        "",
        "levers firm after bedding, clear of the bar",
        Shape::Flag,
    )
    .stale_by(&[BrakeSet, RotorFront, RotorRear]),
    Code::stated(
        Ride,
        "stall-time",
        "",
        "time of full demand with the brake held",
        quantity(Kind::Time, "s", 0.0, 20.0),
    )
    .stale_by(&[Motor, Controller]),
    Code::stated(
        Ride,
        "stall-recovers",
        "",
        "drives again after the stall, no code, motor and axle not moved",
        Shape::Flag,
    )
    .stale_by(&[Motor, Controller]),
    Code::stated(
        Ride,
        "rough-drops",
        "",
        "back-pedalled in the lowest gear on the rough lane without a drop",
        Shape::Tally,
    )
    .tried(10)
    .stale_by(&[Motor, Chainring, Cassette, Chain]),
    Code::stated(
        Ride,
        "rough-cuts",
        "",
        "times the motor cut out on the rough lane",
        count(0.0, 50.0),
    )
    .stale_by(&[Motor, Controller, Pack, Display]),
    Code::stated(
        Ride,
        "water-clean",
        "",
        "no code and no cut after five minutes of water and 1 km",
        Shape::Flag,
    )
    .stale_by(&[Motor, Controller, Display, Pack]),
    Code::stated(
        Ride,
        "stop-front",
        "",
        "stopping distance, front brake alone",
        quantity(Kind::Length, "m", 1.0, 80.0),
    )
    .read_with("tape", 0.1, 1.0)
    .stale_by(&[BrakeSet, RotorFront, RotorRear]),
    Code::stated(
        Ride,
        "hill-cadence",
        "",
        "cadence up the hill",
        quantity(Kind::Rotation, "rpm", 10.0, 150.0),
    )
    .read_with("counted", 1.0, 3.0)
    .stale_by(&[Motor, Chainring, Cassette]),
    Code::stated(
        Ride,
        "hill-amps-most",
        "",
        "highest pack current on the hill",
        quantity(Kind::Current, "A", 0.0, 80.0),
    )
    .read_with("watt meter", 0.2, 0.5)
    .stale_by(&[Motor, Controller, Pack, Chainring, Cassette]),
    Code::stated(
        Ride,
        "hill-climbed",
        "",
        "came up the hill without stopping or pushing",
        Shape::Flag,
    )
    .stale_by(&[Motor, Controller, Pack, Chainring, Cassette]),
    Code::stated(
        Ride,
        "hill-grade-worst",
        "",
        "grade of the hill ridden, steepest part",
        quantity(Kind::Grade, "%", 0.5, 35.0),
    )
    .read_with("inclinometer", 0.2, 0.5),
];
