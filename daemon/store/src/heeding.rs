//! The lists beside the backups, heeded: what was removed or revoked since is removed and revoked again
//! wherever an older state of the shop is put.

use std::path::Path;

use jiff::Timestamp;
use rusqlite::Connection;

use crate::error::StorageError;
use crate::{removals, revocations};

/// What was done again, a line each.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Heeded {
    /// Riders who were removed.
    pub(crate) removed: Vec<String>,
    /// Pairs that were revoked.
    pub(crate) revoked: Vec<String>,
}

/// Whether the lists of a folder of backups name something that a journal still holds or lets in.
///
/// # Errors
/// [`StorageError`] when a list or the journal cannot be read.
pub(crate) fn is_asked(connection: &Connection, backups: &Path) -> Result<bool, StorageError> {
    Ok(removals::is_asked(connection, backups)? || revocations::is_asked(connection, backups)?)
}

/// Does again what the lists of a folder of backups name, all of it or nothing. What was removed stays
/// in the file until that is cleaned.
///
/// # Errors
/// [`StorageError`] when a list cannot be read or the journal not be written.
pub(crate) fn heed(
    connection: &mut Connection,
    backups: &Path,
    now: Timestamp,
) -> Result<Heeded, StorageError> {
    let transaction = connection.transaction()?;
    let removed = removals::again(&transaction, backups, now)?;
    let revoked = revocations::again(&transaction, backups, now)?;
    transaction.commit()?;
    Ok(Heeded { removed, revoked })
}
