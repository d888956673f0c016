//! Range on a road: the trip, where its energy went, the pack's cases, and the charge drawn along.

use lockring_proto::v1::{ForecastAnswer, RangeReply, RoadView, TripView};

use crate::command_error::CommandError;
use crate::output::Out;
use crate::output::plot::{self, Curve, Plot};
use crate::output::predict::{chance, decides, figure, unit};
use crate::output::table::Table;

/// Prints it.
pub(crate) fn print(out: &mut Out<'_>, reply: &RangeReply) -> Result<(), CommandError> {
    out.heading(&format!(
        "Job {}, {}: range, {:.0} kg in all, {} draws, seed {}",
        reply.job, reply.rider, reply.gross_kg, reply.draws, reply.seed
    ))?;
    if let Some(hot) = lockring_paper::kinds::too_hot(reply) {
        out.wrapped(
            "CAUTION: ",
            "  ",
            &format!("this motor does not bear this road: {hot}"),
        )?;
    }
    out.wrapped("assist ", "  ", &reply.assist)?;
    if let Some(road) = &reply.road {
        print_road(out, road)?;
    }
    if let Some(trip) = &reply.trip {
        print_trip(out, trip)?;
    }
    out.blank()?;
    out.heading("How far a charge goes on that road, over and over")?;
    let mut table = Table::new([
        "pack",
        "calc",
        "10 %",
        "50 %",
        "90 %",
        "unit",
        "gives",
        "chance",
        "ends when",
    ]);
    let nothing = ForecastAnswer::default();
    for case in &reply.cases {
        let answer = case.answer.as_ref().unwrap_or(&nothing);
        table.row([
            answer.name.clone().into(),
            figure(out, answer.best, &answer.unit).into(),
            figure(out, answer.p10, &answer.unit).into(),
            figure(out, answer.p50, &answer.unit).into(),
            figure(out, answer.p90, &answer.unit).into(),
            unit(out, &answer.unit).into(),
            format!("{:.0} Wh", case.energy_wh).into(),
            answer
                .wish
                .as_ref()
                .map(|wish| chance(wish, &answer.unit))
                .unwrap_or_default()
                .into(),
            case.ends.clone().into(),
        ]);
    }
    table.print(out)?;
    for case in &reply.cases {
        if let (Some(answer), Some(at)) = (&case.answer, case.full_help_km) {
            out.wrapped(
                "  ",
                "    ",
                &format!(
                    "{}: full help for {at:.1} km, from there less where most is asked",
                    answer.name
                ),
            )?;
        }
    }
    for case in &reply.cases {
        if let (Some(answer), Some(at)) = (&case.answer, case.over_limit_km) {
            out.wrapped(
                "  ",
                "    ",
                &format!(
                    "{}: the motor's winding is at its limit from {at:.1} km, from there less help",
                    answer.name
                ),
            )?;
        }
    }
    if let Some(answer) = reply.cases.first().and_then(|case| case.answer.as_ref()) {
        out.wrapped("  ", "    ", &decides(answer))?;
    }
    out.blank()?;
    out.heading("What may be off")?;
    for doubt in &reply.doubts {
        out.wrapped("  ", "    ", &format!("{}: {}", doubt.name, doubt.said))?;
    }
    out.blank()?;
    plot::print(out, &profile(reply))?;
    out.wrapped(
        "",
        "    ",
        "Predicted: road, rider, wind and weather decide. Measure before you rely on it.",
    )
}

fn print_road(out: &mut Out<'_>, road: &RoadView) -> Result<(), CommandError> {
    out.wrapped(
        "road: ",
        "  ",
        &format!(
            "{}, {:.1} km, {:.0} m up and {:.0} m down ({})",
            road.name, road.length_km, road.ascent_m, road.descent_m, road.recipe
        ),
    )?;
    for line in &road.said {
        out.wrapped("  ", "    ", line)?;
    }
    Ok(())
}

fn print_trip(out: &mut Out<'_>, trip: &TripView) -> Result<(), CommandError> {
    let minutes = (trip.hours * 60.0).round();
    out.wrapped(
        "once: ",
        "  ",
        &format!(
            "{:.0}:{:02.0} h with {:.0} min of stops, {:.0} Wh, {:.1} Wh/km, {:.0} % of the charge left, lowest {:.1} V at {:.1} km",
            (minutes / 60.0).floor(),
            minutes % 60.0,
            trip.standing_min,
            trip.energy_wh,
            trip.wh_per_km,
            trip.charge_left_percent,
            trip.lowest_v,
            trip.lowest_at_km
        ),
    )?;
    if let (Some(winding), Some(case)) = (trip.winding_c, trip.case_c) {
        let over = trip
            .over_limit_at_km
            .map_or_else(String::new, |at| format!("; over its limit from {at:.1} km"));
        out.wrapped(
            "  ",
            "    ",
            &format!("motor: winding up to {winding:.0} C, case to {case:.0} C{over}"),
        )?;
    }
    out.wrapped(
        "  ",
        "    ",
        &format!(
            "brakes: {:.0} Wh in all, as hot as {:.0} W held",
            trip.brakes_wh, trip.rotor_w
        ),
    )?;
    for stretch in &trip.walked {
        out.wrapped(
            "  ",
            "    ",
            &format!(
                "walked from {:.2} to {:.2} km: the drive does not hold it",
                stretch.from_km, stretch.to_km
            ),
        )?;
    }
    if let Some(at) = trip.folded_at_km {
        out.wrapped(
            "  ",
            "    ",
            &format!("the controller takes current back from {at:.1} km"),
        )?;
    }
    if let Some(hours) = trip.recharge_h {
        out.wrapped(
            "  ",
            "    ",
            &format!(
                "charging it full again: {hours:.1} h with the charger of the build, some {:.0} Wh from the wall",
                trip.recharge_wall_wh()
            ),
        )?;
    }
    let shares: Vec<String> = trip
        .shares
        .iter()
        .map(|share| format!("{} {:.0}", share.name, share.wh.round() + 0.0))
        .collect();
    out.wrapped("  ", "    ", &format!("Wh: {}", shares.join(", ")))
}

fn profile(reply: &RangeReply) -> Plot {
    // Heights are drawn on the scale of the charge: their shape counts, their figures stand above.
    let heights = || reply.profile.iter().map(|point| point.height_m);
    let (low, high) = heights().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), height| {
        (low.min(height), high.max(height))
    });
    let scaled = |height: f64| {
        if high > low {
            50.0 * (height - low) / (high - low)
        } else {
            0.0
        }
    };
    let curve = |sign, name: String, of: &dyn Fn(&lockring_proto::v1::ProfilePoint) -> f64| Curve {
        sign,
        name,
        points: reply
            .profile
            .iter()
            .map(|point| (point.at_km, of(point)))
            .collect(),
    };
    Plot {
        axes: ("distance, km".into(), "charge left, %".into()),
        curves: vec![
            curve('c', "charge left".into(), &|point| point.charge_percent),
            curve(
                'h',
                format!(
                    "height of the road, {:.0} m from lowest to highest",
                    (high - low).max(0.0)
                ),
                &|point| scaled(point.height_m),
            ),
        ],
        across: None,
    }
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{EnergyShare, ForecastWish, ProfilePoint, RangeCase, StretchView};

    use super::*;
    use crate::output::samples::{plain_text, text};

    fn reply() -> RangeReply {
        let answer = ForecastAnswer {
            name: "new pack, 25 C".into(),
            unit: "km".into(),
            best: Some(41.2),
            p10: Some(35.0),
            p50: Some(41.0),
            p90: Some(48.0),
            wish: Some(ForecastWish {
                limit: 30.0,
                source: "brief".into(),
                said: "0.98".into(),
                probability: 0.98,
                below: false,
            }),
            ..ForecastAnswer::default()
        };
        let point = |at_km, height_m, charge_percent| ProfilePoint {
            at_km,
            height_m,
            charge_percent,
            speed_kmh: 20.0,
            winding_c: None,
        };
        RangeReply {
            job: 21,
            rider: "Tomas V.".into(),
            gross_kg: 190.0,
            road: Some(RoadView {
                name: "to-work.gpx".into(),
                length_km: 12.34,
                ascent_m: 150.0,
                descent_m: 90.0,
                recipe: "band of 2 m".into(),
                said: vec!["2 gaps".into()],
            }),
            trip: Some(TripView {
                hours: 0.7,
                standing_min: 3.0,
                energy_wh: 130.0,
                wh_per_km: 10.5,
                charge_left_percent: 74.0,
                lowest_v: 44.1,
                lowest_at_km: 3.2,
                winding_c: Some(88.0),
                case_c: Some(51.0),
                over_limit_at_km: Some(9.9),
                walked: vec![StretchView {
                    from_km: 3.1,
                    to_km: 3.25,
                }],
                brakes_wh: 12.0,
                rotor_w: 180.0,
                folded_at_km: None,
                shares: vec![EnergyShare {
                    name: "air".into(),
                    wh: 70.0,
                }],
                recharge_h: Some(2.04),
                recharge_wall_wh: Some(130.0),
                winding_limit_c: Some(85.0),
                winding_from_sheet: false,
            }),
            profile: vec![point(0.0, 0.0, 100.0), point(12.34, 60.0, 74.0)],
            cases: vec![RangeCase {
                answer: Some(answer),
                ends: "the pack is empty".into(),
                energy_wh: 431.6,
                full_help_km: Some(39.8),
                over_limit_km: Some(20.3),
            }],
            doubts: Vec::new(),
            draws: 200,
            seed: 1,
            assist: "full: all that the drive gives".into(),
        }
    }

    #[test]
    fn trip_and_range_are_told_with_their_spread() {
        let shown = text(120, |out| print(out, &reply()));
        for part in [
            "road: to-work.gpx, 12.3 km, 150 m up and 90 m down (band of 2 m)",
            "once: 0:42 h with 3 min of stops, 130 Wh, 10.5 Wh/km, 74 % of the charge left, lowest 44.1 V",
            "winding up to 88 C, case to 51 C; over its limit from 9.9 km",
            "range, 190 kg in all, 200 draws, seed 1\nCAUTION: this motor does not bear this road",
            "its winding comes to its stored limit of 85 C after 9.9 km",
            "new pack, 25 C: the motor's winding is at its limit from 20.3 km",
            "calc",
            "walked from 3.10 to 3.25 km",
            "charging it full again: 2.0 h with the charger of the build, some 130 Wh",
            "Wh: air 70",
            "41.2",
            "0.98 at least 30.0 km (brief)",
            "the pack is empty",
            "new pack, 25 C: full help for 39.8 km, from there less where most is asked\n",
            "432 Wh",
            "assist full: all that the drive gives\n",
            "c charge left, h height of the road, 60 m from lowest to highest",
        ] {
            assert!(shown.contains(part), "{part}: {shown}");
        }
        assert!(
            text(80, |out| print(out, &reply()))
                .lines()
                .all(|line| line.chars().count() <= 80)
        );
    }

    #[test]
    fn it_reads_aloud_without_tables() {
        let shown = plain_text(|out| print(out, &reply()));
        assert!(shown.contains("charge left: at 0 100, at 12.3 74"), "{shown}");
    }
}
