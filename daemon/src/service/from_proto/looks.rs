//! What is asked only to be looked at: forecasts, ranges, pages and days.

use jiff::Timestamp;
use jiff::civil::Date;
use lockring_domain::code;
use lockring_domain::forecast;
use lockring_domain::level::Level;
use lockring_domain::nearest::nearest;
use lockring_domain::part::PartKind;
use lockring_domain::refusal::{Reason, Refusal};
use lockring_domain::stage::Stage;
use lockring_domain::unit::{self, Kind};
use lockring_proto::v1;

use super::{bad, day};

/// Rows of a page when nobody says, and at most.
const PAGE: (u32, u32) = (100, 500);

/// How a forecast is asked for.
pub(in crate::service) const fn forecast(request: &v1::PredictRequest) -> forecast::Asked {
    forecast::Asked {
        draws: if request.draws == 0 {
            forecast::DRAWS
        } else {
            request.draws
        },
        seed: request.seed,
    }
}

/// Draws of a range when nobody says how many.
const RANGE_DRAWS: u32 = 200;

/// How a range is asked for.
pub(in crate::service) const fn range(request: &v1::RangeRequest) -> forecast::Asked {
    forecast::Asked {
        draws: if request.draws == 0 {
            RANGE_DRAWS
        } else {
            request.draws
        },
        seed: request.seed,
    }
}

/// How a road is asked to be ridden.
pub(in crate::service) fn ride(request: &v1::RangeRequest) -> Result<forecast::RideAsked<'_>, Refusal> {
    Ok(forecast::RideAsked {
        road: road(request.road.as_ref()),
        headwind: headwind(&request.headwind)?,
        level: Level::read(&request.assist)?,
        climb_by: forecast::climb_by(&request.climb_by)?,
    })
}

/// A head wind in m/s.
fn headwind(text: &str) -> Result<f64, Refusal> {
    if text.trim().is_empty() {
        return Ok(0.0);
    }
    unit::parse(Kind::Speed, "m/s", text).map_err(|error| {
        Refusal::new(
            Reason::BadInput,
            format!("`{text}` is no wind ({error}); expected a speed, for example `4 m/s`"),
        )
        .with("field", "headwind")
    })
}

/// The road a range is asked for.
fn road(file: Option<&v1::RoadFile>) -> forecast::RoadAsked<'_> {
    match file {
        None => forecast::RoadAsked::Typical,
        Some(file) => forecast::RoadAsked::Recorded {
            name: &file.name,
            content: &file.content,
        },
    }
}

/// A grade as typed, read as the brief's grade is; `None` when nothing was typed.
///
/// # Errors
/// [`Reason::BadInput`] naming what was given and what is expected.
pub(in crate::service) fn grade(text: &str) -> Result<Option<f64>, Refusal> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let row = code::find("hill-grade").expect("the brief has a grade");
    let value = row
        .read(text, false)
        .map_err(|error| bad("grade", &error.to_string()))?;
    Ok(value.number())
}

/// Which job is to be shown, and as of when.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::service) struct Shown {
    /// The job.
    pub(in crate::service) job: u32,
    /// The moment; `None` for now.
    pub(in crate::service) at: Option<Timestamp>,
}

/// Reads which job is to be shown.
pub(in crate::service) fn show(request: &v1::ShowJobRequest) -> Result<Shown, Refusal> {
    let at = request.at_us.map(|us| {
        Timestamp::from_microsecond(us).map_err(|_| {
            bad(
                "at_us",
                &format!("{us} us since 1970 is outside the years of the calendar"),
            )
        })
    });
    Ok(Shown {
        job: request.job,
        at: at.transpose()?,
    })
}

/// A gate asked for; `None` for the present one.
pub(in crate::service) fn gate(word: &str) -> Result<Option<Stage>, Refusal> {
    if word.is_empty() {
        return Ok(None);
    }
    let gates = Stage::GATED.map(Stage::word);
    Stage::from_word(&word.to_lowercase())
        .filter(|stage| !stage.is_end())
        .map(Some)
        .ok_or_else(|| {
            let near = nearest(&word.to_lowercase(), gates);
            Refusal::unknown(
                "gate",
                word,
                &near,
                &format!("the gates are {}", gates.join(", ")),
            )
        })
}

/// A page of jobs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::service) struct JobPage {
    /// Also jobs that are over.
    pub(in crate::service) all: bool,
    /// Only numbers after this one.
    pub(in crate::service) after: u32,
    /// At most so many.
    pub(in crate::service) size: u32,
}

/// Which page of jobs is asked for.
pub(in crate::service) fn job_page(request: &v1::ListJobsRequest) -> Result<JobPage, Refusal> {
    let after = match request.page_token.as_str() {
        "" => 0,
        token => token.parse().map_err(|_| strange_token(token))?,
    };
    Ok(JobPage {
        all: request.all,
        after,
        size: page_size(request.page_size)?,
    })
}

/// A page of parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::service) struct PartPage {
    /// Only this kind.
    pub(in crate::service) kind: Option<PartKind>,
    /// Only ids after this one.
    pub(in crate::service) after: String,
    /// At most so many.
    pub(in crate::service) size: u32,
}

/// Which page of parts is asked for.
pub(in crate::service) fn part_page(request: &v1::ListPartsRequest) -> Result<PartPage, Refusal> {
    let size = page_size(request.page_size)?;
    Ok(PartPage {
        kind: kind(&request.kind)?,
        after: request.page_token.clone(),
        size,
    })
}

fn page_size(asked: u32) -> Result<u32, Refusal> {
    match asked {
        0 => Ok(PAGE.0),
        size if size <= PAGE.1 => Ok(size),
        size => Err(bad(
            "page_size",
            &format!("{size} rows; expected at most {}", PAGE.1),
        )),
    }
}

pub(super) fn strange_token(token: &str) -> Refusal {
    bad("page_token", &format!("`{token}` was not given out by this list"))
}

/// A kind of part asked for; `None` for all.
pub(in crate::service) fn kind(word: &str) -> Result<Option<PartKind>, Refusal> {
    if word.is_empty() {
        return Ok(None);
    }
    PartKind::from_word(&word.to_lowercase())
        .map(Some)
        .ok_or_else(|| {
            let kinds = PartKind::ALL.map(PartKind::word);
            let near = nearest(&word.to_lowercase(), kinds);
            Refusal::unknown(
                "kind of part",
                word,
                &near,
                &format!("the kinds are {}", kinds.join(", ")),
            )
        })
}

/// The evening a report is asked for; `None` for now.
pub(in crate::service) fn evening(request: &v1::BlockedRequest) -> Result<Option<Date>, Refusal> {
    day("on", &request.on)
}
