//! The one error at the edge: what went wrong, what it came from, what to do, and the exit
//! code that scripts can rely on.
//!
//! Reasons of the daemon become exit codes here and nowhere else; hints are written where the
//! error is decided and printed as they are.

use std::error::Error;
use std::fmt::Write as _;

use lockring_proto::paths::PathError;
use lockring_proto::wrap;
use tonic::{Code, Status};
use tonic_types::StatusExt as _;

use crate::output::paint::Paint;

/// How a command ended. The numbers are a promise to scripts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Exit {
    /// It was done.
    Ok,
    /// Something nobody foresaw.
    Unexpected,
    /// The line cannot be read.
    Usage,
    /// No daemon serves the folder.
    NoDaemon,
    /// A value or file cannot be read.
    BadInput,
    /// A value outside its plausible window.
    OutsideWindow,
    /// A word that is in no table.
    UnknownWord,
    /// No such job, part or block.
    NotFound,
    /// The gate does not pass.
    GateClosed,
    /// The job's state does not allow it.
    Refused,
    /// The job changed since it was read.
    Conflict,
    /// Programs of two versions, or a daemon of another folder.
    VersionMismatch,
    /// The data file cannot be read or written.
    Storage,
    /// No answer within the deadline.
    Timeout,
    /// The socket's folder or a key is not private, or a certificate does not count.
    Permission,
    /// Broken off by Ctrl-C.
    Interrupted,
    /// Kept on disk because no daemon was reached.
    Queued,
}

impl Exit {
    /// All, by number.
    pub(crate) const ALL: [Self; 17] = [
        Self::Ok,
        Self::Unexpected,
        Self::Usage,
        Self::NoDaemon,
        Self::BadInput,
        Self::OutsideWindow,
        Self::UnknownWord,
        Self::NotFound,
        Self::GateClosed,
        Self::Refused,
        Self::Conflict,
        Self::VersionMismatch,
        Self::Storage,
        Self::Timeout,
        Self::Permission,
        Self::Interrupted,
        Self::Queued,
    ];

    /// The number, the name and when it happens.
    pub(crate) const fn row(self) -> (u8, &'static str, &'static str) {
        match self {
            Self::Ok => (0, "ok", "it was done, or there was nothing to do"),
            Self::Unexpected => (1, "unexpected", "something nobody foresaw: please report it"),
            Self::Usage => (
                2,
                "usage",
                "the line cannot be read; `lockring help COMMAND` shows how",
            ),
            Self::NoDaemon => (
                3,
                "no-daemon",
                "no lockringd serves the data folder, it is ending, or it takes nothing for a moment",
            ),
            Self::BadInput => (
                4,
                "bad-input",
                "a value or a file cannot be read; nothing was stored",
            ),
            Self::OutsideWindow => (
                5,
                "outside-window",
                "a value outside its plausible window; nothing was stored",
            ),
            Self::UnknownWord => (
                6,
                "unknown-word",
                "a code, slot, check, class or stage that is in no table",
            ),
            Self::NotFound => (7, "not-found", "no such job, part or block"),
            Self::GateClosed => (8, "gate-closed", "the gate was tried and does not pass"),
            Self::Refused => (
                9,
                "refused",
                "the job's state does not allow it: over, on hold, never conceded ...",
            ),
            Self::Conflict => (
                10,
                "conflict",
                "the job changed since the revision given with --expect",
            ),
            Self::VersionMismatch => (
                11,
                "version-mismatch",
                "the daemon is of another version or folder",
            ),
            Self::Storage => (
                12,
                "storage",
                "disk full, read only, newer data file, or verify found a fault",
            ),
            Self::Timeout => (
                13,
                "timeout",
                "no answer within the deadline; look whether it was stored before repeating it",
            ),
            Self::Permission => (
                14,
                "permission",
                "a folder, socket or file is not private to you, or a certificate does not count",
            ),
            Self::Interrupted => (
                15,
                "interrupted",
                "broken off with Ctrl-C; whether a change was stored, `lockring history JOB` shows",
            ),
            Self::Queued => (
                16,
                "queued",
                "kept on disk with --queue, not stored yet; `lockring send` sends it",
            ),
        }
    }

    /// The number a program sees.
    pub(crate) const fn number(self) -> u8 {
        self.row().0
    }

    /// The exit code a reason of the daemon stands for; `None` for a reason this version does
    /// not know.
    fn of_reason(reason: &str) -> Option<Self> {
        Some(match reason {
            "BAD_INPUT" | "REQUEST_ID_REUSED" => Self::BadInput,
            "OUTSIDE_WINDOW" => Self::OutsideWindow,
            "UNKNOWN_WORD" | "UNKNOWN_PERSON" => Self::UnknownWord,
            "NO_SUCH_JOB" | "NO_SUCH_PART" | "NO_SUCH_BLOCK" | "NO_SUCH_PAIR" => Self::NotFound,
            "GATE_CLOSED" => Self::GateClosed,
            "JOB_OVER" | "ON_HOLD" | "NEVER_CONCEDED" | "NOTHING_TO_CONCEDE" | "NOT_EARLIER"
            | "NOTHING_TO_UNDO" | "SLOT_EMPTY" | "NOT_ON_HOLD" | "OWNER_ONLY" | "CANNOT_STAND"
            | "ELSEWHERE_ALREADY" | "NO_SUCH_LINE" | "NOT_ON_SHELF" | "RESERVED" | "RIDER_STAYS"
            | "RECALLED" | "LATER_STANDS" => Self::Refused,
            "CERTIFICATE_UNKNOWN"
            | "CERTIFICATE_REVOKED"
            | "CERTIFICATE_EXPIRED"
            | "PERSON_LEFT"
            | "ANOTHER_PERSON"
            | "SOCKET_ONLY"
            | "NO_AUTHORITY" => Self::Permission,
            "REVISION_CHANGED" => Self::Conflict,
            "VERSION_MISMATCH" | "FOLDER_MISMATCH" | "NOT_GREETED" => Self::VersionMismatch,
            "STORAGE" | "UNSURE" => Self::Storage,
            "TOO_SLOW" => Self::Timeout,
            // It is over in a moment: what may wait for a daemon waits for these too.
            "SHUTTING_DOWN" | "CROWDED" | "CLEANING" | "LAGGED" => Self::NoDaemon,
            "BROKEN" => Self::Unexpected,
            _ => return None,
        })
    }

    /// The exit code of a system error: a full or read-only disk and a lacking right are told
    /// apart from all others.
    pub(crate) fn of_io(error: &std::io::Error, other: Self) -> Self {
        use std::io::ErrorKind::{PermissionDenied, QuotaExceeded, ReadOnlyFilesystem, StorageFull};
        match error.kind() {
            StorageFull | QuotaExceeded | ReadOnlyFilesystem => Self::Storage,
            PermissionDenied => Self::Permission,
            _ => other,
        }
    }

    /// The exit code of a bare gRPC status, without a reason this version knows.
    const fn of_code(code: Code) -> Self {
        match code {
            Code::Ok => Self::Ok,
            Code::InvalidArgument | Code::OutOfRange => Self::BadInput,
            Code::NotFound => Self::NotFound,
            Code::FailedPrecondition | Code::AlreadyExists => Self::Refused,
            Code::Aborted => Self::Conflict,
            Code::Unimplemented => Self::VersionMismatch,
            Code::ResourceExhausted | Code::DataLoss => Self::Storage,
            Code::DeadlineExceeded => Self::Timeout,
            Code::Unavailable => Self::NoDaemon,
            Code::PermissionDenied | Code::Unauthenticated => Self::Permission,
            Code::Cancelled | Code::Unknown | Code::Internal => Self::Unexpected,
        }
    }
}

/// Reasons that stay whoever asks again and however often: the line is not for this certificate or
/// computer, or the daemon breaks down over it each time.
const FINAL: [&str; 4] = ["ANOTHER_PERSON", "PERSON_LEFT", "SOCKET_ONLY", "BROKEN"];

/// Why a command was not done.
#[derive(Debug)]
pub(crate) struct CommandError {
    /// Exit code.
    pub(crate) kind: Exit,
    /// The same line would get the same answer again, though others under its exit code may not.
    pub(crate) is_final: bool,
    /// The pair it was asked by opens nothing any more; another of the same person may.
    pub(crate) pair_is_over: bool,
    /// What is wrong, with the value given.
    pub(crate) message: String,
    /// What it came from, outermost first.
    pub(crate) causes: Vec<String>,
    /// What to do about it.
    pub(crate) hints: Vec<String>,
    /// Fields that cannot be taken: field and problem.
    pub(crate) violations: Vec<(String, String)>,
    /// What was given and what was probably meant, where only one thing comes near.
    pub(crate) offer: Option<Box<(String, String)>>,
    /// The message stands for itself: usage text that clap has laid out, or the help.
    laid_out: bool,
}

impl CommandError {
    /// An error with its message.
    pub(crate) fn new(kind: Exit, message: impl Into<String>) -> Self {
        Self {
            kind,
            is_final: false,
            pair_is_over: false,
            message: message.into(),
            causes: Vec::new(),
            hints: Vec::new(),
            violations: Vec::new(),
            offer: None,
            laid_out: false,
        }
    }

    /// A line that clap reads and this program cannot.
    pub(crate) fn usage(message: impl Into<String>, example: &str) -> Self {
        Self::new(Exit::Usage, message).hint(format!("for example `{example}`"))
    }

    /// Text that is printed as it is, and the end it stands for.
    pub(crate) fn laid_out(kind: Exit, text: String) -> Self {
        Self {
            laid_out: true,
            ..Self::new(kind, text)
        }
    }

    /// Adds what to do about it.
    #[must_use]
    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }

    /// Adds the error it came from, and what that came from.
    #[must_use]
    pub(crate) fn caused_by(mut self, error: &dyn Error) -> Self {
        let mut next = Some(error);
        while let Some(error) = next {
            let text = error.to_string();
            if self.causes.last() != Some(&text) {
                self.causes.push(text);
            }
            next = error.source();
        }
        self
    }

    /// A reader closed our output: a normal end, and nothing to print.
    pub(crate) fn closed_pipe() -> Self {
        Self::laid_out(Exit::Ok, String::new())
    }

    /// Whether a reader closed our output.
    pub(crate) fn is_closed_pipe(&self) -> bool {
        self.laid_out && self.kind == Exit::Ok && self.message.is_empty()
    }

    /// What becomes of an error while writing the output.
    pub(crate) fn writing(error: &std::io::Error) -> Self {
        if error.kind() == std::io::ErrorKind::BrokenPipe {
            Self::closed_pipe()
        } else {
            Self::new(Exit::Unexpected, "the output cannot be written").caused_by(error)
        }
    }

    /// What becomes of an answer that is an error.
    pub(crate) fn from_status(status: &Status) -> Self {
        let details = status.get_error_details();
        let reason = details.error_info().map(|info| info.reason.as_str());
        let timed_out = status.code() == Code::Cancelled && status.message() == "Timeout expired";
        let broken = is_broken(status);
        let kind = match reason.and_then(Exit::of_reason) {
            Some(kind) => kind,
            None if timed_out => Exit::Timeout,
            None if broken => Exit::NoDaemon,
            None => Exit::of_code(status.code()),
        };
        let message = match (status.message(), kind) {
            (_, Exit::Timeout) => "lockringd did not answer within the deadline".to_owned(),
            _ if broken => "lockringd went away before it answered".to_owned(),
            ("", _) => format!("lockringd answered {:?} without a word", status.code()),
            (text, _) => text.to_owned(),
        };
        let mut error = Self::new(kind, message);
        error.is_final = reason.is_some_and(|reason| FINAL.contains(&reason));
        error.pair_is_over = matches!(reason, Some("CERTIFICATE_REVOKED" | "CERTIFICATE_EXPIRED"));
        if let Some(source) = status.source() {
            error = error.caused_by(source);
            // What a library tells those who build with it is nothing for a bench.
            error.causes.retain(|cause| !cause.contains("://"));
        }
        if kind == Exit::Unexpected {
            error.causes.push(format!(
                "gRPC status {:?}{}",
                status.code(),
                reason.map_or_else(String::new, |reason| format!(", reason {reason}"))
            ));
        }
        if let Some(request) = details.bad_request() {
            let fields = request.field_violations.iter();
            error.violations = fields
                .map(|one| (one.field.clone(), one.description.clone()))
                .collect();
        }
        if let Some(info) = details.error_info() {
            error.hints.extend(info.metadata.get("hint").cloned());
            error.offer = offer(&info.metadata).map(Box::new);
        }
        if broken {
            error = error
                .hint("start it again with `lockring daemon start`, at the computer that keeps the shop");
        }
        if kind == Exit::Timeout {
            error = error.maybe_stored();
        }
        error
    }

    /// As it is told at a bench that reaches the shop over the network: no daemon is started there.
    #[must_use]
    pub(crate) fn told_from_afar(mut self) -> Self {
        let told = self.hints.len();
        self.hints.retain(|hint| !hint.contains("daemon start"));
        if self.hints.len() < told {
            return self.hint("at the shop's computer, `lockring status` says whether it serves");
        }
        self
    }

    /// Adds that what was asked may have been done, though nobody heard the answer.
    #[must_use]
    pub(crate) fn maybe_stored(self) -> Self {
        self.hint("it may have been stored all the same: look, before you type it again")
    }

    /// As [`CommandError::text`], broken at words for a terminal of so many columns.
    pub(crate) fn fitted(&self, colour: bool, width: usize) -> String {
        let text = self.text(colour);
        if self.laid_out {
            return text;
        }
        let mut fitted = String::new();
        for whole in text.lines() {
            let indent = &whole[..whole.len() - whole.trim_start().len()];
            let room = width.saturating_sub(indent.len());
            let pieces = wrap::hanging(whole, room, room.saturating_sub(4));
            line(
                &mut fitted,
                format_args!("{indent}{}", pieces.join(&format!("\n{indent}    "))),
            );
        }
        fitted
    }

    /// The text for people: "Error / Caused by / Hint". Empty for a closed pipe.
    pub(crate) fn text(&self, colour: bool) -> String {
        if self.laid_out {
            return self.message.clone();
        }
        let heading = |word: &str| Paint::Strong.around(word, colour);
        let mut text = format!("{} {}\n", Paint::Alarm.around("Error:", colour), self.message);
        // What the message says already is not said again below it.
        let repeats = |problem: &str| {
            self.message.contains(problem)
                || (self.violations.len() == 1 && problem.starts_with(&self.message))
        };
        for (field, problem) in self.violations.iter().filter(|(_, problem)| !repeats(problem)) {
            if problem.starts_with(&format!("{field}: ")) {
                line(&mut text, format_args!("  {problem}"));
            } else {
                line(&mut text, format_args!("  {field}: {problem}"));
            }
        }
        match self.causes.as_slice() {
            [] => {}
            [cause] => line(&mut text, format_args!("{} {cause}", heading("Caused by:"))),
            causes => {
                line(&mut text, format_args!("{}", heading("Caused by:")));
                for (number, cause) in causes.iter().enumerate() {
                    line(&mut text, format_args!("  {}: {cause}", number + 1));
                }
            }
        }
        for hint in &self.hints {
            line(&mut text, format_args!("{} {hint}", heading("Hint:")));
        }
        text
    }
}

/// What was given and the one thing that comes near, from the variables of a refusal.
fn offer(variables: &std::collections::HashMap<String, String>) -> Option<(String, String)> {
    let given = variables.get("given")?.clone();
    let meant = variables.get("meant").or_else(|| variables.get("nearest"))?;
    let near: Vec<&str> = match variables.get("meant") {
        Some(meant) => vec![meant],
        None => meant.split_whitespace().collect(),
    };
    match near.as_slice() {
        [one] => Some((given, (*one).to_owned())),
        _ => None,
    }
}

/// Whether a status was made on this side because the connection broke: an error of the
/// transport stands behind it, before or within the answer, and no word of the daemon's.
pub(crate) fn is_broken(status: &Status) -> bool {
    status.code() == Code::Unknown && status.source().is_some()
}

impl From<PathError> for CommandError {
    fn from(error: PathError) -> Self {
        let kind = match &error {
            PathError::Unreachable { error, .. } if error.kind() == std::io::ErrorKind::NotFound => {
                Exit::NoDaemon
            }
            PathError::TooLong { .. } => Exit::BadInput,
            _ => Exit::Permission,
        };
        Self::new(kind, error.to_string()).hint(error.cure())
    }
}

fn line(text: &mut String, words: std::fmt::Arguments<'_>) {
    writeln!(text, "{words}").expect("a String takes everything");
}

#[cfg(test)]
mod tests;
