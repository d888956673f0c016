//! How the daemon comes up, stays alone with its data folder, and goes down.

use std::time::Duration;

pub(crate) mod exit;
pub(crate) mod folder;
pub(crate) mod lock;
pub(crate) mod log;
pub(crate) mod nightly;
pub(crate) mod session;
pub(crate) mod shutdown;
pub(crate) mod socket;
pub(crate) mod supervisor;

/// How long clients may take to notice that the daemon is ending.
pub(crate) const DRAIN: Duration = Duration::from_millis(600);
/// How long reads that still run are waited for after that. Together with [`DRAIN`] less than
/// the second within which a daemon that was asked to end has ended.
pub(crate) const LAST_READS: Duration = Duration::from_millis(200);
