//! A daemon for the tests of the client: it answers some calls well and others badly.

use std::collections::HashMap;
use std::future::pending;
use std::os::unix::fs::DirBuilderExt as _;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

use lockring_proto::PROTOCOL;
use lockring_proto::v1::shop_server::{Shop, ShopServer};
use lockring_proto::v1::{
    BackupReply, BackupRequest, HelloReply, HelloRequest, StatusReply, StatusRequest, StopReply, StopRequest,
    VerifyReply, VerifyRequest, WordsReply, WordsRequest,
};
use tokio::net::UnixListener;
use tokio::task::JoinHandle;
use tokio_stream::wrappers::UnixListenerStream;
use tonic::transport::Server;
use tonic::{Code, Request, Response, Status};
use tonic_types::{ErrorDetails, StatusExt as _};

/// What the fake says of itself, and how often it fails.
pub(crate) struct Fake {
    /// Its version.
    pub(crate) version: String,
    /// Its data folder.
    pub(crate) data_folder: String,
    /// How many more calls of `Status` are unavailable.
    pub(crate) unavailable: AtomicU32,
    /// How many hands it shook.
    pub(crate) hellos: AtomicU32,
}

impl Fake {
    /// A fake of our own version that serves a folder.
    pub(crate) fn new(data: &Path) -> Self {
        Self {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            data_folder: data.canonicalize().unwrap().display().to_string(),
            unavailable: AtomicU32::new(0),
            hellos: AtomicU32::new(0),
        }
    }
}

/// Serves a fake at the folder's socket until the task is dropped with its runtime.
pub(crate) fn serve(data: &Path, fake: Arc<Fake>) -> JoinHandle<Result<(), tonic::transport::Error>> {
    let socket = lockring_proto::paths::socket_path(data).unwrap();
    std::fs::DirBuilder::new()
        .mode(0o700)
        .create(socket.parent().unwrap())
        .unwrap();
    let connections = UnixListenerStream::new(UnixListener::bind(socket).unwrap());
    let service = ShopServer::from_arc(fake);
    tokio::spawn(
        Server::builder()
            .add_service(service)
            .serve_with_incoming(connections),
    )
}

#[tonic::async_trait]
impl Shop for Fake {
    async fn hello(&self, _: Request<HelloRequest>) -> Result<Response<HelloReply>, Status> {
        self.hellos.fetch_add(1, Ordering::SeqCst);
        Ok(Response::new(HelloReply {
            units: String::new(),
            zone: String::new(),
            program_version: self.version.clone(),
            protocol: PROTOCOL,
            schema: 1,
            data_folder: self.data_folder.clone(),
        }))
    }

    async fn status(&self, _: Request<StatusRequest>) -> Result<Response<StatusReply>, Status> {
        let failing = self.unavailable.load(Ordering::SeqCst);
        if failing > 0 {
            self.unavailable.store(failing - 1, Ordering::SeqCst);
            return Err(Status::unavailable("ending"));
        }
        Ok(Response::new(StatusReply {
            program_version: self.version.clone(),
            protocol: PROTOCOL,
            schema: 3,
            pid: 77,
            ..StatusReply::default()
        }))
    }

    async fn verify(&self, _: Request<VerifyRequest>) -> Result<Response<VerifyReply>, Status> {
        Ok(Response::new(VerifyReply {
            sound: false,
            problems: vec!["entry 3".to_owned()],
            ..VerifyReply::default()
        }))
    }

    async fn backup(&self, _: Request<BackupRequest>) -> Result<Response<BackupReply>, Status> {
        pending().await
    }

    async fn words(&self, _: Request<WordsRequest>) -> Result<Response<WordsReply>, Status> {
        let metadata = HashMap::from([("hint".to_owned(), "make room".to_owned())]);
        let details = ErrorDetails::with_error_info("STORAGE", "lockring.v1", metadata);
        Err(Status::with_error_details(
            Code::ResourceExhausted,
            "the disk is full",
            details,
        ))
    }

    async fn stop(&self, _: Request<StopRequest>) -> Result<Response<StopReply>, Status> {
        Err(Status::unimplemented("the fake ends with its test"))
    }
}
