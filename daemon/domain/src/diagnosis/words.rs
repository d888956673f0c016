//! The wording of the comparison and of its causes.

use super::cause::Cause;
use super::quantity::Quantity;
use super::ridden::Ridden;
use crate::code;
use crate::unit::{self, Kind};

/// A cause at a size, as a sentence; `None` says that nothing stands out.
pub(super) fn said(cause: Option<Cause>, size: f64, u: f64, base: &Ridden) -> String {
    let Some(cause) = cause else {
        return "nothing stands out: what was measured lies within what may be off".to_owned();
    };
    let percent = |share: f64| format!("{:.0} %", 100.0 * share.abs());
    let (more, about) = (size > 0.0, format!("{} ± {}", percent(size), percent(2.0 * u)));
    let kmh = |speed: f64| unit::show(Kind::Speed, "km/h", tenth(3.6 * speed) / 3.6);
    match cause {
        Cause::WheelSetting => format!(
            "the display's wheel setting is {about} too {}: true speed is {} than shown",
            if more { "small" } else { "large" },
            if more { "higher" } else { "lower" }
        ),
        Cause::BrakeDrag => format!(
            "a brake drags at the driven wheel: about {size:.0} ± {:.0} N at the tyre",
            2.0 * u
        ),
        Cause::TyrePressure => {
            format!("the tyres are short of air: about {about} of the pressure is missing")
        }
        Cause::HillGrade => {
            let told = base.grade.unwrap_or_default();
            format!(
                "the hill is {} than the brief has it: {:.1} ± {:.1} % instead of {:.1} %",
                if more { "steeper" } else { "flatter" },
                100.0 * told * (1.0 + size),
                200.0 * told * u,
                100.0 * told
            )
        }
        Cause::PackResistance => format!(
            "the pack gives way more than it should: resistance about {:.1} ± {:.1} times that of its cells",
            1.0 + size,
            2.0 * u
        ),
        Cause::CurrentLimit => {
            let amps = |share: f64| base.level.battery_limit.si() * share;
            format!(
                "the battery current limit is low: about {:.1} ± {:.1} A instead of {:.1} A",
                amps(1.0 - size),
                amps(2.0 * u),
                amps(1.0)
            )
        }
        Cause::AssistLevel => format!(
            "the assist is not at its full level: about {:.0} ± {:.0} % of torque and power",
            100.0 * (1.0 - size),
            200.0 * u
        ),
        Cause::Winding => format!(
            "the motor is wound {} than its sheet says: {about} {} speed for the same volts",
            if more { "faster" } else { "slower" },
            if more { "more" } else { "less" }
        ),
        Cause::Wind => format!(
            "wind along the strip: about {:.1} ± {:.1} m/s {} the outward run",
            size.abs(),
            2.0 * u,
            if more { "against" } else { "behind" }
        ),
        Cause::Mass => format!(
            "{:.0} ± {:.0} kg {} on the road than recorded",
            size.abs(),
            2.0 * u,
            if more { "more" } else { "less" }
        ),
        Cause::RiderPower => {
            let (cruising, climbing) = base.pushing();
            let watts = |power: f64| format!("{:.0} W", power * (1.0 + size));
            format!(
                "the rider pushed {about} {} than the brief says: about {} cruising, {} on the hill",
                if more { "more" } else { "less" },
                watts(cruising.as_watts()),
                watts(climbing.as_watts())
            )
        }
        Cause::AssistLimit => {
            let limit = base.level.assist_cutoff.map_or(0.0, |limit| limit.si());
            format!(
                "the assist limit is set {}: about {} instead of {}",
                if more { "high" } else { "low" },
                kmh(limit * (1.0 + size)),
                kmh(limit)
            )
        }
    }
}

/// Where to look for a cause.
pub(super) const fn look(cause: Option<Cause>) -> &'static str {
    match cause {
        None => "",
        Some(Cause::WheelSetting) => "roll the wheel out with the rider on and set what was rolled",
        Some(Cause::BrakeDrag) => {
            "spin the wheel on the stand, feel rotor or rim after a ride without braking, centre the calliper"
        }
        Some(Cause::TyrePressure) => "gauge both tyres, look for a slow leak",
        Some(Cause::HillGrade) => "measure the grade at five points and judge the hill by what was measured",
        Some(Cause::PackResistance) => {
            "read each group of cells under load, feel the connectors for warmth; a weak or warm pack goes \
             back to its maker, nobody opens it here"
        }
        Some(Cause::CurrentLimit) => "read the controller's limit back and set what pack and leads stand",
        Some(Cause::AssistLevel) => "set the full level on the display and ride again",
        Some(Cause::Winding) => "compare the motor's mark with the order; time it free on the stand",
        Some(Cause::Wind) => "ride both ways on a calm day, at most 2 to 3 m/s",
        Some(Cause::Mass) => "weigh bicycle, rider and load as ridden",
        Some(Cause::RiderPower) => "ride again with an even push, or with a power meter",
        Some(Cause::AssistLimit) => "read the limit back and set it to the class",
    }
}

/// A reading's name.
pub(super) fn name(quantity: Quantity) -> String {
    match quantity {
        Quantity::Energy => "energy drawn on the energy run".to_owned(),
        Quantity::Starts => "starts that came off on the hill".to_owned(),
        _ => code::find(quantity.code()).map_or_else(String::new, |row| row.field.name.to_owned()),
    }
}

/// The hill won: beside the steepest the model holds.
pub(super) fn hill_won(held: f64, hill: f64) -> String {
    let grade = |ratio: f64| unit::show(Kind::Grade, "%", tenth(100.0 * ratio) / 100.0);
    let (held, how) = (grade(held), if held > hill { "although" } else { "as expected:" });
    format!(
        "the hill of {} was not climbed, {how} the model holds up to {held}",
        grade(hill)
    )
}

/// How a pack is known to be at the cut-off.
#[derive(Debug, Clone, Copy)]
pub(super) enum Low {
    /// Read under load.
    Read,
    /// Read before the run.
    AtRest,
    /// What the model draws it down to.
    Expected,
}

/// A pack at or under the controller's cut-off on a run, in V.
pub(super) fn at_the_cutoff(run: &str, volts: f64, cutoff: f64, how: Low) -> String {
    let (volts, cutoff) = (tenth(volts), tenth(cutoff));
    let place = if volts < cutoff { "under" } else { "at" };
    let show = |volts: f64| unit::show(Kind::Voltage, "V", volts);
    let (volts, cutoff) = (show(volts), show(cutoff));
    let run = if run == "speed" { "speed run" } else { run };
    let (seen, help) = match how {
        Low::Read => (
            format!("the pack was read at {volts} on the {run}"),
            "takes its help back",
        ),
        Low::AtRest => (
            format!("the pack stood at {volts} before the {run}"),
            "gives no help",
        ),
        Low::Expected => (
            format!("the {run} asks the pack down to {volts}"),
            "takes its help back",
        ),
    };
    format!(
        "{seen}, {place} the cut-off of {cutoff}: the controller {help} there, and what is expected here \
         reckons with all of it; charge the pack and ride again"
    )
}

/// What to read, for somebody about to ride.
pub(super) fn to_read(quantity: Quantity) -> String {
    format!("{} (run `{}`)", name(quantity), quantity.run())
}

/// The command that records a reading.
pub(super) fn command(job: u32, quantity: Quantity) -> String {
    let run = code::runs().iter().find(|run| run.word == quantity.run());
    let field = run.and_then(|run| run.fields.iter().find(|(_, key)| *key == quantity.code()));
    let (word, blank) = field.map_or_else(Default::default, |(word, key)| {
        (*word, code::find(key).map_or_else(String::new, |row| row.blank()))
    });
    format!("lockring ride {job} {} {word}={blank}", quantity.run())
}

/// How well one explanation fits, for the end of the list.
pub(super) fn fit(distance_squared: f64, readings: usize) -> Option<String> {
    let n = readings as f64;
    // Mean and standard deviation of a chi-squared variable are n and √(2n).
    (distance_squared > n + 3.0 * (2.0 * n).sqrt()).then(|| {
        "no single cause explains all of it: mend the first, ride again, and look at what is left".to_owned()
    })
}

fn tenth(number: f64) -> f64 {
    (10.0 * number).round() / 10.0
}

#[cfg(test)]
mod tests;
