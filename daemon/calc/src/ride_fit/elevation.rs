//! Virtual elevation: the height a power balance says the road has, against the height measured.
//!
//! Between two readings the road climbs by what the drive puts in and neither speed, air nor
//! tyres take out:
//! `dh = (eta·P·dt − 0.5·(m + Iw/r²)·(v₂² − v₁²) − 0.5·rho·CdA·va·|va|·ds)/(m·g) − Crr·ds`
//! with `ds` mean speed times `dt` and `va` mean speed plus headwind. It is the force balance of
//! Martin et al. 1998 integrated; heights are compared rather than slopes because the noise of a
//! barometer ruins a slope and not a height.

use std::ops::Range;

use super::normal::{MOST, Normal, Solution};
use super::track::{Found, Track, Unknown, centred};
use super::{Pair, Reading, Resistance, Ridden, RideFitError, Wind, finite, one_speed};
use crate::quantity::{Area, Length, Mass, Speed};

/// What else the fit may look for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Free {
    /// Mass: only where heights change by much more than their noise.
    pub mass: bool,
    /// Wind: only where the road turns.
    pub wind: bool,
}

/// What a ride's heights reveal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RideFit {
    /// Drag and rolling resistance.
    pub resistance: Resistance,
    /// Mass: found, or as given.
    pub mass: Mass,
    /// Standard uncertainty of the mass found; zero as given.
    pub mass_standard: Mass,
    /// Wind found; none as not looked for.
    pub wind: Wind,
    /// Root mean square of the heights the fit leaves unexplained.
    pub rms: Length,
    /// Work the fit asks for over work measured behind the losses.
    pub energy_ratio: f64,
    /// Readings that counted.
    pub readings: usize,
}

/// Heights a power balance gives, starting at zero.
///
/// Range: at least one reading, times that rise, speeds zero or above, `crr` and `cda` finite.
/// Errors: [`RideFitError::Input`], [`RideFitError::NoHeading`] when a wind is given without headings.
/// Source: R. Chung's virtual elevation (from memory) over the power balance of Martin et al. 1998.
pub fn heights(
    readings: &[Reading],
    ridden: &Ridden,
    crr: f64,
    cda: Area,
    wind: Option<Wind>,
) -> Result<Vec<Length>, RideFitError> {
    ridden.check()?;
    finite("crr", crr)?;
    finite("cda", cda.si())?;
    let found = Found {
        crr,
        cda: cda.si(),
        mass: ridden.mass.si(),
        wind: wind.unwrap_or_default(),
    };
    let track = Track::new(readings, 0..readings.len(), ridden, wind.map(|_| found.wind))?;
    Ok((0..track.gone.len())
        .map(|i| Length::from_si(track.height(i, &found, ridden)))
        .collect())
}

/// Fits drag and rolling resistance, and mass or wind if asked, to the heights along stretches.
///
/// Each stretch begins at a height of its own, so drift between stretches does not count. Least
/// squares of measured against virtual height (Gauss–Newton; one step where only drag and rolling
/// resistance are free). Covariance `s²·(XᵀX)⁻¹·τ`: what is left over wanders rather than jumps,
/// so only one reading in `τ` counts, with `τ = 1 + 2·Σ ρ(lag)` of the remainder, summed up to the
/// first lag that does not follow, or as far as half the mean stretch.
///
/// Range: stretches inside the log with times that rise; more readings than unknowns.
/// Errors: [`RideFitError::Input`], [`RideFitError::TooFew`], [`RideFitError::NoHeading`],
/// [`RideFitError::Undetermined`], [`RideFitError::NoConvergence`].
/// Source: Martin et al. 1998 for the balance; integrated autocorrelation as for any correlated
/// series, e.g. A. Sokal, Monte Carlo Methods in Statistical Mechanics, 1996, section 3 (from memory).
pub fn fit(
    readings: &[Reading],
    stretches: &[Range<usize>],
    ridden: &Ridden,
    free: Free,
) -> Result<RideFit, RideFitError> {
    ridden.check()?;
    match raw(readings, stretches, ridden, free) {
        Ok(raw) => Ok(raw.told(raw.pair.judged(&raw.ridden, raw.usual))),
        Err(RideFitError::Undetermined) if !free.mass && !free.wind => together(readings, stretches, ridden),
        Err(error) => Err(error),
    }
}

/// A fit before its sum is worked out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Raw {
    pub pair: Pair,
    pub mass_standard: f64,
    pub wind: Wind,
    pub rms: f64,
    pub energy_ratio: f64,
    pub readings: usize,
    /// As given, with the mass found.
    pub ridden: Ridden,
    /// Root mean square speed by distance.
    usual: Speed,
}

impl Raw {
    fn told(&self, resistance: Resistance) -> RideFit {
        RideFit {
            resistance,
            mass: self.ridden.mass,
            mass_standard: Mass::from_si(self.mass_standard),
            wind: self.wind,
            rms: Length::from_si(self.rms),
            energy_ratio: self.energy_ratio,
            readings: self.readings,
        }
    }
}

fn unknowns(free: Free) -> Vec<Unknown> {
    let mut list = vec![Unknown::Crr, Unknown::Cda];
    if free.mass {
        list.push(Unknown::Mass);
    }
    if free.wind {
        list.extend([Unknown::Ahead, Unknown::Aside]);
    }
    list
}

fn tracks(
    readings: &[Reading],
    stretches: &[Range<usize>],
    ridden: &Ridden,
    wind: Option<Wind>,
) -> Result<Vec<Track>, RideFitError> {
    stretches
        .iter()
        .map(|rows| Track::new(readings, rows.clone(), ridden, wind))
        .collect()
}

/// Rows of the stretches, which must be more than the unknowns with one height each.
fn freedom(tracks: &[Track], unknowns: usize) -> Result<f64, RideFitError> {
    let readings: usize = tracks.iter().map(|t| t.gone.len()).sum();
    let least = unknowns + tracks.len() + 1;
    if readings < least {
        return Err(RideFitError::TooFew { readings, least });
    }
    Ok((readings - least + 1) as f64)
}

pub(super) fn raw(
    readings: &[Reading],
    stretches: &[Range<usize>],
    ridden: &Ridden,
    free: Free,
) -> Result<Raw, RideFitError> {
    const MOST_STEPS: usize = 60;
    let list = unknowns(free);
    // A start near any bicycle; only mass and wind make the way from it matter.
    let mut found = Found {
        crr: 0.006,
        cda: 0.4,
        mass: ridden.mass.si(),
        wind: Wind::default(),
    };
    for _ in 0..MOST_STEPS {
        let tracks = tracks(readings, stretches, ridden, free.wind.then_some(found.wind))?;
        let freedom = freedom(&tracks, list.len())?;
        let solved = step(&tracks, &list, &found, ridden).ok_or(RideFitError::Undetermined)?;
        let settled = list
            .iter()
            .zip(solved.values)
            .all(|(unknown, step)| step.abs() <= unknown.small());
        if settled {
            return Ok(settle(&tracks, &list, &found, ridden, &solved.inverse, freedom));
        }
        for (unknown, step) in list.iter().zip(solved.values) {
            found.add(*unknown, step);
        }
        if !(found.mass.is_finite() && found.mass > 0.0) {
            return Err(RideFitError::NoConvergence);
        }
    }
    Err(RideFitError::NoConvergence)
}

fn step(tracks: &[Track], list: &[Unknown], found: &Found, ridden: &Ridden) -> Option<Solution> {
    let mut normal = Normal::new(list.len());
    for track in tracks {
        let rows = track.gone.len();
        let columns: Vec<Vec<f64>> = list
            .iter()
            .map(|by| centred((0..rows).map(|i| track.slope(i, *by, found, ridden))))
            .collect();
        for (i, left) in track.remainder(found, ridden).into_iter().enumerate() {
            let mut row = [0.0; MOST];
            for (place, column) in row.iter_mut().zip(&columns) {
                *place = column[i];
            }
            normal.add(&row, left);
        }
    }
    normal.solve()
}

fn settle(
    tracks: &[Track],
    list: &[Unknown],
    found: &Found,
    ridden: &Ridden,
    inverse: &[[f64; MOST]; MOST],
    freedom: f64,
) -> Raw {
    let remainders: Vec<Vec<f64>> = tracks.iter().map(|t| t.remainder(found, ridden)).collect();
    let readings: usize = remainders.iter().map(Vec::len).sum();
    let squares: f64 = remainders.iter().flatten().map(|r| r * r).sum();
    let variance = squares / freedom * following(&remainders);
    let ridden = Ridden {
        mass: Mass::from_si(found.mass),
        ..*ridden
    };
    let mass_standard = list
        .iter()
        .position(|unknown| *unknown == Unknown::Mass)
        .map_or(0.0, |i| (variance * inverse[i][i]).sqrt());
    Raw {
        pair: Pair {
            crr: found.crr,
            cda: found.cda,
            variances: [
                variance * inverse[0][0],
                variance * inverse[0][1],
                variance * inverse[1][1],
            ],
        },
        mass_standard,
        wind: found.wind,
        rms: (squares / readings as f64).sqrt(),
        energy_ratio: energy_ratio(tracks, found, &ridden),
        readings,
        ridden,
        usual: usual(tracks, &ridden),
    }
}

/// Speed at which the air takes what it took on average along the road, wind included.
fn usual(tracks: &[Track], ridden: &Ridden) -> Speed {
    let (air, gone) = ends(tracks).fold((0.0, 0.0), |(air, gone), (track, end)| {
        (air + track.air[end], gone + track.gone[end])
    });
    Speed::from_si((air / gone / (0.5 * ridden.rho.si())).max(0.0).sqrt())
}

fn ends(tracks: &[Track]) -> impl Iterator<Item = (&Track, usize)> {
    tracks.iter().map(|track| (track, track.gone.len() - 1))
}

fn energy_ratio(tracks: &[Track], found: &Found, ridden: &Ridden) -> f64 {
    let weight = ridden.weight();
    let moved = (ridden.mass + ridden.rotating).si();
    let (asked, done) = ends(tracks).fold((0.0, 0.0), |(asked, done), (track, end)| {
        let climbed = track.measured[end] - track.measured[0];
        let one = weight * (climbed + found.crr * track.gone[end])
            + moved * track.kinetic[end]
            + found.cda * track.air[end];
        (asked + one, done + track.work[end])
    });
    asked / done
}

/// `τ`: how many readings say together what one would say if they did not follow each other.
fn following(remainders: &[Vec<f64>]) -> f64 {
    let product = |lag: usize| -> f64 {
        remainders
            .iter()
            .flat_map(|r| r.iter().zip(r.iter().skip(lag)))
            .map(|(a, b)| a * b)
            .sum()
    };
    let whole = product(0);
    if whole <= 0.0 {
        return 1.0;
    }
    let rows: usize = remainders.iter().map(Vec::len).sum();
    let longest = rows / remainders.len() / 2;
    let followed: f64 = (1..=longest)
        .map(|lag| product(lag) / whole)
        .take_while(|share| *share > 0.0)
        .sum();
    1.0 + 2.0 * followed
}

/// One speed throughout: a rolling coefficient that stands for everything gives the force there.
fn together(
    readings: &[Reading],
    stretches: &[Range<usize>],
    ridden: &Ridden,
) -> Result<RideFit, RideFitError> {
    let tracks = tracks(readings, stretches, ridden, None)?;
    let freedom = freedom(&tracks, 1)?;
    let mut found = Found {
        crr: 0.0,
        cda: 0.0,
        mass: ridden.mass.si(),
        wind: Wind::default(),
    };
    let solved = step(&tracks, &[Unknown::Crr], &found, ridden).ok_or(RideFitError::Undetermined)?;
    found.crr = solved.values[0];
    let raw = settle(&tracks, &[Unknown::Crr], &found, ridden, &solved.inverse, freedom);
    let weight = ridden.weight();
    let standard = weight * raw.pair.variances[0].sqrt();
    Ok(raw.told(one_speed(raw.usual, weight * found.crr, standard)))
}
