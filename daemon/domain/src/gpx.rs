//! Roads recorded as GPX 1.0 or 1.1: tracks, else routes; read as a stream, mended where that can be
//! said, refused where it cannot.
//!
//! Nothing of a file is believed: no entity is expanded, size and points are bounded, a broken end
//! loses the end and not the road.

mod stream;

use lockring_calc::trace::{FAR, JOINED, Place, Road, SPARSE, TraceError, without_strays};

use crate::markup::{self, Unread};
use crate::refusal::{Reason, Refusal};
use crate::ridelog;
use stream::Contents;

/// Largest file, bytes.
pub const MOST_BYTES: usize = 32 * 1024 * 1024;
/// Most points: a point a second for six days.
pub const MOST_POINTS: usize = 500_000;

/// What was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// Name of the first track or route; empty where it has none.
    pub name: String,
    /// The road.
    pub road: Road,
    /// What had to be mended, a line each.
    pub mended: Vec<String>,
}

/// Reads a file's content; `file` is its name for the complaints.
///
/// # Errors
/// [`Reason::BadInput`] saying what was given, what is expected, and an example.
pub fn read(file: &str, content: &[u8]) -> Result<Recorded, Refusal> {
    let refuse = |why: &str, expected: &str| Err(refusal(file, why, expected));
    if content.len() > MOST_BYTES {
        let why = format!("{} bytes are more than {MOST_BYTES}", content.len());
        return refuse(&why, "a track of one ride");
    }
    let fit = ridelog::is_fit(content).then_some("a FIT file");
    if let Some(kind) = markup::other_kind(content).or(fit) {
        return refuse(&format!("it is {kind}"), "a GPX file in UTF-8");
    }
    let text = content.strip_prefix(b"\xef\xbb\xbf").unwrap_or(content);
    let mut contents = stream::read(text, MOST_POINTS).map_err(|unread| unreadable(file, &unread))?;
    let mut mended = Vec::new();
    if let Some(why) = &contents.broken {
        if contents.points < 2 {
            return refuse(&format!("it cannot be read ({why})"), "GPX");
        }
        mended.push(format!(
            "the file breaks off after point {} ({why}): what comes after is lost",
            contents.points
        ));
    }
    mended.extend(left_aside(&contents));
    let some = |segments: &[Vec<Place>]| segments.iter().any(|segment| !segment.is_empty());
    let (line, kind) = if some(&contents.track.segments) {
        let strays: usize = contents.track.segments.iter_mut().map(without_strays).sum();
        if strays > 0 {
            mended.push(format!(
                "{} more than {:.0} km off the track: left out",
                counted(strays, "point"),
                FAR.as_kilometres()
            ));
        }
        (contents.track, "track")
    } else if some(&contents.route.segments) {
        mended.push("the file holds no track; its planned route is taken".to_owned());
        (contents.route, "route")
    } else {
        return refuse(&no_points(&contents), "a recorded track or a planned route");
    };
    let road = Road::new(&line.segments).map_err(|error| no_road(file, kind, error))?;
    mended.extend(said(&road));
    Ok(Recorded {
        name: line.name,
        road,
        mended,
    })
}

fn refusal(file: &str, why: &str, expected: &str) -> Refusal {
    Refusal::new(
        Reason::BadInput,
        format!(
            "{file}: {why}; expected {expected}, for example `<gpx><trk><trkseg><trkpt lat=\"50.1\" lon=\"8.6\"><ele>120</ele></trkpt> …`"
        ),
    )
    .with("file", file)
}

fn unreadable(file: &str, unread: &Unread) -> Refusal {
    match unread {
        Unread::DocumentType => refusal(
            file,
            "it declares a document type, which may hide entities",
            "plain GPX",
        ),
        Unread::Encoding(name) => refusal(file, &format!("its encoding is {name}"), "UTF-8"),
        Unread::Root(name) => refusal(file, &format!("its first element is <{name}>"), "GPX"),
        Unread::Points => refusal(
            file,
            &format!("it has more than {MOST_POINTS} points"),
            "a track of one ride, or one thinned out",
        ),
    }
}

fn no_points(contents: &Contents) -> String {
    match (contents.points, contents.waypoints, &contents.first_misplaced) {
        (count, _, Some(first)) => {
            format!("none of its {count} points has a latitude and a longitude on earth: {first}")
        }
        (_, 0, _) => "it holds no track".to_owned(),
        (_, count, _) => format!("it holds {} and no track", counted(count, "waypoint")),
    }
}

fn no_road(file: &str, kind: &str, error: TraceError) -> Refusal {
    match error {
        TraceError::NoRoad => refusal(
            file,
            &format!("its {kind} has fewer than two points apart"),
            "a road of at least two points",
        ),
        // Points outside the earth were left out while reading; a road too long says so itself.
        other => refusal(
            file,
            &format!("its {kind} makes no road: {other}"),
            "the road of one ride",
        ),
    }
}

/// What of a file was not taken, in words.
fn left_aside(contents: &Contents) -> Vec<String> {
    let mut lines = Vec::new();
    if contents.more {
        lines.push("something stands after the end of the file's `</gpx>`: not read".to_owned());
    }
    if let Some(first) = &contents.first_misplaced {
        lines.push(format!(
            "{} of {} points are nowhere a ride can be ({first}): left out; expected a latitude of -90 to 90 and a longitude of -180 to 180, not both 0",
            contents.misplaced, contents.points
        ));
    }
    if contents.backwards > 0 {
        lines.push(format!(
            "the clock runs backwards at {} points: the order of the file is kept",
            contents.backwards
        ));
    }
    lines
}

/// So many of something.
fn counted(count: usize, what: &str) -> String {
    let many = if count == 1 { "" } else { "s" };
    format!("{count} {what}{many}")
}

/// What was mended on the way from points to a road, in words.
fn said(road: &Road) -> Vec<String> {
    let mended = road.mended;
    let mut lines = Vec::new();
    if mended.level {
        lines.push("no point has a height: the road is taken as level, no hill counts".to_owned());
    } else if mended.heights > 0 {
        lines.push(format!(
            "{} without a usable height: taken straight between neighbours",
            counted(mended.heights, "point")
        ));
    }
    if mended.joined > 0 {
        lines.push(format!(
            "{} of up to {:.0} m between segments: taken as ridden",
            counted(mended.joined, "gap"),
            JOINED.as_metres()
        ));
    }
    if mended.left_out > 0 {
        lines.push(format!(
            "{} between segments, {:.1} km together: left out",
            counted(mended.left_out, "longer gap"),
            mended.gap.as_kilometres()
        ));
    }
    if mended.sparse > 0 {
        lines.push(format!(
            "{} the next point is more than {:.0} km away: taken as ridden straight",
            counted(mended.sparse, "time"),
            SPARSE.as_kilometres()
        ));
    }
    lines
}

#[cfg(test)]
mod tests;
