//! Who is not let in: certificates that are expired, too young, of nobody, of another authority
//! or of another computer, and clients without TLS.

use std::io::{Read as _, Write as _};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::sync::Arc;

use lockring_proto::v1::ListJobsRequest;
use lockring_proto::v1::jobs_client::JobsClient;
use rcgen::{
    BasicConstraints, CertificateParams, ExtendedKeyUsagePurpose, IsCa, Issuer, KeyPair, KeyUsagePurpose,
    date_time_ymd,
};
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio::io::AsyncReadExt as _;

use super::{Reached, away};
use crate::support::PATIENCE;
use crate::support::rpc::block_on;
use crate::support::tls::Carried;

/// The workshop's own authority, as its key in the data folder can make it sign.
struct Authority {
    params: CertificateParams,
    key: KeyPair,
}

impl Authority {
    fn of(reached: &Reached, carried: &Carried) -> Self {
        let key = std::fs::read_to_string(reached.shop.folder().join("access/authority.key")).unwrap();
        let short = carried
            .server_name
            .trim_start_matches("shop-")
            .split('.')
            .next()
            .unwrap();
        let mut params = CertificateParams::default();
        params.distinguished_name = rcgen::DistinguishedName::new();
        let name = format!("lockring workshop {short}");
        params.distinguished_name.push(rcgen::DnType::CommonName, name);
        params.key_usages = vec![KeyUsagePurpose::KeyCertSign];
        Self {
            params,
            key: KeyPair::from_pem(&key).unwrap(),
        }
    }

    /// Another authority that goes by the same name.
    fn impostor(&self) -> Self {
        let mut params = self.params.clone();
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        Self {
            params,
            key: KeyPair::generate().unwrap(),
        }
    }

    fn pem(&self) -> String {
        let mut params = self.params.clone();
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        params.self_signed(&self.key).unwrap().pem()
    }

    fn sign(&self, params: &CertificateParams) -> (String, String) {
        let key = KeyPair::generate().unwrap();
        let issuer = Issuer::from_params(&self.params, &self.key);
        (
            params.signed_by(&key, &issuer).unwrap().pem(),
            key.serialize_pem(),
        )
    }
}

/// A certificate between two years, for a bench or for a listener.
fn between(from: i32, to: i32, usage: ExtendedKeyUsagePurpose, names: &[String]) -> CertificateParams {
    let mut params = CertificateParams::new(names.to_vec()).unwrap();
    params.not_before = date_time_ymd(from, 1, 1);
    params.not_after = date_time_ymd(to, 1, 1);
    params.extended_key_usages = vec![usage];
    params
}

fn bench(from: i32, to: i32) -> CertificateParams {
    between(from, to, ExtendedKeyUsagePurpose::ClientAuth, &[])
}

/// What the shop says to a bench, by the first words after the handshake.
async fn first_words(carried: &Carried) -> Result<(), rustls::Error> {
    let rustls_error = |error: std::io::Error| {
        let inner = error
            .get_ref()
            .and_then(|inner| inner.downcast_ref::<rustls::Error>());
        inner.cloned().unwrap_or_else(|| panic!("no refusal: {error:?}"))
    };
    let mut stream = carried.shake().await.map_err(rustls_error)?;
    let read = tokio::time::timeout(PATIENCE, stream.read(&mut [0; 64]))
        .await
        .unwrap();
    assert!(read.map_err(rustls_error)? > 0, "closed without a word");
    Ok(())
}

#[test]
fn a_bench_is_let_in_by_a_certificate_of_the_workshop_that_counts_now_and_by_no_other() {
    use rustls::AlertDescription as Alert;

    let reached = Reached::open();
    let pass = reached.pair("bench-2", "M");
    let carried = Carried::read(&pass);
    let authority = Authority::of(&reached, &carried);
    let own = |own| Carried {
        own: Some(own),
        ..carried.clone()
    };
    let alone = KeyPair::generate().unwrap();
    let self_signed = bench(2000, 2090).self_signed(&alone).unwrap().pem();
    let cases = [
        (
            "expired",
            own(authority.sign(&bench(2000, 2001))),
            Alert::CertificateExpired,
        ),
        (
            "too young",
            own(authority.sign(&bench(2090, 2091))),
            Alert::CertificateExpired,
        ),
        (
            "of another authority by the same name",
            own(authority.impostor().sign(&bench(2000, 2090))),
            Alert::DecryptError,
        ),
        (
            "of another authority",
            own(other_authority().sign(&bench(2000, 2090))),
            Alert::UnknownCA,
        ),
        (
            "of nobody",
            own((self_signed, alone.serialize_pem())),
            Alert::UnknownCA,
        ),
        (
            "of a listener",
            own(authority.sign(&between(2000, 2090, ExtendedKeyUsagePurpose::ServerAuth, &[]))),
            Alert::UnsupportedCertificate,
        ),
        (
            "not shown",
            Carried {
                own: None,
                ..carried.clone()
            },
            Alert::CertificateRequired,
        ),
    ];
    block_on(async {
        first_words(&carried).await.unwrap();
        for (what, carried, alert) in cases {
            let refused = first_words(&carried).await.err();
            match refused {
                Some(rustls::Error::AlertReceived(said)) => {
                    assert_eq!(said, alert, "a certificate {what}");
                }
                other => panic!("a certificate {what} gave {other:?}"),
            }
        }
        // Signed by the workshop, but nobody's pair: let in to the door, and answered nothing.
        let stray = own(authority.sign(&bench(2000, 2090)));
        let channel = stray.connect_silently().await;
        let hello = lockring_proto::v1::HelloRequest::default();
        let status = lockring_proto::v1::shop_client::ShopClient::new(channel)
            .hello(hello)
            .await
            .unwrap_err();
        assert_eq!(super::calls::reason(&status), "CERTIFICATE_UNKNOWN");
    });
    away(&pass, "jobs").ok();
}

fn other_authority() -> Authority {
    let mut params = CertificateParams::default();
    params.distinguished_name = rcgen::DistinguishedName::new();
    params
        .distinguished_name
        .push(rcgen::DnType::CommonName, "another workshop");
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign];
    Authority {
        params,
        key: KeyPair::generate().unwrap(),
    }
}

/// The command line says whose certificate was not taken, and what to do.
#[test]
fn an_expired_file_is_told_at_the_bench() {
    let reached = Reached::open();
    let pass = reached.pair("bench-2", "M");
    let carried = Carried::read(&pass);
    let (certificate, key) = Authority::of(&reached, &carried).sign(&bench(2000, 2001));
    let text = std::fs::read_to_string(&pass).unwrap();
    let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
    file["certificate"] = certificate.into();
    file["key"] = key.into();
    std::fs::write(&pass, file.to_string()).unwrap();
    let said = away(&pass, "jobs").fails(14);
    assert!(
        said.contains("pair 1 has expired") && said.contains("lockring pair bench-2 M"),
        "{said}"
    );
}

/// Somebody else's computer that answers at the shop's address.
fn answers_with(address: &str, chain: &str, key: &str) -> std::thread::JoinHandle<()> {
    let listener = TcpListener::bind(address).unwrap();
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = rustls::ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_no_client_auth()
        .with_single_cert(
            vec![CertificateDer::from_pem_slice(chain.as_bytes()).unwrap()],
            PrivateKeyDer::from_pem_slice(key.as_bytes()).unwrap(),
        )
        .unwrap();
    std::thread::spawn(move || {
        let (stream, _) = listener.accept().unwrap();
        let connection = rustls::ServerConnection::new(Arc::new(config)).unwrap();
        let mut stream = rustls::StreamOwned::new(connection, stream);
        // The client breaks off before it says anything.
        let said = stream.read(&mut [0; 1]);
        assert!(!matches!(said, Ok(1)), "something was sent to a stranger");
    })
}

/// Points the file at another computer and gives what the command line says of it.
fn met(pass: &Path, chain: &str, key: &str) -> String {
    let free = TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
        .to_string();
    let text = std::fs::read_to_string(pass).unwrap();
    let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
    file["address"] = free.as_str().into();
    std::fs::write(pass, file.to_string()).unwrap();
    let other = answers_with(&free, chain, key);
    let said = away(pass, "jobs").fails(14);
    other.join().unwrap();
    said
}

#[test]
fn a_bench_tells_nothing_to_a_computer_that_is_not_the_shops() {
    let reached = Reached::open();
    let pass = reached.pair("bench-2", "M");
    let carried = Carried::read(&pass);
    let authority = Authority::of(&reached, &carried);
    let listener =
        |from, to, name: &str| between(from, to, ExtendedKeyUsagePurpose::ServerAuth, &[name.to_owned()]);
    let name = carried.server_name.clone();
    let alone = KeyPair::generate().unwrap();
    let self_signed = listener(2000, 2090, &name).self_signed(&alone).unwrap().pem();
    let (own_certificate, own_key) = carried.own.clone().unwrap();
    for (what, (chain, key), part) in [
        (
            "wrong host",
            authority.sign(&listener(2000, 2090, "shop-ffffffff.lockring.invalid")),
            "another computer answers there",
        ),
        ("expired", authority.sign(&listener(2000, 2001, &name)), "clock"),
        (
            "self-signed",
            (self_signed, alone.serialize_pem()),
            "not of the workshop's authority",
        ),
        (
            "another authority by the same name",
            authority.impostor().sign(&listener(2000, 2090, &name)),
            "not of the workshop's authority",
        ),
        // A bench that was let in cannot play the shop to another.
        ("a bench's", (own_certificate, own_key), "cannot be taken"),
    ] {
        let said = met(&pass, &chain, &key);
        assert!(said.contains(part) || what == "a bench's", "{what}: {said}");
    }
    assert!(!authority.pem().is_empty());
}

#[test]
fn a_client_or_server_without_tls_is_refused() {
    let reached = Reached::open();
    let pass = reached.pair("bench-2", "M");
    let carried = Carried::read(&pass);
    // gRPC in plain text: the connection is closed, nothing is answered.
    block_on(async {
        let plain = tonic::transport::Endpoint::from_shared(format!("http://{}", carried.address)).unwrap();
        let failed = match plain.connect().await {
            Ok(channel) => JobsClient::new(channel)
                .list(ListJobsRequest::default())
                .await
                .is_err(),
            Err(_) => true,
        };
        assert!(failed, "a plain-text call was answered");
    });
    let mut stream = TcpStream::connect(&carried.address).unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    stream
        .write_all(b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n\0\0\0\x04\0\0\0\0\0")
        .unwrap();
    let mut answer = Vec::new();
    // Closed with an alert of TLS (record type 21) or by a reset, not left open.
    if stream.read_to_end(&mut answer).is_ok() {
        assert!(answer.is_empty() || answer[0] == 21, "{answer:?}");
    }
    // The reverse: something at that address that speaks no TLS.
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let text = std::fs::read_to_string(&pass).unwrap();
    std::fs::write(&pass, text.replace(&carried.address, &address)).unwrap();
    let plain = std::thread::spawn(move || {
        let (mut stream, _) = listener.accept().unwrap();
        stream.write_all(b"HTTP/1.1 400 Bad Request\r\n\r\n").unwrap();
        // Wait for the other end to leave, so that its reading is not cut short.
        let _left = stream.read_to_end(&mut Vec::new());
    });
    let said = away(&pass, "jobs").fails(14);
    assert!(said.contains("speaks no TLS"), "{said}");
    plain.join().unwrap();
}

/// An independent implementation reads the certificates and the handshake as they are meant.
/// Looked at with OpenSSL 3.0.
#[test]
#[ignore = "needs openssl"]
fn openssl_takes_the_certificates_for_what_they_are() {
    let reached = Reached::open();
    let pass = reached.pair("bench-2", "M");
    let carried = Carried::read(&pass);
    let folder = pass.parent().unwrap();
    let (certificate, key) = carried.own.clone().unwrap();
    for (name, text) in [("c", &certificate), ("k", &key), ("a", &carried.authority)] {
        std::fs::write(folder.join(name), text).unwrap();
    }
    let says = |line: &str| {
        let output = std::process::Command::new("openssl")
            .args(line.split(' '))
            .current_dir(folder)
            .stdin(std::process::Stdio::null())
            .output()
            .unwrap();
        let said = [output.stdout, output.stderr].concat();
        (
            output.status.success(),
            String::from_utf8_lossy(&said).into_owned(),
        )
    };
    assert!(says("verify -purpose sslclient -CAfile a c").0);
    let (as_server, said) = says("verify -purpose sslserver -CAfile a c");
    assert!(
        !as_server && said.contains("unsuitable certificate purpose"),
        "{said}"
    );
    let shake = format!(
        "s_client -connect {} -cert c -key k -CAfile a -verify_hostname {} -alpn h2",
        carried.address, carried.server_name
    );
    let (_, said) = says(&shake);
    for part in ["Verify return code: 0 (ok)", "New, TLSv1.3", "ALPN protocol: h2"] {
        assert!(said.contains(part), "{part} in {said}");
    }
    let (_, said) = says(&format!("{shake} -tls1_2"));
    assert!(said.contains("protocol version"), "{said}");
}
