//! `wiring.leads`: the leads between pack and controller, by voltage drop, and by what the
//! wire carries against the fuse that protects it.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics::{self, Gauge};
use lockring_calc::quantity::{Current, Length, Temperature};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Leads from pack to controller.
pub static CHECK: Check = Check {
    id: "wiring.leads",
    title: "leads from pack to controller",
    gates: &[Stage::Fitting],
    family: Family::Power,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "copper and gauge: Handbook of Electronic Tables and IACS, restated; 2 % and 3 % drop, 0.6 of the free-air \
             current inside a frame: common practice, no source",
    run,
};

/// Warm leads inside a frame on a summer climb, °C (common practice, no source).
const WARM: f64 = 60.0;

fn run(case: &Case<'_>) -> Outcome {
    if !case.knows("wire-gauge") && !case.knows("wire-length") {
        return Halt::not_applicable("the leads are the kit's own: neither gauge nor length was recorded");
    }
    prediction::need(case, &["wire-gauge", "wire-length"])?;
    let number = case.number("wire-gauge")?.value;
    // The window of the code keeps the gauge between 0 and 40.
    let gauge =
        Gauge::new(number.round() as u8).map_err(|error| prediction::unusable(case, "leads", &error))?;
    let length = Length::metres(case.number("wire-length")?.value);
    let current = Current::amperes(prediction::current_limit(case)?);
    let mut findings = vec![drop(case, gauge, length, current)?];
    findings.extend(carries(case, gauge, current)?);
    Ok(findings)
}

fn drop(case: &Case<'_>, gauge: Gauge, length: Length, current: Current) -> Result<Finding, Halt> {
    let nominal = prediction::battery(&case.part(crate::part::Slot::Pack)?)?.nominal();
    let volts = |celsius: f64| {
        electrics::voltage_drop(gauge, length, current, Temperature::celsius(celsius))
            .map_err(|error| prediction::unusable(case, "leads", &error))
    };
    let (cold, warm) = (volts(20.0)?, volts(WARM)?);
    let heat = warm.times_current(current);
    let known = Known {
        value: warm / nominal,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let job = case.job().number;
    Ok(Judged::new("drop over the warm leads", known, Kind::Ratio, "%")
        .between(Limit::AtMost(case.rule("wiring.drop-good")), Limit::AtMost(case.rule("volts.drop-most")))
        .with_arithmetic(format!(
            "AWG {}, {:.2} m and back, {:.1} A: {:.3} V at 20 °C, {:.3} V at {WARM:.0} °C, {:.1} W; pack {:.1} V nominal",
            gauge.number(),
            length.as_metres(),
            current.as_amperes(),
            cold.as_volts(),
            warm.as_volts(),
            heat.as_watts(),
            nominal.as_volts()
        ))
        .with_remedy(format!("shorter or thicker leads: lockring measure {job} wire-gauge GAUGE")))
}

/// The wire inside a frame against the least fuse for the current, and against the fuse once
/// that is recorded. A gauge without a figure in the table says nothing.
fn carries(case: &Case<'_>, gauge: Gauge, current: Current) -> Result<Vec<Finding>, Halt> {
    let Some(free_air) = gauge.free_air() else {
        return Ok(Vec::new());
    };
    let carries = free_air.as_amperes() * electrics::DERATING;
    let job = case.job().number;
    let stated = |value: f64| Known {
        value,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let arithmetic = format!(
        "AWG {}: {:.0} A in free air x {:.1} inside a frame = {carries:.1} A",
        gauge.number(),
        free_air.as_amperes(),
        electrics::DERATING
    );
    let advice = "the figure is a handbook's for free air and no code's: follow the local code";
    let unusable = |error: &dyn std::fmt::Display| prediction::unusable(case, "leads", error);
    let window =
        electrics::fuse_window(current, Current::amperes(carries)).map_err(|error| unusable(&error))?;
    let thicker = match electrics::thinnest_for(current).map_err(|error| unusable(&error))? {
        Some(gauge) => leads_of(gauge, job),
        None => {
            "two pairs of leads or less current: no stored gauge carries a fuse for this current".to_owned()
        }
    };
    let mut load = Judged::new(
        "least fuse for the current, for the leads",
        stated(window.min.as_amperes()),
        Kind::Current,
        "A",
    )
    .against(Limit::AtMost(carries));
    if load.verdict == Verdict::Pass && window.smallest.is_none() {
        load.verdict = Verdict::Caution;
        load.summary = format!(
            "no common fuse lies between {:.1} and {carries:.1} A; advice only: {advice}",
            window.min.as_amperes()
        );
    }
    let load = load
        .with_arithmetic(format!(
            "1.25 x {:.1} A = {:.1} A; {}",
            current.as_amperes(),
            window.min.as_amperes(),
            match window.smallest {
                Some(size) => format!("a common fuse of {} A is protected", size.as_amperes()),
                None => "no common fuse fits".to_owned(),
            }
        ))
        .with_arithmetic(arithmetic.clone())
        .with_remedy(thicker);
    let mut findings = vec![prediction::advise_only(load, advice)];
    if let Some(fuse) = case.optional_number("fuse") {
        let fused = Judged::new("fuse for the leads it protects", fuse, Kind::Current, "A")
            .against(Limit::AtMost(carries))
            .with_arithmetic(arithmetic);
        let fused = match window.smallest {
            Some(size) => fused.with_remedy(format!(
                "a fuse of {0} A: lockring measure {job} fuse {0}A",
                size.as_amperes()
            )),
            None => fused,
        };
        findings.push(prediction::advise_only(
            fused.with_remedy(carrying(fuse.value, job)),
            advice,
        ));
    }
    Ok(findings)
}

/// The thinnest leads that the recorded fuse (A) protects.
fn carrying(fuse: f64, job: u32) -> String {
    let carries = |gauge: &Gauge| {
        gauge
            .free_air()
            .is_some_and(|free_air| free_air.as_amperes() * electrics::DERATING >= fuse)
    };
    // The window of the code, thinnest first.
    let gauge = (0..=40)
        .rev()
        .filter_map(|number| Gauge::new(number).ok())
        .find(carries);
    match gauge {
        Some(gauge) => leads_of(gauge, job),
        None => "two pairs of leads: no stored gauge carries this fuse".to_owned(),
    }
}

fn leads_of(gauge: Gauge, job: u32) -> String {
    format!(
        "thicker leads, never a bigger fuse: lockring measure {job} wire-gauge {}",
        gauge.number()
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};

    #[test]
    fn leads_of_the_kit_do_not_concern_it_and_half_a_record_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = trekking()
            .measure(&[("wire-gauge", "12")])
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("wire-length"),
            "{:?}",
            report.missing
        );
    }

    #[test]
    fn the_handbook_case_of_twelve_gauge_is_met() {
        // Handbook of Electronic Tables, restated: 12 AWG, 1.2 m one way, 25 A: 0.3126 V at
        // 20 °C and 0.3618 V at 60 °C (1.00 % of 36 V). Here the pack has 46.8 V: 0.773 %.
        let report = hardtail()
            .measure(&[("wire-gauge", "12"), ("wire-length", "1.2")])
            .report(&CHECK);
        assert!(
            report.findings[0].arithmetic[0].contains("0.313 V at 20 °C, 0.362 V at 60 °C"),
            "{:?}",
            report.findings
        );
        assert!((report.findings[0].figures[0].value - 0.773).abs() < 0.002);
    }

    #[test]
    fn the_drop_passes_is_tolerable_and_fails_as_the_leads_grow() {
        // 0.3015 V a metre of pair at 25 A and 60 °C; 2 % of 46.8 V is 0.936 V at 3.10 m, 3 % at 4.66 m.
        for (length, verdict) in [
            ("3.0", Verdict::Pass),
            ("3.2", Verdict::Caution),
            ("4.6", Verdict::Caution),
            ("4.8", Verdict::Fail),
        ] {
            let report = hardtail()
                .measure(&[("wire-gauge", "12"), ("wire-length", length)])
                .report(&CHECK);
            assert_eq!(
                report.findings[0].verdict, verdict,
                "{length}: {:?}",
                report.findings[0]
            );
        }
    }

    #[test]
    fn a_fuse_above_what_the_wire_carries_is_advised_against_and_thicker_leads_clear_it() {
        // Handbook table, restated: 12 AWG 41 A in free air, x 0.6 = 24.6 A; 10 AWG 55 A, 33 A.
        let thin = longtail().measure(&[("wire-gauge", "14"), ("wire-length", "0.5"), ("fuse", "20A")]);
        // 14 AWG 32 A x 0.6 = 19.2 A is under the 20 A fuse.
        let report = thin.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("advice only"), "{}", report.summary());
        let cure = report.findings.last().unwrap().remedies[0].clone();
        assert!(cure.contains("never a bigger fuse"), "{cure}");
        thin.measure(&[("wire-gauge", "12")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn without_a_fuse_for_the_wire_the_thicker_gauge_is_named_and_clears_it() {
        // Handbook table, restated: 25 A asks for 31.25 A and so for a fuse of 35 A; 12 AWG carries
        // 24.6 A, 10 AWG 33 A (no common size in its window), 8 AWG 43.8 A.
        for gauge in ["12", "10"] {
            let thin = hardtail().measure(&[("wire-gauge", gauge), ("wire-length", "0.5")]);
            let report = thin.expect(&CHECK, Verdict::Caution);
            let finding = &report.findings[1];
            assert!(finding.summary.contains("advice only"), "{}", finding.summary);
            assert!(
                finding.remedies[0].ends_with("lockring measure 23 wire-gauge 8"),
                "{finding:?}"
            );
            thin.measure(&[("wire-gauge", "8"), ("fuse", "35A")])
                .expect(&CHECK, Verdict::Pass);
        }
    }

    #[test]
    fn too_big_a_fuse_on_wire_that_has_one_is_changed_for_that() {
        // 15 A asks for 18.75 A: 20 A on the 24.6 A of 12 AWG; a fuse of 30 A is over it.
        let big = longtail().measure(&[("wire-gauge", "12"), ("wire-length", "0.5"), ("fuse", "30A")]);
        let report = big.expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[2].remedies[0].ends_with("fuse 20A"),
            "{:?}",
            report.findings
        );
        big.measure(&[("fuse", "20A")]).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_gauge_the_remedy_names_clears_it() {
        longtail()
            .measure(&[("wire-gauge", "14"), ("wire-length", "0.5"), ("fuse", "20A")])
            .cured(&CHECK, "lockring measure 21 wire-gauge 12", |job| {
                job.measure(&[("wire-gauge", "12")])
            });
    }
}
