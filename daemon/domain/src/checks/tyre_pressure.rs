//! `tyre.pressure`: the pressure set, against the tyre's mark and against what its load asks for.

use lockring_calc::doubt::Limit;
use lockring_calc::quantity::{Length, Mass, Pressure};
use lockring_calc::wheel::{self, PressureLimits};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome};
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
    version: 1,
    concede: Concede::Owner,
    source: "the tyre's own maximum; pressure for the load: a fit of Berto's chart, 10.5281/zenodo.20671797, and a wider \
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
    let share = case.rule("tyre.load-factor") / 2.0;
    let (front, rear) = wheel::axle_loads(Mass::kilograms(gross.value), share)
        .map_err(|error| prediction::unusable(case, "gross mass", &error))?;
    let mut findings = Vec::new();
    for (word, code, slot) in read {
        let load = if slot == Slot::TyreFront { front } else { rear };
        findings.extend(tyre(case, word, code, slot, load)?);
    }
    Ok(findings)
}

fn tyre(case: &Case<'_>, word: &str, code: &str, slot: Slot, load: Mass) -> Result<Vec<Finding>, Halt> {
    let set = case.number(code)?;
    let width = width(case, slot)?;
    let part = case.optional_part(slot);
    let marked = match part.and_then(|part| part.optional_number("max-pressure")) {
        Some(marked) => marked,
        None => case.number("tyre-max")?.value,
    };
    let job = case.job().number;
    let what = format!("{word} tyre");
    let over = Judged::new(&what, set, Kind::Pressure, "bar")
        .against(Limit::AtMost(marked))
        .with_arithmetic(format!(
            "marked maximum {:.1} bar",
            Pressure::pascals(marked).as_bars()
        ))
        .with_remedy(format!("let air out: lockring measure {job} {code} …bar"));
    let limits = PressureLimits {
        min: wheel::sidewall_minimum(width, case.optional_word("rolling") == Some("trail")),
        tyre_max: Pressure::pascals(marked),
        rim_max: None,
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

/// Width by the mark of the tyre fitted, or of the bicycle's own.
fn width(case: &Case<'_>, slot: Slot) -> Result<Length, Halt> {
    let mark = prediction::tyre_mark(case, slot)?;
    let width = wheel::parse_tyre(mark).ok().and_then(|tyre| tyre.width);
    width.ok_or_else(|| {
        Halt::Open(vec![Missing {
            what: format!("a tyre size that names the width, not `{mark}`"),
            how: format!("lockring donor {} tyre-size=42-622", case.job().number),
        }])
    })
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
}
