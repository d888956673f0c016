//! `ride.hill_speed`: the rider's hill, ridden, against the brief and the prediction.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::{Judged, figure};
use crate::prediction::{self, Comparison};
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Speed up the hill.
pub static CHECK: Check = Check {
    id: "ride.hill_speed",
    title: "speed up the rider's hill",
    gates: &[Stage::TestRide],
    family: Family::Ride,
    version: 4,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "the brief; prediction by the road load of Martin et al. 1998 at the ridden grade",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(case, &["hill-speed"])?;
    if prediction::stalled(case) {
        return Ok(vec![won_by_the_hill(case)?]);
    }
    prediction::need(case, &["hill-speed-ridden"])?;
    let wanted = case.number("hill-speed")?.value;
    let ridden = case.number("hill-speed-ridden")?;
    let (grade, predicted) = predicted(case)?;
    let comparison = prediction::compare_speeds(case, ridden.value, predicted);
    let shown = unit::show(Kind::Ratio, "%", grade.value);
    let mut finding = Judged::new("speed up the hill", ridden, Kind::Speed, "km/h")
        .against(Limit::AtLeast(wanted))
        .with_figure(figure(
            "predicted at the ridden grade",
            Kind::Speed,
            "km/h",
            predicted,
        ))
        .with_figure(figure("grade ridden", Kind::Ratio, "%", grade.value))
        .with_arithmetic(format!("on {shown}: {}", comparison.words));
    if let Some(line) = steeper(case, grade, &comparison)? {
        finding.summary = format!("{}; {line}", finding.summary);
        finding = finding.with_arithmetic(line);
    } else if !comparison.agrees {
        let line = format!("the model does not agree: {}", comparison.points_to);
        finding = finding.with_arithmetic(line.clone()).with_remedy(line);
    }
    Ok(vec![with_cures(case, of_another_hill(case, finding))])
}

/// A speed says something of the rider's hill where that hill was ridden: a grade below the brief's, or none, says that
/// nobody knows.
fn of_another_hill(case: &Case<'_>, mut finding: Finding) -> Finding {
    let job = case.job().number;
    let grade = |si| unit::show(Kind::Grade, "%", si);
    let brief = |si| {
        let source = case.optional_word("hill-source").unwrap_or("of unknown source");
        format!("the brief has {} ({source})", grade(si))
    };
    let line = if let Some((ridden, asked)) = prediction::easier_hill(case) {
        finding = finding
            .with_remedy(format!(
                "ride the hill of the brief: lockring ride {job} hill speed=SPEED grade=GRADE --anew"
            ))
            .with_remedy(format!(
                "or, where this is the rider's hill, correct the brief: lockring brief {job} hill-grade={} hill-source=measured",
                grade(ridden.value).replace(' ', "")
            ));
        format!(
            "ridden on {}, {}: it does not speak for the rider's hill",
            grade(ridden.value),
            brief(asked.value)
        )
    } else {
        let asked = match case.optional_number("hill-grade") {
            Some(asked) if !case.knows("hill-grade-ridden") => asked,
            _ => return finding,
        };
        finding = finding.with_remedy(format!(
            "say how steep what was ridden is: lockring ride {job} hill grade=GRADE"
        ));
        format!("the grade ridden was not recorded, {}", brief(asked.value))
    };
    finding.verdict = finding.verdict.max(Verdict::Caution);
    finding.summary = format!("{}; {line}", finding.summary);
    finding
}

/// The grade as known and the speed predicted on it, m/s.
fn predicted(case: &Case<'_>) -> Result<(Known, f64), Halt> {
    let grade = prediction::hill_grade(case)?;
    let power = case.number("rider-power-hill")?.value;
    let climb = prediction::ridden_climb(case, grade.value, power)?;
    Ok((grade, climb.speed.si()))
}

/// The hill was tried and not climbed. That fails whatever else is known.
fn won_by_the_hill(case: &Case<'_>) -> Result<Finding, Halt> {
    let job = case.job().number;
    let at = prediction::hill_grade(case).map_or_else(
        |_| String::new(),
        |grade| {
            let shown = unit::show(Kind::Grade, "%", grade.value);
            let source = case.optional_word("hill-source");
            match source.filter(|_| !case.knows("hill-grade-ridden")) {
                Some(source) => format!(": it won at {shown} ({source})"),
                None => format!(": it won at {shown}"),
            }
        },
    );
    let mut finding = Finding::new(Verdict::Fail, format!("the hill was not climbed{at}"));
    if let Ok((grade, predicted)) = predicted(case) {
        let expected = unit::show(Kind::Speed, "km/h", predicted);
        let shown = unit::show(Kind::Grade, "%", grade.value);
        finding = finding
            .with_figure(figure("predicted at that grade", Kind::Speed, "km/h", predicted))
            .with_figure(figure("grade", Kind::Grade, "%", grade.value))
            .with_arithmetic(format!("hill-climbed no; predicted {expected} on {shown}"));
        if let Some(line) = brief_was_wrong(case, grade)? {
            finding = finding.with_arithmetic(line);
        }
    }
    let finding = finding
        .with_remedy(format!(
            "find out what the model did not know: lockring ride {job} compare"
        ))
        .with_remedy(format!(
            "ride it again after the change: lockring ride {job} hill speed=SPEED grade=GRADE --anew"
        ));
    Ok(with_gearing(case, finding))
}

/// A hill that is steeper than the brief has it, doubt included, and whose error it is.
fn steeper(case: &Case<'_>, ridden: Known, comparison: &Comparison) -> Result<Option<String>, Halt> {
    let Some(line) = brief_was_wrong(case, ridden)? else {
        return Ok(None);
    };
    let whose = if comparison.agrees {
        "the model agrees; the brief was wrong".to_owned()
    } else {
        format!(
            "the brief was wrong, and the model does not agree: {}",
            comparison.points_to
        )
    };
    Ok(Some(format!("{line}: {whose}")))
}

/// Both grades, where the hill is steeper than the brief has it beyond doubt.
fn brief_was_wrong(case: &Case<'_>, ridden: Known) -> Result<Option<String>, Halt> {
    let brief = case.number("hill-grade")?;
    if ridden.value - brief.value <= ridden.expanded() {
        return Ok(None);
    }
    let source = case.optional_word("hill-source").unwrap_or("of unknown source");
    let grade = |si| unit::show(Kind::Ratio, "%", si);
    Ok(Some(format!(
        "the hill is {}, the brief has {} ({source})",
        grade(ridden.value),
        grade(brief.value)
    )))
}

fn with_cures(case: &Case<'_>, finding: Finding) -> Finding {
    let job = case.job().number;
    with_gearing(case, finding).with_remedy(format!(
        "agree a slower speed with the rider: lockring brief {job} hill-speed=SPEED"
    ))
}

/// What makes the bicycle climb better.
fn with_gearing(case: &Case<'_>, finding: Finding) -> Finding {
    let job = case.job().number;
    let gearing = match prediction::is_mid(case) {
        Ok(false) => "a slower-wound hub motor or a smaller wheel: more pull, less top speed".to_owned(),
        Ok(true) | Err(_) => format!(
            "a larger cog or a smaller ring: lockring build {job} chainring=PART cassette=PART; a ring with less dish pushes the chainline out, \
             a larger cog needs room in the derailleur"
        ),
    };
    finding
        .with_remedy(gearing)
        .with_remedy("a higher current limit, if pack, motor and class allow it: more heat on the hill")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, longtail, trekking};

    fn hill(bench: Bench, speed: &str, grade: &str) -> Bench {
        bench.ride("hill", &[("speed", speed), ("grade", grade)])
    }

    #[test]
    fn a_light_bicycle_climbs_faster_than_asked() {
        // Worked example of the trade (common practice, no source): 18.9 km/h, brief 14.
        hill(trekking(), "18.9 km/h", "6.0 %").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_told_hill_that_is_steeper_fails_and_the_brief_is_named() {
        // Worked example of the trade (common practice, no source): told 8 %, ridden 10.8 %,
        // 6.0 km/h measured, 6.3 predicted by a simpler model.
        let loaded = longtail()
            .measure(&[("mass-after", "40.0 kg")])
            .ride("conditions", &[("mass", "150 kg")]);
        let report = hill(loaded, "6.0 km/h", "10.8 %").expect(&CHECK, Verdict::Fail);
        assert!(
            report.summary().contains("the model agrees; the brief was wrong"),
            "{}",
            report.summary()
        );
        let predicted = report.findings[0].figures[1].value;
        assert!((predicted - 6.3).abs() < 0.6, "{predicted}");
    }

    #[test]
    fn regeared_it_passes() {
        // Worked example of the trade (common practice, no source): 38/36 climbs at 9.9 km/h.
        let loaded = longtail()
            .build(&[("chainring", "ring-38-5"), ("cassette", "cassette-9-11-36")])
            .measure(&[("mass-after", "40.0 kg")])
            .ride("conditions", &[("mass", "150 kg")]);
        hill(loaded, "9.9 km/h", "10.8 %").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_verdict_turns_with_the_guard_band_between() {
        hill(trekking(), "14.4 km/h", "6.0 %").expect(&CHECK, Verdict::Pass);
        hill(trekking(), "14.1 km/h", "6.0 %").expect(&CHECK, Verdict::Caution);
        hill(trekking(), "13.6 km/h", "6.0 %").expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn a_hill_that_won_fails_whatever_speed_was_noted() {
        for fields in [
            &[("climbed", "no"), ("grade", "10.8 %")][..],
            &[("climbed", "no"), ("speed", "14.4 km/h")],
        ] {
            let report = trekking().ride("hill", fields).expect(&CHECK, Verdict::Fail);
            assert!(
                report.summary().contains("the hill was not climbed"),
                "{}",
                report.summary()
            );
        }
        let ridden = [("climbed", "yes"), ("speed", "14.4 km/h"), ("grade", "6.0 %")];
        trekking().ride("hill", &ridden).expect(&CHECK, Verdict::Pass);
        // Told and not measured, and with nothing known that a prediction takes.
        let told = trekking().state(&[("hill-source", "told")]);
        let report = told
            .ride("hill", &[("climbed", "no")])
            .expect(&CHECK, Verdict::Fail);
        assert!(report.summary().contains("(told)"), "{}", report.summary());
        let bare = trekking().build(&[("motor", "none")]);
        bare.ride("hill", &[("climbed", "no")])
            .expect(&CHECK, Verdict::Fail);
        // That somebody came up does not say how fast.
        let unread = trekking().ride("hill", &[("climbed", "yes")]);
        unread.expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn a_speed_ridden_later_is_another_try() {
        let stalled = trekking().ride("hill", &[("climbed", "no")]);
        stalled.cured(&CHECK, "lockring ride 20 hill speed=SPEED grade=GRADE", |job| {
            job.ride("hill", &[("speed", "14.4 km/h"), ("grade", "6.0 %")])
        });
    }

    #[test]
    fn open_until_it_is_ridden_and_again_after_a_new_ring() {
        trekking().expect(&CHECK, Verdict::Open);
        let changed = hill(longtail(), "9.9 km/h", "8 %").build(&[("chainring", "ring-38-5")]);
        changed.expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn an_easier_hill_does_not_speak_for_the_riders() {
        // The brief has 6 %, off the map.
        let easy = hill(trekking(), "18 km/h", "2 %");
        let report = easy.expect(&CHECK, Verdict::Caution);
        let said = report.summary();
        assert!(said.contains("ridden on 2 %"), "{said}");
        assert!(said.contains("the brief has 6 %"), "{said}");
        // Too slow on an easier one is too slow.
        hill(trekking(), "9 km/h", "2 %").expect(&CHECK, Verdict::Fail);
        easy.clone().cured(
            &CHECK,
            "lockring ride 20 hill speed=SPEED grade=GRADE --anew",
            |job| hill(job, "15 km/h", "6 %"),
        );
        easy.cured(
            &CHECK,
            "lockring brief 20 hill-grade=2% hill-source=measured",
            |job| job.state(&[("hill-grade", "2%"), ("hill-source", "measured")]),
        );
    }

    #[test]
    fn a_speed_without_a_grade_is_a_caution_until_it_has_one() {
        let bare = trekking().ride("hill", &[("speed", "18 km/h")]);
        let report = bare.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("not recorded"), "{}", report.summary());
        bare.cured(&CHECK, "lockring ride 20 hill grade=GRADE", |job| {
            job.ride("hill", &[("grade", "6 %")])
        });
    }

    #[test]
    fn the_speed_agreed_as_the_remedy_says_clears_it() {
        hill(trekking(), "13.6 km/h", "6.0 %").cured(&CHECK, "lockring brief 20 hill-speed=SPEED", |job| {
            job.state(&[("hill-speed", "13 km/h")])
        });
    }
}
