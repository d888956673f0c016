//! The log, on standard error.

use std::io::IsTerminal;

use tracing_subscriber::filter::{LevelFilter, Targets};
use tracing_subscriber::layer::SubscriberExt as _;
use tracing_subscriber::util::SubscriberInitExt as _;

use super::exit::{Exit, Fatal};

/// Begins logging what a filter such as `info` or `lockring_daemon=debug` lets through.
///
/// # Errors
/// [`Exit::Usage`] when the filter cannot be read.
pub(crate) fn begin(filter: &str) -> Result<(), Fatal> {
    let filter: Targets = filter.parse().map_err(|error| {
        Fatal::new(
            Exit::Usage,
            format!("log filter `{filter}` cannot be read: {error}"),
        )
        .hint("for example --log info, or --log lockring_daemon=debug")
    })?;
    let levels = filter.iter().map(|(_, level)| level);
    let finest = levels.chain(filter.default_level()).max();
    let colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none();
    let log = tracing_subscriber::fmt()
        .with_max_level(finest.unwrap_or(LevelFilter::OFF))
        .with_writer(std::io::stderr)
        .with_ansi(colour)
        .finish()
        .with(filter);
    log.try_init()
        .map_err(|error| Fatal::new(Exit::Other, format!("the log cannot be opened: {error}")))
}
