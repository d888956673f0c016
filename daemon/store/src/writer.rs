//! The one writer: a thread that takes work from a queue and commits it in batches.
//!
//! Every caller's work runs in a savepoint of one transaction, one COMMIT makes the batch
//! durable, and only then is anybody answered. A batch needs no timer: what arrived while
//! the last one was written is the next one.

use std::any::Any;
use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::rc::Rc;
use std::sync::mpsc::Receiver;

use rusqlite::Connection;
use rusqlite::config::DbConfig;
use tokio::sync::oneshot;

use crate::error::{StorageError, WriteError};
use crate::look::Look;
use crate::private;
use crate::recent::Recent;
use crate::tx::Tx;

/// Most callers in one transaction: bounds how long the first one waits.
pub(crate) const BATCH: usize = 128;

/// Sends a caller's answer; given the error when the work was lost with its batch.
type Answer = Box<dyn FnOnce(Option<StorageError>) + Send>;

/// What running a caller's work led to.
pub(crate) struct Done {
    /// Whether to keep what it wrote.
    keep: bool,
    /// Whether the file is to be cleaned of what it removed.
    clean: bool,
    answer: Answer,
}

/// The work of one caller: run inside the transaction, or told why there is none.
pub(crate) type Task = Box<dyn FnOnce(Result<&mut Tx<'_>, StorageError>) -> Done + Send>;

/// Wraps a caller's closure so that the writer needs to know nothing of its answer's type.
pub(crate) fn task<T: Send + 'static>(
    work: impl FnOnce(&mut Tx<'_>) -> Result<T, WriteError> + Send + 'static,
    reply: oneshot::Sender<Result<T, WriteError>>,
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
pub(crate) fn run(connection: Connection, queue: &Receiver<Task>, look: &Look) -> Result<(), StorageError> {
    let recent = Rc::default();
    while let Ok(first) = queue.recv() {
        let refused = look.refuses_changes();
        let batch = std::iter::once(first).chain(queue.try_iter()).take(BATCH);
        match refused {
            None => serve(&connection, &recent, batch),
            Some(error) => batch.for_each(|task| (task(Err(error.clone())).answer)(None)),
        }
    }
    if !look.is_done() {
        connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
        return connection.close().map_err(|(_, error)| StorageError::from(error));
    }
    let is_busy: bool = connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    if is_busy {
        tracing::warn!("a reader is still at work: the write-ahead log stays beside the data file");
    }
    connection.close().map_err(|(_, error)| StorageError::from(error))
}

fn serve(connection: &Connection, recent: &Rc<RefCell<Recent>>, batch: impl Iterator<Item = Task>) {
    let mut answers: Vec<Answer> = Vec::new();
    let mut clean = false;
    for task in batch {
        let done = match begin(connection) {
            Ok(()) => task(Ok(&mut Tx::remembering(connection, recent.clone()))),
            Err(error) => {
                (task(Err(error)).answer)(None);
                continue;
            }
        };
        let kept = settle(connection, done.keep);
        answers.push(done.answer);
        clean |= done.keep && done.clean;
        if let Err(error) = kept {
            abandon(connection, &error, &mut answers);
        }
    }
    if connection.is_autocommit() {
        return;
    }
    match connection.execute_batch("COMMIT") {
        Ok(()) => {
            if clean && let Err(error) = private::clean(connection) {
                tracing::error!(%error, "the file still holds what was removed; it is cleaned at the next start, or tonight");
            }
            answers.into_iter().for_each(|answer| answer(None));
        }
        Err(error) => abandon(connection, &error.into(), &mut answers),
    }
}

/// Begins the batch's transaction unless it is under way, and the caller's savepoint in it.
fn begin(connection: &Connection) -> Result<(), StorageError> {
    if connection.is_autocommit() {
        connection.execute_batch("BEGIN IMMEDIATE")?;
    }
    connection.execute_batch("SAVEPOINT caller")?;
    Ok(())
}

/// Keeps or drops what the caller wrote.
///
/// # Errors
/// When the whole transaction is lost: some errors, a full disk among them, make SQLite roll
/// it back by itself ("Response To Errors Within A Transaction", SQLite documentation).
fn settle(connection: &Connection, keep: bool) -> Result<(), StorageError> {
    if connection.is_autocommit() {
        let detail = "an earlier failure rolled the transaction back".into();
        return Err(StorageError::Database { detail });
    }
    let sql = if keep {
        "RELEASE caller"
    } else {
        "ROLLBACK TO caller; RELEASE caller"
    };
    connection.execute_batch(sql)?;
    Ok(())
}

/// Drops the whole batch and tells everybody in it.
fn abandon(connection: &Connection, error: &StorageError, answers: &mut Vec<Answer>) {
    tracing::error!(%error, callers = answers.len(), "a batch was not stored");
    if !connection.is_autocommit()
        && let Err(also) = connection.execute_batch("ROLLBACK")
    {
        tracing::error!(error = %also, "and could not be rolled back");
    }
    for answer in answers.drain(..) {
        answer(Some(error.clone()));
    }
}
