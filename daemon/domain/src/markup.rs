//! The stream of a file's markup: what a schema wants of it, everything else stepped over.
//!
//! Nothing of a file is believed: no entity is expanded, no document type read, texts are bounded,
//! and what can be read before an error is kept.

use quick_xml::Reader;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};

/// What a kind of file makes of its elements.
pub(crate) trait Schema {
    /// An element that is looked into.
    type Element: Copy;

    /// Which element opens here, inside of those; `None` steps over it and all in it.
    ///
    /// # Errors
    /// [`Unread`] where the file is not read any further and what it gave is dropped.
    fn opens(
        &mut self,
        inside: &[Self::Element],
        element: &Opening<'_>,
    ) -> Result<Option<Self::Element>, Unread>;

    /// Whether an element's text is wanted.
    fn wants(&self, element: Self::Element) -> bool;

    /// An element closes, inside of those; its text without white space around it.
    fn closes(&mut self, closed: Self::Element, inside: &[Self::Element], text: &str);
}

/// An element as it opens.
pub(crate) struct Opening<'a> {
    element: &'a BytesStart<'a>,
    /// Whether it has the same prefix as the outermost element.
    pub(crate) ours: bool,
    /// Its name without the prefix.
    pub(crate) name: &'a [u8],
}

impl Opening<'_> {
    /// An attribute's value.
    pub(crate) fn attribute(&self, name: &str) -> Option<std::borrow::Cow<'_, [u8]>> {
        Some(self.element.try_get_attribute(name).ok()??.value)
    }

    /// An attribute as a number up to `most` on either side of zero.
    pub(crate) fn degrees(&self, name: &str, most: f64) -> Option<f64> {
        let value = self.attribute(name)?;
        let value: f64 = std::str::from_utf8(&value).ok()?.trim().parse().ok()?;
        (-most..=most).contains(&value).then_some(value)
    }
}

/// Why a file is not read at all.
#[derive(Debug, PartialEq)]
pub(crate) enum Unread {
    /// It declares a document type.
    DocumentType,
    /// It declares an encoding other than UTF-8.
    Encoding(String),
    /// Its first element is another one.
    Root(String),
    /// It has more points than allowed.
    Points,
}

/// How a file ended.
#[derive(Debug)]
pub(crate) struct Ended<E> {
    /// Why and where it could not be read to its end.
    pub(crate) broken: Option<Broken>,
    /// Something stands after the end of the document.
    pub(crate) more: bool,
    /// Elements that were open at the end, outermost first.
    pub(crate) open: Vec<E>,
}

/// Where reading stopped.
#[derive(Debug)]
pub(crate) struct Broken {
    /// Bytes from the start.
    pub(crate) at: usize,
    /// Whether the file simply ends.
    pub(crate) ends: bool,
    /// Why, in words.
    pub(crate) why: String,
}

/// Most characters of a name or a value in a message.
pub(crate) const WORD: usize = 24;

/// What a file is that is no text in UTF-8, by its first bytes.
pub(crate) fn other_kind(content: &[u8]) -> Option<&'static str> {
    match content {
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] | [b'<', 0, ..] | [0, b'<', ..] => Some("text in UTF-16"),
        [b'P', b'K', 3, 4, ..] | [0x1f, 0x8b, ..] => Some("a packed file; unpack it first"),
        _ => None,
    }
}

/// Reads a file's content.
///
/// # Errors
/// [`Unread`]
pub(crate) fn read<S: Schema>(content: &[u8], schema: &mut S) -> Result<Ended<S::Element>, Unread> {
    let mut stream = Stream {
        schema,
        inside: Vec::new(),
        skipping: 0,
        prefix: None,
        text: String::new(),
    };
    let mut reader = Reader::from_reader(content);
    let (mut broken, mut more) = (None, false);
    loop {
        let event = match reader.read_event() {
            Ok(event) => event,
            Err(error) => {
                broken = Some(Broken {
                    at: usize::try_from(reader.error_position()).unwrap_or(content.len()),
                    ends: false,
                    // The library quotes what it met, at any length.
                    why: clipped(error.to_string().as_bytes(), 120),
                });
                break;
            }
        };
        match event {
            Event::Eof => {
                if stream.skipping > 0 || !stream.inside.is_empty() {
                    broken = Some(Broken {
                        at: content.len(),
                        ends: true,
                        why: "it ends inside an element".to_owned(),
                    });
                }
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
            more = !rest.trim_ascii().is_empty();
            break;
        }
    }
    Ok(Ended {
        broken,
        more,
        open: stream.inside,
    })
}

fn encoding(name: &[u8]) -> Result<(), Unread> {
    if name.eq_ignore_ascii_case(b"utf-8") || name.eq_ignore_ascii_case(b"us-ascii") {
        return Ok(());
    }
    Err(Unread::Encoding(clipped(name, WORD)))
}

/// Where the reader stands.
struct Stream<'s, S: Schema> {
    schema: &'s mut S,
    /// Elements it is inside of, outermost first.
    inside: Vec<S::Element>,
    /// Elements opened since it began to step over one.
    skipping: usize,
    /// Prefix of the outermost element.
    prefix: Option<Vec<u8>>,
    text: String,
}

impl<S: Schema> Stream<'_, S> {
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
        let prefix = prefix.map_or(&b""[..], |prefix| prefix.into_inner());
        let opening = Opening {
            element,
            ours: self.prefix.as_deref().is_none_or(|ours| ours == prefix),
            name: name.into_inner(),
        };
        match self.schema.opens(&self.inside, &opening)? {
            None => self.skipping = 1,
            Some(found) => {
                self.prefix.get_or_insert_with(|| prefix.to_vec());
                self.text.clear();
                self.inside.push(found);
            }
        }
        Ok(())
    }

    fn close(&mut self) {
        if self.skipping > 0 {
            self.skipping -= 1;
        } else if let Some(closed) = self.inside.pop() {
            self.schema.closes(closed, &self.inside, self.text.trim());
        }
    }

    /// Keeps text that is wanted; a name, a height or a time is short, whatever a file says.
    fn said(&mut self, text: &str) {
        const LONGEST: usize = 200;
        let wanted = self.inside.last().is_some_and(|last| self.schema.wants(*last));
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

/// The beginning of what a file says, at most so many characters, fit for a line of a message.
pub(crate) fn clipped(bytes: &[u8], most: usize) -> String {
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
