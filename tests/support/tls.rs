//! Another bench in the test's own process: the file of a pair, and connections made with it.

use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;

use hyper_util::rt::TokioIo;
use lockring_proto::PROTOCOL;
use lockring_proto::v1::HelloRequest;
use lockring_proto::v1::shop_client::ShopClient;
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, ServerName};
use rustls::{ClientConfig, RootCertStore};
use tokio::net::{TcpSocket, TcpStream};
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tonic::transport::{Channel, Endpoint};

/// What a bench carries.
#[derive(Debug, Clone)]
pub struct Carried {
    pub address: String,
    pub server_name: String,
    pub authority: String,
    /// Certificate and key; none for somebody who shows nothing.
    pub own: Option<(String, String)>,
}

impl Carried {
    /// Reads the file of a pair.
    pub fn read(path: &Path) -> Self {
        let text = std::fs::read_to_string(path).unwrap();
        let file: serde_json::Value = serde_json::from_str(&text).unwrap();
        let field = |name: &str| file[name].as_str().unwrap().to_owned();
        Self {
            address: field("address"),
            server_name: field("server_name"),
            authority: field("authority"),
            own: Some((field("certificate"), field("key"))),
        }
    }

    fn config(&self) -> ClientConfig {
        let der = |pem: &str| CertificateDer::from_pem_slice(pem.as_bytes()).unwrap();
        let mut roots = RootCertStore::empty();
        roots.add(der(&self.authority)).unwrap();
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let builder = ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .unwrap()
            .with_root_certificates(roots);
        let mut config = match &self.own {
            Some((certificate, key)) => {
                let key = PrivateKeyDer::from_pem_slice(key.as_bytes()).unwrap();
                builder
                    .with_client_auth_cert(vec![der(certificate)], key)
                    .unwrap()
            }
            None => builder.with_no_client_auth(),
        };
        config.alpn_protocols = vec![b"h2".to_vec()];
        config
    }

    /// A connection from an address of this machine (the whole of 127.0.0.0/8 is, on Linux).
    pub async fn reach(&self, from: &str) -> std::io::Result<TcpStream> {
        let socket = TcpSocket::new_v4()?;
        socket.bind(SocketAddr::new(from.parse().unwrap(), 0))?;
        let stream = socket.connect(self.address.parse().unwrap()).await?;
        // As the command line does: small messages go at once.
        stream.set_nodelay(true)?;
        Ok(stream)
    }

    /// A connection after its handshake; what the shop thinks of our certificate comes later.
    pub async fn shake(&self) -> std::io::Result<TlsStream<TcpStream>> {
        self.shake_from("127.0.0.1").await
    }

    /// As [`Carried::shake`], from another address.
    pub async fn shake_from(&self, from: &str) -> std::io::Result<TlsStream<TcpStream>> {
        let stream = self.reach(from).await?;
        let name = ServerName::try_from(self.server_name.clone()).unwrap();
        TlsConnector::from(Arc::new(self.config()))
            .connect(name, stream)
            .await
    }

    /// A connection that has said nothing yet.
    pub async fn connect_silently(&self) -> Channel {
        channel(self.shake().await.unwrap()).await.unwrap()
    }

    /// A connection that has said Hello.
    pub async fn connect(&self) -> Channel {
        self.connect_from("127.0.0.1").await
    }

    /// As [`Carried::connect`], from another address.
    pub async fn connect_from(&self, from: &str) -> Channel {
        self.try_connect_from(from).await.unwrap()
    }

    /// As [`Carried::connect_from`], for who may be sent away.
    pub async fn try_connect_from(&self, from: &str) -> Result<Channel, tonic::Status> {
        let channel = channel(self.shake_from(from).await?).await?;
        let hello = HelloRequest {
            program_version: env!("CARGO_PKG_VERSION").into(),
            protocol: PROTOCOL,
            by: String::new(),
            data_folder: String::new(),
        };
        ShopClient::new(channel.clone()).hello(hello).await?;
        Ok(channel)
    }
}

/// gRPC over a connection.
async fn channel(stream: TlsStream<TcpStream>) -> Result<Channel, tonic::Status> {
    let stream = std::sync::Mutex::new(Some(TokioIo::new(stream)));
    let connector = tower::service_fn(move |_: tonic::transport::Uri| {
        let stream = stream.lock().unwrap().take();
        async move { stream.ok_or_else(|| std::io::Error::other("the connection broke")) }
    });
    Endpoint::from_static("http://localhost")
        .connect_with_connector(connector)
        .await
        .map_err(|error| tonic::Status::unavailable(error.to_string()))
}
