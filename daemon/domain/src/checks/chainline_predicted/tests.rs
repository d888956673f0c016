//! Tests of the chainline before there is anything to measure.

use super::*;
use crate::checks::testing::{Bench, hardtail, longtail, trekking, with_desk};
use crate::command::{Command, ReceiptText, Typed};
use crate::job::Passed;
use crate::{fit, regear};

/// The longtail with a ring, its cogs far enough from the locknut that the middle is where it was measured.
fn with_ring(ring: &str) -> Bench {
    longtail().build(&[("chainring", ring)])
}

#[test]
fn the_line_that_the_calliper_finds_later_is_judged_before_the_ring_is_bought() {
    // By hand: 55 - 6 = 49.0 mm in front; 135/2 - 4.2 - 1.78/2 - 8 x 4.34/2 = 45.05 mm behind: +3.95 mm, and the
    // 34-tooth cog at 45.05 - 4 x 4.34 = 27.69 mm: atan(21.31/480) = 2.54 degrees.
    let report = longtail().expect(&CHECK, Verdict::Pass);
    let figures: Vec<f64> = report
        .findings
        .iter()
        .map(|found| found.figures[0].value)
        .collect();
    assert!((figures[0] - 3.95).abs() < 1e-6, "{figures:?}");
    assert!((figures[1] - 2.542).abs() < 1e-3, "{figures:?}");
    // 55 - 2 = 53.0 mm: +7.95 mm and atan(25.31/480) = 3.018 degrees, both short of good.
    let flat = with_ring("ring-36-2").expect(&CHECK, Verdict::Caution);
    assert!((flat.findings[0].figures[0].value - 7.95).abs() < 1e-6);
    assert!((flat.findings[1].figures[0].value - 3.018).abs() < 1e-3);
    assert!(
        flat.summary().starts_with("as predicted, ring outboard of"),
        "{}",
        flat.summary()
    );
}

/// First principles: the motor's shoulder lies against the right-hand face of the shell, so that a shell wider by 5 mm takes
/// the ring out by 2.5 mm.
#[test]
fn a_wider_shell_takes_the_ring_out_by_half_of_it() {
    let offset = |bench: &Bench| bench.report(&CHECK).findings[0].figures[0].clone();
    let narrow = longtail().state(&[("shell-width", "68 mm")]);
    assert!((offset(&longtail()).value - offset(&narrow).value - 2.5).abs() < 1e-6);
    // A kit of 68 to 77 mm whose plane names no shell: for one of 68 mm it lies anywhere within 4.5 mm, which has
    // 4.5/sqrt(3) (JCGM 100:2008, 4.3.7) beside 0.41 mm of the sheets: 5.26 mm at k = 2.
    let mut unnamed = narrow;
    let motor = unnamed.job.build.get_mut(&Slot::Motor).unwrap();
    motor.part.attributes.remove("ring-plane-shell");
    let figure = offset(&unnamed);
    assert!((figure.uncertainty.unwrap() - 5.26).abs() < 0.01, "{figure:?}");
    let report = unnamed.expect(&CHECK, Verdict::Caution);
    let told = report.findings[0].arithmetic.join("; ");
    assert!(told.contains("ring-plane-shell"), "{told}");
}

/// By hand: a plane told for a shell of 73 mm, on one anywhere from the kit's 68 to 77 mm, is up to 5/2 mm off: 2.5/sqrt(3)
/// (JCGM 100:2008, 4.3.7) beside 0.41 mm of the sheets make 3.00 mm at k = 2.
#[test]
fn a_shell_that_nobody_measured_is_asked_for_where_the_plane_names_its_own() {
    let unmeasured = longtail().forget("shell-width");
    let report = unmeasured.report(&CHECK);
    let finding = &report.findings[0];
    let doubt = finding.figures[0].uncertainty.unwrap();
    assert!((doubt - 3.0).abs() < 0.01, "{doubt}");
    let told = finding.arithmetic.join("; ");
    assert!(
        told.contains("lockring donor 21 shell-width=MM") && !told.contains("ring-plane-shell"),
        "{told}"
    );
    let measured = unmeasured.state(&[("shell-width", "73 mm")]).report(&CHECK);
    assert!(measured.findings[0].figures[0].uncertainty.unwrap() < 0.9);
}

#[test]
fn a_spacer_that_is_planned_takes_the_line_with_it() {
    // A millimetre for a millimetre (geometry): 3.95 + 2.5 = 6.45 mm.
    let report = longtail()
        .measure(&[("spacer", "2.5")])
        .expect(&CHECK, Verdict::Caution);
    assert!((report.findings[0].figures[0].value - 6.45).abs() < 1e-6);
    let remedies = report.findings[0].remedies.join("; ");
    assert!(
        remedies.contains("2.3 mm more dish") && remedies.contains("lockring fit 21"),
        "{remedies}"
    );
}

/// A figure in millimetres lies anywhere within half a millimetre: two of them have 0.5/sqrt(3) each (JCGM 100:2008, 4.3.7),
/// by hand 0.408 mm together and 0.82 mm at k = 2. 55 - 5 = 50.0 mm: +4.95 mm is short of 5 mm, and not for certain.
#[test]
fn what_sheets_say_is_no_better_known_than_they_say_it() {
    let report = with_ring("ring-38-5").expect(&CHECK, Verdict::Caution);
    let figure = &report.findings[0].figures[0];
    assert!((figure.value - 4.95).abs() < 1e-6, "{figure:?}");
    assert!(figure.uncertainty.unwrap() > 0.81, "{figure:?}");
}

/// What was conceded before the parts were bought is not held against the stand, where nobody has measured yet.
#[test]
fn at_the_stand_a_prediction_asks_for_a_reading_and_stops_nothing() {
    let far = hardtail()
        .build(&[("chainring", "ring-36-2")])
        .measure(&[("spacer", "2.5")]);
    far.expect(&CHECK, Verdict::Fail);
    let report = far.expect(&chainline_centre::CHECK, Verdict::Open);
    assert_eq!(report.said(), Some(Verdict::Caution));
    assert!(
        report.findings[0].summary.contains("as predicted"),
        "{}",
        report.findings[0].summary
    );
    far.expect(&chainline_cog_angles::CHECK, Verdict::Open);
    // Measured, it counts.
    far.measure(&[("chainline-front", "55.5")])
        .expect(&chainline_centre::CHECK, Verdict::Fail);
}

#[test]
fn the_ring_with_the_dish_that_is_named_clears_it() {
    with_ring("ring-36-2").cured(&CHECK, "mm more dish", |job| {
        job.build(&[("chainring", "ring-42-6")])
    });
}

#[test]
fn a_spacing_that_was_read_stops_beyond_what_may_be_conceded() {
    // Ten-speed, by hand: 67.5 - 4 - 0.8 - 9 x 3.95/2 = 44.925 mm; 55 - 2 + 2.5 = 55.5 mm: +10.6 mm.
    hardtail()
        .build(&[("chainring", "ring-36-2")])
        .measure(&[("spacer", "2.5")])
        .expect(&CHECK, Verdict::Fail);
}

fn received(job: Bench) -> Bench {
    ["motor", "chainring", "cassette"]
        .iter()
        .fold(job, |job, slot| job.receive(slot, &[], ReceiptText::default()))
}

/// A job whose intake was passed, by whatever way.
fn past_intake(mut job: Bench) -> Bench {
    let passed = Passed {
        at: job.job.touched,
        by: "owner".into(),
        findings: Vec::new(),
    };
    job.job.passed.insert(Stage::Intake, passed.into());
    job
}

#[test]
fn once_the_parts_are_here_what_is_fitted_is_measured_and_sends_no_job_back() {
    let here = past_intake(received(longtail())).measure(&[("spacer", "2.5")]);
    here.expect(&CHECK, Verdict::NotApplicable);
    // A ring that is still to be bought is judged with the spacer that is in by now.
    let other = here.build(&[("chainring", "ring-36-2")]).report(&CHECK);
    assert!((other.findings[0].figures[0].value - 10.45).abs() < 1e-6);
}

#[test]
fn parts_that_came_before_intake_was_passed_are_judged_as_foreseen() {
    let far = || {
        hardtail()
            .build(&[("chainring", "ring-36-2")])
            .measure(&[("spacer", "2.5")])
    };
    received(far()).expect(&CHECK, Verdict::Fail);
    past_intake(received(far())).expect(&CHECK, Verdict::NotApplicable);
    // Sent back to intake from the stand with its line measured, it is chainline.centre's.
    received(far())
        .measure(&[("chainline-front", "55.5")])
        .expect(&CHECK, Verdict::NotApplicable);
}

#[test]
fn what_the_prediction_needs_is_asked_for_and_where_there_is_none_nothing_is() {
    trekking().expect(&CHECK, Verdict::NotApplicable);
    let report = longtail().forget("first-cog-gap").expect(&CHECK, Verdict::Open);
    assert!(
        report.missing[0].how.contains("first-cog-gap"),
        "{:?}",
        report.missing
    );
    let mut unknown = longtail();
    let motor = unknown.job.build.get_mut(&Slot::Motor).unwrap();
    motor.part.attributes.remove("ring-plane");
    unknown.expect(&CHECK, Verdict::NotApplicable);
}

#[test]
fn the_gate_the_page_and_a_trial_say_it_before_anything_is_bought() {
    let bench = with_ring("ring-36-2");
    let tried = |field: &str, text: &str| {
        let change = [Typed::new(field, text)];
        with_desk(|desk| fit::what_if(&bench.job, &change, bench.job.touched, desk)).unwrap()
    };
    for (field, text) in [("spacer", "3mm"), ("ring", "42T-dish6")] {
        let trial = tried(field, text);
        let moved: Vec<&str> = trial.differs.iter().map(|(_, after)| after.check.id).collect();
        for id in ["chainline.predicted", "chainline.centre", "chainline.cog_angles"] {
            assert!(moved.contains(&id), "{field}={text}: {moved:?}");
        }
    }
    let page = with_desk(|desk| fit::page(&bench.job, desk));
    let all = page.iter().flat_map(|topic| &topic.reports);
    let centre = all
        .clone()
        .find(|report| report.check.id == "chainline.centre")
        .unwrap();
    assert_eq!(
        (centre.verdict, centre.said()),
        (Verdict::Open, Some(Verdict::Caution))
    );
    assert!(
        centre.summary().contains("as predicted, ring outboard"),
        "{}",
        centre.summary()
    );
    let shut = bench.change(&Command::Advance);
    let blocks = format!("{:?}", shut.job.blocks);
    assert!(blocks.contains("chainline.predicted"), "{blocks}");
}

#[test]
fn of_two_rings_that_climb_the_one_in_line_stands_first() {
    let table = with_desk(|desk| regear::table(&longtail().job, longtail().job.touched, desk)).unwrap();
    let place = |ring: &str| {
        let mut all = table.gearings.iter();
        all.position(|one| one.ring_part.as_deref() == Some(ring) && one.cogs.last() == Some(&36))
            .unwrap()
    };
    assert!(place("ring-38-5") < place("ring-36-2"));
}
