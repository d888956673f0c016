//! The one measurement that would best settle between the two leading explanations: the largest
//! difference they lead one to expect, over the doubt of reading it.

use super::cause::Cause;
use super::doubts::Doubt;
use super::model::moved;
use super::quantity::{ALL, Quantity};
use super::rank::Ranked;
use super::ridden::Ridden;
use super::words;
use crate::case::Case;
use crate::code;
use crate::fact::Value;
use crate::unit::{self, Kind};

/// What to measure next.
#[derive(Debug, Clone, PartialEq)]
pub struct Settle {
    /// What to measure, in words.
    pub what: String,
    /// The two explanations, in words; the second may be too unlikely to be shown by itself.
    pub between: [String; 2],
    /// What is expected if the first explanation holds, and if the second does.
    pub expected: [String; 2],
    /// The difference over its doubt.
    pub spreads: f64,
    /// The command that records it.
    pub command: String,
}

/// A way to look at one cause directly.
struct Direct {
    code: &'static str,
    what: &'static str,
    /// What is read with the cause at work, and without, in SI.
    with: f64,
    without: f64,
    u: f64,
    command: String,
}

/// The best measurement between the two leading explanations; `None` with fewer than two, or when
/// nothing that can be read tells them apart.
pub(super) fn settle(case: &Case<'_>, base: &Ridden, doubts: &[Doubt], ranked: &[Ranked]) -> Option<Settle> {
    let [first, second] = ranked.get(..2)? else {
        return None;
    };
    if let Some(rest) = rest_first(case, base, [first, second]) {
        return Some(rest);
    }
    let looks = [(first, 0), (second, 1)]
        .into_iter()
        .filter_map(|(explanation, place)| look(case, base, explanation, place));
    let readings = repeatable(case, base, doubts, first, second);
    let best = looks
        .chain(readings)
        .max_by(|a, b| a.spreads.total_cmp(&b.spreads));
    // Below two spreads a reading settles nothing.
    let best = best.filter(|best| best.spreads >= 2.0)?;
    let said = |of: &Ranked| words::said(of.cause, of.size, of.size_u, base);
    Some(Settle {
        between: [said(first), said(second)],
        ..best
    })
}

/// The pack at rest, before it is blamed for volts under load that a lower charge explains as well; `None` where
/// the pack is not among the two, or its volts at rest were read.
fn rest_first(case: &Case<'_>, base: &Ridden, two: [&Ranked; 2]) -> Option<Settle> {
    two.iter().find(|one| one.cause == Some(Cause::PackResistance))?;
    let runs = [
        ("speed", "speed-rest", Quantity::SpeedVolts, &base.level),
        ("hill", "hill-rest", Quantity::HillVolts, &base.hill),
    ];
    let (run, _, loaded, drive) = runs
        .into_iter()
        .find(|(_, rest, loaded, _)| loaded.read(case).is_some() && !case.knows(rest))?;
    let (read, expected) = (
        loaded.read(case)?.value,
        base.expect(&[loaded]).into_iter().next()??,
    );
    let usual = drive.pack.open_circuit.si();
    let volts = |si: f64| unit::show(Kind::Voltage, "V", rounded(Kind::Voltage, "V", si));
    // Charged as usual the pack gave way; else it began by so much lower.
    let of = |one: &Ranked| {
        let gave_way = one.cause == Some(Cause::PackResistance);
        volts(if gave_way { usual } else { usual + read - expected })
    };
    let said = |of: &Ranked| words::said(of.cause, of.size, of.size_u, base);
    Some(Settle {
        what: format!(
            "let the pack rest charged as for the {run} run and read its volts: nobody did before that run"
        ),
        between: two.map(said),
        expected: two.map(of),
        spreads: (read - expected).abs() / code::find("speed-rest")?.uncertainty_si().max(f64::MIN_POSITIVE),
        command: format!("lockring ride {} {run} rest=VOLTS", case.job().number),
    })
}

/// The cause looked at directly.
fn look(case: &Case<'_>, base: &Ridden, explanation: &Ranked, place: usize) -> Option<Settle> {
    let direct = direct(case, base, explanation.cause?, explanation.size)?;
    let row = code::find(direct.code)?;
    // No finer than it can be read; a figure off a screen to what it is held to.
    let instrument = row.uncertainty_si();
    let step = if instrument > 0.0 {
        0.5 * instrument
    } else {
        direct.u.max(f64::MIN_POSITIVE)
    };
    let shown = |si: f64| row.field.show(&Value::Number((si / step).round() * step));
    let mut expected = [shown(direct.with), shown(direct.without)];
    if place == 1 {
        expected.swap(0, 1);
    }
    Some(Settle {
        what: direct.what.to_owned(),
        between: Default::default(),
        expected,
        spreads: (direct.with - direct.without).abs() / direct.u.max(f64::MIN_POSITIVE),
        command: direct.command,
    })
}

fn direct(case: &Case<'_>, base: &Ridden, cause: Cause, size: f64) -> Option<Direct> {
    let job = case.job().number;
    let of = |code: &'static str, what, with: f64, without: f64, command: String| {
        let u = code::find(code).map_or(0.0, |row| row.uncertainty_si());
        Some(Direct {
            code,
            what,
            with,
            without,
            // A figure that is read off a screen is right or wrong: half a hundredth of it.
            u: u.max(0.005 * without.abs()),
            command,
        })
    };
    let measure = |code: &str, blank: &str| format!("lockring measure {job} {code} {blank}");
    match cause {
        Cause::WheelSetting => {
            let rolled = case.optional_number("circumference")?.value;
            let what = "roll the driven wheel out again, rider on, and read the display's setting";
            of(
                "circumference",
                what,
                rolled * (1.0 + size),
                rolled,
                measure("circ", "MM"),
            )
        }
        Cause::TyrePressure => {
            let pressure = case.optional_number("tyre-pressure")?.value;
            let (what, command) = ("put a gauge on the driven tyre", measure("tyre-pressure", "BAR"));
            of("tyre-pressure", what, pressure * (1.0 - size), pressure, command)
        }
        Cause::HillGrade => {
            let grade = base.grade?;
            let command = format!("lockring ride {job} hill grade=PERCENT");
            let what = "measure the hill's grade at five points with an inclinometer";
            of("hill-grade-ridden", what, grade * (1.0 + size), grade, command)
        }
        Cause::CurrentLimit => {
            let limit = base.level.battery_limit.si();
            let what = "read the battery current limit back from the controller";
            let command = measure("current-limit", "AMPERES");
            of("current-limit", what, limit * (1.0 - size), limit, command)
        }
        Cause::AssistLimit => {
            let limit = base.level.assist_cutoff?.si();
            let what = "read the assist limit back from the display";
            of(
                "assist-limit",
                what,
                limit * (1.0 + size),
                limit,
                measure("limit", "KM/H"),
            )
        }
        Cause::Mass => {
            let aboard = base.road.mass.si() - crate::prediction::bicycle_mass(case).ok()?.value;
            let command = format!("lockring ride {job} conditions mass=KG");
            of(
                "test-mass",
                "weigh rider and load",
                aboard + size,
                aboard,
                command,
            )
        }
        Cause::Wind => {
            let command = format!("lockring ride {job} speed wind=M/S");
            let what = "hold a wind meter along the strip, against the way out";
            let wind = base.headwind;
            of("strip-wind", what, wind + size, wind, command)
        }
        Cause::BrakeDrag
        | Cause::PackResistance
        | Cause::AssistLevel
        | Cause::Winding
        | Cause::RiderPower => None,
    }
}

/// Readings of the sheet that nobody has taken yet.
fn repeatable<'a>(
    case: &'a Case<'_>,
    base: &'a Ridden,
    doubts: &'a [Doubt],
    first: &'a Ranked,
    second: &'a Ranked,
) -> impl Iterator<Item = Settle> + 'a {
    let with = |explanation: &Ranked, quantity: Quantity| {
        let mut ridden = base.clone();
        if let Some(cause) = explanation.cause {
            cause.apply(&mut ridden, explanation.size);
        }
        ridden.expect(&[quantity]).first().copied().flatten()
    };
    ALL.into_iter()
        .filter(|quantity| quantity.is_there(case) && quantity.read(case).is_none())
        .filter_map(move |quantity| {
            let (one, other) = (with(first, quantity)?, with(second, quantity)?);
            let shared = moved(base, doubts, &[quantity])?;
            let shared: f64 = shared.iter().filter_map(|row| row.first()).map(|x| x * x).sum();
            let u = quantity.instrument(one).hypot(shared.sqrt());
            let (kind, shown) = quantity.unit();
            let said = |si: f64| unit::show(kind, shown, rounded(kind, shown, si));
            Some(Settle {
                what: words::to_read(quantity),
                between: Default::default(),
                expected: [said(one), said(other)],
                spreads: (one - other).abs() / u.max(f64::MIN_POSITIVE),
                command: words::command(case.job().number, quantity),
            })
        })
}

/// A tenth of the unit is as fine as anybody reads.
fn rounded(kind: Kind, shown: &str, si: f64) -> f64 {
    let number = (10.0 * unit::from_si(kind, shown, si)).round() / 10.0;
    unit::to_si(kind, shown, number).unwrap_or(si)
}

#[cfg(test)]
mod tests;
