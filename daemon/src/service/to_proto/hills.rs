//! Hills, in the contract's words and units.

use lockring_domain::forecast::Heat;
use lockring_domain::hills::{Hills, HubGear, Reach, Ride, Row};
use lockring_domain::job::Job;
use lockring_domain::unit::{self, Kind};
use lockring_proto::v1;

/// What the bicycle does on hills.
pub(in crate::service) fn hills(job: &Job, hills: &Hills) -> v1::HillsReply {
    v1::HillsReply {
        job: job.number,
        gross_kg: hills.gross,
        ring_teeth: hills.ring,
        rider_w: hills.rider_power,
        rows: hills.rows.iter().map(row).collect(),
        gears: hills.gears.iter().map(reach).collect(),
        assist: hills.help.clone(),
        hold: hills.heat.as_ref().and_then(hold),
    }
}

fn hold(heat: &Heat) -> Option<v1::HillHold> {
    let celsius = |kelvins| unit::from_si(Kind::Temperature, "C", kelvins);
    let held = heat.holds.first()?;
    Some(v1::HillHold {
        air_c: celsius(heat.air),
        limit_c: celsius(heat.limit),
        minutes: held
            .holds
            .map(|seconds| unit::from_si(Kind::Time, "min", seconds)),
        from_sheet: heat.from_sheet,
    })
}

fn row(row: &Row) -> v1::HillRow {
    v1::HillRow {
        grade_percent: percent(row.grade),
        full: Some(ride(&row.full)),
        low: Some(ride(&row.low)),
        start_mps2: row.start,
    }
}

fn ride(ride: &Ride) -> v1::HillRide {
    v1::HillRide {
        speed_kmh: unit::from_si(Kind::Speed, "km/h", ride.speed),
        cog_teeth: ride.gear.cog,
        ring_teeth: ride.gear.ring,
        hub_gear: ride.gear.hub.map(hub_gear),
        cadence_rpm: unit::from_si(Kind::Rotation, "rpm", ride.cadence),
        held_by: ride.held_by.clone(),
        motor_w: ride.motor_power,
        battery_a: ride.current,
        pack_v: ride.volts,
    }
}

fn reach(reach: &Reach) -> v1::GearReach {
    v1::GearReach {
        cog_teeth: reach.gear.cog,
        ring_teeth: reach.gear.ring,
        hub_gear: reach.gear.hub.map(hub_gear),
        grade_percent: percent(reach.grade),
        start_percent: percent(reach.started),
    }
}

/// A gear inside the hub.
pub(super) fn hub_gear(gear: HubGear) -> v1::HubGear {
    v1::HubGear {
        number: gear.number,
        of: gear.of,
        ratio: gear.ratio,
    }
}

fn percent(ratio: f64) -> f64 {
    unit::from_si(Kind::Grade, "%", ratio)
}
