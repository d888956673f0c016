//! Curves: speed against grade; height, charge and the motor's heat along a road.

use lockring_proto::v1::{GearCurve, PredictReply, RangeReply};
use plotters::coord::Shift;
use plotters::element::EmptyElement;
use plotters::prelude::{
    BLACK, ChartBuilder, DrawingArea, IntoDrawingArea as _, LineSeries, PathElement, RGBColor, Rectangle,
    SVGBackend, Text, WHITE,
};
use plotters::style::{Color as _, IntoFont as _};

use super::labels::Labels;
use super::picture;
use super::view::{NARROW, View, WIDE};
use crate::model::Picture;

pub(super) const GREY: RGBColor = RGBColor(120, 120, 120);
pub(super) const PALE: RGBColor = RGBColor(205, 205, 205);

pub(super) type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;
/// Drawing into a string does not fail; what the library says nevertheless.
pub(super) type Drawn = Result<(), String>;

pub(super) fn said<E: std::fmt::Display>(error: E) -> String {
    error.to_string()
}

/// Draws wide and narrow, each as high as `height` says; a plot that cannot be drawn is a picture that says why.
pub(super) fn drawn(
    name: &str,
    text: String,
    height: impl Fn(View) -> u32,
    draw: impl Fn(&Area<'_>, View) -> Drawn,
) -> Picture {
    let one = |view: View| {
        let size = (view.width, height(view));
        let mut svg = String::new();
        let done = {
            let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
            area.fill(&WHITE)
                .map_err(said)
                .and_then(|()| draw(&area, view))
                .and_then(|()| area.present().map_err(said))
        };
        done.map(|()| with_view(&svg, size))
    };
    let aspect = WIDE.width as f32 / height(WIDE) as f32;
    match (one(WIDE), one(NARROW)) {
        (Ok(wide), Ok(narrow)) => picture(name, [&wide, &narrow], text, aspect),
        (Err(error), _) | (_, Err(error)) => picture(
            name,
            [
                "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 760 40\"></svg>",
                "",
            ],
            format!("{text} (not drawn: {error})"),
            19.0,
        ),
    }
}

/// The library fixes width and height; a page scales by the view box alone.
fn with_view(svg: &str, (width, height): (u32, u32)) -> String {
    svg.replacen(&format!("width=\"{width}\" height=\"{height}\" "), "", 1)
}

/// Speed against grade in every gear, with the brief's hill and the speed wished on it; `None`
/// when nothing was forecast.
pub fn hills(reply: &PredictReply) -> Option<Picture> {
    let points = || reply.curves.iter().flat_map(|curve| &curve.points);
    let steep = points().map(|point| point.grade_percent).fold(0.0, f64::max);
    let fast = points().map(|point| point.speed_kmh).fold(0.0, f64::max);
    if steep <= 0.0 || fast <= 0.0 {
        return None;
    }
    let hill = match (reply.hill_percent, reply.hill_wish_kmh) {
        (Some(grade), Some(wish)) => {
            format!(" The hill of {grade:.1} % is marked, with {wish:.1} km/h asked on it.")
        }
        (Some(grade), None) => format!(" The hill of {grade:.1} % is marked."),
        _ => String::new(),
    };
    let gears: Vec<String> = reply.curves.iter().map(named).collect();
    let each = if reply.curves.iter().any(|curve| curve.hub_gear.is_some()) {
        "one line a cog and a gear inside the hub"
    } else {
        "one line a cog"
    };
    let text = format!(
        "Speed against grade with a full pack, {each} ({}), ring {}T.{hill}",
        gears.join(", "),
        reply.ring_teeth
    );
    let height = |view: View| view.width * 9 / 20 + 60;
    Some(drawn("Speed against grade", text, height, |area, view| {
        let mut chart = ChartBuilder::on(area)
            .margin(10)
            .x_label_area_size(40)
            .y_label_area_size(view.beside)
            .build_cartesian_2d(0.0..(steep * 1.06), 0.0..(fast * 1.12))
            .map_err(said)?;
        mesh(&mut chart, view, "grade, %", "speed, km/h")?;
        let mut marks = Vec::new();
        if let Some(grade) = reply.hill_percent {
            let line = PathElement::new(vec![(grade, 0.0), (grade, fast * 1.12)], BLACK.stroke_width(1));
            chart.draw_series([line]).map_err(said)?;
            marks.push((format!("hill {grade:.1} %"), (grade, fast * 1.1)));
        }
        if let Some(wish) = reply.hill_wish_kmh {
            let line = PathElement::new(vec![(0.0, wish), (steep, wish)], GREY.stroke_width(1));
            chart.draw_series([line]).map_err(said)?;
            marks.push((format!("asked {wish:.1}"), (0.0, wish)));
        }
        for (at, curve) in reply.curves.iter().enumerate() {
            let style = if at % 2 == 0 { BLACK } else { GREY }.stroke_width(2);
            chart
                .draw_series(LineSeries::new(line(curve), style))
                .map_err(said)?;
        }
        for (text, place) in placed(&chart, view, marks, &reply.curves) {
            let patch = Rectangle::new(
                [(0, -view.label), (view.wide(&text), 2)],
                WHITE.mix(0.85).filled(),
            );
            let words = Text::new(text, (2, -view.label), ("sans-serif", view.label).into_font());
            let label = EmptyElement::at(place) + patch + words;
            chart.draw_series([label]).map_err(said)?;
        }
        Ok(())
    }))
}

/// The gear of a curve: its cog, and which of the gears inside the hub.
fn named(curve: &GearCurve) -> String {
    match curve.hub_gear {
        None => format!("{}T", curve.cog_teeth),
        Some(hub) => format!("{}T hub {}", curve.cog_teeth, hub.number),
    }
}

fn line(curve: &GearCurve) -> impl DoubleEndedIterator<Item = (f64, f64)> {
    let points = curve.points.iter();
    points.map(|point| (point.grade_percent, point.speed_kmh))
}

/// The labels of marks and curves, each on its own curve, from its end backwards, where it meets no other.
fn placed(
    chart: &Chart<'_, '_>,
    view: View,
    marks: Vec<(String, (f64, f64))>,
    curves: &[GearCurve],
) -> Vec<(String, (f64, f64))> {
    let mut labels = Labels::new(view);
    let right = view.width as i32 - 6;
    let mut found = Vec::new();
    let ends = curves.iter().map(|curve| {
        let ridden: Vec<(f64, f64)> = line(curve).rev().filter(|(_, speed)| *speed > 0.0).collect();
        (named(curve), ridden)
    });
    let marks = marks.into_iter().map(|(text, place)| (text, vec![place]));
    for (text, places) in marks.chain(ends) {
        let drawn: Vec<(i32, i32)> = places.iter().map(|place| chart.backend_coord(place)).collect();
        // Where there is no room to the right, to the left of the point.
        let steps = [(3, 0), (3, -9), (3, 10)].into_iter();
        let steps = steps.flat_map(|(x, y)| [(x, y), (-view.wide(&text) - 6, y)]);
        let steps: Vec<(i32, i32)> = steps.collect();
        let all = drawn
            .iter()
            .flat_map(|(x, y)| steps.iter().map(move |(right, down)| (x + right, y + down)));
        if let Some(place) = labels.place(&text, all, right)
            && let Some(at) = back(chart, place, (&places, &drawn))
        {
            found.push((text, at));
        }
    }
    found
}

/// Points of a plot, and where each is drawn.
type Ends<'a> = (&'a [(f64, f64)], &'a [(i32, i32)]);

/// The place of the plot that is drawn at a place of the drawing, by two places of which both are known.
fn back(chart: &Chart<'_, '_>, (x, y): (i32, i32), (places, drawn): Ends<'_>) -> Option<(f64, f64)> {
    let (from, at) = (places.first()?, drawn.first()?);
    let away = chart.backend_coord(&(from.0 + 1.0, from.1 + 1.0));
    let scale = (f64::from(away.0 - at.0), f64::from(away.1 - at.1));
    Some((
        from.0 + f64::from(x - at.0) / scale.0,
        from.1 + f64::from(y - at.1) / scale.1,
    ))
}

/// What is followed along a road.
struct Panel {
    axis: &'static str,
    low: f64,
    high: f64,
    points: Vec<(f64, f64)>,
    filled: bool,
    /// What it must not pass; drawn as a line with its words.
    limit: Option<f64>,
}

/// Height of the road, the charge left along it and, where it is followed, the heat of the motor's winding, one
/// above the other over one distance; `None` for a road of one point.
pub fn profile(reply: &RangeReply) -> Option<Picture> {
    let (first, last) = (reply.profile.first()?, reply.profile.last()?);
    if last.at_km <= first.at_km {
        return None;
    }
    let heights = || reply.profile.iter().map(|point| point.height_m);
    let (low, high) = (
        heights().fold(f64::INFINITY, f64::min),
        heights().fold(f64::NEG_INFINITY, f64::max),
    );
    let trip = reply.trip.as_ref();
    let along = |of: &dyn Fn(&lockring_proto::v1::ProfilePoint) -> Option<f64>| -> Vec<(f64, f64)> {
        let points = reply.profile.iter();
        points
            .filter_map(|point| Some((point.at_km, of(point)?)))
            .collect()
    };
    let heat = along(&|point| point.winding_c);
    let hottest = heat.iter().map(|point| point.1).fold(0.0, f64::max);
    let mut panels = vec![
        Panel {
            axis: "height, m",
            low,
            high: low + (high - low).max(10.0) * 1.05,
            points: along(&|point| Some(point.height_m)),
            filled: true,
            limit: None,
        },
        Panel {
            axis: "charge, %",
            low: 0.0,
            high: 104.0,
            points: along(&|point| Some(point.charge_percent)),
            filled: false,
            limit: None,
        },
    ];
    let heated = if heat.is_empty() {
        String::new()
    } else {
        let limit = trip.and_then(|trip| trip.winding_limit_c);
        panels.push(Panel {
            axis: "winding, C",
            low: 0.0,
            high: limit.map_or(hottest, |limit| hottest.max(limit)) * 1.1,
            points: heat,
            filled: false,
            limit,
        });
        let bears = match (limit, trip.and_then(|trip| trip.over_limit_at_km)) {
            (Some(limit), Some(at)) => format!(
                "; its limit of {limit:.0} C is reached at {at:.1} km, and from there on the motor is held to it with less help"
            ),
            (Some(limit), None) => format!("; the line is its limit, {limit:.0} C"),
            (None, _) => String::new(),
        };
        format!(" Below it the motor's winding, which gets to {hottest:.0} C{bears}.")
    };
    let folded = trip
        .and_then(|trip| trip.folded_at_km)
        .map_or_else(String::new, |at| {
            format!(" From {at:.1} km on the pack gives less than is asked for.")
        });
    let text = format!(
        "Along the road: its height ({:.0} to {high:.0} m) and the charge left, {:.1} km, {} % left at the end.{folded}{heated}",
        // A height of minus nought is nought.
        low.round() + 0.0,
        last.at_km,
        trip.map_or_else(
            || "unknown".to_owned(),
            |trip| format!("{:.0}", trip.charge_left_percent)
        ),
    );
    let (from, to) = (first.at_km, last.at_km);
    let count = u32::try_from(panels.len()).ok()?;
    let height = move |view: View| count * panel_height(view) + FOOT;
    Some(drawn("Along the road", text, height, |area, view| {
        let mut rest = area.clone();
        for (at, panel) in panels.iter().enumerate() {
            let is_last = at + 1 == panels.len();
            let (here, below) = rest.split_vertically(if is_last {
                panel_height(view) + FOOT
            } else {
                panel_height(view)
            });
            draw_panel(&here, view, panel, from..to, is_last)?;
            rest = below;
        }
        Ok(())
    }))
}

/// Room below the last panel, for the distance.
const FOOT: u32 = 44;

fn panel_height(view: View) -> u32 {
    if view == WIDE { 150 } else { 120 }
}

fn draw_panel(
    area: &Area<'_>,
    view: View,
    panel: &Panel,
    along: std::ops::Range<f64>,
    is_last: bool,
) -> Drawn {
    let (from, to) = (along.start, along.end);
    let mut chart = ChartBuilder::on(area)
        .margin(8)
        .x_label_area_size(if is_last { FOOT - 6 } else { 0 })
        .y_label_area_size(view.beside)
        .build_cartesian_2d(along, panel.low..panel.high)
        .map_err(said)?;
    mesh(
        &mut chart,
        view,
        if is_last { "along the road, km" } else { "" },
        panel.axis,
    )?;
    if panel.filled {
        let bars = panel.points.windows(2).map(|pair| {
            let (left, right) = (pair[0], pair[1].0);
            Rectangle::new([(left.0, panel.low), (right, left.1)], PALE.filled())
        });
        chart.draw_series(bars).map_err(said)?;
    }
    let thick = if panel.filled { 1 } else { 2 };
    let curve = LineSeries::new(panel.points.iter().copied(), BLACK.stroke_width(thick));
    chart.draw_series(curve).map_err(said)?;
    if let Some(limit) = panel.limit {
        let line = PathElement::new(vec![(from, limit), (to, limit)], GREY.stroke_width(1));
        chart.draw_series([line]).map_err(said)?;
        let words = format!("limit {limit:.0} C");
        let text = Text::new(words, (2, -view.label), ("sans-serif", view.label).into_font());
        chart
            .draw_series([EmptyElement::at((from, limit)) + text])
            .map_err(said)?;
    }
    Ok(())
}

pub(super) type Chart<'a, 'b> = plotters::chart::ChartContext<
    'a,
    SVGBackend<'b>,
    plotters::coord::cartesian::Cartesian2d<
        plotters::coord::types::RangedCoordf64,
        plotters::coord::types::RangedCoordf64,
    >,
>;

/// Axes with their units; a scale without a name is not drawn.
pub(super) fn mesh(chart: &mut Chart<'_, '_>, view: View, across: &str, up: &str) -> Drawn {
    // As many numbers as there is room for.
    let numbers = if view == WIDE { 10 } else { 5 };
    let mut mesh = chart.configure_mesh();
    mesh.light_line_style(WHITE)
        .bold_line_style(PALE)
        .x_labels(numbers)
        .y_labels(6)
        .label_style(("sans-serif", view.label))
        .axis_desc_style(("sans-serif", view.axis));
    if across.is_empty() {
        mesh.disable_x_axis();
    } else {
        mesh.x_desc(across);
    }
    if up.is_empty() {
        mesh.disable_y_mesh().disable_y_axis();
    } else {
        mesh.y_desc(up);
    }
    mesh.draw().map_err(said)
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::{CurvePoint, ProfilePoint, TripView};

    use super::*;

    /// Nine gears whose curves end close together.
    fn forecast() -> PredictReply {
        let curve = |cog: u32| GearCurve {
            cog_teeth: cog,
            hub_gear: None,
            points: (0..12)
                .map(|at| CurvePoint {
                    grade_percent: f64::from(at),
                    speed_kmh: (25.0 - f64::from(at) * (2.4 - 0.02 * f64::from(cog))).max(0.0),
                })
                .collect(),
        };
        PredictReply {
            ring_teeth: 38,
            hill_percent: Some(8.0),
            hill_wish_kmh: Some(9.0),
            curves: [11, 13, 15, 17, 20, 23, 26, 30, 36].map(curve).to_vec(),
            ..PredictReply::default()
        }
    }

    /// Left, base line, size and words of each text of a drawing that is no number of an axis.
    fn labels(svg: &str) -> Vec<(f64, f64, String)> {
        let attribute = |text: &str, key: &str| -> f64 {
            let rest = &text[text.find(key).unwrap() + key.len()..];
            rest.split('"').next().unwrap().parse().unwrap()
        };
        svg.split("<text ")
            .skip(1)
            .map(|text| {
                let words = text.split('>').nth(1).unwrap().split('<').next().unwrap().trim();
                (attribute(text, "x=\""), attribute(text, "y=\""), words.to_owned())
            })
            .filter(|(_, _, words)| {
                words.ends_with('T') || words.starts_with("hill") || words.starts_with("asked")
            })
            .collect()
    }

    #[test]
    fn no_label_of_a_gear_lies_over_another_in_either_drawing() {
        let picture = hills(&forecast()).unwrap();
        for (svg, view) in [(&picture.svg, WIDE), (&picture.narrow, NARROW)] {
            let found = labels(svg);
            let gears = found.iter().filter(|(_, _, words)| words.ends_with('T')).count();
            assert_eq!(gears, 9, "every gear is named: {found:?}");
            for (at, one) in found.iter().enumerate() {
                for other in &found[at + 1..] {
                    let wide = f64::from(view.wide(&one.2)).max(f64::from(view.wide(&other.2)));
                    let apart = (one.0 - other.0).abs() >= 0.8 * wide
                        || (one.1 - other.1).abs() >= f64::from(view.label) - 2.0;
                    assert!(apart, "{one:?} {other:?}");
                }
            }
        }
    }

    #[test]
    fn what_is_followed_along_a_road_has_a_panel_and_a_unit_of_its_own() {
        let point = |at: u32| ProfilePoint {
            at_km: f64::from(at),
            height_m: f64::from(at % 3) * 20.0,
            charge_percent: 100.0 - f64::from(at),
            winding_c: Some(25.0 + f64::from(at)),
            ..ProfilePoint::default()
        };
        let mut reply = RangeReply {
            profile: (0..20).map(point).collect(),
            trip: Some(TripView::default()),
            ..RangeReply::default()
        };
        let axes = |svg: &str| {
            ["height, m", "charge, %", "winding, C", "along the road, km"]
                .map(|axis| svg.matches(axis).count())
        };
        let told = profile(&reply).unwrap();
        for svg in [&told.svg, &told.narrow] {
            assert_eq!(axes(svg), [1, 1, 1, 1], "{svg}");
        }
        assert!(
            told.svg
                .contains("<title>Along the road</title><desc>Along the road: its height")
        );
        // The limit is drawn where there is one, and what the picture says names where it is reached.
        assert!(!told.svg.contains("limit "), "{}", told.svg);
        reply.trip = Some(TripView {
            winding_limit_c: Some(40.0),
            over_limit_at_km: Some(15.5),
            folded_at_km: Some(17.2),
            ..TripView::default()
        });
        let limited = profile(&reply).unwrap();
        for part in [
            "limit 40 C",
            "its limit of 40 C is reached at 15.5 km",
            "From 17.2 km on the pack gives less than is asked for.",
        ] {
            let svg = limited.svg.replace(crate::model::NO_BREAK, " ");
            assert!(svg.contains(part), "{part}: {svg}");
        }
        for point in &mut reply.profile {
            point.winding_c = None;
        }
        assert_eq!(axes(&profile(&reply).unwrap().svg), [1, 1, 0, 1]);
    }
}
