//! `Watch`: entries as they are stored, until the watcher goes or the daemon ends.

use std::pin::Pin;
use std::sync::Arc;

use lockring_proto::v1;
use tokio::sync::broadcast::error::RecvError;
use tokio::sync::mpsc;
use tokio_stream::Stream;
use tokio_stream::wrappers::ReceiverStream;
use tonic::Status;

use super::{Daemon, status, to_proto};

/// Lines that wait for a watcher to take them.
const READY: usize = 64;

/// What a watcher gets.
pub(super) type Lines = Pin<Box<dyn Stream<Item = Result<v1::HistoryLine, Status>> + Send>>;

impl Daemon {
    /// Entries of one job, or of all for 0, from now on.
    pub(super) fn watch(self: &Arc<Self>, job: u32) -> Lines {
        let (send, lines) = mpsc::channel(READY);
        let mut entries = self.feed.listen();
        let shutdown = self.shutdown.clone();
        tokio::spawn(async move {
            loop {
                let heard = tokio::select! {
                    heard = entries.recv() => heard,
                    () = send.closed() => return,
                    () = shutdown.asked() => Err(RecvError::Closed),
                };
                let line = match heard {
                    Ok(entry) if job != 0 && entry.job != job => continue,
                    Ok(entry) => Ok(to_proto::history_line(&entry, false)),
                    Err(RecvError::Lagged(lost)) => Err(status::lagged(lost, job)),
                    Err(RecvError::Closed) => Err(status::shutting_down()),
                };
                let is_last = line.is_err();
                if send.send(line).await.is_err() || is_last {
                    return;
                }
            }
        });
        Box::pin(ReceiverStream::new(lines))
    }
}
