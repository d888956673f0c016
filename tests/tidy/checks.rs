//! Every verdict a check says it can end in is expected by a test of its own, and every remedy
//! has been applied in one.

use std::path::{Path, PathBuf};

use super::sources;

/// A check's rule and its tests, as text.
struct Written {
    path: PathBuf,
    rule: String,
    tests: String,
}

/// The files of the checks, tests in a file of their own joined to them.
fn checks() -> Vec<Written> {
    let room = Path::new("daemon/domain/src/checks");
    let all = sources();
    let tests_of = |path: &Path| {
        let own = path.with_extension("").join("tests.rs");
        let found = all.iter().find(|(other, _)| *other == own);
        found.map(|(_, text)| text.clone()).unwrap_or_default()
    };
    let found: Vec<Written> = all
        .iter()
        .filter(|(path, text)| path.parent() == Some(room) && text.contains("static CHECK: Check"))
        .map(|(path, text)| {
            let (rule, tests) = text.split_once("#[cfg(test)]").unwrap_or((text, ""));
            Written {
                path: path.clone(),
                rule: rule.to_owned(),
                tests: format!("{tests}{}", tests_of(path)),
            }
        })
        .collect();
    assert!(found.len() > 70, "only {} checks found", found.len());
    found
}

/// The verdicts named in a check's `gives`, as written.
fn gives(rule: &str) -> Vec<&str> {
    let (_, list) = rule.split_once("gives: &[").expect("every check has the field");
    let (list, _) = list.split_once(']').expect("a list ends");
    list.split(',')
        .map(str::trim)
        .filter(|word| !word.is_empty())
        .collect()
}

/// Whether the text names the verdict: the whole word, not the beginning of a longer one.
fn expects(tests: &str, verdict: &str) -> bool {
    tests.match_indices(verdict).any(|(at, found)| {
        let next = tests[at + found.len()..].chars().next();
        !next.is_some_and(char::is_alphanumeric)
    })
}

#[test]
fn every_verdict_a_check_gives_is_expected_by_one_of_its_tests() {
    let mut lacking = Vec::new();
    for check in checks() {
        for verdict in gives(&check.rule) {
            if !expects(&check.tests, verdict) {
                lacking.push(format!("{}: {verdict}", check.path.display()));
            }
        }
    }
    assert!(lacking.is_empty(), "no test expects\n{}", lacking.join("\n"));
}

#[test]
fn every_check_that_can_stop_a_job_has_a_remedy_that_was_applied() {
    let stops = |rule: &str| {
        let given = gives(rule);
        given.contains(&"Verdict::Fail") || given.contains(&"Verdict::Caution")
    };
    let lacking: Vec<String> = checks()
        .iter()
        .filter(|check| stops(&check.rule) && !check.tests.contains(".cured("))
        .map(|check| check.path.display().to_string())
        .collect();
    assert!(
        lacking.is_empty(),
        "no test applies a remedy of\n{}",
        lacking.join("\n")
    );
}

#[test]
fn the_readers_of_these_tests_tell_verdicts_apart() {
    assert_eq!(
        gives("gives: &[\n Verdict::Pass,\n Verdict::Open,\n],"),
        ["Verdict::Pass", "Verdict::Open"]
    );
    assert!(expects("(&CHECK, Verdict::Open);", "Verdict::Open"));
    assert!(!expects("Verdict::Opened", "Verdict::Open"));
    assert!(!expects("Verdict::Pass", "Verdict::Fail"));
}
