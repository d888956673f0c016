//! Curves: speed against grade; charge, height and the motor's heat along a road.

use lockring_proto::v1::{PredictReply, RangeReply};
use plotters::coord::Shift;
use plotters::prelude::{
    BLACK, ChartBuilder, DrawingArea, IntoDrawingArea as _, LineSeries, PathElement, RGBColor, Rectangle,
    SVGBackend, Text, WHITE,
};
use plotters::style::{Color as _, IntoFont as _};

use super::picture;
use crate::model::Picture;

/// Size of a plot in units of the drawing.
const SIZE: (u32, u32) = (760, 400);
pub(super) const GREY: RGBColor = RGBColor(120, 120, 120);
pub(super) const PALE: RGBColor = RGBColor(205, 205, 205);

pub(super) type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;
/// Drawing into a string does not fail; what the library says nevertheless.
pub(super) type Drawn = Result<(), String>;

pub(super) fn said<E: std::fmt::Display>(error: E) -> String {
    error.to_string()
}

/// Draws; a plot that cannot be drawn is a picture that says why.
pub(super) fn drawn(text: String, size: (u32, u32), draw: impl FnOnce(&Area<'_>) -> Drawn) -> Picture {
    let mut svg = String::new();
    let done = {
        let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
        area.fill(&WHITE)
            .map_err(said)
            .and_then(|()| draw(&area))
            .and_then(|()| area.present().map_err(said))
    };
    match done {
        Ok(()) => picture(&with_view(&svg, size), text, size.0 as f32 / size.1 as f32),
        Err(error) => picture(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 760 40\"></svg>",
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
    let cogs: Vec<String> = reply
        .curves
        .iter()
        .map(|curve| format!("{}T", curve.cog_teeth))
        .collect();
    let text = format!(
        "Speed against grade with a full pack, one line a cog ({}), ring {}T.{hill}",
        cogs.join(", "),
        reply.ring_teeth
    );
    Some(drawn(text, SIZE, |area| {
        let mut chart = ChartBuilder::on(area)
            .margin(12)
            .x_label_area_size(40)
            .y_label_area_size(52)
            .build_cartesian_2d(0.0..(steep * 1.04), 0.0..(fast * 1.08))
            .map_err(said)?;
        mesh(&mut chart, "grade, %", "speed, km/h")?;
        for (at, curve) in reply.curves.iter().enumerate() {
            let line: Vec<(f64, f64)> = curve
                .points
                .iter()
                .map(|point| (point.grade_percent, point.speed_kmh))
                .collect();
            let style = if at % 2 == 0 {
                BLACK.stroke_width(2)
            } else {
                GREY.stroke_width(2)
            };
            chart
                .draw_series(LineSeries::new(line.iter().copied(), style))
                .map_err(said)?;
            if let Some((x, y)) = line.iter().rev().find(|(_, speed)| *speed > 0.0) {
                let label = Text::new(
                    format!("{}T", curve.cog_teeth),
                    (*x, *y),
                    ("sans-serif", 13).into_font(),
                );
                chart.draw_series([label]).map_err(said)?;
            }
        }
        if let Some(grade) = reply.hill_percent {
            let mark = PathElement::new(vec![(grade, 0.0), (grade, fast * 1.08)], BLACK.stroke_width(1));
            chart.draw_series([mark]).map_err(said)?;
            let label = Text::new(
                format!("{grade:.1} %"),
                (grade, fast * 1.05),
                ("sans-serif", 13).into_font(),
            );
            chart.draw_series([label]).map_err(said)?;
        }
        if let Some(wish) = reply.hill_wish_kmh {
            let mark = PathElement::new(vec![(0.0, wish), (steep, wish)], GREY.stroke_width(1));
            chart.draw_series([mark]).map_err(said)?;
        }
        Ok(())
    }))
}

/// Height of the road in grey, the charge left along it and, where it is followed, the heat of the
/// motor's winding; `None` for a road of one point.
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
    let span = (high - low).max(10.0);
    let trip = reply.trip.as_ref();
    let heat: Vec<(f64, f64)> = reply
        .profile
        .iter()
        .filter_map(|point| Some((point.at_km, point.winding_c?)))
        .collect();
    let hottest = heat.iter().map(|point| point.1).fold(0.0, f64::max);
    let heated = if heat.is_empty() {
        String::new()
    } else {
        format!(" The winding (thin line) gets to {hottest:.0} C.")
    };
    let text = format!(
        "Charge left along the road (thick line) over its height (grey, {:.0} to {high:.0} m): {:.1} km, {} % left at the end.{heated}",
        // A height of minus nought is nought.
        low.round() + 0.0,
        last.at_km,
        trip.map_or_else(
            || "unknown".to_owned(),
            |trip| format!("{:.0}", trip.charge_left_percent)
        ),
    );
    Some(drawn(text, SIZE, |area| {
        let mut chart = ChartBuilder::on(area)
            .margin(12)
            .x_label_area_size(40)
            .y_label_area_size(52)
            .build_cartesian_2d(first.at_km..last.at_km, 0.0..hottest.max(100.0))
            .map_err(said)?;
        let up = if heat.is_empty() {
            "charge, %"
        } else {
            "charge, %; winding, C"
        };
        mesh(&mut chart, "along the road, km", up)?;
        // Height fills the lower half of the plot.
        let bars = reply.profile.windows(2).map(|pair| {
            let top = (pair[0].height_m - low) / span * 50.0;
            Rectangle::new([(pair[0].at_km, 0.0), (pair[1].at_km, top)], PALE.filled())
        });
        chart.draw_series(bars).map_err(said)?;
        let charge = reply
            .profile
            .iter()
            .map(|point| (point.at_km, point.charge_percent));
        chart
            .draw_series(LineSeries::new(charge, BLACK.stroke_width(3)))
            .map_err(said)?;
        chart
            .draw_series(LineSeries::new(heat.iter().copied(), GREY.stroke_width(1)))
            .map_err(said)?;
        Ok(())
    }))
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
pub(super) fn mesh(chart: &mut Chart<'_, '_>, across: &str, up: &str) -> Drawn {
    let mut mesh = chart.configure_mesh();
    mesh.x_desc(across)
        .light_line_style(WHITE)
        .bold_line_style(PALE)
        .label_style(("sans-serif", 14))
        .axis_desc_style(("sans-serif", 15));
    if up.is_empty() {
        mesh.disable_y_mesh().disable_y_axis();
    } else {
        mesh.y_desc(up);
    }
    mesh.draw().map_err(said)
}
