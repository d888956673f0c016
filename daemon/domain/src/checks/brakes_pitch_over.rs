//! `brakes.pitch_over`: whether the bicycle can stop as hard as it must before its rear wheel lifts.

use lockring_calc::brakes::{self, BrakeClass, BrakesUsed, Surface};
use lockring_calc::doubt::Limit;
use lockring_calc::quantity::{G, Grade, Length, Speed};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::finding::Figure;
use crate::judge::Judged;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// The deceleration asked against the one at which the rear wheel lifts.
pub static CHECK: Check = Check {
    id: "brakes.pitch_over",
    title: "stops as hard as asked before the rear wheel lifts",
    gates: &[Stage::Fitting],
    family: Family::Safe,
    version: 1,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "statics about the front tyre; 25 km/h within 7 m: ISO 4210-2, dry, both brakes, city and trekking; 5 m/s² proposed for a \
             German rule, from an industry association's statement",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !case.knows("mass-height") {
        return Halt::not_applicable("the height of the centre of mass was not measured");
    }
    prediction::need(case, &["mass-height", "wheelbase", "scale-front", "scale-rear"])?;
    let (height, base) = (case.number("mass-height")?, case.number("wheelbase")?);
    let gross = prediction::gross_mass(case)?;
    let [_, rear] = prediction::axles(case, gross)?;
    // Balance of moments: the centre of mass lies this far behind the front tyre's contact.
    let behind = base.value * rear.share.value;
    let lifts = brakes::pitch_over_limit(
        Length::from_si(behind),
        Length::from_si(height.value),
        Grade::LEVEL,
    )
    .map_err(|error| prediction::unusable(case, "centre of mass", &error))?
    .si();
    // From g x / h by each reading (JCGM 100:2008, 5.1.2).
    let u_behind = (base.u * rear.share.value).hypot(base.value * rear.share.u);
    let u = G * (u_behind / height.value).hypot(behind * height.u / (height.value * height.value));
    let known = Known {
        value: lifts,
        u,
        ..height
    };
    let row = brakes::stop_requirement(BrakeClass::City, Surface::Dry, BrakesUsed::Both);
    let asked = brakes::deceleration(
        Speed::kilometres_per_hour(row.speed_kmh),
        Length::metres(row.distance_m),
    )
    .map_err(|error| prediction::unusable(case, "stop", &error))?
    .si();
    let good = case.rule("brake.lift-good");
    let job = case.job().number;
    let force = gross.value * asked;
    let finding = Judged::new(
        "deceleration at which the rear wheel lifts",
        known,
        Kind::Acceleration,
        "m/s2",
    )
    .between(Limit::AtLeast(good), Limit::AtLeast(asked))
    .with_arithmetic(format!(
        "{G:.2} x {:.0} mm x {:.2} / {:.0} mm = {lifts:.2} m/s²",
        1e3 * base.value,
        rear.share.value,
        1e3 * height.value
    ))
    .with_arithmetic(format!(
        "asked: {:.0} km/h within {:.0} m is {asked:.2} m/s²; {:.1} kg need {force:.0} N at the tyres",
        row.speed_kmh, row.distance_m, gross.value
    ))
    .with_figure(Figure {
        name: "braking force asked at the gross mass".to_owned(),
        value: force,
        unit: "N".to_owned(),
        limit: String::new(),
        margin: None,
        uncertainty: None,
    })
    .with_arithmetic(prediction::caution("tr-brakes-first"));
    Ok(vec![finding.with_remedy(format!(
        "load and pack lower and further back, then weigh again: lockring measure {job} mass-height VALUE scale-front VALUE \
         scale-rear VALUE --anew"
    ))])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};

    fn standing(height: &str, front: &str, rear: &str) -> Bench {
        trekking().state(&[("wheelbase", "1050 mm")]).measure(&[
            ("mass-height", height),
            ("scale-front", front),
            ("scale-rear", rear),
        ])
    }

    #[test]
    fn a_usual_bicycle_stops_harder_than_asked() {
        // By hand: 9.80665 x 1.05 x 0.58 / 1.1 = 5.43 m/s², doubt about 0.2.
        let report = standing("1100 mm", "42 kg", "58 kg").expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 5.43).abs() < 0.005);
        // Doubt by hand: x 0.609 m with hypot(0.002 x 0.58, 1.05 x 0.00143) m, h 1.1 m with 0.02:
        // 2 g hypot(0.0019/1.1, 0.609 x 0.02/1.21) = 0.200 m/s².
        let doubt = report.findings[0].figures[0].uncertainty.unwrap();
        assert!((doubt - 0.2003).abs() < 5e-4, "{doubt}");
        // ISO 4210-2: 25 km/h within 7 m, (25/3.6)²/14 = 3.445 m/s².
        assert!(
            report.findings[0].arithmetic[1].contains("3.44 m/s²"),
            "{:?}",
            report.findings[0].arithmetic
        );
    }

    #[test]
    fn the_force_is_that_of_the_whole_mass() {
        // By hand: 22 + 72 + 6 = 100 kg at 3.445 m/s² are 344.5 N.
        let report = standing("1100 mm", "42 kg", "58 kg")
            .measure(&[("mass-after", "22 kg")])
            .report(&CHECK);
        let force = &report.findings[0].figures[1];
        assert!((force.value - 344.5).abs() < 0.1, "{force:?}");
    }

    #[test]
    fn a_high_load_far_forward_is_a_caution_then_fails_and_lower_and_back_clears_it() {
        // By hand: x 0.5 / 1.3: 3.96; 0.35 / 1.3: 2.77; 0.45/1.3: 3.56 inside the doubt of 3.445.
        standing("1300 mm", "50 kg", "50 kg").expect(&CHECK, Verdict::Caution);
        standing("1300 mm", "55 kg", "45 kg").expect(&CHECK, Verdict::Caution);
        let tipping = standing("1300 mm", "65 kg", "35 kg");
        let report = tipping.expect(&CHECK, Verdict::Fail);
        assert!(report.findings[0].remedies[0].contains("mass-height"));
        tipping.cured(&CHECK, "mass-height", |job| {
            job.measure(&[
                ("mass-height", "1050 mm"),
                ("scale-front", "42 kg"),
                ("scale-rear", "58 kg"),
            ])
        });
    }

    #[test]
    fn without_a_height_it_does_not_apply_and_without_a_scale_it_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = trekking()
            .measure(&[("mass-height", "1100 mm")])
            .expect(&CHECK, Verdict::Open);
        assert_eq!(report.missing.len(), 3, "{:?}", report.missing);
    }
}
