//! The log, on standard error.

use std::io::IsTerminal;

use tracing_subscriber::EnvFilter;

use super::exit::{Exit, Fatal};

/// Begins logging what a filter such as `info` or `lockring_daemon=debug` lets through.
///
/// # Errors
/// [`Exit::Usage`] when the filter cannot be read.
pub(crate) fn begin(filter: &str) -> Result<(), Fatal> {
    let filter = EnvFilter::try_new(filter).map_err(|error| {
        Fatal::new(
            Exit::Usage,
            format!("log filter `{filter}` cannot be read: {error}"),
        )
        .hint("for example --log info, or --log lockring_daemon=debug")
    })?;
    let colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none();
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .with_ansi(colour);
    log.try_init()
        .map_err(|error| Fatal::new(Exit::Other, format!("the log cannot be opened: {error}")))
}
