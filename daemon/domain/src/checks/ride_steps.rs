//! `ride.steps`: the steps of the sheet that are done rather than timed.
//!
//! Stand, bedding, stall, rough lane, water and noise: what was recorded is judged; what was not
//! is named. A shop that wants the sheet kept whole says so in its rules (`ride.whole-sheet` 1):
//! then a step left out keeps the gate shut.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Figure, Finding, Halt, Outcome, Verdict};
use crate::code;
use crate::finding::Missing;
use crate::judge::{Judged, figure};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Steps of the sheet.
pub static CHECK: Check = Check {
    id: "ride.steps",
    title: "stand, bedding, stall, rough lane, water, noise",
    gates: &[Stage::TestRide],
    family: Family::Ride,
    version: 3,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: everything works on the stand, brakes bedded in, a stall of two seconds at \
             most, nothing drops or cuts on a rough lane, no code after water; no-load current up to 30 % over the card",
    run,
};

/// A step: its run, the code that tells it was done, and how it is judged.
type Step = (&'static str, &'static str, fn(&Case<'_>) -> Outcome);

const STEPS: [Step; 6] = [
    ("stand", "stand-works", stand),
    ("bedding", "bedding-stops", bedding),
    ("stall", "stall-recovers", stall),
    ("rough", "rough-drops", rough),
    ("water", "water-clean", water),
    ("noise", "noise", noise),
];

fn run(case: &Case<'_>) -> Outcome {
    let (done, left): (Vec<&Step>, Vec<&Step>) = STEPS.iter().partition(|(_, key, _)| case.knows(key));
    if case.rule("ride.whole-sheet") > 0.0 && !left.is_empty() {
        let missing = left.iter().map(|(word, key, _)| Missing {
            what: format!("step `{word}` of the sheet"),
            how: code::find(key).map_or_else(String::new, |row| row.how_to_record(case.job().number)),
        });
        return Err(Halt::Open(missing.collect()));
    }
    let named: Vec<&str> = left.iter().map(|(word, _, _)| *word).collect();
    let no_load = no_load(case);
    if done.is_empty() && no_load.is_none() {
        return Halt::not_applicable(format!("none of these was recorded: {}", named.join(", ")));
    }
    let mut findings = Vec::new();
    for (_, _, judge) in done {
        findings.extend(judge(case)?);
    }
    findings.extend(no_load);
    if let (Some(first), false) = (findings.first_mut(), named.is_empty()) {
        first
            .arithmetic
            .push(format!("not recorded: {}", named.join(", ")));
    }
    Ok(findings)
}

/// A yes or no that must be a yes.
fn flag(case: &Case<'_>, key: &str, good: &str, bad: &str, cure: &str) -> Result<Finding, Halt> {
    Ok(if case.flag(key)? {
        Finding::new(Verdict::Pass, good)
    } else {
        Finding::new(Verdict::Fail, bad).with_remedy(cure)
    })
}

fn stand(case: &Case<'_>) -> Outcome {
    let cure = format!(
        "mend what does not work, then try all of it again: lockring ride {} stand works=yes/no",
        case.job().number
    );
    let (good, bad) = (
        "everything works on the stand",
        "something does not work on the stand",
    );
    Ok(vec![flag(case, "stand-works", good, bad, &cure)?])
}

/// What the motor draws turning free, against its card; nothing where either is not known.
fn no_load(case: &Case<'_>) -> Option<Finding> {
    let drawn = case.optional_number("stand-amps")?;
    let card = case
        .optional_part(Slot::Motor)?
        .optional_number("no-load-current")?;
    let over = case.rule("motor.no-load-current-over");
    let most = card * (1.0 + over);
    // The room over the card is there for meter and bearings: the reading is held against it as it is.
    let drawn = Known { u: 0.0, ..drawn };
    let name = code::find("stand-amps").map_or("current on the stand", |row| row.field.name);
    let finding = Judged::new(name, drawn, Kind::Current, "A")
        .against(Limit::AtMost(most))
        .with_arithmetic(format!(
            "{card:.1} A of the motor's card and {:.0} % over it = {most:.1} A",
            100.0 * over
        ))
        .with_remedy(format!(
            "phase and hall leads in matched order, never guessed under load; brake and bearing free; then again: \
             lockring ride {} stand amps=A --anew",
            case.job().number
        ));
    // At the crank chain and wheel turn along, which the card does not know.
    Some(match prediction::is_mid(case) {
        Ok(true) => prediction::advise_only(finding, "chain and wheel turn along with a motor at the crank"),
        _ => finding,
    })
}

fn bedding(case: &Case<'_>) -> Outcome {
    let job = case.job().number;
    let least = case.rule("brake.bedding-least");
    let stops = Judged::new(
        "hard stops to bed the brakes in",
        case.number("bedding-stops")?,
        Kind::Count,
        "",
    )
    .against(Limit::AtLeast(least))
    .with_remedy(format!(
        "clean rotor or rim, then more stops: lockring ride {job} bedding stops=… speed=…km/h firm=yes/no"
    ));
    // More stops are quickly ridden; the stop test itself proves the brake.
    let mut findings = vec![prediction::advise_only(stops, "the stop test decides")];
    if case.knows("bedding-firm") {
        let cure =
            format!("bleed or adjust, then pull hard five times: lockring ride {job} bedding firm=yes/no");
        let (good, bad) = ("levers firm after bedding", "a lever is not firm after bedding");
        findings.push(
            flag(case, "bedding-firm", good, bad, &cure)?
                .with_arithmetic(prediction::caution("tr-brakes-first")),
        );
    }
    Ok(findings)
}

fn stall(case: &Case<'_>) -> Outcome {
    let job = case.job().number;
    let cure = format!(
        "find the code by the maker's card and what moved, then once more, briefly: lockring ride {job} stall time=…s recovers=yes/no"
    );
    let (good, bad) = ("drives again after the stall", "does not recover from the stall");
    let mut findings = vec![flag(case, "stall-recovers", good, bad, &cure)?];
    if let Some(time) = case.optional_number("stall-time") {
        let finding = Judged::new("time of full demand with the brake held", time, Kind::Time, "s")
            .against(Limit::AtMost(case.rule("ride.stall-most")))
            .with_remedy("keep it short: a locked motor takes full current; feel the case before riding on");
        findings.push(prediction::advise_only(finding, "it is done already"));
    }
    Ok(findings)
}

fn rough(case: &Case<'_>) -> Outcome {
    let job = case.job().number;
    let (good, tried) = case.tally("rough-drops")?;
    let mut findings = vec![if good == tried {
        Finding::new(Verdict::Pass, format!("rough lane: no drop in {tried}"))
    } else {
        Finding::new(
            Verdict::Fail,
            format!("rough lane: the chain dropped {} times of {tried}", tried - good),
        )
        .with_remedy(format!(
            "chainline, chain length, a narrow-wide ring, then again: lockring ride {job} rough drops=…/10{}",
            prediction::anew(good, tried)
        ))
    }];
    if let Some(cuts) = case.optional_number("rough-cuts") {
        findings.push(if cuts.value < 0.5 {
            Finding::new(Verdict::Pass, "rough lane: the motor never cut out")
        } else {
            Finding::new(
                Verdict::Fail,
                format!("rough lane: the motor cut out {:.0} times", cuts.value),
            )
            .with_remedy(format!(
                "plugs, pack seat and speed magnet, then again: lockring ride {job} rough cuts=…"
            ))
        });
    }
    if let Some(gap) = case.optional_number("ride-gap") {
        findings.push(gap_under_load(gap).with_remedy(format!(
            "more room by a spacer or a smaller ring, then again: lockring ride {job} rough gap=MM --anew"
        )));
    }
    Ok(findings)
}

/// No gap at all is contact: where it touches once it wears through.
fn gap_under_load(gap: Known) -> Finding {
    let name = "smallest gap seen under load";
    let limit = "more than 0 mm";
    let (verdict, remark) = if gap.value > 0.0 {
        (Verdict::Pass, "it clears")
    } else {
        (Verdict::Fail, "it touches")
    };
    let shown = unit::show(Kind::Length, "mm", gap.value);
    Finding::new(verdict, format!("{name} {shown}, {limit}: {remark}")).with_figure(Figure {
        limit: limit.to_owned(),
        margin: Some(unit::from_si(Kind::Length, "mm", gap.value)),
        ..figure(name, Kind::Length, "mm", gap.value)
    })
}

fn water(case: &Case<'_>) -> Outcome {
    let cure = format!(
        "dry it, find where water got in, seal it as the maker says, then again: lockring ride {} water clean=yes/no",
        case.job().number
    );
    let (good, bad) = ("no code after water", "a code or a cut after water");
    Ok(vec![
        flag(case, "water-clean", good, bad, &cure)?.with_arithmetic(prediction::caution("el-fail-off")),
    ])
}

fn noise(case: &Case<'_>) -> Outcome {
    let finding = Judged::new("noise at one metre", case.number("noise")?, Kind::Sound, "dB")
        .against(Limit::AtMost(case.rule("ride.noise-most")))
        .with_remedy("look at mounting, gear mesh and chainline; tell the rider what to expect");
    Ok(vec![prediction::advise_only(finding, "a matter of taste")])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};
    use crate::rules::RuleSheet;

    fn whole() -> Bench {
        trekking()
            .ride("stand", &[("works", "yes")])
            .ride("bedding", &[("stops", "8"), ("speed", "30km/h"), ("firm", "yes")])
            .ride("stall", &[("time", "1.5s"), ("recovers", "yes")])
            .ride("rough", &[("gap", "3mm"), ("drops", "10/10"), ("cuts", "0")])
            .ride("water", &[("clean", "yes")])
            .ride("noise", &[("level", "55")])
    }

    #[test]
    fn the_whole_sheet_passes_and_what_was_left_out_is_named() {
        // Noise of a light commuter, 50 to 58 dB at 1 m (common practice, no source).
        let report = whole().expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings.len(), 10);
        let one = trekking()
            .ride("water", &[("clean", "yes")])
            .expect(&CHECK, Verdict::Pass);
        let lines = one.findings[0].arithmetic.join("\n");
        assert!(
            lines.contains("not recorded: stand, bedding, stall, rough, noise"),
            "{lines}"
        );
        trekking().expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn a_shop_that_wants_the_whole_sheet_keeps_the_gate_shut() {
        let rules = RuleSheet::shipped()
            .with_override("ride.whole-sheet", "1", "every build rides all of it")
            .unwrap();
        let report = trekking()
            .ride("water", &[("clean", "yes")])
            .report_by(&CHECK, &rules);
        assert_eq!(report.verdict, Verdict::Open);
        assert_eq!(report.missing.len(), 5);
        assert_eq!(whole().report_by(&CHECK, &rules).verdict, Verdict::Pass);
    }

    #[test]
    fn each_step_that_goes_wrong_fails_by_itself() {
        for (run, values) in [
            ("stand", ("works", "no")),
            ("bedding", ("firm", "no")),
            ("stall", ("recovers", "no")),
            ("rough", ("drops", "8/10")),
            ("rough", ("cuts", "1")),
            ("rough", ("gap", "-1mm")),
            // Touching is no gap.
            ("rough", ("gap", "0mm")),
            ("water", ("clean", "no")),
        ] {
            whole().ride(run, &[values]).expect(&CHECK, Verdict::Fail);
        }
    }

    #[test]
    fn a_motor_that_draws_more_than_its_card_allows_fails_on_the_stand() {
        // A hub draws 0.5 to 1.5 A turning free, 30 % over its card at most (common practice, no source).
        let bench = trekking();
        let card = bench.job.build[&Slot::Motor]
            .part
            .get("no-load-current")
            .and_then(|value| value.number());
        let card = card.expect("the hub's card has it");
        let drawn = |amps: f64| bench.clone().ride("stand", &[("amps", &format!("{amps:.2}A"))]);
        drawn(card).expect(&CHECK, Verdict::Pass);
        let report = drawn(5.0).expect(&CHECK, Verdict::Fail);
        assert!((report.findings[0].figures[0].value - 5.0).abs() < 1e-9);
        drawn(5.0).cured(&CHECK, "lockring ride 20 stand amps=A", |job| {
            job.ride("stand", &[("amps", &format!("{card:.2}A"))])
        });
    }

    #[test]
    fn few_bedding_stops_a_long_stall_and_noise_are_cautions() {
        whole()
            .ride("noise", &[("level", "80")])
            .expect(&CHECK, Verdict::Caution);
        let few = trekking().ride("bedding", &[("stops", "3"), ("firm", "yes")]);
        few.expect(&CHECK, Verdict::Caution);
        let long = trekking().ride("stall", &[("time", "6s"), ("recovers", "yes")]);
        long.expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn what_is_mended_and_tried_again_clears_it() {
        whole().ride("stand", &[("works", "no")]).cured(
            &CHECK,
            "lockring ride 20 stand works=yes/no",
            |job| job.ride("stand", &[("works", "yes")]),
        );
        whole().ride("rough", &[("drops", "8/10")]).cured(
            &CHECK,
            "lockring ride 20 rough drops=…/10",
            |job| job.ride("rough", &[("drops", "10/10")]),
        );
        whole().ride("water", &[("clean", "no")]).cured(
            &CHECK,
            "lockring ride 20 water clean=yes/no",
            |job| job.ride("water", &[("clean", "yes")]),
        );
    }
}
