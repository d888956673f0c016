//! Gearings beside each other, in the contract's words and units.

use lockring_domain::job::Job;
use lockring_domain::regear::{Gearing, Ride, Room, Run, Table};
use lockring_domain::unit::{self, Kind};
use lockring_proto::v1;

/// The table of gearings.
pub(in crate::service) fn regear(job: &Job, table: &Table) -> v1::RegearReply {
    v1::RegearReply {
        job: job.number,
        grade_percent: unit::from_si(Kind::Grade, "%", table.grade),
        grade_said: table.grade_said.clone(),
        gearings: table.gearings.iter().map(gearing).collect(),
    }
}

fn gearing(gearing: &Gearing) -> v1::Gearing {
    let short = gearing
        .short
        .iter()
        .map(|(check, verdict, summary)| v1::GearingShort {
            check: (*check).to_owned(),
            verdict: verdict.word().to_owned(),
            summary: summary.clone(),
        });
    v1::Gearing {
        ring_teeth: gearing.ring,
        least_ring_teeth: gearing.least_ring,
        dish_mm: gearing.dish.map(millimetres),
        ring_part: gearing.ring_part.clone().unwrap_or_default(),
        cog_teeth: gearing.cogs.clone(),
        hub_gears: gearing.hub_gears,
        cassette_part: gearing.cassette_part.clone().unwrap_or_default(),
        changes: u32::from(gearing.changes),
        ride: gearing.ride.as_ref().map(ride),
        run: gearing.run.as_ref().map(run),
        room: Some(room(&gearing.room)),
        cost_minor: gearing.cost,
        climbs: gearing.climbs.word().to_owned(),
        fits: gearing.fits.word().to_owned(),
        short: short.collect(),
        change: gearing.change.clone(),
    }
}

fn ride(ride: &Ride) -> v1::GearingRide {
    let rpm = |speed| unit::from_si(Kind::Rotation, "rpm", speed);
    v1::GearingRide {
        hill_kmh: unit::from_si(Kind::Speed, "km/h", ride.hill_speed),
        held_by: ride.held_by.to_owned(),
        start_mps2: ride.start,
        top_rpm: ride.top_cadence.map(rpm),
    }
}

fn run(run: &Run) -> v1::GearingRun {
    v1::GearingRun {
        offset_mm: millimetres(run.offset),
        worst_deg: run.worst.0.to_degrees(),
        worst_cog: run.worst.1,
    }
}

fn room(room: &Room) -> v1::GearingRoom {
    v1::GearingRoom {
        stay_gap_mm: room.stay_gap.map(millimetres),
        chain_links: room.links,
        capacity_asked: room.capacity.map(|(asked, _)| asked),
        capacity_given: room.capacity.map(|(_, given)| given),
    }
}

fn millimetres(metres: f64) -> f64 {
    unit::from_si(Kind::Length, "mm", metres)
}
