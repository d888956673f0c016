//! Rims and the tyres that go on them.

use crate::doubt::{Basis, FitError, in_range};
use crate::quantity::Length;

/// Tyre widths for an inner rim width, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RimWidth {
    /// Inner width of the rim.
    pub inner_mm: f64,
    /// Narrowest and widest tyre.
    pub tyre_mm: [f64; 2],
    /// How the row is known.
    pub basis: Basis,
}

#[rustfmt::skip]
const fn recalled(inner_mm: f64, least: f64, most: f64) -> RimWidth {
    RimWidth { inner_mm, tyre_mm: [least, most], basis: Basis::Memory }
}

/// Tyres by inner rim width, narrowest rim first (the tyre and rim organisation's manual,
/// older edition, from memory; newer editions allow narrower tyres on wide rims). It may
/// advise, never refuse.
#[rustfmt::skip]
pub const RIM_WIDTHS: &[RimWidth] = &[
    recalled(13.0, 18.0, 25.0), recalled(15.0, 23.0, 32.0), recalled(17.0, 25.0, 50.0), recalled(19.0, 28.0, 62.0),
    recalled(21.0, 35.0, 64.0), recalled(23.0, 40.0, 64.0), recalled(25.0, 44.0, 71.0), recalled(27.0, 47.0, 71.0),
    recalled(29.0, 50.0, 71.0),
];

/// Row of [`RIM_WIDTHS`] nearest to an inner width, the wider rim's where two are as near;
/// `None` further than 1 mm from any row.
pub fn rim_width(inner: Length) -> Option<&'static RimWidth> {
    let mm = inner.as_millimetres();
    let off = |row: &RimWidth| (row.inner_mm - mm).abs();
    RIM_WIDTHS
        .iter()
        .rev()
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .filter(|row| off(row) <= 1.0 + 1e-9)
}

/// Inner rim width usual for a tyre: 65 % of its section below 30 mm, else 55 % (ISO 5775-1,
/// as summarised by an encyclopaedia). Width 10 to 130 mm.
///
/// # Errors
/// [`FitError::OutOfRange`] outside that range.
pub fn usual_inner(tyre: Length) -> Result<Length, FitError> {
    let mm = in_range("tyre width", tyre.as_millimetres(), 10.0, 130.0, "mm")?;
    Ok(tyre * if mm < 30.0 { 0.65 } else { 0.55 })
}

/// Whether a tyre's bead seat goes on a rim's: the same to 0.5 mm; 540 and 541 mm are one
/// size under two marks (encyclopaedia table of bead seats).
pub fn same_bead_seat(rim: Length, tyre: Length) -> bool {
    let pair = [rim, tyre].map(|seat| seat.as_millimetres());
    let one_size = pair.iter().all(|mm| (539.5..=541.5).contains(mm));
    one_size || (pair[0] - pair[1]).abs() <= 0.5
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(mm: f64) -> Option<[f64; 2]> {
        rim_width(Length::millimetres(mm)).map(|row| row.tyre_mm)
    }

    #[test]
    fn the_nearest_row_answers_and_only_within_a_millimetre() {
        // The tyre and rim organisation's manual, older edition, from memory.
        assert_eq!(row(17.0), Some([25.0, 50.0]));
        assert_eq!(row(18.9), Some([28.0, 62.0]));
        assert_eq!(row(18.0), Some([28.0, 62.0]));
        assert_eq!(row(12.0), Some([18.0, 25.0]));
        assert_eq!(row(11.9), None);
        assert_eq!(row(30.0), Some([50.0, 71.0]));
        assert_eq!(row(30.1), None);
    }

    #[test]
    fn the_table_rises_and_says_how_it_is_known() {
        for pair in RIM_WIDTHS.windows(2) {
            assert!(pair[0].inner_mm < pair[1].inner_mm);
            assert!(pair[0].tyre_mm[0] <= pair[1].tyre_mm[0] && pair[0].tyre_mm[1] <= pair[1].tyre_mm[1]);
        }
        assert!(
            RIM_WIDTHS
                .iter()
                .all(|row| row.basis == Basis::Memory && row.tyre_mm[0] < row.tyre_mm[1])
        );
    }

    #[test]
    fn the_usual_rim_takes_two_thirds_of_a_narrow_tyre_and_half_of_a_wide_one() {
        // ISO 5775-1 as summarised by an encyclopaedia: 65 % below 30 mm, 55 % above.
        let usual = |mm| usual_inner(Length::millimetres(mm)).unwrap().as_millimetres();
        assert!((usual(28.0) - 18.2).abs() < 1e-9);
        assert!((usual(30.0) - 16.5).abs() < 1e-9);
        assert!((usual(47.0) - 25.85).abs() < 1e-9);
        assert!(usual_inner(Length::millimetres(-47.0)).is_err());
    }

    #[test]
    fn seats_near_each_other_are_still_different_sizes() {
        // Encyclopaedia table of bead seats: 584, 587 and 590, 597 and 599 are different sizes,
        // 540 and 541 one.
        let same = |a, b| same_bead_seat(Length::millimetres(a), Length::millimetres(b));
        assert!(same(622.0, 622.0) && same(540.0, 541.0) && same(541.0, 540.0));
        for (a, b) in [
            (584.0, 587.0),
            (587.0, 590.0),
            (597.0, 599.0),
            (622.0, 630.0),
            (541.0, 547.0),
        ] {
            assert!(!same(a, b) && !same(b, a), "{a} {b}");
        }
    }
}
