//! The chainline as a picture: where the ring runs, where each cog sits, and the chain's angle.

use lockring_calc::chainline::{self, FRONT_STANDARDS};
use lockring_calc::quantity::Length;

use crate::case::Case;
use crate::finding::Halt;
use crate::job::Job;
use crate::prediction::{self, FrontLine, sprockets};
use crate::refusal::Refusal;
use crate::rules::RuleSheet;
use crate::stage::Stage;

/// A cog beside the ring.
#[derive(Debug, Clone, PartialEq)]
pub struct Cog {
    /// Teeth.
    pub teeth: u32,
    /// Distance from the frame's centre plane, m.
    pub line: f64,
    /// Ring less cog, m; positive when the ring runs outboard.
    pub offset: f64,
    /// Angle of the chain, rad; same sign as the offset.
    pub angle: f64,
}

/// The chainline of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Teeth of the ring.
    pub ring_teeth: u32,
    /// Front chainline, m.
    pub front: f64,
    /// How the front line is known, in words.
    pub front_how: String,
    /// Middle of the cogs, m.
    pub rear: f64,
    /// How the rear line is known, in words.
    pub rear_how: String,
    /// Chainstay length, m.
    pub stay: f64,
    /// The front standard it comes nearest to and the distance from it, m; 0 inside its range.
    pub nearest: (&'static str, f64),
    /// Cogs, smallest first.
    pub cogs: Vec<Cog>,
}

/// The picture from all that is known: the front line as measured in one reading or by
/// calliper, or from the motor's ring plane, the spacers and the ring's dish.
///
/// # Errors
/// A refusal naming what is missing and the command that records it.
pub fn picture(job: &Job, rules: &RuleSheet) -> Result<Picture, Refusal> {
    let case = Case::new(job, rules, Stage::Fitting);
    draw(&case).map_err(|halt| halt.refuse(job.number))
}

fn draw(case: &Case<'_>) -> Result<Picture, Halt> {
    let FrontLine {
        line: front,
        how: front_how,
    } = front(case)?;
    let rear = sprockets::sprockets(case)?;
    let stay = case.number("stay-length")?;
    let (ring_teeth, _) = prediction::teeth(case)?;
    let front_line = Length::from_si(front.value);
    let cogs = rear
        .cogs
        .iter()
        .zip(&rear.lines)
        .map(|(teeth, line)| {
            let cog = Length::from_si(*line);
            let angle = chainline::chain_angle(front_line, cog, Length::from_si(stay.value))
                .map_err(|error| prediction::unusable(case, "chainline", &error))?;
            Ok(Cog {
                teeth: *teeth,
                line: *line,
                offset: chainline::offset(front_line, cog).si(),
                angle: angle.si(),
            })
        })
        .collect::<Result<Vec<_>, Halt>>()?;
    Ok(Picture {
        ring_teeth,
        front: front.value,
        front_how,
        rear: rear.centre.value,
        rear_how: rear.how,
        stay: stay.value,
        nearest: nearest(front.value),
        cogs,
    })
}

fn front(case: &Case<'_>) -> Result<FrontLine, Halt> {
    if let Some(read) = prediction::read_front_line(case)? {
        return Ok(read);
    }
    prediction::predicted_front_line(case)?.ok_or_else(|| prediction::open_front_line(case))
}

/// The stored front standard nearest to a line, and the distance from its range.
fn nearest(front: f64) -> (&'static str, f64) {
    let millimetres = 1e3 * front;
    let distance = |range: &[f64; 3]| (range[0] - millimetres).max(millimetres - range[2]).max(0.0);
    FRONT_STANDARDS
        .iter()
        .map(|standard| {
            (
                standard.id,
                distance(&standard.mm),
                (standard.mm[1] - millimetres).abs(),
            )
        })
        .min_by(|a, b| a.1.total_cmp(&b.1).then(a.2.total_cmp(&b.2)))
        .map_or(("none", 0.0), |(id, off, _)| (id, 1e-3 * off))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::{longtail, trekking};

    fn draw_of(job: &Job) -> Picture {
        picture(job, &RuleSheet::shipped()).unwrap()
    }

    #[test]
    fn the_longtail_is_drawn_as_measured() {
        // Worked example of the trade (common practice, no source): front 51.5, centre 45.0,
        // big cog at 27.6 mm, atan(23.9/480) = 2.85 degrees.
        let job = longtail().measure(&[("clf", "51.5"), ("clr", "45.0")]).job;
        let drawn = draw_of(&job);
        let last = drawn.cogs.last().unwrap();
        assert_eq!((drawn.cogs.len(), last.teeth), (9, 34));
        assert!((1e3 * last.line - 27.6).abs() < 0.05, "{}", last.line);
        assert!(
            (last.angle.to_degrees() - 2.85).abs() < 0.01,
            "{}",
            last.angle.to_degrees()
        );
        // The first and last cog lie as far from the centre on either side.
        let first = &drawn.cogs[0];
        assert!((first.line + last.line - 2.0 * 0.045).abs() < 1e-9);
    }

    #[test]
    fn before_it_is_measured_the_front_line_is_predicted_from_plane_spacer_and_dish() {
        // 55 mm ring plane - 6 mm dish = 49 mm; with a 2.5 mm spacer 51.5 mm (by hand).
        assert!((draw_of(&longtail().job).front - 0.049).abs() < 1e-12);
        let spaced = longtail().measure(&[("spacer", "2.5")]).job;
        let drawn = draw_of(&spaced);
        assert!((drawn.front - 0.0515).abs() < 1e-12);
        assert!(drawn.front_how.starts_with("predicted"), "{}", drawn.front_how);
    }

    #[test]
    fn the_nearest_front_standard_is_named_with_its_distance() {
        // Stored ranges: 52.0 single ring in the outer position of a triple; 43.5 road double.
        assert_eq!(nearest(0.052).1, 0.0);
        assert_eq!(nearest(0.0435), ("road-double", 0.0));
        let (_, off) = nearest(0.090);
        assert!((off - 0.013).abs() < 1e-9, "77 mm is the widest stored: {off}");
    }

    #[test]
    fn what_is_missing_is_named_with_the_command_that_records_it() {
        let refusal = picture(&trekking().job, &RuleSheet::shipped()).unwrap_err();
        assert!(refusal.hint.unwrap().contains("lockring "), "{}", refusal.message);
    }
}
