//! Forecasts, in the contract's words and units.

use lockring_domain::forecast::{self, Answer, Doubtful, Forecast, GearCurve, Heat, Hold, Wish};
use lockring_domain::job::Job;
use lockring_domain::prediction;
use lockring_domain::unit::{self, Kind};
use lockring_proto::v1;

/// A job's forecast.
pub(in crate::service) fn forecast(job: &Job, forecast: &Forecast) -> v1::PredictReply {
    let kmh = |speed| unit::from_si(Kind::Speed, "km/h", speed);
    v1::PredictReply {
        job: job.number,
        rider: job.rider.clone(),
        gross_kg: forecast.gross,
        ring_teeth: forecast.ring,
        draws: forecast.draws,
        seed: forecast.seed,
        answers: forecast.answers.iter().map(answer).collect(),
        doubts: forecast.doubts.iter().map(doubt).collect(),
        curves: forecast.curves.iter().map(curve).collect(),
        heat: forecast.heat.as_ref().map(heat),
        hill_percent: forecast.hill.map(|(grade, _)| percent(grade)),
        assist: forecast.help.clone(),
        hill_wish_kmh: forecast.hill.and_then(|(_, wished)| wished).map(kmh),
    }
}

fn heat(heat: &Heat) -> v1::ForecastHeat {
    let celsius = |kelvins| unit::from_si(Kind::Temperature, "C", kelvins);
    let hold = |hold: &Hold| v1::GradeHold {
        grade_percent: percent(hold.grade),
        speed_kmh: unit::from_si(Kind::Speed, "km/h", hold.speed),
        gear: prediction::gear_named(hold.gear),
        minutes: hold
            .holds
            .map(|seconds| unit::from_si(Kind::Time, "min", seconds)),
    };
    v1::ForecastHeat {
        air_c: celsius(heat.air),
        limit_c: celsius(heat.limit),
        from_sheet: heat.from_sheet,
        holds: heat.holds.iter().map(hold).collect(),
    }
}

pub(super) fn answer(answer: &Answer) -> v1::ForecastAnswer {
    let shown = |si| unit::from_si(answer.kind, answer.unit, si);
    let [p10, p50, p90] = answer.percentiles.map(|value| value.map(shown));
    v1::ForecastAnswer {
        name: answer.name.clone(),
        unit: answer.unit.to_owned(),
        best: answer.best.map(shown),
        p10,
        p50,
        p90,
        held_by: answer.held_by.to_owned(),
        for_rider: answer.for_rider,
        wish: answer.wish.as_ref().map(|wish| self::wish(wish, shown)),
        matters: answer
            .matters
            .iter()
            .map(|(name, share)| v1::ForecastMatter {
                name: (*name).to_owned(),
                share: *share,
            })
            .collect(),
    }
}

fn wish(wish: &Wish, shown: impl Fn(f64) -> f64) -> v1::ForecastWish {
    v1::ForecastWish {
        limit: shown(wish.limit),
        below: wish.below,
        source: wish.source.to_owned(),
        probability: wish.probability,
        said: forecast::shown_probability(wish.probability),
    }
}

pub(super) fn doubt(doubt: &Doubtful) -> v1::ForecastDoubt {
    v1::ForecastDoubt {
        name: doubt.name.to_owned(),
        said: doubt.said.clone(),
    }
}

fn curve(curve: &GearCurve) -> v1::GearCurve {
    let point = |(grade, speed): &(f64, f64)| v1::CurvePoint {
        grade_percent: percent(*grade),
        speed_kmh: unit::from_si(Kind::Speed, "km/h", *speed),
    };
    v1::GearCurve {
        cog_teeth: curve.gear.cog,
        hub_gear: curve.gear.hub.map(super::hills::hub_gear),
        points: curve.points.iter().map(point).collect(),
    }
}

fn percent(ratio: f64) -> f64 {
    unit::from_si(Kind::Grade, "%", ratio)
}
