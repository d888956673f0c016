//! The server: all services with their limits, health and reflection, on the socket and over the
//! network, and the orderly end.

use std::sync::Arc;
use std::time::Duration;

use lockring_proto::v1::access_server::AccessServer;
use lockring_proto::v1::bench_server::BenchServer;
use lockring_proto::v1::catalogue_server::CatalogueServer;
use lockring_proto::v1::desk_server::DeskServer;
use lockring_proto::v1::figures_server::FiguresServer;
use lockring_proto::v1::forecasts_server::ForecastsServer;
use lockring_proto::v1::jobs_server::JobsServer;
use lockring_proto::v1::money_server::MoneyServer;
use lockring_proto::v1::papers_server::PapersServer;
use lockring_proto::v1::photos_server::PhotosServer;
use lockring_proto::v1::reports_server::ReportsServer;
use lockring_proto::v1::ride_logs_server::RideLogsServer;
use lockring_proto::v1::riders_server::RidersServer;
use lockring_proto::v1::rides_server::RidesServer;
use lockring_proto::v1::shop_server::ShopServer;
use lockring_proto::v1::supply_server::SupplyServer;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::UnixListener;
use tokio_stream::Stream;
use tonic::service::Routes;
use tonic::transport::Server;
use tonic_health::ServingStatus;
use tonic_health::server::HealthReporter;
use tonic_reflection::server::Builder as Reflection;
use tower::layer::util::{Identity, Stack};

use super::access::Access;
use super::bench::Bench;
use super::catalogue::Catalogue;
use super::desk::Desk;
use super::figures::Figures;
use super::forecasts::Forecasts;
use super::greeted::Greeted;
use super::guard::Guard;
use super::jobs::Jobs;
use super::money::Money;
use super::on_demand::OnDemand;
use super::papers::Papers;
use super::photos::Photos;
use super::reports::Reports;
use super::ride_logs::RideLogs;
use super::riders::Riders;
use super::rides::Rides;
use super::shop::Shop;
use super::supply::Supply;
use super::{Daemon, LONG};
use crate::door::{Door, Guest, Limits};
use crate::lifecycle::DRAIN;
use crate::lifecycle::exit::{Exit, Fatal};

/// Largest message, bytes: a catalogue of some ten thousand parts.
const MESSAGE: usize = 4 * 1024 * 1024;
/// Largest recorded road with its envelope, bytes.
const ROAD: usize = lockring_domain::gpx::MOST_BYTES + 64 * 1024;
/// Largest log of a ride with its envelope, bytes.
const RIDE_LOG: usize = lockring_domain::ridelog::MOST_BYTES + 64 * 1024;
/// Calls at a time on one connection.
const CALLS: usize = 32;
/// Streams at a time on one connection, watches among them.
const STREAMS: u32 = 64;
/// A connection that says nothing for so long is asked whether it is there …
const PING: Duration = Duration::from_secs(30);
/// … and is closed when it does not answer within this.
const PONG: Duration = Duration::from_secs(10);

/// A service with the message limit both ways.
macro_rules! limited {
    ($server:ident, $service:expr) => {
        $server::new($service)
            .max_decoding_message_size(MESSAGE)
            .max_encoding_message_size(MESSAGE)
    };
}

/// All services behind the questions that are asked of every call.
fn server(daemon: &Arc<Daemon>) -> Server<Stack<Guard, Stack<Greeted, Identity>>> {
    let guard = Guard {
        daemon: daemon.clone(),
        longest: MESSAGE.max(ROAD).max(RIDE_LOG),
    };
    Server::builder()
        .concurrency_limit_per_connection(CALLS)
        .max_concurrent_streams(STREAMS)
        // The longest any call may take; each call sets its own, shorter one.
        .timeout(LONG)
        .http2_keepalive_interval(Some(PING))
        .http2_keepalive_timeout(Some(PONG))
        .layer(Greeted)
        .layer(guard)
}

/// All services, and the reporter of their health.
fn services(daemon: &Arc<Daemon>) -> (HealthReporter, Routes) {
    let (health, health_service) = tonic_health::server::health_reporter();
    let reflection = || {
        Reflection::configure()
            .register_encoded_file_descriptor_set(lockring_proto::DESCRIPTORS)
            .register_encoded_file_descriptor_set(tonic_health::pb::FILE_DESCRIPTOR_SET)
    };
    let whole = "the contract is whole: a test reflects it";
    let v1 = OnDemand::new(move || reflection().build_v1().expect(whole));
    let v1alpha = OnDemand::new(move || reflection().build_v1alpha().expect(whole));
    let daemon = daemon.clone();
    let routes = Routes::new(health_service)
        .add_service(v1)
        .add_service(v1alpha)
        .add_service(limited!(AccessServer, Access(daemon.clone())))
        .add_service(limited!(JobsServer, Jobs(daemon.clone())))
        .add_service(limited!(BenchServer, Bench(daemon.clone())))
        .add_service(limited!(ForecastsServer, Forecasts(daemon.clone())).max_decoding_message_size(ROAD))
        .add_service(limited!(RidesServer, Rides(daemon.clone())))
        .add_service(limited!(RidersServer, Riders(daemon.clone())))
        .add_service(limited!(PapersServer, Papers(daemon.clone())))
        .add_service(limited!(PhotosServer, Photos(daemon.clone())))
        .add_service(limited!(CatalogueServer, Catalogue(daemon.clone())))
        .add_service(limited!(RideLogsServer, RideLogs(daemon.clone())).max_decoding_message_size(RIDE_LOG))
        .add_service(limited!(FiguresServer, Figures(daemon.clone())))
        .add_service(limited!(MoneyServer, Money(daemon.clone())))
        .add_service(limited!(ReportsServer, Reports(daemon.clone())))
        .add_service(limited!(DeskServer, Desk(daemon.clone())))
        .add_service(limited!(SupplyServer, Supply(daemon.clone())))
        .add_service(limited!(ShopServer, Shop(daemon)));
    (health, routes)
}

fn other(what: &str, error: &dyn std::error::Error) -> Fatal {
    Fatal::new(Exit::Other, format!("{what}: {error}"))
}

/// Serves other benches as long as this is awaited; calls that run then are let finish.
///
/// # Errors
/// [`Exit::Other`] when the transport fails.
pub(crate) async fn serve_street<D, S>(daemon: &Arc<Daemon>, street: D) -> Result<(), Fatal>
where
    D: Stream<Item = std::io::Result<Guest<S>>>,
    S: AsyncRead + AsyncWrite + Send + Unpin + 'static,
{
    let (health, routes) = services(daemon);
    report(&health, ServingStatus::Serving).await;
    let served = server(daemon)
        .add_routes(routes)
        .serve_with_incoming(street)
        .await;
    served.map_err(|error| other("the server failed", &error))
}

/// Pause between two looks whether a slow disk has taken what callers wait for.
const SLOW_DISK: Duration = Duration::from_millis(20);

/// Serves until somebody asks the daemon to end: then takes no more connections, tells
/// health and watchers, and lets calls that run finish, for [`DRAIN`] at most. A change on its way to
/// a slow disk is waited for in any case before the store is closed: its caller hears of it, too.
///
/// # Errors
/// [`Exit::Other`] when the transport fails.
pub(crate) async fn serve(daemon: Arc<Daemon>, listener: UnixListener) -> Result<(), Fatal> {
    let (health, routes) = services(&daemon);
    report(&health, ServingStatus::Serving).await;
    let (shutdown, store) = (daemon.shutdown.clone(), daemon.store.clone());
    let asked = shutdown.clone();
    let serving = server(&daemon)
        .add_routes(routes)
        .serve_with_incoming_shutdown(Door::new(listener, Limits::default()), async move {
            asked.asked().await
        });
    tokio::pin!(serving);
    tokio::select! {
        ended = &mut serving => return ended.map_err(|error| other("the server failed", &error)),
        () = shutdown.asked() => {}
    }
    report(&health, ServingStatus::NotServing).await;
    // A client that stays connected and silent must not keep the daemon from ending.
    let mut patience = DRAIN;
    loop {
        if let Ok(ended) = tokio::time::timeout(patience, &mut serving).await {
            return ended.map_err(|error| other("the server failed", &error));
        }
        // Another bench, which nobody told of the end, could go on for ever.
        store.take_no_more();
        match (store.is_waited_for(), patience) {
            (true, DRAIN) => tracing::info!("the disk is slow; waiting for the changes on their way to it"),
            (true, _) | (false, DRAIN) => {}
            // Whoever was answered last had a turn to hear of it.
            (false, _) => break,
        }
        patience = SLOW_DISK;
    }
    tracing::warn!(
        "clients stayed longer than {} ms; leaving them",
        DRAIN.as_millis()
    );
    Ok(())
}

/// Says of every service, and of the daemon as a whole, whether it serves.
async fn report(health: &HealthReporter, status: ServingStatus) {
    health.set_service_status("", status).await;
    for name in [
        lockring_proto::v1::access_server::SERVICE_NAME,
        lockring_proto::v1::jobs_server::SERVICE_NAME,
        lockring_proto::v1::bench_server::SERVICE_NAME,
        lockring_proto::v1::desk_server::SERVICE_NAME,
        lockring_proto::v1::figures_server::SERVICE_NAME,
        lockring_proto::v1::forecasts_server::SERVICE_NAME,
        lockring_proto::v1::riders_server::SERVICE_NAME,
        lockring_proto::v1::rides_server::SERVICE_NAME,
        lockring_proto::v1::papers_server::SERVICE_NAME,
        lockring_proto::v1::photos_server::SERVICE_NAME,
        lockring_proto::v1::catalogue_server::SERVICE_NAME,
        lockring_proto::v1::money_server::SERVICE_NAME,
        lockring_proto::v1::reports_server::SERVICE_NAME,
        lockring_proto::v1::ride_logs_server::SERVICE_NAME,
        lockring_proto::v1::shop_server::SERVICE_NAME,
        lockring_proto::v1::supply_server::SERVICE_NAME,
    ] {
        health.set_service_status(name, status).await;
    }
}
