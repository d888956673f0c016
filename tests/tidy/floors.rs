//! Modules stand on floors: each imports from its own floor or from a lower one, and no files import one
//! another in a circle.
//!
//! What an entry says and what a job is stand below what is found of a job, and that below what people ask; rows
//! stand below a transaction, and that below the file as a whole. One import the other way ties all that lies
//! between into a circle, where nothing can be read by itself.
//!
//! A module that names what it holds, or what it hands on from there, without `crate` or `super` imports nothing.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::sources;

/// A crate whose modules stand on floors.
struct House {
    room: &'static str,
    /// The floors from the ground up. A module that stands apart from the one around it is named by its path.
    floors: &'static [&'static [&'static str]],
}

const HOUSES: [House; 3] = [
    House {
        room: "daemon/domain/src",
        floors: &DOMAIN,
    },
    House {
        room: "daemon/store/src",
        floors: &STORE,
    },
    House {
        room: "daemon/src",
        floors: &DAEMON,
    },
];

/// Every crate with more than a file.
const ROOMS: [&str; 7] = [
    "proto/src",
    "daemon/calc/src",
    "daemon/domain/src",
    "daemon/store/src",
    "daemon/src",
    "cli/src",
    "cli/paper/src",
];

/// The rules of the workshop.
const DOMAIN: [&[&str]; 6] = [
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
        "shell_word",
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

/// The data file.
const STORE: [&[&str]; 6] = [
    // Words, names and tools.
    &[
        "digits",
        "error",
        "folder",
        "leftover",
        "queue",
        "readable",
        "retention",
        "sync",
    ],
    // What stands in rows and how they are asked for.
    &[
        "connection",
        "found",
        "in_clear",
        "open_files",
        "photos",
        "private",
        "projections",
        "queries",
        "rows",
        "stock",
        "supply",
    ],
    // A part of a transaction: what one caller sees, writes and is answered.
    &["answers", "recent", "sealing", "tx", "veil"],
    // The file as a whole: made anew, proved, cleaned, copied.
    &[
        "backup",
        "cleaning",
        "heeding",
        "inspect",
        "migrate",
        "rebuild",
        "removals",
        "revocations",
        "verify",
    ],
    // The file open: one writes, others read.
    &["look", "open", "reader", "shop_words", "writer"],
    // A folder made new without serving it.
    &["export", "import", "restore"],
];

/// The daemon.
const DAEMON: [&[&str]; 6] = [
    // How it comes up and goes down, who may connect, and how days are counted.
    &["door", "lifecycle", "network", "report::days"],
    // The shop as it stands.
    &["standing"],
    // What the journal says.
    &["lifecycle::nightly", "report"],
    // What clients ask.
    &["service", "tasks::evening"],
    // All of it on a socket.
    &["service::server"],
    // What goes on by itself, and what is done without serving.
    &["benches", "moving", "tasks", "wall"],
];

/// The floor of a module, or of what it holds: that of the longest name it begins with.
fn floor_of(floors: &[&[&str]], module: &str) -> Option<usize> {
    let holds = |name: &str| {
        module
            .strip_prefix(name)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with("::"))
    };
    let named = floors.iter().enumerate().flat_map(|(floor, names)| {
        let named = names.iter().filter(|name| holds(name));
        named.map(move |name| (name.len(), floor))
    });
    named.max().map(|(_, floor)| floor)
}

/// The modules of a crate with their text, tests left out.
fn modules(room: &str) -> Vec<(String, String)> {
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

/// The paths that a module names from the root of its crate.
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

/// What ties modules into circles, an import each: what is left when whatever imports nothing, or is imported
/// by nothing, is put aside as often as there is any.
fn circles(mut imports: BTreeSet<(String, String)>) -> BTreeSet<(String, String)> {
    loop {
        let importing: BTreeSet<String> = imports.iter().map(|(from, _)| from.clone()).collect();
        let imported: BTreeSet<String> = imports.iter().map(|(_, to)| to.clone()).collect();
        let before = imports.len();
        imports.retain(|(from, to)| imported.contains(from) && importing.contains(to));
        if imports.len() == before {
            return imports;
        }
    }
}

#[test]
fn every_module_stands_on_a_floor_and_imports_from_no_higher_one() {
    for House { room, floors } in HOUSES {
        let modules = modules(room);
        assert!(modules.len() > 40, "only {} modules in {room}", modules.len());
        let homeless: Vec<&str> = modules
            .iter()
            .filter(|(module, _)| floor_of(floors, module).is_none())
            .map(|(module, _)| module.as_str())
            .collect();
        assert!(
            homeless.is_empty(),
            "{room}: on no floor of this list: {homeless:?}"
        );
        let up: Vec<String> = modules
            .iter()
            .flat_map(|(module, code)| {
                let floor = floor_of(floors, module);
                let named = named(module, code).into_iter();
                // What is on no floor is the root's own, which stands above all.
                let higher =
                    named.filter(move |path| floor_of(floors, path).is_none_or(|of| Some(of) > floor));
                higher.map(move |path| format!("{module} -> {path}"))
            })
            .collect();
        assert!(up.is_empty(), "{room}: these reach up:\n{}", up.join("\n"));
    }
}

#[test]
fn every_name_of_the_floors_is_a_module() {
    for House { room, floors } in HOUSES {
        let modules = modules(room);
        for name in floors.iter().copied().flatten() {
            let is_there = modules.iter().any(|(module, _)| module == name);
            assert!(is_there, "{room}: {name} is gone");
            let listed = floors.iter().copied().flatten();
            assert_eq!(listed.filter(|other| *other == name).count(), 1, "{name}");
        }
    }
}

#[test]
fn no_files_import_one_another_in_a_circle() {
    for room in ROOMS {
        let modules = modules(room);
        let names: BTreeSet<&str> = modules.iter().map(|(module, _)| module.as_str()).collect();
        // The file in which a path ends: that of the longest name it begins with.
        let file = |path: &str| {
            let mut path = path;
            while !names.contains(path) {
                path = path.rsplit_once("::")?.0;
            }
            Some(path.to_owned())
        };
        let imports = modules.iter().flat_map(|(module, code)| {
            let named = named(module, code).into_iter();
            let files = named.filter_map(|path| file(&path));
            files.map(|file| (module.clone(), file))
        });
        let tied = circles(imports.filter(|(from, to)| from != to).collect());
        let tied: Vec<String> = tied.iter().map(|(from, to)| format!("{from} -> {to}")).collect();
        assert!(
            tied.is_empty(),
            "{room}: these go in circles:\n{}",
            tied.join("\n")
        );
    }
}

#[test]
fn a_circle_is_found_and_what_only_leads_to_it_is_not() {
    let pairs = |text: &str| -> BTreeSet<(String, String)> {
        let pairs = text.split(' ').filter_map(|pair| pair.split_once('>'));
        pairs.map(|(from, to)| (from.to_owned(), to.to_owned())).collect()
    };
    assert_eq!(circles(pairs("a>b b>c a>c c>d")), pairs(""));
    assert_eq!(circles(pairs("a>b b>c c>d d>b d>e e>f")), pairs("b>c c>d d>b"));
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
    assert!(floor_of(&DOMAIN, "shop::effect::Effect") > floor_of(&DOMAIN, "shop::event"));
    assert_eq!(floor_of(&DOMAIN, "shopping"), None);
}
