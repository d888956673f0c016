//! `brakes.heat`: what the brakes must turn into heat on the rider's descent.

use lockring_calc::brakes;
use lockring_calc::doubt::{self, Decision, Limit};
use lockring_calc::dropout::Wheel;
use lockring_calc::quantity::{Density, Energy, Force, Grade, Mass, Power, Speed};
use lockring_calc::road::RoadLoad;

use crate::block::Family;
use crate::case::{Case, Known};
use crate::check::{Check, Concede, Halt, Outcome, Verdict};
use crate::fact::Provenance;
use crate::judge::{self, Judged};
use crate::prediction::{self, Brake};
use crate::stage::Stage;
use crate::unit::{self, Kind};

/// Least speed of a descent that a brief takes, km/h.
const SLOWEST_KMH: f64 = 3.0;

/// Steady power of each brake on the brief's descent.
pub static CHECK: Check = Check {
    id: "brakes.heat",
    title: "heat of the brakes on the rider's descent",
    gates: &[Stage::Intake],
    family: Family::Safe,
    version: 3,
    concede: Concede::Owner,
    gives: &[
        Verdict::NotApplicable,
        Verdict::Pass,
        Verdict::Caution,
        Verdict::Open,
    ],
    source: "Feier, Way and Redfield 2020: a disc-brake rig ran pads up to 400 W (abstract read); shared equally by two \
             brakes, workshop judgement; for brakes at the rim or in the hub no figure was found, their limit is workshop judgement",
    run,
};

fn run(case: &Case<'_>) -> Outcome {
    if !case.knows("descent-grade") {
        return Halt::not_applicable("the brief names no descent");
    }
    prediction::need(case, &["descent-speed"])?;
    let grade = case.number("descent-grade")?;
    let speed = Speed::from_si(case.number("descent-speed")?.value);
    let gross = prediction::gross_mass(case)?;
    let road = prediction::road(case, gross.value)?;
    let air = prediction::air_density(case)?;
    let descent = Descent {
        case,
        grade,
        gross,
        air,
        road,
    };
    let Heat { both, u, drag } = descent.at(speed)?;
    let each = both / 2.0;
    let known = Known {
        value: each.as_watts(),
        u,
        provenance: Provenance::Stated,
    };
    let weaker = weaker(case)?;
    let most = Limit::AtMost(case.rule(if weaker.is_disc() {
        "brake.heat-most"
    } else {
        "brake.heat-other-most"
    }));
    let job = case.job().number;
    let down = unit::show(Kind::Grade, "%", grade.value);
    let mut finding = Judged::new(
        &format!("heat of each brake, {down} down"),
        known,
        Kind::Power,
        "W",
    )
    .against(most)
    .with_figure(judge::figure(
        "both brakes together",
        Kind::Power,
        "W",
        both.as_watts(),
    ))
    .with_arithmetic(format!(
        "({:.1} kg x g x sin of {down} - {:.1} N rolling and air) x {:.1} km/h = {:.0} W for both",
        gross.value,
        drag.as_newtons(),
        speed.as_kilometres_per_hour(),
        both.as_watts()
    ));
    if let Some(length) = case.optional_number("descent-length") {
        let seconds = length.value / speed.as_metres_per_second();
        let kept = Energy::joules(each.as_watts() * seconds);
        finding = finding
            .with_figure(judge::figure(
                "heat of each brake at the foot",
                Kind::Energy,
                "Wh",
                kept.si(),
            ))
            .with_arithmetic(format!(
                "{:.0} W x {seconds:.0} s on {} = {:.1} Wh in each brake, less what the air carries off",
                each.as_watts(),
                unit::show(Kind::Length, "m", length.value),
                kept.as_watt_hours()
            ));
    }
    if finding.verdict != Verdict::Pass {
        for line in what_heat_does(weaker) {
            finding = finding.with_arithmetic(*line);
        }
        finding = finding.with_remedy(match descent.fastest_within(most, speed)? {
                Some(kmh) => format!(
                    "no faster than {kmh:.0} km/h down it, or with stops to let the brakes cool; told to the rider: lockring brief {job} \
                     descent-speed={kmh:.0}km/h"
                ),
                None => "walk down it, or another way: no riding speed is slow enough".to_owned(),
            });
    }
    let why = if weaker.is_disc() {
        "no standard gives a limit for steady heat; try the descent with care".to_owned()
    } else {
        format!(
            "what {} brakes stand is published nowhere and cannot be judged; the limit is a workshop's",
            weaker.kind
        )
    };
    Ok(vec![prediction::advise_only(finding, &why)])
}

/// The brake that stands less heat: of two unlike ones, each taking half, the one that is no disc brake.
fn weaker(case: &Case<'_>) -> Result<Brake, Halt> {
    let [front, rear] = [Wheel::Front, Wheel::Rear].map(|wheel| prediction::brake(case, wheel));
    let (front, rear) = (front?, rear?);
    Ok(if front.is_disc() { rear } else { front })
}

/// What becomes of a brake that is too hot (common practice, no source).
fn what_heat_does(brake: Brake) -> &'static [&'static str] {
    if brake.is_disc() {
        &[
            "hot pads and fluid fade: the lever comes to the bar, the stop gets longer",
            "slope, mass and speed make this heat, whatever the rotors: larger ones run cooler on it, by no figure that is stored",
        ]
    } else if brake.is_rim() {
        &[
            "a hot rim raises the tyre's pressure and softens tube and pads: the tyre may come off the rim, the stop gets longer",
            "stop and feel the rims on the way down; no more than the pressure that tyre and rim are marked for",
        ]
    } else {
        &["a hot hub loses its grease, and the brake fades: stop on the way down and let it cool"]
    }
}

/// A descent, ridden at whatever speed.
struct Descent<'c, 'a> {
    case: &'c Case<'a>,
    grade: Known,
    gross: Known,
    air: Density,
    road: RoadLoad,
}

/// What the brakes take, with its standard uncertainty in watts, and what holds the bicycle back beside them.
struct Heat {
    both: Power,
    u: f64,
    drag: Force,
}

impl Descent<'_, '_> {
    fn at(&self, speed: Speed) -> Result<Heat, Halt> {
        let Self {
            case,
            grade,
            gross,
            air,
            road,
        } = self;
        // Rolling and air hold the bicycle back without heating a brake.
        let held = |road: &RoadLoad| road.resistance(speed, Grade::LEVEL, Speed::ZERO, *air);
        let drag = held(road);
        let shed = |grade: f64, mass: f64, drag: Force| {
            brakes::descent_power(Mass::kilograms(mass), Grade::ratio(-grade), speed, drag)
                .map_err(|error| prediction::unusable(case, "descent", &error))
        };
        let both = shed(grade.value, gross.value, drag)?;
        // Each input moved by its standard uncertainty (JCGM 100:2008, 5.1.3, note 2).
        let moved = |other: Power| (other - both).as_watts() / 2.0;
        let spread = |key: &str| 1.0 + doubt::standard_from_half_width(case.rule(key));
        let by_air = held(&RoadLoad {
            cda: road.cda * spread("cda.spread"),
            ..*road
        });
        let by_rolling = held(&RoadLoad {
            crr: road.crr * spread("crr.spread"),
            ..*road
        });
        let u = [
            shed(grade.value + grade.u, gross.value, drag)?,
            shed(grade.value, gross.value + gross.u, drag)?,
            shed(grade.value, gross.value, by_air)?,
            shed(grade.value, gross.value, by_rolling)?,
        ]
        .into_iter()
        .fold(0.0_f64, |u, other| u.hypot(moved(other)));
        Ok(Heat { both, u, drag })
    }

    /// The fastest whole km/h below a speed at which each brake stays within a limit.
    fn fastest_within(&self, most: Limit, speed: Speed) -> Result<Option<f64>, Halt> {
        let mut kmh = speed.as_kilometres_per_hour().ceil() - 1.0;
        while kmh >= SLOWEST_KMH {
            let Heat { both, u, .. } = self.at(Speed::kilometres_per_hour(kmh))?;
            if doubt::decide((both / 2.0).as_watts(), doubt::COVERAGE * u, most).decision == Decision::Meets {
                return Ok(Some(kmh));
            }
            kmh -= 1.0;
        }
        Ok(None)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};

    /// The trekking bicycle, which comes with rim brakes, with discs.
    fn braked_by_discs() -> Bench {
        trekking().state(&[
            ("brake-front", "hydraulic-disc"),
            ("brake-rear", "hydraulic-disc"),
        ])
    }

    #[test]
    fn without_a_descent_it_does_not_apply_and_without_its_speed_it_is_open() {
        trekking().expect(&CHECK, Verdict::NotApplicable);
        let report = trekking()
            .state(&[("descent-grade", "8%")])
            .expect(&CHECK, Verdict::Open);
        assert!(
            report.missing[0].how.contains("descent-speed"),
            "{:?}",
            report.missing
        );
    }

    #[test]
    fn the_power_is_weight_down_the_slope_less_what_holds_it_back() {
        // By hand: 100 kg x 9.80665 x sin(atan 0.08) = 78.2 N; rolling 7.85 N, air at 20 km/h
        // with 0.65 + 0.0044 m2 and 1.225 kg/m3 12.4 N, bearings 0.14 N: 57.9 N x 5.556 m/s.
        let report = braked_by_discs()
            .state(&[("descent-grade", "8%"), ("descent-speed", "20km/h")])
            .expect(&CHECK, Verdict::Pass);
        let both = report.findings[0].figures[1].value;
        assert!((both - 321.0).abs() < 6.0, "{both}");
        assert!((report.findings[0].figures[0].value - both / 2.0).abs() < 1e-9);
    }

    #[test]
    fn what_holds_it_back_is_doubtful_too() {
        // By hand, as rectangles (half width over the root of 3): 25 % of 7.85 N of rolling is 1.13 N, 20 % of 12.4 N
        // of air 1.43 N; 1.83 N x 5.556 m/s, shared by two brakes and doubled, is 10.1 W. Grade and mass add some.
        let report = braked_by_discs()
            .state(&[("descent-grade", "8%"), ("descent-speed", "20km/h")])
            .report(&CHECK);
        let doubt = report.findings[0].figures[0].uncertainty.unwrap();
        assert!((10.0..12.0).contains(&doubt), "{doubt}");
    }

    #[test]
    fn a_loaded_descent_is_a_caution_and_a_slower_one_clears_it() {
        let steep = longtail().state(&[("descent-grade", "12%"), ("descent-speed", "25km/h")]);
        let report = steep.expect(&CHECK, Verdict::Caution);
        assert!(report.summary().contains("advice only"), "{}", report.summary());
        steep
            .state(&[("descent-speed", "10km/h")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_length_tells_what_is_in_the_brake_at_the_foot() {
        // By hand: 1 000 m at 20 km/h are 180 s; 180 s of each brake's watts, over 3 600.
        let short = braked_by_discs().state(&[("descent-grade", "8%"), ("descent-speed", "20km/h")]);
        let report = short
            .clone()
            .state(&[("descent-length", "1000 m")])
            .expect(&CHECK, Verdict::Pass);
        let figures = &report.findings[0].figures;
        assert_eq!(figures[2].unit, "Wh");
        assert!((figures[2].value - figures[0].value * 180.0 / 3600.0).abs() < 1e-6);
        assert_eq!(short.report(&CHECK).findings[0].figures.len(), 2);
    }

    #[test]
    fn a_brake_that_grips_the_rim_is_not_judged_by_a_rig_of_discs() {
        // Slope, mass and speed make the heat, whatever grips: it is far below what discs ran on a rig.
        let down = || braked_by_discs().state(&[("descent-grade", "9%"), ("descent-speed", "25km/h")]);
        let discs = down().expect(&CHECK, Verdict::Pass);
        let heat = discs.findings[0].figures[0].value;
        assert!((150.0..400.0).contains(&heat), "{heat}");
        let rims = down().state(&[("brake-front", "rim-linear"), ("brake-rear", "rim-linear")]);
        let report = rims.expect(&CHECK, Verdict::Caution);
        assert!((report.findings[0].figures[0].value - heat).abs() < 1e-9);
        assert!(
            report.summary().contains("cannot be judged"),
            "{}",
            report.summary()
        );
        let said = report.findings[0].arithmetic.join("; ");
        assert!(said.contains("hot rim") && !said.contains("rotors"), "{said}");
        // One of each: the rim's is the weaker, front or rear.
        for wheel in ["brake-front", "brake-rear"] {
            down()
                .state(&[(wheel, "rim-linear")])
                .expect(&CHECK, Verdict::Caution);
        }
        rims.state(&[("descent-speed", "5km/h")])
            .expect(&CHECK, Verdict::Pass);
    }

    #[test]
    fn the_limit_is_crossed_once_as_the_grade_grows() {
        let at = |grade: u32| {
            longtail()
                .state(&[
                    ("descent-grade", &format!("{grade}%")),
                    ("descent-speed", "20km/h"),
                ])
                .report(&CHECK)
                .verdict
        };
        let verdicts: Vec<Verdict> = (1..=20).map(at).collect();
        assert_eq!((verdicts[0], verdicts[19]), (Verdict::Pass, Verdict::Caution));
        assert!(verdicts.is_sorted(), "{verdicts:?}");
    }

    #[test]
    fn the_speed_that_the_remedy_names_clears_it_and_a_faster_one_does_not() {
        let steep = longtail().state(&[("descent-grade", "12%"), ("descent-speed", "25km/h")]);
        let report = steep.expect(&CHECK, Verdict::Caution);
        let (_, named) = report.findings[0].remedies[0]
            .rsplit_once("descent-speed=")
            .unwrap();
        let kmh: f64 = named.strip_suffix("km/h").unwrap().parse().unwrap();
        steep
            .clone()
            .state(&[("descent-speed", &format!("{}km/h", kmh + 1.0))])
            .expect(&CHECK, Verdict::Caution);
        steep.cured(
            &CHECK,
            &format!("lockring brief 21 descent-speed={named}"),
            |job| job.state(&[("descent-speed", named)]),
        );
    }

    #[test]
    fn no_rotor_is_offered_as_a_cure_of_a_heat_that_it_does_not_change() {
        let steep = longtail().state(&[("descent-grade", "12%"), ("descent-speed", "25km/h")]);
        let report = steep.expect(&CHECK, Verdict::Caution);
        let said = |bench: &Bench| bench.report(&CHECK).summary().to_owned();
        assert!(
            !report.findings[0].remedies.concat().contains("rotor"),
            "{report:?}"
        );
        let larger = steep
            .clone()
            .state(&[("rotor-front", "203 mm"), ("rotor-rear", "203 mm")]);
        assert_eq!(said(&steep), said(&larger));
    }
}
