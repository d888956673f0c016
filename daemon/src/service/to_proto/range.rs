//! Range on a road, in the contract's words and units.

use lockring_domain::forecast::{
    Ledger, Outcome, PackCase, Point, RangeForecast, Recharge, Road, Stretch, WindingLimit,
};
use lockring_domain::job::Job;
use lockring_domain::unit::{self, Kind};
use lockring_proto::v1;

use super::forecast::{answer, doubt};

/// A job's range.
pub(in crate::service) fn range(job: &Job, range: &RangeForecast) -> v1::RangeReply {
    v1::RangeReply {
        job: job.number,
        rider: job.rider.clone(),
        gross_kg: range.gross,
        road: Some(road(&range.road)),
        trip: Some(trip(&range.trip, range.winding, range.recharge)),
        profile: range.profile.iter().map(point).collect(),
        cases: range.cases.iter().map(pack_case).collect(),
        doubts: range.doubts.iter().map(doubt).collect(),
        draws: range.asked.draws,
        seed: range.asked.seed,
        assist: range.help.clone(),
    }
}

fn road(road: &Road) -> v1::RoadView {
    v1::RoadView {
        name: road.name.clone(),
        length_km: road.length().as_kilometres(),
        ascent_m: road.ascent,
        descent_m: road.descent,
        recipe: road.recipe.clone(),
        said: road.said.clone(),
    }
}

fn trip(trip: &Outcome, winding: Option<WindingLimit>, recharge: Option<Recharge>) -> v1::TripView {
    let hottest = trip.hottest.as_ref();
    let stretch = |stretch: &Stretch| v1::StretchView {
        from_km: stretch.from.as_kilometres(),
        to_km: stretch.to.as_kilometres(),
    };
    v1::TripView {
        hours: unit::from_si(Kind::Time, "h", trip.time.si()),
        standing_min: unit::from_si(Kind::Time, "min", trip.standing.si()),
        energy_wh: trip.energy().as_watt_hours(),
        wh_per_km: trip.consumption().as_watt_hours_per_km(),
        charge_left_percent: 100.0 * trip.state_of_charge,
        lowest_v: trip.lowest_voltage.as_volts(),
        lowest_at_km: trip.lowest_at.as_kilometres(),
        winding_c: hottest.map(|hottest| hottest.winding.as_celsius()),
        case_c: hottest.map(|hottest| hottest.case.as_celsius()),
        over_limit_at_km: hottest
            .and_then(|hottest| hottest.over_limit)
            .map(|at| at.as_kilometres()),
        walked: trip.walked.iter().map(stretch).collect(),
        brakes_wh: trip.ledger.brakes.as_watt_hours(),
        rotor_w: trip.rotor_power.as_watts(),
        folded_at_km: trip.folded.map(|at| at.as_kilometres()),
        shares: shares(&trip.ledger),
        recharge_h: recharge.map(|recharge| recharge.hours),
        winding_limit_c: winding.map(|winding| unit::from_si(Kind::Temperature, "C", winding.limit)),
        winding_from_sheet: winding.is_some_and(|winding| winding.from_sheet),
        recharge_wall_wh: recharge.map(|recharge| unit::from_si(Kind::Energy, "Wh", recharge.wall)),
    }
}

/// Where the work at the wheel came from and went, and what was lost before it.
fn shares(ledger: &Ledger) -> Vec<v1::EnergyShare> {
    [
        ("rider's work at the wheel", ledger.rider_work),
        ("motor's work at the wheel", ledger.motor_work),
        ("lost in pack and leads", ledger.pack),
        ("lost in controller", ledger.controller),
        ("lost in motor", ledger.copper + ledger.motor_rest),
        ("lost in the motor's chain", ledger.chain),
        ("air", ledger.air),
        ("rolling", ledger.rolling + ledger.bearing),
        ("climbing, less what came back", ledger.climbing),
        ("brakes", ledger.brakes),
    ]
    .into_iter()
    .map(|(name, energy)| v1::EnergyShare {
        name: name.to_owned(),
        wh: energy.as_watt_hours(),
    })
    .collect()
}

fn point(point: &Point) -> v1::ProfilePoint {
    v1::ProfilePoint {
        at_km: unit::from_si(Kind::Length, "km", point.at),
        height_m: point.height,
        charge_percent: 100.0 * point.charge,
        speed_kmh: unit::from_si(Kind::Speed, "km/h", point.speed),
        winding_c: point
            .winding
            .map(|winding| unit::from_si(Kind::Temperature, "C", winding)),
    }
}

fn pack_case(case: &PackCase) -> v1::RangeCase {
    v1::RangeCase {
        answer: Some(answer(&case.answer)),
        ends: case.ends.to_owned(),
        energy_wh: unit::from_si(Kind::Energy, "Wh", case.energy),
        full_help_km: case.full_help.map(|at| unit::from_si(Kind::Length, "km", at)),
        over_limit_km: case.over_limit.map(|at| unit::from_si(Kind::Length, "km", at)),
    }
}
