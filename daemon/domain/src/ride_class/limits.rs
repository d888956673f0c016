//! What the rule sets ask beyond the columns of the table, each with its source.

use jiff::civil::{Date, date};

use super::{Comparator, MotorOnly, SpeedLimit, SpeedUnit, StopLimit, Throttle};

const fn kmh(value: f64, comparator: Comparator) -> SpeedLimit {
    SpeedLimit {
        value,
        unit: SpeedUnit::Kmh,
        comparator,
    }
}

const fn mph(value: f64, comparator: Comparator) -> SpeedLimit {
    SpeedLimit {
        value,
        unit: SpeedUnit::Mph,
        comparator,
    }
}

use Comparator::{Le, Lt};

/// The assist limit in the rule's own unit; the table's km/h are rounded for rules in miles.
pub(super) fn assist_speed(id: &str, table_kmh: f64) -> SpeedLimit {
    match id {
        // 36 CFR 1.4; California Vehicle Code 312.5.
        "us-class1" | "us-class2" | "us-ca-class1" | "us-ca-class2" => mph(20.0, Le),
        "us-class3" | "us-ca-class3" => mph(28.0, Le),
        // New York Vehicle and Traffic Law 102-c.
        "us-ny-class3" => mph(25.0, Le),
        // SI 2015/24 reg. 2: no motor drive above 15.5 mph.
        "gb-eapc" | "gb-eapc-tag" => mph(15.5, Le),
        // Regulation (EU) 168/2013 Art 2(2)(h): cut off before 25 km/h.
        "eu-epac" | "no-elsykkel" => kmh(table_kmh, Lt),
        _ => kmh(table_kmh, Le),
    }
}

/// The motor alone.
pub(super) fn motor_only(id: &str, throttle: Throttle, assist: Option<SpeedLimit>) -> MotorOnly {
    match (id, throttle, assist) {
        // 16 CFR 1512.2(a)(2): less than 20 mph under the motor alone, operator of 170 lb.
        ("us-fed-lseb", ..) => MotorOnly::UpTo(mph(20.0, Lt)),
        // California Vehicle Code 312.5 since 2025: start and walk mode to 3.7 mph.
        ("us-ca-class1" | "us-ca-class3", ..) => MotorOnly::UpTo(mph(3.7, Le)),
        // Swiss VTS Art. 18: design speed by the motor alone.
        ("ch-slow", ..) => MotorOnly::UpTo(kmh(20.0, Le)),
        ("ch-fast", ..) => MotorOnly::UpTo(kmh(30.0, Le)),
        (_, Throttle::None, _) => MotorOnly::Never,
        // EN 15194, start-up assistance mode; taken for the other walk modes too.
        (_, Throttle::Walk, _) => MotorOnly::UpTo(kmh(6.0, Le)),
        (_, Throttle::Full, Some(limit)) => MotorOnly::UpTo(limit),
        (_, Throttle::Full, None) => MotorOnly::Unlimited,
    }
}

/// EN 15194 (2017 line): measured assist speed at most 10 % over the marked one. A limit of
/// law alone has no such allowance.
pub(super) fn test_allowance(id: &str) -> f64 {
    match id {
        "eu-epac" | "no-elsykkel" | "au-epac" | "au-nsw-500" | "sg-pab" => 0.10,
        _ => 0.0,
    }
}

/// Type or individual approval, or certification of the whole vehicle.
pub(super) fn approval_required(id: &str) -> bool {
    matches!(
        id,
        "eu-l1e-a" | "eu-l1e-b" | "gb-eapc-tag" | "sg-pab" | "cn-ebike"
    )
}

/// Standards by which the report on the pack has to be, one of them, by their numbers.
pub(super) fn pack_standards(id: &str) -> &'static [&'static str] {
    match id {
        // EN 15194:2017+A1:2023: the choice of EN 62133 ended on 23 August 2025.
        "eu-epac" => &["50604"],
        // California Health and Safety Code 26300 ff (SB 1271), from 1 January 2026.
        "us-ca-class1" | "us-ca-class2" | "us-ca-class3" => &["2849", "2271", "15194"],
        // New York General Business Law 495-a; the city asks UL 2849 of the whole system.
        "us-ny-class3" => &["2849", "2271", "15194"],
        _ => &[],
    }
}

/// Limits few classes have.
#[derive(Debug, Default)]
pub(super) struct Extra {
    pub max_mass_kg: Option<f64>,
    pub max_nominal_volts: Option<f64>,
    pub stop: Option<StopLimit>,
    pub valid_until: Option<Date>,
}

pub(super) fn extra(id: &str) -> Extra {
    let stop = |from_kmh, within_m| Some(StopLimit { from_kmh, within_m });
    match id {
        // 16 CFR 1512.5 (15 ft); test speed of 1512.18 from memory.
        "us-fed-lseb" => Extra {
            stop: stop(24.0, 4.57),
            ..Extra::default()
        },
        // Repealed in February 2021.
        "ca-fed-2001" => Extra {
            valid_until: Some(date(2021, 2, 28)),
            ..Extra::default()
        },
        // O. Reg. 369/09, from memory, and the trade's restatements.
        "ca-on" => Extra {
            max_mass_kg: Some(120.0),
            stop: stop(30.0, 9.0),
            ..Extra::default()
        },
        // British Columbia's rules in force since 5 April 2024.
        "ca-bc-standard" => Extra {
            stop: stop(32.0, 9.0),
            ..Extra::default()
        },
        "ca-bc-light" => Extra {
            stop: stop(25.0, 7.5),
            ..Extra::default()
        },
        // EN 15194, scope: rated voltage up to 48 V d.c.
        "eu-epac" | "no-elsykkel" | "au-epac" => Extra {
            max_nominal_volts: Some(48.0),
            ..Extra::default()
        },
        // New South Wales tolerates the older bicycles until 1 March 2029.
        "au-nsw-500" => Extra {
            valid_until: Some(date(2029, 3, 1)),
            ..Extra::default()
        },
        // GB 17761-2024, partly read.
        "cn-ebike" => Extra {
            max_mass_kg: Some(55.0),
            max_nominal_volts: Some(48.0),
            ..Extra::default()
        },
        // Singapore, unladen.
        "sg-pab" => Extra {
            max_mass_kg: Some(20.0),
            ..Extra::default()
        },
        // Bicycle Use Promotion Act, from memory.
        "kr-pas" => Extra {
            max_mass_kg: Some(30.0),
            ..Extra::default()
        },
        _ => Extra::default(),
    }
}
