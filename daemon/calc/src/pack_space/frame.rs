//! The open front triangle of a frame as a polygon in its own plane.

use crate::doubt::{FitError, in_range};
use crate::quantity::{Angle, Length};

/// A point, mm.
pub(super) type Point = [f64; 2];

/// A tube around the open triangle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Tube {
    /// Shell to saddle.
    Seat,
    /// Seat tube to head tube.
    Top,
    /// Between top tube and down tube.
    Head,
    /// Shell to head tube.
    Down,
}

/// Half the width of each tube, seen from the side; 0 to 80 mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HalfWidths {
    /// Seat tube.
    pub seat: Length,
    /// Top tube.
    pub top: Length,
    /// Head tube.
    pub head: Length,
    /// Down tube.
    pub down: Length,
}

impl HalfWidths {
    /// Half width of one tube.
    pub fn of(&self, tube: Tube) -> Length {
        match tube {
            Tube::Seat => self.seat,
            Tube::Top => self.top,
            Tube::Head => self.head,
            Tube::Down => self.down,
        }
    }

    pub(super) fn check(&self) -> Result<(), FitError> {
        for (name, half) in [
            ("half width of the seat tube", self.seat),
            ("half width of the top tube", self.top),
            ("half width of the head tube", self.head),
            ("half width of the down tube", self.down),
        ] {
            in_range(name, half.as_millimetres(), 0.0, 80.0, "mm")?;
        }
        Ok(())
    }
}

/// Tube the pack is mounted on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mount {
    /// On the down tube.
    DownTube,
    /// On the seat tube.
    SeatTube,
}

impl Mount {
    pub(super) const fn tube(self) -> Tube {
        match self {
            Self::DownTube => Tube::Down,
            Self::SeatTube => Tube::Seat,
        }
    }
}

/// Centre lines of the front triangle; corners where they cross. The shell is the origin and
/// the down tube runs along the first axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    seat_top: Point,
    head_top: Point,
    head_bottom: Point,
}

/// A line with its normal into the triangle: `normal · p − offset` is the distance of a point
/// inside, mm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Side {
    pub(super) tube: Tube,
    pub(super) normal: Point,
    pub(super) offset: f64,
}

impl Side {
    pub(super) fn distance(&self, point: Point) -> f64 {
        dot(self.normal, point) - self.offset
    }
}

fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn minus(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1]]
}

fn size(a: Point) -> f64 {
    a[0].hypot(a[1])
}

fn tube_length(name: &'static str, length: Length) -> Result<f64, FitError> {
    in_range(name, length.as_millimetres(), 100.0, 1000.0, "mm")
}

fn corner(name: &'static str, radians: f64) -> Result<f64, FitError> {
    Ok(in_range(name, radians.to_degrees(), 1.0, 179.0, "°")?.to_radians())
}

/// Angle from one direction on to another against the clock, 0 to 2π.
fn turn(from: Point, to: Point) -> f64 {
    (from[0] * to[1] - from[1] * to[0])
        .atan2(dot(from, to))
        .rem_euclid(std::f64::consts::TAU)
}

impl Frame {
    /// A triangle without a head-tube side: seat, top and down tube (each 100 to 1 000 mm)
    /// between their crossings; the law of cosines gives the angle at the shell.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside that range, or for a top tube that cannot close it.
    pub fn triangle(seat: Length, top: Length, down: Length) -> Result<Self, FitError> {
        let s = tube_length("seat tube", seat)?;
        let d = tube_length("down tube", down)?;
        tube_length("top tube", top)?;
        let t = in_range("top tube", top.as_millimetres(), (s - d).abs(), s + d, "mm")?;
        let angle = corner(
            "angle at the shell",
            ((s * s + d * d - t * t) / (2.0 * s * d)).acos(),
        )?;
        Ok(Self {
            seat_top: [s * angle.cos(), s * angle.sin()],
            head_top: [d, 0.0],
            head_bottom: [d, 0.0],
        })
    }

    /// Four sides from three tubes (each 100 to 1 000 mm) and the angles between them (1 to
    /// 179°): at the shell between seat and down tube, and between seat and top tube.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside those ranges, or when the corners at the head tube
    /// are not between 1 and 179°.
    pub fn from_angles(
        seat: Length,
        top: Length,
        down: Length,
        at_shell: Angle,
        at_seat: Angle,
    ) -> Result<Self, FitError> {
        let s = tube_length("seat tube", seat)?;
        let t = tube_length("top tube", top)?;
        let d = tube_length("down tube", down)?;
        let shell = corner("angle at the shell", at_shell.as_radians())?;
        let along =
            corner("angle between seat and top tube", at_seat.as_radians())? + shell + std::f64::consts::PI;
        let seat_top = [s * shell.cos(), s * shell.sin()];
        let frame = Self {
            seat_top,
            head_top: [seat_top[0] + t * along.cos(), seat_top[1] + t * along.sin()],
            head_bottom: [d, 0.0],
        };
        frame.checked()
    }

    /// Four sides from three tubes (each 100 to 1 000 mm), the length of the head tube between
    /// top and down tube (10 to 400 mm) and the angle at the shell (1 to 179°): two circles
    /// cross where top and head tube meet.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside those ranges, or when the sides cannot close.
    pub fn from_head_tube(
        seat: Length,
        top: Length,
        down: Length,
        head: Length,
        at_shell: Angle,
    ) -> Result<Self, FitError> {
        let s = tube_length("seat tube", seat)?;
        let t = tube_length("top tube", top)?;
        let d = tube_length("down tube", down)?;
        in_range("head tube", head.as_millimetres(), 10.0, 400.0, "mm")?;
        let shell = corner("angle at the shell", at_shell.as_radians())?;
        let seat_top = [s * shell.cos(), s * shell.sin()];
        let across = minus(seat_top, [d, 0.0]);
        let gap = size(across);
        let h = in_range("head tube", head.as_millimetres(), (gap - t).abs(), gap + t, "mm")?;
        // From the down tube's end: along the line to the seat tube's end, then off to the
        // side away from the shell.
        let on = (h * h - t * t + gap * gap) / (2.0 * gap);
        let off = (h * h - on * on).max(0.0).sqrt();
        let unit = [across[0] / gap, across[1] / gap];
        let frame = Self {
            seat_top,
            head_top: [d + on * unit[0] + off * unit[1], on * unit[1] - off * unit[0]],
            head_bottom: [d, 0.0],
        };
        frame.checked()
    }

    fn checked(self) -> Result<Self, FitError> {
        let to_seat = minus(self.seat_top, self.head_top);
        let to_down = minus(self.head_bottom, self.head_top);
        let back = [-self.seat_top[0], -self.seat_top[1]];
        corner(
            "angle between seat and top tube",
            turn(back, minus(self.head_top, self.seat_top)),
        )?;
        corner("angle between top and head tube", turn(to_seat, to_down))?;
        corner(
            "angle between head and down tube",
            turn(
                minus(self.head_top, self.head_bottom),
                minus([0.0, 0.0], self.head_bottom),
            ),
        )?;
        Ok(self)
    }

    /// Length of the side that the head tube makes, zero for a triangle.
    pub fn head_length(&self) -> Length {
        Length::millimetres(size(minus(self.head_top, self.head_bottom)))
    }

    /// Angle at the shell between seat and down tube.
    pub fn shell_angle(&self) -> Angle {
        Angle::radians(self.seat_top[1].atan2(self.seat_top[0]))
    }

    /// Area between the centre lines, mm², by the shoelace formula.
    pub fn area_mm2(&self) -> f64 {
        let points = [self.head_bottom, self.head_top, self.seat_top];
        let cross = |a: Point, b: Point| a[0] * b[1] - a[1] * b[0];
        (cross(points[0], points[1]) + cross(points[1], points[2])) / 2.0
    }

    /// The sides other than the mounting tube, in the mounting tube's axes: first axis from the
    /// shell along the tube, second into the triangle.
    pub(super) fn sides(&self, mount: Mount) -> Vec<Side> {
        let (along, inward) = match mount {
            Mount::DownTube => ([1.0, 0.0], [0.0, 1.0]),
            Mount::SeatTube => {
                let length = size(self.seat_top);
                let [x, y] = [self.seat_top[0] / length, self.seat_top[1] / length];
                ([x, y], [y, -x])
            }
        };
        let [seat, top, bottom] = [self.seat_top, self.head_top, self.head_bottom]
            .map(|point| [dot(point, along), dot(point, inward)]);
        let middle = [
            (seat[0] + top[0] + bottom[0]) / 4.0,
            (seat[1] + top[1] + bottom[1]) / 4.0,
        ];
        [
            (Tube::Seat, [0.0, 0.0], seat),
            (Tube::Top, seat, top),
            (Tube::Head, top, bottom),
            (Tube::Down, bottom, [0.0, 0.0]),
        ]
        .into_iter()
        .filter(|(tube, from, to)| *tube != mount.tube() && size(minus(*to, *from)) > 1e-9)
        .map(|(tube, from, to)| side(tube, from, to, middle))
        .collect()
    }
}

fn side(tube: Tube, from: Point, to: Point, inside: Point) -> Side {
    let along = minus(to, from);
    let length = size(along);
    let mut normal = [-along[1] / length, along[0] / length];
    if dot(normal, minus(inside, from)) < 0.0 {
        normal = [-normal[0], -normal[1]];
    }
    Side {
        tube,
        normal,
        offset: dot(normal, from),
    }
}
