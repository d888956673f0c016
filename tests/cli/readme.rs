//! Every command line of the README works as printed, in the order it is printed.

use std::process::Stdio;

use crate::support::{LOCKRING, Shop, clean, words};

/// Lines that are not typed by themselves here: the shop of a test is served already, and a
/// watch has no end.
const LEFT_OUT: [&str; 2] = ["lockring daemon start", "lockring watch"];

/// The command lines of a section, comments cut off.
pub(super) fn lines_of(readme: &str, section: &str) -> Vec<String> {
    let section = readme.split(&format!("\n## {section}\n")).nth(1).expect(section);
    section
        .split("\n## ")
        .next()
        .unwrap_or_default()
        .lines()
        .filter(|line| line.starts_with("lockring "))
        .map(|line| line.split(" #").next().unwrap_or(line).trim_end().to_owned())
        .filter(|line| !LEFT_OUT.contains(&line.as_str()))
        .collect()
}

#[test]
fn the_half_hour_and_the_evening_work_as_printed() {
    let house = env!("CARGO_MANIFEST_DIR");
    let readme = std::fs::read_to_string(format!("{house}/README.md")).unwrap();
    let mut lines = lines_of(&readme, "A mechanic's half hour");
    lines.extend(lines_of(&readme, "Before buying"));
    lines.extend(lines_of(&readme, "An owner's evening"));
    lines.extend(lines_of(&readme, "The shop's own"));
    assert!(lines.len() > 20, "only {} lines found", lines.len());
    let shop = Shop::open();
    for line in lines {
        let output = clean(LOCKRING)
            .current_dir(house)
            .env("LOCKRING_DIR", shop.folder())
            .args(&words(&line)[1..])
            .stdin(Stdio::null())
            .output()
            .unwrap();
        let code = output.status.code().unwrap_or(-1);
        // The gate is tried before everything it asks for is there, as happens at a bench.
        let expected = if line.starts_with("lockring advance") {
            8
        } else {
            0
        };
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(code, expected, "`{line}` gave:\n{told}");
    }
}
