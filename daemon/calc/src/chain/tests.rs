//! Tests of chain length, capacity, width and bolt circles.

use super::*;
use crate::chainline::{Family, spacing};

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected} ± {tolerance}"
    );
}

/// Approximate length in links, `2C/p + (F + R)/2 + ((F − R)/2π)²·p/C` (ISO 606
/// handbooks, from memory); ranges and errors as [`links_exact`].
fn links_approximate(centres: Length, ring: u32, cog: u32) -> Result<f64, ChainError> {
    let (c, ring, cog) = span(centres, ring, cog)?;
    Ok(2.0 * c + (ring + cog) / 2.0 + ((ring - cog) / TAU).powi(2) / c)
}

/// Handbook length, simple form, in inches `2C + F/4 + R/4 + 1`, the inch of slack for a
/// derailleur included (a bicycle tool maker's handbook, from memory). It runs long: use it to
/// compare, not to order. Ranges and errors as [`links_exact`].
fn handbook_simple(centres: Length, ring: u32, cog: u32) -> Result<Length, ChainError> {
    let (_, ring, cog) = span(centres, ring, cog)?;
    Ok(centres * 2.0 + Length::inches(ring / 4.0 + cog / 4.0 + 1.0))
}

/// Handbook length, rigorous form, in inches
/// `0.25(F + R) + 2·sqrt(C² + (0.0796(F − R))²)`, without slack; 0.0796 is 0.5/2π (Park
/// Tool, Chain Length Sizing, from memory). Ranges and errors as [`links_exact`].
fn handbook_rigorous(centres: Length, ring: u32, cog: u32) -> Result<Length, ChainError> {
    let (_, ring, cog) = span(centres, ring, cog)?;
    let slope = 0.0796 * (ring - cog);
    Ok(Length::inches(
        0.25 * (ring + cog) + 2.0 * centres.as_inches().hypot(slope),
    ))
}

/// Handbook length, metric form, in links `0.157·a + F/2 + R/2 + 2` with `a` in mm, slack
/// included. Common practice, no source. Ranges and errors as [`links_exact`].
fn handbook_metric_links(centres: Length, ring: u32, cog: u32) -> Result<f64, ChainError> {
    let (_, ring, cog) = span(centres, ring, cog)?;
    Ok(0.157 * centres.as_millimetres() + ring / 2.0 + cog / 2.0 + 2.0)
}

/// Links to order for a handbook length: the next whole inch, two links each, as vertical
/// dropouts ask.
fn whole_inch_links(length: Length) -> u32 {
    2 * (length.as_inches() - 1e-9).ceil().max(0.0) as u32
}

#[test]
fn handbook_lengths() {
    // Computed by hand from the handbook's equations (a bicycle tool maker's handbook).
    let stay = Length::inches(17.25);
    near(handbook_rigorous(stay, 50, 28).unwrap().as_inches(), 54.18, 0.005);
    near(handbook_simple(stay, 50, 28).unwrap().as_inches(), 55.0, 1e-9);
    near(handbook_rigorous(stay, 52, 28).unwrap().as_inches(), 54.71, 0.005);
    near(handbook_simple(stay, 52, 28).unwrap().as_inches(), 55.5, 1e-9);
    // Worked by a reader of a bicycle forum: 415 mm, 46 and 36 teeth 54.17 in.
    let forum = handbook_simple(Length::millimetres(415.0), 46, 36).unwrap();
    near(forum.as_inches(), 54.17, 0.011);
    let with_slack = handbook_rigorous(stay, 50, 28).unwrap() + Length::inches(1.0);
    assert_eq!(whole_inch_links(with_slack), 112);
    // A figure of 108.94 circulates for this case; the sum is 103.94.
    near(
        handbook_metric_links(Length::millimetres(420.0), 44, 28).unwrap(),
        103.94,
        1e-9,
    );
}

#[test]
fn longtail_length_by_the_simple_form() {
    // Common practice, no source: stay 18.90 in, 38 and 36 teeth: 57.3 in, 116 links.
    let length = handbook_simple(Length::inches(18.90), 38, 36).unwrap();
    near(length.as_inches(), 57.3, 1e-9);
    assert_eq!(whole_inch_links(length), 116);
}

#[test]
fn exact_lengths_and_orders() {
    // Computed by hand from the two-circle equation.
    let inches = Length::inches;
    let mm = Length::millimetres;
    for (centres, ring, cog, exact) in [
        (inches(17.25), 50, 28, 108.36),
        (inches(17.25), 52, 28, 109.42),
        (mm(420.0), 44, 28, 102.34),
        (mm(435.0), 42, 36, 107.53),
        (mm(430.0), 46, 18, 100.30),
    ] {
        near(links_exact(centres, ring, cog).unwrap(), exact, 0.005);
    }
    let order = |centres, ring, cog| links_to_order(links_exact(centres, ring, cog).unwrap());
    assert_eq!(order(inches(17.25), 52, 28), 112);
    assert_eq!(order(mm(420.0), 44, 28), 106);
    assert_eq!(order(mm(435.0), 42, 36), 110);
    assert_eq!(links_to_order(104.0), 106);
    assert_eq!(links_to_order(104.01), 108);
}

#[test]
fn exact_approximate_and_rigorous_agree() {
    // The three equations agree within 0.01 link on the cases of the table above; over the
    // whole grid the widest pair (11 and 52 teeth on a short stay) is 0.04 link apart.
    for stay in (400..=520).step_by(10) {
        for cog in 11..=52 {
            for ring in [30, 38, 42, 46, 52] {
                let centres = Length::millimetres(f64::from(stay));
                let exact = links_exact(centres, ring, cog).unwrap();
                let tolerance = if ring.abs_diff(cog) <= 28 { 0.01 } else { 0.04 };
                near(links_approximate(centres, ring, cog).unwrap(), exact, tolerance);
                let rigorous = handbook_rigorous(centres, ring, cog).unwrap();
                near(rigorous.as_millimetres() / PITCH_MM, exact, tolerance);
            }
        }
    }
}

#[test]
fn equal_sprockets_have_a_closed_form() {
    // Two equal circles: 2C/p + N, by geometry.
    near(
        links_exact(Length::millimetres(508.0), 32, 32).unwrap(),
        112.0,
        1e-9,
    );
}

#[test]
fn length_grows_with_everything() {
    let exact = |stay: f64, ring, cog| links_exact(Length::millimetres(stay), ring, cog).unwrap();
    for step in 0..60 {
        let stay = 400.0 + f64::from(step) * 2.0;
        for cog in 11..50 {
            let here = exact(stay, 42, cog);
            assert!(exact(stay + 2.0, 42, cog) > here);
            assert!(exact(stay, 42, cog + 1) > here);
            assert!(exact(stay, 43, cog) > here);
            near(exact(stay, cog, 42), here, 1e-9);
            let order = links_to_order(here);
            assert!(
                order.is_multiple_of(2) && f64::from(order) >= here + 2.0 && f64::from(order) < here + 4.0
            );
        }
    }
}

#[test]
fn inches_and_millimetres_order_the_same_chain() {
    for step in 0..200 {
        let mm = 400.0 + f64::from(step) * 0.7;
        let metric = links_exact(Length::millimetres(mm), 44, 34).unwrap();
        let imperial = links_exact(Length::inches(mm / 25.4), 44, 34).unwrap();
        assert_eq!(links_to_order(metric), links_to_order(imperial));
    }
}

#[test]
fn capacities() {
    // Common practice; makers' definition. 53/39+12-23, 44-32-24+12-34, 53/39+11-28,
    // 22-44+11-32 and a single 32 with 10-52.
    let limits = DerailleurLimits {
        capacity: 43,
        largest_cog: 52,
        smallest_cog: Some(11),
    };
    let need = |rings: &[u32], cogs: &[u32]| derailleur_fit(rings, cogs, limits).unwrap().need;
    assert_eq!(need(&[53, 39], &[12, 23]), 25);
    assert_eq!(need(&[44, 32, 24], &[12, 34]), 42);
    assert_eq!(need(&[53, 39], &[11, 28]), 31);
    assert_eq!(need(&[22, 44], &[11, 32]), 43);
    assert_eq!(need(&[32], &[10, 52]), 42);
}

#[test]
fn longtail_derailleur() {
    // Common practice, no source: 11-36 on a derailleur for 36 teeth and capacity 39 leaves 14.
    let limits = DerailleurLimits {
        capacity: 39,
        largest_cog: 36,
        smallest_cog: None,
    };
    let fit = derailleur_fit(&[38], &[11, 36], limits).unwrap();
    assert!(fit.fits());
    assert_eq!((fit.capacity_margin, fit.largest_margin), (14, 0));
    let fit = derailleur_fit(&[38], &[11, 40], limits).unwrap();
    assert!(!fit.fits());
    assert_eq!(fit.largest_margin, -4);
    let small = DerailleurLimits {
        smallest_cog: Some(11),
        ..limits
    };
    assert!(!derailleur_fit(&[38], &[10, 36], small).unwrap().fits());
}

#[test]
fn chains_between_sprockets() {
    // Computed by hand from p − t/2 − w/2 with the stored spacings.
    for (chain_mm, speeds, gap_mm) in [
        (7.1, 8, 0.35),
        (7.1, 9, -0.10),
        (6.6, 9, 0.15),
        (6.6, 10, -0.15),
        (5.9, 10, 0.20),
        (5.9, 9, 0.50),
        (5.6, 11, 0.14),
        (5.6, 12, 0.05),
    ] {
        let row = spacing(speeds, Family::A).unwrap();
        let gap = side_gap(row.pitch(), row.thickness(), Length::millimetres(chain_mm));
        near(gap.as_millimetres(), gap_mm, 1e-9);
    }
}

#[test]
fn chains_narrow_as_speeds_grow() {
    for pair in CHAIN_WIDTHS.windows(2) {
        assert!(pair[1].usual_mm < pair[0].usual_mm);
        assert!(pair[1].inner_mm <= pair[0].inner_mm);
    }
    for row in CHAIN_WIDTHS {
        assert!(row.outer_mm[0] <= row.usual_mm && row.usual_mm <= row.outer_mm[1]);
    }
    assert_eq!(chain_width(5).unwrap().speeds, 6);
    assert!(chain_width(2).is_none());
}

#[test]
fn bolt_circles_from_adjacent_bolts() {
    // Brown, Bicycle Numbers: 64.7 mm on five arms is the 110, 73.6 mm on four the 104.
    let five = bolt_circle(5, Length::millimetres(64.7)).unwrap();
    near(five.as_millimetres(), 110.07, 0.005);
    let row = snap_bolt_circle(5, five).unwrap();
    assert_eq!((row.diameter_mm, row.fewest_teeth), (110.0, Some(34)));
    let four = bolt_circle(4, Length::millimetres(73.6)).unwrap();
    near(four.as_millimetres(), 104.1, 0.05);
    assert_eq!(snap_bolt_circle(4, four).unwrap().diameter_mm, 104.0);
    assert!(snap_bolt_circle(4, Length::millimetres(130.0)).is_none());
    assert!(bolt_circle(2, Length::millimetres(64.7)).is_err());
}

#[test]
fn every_published_bolt_distance_snaps_to_its_row() {
    for row in BOLT_CIRCLES {
        let Some(adjacent) = row.adjacent_mm else { continue };
        let measured = bolt_circle(row.arms, Length::millimetres(adjacent)).unwrap();
        let snapped = snap_bolt_circle(row.arms, measured).unwrap();
        assert_eq!(snapped.diameter_mm, row.diameter_mm);
    }
}

#[test]
fn fewest_teeth_of_the_published_circles() {
    // Brown, Bicycle Numbers: these six minima are reproduced exactly.
    for (circle, teeth) in [
        (144.0, 41),
        (135.0, 39),
        (130.0, 38),
        (94.0, 29),
        (74.0, 24),
        (58.0, 20),
    ] {
        assert_eq!(
            fewest_teeth(Length::millimetres(circle)).unwrap(),
            teeth,
            "{circle}"
        );
    }
    // A handbook answer works 130 mm with 36 teeth: 137 mm between valleys is not enough.
    assert!(fewest_teeth(Length::millimetres(130.0)).unwrap() > 36);
}

#[test]
fn impossible_chains_are_named() {
    let error = links_exact(Length::millimetres(150.0), 52, 42).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("distance between centres is 150.0 mm")
    );
    let limits = DerailleurLimits {
        capacity: 39,
        largest_cog: 36,
        smallest_cog: None,
    };
    let error = derailleur_fit(&[], &[11], limits).unwrap_err();
    assert_eq!(
        error.to_string(),
        "chainrings is empty; at least one tooth count is needed"
    );
    let error = links_exact(Length::millimetres(430.0), 4, 18).unwrap_err();
    assert_eq!(
        error.to_string(),
        "chainring is 4 teeth; the range is 8 to 80 teeth"
    );
}

#[test]
fn the_square_of_the_difference_has_its_own_coefficient() {
    // A thread of the trade prints 0.01275 (F - R)^2 over the stay in inches, twice what the
    // ISO 606 approximation gives: (1/2pi)^2 x 0.5 in x 0.5 in = 0.00633. Computed by hand.
    let stay = Length::inches(17.25);
    let slope = links_approximate(stay, 52, 28).unwrap() - (4.0 * 17.25 + 40.0);
    let coefficient = slope * 0.5 * 17.25 / f64::from(24 * 24_u32);
    near(coefficient, 0.00633, 0.000_01);
}

#[test]
fn misprinted_rows_of_the_trade_are_not_stored() {
    // One table prints 5.62 and 5.94 mm for twelve sprockets, wider than eleven: out of line
    // with 5.15 to 5.3 of the others. Another prints 28 teeth for a five-arm circle of 96 mm,
    // which nothing corroborates. Common practice, no source.
    assert!(chain_width(12).unwrap().outer_mm[1] < chain_width(11).unwrap().outer_mm[0]);
    assert_eq!(chain_width(12).unwrap().outer_mm, [5.15, 5.3]);
    assert!(snap_bolt_circle(5, Length::millimetres(96.0)).is_none());
    assert_eq!(
        snap_bolt_circle(4, Length::millimetres(96.0))
            .unwrap()
            .fewest_teeth,
        Some(32)
    );
    // The published minimum stands before the formula's: 110 mm is 34 teeth in one table, 33 in
    // another.
    assert_eq!(
        snap_bolt_circle(5, Length::millimetres(110.0))
            .unwrap()
            .fewest_teeth,
        Some(34)
    );
}
