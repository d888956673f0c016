//! What people and programs read: text laid out for the width at hand, or JSON lines.
//!
//! Everything goes through one [`Out`], so that a closed pipe, the colour and the width are
//! dealt with in one place. Colour never stands alone: a symbol and a word say the same.

use std::borrow::Cow;
use std::cell::Cell;
use std::fmt::Display;
use std::io::{IsTerminal as _, Write};
use std::path::Path;
use std::rc::Rc;

use lockring_proto::units::{self, Pair, Style, Units};
use lockring_proto::v1::WrittenFile;
use serde::Serialize;

use crate::command_error::{CommandError, Exit};
use crate::output::charset::Charset;
use crate::output::times::Clock;

pub(crate) mod chainline;
pub(crate) mod charset;
pub(crate) mod check;
pub(crate) mod compare;
pub(crate) mod fit;
pub(crate) mod hill;
pub(crate) mod job;
pub(crate) mod list;
pub(crate) mod mark;
pub(crate) mod money;
pub(crate) mod orders;
pub(crate) mod paint;
pub(crate) mod photo;
pub(crate) mod pieces;
pub(crate) mod plot;
pub(crate) mod predict;
pub(crate) mod predictions;
pub(crate) mod progress;
pub(crate) mod promises;
pub(crate) mod propose;
pub(crate) mod range;
pub(crate) mod regear;
pub(crate) mod reply;
pub(crate) mod report;
pub(crate) mod ride_log;
pub(crate) mod ride_plan;
pub(crate) mod rider;
#[cfg(test)]
pub(crate) mod samples;
pub(crate) mod settings;
pub(crate) mod sheet;
pub(crate) mod shelf;
pub(crate) mod substitute;
pub(crate) mod table;
pub(crate) mod times;

pub(crate) use lockring_proto::wrap;
pub(crate) use paint::Paint;

/// Columns where nobody knows better.
pub(crate) const USUAL_WIDTH: usize = 80;

/// How the output looks.
#[derive(Debug, Clone)]
pub(crate) struct Look {
    /// Columns.
    pub(crate) width: usize,
    /// Whether to colour.
    pub(crate) colour: bool,
    /// Labelled lines instead of tables, and no line broken.
    pub(crate) plain: bool,
    /// JSON lines instead of text.
    pub(crate) json: bool,
    /// Whose clock times are shown in.
    pub(crate) zone: Clock,
    /// Which unit system stands first; the daemon says so when it is reached.
    pub(crate) units: Rc<Cell<Units>>,
    /// The letters the terminal has.
    pub(crate) charset: Charset,
}

/// The output of one command.
pub(crate) struct Out<'w> {
    writer: &'w mut dyn Write,
    /// How it looks.
    pub(crate) look: Look,
}

impl<'w> Out<'w> {
    /// An output onto a writer.
    pub(crate) fn new(writer: &'w mut dyn Write, look: Look) -> Self {
        Self { writer, look }
    }

    /// The writer itself, for a command that performs others.
    pub(crate) fn writer(&mut self) -> &mut dyn Write {
        self.writer
    }

    /// Columns a line may have; endless for plain output, whose lines are never broken.
    pub(crate) fn width(&self) -> usize {
        if self.look.plain {
            usize::MAX
        } else {
            self.look.width
        }
    }

    /// The word, stressed where colour is wanted.
    pub(crate) fn paint(&self, paint: Paint, word: &str) -> String {
        paint.around(word, self.look.colour)
    }

    /// Writes what other lines have written already.
    pub(crate) fn passed(&mut self, bytes: &[u8]) -> Result<(), CommandError> {
        self.writer
            .write_all(bytes)
            .map_err(|error| CommandError::writing(&error))
    }

    /// Writes text of several lines, in the letters there are; what would order the terminal about becomes blanks.
    pub(crate) fn raw(&mut self, text: &str) -> Result<(), CommandError> {
        let bytes = self.look.charset.bytes(text, self.look.colour);
        self.writer
            .write_all(&bytes)
            .map_err(|error| CommandError::writing(&error))
    }

    /// Writes what is the content of a file: as it is, so that it can be taken in again; at a terminal as [`Self::raw`].
    pub(crate) fn content(&mut self, content: &str) -> Result<(), CommandError> {
        if std::io::stdout().is_terminal() {
            return self.raw(content);
        }
        let bytes = self.look.charset.exact(content).into_owned();
        self.passed(&bytes)
    }

    /// A text in the units of whoever reads, and in the letters there are.
    pub(crate) fn in_units<'t>(&self, text: &'t str, style: Style) -> Cow<'t, str> {
        let told = match self.look.units.get() {
            Units::Metric => Cow::Borrowed(text),
            Units::Imperial => units::imperial(text, style),
        };
        match told {
            Cow::Borrowed(text) => self.look.charset.fit(text),
            Cow::Owned(text) => Cow::Owned(self.look.charset.fit(&text).into_owned()),
        }
    }

    /// A metric value and its unit, as whoever reads has them.
    pub(crate) fn value<'u>(&self, metric: f64, unit: &'u str) -> (f64, &'u str) {
        match (self.look.units.get(), Pair::of(unit)) {
            (Units::Imperial, Some(pair)) => (pair.convert(metric), pair.imperial),
            _ => (metric, unit),
        }
    }

    /// Writes one line, never broken.
    pub(crate) fn line(&mut self, text: impl Display) -> Result<(), CommandError> {
        match self.look.units.get() {
            Units::Metric => self.as_it_is(text),
            Units::Imperial => self.as_it_is(units::imperial(&text.to_string(), Style::Alone)),
        }
    }

    /// Writes one line, never broken, in the units it has.
    pub(crate) fn as_it_is(&mut self, text: impl Display) -> Result<(), CommandError> {
        let text = format!("{text}\n");
        self.raw(&text)
    }

    /// Writes an empty line.
    pub(crate) fn blank(&mut self) -> Result<(), CommandError> {
        self.line("")
    }

    /// Writes a heading, broken at words where the terminal ends before it.
    pub(crate) fn heading(&mut self, text: &str) -> Result<(), CommandError> {
        let text = self.in_units(text, Style::Alone).into_owned();
        let (width, rest) = (self.width(), "    ");
        let mut lead = "";
        for line in wrap::hanging(&text, width, width.saturating_sub(rest.len())) {
            let line = self.paint(Paint::Strong, &line);
            self.as_it_is(format_args!("{lead}{line}"))?;
            lead = rest;
        }
        Ok(())
    }

    /// Writes a text broken at words; the first line begins with `first`, the others with
    /// `rest`.
    pub(crate) fn wrapped(&mut self, first: &str, rest: &str, text: &str) -> Result<(), CommandError> {
        let text = self.in_units(text, Style::Both).into_owned();
        self.wrapped_as_it_is(first, rest, &text)
    }

    /// As [`Out::wrapped`], in the units the text has: for arithmetic, which is shown as it was
    /// done, and for what people wrote.
    pub(crate) fn wrapped_as_it_is(
        &mut self,
        first: &str,
        rest: &str,
        text: &str,
    ) -> Result<(), CommandError> {
        let text = &*self.look.charset.fit(text).into_owned();
        let room = |lead: &str| self.width().saturating_sub(wrap::columns(lead));
        let mut lead = first;
        for line in wrap::hanging(text, room(first), room(rest)) {
            self.as_it_is(format_args!("{lead}{line}"))?;
            lead = rest;
        }
        Ok(())
    }

    /// Writes `label: text`, broken at words under the text.
    pub(crate) fn labelled(&mut self, label: &str, text: &str) -> Result<(), CommandError> {
        self.wrapped(&format!("{label}: "), "    ", text)
    }

    /// Writes words and the command that follows from them: on one line where it fits, else
    /// the command whole on a line of its own, so that it can be copied.
    pub(crate) fn words_and_command(
        &mut self,
        lead: &str,
        words: &str,
        command: &str,
    ) -> Result<(), CommandError> {
        if command.is_empty() {
            return self.wrapped(lead, "    ", words);
        }
        let told = self.in_units(words, Style::Both);
        let line = format!("{lead}{told} — {command}");
        let line = self.look.charset.fit(&line);
        if wrap::columns(&line) <= self.width() {
            let line = line.into_owned();
            return self.as_it_is(line);
        }
        self.wrapped(lead, "    ", words)?;
        self.as_it_is(format_args!("      {command}"))
    }

    /// Writes one JSON object on one line: the message as the contract names its fields.
    pub(crate) fn json(&mut self, message: &impl Serialize) -> Result<(), CommandError> {
        let text = serde_json::to_string(message).map_err(|error| {
            CommandError::new(Exit::Unexpected, "the answer does not go into JSON").caused_by(&error)
        })?;
        // A program reads it: nothing in it is taken out.
        let bytes = self.look.charset.exact(&text).into_owned();
        self.passed(&bytes)?;
        self.passed(b"\n")
    }

    /// Writes one JSON object, or the line that says the same to people.
    pub(crate) fn told(&mut self, message: &impl Serialize, text: impl Display) -> Result<(), CommandError> {
        if self.look.json {
            self.json(message)
        } else {
            self.line(text)
        }
    }

    /// Says that a file was written.
    pub(crate) fn written(
        &mut self,
        file: &Path,
        about: &str,
        text: impl Display,
    ) -> Result<(), CommandError> {
        let message = WrittenFile {
            file: file.display().to_string(),
            about: about.to_owned(),
        };
        self.told(&message, text)
    }

    /// Hands everything written so far to the reader.
    pub(crate) fn flush(&mut self) -> Result<(), CommandError> {
        self.writer.flush().map_err(|error| CommandError::writing(&error))
    }
}
