//! A disk that goes wrong when it is told to, put before a program's C library (`disk.c`), and
//! power cuts played on what the disk was told.
#![cfg_attr(
    not(target_env = "gnu"),
    allow(dead_code, reason = "disk.c knows the GNU C library alone")
)]

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;

use super::seed::Seed;

/// The rules, and what a library that is put before another one is called by the system's loader.
const RULES: &str = "LOCKRING_DISK";
const RECORD: &str = "LOCKRING_DISK_RECORD";
const BEFORE: &str = "LD_PRELOAD";

/// A disk whose faults stand in a file.
pub struct Disk {
    folder: TempDir,
}

impl Disk {
    /// A disk that works.
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support/disk.c");
        let built = Command::new("cc")
            .args(["-O1", "-Wall", "-Wextra", "-Werror", "-shared", "-fPIC", "-o"])
            .arg(folder.path().join("disk.so"))
            .arg(source)
            .output()
            .expect("a C compiler under the name cc");
        let said = String::from_utf8_lossy(&built.stderr);
        assert!(built.status.success(), "disk.c does not compile: {said}");
        let disk = Self { folder };
        disk.does("");
        disk
    }

    /// What the disk does from now on: the rules that `disk.c` describes, one a line.
    pub fn does(&self, rules: &str) {
        let unfinished = self.folder.path().join("rules.new");
        std::fs::write(&unfinished, rules).unwrap();
        std::fs::rename(unfinished, self.rules()).unwrap();
    }

    /// What puts the disk before a program.
    pub fn environment(&self) -> Vec<(&'static str, OsString)> {
        vec![
            (BEFORE, self.folder.path().join("disk.so").into()),
            (RULES, self.rules().into()),
        ]
    }

    /// As [`Disk::environment`], and all that is written is recorded.
    pub fn recording(&self) -> Vec<(&'static str, OsString)> {
        let mut environment = self.environment();
        environment.push((RECORD, self.record().into()));
        environment
    }

    fn rules(&self) -> PathBuf {
        self.folder.path().join("rules")
    }

    fn record(&self) -> PathBuf {
        self.folder.path().join("record")
    }

    /// Begins to record anew, from data file and log as they lie in a folder and as if all of it was
    /// synced. Nobody may serve the folder.
    pub fn begin_record(&self, folder: &Path) -> Synced {
        std::fs::write(self.record(), "").unwrap();
        let read = |name| std::fs::read(folder.join(name)).unwrap_or_default();
        Synced {
            files: NAMES.map(read),
        }
    }

    /// Cuts the power: puts data file and log of a folder, which nobody serves any more, into a state
    /// in which they may be found afterwards. What was synced is there; of what was written since, each
    /// sector is there or is not, and the last write may be torn.
    pub fn cut_power(&self, since: Synced, folder: &Path, seed: &mut Seed) {
        let record = std::fs::read(self.record()).unwrap();
        let found = since.after(&record, seed);
        for (name, content) in NAMES.iter().zip(found) {
            std::fs::write(folder.join(name), content).unwrap();
        }
        // Lies in memory alone, whatever a file system does with it.
        std::fs::remove_file(folder.join("lockring.db-shm")).unwrap();
    }
}

/// What puts the disk of this very process before another program; nothing when it has none.
pub fn handed_on() -> Vec<(&'static str, OsString)> {
    let read = |name| std::env::var_os(name).map(|value| (name, value));
    match read(RULES) {
        Some(rules) => read(BEFORE).into_iter().chain([rules]).collect(),
        None => Vec::new(),
    }
}

/// The files that are recorded, in the order of their numbers in the record.
const NAMES: [&str; 2] = ["lockring.db", "lockring.db-wal"];

/// What a disk writes whole.
const SECTOR: usize = 512;

/// Data file and log as they were synced.
pub struct Synced {
    files: [Vec<u8>; 2],
}

/// What was written or cut, and not synced yet.
#[derive(Debug, Clone, Copy)]
enum Pending<'r> {
    Write { offset: usize, bytes: &'r [u8] },
    Cut { length: usize },
}

impl Synced {
    /// What is found after a power cut at the end of a record.
    fn after(mut self, record: &[u8], seed: &mut Seed) -> [Vec<u8>; 2] {
        let mut pending: [Vec<Pending<'_>>; 2] = Default::default();
        for (file, deed) in deeds(record) {
            match deed {
                Deed::Changed(change) => pending[file].push(change),
                Deed::Synced => {
                    for change in pending[file].drain(..) {
                        change.done(&mut self.files[file], &mut || true);
                    }
                }
                // The system takes the pages as clean: nothing of them is written any more.
                Deed::SyncFailed => pending[file].clear(),
            }
        }
        for (file, pending) in self.files.iter_mut().zip(pending) {
            // All, none, or any mixture of it.
            let way = seed.below(4);
            for change in pending {
                change.done(file, &mut || way == 0 || (way > 1 && seed.below(2) == 0));
            }
        }
        self.files
    }
}

impl Pending<'_> {
    /// Does it to a file, in those of its sectors that are chosen. The last is torn where the write ends.
    fn done(self, file: &mut Vec<u8>, choose: &mut impl FnMut() -> bool) {
        match self {
            Self::Cut { length } => {
                if choose() {
                    file.resize(length, 0);
                }
            }
            Self::Write { offset, bytes } => {
                let (mut at, mut rest) = (offset, bytes);
                while !rest.is_empty() {
                    let (now, later) = rest.split_at(rest.len().min(SECTOR - at % SECTOR));
                    if choose() {
                        file.resize(file.len().max(at + now.len()), 0);
                        file[at..at + now.len()].copy_from_slice(now);
                    }
                    (at, rest) = (at + now.len(), later);
                }
            }
        }
    }
}

enum Deed<'r> {
    Changed(Pending<'r>),
    Synced,
    SyncFailed,
}

/// Reads a record; a last part that is not whole was never done.
fn deeds(mut record: &[u8]) -> impl Iterator<Item = (usize, Deed<'_>)> {
    std::iter::from_fn(move || {
        let (head, rest) = record.split_at_checked(4 * 8)?;
        let mut numbers = head
            .chunks(8)
            .map(|bytes| u64::from_ne_bytes(bytes.try_into().unwrap()));
        let mut next = || usize::try_from(numbers.next().unwrap()).unwrap();
        let [deed, file, offset, length] = [next(), next() - 1, next(), next()];
        let (bytes, rest) = rest.split_at_checked(length)?;
        record = rest;
        let deed = match deed {
            1 => Deed::Changed(Pending::Write { offset, bytes }),
            2 => Deed::Changed(Pending::Cut { length: offset }),
            3 => Deed::Synced,
            4 => Deed::SyncFailed,
            other => panic!("deed {other} in the record"),
        };
        Some((file, deed))
    })
}
