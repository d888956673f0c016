//! The stream of a GPX file's elements: what stands where GPX has it, everything else stepped over.

use jiff::Timestamp;
use lockring_calc::quantity::Length;
use lockring_calc::trace::Place;

use crate::markup::{self, Opening, Schema, Unread, WORD, clipped};

/// Lines of points with a name.
#[derive(Debug, Default)]
pub(super) struct Line {
    pub(super) name: String,
    pub(super) segments: Vec<Vec<Place>>,
}

impl Line {
    /// Begins a segment, unless an empty one stands ready.
    fn begin(&mut self) {
        if self.segments.last().is_none_or(|last| !last.is_empty()) {
            self.segments.push(Vec::new());
        }
    }
}

/// What stands in a file.
#[derive(Debug, Default)]
pub(super) struct Contents {
    pub(super) track: Line,
    pub(super) route: Line,
    pub(super) waypoints: usize,
    /// Points of tracks and routes, wherever they are.
    pub(super) points: usize,
    /// Points without a place on earth, and what the first of them says.
    pub(super) misplaced: usize,
    pub(super) first_misplaced: Option<String>,
    /// Points earlier than the one before.
    pub(super) backwards: usize,
    /// Why the file could not be read to its end.
    pub(super) broken: Option<String>,
    /// Something stands after the end of the document.
    pub(super) more: bool,
}

/// An element that is looked into.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Element {
    Gpx,
    Track,
    Route,
    Segment,
    Point,
    Name,
    Height,
    Time,
}

/// A file in the reading.
#[derive(Default)]
struct Points {
    most: usize,
    contents: Contents,
    /// The point it is inside of; `None` for one that is nowhere on earth.
    point: Option<Place>,
    time: Option<Timestamp>,
}

/// Reads a file's content, of so many points at most. What can be read before an error is kept.
///
/// # Errors
/// [`Unread`]
pub(super) fn read(content: &[u8], most: usize) -> Result<Contents, Unread> {
    let mut points = Points {
        most,
        ..Points::default()
    };
    let ended = markup::read(content, &mut points)?;
    let mut contents = points.contents;
    contents.broken = ended.broken.map(|broken| broken.why);
    contents.more = ended.more;
    if ended.open.contains(&Element::Point) {
        contents.points -= 1;
    }
    Ok(contents)
}

impl Schema for Points {
    type Element = Element;

    fn opens(&mut self, inside: &[Element], element: &Opening<'_>) -> Result<Option<Element>, Unread> {
        let found = match (inside.last(), element.name) {
            _ if !element.ours => None,
            (None, b"gpx") => Some(Element::Gpx),
            (None, other) => return Err(Unread::Root(clipped(other, WORD))),
            (Some(Element::Gpx), b"trk") => Some(Element::Track),
            (Some(Element::Gpx), b"rte") => Some(Element::Route),
            (Some(Element::Track), b"trkseg") => Some(Element::Segment),
            (Some(Element::Track | Element::Segment), b"trkpt") | (Some(Element::Route), b"rtept") => {
                Some(Element::Point)
            }
            (Some(Element::Track | Element::Route), b"name") => Some(Element::Name),
            (Some(Element::Point), b"ele") => Some(Element::Height),
            (Some(Element::Point), b"time") => Some(Element::Time),
            (Some(Element::Gpx), b"wpt") => {
                self.contents.waypoints += 1;
                None
            }
            _ => None,
        };
        match found {
            Some(Element::Track | Element::Segment) => self.contents.track.begin(),
            Some(Element::Route) => self.contents.route.begin(),
            Some(Element::Point) => self.begin(element)?,
            _ => {}
        }
        Ok(found)
    }

    fn wants(&self, element: Element) -> bool {
        matches!(element, Element::Name | Element::Height | Element::Time)
    }

    fn closes(&mut self, closed: Element, inside: &[Element], text: &str) {
        let line = if inside.contains(&Element::Route) {
            &mut self.contents.route
        } else {
            &mut self.contents.track
        };
        match closed {
            Element::Point => {
                if let (Some(point), Some(segment)) = (self.point.take(), line.segments.last_mut()) {
                    segment.push(point);
                }
            }
            // Points may stand in a track without a segment; those of the next one are apart.
            Element::Segment => line.begin(),
            Element::Name if line.name.is_empty() => text.clone_into(&mut line.name),
            Element::Height => {
                if let Some(point) = &mut self.point {
                    point.height = text.parse().ok().map(Length::metres);
                }
            }
            Element::Time => {
                if let Ok(time) = text.parse::<Timestamp>() {
                    self.contents.backwards += usize::from(self.time.is_some_and(|before| time < before));
                    self.time = Some(time);
                }
            }
            _ => {}
        }
    }
}

impl Points {
    fn begin(&mut self, element: &Opening<'_>) -> Result<(), Unread> {
        self.contents.points += 1;
        if self.contents.points > self.most {
            return Err(Unread::Points);
        }
        self.point = place(element);
        if self.point.is_none() {
            self.contents.misplaced += 1;
            let number = self.contents.points;
            self.contents.first_misplaced.get_or_insert_with(|| {
                let said = |name| {
                    element
                        .attribute(name)
                        .map_or("none".to_owned(), |value| format!("`{}`", clipped(&value, WORD)))
                };
                format!("point {number} has lat {} and lon {}", said("lat"), said("lon"))
            });
        }
        Ok(())
    }
}

/// A point's place; `None` without a latitude and a longitude on earth, and at 0, 0 in the ocean,
/// which is what a recorder writes that has not found its place yet.
fn place(element: &Opening<'_>) -> Option<Place> {
    let (latitude, longitude) = (element.degrees("lat", 90.0)?, element.degrees("lon", 180.0)?);
    (latitude != 0.0 || longitude != 0.0).then_some(Place {
        latitude,
        longitude,
        height: None,
    })
}
