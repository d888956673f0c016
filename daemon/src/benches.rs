//! Other benches: served over the network at the address that the shop names, off until it does.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;
use rustls::ServerConfig;
use tokio::net::TcpListener;

use crate::network::Standing;
use crate::network::street::Street;
use crate::service::{self, Daemon, shop_changed};

/// How often open connections are looked at anew when the shop has not changed: a certificate
/// ends by itself.
const LOOK: Duration = Duration::from_secs(60);
/// How long until an address that could not be had is tried again.
const AGAIN: Duration = Duration::from_secs(5);

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
