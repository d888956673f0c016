//! `derailleur.capacity`: largest cog and total capacity the rear derailleur takes.

use lockring_calc::chain::{self, DerailleurLimits};
use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Cogs against the derailleur.
pub static CHECK: Check = Check {
    id: "derailleur.capacity",
    title: "cogs inside what the derailleur takes",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Fit,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the maker's figures of the derailleur; capacity is ring difference plus cog difference, common practice",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let (ring, cogs) = prediction::teeth(case)?;
    let (Some(smallest), Some(largest)) = (cogs.first().copied(), cogs.last().copied()) else {
        return Err(case.open("cogs"));
    };
    if cogs.len() == 1 {
        return Halt::not_applicable("a single cog has no derailleur");
    }
    prediction::need(case, &["derailleur-cog", "derailleur-capacity"])?;
    let (cog, capacity) = (
        case.number("derailleur-cog")?.value,
        case.number("derailleur-capacity")?.value,
    );
    // Counts inside the windows of their codes.
    let limits = DerailleurLimits {
        capacity: capacity.round() as u32,
        largest_cog: cog.round() as u32,
        smallest_cog: None,
    };
    let least = smallest_ring(case, ring)?;
    let fit = chain::derailleur_fit(&[ring, least], &cogs, limits)
        .map_err(|error| prediction::unusable(case, "derailleur", &error))?;
    let teeth = |count: u32| Known {
        value: f64::from(count),
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let job = case.job().number;
    let cassette = format!("a cassette inside both limits: lockring build {job} cassette=PART");
    let reach = Judged::new("largest cog in teeth", teeth(largest), Kind::Count, "")
        .against(Limit::AtMost(cog))
        .with_arithmetic(format!("{largest} against {cog:.0}: {:+} teeth left", fit.largest_margin))
        .with_remedy(cassette.clone())
        .with_remedy(format!(
            "a derailleur for a larger cog: lockring donor {job} derailleur-cog={largest} derailleur-capacity={}",
            fit.need.max(limits.capacity)
        ));
    let span = Judged::new(
        "capacity asked of the derailleur in teeth",
        teeth(fit.need),
        Kind::Count,
        "",
    )
    .against(Limit::AtMost(capacity))
    .with_arithmetic(format!(
        "{} = {} against {capacity:.0}: {:+} teeth left",
        if fit.front_need == 0 {
            format!("single ring: {largest} - {smallest}")
        } else {
            format!(
                "({} - {}) + ({largest} - {smallest})",
                ring.max(least),
                ring.min(least)
            )
        },
        fit.need,
        fit.capacity_margin
    ))
    .with_remedy(cassette)
    .with_remedy(format!(
        "a longer cage: lockring donor {job} derailleur-capacity={}",
        fit.need
    ));
    Ok(vec![reach, span])
}

/// The smallest of several rings that the bicycle keeps, else the one there is: a motor's spider
/// and a ring of the build carry one.
fn smallest_ring(case: &Case<'_>, ring: u32) -> Result<u32, Halt> {
    if prediction::is_mid(case)? || case.optional_part(Slot::Chainring).is_some() {
        return Ok(ring);
    }
    let least = case.optional_number("ring-teeth-least");
    // A count inside the window of its code.
    Ok(least.map_or(ring, |least| least.value.round() as u32))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{hardtail, longtail, trekking};

    #[test]
    fn the_demo_bicycles_fit_their_derailleurs() {
        // Worked example of the trade (common practice, no source): 34 <= 36 and 34 - 11 = 23
        // <= 39; after re-gearing 36 <= 36 and 25 <= 39.
        let report = longtail().expect(&CHECK, Verdict::Pass);
        assert!((report.findings[1].figures[0].value - 23.0).abs() < 1e-9);
        let report = longtail()
            .build(&[("cassette", "cassette-9-11-36")])
            .expect(&CHECK, Verdict::Pass);
        assert!((report.findings[1].figures[0].value - 25.0).abs() < 1e-9);
        hardtail().expect(&CHECK, Verdict::Pass);
        trekking().expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_cog_too_large_fails_and_a_smaller_cassette_clears_it() {
        let large = longtail()
            .state(&[("derailleur-cog", "35")])
            .build(&[("cassette", "cassette-9-11-36")]);
        let report = large.expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings[0].verdict, Verdict::Fail);
        assert_eq!(
            report.findings[1].verdict,
            Verdict::Pass,
            "the capacity is enough"
        );
        large
            .build(&[("cassette", "cassette-9-11-34")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_short_cage_fails_by_a_tooth() {
        hardtail()
            .state(&[("derailleur-capacity", "31")])
            .expect(&CHECK, Verdict::Pass);
        let report = hardtail()
            .state(&[("derailleur-capacity", "30")])
            .expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[1].arithmetic[0].contains("42 - 11 = 31"),
            "{:?}",
            report.findings[1].arithmetic
        );
    }

    #[test]
    fn a_triple_that_is_kept_asks_for_its_rings_too() {
        // Glossary of the trade, read: 44-32-24 with 12 to 34 asks for 42.
        let triple = trekking().state(&[
            ("ring-teeth", "44"),
            ("ring-teeth-least", "24"),
            ("cogs", "12-14-16-18-20-24-28-34"),
            ("derailleur-cog", "34"),
            ("derailleur-capacity", "42"),
        ]);
        let report = triple.expect(&CHECK, Verdict::Pass);
        assert!(
            report.findings[1].arithmetic[0].starts_with("(44 - 24) + (34 - 12) = 42 against 42"),
            "{:?}",
            report.findings[1].arithmetic
        );
        let short = triple.state(&[("derailleur-capacity", "41")]);
        short.expect(&CHECK, Verdict::Fail);
        // One ring of the build in place of the triple asks for 22.
        let ringed = short.build(&[("chainring", "ring-42-6")]);
        let report = ringed.expect(&CHECK, Verdict::Pass);
        assert!((report.findings[1].figures[0].value - 22.0).abs() < 1e-9);
    }

    #[test]
    fn both_figures_are_asked_for_and_a_single_cog_needs_none() {
        let report = longtail()
            .forget("derailleur-cog")
            .forget("derailleur-capacity")
            .expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 2, "{:?}", report.missing);
        trekking()
            .state(&[("cogs", "19")])
            .expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn the_derailleur_the_remedy_names_clears_it() {
        let large = longtail()
            .state(&[("derailleur-cog", "35")])
            .build(&[("cassette", "cassette-9-11-36")]);
        large.cured(
            &CHECK,
            "lockring donor 21 derailleur-cog=36 derailleur-capacity=39",
            |job| job.state(&[("derailleur-cog", "36"), ("derailleur-capacity", "39")]),
        );
    }
}
