//! `mass.margin`: room left under the permitted total, and what a frame without a mark is
//! trusted with.

use lockring_calc::doubt::Limit;
use lockring_calc::mass::UNMARKED_FRAME_KG;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Margin under the permitted total.
pub static CHECK: Check = Check {
    id: "mass.margin",
    title: "margin under the permitted total mass",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Safe,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
    ],
    source: "common practice, no source: 5 kg under the total; without a mark the 100 kg at which ISO 4210-4 tests a bicycle",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let gross = prediction::gross_mass(case)?;
    let (margin, unmarked) = (case.rule("frame.gross-margin"), UNMARKED_FRAME_KG);
    let number = case.job().number;
    let permitted = match case.optional_number("permitted-mass") {
        Some(permitted) => permitted.value,
        // An assumption may carry a build below it; it cannot judge one above it.
        None if gross.value + gross.expanded() > unmarked - margin => {
            let what = format!(
                "permitted total mass of the frame: {:.1} kg gross, an unmarked frame is trusted with {unmarked:.0} kg less \
                 {margin:.0} kg",
                gross.value
            );
            return Err(Halt::Open(vec![Missing {
                what,
                how: format!("lockring donor {number} permitted-mass=VALUE"),
            }]));
        }
        None => case.number_or("permitted-mass", unmarked).value,
    };
    let over = gross.value - gross.expanded() > permitted;
    if over {
        return Ok(vec![Finding::new(
            Verdict::NotApplicable,
            "over the permitted total, see mass.gross",
        )]);
    }
    let finding = Judged::new("gross mass", gross, Kind::Mass, "kg")
        .between(Limit::AtMost(permitted - margin), Limit::AtMost(permitted))
        .with_arithmetic(prediction::mass_sum(case, gross)?)
        .with_arithmetic(format!(
            "{permitted:.1} kg - {:.1} kg = {:.1} kg of margin",
            gross.value,
            permitted - gross.value
        ));
    Ok(vec![
        finding
            .with_remedy(format!(
                "less load, agreed with the rider: lockring brief {number} load-mass=VALUE"
            ))
            .with_remedy(format!(
                "the frame's mark, if it carries one: lockring donor {number} permitted-mass=VALUE"
            )),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};

    #[test]
    fn ten_kilograms_under_pass() {
        // Worked example of the trade (common practice, no source): 190 of 200 kg.
        for bench in [trekking(), longtail(), hardtail()] {
            bench.expect(&CHECK, Verdict::Pass);
        }
    }

    #[test]
    fn less_than_five_kilograms_under_is_a_caution() {
        // 84 + 66 + 44.7 = 194.7 kg of 200 kg; scale 0.2 kg expanded.
        let weighed = |mass| longtail().measure(&[("mass-after", mass)]);
        weighed("44.7 kg").expect(&CHECK, Verdict::Pass);
        weighed("44.9 kg").expect(&CHECK, Verdict::Caution);
        let close = weighed("47 kg");
        close.expect(&CHECK, Verdict::Caution);
        close
            .state(&[("load-mass", "63 kg")])
            .expect(&CHECK, Verdict::Pass);
        weighed("51 kg").expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn an_unmarked_frame_is_trusted_with_a_hundred_kilograms() {
        // ISO 4210-4:2014: bicycle and rider together 100 kg in the braking test.
        let light = trekking()
            .forget("permitted-mass")
            .state(&[("rider-mass", "60 kg")]);
        let report = light.expect(&CHECK, Verdict::Caution);
        assert!(
            report.summary().contains("rests on an assumption"),
            "{}",
            report.summary()
        );
        // Check case, arithmetic: 116.5 kg is over the assumption.
        let heavy = light.state(&[("rider-mass", "88.5 kg")]);
        heavy.expect(&CHECK, Verdict::Open);
        heavy
            .state(&[("permitted-mass", "130 kg")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn an_unasked_load_is_open() {
        trekking().forget("load-mass").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn less_load_and_the_frame_s_mark_as_the_remedies_say_clear_it() {
        longtail().measure(&[("mass-after", "47 kg")]).cured(
            &CHECK,
            "lockring brief 21 load-mass=VALUE",
            |job| job.state(&[("load-mass", "63 kg")]),
        );
        let unmarked = trekking()
            .forget("permitted-mass")
            .state(&[("rider-mass", "60 kg")]);
        unmarked.cured(&CHECK, "lockring donor 20 permitted-mass=VALUE", |job| {
            job.state(&[("permitted-mass", "130 kg")])
        });
    }
}
