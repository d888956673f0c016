//! Background components under one supervisor: begun together, begun again when they fail,
//! ended together.

use std::future::Future;
use std::time::Duration;

use tokio::task::JoinSet;

use super::shutdown::Shutdown;

/// Wait before a component that failed begins again.
const PAUSE: Duration = Duration::from_secs(30);

/// The background components.
#[derive(Debug)]
pub(crate) struct Supervisor {
    shutdown: Shutdown,
    components: JoinSet<()>,
    pause: Duration,
}

impl Supervisor {
    /// No component yet; all end when `shutdown` is asked for.
    pub(crate) fn new(shutdown: Shutdown) -> Self {
        Self {
            shutdown,
            components: JoinSet::new(),
            pause: PAUSE,
        }
    }

    /// Begins a component. One that returns or panics is logged and begins again after a
    /// pause; one that is running when the daemon ends is dropped at its next await.
    pub(crate) fn begin<F, R>(&mut self, name: &'static str, mut component: F)
    where
        F: FnMut() -> R + Send + 'static,
        R: Future<Output = Result<(), String>> + Send + 'static,
    {
        let (shutdown, pause) = (self.shutdown.clone(), self.pause);
        self.components.spawn(async move {
            loop {
                let mut run = JoinSet::new();
                run.spawn(component());
                let ended = tokio::select! {
                    () = shutdown.asked() => return,
                    ended = run.join_next() => ended,
                };
                match ended {
                    Some(Ok(Ok(()))) | None => {
                        tracing::warn!(component = name, "ended by itself; begins again")
                    }
                    Some(Ok(Err(error))) => tracing::error!(component = name, %error, "failed; begins again"),
                    Some(Err(error)) => tracing::error!(component = name, %error, "broke down; begins again"),
                }
                tokio::select! {
                    () = shutdown.asked() => return,
                    () = tokio::time::sleep(pause) => {}
                }
            }
        });
    }

    /// Waits until every component has ended after shutdown was asked for.
    pub(crate) async fn ended(mut self) {
        while let Some(ended) = self.components.join_next().await {
            if let Err(error) = ended {
                tracing::error!(%error, "a supervised task broke down");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::{AtomicU32, Ordering};

    use super::*;

    #[tokio::test]
    async fn a_component_that_fails_or_panics_begins_again_and_all_end_together() {
        let shutdown = Shutdown::new();
        let mut supervisor = Supervisor::new(shutdown.clone());
        supervisor.pause = Duration::from_millis(1);
        let runs = Arc::new(AtomicU32::new(0));
        let (counted, done) = (runs.clone(), shutdown.clone());
        supervisor.begin("test", move || {
            let (counted, done) = (counted.clone(), done.clone());
            async move {
                match counted.fetch_add(1, Ordering::SeqCst) {
                    0 => Err("first".to_owned()),
                    1 => panic!("second"),
                    _ => {
                        done.ask();
                        std::future::pending().await
                    }
                }
            }
        });
        tokio::time::timeout(Duration::from_secs(5), supervisor.ended())
            .await
            .unwrap();
        assert_eq!(runs.load(Ordering::SeqCst), 3);
    }
}
