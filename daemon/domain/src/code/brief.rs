//! Codes of the brief: what the rider needs.

use super::Group::Brief;
use super::{Code, Sense, count, gradient, kilograms, kmh, quantity, watts};
use crate::field::Shape;
use crate::unit::Kind;

/// Where a grade comes from; a told grade is also computed 1.3 times as steep.
const SOURCES: &[&str] = &["told", "map", "measured"];

pub(super) const CODES: &[Code] = &[
    Code::stated(Brief, "bike", "", "what kind of bicycle it is", Shape::Text),
    Code::stated(Brief, "contact", "", "how the rider is reached", Shape::Text),
    Code::stated(Brief, "ride-class", "class", "ride class", Shape::Text),
    Code::stated(
        Brief,
        "range",
        "",
        "distance between charges",
        quantity(Kind::Length, "km", 1.0, 300.0),
    ),
    Code::stated(
        Brief,
        "climb",
        "",
        "climbing on that distance",
        quantity(Kind::Length, "m", 0.0, 5000.0),
    ),
    Code::stated(Brief, "stops", "", "stops per kilometre", count(0.0, 10.0)),
    Code::stated(
        Brief,
        "coldest",
        "",
        "coldest riding day",
        quantity(Kind::Temperature, "C", -30.0, 40.0),
    ),
    Code::stated(
        Brief,
        "altitude",
        "",
        "altitude of the place",
        quantity(Kind::Length, "m", -400.0, 4000.0),
    ),
    Code::stated(
        Brief,
        "hill-grade",
        "grade",
        "grade of the worst hill",
        gradient(0.0, 30.0),
    ),
    Code::stated(
        Brief,
        "hill-length",
        "",
        "length of the worst hill",
        quantity(Kind::Length, "m", 10.0, 30_000.0),
    ),
    Code::stated(
        Brief,
        "hill-source",
        "",
        "where the grade comes from",
        Shape::Word(SOURCES),
    ),
    Code::stated(
        Brief,
        "hill-speed",
        "",
        "slowest acceptable speed on the hill",
        kmh(3.0, 40.0),
    ),
    Code::stated(
        Brief,
        "hill-restart",
        "",
        "whether a start on the hill is needed",
        Shape::Flag,
    ),
    Code::stated(
        Brief,
        "descent-grade",
        "",
        "grade of the worst descent",
        gradient(0.0, 30.0),
    ),
    Code::stated(
        Brief,
        "descent-speed",
        "",
        "speed held on the descent",
        kmh(3.0, 60.0),
    ),
    Code::stated(
        Brief,
        "descent-length",
        "",
        "length of the worst descent",
        quantity(Kind::Length, "m", 10.0, 30_000.0),
    ),
    Code::stated(Brief, "cruise-speed", "cruise", "cruising speed", kmh(8.0, 60.0)),
    Code::stated(
        Brief,
        "top-speed",
        "",
        "top speed wished for on the level",
        kmh(10.0, 60.0),
    ),
    Code::stated(
        Brief,
        "rider-mass",
        "",
        "mass of the rider, dressed",
        kilograms(20.0, 200.0),
    ),
    Code::stated(
        Brief,
        "load-mass",
        "",
        "mass of everything carried",
        kilograms(0.0, 250.0),
    ),
    Code::stated(
        Brief,
        "rider-power",
        "",
        "rider's power when cruising",
        watts(0.0, 400.0),
    )
    .meaning(Sense::Effort),
    Code::stated(
        Brief,
        "rider-power-hill",
        "",
        "rider's power on the hill",
        watts(0.0, 600.0),
    )
    .meaning(Sense::Effort),
    Code::stated(
        Brief,
        "posture",
        "",
        "posture on the bicycle",
        Shape::Word(&[
            "city-upright",
            "trekking",
            "flat-bar",
            "drop-bar",
            "cargo",
            "folder",
            "recumbent",
        ]),
    ),
    Code::stated(
        Brief,
        "rolling",
        "",
        "tyres and surface",
        Shape::Word(&[
            "slick-asphalt",
            "city-asphalt",
            "trekking-asphalt",
            "cargo-asphalt",
            "knobbly-asphalt",
            "gravel",
            "trail",
        ]),
    ),
    Code::stated(
        Brief,
        "throttle",
        "",
        "throttle wished for",
        Shape::Word(&["none", "walk", "full"]),
    ),
    Code::stated(
        Brief,
        "rider-age",
        "",
        "age of the youngest rider",
        quantity(Kind::Count, "", 5.0, 110.0),
    ),
    Code::stated(Brief, "budget", "", "budget", Shape::Money),
    Code::stated(Brief, "quote", "", "quoted total", Shape::Money),
    Code::stated(Brief, "promise", "", "promised day", Shape::Day),
    Code::stated(
        Brief,
        "promise-kind",
        "",
        "how fixed the promise is",
        Shape::Word(&["soft", "hard"]),
    ),
    Code::stated(
        Brief,
        "carrier-load",
        "",
        "load on the carrier besides a pack",
        kilograms(0.0, 150.0),
    ),
];
