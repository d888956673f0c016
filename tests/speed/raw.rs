//! The floor of a write: the same rows put into a copy of the same file by plain SQL, one commit
//! each, as durable as the daemon's.

use std::path::Path;

use rusqlite::{Connection, params};
use tempfile::TempDir;

/// What one change of a job writes, as the daemon wrote it.
struct Rows {
    job: u32,
    seq: i64,
    kind: String,
    payload: String,
    state: String,
    answer: Vec<u8>,
}

/// A copy of a shop's data file, written by plain SQL.
pub struct Raw {
    connection: Connection,
    jobs: Vec<Rows>,
    id: i64,
    _folder: TempDir,
}

impl Raw {
    /// Copies the data file of a folder that nobody serves.
    pub fn copy(folder: &Path) -> Self {
        let place = tempfile::tempdir().unwrap();
        let path = place.path().join("lockring.db");
        std::fs::copy(folder.join("lockring.db"), &path).unwrap();
        let connection = Connection::open(&path).unwrap();
        connection
            .execute_batch("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;")
            .unwrap();
        connection
            .execute_batch("CREATE TABLE bare (id INTEGER PRIMARY KEY, payload TEXT NOT NULL) STRICT")
            .unwrap();
        let jobs = rows(&connection);
        let id = connection
            .query_row("SELECT max(id) FROM journal", [], |row| row.get(0))
            .unwrap();
        Self {
            connection,
            jobs,
            id,
            _folder: place,
        }
    }

    /// Commits one row of a payload's size.
    pub fn bare(&mut self) {
        let sql = "INSERT INTO bare (payload) VALUES (?1)";
        let mut statement = self.connection.prepare_cached(sql).unwrap();
        statement.execute([&self.jobs[0].payload]).unwrap();
    }

    /// Commits every row that a change of a job writes.
    pub fn change(&mut self, job: usize) {
        self.id += 1;
        let rows = &mut self.jobs[job];
        rows.seq += 1;
        let run = |sql: &str, given: &[&dyn rusqlite::ToSql]| {
            let mut statement = self.connection.prepare_cached(sql).unwrap();
            assert_eq!(statement.execute(given).unwrap(), 1, "{sql}");
        };
        self.connection.execute_batch("BEGIN IMMEDIATE").unwrap();
        let hash = [7_u8; 32];
        run(
            "INSERT INTO journal (id, job, seq, made_us, stored_us, by_whom, terminal, kind, version, payload, \
             previous, hash) VALUES (?1, ?2, ?3, ?1, ?1, 'K', 'bench', ?4, 1, ?5, ?6, ?6)",
            params![self.id, rows.job, rows.seq, rows.kind, rows.payload, hash],
        );
        run(
            "UPDATE job SET revision = ?2, touched_us = ?2, state = ?3 WHERE number = ?1",
            params![rows.job, rows.seq, rows.state],
        );
        let id = format!("raw {}", self.id);
        run(
            "INSERT INTO answered (request_id, answer, at_us, asked, seal) VALUES (?1, ?2, ?3, ?4, ?4)",
            params![id, rows.answer, self.id, hash],
        );
        self.connection.execute_batch("COMMIT").unwrap();
    }
}

/// What the last change of each job wrote.
fn rows(connection: &Connection) -> Vec<Rows> {
    let answer: Vec<u8> = connection
        .query_row(
            "SELECT answer FROM answered ORDER BY at_us DESC LIMIT 1",
            [],
            |row| row.get(0),
        )
        .unwrap();
    let sql = "SELECT j.job, j.seq, j.kind, j.payload, s.state
        FROM job AS s JOIN journal AS j ON j.job = s.number AND j.seq = s.revision
        WHERE j.kind = 'recorded' ORDER BY s.number";
    let mut statement = connection.prepare(sql).unwrap();
    let read = statement.query_map([], |row| {
        Ok(Rows {
            job: row.get(0)?,
            seq: row.get(1)?,
            kind: row.get(2)?,
            payload: row.get(3)?,
            state: row.get(4)?,
            answer: answer.clone(),
        })
    });
    let rows: Vec<Rows> = read.unwrap().map(Result::unwrap).collect();
    assert!(!rows.is_empty(), "no job's last change was a measurement");
    rows
}
