//! The write-ahead log that a kill or a crash left behind: put on the disk once more before anything
//! is built on it.
//!
//! A sync that fails leaves the pages it was to write in the system's memory, marked as clean: whoever
//! reads the file sees them, no later sync writes them, and after a power cut they are gone (A. Rebello
//! and others, "Can Applications Recover from fsync Failures?", USENIX ATC 2020). A running writer does
//! not care: its next transaction is written over the one whose sync failed. But a daemon that starts
//! on such a log finds that transaction whole, and what it then stored behind it would go with it. Nobody
//! can tell by reading, so every log that is found is written again, byte for byte, and synced.

use std::fs::File;
use std::io;
use std::os::unix::fs::FileExt;
use std::path::Path;

/// Bytes written at a time.
const PIECE: usize = 256 * 1024;

/// Writes a log again where it lies and makes it durable; nothing where there is none.
///
/// # Errors
/// What the system says: then nothing may be built on it.
pub(crate) fn make_durable(log: &Path) -> io::Result<()> {
    let file = match File::options().read(true).write(true).open(log) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        file => file?,
    };
    let mut piece = vec![0; PIECE];
    let mut at = 0;
    loop {
        let length = match file.read_at(&mut piece, at) {
            Ok(0) => break,
            Ok(length) => length,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        file.write_all_at(&piece[..length], at)?;
        at += length as u64;
    }
    if at > 0 {
        file.sync_all()?;
        tracing::info!(
            bytes = at,
            "the log that lay beside the data file was made durable"
        );
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_the_same_afterwards_and_none_is_made() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("lockring.db-wal");
        make_durable(&path).unwrap();
        assert!(!path.exists());
        for length in [0, 1, PIECE, 2 * PIECE + 7] {
            let content: Vec<u8> = (0..length).map(|at| (at % 251) as u8).collect();
            std::fs::write(&path, &content).unwrap();
            make_durable(&path).unwrap();
            assert!(std::fs::read(&path).unwrap() == content, "{length} bytes");
        }
    }
}
