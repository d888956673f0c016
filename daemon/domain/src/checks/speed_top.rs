//! `speed.top`: predicted top speed on the level, and what meets the assist limit: the cadence of a mid motor,
//! the winding of a hub.

use lockring_calc::assist::Assist;
use lockring_calc::doubt::{self, Limit};
use lockring_calc::pack::Load;
use lockring_calc::performance::{self, Climb, DriveSystem, Limit as Held, Place, Rider};
use lockring_calc::quantity::{AngularSpeed, Density, Length, Speed, Voltage};
use lockring_calc::road::RoadLoad;

use crate::assist::Help;
use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Finding, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::Judged;
use crate::part::Slot;
use crate::prediction;
use crate::stage::Stage;
use crate::unit::Kind;

/// Rider and motor together on the level in still air.
pub static CHECK: Check = Check {
    id: "speed.top",
    title: "predicted top speed on the level",
    gates: &[Stage::Intake],
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
    source: "road load of Martin et al. 1998 with motor, pack and gears; brief less 3 %, 95 rpm at most, a hub's \
             no-load speed 1.05 to 1.35 x the limit: common practice, no source",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    let mut findings = Vec::new();
    if case.optional_number("top-speed").is_some() {
        findings.push(wished_speed(case)?);
    }
    findings.extend(cadence_at_limit(case)?);
    findings.extend(winding_of_hub(case)?);
    if findings.is_empty() {
        return Halt::not_applicable(
            "the brief asks for no top speed, and no limit has to be met by legs or winding",
        );
    }
    Ok(findings)
}

fn wished_speed(case: &Case<'_>) -> Result<Finding, Halt> {
    let wish = case.number("top-speed")?.value;
    let short = case.rule("ride.top-speed-short");
    let system = prediction::drive(case, Load::Sustained)?;
    let rider = prediction::rider(case, case.number("rider-power")?.value);
    let road = prediction::road(case, prediction::gross_mass(case)?.value)?;
    let rho = prediction::air_density(case)?;
    let help = Help::of(case, None)?;
    let top = top(case, &system, help.assist, &rider, &road, rho)?;
    // Drag and rolling as guessed from words, and the losses of a hub gear, each moved by its standard uncertainty (JCGM
    // 100:2008, 5.1.3, note 2); the assist limit hides both where it governs.
    let spread = |key: &str| 1.0 + doubt::standard_from_half_width(case.rule(key));
    let dragged = RoadLoad {
        cda: road.cda * spread("cda.spread"),
        ..road
    };
    let slowed = RoadLoad {
        crr: road.crr * spread("crr.spread"),
        ..road
    };
    let by = |road: &RoadLoad| {
        self::top(case, &system, help.assist, &rider, road, rho).map(|moved| (moved.speed - top.speed).si())
    };
    let by_hub_gear = if prediction::through_hub_gear(case) {
        let mut lossy = system.clone();
        lossy.gears.chain_efficiency *=
            1.0 - doubt::standard_from_half_width(case.rule("model.hub-gear-spread"));
        (self::top(case, &lossy, help.assist, &rider, &road, rho)?.speed - top.speed).si()
    } else {
        0.0
    };
    let known = Known {
        value: top.speed.si(),
        u: by(&dragged)?.hypot(by(&slowed)?).hypot(by_hub_gear),
        provenance: Provenance::Stated,
    };
    let gear = system.gears.at(top.gear).unwrap_or_default();
    let job = case.job().number;
    let mut finding = Judged::new("top speed on the level", known, Kind::Speed, "km/h")
        .against(Limit::AtLeast(wish * (1.0 - short)))
        .with_arithmetic(format!(
            "brief {:.1} km/h less {:.0} %; motor {:.0} W, rider {:.0} W, {:.1} N at the wheel",
            Speed::from_si(wish).as_kilometres_per_hour(),
            100.0 * short,
            top.motor_power.as_watts(),
            top.rider_power.as_watts(),
            road.resistance(top.speed, prediction::grade(0.0), Speed::ZERO, rho)
                .as_newtons()
        ))
        .with_arithmetic(format!("help {}", help.said));
    finding.summary.push_str(&format!(
        "; limited by {}, {} at {:.0} rpm",
        prediction::held_by(top.limit),
        prediction::gear_named(gear),
        top.cadence.as_rpm()
    ));
    let finding = finding.with_remedy(cure(top.limit, job)).with_remedy(format!(
        "agree a lower top speed with the rider: lockring brief {job} top-speed=SPEED"
    ));
    // Slower pedals, and a slower motor at them: what holds otherwise no higher gear changes.
    let spins = match top.limit {
        Held::Cadence => true,
        Held::Voltage => prediction::is_mid(case)?,
        _ => false,
    };
    Ok(if spins {
        prediction::below_higher_gears(case, finding)
    } else {
        finding
    })
}

fn top(
    case: &Case<'_>,
    system: &DriveSystem,
    assist: Assist,
    rider: &Rider,
    road: &RoadLoad,
    rho: Density,
) -> Result<Climb, Halt> {
    let place = Place::still(rho, prediction::grade(0.0));
    performance::steady_climb_at(system, assist, Some(rider), road, place)
        .map_err(|error| prediction::unusable(case, "drive", &error))
}

/// A mid motor gives nothing without the pedals: the smallest cog must be small enough, or the hub's highest gear high enough.
fn cadence_at_limit(case: &Case<'_>) -> Result<Option<Finding>, Halt> {
    let Some(limit) = prediction::assist_limit(case)?.filter(|_| prediction::is_mid(case).unwrap_or(false))
    else {
        return Ok(None);
    };
    let highest = prediction::gears(case)?.highest().unwrap_or_default();
    let gear = highest
        .gear()
        .map_err(|error| prediction::unusable(case, "gearing", &error))?;
    let rolls = prediction::circumference(case)?;
    let cadence = |metres: f64| gear.cadence(limit, Length::metres(metres));
    let value: AngularSpeed = cadence(rolls.value);
    let u = (cadence(rolls.value + rolls.u) - value).abs().si();
    let known = Known {
        value: value.si(),
        u,
        provenance: rolls.provenance,
    };
    let what = if highest.hub.is_some() {
        "cadence at the assist limit in the hub's highest gear"
    } else {
        "cadence at the assist limit on the smallest cog"
    };
    let finding = Judged::new(what, known, Kind::Rotation, "rpm")
        .against(Limit::AtMost(case.rule("hill.top-cadence-most")))
        .with_arithmetic(format!(
            "{:.1} km/h on {}, {:.0} mm round = {:.0} rpm",
            limit.as_kilometres_per_hour(),
            prediction::gear_named(highest),
            1e3 * rolls.value,
            value.as_rpm()
        ))
        .with_remedy(format!(
            "a larger ring or a smaller cog, at less pull on the hill: lockring build {} chainring=PART cassette=PART",
            case.job().number
        ));
    // The words for a hub's higher gears go first: with them the limit may well be reached.
    Ok(Some(prediction::advise_only(
        prediction::below_higher_gears(case, finding),
        "the limit is reached with fast legs or not at all",
    )))
}

/// A hub has one gear: wound for a smaller wheel or a faster class it turns amperes into heat on the hill, wound
/// for a larger one it never reaches the limit.
fn winding_of_hub(case: &Case<'_>) -> Result<Option<Finding>, Halt> {
    let Some(limit) = prediction::assist_limit(case)?.filter(|_| !prediction::is_mid(case).unwrap_or(true))
    else {
        return Ok(None);
    };
    let motor = case.part(Slot::Motor)?;
    let at_nominal = AngularSpeed::radians_per_second(motor.number("no-load-speed")?);
    let nominal = Voltage::volts(motor.number("nominal-volts")?);
    // No-load speed goes with the volts: it is the job's pack that turns the hub.
    let pack = prediction::battery(&case.part(Slot::Pack)?)?.nominal();
    let turns = at_nominal * (pack / nominal);
    let rolls = prediction::circumference(case)?;
    let free = Speed::from_si(turns.as_rpm() / 60.0 * rolls.value);
    let over = free / limit;
    let known = Known {
        value: over,
        u: over * rolls.u / rolls.value,
        provenance: rolls.provenance,
    };
    let within = Limit::Within(case.rule("motor.hub-top-least"), case.rule("motor.hub-top-most"));
    let finding = Judged::new(
        "no-load speed of the hub over the assist limit",
        known,
        Kind::Count,
        "x",
    )
    .settled_by("inside the doubt of wheel and motor's sheet: ask the maker for a speed at stated volts, or roll out the wheel")
    .against(within)
    .with_arithmetic(format!(
        "{:.0} rpm at {:.1} V x {:.1} V of the pack at nominal = {:.0} rpm; x {:.0} mm = {:.1} km/h, limit {:.1} km/h",
        at_nominal.as_rpm(),
        nominal.as_volts(),
        pack.as_volts(),
        turns.as_rpm(),
        1e3 * rolls.value,
        free.as_kilometres_per_hour(),
        limit.as_kilometres_per_hour()
    ))
    .with_remedy(format!(
        "a hub wound for this wheel, limit and pack: lockring build {} motor=PART",
        case.job().number
    ));
    Ok(Some(prediction::advise_only(
        finding,
        "wound too fast it is hot and weak on the hill, too slow it never reaches the limit",
    )))
}

fn cure(limit: Held, job: u32) -> String {
    match limit {
        Held::AssistCutoff => {
            format!(
                "a ride class of a higher limit, where the place allows it: lockring brief {job} ride-class=CLASS"
            )
        }
        Held::Cadence => {
            format!(
                "a larger ring or a smaller cog, at less pull on the hill: lockring build {job} chainring=PART cassette=PART"
            )
        }
        Held::Voltage => {
            format!("a motor wound for more speed, at less pull on the hill: lockring build {job} motor=PART")
        }
        Held::LowVoltage => prediction::lower_cutoff(job),
        Held::AssistLevel => format!(
            "help that fades later or answers with more, as far as the class lets it: lockring build {job} controller=PART"
        ),
        Held::PhaseCurrent | Held::BatteryCurrent | Held::NoMotor => {
            format!(
                "a stronger controller and pack, at more energy for each kilometre: lockring build {job} controller=PART pack=PART"
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::Verdict;
    use crate::checks::testing::{Bench, hardtail, longtail, trekking};
    use crate::command::ReceiptText;
    use crate::rules::RuleSheet;

    #[test]
    fn the_three_builds_reach_what_is_wished() {
        for bench in [trekking(), longtail(), hardtail()] {
            bench.expect(&CHECK, Verdict::Pass);
        }
    }

    /// The trekking bicycle for Japan, its controller as read off its sheet.
    fn in_japan(sheet: &[(&str, &str)]) -> Bench {
        trekking()
            .state(&[("ride-class", "jp-assist"), ("top-speed", "24 km/h")])
            .receive("pedal-sensor", &[("senses", "torque")], ReceiptText::default())
            .receive("controller", sheet, ReceiptText::default())
    }

    #[test]
    fn help_that_fades_is_gone_at_the_limit_and_the_wish_with_it() {
        // Japan, ratio over the rider as read: 2 below 10 km/h, 2 - (v - 10)/7 to nothing at 24 km/h. On the level rider
        // and motor give what the road takes: P (0.97 + 2 - (v - 10)/7) = F v, chain 0.97.
        for sheet in [
            &[("high-ratio", "2"), ("taper", "14 km/h")][..],
            // Over the class or not known: no more than the class has it.
            &[("high-ratio", "3")],
            &[],
        ] {
            let bench = in_japan(sheet);
            let report = bench.expect(&CHECK, Verdict::Fail);
            let speed = report.findings[0].figures[0].value;
            assert!((18.0..23.0).contains(&speed), "{sheet:?}: {speed}");
            let rules = RuleSheet::shipped();
            let case = Case::new(&bench.job, &rules, Stage::Parts);
            let road = prediction::road(&case, prediction::gross_mass(&case).unwrap().value).unwrap();
            let rho = prediction::air_density(&case).unwrap();
            let v = Speed::kilometres_per_hour(speed);
            let takes = road.resistance(v, prediction::grade(0.0), Speed::ZERO, rho).si() * v.si();
            let chain = rules.number("model.chain-efficiency").unwrap();
            let gives = case.number("rider-power").unwrap().value * (chain + 2.0 - (speed - 10.0) / 7.0);
            assert!(
                (gives / takes - 1.0).abs() < 0.01,
                "{sheet:?} at {speed} km/h: {gives} of {takes} W"
            );
        }
        let said = in_japan(&[("high-ratio", "3")]).report(&CHECK);
        let arithmetic = said.findings[0].arithmetic.join("; ");
        assert!(
            arithmetic.contains("over the class's stored ratio"),
            "{arithmetic}"
        );
    }

    #[test]
    fn cadence_at_the_limit_of_the_class() {
        // Worked example of the trade (common practice, no source): 25 km/h on 38/11 is 57 rpm
        // with a wheel of 2110 mm; 28 mph on 42/11 is 86 rpm, there with a wheel of 2290 mm. The
        // tyres named here come to 2108 and 2287 mm.
        let regeared = longtail()
            .build(&[("chainring", "ring-38-5"), ("cassette", "cassette-9-11-36")])
            .state(&[("tyre-size", "56-559")]);
        let fast = hardtail().state(&[("tyre-size", "53-622")]);
        for (bench, rpm) in [(regeared, 57.0), (fast, 86.0)] {
            let report = bench.report(&CHECK);
            let cadence = &report.findings[1].figures[0];
            assert!((cadence.value - rpm).abs() < 0.6, "{} rpm", cadence.value);
        }
    }

    #[test]
    fn too_small_a_ring_for_a_fast_class_is_a_caution_and_a_larger_one_clears_it() {
        let spun = hardtail().build(&[("chainring", "ring-38-5")]);
        let report = spun.report(&CHECK);
        assert_eq!(
            report.findings[1].verdict,
            Verdict::Caution,
            "{}",
            report.findings[1].summary
        );
        let cleared = spun.build(&[("chainring", "ring-42-6")]).report(&CHECK);
        assert_eq!(
            cleared.findings[1].verdict,
            Verdict::Pass,
            "{}",
            cleared.findings[1].summary
        );
    }

    /// The longtail on one cog of 20 teeth behind a ring of 38, for a limit of 45 km/h, with a three-speed hub: sun of 20,
    /// annulus of 60 teeth, 60/80 = 0.75 and 1 + 20/60 = 1.333 (Shigley, Mechanical Engineering Design, planetary gear trains).
    fn three_speed() -> Bench {
        longtail()
            .build(&[("chainring", "ring-38-5"), ("cassette", "none")])
            .measure(&[("assist-limit", "45 km/h")])
            .state(&[
                ("cogs", "20"),
                ("top-speed", "40 km/h"),
                ("hub-ratios", "0.75-1-1.33333333"),
            ])
    }

    #[test]
    fn a_hub_gear_of_known_ratios_is_computed_in_its_own_gears() {
        let geared = three_speed();
        let report = geared.expect(&CHECK, Verdict::Fail);
        // By hand: 45 km/h is 12.5 m/s; over the wheel, x 20/38 x 3/4, in turns a minute.
        let rules = RuleSheet::shipped();
        let case = Case::new(&geared.job, &rules, Stage::Intake);
        let rolls = prediction::circumference(&case).unwrap().value;
        let rpm = 12.5 / rolls * 20.0 / 38.0 * 0.75 * 60.0;
        let cadence = &report.findings[1];
        assert!(
            (cadence.figures[0].value - rpm).abs() < 0.5,
            "{rpm}: {}",
            cadence.summary
        );
        assert!(
            cadence
                .summary
                .starts_with("cadence at the assist limit in the hub's highest gear")
        );
        let said = cadence.arithmetic.join("; ");
        assert!(said.contains("38/20 in hub gear 3 of 3 (x 1.33)"), "{said}");
        let said = &report.findings[0].summary;
        assert!(
            said.contains("38/20 in hub gear 3 of 3 (x 1.33) at") && !said.contains("direct drive"),
            "{said}"
        );
        // It goes as fast as a cog of 15 teeth does by itself, but for what the hub loses.
        let plain = three_speed().forget("hub-ratios").state(&[("cogs", "15")]);
        let speed = |bench: &Bench| bench.report(&CHECK).findings[0].figures[0].value;
        let (hub, cog) = (speed(&geared), speed(&plain));
        assert!(hub < cog && hub > 0.98 * cog, "{hub} and {cog} km/h");
    }

    #[test]
    fn a_hub_gear_is_reckoned_in_direct_drive_and_its_higher_gears_may_reach_the_speed() {
        // One cog of 20 teeth behind a ring of 38: by hand 45 km/h / 2.1 m x 20/38 = 188 rpm, far over the 95 of the rule.
        let spun = || {
            longtail()
                .build(&[("chainring", "ring-38-5"), ("cassette", "none")])
                .measure(&[("assist-limit", "45 km/h")])
                .state(&[("cogs", "20"), ("top-speed", "40 km/h")])
        };
        let plain = spun().expect(&CHECK, Verdict::Fail);
        assert!(plain.summary().contains("limited by"), "{}", plain.summary());
        let geared = spun().state(&[("hub-gears", "8")]);
        let report = geared.expect(&CHECK, Verdict::Caution);
        for finding in &report.findings {
            assert!(
                finding.summary.contains("higher gears are not"),
                "{}",
                finding.summary
            );
        }
        // A wheel with several cogs takes the hub's place.
        geared
            .build(&[("cassette", "cassette-9-11-36")])
            .report(&CHECK)
            .findings
            .iter()
            .for_each(|finding| assert!(!finding.summary.contains("hub gear"), "{}", finding.summary));
    }

    #[test]
    fn a_wish_beyond_the_limit_of_the_class_fails_and_turns_at_three_per_cent() {
        // Common practice, no source: the brief less 3 %; 25 / 0.97 = 25.77 km/h.
        let wish = |speed| trekking().state(&[("top-speed", speed)]).report(&CHECK).verdict;
        assert_eq!(wish("25.7 km/h"), Verdict::Pass);
        assert_eq!(wish("25.9 km/h"), Verdict::Fail);
    }

    #[test]
    fn below_the_limit_the_guessed_drag_is_doubt() {
        let free = trekking().measure(&[("assist-limit", "45 km/h")]);
        let report = free.clone().state(&[("top-speed", "27 km/h")]).report(&CHECK);
        let (speed, doubt) = (
            report.findings[0].figures[0].value,
            report.findings[0].figures[0].uncertainty.unwrap(),
        );
        assert!(doubt > 0.3, "{doubt}");
        let wish = format!("{:.2} km/h", speed / 0.97);
        free.state(&[("top-speed", &wish)])
            .expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn no_wish_and_no_limit_are_not_concerned_and_no_class_is_open() {
        trekking()
            .forget("top-speed")
            .state(&[("ride-class", "generic-private")])
            .expect(&CHECK, Verdict::NotApplicable);
        trekking().forget("ride-class").expect(&CHECK, Verdict::Open);
    }

    #[test]
    fn a_hub_wound_for_another_wheel_is_a_caution() {
        // Common practice, no source: 1.05 to 1.35 x the limit. By hand: 235 rpm x 2.24 m, the tyre's mark, is
        // 31.6 km/h, 1.26 x 25; 420 rpm are 2.26 x, 180 rpm 0.97 x.
        let wound = |rpm: &str| {
            trekking()
                .receive("motor", &[("no-load-speed", rpm)], ReceiptText::default())
                .forget("top-speed")
        };
        let report = trekking().forget("top-speed").expect(&CHECK, Verdict::Pass);
        assert!((report.findings[0].figures[0].value - 1.26).abs() < 0.03);
        let fast = wound("420 rpm").expect(&CHECK, Verdict::Caution);
        assert!((fast.findings[0].figures[0].value - 2.26).abs() < 0.05);
        wound("180 rpm").expect(&CHECK, Verdict::Caution);
    }

    #[test]
    fn a_pack_of_more_volts_than_the_hub_is_wound_for_turns_it_faster() {
        // By hand: 235 rpm at 36 V are 235 x 46.8/36 = 305.5 rpm on 13 cells in series at 3.6 V; x 2.24 m, the tyre's mark,
        // 41.1 km/h, 1.64 x 25.
        let report = trekking()
            .forget("top-speed")
            .receive("pack", &[("series", "13")], ReceiptText::default())
            .expect(&CHECK, Verdict::Caution);
        let over = report.findings[0].figures[0].value;
        assert!((over - 1.64).abs() < 0.04, "{over}");
        let said = report.findings[0].arithmetic.join("; ");
        assert!(
            said.contains("235 rpm at 36.0 V x 46.8 V") && said.contains("= 306 rpm"),
            "{said}"
        );
    }

    #[test]
    fn a_front_hub_turns_its_own_wheel() {
        // By hand: 225 rpm x pi (406 + 2 x 55) mm = 1 621 mm is 21.9 km/h, 0.875 x 25; the rear wheel of 2 102 mm would
        // make it 28.4 km/h.
        let bench = || {
            trekking()
                .forget("top-speed")
                .state(&[("tyre-size", "55-559"), ("tyre-size-front", "55-406")])
        };
        let found = [("place", "front-hub"), ("no-load-speed", "225 rpm")];
        let front = bench().receive("motor", &found, ReceiptText::default());
        let report = front.expect(&CHECK, Verdict::Caution);
        let over = report.findings[0].figures[0].value;
        assert!((over - 0.875).abs() < 0.005, "{over}");
        let rear = bench().receive("motor", &found[1..], ReceiptText::default());
        let over = rear.report(&CHECK).findings[0].figures[0].value;
        assert!((over - 28.37 / 25.0).abs() < 0.005, "{over}");
        // The chain turns the rear wheel whatever the motor does.
        let rules = RuleSheet::shipped();
        let radius = |bench: &Bench| {
            let case = Case::new(&bench.job, &rules, Stage::Parts);
            prediction::road(&case, 100.0).unwrap().tyre_radius.si()
        };
        assert!((radius(&front) - radius(&rear)).abs() < 1e-12);
        // Rolled out is the motor's wheel.
        let rolled = front.measure(&[("circumference", "1610 mm")]);
        assert!((radius(&rolled) - radius(&rear)).abs() < 1e-12);
    }

    #[test]
    fn the_wish_agreed_as_the_remedy_says_clears_it() {
        trekking().state(&[("top-speed", "30 km/h")]).cured(
            &CHECK,
            "lockring brief 20 top-speed=SPEED",
            |job| job.state(&[("top-speed", "25 km/h")]),
        );
    }
}
