//! Looking at every page of the data file, so that damage is found before it spreads: a small file
//! before it is served, a larger one meanwhile.
//!
//! | file | served | changes |
//! |---|---|---|
//! | up to 1 MiB | after the look | after the look |
//! | up to a fraction of a second of looking | at once | wait for the look |
//! | larger | at once | at once, into the log beside the file; the file itself waits |
//!
//! When damage is found nothing more is stored, and a mark beside the file makes the next start look
//! before it serves, so that it is refused there with the reason.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

use rusqlite::InterruptHandle;

use crate::error::{OpenError, StorageError};
use crate::{connection, folder, inspect};

/// How large a file may be, bytes, for each way to look at it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sizes {
    /// It is looked through before it is served: a millisecond or two.
    pub(crate) at_once: u64,
    /// Changes wait until it was looked through: a fraction of a second.
    pub(crate) before_changes: u64,
}

impl Sizes {
    /// What is looked at when.
    pub(crate) const USUAL: Self = Self {
        at_once: 1024 * 1024,
        before_changes: 64 * 1024 * 1024,
    };
}

/// When a file is looked through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum When {
    /// It was.
    Done,
    /// Before anything is stored.
    BeforeChanges,
    /// While things are stored in the log beside it.
    Meanwhile,
}

/// The look at one open file; whoever needs it first does it, and others wait for that.
pub(crate) struct Look {
    path: PathBuf,
    when: When,
    is_done: AtomicBool,
    is_damaged: AtomicBool,
    damage: Mutex<Option<OpenError>>,
    is_broken_off: AtomicBool,
    breaks_off: Mutex<Option<InterruptHandle>>,
}

impl Look {
    pub(crate) fn new(path: &Path, when: When) -> Self {
        Self {
            path: path.to_owned(),
            when,
            is_done: AtomicBool::new(when == When::Done),
            is_damaged: AtomicBool::new(false),
            damage: Mutex::default(),
            is_broken_off: AtomicBool::new(false),
            breaks_off: Mutex::default(),
        }
    }

    /// Whether every page was looked at and is good.
    pub(crate) fn is_done(&self) -> bool {
        self.is_done.load(Ordering::SeqCst)
    }

    /// Looks at every page, unless somebody did. Blocks the thread.
    ///
    /// # Errors
    /// [`OpenError::Damaged`], each time it is asked; [`OpenError::Storage`] when it was broken off
    /// or the file cannot be read.
    pub(crate) fn ensure(&self) -> Result<(), OpenError> {
        if self.is_done() {
            return Ok(());
        }
        let mut damage = lock(&self.damage);
        if let Some(found) = &*damage {
            return Err(found.clone());
        }
        if self.is_done() {
            return Ok(());
        }
        match self.look() {
            Ok(()) => {
                self.is_done.store(true, Ordering::SeqCst);
                Ok(())
            }
            Err(found @ OpenError::Damaged { .. }) => {
                *damage = Some(found.clone());
                self.is_damaged.store(true, Ordering::SeqCst);
                if let Err(error) = suspect(&self.path) {
                    tracing::error!(%error, "the next start will not know that the data file is damaged");
                }
                Err(found)
            }
            Err(other) => Err(other),
        }
    }

    fn look(&self) -> Result<(), OpenError> {
        let failed = |source: StorageError| OpenError::Storage {
            path: self.path.clone(),
            source,
        };
        let connection = connection::reader(&self.path).map_err(failed)?;
        *lock(&self.breaks_off) = Some(connection.get_interrupt_handle());
        if self.is_broken_off.load(Ordering::SeqCst) {
            return Err(failed(StorageError::Closed));
        }
        inspect::look_through(&connection, &self.path)
    }

    /// What keeps changes from being stored: damage, found now if they have to wait for the look.
    pub(crate) fn refuses_changes(&self) -> Option<StorageError> {
        let waits = self.when == When::BeforeChanges && !self.is_done();
        if !waits && !self.is_damaged.load(Ordering::SeqCst) {
            return None;
        }
        self.ensure().err().map(|error| match error {
            OpenError::Damaged { problem, .. } => StorageError::Damaged { detail: problem },
            OpenError::Storage { source, .. } | OpenError::Migration { source, .. } => source,
            other => StorageError::Database {
                detail: other.to_string(),
            },
        })
    }

    /// Ends a look that goes on.
    pub(crate) fn break_off(&self) {
        self.is_broken_off.store(true, Ordering::SeqCst);
        if let Some(look) = lock(&self.breaks_off).take() {
            look.interrupt();
        }
    }
}

/// The mark of a file in which damage was found while it was served.
fn mark(path: &Path) -> PathBuf {
    folder::beside(path, "-suspect")
}

fn suspect(path: &Path) -> io::Result<()> {
    File::create(mark(path))?.sync_all()
}

/// Whether damage was found in a file when it was last served.
pub(crate) fn is_suspect(path: &Path) -> bool {
    mark(path).exists()
}

/// Takes the mark away from a file that was looked through and is good: another lies there now.
pub(crate) fn clear(path: &Path) -> io::Result<()> {
    match fs::remove_file(mark(path)) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
