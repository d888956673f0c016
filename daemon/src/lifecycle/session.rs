//! A session of one's own, so that the daemon does not die with the terminal it came from.

use super::exit::{Exit, Fatal};

/// Begins a session of its own. To be called before any thread is started.
///
/// # Errors
/// [`Exit::Other`] when the process leads a group and so may not begin a session.
pub(crate) fn begin() -> Result<(), Fatal> {
    match rustix::process::setsid() {
        Ok(_) => Ok(()),
        // Started as the leader of a session already: that is what was asked for.
        Err(_) if rustix::process::getsid(None) == Ok(rustix::process::getpid()) => Ok(()),
        Err(error) => Err(Fatal::new(Exit::Other, format!("no session of its own: {error}"))
            .hint("--session is for a daemon that is started from another program; leave it out")),
    }
}
