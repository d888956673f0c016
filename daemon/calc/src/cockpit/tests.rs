//! Tests of clamps, bar width, brake sensors and the loom.

use super::*;

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}

/// Handlebars met, mm (from memory).
const BARS_MM: [f64; 4] = [22.2, 25.4, 31.8, 35.0];

fn near(found: Length, expected: f64) {
    let found = found.as_millimetres();
    assert!((found - expected).abs() <= 1e-6, "{found} is not {expected}");
}

#[test]
fn clamps_go_on_bars() {
    let fit = |clamp, bar| clamp_fit(mm(clamp), mm(bar), mm(0.3)).unwrap();
    assert_eq!(fit(31.8, 31.8), ClampFit::Direct);
    assert_eq!(fit(32.1, 31.8), ClampFit::Direct);
    assert_eq!(fit(31.5, 31.8), ClampFit::Direct);
    let shim = |clamp, bar, expected: f64| match fit(clamp, bar) {
        ClampFit::Shim(thickness) => near(thickness, expected),
        other => panic!("{other:?}"),
    };
    // Half the difference of the diameters.
    shim(32.12, 31.8, 0.16);
    shim(31.8, 25.4, 3.2);
    shim(31.8, 22.2, 4.8);
    shim(25.4, 22.2, 1.6);
    shim(35.0, 31.8, 1.6);
    match fit(35.0, 22.2) {
        ClampFit::TooWide(thickness) => near(thickness, 6.4),
        other => panic!("{other:?}"),
    }
    assert!(matches!(fit(31.9, 22.2), ClampFit::TooWide(_)));
    match fit(22.2, 31.8) {
        ClampFit::TooNarrow(missing) => near(missing, 9.6),
        other => panic!("{other:?}"),
    }
    assert!(matches!(fit(31.49, 31.8), ClampFit::TooNarrow(_)));
    assert!(clamp_fit(mm(14.9), mm(22.2), mm(0.3)).is_err());
    assert!(clamp_fit(mm(22.2), mm(45.1), mm(0.3)).is_err());
    for clamp in BARS_MM {
        for bar in BARS_MM {
            let inches = |value: f64| Length::inches(value / 25.4);
            let again = clamp_fit(inches(clamp), inches(bar), mm(0.3)).unwrap();
            assert_eq!(
                std::mem::discriminant(&again),
                std::mem::discriminant(&fit(clamp, bar))
            );
        }
    }
}

#[test]
fn width_is_spent_once() {
    // Arithmetic: 620 mm bar, 40 mm stem, 60 mm bend a side leave 230 mm.
    let side = usable_side(mm(620.0), mm(40.0), mm(60.0)).unwrap();
    near(side, 230.0);
    let budget = width_budget(side, &[mm(130.0), mm(15.0), mm(20.0), mm(25.0)]).unwrap();
    near(budget.used, 190.0);
    near(budget.free, 40.0);
    let over = width_budget(side, &[mm(130.0), mm(105.0)]).unwrap();
    near(over.free, -5.0);
    near(width_budget(side, &[]).unwrap().free, 230.0);
    assert!(usable_side(mm(199.0), mm(40.0), mm(60.0)).is_err());
    assert!(usable_side(mm(1201.0), mm(40.0), mm(60.0)).is_err());
    assert!(usable_side(mm(620.0), mm(-1.0), mm(60.0)).is_err());
    assert!(usable_side(mm(620.0), mm(40.0), mm(-1.0)).is_err());
    assert!(usable_side(mm(400.0), mm(40.0), mm(180.0)).is_ok());
    assert!(usable_side(mm(400.0), mm(40.0), mm(181.0)).is_err());
    assert!(width_budget(mm(601.0), &[]).is_err());
    assert!(width_budget(mm(230.0), &[mm(300.1)]).is_err());
    assert!(width_budget(mm(230.0), &[mm(-0.1)]).is_err());
}

#[test]
fn usual_widths_are_plain_figures() {
    // Workshop judgement, to be replaced by what was measured.
    for (item, width) in [
        (BarItem::Grip, 130.0),
        (BarItem::ShortGrip, 90.0),
        (BarItem::LeverClamp, 15.0),
        (BarItem::Shifter, 20.0),
        (BarItem::TwistShifter, 55.0),
        (BarItem::ThumbThrottle, 25.0),
        (BarItem::TwistThrottle, 55.0),
        (BarItem::DisplayClamp, 15.0),
        (BarItem::Keypad, 20.0),
        (BarItem::Bell, 12.0),
    ] {
        near(item.usual_width(), width);
    }
    assert!(!BAR_ITEM_BASIS.may_stop());
}

#[test]
fn levers_and_sensors() {
    use SensorFit::{BuiltIn, Fits, NewLever, NewLeverAndBleed, Unsuited};
    // Common practice, no source: a hydraulic lever takes a magnet kit or gives way to a lever
    // with a switch. Order of columns as in SENSORS.
    for (lever, fits) in [
        (Lever::Cable, [NewLever, Unsuited, Fits, Fits]),
        (Lever::CableSwitch, [BuiltIn, Unsuited, Fits, Fits]),
        (Lever::Hydraulic, [Unsuited, NewLeverAndBleed, Fits, Unsuited]),
        (Lever::HydraulicSwitch, [Unsuited, BuiltIn, Fits, Unsuited]),
        (Lever::BackPedal, [Unsuited; 4]),
    ] {
        assert_eq!(SENSORS.map(|sensor| sensor_fit(lever, sensor)), fits, "{lever:?}");
    }
    assert_eq!(
        sensors_for(Lever::Hydraulic),
        [
            (Sensor::MagnetKit, Fits),
            (Sensor::HydraulicLeverSwitch, NewLeverAndBleed)
        ]
    );
    assert!(sensors_for(Lever::BackPedal).is_empty());
    assert!(BuiltIn.keeps_lever() && Fits.keeps_lever());
    assert!(!NewLever.keeps_lever() && !NewLeverAndBleed.keeps_lever() && !Unsuited.keeps_lever());
    assert!(!LEVER_SENSOR_BASIS.may_stop());
}

fn path(frame: f64, bar: f64, angle: f64, rise: f64) -> LoomPath {
    LoomPath {
        frame_radius: mm(frame),
        bar_radius: mm(bar),
        angle: Angle::degrees(angle),
        rise: mm(rise),
    }
}

#[test]
fn loom_by_right_triangles() {
    // 30 and 40 mm at a right angle are 50 mm apart; turned by 90° they are 70 or 10 mm apart.
    let sweep = path(30.0, 40.0, 90.0, 0.0).sweep(Angle::degrees(90.0)).unwrap();
    near(sweep.straight, 50.0);
    near(sweep.positive_lock, 70.0);
    near(sweep.negative_lock, 10.0);
    near(sweep.longest, 70.0);
    near(sweep.shortest, 10.0);
    // A rise of 120 mm turns 50 mm into 130 mm.
    near(
        path(30.0, 40.0, 90.0, 120.0).sweep(Angle::ZERO).unwrap().straight,
        130.0,
    );
    // Law of cosines at 135°: 900 + 1600 + 2400/√2.
    let sweep = path(30.0, 40.0, 90.0, 0.0).sweep(Angle::degrees(45.0)).unwrap();
    near(sweep.positive_lock, (2500.0 + 2400.0 / 2.0_f64.sqrt()).sqrt());
    near(sweep.negative_lock, (2500.0 - 2400.0 / 2.0_f64.sqrt()).sqrt());
    near(sweep.longest, sweep.positive_lock.as_millimetres());
    near(sweep.shortest, sweep.negative_lock.as_millimetres());
}

#[test]
fn the_longest_and_shortest_are_found_between_the_locks() {
    for angle in [-180.0, -170.0, -90.0, -10.0, 0.0, 5.0, 60.0, 135.0, 175.0, 180.0] {
        for lock in [0.0, 5.0, 10.0, 45.0, 80.0, 120.0, 180.0] {
            let loom = path(60.0, 150.0, angle, 40.0);
            let sweep = loom.sweep(Angle::degrees(lock)).unwrap();
            // Walk from lock to lock with rotated points instead of the law of cosines.
            let walked = (0..=3600).map(|step| {
                let at: f64 = angle - lock + 2.0 * lock * f64::from(step) / 3600.0;
                let (x, y) = (
                    150.0 * at.to_radians().cos() - 60.0,
                    150.0 * at.to_radians().sin(),
                );
                (x * x + y * y + 1600.0).sqrt()
            });
            let (least, most) = walked.fold((f64::MAX, f64::MIN), |(least, most), d| {
                (least.min(d), most.max(d))
            });
            assert!(
                (sweep.longest.as_millimetres() - most).abs() < 1e-3,
                "{angle} ± {lock}"
            );
            assert!(
                (sweep.shortest.as_millimetres() - least).abs() < 1e-3,
                "{angle} ± {lock}"
            );
        }
    }
}

#[test]
fn more_lock_never_needs_less_loom() {
    let loom = path(60.0, 150.0, 40.0, 40.0);
    let mut last = Length::ZERO;
    for lock in 0..=180 {
        let longest = loom.sweep(Angle::degrees(f64::from(lock))).unwrap().longest;
        assert!(longest >= last, "{lock}");
        last = longest;
    }
    // Turning the drawing over swaps the locks.
    let left = path(60.0, 150.0, 40.0, 40.0).sweep(Angle::degrees(50.0)).unwrap();
    let right = path(60.0, 150.0, -40.0, 40.0)
        .sweep(Angle::degrees(50.0))
        .unwrap();
    near(left.positive_lock, right.negative_lock.as_millimetres());
    near(left.longest, right.longest.as_millimetres());
}

#[test]
fn the_loom_pulls_or_not() {
    let sweep = path(30.0, 40.0, 90.0, 0.0).sweep(Angle::degrees(90.0)).unwrap();
    near(loom_margin(mm(100.0), sweep.longest, mm(20.0)).unwrap(), 10.0);
    near(loom_margin(mm(85.0), sweep.longest, mm(20.0)).unwrap(), -5.0);
    assert!(loom_margin(mm(-1.0), sweep.longest, mm(20.0)).is_err());
    assert!(loom_margin(mm(5000.1), sweep.longest, mm(20.0)).is_err());
    assert!(loom_margin(mm(100.0), sweep.longest, mm(-0.1)).is_err());
    assert!(loom_margin(mm(100.0), sweep.longest, mm(500.1)).is_err());
    assert!(loom_margin(mm(100.0), mm(-0.1), mm(20.0)).is_err());
    assert!(loom_margin(mm(100.0), mm(5000.1), mm(20.0)).is_err());
    near(loom_margin(mm(5000.0), mm(5000.0), mm(500.0)).unwrap(), -500.0);
}

#[test]
fn looms_that_cannot_be_are_refused() {
    for wrong in [
        path(-1.0, 40.0, 0.0, 0.0),
        path(501.0, 40.0, 0.0, 0.0),
        path(30.0, 601.0, 0.0, 0.0),
        path(30.0, 40.0, 181.0, 0.0),
        path(30.0, 40.0, -181.0, 0.0),
        path(30.0, 40.0, 0.0, 501.0),
    ] {
        assert!(wrong.sweep(Angle::degrees(45.0)).is_err(), "{wrong:?}");
    }
    assert!(path(30.0, 40.0, 0.0, 0.0).sweep(Angle::degrees(-1.0)).is_err());
    assert!(path(30.0, 40.0, 0.0, 0.0).sweep(Angle::degrees(181.0)).is_err());
}
