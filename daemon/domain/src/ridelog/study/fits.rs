//! The fits of a ride: drag and rolling resistance alone, then with the mass or a wind looked for.

use std::ops::Range;

use lockring_calc::quantity::{Grade, Speed};
use lockring_calc::ride_fit::elevation::{Free, RideFit, fit};
use lockring_calc::ride_fit::stretch::{Kind, Stretch};
use lockring_calc::ride_fit::{Reading, RideFitError, Wind};

use super::{Bicycle, Fitted, Study};

/// Most readings fitted: five hours and a half at one a second.
const MOST_READINGS: usize = 20_000;

/// What is looked for besides drag and rolling resistance, and its word.
const FREE: [(&str, Free); 3] = [
    (
        "nothing",
        Free {
            mass: false,
            wind: false,
        },
    ),
    (
        "mass",
        Free {
            mass: true,
            wind: false,
        },
    ),
    (
        "wind",
        Free {
            mass: false,
            wind: true,
        },
    ),
];

/// Fits what can be fitted along the pulls; says of the rest why not.
pub(super) fn fits(readings: &[Reading], stretches: &[Stretch], bicycle: &Bicycle, study: &mut Study) {
    let mut count = 0;
    let pulls: Vec<Range<usize>> = stretches
        .iter()
        .filter(|stretch| stretch.kind == Kind::Pull)
        .map(|stretch| stretch.rows.clone())
        .take_while(|rows| {
            count += rows.len();
            count <= MOST_READINGS
        })
        .collect();
    if count > MOST_READINGS {
        study.said.push(format!(
            "only the first {MOST_READINGS} readings of steady pulling were fitted"
        ));
    }
    if pulls.is_empty() {
        let why = "nothing was fitted: no pull of a minute without a pause in the drive";
        study.said.push(why.to_owned());
        return;
    }
    study.said.push(format!(
        "fitted with {:.1} kg, air of {:.3} kg/m³, power at the wheel",
        bicycle.ridden.mass.si(),
        bicycle.ridden.rho.si()
    ));
    // Beyond three standard uncertainties the ride and the scale do not mean the same bicycle.
    let other = |found: &Fitted| {
        let off = (found.mass_kg - bicycle.ridden.mass.si()).abs();
        found.mass_u_kg.is_some_and(|u| off > 3.0 * u && off > 2.0)
    };
    for (word, free) in FREE {
        match fit(readings, &pulls, &bicycle.ridden, free) {
            Ok(found) => study.fits.extend(kept(word, free, &found, bicycle)),
            Err(RideFitError::NoHeading) => {}
            Err(error) => study.said.push(match word {
                "nothing" => format!("nothing was fitted: {error}"),
                _ => format!("no {word} can be had from this ride: {error}"),
            }),
        }
    }
    if let Some(found) = study.fits.iter().find(|found| other(found)) {
        study.said.push(format!(
            "the ride moves like {:.1} kg, the job has {:.1} kg: weigh again, or look at the power meter",
            found.mass_kg,
            bicycle.ridden.mass.si()
        ));
    }
}

/// A fit as it is kept; `None` where a figure came out as no number.
fn kept(word: &str, free: Free, found: &RideFit, bicycle: &Bicycle) -> Option<Fitted> {
    let resistance = found.resistance;
    let sum = resistance.sum;
    let assumed = bicycle
        .assumed
        .resistance(sum.speed, Grade::LEVEL, Speed::ZERO, bicycle.ridden.rho);
    let fitted = Fitted {
        free: word.to_owned(),
        mass_kg: found.mass.si(),
        mass_u_kg: free.mass.then_some(found.mass_standard.si()),
        speed_mps: sum.speed.si(),
        force_n: sum.force.si(),
        force_u_n: sum.standard.si(),
        assumed_n: assumed.si(),
        crr: resistance
            .split
            .map(|split| (split.crr.value, split.crr.standard)),
        cda_m2: resistance
            .split
            .map(|split| (split.cda.value, split.cda.standard)),
        correlation: resistance.correlation,
        told_apart: resistance.is_told_apart(),
        wind: free.wind.then_some(bearing(found.wind)),
        rms_m: found.rms.si(),
        energy_ratio: found.energy_ratio,
        readings: found.readings,
    };
    let pair = |pair: Option<(f64, f64)>| pair.map_or([0.0; 2], |(value, doubt)| [value, doubt]);
    let [a, b, c] = [fitted.crr, fitted.cda_m2, fitted.wind].map(pair);
    let figures = [
        fitted.mass_kg,
        fitted.mass_u_kg.unwrap_or_default(),
        fitted.speed_mps,
        fitted.force_n,
        fitted.force_u_n,
        fitted.assumed_n,
        fitted.correlation,
        fitted.rms_m,
        fitted.energy_ratio,
    ];
    let all = figures.into_iter().chain([a, b, c].into_iter().flatten());
    all.into_iter().all(f64::is_finite).then_some(fitted)
}

/// Speed of a wind and the bearing it comes from, 0 to 360°.
fn bearing(wind: Wind) -> (f64, f64) {
    let (north, east) = (wind.ahead.si(), wind.aside.si());
    (
        north.hypot(east),
        east.atan2(north).to_degrees().rem_euclid(360.0),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wind_comes_from_its_bearing() {
        let wind = |ahead: f64, aside: f64| {
            bearing(Wind {
                ahead: Speed::from_si(ahead),
                aside: Speed::from_si(aside),
            })
        };
        for (ahead, aside, speed, from) in [
            (3.0, 0.0, 3.0, 0.0),
            (0.0, 3.0, 3.0, 90.0),
            (-3.0, 0.0, 3.0, 180.0),
            (0.0, -3.0, 3.0, 270.0),
            (3.0, 4.0, 5.0, 53.130_102),
        ] {
            let (found, bearing) = wind(ahead, aside);
            assert!(
                (found - speed).abs() < 1e-9 && (bearing - from).abs() < 1e-5,
                "{found} {bearing}"
            );
        }
    }
}
