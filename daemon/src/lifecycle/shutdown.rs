//! One word to end, told to everybody who listens.

use std::sync::Arc;

use tokio::signal::unix::{SignalKind, signal};
use tokio::sync::watch;

use super::exit::Fatal;

/// Asks the daemon to end, and tells when somebody has asked.
#[derive(Debug, Clone)]
pub(crate) struct Shutdown {
    asked: Arc<watch::Sender<bool>>,
}

impl Shutdown {
    /// Nobody has asked yet.
    pub(crate) fn new() -> Self {
        Self {
            asked: Arc::new(watch::Sender::new(false)),
        }
    }

    /// Asks the daemon to end. Asking again changes nothing.
    pub(crate) fn ask(&self) {
        self.asked.send_replace(true);
    }

    /// Whether somebody has asked.
    pub(crate) fn is_asked(&self) -> bool {
        *self.asked.borrow()
    }

    /// Waits until somebody asks.
    pub(crate) async fn asked(&self) {
        let mut listener = self.asked.subscribe();
        listener
            .wait_for(|asked| *asked)
            .await
            .expect("the sender lives as long as this");
    }

    /// Asks when the system does: SIGTERM, SIGINT, or SIGHUP from a closing terminal.
    ///
    /// # Errors
    /// As [`Fatal::io`] when signals cannot be listened for.
    pub(crate) fn ask_on_signals(&self) -> Result<(), Fatal> {
        for (kind, name) in [
            (SignalKind::terminate(), "SIGTERM"),
            (SignalKind::interrupt(), "SIGINT"),
            (SignalKind::hangup(), "SIGHUP"),
        ] {
            let mut stream =
                signal(kind).map_err(|error| Fatal::io(format!("{name} cannot be awaited"), &error))?;
            let own = self.clone();
            tokio::spawn(async move {
                if stream.recv().await.is_some() {
                    tracing::info!(signal = name, "asked to end");
                    own.ask();
                }
            });
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn whoever_asks_late_or_early_everybody_hears() {
        let shutdown = Shutdown::new();
        let early = tokio::spawn({
            let shutdown = shutdown.clone();
            async move { shutdown.asked().await }
        });
        assert!(!*shutdown.asked.borrow());
        shutdown.clone().ask();
        early.await.unwrap();
        shutdown.asked().await;
        assert!(*shutdown.asked.borrow());
    }
}
