//! The contract as a client in the test's own process: connections that have said Hello.

use std::path::Path;

use lockring_proto::v1::shop_client::ShopClient;
use lockring_proto::v1::{HelloRequest, Origin};
use lockring_proto::{PROTOCOL, paths};
use tonic::Status;
use tonic::transport::{Channel, Endpoint};

use super::Shop;

/// Runs asynchronous work to its end.
pub fn block_on<T>(work: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap()
        .block_on(work)
}

/// A connection that has said nothing yet.
pub async fn connect_silently(folder: &Path) -> Result<Channel, tonic::transport::Error> {
    let socket = paths::socket_path(folder).unwrap();
    Endpoint::from_shared(format!("unix://{}", socket.display()))
        .unwrap()
        .connect()
        .await
}

/// A connection on which client and daemon have agreed.
pub async fn try_connect(folder: &Path) -> Result<Channel, Status> {
    let channel = connect_silently(folder)
        .await
        .map_err(|error| Status::unavailable(error.to_string()))?;
    ShopClient::new(channel.clone()).hello(hello(folder)).await?;
    Ok(channel)
}

/// A connection on which client and daemon have agreed; the daemon must be there.
pub async fn connect(shop: &Shop) -> Channel {
    try_connect(&shop.folder()).await.unwrap()
}

/// What a client of this version says first.
pub fn hello(folder: &Path) -> HelloRequest {
    HelloRequest {
        by: String::new(),
        program_version: env!("CARGO_PKG_VERSION").into(),
        protocol: PROTOCOL,
        data_folder: folder.canonicalize().unwrap().display().to_string(),
    }
}

/// Who asks for a change, under this request id.
pub fn origin(request_id: &str) -> Option<Origin> {
    Some(Origin {
        request_id: request_id.into(),
        by: "K".into(),
        terminal: "test".into(),
        made_at_us: None,
        expected_revision: None,
        validate_only: false,
    })
}
