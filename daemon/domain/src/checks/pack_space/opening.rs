//! The open space of the frame as it was measured inside its tubes: three sides, or four where
//! the head tube makes one.

use lockring_calc::doubt::FitError;
use lockring_calc::pack_space::{Frame, HalfWidths};
use lockring_calc::quantity::{Angle, Length};

use crate::case::{Case, Known};
use crate::finding::Halt;
use crate::prediction;

/// Sides of the triangle: along top, seat and down tube.
pub(super) const SIDES: [&str; 3] = ["tube-top", "tube-seat", "tube-down"];

/// What tells of a fourth side, made by the head tube: the angle at the shell, with the side
/// itself or with the angle at the top of the seat tube.
const BY_SIDE: [&str; 2] = ["angle-shell", "tube-head"];
const BY_ANGLES: [&str; 2] = ["angle-shell", "angle-seat"];

/// What was measured: the three sides, and what tells of a fourth.
#[derive(Debug, Clone)]
pub(in crate::checks) struct Opening {
    sides: [Known; 3],
    fourth: Option<Fourth>,
}

/// How the side of the head tube is known.
#[derive(Debug, Clone, Copy)]
enum Fourth {
    /// Angle at the shell, length of the side.
    Side([Known; 2]),
    /// Angle at the shell, angle between seat and top tube.
    Angles([Known; 2]),
}

/// The open space: the tubes' own width is outside of it.
pub(in crate::checks) struct Open {
    /// Its sides.
    pub(in crate::checks) frame: Frame,
    /// Tubes without width.
    pub(in crate::checks) tubes: HalfWidths,
}

impl Opening {
    /// As measured.
    ///
    /// # Errors
    /// [`Halt::Open`] naming every reading that is missing.
    pub(in crate::checks) fn measured(case: &Case<'_>) -> Result<Self, Halt> {
        let knows = |key: &str| case.knows(key);
        let more: &[&str] = if knows("tube-head") {
            &BY_SIDE
        } else if BY_ANGLES.iter().any(|key| knows(key)) {
            &BY_ANGLES
        } else {
            &[]
        };
        let keys: Vec<&str> = SIDES.iter().chain(more).copied().collect();
        prediction::need(case, &keys)?;
        let pair = |keys: [&str; 2]| Ok::<_, Halt>([case.number(keys[0])?, case.number(keys[1])?]);
        let fourth = match more {
            [] => None,
            [_, "tube-head"] => Some(Fourth::Side(pair(BY_SIDE)?)),
            _ => Some(Fourth::Angles(pair(BY_ANGLES)?)),
        };
        let [top, seat, down] = SIDES;
        Ok(Self {
            sides: [case.number(top)?, case.number(seat)?, case.number(down)?],
            fourth,
        })
    }

    /// The space these readings describe.
    ///
    /// # Errors
    /// [`FitError`] when the sides cannot close.
    pub(in crate::checks) fn open(&self) -> Result<Open, FitError> {
        let [top, seat, down] = self.sides.map(|known| Length::metres(known.value));
        let angle = |known: Known| Angle::radians(known.value);
        let frame = match self.fourth {
            None => Frame::triangle(seat, top, down)?,
            Some(Fourth::Side([shell, head])) => {
                Frame::from_head_tube(seat, top, down, Length::metres(head.value), angle(shell))?
            }
            Some(Fourth::Angles([shell, at_seat])) => {
                Frame::from_angles(seat, top, down, angle(shell), angle(at_seat))?
            }
        };
        let none = Length::ZERO;
        Ok(Open {
            frame,
            tubes: HalfWidths {
                seat: none,
                top: none,
                head: none,
                down: none,
            },
        })
    }

    /// The side along the down tube.
    pub(in crate::checks) const fn along_down(&self) -> Known {
        self.sides[2]
    }

    /// The same space with each reading in turn less and more by its standard uncertainty.
    pub(super) fn moved(&self) -> Vec<(Self, Self)> {
        let count = SIDES.len() + self.fourth.map_or(0, |_| 2);
        (0..count)
            .map(|index| (self.with(index, -1.0), self.with(index, 1.0)))
            .collect()
    }

    fn with(&self, index: usize, times: f64) -> Self {
        let mut changed = self.clone();
        let known = match (&mut changed.fourth, index.checked_sub(SIDES.len())) {
            (Some(Fourth::Side(pair) | Fourth::Angles(pair)), Some(at)) => &mut pair[at],
            _ => &mut changed.sides[index],
        };
        known.value += times * known.u;
        changed
    }

    /// The readings in words.
    pub(super) fn said(&self) -> String {
        let [top, seat, down] = self.sides.map(|known| 1e3 * known.value);
        let sides = format!("{top:.0}, {seat:.0}, {down:.0} mm (top, seat, down)");
        match self.fourth {
            None => format!("triangle {sides}"),
            Some(Fourth::Side([shell, head])) => format!(
                "four sides {sides}, {:.0} mm (head), {:.1} degrees at the shell",
                1e3 * head.value,
                shell.value.to_degrees()
            ),
            Some(Fourth::Angles([shell, at_seat])) => format!(
                "four sides {sides}, {:.1} degrees at the shell, {:.1} under the saddle",
                shell.value.to_degrees(),
                at_seat.value.to_degrees()
            ),
        }
    }
}
