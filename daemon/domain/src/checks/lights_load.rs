//! `lights.load`: light, horn and socket against the current their supply gives.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics::InputWindow;
use lockring_calc::quantity::{Current, Power, Voltage};
use lockring_calc::supply::{self, Accessory, Converter};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::{self, Judged};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Load of the controller's output, or of the converter in its place. Whether a light's volts
/// suit is the business of `lights.supply`.
pub static CHECK: Check = Check {
    id: "lights.load",
    title: "light and accessories within what their supply gives",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Power,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "power over volts against the output's own figure: arithmetic; the share that is good and a converter's \
             efficiency: workshop judgement",
    run,
};

/// What a converter's own figures are recorded as.
const CONVERTER: [&str; 3] = ["converter-volts", "converter-current", "converter-max-volts"];

fn run(case: &Case<'_>) -> Outcome {
    let light = match case.optional_part(Slot::Light) {
        Some(light) if light.word("fed-from")? == "controller-output" => Some(light),
        _ => None,
    };
    let others = case.optional_number("accessory-power");
    if light.is_none() && others.is_none() {
        return Halt::not_applicable("nothing hangs on the controller's output or a converter");
    }
    let lamp = match &light {
        Some(light) => light.number("power")?,
        None => 0.0,
    };
    let load = lamp + others.map_or(0.0, |known| known.value);
    let said = format!(
        "{lamp:.1} W light + {:.1} W other",
        others.map_or(0.0, |known| known.value)
    );
    if CONVERTER.iter().any(|code| case.knows(code)) {
        converter(case, load, &said)
    } else {
        Ok(vec![output(case, load, &said)?])
    }
}

/// Load on the controller's own output.
fn output(case: &Case<'_>, load: f64, said: &str) -> Result<Finding, Halt> {
    let controller = case.part(Slot::Controller)?;
    let volts = Voltage::volts(controller.number("light-volts")?);
    let most = Current::amperes(controller.number("light-current")?);
    let drawn = supply::outlet_load(&[accessory(load, volts)], volts, most)
        .map_err(|error| prediction::unusable(case, "controller's output", &error))?
        .current;
    Ok(judged(case, "current from the controller's output", drawn, most)
        .with_arithmetic(format!(
            "({said}) / {:.1} V = {:.2} A of {:.2} A",
            volts.as_volts(),
            drawn.as_amperes(),
            most.as_amperes()
        ))
        .with_remedy(format!(
            "a converter of {:.1} A from the pack: lockring measure {} converter-volts={:.1}V \
             converter-current={:.1}A converter-max-volts=V",
            roomy(case, drawn),
            case.job().number,
            volts.as_volts(),
            roomy(case, drawn)
        ))
        .with_remedy("or a weaker light, or less on the output"))
}

/// Load on a converter, and the converter on the pack.
fn converter(case: &Case<'_>, load: f64, said: &str) -> Outcome {
    prediction::need(case, &CONVERTER)?;
    let full = prediction::full_volts(case)?;
    let cut = Voltage::volts(prediction::low_cutoff(case)?.value);
    let output = Voltage::volts(case.number("converter-volts")?.value);
    let made = Converter {
        input: InputWindow {
            min: case
                .optional_number("converter-least-volts")
                .map(|known| Voltage::volts(known.value)),
            max: Voltage::volts(case.number("converter-max-volts")?.value),
        },
        output,
        output_current: Current::amperes(case.number("converter-current")?.value),
        efficiency: case.rule("wiring.converter-efficiency"),
    };
    let found = supply::converter_load(&[accessory(load, output)], &made, full, cut)
        .map_err(|error| prediction::unusable(case, "converter", &error))?;
    let job = case.job().number;
    let drawn = found.output.current;
    let mut findings = vec![
        judged(case, "current from the converter", drawn, made.output_current)
            .with_arithmetic(format!(
                "({said}) / {:.1} V = {:.2} A of {:.2} A; {:.2} A from the pack at its cut-off of {:.1} V",
                output.as_volts(),
                drawn.as_amperes(),
                made.output_current.as_amperes(),
                found.input_current.as_amperes(),
                cut.as_volts()
            ))
            .with_figure(judge::figure(
                "power from the pack",
                Kind::Power,
                "W",
                found.input_power.as_watts(),
            ))
            .with_remedy(format!(
                "a converter of {0:.1} A: lockring measure {job} converter-current {0:.1}A",
                roomy(case, drawn)
            )),
        window(
            "full pack at the converter",
            full,
            Limit::AtMost(made.input.max.as_volts()),
        )
        .with_remedy(format!(
            "a converter for {0:.1} V or more: lockring measure {job} converter-max-volts {0:.1}V",
            full.as_volts()
        )),
    ];
    if let Some(least) = made.input.min {
        findings.push(
            window("cut-off at the converter", cut, Limit::AtLeast(least.as_volts())).with_remedy(format!(
                "a converter that works down to {0:.1} V: lockring measure {job} converter-least-volts {0:.1}V",
                cut.as_volts()
            )),
        );
    }
    Ok(findings)
}

fn judged(case: &Case<'_>, what: &str, drawn: Current, most: Current) -> Finding {
    let most = most.as_amperes();
    Judged::new(what, Known::stated(drawn.as_amperes()), Kind::Current, "A").between(
        Limit::AtMost(case.rule("wiring.supply-good") * most),
        Limit::AtMost(most),
    )
}

fn window(what: &str, volts: Voltage, limit: Limit) -> Finding {
    Judged::new(what, Known::stated(volts.as_volts()), Kind::Voltage, "V").against(limit)
}

/// Current of a supply, in tenths, of which this much is a good share.
fn roomy(case: &Case<'_>, drawn: Current) -> f64 {
    (drawn.as_amperes() / case.rule("wiring.supply-good") * 10.0 - 1e-9).ceil() / 10.0
}

/// All that hangs on a supply, as one load that its volts suit.
fn accessory(watts: f64, volts: Voltage) -> Accessory {
    Accessory {
        window: InputWindow {
            min: None,
            max: volts,
        },
        power: Power::watts(watts),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};
    use crate::command::ReceiptText;

    /// A light of so much power on an output of 6 V and 1 A.
    fn lit(power: &str) -> Bench {
        trekking()
            .build(&[("light", "light-pack")])
            .receive(
                "light",
                &[("fed-from", "controller-output"), ("power", power)],
                ReceiptText::default(),
            )
            .receive(
                "controller",
                &[("light-volts", "6 V"), ("light-current", "1 A")],
                ReceiptText::default(),
            )
    }

    /// The same light of 9 W on a converter of 6 V, 2 A and up to 60 V.
    fn converted() -> Bench {
        lit("9 W").measure(&[
            ("converter-volts", "6 V"),
            ("converter-current", "2 A"),
            ("converter-max-volts", "60 V"),
        ])
    }

    #[test]
    fn nothing_on_the_output_is_not_concerned() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        trekking()
            .build(&[("light", "light-pack")])
            .expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn an_output_without_figures_or_half_a_converter_is_open() {
        let report = trekking()
            .measure(&[("accessory-power", "3 W")])
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("light-volts"),
            "{:?}",
            report.missing
        );
        let report = lit("3 W")
            .measure(&[("converter-volts", "6 V")])
            .expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
    }

    #[test]
    fn the_load_passes_up_to_four_fifths_cautions_up_to_all_and_fails_beyond() {
        // By hand: 4.8 W / 6 V = 0.8 A of 1 A.
        for (power, verdict) in [
            ("4.8 W", Verdict::Pass),
            ("4.9 W", Verdict::Caution),
            ("6 W", Verdict::Caution),
            ("6.1 W", Verdict::Fail),
        ] {
            lit(power).expect(&CHECK, verdict);
        }
    }

    #[test]
    fn a_horn_counts_beside_the_light_and_alone() {
        let both = lit("4 W").measure(&[("accessory-power", "1.5 W")]);
        let report = both.expect(&CHECK, Verdict::Caution);
        // By hand: 5.5 W / 6 V.
        assert!((report.findings[0].figures[0].value - 0.916_67).abs() < 1e-4);
        let alone = both.build(&[("light", "none")]);
        let report = alone.expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 0.25).abs() < 1e-9);
    }

    #[test]
    fn the_named_converter_clears_an_overloaded_output() {
        // By hand: 9 W / 6 V = 1.5 A; over 0.8 are 1.875 A.
        let over = lit("9 W");
        let report = over.expect(&CHECK, Verdict::Fail);
        let cure = &report.findings[0].remedies[0];
        assert!(
            cure.contains("converter-volts=6.0V converter-current=1.9A"),
            "{cure}"
        );
        over.measure(&[
            ("converter-volts", "6.0V"),
            ("converter-current", "1.9A"),
            ("converter-max-volts", "42V"),
        ])
        .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_converter_is_judged_by_its_load_and_draws_more_than_it_gives() {
        let report = converted().expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings.len(), 2);
        // By hand: 9 W / 0.85 = 10.588 W, 0.34 A at a cut-off of 31 V.
        assert!((report.findings[0].figures[1].value - 10.588).abs() < 1e-3);
        assert!(
            report.findings[0].arithmetic[0].contains("0.34 A from the pack at its cut-off of 31.0 V"),
            "{:?}",
            report.findings
        );
        let weak = converted().measure(&[("converter-current", "1.4 A")]);
        let report = weak.expect(&CHECK, Verdict::Fail);
        assert!(report.findings[0].remedies[0].ends_with("converter-current 1.9A"));
        weak.cured(&CHECK, "converter-current 1.9A", |job| {
            job.measure(&[("converter-current", "1.9A")])
        });
    }

    #[test]
    fn a_converter_must_bear_the_full_pack_and_work_at_the_cut_off() {
        // 10 cells of 4.20 V: 42.0 V; the controller cuts off at 31 V.
        for (code, volts, verdict) in [
            ("converter-max-volts", "42 V", Verdict::Pass),
            ("converter-max-volts", "41.9 V", Verdict::Fail),
            ("converter-least-volts", "31 V", Verdict::Pass),
            ("converter-least-volts", "31.1 V", Verdict::Fail),
        ] {
            let bench = converted().measure(&[(code, volts)]);
            let report = bench.expect(&CHECK, verdict);
            let failed = report
                .findings
                .iter()
                .find(|finding| finding.verdict == Verdict::Fail);
            if let Some(failed) = failed {
                let aim = failed.remedies[0].rsplit_once(' ').unwrap().1;
                bench.measure(&[(code, aim)]).expect(&CHECK, Verdict::Pass);
            }
        }
    }
}
