//! `chain.width`: a chain made for the number of cogs, and free of the neighbouring cog.

use lockring_calc::chain::{self, SIDE_GAP_CLEAR_MM};
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known, PartView};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction::{self, sprockets};
use crate::stage::Stage;
use crate::unit::Kind;

/// Up to this many cogs one chain serves all (common practice, no source).
const SHARED_CHAIN: u32 = 8;

/// Chain against cassette.
pub static CHECK: Check = Check {
    id: "chain.width",
    title: "chain of the right width for the cogs",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Fit,
    version: 4,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: never a chain made for fewer cogs; side gap computed, 0.1 mm clear; a single cog by \
             its tooth against the chain's inner width, geometry; a chain runs on no pulley of a toothed belt and a belt on no \
             ring or cog, geometry",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if let Some(mixed) = mixed(case) {
        return Ok(vec![mixed]);
    }
    let Some(part) = case.optional_part(Slot::Chain) else {
        if prediction::is_belt(case) {
            // A ring alone is told above.
            if matches!(prediction::is_mid(case), Ok(true)) {
                return Ok(vec![pulley_gone(case)]);
            }
            return Halt::not_applicable("the bicycle keeps its toothed belt");
        }
        return Halt::not_applicable("the bicycle keeps its chain");
    };
    let cogs = sprockets::cogs(case)?;
    let count = u32::try_from(cogs.len()).unwrap_or(u32::MAX);
    let made_for = part.count("speeds")?;
    if count == 1 {
        return Ok(vec![inside(case, &part, made_for)?]);
    }
    let (side, gap) = side(case, &part, made_for, cogs.len())?;
    // Plates that stand in the next cog run on no cassette, whoever accepts it.
    Ok(vec![
        speeds(case, made_for, count).not_into_metal(gap.value, gap.expanded()),
        side.never_conceded(),
    ])
}

/// Chain, ring and cogs of which the build has some and not others, on a bicycle that came with a toothed belt and its
/// pulleys. `None` where all are of one kind.
fn mixed(case: &Case<'_>) -> Option<Finding> {
    if case.optional_word("drive-kind") != Some("belt") {
        return None;
    }
    let (new, kept): (Vec<Slot>, Vec<Slot>) = [Slot::Chain, Slot::Chainring, Slot::Cassette]
        .into_iter()
        .partition(|slot| case.optional_part(*slot).is_some());
    if new.is_empty() || kept.is_empty() {
        return None;
    }
    let typed = |slots: &[Slot], part: &str| {
        let all: Vec<String> = slots
            .iter()
            .map(|slot| format!("{}={part}", slot.word()))
            .collect();
        all.join(" ")
    };
    let words: Vec<&str> = new.iter().map(|slot| slot.word()).collect();
    let job = case.job().number;
    Some(
        Finding::new(
            Verdict::Fail,
            format!(
                "{} for a chain on a bicycle with a toothed belt: neither runs on what the other does",
                words.join(" and ")
            ),
        )
        .with_remedy(format!(
            "all of a chain drive: lockring build {job} {}",
            typed(&kept, "PART")
        ))
        .with_remedy(format!(
            "or the belt with its pulleys: lockring build {job} {}",
            typed(&new, "none")
        ))
        .never_conceded(),
    )
}

/// A motor at the crank takes the place of the crank that held the belt's pulley, and no part of the build drives the belt.
fn pulley_gone(case: &Case<'_>) -> Finding {
    let job = case.job().number;
    Finding::new(
        Verdict::Caution,
        "the motor takes the place of the crank that holds the belt's pulley, and no part of the build drives the belt: ask for \
         the motor's own pulley before it is ordered",
    )
    .with_remedy(format!(
        "all of a chain drive: lockring build {job} chain=PART chainring=PART cassette=PART"
    ))
    .with_remedy(format!(
        "or a motor in a hub, which leaves the crank in: lockring build {job} motor=PART"
    ))
}

fn speeds(case: &Case<'_>, made_for: u32, cogs: u32) -> Finding {
    let inner = |speeds: u32| {
        u8::try_from(speeds)
            .ok()
            .and_then(chain::chain_width)
            .map(|row| row.inner_mm)
    };
    let line = format!("chain made for {made_for} cogs on {cogs}");
    let finding = if made_for == cogs || (made_for <= SHARED_CHAIN && cogs <= SHARED_CHAIN) {
        Finding::new(Verdict::Pass, format!("{line}: within stored limit"))
    } else if made_for < cogs {
        Finding::new(Verdict::Fail, format!("{line}: too wide for them"))
    } else if inner(made_for) == inner(cogs) {
        Finding::new(Verdict::Pass, format!("{line}: narrower outside, as wide inside"))
    } else {
        Finding::new(
            Verdict::Caution,
            format!("{line}: narrower inside as well, it may ride up on the teeth"),
        )
    };
    finding.with_remedy(format!(
        "a chain made for {cogs} cogs: lockring build {} chain=PART",
        case.job().number
    ))
}

/// A single cog has no neighbour, but its tooth must go between the inner plates.
fn inside(case: &Case<'_>, part: &PartView<'_, '_>, made_for: u32) -> Result<Finding, Halt> {
    let (inner, how) = match part.optional_number("inner-width") {
        Some(width) => (width, "as the chain's data give it"),
        None => {
            let row = u8::try_from(made_for).ok().and_then(chain::chain_width);
            let row = row.ok_or_else(|| no_width(case, made_for, "inner-width"))?;
            (Length::millimetres(row.inner_mm).si(), "as stored for its cogs")
        }
    };
    let tooth = case.number("cog-thickness")?;
    let known = Known {
        value: inner - tooth.value,
        ..tooth
    };
    Ok(
        Judged::new("room between the chain's inner plates", known, Kind::Length, "mm")
            .against(Limit::AtLeast(0.0))
            .with_arithmetic(format!(
                "{:.2} mm {how} - {:.2} mm tooth = {:+.2} mm; 1/8 in is 3.18 mm, 3/32 in 2.38 mm",
                1e3 * inner,
                1e3 * tooth.value,
                1e3 * known.value
            ))
            .with_remedy(format!(
                "a chain of 1/8 in, made for a single cog: lockring build {} chain=PART",
                case.job().number
            ))
            .never_conceded(),
    )
}

fn no_width(case: &Case<'_>, made_for: u32, attribute: &str) -> Halt {
    prediction::unusable(
        case,
        "chain",
        &format!("no stored width for {made_for} cogs: give {attribute}"),
    )
}

fn side(
    case: &Case<'_>,
    part: &PartView<'_, '_>,
    made_for: u32,
    cogs: usize,
) -> Result<(Finding, Known), Halt> {
    let (outer, remembered, outer_source) = match part.optional_number("outer-width") {
        Some(width) => (Length::from_si(width), false, "the chain's own"),
        None => stored_width(case, made_for)?,
    };
    let gap = |row: &lockring_calc::chainline::Spacing| chain::side_gap(row.pitch(), row.thickness(), outer);
    let spacing = sprockets::spacings(case, cogs)
        .into_iter()
        .min_by(|a, b| gap(a).si().total_cmp(&gap(b).si()))
        .expect("spacings are never empty");
    let known = Known {
        value: gap(spacing).si(),
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let clear = Length::millimetres(SIDE_GAP_CLEAR_MM).si();
    let finding = Judged::new(
        "gap from the chain's outer plate to the next cog",
        known,
        Kind::Length,
        "mm",
    )
    .between(Limit::AtLeast(clear), Limit::AtLeast(0.0))
    .with_arithmetic(format!(
        "{:.2} - {:.2}/2 - {:.2}/2 = {:.2} mm (cogs: {}; chain: {outer_source})",
        spacing.pitch_mm,
        spacing.thickness_mm,
        outer.as_millimetres(),
        1e3 * known.value,
        spacing.source
    ))
    .with_remedy(format!(
        "a narrower chain: lockring build {} chain=PART",
        case.job().number
    ));
    let finding = if !spacing.basis.may_stop() {
        prediction::advise_only(finding, "the cogs' spacing is from memory")
    } else if remembered {
        prediction::advise_only(finding, "the chain's width is from memory")
    } else {
        finding
    };
    Ok((finding, known))
}

/// Usual width of a chain made for so many cogs, whether it is only remembered, and its source.
fn stored_width(case: &Case<'_>, made_for: u32) -> Result<(Length, bool, &'static str), Halt> {
    u8::try_from(made_for)
        .ok()
        .and_then(chain::chain_width)
        .map(|row| {
            (
                Length::millimetres(row.usual_mm),
                !row.basis.may_stop(),
                row.source,
            )
        })
        .ok_or_else(|| no_width(case, made_for, "outer-width"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};

    #[test]
    fn the_demo_chains_run_clear() {
        // 9-speed chain of 6.6 mm on 9 cogs +0.15 mm; 10-speed of 5.9 mm on 10 cogs +0.20 mm:
        // 4.34 - 1.78/2 - 6.6/2 and 3.95 - 1.6/2 - 5.9/2 by hand.
        for (bench, gap) in [(longtail(), 0.15), (hardtail(), 0.20)] {
            let report = bench.expect(&CHECK, Verdict::Pass);
            assert!(
                (report.findings[1].figures[0].value - gap).abs() < 1e-6,
                "{:?}",
                report.findings
            );
        }
    }

    #[test]
    fn a_chain_for_fewer_cogs_fails_and_the_right_one_clears_it() {
        // 3.95 - 0.8 - 3.3 = -0.15 mm: a 9-speed chain rubs on 10 cogs.
        let wide: Bench = hardtail().build(&[("chain", "chain-9")]);
        let report = wide.expect(&CHECK, Verdict::Fail);
        assert!(
            report
                .findings
                .iter()
                .all(|finding| finding.verdict == Verdict::Fail),
            "{:?}",
            report.findings
        );
        // Its plates stand in the next cog: nobody concedes that.
        assert!(!report.is_concedable());
        wide.build(&[("chain", "chain-10")]).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_chain_for_more_cogs_of_the_same_inner_width_passes() {
        longtail()
            .build(&[("chain", "chain-10")])
            .expect(&CHECK, Verdict::Pass);
        // Eight cogs take a chain that is wider inside.
        let old = trekking()
            .build(&[("chain", "chain-9")])
            .expect(&CHECK, Verdict::Caution);
        assert!(old.summary().contains("ride up"), "{}", old.summary());
    }

    #[test]
    fn the_side_gap_is_crossed_in_the_right_direction() {
        use crate::command::ReceiptText;
        // 10 cogs: contact at 2 x (3.95 - 0.8) = 6.3 mm, clear up to 6.1 mm by hand.
        for (width, verdict) in [
            ("6.05 mm", Verdict::Pass),
            ("6.2 mm", Verdict::Caution),
            ("6.35 mm", Verdict::Fail),
        ] {
            let bench = hardtail().receive("chain", &[("outer-width", width)], ReceiptText::default());
            bench.expect(&CHECK, verdict);
        }
    }

    #[test]
    fn a_width_from_memory_only_advises() {
        use crate::command::ReceiptText;
        // 8 cogs: 4.8 - 1.8/2 - 9.0/2 = -0.6 mm; the width of a single-speed chain is from memory.
        let mut wide = trekking().build(&[("chain", "chain-9")]);
        let line = wide.job.build.get_mut(&Slot::Chain).unwrap();
        line.part.attributes.remove("outer-width");
        let wide = wide.receive("chain", &[("speeds", "1")], ReceiptText::default());
        let report = wide.expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[1]
                .summary
                .contains("the chain's width is from memory"),
            "{:?}",
            report.findings
        );
        // Measured, it stops the job.
        wide.receive(
            "chain",
            &[("speeds", "1"), ("outer-width", "9 mm")],
            ReceiptText::default(),
        )
        .expect(&CHECK, Verdict::Fail);
    }

    #[test]
    fn a_kept_chain_is_not_concerned_and_unknown_cogs_are_asked_for() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = longtail()
            .build(&[("cassette", "none")])
            .expect(&CHECK, Verdict::Open);
        assert!(report.missing[0].how.contains("cogs"), "{:?}", report.missing);
    }

    #[test]
    fn the_chain_the_remedy_names_clears_it() {
        hardtail().build(&[("chain", "chain-9")]).cured(
            &CHECK,
            "a chain made for 10 cogs: lockring build 23 chain=PART",
            |job| job.build(&[("chain", "chain-10")]),
        );
    }

    #[test]
    fn a_single_cog_goes_between_the_inner_plates() {
        use crate::command::ReceiptText;
        // Common practice, no source: 3.175 mm inside for 1/8 in, 2.18 mm for nine cogs. Calliper
        // 0.03 mm: doubt 0.06 mm.
        let single = |tooth| {
            trekking()
                .state(&[("cogs", "18"), ("cog-thickness", tooth)])
                .build(&[("chain", "chain-9")])
        };
        for (tooth, verdict) in [
            ("2.1 mm", Verdict::Pass),
            ("2.15 mm", Verdict::Caution),
            ("2.2 mm", Verdict::Caution),
            ("2.3 mm", Verdict::Fail),
        ] {
            single(tooth).expect(&CHECK, verdict);
        }
        let wide = single("3.0 mm");
        let report = wide.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].contains("1/8 in"),
            "{:?}",
            report.findings[0]
        );
        let eighth = wide.receive("chain", &[("speeds", "1")], ReceiptText::default());
        let report = eighth.expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 0.175).abs() < 1e-9);
        wide_inner(single("3.0 mm"));
        trekking()
            .state(&[("cogs", "18")])
            .build(&[("chain", "chain-9")])
            .expect(&CHECK, Verdict::Open);
    }

    /// The chain's own data stand before what is stored for its cogs.
    fn wide_inner(bench: Bench) {
        use crate::command::ReceiptText;
        bench
            .receive("chain", &[("inner-width", "3.3 mm")], ReceiptText::default())
            .expect(&CHECK, Verdict::Pass);
    }

    /// Geometry: the pulley sits on the crank that the motor replaces.
    #[test]
    fn a_motor_at_the_crank_asks_what_drives_the_belt() {
        let belt = || {
            trekking()
                .state(&[("drive-kind", "belt"), ("cogs", "24")])
                .build(&[("motor", "mid-48-250")])
        };
        let report = belt().expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("own pulley"), "{}", report.summary());
        belt().cured(&CHECK, "lockring build 20 motor=PART", |job| {
            job.build(&[("motor", "hub-36-250")])
        });
        belt().cured(&CHECK, "chain=PART chainring=PART cassette=PART", |job| {
            job.build(&[
                ("chain", "chain-9"),
                ("chainring", "ring-42-6"),
                ("cassette", "cassette-9-11-34"),
            ])
        });
    }

    /// Geometry: a belt's pulley has no teeth for a chain.
    #[test]
    fn a_toothed_belt_and_a_chain_share_no_part() {
        let belt = || trekking().state(&[("drive-kind", "belt"), ("cogs", "24")]);
        belt().expect(&CHECK, Verdict::NotApplicable);
        let ringed = || belt().build(&[("chainring", "ring-42-6")]);
        let report = ringed().expect(&CHECK, Verdict::Fail);
        assert!(report.findings[0].never, "{report:?}");
        ringed().cured(&CHECK, "lockring build 20 chainring=none", |job| {
            job.build(&[("chainring", "none")])
        });
        ringed().cured(&CHECK, "lockring build 20 chain=PART cassette=PART", |job| {
            job.build(&[("chain", "chain-9"), ("cassette", "cassette-9-11-34")])
        });
    }
}
