//! `sensors.shift`: a shift sensor on a strong motor at the crank, and seen to cut.

use lockring_calc::electrics;
use lockring_calc::quantity::Current;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge;
use crate::part::Slot;
use crate::prediction::{self, sprockets};
use crate::stage::Stage;
use crate::unit::Kind;

/// Shift sensor where shifts happen under power.
pub static CHECK: Check = Check {
    id: "sensors.shift",
    title: "shift sensor fitted and seen to cut",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Fit,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: required at the crank with a derailleur above 400 W",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !prediction::is_mid(case)? {
        return Halt::not_applicable("the motor is in the wheel: it does not pull through the chain");
    }
    if sprockets::cogs(case)?.len() == 1 {
        return Halt::not_applicable("a single cog is not shifted by a derailleur");
    }
    let nominal = prediction::battery(&case.part(Slot::Pack)?)?.nominal();
    let limit = Current::amperes(prediction::current_limit(case)?);
    let power = electrics::input_power(nominal, limit);
    let needed = case.rule("chain.shift-sensor-power");
    let arithmetic = format!(
        "{:.1} V x {:.1} A = {:.0} W, against {needed:.0} W",
        nominal.as_volts(),
        limit.as_amperes(),
        power.as_watts()
    );
    if power.as_watts() <= needed {
        return Halt::not_applicable(format!(
            "{arithmetic}: not strong enough to ask for a shift sensor"
        ));
    }
    let job = case.job().number;
    let Some(sensor) = case.optional_part(Slot::ShiftSensor) else {
        let line = format!(
            "no shift sensor in a build of {:.0} W from the pack, driving at the crank",
            power.as_watts()
        );
        // While nothing is ordered it costs a line on the order; fitted without it, it is not made good by measuring.
        let verdict = if is_early(case) {
            Verdict::Caution
        } else {
            Verdict::Fail
        };
        return Ok(vec![
            Finding::new(verdict, line)
                .with_figure(judge::figure(
                    "electrical power",
                    Kind::Power,
                    "W",
                    power.as_watts(),
                ))
                .with_arithmetic(arithmetic)
                .with_remedy(format!("a shift sensor: lockring build {job} shift-sensor=PART"))
                .with_remedy(format!(
                    "`no shifting under power, rider told`: lockring concede {job} sensors.shift --why REASON"
                )),
        ]);
    };
    if is_early(case) {
        let line = format!("{} is part of the build", sensor.name());
        return Ok(vec![
            Finding::new(Verdict::Pass, line).with_arithmetic(arithmetic),
        ]);
    }
    let (good, tried) = case.tally("cut-shift")?;
    let line = format!("{}: cut seen on {good} of {tried} shifts", sensor.name());
    let tries = case.rule("brake.cut-off-tries");
    let finding = if good < tried {
        Finding::new(Verdict::Fail, format!("{line}: it does not cut every time"))
    } else if f64::from(tried) < tries {
        Finding::new(Verdict::Caution, format!("{line}: fewer than {tries:.0} tries"))
    } else {
        Finding::new(Verdict::Pass, format!("{line}: within stored limit"))
    };
    Ok(vec![
        finding
            .with_figure(judge::figure("electrical power", Kind::Power, "W", power.as_watts()))
            .with_arithmetic(arithmetic)
            .with_remedy(format!(
                "the sensor's arrow along the cable and its plug; then lockring measure {job} cut-shift …/{tries:.0}{}",
                prediction::anew(good, tried)
            )),
    ])
}

/// Whether nothing is fitted yet that could be tried.
fn is_early(case: &Case<'_>) -> bool {
    case.gate() < Stage::Fitting
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};
    use crate::rules::RuleSheet;

    #[test]
    fn a_strong_motor_at_the_crank_needs_one_that_cuts() {
        let built = longtail();
        assert!(
            built.expect(&CHECK, Verdict::Open).missing[0]
                .how
                .starts_with("lockring measure 21 cut-shift")
        );
        let report = built
            .clone()
            .measure(&[("cut-shift", "3/3")])
            .expect(&CHECK, Verdict::Pass);
        // 13 cells of 3.6 V and 15 A: 46.8 x 15 = 702 W by hand.
        assert!((report.findings[0].figures[0].value - 702.0).abs() < 1e-6);
        built
            .clone()
            .measure(&[("cut-shift", "2/3")])
            .expect(&CHECK, Verdict::Fail);
        built
            .measure(&[("cut-shift", "1/1")])
            .expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn without_one_it_fails_and_the_remedy_clears_it() {
        // Worked example of the trade (common practice, no source): back-ordered sensor, mid
        // motor of more than 400 W, stop.
        let without = hardtail().build(&[("shift-sensor", "none")]);
        without.expect(&CHECK, Verdict::Fail);
        let with = without
            .build(&[("shift-sensor", "shift-cable")])
            .measure(&[("cut-shift", "3/3")]);
        with.expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn it_is_asked_for_before_anything_is_ordered() {
        let at_intake = |bench: &Bench| check::run(&CHECK, &bench.job, &RuleSheet::shipped(), Stage::Intake);
        let without = longtail().build(&[("shift-sensor", "none")]);
        let report = at_intake(&without);
        assert_eq!(report.verdict, Verdict::Caution, "{:?}", report.findings);
        assert!(report.findings[0].remedies[0].contains("lockring build 21 shift-sensor=PART"));
        // That it cuts is seen once it is fitted.
        assert_eq!(at_intake(&longtail()).verdict, Verdict::Pass);
        assert_eq!(at_intake(&trekking()).verdict, Verdict::NotApplicable);
    }

    #[test]
    fn the_power_is_crossed_with_the_current_limit() {
        // 400 W / 46.8 V = 8.547 A by hand.
        let without = longtail().build(&[("shift-sensor", "none")]);
        without
            .clone()
            .measure(&[("current-limit", "8.5 A")])
            .expect(&CHECK, Verdict::NotApplicable);
        without
            .measure(&[("current-limit", "8.6 A")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn hub_motors_and_single_cogs_need_none() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let single = longtail().build(&[("cassette", "none")]).state(&[("cogs", "19")]);
        single.expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn the_sensor_the_remedy_names_clears_it() {
        hardtail().build(&[("shift-sensor", "none")]).cured(
            &CHECK,
            "lockring build 23 shift-sensor=PART",
            |job| {
                job.build(&[("shift-sensor", "shift-cable")])
                    .measure(&[("cut-shift", "3/3")])
            },
        );
    }
}
