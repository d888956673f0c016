//! Tests of changes tried on a copy.

use super::*;
use crate::checks::testing::{longtail, with_desk};

fn changes(pairs: &[(&str, &str)]) -> Vec<Typed> {
    pairs
        .iter()
        .map(|(field, text)| Typed::new(*field, *text))
        .collect()
}

fn verdict(topics: &[Topic], id: &str) -> Verdict {
    let mut reports = topics.iter().flat_map(|topic| &topic.reports);
    reports.find(|report| report.check.id == id).unwrap().verdict
}

#[test]
fn a_spacer_frees_the_stay_and_pushes_the_chainline_out() {
    // Worked example of the trade (common practice, no source): 2.5 mm spacer, gap 0 to
    // 2.5 mm, front line 49.0 to 51.5, +6.5 mm to the cassette's centre.
    let job = longtail()
        .measure(&[("gapm", "0"), ("gapc", "4"), ("clf", "49.0"), ("clr", "45.0")])
        .job;
    let trial = with_desk(|desk| what_if(&job, &changes(&[("spacer", "2.5mm")]), job.touched, desk)).unwrap();
    assert_eq!(verdict(&trial.topics, "clearance.motor_and_ring"), Verdict::Pass);
    assert_eq!(verdict(&trial.topics, "chainline.centre"), Verdict::Caution);
    assert!(
        trial.changed.iter().any(|line| line.contains("51.5 mm")),
        "{:?}",
        trial.changed
    );
    let differs: Vec<&str> = trial.differs.iter().map(|(_, after)| after.check.id).collect();
    assert!(
        differs.contains(&"clearance.motor_and_ring") && differs.contains(&"chainline.centre"),
        "{differs:?}"
    );
}

#[test]
fn a_ring_of_less_dish_moves_the_line_by_the_difference() {
    // Worked example of the trade (common practice, no source): dish 6 to 5 mm takes the
    // front line from 51.5 to 52.5 mm.
    let job = longtail()
        .measure(&[("clf", "51.5"), ("clr", "45.0"), ("drops", "20/20")])
        .job;
    let before = job.clone();
    let trial =
        with_desk(|desk| what_if(&job, &changes(&[("ring", "38T-dish5")]), job.touched, desk)).unwrap();
    assert!(
        trial.changed.iter().any(|line| line.contains("52.5 mm")),
        "{:?}",
        trial.changed
    );
    assert_eq!(job, before);
}

#[test]
fn a_smaller_ring_says_what_the_hill_gains() {
    // Worked examples of the trade (common practice, no source): on 10.8 % 42/34 does not start, 34/34 does.
    let job = longtail()
        .state(&[("hill-grade", "10.8%"), ("hill-source", "measured")])
        .job;
    let trial = with_desk(|desk| what_if(&job, &changes(&[("ring", "34T")]), job.touched, desk)).unwrap();
    for id in ["hill.climb_speed", "hill.restart"] {
        let (before, after) = trial.differs.iter().find(|(one, _)| one.check.id == id).unwrap();
        assert!(
            after.verdict < before.verdict,
            "{}: {}",
            before.summary(),
            after.summary()
        );
    }
}

#[test]
fn a_ring_that_nobody_stocks_is_typed_for_its_slot_as_well() {
    let job = longtail().job;
    let tried = |field: &str| {
        let change = changes(&[(field, "28T")]);
        with_desk(|desk| what_if(&job, &change, job.touched, desk))
            .unwrap()
            .changed
    };
    assert_eq!(tried("chainring"), tried("ring"));
    let wrong = changes(&[("chainring", "ring-28")]);
    assert!(with_desk(|desk| what_if(&job, &wrong, job.touched, desk)).is_err());
}

#[test]
fn a_spacer_moves_the_right_pedal_and_the_calliper_s_gap_too() {
    // A millimetre for a millimetre (geometry): 77 + 2.5 = 79.5 mm and 30 + 2.5 = 32.5 mm.
    let job = longtail()
        .measure(&[
            ("pedal-left", "75"),
            ("pedal-right", "77"),
            ("line-tube", "34"),
            ("line-gap", "30"),
            ("line-ring", "2"),
        ])
        .job;
    let trial = with_desk(|desk| what_if(&job, &changes(&[("spacer", "2.5mm")]), job.touched, desk)).unwrap();
    for moved in ["79.5 mm", "32.5 mm"] {
        assert!(
            trial.changed.iter().any(|line| line.contains(moved)),
            "{moved}: {:?}",
            trial.changed
        );
    }
    let differs: Vec<&str> = trial.differs.iter().map(|(_, after)| after.check.id).collect();
    assert!(
        differs.contains(&"pedal.offset") && differs.contains(&"chainline.centre"),
        "{differs:?}"
    );
}

#[test]
fn turns_back_pedalled_in_one_gear_say_nothing_of_another() {
    let job = longtail()
        .measure(&[
            ("clf", "51.5"),
            ("clr", "45.0"),
            ("drops", "20/20"),
            ("chain-links", "116"),
        ])
        .job;
    let tried =
        |field, text| with_desk(|desk| what_if(&job, &changes(&[(field, text)]), job.touched, desk)).unwrap();
    for (field, text) in [
        ("ring", "36T"),
        ("cassette", "cassette-9-11-36"),
        ("chain", "chain-9"),
        ("spacer", "2.5mm"),
        ("clr", "44.0"),
    ] {
        let trial = tried(field, text);
        let reports = trial.topics.iter().flat_map(|topic| &topic.reports);
        let angles = reports
            .clone()
            .find(|report| report.check.id == "chainline.cog_angles")
            .unwrap();
        assert_eq!(angles.verdict, Verdict::Open, "{field}");
        assert!(
            angles.summary().contains("back-pedalled"),
            "{field}: {}",
            angles.summary()
        );
        // The angle itself is geometry and stands.
        assert!(angles.findings[0].figures[0].unit == "deg", "{field}");
        assert!(
            trial
                .changed
                .iter()
                .any(|line| line.contains("to be read anew") && line.contains("back-pedalled")),
            "{field}: {:?}",
            trial.changed
        );
    }
    // The same line as before changes nothing; a chain's links are its own.
    assert_eq!(
        verdict(&tried("clr", "45.0").topics, "chainline.cog_angles"),
        Verdict::Pass
    );
    assert_eq!(
        verdict(&tried("ring", "38T").topics, "chain.length"),
        Verdict::Pass
    );
    assert_eq!(
        verdict(&tried("chain", "chain-9").topics, "chain.length"),
        Verdict::Open
    );
}

#[test]
fn what_says_the_same_is_not_among_what_a_change_does() {
    let job = longtail().job;
    let trial =
        with_desk(|desk| what_if(&job, &changes(&[("motor", "mid-48-700")]), job.touched, desk)).unwrap();
    assert!(!trial.differs.is_empty());
    for (before, after) in &trial.differs {
        assert!(
            (before.verdict, before.summary()) != (after.verdict, after.summary()),
            "{}: {}",
            before.check.id,
            before.summary()
        );
    }
}

#[test]
fn readings_of_the_part_before_say_nothing_of_another() {
    let job = longtail()
        .measure(&[("gapm", "2.5"), ("gapc", "6"), ("mass-after", "38 kg")])
        .job;
    let other = |slot: &str, part: &str| {
        with_desk(|desk| what_if(&job, &changes(&[(slot, part)]), job.touched, desk)).unwrap()
    };
    let motor = other("motor", "mid-48-700");
    assert_eq!(verdict(&motor.topics, "clearance.motor_and_ring"), Verdict::Open);
    assert!(
        motor
            .changed
            .iter()
            .any(|line| line.contains("to be read anew with the motor") && line.contains("chainstay")),
        "{:?}",
        motor.changed
    );
    // The scale's reading holds another pack; the sum of the parts takes its place.
    let pack = other("pack", "pack-13s5p");
    assert!(
        pack.changed
            .iter()
            .any(|line| line.contains("mass of the bicycle with the kit")),
        "{:?}",
        pack.changed
    );
    assert_eq!(verdict(&pack.topics, "mass.as_weighed"), Verdict::Open);
}

#[test]
fn what_cannot_be_read_is_refused_with_an_example() {
    let job = longtail().job;
    for (field, text, words) in [
        ("ring", "38", "38T-dish5"),
        ("ring", "38T-dishx", "`x` cannot be read"),
        ("spacer", "2.5kg", "2.5kg"),
        ("chainring", "ring-99", "ring-99"),
        ("rng", "38T", "rng"),
    ] {
        let refusal =
            with_desk(|desk| what_if(&job, &changes(&[(field, text)]), job.touched, desk)).unwrap_err();
        assert!(
            refusal.message.contains(words),
            "{field}={text}: {}",
            refusal.message
        );
    }
    assert!(with_desk(|desk| what_if(&job, &[], job.touched, desk)).is_err());
}
