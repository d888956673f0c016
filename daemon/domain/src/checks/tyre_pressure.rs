//! `tyre.pressure`: the pressure set, against the tyre's mark and against what its load asks for.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::{Mass, Pressure};
use lockring_calc::wheel::{self, PressureLimits};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Pressure of both tyres.
pub static CHECK: Check = Check {
    id: "tyre.pressure",
    title: "tyre pressure for the load, within the marks",
    gates: &[Stage::Fitting],
    family: Family::Safe,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the lower mark of tyre and rim: ISO 4210-1 as adopted in TBIS 4210-1:2018; pressure for the load: a fit of Berto's chart, 10.5281/zenodo.20671797, and a wider \
             one of common practice; 20 % either way: workshop judgement",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let tyres = [
        ("front", "tyre-pressure-front", Slot::TyreFront),
        ("rear", "tyre-pressure", Slot::TyreRear),
    ];
    let read: Vec<_> = tyres
        .into_iter()
        .filter(|(_, code, _)| case.knows(code))
        .collect();
    if read.is_empty() {
        return Halt::not_applicable("no pressure was recorded");
    }
    let gross = prediction::gross_mass(case)?;
    let [front, rear] = prediction::axles(case, gross)?;
    let mut findings = Vec::new();
    for (word, code, slot) in read {
        let axle = if slot == Slot::TyreFront { &front } else { &rear };
        findings.extend(tyre(case, word, code, slot, Mass::kilograms(axle.load.value))?);
    }
    Ok(findings)
}

fn tyre(case: &Case<'_>, word: &str, code: &str, slot: Slot, load: Mass) -> Result<Vec<Finding>, Halt> {
    let set = case.number(code)?;
    let width = prediction::tyre_width(case, slot)?;
    let part = case.optional_part(slot);
    let of_tyre = match part.and_then(|part| part.optional_number("max-pressure")) {
        Some(marked) => marked,
        None => case.number("tyre-max")?.value,
    };
    let of_rim = rim_mark(case)?;
    let most = wheel::greatest_pressure(Pressure::pascals(of_tyre), of_rim)
        .map_err(|error| prediction::unusable(case, "pressure mark", &error))?;
    let rim = of_rim.map_or(String::new(), |rim| format!(", rim {:.1} bar", rim.as_bars()));
    let job = case.job().number;
    let what = format!("{word} tyre");
    let over = Judged::new(&what, set, Kind::Pressure, "bar")
        .against(Limit::AtMost(most.as_pascals()))
        .with_arithmetic(format!(
            "marked maximum: tyre {:.1} bar{rim}",
            Pressure::pascals(of_tyre).as_bars()
        ))
        .with_remedy(format!("let air out: lockring measure {job} {code} …bar"));
    let limits = PressureLimits {
        min: wheel::sidewall_minimum(width, case.optional_word("rolling") == Some("trail")),
        max: most,
    };
    let asked = wheel::recommended_pressure(load, width, limits)
        .map_err(|error| prediction::unusable(case, "tyre", &error))?
        .pressure;
    let spread = case.rule("tyre.pressure-spread");
    let wanted = Judged::new(
        &format!("{word} tyre for its load"),
        Known { u: set.u, ..set },
        Kind::Pressure,
        "bar",
    )
    .against(Limit::Within(
        asked.as_pascals() * (1.0 - spread),
        asked.as_pascals() * (1.0 + spread),
    ))
    .with_arithmetic(format!(
        "{:.0} kg on {:.0} mm asks for {:.1} bar",
        load.as_kilograms(),
        width.as_millimetres(),
        asked.as_bars()
    ))
    .with_remedy(format!(
        "{:.1} bar: lockring measure {job} {code} {:.1}bar",
        asked.as_bars(),
        asked.as_bars()
    ));
    let advice = "rider and road decide; more air off smooth tarmac gains nothing";
    Ok(vec![over, prediction::advise_only(wanted, advice)])
}

/// What the rim allows, where it is marked. A straight edge holds the bead by the rim maker's
/// figure alone, so that one is asked for and never inferred.
fn rim_mark(case: &Case<'_>) -> Result<Option<Pressure>, Halt> {
    if case.optional_word("rim-edge") == Some("hookless") {
        prediction::need(case, &["rim-max"])?;
    }
    let mark = case.optional_number("rim-max");
    Ok(mark.map(|mark| Pressure::pascals(mark.value)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, trekking};

    fn with_mark() -> Bench {
        trekking().state(&[("tyre-max", "5 bar"), ("tyre-size", "37-622")])
    }

    #[test]
    fn without_a_reading_it_does_not_apply_and_without_a_mark_it_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = trekking()
            .measure(&[("tyre-pressure", "4 bar")])
            .expect(&CHECK, Verdict::Open);
        assert!(report.missing[0].how.contains("tyre-max"), "{:?}", report.missing);
    }

    #[test]
    fn sixty_kilograms_on_thirty_seven_millimetres_ask_for_the_charts_pressure() {
        // A fit of Berto's chart (10.5281/zenodo.20671797): 60 kg on 37 mm, 60.7 psi = 4.19 bar;
        // the trekking bicycle puts 60 % of 100 kg on the rear.
        let report = with_mark()
            .measure(&[("tyre-pressure", "4.2 bar")])
            .expect(&CHECK, Verdict::Pass);
        assert!(
            report.findings[1].arithmetic[0].contains("60 kg on 37 mm asks for 4.2 bar"),
            "{:?}",
            report.findings
        );
        // 40 kg in front: 600 x 88.18 / 1369 + 27.75 - 25 = 41.4 psi = 2.85 bar (by hand).
        let report = with_mark()
            .measure(&[("tyre-pressure-front", "2.9 bar")])
            .expect(&CHECK, Verdict::Pass);
        assert!(
            report.findings[1].arithmetic[0].contains("asks for 2.9 bar"),
            "{:?}",
            report.findings
        );
    }

    #[test]
    fn the_scale_s_share_goes_before_the_rule_of_thumb() {
        // By hand, 45 and 55 kg weighed: 55 of 100 kg rear, 600 x 121.25 / 1369 + 27.75 - 25 =
        // 55.9 psi = 3.85 bar.
        let report = with_mark()
            .measure(&[
                ("scale-front", "45 kg"),
                ("scale-rear", "55 kg"),
                ("tyre-pressure", "3.9 bar"),
            ])
            .expect(&CHECK, Verdict::Pass);
        let line = &report.findings[1].arithmetic[0];
        assert!(line.contains("55 kg on 37 mm asks for 3.9 bar"), "{line}");
    }

    #[test]
    fn a_soft_tyre_is_a_caution_that_air_clears_and_one_over_its_mark_fails() {
        let soft = with_mark().measure(&[("tyre-pressure", "2.5 bar")]);
        let report = soft.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("advice only"), "{}", report.summary());
        soft.measure(&[("tyre-pressure", "4.2 bar")])
            .expect(&CHECK, Verdict::Pass);
        with_mark()
            .measure(&[("tyre-pressure", "5.6 bar")])
            .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn the_lower_mark_of_tyre_and_rim_rules_and_a_hookless_rim_must_have_one() {
        // ISO 4210-1 as adopted in TBIS 4210-1:2018.
        let hooked = with_mark().measure(&[("tyre-pressure", "4.2 bar")]);
        hooked
            .clone()
            .state(&[("rim-max", "3.7 bar")])
            .expect(&CHECK, Verdict::Fail);
        hooked
            .clone()
            .state(&[("rim-max", "4.6 bar")])
            .expect(&CHECK, Verdict::Pass);
        let hookless = hooked.state(&[("rim-edge", "hookless")]);
        let report = hookless.expect(&CHECK, Verdict::Open);
        assert!(report.missing[0].how.contains("rim-max"), "{:?}", report.missing);
        hookless
            .state(&[("rim-max", "4.6 bar")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn psi_and_bar_give_the_same_verdict() {
        for (bar, psi) in [
            ("4.2 bar", "60.9 psi"),
            ("2.5 bar", "36.3 psi"),
            ("5.6 bar", "81.2 psi"),
        ] {
            let verdict = |text| {
                with_mark()
                    .measure(&[("tyre-pressure", text)])
                    .report(&CHECK)
                    .verdict
            };
            assert_eq!(verdict(bar), verdict(psi), "{bar} {psi}");
        }
    }

    #[test]
    fn the_pressure_the_remedy_names_clears_it() {
        with_mark().measure(&[("tyre-pressure", "2.5 bar")]).cured(
            &CHECK,
            "lockring measure 20 tyre-pressure 4.2bar",
            |job| job.measure(&[("tyre-pressure", "4.2bar")]),
        );
    }
}
