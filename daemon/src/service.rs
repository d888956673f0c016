//! The services: what clients ask, in the contract's words, and what the domain answers.
//!
//! A state-changing call goes `from_proto` → [`decide`] inside the store's writer → entries
//! and answer in one transaction → `to_proto`. A reading call runs on a thread for blocking
//! work, in one read transaction.

use std::future::Future;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use lockring_domain::entry::Entry;
use lockring_domain::refusal::Refusal;
use lockring_store::{Reader, Size, StorageError, Store, Tx, WriteError};
use tonic::{Response, Status};

use crate::lifecycle::shutdown::Shutdown;
use crate::network::Network;

mod access;
mod bench;
mod catalogue;
mod decide;
mod desk;
mod feed;
mod figures;
mod forecasts;
mod from_proto;
mod greeted;
mod guard;
mod jobs;
mod known;
mod ledger;
mod money;
mod on_demand;
mod papers;
mod photos;
mod reports;
mod ride_logs;
mod riders;
mod rides;
mod rights;
mod server;
mod shelf;
mod shop;
mod status;
mod supply;
mod to_proto;
mod watch;

pub(crate) use feed::{Feed, shop_changed};
#[cfg(test)]
pub(crate) use figures::Figures;
pub(crate) use known::{KnownShop, LastStanding};
pub(crate) use reports::{open_jobs, open_list};
#[cfg(test)]
pub(crate) use riders::Riders;
pub(crate) use riders::finish_removals;
pub(crate) use server::{serve, serve_street};
#[cfg(test)]
pub(crate) use shop::troubles;
pub(crate) use to_proto::report_sheet;

/// How long an ordinary call may take.
const ORDINARY: Duration = Duration::from_secs(30);
/// How long reading or copying the whole data file may take.
const LONG: Duration = Duration::from_secs(600);

/// What all services share.
pub(crate) struct Daemon {
    /// Journal and projections.
    pub(crate) store: Arc<Store>,
    /// The shop as it last stood.
    pub(crate) last_standing: LastStanding,
    /// The shop as it was last read for who may do what.
    pub(crate) known_shop: KnownShop,
    /// What there is of the network.
    pub(crate) network: Network,
    /// The machine's time zone; the shop may name another.
    pub(crate) zone: TimeZone,
    /// Entries as they are stored.
    pub(crate) feed: Feed,
    /// The word to end.
    pub(crate) shutdown: Shutdown,
    /// Canonical data folder.
    pub(crate) folder: PathBuf,
    /// Where the socket is.
    pub(crate) socket: PathBuf,
    /// When this daemon began.
    pub(crate) started: Timestamp,
}

impl Daemon {
    /// Has the writer do a change, tells whoever watches, and answers. In a task of its own: a client
    /// that goes away must not keep the entries, once they are stored, from whoever watches.
    async fn write_and_tell<T: Send + 'static>(
        self: &Arc<Self>,
        size: Size,
        work: impl FnOnce(&Self, &mut Tx<'_>) -> Result<(T, Vec<Entry>), WriteError> + Send + 'static,
    ) -> Result<Response<T>, Status> {
        let daemon = self.clone();
        let task = tokio::spawn(async move {
            let writer = daemon.clone();
            let (reply, entries) = daemon
                .store
                .write_sized(size, move |tx| work(&writer, tx))
                .await?;
            daemon.feed.publish(entries);
            Ok::<_, WriteError>(reply)
        });
        match within(ORDINARY, task).await? {
            Ok(Ok(reply)) => Ok(Response::new(reply)),
            Ok(Err(error)) => Err(status::unwritten(&error)),
            Err(error) => Err(status::broken(&error)),
        }
    }

    /// Reads, in one read transaction, away from the thread that serves.
    async fn read<T: Send + 'static>(
        self: &Arc<Self>,
        work: impl FnOnce(&Self, &Reader<'_>) -> Result<Result<T, Refusal>, StorageError> + Send + 'static,
    ) -> Result<T, Status> {
        let daemon = self.clone();
        let answer = blocking(ORDINARY, move || {
            daemon.store.read(|reader| work(&daemon, reader))
        })
        .await?;
        answer
            .map_err(|error| status::stored(&error))?
            .map_err(|refusal| status::refused(&refusal))
    }

    /// Looks at what a change would do before the writer is asked, as that takes longer than the writer should be kept. With
    /// what was found comes the answer, where only that is wanted and nothing is to be stored.
    async fn look_first<R: Send + 'static, T: Default + Send + 'static>(
        self: &Arc<Self>,
        validate_only: bool,
        look: impl FnOnce(&Self, &Reader<'_>) -> Result<Result<(R, T), Refusal>, StorageError> + Send + 'static,
    ) -> Result<(Option<R>, T), Status> {
        let looked = self.read(move |daemon, reader| Ok(Ok(look(daemon, reader)?)));
        match looked.await? {
            Ok((reply, found)) => Ok((validate_only.then_some(reply), found)),
            // A request that was answered before may be refused now and is answered all the same.
            Err(_) if !validate_only => Ok((None, T::default())),
            Err(refusal) => Err(status::refused(&refusal)),
        }
    }
}

/// What became of a shop that was made new or written out, as JSON in the contract's words.
pub(crate) fn moved_json(moved: &lockring_store::Moved) -> String {
    serde_json::to_string(&to_proto::moved(moved)).expect("texts and numbers are always JSON")
}

/// Runs blocking work on a thread of its own, within a deadline.
async fn blocking<T: Send + 'static>(
    deadline: Duration,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Status> {
    match within(deadline, tokio::task::spawn_blocking(work)).await? {
        Ok(answer) => Ok(answer),
        Err(error) => Err(status::broken(&error)),
    }
}

/// Waits for an answer, but not for ever.
async fn within<T>(deadline: Duration, answer: impl Future<Output = T>) -> Result<T, Status> {
    tokio::time::timeout(deadline, answer)
        .await
        .map_err(|_| status::too_slow(deadline))
}
