//! Tests of chainline arithmetic and its tables.

use super::*;

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected} ± {tolerance}"
    );
}

/// Sprockets of a stored spacing, 3 mm from the frame.
fn spaced(old: Length, row: &Spacing) -> Cassette {
    Cassette::new(old, mm(3.0), row.pitch(), row.thickness(), row.speeds).unwrap()
}

fn eight_speed() -> Cassette {
    spaced(mm(135.0), spacing(8, Family::A).unwrap())
}

#[test]
fn ten_sprockets_of_the_worked_example() {
    // Worked chainline example quoting Brown, Spacing Cribsheet: 10 sprockets on a 130 mm
    // hub, first gap 3 mm, 3.95 mm pitch.
    let cassette = Cassette::new(mm(130.0), mm(3.0), mm(3.95), mm(1.6), 10).unwrap();
    let published = [61.2, 57.25, 53.3, 49.35, 45.4, 41.45, 37.5, 33.55, 29.6, 25.65];
    let positions = cassette.positions();
    assert_eq!(positions.len(), published.len());
    for (found, expected) in positions.iter().zip(published) {
        near(found.as_millimetres(), expected, 1e-9);
    }
    near(cassette.centre().as_millimetres(), 43.425, 1e-9);
    near(cassette.width().as_millimetres(), 37.15, 1e-9);
}

#[test]
fn angle_of_the_worked_example() {
    // Common practice, no source (a worked example): 5 mm over 391 mm is 0.7326°.
    let angle = chain_angle(mm(48.5), mm(43.5), mm(391.0)).unwrap();
    near(angle.as_degrees(), 0.7326, 5e-5);
}

#[test]
fn calliper_readings_become_lines() {
    // Common practice, no source (worked examples of measuring advice).
    let front = front_line(mm(30.0), mm(27.5), GapTo::ToothCentre, mm(2.0)).unwrap();
    near(front.as_millimetres(), 42.5, 1e-9);
    let rear = rear_single(mm(120.0), mm(17.5)).unwrap();
    near(rear.as_millimetres(), 42.5, 1e-9);
    near(offset(front, rear).as_millimetres(), 0.0, 1e-9);

    let outer = front_line(mm(44.0), mm(29.0), GapTo::ToothCentre, mm(2.0)).unwrap();
    // A double measured at its outer ring: half the distance between the rings inboard.
    near((outer - mm(9.8) / 2.0).as_millimetres(), 46.1, 1e-9);
    // The example takes 1 mm off a 23 mm reading: half of a 2 mm ring read to its far face.
    let triple = front_line(mm(44.0), mm(23.0), GapTo::FarFace, mm(2.0)).unwrap();
    near(triple.as_millimetres(), 44.0, 1e-9);
    let near_face = front_line(mm(44.0), mm(21.0), GapTo::NearFace, mm(2.0)).unwrap();
    near(near_face.as_millimetres(), 44.0, 1e-9);
}

#[test]
fn eight_sprockets_seen_from_two_rings() {
    // Computed by hand from the stated equations: positions 63.6 to 30.0, centre 46.8.
    let cassette = eight_speed();
    let positions = cassette.positions();
    near(positions[0].as_millimetres(), 63.6, 1e-9);
    near(positions[7].as_millimetres(), 30.0, 1e-9);
    near(cassette.centre().as_millimetres(), 46.8, 1e-9);

    let angles = cassette.angles(mm(47.5), mm(425.0)).unwrap();
    near(angles[0].as_degrees(), -2.17, 0.005);
    near(angles[7].as_degrees(), 2.36, 0.005);

    let far_out = cassette.angles(mm(56.0), mm(435.0)).unwrap();
    near(far_out[7].as_degrees(), 3.42, 0.005);
    let angles = cassette.angles(dished(mm(56.0), mm(8.0)), mm(435.0)).unwrap();
    near(angles[7].as_degrees(), 2.37, 0.005);
    near(angles[0].as_degrees(), -2.05, 0.005);
}

#[test]
fn twelve_sprockets_on_a_wide_axle() {
    // Computed by hand from the stated equations: 148 mm hub acts as 141.
    let old = effective_old(mm(148.0)).unwrap();
    assert!(old.recessed);
    let cassette = spaced(old.length, spacing(12, Family::A).unwrap());
    near(cassette.centre().as_millimetres(), 46.625, 1e-9);
    near(
        cassette.angles(mm(52.0), mm(435.0)).unwrap()[11].as_degrees(),
        3.35,
        0.005,
    );
    near(
        cassette.angles(mm(55.0), mm(435.0)).unwrap()[11].as_degrees(),
        3.74,
        0.005,
    );
}

#[test]
fn longtail_largest_cog() {
    // Common practice, no source: line 51.5, largest cog 27.6, stay 480 gives 2.85°; line
    // 55.5 gives 3.33°, 52.5 gives 2.97°.
    for (front, degrees) in [(51.5, 2.85), (55.5, 3.33), (52.5, 2.97)] {
        near(
            chain_angle(mm(front), mm(27.6), mm(480.0)).unwrap().as_degrees(),
            degrees,
            0.006,
        );
    }
}

#[test]
fn recessed_axles_keep_the_cassette() {
    for (old, effective) in [
        (142.0, 135.0),
        (148.0, 141.0),
        (157.0, 150.0),
        (135.0, 135.0),
        (130.0, 130.0),
        (141.0, 141.0),
    ] {
        near(
            effective_old(mm(old)).unwrap().length.as_millimetres(),
            effective,
            1e-9,
        );
    }
    assert_eq!(effective_old(mm(157.0)).unwrap().basis, Basis::Memory);
    assert!(effective_old(mm(30.0)).is_err());
}

#[test]
fn swapping_ring_and_cog_turns_the_angle_round() {
    for front in 40..60 {
        for rear in 25..65 {
            let (front, rear) = (mm(f64::from(front)), mm(f64::from(rear)));
            let there = chain_angle(front, rear, mm(430.0)).unwrap();
            let back = chain_angle(rear, front, mm(430.0)).unwrap();
            near(there.as_radians() + back.as_radians(), 0.0, 1e-15);
        }
    }
}

#[test]
fn inches_give_the_same_line() {
    for step in 0..100 {
        let gap = 15.0 + f64::from(step) * 0.25;
        let metric = front_line(mm(34.9), mm(gap), GapTo::NearFace, mm(2.0)).unwrap();
        let inches = Length::inches;
        let imperial = front_line(
            inches(34.9 / 25.4),
            inches(gap / 25.4),
            GapTo::NearFace,
            inches(2.0 / 25.4),
        )
        .unwrap();
        near(metric.as_millimetres(), imperial.as_millimetres(), 1e-9);
    }
}

#[test]
fn each_larger_sprocket_sits_further_in() {
    for row in SPACINGS {
        let cassette = spaced(mm(135.0), row);
        let positions = cassette.positions();
        assert!(positions.windows(2).all(|pair| pair[1] < pair[0]), "{}", row.id);
        let middle = (positions[0] + positions[positions.len() - 1]) / 2.0;
        near(middle.as_millimetres(), cassette.centre().as_millimetres(), 1e-9);
    }
}

#[test]
fn printed_stack_widths_agree_with_pitch_and_count() {
    // Read rows are rounded to 0.05 mm. Rows from memory are allowed 0.16 mm: two of them
    // (narrow 6, 10 of the second group) differ from the sum by 0.15.
    for row in SPACINGS {
        let sum = f64::from(row.speeds - 1) * row.pitch_mm + row.thickness_mm;
        let tolerance = if row.basis == Basis::Read { 0.051 } else { 0.16 };
        near(sum, row.stack_mm, tolerance);
    }
}

#[test]
fn tables_are_complete() {
    for speeds in 5..=12 {
        assert!(spacings(speeds).count() >= 1, "{speeds} speeds");
    }
    assert!(spacing(13, Family::A).is_none());
    for (i, row) in SPACINGS.iter().enumerate() {
        assert!(!row.source.is_empty());
        assert!(SPACINGS[i + 1..].iter().all(|other| other.id != row.id));
    }
    for row in FRONT_STANDARDS {
        assert!(row.mm[0] <= row.mm[1] && row.mm[1] <= row.mm[2], "{}", row.id);
    }
}

#[test]
fn impossible_inputs_are_named() {
    let error = Cassette::new(mm(135.0), mm(3.0), mm(9.0), mm(1.8), 8).unwrap_err();
    assert_eq!(
        error.to_string(),
        "sprocket pitch is 9 mm; the range is 3 to 6 mm"
    );
    assert!(chain_angle(mm(50.0), mm(40.0), mm(0.0)).is_err());
}
