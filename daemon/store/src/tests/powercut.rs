//! Power cuts, played on copies of the files as a disk may hold them at that moment.
//!
//! What is synced stays; what was written after the last sync may be there, be missing, be
//! torn at any byte, or be there in some of its sectors only. The log is read by its published
//! format ("WAL File Format", SQLite documentation, section 4 of "Database File Format": a
//! header of 32 bytes, then frames of 24 bytes and a page; the frame that ends a transaction
//! holds the file's size in pages in its bytes 4 to 7).
//!
//! This proves that any such state is recovered to whole transactions, those answered among
//! them. It does not prove that a drive keeps what it says it has synced.

use std::fs;
use std::path::Path;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::{Bench, note};
use crate::Store;

const LOG_HEADER: usize = 32;
const FRAME_HEADER: usize = 24;
const PAGE: usize = 4096;
const FRAME: usize = FRAME_HEADER + PAGE;
/// What a disk writes whole.
const SECTOR: usize = 512;

/// The files after some answered transactions of two notes each, and the length of the log as
/// each was answered.
struct Disk {
    file: Vec<u8>,
    log: Vec<u8>,
    answered_at: Vec<usize>,
    _bench: Bench,
}

impl Disk {
    fn after(transactions: usize) -> Self {
        let bench = Bench::new();
        bench.take_in(1, 0);
        let log = || bench.folder.path().join("lockring.db-wal");
        let mut answered_at = vec![fs::metadata(log()).unwrap().len() as usize];
        for turn in 1..transactions {
            let pair = vec![note(&format!("{turn} a")), note(&format!("{turn} b"))];
            bench.add(1, 1, pair).unwrap();
            answered_at.push(fs::metadata(log()).unwrap().len() as usize);
        }
        Self {
            file: fs::read(bench.file()).unwrap(),
            log: fs::read(log()).unwrap(),
            answered_at,
            _bench: bench,
        }
    }

    /// Ends of the frames that end a transaction, read off the log.
    fn commits(&self) -> Vec<usize> {
        (LOG_HEADER..self.log.len())
            .step_by(FRAME)
            .filter(|start| self.log[start + 4..start + 8] != [0; 4])
            .map(|start| start + FRAME)
            .collect()
    }
}

/// Transactions found after the power is back: the taking in is the first, each pair of notes
/// one more. The file must be sound.
fn recovered(file: &[u8], log: &[u8]) -> usize {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("lockring.db"), file).unwrap();
    fs::write(folder.path().join("lockring.db-wal"), log).unwrap();
    let store = open(folder.path());
    let found = store.verify().unwrap();
    assert_eq!(found.problems, [""; 0]);
    if found.entries == 0 {
        return 0;
    }
    assert_eq!(
        found.entries % 2,
        1,
        "half a transaction of {} entries",
        found.entries
    );
    1 + (found.entries as usize - 1) / 2
}

fn open(folder: &Path) -> Store {
    Store::open(folder).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn the_log_is_as_long_as_what_was_answered() {
    let disk = Disk::after(6);
    assert_eq!(
        disk.answered_at,
        disk.commits(),
        "each answer came after the last byte of its transaction"
    );
    assert_eq!(disk.log.len(), disk.answered_at[5]);
    assert_eq!(recovered(&disk.file, &disk.log), 6);
}

#[test]
fn a_log_cut_at_any_byte_leaves_the_transactions_that_end_before() {
    let disk = Disk::after(4);
    let last = disk.answered_at[2];
    let mut cuts: Vec<usize> = (0..disk.log.len()).step_by(FRAME / 3).collect();
    for end in (LOG_HEADER..=disk.log.len()).step_by(FRAME) {
        cuts.extend([end - 1, end, end + 1, end + FRAME_HEADER]);
    }
    // Every byte of the header of the last transaction's frames.
    for frame in (last..disk.log.len()).step_by(FRAME) {
        cuts.extend(frame..frame + FRAME_HEADER);
    }
    cuts.retain(|cut| *cut <= disk.log.len());
    cuts.sort_unstable();
    cuts.dedup();
    for cut in cuts {
        let expected = disk.answered_at.iter().filter(|end| **end <= cut).count();
        assert_eq!(
            recovered(&disk.file, &disk.log[..cut]),
            expected,
            "cut at byte {cut}"
        );
    }
}

#[test]
fn a_tail_of_zeros_noise_or_missing_sectors_leaves_the_transactions_before_it() {
    let disk = Disk::after(4);
    let mut draw = ChaCha8Rng::seed_from_u64(20_260_302);
    let mut below = |bound: usize| (draw.next_u64() % bound as u64) as usize;
    for turn in 0..120 {
        let answered = 1 + below(3);
        let synced = disk.answered_at[answered - 1];
        let mut log = disk.log.clone();
        match turn % 3 {
            0 => log[synced + below(FRAME)..].fill(0),
            1 => log[synced..].iter_mut().for_each(|byte| *byte = below(256) as u8),
            _ => {
                // The next transaction was on its way in any order of sectors.
                log.truncate(disk.answered_at[answered]);
                for sector in log[synced..].chunks_mut(SECTOR) {
                    if below(3) == 0 {
                        sector.fill(0);
                    }
                }
            }
        }
        let found = recovered(&disk.file, &log);
        let whole = log == disk.log[..log.len()];
        assert!(
            found == answered || (found == answered + 1 && whole),
            "turn {turn}: {found} transactions; {answered} were answered"
        );
    }
}

/// While the log is brought into the file, the file's pages may be there in any mixture; the
/// log is complete until the file is synced.
#[test]
fn a_checkpoint_torn_at_any_sector_loses_nothing() {
    let disk = Disk::after(6);
    let bench = Bench::new();
    bench.store.close().unwrap();
    fs::write(bench.file(), &disk.file).unwrap();
    fs::write(bench.folder.path().join("lockring.db-wal"), &disk.log).unwrap();
    open(bench.folder.path()).close().unwrap();
    let after = fs::read(bench.file()).unwrap();
    assert_ne!(after, disk.file, "nothing was brought into the file");
    let mut draw = ChaCha8Rng::seed_from_u64(7);
    for turn in 0..60 {
        let length = SECTOR
            * (disk.file.len() / SECTOR).max((draw.next_u64() % (after.len() / SECTOR) as u64) as usize);
        let mut torn = after[..length].to_vec();
        for (at, sector) in torn.chunks_mut(SECTOR).enumerate() {
            if let Some(old) = disk.file.get(at * SECTOR..(at + 1) * SECTOR)
                && draw.next_u64() % 2 == 0
            {
                sector.copy_from_slice(old);
            }
        }
        assert_eq!(recovered(&torn, &disk.log), 6, "turn {turn}");
    }
}
