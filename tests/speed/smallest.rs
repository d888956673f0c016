//! The smallest client there can be: one connection, one empty call, nothing read or said.
//!
//! What a cold start of the command line is compared with.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    reason = "it ends when something is not there"
)]

use tonic::transport::Endpoint;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_client::HealthClient;

fn main() {
    let socket = std::env::args().nth(1).unwrap();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap();
    runtime.block_on(async {
        let channel = Endpoint::from_shared(format!("unix://{socket}"))
            .unwrap()
            .connect()
            .await
            .unwrap();
        HealthClient::new(channel)
            .check(HealthCheckRequest::default())
            .await
            .unwrap();
    });
}
