//! Room for a pack in the open front triangle of a frame: plane geometry of polygons.
//!
//! The pack is a rectangle on a rail along one tube. It keeps the clearance asked from every
//! other tube, measured square to that tube, and leaves room to reach its key.

use crate::doubt::{FitError, in_range};
use crate::quantity::Length;

mod boss;
mod frame;
pub use boss::{BOSS_BASIS, BOSS_SPACING_MM, BossStart, Slot, boss_multiple, boss_starts};
pub use frame::{Frame, HalfWidths, Mount, Tube};

/// Slack for rounding, mm.
const ROUNDING: f64 = 1e-6;

/// Outer size of a pack with its case.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PackSize {
    /// Along the tube, 50 to 800 mm.
    pub length: Length,
    /// Off the tube, in the frame's plane, 20 to 400 mm.
    pub height: Length,
    /// Across the frame's plane, 20 to 400 mm.
    pub width: Length,
}

/// Where the key goes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum KeySide {
    /// From the left or right, out of the frame's plane.
    Lateral,
    /// At the end away from the shell.
    UpperEnd,
    /// At the end towards the shell.
    LowerEnd,
    /// On the face away from the tube.
    Face,
}

/// How a pack is to be mounted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mounting {
    /// Tube it sits on.
    pub on: Mount,
    /// From the tube's surface to the pack's underside: the rail; 0 to 100 mm.
    pub standoff: Length,
    /// Clearance asked from every other tube; 0 to 100 mm.
    pub clearance: Length,
    /// Where the key goes in.
    pub key: KeySide,
    /// Space asked before the key; 0 to 200 mm.
    pub key_room: Length,
    /// Radius about the shell that is taken by the shell, chainring bolts or a motor; 0 to 200 mm.
    pub shell_radius: Length,
}

impl Mounting {
    fn check(&self) -> Result<(), FitError> {
        for (name, length, most) in [
            ("rail height", self.standoff, 100.0),
            ("clearance asked", self.clearance, 100.0),
            ("room before the key", self.key_room, 200.0),
            ("radius about the shell", self.shell_radius, 200.0),
        ] {
            in_range(name, length.as_millimetres(), 0.0, most, "mm")?;
        }
        Ok(())
    }

    /// Distance of the pack's underside from the mounting tube's centre line, mm.
    fn base(&self, tubes: &HalfWidths) -> f64 {
        (tubes.of(self.on.tube()) + self.standoff).as_millimetres()
    }

    /// Corners that must keep a distance, relative to the lower end of a pack, mm: along, off
    /// the centre line, and the distance.
    fn corners(&self, length: f64, height: f64, base: f64) -> Vec<[f64; 3]> {
        let clear = self.clearance.as_millimetres();
        let mut corners = vec![
            [0.0, base, clear],
            [0.0, base + height, clear],
            [length, base, clear],
            [length, base + height, clear],
        ];
        corners.extend(self.key_corners(length, height, base));
        corners
    }

    /// Far corners of the space before the key; they may touch a tube.
    fn key_corners(&self, length: f64, height: f64, base: f64) -> Vec<[f64; 3]> {
        let room = self.key_room.as_millimetres();
        let end = |along: f64| vec![[along, base, 0.0], [along, base + height, 0.0]];
        match self.key {
            KeySide::Lateral => Vec::new(),
            KeySide::UpperEnd => end(length + room),
            KeySide::LowerEnd => end(-room),
            KeySide::Face => vec![
                [0.0, base + height + room, 0.0],
                [length, base + height + room, 0.0],
            ],
        }
    }
}

/// Room found for a pack along a tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Least distance from the shell's centre, along the tube, to the pack's lower end.
    pub nearest: Length,
    /// Greatest such distance; less than `nearest` when the pack is too long.
    pub farthest: Length,
    /// `farthest − nearest`: how far the pack can be slid; negative, by how much it is too long.
    pub play: Length,
    /// What is left towards a tube parallel to the mounting tube; `None` when none is.
    pub across: Option<Length>,
}

impl Room {
    /// Whether there is a position that keeps everything asked.
    pub fn fits(&self) -> bool {
        self.play.as_millimetres() >= -ROUNDING
            && self
                .across
                .is_none_or(|across| across.as_millimetres() >= -ROUNDING)
    }

    /// Whether a distance from the shell to the pack's lower end keeps everything asked.
    pub fn allows(&self, start: Length) -> bool {
        let mm = start.as_millimetres();
        self.fits()
            && mm >= self.nearest.as_millimetres() - ROUNDING
            && mm <= self.farthest.as_millimetres() + ROUNDING
    }

    /// Middle of the play: the position with the same room to slide either way.
    pub fn middle(&self) -> Length {
        (self.nearest + self.farthest) / 2.0
    }
}

/// Range of positions of a pack on a tube; each tube's condition is linear in the position,
/// so the range is exact. Width is not looked at here: see [`side_room`].
///
/// # Errors
/// [`FitError::OutOfRange`] for a size, tube width or mounting outside its range.
pub fn room(
    frame: &Frame,
    tubes: &HalfWidths,
    mounting: &Mounting,
    pack: &PackSize,
) -> Result<Room, FitError> {
    tubes.check()?;
    mounting.check()?;
    let length = in_range("pack length", pack.length.as_millimetres(), 50.0, 800.0, "mm")?;
    let height = in_range("pack height", pack.height.as_millimetres(), 20.0, 400.0, "mm")?;
    in_range("pack width", pack.width.as_millimetres(), 20.0, 400.0, "mm")?;
    Ok(slide(frame, tubes, mounting, length, height))
}

fn slide(frame: &Frame, tubes: &HalfWidths, mounting: &Mounting, length: f64, height: f64) -> Room {
    let base = mounting.base(tubes);
    let mut nearest = shell_start(mounting, base);
    let mut farthest = f64::INFINITY;
    let mut across: Option<f64> = None;
    for side in frame.sides(mounting.on) {
        let half = tubes.of(side.tube).as_millimetres();
        for [along, off, clear] in mounting.corners(length, height, base) {
            // Distance left over with the pack's lower end at the shell's centre.
            let left = side.distance([along, off]) - half - clear;
            let slope = side.normal[0];
            if slope.abs() < 1e-9 {
                across = Some(across.map_or(left, |least| least.min(left)));
            } else if slope > 0.0 {
                nearest = nearest.max(-left / slope);
            } else {
                farthest = farthest.min(-left / slope);
            }
        }
    }
    Room {
        nearest: Length::millimetres(nearest),
        farthest: Length::millimetres(farthest),
        play: Length::millimetres(farthest - nearest),
        across: across.map(Length::millimetres),
    }
}

/// Least start that keeps the pack's lower corner outside the circle about the shell.
fn shell_start(mounting: &Mounting, base: f64) -> f64 {
    let reach = (mounting.shell_radius + mounting.clearance).as_millimetres();
    (reach * reach - base * base).max(0.0).sqrt()
}

/// Distance of a pack from one tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// The tube.
    pub to: Tube,
    /// Pack to the tube's surface; negative where they would overlap.
    pub gap: Length,
    /// Gap minus the clearance asked.
    pub margin: Length,
    /// What is left beyond the space before the key; `None` for a key from the side.
    pub key_margin: Option<Length>,
}

/// Gaps at a given distance (0 to 1 000 mm) from the shell's centre to the pack's lower end.
///
/// # Errors
/// As [`room`], and for the distance.
pub fn gaps(
    frame: &Frame,
    tubes: &HalfWidths,
    mounting: &Mounting,
    pack: &PackSize,
    start: Length,
) -> Result<Vec<Gap>, FitError> {
    room(frame, tubes, mounting, pack)?;
    let start = in_range(
        "distance from the shell",
        start.as_millimetres(),
        0.0,
        1000.0,
        "mm",
    )?;
    let base = mounting.base(tubes);
    let (length, height) = (pack.length.as_millimetres(), pack.height.as_millimetres());
    let bare = Mounting {
        key: KeySide::Lateral,
        ..*mounting
    };
    let key = mounting.key_corners(length, height, base);
    let body = bare.corners(length, height, base);
    let gap_to = |side: &frame::Side| {
        let half = tubes.of(side.tube);
        let least = |corners: &[[f64; 3]]| {
            corners
                .iter()
                .map(|[along, off, _]| side.distance([start + along, *off]))
                .reduce(f64::min)
                .map(|distance| Length::millimetres(distance) - half)
        };
        let gap = least(&body).expect("a rectangle has corners");
        Gap {
            to: side.tube,
            gap,
            margin: gap - mounting.clearance,
            key_margin: least(&key),
        }
    };
    Ok(frame.sides(mounting.on).iter().map(gap_to).collect())
}

/// Greatest length a pack of this height (20 to 400 mm) may have there; zero when none fits.
///
/// # Errors
/// [`FitError::OutOfRange`] for a height, tube width or mounting outside its range.
pub fn longest(
    frame: &Frame,
    tubes: &HalfWidths,
    mounting: &Mounting,
    height: Length,
) -> Result<Length, FitError> {
    tubes.check()?;
    mounting.check()?;
    let height = in_range("pack height", height.as_millimetres(), 20.0, 400.0, "mm")?;
    Ok(Length::millimetres(
        reach(frame, tubes, mounting, height).max(0.0),
    ))
}

/// Play of a pack of no length, mm: what a length may use up. Where a parallel tube is too
/// near it falls steeply below zero, so that it stays concave in the height.
fn reach(frame: &Frame, tubes: &HalfWidths, mounting: &Mounting, height: f64) -> f64 {
    let room = slide(frame, tubes, mounting, 0.0, height);
    let across = room
        .across
        .map_or(f64::INFINITY, |across| 1e3 * across.as_millimetres());
    room.play.as_millimetres().min(across)
}

/// The rectangle of greatest area that a mounting leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Largest {
    /// Along the tube.
    pub length: Length,
    /// Off the tube.
    pub height: Length,
}

/// Largest rectangle by area on a mounting; zero by zero when none fits. Height times the
/// greatest length at it has a single peak (a product of concave functions), found by ternary
/// search.
///
/// # Errors
/// [`FitError::OutOfRange`] for a tube width or mounting outside its range.
pub fn largest(frame: &Frame, tubes: &HalfWidths, mounting: &Mounting) -> Result<Largest, FitError> {
    tubes.check()?;
    mounting.check()?;
    let area = |height: f64| height * reach(frame, tubes, mounting, height);
    let (mut low, mut high) = (0.0, 1000.0);
    for _ in 0..200 {
        let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if area(a) < area(b) {
            low = a;
        } else {
            high = b;
        }
    }
    let height = (low + high) / 2.0;
    let length = reach(frame, tubes, mounting, height).max(0.0);
    Ok(Largest {
        length: Length::millimetres(length),
        height: Length::millimetres(if length > 0.0 { height } else { 0.0 }),
    })
}

/// Room each side of a pack (width 20 to 400 mm) centred between the crank arms, `(b − w)/2`,
/// with the distance between their inner faces (50 to 400 mm); negative when they strike it.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn side_room(between_arms: Length, width: Length) -> Result<Length, FitError> {
    in_range(
        "distance between the crank arms",
        between_arms.as_millimetres(),
        50.0,
        400.0,
        "mm",
    )?;
    in_range("pack width", width.as_millimetres(), 20.0, 400.0, "mm")?;
    Ok((between_arms - width) / 2.0)
}

#[cfg(test)]
mod tests;
