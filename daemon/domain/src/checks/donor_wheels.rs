//! `donor.wheels`: run-out of the rims and room around the tyres, as the bicycle came in.

use lockring_calc::doubt::Limit;
use lockring_calc::dropout::Wheel;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Wheels of the bicycle as it came in.
pub static CHECK: Check = Check {
    id: "donor.wheels",
    title: "wheels run true and their tyres have room",
    gates: &[Stage::Intake],
    family: Family::Safe,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "run-out 0.8 mm: TBIS 15194:2019, new wheels with rim brakes; 2 mm: a maker's manual, common practice; \
             tyre 6 mm, racing 4: ISO 4210-2, confirm against the standard",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let mut findings = Vec::new();
    if let Some(runout) = case.optional_number("rim-runout") {
        findings.push(true_enough(case, runout)?);
    }
    if let Some(room) = case.optional_number("tyre-clearance") {
        findings.push(roomy(case, room));
    }
    if findings.is_empty() {
        return Halt::not_applicable("neither run-out nor room around the tyres was measured");
    }
    Ok(findings)
}

/// A brake on the rim feels what a disc does not; past the last limit the rim is bent either way.
fn true_enough(case: &Case<'_>, runout: Known) -> Result<Finding, Halt> {
    let braked =
        prediction::brake(case, Wheel::Front)?.is_rim() || prediction::brake(case, Wheel::Rear)?.is_rim();
    let (good, most) = (case.rule("wheel.runout-true"), case.rule("wheel.runout-most"));
    let judged = Judged::new("run-out of the rim", runout, Kind::Length, "mm");
    let finding = if braked {
        judged.between(Limit::AtMost(good), Limit::AtMost(most))
    } else {
        judged.against(Limit::AtMost(most))
    };
    let job = case.job().number;
    let line = if runout.value > most {
        "quote line: new rim or wheel"
    } else {
        "quote line: true the wheel"
    };
    Ok(finding.with_remedy(format!("{line}; then: lockring measure {job} rim-runout …mm")))
}

/// Racing bicycles are built tighter; dropped bars stand for one.
fn roomy(case: &Case<'_>, room: Known) -> Finding {
    let (kind, least) = if case.optional_word("posture") == Some("drop-bar") {
        ("racing", case.rule("tyre.gap-least"))
    } else {
        ("city, trekking or mountain", case.rule("tyre.gap-good"))
    };
    let job = case.job().number;
    Judged::new(
        "tyre to frame, fork or guard at the tightest",
        room,
        Kind::Length,
        "mm",
    )
    .against(Limit::AtLeast(least))
    .with_arithmetic(format!("{kind} bicycle: {:.0} mm", 1000.0 * least))
    .with_remedy(format!(
        "narrower tyres (a smaller circumference, to be rolled out and set again): lockring build {job} \
         tyre-front=PART tyre-rear=PART"
    ))
    .with_remedy(format!(
        "guards set wider or off; then: lockring measure {job} tyre-clearance …mm"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{hardtail, longtail, trekking};

    #[test]
    fn nothing_measured_nothing_said() {
        for bench in [trekking(), longtail(), hardtail()] {
            bench.expect(&CHECK, Verdict::NotApplicable);
        }
    }

    #[test]
    fn run_out_of_a_rim_that_is_braked_passes_is_trued_or_fails() {
        // TBIS 15194:2019: 0.8 mm; common practice, no source: 1.3 mm on a used wheel with rim
        // brakes is trued, 2.4 mm is not. Dial gauge 0.05 mm: doubt 0.1 mm.
        for (runout, verdict) in [
            ("0.6", Verdict::Pass),
            ("0.8", Verdict::Caution),
            ("1.3", Verdict::Caution),
            ("1.95", Verdict::Caution),
            ("2.05", Verdict::Caution),
            ("2.4", Verdict::Fail),
        ] {
            trekking()
                .measure(&[("rim-runout", runout)])
                .expect(&CHECK, verdict);
        }
        let bent = trekking().measure(&[("rim-runout", "2.4")]);
        let report = bent.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].contains("new rim"),
            "{:?}",
            report.findings
        );
        bent.measure(&[("rim-runout", "0.5")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_disc_forgives_a_rim_what_a_pad_would_not() {
        longtail()
            .measure(&[("rim-runout", "1.3")])
            .expect(&CHECK, Verdict::Pass);
        longtail()
            .measure(&[("rim-runout", "2.4")])
            .expect(&CHECK, Verdict::Fail);
        trekking()
            .forget("brake-rear")
            .state(&[("brake-front", "hydraulic-disc")])
            .measure(&[("rim-runout", "1.3")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn five_millimetres_do_for_a_racing_bicycle_and_not_for_a_city_one() {
        // ISO 4210-2, wheel and tyre clearance: 6 mm, racing 4 mm. Rule 0.25 mm: doubt 0.5 mm.
        let tight = trekking().measure(&[("tyre-clearance", "5 mm")]);
        tight.expect(&CHECK, Verdict::Fail);
        tight
            .clone()
            .state(&[("posture", "drop-bar")])
            .expect(&CHECK, Verdict::Pass);
        for (room, verdict) in [
            ("5.4", Verdict::Fail),
            ("5.8", Verdict::Caution),
            ("6.2", Verdict::Caution),
            ("6.6", Verdict::Pass),
        ] {
            tight
                .clone()
                .measure(&[("tyre-clearance", room)])
                .expect(&CHECK, verdict);
        }
    }

    #[test]
    fn inches_and_millimetres_give_the_same_verdict() {
        for (mm, inches) in [("7.0 mm", "0.276 in"), ("5.0 mm", "0.197 in")] {
            let verdict = |text| {
                trekking()
                    .measure(&[("tyre-clearance", text)])
                    .report(&CHECK)
                    .verdict
            };
            assert_eq!(verdict(mm), verdict(inches), "{mm}");
        }
    }

    #[test]
    fn a_wheel_trued_as_the_remedy_says_clears_it() {
        trekking()
            .measure(&[("rim-runout", "1.3")])
            .cured(&CHECK, "lockring measure 20 rim-runout", |job| {
                job.measure(&[("rim-runout", "0.5")])
            });
    }
}
