//! TCX and GPX: points in markup.

use super::columns::{Meaning, meaning};
use super::csv::moment;
use super::gather::{Figures, Gather};
use super::{Column, Format, Log, LogError, Repair};
use crate::markup::{self, Opening, Schema, Unread, WORD, clipped};

/// Names of the elements of a point that mean something, beside those every format knows.
fn told(name: &str) -> Option<Meaning> {
    let figure = |column| Some(Meaning::Figure(column, 1.0));
    match name {
        "AltitudeMeters" => figure(Column::Altitude),
        "DistanceMeters" => figure(Column::Distance),
        "LatitudeDegrees" => figure(Column::Latitude),
        "LongitudeDegrees" => figure(Column::Longitude),
        // Anything else by the names tables use (Cadence, Speed, Watts, ele, power, cad …).
        other => meaning(other).filter(|meaning| matches!(meaning, Meaning::Figure(..))),
    }
}

/// An element that is looked into.
#[derive(Clone, Copy, PartialEq)]
enum Element {
    /// One that may hold points, or stands in one and may hold figures.
    Around,
    Point,
    Time,
    Figure(Column, f64),
}

/// A file in the reading.
struct Points {
    /// Told by the outermost element, once that was read.
    format: Format,
    begun: bool,
    gather: Gather,
    time: Option<f64>,
    figures: Figures,
}

pub(super) fn read(bytes: &[u8]) -> Result<Log, LogError> {
    let mut points = Points {
        format: Format::Gpx,
        begun: false,
        gather: Gather::new(Format::Gpx, true),
        time: None,
        figures: Figures::default(),
    };
    let ended = markup::read(bytes, &mut points).map_err(|unread| match unread {
        Unread::DocumentType => LogError::DocumentType,
        Unread::Encoding(name) => LogError::Encoding { name },
        Unread::Root(root) => LogError::OtherMarkup { root },
        Unread::Points => LogError::NoSamples { repairs: Vec::new() },
    })?;
    if !points.begun {
        return Err(LogError::OtherMarkup { root: String::new() });
    }
    if let Some(broken) = ended.broken {
        points.gather.repair(if broken.ends {
            Repair::Truncated {
                bytes: bytes.len(),
                announced: None,
            }
        } else {
            Repair::Broken { at: broken.at }
        });
    }
    points.gather.finish()
}

impl Schema for Points {
    type Element = Element;

    fn opens(&mut self, inside: &[Element], element: &Opening<'_>) -> Result<Option<Element>, Unread> {
        let (point, name) = match (inside.is_empty(), element.name) {
            (true, b"gpx") => return Ok(Some(self.begin(Format::Gpx))),
            (true, b"TrainingCenterDatabase") => return Ok(Some(self.begin(Format::Tcx))),
            (true, other) => return Err(Unread::Root(clipped(other, WORD))),
            (false, name) if self.format == Format::Tcx => (&b"Trackpoint"[..], name),
            (false, name) => (&b"trkpt"[..], name),
        };
        if !inside.contains(&Element::Point) {
            return Ok(Some(if element.ours && name == point {
                self.point(element);
                Element::Point
            } else {
                Element::Around
            }));
        }
        if matches!(name, b"time" | b"Time") {
            return Ok((inside.last() == Some(&Element::Point)).then_some(Element::Time));
        }
        let told = std::str::from_utf8(name).ok().and_then(told);
        Ok(Some(match told {
            Some(Meaning::Figure(column, factor)) => Element::Figure(column, factor),
            _ => Element::Around,
        }))
    }

    fn wants(&self, element: Element) -> bool {
        matches!(element, Element::Time | Element::Figure(..))
    }

    fn closes(&mut self, closed: Element, _: &[Element], text: &str) {
        match closed {
            Element::Around => {}
            Element::Time => self.time = moment(text),
            Element::Figure(column, factor) => match text.parse::<f64>() {
                Ok(value) => self.figures[column as usize] = Some(value * factor),
                Err(_) => self.gather.wrong(column),
            },
            Element::Point => match self.time.take() {
                Some(time) => self.gather.take(time, &self.figures),
                None => self.gather.no_time(),
            },
        }
    }
}

impl Points {
    fn begin(&mut self, format: Format) -> Element {
        self.format = format;
        self.begun = true;
        self.gather = Gather::new(format, true);
        Element::Around
    }

    fn point(&mut self, element: &Opening<'_>) {
        self.time = None;
        self.figures = Figures::default();
        self.figures[Column::Latitude as usize] = element.degrees("lat", 90.0);
        self.figures[Column::Longitude as usize] = element.degrees("lon", 180.0);
    }
}
