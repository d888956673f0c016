//! Lines and questions at a terminal: the bench prompt, and what it asks.

use std::io::BufRead;

use crate::command_error::{CommandError, Exit};
use crate::output::Out;

pub(crate) mod editor;
pub(crate) mod expect;
pub(crate) mod spell;
pub(crate) mod split;
pub(crate) mod take_in;
pub(crate) mod vocabulary;

/// What was typed to a question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Typed {
    /// Nothing: the next question, please.
    Skip,
    /// `-`: the question before, please.
    Back,
    /// `?`: what is expected, please.
    Asked,
    /// An answer.
    Answer(String),
}

/// Reads one answer.
///
/// # Errors
/// [`Exit::Usage`] at the end of the input (Ctrl-D): nothing is stored.
pub(crate) fn read(input: &mut dyn BufRead, out: &mut Out<'_>) -> Result<Typed, CommandError> {
    out.raw("> ")?;
    out.flush()?;
    let mut line = String::new();
    let length = input
        .read_line(&mut line)
        .map_err(|error| CommandError::new(Exit::BadInput, "the answer cannot be read").caused_by(&error))?;
    if length == 0 {
        out.blank()?;
        return Err(CommandError::new(
            Exit::Usage,
            "the questions were left; nothing was stored",
        ));
    }
    Ok(match line.trim() {
        "" => Typed::Skip,
        "-" => Typed::Back,
        "?" => Typed::Asked,
        answer => Typed::Answer(answer.to_owned()),
    })
}
