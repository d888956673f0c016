//! Errors as gRPC says them: a code, the message, and details that programs can use.
//!
//! Every error carries an `ErrorInfo` with a reason and the variables of its message by
//! name, the hint among them. Details travel in HTTP/2 trailers, which clients limit (16 KiB
//! is usual), so long lists are cut with a line that says so.

use std::collections::HashMap;
use std::time::Duration;

use lockring_domain::refusal::{Reason, Refusal, Violation};
use lockring_proto::ERROR_DOMAIN;
use lockring_store::{StorageError, WriteError};
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, StatusExt};

/// The most bytes of a message; what is cut off stands in the violations.
const MESSAGE: usize = 1200;
/// The most bytes of field violations.
const VIOLATIONS: usize = 4000;
/// The most bytes of one variable of a message.
const VARIABLE: usize = 600;

/// A refusal of the domain.
pub(super) fn refused(refusal: &Refusal) -> Status {
    let code = code_of(refusal.reason);
    let variables: HashMap<String, String> = refusal
        .metadata
        .iter()
        .map(|(name, value)| (name.as_str(), value.as_str()))
        .chain(refusal.hint.as_ref().map(|hint| ("hint", hint.as_str())))
        .map(|(name, value)| (name.to_owned(), cut(value, VARIABLE)))
        .collect();
    let file = refusal.metadata.get("file").map_or("file", String::as_str);
    let mut details = ErrorDetails::with_error_info(refusal.reason.code(), ERROR_DOMAIN, variables);
    add_violations(&mut details, file, &refusal.violations);
    if code == Code::FailedPrecondition {
        let subject = refusal
            .metadata
            .get("job")
            .map_or_else(String::new, |job| format!("job {job}"));
        details.add_precondition_failure_violation(
            refusal.reason.code(),
            subject,
            cut(&refusal.message, VARIABLE),
        );
    }
    Status::with_error_details(code, cut(&refusal.message, MESSAGE), details)
}

fn code_of(reason: Reason) -> Code {
    match reason {
        Reason::BadInput | Reason::UnknownWord | Reason::UnknownPerson | Reason::RequestIdReused => {
            Code::InvalidArgument
        }
        Reason::OutsideWindow => Code::OutOfRange,
        Reason::NoSuchJob | Reason::NoSuchPart | Reason::NoSuchBlock | Reason::NoSuchPair => Code::NotFound,
        Reason::CertificateUnknown
        | Reason::CertificateRevoked
        | Reason::CertificateExpired
        | Reason::PersonLeft => Code::Unauthenticated,
        Reason::AnotherPerson | Reason::SocketOnly => Code::PermissionDenied,
        Reason::RevisionChanged => Code::Aborted,
        Reason::JobOver
        | Reason::OnHold
        | Reason::GateClosed
        | Reason::NeverConceded
        | Reason::NothingToConcede
        | Reason::NotEarlier
        | Reason::LaterStands
        | Reason::NothingToUndo
        | Reason::SlotEmpty
        | Reason::NotOnHold
        | Reason::OwnerOnly
        | Reason::CannotStand
        | Reason::ElsewhereAlready
        | Reason::NoSuchLine
        | Reason::NotOnShelf
        | Reason::Reserved
        | Reason::RiderStays
        | Reason::Recalled => Code::FailedPrecondition,
    }
}

fn add_violations(details: &mut ErrorDetails, file: &str, violations: &[Violation]) {
    let mut room = VIOLATIONS;
    for (done, violation) in violations.iter().enumerate() {
        let description = match violation.line {
            Some(line) => format!("{file} line {line}: {}", violation.problem),
            None => violation.problem.clone(),
        };
        let description = cut(&description, VARIABLE);
        let size = violation.field.len() + description.len();
        if size > room {
            details.add_bad_request_violation("…", format!("and {} more", violations.len() - done));
            return;
        }
        room -= size;
        details.add_bad_request_violation(&violation.field, description);
    }
}

/// A change that was refused or could not be stored.
pub(super) fn unwritten(error: &WriteError) -> Status {
    match error {
        WriteError::Refused(refusal) => refused(refusal),
        WriteError::Storage(error) => stored(error),
    }
}

/// The store could not read or write.
pub(super) fn stored(error: &StorageError) -> Status {
    tracing::error!(%error, "the store failed");
    let code = match error {
        StorageError::Full { .. } => Code::ResourceExhausted,
        StorageError::ReadOnly { .. } => Code::PermissionDenied,
        StorageError::Damaged { .. } | StorageError::Unreadable { .. } | StorageError::Unsound { .. } => {
            Code::DataLoss
        }
        // Only while the daemon ends: the client may ask the next one.
        StorageError::Closed => return shutting_down(),
        StorageError::Crowded { .. } | StorageError::Cleaning => {
            let reason = match error {
                StorageError::Cleaning => "CLEANING",
                _ => "CROWDED",
            };
            let said = error.to_string();
            return with_reason(Code::ResourceExhausted, reason, &said, error.cure());
        }
        StorageError::Unsure { .. } => {
            return with_reason(Code::Internal, "UNSURE", &error.to_string(), error.cure());
        }
        // The same request would break down again.
        StorageError::Unstorable { .. } | StorageError::Panicked { .. } => {
            return with_reason(Code::Internal, "BROKEN", &error.to_string(), error.cure());
        }
        StorageError::Io { .. } | StorageError::Busy { .. } | StorageError::Database { .. } => Code::Internal,
    };
    with_reason(code, "STORAGE", &error.to_string(), error.cure())
}

/// Work of ours that broke down.
pub(super) fn broken(error: &tokio::task::JoinError) -> Status {
    if error.is_cancelled() {
        return shutting_down();
    }
    tracing::error!(%error, "a call broke down");
    with_reason(
        Code::Internal,
        "BROKEN",
        "lockringd broke down over this call",
        "the log of lockringd says more; a change that was asked for is looked at with `lockring history`",
    )
}

/// A call that took longer than it may.
pub(super) fn too_slow(deadline: Duration) -> Status {
    with_reason(
        Code::DeadlineExceeded,
        "TOO_SLOW",
        &format!("no answer within {} s", deadline.as_secs()),
        "ask again; a change is made once however often it is asked for",
    )
}

/// The daemon is ending.
pub(super) fn shutting_down() -> Status {
    with_reason(
        Code::Unavailable,
        "SHUTTING_DOWN",
        "lockringd is ending",
        "start it again with `lockring daemon start`",
    )
}

/// A watcher that fell too far behind.
pub(super) fn lagged(lost: u64, job: u32) -> Status {
    let hint = match job {
        0 => "watch again, and read what was missed with `lockring history JOB`".to_owned(),
        job => format!("watch again, and read what was missed with `lockring history {job}`"),
    };
    with_reason(
        Code::DataLoss,
        "LAGGED",
        &format!("{lost} entries were not taken in time"),
        &hint,
    )
}

/// A call on a connection that has not said Hello.
pub(super) fn not_greeted() -> Status {
    with_reason(
        Code::FailedPrecondition,
        "NOT_GREETED",
        "this connection has not said Hello",
        "the first call on every connection is lockring.v1.Shop/Hello, with version, protocol and data folder",
    )
}

/// The workshop's authority cannot sign.
pub(super) fn no_authority(trouble: &crate::network::authority::Trouble) -> Status {
    tracing::error!(%trouble, "no certificate could be made");
    with_reason(
        Code::FailedPrecondition,
        "NO_AUTHORITY",
        &trouble.to_string(),
        "the folder `access` in the data folder must be yours alone (mode 700) and whole",
    )
}

/// Client and daemon do not belong together.
pub(super) fn mismatch(reason: &str, message: &str, hint: &str, sides: [(&str, String); 2]) -> Status {
    let mut variables: HashMap<String, String> = sides
        .into_iter()
        .map(|(side, value)| (side.to_owned(), cut(&value, VARIABLE)))
        .collect();
    variables.insert("hint".to_owned(), cut(hint, VARIABLE));
    let mut details = ErrorDetails::with_error_info(reason, ERROR_DOMAIN, variables);
    details.add_precondition_failure_violation(reason, "lockringd", cut(message, VARIABLE));
    Status::with_error_details(Code::FailedPrecondition, cut(message, MESSAGE), details)
}

fn with_reason(code: Code, reason: &str, message: &str, hint: &str) -> Status {
    let variables = HashMap::from([("hint".to_owned(), hint.to_owned())]);
    let details = ErrorDetails::with_error_info(reason, ERROR_DOMAIN, variables);
    Status::with_error_details(code, cut(message, MESSAGE), details)
}

/// The beginning of a text, whole characters, at most so many bytes.
fn cut(text: &str, most: usize) -> String {
    if text.len() <= most {
        return text.to_owned();
    }
    let end = (0..=most - '…'.len_utf8())
        .rev()
        .find(|end| text.is_char_boundary(*end))
        .unwrap_or(0);
    format!("{}…", &text[..end])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bad_line_of_a_file_is_a_field_violation_with_file_and_line() {
        let refusal = Refusal::new(Reason::BadInput, "bad")
            .with("file", "c.toml")
            .hint("mend it")
            .violations(vec![
                Violation {
                    field: "mass".into(),
                    line: Some(7),
                    problem: "`x` cannot be read".into(),
                },
                Violation {
                    field: "due".into(),
                    line: None,
                    problem: "no day".into(),
                },
            ]);
        let status = refused(&refusal);
        assert_eq!(status.code(), Code::InvalidArgument);
        let details = status.get_error_details();
        let info = details.error_info().unwrap();
        assert_eq!(
            (info.reason.as_str(), info.domain.as_str()),
            ("BAD_INPUT", ERROR_DOMAIN)
        );
        assert_eq!(info.metadata["hint"], "mend it");
        let fields = &details.bad_request().unwrap().field_violations;
        assert_eq!(fields[0].field, "mass");
        assert_eq!(fields[0].description, "c.toml line 7: `x` cannot be read");
        assert_eq!(fields[1].description, "no day");
    }

    #[test]
    fn codes_follow_reasons() {
        for (reason, code) in [
            (Reason::OutsideWindow, Code::OutOfRange),
            (Reason::RevisionChanged, Code::Aborted),
            (Reason::NoSuchBlock, Code::NotFound),
            (Reason::UnknownWord, Code::InvalidArgument),
        ] {
            assert_eq!(refused(&Refusal::new(reason, "no")).code(), code, "{reason:?}");
        }
        let over = refused(&Refusal::new(Reason::JobOver, "job 3 is over").with("job", 3));
        assert_eq!(over.code(), Code::FailedPrecondition);
        let details = over.get_error_details();
        let violation = &details.precondition_failure().unwrap().violations[0];
        assert_eq!(
            (violation.r#type.as_str(), violation.subject.as_str()),
            ("JOB_OVER", "job 3")
        );
    }

    /// 16 KiB is the header list size that HTTP/2 clients commonly allow (default of the
    /// `h2` client used here, from memory); base64 makes 4 bytes of 3.
    #[test]
    fn the_longest_list_of_complaints_fits_into_trailers() {
        let long = "ü".repeat(5000);
        let violations = (0..500)
            .map(|n| Violation {
                field: format!("f{n}"),
                line: Some(n),
                problem: long.clone(),
            })
            .collect();
        let status = refused(
            &Refusal::new(Reason::BadInput, &*long)
                .hint(&*long)
                .violations(violations),
        );
        // A byte of the message outside ASCII takes three in `grpc-message`.
        let size = status.details().len() * 4 / 3 + status.message().len() * 3;
        assert!(size < 15_000, "{size} bytes");
        let details = status.get_error_details();
        let last = details.bad_request().unwrap().field_violations.last().unwrap();
        assert!(last.description.starts_with("and 49"), "{}", last.description);
    }

    #[test]
    fn a_lagging_watcher_is_told_what_to_do() {
        let status = lagged(12, 3);
        assert_eq!(status.code(), Code::DataLoss);
        assert!(
            status.get_error_details().error_info().unwrap().metadata["hint"].contains("lockring history 3")
        );
    }
}
