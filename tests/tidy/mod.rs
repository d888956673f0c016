//! Rules of the house, as tests.

mod checks;
mod floors;
mod judged;
mod rules;
mod supply;

use std::path::{Path, PathBuf};

fn house() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Every Rust file of the house with its text, generated and built ones left out.
fn sources() -> Vec<(PathBuf, String)> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() && !path.ends_with("target") {
                walk(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                found.push(path);
            }
        }
    }
    let mut found = Vec::new();
    for room in ["proto", "daemon", "cli", "tests"] {
        walk(&house().join(room), &mut found);
    }
    assert!(found.len() > 50, "only {} files found", found.len());
    found
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            (path.strip_prefix(house()).unwrap().to_owned(), text)
        })
        .collect()
}

#[test]
fn every_file_opens_by_saying_what_it_is_and_none_is_long() {
    for (path, text) in sources() {
        assert!(
            text.starts_with("//!"),
            "{} does not open with //!",
            path.display()
        );
        let lines = text.lines().count();
        assert!(
            lines <= 1000,
            "{} has {lines} lines; 1000 at most",
            path.display()
        );
    }
}

#[test]
fn only_the_store_contains_sql() {
    let words = ["SELECT ", "INSERT INTO", "UPDATE job", "DELETE FROM", "rusqlite"];
    for (path, text) in sources() {
        let store = path.starts_with("daemon/store") || path.starts_with("tests");
        let found = words.iter().find(|word| text.contains(**word));
        assert!(
            store || found.is_none(),
            "{} contains {:?}",
            path.display(),
            found
        );
    }
}

#[test]
fn calc_and_domain_touch_no_clock_file_or_network() {
    let words = [
        "std::fs",
        "std::net",
        "std::time",
        "SystemTime",
        "Instant::now",
        "Timestamp::now",
        "std::env",
        "rand::",
    ];
    for (path, text) in sources() {
        if path.starts_with("daemon/calc/src") || path.starts_with("daemon/domain/src") {
            let found = words.iter().find(|word| text.contains(**word));
            assert!(found.is_none(), "{} contains {:?}", path.display(), found);
        }
    }
}

#[test]
fn the_command_line_sees_the_contract_only() {
    for manifest in [
        "cli/Cargo.toml",
        "cli/paper/Cargo.toml",
        "daemon/domain/Cargo.toml",
        "daemon/calc/Cargo.toml",
    ] {
        let text = std::fs::read_to_string(house().join(manifest)).unwrap();
        let ours: Vec<&str> = text
            .lines()
            .filter(|line| line.starts_with("lockring-"))
            .collect();
        let expected: &[&str] = match manifest {
            "cli/Cargo.toml" => &[
                "lockring-paper.workspace = true",
                "lockring-proto.workspace = true",
            ],
            "cli/paper/Cargo.toml" => &["lockring-proto.workspace = true"],
            "daemon/domain/Cargo.toml" => &["lockring-calc.workspace = true"],
            _ => &[],
        };
        assert_eq!(ours, expected, "{manifest}");
    }
}

#[test]
fn the_top_level_holds_what_it_should() {
    let allowed = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "proto",
        "daemon",
        "cli",
        "tests",
        "target",
    ];
    for entry in std::fs::read_dir(house()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(
            name.starts_with('.') || allowed.contains(&name.as_str()),
            "{name} does not belong at the top level"
        );
    }
}

#[test]
fn generated_types_stay_at_the_edge_of_the_daemon() {
    let edge = ["from_proto.rs", "to_proto.rs"];
    for (path, text) in sources() {
        let domain = path.starts_with("daemon/calc")
            || path.starts_with("daemon/domain")
            || path.starts_with("daemon/store");
        assert!(
            !domain || !text.contains("lockring_proto"),
            "{} names generated types",
            path.display()
        );
    }
    for name in edge {
        assert!(
            house().join("daemon/src/service").join(name).exists(),
            "{name} is gone"
        );
    }
}

/// The README repeats the table of `lockring help exit-codes`: numbers and names, in order.
#[test]
fn the_readme_lists_the_exit_codes_that_the_program_has() {
    let readme = std::fs::read_to_string(house().join("README.md")).unwrap();
    let section = readme
        .split("\n## Exit codes")
        .nth(1)
        .expect("a section on exit codes");
    let section = section.split("\n## ").next().unwrap_or_default();
    let documented: Vec<(String, String)> = section
        .lines()
        .filter_map(|line| {
            let mut cells = line.strip_prefix('|')?.split('|').map(str::trim);
            let number = cells.next().filter(|cell| cell.parse::<u8>().is_ok())?;
            Some((number.to_owned(), cells.next()?.to_owned()))
        })
        .collect();
    let output = crate::support::clean(crate::support::LOCKRING)
        .args(["help", "exit-codes"])
        .output()
        .unwrap();
    assert!(output.status.success());
    let told: Vec<(String, String)> = String::from_utf8(output.stdout)
        .unwrap()
        .lines()
        .filter_map(|line| {
            let mut words = line.split_whitespace();
            let number = words
                .next()
                .filter(|word| !line.starts_with(' ') && word.parse::<u8>().is_ok())?;
            Some((number.to_owned(), words.next()?.to_owned()))
        })
        .collect();
    assert!(told.len() > 10, "{told:?}");
    assert_eq!(documented, told);
}
