//! How the brief's rider cruises: the level of help, and what the drive does then.

use crate::case::Case;
use crate::level::Level;
use crate::part::Slot;
use crate::ride_class;
use crate::unit::{self, Kind};

/// The level that the brief says the rider cruises with.
pub fn cruising(case: &Case<'_>) -> Option<Level> {
    let word = case.optional_word("assist-level")?;
    Level::read(word).ok().flatten()
}

/// Least share of the work at the wheel that the drive does as the brief's rider cruises, 0 to below 1: with help of `r`
/// times the rider's power `r/(1+r)`. Without a level, and at the full one, the least the drive helps with; no more than
/// a class that holds the help to a ratio lets it.
pub(crate) fn least_share(case: &Case<'_>) -> f64 {
    let level = cruising(case);
    let controller = case.optional_part(Slot::Controller);
    let own = |level: Level| {
        let key = format!("{}-ratio", level.word());
        controller.as_ref().and_then(|part| part.optional_number(&key))
    };
    let usual =
        |level: Level| own(level).unwrap_or_else(|| case.rule(&format!("assist.{}-ratio", level.word())));
    let rule = case
        .optional_word("ride-class")
        .and_then(ride_class::find)
        .and_then(|class| class.assist_ratio);
    let allowed = rule.map(|rule| {
        let cruise = case.optional_number("cruise-speed");
        let kmh = cruise.map_or(0.0, |speed| unit::from_si(Kind::Speed, "km/h", speed.value));
        rule.at(kmh)
    });
    let ratio = match (level, allowed) {
        (Some(Level::Off), _) => 0.0,
        (Some(level @ (Level::Low | Level::Mid | Level::High)), _) => usual(level),
        // As it is ridden: all that the class lets it.
        (Some(Level::Full) | None, Some(allowed)) => own(Level::High).unwrap_or(allowed),
        (Some(Level::Full) | None, None) => usual(Level::Low),
    };
    let ratio = allowed.map_or(ratio, |allowed| ratio.min(allowed)).max(0.0);
    ratio / (1.0 + ratio)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::trekking;
    use crate::rules::RuleSheet;
    use crate::stage::Stage;

    /// By the rule sheet 0.5, 1.2 and 2.5 times the rider: a third, six elevenths and five sevenths of the work. A class of
    /// twice to 10 km/h and nothing from 24 km/h on lets 18/14 times at 15 km/h.
    #[test]
    fn the_least_share_is_that_of_the_level_and_of_the_class() {
        let rules = RuleSheet::shipped();
        let share = |told: &[(&str, &str)]| {
            let bench = match told {
                [] => trekking(),
                told => trekking().state(told),
            };
            least_share(&Case::new(&bench.job, &rules, Stage::Intake))
        };
        for (told, want) in [
            (&[][..], 1.0 / 3.0),
            (&[("assist-level", "off")], 0.0),
            (&[("assist-level", "low")], 1.0 / 3.0),
            (&[("assist-level", "mid")], 6.0 / 11.0),
            (&[("assist-level", "high")], 5.0 / 7.0),
            (&[("assist-level", "full")], 1.0 / 3.0),
        ] {
            assert!((share(told) - want).abs() < 1e-12, "{told:?}: {}", share(told));
        }
        let class = ride_class::all()
            .iter()
            .find(|class| class.assist_ratio.is_some())
            .unwrap();
        let rule = class.assist_ratio.unwrap();
        let held = share(&[("ride-class", &class.id), ("cruise-speed", "15km/h")]);
        let ratio = rule.at(15.0);
        assert!((held - ratio / (1.0 + ratio)).abs() < 1e-12, "{held}");
    }
}
