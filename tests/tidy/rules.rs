//! Every figure of the rule sheet is read by something.

use lockring_domain::code;
use lockring_domain::rules::RuleSheet;

/// Words that are put together where they are read, such as that of a posture.
const PUT_TOGETHER: [&str; 7] = [
    "assist.{",
    "cda.{",
    "crr.{",
    "dropout.{",
    "hill.grade-doubt-{",
    "plan.{",
    "torque.{",
];

/// The sources of the daemon and its rules without their tests, as one text.
fn text() -> String {
    let tests = ["tests.rs", "testing.rs", "weak_limits.rs"];
    let of_rules = |path: &std::path::Path| {
        let within = path.starts_with("daemon/src") || path.starts_with("daemon/domain/src");
        let is_test = path.components().any(|part| part.as_os_str() == "tests")
            || tests.iter().any(|name| path.ends_with(name));
        within && !is_test
    };
    let found = super::sources().into_iter().filter(|(path, _)| of_rules(path));
    found
        .map(|(_, text)| match text.split_once("#[cfg(test)]\nmod tests {") {
            Some((before, _)) => before.to_owned(),
            None => text,
        })
        .collect()
}

/// Read by its whole word, or by a word that is put together there. A figure that nothing reads would be
/// kept, changed and believed in for nothing.
#[test]
fn every_rule_is_read_by_something_other_than_the_sheet() {
    let text = text();
    for beginning in PUT_TOGETHER {
        assert!(
            text.contains(&format!("\"{beginning}")),
            "nothing is read as {beginning}"
        );
    }
    let word_of = |code: &str, word: &str| code::find(code).unwrap().read(word, false).is_ok();
    let unread: Vec<String> = RuleSheet::shipped()
        .keys()
        .filter(|key| !text.contains(&format!("\"{key}\"")))
        .filter(|key| match key.split_once('.') {
            Some(("cda", posture)) => !word_of("posture", posture),
            Some(("crr", surface)) => !word_of("rolling", surface),
            _ => PUT_TOGETHER
                .iter()
                .all(|beginning| !key.starts_with(beginning.trim_end_matches('{'))),
        })
        .map(str::to_owned)
        .collect();
    assert!(unread.is_empty(), "nothing reads {unread:?}");
}
