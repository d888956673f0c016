//! `mass.margin`: room left under the permitted total, and what a frame without a mark is
//! trusted with.

use lockring_calc::doubt::Limit;
use lockring_calc::mass::UNMARKED_FRAME_KG;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Missing, Outcome, Verdict};
use crate::fact::Provenance;
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
    version: 3,
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
    let told = case.optional_number("permitted-mass");
    let permitted = match told {
        Some(permitted) if permitted.provenance != Provenance::Assumed => permitted.value,
        // An assumption carries a build no further than frames are tested; it cannot judge one above that.
        _ => {
            let trusted = told.map_or(unmarked, |assumed| assumed.value.min(unmarked));
            if gross.value + gross.expanded() > trusted - margin {
                return Ok(vec![unmarked_frame(case, gross, trusted)]);
            }
            case.number_or("permitted-mass", unmarked).value.min(unmarked)
        }
    };
    let over = gross.value - gross.expanded() > permitted;
    if over {
        return Ok(vec![Finding::new(
            Verdict::NotApplicable,
            "over the permitted total, see mass.gross",
        )]);
    }
    let finding = Judged::new("gross mass with room to spare", gross, Kind::Mass, "kg")
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

/// What can be done with a frame that carries no mark, and more than frames without one are trusted with.
fn unmarked_frame(case: &Case<'_>, gross: Known, trusted: f64) -> Finding {
    let number = case.job().number;
    let most = trusted - case.rule("frame.gross-margin");
    let over = gross.value + gross.expanded() - most;
    let missing = Missing {
        what: format!(
            "permitted total mass by the word of the frame's maker: {:.1} kg gross, a frame without a mark is trusted with {most:.0} kg",
            gross.value
        ),
        how: format!("lockring donor {number} permitted-mass=VALUE"),
    };
    let finding = case
        .lack_all(vec![missing])
        .with_arithmetic(format!(
            "{trusted:.0} kg - {:.0} kg of margin = {most:.0} kg; {:.1} kg and its doubt of {:.1} kg are {over:.1} kg over",
            case.rule("frame.gross-margin"),
            gross.value,
            gross.expanded()
        ))
        .with_arithmetic("what is assumed raises it no further: whoever converts answers for the bicycle as its maker does")
        .with_remedy(format!(
            "ask the frame's maker for it in writing, or read it in the model's manual, and state it with a photo of it on file, not \
             as assumed: lockring donor {number} permitted-mass=VALUE"
        ));
    let load = case.optional_number("load-mass").map_or(0.0, |load| load.value);
    // Down to the half kilogram, so that the cure cures.
    let left = ((load - over) * 2.0).floor() / 2.0;
    let finding = if left >= 0.0 {
        finding.with_remedy(format!(
            "less load, agreed with the rider: lockring brief {number} load-mass={left:.1}kg"
        ))
    } else {
        finding.with_remedy(format!(
            "{over:.1} kg less in all, by load, pack and motor: lockring build {number} pack=PART motor=PART"
        ))
    };
    finding.with_remedy("without either, another frame: this one is not converted for that mass")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::mass_gross;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::{Command, Typed};

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
    fn an_assumed_total_carries_no_more_than_an_unmarked_frame_and_the_way_is_told() {
        // ISO 4210-4:2014: 100 kg; 5 kg of margin. The trekking bicycle weighs 100 kg with its rider, 82 kg with one of 60 kg.
        let assumed = |kilograms: &str| {
            trekking().forget("permitted-mass").change(&Command::State {
                group: None,
                values: vec![Typed::new("permitted-mass", kilograms)],
                assumed: true,
            })
        };
        let open = assumed("125 kg").expect(&CHECK, Verdict::Open);
        assert!(
            open.missing[0].what.contains("word of the frame's maker"),
            "{open:?}"
        );
        let remedies = open.findings[0].remedies.join("\n");
        assert!(
            remedies.contains("in writing") && remedies.contains("another frame"),
            "{remedies}"
        );
        // Nothing is never conceded on an assumption.
        assumed("125 kg").expect(&mass_gross::CHECK, Verdict::NotApplicable);
        assumed("90 kg").expect(&mass_gross::CHECK, Verdict::NotApplicable);
        assumed("125 kg")
            .state(&[("rider-mass", "60 kg")])
            .expect(&CHECK, Verdict::Caution);
        assumed("125 kg").cured(&CHECK, "lockring donor 20 permitted-mass=VALUE", |job| {
            job.state(&[("permitted-mass", "130 kg")])
        });
    }

    #[test]
    fn the_load_named_for_an_unmarked_frame_clears_it() {
        let loaded = trekking()
            .forget("permitted-mass")
            .state(&[("rider-mass", "60 kg"), ("load-mass", "30 kg")]);
        let report = loaded.expect(&CHECK, Verdict::Open);
        let remedy = &report.findings[0].remedies[1];
        let (_, load) = remedy.rsplit_once("load-mass=").unwrap();
        // It rests on the hundred kilograms then, which the owner may accept.
        let light = loaded
            .state(&[("load-mass", load)])
            .expect(&CHECK, Verdict::Caution);
        assert!(
            light.summary().contains("rests on an assumption"),
            "{}",
            light.summary()
        );
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
        unmarked.cured(&CHECK, "lockring donor 20 permitted-mass=…kg", |job| {
            job.state(&[("permitted-mass", "130 kg")])
        });
    }
}
