//! Acts on a whole shop, which `lockringd` does without serving it.

use std::ffi::OsString;
use std::path::Path;
use std::process::{Command, Stdio};

use lockring_proto::ended::Ended;
use lockring_proto::v1::Moved;

use super::start::find_program;
use crate::command_error::{CommandError, Exit};
use crate::folder::Folder;
use crate::output::{Out, photo, times};

/// Has `lockringd` do an act whose words come first and whose target comes last.
///
/// # Errors
/// What `lockringd` said, under the exit code here for its own.
pub(crate) fn run(folder: &Folder, words: Vec<OsString>, to: &Path) -> Result<Moved, CommandError> {
    let program = find_program()?;
    let output = Command::new(&program)
        .arg("--dir")
        .arg(folder.named())
        .args(words)
        .arg("--to")
        .arg(to)
        .stdin(Stdio::null())
        .output()
        .map_err(|error| {
            let what = format!("{} cannot be started", program.display());
            CommandError::new(Exit::of_io(&error, Exit::Unexpected), what).caused_by(&error)
        })?;
    if !output.status.success() {
        let said = String::from_utf8_lossy(&output.stderr);
        return Err(told(output.status.code(), &said));
    }
    serde_json::from_slice(&output.stdout).map_err(|error| {
        CommandError::new(Exit::Unexpected, "the answer of lockringd cannot be read").caused_by(&error)
    })
}

/// The error that `lockringd` told on its standard error: log lines, then what is wrong, then
/// the hint.
fn told(code: Option<i32>, said: &str) -> CommandError {
    let kind = match code.and_then(Ended::of) {
        Some(Ended::NotPrivate) => Exit::Permission,
        Some(Ended::NoRoom | Ended::Newer | Ended::Damaged) => Exit::Storage,
        Some(Ended::Other | Ended::Usage) => Exit::BadInput,
        Some(Ended::InUse) | None => Exit::Unexpected,
    };
    let line = |mark: &str| {
        said.lines()
            .find_map(|line| line.strip_prefix(mark))
            .map(str::to_owned)
    };
    let message = line("Error: ").or_else(|| line("error: "));
    let message = message.unwrap_or_else(|| "lockringd ended without saying why".to_owned());
    let error = CommandError::new(kind, message);
    match line("Hint: ") {
        Some(hint) => error.hint(hint),
        None => error,
    }
}

/// Says what came of it.
///
/// # Errors
/// When the output cannot be written.
pub(crate) fn print(out: &mut Out<'_>, moved: &Moved, done: &str) -> Result<(), CommandError> {
    if out.look.json {
        return out.json(moved);
    }
    let entries = times::count_of(moved.entries, "entry", "entries");
    let jobs = times::count_of(moved.jobs, "job", "jobs");
    out.line(format_args!(
        "{done}: {entries} of {jobs}, folded again and compared"
    ))?;
    out.line(format_args!("from {}", moved.from))?;
    out.line(format_args!("to   {}", moved.to))?;
    out.line(format_args!("hash of the last entry:\n  {}", moved.head))?;
    let said = moved
        .passed_over
        .iter()
        .chain(&moved.removed)
        .chain(&moved.revoked);
    for line in said.chain(&moved.pairs) {
        out.wrapped("", "    ", line)?;
    }
    photo::print_brought(out, moved.photos, &moved.problems)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lockringd_says_becomes_the_error_here() {
        let said = "2026 INFO something\nError: the disk is full\nHint: make room\n";
        let error = told(Some(6), said);
        assert_eq!(
            (error.kind, error.message.as_str()),
            (Exit::Storage, "the disk is full")
        );
        assert_eq!(error.hints, ["make room"]);
        assert_eq!(told(Some(5), said).kind, Exit::Permission);
        assert_eq!(told(Some(1), said).kind, Exit::BadInput);
        let silent = told(None, "");
        assert_eq!(silent.kind, Exit::Unexpected);
        assert!(silent.message.contains("without saying why"));
    }
}
