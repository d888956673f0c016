//! A run against the wind and with it, for the runs of an independent solver.

use super::*;

/// Runs of `tests/reference/two_way_run` (its own solver, see its README there): without a motor
/// the rider's power is all there is at the wheel.
#[test]
fn speeds_in_wind_are_those_of_the_reference_runs() {
    let mut seen = 0;
    for row in rows(include_str!(
        "../../../../../tests/reference/two_way_run/runs.csv"
    )) {
        let of = |name: &str| row.number(name);
        let bicycle = road(of("mass_kg"), of("cda_m2"), of("crr"), 0.34);
        let mut system = longtail(42, &[34, 21, 11]);
        system.motor = None;
        system.gears.chain_efficiency = 1.0;
        let legs = Rider {
            max_cadence: AngularSpeed::rpm(400.0),
            ..rider(of("power_hub_W"))
        };
        for (wind, grade, speed) in [
            (of("wind_mps"), of("grade"), of("v_runA_mps")),
            (-of("wind_mps"), -of("grade"), of("v_runB_mps")),
        ] {
            let place = Place {
                rho: rho(of("rho_kgm3")),
                grade: Grade::ratio(grade),
                headwind: Speed::from_si(wind),
            };
            let climb = steady_climb_at(&system, Assist::FULL, Some(&legs), &bicycle, place).unwrap();
            near(climb.speed.si(), speed, 0.003 * speed);
            seen += 1;
        }
    }
    assert!(seen >= 10, "{seen}");
}

#[test]
fn wind_does_not_move_a_governed_speed_and_a_wind_without_a_number_is_refused() {
    let mut system = longtail(42, &CASSETTE);
    system.assist_cutoff = Some(Speed::kilometres_per_hour(20.0));
    let bicycle = longtail_road(150.0);
    let at = |wind: f64| {
        let place = Place {
            rho: rho(1.2),
            grade: Grade::LEVEL,
            headwind: Speed::from_si(wind),
        };
        steady_climb_at(&system, Assist::FULL, Some(&rider(90.0)), &bicycle, place)
    };
    near(at(1.0).unwrap().speed.as_kilometres_per_hour(), 20.0, 1e-6);
    near(at(-1.0).unwrap().speed.as_kilometres_per_hour(), 20.0, 1e-6);
    assert!(at(1.0).unwrap().battery_current > at(-1.0).unwrap().battery_current);
    assert!(matches!(
        at(f64::NAN),
        Err(PerformanceError::Input { name: "headwind", .. })
    ));
}
