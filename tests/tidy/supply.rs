//! What the programs are made of: where crates come from, under which licences, and which are
//! not wanted. Read from the lock file and from what cargo says of it, without a network.
//!
//! Known faults of crates are not looked up here: that list is on the network.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use serde_json::Value;

use super::house;

/// The one place that crates come from.
const REGISTRY: &str = "registry+https://github.com/rust-lang/crates.io-index";

/// Licences that a program under the MIT licence may hold, by SPDX name.
const LICENCES: [&str; 10] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "ISC",
    "MIT",
    "Unicode-3.0",
    "Zlib",
];

/// Crates that are not wanted, each with the reason.
const UNWANTED: [(&str, &str); 4] = [
    (
        "openssl-sys",
        "a system library; the one TLS we may take is rustls",
    ),
    ("native-tls", "as openssl-sys"),
    ("aws-lc-rs", "a second provider beside ring makes rustls panic"),
    ("serde_yaml", "unmaintained; our files are TOML and JSON"),
];

fn packages() -> Vec<Value> {
    // Crates of other systems need not be on this machine.
    let rustc = Command::new("rustc").arg("-vV").output().unwrap();
    let rustc = String::from_utf8(rustc.stdout).unwrap();
    let host = rustc
        .lines()
        .find_map(|line| line.strip_prefix("host: "))
        .unwrap();
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--filter-platform", host])
        .args(["--format-version", "1", "--locked", "--offline", "--all-features"])
        .current_dir(house())
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let all: Value = serde_json::from_slice(&output.stdout).unwrap();
    let packages = all["packages"].as_array().unwrap().clone();
    assert!(packages.len() > 50, "only {} packages", packages.len());
    packages
}

fn name(package: &Value) -> &str {
    package["name"].as_str().unwrap()
}

/// Whether a licence expression can be met: all of its `AND`, one of each `OR`. A slash is the
/// old way to write `OR`.
fn may_be_used(expression: &str) -> bool {
    let text = expression.replace('/', " OR ");
    let bare = |part: &str| part.trim().trim_matches(['(', ')']).trim().to_owned();
    text.split(" AND ").all(|all| {
        all.split(" OR ")
            .map(bare)
            .any(|one| LICENCES.contains(&one.as_str()))
    })
}

#[test]
fn licences_are_read_as_they_are_meant() {
    for good in [
        "MIT",
        "MIT OR Apache-2.0",
        "GPL-3.0 OR MIT",
        "(MIT OR Apache-2.0) AND Unicode-3.0",
        "MIT/Apache-2.0",
    ] {
        assert!(may_be_used(good), "{good}");
    }
    for bad in ["GPL-3.0", "MIT AND GPL-3.0", "", "(MIT OR ISC) AND MPL-2.0"] {
        assert!(!may_be_used(bad), "{bad}");
    }
}

#[test]
fn every_crate_comes_from_the_registry_under_a_licence_we_may_use() {
    for package in packages() {
        let licence = package["license"].as_str().unwrap_or_default();
        assert!(may_be_used(licence), "{} is under `{licence}`", name(&package));
        match package["source"].as_str() {
            Some(source) => assert_eq!(source, REGISTRY, "{}", name(&package)),
            None => assert!(
                name(&package).starts_with("lockring"),
                "{} is from nowhere",
                name(&package)
            ),
        }
    }
}

#[test]
fn no_crate_is_in_that_is_not_wanted() {
    let names: BTreeSet<String> = packages()
        .iter()
        .map(|package| name(package).to_owned())
        .collect();
    for (unwanted, why) in UNWANTED {
        assert!(!names.contains(unwanted), "{unwanted}: {why}");
    }
}

/// jiff is our calendar; the reader of FIT files brings chrono along for the moments it reads, and
/// the maker of certificates time for the days between which they count. Nobody else may lean on
/// either.
#[test]
fn a_second_calendar_serves_the_one_crate_that_brings_it() {
    let packages = packages();
    let leaning = |calendar: &str| -> Vec<String> {
        let leans = |package: &&Value| {
            let needs = package["dependencies"].as_array().unwrap();
            needs
                .iter()
                .any(|need| need["name"] == calendar && need["kind"].is_null() && need["optional"] == false)
        };
        let leaning = packages.iter().filter(leans);
        leaning.map(|package| name(package).to_owned()).collect()
    };
    assert_eq!(leaning("chrono"), ["fitparser"]);
    // The second stands in the lock file for a feature of the first that we leave out; it is not built.
    assert_eq!(leaning("time"), ["rcgen", "x509-parser"]);
}

/// The version of Rust that is asked for suffices for every crate, as they say themselves.
#[test]
fn the_rust_version_asked_for_is_new_enough_for_every_crate() {
    let read = |text: &str| -> Vec<u32> { text.split('.').map(|number| number.parse().unwrap()).collect() };
    let packages = packages();
    let own: BTreeMap<&str, &str> = packages
        .iter()
        .filter(|package| package["source"].is_null())
        .map(|package| (name(package), package["rust_version"].as_str().unwrap_or("")))
        .collect();
    let ours = own["lockring"];
    assert!(own.values().all(|version| *version == ours), "{own:?}");
    for package in &packages {
        if let Some(needs) = package["rust_version"].as_str() {
            assert!(
                read(needs) <= read(&format!("{ours}.0")),
                "{} needs Rust {needs}",
                name(package)
            );
        }
    }
}

/// `unsafe` is forbidden in every crate of ours, and none says otherwise for itself.
#[test]
fn unsafe_is_forbidden_everywhere() {
    let workspace = std::fs::read_to_string(house().join("Cargo.toml")).unwrap();
    assert!(workspace.contains("unsafe_code = \"forbid\""));
    for member in [
        "proto",
        "daemon",
        "daemon/calc",
        "daemon/domain",
        "daemon/store",
        "cli",
        ".",
    ] {
        let manifest = std::fs::read_to_string(house().join(member).join("Cargo.toml")).unwrap();
        assert!(
            manifest.contains("[lints]\nworkspace = true"),
            "{member} takes no part in the lints"
        );
    }
}
