//! What the reference ride shows, against its truth and what other programs get from it.

use super::*;
use crate::ridelog::read;

const FIT: &[u8] = include_bytes!("../../../../../tests/reference/ride_files/ride.fit");
const GPX: &[u8] = include_bytes!("../../../../../tests/reference/ride_files/ride.gpx");
const CSV: &[u8] = include_bytes!("../../../../../tests/reference/ride_files/ride.csv");

/// As the reference ride was made: 105 kg, 1.6 kg of rotation, 1.2 kg/m³, power at the wheel; its
/// CdA of 0.48 m² and Crr of 0.0075 are what the workshop would have assumed.
fn made(mass: f64) -> Bicycle {
    use lockring_calc::quantity::{Area, Density, Inertia, Mass};
    let radius = 0.35;
    Bicycle {
        ridden: Ridden {
            mass: Mass::kilograms(mass),
            rotating: Mass::kilograms(1.6),
            efficiency: 1.0,
            rho: Density::kilograms_per_m3(1.2),
            gravity: RoadLoad::STANDARD_GRAVITY,
        },
        losses: Meter::Wheel.losses(1.0, 1.0),
        assumed: RoadLoad {
            mass: Mass::kilograms(mass),
            cda: Area::square_metres(0.48),
            spoke_drag_area: Area::square_metres(0.0),
            crr: 0.0075,
            bearing: false,
            wheel_inertia: Inertia::kilogram_m2(1.6 * radius * radius),
            tyre_radius: Length::metres(radius),
            gravity: RoadLoad::STANDARD_GRAVITY,
        },
    }
}

fn of(bytes: &[u8]) -> Study {
    study(&read(bytes).unwrap(), Ok(&made(105.0)), Length::metres(2.0))
}

#[track_caller]
fn near(got: f64, want: f64, absolute: f64) {
    assert!((got - want).abs() <= absolute, "got {got}, want {want}");
}

#[test]
fn sums_of_the_reference_ride() {
    // Its truth: 11 708.4926 m, 439.240 kJ at the wheel and 275.998 kJ of the motor's, charge from
    // 100 to 80.8335 %; rows a second apart but for 46 s after row 900.
    let study = of(CSV);
    near(study.distance_m, 11_708.492_6, 1e-4);
    assert_eq!((study.time_s, study.moving_s), (1_845.0, 1_799.0));
    // Of the pause the truth counts one second as ridden, with some 300 W of which the motor gives
    // some 200 W: nothing is taken as done across a pause here.
    near(study.work_j.unwrap(), 439_239.752 - 300.0, 20.0);
    near(study.motor_work_j.unwrap(), 275_997.94 - 200.0, 50.0);
    let (from, to) = study.charge.unwrap();
    near(from, 1.0, 1e-12);
    near(to, 0.808_335, 1e-6);
    assert_eq!(
        (study.format.as_str(), study.samples, study.speed_derived),
        ("CSV", 1801, false)
    );
    assert_eq!(study.mended, ["column `temp_C` is not known and was not read"]);
}

#[test]
fn a_ride_of_places_alone_gets_its_length_as_a_geodesic_code_gives_it() {
    // GeographicLib over the same points, without the pause: 11 680.7799 m.
    let study = of(GPX);
    near(study.distance_m, 11_680.779_9, 1e-3);
    assert!(study.speed_derived);
    assert_eq!(study.distance_by, "by its places");
    assert_eq!(
        study.said[0],
        "the file has no speeds: they were worked out by its places"
    );
}

#[test]
fn mass_and_resistance_come_back_within_the_marks() {
    // Another program recovers 104.8886 kg, Crr 0.007547 and CdA 0.47916 m² from the whole FIT file;
    // here along its pulls alone. Marks: half the spread of its 200 noisy rides (2.601 kg, 0.00121,
    // 0.0189 m²).
    let study = of(FIT);
    let by = |word: &str| study.fits.iter().find(|fitted| fitted.free == word).unwrap();
    let with_mass = by("mass");
    near(with_mass.mass_kg, 104.8886, 1.3);
    near(with_mass.crr.unwrap().0, 0.007547, 0.0006);
    near(with_mass.cda_m2.unwrap().0, 0.47916, 0.0095);
    assert!(!with_mass.told_apart && with_mass.correlation < -0.95);
    let alone = by("nothing");
    near(alone.crr.unwrap().0, 0.0075, 0.0002);
    near(alone.cda_m2.unwrap().0, 0.48, 0.005);
    assert_eq!((alone.mass_kg, alone.mass_u_kg), (105.0, None));
    // The truth is what was assumed: its force comes back to a fifth of a percent; sums over a second
    // are not the integrals the ride was made with.
    for fitted in [with_mass, alone] {
        near(fitted.force_n, fitted.assumed_n, 0.002 * fitted.assumed_n);
        assert!(fitted.force_u_n < 0.01 * fitted.force_n);
    }
    // No wind blew.
    assert!(by("wind").wind.unwrap().0 < 0.2, "{:?}", by("wind"));
}

#[test]
fn a_bicycle_told_too_heavy_is_noticed() {
    // The reference ride was made with 105 kg; another program recovers 104.8886 kg.
    let heavy = study(&read(FIT).unwrap(), Ok(&made(190.0)), Length::metres(2.0));
    let said = "the ride moves like 104.9 kg, the job has 190.0 kg: weigh again, or look at the power meter";
    assert!(heavy.said.iter().any(|line| line == said), "{:?}", heavy.said);
    assert!(
        heavy.fits[0].line().contains("no bicycle rolls like that"),
        "{}",
        heavy.fits[0].line()
    );
    let right = of(FIT);
    assert!(
        !right.said.iter().any(|line| line.contains("moves like")),
        "{:?}",
        right.said
    );
    assert!(!right.fits[0].line().contains("no bicycle"));
}

#[test]
fn what_the_job_or_the_file_lacks_is_said() {
    let log = read(FIT).unwrap();
    let found = study(&log, Err("job 3 lacks rider"), Length::metres(2.0));
    assert_eq!(found.fits, []);
    assert!(found.stretches.iter().any(|piece| piece.kind == "pull"));
    assert_eq!(found.said, ["nothing was fitted: job 3 lacks rider"]);
    let lacks = |text: &str| of(text.as_bytes()).said;
    assert_eq!(
        lacks("time_s,cadence\n0,60\n1,60\n"),
        ["the file has no speed and no height and no power: nothing was fitted"]
    );
    assert_eq!(
        lacks("time_s,speed,alt\n0,3,1\n1,3,1\n"),
        ["the file has no power: nothing was fitted"]
    );
    assert_eq!(
        lacks("time_s,speed,alt,power\n0,3,1,\n1,3,,9\n"),
        ["no sample has speed, height and power together: nothing was fitted"]
    );
}

#[test]
fn a_hill_is_found_without_power_and_the_steepest_is_offered() {
    // 100 s at 5 m/s up 4 %, 60 s level, 60 s up 9 %.
    let height = |t: f64| 0.2 * t.min(100.0) + 0.45 * (t - 160.0).clamp(0.0, 60.0);
    let rows: Vec<String> = (0..=220)
        .map(|t| format!("{t},5,{}", height(f64::from(t))))
        .collect();
    let text = format!("time_s,speed,height\n{}\n", rows.join("\n"));
    let study = of(text.as_bytes());
    assert_eq!(study.stretches.len(), 2);
    let hill = study.hill().unwrap();
    near(hill.speed_mps, 5.0, 1e-9);
    // 27 m over 300 m along the road.
    near(hill.grade, 27.0 / (300f64.powi(2) - 27f64.powi(2)).sqrt(), 1e-9);
    assert_eq!((hill.from_s, hill.time_s, hill.power_w), (160.0, 60.0, None));
    let (up, down) = study.climb_m.unwrap();
    near(up, 47.0, 2.0);
    near(down, 0.0, 1e-9);
}

#[test]
fn a_study_reads_back_as_it_was_written() {
    for bytes in [FIT, GPX, CSV] {
        let study = of(bytes);
        let text = serde_json::to_string(&study).unwrap();
        assert_eq!(serde_json::from_str::<Study>(&text).unwrap(), study);
    }
}

fn piece_of(kind: &str, distance_m: f64, grade: f64) -> Piece {
    Piece {
        kind: kind.into(),
        from_s: 0.0,
        time_s: 100.0,
        distance_m,
        climb_m: 0.0,
        grade,
        speed_mps: 2.5,
        power_w: None,
    }
}

#[test]
fn the_hill_is_the_steepest_climb_of_a_hundred_metres_else_the_steepest() {
    let mut study = of(CSV);
    let hill = |study: &Study| study.hill().map(|piece| piece.grade);
    study.stretches = vec![
        piece_of("pull", 500.0, 0.3),
        piece_of("climb", 99.0, 0.12),
        piece_of("climb", 60.0, 0.15),
    ];
    assert_eq!(hill(&study), Some(0.15));
    study.stretches.push(piece_of("climb", 100.0, 0.05));
    study.stretches.push(piece_of("climb", 300.0, 0.04));
    assert_eq!(hill(&study), Some(0.05));
    assert_eq!(
        study.hill().unwrap().command(21),
        "lockring ride 21 hill speed=9.0km/h grade=5.0%"
    );
    study.stretches.clear();
    assert_eq!(hill(&study), None);
}

/// Standing at 0.5 m/s and below, steps of more than ten seconds are pauses; work by the trapezium rule.
#[test]
fn time_and_work_count_in_motion_and_not_across_pauses() {
    let rows = "0,0.5,100\n2,0.5,100\n4,6,200\n14,6,200\n24.5,6,200\n25.5,0.4,0\n26.5,0.4,0\n";
    let study = of(format!("time_s,speed,power\n{rows}").as_bytes());
    // 2 to 4 s, 4 to 14 s, 24.5 to 25.5 s.
    near(study.moving_s, 13.0, 1e-9);
    // 200 + 300 + 2000 + 100 J; nothing is known of the pause.
    near(study.work_j.unwrap(), 2_600.0, 1e-9);
    assert_eq!(
        (study.motor_work_j, study.time_s, study.top_mps),
        (None, 26.5, Some(6.0))
    );
}

/// The rider's power passes the chain, a motor's in the hub does not; a meter at the wheel has both.
#[test]
fn power_counts_at_the_wheel() {
    let log = read(b"time_s,speed,power,motor_power,alt\n0,5,200,100,1\n1,5,200,100,1\n").unwrap();
    let way = Way::of(&log);
    let power = |losses: Losses| readings(&log, &way, losses)[0].power.si();
    near(
        power(Meter::Crank.losses(0.95, 0.8)),
        0.95 * 200.0 + 0.8 * 100.0,
        1e-9,
    );
    near(power(Meter::Wheel.losses(0.95, 0.8)), 200.0, 1e-9);
    let alone = read(b"time_s,speed,power,alt\n0,5,200,1\n1,5,200,1\n").unwrap();
    let way = Way::of(&alone);
    near(
        readings(&alone, &way, Meter::Crank.losses(0.9, 0.8))[0]
            .power
            .si(),
        180.0,
        1e-9,
    );
}

/// North, east, south and west on the sphere; less than a metre is standing.
#[test]
fn a_heading_goes_from_the_place_before_to_the_place_after() {
    use lockring_calc::trace::Place;
    let at = |latitude: f64, longitude: f64| {
        Some(Place {
            latitude,
            longitude,
            height: None,
        })
    };
    let course = |places: [(f64, f64); 3]| {
        let text = "time_s,speed\n0,5\n1,5\n2,5\n";
        let mut samples = read(text.as_bytes()).unwrap().samples;
        for (sample, (latitude, longitude)) in samples.iter_mut().zip(places) {
            sample.place = at(latitude, longitude);
        }
        [0, 1, 2].map(|here| heading(&samples, here).map(|angle| angle.si().to_degrees()))
    };
    let step = 0.001;
    for (north, east, bearing) in [
        (1.0, 0.0, 0.0),
        (0.0, 1.0, 90.0),
        (-1.0, 0.0, 180.0),
        (0.0, -1.0, -90.0),
    ] {
        let from = (60.0, 10.0);
        let to = |times: f64| (from.0 + times * north * step, from.1 + times * east * step);
        for found in course([from, to(1.0), to(2.0)]) {
            near(found.unwrap(), bearing, 1e-3);
        }
    }
    // At 60 degrees a degree of longitude is half as long: equal steps of both go by 26.57 degrees.
    let [_, middle, _] = course([(60.0, 10.0), (60.001, 10.001), (60.002, 10.002)]);
    near(middle.unwrap(), 0.5f64.atan().to_degrees(), 0.01);
    let still = 1e-6;
    assert_eq!(
        course([(60.0, 10.0), (60.0 + still, 10.0), (60.0 + 2.0 * still, 10.0)]),
        [None; 3]
    );
}

#[test]
fn a_fit_says_what_it_looked_for_and_what_it_could_not_tell() {
    let alone = Fitted {
        free: "nothing".into(),
        mass_kg: 105.0,
        mass_u_kg: None,
        speed_mps: 6.0,
        force_n: 20.0,
        force_u_n: 0.5,
        assumed_n: 21.0,
        crr: Some((0.0075, 0.0002)),
        cda_m2: Some((0.48, 0.01)),
        correlation: -0.97,
        told_apart: true,
        wind: None,
        rms_m: 0.1,
        energy_ratio: 1.0,
        readings: 600,
    };
    let line = alone.line();
    for part in [
        "20.0 ± 1.0 N",
        "21.6 km/h",
        "taken for 21.0 N",
        "0.0075 ± 0.0004",
        "0.480 ± 0.020 m²",
    ] {
        assert!(line.contains(part), "{part}: {line}");
    }
    assert!(
        line.starts_with("20.0") && !line.contains("no bicycle") && !line.contains("tell the two apart"),
        "{line}"
    );
    let with_mass = Fitted {
        free: "mass".into(),
        mass_u_kg: Some(0.6),
        told_apart: false,
        ..alone.clone()
    };
    let line = with_mass.line();
    assert!(
        line.starts_with("with the mass looked for, 105.0 ± 1.2 kg: ") && line.contains("correlation -0.97"),
        "{line}"
    );
    let with_wind = Fitted {
        free: "wind".into(),
        wind: Some((2.5, 270.0)),
        crr: None,
        ..alone.clone()
    };
    let line = with_wind.line();
    assert!(
        line.starts_with("with a wind looked for, 2.5 m/s from 270°: ") && !line.contains("rolling 0."),
        "{line}"
    );
    // Below zero by more than twice its uncertainty, and by less.
    for (crr, impossible) in [((-0.0005, 0.0002), true), ((-0.0003, 0.0002), false)] {
        let fitted = Fitted {
            crr: Some(crr),
            ..alone.clone()
        };
        assert_eq!(
            fitted.line().contains("no bicycle rolls like that"),
            impossible,
            "{crr:?}"
        );
    }
    let pushed = Fitted {
        force_n: -1.5,
        ..alone
    };
    assert!(pushed.line().contains("no bicycle rolls like that"));
}

/// A climb of 3 m over 5 m along the road lies over 4 m of level: 3, 4 and 5.
#[test]
fn the_grade_of_a_stretch_is_over_its_level_projection() {
    use lockring_calc::ride_fit::stretch::{Kind, Stretch};
    let reading = |time: f64, power: f64| Reading {
        time: Duration::from_si(time),
        speed: Speed::from_si(2.5),
        power: Power::from_si(power),
        altitude: Length::from_si(0.0),
        heading: None,
    };
    let rows = [reading(10.0, 100.0), reading(11.0, 300.0), reading(12.0, 100.0)];
    let stretch = |climb: f64| Stretch {
        kind: Kind::Climb,
        rows: 0..3,
        time: Duration::from_si(2.0),
        distance: Length::from_si(5.0),
        climb: Length::from_si(climb),
    };
    let found = piece(&stretch(3.0), &rows, true);
    assert_eq!((found.from_s, found.speed_mps, found.grade), (10.0, 2.5, 0.75));
    // 200 W on the mean.
    assert_eq!(found.power_w, Some(200.0));
    assert_eq!(piece(&stretch(5.0), &rows, false).grade, 0.0);
    assert_eq!(piece(&stretch(3.0), &rows, false).power_w, None);
}

/// More than 20 000 readings of pulling are cut at a whole pull; with the first too long nothing is left.
#[test]
fn no_more_is_fitted_than_a_long_day_holds() {
    use lockring_calc::ride_fit::stretch::{Kind, Stretch};
    let reading = |second: usize| Reading {
        time: Duration::from_si(second as f64),
        speed: Speed::from_si(5.0),
        power: Power::from_si(150.0),
        altitude: Length::from_si(0.0),
        heading: None,
    };
    let readings: Vec<Reading> = (0..24_000).map(reading).collect();
    let pull = |rows: std::ops::Range<usize>| Stretch {
        kind: Kind::Pull,
        time: Duration::from_si(rows.len() as f64),
        rows,
        distance: Length::from_si(1_000.0),
        climb: Length::from_si(0.0),
    };
    let said = |stretches: &[Stretch]| {
        let mut study = of(GPX);
        study.said.clear();
        fits::fits(&readings, stretches, &made(105.0), &mut study);
        study.said
    };
    let cut = "only the first 20000 readings of steady pulling were fitted";
    let nothing = "nothing was fitted: no pull of a minute without a pause in the drive";
    assert_eq!(said(&[pull(0..20_001)]), [cut, nothing]);
    assert_eq!(said(&[]), [nothing]);
    let both = said(&[pull(0..100), pull(100..20_001)]);
    assert!(
        both[0] == cut && both[1].starts_with("fitted with 105.0 kg, air of 1.200 kg/m³"),
        "{both:?}"
    );
    let all = said(&[pull(0..50), pull(50..100)]);
    assert!(all[0].starts_with("fitted with"), "{all:?}");
    // Just as many are taken; a climb is no pull.
    let climb = Stretch {
        kind: Kind::Climb,
        ..pull(0..100)
    };
    assert_eq!(said(&[climb]), [nothing]);
}
