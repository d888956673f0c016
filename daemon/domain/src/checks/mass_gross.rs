//! `mass.gross`: bicycle, kit, rider and load against the total the frame is permitted.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::Case;
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Gross mass within the permitted total.
pub static CHECK: Check = Check {
    id: "mass.gross",
    title: "gross mass within the permitted total",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Safe,
    version: 2,
    concede: Concede::Never,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the frame maker's permitted total mass; gross mass as in TBIS 15194:2019, 6 n)",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    // An assumption is nobody's word: it neither stops a bicycle for good nor carries one.
    let told = case.optional_number("permitted-mass");
    let Some(permitted) = told.filter(|mass| mass.provenance != Provenance::Assumed) else {
        return Halt::not_applicable("nobody knows the frame's permitted total, see mass.margin");
    };
    let gross = prediction::gross_mass(case)?;
    let finding = Judged::new("gross mass", gross, Kind::Mass, "kg")
        .against(Limit::AtMost(permitted.value))
        .with_arithmetic(prediction::mass_sum(case, gross)?)
        .with_arithmetic(prediction::caution("in-mass"));
    let over = gross.value + gross.expanded() - permitted.value;
    let number = case.job().number;
    let load = (case.number("load-mass")?.value - over.max(0.0)).max(0.0);
    // Down to the next half kilogram, so that the cure cures.
    let load = (load * 2.0).floor() / 2.0;
    Ok(vec![
        finding
            .with_remedy(format!(
                "less load, agreed with the rider: lockring brief {number} load-mass={load:.1}kg"
            ))
            .with_remedy(format!(
                "a lighter pack or motor: lockring build {number} pack=PART"
            ))
            .with_remedy(format!(
                "weigh the finished bicycle: lockring measure {number} mass-after VALUE"
            )),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::ReceiptText;
    use crate::part::Slot;

    #[test]
    fn the_demo_jobs_stay_under_their_totals() {
        // Worked example of the trade (common practice, no source): 100.0 of 130 kg, 190 of
        // 200 kg, 123.4 of 136 kg; the parts' masses differ by up to 0.6 kg.
        for (bench, kilograms) in [(trekking(), 100.0), (longtail(), 190.0), (hardtail(), 123.4)] {
            let report = bench.expect(&CHECK, Verdict::Pass);
            let gross = report.findings[0].figures[0].value;
            assert!((gross - kilograms).abs() < 0.7, "{gross}");
        }
    }

    #[test]
    fn the_sum_of_parts_carries_its_own_doubt() {
        // Scale 0.1 kg standard; parts 0.5 kg expanded: 2 x hypot(0.1, 0.25) = 0.54 kg by hand.
        let report = trekking().report(&CHECK);
        let doubt = report.findings[0].figures[0].uncertainty.unwrap();
        assert!((doubt - 0.5385).abs() < 0.001, "{doubt}");
    }

    #[test]
    fn over_the_total_fails_and_the_load_named_clears_it() {
        // 84 + 66 + 50.4 = 200.4 kg of 200 kg; scale 0.2 kg expanded.
        let weighed = |mass| longtail().measure(&[("mass-after", mass)]);
        weighed("49.7 kg").expect(&CHECK, Verdict::Pass);
        weighed("49.9 kg").expect(&CHECK, Verdict::Caution);
        let over = weighed("50.4 kg");
        let report = over.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].ends_with("load-mass=65.0kg"),
            "{:?}",
            report.findings
        );
        over.state(&[("load-mass", "65.0kg")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn an_unweighed_bicycle_is_open_and_an_unmarked_frame_is_another_s_business() {
        trekking().forget("mass-before").expect(&CHECK, Verdict::Open);
        trekking()
            .forget("permitted-mass")
            .expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn a_mass_that_nobody_gave_is_cured_by_giving_it_and_by_nothing_else() {
        let mut bench = trekking();
        let motor = &mut bench.job.build.get_mut(&Slot::Motor).unwrap().part;
        assert!(motor.attributes.remove("mass").is_some());
        let report = bench.expect(&CHECK, Verdict::Caution);
        assert!(
            report.summary().contains("the part as chosen has no mass"),
            "{}",
            report.summary()
        );
        let remedies = &report.findings[0].remedies;
        assert_eq!(remedies.len(), 1, "{remedies:?}");
        bench.cured(&CHECK, "lockring receive 20 motor mass=VALUE", |job| {
            job.receive("motor", &[("mass", "3.4 kg")], ReceiptText::default())
        });
    }

    #[test]
    fn the_load_the_remedy_names_clears_it() {
        longtail().measure(&[("mass-after", "50.4 kg")]).cured(
            &CHECK,
            "lockring brief 21 load-mass=65.0kg",
            |job| job.state(&[("load-mass", "65.0kg")]),
        );
    }
}
