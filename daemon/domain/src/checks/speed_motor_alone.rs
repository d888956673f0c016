//! `speed.motor_alone`: predicted speed by the motor alone, where the class limits it.

use lockring_calc::doubt;
use lockring_calc::pack::Load;
use lockring_calc::performance::{self, DriveSystem};
use lockring_calc::quantity::{Mass, Speed};
use lockring_calc::road::RoadLoad;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::prediction;
use crate::ride_class::{MotorOnly, RideClass};
use crate::stage::Stage;
use crate::unit::Kind;

/// A throttle over the whole range makes the motor's own speed count.
pub static CHECK: Check = Check {
    id: "speed.motor_alone",
    title: "predicted speed by the motor alone within the ride class",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Law,
    version: 4,
    concede: Concede::Never,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the stored row of the ride class; 15 U.S.C. 2085 and 16 CFR 1512.2: less than 20 mph with an \
             operator of 170 lb; road load of Martin et al. 1998",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let class = prediction::ride_class(case)?;
    let MotorOnly::UpTo(limit) = class.motor_only else {
        return Halt::not_applicable(format!("{} names no speed by the motor alone", class.id));
    };
    if case.word("throttle")? != "full" {
        return Halt::not_applicable(
            "without a throttle over the whole range nothing drives it by the motor alone",
        );
    }
    let rider = match operator(case, class) {
        Some(rider) => rider,
        None => case.number("rider-mass")?.value,
    };
    let bicycle = prediction::bicycle_mass(case)?;
    let road = prediction::fastest_alone(case, bicycle.value + rider)?;
    // A limit of speed is asked of the fullest pack, which turns the motor fastest, and no cut-off may help to keep it.
    let system = DriveSystem {
        pack: prediction::full_pack(case, Load::Sustained)?,
        fold: None,
        ..prediction::drive(case, Load::Sustained)?
    };
    let rho = prediction::air_density(case)?;
    let speed = |system: &DriveSystem, road: &RoadLoad| {
        performance::top_speed_motor_alone(system, road, rho)
            .map(|climb| climb.speed.si())
            .map_err(|error| prediction::unusable(case, "drive", &error))
    };
    let alone = speed(&system, &road)?;
    // The fastest posture and tyres stand for the doubt of both. What the motor and the controller make of the
    // pack is moved by its standard uncertainty, as the mass is (JCGM 100:2008, 5.1.3, note 2).
    let heavier = RoadLoad {
        mass: road.mass + Mass::kilograms(bicycle.u),
        ..road
    };
    let by_mass = speed(&system, &heavier)? - alone;
    // Of a motor its torque and its speed at a voltage are one constant.
    let spread = case.rule("model.motor-spread");
    let mut wound = system.clone();
    if let Some(motor) = &mut wound.motor {
        motor.kt *= 1.0 - spread;
    }
    let by_winding = speed(&wound, &road)? - alone;
    let losses = doubt::standard_from_half_width(case.rule("model.drive-efficiency-spread"));
    let lossy = DriveSystem {
        controller_efficiency: system.controller_efficiency * (1.0 - losses),
        ..system.clone()
    };
    let by_losses = speed(&lossy, &road)? - alone;
    let known = Known {
        value: alone,
        u: by_mass.hypot(by_winding).hypot(by_losses),
        provenance: Provenance::Stated,
    };
    let most = limit.metres_per_second();
    let unit = limit.unit.symbol();
    let job = case.job().number;
    // A little under, so that a strict limit is kept too.
    let set = Speed::from_si(most).as_kilometres_per_hour() - 1.0;
    let what = "speed by the motor alone on the level, worst case, an estimate,";
    let finding = Judged::new(what, known, Kind::Speed, unit)
        .against(limit.limit())
        .with_arithmetic(format!(
            "bicycle {:.1} kg and operator {rider:.1} kg, {:.1} N on the level at {:.1} km/h",
            bicycle.value,
            road.resistance(Speed::from_si(alone), prediction::grade(0.0), Speed::ZERO, rho)
                .as_newtons(),
            Speed::from_si(alone).as_kilometres_per_hour()
        ))
        .with_arithmetic(format!(
            "worst case: full pack, crouched at {:.3} m2, hard tyres at {:.4}",
            road.cda.as_square_metres(),
            road.crr
        ))
        .with_arithmetic(format!(
            "an estimate: the motor's winding may be {:.0} % off, the controller's losses {:.0} %; a run \
             on the road decides",
            100.0 * spread,
            100.0 * case.rule("model.drive-efficiency-spread")
        ))
        .with_arithmetic(class.deference())
        .with_remedy(format!(
            "set the limit lower, help while pedalling ends there too: lockring measure {job} assist-limit \
             {set:.1}km/h"
        ))
        .with_remedy(format!(
            "leave the throttle out: lockring brief {job} throttle=none"
        ));
    Ok(vec![finding])
}

/// Mass, kg, of the operator that the federal text fixes (15 U.S.C. 2085); `None` for classes that mean the rider at hand.
pub(super) fn operator(case: &Case<'_>, class: &RideClass) -> Option<f64> {
    (class.id == "us-fed-lseb").then(|| case.rule("ride.motor-alone-rider"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, hardtail, trekking};

    fn federal(throttle: &str) -> Bench {
        hardtail().state(&[("ride-class", "us-fed-lseb"), ("throttle", throttle)])
    }

    #[test]
    fn a_strong_motor_alone_is_over_twenty_miles_and_a_lower_limit_clears_it() {
        // 15 U.S.C. 2085: less than 20 mph (32.187 km/h) by the motor alone, operator of 170 lb.
        let fast = federal("full");
        let report = fast.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].arithmetic[0].contains("operator 77.1 kg"),
            "{:?}",
            report.findings[0].arithmetic
        );
        let remedy = &report.findings[0].remedies[0];
        assert!(remedy.ends_with("assist-limit 31.2km/h"), "{remedy}");
        fast.measure(&[("assist-limit", "31.2km/h")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_full_pack_is_what_counts() {
        // Current enough to pass the limit and too little to reach what is set.
        let free = federal("full").measure(&[("assist-limit", "50 km/h"), ("current-limit", "8 A")]);
        let rules = crate::rules::RuleSheet::shipped();
        let case = Case::new(&free.job, &rules, Stage::Intake);
        let third = prediction::drive(&case, Load::Sustained).unwrap().pack;
        let full = prediction::full_pack(&case, Load::Sustained).unwrap();
        // 13 cells of 4.20 V.
        assert!((full.open_circuit.as_volts() - 54.6).abs() < 1e-9);
        let mass = prediction::bicycle_mass(&case).unwrap().value + 77.1;
        let road = prediction::fastest_alone(&case, mass).unwrap();
        let alone = |pack| {
            let system = DriveSystem {
                pack,
                ..prediction::drive(&case, Load::Sustained).unwrap()
            };
            let rho = prediction::air_density(&case).unwrap();
            performance::top_speed_motor_alone(&system, &road, rho)
                .unwrap()
                .speed
        };
        let judged = free.expect(&CHECK, Verdict::Fail).findings[0].figures[0].value / 2.236_936;
        assert!((judged - alone(full).si()).abs() < 0.01, "{judged}");
        assert!(judged > alone(third).si() + 0.1, "{judged}");
    }

    #[test]
    fn what_runs_out_of_volts_is_no_surer_than_the_motor_s_winding() {
        // Without a limit the volts end it. A winding 5 % off (rule sheet) turns as much faster or slower at the same
        // volts but for what the road takes of it: some 4 % of the speed, and twice that expanded.
        let free = federal("full").measure(&[("assist-limit", "80 km/h")]);
        let report = free.report(&CHECK);
        let (speed, doubt) = (
            report.findings[0].figures[0].value,
            report.findings[0].figures[0].uncertainty.unwrap(),
        );
        assert!((0.01..=0.11).contains(&(doubt / speed)), "{speed} mph, {doubt}");
        let said = report.summary();
        assert!(said.contains("worst case, an estimate"), "{said}");
        // A limit that is set holds whatever the motor is like.
        let held = federal("full")
            .measure(&[("assist-limit", "31.2km/h")])
            .report(&CHECK);
        assert!(
            held.findings[0].figures[0]
                .uncertainty
                .is_none_or(|doubt| doubt < 1e-6)
        );
    }

    #[test]
    fn the_limit_itself_is_over_where_the_class_says_less_than() {
        federal("full")
            .measure(&[("assist-limit", "20 mph")])
            .expect(&CHECK, Verdict::Fail);
        federal("full")
            .measure(&[("assist-limit", "19.9 mph")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn without_a_full_throttle_or_a_limit_it_does_not_apply() {
        federal("none").expect(&CHECK, Verdict::NotApplicable);
        hardtail()
            .state(&[("throttle", "full")])
            .expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn an_unasked_throttle_or_class_is_open() {
        federal("full").forget("throttle").expect(&CHECK, Verdict::Open);
        trekking().forget("ride-class").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn the_limit_the_remedy_names_clears_it() {
        federal("full").cured(&CHECK, "lockring measure 23 assist-limit 31.2km/h", |job| {
            job.measure(&[("assist-limit", "31.2km/h")])
        });
    }

    #[test]
    fn on_the_limit_the_doubt_of_the_mass_decides_nothing() {
        // Between the currents that pass and those that fail lies one at which the limit is inside the doubt.
        let (mut low, mut high) = (3.0, 6.0);
        let met = (0..50).any(|_| {
            let middle = f64::midpoint(low, high);
            let verdict = federal("full")
                .measure(&[
                    ("assist-limit", "50 km/h"),
                    ("current-limit", &format!("{middle:.12} A")),
                ])
                .report(&CHECK)
                .verdict;
            if verdict == Verdict::Fail {
                high = middle;
            } else {
                low = middle;
            }
            verdict == Verdict::Caution
        });
        assert!(met, "{low} to {high} A");
    }

    #[test]
    fn the_fastest_posture_and_tyres_count_whatever_the_rider_sits_like() {
        // A crouch of 0.317 m2 and tyres of 0.004 let the watts of 6 A go faster than 20 mph; upright they make
        // less (facts of the federal text: full battery, crouched, hard tyres).
        let at = |posture: &str, current: &str| {
            federal("full")
                .state(&[("posture", posture)])
                .measure(&[("assist-limit", "50 km/h"), ("current-limit", current)])
        };
        let crouched = |bench: &Bench| bench.report(&CHECK).findings[0].figures[0].value;
        let upright = at("city-upright", "6 A");
        assert!((crouched(&upright) - crouched(&at("drop-bar", "6 A"))).abs() < 1e-9);
        upright.expect(&CHECK, Verdict::Fail);
        at("city-upright", "3 A").expect(&CHECK, Verdict::Pass);
        // By hand: 0.5 x 1.225 kg/m3 x (0.317 + 0.0044) m2 x v^2 + 0.004 x m g, at the speed found.
        let line = &upright.report(&CHECK).findings[0].arithmetic[1];
        assert!(
            line.contains("crouched at 0.317 m2, hard tyres at 0.0040"),
            "{line}"
        );
    }
}
