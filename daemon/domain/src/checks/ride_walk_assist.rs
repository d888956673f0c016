//! `ride.walk_assist`: speed of the walk assistance.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Walk-assistance speed.
pub static CHECK: Check = Check {
    id: "ride.walk_assist",
    title: "speed of the walk assistance",
    gates: &[Stage::TestRide],
    family: Family::Law,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "EN 15194, start-up assistance mode: 6 km/h (as adopted in TBIS 15194:2019, 4.2.12)",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let wanted = case.optional_word("throttle") == Some("walk");
    if !wanted && case.optional_number("walk-speed").is_none() {
        return Halt::not_applicable("no walk assistance is asked for and none was measured");
    }
    let speed = case.number("walk-speed")?;
    let class = prediction::ride_class(case)?;
    Ok(vec![
        Judged::new("walk assistance", speed, Kind::Speed, "km/h")
            .against(Limit::AtMost(case.rule("ride.walk-assist-most")))
            .with_arithmetic(prediction::caution("tr-walk"))
            .with_remedy(format!(
                "set it slower and hold it again: lockring ride {} walk speed=SPEED",
                case.job().number
            ))
            .with_remedy(class.deference()),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
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
