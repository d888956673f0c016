//! The demo: three jobs from intake to the evening report, and nothing left behind.

use crate::support::{LOCKRING, clean};

#[test]
fn the_demo_plays_to_the_evening_report_and_leaves_nothing_behind() {
    let folder = tempfile::TempDir::new().unwrap();
    let output = clean(LOCKRING)
        .env("TMPDIR", folder.path())
        .arg("demo")
        .output()
        .unwrap();
    let out = String::from_utf8(output.stdout).unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(0), "{out}\n{err}");
    assert!(out.contains("lockring report blocked --on 2026-03-25"), "{out}");
    assert!(
        out.contains("58.8 V") && out.contains("55 V"),
        "the voltage mismatch is not told:\n{out}"
    );
    // The told hill is found by the ride alone, and what would settle it is named.
    let compared = out.split("$ lockring ride 2 compare").nth(1).unwrap();
    let first = compared
        .split("all of them together")
        .nth(1)
        .unwrap()
        .trim_start();
    let first = first.lines().next().unwrap();
    assert!(
        first.contains("the hill is steeper than the brief has it"),
        "{first}"
    );
    assert!(
        compared.contains("measure the hill's grade at five points"),
        "{compared}"
    );
    // The table of gearings has the ring and cassette that may be conceded to climb and to fit.
    let table = out.split("$ lockring regear 2").nth(1).unwrap();
    let chosen = table
        .lines()
        .find(|line| line.starts_with("38/5  11-36"))
        .unwrap();
    assert!(
        chosen.matches("caution").count() == 2 && chosen.ends_with("caution"),
        "{chosen}"
    );
    let left: Vec<_> = std::fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

#[test]
fn a_kept_demo_can_be_played_with() {
    let folder = tempfile::TempDir::new().unwrap();
    let kept = folder.path().join("kept");
    let output = clean(LOCKRING)
        .arg("demo")
        .arg("--keep")
        .arg(&kept)
        .output()
        .unwrap();
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let jobs = crate::support::run_in(&kept, ["--start", "--json", "jobs", "--all"]).ok();
    assert_eq!(jobs.lines().count(), 3, "{jobs}");
    let verified = crate::support::run_in(&kept, ["--json", "verify"]).ok();
    assert!(verified.contains("\"sound\":true"), "{verified}");
    crate::support::run_in(&kept, ["daemon", "stop"]).ok();
}
