//! `chain.pull`: what motor and rider pull on the chain through the ring, and the teeth that
//! hold it on the smallest cog.

use lockring_calc::doubt::Limit;
use lockring_calc::gearing::{self, CHAIN_STRENGTH_N, Gear};
use lockring_calc::quantity::{Length, Torque};

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::finding::Figure;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction::{self, Pedals};
use crate::stage::Stage;
use crate::unit::Kind;

/// Pull and wrap.
pub static CHECK: Check = Check {
    id: "chain.pull",
    title: "ring large enough for the motor's pull, chain held by enough teeth",
    gates: &[Stage::Intake, Stage::Fitting],
    family: Family::Fit,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
    ],
    source: "crank torque over the ring's pitch radius, of the motor's peak and a rider who sits (mean at a start: common practice, no \
             source) or stands with all weight on one pedal (weight times crank, first principles); a quarter, and half at that \
             peak, of 8 000 N: ISO 9633 from memory, shares by workshop judgement; \
             three to four teeth: roller-chain handbooks, from memory",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !prediction::is_mid(case)? {
        return Halt::not_applicable("a motor in the wheel does not pull on the chain");
    }
    if prediction::is_belt(case) {
        return Halt::not_applicable(
            "what a toothed belt bears is stored nowhere: ask its maker with the motor's peak torque and the rider's",
        );
    }
    let (ring, cogs) = prediction::teeth(case)?;
    let Pedals { sits, stands } = Pedals::of(case)?;
    let mut findings = vec![
        pull(case, ring, sits, "sitting", "chain.pull-share")?,
        pull(case, ring, stands, "standing on a pedal", "chain.peak-share")?,
    ];
    if let (Some(smallest), Some(stay)) = (cogs.first(), case.optional_number("stay-length")) {
        findings.push(teeth(case, ring, *smallest, stay)?);
    }
    Ok(findings)
}

/// Pull of the motor's peak and a rider's torque at the crank, N m, against a share of the chain's strength.
fn pull(case: &Case<'_>, ring: u32, rider: f64, how: &str, share: &str) -> Result<Finding, Halt> {
    let motor = case.part(Slot::Motor)?.number("peak-torque")?;
    let unusable = |error| prediction::unusable(case, "ring", &error);
    let torque = Torque::newton_metres(motor + rider);
    let force = gearing::chain_tension(torque, ring)
        .map_err(unusable)?
        .as_newtons();
    let most = case.rule(share);
    let known = Known {
        value: force / CHAIN_STRENGTH_N,
        u: 0.0,
        provenance: Provenance::Stated,
    };
    let figure = Figure {
        name: "pull on the chain".to_owned(),
        value: force,
        unit: "N".to_owned(),
        limit: String::new(),
        margin: None,
        uncertainty: None,
    };
    let finding = Judged::new(
        &format!("pull on the chain, the rider {how}, of what it is asked to bear"),
        known,
        Kind::Ratio,
        "%",
    )
    .against(Limit::AtMost(most))
    .with_figure(figure)
    .with_arithmetic(format!(
        "({motor:.0} + {rider:.0}) N m on {ring} teeth of {:.1} mm radius: {force:.0} N of {CHAIN_STRENGTH_N:.0} N",
        gearing::pitch_radius(ring).map_err(unusable)?.as_millimetres()
    ));
    let job = case.job().number;
    // The first ring of the code's window whose pull is within the share.
    let larger = (ring..=70).find(|&teeth| {
        gearing::chain_tension(torque, teeth)
            .is_ok_and(|force| force.as_newtons() <= most * CHAIN_STRENGTH_N + 1e-9)
    });
    let finding = match larger {
        Some(teeth) => finding.with_remedy(format!(
            "a ring of {teeth} teeth or more, which climbs less steeply: lockring build {job} chainring=PART"
        )),
        None => finding,
    };
    Ok(prediction::advise_only(
        finding
            .with_remedy("or less current, a chain made for such motors, and chain wear measured more often"),
        "strength and share are from memory and judgement",
    ))
}

/// Teeth of the smallest cog that the chain lies on.
fn teeth(case: &Case<'_>, ring: u32, cog: u32, stay: Known) -> Result<Finding, Halt> {
    let gear = Gear::new(ring, cog).map_err(|error| prediction::unusable(case, "gears", &error))?;
    let wrap = gearing::wrap(gear, Length::from_si(stay.value))
        .map_err(|error| prediction::unusable(case, "ring, cog and chainstay", &error))?;
    let (good, least) = (case.rule("chain.wrap-good"), case.rule("chain.wrap-least"));
    let known = Known {
        value: wrap.teeth,
        u: 0.0,
        ..stay
    };
    let what = format!("teeth that hold the chain on the {cog}-tooth cog");
    let finding = Judged::new(&what, known, Kind::Count, "")
        .between(Limit::AtLeast(good), Limit::AtLeast(least))
        .with_arithmetic(format!(
            "wrapped {:.0} degrees of 360: {:.1} of {cog} teeth; handbooks ask 120 degrees",
            wrap.angle.as_degrees(),
            wrap.teeth
        ))
        .with_remedy(format!(
            "leave the smallest cog alone under motor power, or a cassette that begins larger: lockring build {} cassette=PART",
            case.job().number
        ));
    Ok(prediction::advise_only(
        finding,
        "handbooks of roller chain, from memory",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{hardtail, longtail, trekking};
    use crate::command::ReceiptText;

    #[test]
    fn what_a_toothed_belt_bears_is_not_judged() {
        let belt = longtail()
            .build(&[("chain", "none")])
            .state(&[("drive-kind", "belt")]);
        let report = belt.expect(&CHECK, Verdict::NotApplicable);
        assert!(report.summary().contains("ask its maker"), "{}", report.summary());
        belt.build(&[("chain", "chain-9")]).expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_demo_motors_pull_within_the_share() {
        // By hand: (70 + 30) N m over 12.7/(2 sin(180/42)) = 84.97 mm: 1 177 N; (120 + 30): 1 765 N.
        for (bench, newtons) in [(longtail(), 1177.0), (hardtail(), 1765.0)] {
            let report = bench.expect(&CHECK, Verdict::Pass);
            assert!((report.findings[0].figures[1].value - newtons).abs() < 1.0);
            assert!((report.findings[0].figures[0].value - newtons / 80.0).abs() < 0.02);
        }
    }

    #[test]
    fn a_rider_who_stands_pulls_with_all_weight() {
        // By hand: 100 kg x 9.80665 m/s2 x 0.170 m are 166.7 N m; with 130 N m of the motor over 84.97 mm 3 492 N, 43.6 % of
        // 8 000 N. On 36 teeth, 72.86 mm, 4 072 N are 50.9 %.
        let strong = |ring: &str| {
            hardtail()
                .state(&[("rider-mass", "100 kg"), ("crank-length", "170 mm")])
                .receive("motor", &[("peak-torque", "130 N m")], ReceiptText::default())
                .receive("chainring", &[("teeth", ring)], ReceiptText::default())
        };
        let standing = strong("42").report(&CHECK).findings[1].clone();
        assert_eq!(standing.verdict, Verdict::Pass);
        assert!(
            (standing.figures[1].value - 3492.0).abs() < 1.0,
            "{:?}",
            standing.figures
        );
        assert!(
            (standing.figures[0].value - 43.6).abs() < 0.06,
            "{:?}",
            standing.figures
        );
        let small = strong("36").expect(&CHECK, Verdict::Caution).findings[1].clone();
        assert_eq!(small.verdict, Verdict::Caution);
        assert!(small.summary.contains("standing on a pedal"), "{}", small.summary);
        assert!(
            small.remedies[0].starts_with("a ring of 37 teeth"),
            "{:?}",
            small.remedies
        );
    }

    #[test]
    fn a_strong_motor_on_a_small_ring_is_a_caution_and_a_larger_ring_clears_it() {
        // (120 + 30) N m over 72.86 mm: 2 059 N, over a quarter of 8 000 N; 38 teeth 1 951 N.
        let small = hardtail().build(&[("chainring", "ring-36-2")]);
        let report = small.expect(&CHECK, Verdict::Caution);
        assert!(
            report.findings[0].remedies[0].starts_with("a ring of 38 teeth"),
            "{:?}",
            report.findings[0].remedies
        );
        small.cured(&CHECK, "a ring of 38 teeth", |job| {
            job.build(&[("chainring", "ring-38-5")])
        });
    }

    #[test]
    fn the_share_is_crossed_with_the_torque() {
        // A quarter of 8 000 N on 42 teeth is 2 000 x 0.08497 = 169.9 N m, less 30 of the rider.
        let with = |torque| {
            hardtail()
                .receive("motor", &[("peak-torque", torque)], ReceiptText::default())
                .report(&CHECK)
                .verdict
        };
        assert_eq!(with("139.5 N m"), Verdict::Pass);
        assert_eq!(with("140.5 N m"), Verdict::Caution);
    }

    #[test]
    fn few_teeth_on_the_smallest_cog_are_a_caution() {
        // By hand, 42 on 9 teeth 440 mm apart: (180 - 2 asin(66.4/440))/360 x 9 = 4.07; 8 teeth 3.6.
        let nine = longtail().receive(
            "cassette",
            &[("cogs", "9-11-13-15-18-21-24-28-34")],
            ReceiptText::default(),
        );
        let report = nine.expect(&CHECK, Verdict::Pass);
        let held = report.findings[2].figures[0].value;
        assert!((4.0..4.2).contains(&held), "{held}");
        let close = longtail()
            .receive(
                "cassette",
                &[("cogs", "9-11-13-15-18-21-24-28-34")],
                ReceiptText::default(),
            )
            .state(&[("stay-length", "300 mm")]);
        close.expect(&CHECK, Verdict::Caution);
        close
            .build(&[("cassette", "cassette-9-11-36")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_hub_is_not_concerned_and_an_unknown_ring_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        longtail()
            .build(&[("chainring", "none")])
            .expect(&CHECK, Verdict::Open);
    }
}
