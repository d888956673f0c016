//! Exit codes by reason, and what an error prints.

use std::collections::{HashMap, HashSet};

use tonic_types::{ErrorDetails, FieldViolation};

use super::*;

fn status(code: Code, reason: &str, message: &str, hint: Option<&str>) -> Status {
    let metadata: HashMap<String, String> = hint
        .iter()
        .map(|hint| ("hint".to_owned(), (*hint).to_owned()))
        .collect();
    Status::with_error_details(
        code,
        message,
        ErrorDetails::with_error_info(reason, "lockring.v1", metadata),
    )
}

#[test]
fn at_a_terminal_an_error_breaks_at_words() {
    let error = CommandError::new(Exit::BadInput, "one two three four").hint("a hint that is long");
    assert_eq!(
        error.fitted(false, 18),
        "Error: one two\n    three four\nHint: a hint that\n    is long\n"
    );
    assert_eq!(error.fitted(false, 80), error.text(false));
}

#[test]
fn numbers_and_names_are_unique_and_in_order() {
    let mut names = HashSet::new();
    for (place, exit) in Exit::ALL.into_iter().enumerate() {
        let (number, name, when) = exit.row();
        assert_eq!(usize::from(number), place, "{name}");
        assert!(names.insert(name), "{name} twice");
        assert!(!when.is_empty(), "{name}");
    }
}

#[test]
fn reasons_of_the_daemon_become_exit_codes() {
    let table = [
        ("BAD_INPUT", 4),
        ("OUTSIDE_WINDOW", 5),
        ("UNKNOWN_WORD", 6),
        ("NO_SUCH_JOB", 7),
        ("NO_SUCH_PART", 7),
        ("NO_SUCH_BLOCK", 7),
        ("GATE_CLOSED", 8),
        ("JOB_OVER", 9),
        ("ON_HOLD", 9),
        ("NEVER_CONCEDED", 9),
        ("NOTHING_TO_CONCEDE", 9),
        ("NOT_EARLIER", 9),
        ("LATER_STANDS", 9),
        ("NOTHING_TO_UNDO", 9),
        ("SLOT_EMPTY", 9),
        ("NOT_ON_HOLD", 9),
        ("UNKNOWN_PERSON", 6),
        ("OWNER_ONLY", 9),
        ("CANNOT_STAND", 9),
        ("REVISION_CHANGED", 10),
        ("VERSION_MISMATCH", 11),
        ("FOLDER_MISMATCH", 11),
        ("STORAGE", 12),
        ("UNSURE", 12),
        ("SHUTTING_DOWN", 3),
        ("CROWDED", 3),
        ("CLEANING", 3),
        ("RESERVED", 9),
        ("NO_SUCH_LINE", 9),
    ];
    for (reason, number) in table {
        let error = CommandError::from_status(&status(Code::Unknown, reason, "no", None));
        assert_eq!(error.kind.number(), number, "{reason}");
    }
}

/// Every reason that the daemon gives, read off where it gives it.
#[test]
fn every_reason_of_the_daemon_has_its_exit_code() {
    let places = [
        include_str!("../../../daemon/domain/src/refusal.rs"),
        include_str!("../../../daemon/src/service/status.rs"),
    ];
    let is_reason = |word: &&str| {
        let is_code = word.bytes().all(|byte| byte.is_ascii_uppercase() || byte == b'_');
        // How the codes are spelt, which is none of them.
        is_code && word.len() > 3 && *word != "SCREAMING_SNAKE_CASE"
    };
    let reasons: Vec<&str> = places
        .iter()
        .flat_map(|text| {
            text.split("mod tests")
                .next()
                .unwrap()
                .split('"')
                .skip(1)
                .step_by(2)
        })
        .filter(is_reason)
        .collect();
    assert!(reasons.len() > 40, "{reasons:?}");
    for reason in ["ELSEWHERE_ALREADY", "CLEANING", "UNSURE"] {
        assert!(
            reasons.contains(&reason),
            "{reason} is not found where reasons are given"
        );
    }
    let unnamed: Vec<&str> = reasons
        .into_iter()
        .filter(|reason| Exit::of_reason(reason).is_none())
        .collect();
    assert!(unnamed.is_empty(), "{unnamed:?}");
}

#[test]
fn what_stays_refused_is_told_from_what_another_try_may_cure() {
    for (reason, is_final) in [
        ("ANOTHER_PERSON", true),
        ("BROKEN", true),
        ("CERTIFICATE_EXPIRED", false),
        ("CERTIFICATE_REVOKED", false),
        ("STORAGE", false),
        ("CROWDED", false),
    ] {
        let error = CommandError::from_status(&status(Code::Internal, reason, "no", None));
        assert_eq!(error.is_final, is_final, "{reason}");
        assert_eq!(error.pair_is_over, reason.starts_with("CERTIFICATE"), "{reason}");
    }
}

#[test]
fn a_reason_from_the_future_falls_back_to_the_status_code() {
    let error = CommandError::from_status(&status(Code::NotFound, "NO_SUCH_LATHE", "no lathe 3", None));
    assert_eq!(error.kind, Exit::NotFound);
    assert_eq!(error.message, "no lathe 3");
}

#[test]
fn a_refusal_is_printed_with_its_hint() {
    let refusal = status(
        Code::NotFound,
        "NO_SUCH_JOB",
        "there is no job 99",
        Some("`lockring jobs` lists them"),
    );
    let error = CommandError::from_status(&refusal);
    assert_eq!(
        error.text(false),
        "Error: there is no job 99\nHint: `lockring jobs` lists them\n"
    );
    assert!(
        error
            .text(true)
            .starts_with("\u{fdd7}Error:\u{fdd0} there is no job 99")
    );
}

#[test]
fn every_field_that_cannot_be_taken_is_listed() {
    let mut details = ErrorDetails::with_error_info("BAD_INPUT", "lockring.v1", HashMap::new());
    details.set_bad_request(vec![
        FieldViolation::new("hill-grade", "`steep` is no percentage"),
        FieldViolation::new("range", "`far` is no length"),
    ]);
    let status = Status::with_error_details(Code::InvalidArgument, "2 values cannot be taken", details);
    assert_eq!(
        CommandError::from_status(&status).text(false),
        "Error: 2 values cannot be taken\n  hill-grade: `steep` is no percentage\n  range: `far` is no length\n"
    );
}

#[test]
fn a_field_is_named_once_and_what_the_message_says_is_not_repeated() {
    let mut error = CommandError::new(
        Exit::BadInput,
        "2 values cannot be taken; the first: fork: no `x`",
    );
    error.violations = vec![
        ("fork-kind".to_owned(), "fork: no `x`".to_owned()),
        ("teeth".to_owned(), "teeth: no `y`".to_owned()),
    ];
    assert_eq!(
        error.text(false),
        format!("Error: {}\n  teeth: no `y`\n", error.message)
    );
}

#[test]
fn causes_are_numbered_when_there_are_several() {
    let mut error = CommandError::new(Exit::Storage, "the export cannot be written");
    error.causes = vec!["disk full".to_owned()];
    assert_eq!(
        error.text(false),
        "Error: the export cannot be written\nCaused by: disk full\n"
    );
    error.causes.push("quota of 1 GB".to_owned());
    assert!(
        error
            .text(false)
            .ends_with("Caused by:\n  1: disk full\n  2: quota of 1 GB\n")
    );
}

#[test]
fn a_closed_pipe_is_a_normal_end() {
    let error = CommandError::writing(&std::io::ErrorKind::BrokenPipe.into());
    assert_eq!((error.kind.number(), error.text(false).as_str()), (0, ""));
    let error = CommandError::writing(&std::io::ErrorKind::StorageFull.into());
    assert_eq!(error.kind, Exit::Unexpected);
}

#[test]
fn both_forms_of_a_missed_deadline_are_timeouts() {
    for status in [
        Status::deadline_exceeded("late"),
        Status::cancelled("Timeout expired"),
    ] {
        assert_eq!(CommandError::from_status(&status).kind, Exit::Timeout);
    }
}
