//! Bottom-bracket shells, and whether a motor goes through one.
//!
//! A motor of this kind slides through the shell and is clamped by a nut on the other side;
//! what it needs is a round, empty bore, a width in the kit's band and thread left for the nut.

use crate::doubt::{FitError, in_range};
use crate::quantity::{Angle, Length};

mod tables;
pub use tables::{Hand, SHELLS, ShellStandard, Thread, ThreadFit, Trap, shell};

/// Free play a motor body needs in the bore, mm over the diameter (judgement).
pub const BODY_CLEARANCE_MM: f64 = 0.1;

/// Play above which the gap must be filled by an adapter, mm over the diameter (judgement:
/// an English bore leaves 0.1 to 0.4 mm round a 33.5 mm body and is used bare).
pub const ADAPTER_FROM_MM: f64 = 0.5;

/// What a kit needs of a shell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MotorKit {
    /// Diameter of the body that passes the bore.
    pub body: Length,
    /// Narrowest stack (shell and spacers) the kit clamps.
    pub width_min: Length,
    /// Widest stack the kit clamps.
    pub width_max: Length,
    /// The clamping thread, when its length is known.
    pub thread: Option<ClampThread>,
}

/// Thread the clamping nut runs on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClampThread {
    /// Usable length from the shoulder to the thread's end.
    pub tube: Length,
    /// Least engagement of the nut.
    pub engagement_min: Length,
}

/// A shell as measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shell {
    /// Smallest bore found, burrs and weld beads included.
    pub bore: Length,
    /// Width, face to face.
    pub width: Length,
    /// The bore is round and empty from end to end: no cable tunnel, no taper.
    pub through: bool,
    /// Hand of the drive-side thread, when there is a thread and it is known.
    pub drive_thread: Option<Hand>,
}

/// One thing found while comparing a shell with a kit. Lengths say by how much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ShellFinding {
    /// The bore is short of body plus clearance by this much over the diameter.
    BoreTooSmall(Length),
    /// Shell and spacers are narrower than the kit clamps by this much.
    StackTooNarrow(Length),
    /// Shell and spacers are wider than the kit clamps by this much.
    StackTooWide(Length),
    /// The nut is short of its least engagement by this much.
    EngagementShort(Length),
    /// The bore is not round and empty from end to end.
    NotThrough,
    /// The gap round the body must be filled: a ring of this radial thickness.
    AdapterNeeded(Length),
    /// The drive-side thread is right-handed: a part threaded into it can unscrew itself.
    RightHandDriveSide,
}

impl ShellFinding {
    /// Whether the motor cannot go in as things are; the others are notes for the build.
    pub const fn prevents(self) -> bool {
        !matches!(self, Self::AdapterNeeded(_) | Self::RightHandDriveSide)
    }
}

/// Result of comparing a shell with a kit.
#[derive(Debug, Clone, PartialEq)]
pub struct MotorFit {
    /// Bore minus body, over the diameter.
    pub play: Length,
    /// Shell width plus spacers.
    pub stack: Length,
    /// Thread left for the nut, when the kit's thread is known.
    pub engagement: Option<Length>,
    /// Everything found, in the order bore, width, thread, notes.
    pub findings: Vec<ShellFinding>,
}

impl MotorFit {
    /// Whether nothing found prevents the motor from going in.
    pub fn fits(&self) -> bool {
        !self.findings.iter().any(|finding| finding.prevents())
    }
}

/// Compares a shell with a kit: `bore ≥ body + 0.1 mm`, `width_min ≤ shell + spacers ≤
/// width_max`, `tube − shell − spacers ≥ engagement_min`. All findings are returned.
///
/// Bore and body 20 to 80 mm, width 40 to 150 mm, spacers 0 to 60 mm, the kit's stack 40 to
/// 200 mm, its tube 40 to 250 mm and least engagement 0 to 50 mm. Judgement and
/// arithmetic; spacers go on the drive side and move the chainline out by their thickness.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn fit_motor(kit: &MotorKit, shell: &Shell, spacers: Length) -> Result<MotorFit, FitError> {
    in_range("motor body", kit.body.as_millimetres(), 20.0, 80.0, "mm")?;
    in_range("shell bore", shell.bore.as_millimetres(), 20.0, 80.0, "mm")?;
    in_range("shell width", shell.width.as_millimetres(), 40.0, 150.0, "mm")?;
    in_range("spacers", spacers.as_millimetres(), 0.0, 60.0, "mm")?;
    in_range(
        "kit's widest stack",
        kit.width_max.as_millimetres(),
        40.0,
        200.0,
        "mm",
    )?;
    in_range(
        "kit's narrowest stack",
        kit.width_min.as_millimetres(),
        40.0,
        kit.width_max.as_millimetres(),
        "mm",
    )?;
    if let Some(thread) = kit.thread {
        in_range("clamping tube", thread.tube.as_millimetres(), 40.0, 250.0, "mm")?;
        in_range(
            "least thread engagement",
            thread.engagement_min.as_millimetres(),
            0.0,
            50.0,
            "mm",
        )?;
    }
    let play = shell.bore - kit.body;
    let stack = shell.width + spacers;
    let engagement = kit.thread.map(|thread| thread.tube - stack);

    let mut findings = Vec::new();
    let mut short = |by: Length, finding: fn(Length) -> ShellFinding| {
        if by.as_millimetres() > 1e-9 {
            findings.push(finding(by));
        }
    };
    short(
        Length::millimetres(BODY_CLEARANCE_MM) - play,
        ShellFinding::BoreTooSmall,
    );
    short(kit.width_min - stack, ShellFinding::StackTooNarrow);
    short(stack - kit.width_max, ShellFinding::StackTooWide);
    if let (Some(thread), Some(left)) = (kit.thread, engagement) {
        short(thread.engagement_min - left, ShellFinding::EngagementShort);
    }
    if !shell.through {
        findings.push(ShellFinding::NotThrough);
    }
    if play.as_millimetres() > ADAPTER_FROM_MM + 1e-9 {
        findings.push(ShellFinding::AdapterNeeded(play / 2.0));
    }
    if shell.drive_thread == Some(Hand::Right) {
        findings.push(ShellFinding::RightHandDriveSide);
    }
    Ok(MotorFit {
        play,
        stack,
        engagement,
        findings,
    })
}

/// Least and greatest total of spacers with which the kit clamps this width; `None` when
/// none does. The greatest respects both the kit's band and its thread.
pub fn spacer_window(kit: &MotorKit, width: Length) -> Option<(Length, Length)> {
    let least = (kit.width_min - width).max(Length::ZERO);
    let by_thread = kit.thread.map(|thread| thread.tube - thread.engagement_min);
    let widest = by_thread.map_or(kit.width_max, |limit| kit.width_max.min(limit));
    let greatest = widest - width;
    (greatest.as_millimetres() >= least.as_millimetres() - 1e-9).then_some((least, greatest.max(least)))
}

/// One of a pair of rings that reduce a wide bore to the motor's body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adapter {
    /// Diameter over the ring.
    pub outer: Length,
    /// Bore of the ring.
    pub inner: Length,
}

/// How an adapter sits between bore and body; differences over the diameter, negative where
/// metal meets metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdapterFit {
    /// Bore minus the ring's outside: negative for a press fit.
    pub in_bore: Length,
    /// The ring's bore minus the body.
    pub round_body: Length,
    /// Radial thickness of the ring.
    pub wall: Length,
}

/// Compares an adapter with the bore it fills and the body it takes. Bore and body 20 to 80 mm,
/// the ring's outside 20 to 80 mm, its inside 20 mm to less than its outside. Arithmetic.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn fit_adapter(bore: Length, body: Length, adapter: Adapter) -> Result<AdapterFit, FitError> {
    in_range("shell bore", bore.as_millimetres(), 20.0, 80.0, "mm")?;
    in_range("motor body", body.as_millimetres(), 20.0, 80.0, "mm")?;
    let outer = in_range(
        "adapter outside",
        adapter.outer.as_millimetres(),
        20.0,
        80.0,
        "mm",
    )?;
    // A ring thinner than a tenth of a millimetre is none.
    in_range(
        "adapter inside",
        adapter.inner.as_millimetres(),
        20.0,
        outer - 0.2,
        "mm",
    )?;
    Ok(AdapterFit {
        in_bore: bore - adapter.outer,
        round_body: adapter.inner - body,
        wall: (adapter.outer - adapter.inner) / 2.0,
    })
}

/// Where the pedal sits at its lowest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PedalPosition {
    /// Bottom bracket's centre above the ground.
    pub bracket_height: Length,
    /// Crank length.
    pub crank: Length,
    /// Half the pedal's thickness.
    pub pedal_half_thickness: Length,
    /// Centre plane to the pedal's mounting face on the side looked at (half the tread).
    pub half_tread: Length,
    /// Mounting face to the pedal's outer edge.
    pub pedal_width: Length,
}

/// Lean at which the lowest pedal touches the ground,
/// `atan((h − crank − t/2)/(Q/2 + w))`; 16 CFR 1512.17(c) asks at least 25°.
///
/// # Errors
/// [`FitError::OutOfRange`] when the pedal would be below the ground (clearance 0 to
/// 500 mm) or reach outside 30 to 400 mm.
pub fn lean_angle(pedal: &PedalPosition) -> Result<Angle, FitError> {
    let height = pedal.bracket_height - pedal.crank - pedal.pedal_half_thickness;
    let reach = pedal.half_tread + pedal.pedal_width;
    in_range(
        "pedal height at its lowest",
        height.as_millimetres(),
        0.0,
        500.0,
        "mm",
    )?;
    in_range(
        "pedal reach from the centre plane",
        reach.as_millimetres(),
        30.0,
        400.0,
        "mm",
    )?;
    Ok(Angle::radians(height.si().atan2(reach.si())))
}

/// Difference between the left and right pedal's distance from the centre plane, never
/// negative.
pub fn pedal_asymmetry(left: Length, right: Length) -> Length {
    (left - right).abs()
}

#[cfg(test)]
mod tests;
