//! `chainring.bolts`: the ring's bolt circle on the motor's spider, and the smallest ring that
//! clears the bolts.

use lockring_calc::chain::{self, BoltCircle};
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::Length;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Missing, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Ring on spider.
pub static CHECK: Check = Check {
    id: "chainring.bolts",
    title: "ring's bolt circle on the motor's spider",
    gates: &[Stage::Intake, Stage::Parts, Stage::Fitting],
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
    source: "Brown, Bicycle Numbers: bolt circles and their smallest rings; between them a formula fitted to them, judgement",
    run,
};

/// A circle of bolts.
struct Circle {
    diameter: f64,
    arms: Option<u8>,
    how: String,
    /// The distance measured between neighbouring holes, where it was measured.
    apart: Option<f64>,
}

fn run(case: &Case<'_>) -> Outcome {
    if !prediction::is_mid(case)? {
        return Halt::not_applicable("the ring stays on the bicycle's own crank");
    }
    let Some(ring) = case.optional_part(Slot::Chainring) else {
        return Halt::not_applicable("no ring is chosen for the motor's spider");
    };
    let spider = spider(case)?;
    let on_ring = ring.optional_number("bolt-circle");
    if spider.is_none() && on_ring.is_none() {
        return Halt::not_applicable("neither spider nor ring names a bolt circle");
    }
    let job = case.job().number;
    let spider = spider.ok_or_else(|| {
        Halt::Open(vec![Missing {
            what: "neighbouring bolt holes of the motor's spider, centre to centre (less than the bolt circle), and its arms"
                .to_owned(),
            how: format!("lockring measure {job} spider-bolts VALUE spider-arms VALUE"),
        }])
    })?;
    let circle = ring.number("bolt-circle")?;
    let arms = ring.optional_number("arms").map(arms_of);
    Ok(vec![
        same(case, &spider, circle, arms),
        smallest(case, &spider, ring.count("teeth")?)?,
    ])
}

fn arms_of(number: f64) -> u8 {
    // Kept inside a window of 3 to 8.
    number.round() as u8
}

/// The spider's circle: from two neighbouring holes, else as the catalogue gives it.
fn spider(case: &Case<'_>) -> Result<Option<Circle>, Halt> {
    if case.knows("spider-bolts") || case.knows("spider-arms") {
        prediction::need(case, &["spider-bolts", "spider-arms"])?;
        let apart = case.number("spider-bolts")?.value;
        let arms = arms_of(case.number("spider-arms")?.value);
        let measured = chain::bolt_circle(arms, Length::from_si(apart))
            .map_err(|error| prediction::unusable(case, "spider", &error))?;
        let stored = chain::snap_bolt_circle(arms, measured);
        let diameter = stored.map_or(measured, |row| Length::millimetres(row.diameter_mm));
        let taken = match stored {
            Some(row) => format!("taken for {:.0} mm", row.diameter_mm),
            None => "near no stored circle".to_owned(),
        };
        return Ok(Some(Circle {
            diameter: diameter.si(),
            arms: Some(arms),
            how: format!(
                "{:.1} mm / sin(180/{arms}) = {:.1} mm, {taken}",
                1e3 * apart,
                measured.as_millimetres()
            ),
            apart: Some(apart),
        }));
    }
    let motor = case.part(Slot::Motor)?;
    Ok(motor.optional_number("bolt-circle").map(|diameter| Circle {
        diameter,
        arms: motor.optional_number("arms").map(arms_of),
        how: format!("{:.0} mm as the motor's data give it", 1e3 * diameter),
        apart: None,
    }))
}

/// Holes that meet, or do not.
fn same(case: &Case<'_>, spider: &Circle, ring: f64, arms: Option<u8>) -> Finding {
    let job = case.job().number;
    let known = Known {
        value: (ring - spider.diameter).abs(),
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let play = case.rule("ring.circle-play");
    let other = case.rule("ring.other-circle").max(play);
    let mut finding = Judged::new("ring's bolt circle off the spider's", known, Kind::Length, "mm")
        .between(Limit::AtMost(play), Limit::AtMost(other))
        .with_arithmetic(format!("spider {}; ring {:.0} mm", spider.how, 1e3 * ring));
    if let (Some(spider), Some(ring)) = (spider.arms, arms)
        && spider != ring
    {
        finding.verdict = Verdict::Fail;
        finding.summary = format!("{}; {ring} bolts on {spider} arms", finding.summary);
    }
    if let Some(apart) = spider.apart {
        finding = finding.with_remedy(measure_again(case, spider, apart));
    }
    finding
        .with_remedy(format!(
            "a ring for {:.0} mm: lockring build {job} chainring=PART",
            1e3 * spider.diameter
        ))
        .with_remedy("or a spider of the ring's circle, where the motor's maker has one")
        .never_conceded()
}

/// What was measured may be the bolt circle and not the way from hole to hole, which is shorter.
fn measure_again(case: &Case<'_>, spider: &Circle, apart: f64) -> String {
    let again = prediction::read_again(case, "spider-bolts", "…mm");
    let circle = spider
        .arms
        .and_then(|arms| chain::snap_bolt_circle(arms, Length::from_si(apart)));
    match circle {
        Some(row) => format!(
            "{:.1} mm is the {:.0} mm circle itself, not the way from a hole to the next one: measure centre to centre of two \
             neighbours: {again}",
            1e3 * apart,
            row.diameter_mm
        ),
        None => format!("measure again, centre to centre of two neighbouring holes: {again}"),
    }
}

/// Fewest teeth whose roots clear the bolt heads.
fn smallest(case: &Case<'_>, spider: &Circle, teeth: u32) -> Result<Finding, Halt> {
    let stored = spider
        .arms
        .and_then(|arms| chain::snap_bolt_circle(arms, Length::from_si(spider.diameter)));
    let published = stored.and_then(|row: &BoltCircle| row.fewest_teeth.map(|fewest| (fewest, row)));
    let (fewest, source, may_stop) = match published {
        Some((fewest, row)) => (fewest, row.source, row.basis.may_stop()),
        None => (
            chain::fewest_teeth(Length::from_si(spider.diameter))
                .map_err(|error| prediction::unusable(case, "bolt circle", &error))?,
            "formula fitted to published rings, judgement",
            chain::FEWEST_TEETH_BASIS.may_stop(),
        ),
    };
    let known = Known {
        value: f64::from(teeth),
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let finding = Judged::new("teeth of the ring over its bolts", known, Kind::Count, "")
        .against(Limit::AtLeast(f64::from(fewest)))
        .with_arithmetic(format!(
            "smallest ring on {:.0} mm: {fewest} teeth ({source})",
            1e3 * spider.diameter
        ))
        .with_remedy(format!(
            "a ring of {fewest} teeth or more: lockring build {} chainring=PART",
            case.job().number
        ));
    Ok(if may_stop {
        finding
    } else {
        prediction::advise_only(finding, "the smallest ring is not published for this circle")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};
    use crate::command::ReceiptText;

    fn with(spider: &[(&str, &str)], ring: &[(&str, &str)]) -> Bench {
        longtail()
            .receive("motor", spider, ReceiptText::default())
            .receive("chainring", ring, ReceiptText::default())
    }

    const FOUR_104: [(&str, &str); 2] = [("bolt-circle", "104 mm"), ("arms", "4")];

    #[test]
    fn a_ring_of_the_spider_s_circle_passes() {
        let report = with(&FOUR_104, &FOUR_104).expect(&CHECK, Verdict::Pass);
        assert_eq!(report.findings.len(), 2);
    }

    #[test]
    fn another_circle_or_other_arms_fail_and_the_right_ring_clears_it() {
        let other = with(&FOUR_104, &[("bolt-circle", "110 mm"), ("arms", "5")]);
        let report = other.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].contains("a ring for 104 mm"),
            "{:?}",
            report.findings[0]
        );
        other.cured(&CHECK, "a ring for 104 mm", |job| {
            job.receive("chainring", &FOUR_104, ReceiptText::default())
        });
        with(&FOUR_104, &[("bolt-circle", "104 mm"), ("arms", "5")]).expect(&CHECK, Verdict::Fail);
        let play = |mm| with(&FOUR_104, &[("bolt-circle", mm)]).report(&CHECK).findings[0].verdict;
        assert_eq!(play("104.5 mm"), Verdict::Pass);
        assert_eq!(play("104.6 mm"), Verdict::Caution);
        assert_eq!(play("105 mm"), Verdict::Caution);
        assert_eq!(play("105.1 mm"), Verdict::Fail);
    }

    #[test]
    fn two_neighbouring_holes_tell_the_circle() {
        // Brown, Bicycle Numbers: 73.6 mm on four arms is the 104, 64.7 mm on five the 110.
        let measured = with(&[], &FOUR_104).measure(&[("spider-bolts", "73.6 mm"), ("spider-arms", "4")]);
        let report = measured.expect(&CHECK, Verdict::Pass);
        assert!(
            report.findings[0].arithmetic[0].contains("taken for 104 mm"),
            "{:?}",
            report.findings[0]
        );
        with(&[], &FOUR_104)
            .measure(&[("spider-bolts", "64.7 mm"), ("spider-arms", "5")])
            .expect(&CHECK, Verdict::Fail);
        with(&[], &FOUR_104)
            .measure(&[("spider-bolts", "73.6 mm")])
            .expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn a_bolt_circle_typed_as_the_way_between_holes_is_measured_again() {
        // By hand: 104 mm / sin 45 degrees is 147.1 mm; the 104 has 73.5 mm between neighbours.
        let typed = with(&[], &FOUR_104).measure(&[("spider-bolts", "104 mm"), ("spider-arms", "4")]);
        let report = typed.expect(&CHECK, Verdict::Fail);
        assert!(
            report.findings[0].remedies[0].contains("104.0 mm is the 104 mm circle itself"),
            "{report:?}"
        );
        typed.cured(&CHECK, "lockring measure 21 spider-bolts …mm --anew", |job| {
            job.again(&[("spider-bolts", "73.5 mm")])
        });
    }

    #[test]
    fn what_is_measured_of_the_spider_counts_at_intake() {
        let rules = crate::rules::RuleSheet::shipped();
        let circle = |bench: &Bench| {
            let case = Case::new(&bench.job, &rules, Stage::Intake);
            spider(&case).unwrap().map(|circle| circle.diameter)
        };
        let bare = with(&[], &FOUR_104);
        assert_eq!(circle(&bare), None);
        let measured = bare.measure(&[("spider-bolts", "73.6 mm"), ("spider-arms", "4")]);
        assert!(circle(&measured).is_some_and(|circle| (circle - 0.104).abs() < 1e-12));
    }

    #[test]
    fn a_ring_below_the_published_smallest_fails() {
        // Brown, Bicycle Numbers: 32 teeth at least on 104 mm, four arms; 38 on 130 mm.
        let ring = |teeth| {
            with(
                &FOUR_104,
                &[("bolt-circle", "104 mm"), ("arms", "4"), ("teeth", teeth)],
            )
        };
        ring("32").expect(&CHECK, Verdict::Pass);
        ring("31").expect(&CHECK, Verdict::Fail);
        // Without arms the formula answers, and a formula only advises: 130 mm asks 38.
        let plain = |teeth| {
            with(
                &[("bolt-circle", "130 mm")],
                &[("bolt-circle", "130 mm"), ("teeth", teeth)],
            )
        };
        plain("38").expect(&CHECK, Verdict::Pass);
        plain("37").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn unknown_on_both_sides_it_does_not_apply_and_on_one_it_is_open() {
        longtail().expect(&CHECK, Verdict::NotApplicable);
        trekking().expect(&CHECK, Verdict::NotApplicable);
        longtail()
            .build(&[("chainring", "none")])
            .expect(&CHECK, Verdict::NotApplicable);
        with(&FOUR_104, &[]).expect(&CHECK, Verdict::Open);
        let report = with(&[], &FOUR_104).expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("spider-bolts"),
            "{:?}",
            report.missing
        );
    }
}
