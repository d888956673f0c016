//! Bits that flip and pages that are overwritten while nobody serves the file: refused at the
//! start, found by verifying, or of no consequence for anything that is stored.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use lockring_domain::block::Whose;
use lockring_domain::job::Job;
use lockring_domain::part::PartKind;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use rusqlite::Connection;
use rusqlite::types::Value;

use super::{Bench, at, blocked, every_job_event, note, origin, part, request};
use crate::{OpenError, Store};

const PAGE: usize = 4096;

/// A closed data file with something in every table.
fn file() -> Vec<u8> {
    let bench = Bench::new();
    for event in every_job_event() {
        bench.add(1, 0, vec![event]).unwrap();
    }
    bench.take_in(2, 1);
    bench
        .add(2, 2, vec![blocked(1, Whose::Owner), note(&"long ".repeat(2000))])
        .unwrap();
    bench
        .write(|tx| {
            tx.catalogue(&origin(4), at(4), &[part("mid", PartKind::Motor)])?;
            Ok(tx.remember(&request("r"), b"answer")?)
        })
        .unwrap();
    bench.store.close().unwrap();
    fs::read(bench.file()).unwrap()
}

/// Everything that is stored, table by table, but for the version that made each step, which
/// is only ever shown. A job's state stands as it reads: a `Z` of a moment may become a `z`.
fn content(file: &Path) -> Result<BTreeMap<String, Vec<Vec<Value>>>, rusqlite::Error> {
    let connection = Connection::open(file)?;
    let mut names =
        connection.prepare("SELECT name FROM sqlite_schema WHERE type = 'table' AND name <> 'migration'")?;
    let names: Vec<String> = names.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    let mut content = BTreeMap::new();
    for name in names {
        let mut statement = connection.prepare(&format!("SELECT * FROM {name}"))?;
        let width = statement.column_count();
        let rows = statement
            .query_map([], |row| (0..width).map(|at| row.get(at)).collect())?
            .collect::<Result<Vec<Vec<Value>>, _>>()?;
        let rows = rows.into_iter().map(as_read).collect();
        content.insert(name, rows);
    }
    Ok(content)
}

fn as_read(mut row: Vec<Value>) -> Vec<Value> {
    for column in &mut row {
        if let Value::Text(state) = column
            && let Ok(job) = serde_json::from_str::<Job>(state)
        {
            *state = serde_json::to_string(&job).unwrap();
        }
    }
    row
}

#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Outcome {
    Refused,
    Found,
    Harmless,
}

/// What becomes of a damaged file; panics when something stored changed and nobody noticed.
fn outcome(damaged: &[u8], whole: &BTreeMap<String, Vec<Vec<Value>>>, how: &str) -> Outcome {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lockring.db");
    fs::write(&path, damaged).unwrap();
    super::lay_picture(folder.path());
    match Store::open(folder.path()) {
        Err(OpenError::Damaged { .. } | OpenError::NotOurs { .. } | OpenError::Newer { .. }) => {
            assert!(
                fs::read(&path).unwrap() == damaged,
                "{how}: a refused file was written to"
            );
            Outcome::Refused
        }
        Err(_) => Outcome::Refused,
        Ok(store) => {
            let found = store.verify().map_or(true, |found| !found.problems.is_empty());
            drop(store);
            if found {
                return Outcome::Found;
            }
            assert_eq!(content(&path).as_ref(), Ok(whole), "{how}: nobody noticed");
            Outcome::Harmless
        }
    }
}

fn tally(turns: usize, damage: impl Fn(&mut Vec<u8>, &mut ChaCha8Rng) -> String) -> BTreeMap<String, usize> {
    let whole = file();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("whole.db");
    fs::write(&path, &whole).unwrap();
    let expected = content(&path).unwrap();
    let mut draw = ChaCha8Rng::seed_from_u64(20_260_302);
    let mut tally = BTreeMap::new();
    for _ in 0..turns {
        let mut damaged = whole.clone();
        let how = damage(&mut damaged, &mut draw);
        *tally
            .entry(format!("{:?}", outcome(&damaged, &expected, &how)))
            .or_default() += 1;
    }
    #[expect(clippy::print_stdout, reason = "figures of a test")]
    {
        println!("{tally:?}");
    }
    tally
}

fn below(draw: &mut ChaCha8Rng, bound: usize) -> usize {
    (draw.next_u64() % bound as u64) as usize
}

#[test]
fn a_flipped_bit_is_refused_found_or_changes_nothing() {
    let tally = tally(400, |file, draw| {
        let (byte, bit) = (below(draw, file.len()), below(draw, 8));
        file[byte] ^= 1 << bit;
        format!("bit {bit} of byte {byte}")
    });
    assert!(
        tally["Refused"] > 0 && tally["Found"] > 0 && tally["Harmless"] > 0,
        "{tally:?}"
    );
}

#[test]
fn an_overwritten_page_is_refused_found_or_changes_nothing() {
    let tally = tally(120, |file, draw| {
        let page = below(draw, file.len() / PAGE);
        let other = below(draw, file.len() / PAGE);
        match below(draw, 3) {
            0 => file[page * PAGE..][..PAGE].fill(0),
            1 => file[page * PAGE..][..PAGE].fill(0xA5),
            // A page of the file at the wrong place, as a drive may write it.
            _ => file.copy_within(other * PAGE..(other + 1) * PAGE, page * PAGE),
        }
        format!("page {page}, perhaps by page {other}")
    });
    assert!(
        tally["Refused"] > tally.get("Found").copied().unwrap_or(0),
        "{tally:?}"
    );
}
