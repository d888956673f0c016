//! `brakes.fitness`: two independent brakes, one a wheel, before anything moves under power.

use lockring_calc::dropout::Wheel;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Outcome, Verdict};
use crate::part::Slot;
use crate::prediction::{self, Brake};
use crate::stage::Stage;

/// A brake on each wheel.
pub static CHECK: Check = Check {
    id: "brakes.fitness",
    title: "two independent brakes",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Safe,
    version: 5,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "two independent brakes, one per wheel: ISO 4210-2 as adopted in TBIS 4210-2:2018; a brake in the hub goes \
             with the hub: geometry; no coaster hub carries several cogs: common practice; a motor at the crank that turns free backwards cannot work a coaster brake: common practice",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let wheels = [("front", Wheel::Front), ("rear", Wheel::Rear)];
    wheels
        .into_iter()
        .map(|(word, wheel)| Ok(one(case, word, prediction::brake(case, wheel)?)))
        .collect()
}

fn one(case: &Case<'_>, wheel: &str, brake: Brake) -> Finding {
    let number = case.job().number;
    let kind = brake.kind;
    let short = |line: String| {
        Finding::new(Verdict::Fail, line)
            .with_arithmetic(prediction::caution("in-brakes"))
            .with_remedy(format!("a set of brakes: lockring build {number} brake-set=PART"))
            .with_remedy(format!(
                "or, fitted already: lockring donor {number} brake-{wheel}=KIND"
            ))
    };
    if kind == "none" {
        return short(format!("no {wheel} brake: each wheel needs one of its own"));
    }
    if brake.is_in_hub() && is_hub_replaced(case, wheel) {
        return short(format!(
            "{wheel} brake: {kind}, inside the hub that the motor takes the place of: each wheel needs one of its own"
        ))
        .with_remedy(format!(
            "or a motor that leaves this hub in{}: lockring build {number} motor=PART",
            if kind == "coaster" {
                " and lets it be back-pedalled: in the front wheel, or one made for a coaster brake"
            } else {
                ""
            }
        ));
    }
    if kind == "drum" && wheel == "rear" && !brake.new && is_wheel_of_drum_unsaid(case) {
        let mut finding = case.lack("brake-rear");
        finding.summary = format!(
            "rear brake: {kind}, stated before the cogs were: whether it is in the wheel that carries the cassette was not said"
        );
        return finding;
    }
    if brake.is_in_hub() && wheel == "rear" && is_hub_left_to_cogs(case, kind) {
        return short(format!(
            "{wheel} brake: {kind}, inside the hub, and the build puts a cassette of several cogs in that hub's place: \
             each wheel needs one of its own"
        ))
        .with_remedy(format!(
            "or cogs that leave this hub in: lockring build {number} cassette=none"
        ));
    }
    if kind == "coaster" && is_crank_free_backwards(case) {
        return short(format!(
            "{wheel} brake: {kind}, and the motor at the crank turns free backwards: back-pedalling pulls no chain, \
             so it brakes nothing; each wheel needs one of its own"
        ))
        .with_remedy(format!(
            "or a motor whose sheet says coaster-brake = true, or one in the front hub: lockring build {number} motor=PART"
        ));
    }
    Finding::new(Verdict::Pass, format!("{wheel} brake: {kind}"))
        .with_arithmetic(prediction::caution("in-brakes"))
}

/// Whether the motor chosen is the hub of a wheel.
fn is_hub_replaced(case: &Case<'_>, wheel: &str) -> bool {
    let place = case
        .optional_part(Slot::Motor)
        .and_then(|motor| motor.optional_word("place"));
    place.and_then(|place| place.strip_suffix("-hub")) == Some(wheel)
}

/// Whether a cassette of the build takes the rear hub's place, and with it the brake inside: no coaster hub carries several
/// cogs, and a drum goes with gears inside its hub or with its single cog.
fn is_hub_left_to_cogs(case: &Case<'_>, kind: &str) -> bool {
    prediction::chooses_several_cogs(case)
        && (kind == "coaster"
            || prediction::stated_hub_gears(case).is_some()
            || prediction::has_one_cog(case) == Some(true))
}

/// Whether cogs of the bicycle were stated after its drum brake: they may be those of a wheel that takes the place of the
/// one with the drum.
fn is_wheel_of_drum_unsaid(case: &Case<'_>) -> bool {
    prediction::chooses_several_cogs(case)
        && prediction::stated_hub_gears(case).is_none()
        && prediction::has_one_cog(case) == Some(false)
        && ["cogs", "speeds"]
            .iter()
            .any(|key| case.entry_of(key) > case.entry_of("brake-rear"))
}

/// Whether a motor at the crank lets the pedals go backwards without the chain: so do all whose data do not say
/// that they work a coaster brake.
fn is_crank_free_backwards(case: &Case<'_>) -> bool {
    case.optional_part(Slot::Motor)
        .is_some_and(|motor| motor.optional_word("place") == Some("mid") && !motor.flag("coaster-brake"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn the_demo_bicycles_have_two_brakes_each() {
        for bench in [trekking(), longtail(), hardtail()] {
            assert_eq!(bench.expect(&CHECK, Verdict::Pass).findings.len(), 2);
        }
    }

    #[test]
    fn one_brake_fails_until_a_set_is_chosen() {
        for code in ["brake-front", "brake-rear"] {
            let one = trekking().state(&[(code, "none")]);
            one.expect(&CHECK, Verdict::Fail);
            one.build(&[("brake-set", "brakes-disc-2")])
                .expect(&CHECK, Verdict::Pass);
        }
    }

    #[test]
    fn a_motor_at_the_crank_that_turns_free_backwards_leaves_no_coaster_brake() {
        // Common practice of the trade: a coaster hub asks for a compatible motor or a new wheel.
        let coaster = || {
            longtail()
                .build(&[("cassette", "none")])
                .state(&[("brake-rear", "coaster")])
        };
        let cranked = |word| coaster().receive("motor", &[("coaster-brake", word)], ReceiptText::default());
        coaster()
            .build(&[("brake-set", "none")])
            .expect(&CHECK, Verdict::Fail);
        let bare = || coaster().build(&[("brake-set", "none")]);
        bare().cured(&CHECK, "lockring build 21 motor=PART", |job| {
            job.receive("motor", &[("coaster-brake", "yes")], ReceiptText::default())
        });
        bare().cured(&CHECK, "lockring donor 21 brake-rear=KIND", |job| {
            job.state(&[("brake-rear", "rim-linear")])
        });
        cranked("no")
            .build(&[("brake-set", "none")])
            .expect(&CHECK, Verdict::Fail);
        // A motor in the front wheel leaves crank and chain as they were.
        trekking()
            .state(&[("brake-rear", "coaster")])
            .receive("motor", &[("place", "front-hub")], ReceiptText::default())
            .expect(&CHECK, Verdict::Pass);
    }

    /// Geometry: the brake is part of the hub, and the cassette is on another.
    #[test]
    fn a_brake_inside_the_hub_goes_with_the_hub_that_a_cassette_replaces() {
        for kind in ["coaster", "drum"] {
            let hub = || {
                longtail()
                    .receive("motor", &[("coaster-brake", "yes")], ReceiptText::default())
                    .forget("derailleur-cog")
                    .forget("derailleur-capacity")
                    .build(&[("brake-set", "none")])
                    .state(&[("brake-rear", kind), ("hub-gears", "3"), ("cogs", "19")])
            };
            let report = hub().expect(&CHECK, Verdict::Fail);
            assert!(report.summary().contains("several cogs"), "{}", report.summary());
            hub().cured(&CHECK, "lockring build 21 cassette=none", |job| {
                job.build(&[("cassette", "none")])
            });
            hub().cured(&CHECK, "lockring donor 21 brake-rear=KIND", |job| {
                job.state(&[("brake-rear", "rim-linear")])
            });
            hub()
                .build(&[("brake-set", "brakes-disc-2")])
                .expect(&CHECK, Verdict::Pass);
        }
        // There are hubs with a drum that carry a cassette: the bicycle came with one.
        longtail()
            .build(&[("brake-set", "none")])
            .state(&[("brake-rear", "drum")])
            .expect(&CHECK, Verdict::Pass);
    }

    /// Geometry: a single-speed's drum is in its wheel, whatever derailleur is bought for another.
    #[test]
    fn a_drum_beside_one_cog_goes_with_it_until_the_brake_is_stated_anew() {
        const DERAILLEUR: [(&str, &str); 2] = [("derailleur-cog", "34"), ("derailleur-capacity", "35")];
        let single = |code, value| {
            longtail()
                .build(&[("brake-set", "none")])
                .state(&[("brake-rear", "drum"), (code, value)])
        };
        for (code, value) in [("cogs", "19"), ("speeds", "1")] {
            let bare = single(code, value)
                .forget("derailleur-cog")
                .forget("derailleur-capacity");
            bare.expect(&CHECK, Verdict::Fail);
            // The figures of a derailleur say nothing of the brake.
            bare.state(&DERAILLEUR).expect(&CHECK, Verdict::Fail);
        }
        let wheel = single("speeds", "1").state(&[("speeds", "9")]).state(&DERAILLEUR);
        let report = wheel.expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("brake-rear"),
            "{:?}",
            report.missing
        );
        wheel
            .clone()
            .state(&[("brake-rear", "rim-linear")])
            .expect(&CHECK, Verdict::Pass);
        // A new wheel that has a drum of its own.
        wheel
            .state(&[("brake-rear", "drum")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_coaster_set_brakes_the_rear_wheel_only() {
        let coaster = longtail()
            .build(&[("cassette", "none")])
            .receive("motor", &[("coaster-brake", "yes")], ReceiptText::default())
            .receive("brake-set", &[("type", "coaster")], ReceiptText::default());
        let report = coaster.expect(&CHECK, Verdict::Pass);
        assert!(
            report.findings[0].summary.contains("hydraulic-disc"),
            "{}",
            report.findings[0].summary
        );
        coaster
            .state(&[("brake-front", "none")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn a_brake_inside_the_hub_goes_with_the_hub_that_the_motor_replaces() {
        for kind in ["coaster", "drum"] {
            let hub = || trekking().state(&[("brake-rear", kind)]);
            let report = hub().expect(&CHECK, Verdict::Fail);
            assert!(report.summary().contains(kind), "{}", report.summary());
            assert_eq!(
                report.findings[0].verdict,
                Verdict::Pass,
                "the front wheel keeps its hub"
            );
            hub().cured(&CHECK, "lockring build 20 brake-set=PART", |job| {
                job.build(&[("brake-set", "brakes-disc-2")])
            });
            hub().cured(&CHECK, "lockring donor 20 brake-rear=KIND", |job| {
                job.state(&[("brake-rear", "rim-linear")])
            });
            hub().cured(&CHECK, "lockring build 20 motor=PART", |job| {
                let job = job.build(&[("motor", "mid-48-250")]);
                job.receive("motor", &[("coaster-brake", "yes")], ReceiptText::default())
            });
            // A set of brakes in the hub is no cure.
            let set = hub().build(&[("brake-set", "brakes-disc-2")]);
            set.receive("brake-set", &[("type", kind)], ReceiptText::default())
                .expect(&CHECK, Verdict::Fail);
        }
        // A drum in the front wheel is not the motor's.
        trekking()
            .state(&[("brake-front", "drum")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn brakes_nobody_looked_at_are_open() {
        trekking().forget("brake-front").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn either_remedy_clears_it() {
        let one = || trekking().state(&[("brake-front", "none")]);
        one().cured(&CHECK, "lockring build 20 brake-set=PART", |job| {
            job.build(&[("brake-set", "brakes-disc-2")])
        });
        one().cured(&CHECK, "lockring donor 20 brake-front=KIND", |job| {
            job.state(&[("brake-front", "rim-linear")])
        });
    }
}
