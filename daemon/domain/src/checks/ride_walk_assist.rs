//! `ride.walk_assist`: speed of the walk assistance.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::ride_class::{D2, MotorOnly, Throttle};
use crate::stage::Stage;
use crate::unit::Kind;

/// Walk-assistance speed.
pub static CHECK: Check = Check {
    id: "ride.walk_assist",
    title: "speed of the walk assistance",
    gates: &[Stage::TestRide],
    family: Family::Law,
    version: 3,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the stored row of the ride class: speed by the motor alone; EN 15194, start-up assistance mode: 6 km/h (as \
             adopted in TBIS 15194:2019, 4.2.12)",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let wanted = case.optional_word("throttle") == Some("walk");
    if !wanted && case.optional_number("walk-speed").is_none() {
        return Halt::not_applicable("no walk assistance is asked for and none was measured");
    }
    let class = prediction::ride_class(case)?;
    if !wanted && class.throttle == Throttle::Full {
        return Halt::not_applicable(format!(
            "{} asks nothing of walk assistance; what it asks of the motor alone is ridden with the throttle",
            class.id
        ));
    }
    let speed = case.number("walk-speed")?;
    let Some(stored) = class.motor_only.limit() else {
        return Halt::not_applicable(format!("{} names no speed by the motor alone", class.id));
    };
    // Where the class means walking alone, no more than the shop's own limit.
    let own = case.rule("ride.walk-assist-most");
    let (limit, unit, told) = match class.motor_only {
        MotorOnly::UpTo(alone)
            if class.throttle == Throttle::Walk && own <= alone.metres_per_second() + 1e-9 =>
        {
            (
                Limit::AtMost(own),
                alone.unit.symbol(),
                prediction::caution("tr-walk"),
            )
        }
        MotorOnly::UpTo(alone) => (stored, alone.unit.symbol(), D2.to_owned()),
        MotorOnly::Never | MotorOnly::Unlimited => (
            stored,
            "km/h",
            format!("{}: no drive by the motor alone", class.id),
        ),
    };
    let job = case.job().number;
    let mut finding = Judged::new("walk assistance", speed, Kind::Speed, unit)
        .against(limit)
        .with_arithmetic(told);
    finding = if class.motor_only == MotorOnly::Never {
        finding
            .with_remedy(format!(
                "leave it out (lockring brief {job} throttle=none) and take the run back: lockring undo {job} --entry \
                 NUMBER --why WHY"
            ))
            .with_remedy(format!(
                "another ride class, where the place allows it: lockring brief {job} ride-class=CLASS"
            ))
    } else {
        finding.with_remedy(format!(
            "set it slower and hold it again: lockring ride {job} walk speed=SPEED --anew"
        ))
    };
    finding = finding.with_arithmetic(class.deference());
    Ok(vec![if class.limits_from_memory {
        prediction::advise_only(finding, "the stored rule is from memory")
    } else {
        finding
    }])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};

    fn walk(bench: Bench, speed: &str) -> Bench {
        bench.ride("walk", &[("speed", speed)])
    }

    #[test]
    fn five_point_six_passes_and_eight_fails() {
        // Worked example of the trade (common practice, no source): 5.6 km/h; a firmware was
        // found cutting at 8 where 6 was set.
        walk(trekking(), "5.6 km/h").expect(&CHECK, Verdict::Pass);
        walk(trekking(), "8 km/h").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn the_verdict_turns_with_the_guard_band_between_and_a_slower_setting_clears_it() {
        // EN 15194: 6 km/h; the display reads within 0.2 km/h.
        walk(trekking(), "6.1 km/h").expect(&CHECK, Verdict::Caution);
        walk(trekking(), "5.9 km/h").expect(&CHECK, Verdict::Caution);
        walk(walk(trekking(), "6.3 km/h"), "5.7 km/h").expect(&CHECK, Verdict::Pass);
    }

    /// 36 CFR 1.4: class 1 helps only while the rider pedals; class 2 drives alone to 20 mph. Calif. Veh. Code 312.5:
    /// 3.7 mph (5.95 km/h). Swiss VTS Art. 18: 20 km/h. Irish guidance: no motor that runs on without pedalling.
    #[test]
    fn each_class_has_its_own_limit_of_the_motor_alone() {
        for (class, speed, verdict) in [
            ("us-class1", "5 km/h", Verdict::Fail),
            ("us-class3", "5 km/h", Verdict::Fail),
            ("ie-ebike", "5 km/h", Verdict::Fail),
            // These let the motor drive alone at riding speed: that is another run.
            ("us-class2", "8 km/h", Verdict::NotApplicable),
            ("ch-slow", "8 km/h", Verdict::NotApplicable),
            ("ch-fast", "14 km/h", Verdict::NotApplicable),
            ("us-ca-class1", "5.5 km/h", Verdict::Pass),
            ("us-ca-class1", "5.95 km/h", Verdict::Caution),
            ("us-ca-class3", "6.4 km/h", Verdict::Fail),
            ("gb-eapc", "5.6 km/h", Verdict::Pass),
            ("generic-private", "8 km/h", Verdict::NotApplicable),
            // The Norwegian and the Korean row are from memory.
            ("no-elsykkel", "8 km/h", Verdict::Caution),
            ("kr-pas", "5 km/h", Verdict::Caution),
        ] {
            let report = walk(trekking().state(&[("ride-class", class)]), speed).report(&CHECK);
            assert_eq!(report.verdict, verdict, "{class} {speed}: {:?}", report.findings);
        }
    }

    #[test]
    fn a_class_without_drive_by_the_motor_alone_says_so_and_another_class_clears_it() {
        let american = walk(trekking().state(&[("ride-class", "us-class1")]), "5 km/h");
        let report = american.expect(&CHECK, Verdict::Fail);
        assert_eq!(
            report.findings[0].arithmetic[0],
            "us-class1: no drive by the motor alone"
        );
        american.cured(&CHECK, "lockring brief 20 ride-class=CLASS", |job| {
            job.state(&[("ride-class", "us-class2")])
        });
    }

    #[test]
    fn open_where_it_is_asked_for_and_not_applicable_where_not() {
        trekking()
            .state(&[("throttle", "walk")])
            .expect(&CHECK, Verdict::Open);
        trekking().expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn a_slower_setting_as_the_remedy_says_clears_it() {
        walk(trekking(), "6.3 km/h").cured(&CHECK, "lockring ride 20 walk speed=SPEED", |job| {
            walk(job, "5.7 km/h")
        });
    }
}
