//! What the rule sets ask beyond the columns of the table, each with its source.

use jiff::civil::{Date, date};

use super::{
    AssistRatio, Comparator, MassLimit, MotorOnly, SpeedLimit, SpeedUnit, StopLimit, Throttle, WheelLimit,
};

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

/// Classes tested by EN 15194 and what follows it, by their stored notes.
fn by_en_15194(id: &str) -> bool {
    matches!(
        id,
        "eu-epac" | "no-elsykkel" | "au-epac" | "au-nsw-500" | "sg-pab"
    )
}

/// EN 15194 (2017 line): measured assist speed at most 10 % over the marked one. A limit of
/// law alone has no such allowance.
pub(super) fn test_allowance(id: &str) -> f64 {
    if by_en_15194(id) { 0.10 } else { 0.0 }
}

/// Greatest nominal voltage, V: EN 15194, scope, up to 48 V d.c.; GB 17761-2024, partly read.
pub(super) fn nominal_volts(id: &str) -> Option<f64> {
    (by_en_15194(id) || id == "cn-ebike").then_some(48.0)
}

/// Classes of the EPAC kind: those by EN 15194 and those whose rules want the same bicycle without naming it.
pub(super) fn is_epac(id: &str) -> bool {
    by_en_15194(id)
        || matches!(
            id,
            "gb-eapc"
                | "gb-eapc-tag"
                | "ie-ebike"
                | "ch-slow"
                | "ca-bc-light"
                | "jp-assist"
                | "kr-pas"
                | "il-ebike"
        )
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
        // New York General Business Law 495-a; what the city asks of the whole system is in `set_standard`.
        "us-ny-class3" => &["2849", "2271", "15194"],
        _ => &[],
    }
}

/// The standard by which motor, controller, pack, wiring and charger have to be certified as one set, by its number.
pub(super) fn set_standard(id: &str) -> Option<&'static str> {
    // New York City Administrative Code, title 20, chapter 4, subchapter 2 (Local Law 39 of 2023). The class is one of
    // cities of 1 000 000 people and more, and the State has no other.
    (id == "us-ny-class3").then_some("2849")
}

/// The stop a class asks for.
pub(super) fn stop(id: &str) -> Option<StopLimit> {
    let stop = |from_kmh, within_m| StopLimit {
        from_kmh,
        within_m,
        rider_kg: None,
        from_memory: false,
    };
    match id {
        // 16 CFR 1512.2(a)(2) makes a low-speed electric bicycle a bicycle under part 1512, whatever class a
        // State puts it in. 1512.5: 15 ft with a rider of 150 lb or more; the test speed of 1512.18, for a
        // highest gear that goes beyond it at 60 turns of the crank a minute, from memory.
        _ if id.starts_with("us-") => Some(StopLimit {
            rider_kg: Some(68.1),
            from_memory: true,
            ..stop(24.0, 4.57)
        }),
        // Ontario's rules in the trade's restatements.
        "ca-on" => Some(stop(30.0, 9.0)),
        // British Columbia's rules in force since 5 April 2024.
        "ca-bc-standard" => Some(stop(32.0, 9.0)),
        "ca-bc-light" => Some(stop(25.0, 7.5)),
        _ => None,
    }
}

/// Limits few classes have.
#[derive(Debug, Default)]
pub(super) struct Extra {
    pub max_mass: Option<MassLimit>,
    pub max_width_mm: Option<f64>,
    pub wheels: Option<WheelLimit>,
    pub assist_ratio: Option<AssistRatio>,
    pub built_until: Option<Date>,
    pub valid_until: Option<Date>,
}

pub(super) fn extra(id: &str) -> Extra {
    let mass = |kilograms| {
        Some(MassLimit {
            kilograms,
            comparator: Le,
            without_pack: false,
        })
    };
    let without_pack = |kilograms| {
        mass(kilograms).map(|limit| MassLimit {
            without_pack: true,
            ..limit
        })
    };
    match id {
        // New York Vehicle and Traffic Law 102-c: at most 36 in wide.
        "us-ny-class3" => Extra {
            max_width_mm: Some(36.0 * 25.4),
            ..Extra::default()
        },
        // Repealed in February 2021.
        "ca-fed-2001" => Extra {
            valid_until: Some(date(2021, 2, 28)),
            ..Extra::default()
        },
        // Ontario's rules in the trade's restatements.
        "ca-on" => Extra {
            max_mass: mass(120.0),
            wheels: Some(WheelLimit {
                width_mm: 35.0,
                diameter_mm: 350.0,
            }),
            ..Extra::default()
        },
        // Regulation (EU) 168/2013: mass in running order of a cycle that is designed to pedal. That this leaves
        // the propulsion battery out is from memory.
        "eu-l1e-b" => Extra {
            max_mass: without_pack(35.0),
            ..Extra::default()
        },
        // New South Wales took EN 15194 with 250 W in March 2026 and tolerates the older bicycles until
        // 1 March 2029.
        "au-nsw-500" => Extra {
            built_until: Some(date(2026, 2, 28)),
            valid_until: Some(date(2029, 3, 1)),
            ..Extra::default()
        },
        // At most 2 below 10 km/h, 2 - (v - 10)/7 from there to 24 km/h.
        "jp-assist" => Extra {
            assist_ratio: Some(AssistRatio {
                most: 2.0,
                from_kmh: 10.0,
                to_kmh: 24.0,
            }),
            ..Extra::default()
        },
        // GB 17761-2024, partly read.
        "cn-ebike" => Extra {
            max_mass: mass(55.0),
            ..Extra::default()
        },
        // Singapore, unladen.
        "sg-pab" => Extra {
            max_mass: mass(20.0),
            ..Extra::default()
        },
        // Bicycle Use Promotion Act, from memory: less than 30 kg.
        "kr-pas" => Extra {
            max_mass: mass(30.0).map(|limit| MassLimit {
                comparator: Lt,
                ..limit
            }),
            ..Extra::default()
        },
        // CMVR rule 2(u), from memory.
        "in-ev" => Extra {
            max_mass: without_pack(60.0),
            ..Extra::default()
        },
        _ => Extra::default(),
    }
}
