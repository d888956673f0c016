//! Forecasts of the demo's bicycles, against the trade's worked examples.

mod ridden;

use super::*;
use crate::checks::testing::{longtail, trekking};

/// Few draws: the arithmetic is the same and the tests stay quick.
const QUICK: Asked = Asked { draws: 60, seed: 7 };

fn of(job: &Job, asked: Asked) -> Forecast {
    forecast(job, &RuleSheet::shipped(), None, asked, &mut |_| true).unwrap()
}

fn answer<'f>(forecast: &'f Forecast, start: &str) -> &'f Answer {
    forecast
        .answers
        .iter()
        .find(|answer| answer.name.starts_with(start))
        .unwrap()
}

fn measured() -> Job {
    longtail()
        .state(&[("hill-grade", "10.8%"), ("hill-source", "measured")])
        .job
}

#[test]
fn the_measured_hill_is_hardly_climbed_as_built_and_likely_after_the_change() {
    // Worked examples of the trade (common practice, no source): 42/34 makes 6.3 km/h on
    // 10.8 %, 38/36 makes 10.2; 9 km/h are asked for.
    let built = of(&measured(), QUICK);
    let hill = answer(&built, "hill of 10.8 %, a fifth");
    assert!((3.6 * hill.best.unwrap() - 6.3).abs() < 0.3, "{hill:?}");
    assert!(hill.wish.as_ref().unwrap().probability < 0.1, "{hill:?}");
    let changed = longtail()
        .state(&[("hill-grade", "10.8%"), ("hill-source", "measured")])
        .build(&[("chainring", "ring-38-5"), ("cassette", "cassette-9-11-36")])
        .job;
    let changed = of(&changed, QUICK);
    let likely = |start: &str| answer(&changed, start).wish.as_ref().unwrap().probability;
    let (full, low) = (likely("hill of 10.8 %, full"), likely("hill of 10.8 %, a fifth"));
    assert!(full > 0.6 && low > 0.6 && low <= full, "{full} {low}");
    assert_eq!(answer(&changed, "hill of 10.8 %, a fifth").held_by, "power");
}

#[test]
fn percentiles_rise_and_hold_the_best_estimate() {
    for job in [measured(), trekking().job] {
        for answer in of(&job, QUICK).answers {
            let [low, middle, high] = answer.percentiles.map(|value| value.unwrap_or(0.0));
            assert!(low <= middle && middle <= high, "{answer:?}");
            let best = answer.best.unwrap();
            let slack = 0.06 * best.abs() + 0.05;
            assert!(best > low - slack && best < high + slack, "{answer:?}");
            assert!(answer.matters.len() <= NAMED);
            assert!(
                answer
                    .matters
                    .iter()
                    .all(|(_, share)| (0.0..=1.0).contains(share))
            );
        }
    }
}

#[test]
fn the_assist_limit_hides_every_doubt_and_a_steep_hill_shows_it() {
    // EN 15194: assistance ends at 25 km/h; a full pack holds it whatever the drag.
    let forecast = of(&trekking().job, QUICK);
    let top = answer(&forecast, "level, rider and motor, full");
    assert!((3.6 * top.best.unwrap() - 25.0).abs() < 0.2, "{top:?}");
    let hill = answer(&of(&measured(), QUICK), "hill of 10.8 %, full").clone();
    assert!(
        hill.percentiles[2].unwrap() > 1.1 * hill.percentiles[0].unwrap_or(0.0),
        "{hill:?}"
    );
    // A torque-limited climb hangs on the torque and on what it has to lift.
    let named: Vec<&str> = hill.matters.iter().map(|(name, _)| *name).collect();
    assert!(named.contains(&"motor's torque"), "{named:?}");
}

#[test]
fn a_told_hill_is_taken_up_to_what_told_hills_turn_out() {
    let told = of(&longtail().job, QUICK);
    let said = &told
        .doubts
        .iter()
        .find(|doubt| doubt.name == "grade of the hill")
        .unwrap()
        .said;
    assert_eq!(said, "told: anywhere from 8 % to 10.4 %");
    let hill = answer(&told, "hill of 8 %, a fifth");
    assert_eq!(hill.matters[0].0, "grade of the hill", "{hill:?}");
    // As told it climbs; as steep as it may be it does not.
    let probability = hill.wish.as_ref().unwrap().probability;
    assert!((0.2..0.98).contains(&probability), "{probability}");
}

/// The trekking bicycle with a throttle, for a place whose class takes one.
fn in_america(limit: &str) -> Job {
    trekking()
        .state(&[("ride-class", "us-class2"), ("throttle", "full")])
        .measure(&[("assist-limit", limit)])
        .job
}

#[test]
fn the_operator_of_the_federal_text_has_its_own_row() {
    // 15 U.S.C. 2085: less than 20 mph (8.9408 m/s) under the motor alone, operator of 170 lb.
    let forecast = of(&in_america("25 km/h"), QUICK);
    let operator = answer(&forecast, "level, motor alone, operator");
    let wish = operator.wish.as_ref().unwrap();
    assert!(wish.below && (wish.limit - 8.9408).abs() < 1e-4);
    assert!(
        (wish.probability - 1.0).abs() < 1e-12,
        "limited to 25 km/h: {operator:?}"
    );
}

#[test]
fn the_motor_alone_is_told_at_both_charges_and_the_law_judges_the_full_one() {
    let forecast = of(&in_america("25 km/h"), QUICK);
    for name in ["level, motor alone, ", "level, motor alone, operator of 170 lb, "] {
        let full = answer(&forecast, &format!("{name}full pack"));
        let low = answer(&forecast, &format!("{name}a fifth of the charge left"));
        assert!(low.best <= full.best && low.best.unwrap() > 0.0, "{low:?}");
        assert_eq!(low.wish, None);
    }
}

/// What nobody may come to ride is not forecast, and an operator of a test is no business of the rider's.
#[test]
fn the_motor_alone_is_told_where_throttle_and_class_have_it() {
    let told = |class: &str, throttle: &str| {
        let bench = trekking().state(&[("ride-class", class), ("throttle", throttle)]);
        let forecast = of(&bench.job, QUICK);
        let names = [
            "level, motor alone, full",
            "level, motor alone, operator",
            "walk assistance",
        ];
        names.map(|start| {
            let mut all = forecast.answers.iter();
            all.find(|answer| answer.name.starts_with(start))
                .map(|answer| answer.for_rider)
        })
    };
    assert_eq!(told("eu-epac", "none"), [None; 3]);
    assert_eq!(told("jp-assist", "none"), [None; 3]);
    assert_eq!(told("us-class2", "none"), [None; 3]);
    assert_eq!(told("us-class2", "full"), [Some(true), Some(false), None]);
    // A throttle that the class does not take is judged by its check.
    assert_eq!(told("eu-epac", "full"), [None; 3]);
    assert_eq!(told("eu-epac", "walk"), [None, None, Some(true)]);
    // EN 15194, start-up assistance mode: 6 km/h.
    let walks = trekking().state(&[("throttle", "walk")]).job;
    let speed = answer(&of(&walks, QUICK), "walk assistance").best.unwrap();
    assert!((3.6 * speed - 6.0).abs() < 0.01, "{speed}");
}

#[test]
fn the_same_seed_gives_the_same_forecast_and_another_seed_another() {
    let job = measured();
    assert_eq!(of(&job, QUICK), of(&job, QUICK));
    assert_ne!(
        of(&job, QUICK).answers,
        of(&job, Asked { seed: 8, ..QUICK }).answers
    );
}

#[test]
fn a_larger_cog_holds_a_steeper_grade_in_the_curves() {
    let curves = of(&measured(), QUICK).curves;
    let steepest = |curve: &GearCurve| curve.points.last().map_or(0.0, |point| point.0);
    assert!(
        curves
            .windows(2)
            .all(|pair| steepest(&pair[1]) >= steepest(&pair[0])),
        "{curves:?}"
    );
    for curve in &curves {
        assert!(
            curve.points.windows(2).all(|pair| pair[1].1 <= pair[0].1 + 1e-9),
            "{curve:?}"
        );
    }
}

#[test]
fn it_can_be_broken_off_and_says_what_it_needs() {
    let rules = RuleSheet::shipped();
    let mut seen = 0;
    let broken = forecast(&measured(), &rules, None, QUICK, &mut |done| {
        seen = done;
        done < 5
    });
    assert!(broken.unwrap_err().message.contains("broken off"));
    assert_eq!(seen, 5);
    let none = forecast(
        &longtail().build(&[("motor", "none")]).job,
        &rules,
        None,
        QUICK,
        &mut |_| true,
    );
    assert!(
        none.unwrap_err()
            .hint
            .unwrap()
            .contains("lockring build 21 motor=PART")
    );
    for draws in [9, MOST_DRAWS + 1] {
        let refused = forecast(&measured(), &rules, None, Asked { draws, seed: 1 }, &mut |_| true);
        assert!(refused.unwrap_err().message.contains("draws"), "{draws}");
    }
}

#[test]
fn certainty_is_never_claimed() {
    let shown = [1.0, 0.991, 0.99, 0.5, 0.01, 0.009, 0.0].map(shown_probability);
    assert_eq!(
        shown,
        [
            "over 0.99",
            "over 0.99",
            "0.99",
            "0.50",
            "0.01",
            "under 0.01",
            "under 0.01"
        ]
    );
}

#[test]
fn a_hub_holds_a_steeper_grade_for_less_time() {
    // A hub has one gear: steeper is slower, and slower turns more of the power into heat. A
    // motor at the crank changes gear, so that its times need not fall.
    let heat = of(&trekking().job, QUICK).heat.unwrap();
    assert!(!heat.from_sheet);
    let seconds: Vec<f64> = heat
        .holds
        .iter()
        .map(|hold| hold.holds.unwrap_or(f64::INFINITY))
        .collect();
    assert!(seconds.windows(2).all(|pair| pair[1] <= pair[0]), "{seconds:?}");
    let mid = of(&measured(), QUICK).heat.unwrap();
    assert!(
        mid.holds.iter().any(|hold| (hold.grade - 0.108).abs() < 1e-12),
        "{mid:?}"
    );
    assert!(
        mid.holds.windows(2).all(|pair| pair[1].speed <= pair[0].speed),
        "{mid:?}"
    );
}

#[test]
fn the_motor_s_own_heat_paths_go_before_the_guess() {
    use crate::command::ReceiptText;
    // Regression value: with half the way out for the heat the hill is held for less time.
    let own = |case: &str| {
        let paths = [
            ("winding-heat-path", "0.5"),
            ("case-heat-path", case),
            ("winding-time", "3 min"),
            ("case-time", "40 min"),
            ("winding-limit", "110 C"),
        ];
        let job = longtail().receive("motor", &paths, ReceiptText::default()).job;
        of(&job, QUICK).heat.unwrap()
    };
    let (cool, warm) = (own("0.4"), own("1.6"));
    assert!(cool.from_sheet && warm.from_sheet);
    let last = |heat: &Heat| heat.holds.last().unwrap().holds.unwrap_or(f64::INFINITY);
    assert!(last(&warm) < last(&cool), "{warm:?} {cool:?}");
}

/// The operator of the federal text is a figure of the United States' classes.
#[test]
fn a_european_hill_rests_on_no_american_figure() {
    let limits = |job: &Job| {
        let check = &crate::checks::hill_climb_speed::CHECK;
        let limits = crate::check::run(check, job, &RuleSheet::shipped(), Stage::Intake).limits;
        let standing: Vec<String> = limits.iter().map(|rule| rule.standing()).collect();
        standing.join("\n")
    };
    let european = limits(&longtail().job);
    assert!(
        european.contains("hill.") && !european.contains("ride.motor-alone"),
        "{european}"
    );
    assert!(limits(&in_america("25 km/h")).contains("ride.motor-alone-rider 170 lb"));
}

#[test]
fn a_hub_gear_has_a_curve_for_each_of_its_gears_and_its_losses_are_doubted() {
    // Stored: 0.92 for chain and hub gear, within 2.2 % either way, which is 0.90 to 0.94 (from memory).
    let hub = longtail()
        .build(&[("cassette", "none")])
        .state(&[("cogs", "20"), ("hub-ratios", "0.75-1-1.33")]);
    let told = of(&hub.job, QUICK);
    let named: Vec<_> = told
        .curves
        .iter()
        .map(|curve| (curve.gear.cog, curve.gear.hub.map(|hub| hub.number)))
        .collect();
    assert_eq!(named, [(20, Some(3)), (20, Some(2)), (20, Some(1))]);
    let reach = |at: usize| told.curves[at].points.len();
    assert!(
        reach(0) < reach(1) && reach(1) < reach(2),
        "a lower gear holds what is steeper"
    );
    let doubted = |told: &Forecast| {
        let mut doubts = told.doubts.iter();
        doubts.any(|doubt| {
            doubt.name == "losses of chain and hub gear" && doubt.said == "within 2.2 % either way"
        })
    };
    assert!(doubted(&told) && !doubted(&of(&longtail().job, QUICK)));
    // By hand: of the power through the chain 0.92 gets to the wheel and not 0.95, whatever the gear.
    let cog =
        |bench: &crate::checks::testing::Bench| answer(&of(&bench.job, QUICK), "start on").best.unwrap();
    let direct = hub.clone().forget("hub-ratios");
    assert!(cog(&hub) > cog(&direct));
}
