//! `pack.fuse`: the fuse at the pack, by current, by direct-current volts, by what it can
//! break and by where it sits.

use lockring_calc::doubt::Limit;
use lockring_calc::electrics::{self, FUSE_OVER_LOAD};
use lockring_calc::pack::{Load, Pack};
use lockring_calc::quantity::{Current, Resistance, Temperature};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Fuse against controller and pack.
pub static CHECK: Check = Check {
    id: "pack.fuse",
    title: "fuse of the right current and voltage at the pack",
    gates: &[Stage::Fitting],
    family: Family::Power,
    version: 3,
    concede: Concede::Owner,
    gives: &[Verdict::Pass, Verdict::Caution, Verdict::Open, Verdict::Fail],
    source: "common practice, no source: 1.25 to 1.6 times the controller's limit; volts from memory of fuse data \
             sheets; breaking capacity over the short-circuit current: fuse makers' guides, restated; near the battery: \
             from memory",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    prediction::need(case, &["fuse", "fuse-volts", "fuse-breaks", "fuse-distance"])?;
    Ok(vec![
        rating(case)?,
        volts(case)?,
        breaks(case)?,
        near_the_pack(case)?,
    ])
}

fn rating(case: &Case<'_>) -> Result<Finding, Halt> {
    let fuse = case.number("fuse")?;
    let limit = prediction::current_limit(case)?;
    let most = case.rule("fuse.ratio-most") * limit;
    // The upper end of the window stands where the selection guides put the wire's ampacity.
    let window = electrics::fuse_window(Current::amperes(limit), Current::amperes(most))
        .map_err(|error| prediction::unusable(case, "fuse", &error))?;
    let least = window.min.as_amperes();
    let job = case.job().number;
    let cure = match window.smallest.map(Current::as_amperes) {
        Some(size) => format!("a fuse of {size:.0} A: lockring measure {job} fuse {size:.0}A"),
        None => format!("no common fuse lies between {least:.1} and {most:.1} A: another current limit"),
    };
    Ok(Judged::new("fuse at the pack", fuse, Kind::Current, "A")
        .against(Limit::Within(least, most))
        .with_arithmetic(format!(
            "{:.0} A / {limit:.1} A = {:.2}; {FUSE_OVER_LOAD:.2} to {:.2} asked for",
            fuse.value,
            fuse.value / limit,
            case.rule("fuse.ratio-most")
        ))
        .with_arithmetic(prediction::caution("el-fuse"))
        .with_remedy(cure))
}

fn volts(case: &Case<'_>) -> Result<Finding, Halt> {
    let volts = case.number("fuse-volts")?.value;
    let full = prediction::full_volts(case)?.as_volts();
    Ok(Judged::new(
        "direct-current volts of the fuse",
        Known::stated(volts),
        Kind::Voltage,
        "V",
    )
    .against(Limit::AtLeast(full))
    .with_arithmetic(format!(
        "full pack {full:.1} V against {volts:.0} V marked on the fuse"
    ))
    .with_remedy(format!(
        "a fuse marked for {full:.0} V direct current or more; an automotive blade of 32 V draws an arc: lockring \
         measure {} fuse-volts V",
        case.job().number
    ))
    .never_conceded())
}

/// What the cells alone would drive into a dead short, against what the fuse can break.
fn breaks(case: &Case<'_>) -> Result<Finding, Halt> {
    let unusable = |error: &dyn std::fmt::Display| prediction::unusable(case, "fuse", error);
    // A short at the pack's own terminals has no lead to hold it.
    let cells = Pack {
        leads: Resistance::ZERO,
        ..prediction::battery(&case.part(Slot::Pack)?)?
    };
    let source = cells
        .resistance(Load::Instant, Temperature::celsius(25.0))
        .map_err(|error| unusable(&format!("{error:?}")))?;
    let short = electrics::short_circuit(cells.full(), source)
        .map_err(|error| unusable(&error))?
        .as_amperes();
    // Makers give breaking capacities in round hundreds.
    let next = (short / 100.0).ceil() * 100.0;
    let finding = Judged::new(
        "current the fuse can break",
        Known::stated(case.number("fuse-breaks")?.value),
        Kind::Current,
        "A",
    )
    .against(Limit::AtLeast(short))
    .with_arithmetic(format!(
        "full pack {:.1} V / {:.0} mohm of its cells at the first moment = {short:.0} A into a dead short",
        cells.full().as_volts(),
        source.as_ohms() * 1e3
    ))
    .with_remedy(format!(
        "a fuse that breaks {next:.0} A at these volts: lockring measure {} fuse-breaks {next:.0}A",
        case.job().number
    ));
    Ok(prediction::advise_only(
        finding,
        "the cells' resistance is computed, and the pack's own protection may act first",
    ))
}

fn near_the_pack(case: &Case<'_>) -> Result<Finding, Halt> {
    let good = case.rule("fuse.distance-good");
    let finding = Judged::new(
        "unprotected lead between pack and fuse",
        case.number("fuse-distance")?,
        Kind::Length,
        "mm",
    )
    .against(Limit::AtMost(good))
    .with_remedy(format!(
        "move the fuse to the pack: {}",
        prediction::read_again(case, "fuse-distance", &format!("{:.0}mm", good * 0.5e3))
    ));
    Ok(prediction::advise_only(
        finding,
        "the distance is from memory and for boats",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};

    fn fused(bench: Bench, current: &str, volts: &str) -> Bench {
        bench.measure(&[
            ("fuse", current),
            ("fuse-volts", volts),
            ("fuse-breaks", "1500 A"),
            ("fuse-distance", "100 mm"),
        ])
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
        let huge = fused(trekking(), "40 A", "58 V");
        assert_eq!(
            huge.report(&CHECK).findings[0].remedies,
            ["a fuse of 20 A: lockring measure 20 fuse 20A"]
        );
        huge.measure(&[("fuse", "20A")]).expect(&CHECK, Verdict::Pass);
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
            // Volts above what a device is marked for are nobody's to accept.
            assert_eq!(report.is_concedable(), verdict == Verdict::Pass, "{volts}");
        }
    }

    #[test]
    fn the_short_circuit_of_the_cells_must_be_within_what_it_breaks() {
        // By hand, cell of 35 mohm sustained in the catalogue, 13 in series and 5 in parallel; at the first
        // moment to sustained 23.3 to 42 (Chen et al. 2020, simulated): 50.48 mohm, 1082 A.
        for (breaks, verdict) in [("1081 A", Verdict::Caution), ("1083 A", Verdict::Pass)] {
            fused(hardtail(), "35 A", "80 V")
                .measure(&[("fuse-breaks", breaks)])
                .expect(&CHECK, verdict);
        }
        let weak = fused(hardtail(), "35 A", "80 V").measure(&[("fuse-breaks", "300 A")]);
        let report = weak.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("computed"), "{}", report.summary());
        assert!(
            report.findings[2].remedies[0].ends_with("fuse-breaks 1100A"),
            "{:?}",
            report.findings
        );
        weak.measure(&[("fuse-breaks", "1100A")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_fuse_far_from_the_pack_is_advised_against_and_moving_it_clears_it() {
        // 180 mm, the rule of a doubt of 4 mm (k = 2).
        let at = |distance: &str| {
            fused(trekking(), "20 A", "58 V")
                .forget("fuse-distance")
                .measure(&[("fuse-distance", distance)])
        };
        at("175 mm").expect(&CHECK, Verdict::Pass);
        let close = at("182 mm").expect(&CHECK, Verdict::Caution);
        assert!(close.summary().contains("measure again"), "{}", close.summary());
        let far = at("400 mm");
        let report = far.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("for boats"), "{}", report.summary());
        assert!(report.findings[3].remedies[0].ends_with("fuse-distance 90mm --anew"));
        far.again(&[("fuse-distance", "90mm")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn all_of_it_is_asked_for_and_without_a_controller_it_is_open() {
        assert_eq!(trekking().expect(&CHECK, Verdict::Open).missing.len(), 4);
        let report = fused(trekking(), "20 A", "58 V")
            .build(&[("controller", "none")])
            .expect(&CHECK, Verdict::Open);
        assert_eq!(
            report.missing.len(),
            1,
            "a fuse was chosen for another controller"
        );
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
