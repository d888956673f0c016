//! Rows of figures on one scale: each with its middle, how far it may be off, what it is held
//! against.

use lockring_proto::v1::{
    BlockedReport, CheckReply, CompareRideReply, Figure, ForecastAnswer, JobView, PredictionError,
    PredictionsReport, RangeReply,
};
use plotters::prelude::{BLACK, ChartBuilder, PathElement, Rectangle, Text};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color as _, IntoFont as _};

use super::plot::{GREY, PALE, drawn, mesh, said};
use super::view::{NARROW, View};
use crate::kinds::{Choice, family as family_of};
use crate::model::Picture;

/// Metres a second in a kilometre an hour.
const KMH: f64 = 3.6;

/// A row.
#[derive(Debug, Clone, PartialEq)]
struct Row {
    name: String,
    middle: f64,
    /// From where to where it may be; the same twice for nothing said.
    spread: (f64, f64),
    /// What it is held against, as a band.
    band: Option<(f64, f64)>,
    /// A limit, marked with a line, and its word.
    limit: Option<f64>,
    word: &'static str,
}

impl Row {
    fn exact(name: impl Into<String>, middle: f64) -> Self {
        Self {
            name: name.into(),
            middle,
            spread: (middle, middle),
            band: None,
            limit: None,
            word: "limit",
        }
    }

    /// A figure drawn at random. What stalls too often to have a middle or a lower end stands at 0 and
    /// is called so: it is not left out.
    fn drawn(name: &str, answer: &ForecastAnswer) -> Self {
        let stalls = match (answer.p10, answer.p50) {
            (Some(_), _) => "",
            (None, Some(_)) => ", 1 in 10 or more stall",
            (None, None) => ", half or more stall",
        };
        let middle = answer.p50.unwrap_or_default();
        Self {
            spread: (answer.p10.unwrap_or_default(), answer.p90.unwrap_or(middle)),
            ..Self::exact(format!("{name}{stalls}"), middle)
        }
    }

    /// A figure of a check with its doubt and its limit.
    fn figure(one: &Figure) -> Self {
        let doubt = one.uncertainty.unwrap_or_default();
        Self {
            spread: (one.value - doubt, one.value + doubt),
            word: match one.limit.as_str() {
                words if words.starts_with("at least") => "at least",
                words if words.starts_with("at most") => "at most",
                _ => "limit",
            },
            limit: one.margin.and_then(|margin| match one.limit.as_str() {
                words if words.starts_with("at least") => Some(one.value - margin),
                // Between two limits the margin does not say which is nearer.
                words if words.contains(" to ") => None,
                _ => Some(one.value + margin),
            }),
            ..Self::exact(one.name.trim_end_matches(','), one.value)
        }
    }

    fn ends(&self) -> impl Iterator<Item = f64> {
        let band = self.band.unwrap_or(self.spread);
        let limit = self.limit.unwrap_or(self.middle);
        [self.spread.0, self.spread.1, band.0, band.1, limit].into_iter()
    }
}

/// Share of the sheet that rows take.
const SHARE: f32 = 0.9;
/// Height of a row's bar, right below its name, in units of the drawing.
const BAR: u32 = 18;
/// Height of the word of a limit, below the bar that it limits.
const WORD: u32 = 16;
/// Room before the next row's name, so that nothing stands nearer to it than to its own row.
const APART: u32 = 12;
/// Room for the axis.
const AXIS: u32 = 66;

/// A name in the lines that it takes on a drawing.
fn lines(name: &str, view: View) -> Vec<String> {
    let room = (view.width - 40) as usize;
    let sign = view.wide("0").max(1) as usize;
    let cut = textwrap::wrap(name, (room / sign).max(8));
    cut.into_iter().map(|line| line.into_owned()).collect()
}

fn line_height(view: View) -> u32 {
    view.label.unsigned_abs() + 3
}

/// Draws rows on one scale; `None` without rows or on no scale. From nought unless `close`.
fn rows(name: &str, text: String, unit: &str, rows: &[Row], close: bool) -> Option<Picture> {
    let ends = || rows.iter().flat_map(Row::ends);
    let high = ends().fold(f64::NEG_INFINITY, f64::max);
    let low = ends().fold(f64::INFINITY, f64::min);
    let low = if close { low } else { low.min(0.0) };
    let span = high - low;
    if !span.is_finite() || span <= 0.0 {
        return None;
    }
    let low = if close { low - 0.05 * span } else { low };
    let high = 0.05f64.mul_add(span, high);
    let hair = (high - low) / 400.0;
    let tall = |row: &Row, view: View| {
        let lines = u32::try_from(lines(&row.name, view).len()).unwrap_or(1);
        let word = if row.limit.is_some() { WORD } else { 0 };
        lines * line_height(view) + BAR + word + APART
    };
    let all = |view: View| rows.iter().map(|row| tall(row, view)).sum::<u32>();
    let picture = drawn(
        name,
        text,
        |view| all(view) + AXIS,
        |area, view| {
            let mut chart = ChartBuilder::on(area)
                .margin(12)
                .x_label_area_size(40)
                .build_cartesian_2d(low..high, 0.0..f64::from(all(view)))
                .map_err(said)?;
            mesh(&mut chart, view, unit, "")?;
            let mut top = f64::from(all(view));
            for row in rows {
                let height = f64::from(tall(row, view));
                let name = lines(&row.name, view);
                for (at, line) in name.iter().enumerate() {
                    let down = f64::from(line_height(view)) * at as f64;
                    let words = Text::new(
                        line.clone(),
                        (low + 2.0 * hair, top - down - 2.0),
                        ("sans-serif", view.label).into_font(),
                    );
                    chart.draw_series([words]).map_err(said)?;
                }
                let bar = top - f64::from(line_height(view)) * name.len() as f64 - f64::from(BAR);
                top -= height;
                let (from, to) = (bar + 3.0, bar + 15.0);
                if let Some((left, right)) = row.band {
                    let band = Rectangle::new([(left, from), (right, to)], PALE.filled());
                    chart.draw_series([band]).map_err(said)?;
                }
                let spread = Rectangle::new(
                    [
                        (row.spread.0, bar + 7.0),
                        (row.spread.1.max(row.spread.0 + hair), bar + 11.0),
                    ],
                    GREY.filled(),
                );
                let middle = Rectangle::new(
                    [(row.middle - hair, from), (row.middle + hair, to)],
                    BLACK.filled(),
                );
                chart.draw_series([spread, middle]).map_err(said)?;
                if let Some(limit) = row.limit {
                    let mark = PathElement::new(
                        vec![(limit, bar - f64::from(WORD) + 4.0), (limit, to)],
                        BLACK.stroke_width(1),
                    );
                    // Beside the line, on the side where there is room.
                    let is_right = limit > 0.3f64.mul_add(low, 0.7 * high);
                    let (side, off) = if is_right {
                        (HPos::Right, -1.5)
                    } else {
                        (HPos::Left, 1.5)
                    };
                    let style = ("sans-serif", if view == NARROW { 10 } else { 13 }).into_font();
                    let style = plotters::style::TextStyle::from(style).pos(Pos::new(side, VPos::Top));
                    let word = Text::new(row.word, (limit + off * hair, bar + 1.0), style);
                    chart.draw_series([mark]).map_err(said)?;
                    chart.draw_series([word]).map_err(said)?;
                }
            }
            Ok(())
        },
    );
    Some(Picture {
        share: SHARE,
        ..picture
    })
}

/// How far a charge goes, case by case: from the figure nine in ten exceed to the one that one in
/// ten exceeds, with the middle marked; `None` without figures.
pub fn chances(reply: &RangeReply) -> Option<Picture> {
    let cases: Vec<Row> = reply
        .cases
        .iter()
        .filter_map(|case| case.answer.as_ref())
        .map(|answer| Row::drawn(&answer.name, answer))
        .collect();
    let told = told(&cases, "km", 0);
    rows(
        "How far a charge goes",
        format!("Range in km, the middle and what lies between one in ten and nine in ten: {told}."),
        "range, km",
        &cases,
        false,
    )
}

/// What was ridden over what was expected, in percent: the band is what the expectation may be
/// off by, the bar what the measurement may be, both at two standard uncertainties. `None` when
/// nothing was compared.
pub fn compared(reply: &CompareRideReply) -> Option<Picture> {
    let percent = |value: f64, of: f64| 100.0 * value / of;
    let figures: Vec<Row> = reply
        .figures
        .iter()
        .filter(|one| one.expected > 0.0)
        .map(|one| {
            let doubt = percent(one.measured_uncertainty, one.expected);
            let off = percent(one.expected_uncertainty, one.expected);
            let middle = percent(one.measured, one.expected);
            Row {
                spread: (middle - doubt, middle + doubt),
                band: Some((100.0 - off, 100.0 + off)),
                ..Row::exact(&one.name, middle)
            }
        })
        .collect();
    let told = told(&figures, "%", 0);
    rows(
        "Ridden against expected",
        format!(
            "Measured in percent of what was expected; grey is what the expectation may be off by: {told}."
        ),
        "measured, % of expected",
        &figures,
        true,
    )
}

/// What builds do on the rider's hill and on the rider's road, each with its spread where it was sampled and beside
/// what was asked; each by what it is called.
pub fn builds(choices: &[Choice<'_>]) -> [Option<Picture>; 2] {
    let hill = |choice: &Choice<'_>| {
        let answers = choice.forecast.map_or(&[][..], |reply| &reply.answers);
        let own = |answer: &&ForecastAnswer| answer.unit == "km/h" && answer.name.starts_with("hill");
        let sampled = answers.iter().filter(own).cloned().collect();
        (choice.build.hill_kmh, choice.build.hill_margin_kmh, sampled)
    };
    let road = |choice: &Choice<'_>| {
        let cases = choice.range.map_or(&[][..], |reply| &reply.cases);
        let sampled = cases.iter().filter_map(|case| case.answer.clone()).collect();
        (choice.build.range_km, choice.build.range_margin_km, sampled)
    };
    [
        side_by_side("Speed up the rider's hill", "km/h", choices, hill),
        side_by_side("Distance on a charge", "km", choices, road),
    ]
}

/// A row for what each build is planned to do, and one for each figure that was sampled.
fn side_by_side(
    what: &str,
    unit: &str,
    choices: &[Choice<'_>],
    of: impl Fn(&Choice<'_>) -> (f64, f64, Vec<ForecastAnswer>),
) -> Option<Picture> {
    let mut found = Vec::new();
    for choice in choices {
        let (value, over, sampled) = of(choice);
        let asked = Some(value - over);
        found.push(Row {
            band: Some((0.0, value)),
            limit: asked,
            word: "asked",
            ..Row::exact(format!("{}, planned", choice.name()), value)
        });
        found.extend(sampled.iter().map(|answer| Row {
            limit: asked,
            word: "asked",
            ..Row::drawn(&format!("{}, {}", choice.name(), answer.name), answer)
        }));
    }
    let told = told(&found, unit, 1);
    let axis = format!("{}, {unit}", what.to_lowercase());
    rows(
        what,
        format!("{what}; the line is what was asked: {told}."),
        &axis,
        &found,
        false,
    )
}

/// Runs both ways over one strip, and what they come to, against the limit; `None` before a pair
/// was ridden.
pub fn runs(view: &JobView, gates: &[CheckReply]) -> Option<Picture> {
    let ridden = |code: &&str| {
        let fact = view
            .facts
            .iter()
            .find(|fact| fact.code == **code && fact.stale.is_empty())?;
        Some(Row::exact(&fact.name, fact.si? * KMH))
    };
    let mut found: Vec<Row> = ["cutoff-out", "cutoff-back", "speed-out", "speed-back"]
        .iter()
        .filter_map(ridden)
        .collect();
    if found.len() < 2 {
        return None;
    }
    found.extend(figures(gates, &["ride.cutoff_speed", "ride.top_speed"], "km/h"));
    let told = told(&found, "km/h", 1);
    rows(
        "Two-way runs",
        format!("Two-way runs and what they come to: {told}."),
        "speed, km/h",
        &found,
        true,
    )
}

/// Stopping distances, brought to the speed they are set for, against their limits; `None` before
/// a stop was made.
pub fn stops(gates: &[CheckReply]) -> Option<Picture> {
    let found = figures(gates, &["ride.stopping"], "m");
    let told = told(&found, "m", 1);
    rows(
        "Stopping distances",
        format!("Stopping distances against the limits of the job's mass: {told}."),
        "distance, m",
        &found,
        false,
    )
}

/// Mean and spread of the rides' differences from what was expected; `None` before a ride.
pub fn errors(report: &PredictionsReport) -> Option<Picture> {
    let all: Vec<&PredictionError> = report.errors.iter().collect();
    off("all rides", &all, |one| {
        format!("{}, {} (n {})", one.name, one.kind, one.rides)
    })
}

/// The same, a picture for each kind of bicycle.
pub fn errors_by_kind(report: &PredictionsReport) -> Vec<Picture> {
    let mut kinds: Vec<(&str, Vec<&PredictionError>)> = Vec::new();
    for one in &report.errors {
        match kinds.iter_mut().find(|(kind, _)| *kind == one.kind) {
            Some((_, of_kind)) => of_kind.push(one),
            None => kinds.push((&one.kind, vec![one])),
        }
    }
    let drawn = kinds
        .iter()
        .filter_map(|(kind, of_kind)| off(kind, of_kind, |one| format!("{} (n {})", one.name, one.rides)));
    drawn.collect()
}

fn off(
    whose: &str,
    errors: &[&PredictionError],
    name: impl Fn(&PredictionError) -> String,
) -> Option<Picture> {
    let found: Vec<Row> = errors
        .iter()
        .map(|one| {
            let (mean, spread) = (one.mean_percent, one.spread_percent);
            Row {
                spread: (mean - spread, mean + spread),
                band: Some((mean.min(0.0), mean.max(0.0))),
                ..Row::exact(name(one), mean)
            }
        })
        .collect();
    let told = told(&found, "%", 1);
    rows(
        "How far expectations were off on all rides",
        format!("{whose}: measured less expected, in percent, mean and standard deviation: {told}."),
        "measured less expected, %",
        &found,
        true,
    )
}

/// Working days that blocks are old, added up by family; `None` when nothing is blocked.
pub fn blocked(report: &BlockedReport) -> Option<Picture> {
    let found: Vec<Row> = report
        .by_family
        .iter()
        .map(|family| {
            let blocks = report.lines.iter().filter_map(|line| line.block.as_ref());
            let days = blocks
                .filter(|block| block.family == family.name)
                .map(|block| f64::from(block.age_days));
            let days: f64 = days.sum();
            Row {
                band: Some((0.0, days)),
                ..Row::exact(family_of(&family.name), days)
            }
        })
        .filter(|row| row.middle > 0.0)
        .collect();
    let told = told(&found, "block-days", 0);
    rows(
        "Blocks by family",
        format!("Working days of all blocks together, by family: {told}."),
        "block-days",
        &found,
        false,
    )
}

/// Figures of some checks in one unit.
fn figures(gates: &[CheckReply], checks: &[&str], unit: &str) -> Vec<Row> {
    gates
        .iter()
        .flat_map(|gate| &gate.checks)
        .filter(|report| checks.contains(&report.check.as_str()))
        .flat_map(|report| &report.findings)
        .flat_map(|finding| &finding.figures)
        .filter(|one| one.unit == unit)
        .map(Row::figure)
        .collect()
}

/// The rows in words.
fn told(rows: &[Row], unit: &str, decimals: usize) -> String {
    let each = rows.iter().map(|row| {
        let Row {
            name,
            middle,
            spread,
            limit,
            word,
            ..
        } = row;
        let spread = if spread.0 < spread.1 {
            format!(" ({:.decimals$} to {:.decimals$})", spread.0, spread.1)
        } else {
            String::new()
        };
        let limit = limit.map_or_else(String::new, |limit| format!(", {word} {limit:.decimals$}"));
        format!("{name} {middle:.decimals$} {unit}{spread}{limit}")
    });
    each.collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use lockring_proto::v1::RangeCase;

    use super::*;

    #[test]
    fn what_stalls_in_some_draws_is_drawn_and_called_so() {
        let case = |name: &str, p10, p50, p90| RangeCase {
            answer: Some(ForecastAnswer {
                name: name.into(),
                unit: "km".into(),
                p10,
                p50,
                p90,
                ..ForecastAnswer::default()
            }),
            ..RangeCase::default()
        };
        let reply = RangeReply {
            cases: vec![
                case("new", Some(30.0), Some(40.0), Some(50.0)),
                case("cold", None, Some(20.0), Some(45.0)),
                case("old", None, None, Some(10.0)),
            ],
            ..RangeReply::default()
        };
        let picture = chances(&reply).unwrap();
        for told in [
            "new 40 km (30 to 50)",
            "cold, 1 in 10 or more stall 20 km (0 to 45)",
            "old, half or more stall 0 km (0 to 10)",
        ] {
            assert!(picture.text.contains(told), "{}", picture.text);
        }
    }
}
