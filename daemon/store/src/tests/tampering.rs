//! Verifying names what was tampered with.

use lockring_domain::block::Whose;
use lockring_domain::entry::Event;
use lockring_domain::fact::Value;
use lockring_domain::part::{PartKind, Slot};
use rusqlite::Connection;

use super::{Bench, at, blocked, origin, part, receipt, stated};
use crate::StorageError;

/// An entry that changes nothing of the job and holds no private text.
fn cleared(why: &str) -> Event {
    Event::Cleared {
        number: 9,
        why: why.into(),
    }
}

/// Entries: 1 to 3 of job 1, 4 to 8 of job 2, 9 of the shop.
fn bench() -> Bench {
    let bench = Bench::new();
    bench.take_in(1, 0);
    bench.add(1, 1, vec![cleared("alpha"), cleared("beta")]).unwrap();
    bench.take_in(2, 2);
    bench
        .add(
            2,
            3,
            vec![
                stated("hill-grade", Value::Number(0.12)),
                Event::Chosen {
                    slot: Slot::Pack,
                    part: part("pack", PartKind::Pack),
                },
                Event::Received(receipt(Slot::Pack, "S-1", "L-7")),
                blocked(1, Whose::Owner),
            ],
        )
        .unwrap();
    bench
        .write(|tx| Ok(tx.catalogue(&origin(4), at(4), &[part("mid", PartKind::Motor)])?))
        .unwrap();
    assert_eq!(bench.problems(), [""; 0]);
    bench
}

/// Runs SQL with the triggers out of the way, and puts them back.
pub(super) fn tamper(bench: &Bench, sql: &str) {
    let raw = Connection::open(bench.file()).unwrap();
    let mut statement = raw
        .prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
        .unwrap();
    let triggers: Vec<(String, String)> = statement
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert_eq!(triggers.len(), 3);
    let drop: String = triggers
        .iter()
        .map(|(name, _)| format!("DROP TRIGGER {name};"))
        .collect();
    let put_back: String = triggers.iter().map(|(_, sql)| format!("{sql};")).collect();
    raw.execute_batch(&format!("PRAGMA foreign_keys = OFF; {drop} {sql}; {put_back}"))
        .unwrap();
}

fn found(sql: &str) -> Vec<String> {
    let bench = bench();
    tamper(&bench, sql);
    bench.problems()
}

const HASH_2: &str = "entry 2 (job 1, entry 2): its hash does not match what it says";

#[test]
fn a_changed_payload_names_its_entry() {
    assert_eq!(
        found("UPDATE journal SET payload = replace(payload, 'alpha', 'omega') WHERE id = 2"),
        [HASH_2]
    );
}

#[test]
fn every_stored_column_is_under_the_hash() {
    for change in [
        "made_us = made_us + 1",
        "stored_us = stored_us - 1",
        "by_whom = 'CD'",
        "terminal = 'bench 2'",
        "kind = 'held', payload = '{\"event\":\"held\",\"why\":\"x\",\"until\":null}'",
        "version = 1",
        "previous = randomblob(32)",
        "job = 3",
        "seq = 9",
    ] {
        let found = found(&format!("UPDATE journal SET {change} WHERE id = 2"));
        let hash_line = found
            .iter()
            .find(|line| line.ends_with("its hash does not match what it says"));
        assert!(
            hash_line.is_some_and(|line| line.starts_with("entry 2 (")),
            "{change}: {found:?}"
        );
    }
}

#[test]
fn a_rewritten_hash_shows_in_the_entry_after_it() {
    let sql = "UPDATE journal SET hash = randomblob(32) WHERE id = 2";
    assert_eq!(
        found(sql),
        [
            HASH_2,
            "entry 3 (job 1, entry 3): it was not made to follow the entry that stands before it"
        ]
    );
}

#[test]
fn a_removed_entry_is_named() {
    assert_eq!(
        found("DELETE FROM journal WHERE id = 2"),
        [
            "entry 2 is missing before entry 3 (job 1, entry 3)",
            "entry 3 (job 1, entry 3): entry 2 of job 1 is missing before it",
            "entry 3 (job 1, entry 3): it was not made to follow the entry that stands before it",
            "job 1: its entries do not fold: entry 3 of job 1 follows entry 1; expected entry 2",
        ]
    );
}

#[test]
fn a_history_cut_at_its_end_shows_in_the_job() {
    let sql = "DELETE FROM part; DELETE FROM journal WHERE id >= 8";
    assert_eq!(
        found(sql),
        [
            "job 2: the row of table job differs from its history in revision, state (blocks, last_block, revision)"
        ]
    );
}

#[test]
fn entries_that_changed_places_are_named() {
    let sql = "UPDATE journal SET id = 99 WHERE id = 2; UPDATE journal SET id = 2 WHERE id = 3; \
               UPDATE journal SET id = 3 WHERE id = 99";
    assert_eq!(
        found(sql),
        [
            "entry 2 (job 1, entry 3): entry 2 of job 1 is missing before it",
            "entry 2 (job 1, entry 3): it was not made to follow the entry that stands before it",
            "entry 2 (job 1, entry 3): its hash does not match what it says",
            "entry 3 (job 1, entry 2): it stands after entry 3 of its job",
            "entry 3 (job 1, entry 2): it was not made to follow the entry that stands before it",
            "entry 3 (job 1, entry 2): its hash does not match what it says",
            "entry 4 (job 2, entry 1): it was not made to follow the entry that stands before it",
        ]
    );
}

#[test]
fn an_inserted_entry_is_named() {
    let sql = "INSERT INTO journal SELECT 10, 1, 4, made_us, (SELECT max(stored_us) FROM journal), by_whom, terminal, \
               kind, version, payload, (SELECT hash FROM journal WHERE id = 9), zeroblob(32) FROM journal WHERE id = 3";
    assert_eq!(
        found(sql),
        [
            "entry 10 (job 1, entry 4): its hash does not match what it says",
            "job 1: the row of table job differs from its history in revision, state (revision)",
        ]
    );
}

#[test]
fn changed_tables_are_named_with_job_row_and_column() {
    for (sql, expected) in [
        (
            "UPDATE job SET stage = 'parts' WHERE number = 2",
            "job 2: the row of table job differs from its history in stage",
        ),
        (
            "UPDATE job SET state = json_set(state, '$.rider', 'nobody') WHERE number = 1",
            "job 1: the row of table job differs from its history in state (rider)",
        ),
        (
            "UPDATE job SET state = json_set(state, '$.facts.hill-grade.value', json('{\"number\":0.05}')) WHERE number = 2",
            "job 2: the row of table job differs from its history in state (facts)",
        ),
        (
            "UPDATE job SET state = 'no JSON' WHERE number = 1",
            "job 1: the row of table job differs from its history in state (the state of job 1 cannot be read: expected \
             ident at line 1 column 2)",
        ),
        (
            "DELETE FROM piece",
            "job 2: row 1 of table piece is missing; its history has it",
        ),
        (
            "UPDATE piece SET lot = 'L-8'",
            "job 2: row 1 of table piece differs from its history in lot",
        ),
        (
            "INSERT INTO order_line VALUES (1, 1, 0)",
            "job 1: row 1 of table order_line is not in its history",
        ),
        (
            "UPDATE part SET kind = 'pack'",
            "part `mid`: it differs from entry 9",
        ),
        (
            "DELETE FROM part",
            "part `mid`: it is missing; entry 9 put it into the catalogue",
        ),
        (
            "UPDATE part SET id = 'rear'",
            "part `rear`: no entry put it into the catalogue",
        ),
    ] {
        let found = found(sql);
        assert_eq!(
            found.first().map(String::as_str),
            Some(expected),
            "{sql}: {found:?}"
        );
    }
}

#[test]
fn a_job_without_entries_is_named() {
    let sql = "INSERT INTO job SELECT 7, stage, is_over, rider, revision, opened_us, stage_since_us, touched_us, state, outstanding \
               FROM job WHERE number = 1";
    assert_eq!(found(sql), ["job 7: it has a row but no entry"]);
}

#[test]
fn a_row_that_points_nowhere_is_named() {
    assert_eq!(
        found("UPDATE piece SET job = 9"),
        [
            "database: a row of table piece points to a missing row of job",
            "job 2: row 1 of table piece is missing; its history has it",
        ]
    );
}

#[test]
fn a_missing_trigger_or_a_table_that_is_not_ours_is_named() {
    let bench = bench();
    let raw = Connection::open(bench.file()).unwrap();
    raw.execute_batch("DROP TRIGGER journal_is_never_changed; DROP INDEX job_open; CREATE TABLE extra (a);")
        .unwrap();
    assert_eq!(
        bench.problems(),
        [
            "database: index job_open is missing",
            "database: trigger journal_is_never_changed is missing",
            "database: table extra does not belong here",
        ]
    );
    raw.execute_batch("DROP TABLE answered;").unwrap();
    assert!(
        bench
            .problems()
            .contains(&"database: table answered is missing".to_owned())
    );
}

#[test]
fn an_entry_of_an_unknown_kind_or_version_is_a_clear_error() {
    for (change, said) in [
        (
            "version = 99",
            "its payload has version 99; this program reads 1 to 2",
        ),
        (
            "kind = 'flown', payload = '{\"event\":\"flown\"}'",
            "kind `flown`, payload version 2: unknown variant `flown`",
        ),
        (
            "kind = 'held'",
            "its kind is `held` but its payload says `cleared`",
        ),
    ] {
        let bench = bench();
        tamper(&bench, &format!("UPDATE journal SET {change} WHERE id = 2"));
        let error = bench.store.read(|reader| reader.entries(1, 0)).unwrap_err();
        assert!(matches!(error, StorageError::Unreadable { .. }), "{error}");
        assert!(
            error
                .to_string()
                .starts_with("entry 2 (job 1, entry 2) cannot be read: "),
            "{error}"
        );
        assert!(error.to_string().contains(said), "{error}");
        let problems = bench.problems();
        assert!(problems.iter().any(|line| line.contains(said)), "{problems:?}");
    }
}
