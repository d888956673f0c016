//! `chain.length`: the chain fitted against the length its ring, largest cog and chainstay
//! need.

use lockring_calc::chain;
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::{self, Judged};
use crate::part::Slot;
use crate::prediction::{self, sprockets};
use crate::stage::Stage;
use crate::unit::Kind;

/// Links fitted over links needed.
pub static CHECK: Check = Check {
    id: "chain.length",
    title: "chain long enough for the largest cog and not slack on the smallest",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 3,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "geometry of two pitch circles, at the longest chainstay of a sprung rear end; 2 links of slack for a derailleur are common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if prediction::is_belt(case) {
        return Halt::not_applicable("a toothed belt has no links, and its length is its maker's");
    }
    let chain_changed = case.optional_part(Slot::Chain).is_some();
    if !chain_changed && !sprockets::drivetrain_changed(case)? {
        return Halt::not_applicable("chain, ring and cogs are the bicycle's own");
    }
    prediction::need(case, &["stay-length", "chain-links"])?;
    let (ring, cogs) = prediction::teeth(case)?;
    let largest = cogs.last().copied().ok_or_else(|| case.open("cogs"))?;
    let (stay, fitted) = (prediction::stay(case)?, case.number("chain-links")?);
    let exact = chain::links_exact(Length::from_si(stay.longest.value), ring, largest)
        .map_err(|error| prediction::unusable(case, "chain", &error))?;
    // Without a derailleur nothing takes up slack: the wheel is moved until the chain is taut.
    let links = if cogs.len() > 1 {
        chain::links_to_order(exact)
    } else {
        chain::links_to_order(exact - 2.0)
    };
    let need = if cogs.len() > 1 { exact + 2.0 } else { exact };

    // Both runs of the chain follow the stay: two pitches per pitch of length.
    let u = 2.0 * 1e3 * stay.longest.u / chain::PITCH_MM;
    let known = Known {
        value: fitted.value,
        u,
        provenance: Provenance::Measured,
    };
    let ordered = f64::from(links);
    let longest = ordered + case.rule("chain.links-long");
    let mut finding = Judged::new("links of the chain", known, Kind::Count, "")
        .settled_by("inside the doubt of the chainstay's length: one pair of links more settles it")
        .against(Limit::AtLeast(need))
        .with_arithmetic(format!(
            "two circles, {ring} and {largest} teeth, {:.0} mm apart: {exact:.2} links, needed {need:.2}, \
             so {links} links, an even number",
            1e3 * stay.longest.value
        ))
        .with_arithmetic(stay.said(case.job().number))
        .with_figure(judge::figure("links to fit", Kind::Count, "", ordered));
    // A chain has whole pairs of links: nobody counts to the part of one that is needed.
    if let Some(counted) = finding.figures.first_mut() {
        counted.limit = format!("at least {links}");
    }
    if finding.verdict == Verdict::Pass && fitted.value > longest {
        finding.verdict = Verdict::Caution;
        finding.summary = format!(
            "chain of {:.0} links, {:.0} more than the {links} that fit: sags between small ring and small cog",
            fitted.value,
            fitted.value - ordered
        );
    }
    let job = case.job().number;
    Ok(vec![finding.with_remedy(format!(
        "a chain of {links} links: lockring measure {job} chain-links {links}"
    ))])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{longtail, trekking};

    #[test]
    fn both_cassettes_of_the_longtail_take_116_links() {
        // Worked example of the trade (common practice, no source): 38/36 on a 480 mm stay,
        // 58 in = 116 links, as before with 42/34.
        let built = longtail().measure(&[("chain-links", "116")]);
        let report = built.expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[1].value - 116.0).abs() < 1e-9);
        let geared = longtail()
            .build(&[("chainring", "ring-38-5"), ("cassette", "cassette-9-11-36")])
            .measure(&[("chain-links", "116")]);
        let report = geared.expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[1].value - 116.0).abs() < 1e-9);
    }

    #[test]
    fn a_short_chain_fails_and_the_remedy_clears_it() {
        let report = longtail()
            .measure(&[("chain-links", "114")])
            .expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].ends_with("chain-links 116"),
            "{:?}",
            report.findings[0].remedies
        );
    }

    #[test]
    fn the_need_is_crossed_through_the_doubt_of_the_stay() {
        // A stay measured to 1 mm: 2 x 2 / 12.7 = 0.31 links of doubt. 116 links hold 42/34 up
        // to 482.3 mm: 964.6/12.7 + 38 + 0.04 + 2 = 116.0 by hand.
        for (stay, verdict) in [
            ("480", Verdict::Pass),
            ("481.5", Verdict::Caution),
            ("483", Verdict::Caution),
            ("486", Verdict::Fail),
        ] {
            longtail()
                .measure(&[("stay-length", stay), ("chain-links", "116")])
                .expect(&CHECK, verdict);
        }
    }

    #[test]
    fn links_are_counted_and_not_measured_again() {
        let report = longtail()
            .measure(&[("stay-length", "481.5"), ("chain-links", "116")])
            .expect(&CHECK, Verdict::Caution);
        assert!(
            report.summary().ends_with("one pair of links more settles it"),
            "{}",
            report.summary()
        );
    }

    #[test]
    fn a_sprung_rear_end_is_cut_for_its_longest_stay() {
        // By hand: 42/34 holds 116 links up to 482.3 mm; at 495 mm 990/12.7 + 38 + 0.04 + 2 =
        // 117.99, so 118. Practice of the trade (common practice, no source): cut at the longest
        // of the travel, the spring let down.
        let sprung = |longest: &str, links: &str| {
            longtail().measure(&[("stay-longest", longest), ("chain-links", links)])
        };
        let short = sprung("495", "116").expect(&CHECK, Verdict::Fail);
        assert!(
            short.findings[0].arithmetic[1].contains("grows from 480 to 495 mm"),
            "{:?}",
            short.findings[0].arithmetic
        );
        sprung("494", "118").expect(&CHECK, Verdict::Caution);
        sprung("490", "118").expect(&CHECK, Verdict::Pass);
        sprung("495", "116").cured(&CHECK, "chain-links 118", |job| {
            job.measure(&[("stay-longest", "492"), ("chain-links", "118")])
        });
        // As long as it stands, within what a rule shows, is a rear end that does not grow.
        sprung("479", "116").expect(&CHECK, Verdict::Pass);
        let report = sprung("470", "116").expect(&CHECK, Verdict::Open);
        assert!(
            report.summary().contains("stands at 480 mm"),
            "{}",
            report.summary()
        );
    }

    #[test]
    fn an_uncut_chain_is_a_caution() {
        longtail()
            .measure(&[("chain-links", "120")])
            .expect(&CHECK, Verdict::Pass);
        let report = longtail()
            .measure(&[("chain-links", "122")])
            .expect(&CHECK, Verdict::Caution);
        assert!(
            report.summary().contains("6 more than the 116"),
            "{}",
            report.summary()
        );
    }

    #[test]
    fn a_hub_gear_needs_no_slack_for_a_derailleur() {
        // Chain 46/18 on 430 mm: 100.30 links computed; without a derailleur 102 fit, with one 104.
        let single = trekking()
            .state(&[("cogs", "18"), ("ring-teeth", "46")])
            .build(&[("chain", "chain-9")])
            .measure(&[("stay-length", "430"), ("chain-links", "102")]);
        let report = single.expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[1].value - 102.0).abs() < 1e-9);
    }

    #[test]
    fn it_is_open_without_a_count_and_leaves_a_kept_chain_alone() {
        let report = longtail().expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0]
                .how
                .starts_with("lockring measure 21 chain-links"),
            "{:?}",
            report.missing
        );
        trekking().expect(&CHECK, Verdict::NotApplicable);
    }

    #[test]
    fn the_chain_the_remedy_names_clears_it() {
        longtail().measure(&[("chain-links", "114")]).cured(
            &CHECK,
            "lockring measure 21 chain-links 116",
            |job| job.measure(&[("chain-links", "116")]),
        );
    }
}
