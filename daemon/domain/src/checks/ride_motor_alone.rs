//! `ride.motor_alone`: speed by the motor alone, throttle open and nobody pedalling, ridden both ways against the class.
//!
//! What the model says of it at intake (`speed.motor_alone`) is an estimate; a run on the road decides.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::checks::ride_cutoff_speed::{disagreement, pair_of};
use crate::checks::speed_motor_alone::operator;
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::prediction;
use crate::ride_class::deference::D2;
use crate::ride_class::{MotorOnly, RideClass};
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Speed by the motor alone, as ridden.
pub static CHECK: Check = Check {
    id: "ride.motor_alone",
    title: "speed by the motor alone, both ways",
    gates: &[Stage::TestRide],
    family: Family::Law,
    version: 2,
    concede: Concede::Never,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the stored row of the ride class; 15 U.S.C. 2085 and 16 CFR 1512.2: less than 20 mph on a paved level surface; \
             36 CFR 1.4, class 2: to 20 mph; Directive 2006/27/EC, annex III: mean of two runs within 3 %",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let class = prediction::ride_class(case)?;
    let MotorOnly::UpTo(limit) = class.motor_only else {
        return Halt::not_applicable(format!("{} names no speed by the motor alone", class.id));
    };
    if case.optional_word("throttle") != Some("full") {
        return Halt::not_applicable(
            "without a throttle over the whole range nothing drives it by the motor alone",
        );
    }
    let (pair, doubt, line) = pair_of(case, ["alone-out", "alone-back"])?;
    let mean = pair.mean.si();
    let known = Known {
        value: mean,
        u: doubt * mean / 2.0,
        provenance: Provenance::Measured,
    };
    let most = limit.metres_per_second();
    let unit = limit.unit.symbol();
    let job = case.job().number;
    let lower = unit::show(Kind::Speed, unit, most * (1.0 - case.rule("ride.aim")));
    let finding = Judged::new("speed by the motor alone", known, Kind::Speed, unit)
        .against(limit.limit())
        .with_arithmetic(format!(
            "mean of the two runs {}; {line}",
            unit::show(Kind::Speed, unit, mean)
        ))
        .with_arithmetic(class.deference())
        .with_arithmetic(D2)
        .with_remedy(format!(
            "set the limit to {lower}, help while pedalling ends there too, then both ways again: lockring ride {job} \
             throttle out=SPEED back=SPEED --anew"
        ))
        .with_remedy(format!("leave the throttle out: lockring brief {job} throttle=none"));
    let mut findings = vec![if class.limits_from_memory {
        prediction::advise_only(finding, "the stored rule is from memory")
    } else {
        finding
    }];
    findings.extend(disagreement(case, pair, "throttle"));
    findings.extend(heavy_operator(case, class));
    Ok(findings)
}

/// A heavier operator than the one the federal text fixes: with that one it rides faster than was measured.
fn heavy_operator(case: &Case<'_>, class: &RideClass) -> Option<Finding> {
    let (tested, fixed) = (case.optional_number("test-mass")?, operator(case, class)?);
    let within = case.rule("mass.test-within");
    let kg = |si| unit::show(Kind::Mass, "kg", si);
    let finding = Judged::new("rider and load on the runs", tested, Kind::Mass, "kg")
        .against(Limit::AtMost(fixed + within))
        .with_arithmetic(format!(
            "{} as the stored rule has it + {}",
            kg(fixed),
            kg(within)
        ))
        .with_remedy(format!(
            "ride both ways again with {fixed:.0} kg in all: lockring ride {} conditions mass={fixed:.0}kg",
            case.job().number
        ));
    Some(prediction::advise_only(
        finding,
        "with the operator of the stored rule the motor alone drives it faster",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, trekking};

    fn ridden(class: &str, out: &str, back: &str) -> Bench {
        hardtail()
            .state(&[("ride-class", class), ("throttle", "full")])
            .measure(&[("circumference", "2290 mm"), ("circumference-setting", "2290 mm")])
            .ride("throttle", &[("out", out), ("back", back)])
    }

    /// 36 CFR 1.4, class 2: to 20 mph; 16 CFR 1512.2: less than 20 mph.
    #[test]
    fn what_the_motor_does_alone_is_held_against_the_class() {
        for class in ["us-class2", "us-fed-lseb"] {
            ridden(class, "19.4 mph", "19.6 mph").expect(&CHECK, Verdict::Pass);
            ridden(class, "20 mph", "20 mph").expect(&CHECK, Verdict::Caution);
            let over = ridden(class, "21 mph", "21.2 mph").expect(&CHECK, Verdict::Fail);
            assert!((over.findings[0].figures[0].value - 21.1).abs() < 1e-9);
            assert!(!over.is_concedable());
        }
        // The Swiss slow class drives alone to 20 km/h (VTS, Art. 18).
        ridden("ch-slow", "21.5 km/h", "21.5 km/h").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn runs_too_far_apart_do_not_count() {
        let report = ridden("us-class2", "17 mph", "18.5 mph").expect(&CHECK, Verdict::Caution);
        assert!(report.findings[1].remedies[0].contains("lockring ride 23 throttle out=SPEED"));
    }

    #[test]
    fn it_is_asked_for_where_there_is_such_a_throttle_and_a_limit() {
        let throttle = hardtail().state(&[("ride-class", "us-class2"), ("throttle", "full")]);
        assert_eq!(throttle.expect(&CHECK, Verdict::Open).missing.len(), 2);
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let walks = throttle.clone().state(&[("throttle", "walk")]);
        walks.expect(&CHECK, Verdict::NotApplicable);
        let free = throttle.state(&[("ride-class", "generic-private")]);
        free.expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn a_lower_limit_ridden_again_clears_it_and_so_does_no_throttle() {
        let fast = ridden("us-class2", "21 mph", "21 mph");
        fast.clone()
            .cured(&CHECK, "lockring ride 23 throttle out=SPEED", |job| {
                job.ride("throttle", &[("out", "19.6 mph"), ("back", "19.6 mph")])
            });
        fast.cured(&CHECK, "lockring brief 23 throttle=none", |job| {
            job.state(&[("throttle", "none")])
        });
    }

    /// 15 U.S.C. 2085: an operator of 170 pounds, 77.1 kg; a test within 5 kg of its mass is common practice.
    #[test]
    fn runs_under_a_heavier_operator_than_the_federal_one_are_looked_at() {
        let under = |class: &str, mass: &str| {
            ridden(class, "19.4 mph", "19.6 mph").ride("conditions", &[("mass", mass), ("wind", "1 m/s")])
        };
        under("us-fed-lseb", "80 kg").expect(&CHECK, Verdict::Pass);
        let heavy = under("us-fed-lseb", "99 kg");
        let report = heavy.expect(&CHECK, Verdict::Caution);
        assert!(
            report.summary().contains("drives it faster"),
            "{}",
            report.summary()
        );
        heavy.cured(&CHECK, "lockring ride 23 conditions mass=77kg", |job| {
            job.ride("conditions", &[("mass", "77 kg"), ("wind", "1 m/s")])
        });
        // Other classes mean the rider at hand.
        under("us-class2", "99 kg").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_rule_from_memory_advises_only() {
        let report = ridden("in-ev", "27 km/h", "27 km/h").expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("advice only"), "{}", report.summary());
    }
}
