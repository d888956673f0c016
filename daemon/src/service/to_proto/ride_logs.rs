//! Logs of rides, in the contract's words and units.

use jiff::Timestamp;
use lockring_domain::job::Job;
use lockring_domain::ridelog::course::{Point, course};
use lockring_domain::ridelog::study::{Fitted, Piece};
use lockring_domain::ridelog::{Kept, Log};
use lockring_domain::unit::{self, Kind};
use lockring_proto::v1;

/// Steps of a course: more than a wide terminal has columns.
const STEPS: usize = 120;

/// The logs of a job.
pub(in crate::service) fn ride_logs(job: &Job) -> v1::ListRideLogsReply {
    v1::ListRideLogsReply {
        job: job.number,
        rider: job.rider.clone(),
        logs: job.logs.iter().map(log).collect(),
    }
}

/// One log with its course.
pub(in crate::service) fn ride_log(job: &Job, kept: &Kept, ride: &Log) -> v1::ShowRideLogReply {
    let hill = kept.study.hill();
    v1::ShowRideLogReply {
        job: job.number,
        rider: job.rider.clone(),
        log: Some(log(kept)),
        course: course(ride, STEPS).iter().map(point).collect(),
        hill_command: hill.map_or_else(String::new, |hill| hill.command(job.number)),
    }
}

fn log(kept: &Kept) -> v1::RideLog {
    let study = &kept.study;
    let first = |pair: Option<(f64, f64)>| pair.map(|(first, _)| first);
    let second = |pair: Option<(f64, f64)>| pair.map(|(_, second)| second);
    let began = study
        .began_s
        .and_then(|s| Timestamp::from_microsecond((s * 1e6) as i64).ok());
    v1::RideLog {
        number: kept.number,
        seq: kept.seq,
        read_at_us: kept.at.as_microsecond(),
        by: kept.by.clone(),
        file: kept.file.clone(),
        sha256: kept.sha256.clone(),
        meter: kept.meter.word().to_owned(),
        format: study.format.clone(),
        samples: u32::try_from(study.samples).unwrap_or(u32::MAX),
        began_at_us: began.map(Timestamp::as_microsecond),
        minutes: minutes(study.time_s),
        moving_minutes: minutes(study.moving_s),
        distance_km: study.distance_m / 1_000.0,
        distance_by: study.distance_by.clone(),
        ascent_m: first(study.climb_m),
        descent_m: second(study.climb_m),
        top_kmh: study.top_mps.map(kmh),
        work_wh: study.work_j.map(wh),
        motor_work_wh: study.motor_work_j.map(wh),
        charge_from_percent: first(study.charge).map(percent),
        charge_to_percent: second(study.charge).map(percent),
        has: study.has.clone(),
        mended: study.mended.clone(),
        stretches: study.stretches.iter().map(stretch).collect(),
        fits: study.fits.iter().map(fit).collect(),
        said: study.said.clone(),
    }
}

fn stretch(piece: &Piece) -> v1::RideLogStretch {
    v1::RideLogStretch {
        kind: piece.kind.clone(),
        from_minutes: minutes(piece.from_s),
        seconds: piece.time_s,
        distance_m: piece.distance_m,
        climb_m: piece.climb_m,
        grade_percent: percent(piece.grade),
        speed_kmh: kmh(piece.speed_mps),
        power_w: piece.power_w,
    }
}

fn fit(fitted: &Fitted) -> v1::RideLogFit {
    v1::RideLogFit {
        free: fitted.free.clone(),
        mass_kg: fitted.mass_kg,
        mass_u_kg: fitted.mass_u_kg,
        speed_kmh: kmh(fitted.speed_mps),
        force_n: fitted.force_n,
        force_u_n: fitted.force_u_n,
        assumed_n: fitted.assumed_n,
        rolling: fitted.crr.map(|crr| crr.0),
        rolling_u: fitted.crr.map(|crr| crr.1),
        drag_area_m2: fitted.cda_m2.map(|cda| cda.0),
        drag_area_u_m2: fitted.cda_m2.map(|cda| cda.1),
        correlation: fitted.correlation,
        told_apart: fitted.told_apart,
        wind_mps: fitted.wind.map(|wind| wind.0),
        wind_from_degrees: fitted.wind.map(|wind| wind.1),
        left_over_m: fitted.rms_m,
        work_asked_over_measured: fitted.energy_ratio,
        readings: u32::try_from(fitted.readings).unwrap_or(u32::MAX),
        line: fitted.line(),
    }
}

fn point(point: &Point) -> v1::RideLogPoint {
    v1::RideLogPoint {
        minutes: minutes(point.time_s),
        speed_kmh: point.speed_mps.map(kmh),
        power_w: point.power_w,
        motor_w: point.motor_w,
        height_m: point.height_m,
    }
}

fn kmh(metres_per_second: f64) -> f64 {
    unit::from_si(Kind::Speed, "km/h", metres_per_second)
}

fn wh(joules: f64) -> f64 {
    unit::from_si(Kind::Energy, "Wh", joules)
}

fn percent(share: f64) -> f64 {
    unit::from_si(Kind::Ratio, "%", share)
}

const fn minutes(seconds: f64) -> f64 {
    seconds / 60.0
}
