//! The stream of a GPX file's elements: what stands where GPX has it, everything else stepped over.

use jiff::Timestamp;
use lockring_calc::quantity::Length;
use lockring_calc::trace::Place;
use quick_xml::Reader;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};

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

/// Why a file is not read at all.
#[derive(Debug, PartialEq)]
pub(super) enum Unread {
    /// It declares a document type.
    DocumentType,
    /// It declares an encoding other than UTF-8.
    Encoding(String),
    /// Its first element is another one.
    Root(String),
    /// It has more points than allowed.
    Points,
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

/// Where the reader stands.
#[derive(Default)]
struct Stream {
    most_points: usize,
    contents: Contents,
    /// Elements it is inside of, outermost first.
    inside: Vec<Element>,
    /// Elements opened since it began to step over one.
    skipping: usize,
    /// Prefix of GPX's own elements, that of the first.
    prefix: Option<Vec<u8>>,
    text: String,
    /// The point it is inside of; `None` for one that is nowhere on earth.
    point: Option<Place>,
    time: Option<Timestamp>,
}

/// Reads a file's content, of so many points at most. What can be read before an error is kept.
///
/// # Errors
/// [`Unread`]
pub(super) fn read(content: &[u8], most_points: usize) -> Result<Contents, Unread> {
    let mut stream = Stream {
        most_points,
        ..Stream::default()
    };
    let mut reader = Reader::from_reader(content);
    loop {
        let event = match reader.read_event() {
            Ok(event) => event,
            Err(error) => {
                // The library quotes what it met, at any length.
                stream.contents.broken = Some(clipped(error.to_string().as_bytes(), 120));
                break;
            }
        };
        match event {
            Event::Eof => {
                let open = stream.skipping > 0 || !stream.inside.is_empty();
                stream.contents.broken = open.then(|| "it ends inside an element".to_owned());
                break;
            }
            Event::DocType(_) => return Err(Unread::DocumentType),
            Event::Decl(declaration) => {
                if let Some(Ok(name)) = declaration.encoding() {
                    encoding(&name)?;
                }
            }
            event => stream.take(&event)?,
        }
        if stream.prefix.is_some() && stream.inside.is_empty() {
            let read = usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX);
            let rest = content.get(read..).unwrap_or_default();
            stream.contents.more = !rest.trim_ascii().is_empty();
            break;
        }
    }
    if stream.inside.contains(&Element::Point) {
        stream.contents.points -= 1;
    }
    Ok(stream.contents)
}

fn encoding(name: &[u8]) -> Result<(), Unread> {
    if name.eq_ignore_ascii_case(b"utf-8") || name.eq_ignore_ascii_case(b"us-ascii") {
        return Ok(());
    }
    Err(Unread::Encoding(clipped(name, WORD)))
}

impl Stream {
    fn take(&mut self, event: &Event<'_>) -> Result<(), Unread> {
        match event {
            Event::Start(element) => self.open(element)?,
            Event::Empty(element) => {
                self.open(element)?;
                self.close();
            }
            Event::End(_) => self.close(),
            Event::Text(text) => self.said(&String::from_utf8_lossy(text)),
            Event::CData(text) => self.said(&String::from_utf8_lossy(text)),
            Event::GeneralRef(reference) => self.said(&resolved(reference)),
            _ => {}
        }
        Ok(())
    }

    fn open(&mut self, element: &BytesStart<'_>) -> Result<(), Unread> {
        if self.skipping > 0 {
            self.skipping += 1;
            return Ok(());
        }
        let (name, prefix) = element.name().decompose();
        let (name, prefix) = (
            name.into_inner(),
            prefix.map_or(&b""[..], |prefix| prefix.into_inner()),
        );
        let ours = self.prefix.as_deref().is_none_or(|ours| ours == prefix);
        let found = match (self.inside.last(), name) {
            _ if !ours => None,
            (None, b"gpx") => {
                self.prefix = Some(prefix.to_vec());
                Some(Element::Gpx)
            }
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
            None => self.skipping = 1,
            Some(found) => {
                self.enter(found, element)?;
                self.inside.push(found);
            }
        }
        Ok(())
    }

    fn enter(&mut self, found: Element, element: &BytesStart<'_>) -> Result<(), Unread> {
        self.text.clear();
        match found {
            Element::Track | Element::Segment => self.contents.track.begin(),
            Element::Route => self.contents.route.begin(),
            Element::Point => {
                self.contents.points += 1;
                if self.contents.points > self.most_points {
                    return Err(Unread::Points);
                }
                self.point = place(element);
                if self.point.is_none() {
                    self.contents.misplaced += 1;
                    let number = self.contents.points;
                    self.contents.first_misplaced.get_or_insert_with(|| {
                        let said = |name| {
                            attribute(element, name)
                                .map_or("none".to_owned(), |value| format!("`{}`", clipped(&value, WORD)))
                        };
                        format!("point {number} has lat {} and lon {}", said("lat"), said("lon"))
                    });
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn close(&mut self) {
        if self.skipping > 0 {
            self.skipping -= 1;
            return;
        }
        let Some(closed) = self.inside.pop() else {
            return;
        };
        let text = self.text.trim();
        let line = if self.inside.contains(&Element::Route) {
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

    /// Keeps text that is wanted; a name, a height or a time is short, whatever a file says.
    fn said(&mut self, text: &str) {
        const LONGEST: usize = 200;
        let wanted = matches!(
            self.inside.last(),
            Some(Element::Name | Element::Height | Element::Time)
        );
        if self.skipping == 0 && wanted && self.text.len() < LONGEST {
            self.text.extend(text.chars().take(LONGEST));
        }
    }
}

/// A reference to a character; the sign for an unknown one where it names an entity of its own,
/// which makes a number unreadable rather than another number.
fn resolved(reference: &BytesRef<'_>) -> String {
    match reference.resolve_char_ref() {
        Ok(Some(character)) => character.to_string(),
        Ok(None) => std::str::from_utf8(reference)
            .ok()
            .and_then(resolve_predefined_entity)
            .unwrap_or("\u{fffd}")
            .to_owned(),
        Err(_) => "\u{fffd}".to_owned(),
    }
}

fn attribute<'a>(element: &'a BytesStart<'_>, name: &str) -> Option<std::borrow::Cow<'a, [u8]>> {
    Some(element.try_get_attribute(name).ok()??.value)
}

/// A point's place; `None` without a latitude and a longitude on earth, and at 0, 0 in the ocean,
/// which is what a recorder writes that has not found its place yet.
fn place(element: &BytesStart<'_>) -> Option<Place> {
    let degrees = |name: &str, most: f64| {
        let value = attribute(element, name)?;
        let value: f64 = std::str::from_utf8(&value).ok()?.trim().parse().ok()?;
        (-most..=most).contains(&value).then_some(value)
    };
    let (latitude, longitude) = (degrees("lat", 90.0)?, degrees("lon", 180.0)?);
    (latitude != 0.0 || longitude != 0.0).then_some(Place {
        latitude,
        longitude,
        height: None,
    })
}

/// Most characters of a name or a value in a message.
const WORD: usize = 24;

/// The beginning of what a file says, at most so many characters, fit for a line of a message.
fn clipped(bytes: &[u8], most: usize) -> String {
    // A character has four bytes at most.
    let beginning = String::from_utf8_lossy(&bytes[..bytes.len().min(4 * most + 4)]);
    let mut shown: String = beginning
        .chars()
        .take(most)
        .map(|character| if character.is_control() { ' ' } else { character })
        .collect();
    if beginning.chars().count() > most {
        shown.push('…');
    }
    shown
}
