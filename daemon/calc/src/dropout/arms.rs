//! How many torque arms a hub motor asks for.
//!
//! Judgement throughout; no standard for torque arms was found.

use super::FrameMaterial;
use crate::quantity::{Power, Torque};

/// Peak torque above which both sides get an arm, N·m.
pub const ONE_ARM_NM: f64 = 40.0;
/// Rated power above which both sides get an arm, W.
pub const ONE_ARM_W: f64 = 500.0;

/// Which wheel the motor drives.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Wheel {
    /// In the fork.
    Front,
    /// In the frame's rear end.
    Rear,
}

/// What decides how the axle must be held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArmQuestion {
    /// Wheel with the motor.
    pub wheel: Wheel,
    /// Material of the fork, or of the rear dropouts.
    pub material: FrameMaterial,
    /// The fork telescopes (front only; a rear suspension's dropouts count by material).
    pub suspension_fork: bool,
    /// Largest torque at the wheel, at standstill.
    pub peak_torque: Torque,
    /// Rated power.
    pub rated_power: Power,
    /// The motor brakes: torque reverses at every stop.
    pub regeneration: bool,
}

/// Whether the combination may be built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standing {
    /// With the arms asked for.
    Plain,
    /// With the arms asked for and the owner's signature.
    OwnerSigns,
    /// Not by this shop.
    Refused,
}

/// Why an answer is stricter than one arm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ArmReason {
    /// Carbon dropouts cannot hold a motor axle.
    Carbon,
    /// Telescopic fork: cast, thin dropouts.
    SuspensionFork,
    /// Aluminium or unknown metal in a fork.
    SoftFork,
    /// Aluminium or unknown metal at the rear.
    SoftRear,
    /// More than [`ONE_ARM_NM`].
    PeakTorque,
    /// More than [`ONE_ARM_W`].
    RatedPower,
    /// Torque reverses at every stop.
    Regeneration,
}

/// Arms asked for, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ArmsAsked {
    /// Arms to fit: 1 or 2 (2 also where the combination is refused).
    pub arms: u8,
    /// Whether it may be built.
    pub standing: Standing,
    /// Everything that made the answer stricter; empty for one plain arm.
    pub reasons: Vec<ArmReason>,
}

/// Arms for a hub motor: at least one always; two above 40 N·m or 500 W, with regeneration
/// or in anything softer than steel or titanium; a fork of aluminium or a suspension fork
/// also needs the owner's signature; carbon is refused.
///
/// Sources disagree on suspension forks (some refuse them outright) and on carbon (one
/// reports use without trouble). A torque that is not a number counts as above the limit.
pub fn arms_asked(question: &ArmQuestion) -> ArmsAsked {
    use FrameMaterial::{Aluminium, Carbon, Other};
    let front = question.wheel == Wheel::Front;
    let soft = matches!(question.material, Aluminium | Other);
    let within = |value: f64, limit: f64| value <= limit + 1e-9;
    let all = [
        (question.material == Carbon, ArmReason::Carbon),
        (front && question.suspension_fork, ArmReason::SuspensionFork),
        (front && soft, ArmReason::SoftFork),
        (!front && soft, ArmReason::SoftRear),
        (
            !within(question.peak_torque.as_newton_metres(), ONE_ARM_NM),
            ArmReason::PeakTorque,
        ),
        (
            !within(question.rated_power.as_watts(), ONE_ARM_W),
            ArmReason::RatedPower,
        ),
        (question.regeneration, ArmReason::Regeneration),
    ];
    let reasons: Vec<_> = all
        .into_iter()
        .filter(|(holds, _)| *holds)
        .map(|(_, reason)| reason)
        .collect();
    let standing = if reasons.contains(&ArmReason::Carbon) {
        Standing::Refused
    } else if reasons.contains(&ArmReason::SuspensionFork) || reasons.contains(&ArmReason::SoftFork) {
        Standing::OwnerSigns
    } else {
        Standing::Plain
    };
    ArmsAsked {
        arms: if reasons.is_empty() { 1 } else { 2 },
        standing,
        reasons,
    }
}
