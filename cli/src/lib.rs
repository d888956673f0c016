//! `lockring`: what people type at the bench.
//!
//! A line is parsed, sent to the daemon as typed and answered with what comes back. Nothing
//! here knows a rule about bicycles: units, windows, verdicts and wording are the daemon's.
//! The way of a line: [`main`] → `line::perform` → one file of `commands/` → `client` →
//! `output`. Errors meet the reader in `command_error` only.

#![cfg_attr(test, allow(clippy::unwrap_used))]

use std::ffi::OsString;
use std::io::{BufWriter, IsTerminal as _, Write as _};
use std::process::ExitCode;

mod args;
mod client;
mod command_error;
mod commands;
mod desk;
mod folder;
#[cfg(test)]
mod hints;
mod line;
mod output;
mod placeholder;
mod prompt;
mod queue;

use crate::command_error::{CommandError, Exit};
use crate::desk::Place;
use crate::output::charset::Charset;

/// Runs the line this program was called with and gives its exit code; the codes are listed by
/// `lockring help exit-codes`.
pub fn main() -> ExitCode {
    let place = Place::of_process();
    let words: Vec<OsString> = std::env::args_os().collect();
    let colour = wants_colour(&words);
    let result = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
        Ok(runtime) => {
            let stdout = anstream::AutoStream::new(std::io::stdout().lock(), place.stripping());
            let mut out = BufWriter::new(stdout);
            let done = runtime.block_on(line::perform(&place, &mut out, words));
            // What was said before an error belongs before it; a lost line is an error itself.
            let flushed = out.flush().map_err(|error| CommandError::writing(&error));
            // What is left is given back by the end of the process, and faster.
            std::mem::forget(runtime);
            done.and_then(|exit| flushed.map(|()| exit))
        }
        Err(error) => {
            Err(CommandError::new(Exit::Unexpected, "the runtime cannot be built").caused_by(&error))
        }
    };
    let exit = match result {
        Ok(exit) => exit,
        Err(error) => {
            tell(&error, place.width, colour);
            error.kind
        }
    };
    ExitCode::from(exit.number())
}

/// What a line says of colour, read before the line is understood: an error about the line itself
/// obeys it too. `None` when it says nothing.
fn wants_colour(words: &[OsString]) -> Option<bool> {
    let words: Vec<&str> = words
        .iter()
        .filter_map(|word| word.to_str())
        .take_while(|word| *word != "--")
        .collect();
    let said = words
        .iter()
        .enumerate()
        .rev()
        .find_map(|(at, word)| match word.strip_prefix("--color") {
            Some("") => words.get(at + 1).copied(),
            Some(glued) => glued.strip_prefix('='),
            None => None,
        });
    match said {
        Some("always") => Some(true),
        Some("never") => Some(false),
        _ => words.contains(&"--plain").then_some(false),
    }
}

/// Writes an error to standard error. Help and version, which end well, are written to the
/// output by `line::perform`.
fn tell(error: &CommandError, width: usize, colour: Option<bool>) {
    let stderr = std::io::stderr();
    let terminal = stderr.is_terminal();
    let usual = || terminal && anstream::AutoStream::choice(&stderr) != anstream::ColorChoice::Never;
    let colour = colour.unwrap_or_else(usual);
    let charset = if terminal {
        Charset::of_environment()
    } else {
        Charset::Utf8
    };
    // Broken for people only: a program reads whole lines.
    let text = if terminal {
        error.fitted(colour, width)
    } else {
        error.text(colour)
    };
    if stderr.lock().write_all(&charset.bytes(&text, colour)).is_err() {
        // Nobody listens on standard error either: the exit code is all that is left to say.
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_says_of_colour_what_its_errors_obey() {
        let said = |line: &str| wants_colour(&line.split(' ').map(OsString::from).collect::<Vec<_>>());
        assert_eq!(said("lockring show 1"), None);
        assert_eq!(said("lockring show 1 --plain"), Some(false));
        assert_eq!(said("lockring --color never show"), Some(false));
        assert_eq!(said("lockring --color=always show --plain"), Some(true));
        assert_eq!(said("lockring note 1 -- --plain"), None);
    }
}
