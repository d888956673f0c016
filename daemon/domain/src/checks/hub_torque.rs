//! `hub.torque`: what motor and rider turn the cog of a gear hub with, against what its maker lets it take.

use lockring_calc::doubt::Limit;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction::{self, Pedals};
use crate::stage::Stage;
use crate::unit::Kind;

/// Torque at the cog, and ring over cog.
pub static CHECK: Check = Check {
    id: "hub.torque",
    title: "torque at the cog of a gear hub within what its maker states",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Fit,
    version: 2,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "the hub's sheet; crank torque times cog over ring, of the motor's peak and a rider who sits (mean at a start: common \
             practice, no source) or stands with all weight on one pedal (weight times crank, first principles)",
    run,
};

/// Most teeth of a ring that are named as a cure: those of the window of its code.
const LARGEST_RING: u32 = 70;

fn run(case: &Case<'_>) -> Outcome {
    if !prediction::is_mid(case)? {
        return Halt::not_applicable("a motor in the wheel does not drive through gears inside the hub");
    }
    if prediction::hub_gears(case).is_none() {
        return Halt::not_applicable("the build keeps no gears inside the rear hub");
    }
    let drive = Drive::of(case)?;
    let stated = |key| case.optional_number(key).map(|known| known.value);
    let mut findings = Vec::new();
    if let Some(most) = stated("hub-torque-limit") {
        findings.push(drive.within(most));
    }
    if let Some(least) = stated("hub-ring-ratio") {
        findings.push(drive.geared(least));
    }
    if findings.is_empty() {
        findings.push(drive.unknown());
    }
    Ok(findings)
}

/// What turns the cog.
struct Drive<'c, 'a> {
    case: &'c Case<'a>,
    ring: u32,
    cog: u32,
    /// Peak of the motor at the crank, N m.
    motor: f64,
    /// Half of what it may be off either way, N m.
    motor_doubt: f64,
    /// Of a rider who sits, and of one who stands on a pedal, N m at the crank.
    sits: f64,
    stands: f64,
}

impl<'c, 'a> Drive<'c, 'a> {
    fn of(case: &'c Case<'a>) -> Result<Self, Halt> {
        let (ring, cogs) = prediction::teeth(case)?;
        let cog = cogs.iter().max().copied().ok_or_else(|| case.open("cogs"))?;
        let motor = case.part(Slot::Motor)?.number("peak-torque")?;
        let Pedals { sits, stands } = Pedals::of(case)?;
        Ok(Self {
            case,
            ring,
            cog,
            motor,
            motor_doubt: case.rule("model.motor-spread") * motor,
            sits,
            stands,
        })
    }

    /// Torque at the cog behind a ring, with a rider's at the crank.
    fn at_cog(&self, ring: u32, rider: f64) -> Known {
        let step = f64::from(self.cog) / f64::from(ring);
        Known {
            value: (self.motor + rider) * step,
            u: self.motor_doubt * step,
            provenance: Provenance::Stated,
        }
    }

    fn judged(&self, ring: u32, rider: f64, how: &str, most: f64) -> Finding {
        let what = format!("torque at the hub's cog, the rider {how}");
        let known = self.at_cog(ring, rider);
        Judged::new(&what, known, Kind::Torque, "N m")
            .settled_by("inside the doubt of the motor's sheet: ask its maker for the peak at the crank")
            .against(Limit::AtMost(most))
            .with_arithmetic(format!(
                "({:.0} N m motor + {rider:.0} N m rider {how}) x {}/{ring} = {:.1} N m",
                self.motor, self.cog, known.value
            ))
    }

    /// Over the limit even with a rider who sits it fails; how hard one stands on a pedal is that rider's to say.
    fn within(&self, most: f64) -> Finding {
        let stands = |ring| self.judged(ring, self.stands, "standing on a pedal", most);
        let sits = self.judged(self.ring, self.sits, "sitting", most);
        let finding = if sits.verdict == Verdict::Pass {
            let sitting = self.shown(self.sits);
            let why = format!("sitting it is {sitting}: nobody is to stand on a pedal while the motor pulls");
            prediction::advise_only(stands(self.ring), &why)
        } else {
            sits
        };
        let does = |ring: &u32| stands(*ring).verdict == Verdict::Pass;
        self.with_cures(finding, (self.ring..=LARGEST_RING).find(does))
    }

    fn shown(&self, rider: f64) -> String {
        format!("{:.1} N m", self.at_cog(self.ring, rider).value)
    }

    /// A least step from ring to cog is how makers say the same without naming a torque.
    fn geared(&self, least: f64) -> Finding {
        let ratio = |ring: u32| f64::from(ring) / f64::from(self.cog);
        let does = |ring: &u32| ratio(*ring) >= least - 1e-9;
        let finding = Judged::new(
            "teeth of the ring over those of the hub's cog",
            Known::stated(ratio(self.ring)),
            Kind::Count,
            "",
        )
        .against(Limit::AtLeast(least))
        .with_arithmetic(format!("{}/{} = {:.2}", self.ring, self.cog, ratio(self.ring)));
        self.with_cures(finding, (self.ring..=LARGEST_RING).find(does))
    }

    fn with_cures(&self, finding: Finding, larger: Option<u32>) -> Finding {
        let job = self.case.job().number;
        let finding = match larger {
            Some(teeth) => finding.with_remedy(format!(
                "a ring of {teeth} teeth or more, or a smaller cog on the hub, which climbs less steeply: lockring build {job} \
                 chainring=PART; rings beside each other: lockring regear {job}"
            )),
            None => finding,
        };
        finding.with_remedy(format!("a motor of less torque: lockring build {job} motor=PART"))
    }

    /// Nobody looked what the hub takes: what it will get is said, and where to look.
    fn unknown(&self) -> Finding {
        let job = self.case.job().number;
        Finding::new(
            Verdict::Caution,
            format!(
                "what the gear hub takes at its cog is not stated; it gets {} from motor and sitting rider, {} from one who \
                 stands on a pedal",
                self.shown(self.sits),
                self.shown(self.stands)
            ),
        )
        .with_remedy(format!(
            "look up the greatest torque at the cog on the hub's sheet: lockring donor {job} hub-torque-limit=TORQUE; or its \
             least ring over cog: lockring donor {job} hub-ring-ratio=RATIO"
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};

    /// One cog of 20 teeth behind a ring of 42, three gears in the hub; motor of 70 N m, rider of 84 kg.
    fn geared(stated: &[(&str, &str)]) -> Bench {
        let hub = [("cogs", "20"), ("hub-gears", "3")];
        longtail()
            .build(&[("cassette", "none")])
            .state(&[&hub, stated].concat())
    }

    fn limit(torque: &str) -> Bench {
        geared(&[("hub-torque-limit", torque)])
    }

    #[test]
    fn torque_at_the_cog_is_that_of_the_crank_through_the_chain() {
        // By hand: standing 84 kg x 9.80665 x 0.170 m = 140.0 N m, (70 + 140.0) x 20/42 = 100.0 N m; sitting
        // (70 + 30) x 20/42 = 47.6 N m. 5 % of 70 N m either way, twice, is 7 x 20/42 = 3.3 N m.
        let report = limit("110 N m").expect(&CHECK, Verdict::Pass);
        let figure = &report.findings[0].figures[0];
        assert!((figure.value - 100.02).abs() < 0.05, "{}", figure.value);
        assert!((figure.uncertainty.unwrap() - 3.33).abs() < 0.02);
        let over = limit("40 N m").expect(&CHECK, Verdict::Fail);
        assert!((over.findings[0].figures[0].value - 47.6).abs() < 0.05);
        // Cranks of 150 mm instead: (70 + 123.6) x 20/42 = 92.2 N m.
        let short = limit("110 N m")
            .measure(&[("crank-length", "150 mm")])
            .report(&CHECK);
        assert!((short.findings[0].figures[0].value - 92.2).abs() < 0.1);
    }

    #[test]
    fn it_fails_only_over_the_limit_sitting_and_beyond_the_doubt() {
        for (torque, verdict) in [
            ("104 N m", Verdict::Pass),
            ("102 N m", Verdict::Caution),
            ("85 N m", Verdict::Caution),
            ("52 N m", Verdict::Caution),
            ("46 N m", Verdict::Caution),
            ("44 N m", Verdict::Fail),
        ] {
            limit(torque).expect(&CHECK, verdict);
        }
        let said = limit("85 N m").report(&CHECK);
        assert!(
            said.summary().contains("sitting it is 47.6 N m"),
            "{}",
            said.summary()
        );
    }

    #[test]
    fn the_ring_named_clears_it() {
        // (70 + 140.0 + 7) x 20/ring <= 103.3 N m from 42 teeth on; 85 N m from 51.1.
        let report = limit("85 N m").report(&CHECK);
        assert!(
            report.findings[0].remedies[0].starts_with("a ring of 52 teeth or more"),
            "{:?}",
            report.findings[0].remedies
        );
        geared(&[("hub-ring-ratio", "2.2")]).cured(&CHECK, "a smaller cog on the hub", |job| {
            job.state(&[("cogs", "19")])
        });
        limit("44 N m").cured(&CHECK, "lockring build 21 motor=PART", |job| {
            job.build(&[("motor", "hub-36-250")])
        });
    }

    #[test]
    fn a_least_ring_over_cog_is_held() {
        // 42/20 = 2.1.
        geared(&[("hub-ring-ratio", "2.1")]).expect(&CHECK, Verdict::Pass);
        let short = geared(&[("hub-ring-ratio", "2.2")]).expect(&CHECK, Verdict::Fail);
        assert!((short.findings[0].figures[0].value - 2.1).abs() < 1e-9);
        // 44/20 = 2.2.
        assert!(short.findings[0].remedies[0].starts_with("a ring of 44 teeth"));
    }

    #[test]
    fn a_limit_nobody_looked_up_stops_nothing() {
        let report = geared(&[]).expect(&CHECK, Verdict::Caution);
        assert!(
            report.summary().contains("it gets 47.6 N m"),
            "{}",
            report.summary()
        );
        geared(&[]).cured(&CHECK, "hub-torque-limit=TORQUE", |job| {
            job.state(&[("hub-torque-limit", "130 N m")])
        });
    }

    #[test]
    fn without_gears_in_the_hub_or_with_a_motor_in_a_wheel_it_is_not_concerned() {
        longtail().expect(&CHECK, Verdict::NotApplicable);
        trekking()
            .state(&[("hub-gears", "8"), ("hub-torque-limit", "40 N m")])
            .expect(&CHECK, Verdict::NotApplicable);
        // A wheel with several cogs takes the hub's place.
        limit("40 N m")
            .build(&[("cassette", "cassette-9-11-36")])
            .expect(&CHECK, Verdict::NotApplicable);
        limit("110 N m")
            .build(&[("chainring", "none")])
            .expect(&CHECK, Verdict::Open);
    }
}
