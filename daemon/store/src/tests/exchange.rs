//! A shop as open files and back: the same to the last hash, or refused with the line.

use std::fs;
use std::path::{Path, PathBuf};

use lockring_domain::part::PartKind;

use super::{Bench, at, every_job_event, origin, part, stocked};
use crate::{MoveError, Store, export, import};

fn written_out() -> (Bench, PathBuf) {
    let bench = Bench::new();
    for event in every_job_event() {
        bench.add(1, 0, vec![event]).unwrap();
    }
    bench
        .write(|tx| Ok(tx.catalogue(&origin(4), at(4), &[part("mid", PartKind::Motor)])?))
        .unwrap();
    bench.take_in(2, 5);
    let shelf = stocked();
    bench
        .write(move |tx| Ok(tx.append_stock(&shelf.origin, at(6), &shelf.events, &shelf.stock)?))
        .unwrap();
    let to = bench.folder.path().join("open");
    export(bench.folder.path(), &to).unwrap();
    (bench, to)
}

fn refused(open: &Path) -> String {
    let to = open.with_file_name("made");
    match import(open, &to) {
        Err(error @ MoveError::Unfit { .. }) => {
            let left = fs::read_dir(&to).map_or(0, Iterator::count);
            assert_eq!(left, 0, "nothing unfinished is left");
            error.to_string()
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_shop_written_out_and_made_again_is_the_same_to_the_last_hash() {
    let (bench, open) = written_out();
    let before = bench.store.verify().unwrap();
    let to = bench.folder.path().join("made");
    let moved = import(&open, &to).unwrap();
    let made = Store::open(&to).unwrap();
    assert_eq!(made.verify().unwrap(), before);
    assert_eq!(
        (moved.entries, moved.jobs, moved.head),
        (before.entries, before.jobs, before.head)
    );
    for job in 0..=2 {
        let of = |store: &Store| store.read(|reader| reader.entries(job, 0)).unwrap();
        assert_eq!(of(&made), of(&bench.store));
    }
    let again = bench.folder.path().join("open again");
    export(&to, &again).unwrap();
    assert_eq!(
        fs::read(open.join("journal.jsonl")).unwrap(),
        fs::read(again.join("journal.jsonl")).unwrap()
    );
}

/// Any JSON reader reads a line: the fields named in the page for people are there.
#[test]
fn a_line_says_what_the_page_for_people_says() {
    let (_bench, open) = written_out();
    let page = fs::read_to_string(open.join("READ-ME.txt")).unwrap();
    let text = fs::read_to_string(open.join("journal.jsonl")).unwrap();
    let lines: Vec<serde_json::Value> = text
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(lines.len(), every_job_event().len() + 3);
    for word in ["id", "seq", "made", "stored", "says", "hash"] {
        assert!(
            page.contains(&format!("`{word}`")) && lines[0].get(word).is_some(),
            "{word}"
        );
    }
    assert_eq!(lines[0]["made"], at(0).to_string());
    assert_eq!(lines[0]["says"]["event"], "taken-in");
    let zeros = "0".repeat(64);
    assert_eq!(lines[0]["previous"], zeros.as_str());
    assert_eq!(lines[1]["previous"], lines[0]["hash"]);
}

#[test]
fn files_that_were_changed_are_refused_with_the_line() {
    let (_bench, open) = written_out();
    let path = open.join("journal.jsonl");
    let whole = fs::read_to_string(&path).unwrap();
    let lines: Vec<&str> = whole.lines().collect();
    let with = |change: &dyn Fn(&mut Vec<String>)| {
        let mut lines: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
        change(&mut lines);
        fs::write(&path, lines.join("\n")).unwrap();
        refused(&open)
    };
    let changed = with(&|lines| lines[1] = lines[1].replace("hill-grade", "hill-speed"));
    assert!(
        changed.contains("line 2: entry 2 (job 1, entry 2): its hash does not match"),
        "{changed}"
    );
    let removed = with(&|lines| drop(lines.remove(3)));
    assert!(
        removed.contains("line 4: entry 5 (job 1, entry 5) does not follow"),
        "{removed}"
    );
    let swapped = with(&|lines| lines.swap(4, 5));
    assert!(swapped.contains("line 5: entry 6"), "{swapped}");
    let cut = with(&|lines| drop(lines.pop()));
    assert!(cut.contains("shop.json says"), "{cut}");
    // Those that had private texts are missed before the texts miss them.
    for left in [1, 0] {
        let short = with(&|lines| lines.truncate(left));
        assert!(short.contains(&format!("holds {left} entries")), "{short}");
    }
    let broken = with(&|lines| lines[2].truncate(40));
    assert!(broken.contains("line 3: "), "{broken}");
    fs::write(&path, &whole).unwrap();
    let contents = fs::read_to_string(open.join("shop.json")).unwrap();
    fs::write(
        open.join("shop.json"),
        contents.replace("\"format\": 2", "\"format\": 3"),
    )
    .unwrap();
    assert!(refused(&open).contains("has format 3; this program reads formats 1 to 2"));
    fs::remove_file(open.join("shop.json")).unwrap();
    assert!(refused(&open).contains("shop.json"));
}

#[test]
fn a_shop_that_does_not_verify_is_not_written_out_and_nothing_is_written_over() {
    let (bench, open) = written_out();
    let error = export(bench.folder.path(), &open).unwrap_err();
    assert!(error.to_string().contains("is not empty"), "{error}");
    rusqlite::Connection::open(bench.file())
        .unwrap()
        .execute("UPDATE job SET rider = 'nobody' WHERE number = 2", [])
        .unwrap();
    let to = bench.folder.path().join("other");
    let error = export(bench.folder.path(), &to).unwrap_err();
    assert!(matches!(error, MoveError::Unsound { .. }), "{error}");
    assert!(
        error
            .to_string()
            .contains("lockring.db is not sound, and nothing was made of it"),
        "{error}"
    );
    assert!(!to.exists());
}

/// What version 0.1.0 wrote out before private texts stood in a file of their own. Kept as it is for
/// ever; its entries are those of `schema_1.sql`.
#[test]
fn open_files_of_the_first_format_make_the_shop_that_its_data_file_would() {
    let open = tempfile::tempdir().unwrap();
    for (name, text) in [
        ("journal.jsonl", include_str!("format_1/journal.jsonl")),
        ("shop.json", include_str!("format_1/shop.json")),
    ] {
        fs::write(open.path().join(name), text).unwrap();
    }
    let to = open.path().join("made");
    let moved = import(open.path(), &to).unwrap();
    assert_eq!((moved.entries, moved.jobs), (11, 1));
    let made = Store::open(&to).unwrap();
    assert_eq!(made.verify().unwrap().problems, [""; 0]);
    let old = super::opening::old(1);
    let old = Store::open(old.path()).unwrap();
    assert_eq!(made.verify().unwrap().head, old.verify().unwrap().head);
    for job in 0..=1 {
        let of = |store: &Store| store.read(|reader| reader.entries(job, 0)).unwrap();
        assert_eq!(of(&made), of(&old));
        assert!(!of(&made).is_empty());
    }
    let rider = |store: &Store| store.read(|reader| reader.job(1)).unwrap().unwrap().rider.clone();
    assert_eq!((rider(&made), rider(&old)), ("rider 1".into(), "rider 1".into()));
    // Written out again it has the format of today, with the names where they stood.
    let again = open.path().join("again");
    export(&to, &again).unwrap();
    let text = |folder: &Path, name: &str| fs::read_to_string(folder.join(name)).unwrap();
    assert!(text(&again, "shop.json").contains("\"format\": 2"));
    assert_eq!(text(&again, "private.jsonl"), "");
    assert_eq!(text(&again, "journal.jsonl"), text(open.path(), "journal.jsonl"));
}

/// A first format is not asked for a file that it never had, a second is.
#[test]
fn open_files_without_their_private_texts_are_refused() {
    let (_bench, open) = written_out();
    fs::remove_file(open.join("private.jsonl")).unwrap();
    assert!(refused(&open).contains("private.jsonl"));
}
