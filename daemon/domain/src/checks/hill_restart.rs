//! `hill.restart`: predicted start from a standstill on the worst hill.

use lockring_calc::assist::Assist;
use lockring_calc::doubt::Limit;
use lockring_calc::pack::Load;
use lockring_calc::performance::{self, DriveSystem, Rider};
use lockring_calc::quantity::{G, Mass, Speed};
use lockring_calc::road::RoadLoad;

use crate::assist::Help;
use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::judge::Judged;
use crate::prediction::{self, HillGrade, Lift};
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Acceleration at full assist in the lowest gear; the limit is itself the margin for what
/// the model leaves out.
pub static CHECK: Check = Check {
    id: "hill.restart",
    title: "predicted start on the worst hill",
    gates: &[Stage::Intake, Stage::Parts],
    family: Family::Ride,
    version: 7,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
        Verdict::Fail,
    ],
    source: "common practice, no source: 0.20 m/s2 over what the slope takes; a front wheel lifts by statics about the rear tyre",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !case.flag("hill-restart")? {
        return Halt::not_applicable("the brief asks for no start on the hill");
    }
    prediction::need(case, &["hill-grade", "hill-source", "rider-power-hill"])?;
    let start = Start::of(case)?;
    let judged = |hill: &HillGrade| {
        let finding = start.judge(&start.system, hill)?;
        start.with_cures(prediction::in_direct_drive(case, finding), hill)
    };
    let hills = prediction::hill_grades(case)?;
    let mut findings = hills.iter().map(judged).collect::<Result<Vec<_>, _>>()?;
    // What the slope takes of the start it takes of the lift as well: one hill says it for all.
    if let Some(hill) = hills.first() {
        findings.extend(start.front_wheel(hill)?);
    }
    Ok(findings)
}

/// The bicycle standing on the hill.
struct Start<'c, 'a> {
    case: &'c Case<'a>,
    system: DriveSystem,
    assist: Assist,
    rider: Rider,
    road: RoadLoad,
    mass_doubt: f64,
}

impl<'c, 'a> Start<'c, 'a> {
    fn of(case: &'c Case<'a>) -> Result<Self, Halt> {
        let gross = prediction::gross_mass(case)?;
        Ok(Self {
            case,
            system: prediction::drive(case, Load::Pulse)?,
            assist: Help::of(case, None)?.assist,
            rider: prediction::rider(case, case.number("rider-power-hill")?.value),
            road: prediction::road(case, gross.value)?,
            mass_doubt: gross.u,
        })
    }

    /// Acceleration in m/s².
    fn acceleration(&self, system: &DriveSystem, mass: Mass, grade: f64) -> Result<f64, Halt> {
        let road = RoadLoad { mass, ..self.road };
        performance::restart_acceleration_under(
            system,
            self.assist,
            Some(&self.rider),
            &road,
            prediction::grade(grade),
        )
        .map(|acceleration| acceleration.si())
        .map_err(|error| prediction::unusable(self.case, "drive", &error))
    }

    fn judge(&self, system: &DriveSystem, hill: &HillGrade) -> Result<Finding, Halt> {
        let (mass, grade) = (self.road.mass, hill.grade.value);
        let value = self.acceleration(system, mass, grade)?;
        // Each input moved by its standard uncertainty (JCGM 100:2008, 5.1.3, note 2).
        let by_grade = self.acceleration(system, mass, grade + hill.grade.u)? - value;
        let by_mass = self.acceleration(system, mass + Mass::kilograms(self.mass_doubt), grade)? - value;
        let known = Known {
            value,
            u: by_grade.hypot(by_mass),
            provenance: hill.grade.provenance,
        };
        let takes = self.road.resistance(
            Speed::ZERO,
            prediction::grade(grade),
            Speed::ZERO,
            prediction::air_density(self.case)?,
        );
        // What a forecast draws of the motor; the limit stands for it here.
        let weak = self.case.rule("model.motor-spread");
        let mut weaker = system.clone();
        if let Some(motor) = &mut weaker.motor {
            motor.phase_limit = motor.phase_limit * (1.0 - weak);
        }
        let off = value - self.acceleration(&weaker, mass, grade)?;
        let inertia = self.road.equivalent_mass().as_kilograms();
        let what = format!("start on {} ({})", unit::show(Kind::Ratio, "%", grade), hill.said);
        Ok(Judged::new(&what, known, Kind::Acceleration, "m/s2")
            .against(Limit::AtLeast(self.case.rule("hill.restart-acceleration")))
            .with_arithmetic(format!(
                "({:.1} N - {:.1} N) / {inertia:.1} kg = {value:.2} m/s2, {} rider and motor",
                takes.as_newtons() + value * inertia,
                takes.as_newtons(),
                lowest(system)
            ))
            .with_arithmetic(format!(
                "{}; the motor's torque may be {:.0} % off: {off:.2} m/s2 either way, for which the limit itself is the margin",
                prediction::judged_with(self.case)?,
                100.0 * weak
            )))
    }

    /// A start so hard that the front wheel leaves the road first.
    fn front_wheel(&self, hill: &HillGrade) -> Result<Option<Finding>, Halt> {
        let (case, grade) = (self.case, hill.grade.value);
        let Some(lift) = Lift::of(case, prediction::gross_mass(case)?)? else {
            return Ok(None);
        };
        let most = lift.most(case, grade)?.si();
        let start = self.acceleration(&self.system, self.road.mass, grade)?;
        if start <= most {
            return Ok(None);
        }
        let job = case.job().number;
        let shown = |value: f64| format!("{value:.2} m/s2");
        let finding = Finding::new(
            Verdict::Caution,
            format!(
                "full help at {} from standstill lifts the front wheel, which leaves the road from {} on: the rider may go over \
                 backwards",
                shown(start),
                shown(most)
            ),
        )
        .with_arithmetic(format!(
            "{G:.2} x ({:.2} m x cos - {:.2} m x sin of {}) / {:.2} m, the mass from the rear contact and over the road{}",
            lift.behind,
            lift.height,
            unit::show(Kind::Ratio, "%", grade),
            lift.height,
            if lift.measured { "" } else { ", not all measured" }
        ))
        .with_remedy(format!(
            "a motor of less torque: lockring build {job} motor=PART; less battery current hardly changes a start from standstill"
        ))
        .with_remedy("or a controller that starts gently, and the rider shown to start in a low level of help");
        Ok(Some(if case.knows("wheelbase") {
            finding
        } else {
            finding.with_remedy(format!(
                "by its own wheelbase: lockring donor {job} wheelbase=LENGTH"
            ))
        }))
    }

    fn with_cures(&self, mut finding: Finding, hill: &HillGrade) -> Result<Finding, Halt> {
        if finding.verdict == Verdict::Pass {
            return Ok(finding);
        }
        if !self.case.wants_words() {
            if prediction::is_mid(self.case)? {
                prediction::largest_cog(self.case);
            }
            return Ok(finding);
        }
        let job = self.case.job().number;
        if let Some(remedy) = hill.measure_first(job) {
            finding = finding.with_remedy(remedy);
        }
        if !prediction::is_mid(self.case)? {
            return Ok(finding.with_remedy(format!(
                "a motor of more torque, or a mid motor: lockring build {job} motor=PART; it costs top speed or money"
            )));
        }
        let does = |system: &DriveSystem| {
            self.judge(system, hill)
                .is_ok_and(|tried| tried.verdict == Verdict::Pass)
        };
        let easier = prediction::easier_gearings(self.case, &self.system, does);
        if easier.is_empty() {
            finding = finding.with_remedy(prediction::no_easier_gearing(
                self.case,
                &self.system,
                "less load, or a motor of more torque",
            ));
        }
        for system in easier {
            let value = self.acceleration(&system, self.road.mass, hill.grade.value)?;
            finding = finding.with_remedy(format!(
                "{} as the lowest gear: {value:.2} m/s2: lockring build {job} chainring=PART cassette=PART; look at \
                 chainline, chain length and top cadence again",
                lowest(&system)
            ));
        }
        Ok(finding)
    }
}

fn lowest(system: &DriveSystem) -> String {
    prediction::gear_named(system.gears.lowest().unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};

    fn measured(grade: &str) -> Bench {
        longtail().state(&[("hill-grade", grade), ("hill-source", "measured")])
    }

    fn value(report: &crate::check::Report, index: usize) -> f64 {
        report.findings[index].figures[0].value
    }

    #[test]
    fn of_two_rings_the_rider_starts_on_the_smaller() {
        // First principles: the legs' torque at the wheel is divided by the ring, so that the start is that of a bicycle
        // with the small ring alone, and gains 30 N m x 0.95 x (32/28 - 32/48) / r / m over one with the large.
        let rings = |large: &str, least: Option<&str>| {
            let bench = trekking().state(&[("hill-restart", "yes"), ("ring-teeth", large)]);
            match least {
                Some(least) => bench.state(&[("ring-teeth-least", least)]),
                None => bench,
            }
        };
        let [both, small, large] =
            [("48", Some("28")), ("28", None), ("48", None)].map(|(ring, least)| rings(ring, least));
        let start = |bench: &Bench| value(&bench.report(&CHECK), 0);
        assert!((start(&both) - start(&small)).abs() < 1e-12);
        let rules = crate::rules::RuleSheet::shipped();
        let case = Case::new(&both.job, &rules, Stage::Intake);
        let road = prediction::road(&case, prediction::gross_mass(&case).unwrap().value).unwrap();
        let gained =
            30.0 * 0.95 * (32.0 / 28.0 - 32.0 / 48.0) / road.tyre_radius.si() / road.equivalent_mass().si();
        assert!((start(&both) - start(&large) - gained).abs() < 1e-9, "{gained}");
        let said = both.report(&CHECK).findings[0].arithmetic.join("; ");
        assert!(said.contains("28/32 rider and motor"), "{said}");
        // A ring chosen, or a mid motor's spider, takes the place of both.
        let chosen = both.build(&[("chainring", "ring-38-5")]);
        assert!(
            chosen.report(&CHECK).findings[0]
                .arithmetic
                .join("; ")
                .contains("38/32")
        );
    }

    #[test]
    fn a_hub_gear_of_known_ratios_starts_in_its_lowest() {
        // A three-speed hub, sun of 20 and annulus of 60 teeth: 60/80 = 0.75, 1, 80/60 (Shigley, Mechanical Engineering Design,
        // planetary gear trains). First principles: the pull at the wheel of 20 teeth through 0.75 is that of 20/0.75 = 26.67
        // teeth, of which 0.92 gets there where it was 0.95.
        let bench = measured("8 %")
            .build(&[("cassette", "none")])
            .state(&[("cogs", "20")]);
        let pull = |bench: &Bench| {
            let rules = crate::rules::RuleSheet::shipped();
            let case = Case::new(&bench.job, &rules, Stage::Intake);
            let road = prediction::road(&case, prediction::gross_mass(&case).unwrap().value).unwrap();
            let takes = road.resistance(
                Speed::ZERO,
                prediction::grade(0.08),
                Speed::ZERO,
                prediction::air_density(&case).unwrap(),
            );
            value(&bench.report(&CHECK), 0) * road.equivalent_mass().si() + takes.si()
        };
        let hub = bench
            .clone()
            .state(&[("hub-gears", "3"), ("hub-ratios", "0.75-1-1.33")]);
        let gained = pull(&hub) / pull(&bench);
        assert!((gained - 0.92 / (0.75 * 0.95)).abs() < 1e-6, "{gained}");
        let report = hub.report(&CHECK);
        let said = report.findings[0].arithmetic.join("; ");
        assert!(
            said.contains("42/20 in hub gear 1 of 3 (x 0.75)") && !said.contains("direct drive"),
            "{said}"
        );
        // What is not reached in the lowest gear fails as anything does.
        bench
            .state(&[("hub-ratios", "0.95-1-1.33"), ("hill-grade", "14 %")])
            .expect(&CHECK, Verdict::Fail);
        // A wheel with several cogs takes the hub's place.
        let cogs = hub.clone().build(&[("cassette", "cassette-9-11-36")]);
        let without = cogs.clone().forget("hub-ratios").forget("hub-gears");
        assert_eq!(cogs.report(&CHECK).findings, without.report(&CHECK).findings);
    }

    #[test]
    fn a_hub_gear_is_reckoned_in_direct_drive_and_stops_nothing() {
        // A wheel with one cog; one with several takes the hub's place.
        let steep = measured("14 %")
            .build(&[("cassette", "none")])
            .state(&[("cogs", "20")]);
        steep.expect(&CHECK, Verdict::Fail);
        let hub_gear = steep.state(&[("hub-gears", "3")]);
        let geared = hub_gear.expect(&CHECK, Verdict::Caution);
        assert!(geared.summary().contains("direct drive"), "{}", geared.summary());
        hub_gear.clone().cured(&CHECK, "hub-ratios=RATIOS", |job| {
            job.state(&[("hub-ratios", "0.3-1-1.33")])
        });
        let cogs = hub_gear.build(&[("cassette", "cassette-9-11-36")]).report(&CHECK);
        assert!(!cogs.summary().contains("direct drive"), "{}", cogs.summary());
        // A motor in the rear wheel takes the hub's place.
        let hub = |bench: Bench| {
            bench
                .state(&[
                    ("hill-restart", "yes"),
                    ("hill-grade", "14 %"),
                    ("hill-source", "measured"),
                ])
                .report(&CHECK)
                .findings
        };
        assert_eq!(hub(trekking()), hub(trekking().state(&[("hub-gears", "3")])));
    }

    #[test]
    fn as_told_it_starts_and_steeper_it_does_not() {
        // Worked example of the trade (common practice, no source): 229.0 N against 167.2 N is
        // 0.33 m/s2 at 8 %; against 211.3 N at 10.4 % it is 0.09.
        let report = longtail().expect(&CHECK, Verdict::Fail);
        assert_eq!(report.findings.len(), 2);
        assert_eq!(
            report.findings[0].verdict,
            Verdict::Pass,
            "{}",
            report.findings[0].summary
        );
        assert!((value(&report, 0) - 0.33).abs() < 0.03, "{}", value(&report, 0));
        assert!((value(&report, 1) - 0.09).abs() < 0.03, "{}", value(&report, 1));
        // By hand: 5 % of the motor's 160.3 N over 190 kg and the wheels' inertia is 0.04 m/s2.
        let said = &report.findings[0].arithmetic[1];
        assert!(said.contains("35 % of the charge left"), "{said}");
        assert!(said.contains("5 % off: 0.04 m/s2 either way"), "{said}");
    }

    #[test]
    fn on_the_measured_hill_the_table_of_gearings_comes_out() {
        // Worked example of the trade (common practice, no source), on 10.8 %: 42/34 0.05, 38/36
        // 0.26, 36/36 0.34 m/s2.
        let hill = measured("10.8 %");
        let report = hill.expect(&CHECK, Verdict::Fail);
        assert!((value(&report, 0) - 0.05).abs() < 0.03, "{}", value(&report, 0));
        assert!(
            report.findings[0]
                .remedies
                .iter()
                .any(|remedy| remedy.starts_with("38/36")),
            "{:?}",
            report.findings
        );
        let geared = |ring| {
            hill.clone()
                .build(&[("chainring", ring), ("cassette", "cassette-9-11-36")])
        };
        let better = geared("ring-38-5").expect(&CHECK, Verdict::Pass);
        assert!((value(&better, 0) - 0.26).abs() < 0.03, "{}", value(&better, 0));
        let best = geared("ring-36-2").expect(&CHECK, Verdict::Pass);
        assert!((value(&best, 0) - 0.34).abs() < 0.03, "{}", value(&best, 0));
    }

    #[test]
    fn the_verdict_turns_with_the_grade_and_its_doubt_between() {
        // First principles: 0.01 of grade takes about 0.098 m/s2.
        let order: Vec<Verdict> = ["8 %", "9.3 %", "10 %"]
            .into_iter()
            .map(|grade| measured(grade).report(&CHECK).verdict)
            .collect();
        assert_eq!(order, [Verdict::Pass, Verdict::Caution, Verdict::Fail]);
    }

    #[test]
    fn a_strong_mid_starts_and_a_rider_who_needs_none_is_not_concerned() {
        hardtail().expect(&CHECK, Verdict::Pass);
        trekking().expect(&CHECK, Verdict::NotApplicable);
        trekking().forget("hill-restart").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn two_who_pedal_start_with_twice_the_torque() {
        // First principles: 30 N m more at the crank are 30 x 0.95 x 34/42 / r at the wheel.
        let one = measured("10.8 %");
        let two = one.clone().state(&[("crew", "2")]);
        let rules = crate::rules::RuleSheet::shipped();
        let case = Case::new(&one.job, &rules, Stage::Intake);
        let road = prediction::road(&case, prediction::gross_mass(&case).unwrap().value).unwrap();
        let gained = 30.0 * 0.95 * 34.0 / 42.0 / road.tyre_radius.si() / road.equivalent_mass().si();
        let [before, after] = [&one, &two].map(|bench| value(&bench.report(&CHECK), 0));
        assert!(
            (after - before - gained).abs() < 1e-9,
            "{before} and {after} m/s2, {gained}"
        );
        one.expect(&CHECK, Verdict::Fail);
        two.expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn a_start_that_lifts_the_front_wheel_is_a_caution() {
        // First principles: moments about the rear contact, g (b cos - h sin) / h. With b = 0.4 x 1.0 m and h = 1.1 m on 8 %
        // 2.77 m/s2. A child of 22 kg on a strong mid motor starts far harder than that by the force at the wheel alone.
        let grown = hardtail().state(&[("hill-grade", "8 %"), ("hill-source", "measured")]);
        grown.expect(&CHECK, Verdict::Pass);
        let child = grown.state(&[("rider-mass", "22 kg"), ("load-mass", "0 kg")]);
        let report = child.expect(&CHECK, Verdict::Caution);
        let said = &report.findings[1];
        assert!(said.summary.contains("from 2.77 m/s2 on"), "{}", said.summary);
        child.cured(&CHECK, "a motor of less torque", |job| {
            job.receive(
                "motor",
                &[("peak-torque", "30 N m")],
                crate::command::ReceiptText::default(),
            )
        });
    }

    #[test]
    fn a_front_wheel_with_next_to_no_load_lifts_and_leaves_nothing_open() {
        // First principles: 5 kg of 100 on the front of 1.0 m are b = 0.05 m; with h = 1.1 m on 8 % the slope takes more than
        // that: 9.80665 x (0.9968 x 0.05/1.1 - 0.07975) = -0.34 m/s2.
        let light = hardtail()
            .state(&[("hill-grade", "8 %"), ("hill-source", "measured")])
            .measure(&[("scale-front", "5 kg"), ("scale-rear", "95 kg")]);
        let rules = crate::rules::RuleSheet::shipped();
        let report = crate::check::run(&CHECK, &light.job, &rules, Stage::TestRide);
        assert_eq!(report.verdict, Verdict::Caution, "{:?}", report.findings);
        let said = &report.findings[1].summary;
        assert!(said.contains("from -0.34 m/s2 on"), "{said}");
    }

    #[test]
    fn where_no_gearing_near_does_it_the_remedy_says_what_was_looked_at() {
        // First principles: 18 % takes more than twice the force of the 8 % that 42/34 starts on.
        // The derailleur takes a cog of 36, two teeth more than the bicycle has.
        let report = measured("18 %").expect(&CHECK, Verdict::Fail);
        let remedies = &report.findings[0].remedies;
        let said = remedies.iter().find(|remedy| remedy.contains("does it")).unwrap();
        assert!(
            said.starts_with("no ring from 28 teeth on with a cog of up to 36 does it"),
            "{said}"
        );
        assert!(said.contains("lockring regear"), "{said}");
    }

    #[test]
    fn the_gearing_the_remedy_names_clears_it() {
        measured("10.8 %").cured(&CHECK, "38/36 as the lowest gear", |job| {
            job.build(&[("chainring", "ring-38-5"), ("cassette", "cassette-9-11-36")])
        });
    }
}
