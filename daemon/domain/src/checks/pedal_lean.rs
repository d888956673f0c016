//! `pedal.lean`: how far the bicycle leans before the lowest pedal touches the ground.

use lockring_calc::clearance::LEAN_LEAST_DEG;
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::{Angle, Length};
use lockring_calc::shell::{self, PedalPosition};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Lean with the pedal at its lowest.
pub static CHECK: Check = Check {
    id: "pedal.lean",
    title: "pedal clear of the ground when leaning",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "16 CFR 1512.17(c): 25 degrees of lean with the pedal at its lowest; plane geometry",
    run,
};

const NEEDED: [&str; 5] = [
    "bracket-height",
    "crank-length",
    "pedal-thickness",
    "pedal-width",
    "pedal-right",
];

fn run(case: &Case<'_>) -> Outcome {
    if !case.knows("bracket-height") {
        return Halt::not_applicable("the height of the bottom bracket was not measured");
    }
    prediction::need(case, &NEEDED)?;
    let [height, crank, thickness, width, right] = [
        case.number("bracket-height")?,
        case.number("crank-length")?,
        case.number("pedal-thickness")?,
        case.number("pedal-width")?,
        case.number("pedal-right")?,
    ];
    let (word, out) = match case.optional_number("pedal-left") {
        Some(left) if left.value > right.value => ("left", left),
        _ => ("right", right),
    };
    let length = |known: Known| Length::from_si(known.value);
    let lean = shell::lean_angle(&PedalPosition {
        bracket_height: length(height),
        crank: length(crank),
        pedal_half_thickness: length(thickness) / 2.0,
        half_tread: length(out),
        pedal_width: length(width),
    })
    .map_err(|error| prediction::unusable(case, "pedals", &error))?;
    let (up, reach) = (
        height.value - crank.value - thickness.value / 2.0,
        out.value + width.value,
    );
    // From atan(up/reach) by each reading (JCGM 100:2008, 5.1.2).
    let (u_up, u_reach) = (
        height.u.hypot(crank.u).hypot(thickness.u / 2.0),
        out.u.hypot(width.u),
    );
    let u = (reach * u_up).hypot(up * u_reach) / (up * up + reach * reach);
    let known = Known {
        value: lean.as_radians(),
        u,
        ..height
    };
    let least = Angle::degrees(LEAN_LEAST_DEG).as_radians();
    let job = case.job().number;
    let what = format!("lean at which the {word} pedal touches");
    let mut finding = Judged::new(&what, known, Kind::Angle, "deg")
        .against(Limit::AtLeast(least))
        .with_arithmetic(format!(
            "atan(({:.0} - {:.1} - {:.1}/2) / ({:.1} + {:.0})) = {:.1} degrees",
            1e3 * height.value,
            1e3 * crank.value,
            1e3 * thickness.value,
            1e3 * out.value,
            1e3 * width.value,
            lean.as_degrees()
        ));
    // The doubt kept off and down to the millimetre, so that the cure cures.
    let shorter = up + crank.value - reach * (least + known.expanded()).tan();
    if shorter > 0.0 {
        finding = finding.with_remedy(format!(
            "cranks of at most {:.0} mm: lockring donor {job} crank-length VALUE",
            (1e3 * shorter).floor()
        ));
    }
    Ok(vec![finding.with_remedy(format!(
        "narrower or thinner pedals, less tread: lockring donor {job} pedal-width VALUE pedal-thickness VALUE"
    ))])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail};

    fn bicycle(height: &str, crank: &str, right: &str) -> Bench {
        longtail()
            .state(&[
                ("bracket-height", height),
                ("crank-length", crank),
                ("pedal-thickness", "20 mm"),
                ("pedal-width", "95 mm"),
            ])
            .measure(&[("pedal-right", right)])
    }

    #[test]
    fn the_worked_cases_pass_and_fail() {
        // By hand: atan(105/180) = 30.3, atan(105/200) = 27.7, atan(80/200) = 21.8 degrees
        // against 25 of 16 CFR 1512.17(c).
        for (height, crank, right, degrees, verdict) in [
            ("285 mm", "170 mm", "85 mm", 30.3, Verdict::Pass),
            ("285 mm", "170 mm", "105 mm", 27.7, Verdict::Pass),
            ("265 mm", "175 mm", "105 mm", 21.8, Verdict::Fail),
        ] {
            let report = bicycle(height, crank, right).expect(&CHECK, verdict);
            assert!((report.findings[0].figures[0].value - degrees).abs() < 0.05);
        }
    }

    #[test]
    fn the_limit_is_crossed_through_a_band_of_doubt() {
        // tan 25 = 0.4663: 200 mm of reach ask 93.26 mm. Doubt about 2 x 1.1 mm of height.
        for (height, verdict) in [
            ("277 mm", Verdict::Pass),
            ("274 mm", Verdict::Caution),
            ("272.5 mm", Verdict::Caution),
            ("270 mm", Verdict::Fail),
        ] {
            bicycle(height, "170 mm", "105 mm").expect(&CHECK, verdict);
        }
    }

    #[test]
    fn the_doubt_is_that_of_every_reading() {
        // By hand: 105 mm up with sqrt(1 + 0.25 + 0.0025) mm, 180 mm out with sqrt(0.25 + 1) mm:
        // 2 hypot(180 x 1.1192, 105 x 1.1180)/(105² + 180²) rad = 0.6153 degrees.
        let report = bicycle("285 mm", "170 mm", "85 mm").report(&CHECK);
        let doubt = report.findings[0].figures[0].uncertainty.unwrap();
        assert!((doubt - 0.6153).abs() < 1e-4, "{doubt}");
    }

    #[test]
    fn the_pedal_further_out_touches_first() {
        let report = bicycle("285 mm", "170 mm", "85 mm")
            .measure(&[("pedal-left", "105 mm")])
            .expect(&CHECK, Verdict::Pass);
        assert!(report.summary().contains("left pedal"), "{}", report.summary());
        assert!((report.findings[0].figures[0].value - 27.7).abs() < 0.05);
    }

    #[test]
    fn shorter_cranks_clear_it() {
        let low = bicycle("265 mm", "175 mm", "105 mm");
        let report = low.expect(&CHECK, Verdict::Fail);
        // 265 - 10 - 200 tan(25 + 0.595 of doubt) = 159.2 mm by hand.
        assert!(
            report.findings[0].remedies[0].starts_with("cranks of at most 159 mm"),
            "{:?}",
            report.findings[0].remedies
        );
        low.cured(&CHECK, "cranks of at most 159 mm", |job| {
            job.state(&[("crank-length", "159 mm")])
        });
    }

    #[test]
    fn what_is_missing_is_asked_for_together() {
        longtail().expect(&CHECK, Verdict::NotApplicable);
        let report = longtail()
            .state(&[("bracket-height", "285 mm")])
            .expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 4, "{:?}", report.missing);
    }
}
