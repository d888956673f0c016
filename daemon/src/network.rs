//! Other benches: the listener of the network, off until the shop names an address.
//!
//! Both sides show a certificate of the workshop's own authority (`authority`); the door counts
//! what each address and certificate takes up (`street`); what a caller may do is asked for each
//! call in `service::guard`. Nothing here touches keys or TLS before the shop names an address
//! or pairs a bench.

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use jiff::Timestamp;
use rustls::ServerConfig;
use tokio::net::TcpListener;

use crate::service::{self, Caller, Daemon, WeakCaller, shop_changed};

pub(crate) mod authority;
mod street;

use authority::{Authority, Trouble};
use street::Street;

/// How often open connections are looked at anew when the shop has not changed: a certificate
/// ends by itself.
const LOOK: Duration = Duration::from_secs(60);
/// How long until an address that could not be had is tried again.
const AGAIN: Duration = Duration::from_secs(5);

/// What there is of the network: nothing until it is needed.
#[derive(Debug)]
pub(crate) struct Network {
    /// Where the authority's files are.
    folder: PathBuf,
    authority: Mutex<Option<Arc<Authority>>>,
    open: Mutex<Vec<WeakCaller>>,
    standing: Mutex<Standing>,
}

/// Whether other benches are served.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) enum Standing {
    /// The shop names no address, or nobody has got round to it yet.
    #[default]
    Closed,
    /// At this address.
    Served(SocketAddr),
    /// The address cannot be served, and why.
    Trouble(String),
}

impl Network {
    /// Nothing yet; the authority of a data folder once somebody needs it.
    pub(crate) fn of(data_folder: &std::path::Path) -> Self {
        Self {
            folder: data_folder.join(authority::FOLDER),
            authority: Mutex::default(),
            open: Mutex::default(),
            standing: Mutex::default(),
        }
    }

    /// Whether other benches are served.
    pub(crate) fn standing(&self) -> Standing {
        self.standing
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    fn stands(&self, standing: Standing) {
        *self.standing.lock().unwrap_or_else(PoisonError::into_inner) = standing;
    }

    /// The workshop's authority, made on first use. Blocks the thread.
    ///
    /// # Errors
    /// [`Trouble`] with its files.
    pub(crate) fn authority(&self) -> Result<Arc<Authority>, Trouble> {
        let mut kept = self.authority.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(authority) = &*kept {
            return Ok(authority.clone());
        }
        let authority = Arc::new(Authority::of(&self.folder, Timestamp::now())?);
        *kept = Some(authority.clone());
        Ok(authority)
    }

    /// Remembers an open connection for as long as it lasts.
    fn note(&self, caller: &Caller) {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        open.retain(|one| Caller::is_held(one).is_some());
        open.push(caller.weak());
    }

    /// Breaks off open connections whose certificate counts no longer.
    pub(crate) fn break_off(&self, counts: impl Fn(&str) -> bool) {
        let open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        for caller in open.iter().filter_map(Caller::is_held) {
            if caller.fingerprint().is_some_and(|print| !counts(print)) {
                tracing::info!("a connection was broken off: its certificate counts no longer");
                caller.break_off();
            }
        }
    }
}

/// Serves other benches at the shop's address, as long as it has one.
///
/// # Errors
/// The store cannot be read, or the server failed; the supervisor begins it again.
pub(crate) async fn keep(daemon: Arc<Daemon>) -> Result<(), String> {
    let mut changes = daemon.feed.of_the_shop();
    loop {
        changes.borrow_and_update();
        let Some(address) = address(&daemon).await? else {
            daemon.network.stands(Standing::Closed);
            shop_changed(&mut changes).await;
            continue;
        };
        let (config, listener) = match open(&daemon, address).await {
            Ok(opened) => opened,
            Err(why) => {
                tracing::error!(%address, why, "other benches are not served");
                daemon.network.stands(Standing::Trouble(why));
                tokio::select! {
                    () = shop_changed(&mut changes) => {}
                    () = tokio::time::sleep(AGAIN) => {}
                }
                continue;
            }
        };
        tracing::info!(%address, "other benches are served");
        daemon.network.stands(Standing::Served(address));
        let noted = daemon.clone();
        let street = Street::new(listener, config, move |caller| noted.network.note(caller));
        let served = service::serve_street(&daemon, street);
        let ended = tokio::select! {
            ended = served => ended.map_err(|error| error.to_string()),
            changed = moved(&daemon, address) => changed,
        };
        daemon.network.stands(Standing::Closed);
        daemon.network.break_off(|_| false);
        tracing::info!(%address, "other benches are no longer served there");
        ended?;
    }
}

/// What the listener shows, and the listener itself.
async fn open(daemon: &Arc<Daemon>, address: SocketAddr) -> Result<(Arc<ServerConfig>, TcpListener), String> {
    let keeper = daemon.clone();
    let config = tokio::task::spawn_blocking(move || {
        let authority = keeper.network.authority()?;
        authority.server(Timestamp::now())
    });
    let config = config.await.map_err(|error| error.to_string())?;
    let config = config.map_err(|trouble| trouble.to_string())?;
    let listener = TcpListener::bind(address).await;
    let listener = listener.map_err(|error| format!("{address} cannot be had: {error}"))?;
    Ok((config, listener))
}

/// Waits until the shop names another address; meanwhile breaks off what counts no longer.
async fn moved(daemon: &Arc<Daemon>, address: SocketAddr) -> Result<(), String> {
    let mut changes = daemon.feed.of_the_shop();
    loop {
        changes.borrow_and_update();
        let shop = daemon.known_shop().await.map_err(|error| error.to_string())?;
        if shop.bench_address() != Some(address) {
            return Ok(());
        }
        let now = Timestamp::now();
        daemon.network.break_off(|print| shop.guest(print, now).is_ok());
        tokio::select! {
            () = shop_changed(&mut changes) => {}
            () = tokio::time::sleep(LOOK) => {}
        }
    }
}

async fn address(daemon: &Arc<Daemon>) -> Result<Option<SocketAddr>, String> {
    let shop = daemon.known_shop().await.map_err(|error| error.to_string())?;
    Ok(shop.bench_address())
}
