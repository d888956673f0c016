//! Spacers between bottom-bracket shell and motor: what the kit clamps, and how far they may change.

use lockring_calc::doubt::{COVERAGE, Limit};
use lockring_calc::quantity::Length;
use lockring_calc::shell::{self, ClampThread, MotorKit};

use super::sprockets::enough_mm;
use crate::case::{Case, Known};
use crate::code;
use crate::finding::{Finding, Halt};
use crate::judge::Judged;
use crate::part::Slot;
use crate::unit::{self, Kind};

/// What the motor's kit clamps, with `spare` (m) of thread beyond its own least.
///
/// # Errors
/// [`Halt::Open`] when no motor is chosen, or its data are missing.
pub fn motor_kit(case: &Case<'_>, spare: f64) -> Result<MotorKit, Halt> {
    let motor = case.part(Slot::Motor)?;
    let length = |key| motor.number(key).map(Length::from_si);
    Ok(MotorKit {
        body: length("body-diameter")?,
        width_min: length("shell-least")?,
        width_max: length("shell-most")?,
        thread: Some(ClampThread {
            tube: length("tube-length")?,
            engagement_min: length("thread-least")? + Length::from_si(spare),
        }),
    })
}

/// A width held to a kit's band. The band is named after the shells the kit is made for, 68 to 73 mm, and
/// such a shell measures a hair more or less: a width whose doubt reaches an end of the band stands at that
/// end, and there is no guard band beside (judgement; the thread that is left keeps its own).
fn at_band(kit: &MotorKit, width: Known) -> Known {
    let nearest = width.value.max(kit.width_min.si()).min(kit.width_max.si());
    // The small amount keeps a doubt that just reaches from being lost in binary fractions.
    let reaches = (width.value - nearest).abs() <= width.expanded() + 1e-9;
    Known {
        value: if reaches { nearest } else { width.value },
        u: 0.0,
        ..width
    }
}

/// A width judged by a kit's band, told as it was measured.
pub fn judge_band(what: &str, kit: &MotorKit, width: Known) -> Finding {
    let limit = Limit::Within(kit.width_min.si(), kit.width_max.si());
    let (kind, unit) = (Kind::Length, "mm");
    let at = at_band(kit, width);
    let mut finding = Judged::new(what, at, kind, unit).against(limit);
    // An end that it stands at by its doubt alone was not measured.
    if at.value.to_bits() != width.value.to_bits()
        && let Some(figure) = finding.figures.first_mut()
    {
        let measured = Judged::new(what, width, kind, unit);
        finding.summary = format!(
            "{what} {}, {}: the end of the band is inside its doubt of {}",
            measured.shown(),
            figure.limit,
            unit::show(kind, unit, width.expanded())
        );
        figure.value = unit::from_si(kind, unit, width.value);
        figure.margin = Some(unit::from_si(kind, unit, limit.margin(width.value)));
        figure.uncertainty = Some(unit::from_si(kind, unit, width.expanded()));
    }
    finding
}

/// Least and most spacers together, mm, with which a kit clamps a shell of this width; `None` when none do.
/// The doubt with which the stack is measured in the end is kept off both ends, so that the cure cures.
pub fn spacers_that_fit(kit: &MotorKit, width: Known) -> Option<(f64, f64)> {
    let of_stack = COVERAGE * code::find("stack").map_or(0.0, code::Code::uncertainty_si);
    let doubt = width.expanded().max(of_stack);
    let fits_bare = width.value + width.expanded() + 1e-9 >= kit.width_min.si();
    let least = if fits_bare {
        0.0
    } else {
        enough_mm(kit.width_min.si() - width.value + doubt)
    };
    let (_, most) = shell::spacer_window(kit, Length::from_si(width.value))?;
    let most = whole_tenths_mm(most.si() - doubt);
    (most >= least).then_some((least, most))
}

/// How far the spacers may change, m: as far as the kit clamps the shell, its thread is not spent, and the
/// motor's case keeps its gap to the chainstay where that was measured. Doubts are kept off, so that what is
/// inside passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Less of them.
    pub less: f64,
    /// More of them.
    pub more: f64,
}

/// The room of the spacers; `None` where no motor in a shell, or no width of it, is known.
pub fn spacer_room(case: &Case<'_>) -> Option<Room> {
    let case = &case.for_cures();
    let kit = motor_kit(case, case.rule("frame.thread-spare")).ok()?;
    let spacer = case.optional_number("spacer").map_or(0.0, |spacer| spacer.value);
    let stack = match case.optional_number("stack") {
        Some(stack) => stack,
        None => {
            let shell = case.optional_number("shell-width")?;
            Known {
                value: shell.value + spacer,
                ..shell
            }
        }
    };
    let by_thread = kit
        .thread
        .map(|thread| (thread.tube - thread.engagement_min).si());
    let widest = by_thread.map_or(kit.width_max.si(), |limit| limit.min(kit.width_max.si()));
    let narrower = stack.value - stack.expanded() - kit.width_min.si();
    let nearer = case.optional_number("motor-gap").map_or(f64::INFINITY, |gap| {
        gap.value - gap.expanded() - case.rule("stay.motor-good")
    });
    Some(Room {
        less: spacer.min(narrower).min(nearer).max(0.0),
        more: (widest - stack.value - stack.expanded()).max(0.0),
    })
}

/// Tenths of a millimetre of a length in m that fit into it.
pub fn whole_tenths_mm(metres: f64) -> f64 {
    (1e4 * metres + 1e-6).floor() / 10.0
}
