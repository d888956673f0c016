//! Tests of hub width, slots and torque at the dropouts.

use super::*;
use crate::quantity::Power;

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}

/// Made up for these tests in the trade's order of size.
const LIMITS: WidthLimits = WidthLimits {
    good: Length::from_si(0.001),
    good_carbon: Length::from_si(0.0003),
    spring: Length::from_si(0.002),
    cold_set: Length::from_si(0.005),
};

fn fitted(dropouts: Length, hub: Length, material: FrameMaterial) -> Result<WidthFit, FitError> {
    fit_width(dropouts, hub, material, &LIMITS)
}

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} is not {expected} ± {tolerance}"
    );
}

#[test]
fn spreading_force_has_the_published_magnitude() {
    // Common practice, no source: 12 mm axle, 40 N·m, "just under 1 000 lbf" a dropout.
    let force = spreading_force(Torque::newton_metres(40.0), effective_length(mm(12.0)).unwrap()).unwrap();
    near(force.as_newtons(), 4444.4, 0.1);
    near(force.as_pounds_force(), 999.0, 0.5);
    near(force.as_pounds_force(), 1000.0, 10.0);
    assert!(force.as_pounds_force() < 1000.0);
}

#[test]
fn the_force_at_an_arm() {
    // Arithmetic: 40 N·m on 100 mm is 400 N.
    near(
        arm_force(Torque::newton_metres(40.0), mm(100.0))
            .unwrap()
            .as_newtons(),
        400.0,
        1e-9,
    );
}

#[test]
fn hub_of_135_in_dropouts_of_126() {
    // Common practice, no source: +9 mm fails in aluminium, is cold-set beyond the usual in steel.
    let fit = |material| fitted(mm(126.0), mm(135.0), material).unwrap();
    assert!(matches!(fit(FrameMaterial::Aluminium), WidthFit::Refused { .. }));
    assert!(matches!(fit(FrameMaterial::Carbon), WidthFit::Refused { .. }));
    assert!(matches!(fit(FrameMaterial::Titanium), WidthFit::Refused { .. }));
    let WidthFit::ColdSet { by, beyond_usual } = fit(FrameMaterial::Steel) else {
        panic!()
    };
    near(by.as_millimetres(), 9.0, 1e-9);
    assert!(beyond_usual);
    let WidthFit::ColdSet { beyond_usual, .. } = fitted(mm(130.0), mm(135.0), FrameMaterial::Steel).unwrap()
    else {
        panic!()
    };
    assert!(!beyond_usual);
}

#[test]
fn narrow_hub_gets_spacers() {
    // Common practice, no source: a 126 hub in a 135 frame needs 9 mm.
    for material in [FrameMaterial::Steel, FrameMaterial::Carbon] {
        let WidthFit::Spacers { total } = fitted(mm(135.0), mm(126.0), material).unwrap() else {
            panic!()
        };
        near(total.as_millimetres(), 9.0, 1e-9);
    }
}

#[test]
fn small_differences() {
    let fit = |dropouts, material| fitted(mm(dropouts), mm(135.0), material).unwrap();
    assert!(matches!(fit(134.8, FrameMaterial::Carbon), WidthFit::Fits { .. }));
    assert!(matches!(
        fit(134.0, FrameMaterial::Carbon),
        WidthFit::Refused { .. }
    ));
    assert!(matches!(
        fit(134.0, FrameMaterial::Aluminium),
        WidthFit::Fits { .. }
    ));
    assert!(matches!(
        fit(133.0, FrameMaterial::Aluminium),
        WidthFit::Springs { .. }
    ));
    assert!(matches!(
        fit(132.9, FrameMaterial::Aluminium),
        WidthFit::Refused { .. }
    ));
    assert!(matches!(fit(136.0, FrameMaterial::Steel), WidthFit::Fits { .. }));
    // A folding fork of 74 mm and a hub of 100: far beyond the usual even for steel.
    assert!(matches!(
        fitted(mm(74.0), mm(100.0), FrameMaterial::Steel).unwrap(),
        WidthFit::ColdSet {
            beyond_usual: true,
            ..
        }
    ));
}

#[test]
fn inches_and_millimetres_give_the_same_width_verdict() {
    for step in 0..200 {
        let width = 120.0 + f64::from(step) * 0.1;
        for material in [
            FrameMaterial::Steel,
            FrameMaterial::Aluminium,
            FrameMaterial::Carbon,
        ] {
            let metric = fitted(mm(width), mm(135.0), material).unwrap();
            let imperial = fitted(
                Length::inches(width / 25.4),
                Length::inches(135.0 / 25.4),
                material,
            )
            .unwrap();
            assert_eq!(
                std::mem::discriminant(&metric),
                std::mem::discriminant(&imperial),
                "{width} mm"
            );
        }
    }
}

#[test]
fn slots() {
    // Common practice, no source: 9.6 to 9.8 found for 10 mm flats, file at most 0.3, keep
    // 10.0 to 10.2 after dressing; a 9 mm quick-release slot is past filing.
    let fit = |slot| fit_slot(mm(slot), mm(10.0)).unwrap();
    assert!(matches!(fit(9.8), SlotFit::File { .. }));
    assert!(matches!(fit(9.7), SlotFit::File { .. }));
    assert!(matches!(fit(9.6), SlotFit::BeyondFiling { .. }));
    assert!(matches!(fit(9.0), SlotFit::BeyondFiling { .. }));
    assert!(matches!(fit(10.05), SlotFit::Close { .. }));
    assert!(matches!(fit(10.2), SlotFit::Close { .. }));
    assert!(matches!(fit(10.4), SlotFit::Loose { .. }));
}

#[test]
fn axle_kinds() {
    let flatted = Axle::Flatted {
        diameter: mm(12.0),
        flats: mm(10.0),
    };
    assert_eq!(
        fit_axle(Dropout::Through(mm(12.0)), flatted),
        AxleFit::SlotAxleInHole
    );
    assert_eq!(fit_axle(Dropout::OpenSlot, flatted), AxleFit::SameKind);
    assert_eq!(
        fit_axle(Dropout::OpenSlot, Axle::Through(mm(12.0))),
        AxleFit::ThroughAxleInSlot
    );
    assert_eq!(
        fit_axle(Dropout::Through(mm(12.0)), Axle::Through(mm(15.0))),
        AxleFit::DiameterDiffers
    );
    assert_eq!(
        fit_axle(Dropout::Through(mm(12.0)), Axle::Through(mm(12.0))),
        AxleFit::SameKind
    );
}

fn question() -> ArmQuestion {
    ArmQuestion {
        wheel: Wheel::Rear,
        material: FrameMaterial::Steel,
        suspension_fork: false,
        peak_torque: Torque::newton_metres(32.0),
        rated_power: Power::watts(250.0),
        regeneration: false,
    }
}

#[test]
fn arms() {
    // Common practice and judgement; the 250 W, 32 N·m rear hub in steel carries one arm.
    let asked = arms_asked(&question());
    assert_eq!((asked.arms, asked.standing), (1, Standing::Plain));
    let asked = arms_asked(&ArmQuestion {
        regeneration: true,
        ..question()
    });
    assert_eq!((asked.arms, asked.reasons), (2, vec![ArmReason::Regeneration]));
    let asked = arms_asked(&ArmQuestion {
        rated_power: Power::watts(750.0),
        ..question()
    });
    assert_eq!(asked.reasons, [ArmReason::RatedPower]);
    let front = ArmQuestion {
        wheel: Wheel::Front,
        ..question()
    };
    assert_eq!(arms_asked(&front).arms, 1);
    let asked = arms_asked(&ArmQuestion {
        material: FrameMaterial::Aluminium,
        ..front
    });
    assert_eq!((asked.arms, asked.standing), (2, Standing::OwnerSigns));
    let asked = arms_asked(&ArmQuestion {
        suspension_fork: true,
        ..front
    });
    assert_eq!((asked.arms, asked.standing), (2, Standing::OwnerSigns));
    for wheel in [Wheel::Front, Wheel::Rear] {
        let carbon = ArmQuestion {
            wheel,
            material: FrameMaterial::Carbon,
            ..question()
        };
        assert_eq!(arms_asked(&carbon).standing, Standing::Refused);
    }
    let unknown = ArmQuestion {
        peak_torque: Torque::newton_metres(f64::NAN),
        ..question()
    };
    assert_eq!(arms_asked(&unknown).arms, 2);
}
