//! Levels of help: what the motor of a job answers with at each, by its sensor and its controller.

use lockring_calc::assist::{Assist, Policy, Taper};
use lockring_calc::quantity::{Power, Speed};

use crate::case::Case;
use crate::finding::{Halt, Missing};
use crate::nearest::nearest;
use crate::part::Slot;
use crate::prediction;
use crate::refusal::Refusal;
use crate::ride_class::MotorOnly;
use crate::unit::{self, Kind};

/// A level of help.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// The motor gives nothing.
    Off,
    /// A little.
    Low,
    /// Some.
    Mid,
    /// Much.
    High,
    /// All that the drive gives, whatever the sensor.
    Full,
}

/// The words of the levels.
pub const LEVELS: &[&str] = &["off", "low", "mid", "high", "full"];
/// Power that no drive gives: the drive's own limits hold, W.
const ALL: f64 = 10_000.0;

impl Level {
    const ALL: [Self; 5] = [Self::Off, Self::Low, Self::Mid, Self::High, Self::Full];

    /// The level of a word; `None` for no word at all.
    ///
    /// # Errors
    /// A refusal for a word that is no level.
    pub fn read(word: &str) -> Result<Option<Self>, Refusal> {
        let word = word.trim();
        if word.is_empty() {
            return Ok(None);
        }
        let found = Self::ALL.into_iter().zip(LEVELS).find(|(_, own)| **own == word);
        if let Some((level, _)) = found {
            return Ok(Some(level));
        }
        let near = nearest(word, LEVELS.iter().copied());
        let all = format!("levels are {}", LEVELS.join(", "));
        Err(Refusal::unknown("level of assist", word, &near, &all).with("field", "assist"))
    }

    fn word(self) -> &'static str {
        Self::ALL
            .into_iter()
            .zip(LEVELS)
            .find_map(|(level, word)| (level == self).then_some(*word))
            .unwrap_or("full")
    }
}

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
        let taper = if level == Level::Off { None } else { taper(case)? };
        if let Some((_, words)) = &taper {
            said.push_str(words);
        }
        Ok(Self {
            assist: Assist {
                policy,
                taper: taper.map(|(taper, _)| taper),
            },
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

/// The level that the brief says the rider cruises with.
pub fn cruising(case: &Case<'_>) -> Option<Level> {
    let word = case.optional_word("assist-level")?;
    Level::read(word).ok().flatten()
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
    if case.word("throttle")? != "full" {
        return Err(Halt::Open(vec![Missing {
            what: "what the motor answers to: a pedal sensor, or a throttle".to_owned(),
            how: format!("lockring build {} pedal-sensor=PART", case.job().number),
        }]));
    }
    let up_to = match prediction::ride_class(case)?.motor_only {
        MotorOnly::UpTo(limit) => Some(Speed::from_si(limit.metres_per_second())),
        MotorOnly::Never | MotorOnly::Unlimited => None,
    };
    Ok((Policy::Throttle { power, up_to }, format!("throttle, {told}")))
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
    fn words_are_levels_and_others_are_told_the_nearest() {
        for (level, word) in Level::ALL.into_iter().zip(LEVELS) {
            assert_eq!(Level::read(word).unwrap(), Some(level));
        }
        assert_eq!(Level::read(" ").unwrap(), None);
        let refusal = Level::read("hihg").unwrap_err();
        let hint = refusal.hint.unwrap();
        assert!(hint.contains("`high`") && hint.contains("mid"), "{hint}");
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
