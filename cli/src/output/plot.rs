//! Curves drawn with letters: each curve has its own sign, so that nothing hangs on colour.
//!
//! Plot crates draw with dots of one kind and tell curves apart by colour; a bench screen at
//! two metres and a printer need signs, so the grid is our own.

use std::fmt::Write as _;

use crate::command_error::CommandError;
use crate::output::Out;

/// Rows of the drawing without its axes.
const ROWS: usize = 13;
/// Columns kept for the numbers of the upright axis.
const MARGIN: usize = 7;
/// Most columns of the drawing: wider screens make it no clearer.
const MOST_COLUMNS: usize = 100;

/// One curve.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Curve {
    /// The sign it is drawn with.
    pub(crate) sign: char,
    /// What it is, for the key.
    pub(crate) name: String,
    /// Its points, x rising; a gap is no point.
    pub(crate) points: Vec<(f64, f64)>,
}

/// A line across the drawing.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Across {
    /// Where, on the upright axis.
    pub(crate) at: f64,
    /// What it is, for the key.
    pub(crate) name: String,
}

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Plot {
    /// What lies along and what stands upright, with units.
    pub(crate) axes: (String, String),
    /// The curves, of which an earlier one is drawn over a later one.
    pub(crate) curves: Vec<Curve>,
    /// A limit to be compared with, drawn as `-`.
    pub(crate) across: Option<Across>,
}

/// Draws it for the width at hand; without tables as lines of numbers, a curve each.
pub(crate) fn print(out: &mut Out<'_>, plot: &Plot) -> Result<(), CommandError> {
    if out.look.plain {
        return print_numbers(out, plot);
    }
    let Some(frame) = Frame::of(plot, out.look.width) else {
        return out.line("nothing to draw");
    };
    out.line(&plot.axes.1)?;
    let grid = frame.fill(plot);
    for (row, cells) in grid.iter().enumerate() {
        let label = frame.label(row);
        let text: String = cells.iter().collect();
        out.line(format!("{label:>MARGIN$} |{}", text.trim_end()))?;
    }
    out.line(format!("{:>MARGIN$} +{}", "", "-".repeat(frame.columns)))?;
    out.line(frame.foot())?;
    out.line(format!("{:MARGIN$}  {}", "", plot.axes.0))?;
    out.wrapped("  ", "  ", &key(plot))
}

fn key(plot: &Plot) -> String {
    let mut parts: Vec<String> = plot
        .curves
        .iter()
        .map(|curve| format!("{} {}", curve.sign, curve.name))
        .collect();
    parts.extend(plot.across.as_ref().map(|across| format!("- {}", across.name)));
    parts.join(", ")
}

fn print_numbers(out: &mut Out<'_>, plot: &Plot) -> Result<(), CommandError> {
    out.line(format_args!("{} against {}", plot.axes.1, plot.axes.0))?;
    if let Some(across) = &plot.across {
        out.line(format_args!("{}: {}", across.name, short(across.at)))?;
    }
    for curve in &plot.curves {
        let mut text = String::new();
        for (x, y) in &curve.points {
            let comma = if text.is_empty() { "" } else { ", " };
            // Writing to a string cannot fail.
            let _ = write!(text, "{comma}at {} {}", short(*x), short(*y));
        }
        out.line(format_args!("{}: {text}", curve.name))?;
    }
    Ok(())
}

/// A number short enough for an axis: whole where that is as good.
fn short(value: f64) -> String {
    let whole = value.abs() >= 100.0 || (value - value.round()).abs() < 0.005;
    let digits = if whole { 0 } else { 1 };
    // Adding zero takes the sign off a zero.
    format!("{:.digits$}", value + 0.0)
}

/// The window of the drawing.
struct Frame {
    columns: usize,
    x: (f64, f64),
    y: (f64, f64),
}

impl Frame {
    /// The window that holds every point; upright from zero where nothing lies below it.
    /// `None` without points.
    fn of(plot: &Plot, width: usize) -> Option<Self> {
        let points = || plot.curves.iter().flat_map(|curve| &curve.points);
        let span = |of: fn(&(f64, f64)) -> f64| {
            let values = points().map(of).filter(|value| value.is_finite());
            values.fold(None, |span: Option<(f64, f64)>, value| {
                Some(span.map_or((value, value), |(low, high)| (low.min(value), high.max(value))))
            })
        };
        let (x, y) = (span(|point| point.0)?, span(|point| point.1)?);
        let most = plot.across.as_ref().map_or(y.1, |across| y.1.max(across.at));
        let columns = width.saturating_sub(MARGIN + 3).clamp(20, MOST_COLUMNS);
        let wide = |(low, high): (f64, f64)| if high > low { (low, high) } else { (low, low + 1.0) };
        Some(Self {
            columns,
            x: wide(x),
            y: wide((y.0.min(0.0), most)),
        })
    }

    fn fill(&self, plot: &Plot) -> Vec<Vec<char>> {
        let mut grid = vec![vec![' '; self.columns]; ROWS];
        if let Some(across) = &plot.across {
            grid[self.row(across.at)].fill('-');
        }
        for curve in plot.curves.iter().rev() {
            let drawn = curve
                .points
                .iter()
                .filter(|point| point.0.is_finite() && point.1.is_finite());
            let drawn: Vec<_> = drawn.copied().collect();
            let heights = (0..self.columns).map(|column| between(&drawn, self.at(column), self.step() / 2.0));
            for (column, y) in heights.enumerate() {
                if let Some(y) = y {
                    grid[self.row(y)][column] = curve.sign;
                }
            }
        }
        grid
    }

    fn step(&self) -> f64 {
        (self.x.1 - self.x.0) / (self.columns - 1) as f64
    }

    fn at(&self, column: usize) -> f64 {
        self.x.0 + self.step() * column as f64
    }

    fn row(&self, y: f64) -> usize {
        let share = ((y - self.y.0) / (self.y.1 - self.y.0)).clamp(0.0, 1.0);
        ROWS - 1 - (share * (ROWS - 1) as f64).round() as usize
    }

    /// The number beside a row; every third row has one.
    fn label(&self, row: usize) -> String {
        let up = ROWS - 1 - row;
        if up.is_multiple_of(3) {
            short(self.y.0 + (self.y.1 - self.y.0) * up as f64 / (ROWS - 1) as f64)
        } else {
            String::new()
        }
    }

    /// The numbers under the drawing: left end, middle, right end.
    fn foot(&self) -> String {
        let (left, middle, right) = (
            short(self.x.0),
            short(self.x.0.midpoint(self.x.1)),
            short(self.x.1),
        );
        let half = self.columns / 2;
        let rest = self.columns - half - middle.len();
        format!("{:MARGIN$}  {left:<half$}{middle}{right:>rest$}", "")
    }
}

/// The height of a curve at `x`, straight between its points; `None` further than `slack`
/// outside them.
fn between(points: &[(f64, f64)], x: f64, slack: f64) -> Option<f64> {
    let (first, last) = (points.first()?, points.last()?);
    if x < first.0 - slack || x > last.0 + slack {
        return None;
    }
    let x = x.clamp(first.0, last.0);
    let after = points.iter().position(|point| point.0 >= x)?;
    let (b, a) = (points[after], points[after.saturating_sub(1)]);
    if b.0 <= a.0 {
        return Some(b.1);
    }
    Some(a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples::{plain_text, text};

    fn hill() -> Plot {
        let curve = |sign, name: &str, points: &[(f64, f64)]| Curve {
            sign,
            name: name.into(),
            points: points.to_vec(),
        };
        Plot {
            axes: ("grade, %".into(), "speed, km/h".into()),
            curves: vec![
                curve('a', "42/11", &[(0.0, 30.0), (10.0, 0.0)]),
                curve('b', "42/34", &[(0.0, 15.0), (20.0, 5.0)]),
            ],
            across: Some(Across {
                at: 9.0,
                name: "wished 9 km/h".into(),
            }),
        }
    }

    #[test]
    fn each_curve_keeps_its_sign_and_the_limit_lies_across() {
        let shown = text(60, |out| print(out, &hill()));
        let rows: Vec<&str> = shown.lines().collect();
        assert_eq!(rows[0], "speed, km/h");
        assert!(rows[1].starts_with("     30 |a"), "{shown}");
        // The slow gear starts at half the height and ends at the right edge; the limit lies
        // between them from edge to edge.
        assert!(rows[7].starts_with("     15 |b"), "{shown}");
        assert!(rows.iter().any(|row| row.ends_with("bbbb")), "{shown}");
        assert!(
            rows.iter()
                .any(|row| row.contains("|---") && row.ends_with("---")),
            "{shown}"
        );
        assert!(shown.contains("a 42/11, b 42/34, - wished 9 km/h"), "{shown}");
        assert!(rows.iter().all(|row| row.chars().count() <= 60), "{shown}");
        let foot = rows
            .iter()
            .rfind(|row| row.trim_start().starts_with("0 "))
            .unwrap();
        assert!(foot.contains("10") && foot.ends_with("20"), "{shown}");
    }

    #[test]
    fn an_earlier_curve_lies_over_a_later_one() {
        let mut plot = hill();
        plot.curves[1].points = plot.curves[0].points.clone();
        let shown = text(60, |out| print(out, &plot));
        assert!(
            !shown.lines().take(ROWS + 1).any(|row| row.contains('b')),
            "{shown}"
        );
    }

    #[test]
    fn without_tables_it_is_read_as_numbers() {
        let shown = plain_text(|out| print(out, &hill()));
        assert!(shown.contains("speed, km/h against grade, %\n"), "{shown}");
        assert!(shown.contains("wished 9 km/h: 9\n"), "{shown}");
        assert!(shown.contains("42/34: at 0 15, at 20 5\n"), "{shown}");
    }

    #[test]
    fn no_points_and_a_single_point_are_drawn_without_harm() {
        let mut plot = hill();
        plot.curves.truncate(1);
        plot.curves[0].points = vec![(5.0, 5.0)];
        assert!(text(60, |out| print(out, &plot)).contains('a'));
        plot.curves[0].points.clear();
        assert_eq!(text(60, |out| print(out, &plot)), "nothing to draw\n");
        plot.curves[0].points = vec![(0.0, f64::NAN)];
        assert_eq!(text(60, |out| print(out, &plot)), "nothing to draw\n");
    }
}
