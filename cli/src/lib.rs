//! `lockring`: what people type at the bench.
//!
//! A line is parsed, sent to the daemon as typed and answered with what comes back. Nothing
//! here knows a rule about bicycles: units, windows, verdicts and wording are the daemon's.
//! The way of a line: [`main`] → `line::perform` → one file of `commands/` → `client` →
//! `output`. Errors meet the reader in `command_error` only.

#![cfg_attr(test, allow(clippy::unwrap_used))]

use std::io::{BufWriter, IsTerminal as _, Write as _};
use std::process::ExitCode;

mod args;
mod client;
mod command_error;
mod commands;
mod desk;
mod folder;
mod line;
mod output;
mod prompt;
mod queue;

use crate::command_error::{CommandError, Exit};
use crate::desk::Place;

/// Runs the line this program was called with and gives its exit code; the codes are listed by
/// `lockring help exit-codes`.
pub fn main() -> ExitCode {
    let place = Place::of_process();
    let result = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
        Ok(runtime) => {
            let stdout = anstream::AutoStream::new(std::io::stdout().lock(), place.stripping());
            let mut out = BufWriter::new(stdout);
            let done = runtime.block_on(line::perform(&place, &mut out, std::env::args_os()));
            // What was said before an error belongs before it; a lost line is an error itself.
            let flushed = out.flush().map_err(|error| CommandError::writing(&error));
            done.and_then(|exit| flushed.map(|()| exit))
        }
        Err(error) => {
            Err(CommandError::new(Exit::Unexpected, "the runtime cannot be built").caused_by(&error))
        }
    };
    let exit = match result {
        Ok(exit) => exit,
        Err(error) => {
            tell(&error, place.width);
            error.kind
        }
    };
    ExitCode::from(exit.number())
}

/// Writes an error to standard error. Help and version, which end well, are written to the
/// output by `line::perform`.
fn tell(error: &CommandError, width: usize) {
    let stderr = std::io::stderr();
    let colour =
        stderr.is_terminal() && anstream::AutoStream::choice(&stderr) != anstream::ColorChoice::Never;
    // Broken for people only: a program reads whole lines.
    let text = if stderr.is_terminal() {
        error.fitted(colour, width)
    } else {
        error.text(colour)
    };
    if stderr.lock().write_all(text.as_bytes()).is_err() {
        // Nobody listens on standard error either: the exit code is all that is left to say.
    }
}
