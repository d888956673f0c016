//! Roads recorded as GPX 1.0 or 1.1: tracks, else routes; read as a stream, mended where that can be
//! said, refused where it cannot.
//!
//! Nothing of a file is believed: no entity is expanded, size and points are bounded, a broken end
//! loses the end and not the road.

use jiff::Timestamp;
use lockring_calc::quantity::Length;
use lockring_calc::trace::{JOINED, Place, Road, TraceError};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use crate::refusal::{Reason, Refusal};

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
    if content.len() > MOST_BYTES {
        return Err(refuse(
            file,
            &format!("{} bytes are more than {MOST_BYTES}", content.len()),
            "a track of one ride",
        ));
    }
    let raw = Raw::read(file, content)?;
    let (name, segments, kind) = raw.chosen(file)?;
    let road = Road::new(&segments).map_err(|error| no_road(file, kind, error))?;
    let mut mended = raw.mended;
    if kind == "route" {
        mended.push("the file holds no track; its planned route is taken".to_owned());
    }
    mended.extend(said(&road));
    Ok(Recorded { name, road, mended })
}

fn refuse(file: &str, why: &str, expected: &str) -> Refusal {
    Refusal::new(
        Reason::BadInput,
        format!(
            "{file}: {why}; expected {expected}, for example `<gpx><trk><trkseg><trkpt lat=\"50.1\" lon=\"8.6\"><ele>120</ele></trkpt> …`"
        ),
    )
    .with("file", file)
}

fn no_road(file: &str, kind: &str, error: TraceError) -> Refusal {
    let why = match error {
        TraceError::NoRoad => format!("its {kind} has fewer than two points apart"),
        // Points outside the earth were left out while reading.
        other => format!("its {kind} makes no road: {other}"),
    };
    refuse(file, &why, "a road of at least two points")
}

/// What was mended on the way from points to a road, in words.
fn said(road: &Road) -> Vec<String> {
    let mended = road.mended;
    let mut lines = Vec::new();
    if mended.level {
        lines.push("no point has a height: the road is taken as level, no hill counts".to_owned());
    } else if mended.heights > 0 {
        lines.push(format!(
            "{} points without a usable height: taken straight between their neighbours",
            mended.heights
        ));
    }
    if mended.joined > 0 {
        lines.push(format!(
            "{} gaps of up to {:.0} m between segments: taken as ridden",
            mended.joined,
            JOINED.as_metres()
        ));
    }
    if mended.left_out > 0 {
        lines.push(format!(
            "{} longer gaps between segments, {:.1} km together: left out",
            mended.left_out,
            mended.gap.as_kilometres()
        ));
    }
    lines
}

/// Lines of points with a name.
#[derive(Default)]
struct Line {
    name: String,
    segments: Vec<Vec<Place>>,
}

/// What stands in a file.
#[derive(Default)]
struct Raw {
    track: Line,
    route: Line,
    waypoints: usize,
    points: usize,
    off_earth: usize,
    backwards: usize,
    mended: Vec<String>,
}

/// What a point's text belongs to.
#[derive(Clone, Copy, PartialEq, Default)]
enum Inside {
    #[default]
    Nothing,
    Name,
    Height,
    Time,
}

impl Raw {
    fn read(file: &str, content: &[u8]) -> Result<Self, Refusal> {
        let mut raw = Self::default();
        let mut cursor = Cursor::default();
        let mut reader = Reader::from_reader(content.strip_prefix(b"\xef\xbb\xbf").unwrap_or(content));
        reader.config_mut().check_end_names = true;
        loop {
            let event = match reader.read_event() {
                Ok(event) => event,
                Err(error) => {
                    raw.broken(file, &error.to_string())?;
                    break;
                }
            };
            match event {
                Event::Eof => {
                    if cursor.depth > 0 {
                        raw.broken(file, "it ends inside an element")?;
                    }
                    break;
                }
                Event::DocType(_) => {
                    return Err(refuse(
                        file,
                        "it declares a document type, which may hide entities",
                        "plain GPX",
                    ));
                }
                Event::Decl(declaration) => encoding(file, declaration.encoding())?,
                event => raw.take(file, &mut cursor, &event)?,
            }
        }
        raw.close(&mut cursor);
        raw.count();
        Ok(raw)
    }

    fn take(&mut self, file: &str, cursor: &mut Cursor, event: &Event<'_>) -> Result<(), Refusal> {
        match event {
            Event::Start(element) => {
                cursor.depth += 1;
                self.open(cursor, element);
            }
            Event::Empty(element) => {
                self.open(cursor, element);
                self.end(file, cursor, element.local_name().as_ref())?;
            }
            Event::End(element) => {
                cursor.depth = cursor.depth.saturating_sub(1);
                self.end(file, cursor, element.local_name().as_ref())?;
            }
            Event::Text(text) => cursor.said(&String::from_utf8_lossy(text.as_ref())),
            Event::CData(text) => cursor.said(&String::from_utf8_lossy(text.as_ref())),
            _ => {}
        }
        Ok(())
    }

    fn open(&mut self, cursor: &mut Cursor, element: &BytesStart<'_>) {
        match element.local_name().as_ref() {
            b"trkpt" | b"rtept" => cursor.point = Some(point(element)),
            b"wpt" => self.waypoints += 1,
            b"trkseg" | b"rte" => cursor.segment = Some(Vec::new()),
            b"extensions" => cursor.extensions += 1,
            b"name" if cursor.point.is_none() && cursor.extensions == 0 => cursor.inside = Inside::Name,
            b"ele" if cursor.point.is_some() && cursor.extensions == 0 => cursor.inside = Inside::Height,
            b"time" if cursor.point.is_some() && cursor.extensions == 0 => cursor.inside = Inside::Time,
            _ => {}
        }
    }

    fn end(&mut self, file: &str, cursor: &mut Cursor, name: &[u8]) -> Result<(), Refusal> {
        let text = std::mem::take(&mut cursor.text);
        let inside = std::mem::replace(&mut cursor.inside, Inside::Nothing);
        match (inside, &mut cursor.point) {
            (Inside::Height, Some(Some(place))) => {
                place.height = text.trim().parse().ok().map(Length::metres);
            }
            (Inside::Time, Some(_)) => {
                if let Ok(time) = text.trim().parse::<Timestamp>() {
                    self.backwards += usize::from(cursor.time.is_some_and(|before| time < before));
                    cursor.time = Some(time);
                }
            }
            (Inside::Name, None) if cursor.name.is_empty() => text.trim().clone_into(&mut cursor.name),
            _ => {}
        }
        match name {
            b"trkpt" | b"rtept" => {
                self.points += 1;
                if self.points > MOST_POINTS {
                    return Err(refuse(
                        file,
                        &format!("it has more than {MOST_POINTS} points"),
                        "a track of one ride, or one thinned out",
                    ));
                }
                match cursor.point.take() {
                    Some(Some(place)) => cursor.segment.get_or_insert_with(Vec::new).push(place),
                    Some(None) => self.off_earth += 1,
                    None => {}
                }
            }
            b"trkseg" => close(&mut self.track, cursor),
            b"rte" => close(&mut self.route, cursor),
            b"trk" => cursor.name.clear(),
            b"extensions" => cursor.extensions = cursor.extensions.saturating_sub(1),
            _ => {}
        }
        Ok(())
    }

    /// A segment left open by a broken end still counts.
    fn close(&mut self, cursor: &mut Cursor) {
        if cursor.segment.is_some() {
            close(&mut self.track, cursor);
        }
    }

    /// A file that breaks off keeps what came before.
    fn broken(&mut self, file: &str, why: &str) -> Result<(), Refusal> {
        if self.points < 2 {
            return Err(refuse(file, &format!("it cannot be read ({why})"), "GPX"));
        }
        self.mended.push(format!(
            "the file breaks off after point {} ({why}): what comes after is lost",
            self.points
        ));
        Ok(())
    }

    fn count(&mut self) {
        if self.off_earth > 0 {
            self.mended.push(format!(
                "{} of {} points have no latitude of -90 to 90 and longitude of -180 to 180: left out",
                self.off_earth, self.points
            ));
        }
        if self.backwards > 0 {
            self.mended.push(format!(
                "the clock runs backwards at {} points: the order of the file is kept",
                self.backwards
            ));
        }
    }

    /// The track, else the route.
    fn chosen(&self, file: &str) -> Result<(String, Vec<Vec<Place>>, &'static str), Refusal> {
        for (line, kind) in [(&self.track, "track"), (&self.route, "route")] {
            if line.segments.iter().any(|segment| !segment.is_empty()) {
                return Ok((line.name.clone(), line.segments.clone(), kind));
            }
        }
        let why = match (self.points, self.waypoints) {
            (0, 0) => "it holds no track".to_owned(),
            (0, count) => format!("it holds {count} waypoints and no track"),
            (count, _) => format!("none of its {count} points has a latitude and a longitude on earth"),
        };
        Err(refuse(file, &why, "a recorded track or a planned route"))
    }
}

/// Where the reader stands.
#[derive(Default)]
struct Cursor {
    depth: usize,
    extensions: usize,
    inside: Inside,
    text: String,
    name: String,
    segment: Option<Vec<Place>>,
    /// The point it is inside of; `Some(None)` for one that is not on earth.
    point: Option<Option<Place>>,
    time: Option<Timestamp>,
}

impl Cursor {
    /// Keeps text that is wanted; a height or a time is short, whatever a file says.
    fn said(&mut self, text: &str) {
        const LONGEST: usize = 200;
        if self.inside != Inside::Nothing && self.text.len() < LONGEST {
            self.text.extend(text.chars().take(LONGEST));
        }
    }
}

fn close(line: &mut Line, cursor: &mut Cursor) {
    if line.name.is_empty() {
        line.name.clone_from(&cursor.name);
    }
    line.segments
        .extend(cursor.segment.take().filter(|segment| !segment.is_empty()));
}

/// A point's place; `None` without a latitude and a longitude on earth.
fn point(element: &BytesStart<'_>) -> Option<Place> {
    let degrees = |name: &str, most: f64| {
        let attribute = element.try_get_attribute(name).ok()??;
        let value: f64 = std::str::from_utf8(&attribute.value).ok()?.trim().parse().ok()?;
        (-most..=most).contains(&value).then_some(value)
    };
    Some(Place {
        latitude: degrees("lat", 90.0)?,
        longitude: degrees("lon", 180.0)?,
        height: None,
    })
}

fn encoding(
    file: &str,
    named: Option<Result<std::borrow::Cow<'_, [u8]>, quick_xml::events::attributes::AttrError>>,
) -> Result<(), Refusal> {
    let Some(Ok(name)) = named else {
        return Ok(());
    };
    if name.eq_ignore_ascii_case(b"utf-8") || name.eq_ignore_ascii_case(b"us-ascii") {
        return Ok(());
    }
    let name = String::from_utf8_lossy(&name).into_owned();
    Err(refuse(file, &format!("its encoding is {name}"), "UTF-8"))
}

#[cfg(test)]
mod tests;
