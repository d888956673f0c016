//! `pack.fuse`: the fuse at the pack, by current and by direct-current volts.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics;
use lockring_calc::quantity::Current;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Fuse against controller and pack.
pub static CHECK: Check = Check {
    id: "pack.fuse",
    title: "fuse of the right current and voltage at the pack",
    gates: &[Stage::Fitting],
    family: Family::Power,
    version: 1,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: 1.25 to 1.6 times the controller's limit; volts from memory of fuse data sheets",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(case, &["fuse", "fuse-volts"])?;
    let (fuse, volts) = (case.number("fuse")?, case.number("fuse-volts")?);
    let limit = prediction::current_limit(case)?;
    let full = prediction::full_volts(case)?.as_volts();
    let (least, most) = (
        case.rule("fuse.ratio-least") * limit,
        case.rule("fuse.ratio-most") * limit,
    );
    let job = case.job().number;
    // The upper end of the window stands where the selection guides put the wire's ampacity.
    let size = electrics::fuse_window(Current::amperes(limit), Current::amperes(most))
        .map_err(|error| prediction::unusable(case, "fuse", &error))?
        .smallest;
    let cure = match size.map(Current::as_amperes) {
        Some(size) => format!("a fuse of {size:.0} A: lockring measure {job} fuse {size:.0}A"),
        None => format!("no common fuse lies between {least:.1} and {most:.1} A: another current limit"),
    };
    let stated = |value| Known {
        value,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let current = Judged::new("fuse at the pack", fuse, Kind::Current, "A")
        .against(Limit::Within(least, most))
        .with_arithmetic(format!(
            "{:.0} A / {limit:.1} A = {:.2}; {:.2} to {:.2} asked for",
            fuse.value,
            fuse.value / limit,
            case.rule("fuse.ratio-least"),
            case.rule("fuse.ratio-most")
        ))
        .with_arithmetic(prediction::caution("el-fuse"))
        .with_remedy(cure);
    let rating = Judged::new(
        "direct-current volts of the fuse",
        stated(volts.value),
        Kind::Voltage,
        "V",
    )
    .against(Limit::AtLeast(full))
    .with_arithmetic(format!(
        "full pack {full:.1} V against {:.0} V marked on the fuse",
        volts.value
    ))
    .with_remedy(format!(
        "a fuse marked for {full:.0} V direct current or more; an automotive blade of 32 V draws an arc: \
             lockring measure {job} fuse-volts V"
    ));
    Ok(vec![current, rating])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};

    fn fused(bench: Bench, current: &str, volts: &str) -> Bench {
        bench.measure(&[("fuse", current), ("fuse-volts", volts)])
    }

    #[test]
    fn the_next_common_size_over_a_quarter_more_passes() {
        // 14 A asks for 17.5 to 22.4 A, 15 A for 18.75 to 24 A, 25 A for 31.25 to 40 A by hand.
        fused(trekking(), "20 A", "58 V").expect(&CHECK, Verdict::Pass);
        fused(longtail(), "20 A", "80 V").expect(&CHECK, Verdict::Pass);
        fused(hardtail(), "35 A", "80 V").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn too_small_and_huge_fail_and_the_remedy_clears_it() {
        for (current, verdict) in [
            ("17 A", Verdict::Fail),
            ("17.5 A", Verdict::Pass),
            ("22.4 A", Verdict::Pass),
            ("23 A", Verdict::Fail),
            ("40 A", Verdict::Fail),
        ] {
            fused(trekking(), current, "58 V").expect(&CHECK, verdict);
        }
        let report = fused(trekking(), "40 A", "58 V").report(&CHECK);
        assert_eq!(
            report.findings[0].remedies,
            ["a fuse of 20 A: lockring measure 20 fuse 20A"]
        );
    }

    #[test]
    fn a_blade_for_cars_fails_by_its_volts() {
        // 10 cells of 4.20 V: 42.0 V full.
        for (volts, verdict) in [
            ("32 V", Verdict::Fail),
            ("42 V", Verdict::Pass),
            ("41 V", Verdict::Fail),
        ] {
            let report = fused(trekking(), "20 A", volts).expect(&CHECK, verdict);
            assert_eq!(report.findings[0].verdict, Verdict::Pass);
        }
    }

    #[test]
    fn both_markings_are_asked_for() {
        assert_eq!(trekking().expect(&CHECK, Verdict::Open).missing.len(), 2);
    }

    #[test]
    fn the_fuse_the_remedies_name_clears_it() {
        fused(trekking(), "40 A", "58 V").cured(&CHECK, "lockring measure 20 fuse 20A", |job| {
            job.measure(&[("fuse", "20A")])
        });
        fused(trekking(), "20 A", "32 V").cured(&CHECK, "a fuse marked for 42 V direct current", |job| {
            job.measure(&[("fuse-volts", "42 V")])
        });
    }
}
