//! Loads of the two axles, as weighed, and what a part does to them.

use crate::doubt::{FitError, in_range};
use crate::quantity::{Length, Mass};

/// Front axle's share of two scale readings, `F/(F + R)`; each 0.1 to 1 000 kg. Both wheels
/// level: one scale and a block as high (common practice, no source).
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn front_share(front: Mass, rear: Mass) -> Result<f64, FitError> {
    let front = in_range("front scale", front.as_kilograms(), 0.1, 1000.0, "kg")?;
    let rear = in_range("rear scale", rear.as_kilograms(), 0.1, 1000.0, "kg")?;
    Ok(front / (front + rear))
}

/// What a part of a mass puts on the front and the rear axle, its middle `behind` the front
/// axle: rear `m·x/L`, the rest in front (balance of moments). Mass 0 to 300 kg, x −1 000 to
/// 4 000 mm, wheelbase 500 to 3 000 mm; behind the rear axle the front is relieved.
///
/// # Errors
/// [`FitError::OutOfRange`] outside those ranges.
pub fn on_axles(part: Mass, behind: Length, wheelbase: Length) -> Result<(Mass, Mass), FitError> {
    in_range("mass of the part", part.as_kilograms(), 0.0, 300.0, "kg")?;
    let x = in_range(
        "distance behind the front axle",
        behind.as_millimetres(),
        -1000.0,
        4000.0,
        "mm",
    )?;
    let base = in_range("wheelbase", wheelbase.as_millimetres(), 500.0, 3000.0, "mm")?;
    let rear = part * (x / base);
    Ok((part - rear, rear))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_of_two_readings() {
        // Arithmetic: 38 and 62 kg, 45 and 55 kg.
        let share = |f, r| front_share(Mass::kilograms(f), Mass::kilograms(r)).unwrap();
        assert!((share(38.0, 62.0) - 0.38).abs() < 1e-12);
        assert!((share(45.0, 55.0) - 0.45).abs() < 1e-12);
        assert!(front_share(Mass::kilograms(-1.0), Mass::kilograms(60.0)).is_err());
        assert!(front_share(Mass::kilograms(40.0), Mass::kilograms(0.0)).is_err());
    }

    #[test]
    fn a_pack_of_three_kilograms_by_its_place() {
        // Balance of moments by hand, wheelbase 1 050 mm: over the rear axle all of it is on
        // the rear; at 470 mm 3 x 470/1050 = 1.343 kg rear, 1.657 kg front.
        let at = |mm| {
            let (front, rear) = on_axles(
                Mass::kilograms(3.0),
                Length::millimetres(mm),
                Length::millimetres(1050.0),
            )
            .unwrap();
            (front.as_kilograms(), rear.as_kilograms())
        };
        let close = |found: (f64, f64), front: f64, rear: f64| {
            assert!(
                (found.0 - front).abs() < 5e-4 && (found.1 - rear).abs() < 5e-4,
                "{found:?}"
            );
        };
        close(at(1050.0), 0.0, 3.0);
        close(at(470.0), 1.657, 1.343);
        close(at(0.0), 3.0, 0.0);
        // Behind the rear axle the front is relieved: 3 x 1155/1050 = 3.3 kg.
        close(at(1155.0), -0.3, 3.3);
        let short = on_axles(Mass::kilograms(3.0), Length::ZERO, Length::millimetres(400.0));
        assert!(short.unwrap_err().to_string().contains("wheelbase"));
    }
}
