//! `ride.conditions`: wind and mass on the test ride.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Conditions of the test ride.
pub static CHECK: Check = Check {
    id: "ride.conditions",
    title: "wind and mass on the test ride",
    gates: &[Stage::TestRide],
    family: Family::Ride,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "wind 2 m/s good, 3 m/s at most: German rule for road tests of engine power, from a restatement; mass \
             within 5 kg of the rider's: common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(case, &["test-wind", "test-mass"])?;
    Ok(vec![wind(case)?, mass(case)?])
}

fn wind(case: &Case<'_>) -> Result<Finding, Halt> {
    let good = Limit::AtMost(case.rule("ride.wind-good"));
    let most = Limit::AtMost(case.rule("ride.wind-most"));
    Ok(
        Judged::new("mean wind", case.number("test-wind")?, Kind::Speed, "m/s")
            .between(good, most)
            .with_arithmetic(
                "over a two-way run wind adds (wind/speed)^2 to the mean air drag: at 25 km/h 2 % at 1 m/s, 8 % at 2, 19 % at 3",
            )
            .with_remedy(format!(
                "ride on a calmer day: lockring ride {} conditions wind=SPEED, and the runs again",
                case.job().number
            )),
    )
}

/// A rider of another mass can be allowed for by the model, so it is never more than a caution.
fn mass(case: &Case<'_>) -> Result<Finding, Halt> {
    let tested = case.number("test-mass")?;
    let wanted = case.number("rider-mass")?.value + case.number("load-mass")?.value;
    let within = case.rule("mass.test-within");
    let kg = |si| unit::show(Kind::Mass, "kg", si);
    let finding = Judged::new("rider and load on the test", tested, Kind::Mass, "kg")
        .against(Limit::Within(wanted - within, wanted + within))
        .with_arithmetic(format!(
            "{} against {} of the brief",
            kg(tested.value),
            kg(wanted)
        ))
        .with_remedy(format!(
            "ballast to {} and ride again: lockring ride {} conditions mass={wanted:.0}kg",
            kg(wanted),
            case.job().number
        ));
    Ok(prediction::advise_only(
        finding,
        "the model allows for another mass",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, trekking};

    fn ridden(mass: &str, wind: &str) -> Bench {
        trekking().ride("conditions", &[("mass", mass), ("wind", wind), ("air", "11 C")])
    }

    #[test]
    fn one_metre_a_second_and_the_riders_own_mass_pass() {
        // Worked example of the trade (common practice, no source): 1 m/s, 78 kg.
        ridden("78 kg", "1 m/s").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn more_wind_is_a_caution_and_too_much_fails() {
        ridden("78 kg", "2.5 m/s").expect(&CHECK, Verdict::Caution);
        ridden("78 kg", "3.5 m/s").expect(&CHECK, Verdict::Caution);
        ridden("78 kg", "3.7 m/s").expect(&CHECK, Verdict::Fail);
        ridden("78 kg", "3.7 m/s")
            .ride("conditions", &[("wind", "1.2 m/s")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn another_mass_is_never_more_than_a_caution() {
        ridden("73.9 kg", "1 m/s").expect(&CHECK, Verdict::Caution);
        ridden("60 kg", "1 m/s").expect(&CHECK, Verdict::Caution);
        ridden("74.5 kg", "1 m/s").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn open_until_both_are_recorded() {
        assert_eq!(trekking().expect(&CHECK, Verdict::Open).missing.len(), 2);
    }

    #[test]
    fn a_calmer_day_as_the_remedy_says_clears_it() {
        ridden("78 kg", "3.7 m/s").cured(&CHECK, "lockring ride 20 conditions wind=SPEED", |job| {
            job.ride("conditions", &[("wind", "1.2 m/s")])
        });
    }
}
