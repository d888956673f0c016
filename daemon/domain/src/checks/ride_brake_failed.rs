//! `ride.brake_failed`: a brake that does not stop the bicycle at all, or hardly.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Speed;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::ride_class::deference::D2;
use crate::stage::Stage;
use crate::unit::Kind;

/// A failed brake.
pub static CHECK: Check = Check {
    id: "ride.brake_failed",
    title: "no brake fails",
    gates: &[Stage::TestRide],
    family: Family::Safe,
    version: 2,
    concede: Concede::Never,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "workshop setting: a stop longer than 15 m from 25 km/h counts as a failed brake; ISO 4210-2 allows \
             15 m for the rear brake alone at 100 kg, from memory",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(case, &["stop-distance", "stop-rear"])?;
    let most = Limit::AtMost(case.rule("brake.stop-failed"));
    let usual = Speed::from_si(case.rule("brake.stop-speed"));
    let job = case.job().number;
    let findings = [
        (
            "both brakes, stopped in",
            "stop-distance",
            "stop distance=METRES speed=25",
        ),
        (
            "rear brake alone, stopped in",
            "stop-rear",
            "stop-rear distance=METRES",
        ),
    ]
    .into_iter()
    .map(|(what, key, again)| {
        // Where the speed of the start is on file the stop counts as from 25 km/h: a short
        // stop from a walking pace proves no brake.
        let distance = if key == "stop-distance" && case.knows("stop-speed") {
            prediction::corrected_stop(case)?.0
        } else {
            case.number(key)?
        };
        Ok(Judged::new(what, distance, Kind::Length, "m")
            .each(&prediction::single_stops(case, key, usual)?)
            .against(most)
            .with_arithmetic("a longer stop than this counts as a failed brake; the bicycle is not ridden on")
            .with_arithmetic(prediction::caution("tr-brakes-first"))
            .with_arithmetic(D2)
            .with_remedy(
                "stop the ride; find the cause: oil on the pads, air in the line, a loose anchor, worn pads",
            )
            .with_remedy(format!(
                "then stop three times again, the first with --anew: lockring ride {job} {again}"
            )))
    })
    .collect::<Result<Vec<_>, _>>()?;
    Ok(findings)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, trekking};

    fn stops(both: &str, rear: &str) -> Bench {
        trekking()
            .ride("stop", &[("distance", both), ("speed", "25 km/h")])
            .ride("stop-rear", &[("distance", rear)])
    }

    #[test]
    fn brakes_that_stop_pass() {
        // Worked example of the trade (common practice, no source): 5.0 m, rear alone 9.1 m.
        let report = stops("5.0 m", "9.1 m").expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings.len(), 2);
    }

    #[test]
    fn either_brake_beyond_fifteen_metres_fails_with_the_guard_band_between() {
        stops("5.0 m", "14.7 m").expect(&CHECK, Verdict::Pass);
        stops("5.0 m", "14.9 m").expect(&CHECK, Verdict::Caution);
        stops("5.0 m", "15.3 m").expect(&CHECK, Verdict::Fail);
        stops("16 m", "9.1 m").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn stops_that_each_fail_fail_together_however_they_scatter() {
        let rear = |again| {
            stops("5.0 m", "16 m")
                .soon()
                .ride("stop-rear", &[("distance", again)])
        };
        let report = rear("30 m").expect(&CHECK, Verdict::Fail);
        let summary = report.summary();
        assert!(
            summary.contains("23") && summary.contains("over stored limit"),
            "{summary}"
        );
        stops("16 m", "9.1 m")
            .soon()
            .ride("stop", &[("distance", "30 m"), ("speed", "25 km/h")])
            .expect(&CHECK, Verdict::Fail);
        // One that is short of the limit leaves the doubt.
        rear("14 m").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn a_stop_begun_slowly_is_brought_to_the_nominal_speed() {
        // EN 14766:2005, track method: 8 m from 15 km/h are 8 x (25/15)^2 = 22.2 m from 25 km/h.
        let slow = trekking()
            .ride("stop", &[("distance", "8 m"), ("speed", "15 km/h")])
            .ride("stop-rear", &[("distance", "9.1 m")]);
        let report = slow.expect(&CHECK, Verdict::Fail);
        assert!((report.findings[0].figures[0].value - 22.2).abs() < 0.05);
    }

    #[test]
    fn a_failed_brake_cannot_be_conceded() {
        assert_eq!(CHECK.concede, Concede::Never);
        let report = trekking().expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 2);
    }

    #[test]
    fn stops_ridden_again_as_the_remedy_says_clear_it() {
        stops("16 m", "9.1 m").cured(&CHECK, "lockring ride 20 stop distance=METRES speed=25", |job| {
            job.ride("stop", &[("distance", "5.0 m"), ("speed", "25 km/h")])
        });
        stops("5 m", "16 m").cured(&CHECK, "lockring ride 20 stop-rear distance=METRES", |job| {
            job.ride("stop-rear", &[("distance", "9.1 m")])
        });
    }
}
