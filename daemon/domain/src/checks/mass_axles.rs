//! `mass.axles`: how bicycle and rider rest on the two wheels, and what the pack's place does to it.

use lockring_calc::doubt::Limit;
use lockring_calc::mass::{Axles, FRONT_SHARE};
use lockring_calc::quantity::{Length, Mass};
use lockring_calc::wheel;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::{self, Judged};
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Front axle's share by the scale.
pub static CHECK: Check = Check {
    id: "mass.axles",
    title: "weight shared between the wheels as it rides well",
    gates: &[Stage::Fitting],
    family: Family::Fit,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
    ],
    source: "40 to 45 % on the front wheel: common practice, no source; a part's effect: balance of moments",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !case.knows("scale-front") && !case.knows("scale-rear") {
        return Halt::not_applicable("the wheels were not weighed one by one");
    }
    prediction::need(case, &["scale-front", "scale-rear"])?;
    let (weighed_front, weighed_rear) = (case.number("scale-front")?, case.number("scale-rear")?);
    let weighed = weighed_front.value + weighed_rear.value;
    let gross = prediction::gross_mass(case)?;
    let [front, rear] = prediction::axles(case, gross)?;
    let [least, most] = FRONT_SHARE;
    // A habit of the trade: its ends belong to it, and no guard band stands before them.
    let share = Known {
        u: 0.0,
        ..front.share
    };
    let job = case.job().number;
    let mut finding = Judged::new("front wheel's share", share, Kind::Ratio, "%")
        .against(Limit::Within(least, most))
        .with_arithmetic(format!(
            "{:.1} / ({:.1} + {:.1}) = {:.1} %; of {:.1} kg gross {:.1} kg front, {:.1} kg rear, held against the \
             tyres' marks by mass.tyres",
            weighed_front.value,
            weighed_front.value,
            weighed_rear.value,
            100.0 * front.share.value,
            gross.value,
            front.load.value,
            rear.load.value
        ));
    for axle in [&front, &rear] {
        finding = finding.with_figure(judge::figure(
            &format!("{} axle", axle.word),
            Kind::Mass,
            "kg",
            axle.load.value,
        ));
    }
    // What must come to the front for the middle of the range; negative: to the rear.
    let wanted = (least.midpoint(most) - front.share.value) * weighed;
    let scale = Axles {
        front: Mass::kilograms(weighed_front.value),
        rear: Mass::kilograms(weighed_rear.value),
    };
    let mut finding = pack(case, finding, wanted, scale)?;
    let toward = if wanted > 0.0 { "forward" } else { "back" };
    finding = finding.with_remedy(format!(
        "load, pack or rider {toward}, then weigh again: lockring measure {job} scale-front=…kg scale-rear=…kg --anew"
    ));
    Ok(vec![prediction::advise_only(
        finding,
        "some bicycles, longtails and boxes above all, ride well outside it",
    )])
}

/// What the pack does where it is, and where it would have to be.
fn pack(case: &Case<'_>, finding: Finding, wanted: f64, scale: Axles) -> Result<Finding, Halt> {
    let (Some(at), Some(base)) = (
        case.optional_number("pack-position"),
        case.optional_number("wheelbase"),
    ) else {
        return Ok(finding);
    };
    let Some(mass) = case
        .optional_part(Slot::Pack)
        .and_then(|pack| pack.optional_number("mass"))
    else {
        return Ok(finding);
    };
    let (front, rear) = wheel::on_axles(
        Mass::kilograms(mass),
        Length::from_si(at.value),
        Length::from_si(base.value),
    )
    .map_err(|error| prediction::unusable(case, "pack's position", &error))?;
    let finding = finding.with_arithmetic(format!(
        "pack {mass:.2} kg, {:.0} mm behind the front axle of {:.0} mm wheelbase: {:.2} kg front, {:.2} kg rear",
        1000.0 * at.value,
        1000.0 * base.value,
        front.as_kilograms(),
        rear.as_kilograms()
    ));
    let before = scale
        .without(
            Mass::kilograms(mass),
            Length::from_si(at.value),
            Length::from_si(base.value),
        )
        .map_err(|error| prediction::unusable(case, "pack's position", &error))?;
    let finding = finding.with_arithmetic(format!(
        "without the pack {:.1} % on the front wheel, with it {:.1} %",
        100.0 * before.front_share(),
        100.0 * scale.front_share()
    ));
    if finding.verdict == Verdict::Pass {
        return Ok(finding);
    }
    // From the balance of moments, x = (m - front) L / m.
    let place = at.value - wanted * base.value / mass;
    let line = if (0.0..=base.value).contains(&place) {
        format!(
            "the pack {:.0} mm behind the front axle would bring the share to the middle of the range",
            1000.0 * place
        )
    } else {
        "no place of the pack between the axles brings the share to the middle of the range alone".to_owned()
    };
    Ok(finding.with_remedy(line))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, trekking};

    fn weighed(front: &str, rear: &str) -> Bench {
        trekking().measure(&[("scale-front", front), ("scale-rear", rear)])
    }

    #[test]
    fn not_weighed_it_does_not_apply_and_half_weighed_it_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let half = trekking().measure(&[("scale-front", "42 kg")]);
        let report = half.expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("scale-rear"),
            "{:?}",
            report.missing
        );
        half.measure(&[("scale-rear", "58 kg")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn thirty_eight_of_a_hundred_is_light_in_front_and_weight_forward_clears_it() {
        // Arithmetic: 38/(38 + 62) = 38 %.
        let light = weighed("38 kg", "62 kg");
        let report = light.expect(&CHECK, Verdict::Caution);
        assert!((report.findings[0].figures[0].value - 38.0).abs() < 1e-9);
        assert!(
            report.findings[0].remedies[0].contains("forward"),
            "{:?}",
            report.findings
        );
        light
            .measure(&[("scale-front", "42.5 kg"), ("scale-rear", "57.5 kg")])
            .expect(&CHECK, Verdict::Pass);
        let heavy = weighed("50 kg", "50 kg").expect(&CHECK, Verdict::Caution);
        assert!(
            heavy.findings[0].remedies[0].contains("back"),
            "{:?}",
            heavy.findings
        );
    }

    #[test]
    fn both_ends_of_the_range_belong_to_it() {
        // Dictionary of bicycle terms (common practice): 40 to 45 %; 45 and 55 kg pass.
        for (front, rear, verdict) in [
            ("39.9 kg", "60.1 kg", Verdict::Caution),
            ("40 kg", "60 kg", Verdict::Pass),
            ("45 kg", "55 kg", Verdict::Pass),
            ("45.1 kg", "54.9 kg", Verdict::Caution),
        ] {
            weighed(front, rear).expect(&CHECK, verdict);
        }
    }

    #[test]
    fn the_place_of_the_pack_is_shown_on_both_axles() {
        // Balance of moments by hand, wheelbase 1 050 mm, pack at 470 mm: 44.8 % of it rear.
        let report = weighed("39 kg", "61 kg")
            .state(&[("wheelbase", "1050 mm")])
            .measure(&[("pack-position", "1050 mm")])
            .expect(&CHECK, Verdict::Caution);
        let line = &report.findings[0].arithmetic[1];
        assert!(line.contains("0.00 kg front"), "{line}");
        let mass = trekking().job.build[&Slot::Pack]
            .part
            .get("mass")
            .and_then(crate::fact::Value::number)
            .unwrap();
        assert!(line.contains(&format!("{mass:.2} kg rear")), "{line}");
        // All of it on the rear wheel: without it 39/(100 - m) in front.
        let without = 100.0 * 39.0 / (100.0 - mass);
        assert!(
            report.findings[0].arithmetic[2].contains(&format!("without the pack {without:.1} %")),
            "{:?}",
            report.findings[0].arithmetic
        );
        // 42.5 - 39 = 3.5 kg must come forward: more than this pack can bring.
        assert_eq!(mass < 3.5, report.findings[0].remedies[0].contains("no place"));
        let forward = weighed("41 kg", "59 kg")
            .state(&[("wheelbase", "1050 mm")])
            .measure(&[("pack-position", "470 mm")])
            .expect(&CHECK, Verdict::Pass);
        assert!(forward.findings[0].arithmetic[1].contains(&format!("{:.2} kg rear", mass * 470.0 / 1050.0)));
    }

    #[test]
    fn pounds_and_kilograms_give_the_same_verdict() {
        weighed("83.8 lb", "136.7 lb").expect(&CHECK, Verdict::Caution);
        weighed("93.7 lb", "126.8 lb").expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn weighing_again_as_the_remedy_says_clears_it() {
        weighed("38 kg", "62 kg").cured(&CHECK, "lockring measure 20 scale-front", |job| {
            job.measure(&[("scale-front", "42.5 kg"), ("scale-rear", "57.5 kg")])
        });
    }
}
