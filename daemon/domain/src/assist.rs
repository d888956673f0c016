//! Levels of help: what the motor of a job answers with at each, by its sensor and its controller.

use lockring_calc::assist::{Assist, Policy, Taper};
use lockring_calc::quantity::{Power, Speed};

use crate::case::Case;
use crate::finding::{Halt, Missing};
use crate::level::Level;
use crate::part::Slot;
use crate::prediction;
use crate::ride_class::{self, AssistRatio, MotorOnly, RideClass};
use crate::unit::{self, Kind};

/// Power that no drive gives: the drive's own limits hold, W.
const ALL: f64 = 10_000.0;

/// The help taken, and in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Help {
    /// How the motor answers.
    pub assist: Assist,
    /// Which level that is and what it means on this job.
    pub said: String,
}

impl Help {
    /// The help of a level with the job's own sensor and controller; no level is full.
    ///
    /// # Errors
    /// [`Halt::Open`] when the job has no sensor or throttle for it, or its data are incomplete.
    pub fn of(case: &Case<'_>, level: Option<Level>) -> Result<Self, Halt> {
        let level = level.unwrap_or(Level::Full);
        let (policy, mut said) = match level {
            Level::Off => (Policy::Off, "the rider alone".to_owned()),
            Level::Full => (Policy::Full, "all that the drive gives".to_owned()),
            _ => answer(case, level)?,
        };
        if level == Level::Off {
            return Ok(Self {
                assist: Assist::OFF,
                said: format!("{}: {said}", level.word()),
            });
        }
        let fades = taper(case)?;
        let mut assist = Assist {
            policy,
            taper: fades.as_ref().map(|(taper, _)| *taper),
        };
        match Ruled::of(case, assist.taper)? {
            Some(ruled) => {
                assist = ruled.held(assist)?;
                said = ruled.said(level, &said);
            }
            None => said.extend(fades.map(|(_, words)| words)),
        }
        Ok(Self {
            assist,
            said: format!("{}: {said}", level.word()),
        })
    }

    /// The motor by itself: all that it gives, fading as the controller has it.
    pub fn alone(&self) -> Assist {
        Assist {
            policy: Policy::Full,
            ..self.assist
        }
    }
}

/// A class that holds the help to a ratio, and what this controller makes of it.
struct Ruled<'a> {
    class: &'a RideClass,
    rule: AssistRatio,
    /// The controller's greatest ratio, where its sheet gives one.
    own: Option<f64>,
    /// The controller's own fading, where it keeps to the class's with that ratio.
    kept: Option<Taper>,
}

impl Ruled<'_> {
    /// `None` where the class has no such rule, or none is chosen.
    fn of(case: &Case<'_>, taper: Option<Taper>) -> Result<Option<Self>, Halt> {
        let Some(class) = case.optional_word("ride-class").and_then(ride_class::find) else {
            return Ok(None);
        };
        let Some(rule) = class.assist_ratio else {
            return Ok(None);
        };
        let own = case.part(Slot::Controller)?.optional_number("high-ratio");
        let keeps = own.is_some_and(|ratio| rule.first_over(ratio, taper).is_none());
        Ok(Some(Self {
            class,
            rule,
            own,
            kept: taper.filter(|_| keeps),
        }))
    }

    /// The greatest ratio: the controller's, no more than the class's.
    fn most(&self) -> f64 {
        self.own.map_or(self.rule.most, |own| own.min(self.rule.most))
    }

    /// The help, no stronger than the class has it at any speed.
    fn held(&self, assist: Assist) -> Result<Assist, Halt> {
        let (ratio, most) = match assist.policy {
            Policy::TorqueSensor { ratio, most } => (ratio.min(self.rule.most), most),
            Policy::CadenceSensor { power } | Policy::Throttle { power, .. } => (self.rule.most, power),
            Policy::Full | Policy::Off => (self.most(), Power::watts(ALL)),
        };
        let taper = match self.kept {
            Some(own) => own,
            None => self.rule.taper().map_err(|error| {
                Halt::NotApplicable(format!(
                    "the ratio of {} cannot be ridden: {error}",
                    self.class.id
                ))
            })?,
        };
        Ok(Assist {
            policy: Policy::TorqueSensor { ratio, most },
            taper: Some(taper),
        })
    }

    fn said(&self, level: Level, said: &str) -> String {
        let ratio = if level == Level::Full {
            format!("{} times the rider's power", self.most())
        } else {
            said.to_owned()
        };
        let over = match (self.own, self.kept) {
            (_, Some(_)) => "as its controller fades".to_owned(),
            (None, None) => "its own ratio is not known".to_owned(),
            (Some(own), None) => format!(
                "the controller's own {own} times {} over the class's stored ratio",
                if own > self.rule.most {
                    "is"
                } else {
                    "does not fade enough and is"
                }
            ),
        };
        format!(
            "{ratio}, no more than {} stores: {} times to {:.0} km/h, nothing from {:.0} km/h on; {over}",
            self.class.id, self.rule.most, self.rule.from_kmh, self.rule.to_kmh
        )
    }
}

/// What the sensor of the job makes of a level between off and full.
fn answer(case: &Case<'_>, level: Level) -> Result<(Policy, String), Halt> {
    let controller = case.part(Slot::Controller)?;
    let setting = |what: &str| {
        let key = format!("{}-{what}", level.word());
        match controller.optional_number(&key) {
            Some(value) => (value, "by its sheet"),
            None => (case.rule(&format!("assist.{key}")), "usual"),
        }
    };
    let sensor = case.optional_part(Slot::PedalSensor);
    if sensor.as_ref().and_then(|part| part.optional_word("senses")) == Some("torque") {
        let (ratio, from) = setting("ratio");
        let policy = Policy::TorqueSensor {
            ratio,
            most: Power::watts(ALL),
        };
        return Ok((
            policy,
            format!("torque sensor, {ratio} times the rider's power ({from})"),
        ));
    }
    let (share, from) = setting("share");
    let whole =
        prediction::current_limit(case)? * prediction::battery(&case.part(Slot::Pack)?)?.nominal().as_volts();
    let power = Power::watts(whole * share * case.part(Slot::Motor)?.number("best-efficiency")?);
    let told = format!(
        "{} of the controller's power ({from}), {:.0} W at the motor",
        unit::show(Kind::Ratio, "%", share),
        power.as_watts()
    );
    if sensor.is_some() {
        return Ok((Policy::CadenceSensor { power }, format!("cadence sensor, {told}")));
    }
    without_sensor(case)?;
    let up_to = match prediction::ride_class(case)?.motor_only {
        MotorOnly::UpTo(limit) => Some(Speed::from_si(limit.metres_per_second())),
        MotorOnly::Never | MotorOnly::Unlimited => None,
    };
    Ok((Policy::Throttle { power, up_to }, format!("throttle, {told}")))
}

/// That a motor without a pedal sensor answers to the thumb.
///
/// # Errors
/// [`Halt::Open`] when there is no throttle over the whole range either, or nobody said.
pub fn without_sensor(case: &Case<'_>) -> Result<(), Halt> {
    if case.word("throttle")? == "full" {
        return Ok(());
    }
    Err(Halt::Open(vec![Missing {
        what: "what the motor answers to: a pedal sensor, or a throttle".to_owned(),
        how: format!("lockring build {} pedal-sensor=PART", case.job().number),
    }]))
}

/// How the help fades towards the assist limit where the controller's sheet says so, and in words.
fn taper(case: &Case<'_>) -> Result<Option<(Taper, String)>, Halt> {
    let Some(band) = case.part(Slot::Controller)?.optional_number("taper") else {
        return Ok(None);
    };
    let Some(limit) = prediction::assist_limit(case)? else {
        return Ok(None);
    };
    let taper = Taper::new(limit, Speed::from_si(band))
        .map_err(|error| prediction::unusable(case, "controller", &error))?;
    let shown = |speed: f64| unit::show(Kind::Speed, "km/h", speed);
    let words = format!(
        ", fading over the last {} before {}",
        shown(band),
        shown(limit.si())
    );
    Ok(Some((taper, words)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{Bench, longtail, trekking};
    use crate::command::ReceiptText;
    use crate::rules::RuleSheet;
    use crate::stage::Stage;

    fn help(bench: &Bench, level: Level) -> Result<Help, Halt> {
        let rules = RuleSheet::shipped();
        Help::of(&Case::new(&bench.job, &rules, Stage::TestRide), Some(level))
    }

    #[test]
    fn a_torque_sensor_multiplies_the_rider_and_a_sheet_outweighs_the_rule() {
        let low = help(&longtail(), Level::Low).unwrap();
        let ratio = RuleSheet::shipped().number("assist.low-ratio").unwrap();
        assert!(matches!(low.assist.policy, Policy::TorqueSensor { ratio: r, .. } if r == ratio));
        assert!(
            low.said.contains("low: torque sensor") && low.said.contains("usual"),
            "{}",
            low.said
        );
        let own = longtail().receive("controller", &[("low-ratio", "0.8")], ReceiptText::default());
        let own = help(&own, Level::Low).unwrap();
        assert!(matches!(
            own.assist.policy,
            Policy::TorqueSensor { ratio: 0.8, .. }
        ));
        assert!(
            own.said.contains("0.8 times the rider's power (by its sheet)"),
            "{}",
            own.said
        );
    }

    #[test]
    fn a_cadence_sensor_gives_its_share_of_the_controllers_power() {
        let bench = trekking();
        let Policy::CadenceSensor { power } = help(&bench, Level::Mid).unwrap().assist.policy else {
            panic!("the trekking bicycle has a cadence sensor");
        };
        // By hand: share x limit x nominal volts x best efficiency.
        let rules = RuleSheet::shipped();
        let case = Case::new(&bench.job, &rules, Stage::TestRide);
        let whole = prediction::current_limit(&case).unwrap() * 36.0;
        let best = case.part(Slot::Motor).unwrap().number("best-efficiency").unwrap();
        let share = rules.number("assist.mid-share").unwrap();
        assert!(
            (power.as_watts() - share * whole * best).abs() < 1e-6,
            "{power:?}"
        );
    }

    #[test]
    fn without_a_sensor_it_is_the_thumb_or_nothing() {
        let bare = trekking().build(&[("pedal-sensor", "none")]);
        assert!(help(&bare, Level::High).is_err());
        // Off and full ask for no sensor.
        assert!(help(&bare, Level::Off).is_ok() && help(&bare, Level::Full).is_ok());
        let thumb = bare.state(&[("throttle", "full"), ("ride-class", "us-fed-lseb")]);
        let Policy::Throttle { up_to, .. } = help(&thumb, Level::High).unwrap().assist.policy else {
            panic!("a throttle");
        };
        // 15 U.S.C. 2085: 20 mph, 8.9408 m/s.
        assert!((up_to.unwrap().si() - 8.9408).abs() < 1e-4);
    }

    #[test]
    fn a_class_with_a_ratio_holds_every_level_to_it() {
        let bench = |sheet: &[(&str, &str)]| {
            trekking()
                .state(&[("ride-class", "jp-assist")])
                .receive("pedal-sensor", &[("senses", "torque")], ReceiptText::default())
                .receive("controller", sheet, ReceiptText::default())
        };
        // Japan as read: 2 below 10 km/h, 2 - (v - 10)/7 to 24 km/h, so 1 at 17.
        let at = |help: &Help, kmh: f64| {
            let Policy::TorqueSensor { ratio, .. } = help.assist.policy else {
                panic!("{help:?}");
            };
            ratio * help.assist.taper.unwrap().share(Speed::kilometres_per_hour(kmh))
        };
        for sheet in [
            &[][..],
            &[("high-ratio", "3")],
            &[("high-ratio", "2"), ("taper", "14 km/h")],
        ] {
            for level in [Level::Low, Level::Mid, Level::High, Level::Full] {
                let found = help(&bench(sheet), level).unwrap();
                for (kmh, most) in [(8.0, 2.0), (17.0, 1.0), (24.0, 0.0)] {
                    assert!(
                        at(&found, kmh) <= most + 1e-9,
                        "{level:?} {sheet:?} at {kmh}: {found:?}"
                    );
                }
                assert!(
                    found.said.contains("no more than jp-assist stores"),
                    "{}",
                    found.said
                );
            }
        }
        // A weaker controller that fades earlier is taken as it is: 1 x (22 - 17)/12 of it.
        let weak =
            bench(&[("high-ratio", "1"), ("taper", "12 km/h")]).measure(&[("assist-limit", "22 km/h")]);
        assert!((at(&help(&weak, Level::Full).unwrap(), 17.0) - 5.0 / 12.0).abs() < 1e-9);
        assert_eq!(help(&bench(&[]), Level::Off).unwrap().assist, Assist::OFF);
        let cadence = trekking().state(&[("ride-class", "jp-assist")]);
        assert!((at(&help(&cadence, Level::High).unwrap(), 17.0) - 1.0).abs() < 1e-9);
        assert!(matches!(
            help(&trekking(), Level::Full).unwrap().assist.policy,
            Policy::Full
        ));
    }

    #[test]
    fn the_help_fades_where_the_controllers_sheet_says_so() {
        assert_eq!(help(&trekking(), Level::Full).unwrap().assist.taper, None);
        let faded = trekking().receive("controller", &[("taper", "2 km/h")], ReceiptText::default());
        let found = help(&faded, Level::Full).unwrap();
        let taper = found.assist.taper.unwrap();
        // The class's 25 km/h: whole at 23, half at 24, nothing at 25.
        for (kmh, share) in [(23.0, 1.0), (24.0, 0.5), (25.0, 0.0)] {
            assert!((taper.share(Speed::kilometres_per_hour(kmh)) - share).abs() < 1e-9);
        }
        assert!(
            found.said.contains("fading over the last 2 km/h before 25 km/h"),
            "{}",
            found.said
        );
        assert_eq!(help(&faded, Level::Off).unwrap().assist.taper, None);
    }
}
