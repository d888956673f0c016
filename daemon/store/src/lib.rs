//! The store: the journal and its projections in one SQLite file, and all the SQL there is.
//!
//! The journal is the truth. Every other table is written from a job's state in the same
//! transaction as the entries that lead to it, and [`Store::verify`] folds the journal again
//! and compares. One at a time writes: a thread, in batches, or a caller who comes alone
//! (`writer.rs`, `queue.rs`); readers see committed states only (`reader.rs`). A file is created whole
//! or not at all and never written to before it is known to be ours (`open.rs`).
#![cfg_attr(test, allow(clippy::unwrap_used))]

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;

use jiff::Timestamp;
use lockring_domain::job::Job;
use lockring_domain::photo::{Photo, Picture};
use lockring_domain::shop::Shop;
use look::{Look, Sizes};
use queue::{Pen, Queue};
use tokio::sync::oneshot;

mod answers;
mod backup;
mod cleaning;
mod connection;
mod digits;
mod error;
mod export;
mod folder;
mod found;
mod heeding;
mod import;
mod in_clear;
mod inspect;
mod leftover;
mod look;
mod migrate;
mod open;
mod open_files;
mod photos;
mod private;
mod projections;
mod queries;
mod queue;
mod readable;
mod reader;
mod rebuild;
mod recent;
mod removals;
mod restore;
mod retention;
mod revocations;
mod rows;
mod sealing;
mod shop_words;
mod stock;
mod supply;
mod sync;
#[cfg(test)]
mod tests;
mod tx;
mod veil;
mod verify;
mod writer;

pub use answers::Request;
pub use backup::{BackupDone, LastBackup};
pub use error::{OpenError, StorageError, WriteError};
pub use export::export;
pub use folder::{BACKUPS, PHOTOS};
pub use import::import;
pub use migrate::SCHEMA;
pub use reader::{Counts, History, JobFilter, Reader};
pub use restore::{MoveError, Moved, heed, restore};
pub use retention::LEAP;
pub use rows::whole_microseconds;
pub use tx::Tx;
pub use verify::Verification;

/// Most callers in the writer's queue: eight batches.
const WAITING: usize = 8 * writer::BATCH;

/// How much a caller has to write.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// Deciding takes a millisecond, and nothing is removed from the file: a reading, a word.
    Little,
    /// Nobody knows.
    Any,
}

/// The data file, open: one writer and a pool of readers.
///
/// Dropping it finishes the queue and closes the file, as [`Store::close`] does.
pub struct Store {
    folder: PathBuf,
    path: PathBuf,
    queue: Queue<writer::Task>,
    pen: Arc<Pen<writer::Book>>,
    writer: Mutex<Option<JoinHandle<Result<(), StorageError>>>>,
    readers: reader::Pool,
    /// Whether every page of the file was looked at.
    look: Arc<Look>,
    /// Whether the file is being cleaned of what was removed, and so large that it takes a while.
    is_cleaning: Arc<AtomicBool>,
    /// Whether no more changes are taken.
    is_ending: AtomicBool,
}

impl Store {
    /// Opens the data file `lockring.db` of a folder; makes it where there is none, and
    /// brings an older schema up to date. The folder must exist, and nothing else may have
    /// the file open: the caller holds the folder's lock.
    ///
    /// # Errors
    /// [`OpenError`], naming the file, what was found, what is expected, and the cure. A
    /// foreign, damaged or newer file is left as it is. Damage deep inside a file of more than a
    /// MiB is only found by [`Store::look_through`], or by the first change.
    pub fn open(folder: &Path) -> Result<Self, OpenError> {
        Self::open_looking_at(folder, Sizes::USUAL)
    }

    /// As [`Store::open`], of files that are large from so many bytes on.
    pub(crate) fn open_looking_at(folder: &Path, sizes: Sizes) -> Result<Self, OpenError> {
        let opened = open::writer(folder, sizes)?;
        let path = folder::data_file(folder);
        photos::clear_unfinished(folder).map_err(|error| OpenError::Storage {
            path: folder.join(PHOTOS),
            source: error.into(),
        })?;
        let (queue, tasks) = Queue::new(WAITING);
        let look = Arc::new(Look::new(&path, opened.look));
        let is_cleaning = Arc::new(AtomicBool::new(false));
        let keeper = writer::Keeper {
            connection: opened.connection,
            is_cleaning: is_cleaning.clone(),
            large: sizes.before_changes,
        };
        let recent = Arc::new(recent::Recent::default());
        let readers = reader::Pool::new(&path, recent.clone());
        let pen = Arc::new(Pen::new(writer::Book::new(keeper, recent, look.clone())));
        let held = pen.clone();
        let writer = std::thread::Builder::new()
            .name("store-writer".into())
            .spawn(move || writer::run(&held, &tasks))
            .map_err(|error| OpenError::Storage {
                path: path.clone(),
                source: error.into(),
            })?;
        Ok(Self {
            folder: folder.to_owned(),
            readers,
            path,
            queue,
            pen,
            writer: Mutex::new(Some(writer)),
            look,
            is_cleaning,
            is_ending: AtomicBool::new(false),
        })
    }

    /// Looks at every page of a file that was too large for [`Store::open`] to do so; at once `Ok`
    /// for one that was not. Until then changes wait, or what is stored goes into the log beside the
    /// file, and the file itself is not written to. Blocks the thread; others read meanwhile.
    ///
    /// # Errors
    /// [`OpenError::Damaged`]: nothing more is stored, the daemon should end, and the file stays as it
    /// was found.
    pub fn look_through(&self) -> Result<(), OpenError> {
        self.look.ensure()
    }

    /// The schema of the open file.
    pub const fn schema(&self) -> u32 {
        SCHEMA
    }

    /// The data file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Runs a closure inside the writer's transaction and answers after it is committed.
    ///
    /// The closure runs on the writer's thread, one at a time, and sees all that was stored before it.
    /// When it returns an error or panics, nothing it wrote is kept; others of the same batch are not
    /// touched. It runs even when the caller stops waiting.
    ///
    /// # Errors
    /// [`WriteError::Refused`] as the closure returned it; [`WriteError::Storage`] when
    /// something could not be stored: then nothing of it was, even if the closure went on (with
    /// [`StorageError::Unsure`] nobody knows yet), and with [`StorageError::Crowded`] or
    /// [`StorageError::Cleaning`] it did not even run.
    pub async fn write<T: Send + 'static>(
        &self,
        work: impl FnOnce(&mut Tx<'_>) -> Result<T, WriteError> + Send + 'static,
    ) -> Result<T, WriteError> {
        self.write_sized(Size::Any, work).await
    }

    /// As [`Store::write`]. While callers come one by one and the disk is quick, little work is done and
    /// committed on the thread that asks, which it blocks for as long, and neither thread has to be woken.
    /// Whoever stops waiting in the moment before that is not heard at all.
    ///
    /// # Errors
    /// As for [`Store::write`].
    pub async fn write_sized<T: Send + 'static>(
        &self,
        size: Size,
        work: impl FnOnce(&mut Tx<'_>) -> Result<T, WriteError> + Send + 'static,
    ) -> Result<T, WriteError> {
        if self.is_ending.load(Ordering::SeqCst) {
            return Err(StorageError::Closed.into());
        }
        if self.is_cleaning.load(Ordering::SeqCst) {
            return Err(StorageError::Cleaning.into());
        }
        let crowded = || StorageError::Crowded { waiting: WAITING };
        let place = self.queue.place().ok_or_else(crowded)?;
        let (reply, answer) = oneshot::channel();
        let mut task = Some(writer::task(work, reply, place.clone()));
        if size == Size::Little && self.pen.is_for_one() && self.look.is_done() {
            // Whoever else asks at this moment gets a place before, so that they are written together.
            tokio::task::yield_now().await;
            if self.is_cleaning.load(Ordering::SeqCst) {
                return Err(StorageError::Cleaning.into());
            }
            if self.queue.callers() == 1 {
                task = task.and_then(|task| self.pen.alone(task).err());
            }
        }
        if let Some(task) = task {
            self.enqueue(task)?;
        }
        match answer.await {
            Ok(Err(WriteError::Storage(error))) => Err(self.told(error).await.into()),
            Ok(answer) => answer,
            Err(_) => Err(StorageError::Closed.into()),
        }
    }

    /// An error with the file it is about, looked at on a thread that may wait.
    async fn told(&self, error: StorageError) -> StorageError {
        if !matches!(error, StorageError::Damaged { .. }) {
            return error.of(&self.path);
        }
        let (reply, told) = oneshot::channel();
        let (path, damaged) = (self.path.clone(), error.clone());
        let look = std::thread::Builder::new()
            .name("store-look".into())
            .spawn(move || {
                let _nobody_waits = reply.send(damaged.of(&path));
            });
        match look {
            Ok(_) => told.await.unwrap_or(error),
            Err(_) => error,
        }
    }

    /// Takes no more changes; those in the queue are still stored.
    pub fn take_no_more(&self) {
        self.is_ending.store(true, Ordering::SeqCst);
    }

    /// Whether somebody waits for a change to be stored.
    pub fn is_waited_for(&self) -> bool {
        self.queue.callers() > 0
    }

    /// Runs a closure on one committed state of the file. Blocks the thread for as long as
    /// the closure takes; never waits for the writer.
    ///
    /// # Errors
    /// [`StorageError`] from the closure, or when the file cannot be read or is closed.
    pub fn read<T>(
        &self,
        work: impl FnOnce(&Reader<'_>) -> Result<T, StorageError>,
    ) -> Result<T, StorageError> {
        self.readers.read(work).map_err(|error| error.of(&self.path))
    }

    /// Shop and job as they are stored, when that is known without a look at the file: what lately was
    /// written or read. Never waits, for no disk either.
    pub fn at_hand(&self, number: u32) -> Option<(Arc<Shop>, Arc<Job>)> {
        self.readers.at_hand(number)
    }

    /// Puts a picture beside the data file, through to the disk: to be done before its entry is
    /// written. Blocks the thread.
    ///
    /// # Errors
    /// [`StorageError`] when it cannot be written.
    pub fn keep_photo(&self, picture: &Picture, content: &[u8]) -> Result<(), StorageError> {
        let name = format!("{}.{}", picture.sha256, picture.format.extension());
        photos::keep(&self.folder, &name, &picture.sha256, content)
    }

    /// Whether a picture lies beside the data file and is what it should be. Blocks the thread.
    pub fn has_photo(&self, picture: &Picture) -> bool {
        let name = format!("{}.{}", picture.sha256, picture.format.extension());
        photos::is_kept(&self.folder, &name, &picture.sha256)
    }

    /// Reads a picture back. Blocks the thread.
    ///
    /// # Errors
    /// [`StorageError::Unsound`] when it is gone or not what was kept.
    pub fn photo(&self, photo: &Photo) -> Result<Vec<u8>, StorageError> {
        photos::read(&self.folder, photo)
    }

    /// Reads the whole journal, folds every job and compares with the stored tables, and looks at
    /// every picture it names. Blocks the thread; the writer goes on meanwhile.
    ///
    /// # Errors
    /// [`StorageError`] when the file cannot be read at all; what is wrong in it is listed in
    /// [`Verification::problems`].
    pub fn verify(&self) -> Result<Verification, StorageError> {
        self.read(|reader| {
            let mut found = verify::verify(reader.connection)?;
            let (problems, removed) = photos::check(reader.connection, &self.folder)?;
            found.problems.extend(problems);
            found.removed.extend(removed);
            Ok(found)
        })
    }

    /// Copies the file into a folder, named by the time `now`, and verifies the copy before
    /// it gets its name. The writer goes on meanwhile.
    ///
    /// # Errors
    /// [`StorageError::Unsound`] when the copy does not verify; other [`StorageError`]s when
    /// it cannot be written. No unfinished copy is left.
    pub async fn backup(&self, to_folder: &Path, now: Timestamp) -> Result<BackupDone, StorageError> {
        let (reply, answer) = oneshot::channel();
        let (source, folder) = (self.path.clone(), to_folder.to_owned());
        std::thread::Builder::new()
            .name("store-backup".into())
            .spawn(move || {
                let result = backup::backup(&source, &folder, now).map_err(|error| error.of(&folder));
                if reply.send(result).is_err() {
                    tracing::debug!("nobody waits for the backup any more");
                }
            })?;
        let broke_down = || StorageError::Panicked {
            message: "the backup ended without an answer".into(),
        };
        answer.await.unwrap_or_else(|_| Err(broke_down()))
    }

    /// Puts the pairs that were revoked into the list beside the backups, so that restoring one made
    /// before lets none of them in. Blocks the thread.
    ///
    /// # Errors
    /// [`StorageError`] when the list cannot be read or written; the next backup writes it as well.
    pub fn list_revoked(&self) -> Result<(), StorageError> {
        let shop = self.read(|reader| reader.shop())?;
        let _alone = backup::alone();
        revocations::list(&shop, &self.folder.join(BACKUPS))
    }

    /// The newest backup in the folder [`BACKUPS`] of the data folder that is not dated later than
    /// `now`; `None` when there is none.
    ///
    /// # Errors
    /// [`StorageError`] when the folder cannot be read.
    pub fn last_backup(&self, now: Timestamp) -> Result<Option<LastBackup>, StorageError> {
        backup::last_by(&self.folder.join(BACKUPS), now)
    }

    /// The backups in the same folder that are dated later than `now`, oldest first: the clock was
    /// wrong when they were made, or is.
    ///
    /// # Errors
    /// [`StorageError`] when the folder cannot be read.
    pub fn backups_ahead(&self, now: Timestamp) -> Result<Vec<PathBuf>, StorageError> {
        backup::ahead(&self.folder.join(BACKUPS), now)
    }

    /// The backups in the folder [`BACKUPS`] of the data folder that hold what tells who the rider
    /// of a job is. Blocks the thread.
    ///
    /// # Errors
    /// [`StorageError`] when the folder cannot be read.
    pub fn backups_with_rider(&self, job: &Job) -> Result<Vec<PathBuf>, StorageError> {
        backup::with_rider(&self.folder.join(BACKUPS), job.number, job.opened)
    }

    /// Removes backups that are not needed beside newer ones from the folder [`BACKUPS`] of the
    /// data folder; returns the files removed. What stays: all of a week, one a week for a
    /// quarter, one a month for two years, and the newest in any case.
    ///
    /// # Errors
    /// [`StorageError`] when the folder cannot be read or a file not be removed.
    pub fn prune_backups(&self, now: Timestamp) -> Result<Vec<PathBuf>, StorageError> {
        backup::prune(&self.folder.join(BACKUPS), now)
    }

    /// Takes no more work, finishes the queue, brings the write-ahead log into the file and
    /// closes it. Blocks the thread. Closing twice is fine.
    ///
    /// # Errors
    /// [`StorageError`] when the last step fails; all that was answered is stored even then.
    pub fn close(&self) -> Result<(), StorageError> {
        self.readers.close();
        self.look.break_off();
        self.queue.close();
        match lock(&self.writer).take().map(JoinHandle::join) {
            None => Ok(()),
            Some(Ok(result)) => result.map_err(|error| error.of(&self.path)),
            Some(Err(_)) => Err(StorageError::Panicked {
                message: "the writer's thread broke down".into(),
            }),
        }
    }

    fn enqueue(&self, task: writer::Task) -> Result<(), StorageError> {
        if self.queue.push(task) {
            return Ok(());
        }
        Err(StorageError::Closed)
    }
}

impl Drop for Store {
    fn drop(&mut self) {
        if let Err(error) = self.close() {
            tracing::error!(%error, "the store did not close well");
        }
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
