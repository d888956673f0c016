//! What the programs are made of: where crates come from, under which licences, and which are
//! not wanted. Read from the lock file and from what cargo says of it, without a network.
//!
//! Known faults of crates are not looked up here: that list is on the network.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use serde_json::Value;
use toml::Value as Toml;

use super::house;

/// What `cargo deny` reads, so that nothing stands twice.
fn wanted() -> Toml {
    let text = std::fs::read_to_string(house().join(".deny.toml")).unwrap();
    toml::from_str(&text).unwrap()
}

fn words(list: &Toml) -> Vec<String> {
    let list = list.as_array().expect("a list");
    assert!(!list.is_empty());
    list.iter()
        .map(|word| word.as_str().unwrap().to_owned())
        .collect()
}

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
fn may_be_used(expression: &str, licences: &[String]) -> bool {
    let text = expression.replace('/', " OR ");
    let bare = |part: &str| part.trim().trim_matches(['(', ')']).trim().to_owned();
    text.split(" AND ")
        .all(|all| all.split(" OR ").map(bare).any(|one| licences.contains(&one)))
}

#[test]
fn licences_are_read_as_they_are_meant() {
    let licences = ["Apache-2.0", "ISC", "MIT", "Unicode-3.0"].map(str::to_owned);
    for good in [
        "MIT",
        "MIT OR Apache-2.0",
        "GPL-3.0 OR MIT",
        "(MIT OR Apache-2.0) AND Unicode-3.0",
        "MIT/Apache-2.0",
    ] {
        assert!(may_be_used(good, &licences), "{good}");
    }
    for bad in ["GPL-3.0", "MIT AND GPL-3.0", "", "(MIT OR ISC) AND MPL-2.0"] {
        assert!(!may_be_used(bad, &licences), "{bad}");
    }
}

#[test]
fn every_crate_comes_from_the_registry_under_a_licence_we_may_use() {
    let wanted = wanted();
    let licences = words(&wanted["licenses"]["allow"]);
    let registries = words(&wanted["sources"]["allow-registry"]);
    for package in packages() {
        let licence = package["license"].as_str().unwrap_or_default();
        assert!(
            may_be_used(licence, &licences),
            "{} is under `{licence}`",
            name(&package)
        );
        match package["source"].as_str() {
            Some(source) => {
                let registry = source.strip_prefix("registry+").unwrap_or(source);
                assert!(
                    registries.iter().any(|known| known == registry),
                    "{} is from {source}",
                    name(&package)
                );
            }
            None => assert!(
                name(&package).starts_with("lockring"),
                "{} is from nowhere",
                name(&package)
            ),
        }
    }
}

/// The crates that are built with another one; none where it is not built. (The list of packages
/// also names what nobody's features ask for.)
fn leaning(on: &str) -> Vec<String> {
    let output = Command::new(env!("CARGO"))
        .args(["tree", "--locked", "--offline", "--all-features", "--workspace"])
        .args([
            "--edges",
            "normal,build",
            "--prefix",
            "none",
            "--depth",
            "1",
            "--invert",
            on,
        ])
        .current_dir(house())
        .output()
        .unwrap();
    let lines = String::from_utf8(output.stdout).unwrap();
    let names = lines.lines().skip(1).filter_map(|line| line.split(' ').next());
    names
        .filter(|name| !name.starts_with('['))
        .map(str::to_owned)
        .collect()
}

/// A crate that is not wanted is in nobody's list of needs, but for those who may lean on it.
#[test]
fn no_crate_is_in_that_is_not_wanted() {
    let wanted = wanted();
    let unwanted = wanted["bans"]["deny"].as_array().unwrap();
    assert!(unwanted.len() > 5);
    let packages = packages();
    for entry in unwanted {
        let (banned, why) = (
            entry["crate"].as_str().unwrap(),
            entry["reason"].as_str().unwrap(),
        );
        let may = entry.get("wrappers").map(words).unwrap_or_default();
        let is_in = packages.iter().any(|package| name(package) == banned);
        assert!(!is_in || !may.is_empty(), "{banned}: {why}");
        let leaning = leaning(banned);
        let leaning: BTreeSet<&str> = leaning.iter().filter(|_| is_in).map(String::as_str).collect();
        let may: BTreeSet<&str> = may.iter().map(String::as_str).collect();
        assert_eq!(leaning, may, "{banned}: {why}");
    }
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
    let read = |member: &str| std::fs::read_to_string(house().join(member).join("Cargo.toml")).unwrap();
    let workspace: Toml = toml::from_str(&read(".")).unwrap();
    let unsafe_code = &workspace["workspace"]["lints"]["rust"]["unsafe_code"];
    assert_eq!(unsafe_code.as_str(), Some("forbid"));
    let mut members = words(&workspace["workspace"]["members"]);
    assert!(members.len() > 6);
    members.push(".".into());
    for member in members {
        let manifest: Toml = toml::from_str(&read(&member)).unwrap();
        let lints = manifest.get("lints").and_then(|lints| lints.get("workspace"));
        assert_eq!(
            lints.and_then(Toml::as_bool),
            Some(true),
            "{member} takes no part in the lints"
        );
    }
}
