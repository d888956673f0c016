//! The one writer: what a thread does with work from the queue, and a caller who comes alone with its own.
//!
//! Every caller's work is a part of one transaction. The first part needs no mark, for dropping it ends the
//! transaction; everybody after has a savepoint. One COMMIT makes the batch durable, and only then is anybody answered (`queue.rs`).

use std::any::Any;
use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use rusqlite::config::DbConfig;
use rusqlite::ffi::SQLITE_IOERR_WRITE;
use rusqlite::{Connection, ErrorCode};
use tokio::sync::oneshot;

use crate::cleaning::clean;
use crate::error::{StorageError, WriteError};
use crate::look::Look;
use crate::migrate::SCHEMA;
use crate::queue::{Done, Ledger, Pen, Place};
use crate::recent::Recent;
use crate::sync::Receiver;
use crate::tx::Tx;

/// Most callers in one transaction: bounds how long the first one waits.
pub(crate) const BATCH: usize = 128;

/// Pages of the write-ahead log from which on it is taken into the file, as often as something is in it
/// that is not taken yet (SQLite's own default, and rule).
const LOG_PAGES: i64 = 1000;

/// The work of one caller: run inside the transaction, or told why there is none.
pub(crate) type Task = Box<dyn FnOnce(Result<&mut Tx<'_>, StorageError>) -> Done<StorageError> + Send>;

/// Wraps a caller's closure so that the writer needs to know nothing of its answer's type.
pub(crate) fn task<T: Send + 'static>(
    work: impl FnOnce(&mut Tx<'_>) -> Result<T, WriteError> + Send + 'static,
    reply: oneshot::Sender<Result<T, WriteError>>,
    place: Place,
) -> Task {
    Box::new(move |tx| {
        let (result, clean) = match tx {
            Ok(tx) => (attempt(work, tx), tx.clean),
            Err(error) => (Err(WriteError::Storage(error)), false),
        };
        let keep = result.is_ok();
        let answer = Box::new(move |lost: Option<StorageError>| {
            let result = match (result, lost) {
                (Err(WriteError::Storage(own)), _) => Err(WriteError::Storage(own)),
                (_, Some(lost)) => Err(WriteError::Storage(lost)),
                (result, None) => result,
            };
            // Whoever hears the answer holds the place until then.
            drop(place);
            if reply.send(result).is_err() {
                tracing::debug!("a caller went away before its answer");
            }
        });
        Done { keep, clean, answer }
    })
}

/// Runs the closure; a panic and a write error the closure made nothing of are errors.
fn attempt<T>(
    work: impl FnOnce(&mut Tx<'_>) -> Result<T, WriteError>,
    tx: &mut Tx<'_>,
) -> Result<T, WriteError> {
    let result = match catch_unwind(AssertUnwindSafe(|| work(tx))) {
        Ok(result) => result,
        Err(panic) => {
            let message = panic_message(panic.as_ref());
            tracing::error!(
                message,
                "a request broke down in the writer; nothing of it is stored"
            );
            Err(WriteError::Storage(StorageError::Panicked { message }))
        }
    };
    match (result, tx.failed.take()) {
        (Ok(_), Some(failed)) => Err(WriteError::Storage(failed)),
        (result, _) => result,
    }
}

fn panic_message(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|text| (*text).to_owned());
    text.or_else(|| panic.downcast_ref::<String>().cloned())
        .unwrap_or_else(|| "no message".into())
}

/// Serves the queue until its last sender is gone, then brings the write-ahead log into the
/// data file and closes it. A file that is not known to be undamaged by then keeps its log beside
/// it instead.
pub(crate) fn run(pen: &Pen<Book>, tasks: &Receiver<Task>) -> Result<(), StorageError> {
    let broke_down = || StorageError::Panicked {
        message: "whoever wrote last broke down".into(),
    };
    let book = pen.serve(tasks, BATCH).ok_or_else(broke_down)?;
    let connection = book.keeper.connection;
    if !book.look.is_done() {
        connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
        return connection.close().map_err(|(_, error)| StorageError::from(error));
    }
    let is_busy: bool = connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    if is_busy {
        tracing::warn!("a reader is still at work: the write-ahead log stays beside the data file");
    }
    connection.close().map_err(|(_, error)| StorageError::from(error))
}

/// The data file as the writer keeps it.
pub(crate) struct Keeper {
    pub(crate) connection: Connection,
    /// Set while a large file is cleaned, so that callers are told and not kept waiting.
    pub(crate) is_cleaning: Arc<AtomicBool>,
    /// From so many bytes on a file is large.
    pub(crate) large: u64,
}

impl Keeper {
    fn is_large(&self) -> bool {
        let length = |path| std::fs::metadata(path).map_or(0, |seen| seen.len());
        self.connection.path().map_or(0, length) >= self.large
    }
}

/// The ledger of the one writer: the file, what lately was written, and whether it may be written to.
pub(crate) struct Book {
    keeper: Keeper,
    recent: Arc<Recent>,
    look: Arc<Look>,
    /// What SQLite calls the version of the data, which only others' commits change.
    version: Cell<Option<i64>>,
    /// Whether the caller's part is all there is in the transaction so far, and needs no mark where it begins.
    is_first: Cell<bool>,
    /// How many rows were ever changed when the transaction began.
    before: Cell<u64>,
}

impl Book {
    pub(crate) const fn new(keeper: Keeper, recent: Arc<Recent>, look: Arc<Look>) -> Self {
        Self {
            keeper,
            recent,
            look,
            version: Cell::new(None),
            is_first: Cell::new(false),
            before: Cell::new(0),
        }
    }

    const fn connection(&self) -> &Connection {
        &self.keeper.connection
    }

    /// Runs a statement that every batch needs, read from its text but once.
    fn perform(&self, sql: &str) -> rusqlite::Result<()> {
        self.connection().prepare_cached(sql)?.execute([])?;
        Ok(())
    }

    /// Forgets what is known without a look at the file when somebody else wrote to it. Nobody should
    /// while a daemon serves it.
    fn heed_others(&self) -> rusqlite::Result<()> {
        let version = self
            .connection()
            .prepare_cached("PRAGMA data_version")?
            .query_row([], |row| row.get(0))?;
        if self.version.replace(Some(version)) != Some(version) {
            self.recent.lose_all();
        }
        Ok(())
    }

    /// Takes the log into the file when it has become long.
    fn take_log_in(&self) -> rusqlite::Result<()> {
        let told = |sql| {
            self.connection()
                .prepare_cached(sql)?
                .query_row([], |row| Ok((row.get(1)?, row.get(2)?)))
        };
        let (pages, taken): (i64, i64) = told("PRAGMA wal_checkpoint(NOOP)")?;
        if pages >= LOG_PAGES && taken < pages {
            let (pages, taken): (i64, i64) = told("PRAGMA wal_checkpoint(PASSIVE)")?;
            tracing::trace!(pages, taken, "the log was taken into the file");
        }
        Ok(())
    }

    /// Writes the least there is, which changes nothing, over what a commit left in the log that
    /// failed in its last step. Without it the next start would find that commit whole, although
    /// whoever asked for it was told that it was not stored.
    fn write_over(&self) -> rusqlite::Result<()> {
        self.connection().pragma_update(None, "user_version", SCHEMA)
    }
}

/// Whether all of a commit that failed may have been written: the sync behind it failed, or the index
/// of the log. One that was not written whole is found by nobody.
fn may_lie_in_log(error: &rusqlite::Error) -> bool {
    match error.sqlite_error_code() {
        Some(ErrorCode::SystemIoFailure) => error.sqlite_extended_error_code() != Some(SQLITE_IOERR_WRITE),
        Some(ErrorCode::OutOfMemory) => true,
        _ => false,
    }
}

impl Ledger for Book {
    type Error = StorageError;
    type Work = Task;

    fn begin(&self) -> Result<(), StorageError> {
        if let Some(error) = self.look.refuses_changes() {
            return Err(error);
        }
        let is_first = self.connection().is_autocommit();
        self.is_first.set(is_first);
        if is_first {
            self.perform("BEGIN IMMEDIATE")?;
            self.before.set(self.connection().total_changes());
            if let Err(error) = self.heed_others() {
                self.recent.lose_all();
                self.perform("ROLLBACK")?;
                return Err(error.into());
            }
            return Ok(());
        }
        Ok(self.perform("SAVEPOINT caller")?)
    }

    fn run(&self, task: Task, begun: Result<(), StorageError>) -> Done<StorageError> {
        match begun {
            Ok(()) => task(Ok(&mut Tx::remembering(self.connection(), self.recent.clone()))),
            Err(error) => task(Err(error)),
        }
    }

    /// Some errors, a full disk among them, make SQLite roll the transaction back by itself
    /// ("Response To Errors Within A Transaction", SQLite documentation).
    fn settle(&self, keep: bool) -> Result<(), StorageError> {
        if self.connection().is_autocommit() {
            let detail = "another change of the same moment met it, and this one was undone with that".into();
            return Err(StorageError::Io { detail });
        }
        if !keep {
            self.recent.forget_written();
        }
        match (self.is_first.get(), keep) {
            (true, true) => {}
            (true, false) => self.perform("ROLLBACK")?,
            (false, true) => self.perform("RELEASE caller")?,
            (false, false) => {
                self.perform("ROLLBACK TO caller")?;
                self.perform("RELEASE caller")?;
            }
        }
        Ok(())
    }

    fn is_open(&self) -> bool {
        !self.connection().is_autocommit()
    }

    fn commit(&self) -> Result<bool, StorageError> {
        let has_any = self.connection().total_changes() != self.before.get();
        self.recent.commit_begins();
        let committed = self.perform("COMMIT");
        self.recent.commit_ends(committed.is_ok());
        let Err(error) = committed else {
            return Ok(has_any);
        };
        if may_lie_in_log(&error)
            && let Err(also) = self.write_over()
        {
            tracing::error!(error = %also, "a batch may lie in the log and could not be written over");
            let detail = error.to_string();
            return Err(StorageError::Unsure { detail });
        }
        Err(error.into())
    }

    fn abandon(&self, error: &StorageError, callers: usize) {
        tracing::error!(%error, callers, "a batch was not stored");
        self.recent.forget_written();
        if !self.connection().is_autocommit()
            && let Err(also) = self.connection().execute_batch("ROLLBACK")
        {
            tracing::error!(error = %also, "and could not be rolled back");
        }
    }

    /// A file that is not known to be undamaged is not written to: what is stored stays in the log.
    fn rest(&self) {
        if !self.look.is_done() {
            return;
        }
        if let Err(error) = self.take_log_in() {
            tracing::warn!(%error, "the write-ahead log stays beside the data file and grows");
        }
    }

    /// A file that is not known to be undamaged waits, as for [`Ledger::rest`]; the mark in it stays.
    fn clean(&self) {
        if !self.look.is_done() {
            tracing::info!(
                "the file still holds what was removed: it is looked through first, and cleaned tonight"
            );
            return;
        }
        self.keeper
            .is_cleaning
            .store(self.keeper.is_large(), Ordering::SeqCst);
        let cleaned = clean(self.connection());
        self.keeper.is_cleaning.store(false, Ordering::SeqCst);
        if let Err(error) = cleaned {
            tracing::error!(%error, "the file still holds what was removed; it is cleaned at the next start, or tonight");
        }
    }
}
