//! Tests of shells and motor fit.

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

const fn kit(width_min: f64, width_max: f64) -> MotorKit {
    MotorKit {
        body: Length::from_si(0.0335),
        width_min: Length::from_si(width_min / 1e3),
        width_max: Length::from_si(width_max / 1e3),
        thread: None,
    }
}

fn bore(bore: f64, width: f64) -> Shell {
    Shell {
        bore: mm(bore),
        width: mm(width),
        through: true,
        drive_thread: None,
    }
}

#[test]
fn threads_in_inches() {
    // Exact conversion: 1.370 in is 34.798 mm (the metric name is M34.798 × 1.058), 24 to the
    // inch is 1.0583 mm, 1.375 in is 34.925 mm.
    let english = shell("english").unwrap().thread.unwrap();
    near(english.diameter_mm, 34.798, 1e-9);
    near(english.pitch_mm, 1.0583, 5e-5);
    near(
        shell("iso-1.375").unwrap().thread.unwrap().diameter_mm,
        34.925,
        1e-9,
    );
}

#[test]
fn hands_of_the_drive_side() {
    // Common practice; the trap: two standards are left-handed there, two are not.
    let drive = |id| shell(id).unwrap().thread.unwrap().drive;
    assert_eq!(drive("english"), Hand::Left);
    assert_eq!(drive("swiss"), Hand::Left);
    assert_eq!(drive("italian"), Hand::Right);
    assert_eq!(drive("french"), Hand::Right);
    assert!(
        SHELLS
            .iter()
            .filter_map(|row| row.thread)
            .all(|t| t.other == Hand::Right)
    );
}

#[test]
fn english_shell_with_and_without_spacer() {
    // Arithmetic: bore 33.7 and width 73 in a 68 to 73 kit; one 1 mm spacer is one too many.
    let fit = fit_motor(&kit(68.0, 73.0), &bore(33.7, 73.0), Length::ZERO).unwrap();
    assert!(fit.fits() && fit.findings.is_empty());
    let fit = fit_motor(&kit(68.0, 73.0), &bore(33.7, 73.0), mm(1.0)).unwrap();
    assert!(!fit.fits());
    let [ShellFinding::StackTooWide(by)] = fit.findings[..] else {
        panic!("{:?}", fit.findings)
    };
    near(by.as_millimetres(), 1.0, 1e-9);
}

#[test]
fn press_shell_needs_the_wide_kit_and_adapters() {
    // Arithmetic: 41 × 92 does not go in a 68 to 73 kit, and goes in a 74 to 100 kit with
    // 41 to 33.5 adapters.
    let fit = fit_motor(&kit(68.0, 73.0), &bore(41.0, 92.0), Length::ZERO).unwrap();
    assert!(!fit.fits());
    let fit = fit_motor(&kit(74.0, 100.0), &bore(41.0, 92.0), Length::ZERO).unwrap();
    assert!(fit.fits());
    let [ShellFinding::AdapterNeeded(radial)] = fit.findings[..] else {
        panic!("{:?}", fit.findings)
    };
    near(radial.as_millimetres(), 3.75, 1e-9);
}

#[test]
fn italian_shell_needs_a_shim_and_a_warning() {
    // Arithmetic: 34.6 to 34.9 round 33.5 leaves 0.55 to 0.7 mm a side.
    for (diameter, radial) in [(34.6, 0.55), (34.9, 0.7)] {
        let shell = Shell {
            drive_thread: Some(Hand::Right),
            ..bore(diameter, 70.0)
        };
        let fit = fit_motor(&kit(68.0, 73.0), &shell, Length::ZERO).unwrap();
        assert!(fit.fits());
        let [
            ShellFinding::AdapterNeeded(found),
            ShellFinding::RightHandDriveSide,
        ] = fit.findings[..]
        else {
            panic!("{:?}", fit.findings)
        };
        near(found.as_millimetres(), radial, 1e-9);
    }
}

#[test]
fn bore_is_compared_with_body_plus_clearance() {
    let findings = |b| {
        fit_motor(&kit(68.0, 73.0), &bore(b, 68.0), Length::ZERO)
            .unwrap()
            .findings
    };
    assert!(findings(33.6).is_empty());
    assert!(findings(33.9).is_empty());
    let [ShellFinding::BoreTooSmall(by)] = findings(33.5)[..] else {
        panic!()
    };
    near(by.as_millimetres(), 0.1, 1e-9);
    assert!(matches!(findings(30.0)[..], [ShellFinding::BoreTooSmall(_)]));
    assert!(matches!(findings(33.0)[..], [ShellFinding::BoreTooSmall(_)]));
    assert!(matches!(findings(37.0)[..], [ShellFinding::AdapterNeeded(_)]));
}

#[test]
fn thread_left_on_the_longtail() {
    // Common practice, no source: 73.0 + 2.5 = 75.5 in a kit to 77.0; 87.0 − 75.5 = 11.5 left.
    let thread = ClampThread {
        tube: mm(87.0),
        engagement_min: mm(11.0),
    };
    let kit = MotorKit {
        thread: Some(thread),
        ..kit(68.0, 77.0)
    };
    let fit = fit_motor(&kit, &bore(33.7, 73.0), mm(2.5)).unwrap();
    assert!(fit.fits());
    near(fit.stack.as_millimetres(), 75.5, 1e-9);
    near(fit.engagement.unwrap().as_millimetres(), 11.5, 1e-9);
    let fit = fit_motor(&kit, &bore(33.7, 73.0), mm(3.5)).unwrap();
    assert!(matches!(fit.findings[..], [ShellFinding::EngagementShort(_)]));
    let (least, greatest) = spacer_window(&kit, mm(73.0)).unwrap();
    near(least.as_millimetres(), 0.0, 1e-12);
    near(greatest.as_millimetres(), 3.0, 1e-9);
}

#[test]
fn all_findings_are_reported_together() {
    let shell = Shell {
        through: false,
        ..bore(30.0, 100.0)
    };
    let fit = fit_motor(&kit(68.0, 73.0), &shell, Length::ZERO).unwrap();
    assert_eq!(fit.findings.len(), 3);
    assert!(fit.findings.contains(&ShellFinding::NotThrough));
}

#[test]
fn the_spacer_window_is_exactly_where_the_stack_fits() {
    for width in 60..110 {
        let width = f64::from(width);
        let window = spacer_window(&kit(68.0, 73.0), mm(width));
        for tenths in 0..200 {
            let spacers = mm(f64::from(tenths) * 0.1);
            let fits = fit_motor(&kit(68.0, 73.0), &bore(33.7, width), spacers)
                .unwrap()
                .fits();
            let inside = window.is_some_and(|(low, high)| {
                spacers.si() >= low.si() - 1e-9 && spacers.si() <= high.si() + 1e-9
            });
            assert_eq!(fits, inside, "width {width} with {} mm", spacers.as_millimetres());
        }
    }
}

#[test]
fn inches_and_millimetres_fit_alike() {
    for step in 0..300 {
        let width = 66.0 + f64::from(step) * 0.03;
        let metric = fit_motor(&kit(68.0, 73.0), &bore(33.7, width), Length::ZERO).unwrap();
        let inch = Shell {
            bore: Length::inches(33.7 / 25.4),
            width: Length::inches(width / 25.4),
            ..bore(33.7, width)
        };
        let imperial = fit_motor(&kit(68.0, 73.0), &inch, Length::ZERO).unwrap();
        assert_eq!(metric.fits(), imperial.fits(), "{width} mm");
    }
}

#[test]
fn pedal_lean() {
    // Arithmetic on 16 CFR 1512.17(c), which asks 25°: 30.3°, 27.7° and 21.8°.
    let pedal = PedalPosition {
        bracket_height: mm(285.0),
        crank: mm(170.0),
        pedal_half_thickness: mm(10.0),
        half_tread: mm(85.0),
        pedal_width: mm(95.0),
    };
    near(lean_angle(&pedal).unwrap().as_degrees(), 30.3, 0.05);
    let wider = PedalPosition {
        half_tread: mm(105.0),
        ..pedal
    };
    near(lean_angle(&wider).unwrap().as_degrees(), 27.7, 0.05);
    let low = PedalPosition {
        bracket_height: mm(265.0),
        crank: mm(175.0),
        ..wider
    };
    near(lean_angle(&low).unwrap().as_degrees(), 21.8, 0.05);
    assert!(
        lean_angle(&PedalPosition {
            bracket_height: mm(100.0),
            ..pedal
        })
        .is_err()
    );
}

#[test]
fn asymmetry_has_no_sign() {
    near(pedal_asymmetry(mm(82.0), mm(90.0)).as_millimetres(), 8.0, 1e-9);
    near(pedal_asymmetry(mm(90.0), mm(82.0)).as_millimetres(), 8.0, 1e-9);
}

#[test]
fn impossible_kits_are_refused() {
    let fit = |kit: MotorKit| fit_motor(&kit, &bore(33.7, 70.0), Length::ZERO);
    assert!(fit(kit(73.0, 68.0)).is_err());
    assert!(fit(kit(f64::NAN, 73.0)).is_err());
    let error = fit_motor(&kit(68.0, 73.0), &bore(5.0, 70.0), Length::ZERO).unwrap_err();
    assert_eq!(error.to_string(), "shell bore is 5 mm; the range is 20 to 80 mm");
}

#[test]
fn shell_table_is_sound() {
    for (i, row) in SHELLS.iter().enumerate() {
        assert!(
            SHELLS[i + 1..].iter().all(|other| other.id != row.id),
            "{}",
            row.id
        );
        assert!(!row.widths_mm.is_empty() && !row.source.is_empty());
        if let (Some(thread), Some(bore)) = (row.thread, row.bore_mm) {
            assert!(bore[0] <= bore[1] && bore[1] < thread.diameter_mm, "{}", row.id);
        }
    }
    assert!(shell("unheard-of").is_none());
}

#[test]
fn threads_have_the_diameter_and_pitch_of_their_standards() {
    // 24 and 26 threads an inch are 1.0583 and 0.9769 mm (by hand); 1.370 in is 34.798 mm,
    // 1.375 in 34.925 mm; metric threads 1.0 mm (Brown's cribsheets).
    for (id, diameter, pitch) in [
        ("english", 34.798, 1.0583),
        ("iso-1.375", 34.925, 1.0583),
        ("italian", 36.0, 1.0583),
        ("french", 35.0, 1.0),
        ("swiss", 35.0, 1.0),
        ("english-26", 34.798, 0.9769),
        ("english-fat", 34.798, 1.0583),
        ("m47", 47.0, 1.0),
    ] {
        let thread = shell(id).unwrap().thread.unwrap();
        assert!(
            (thread.diameter_mm - diameter).abs() < 5e-4,
            "{id} {}",
            thread.diameter_mm
        );
        assert!((thread.pitch_mm - pitch).abs() < 5e-5, "{id} {}", thread.pitch_mm);
    }
}

#[test]
fn the_wide_press_shell_has_a_bore_of_46_mm() {
    // One page of the trade lists it as 42 mm, 73 wide; two independent tables give 46 mm.
    // Common practice, no source.
    for id in ["press-46x68", "press-46x73", "press-46x86.5"] {
        assert_eq!(shell(id).unwrap().bore_mm, Some([46.0, 46.0]), "{id}");
    }
    assert_eq!(shell("press-42x73").unwrap().bore_mm, Some([42.0, 42.0]));
}

#[test]
fn an_adapter_fills_the_bore_and_passes_the_body() {
    // By hand: 41 mm bore, pair of 41 to 33.6 mm, body 33.5 mm.
    let fit = |bore: f64, body: f64, outer: f64, inner: f64| {
        fit_adapter(
            mm(bore),
            mm(body),
            Adapter {
                outer: mm(outer),
                inner: mm(inner),
            },
        )
    };
    let good = fit(41.0, 33.5, 40.9, 33.7).unwrap();
    near(good.in_bore.as_millimetres(), 0.1, 1e-9);
    near(good.round_body.as_millimetres(), 0.2, 1e-9);
    near(good.wall.as_millimetres(), 3.6, 1e-9);
    assert!(fit(41.0, 33.5, 41.2, 33.7).unwrap().in_bore < Length::ZERO);
    assert!(fit(41.0, 33.5, 41.0, 33.4).unwrap().round_body < Length::ZERO);
    for (bore, body, outer, inner, word) in [
        (19.9, 33.5, 41.0, 33.6, "bore"),
        (80.1, 33.5, 41.0, 33.6, "bore"),
        (41.0, 19.9, 41.0, 33.6, "body"),
        (41.0, 80.1, 41.0, 33.6, "body"),
        (41.0, 33.5, 80.1, 33.6, "outside"),
        (41.0, 33.5, 33.6, 33.6, "inside"),
        (41.0, 33.5, 41.0, 19.9, "inside"),
    ] {
        let error = fit(bore, body, outer, inner).unwrap_err().to_string();
        assert!(error.contains(word), "{error}");
    }
}

#[test]
fn threads_that_nearly_pass_for_each_other_do_not() {
    // Brown, threaded bottom-bracket cribsheet: French 35 x 1 and English 1.370 in x 24 nearly
    // have one diameter; 1.375 x 24 interchanges with English; Swiss is French with the other
    // hand on the drive side.
    let meet = |cup: &str, frame: &str| {
        shell(cup)
            .unwrap()
            .thread
            .unwrap()
            .into_shell(&shell(frame).unwrap().thread.unwrap())
    };
    assert_eq!(meet("english", "english"), ThreadFit::Screws);
    assert_eq!(meet("iso-1.375", "english"), ThreadFit::Screws);
    assert_eq!(meet("english", "iso-1.375"), ThreadFit::Screws);
    assert_eq!(meet("french", "english"), ThreadFit::RuinsShell);
    assert_eq!(meet("english", "french"), ThreadFit::RuinsShell);
    assert_eq!(meet("english", "english-26"), ThreadFit::RuinsShell);
    assert_eq!(meet("french", "swiss"), ThreadFit::WrongHand);
    assert_eq!(meet("italian", "english"), ThreadFit::OtherSize);
    assert_eq!(meet("m47", "english"), ThreadFit::OtherSize);
    // From half a millimetre of difference on nobody tries it (judgement).
    let thread = |diameter_mm| Thread {
        diameter_mm,
        pitch_mm: 1.0,
        drive: Hand::Left,
        other: Hand::Right,
    };
    assert_eq!(thread(35.4).into_shell(&thread(35.0)), ThreadFit::RuinsShell);
    assert_eq!(thread(35.5).into_shell(&thread(35.0)), ThreadFit::OtherSize);
    assert_eq!(thread(34.5).into_shell(&thread(35.0)), ThreadFit::OtherSize);
    assert_eq!(thread(35.2).into_shell(&thread(35.0)), ThreadFit::Screws);
}

#[test]
fn shells_with_a_trap_are_marked() {
    // Dealer tables of bottom-bracket standards, read: 42 x 83 is offset to the other side, 46 x 79
    // is asymmetric (narrower on the drive side, from memory), one-piece cranks have left-hand
    // threads on lock nut and cone.
    let trap = |id| shell(id).unwrap().trap;
    assert_eq!(trap("press-42x83"), Some(Trap::UnequalHalves));
    assert_eq!(trap("press-46x79"), Some(Trap::UnequalHalves));
    assert_eq!(trap("one-piece"), Some(Trap::LeftHandNut));
    assert_eq!(SHELLS.iter().filter(|row| row.trap.is_some()).count(), 3);
}
