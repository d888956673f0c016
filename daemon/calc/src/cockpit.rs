//! The handlebar of a build: display clamp, free width, brake sensors, and the loom at full lock.

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::{Angle, Length};

mod sensor;
pub use sensor::{LEVER_SENSOR_BASIS, Lever, SENSORS, Sensor, SensorFit, sensor_fit, sensors_for};

/// Thickest shim on each side that a clamp still grips through, mm (judgement: 31.8 on 22.2 mm
/// takes 4.8 mm).
pub const SHIM_MOST_MM: f64 = 4.8;

/// How a clamp goes on a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ClampFit {
    /// As it is.
    Direct,
    /// With a shim of this thickness all round.
    Shim(Length),
    /// The shim would be thicker than [`SHIM_MOST_MM`].
    TooWide(Length),
    /// The bar is this much too thick; no shim helps.
    TooNarrow(Length),
}

/// Compares a clamp's inner diameter with the bar's at the place it goes (both 15 to 45 mm), for a
/// clamp that takes up so much either way without a shim;
/// the shim is half the difference, `(D − d)/2`.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn clamp_fit(clamp: Length, bar: Length, takes_up: Length) -> Result<ClampFit, FitError> {
    in_range("clamp diameter", clamp.as_millimetres(), 15.0, 45.0, "mm")?;
    in_range("bar diameter", bar.as_millimetres(), 15.0, 45.0, "mm")?;
    let over = (clamp - bar).as_millimetres();
    let slack = takes_up.as_millimetres() + 1e-9;
    let shim = Length::millimetres(over / 2.0);
    Ok(if over < -slack {
        ClampFit::TooNarrow(bar - clamp)
    } else if over <= slack {
        ClampFit::Direct
    } else if shim.as_millimetres() <= SHIM_MOST_MM + 1e-9 {
        ClampFit::Shim(shim)
    } else {
        ClampFit::TooWide(shim)
    })
}

/// Something that takes width on a handlebar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BarItem {
    /// Full grip.
    Grip,
    /// Short grip beside a twist shifter or half-twist throttle.
    ShortGrip,
    /// Clamp of a brake lever.
    LeverClamp,
    /// Clamp of a trigger shifter.
    Shifter,
    /// Twist shifter.
    TwistShifter,
    /// Thumb throttle.
    ThumbThrottle,
    /// Half-twist throttle.
    TwistThrottle,
    /// One clamp of a display.
    DisplayClamp,
    /// Keypad of a display.
    Keypad,
    /// Bell.
    Bell,
}

/// How [`BarItem::usual_width`] is known.
pub const BAR_ITEM_BASIS: Basis = Basis::Judgement;

impl BarItem {
    /// Width to plan with until the part is measured (judgement).
    pub fn usual_width(self) -> Length {
        Length::millimetres(match self {
            Self::Grip => 130.0,
            Self::ShortGrip => 90.0,
            Self::LeverClamp | Self::DisplayClamp => 15.0,
            Self::Shifter | Self::Keypad => 20.0,
            Self::TwistShifter | Self::TwistThrottle => 55.0,
            Self::ThumbThrottle => 25.0,
            Self::Bell => 12.0,
        })
    }
}

/// Width of one side of a handlebar, spent and left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WidthBudget {
    /// Sum of the widths.
    pub used: Length,
    /// What is left; negative, what is missing.
    pub free: Length,
}

/// Straight width of one side of a bar: half the whole bar (200 to 1 200 mm) without half the
/// stem and without the bulge or bend beside it (0 to 300 mm a side).
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges, or when nothing is left.
pub fn usable_side(bar: Length, stem: Length, bend: Length) -> Result<Length, FitError> {
    let whole = in_range("handlebar width", bar.as_millimetres(), 200.0, 1200.0, "mm")?;
    let stem = in_range("stem width", stem.as_millimetres(), 0.0, 200.0, "mm")?;
    let bend = in_range(
        "bulge or bend beside the stem",
        bend.as_millimetres(),
        0.0,
        300.0,
        "mm",
    )?;
    let side = in_range("width of one side", (whole - stem) / 2.0 - bend, 0.0, 600.0, "mm")?;
    Ok(Length::millimetres(side))
}

/// Spends one side of a bar (0 to 600 mm) on parts (each 0 to 300 mm).
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn width_budget(side: Length, items: &[Length]) -> Result<WidthBudget, FitError> {
    in_range("width of one side", side.as_millimetres(), 0.0, 600.0, "mm")?;
    for item in items {
        in_range(
            "width of a part on the bar",
            item.as_millimetres(),
            0.0,
            300.0,
            "mm",
        )?;
    }
    let used: Length = items.iter().copied().sum();
    Ok(WidthBudget {
        used,
        free: side - used,
    })
}

/// Where a loom leaves the frame and where it joins the bar, about the steering axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoomPath {
    /// Steering axis to the frame's anchor, square to the axis; 0 to 500 mm.
    pub frame_radius: Length,
    /// Steering axis to the bar's anchor, square to the axis; 0 to 600 mm.
    pub bar_radius: Length,
    /// Angle between the two, seen along the axis, with the wheel straight; −180 to 180°,
    /// positive when turning the bar the positive way widens it.
    pub angle: Angle,
    /// Distance between the two along the axis; 0 to 500 mm.
    pub rise: Length,
}

/// Straight distances of a loom over the steering range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoomSweep {
    /// With the wheel straight.
    pub straight: Length,
    /// At full lock the positive way.
    pub positive_lock: Length,
    /// At full lock the negative way.
    pub negative_lock: Length,
    /// Longest anywhere from lock to lock.
    pub longest: Length,
    /// Shortest anywhere from lock to lock: the loom must bow out by the difference.
    pub shortest: Length,
}

impl LoomPath {
    fn check(&self) -> Result<(), FitError> {
        for (name, length, most) in [
            ("frame anchor", self.frame_radius, 500.0),
            ("bar anchor", self.bar_radius, 600.0),
            ("rise of the loom", self.rise, 500.0),
        ] {
            in_range(name, length.as_millimetres(), 0.0, most, "mm")?;
        }
        in_range(
            "angle between the anchors",
            self.angle.as_degrees(),
            -180.0,
            180.0,
            "°",
        )?;
        Ok(())
    }

    /// Distance for a cosine of the angle between the anchors, `sqrt(a² + r² − 2·a·r·cos + h²)`.
    fn distance(&self, cosine: f64) -> Length {
        let (a, r) = (
            self.frame_radius.as_millimetres(),
            self.bar_radius.as_millimetres(),
        );
        let flat = (a * a + r * r - 2.0 * a * r * cosine).max(0.0).sqrt();
        Length::millimetres(flat.hypot(self.rise.as_millimetres()))
    }

    /// Distances from lock to lock (`lock` each way, 0 to 180°), by the law of cosines: longest
    /// where the anchors stand opposite each other, if the bar passes there, else at a lock.
    ///
    /// # Errors
    /// [`FitError::OutOfRange`] outside those ranges.
    pub fn sweep(&self, lock: Angle) -> Result<LoomSweep, FitError> {
        self.check()?;
        let lock = in_range("steering lock", lock.as_degrees(), 0.0, 180.0, "°")?;
        let at = self.angle.as_degrees();
        let distance = |degrees: f64| self.distance(degrees.to_radians().cos());
        let (straight, positive_lock, negative_lock) =
            (distance(at), distance(at + lock), distance(at - lock));
        let passes = |degrees: f64| (degrees - at).abs() <= lock;
        Ok(LoomSweep {
            straight,
            positive_lock,
            negative_lock,
            longest: if passes(180.0) || passes(-180.0) {
                self.distance(-1.0)
            } else {
                positive_lock.max(negative_lock)
            },
            shortest: if passes(0.0) || passes(360.0) || passes(-360.0) {
                self.distance(1.0)
            } else {
                positive_lock.min(negative_lock)
            },
        })
    }
}

/// What a loom has left: its free length minus its path at the worse lock, as measured or
/// [`LoomSweep::longest`] (both 0 to 5 000 mm), and minus the slack asked (0 to 500 mm).
/// Negative: it pulls.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn loom_margin(free: Length, path: Length, slack: Length) -> Result<Length, FitError> {
    for (name, length, most) in [
        ("free length of the loom", free, 5000.0),
        ("path of the loom", path, 5000.0),
        ("slack asked", slack, 500.0),
    ] {
        in_range(name, length.as_millimetres(), 0.0, most, "mm")?;
    }
    Ok(free - path - slack)
}

#[cfg(test)]
mod tests;
