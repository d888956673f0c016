//! The modules of the domain stand on floors: each imports from its own floor or from a lower one.
//!
//! What an entry says and what a job is stand below what is found of a job, and that below what people ask. One
//! import the other way ties all that lies between into a circle, where nothing can be read by itself.

use std::path::{Path, PathBuf};

use super::sources;

/// The floors from the ground up. A module that stands apart from the one around it is named by its path.
const FLOORS: [&[&str]; 6] = [
    // Values, words and data.
    &[
        "calendar",
        "care",
        "fact",
        "field",
        "finding",
        "length",
        "level",
        "markup",
        "money",
        "nearest",
        "origin",
        "refusal",
        "ride_class",
        "rules",
        "shared",
        "stage",
        "tax",
        "unit",
        "uses",
    ],
    // What entries are made of, and what they say.
    &[
        "account", "after", "block", "code", "entry", "gpx", "labour", "part", "photo", "promise", "receipt",
        "removal", "ridelog", "shop", "supply",
    ],
    // What follows from them, and what a check sees of it.
    &[
        "case",
        "job",
        "private",
        "shop::command",
        "supply::leaving",
        "supply::shelf",
    ],
    // The physics of a case.
    &[
        "assist",
        "cautions",
        "chainline",
        "forecast",
        "judge",
        "outlook",
        "prediction",
    ],
    // What is found of a job.
    &["check", "checks", "gate", "recalled", "shop::effect"],
    // What people ask, and what answers them.
    &[
        "card",
        "catalogue",
        "command",
        "diagnosis",
        "filled",
        "fit",
        "hills",
        "learning",
        "propose",
        "regear",
        "ride_plan",
        "sheet",
        "stand",
        "supply::stocking",
    ],
];

/// The floor of a module, or of what it holds: that of the longest name it begins with.
fn floor_of(module: &str) -> Option<usize> {
    let holds = |name: &str| {
        module
            .strip_prefix(name)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with("::"))
    };
    let named = FLOORS.iter().enumerate().flat_map(|(floor, names)| {
        let named = names.iter().filter(|name| holds(name));
        named.map(move |name| (name.len(), floor))
    });
    named.max().map(|(_, floor)| floor)
}

/// The modules of the domain with their text, tests left out.
fn modules() -> Vec<(String, String)> {
    let room = Path::new("daemon/domain/src");
    let all: Vec<(PathBuf, String)> = sources()
        .into_iter()
        .filter_map(|(path, text)| Some((path.strip_prefix(room).ok()?.with_extension(""), text)))
        .collect();
    let for_tests: Vec<PathBuf> = all.iter().flat_map(|(path, text)| tests_of(path, text)).collect();
    all.into_iter()
        .filter(|(path, _)| {
            path != Path::new("lib") && !for_tests.iter().any(|tests| path.starts_with(tests))
        })
        .map(|(path, text)| {
            let names: Vec<&str> = path.iter().filter_map(|name| name.to_str()).collect();
            let own = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
            let code = own.lines().filter(|line| !line.trim_start().starts_with("//"));
            (names.join("::"), code.collect::<Vec<_>>().join("\n"))
        })
        .collect()
}

/// The modules that a file has for its tests alone.
fn tests_of(path: &Path, text: &str) -> Vec<PathBuf> {
    let around = if path == Path::new("lib") {
        Path::new("")
    } else {
        path
    };
    text.split("#[cfg(test)]\n")
        .skip(1)
        .filter_map(|rest| {
            let (said, _) = rest.split_once(';')?;
            let name = said.rsplit_once("mod ")?.1;
            (!said.contains('\n')).then(|| around.join(name))
        })
        .collect()
}

/// The paths that a module names from the root of the domain.
fn named(module: &str, code: &str) -> Vec<String> {
    let mut found = Vec::new();
    for root in ["crate::", "super::"] {
        for (at, _) in code.match_indices(root) {
            let before = code[..at].chars().next_back();
            if before.is_some_and(|letter| letter.is_alphanumeric() || matches!(letter, '_' | ':')) {
                continue;
            }
            let mut around: Vec<&str> = if root == "crate::" {
                Vec::new()
            } else {
                module.split("::").collect()
            };
            let mut rest = code[at..].trim_start_matches("crate::");
            while let Some(further) = rest.strip_prefix("super::") {
                around.pop();
                rest = further;
            }
            tree(&around.join("::"), rest, &mut found);
        }
    }
    found
}

/// Reads one path, or a tree of them in braces, and gives what comes after it.
fn tree<'t>(around: &str, text: &'t str, found: &mut Vec<String>) -> &'t str {
    let text = text.trim_start();
    if let Some(mut rest) = text.strip_prefix('{') {
        loop {
            rest = rest.trim_start_matches([',', ' ', '\n']);
            match rest.strip_prefix('}') {
                Some(after) => return after,
                None if rest.is_empty() => return rest,
                None => {
                    let after = tree(around, rest, found);
                    // What follows is a comma, the end, or `as` with another name.
                    rest = &after[after.find([',', '}']).unwrap_or(after.len())..];
                }
            }
        }
    }
    let end = text
        .find(|letter: char| !letter.is_alphanumeric() && letter != '_')
        .unwrap_or(text.len());
    let (name, rest) = text.split_at(end);
    let path = match (around, name) {
        (around, "self") => around.to_owned(),
        ("", name) => name.to_owned(),
        (around, name) => format!("{around}::{name}"),
    };
    match rest.strip_prefix("::") {
        Some(further) if !further.starts_with('<') => tree(&path, further, found),
        _ => {
            found.push(path);
            rest
        }
    }
}

#[test]
fn every_module_of_the_domain_stands_on_a_floor_and_imports_from_no_higher_one() {
    let modules = modules();
    assert!(modules.len() > 200, "only {} modules found", modules.len());
    let homeless: Vec<&str> = modules
        .iter()
        .filter(|(module, _)| floor_of(module).is_none())
        .map(|(module, _)| module.as_str())
        .collect();
    assert!(homeless.is_empty(), "on no floor of this list: {homeless:?}");
    let up: Vec<String> = modules
        .iter()
        .flat_map(|(module, code)| {
            let floor = floor_of(module);
            let named = named(module, code).into_iter();
            let higher = named.filter(move |path| floor_of(path) > floor);
            higher.map(move |path| format!("{module} -> {path}"))
        })
        .collect();
    assert!(up.is_empty(), "these reach up:\n{}", up.join("\n"));
}

#[test]
fn every_name_of_the_floors_is_a_module() {
    let modules = modules();
    for name in FLOORS.into_iter().flatten() {
        assert!(modules.iter().any(|(module, _)| module == name), "{name} is gone");
        let listed = FLOORS.iter().flat_map(|names| names.iter());
        assert_eq!(listed.filter(|other| *other == name).count(), 1, "{name}");
    }
}

#[test]
fn the_reader_of_these_tests_sees_every_way_to_name_a_module() {
    let code = "use crate::entry::{self, Entry};\nuse super::super::gate as g;\nuse crate::{case::Case, \
                job::{\n    Job,\n    Line as L,\n}};\nfn f() -> crate::shop::effect::Effect {}\nuse \
                std::process::{self};\nuse super::Draft;";
    assert_eq!(
        named("command::money", code),
        [
            "entry",
            "entry::Entry",
            "case::Case",
            "job::Job",
            "job::Line",
            "shop::effect::Effect",
            "gate",
            "command::Draft",
        ]
    );
    assert!(floor_of("shop::effect::Effect") > floor_of("shop::event"));
    assert_eq!(floor_of("shopping"), None);
}
