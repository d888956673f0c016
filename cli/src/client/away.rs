//! The way to the shop from another computer: TLS, with the certificates of a pass on both sides.

use std::io::{Cursor, ErrorKind};
use std::sync::Arc;

use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, ServerName};
use rustls::{AlertDescription, CertificateError, ClientConfig, RootCertStore};
use tokio::io::{AsyncRead, AsyncReadExt as _, AsyncWrite};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;

use super::CONNECT;
use super::pass::Pass;
use crate::command_error::{CommandError, Exit};

/// Opens a connection to the shop of a pass.
///
/// # Errors
/// [`Exit::NoDaemon`] when nobody answers at its address, [`Exit::Timeout`],
/// [`Exit::Permission`] when one side does not take the certificate of the other,
/// [`Exit::BadInput`] when the pass is not what it should be.
pub(super) async fn open(
    pass: &Pass,
) -> Result<impl AsyncRead + AsyncWrite + Send + Unpin + use<>, CommandError> {
    let config = config(pass)?;
    let name = ServerName::try_from(pass.server_name.clone()).map_err(|error| unfit(&error))?;
    let shaking = async {
        let stream = TcpStream::connect(&pass.address)
            .await
            .map_err(|error| unreached(pass, &error))?;
        // Small requests are not to wait for company; without it they are only slower.
        let _slower = stream.set_nodelay(true);
        let connector = TlsConnector::from(Arc::new(config));
        let mut stream = connector
            .connect(name, stream)
            .await
            .map_err(|error| refused(pass, &error))?;
        // What the shop thinks of our certificate comes after the handshake: its first words, or
        // a refusal.
        let mut first = vec![0; 4096];
        let read = stream
            .read(&mut first)
            .await
            .map_err(|error| refused(pass, &error))?;
        if read == 0 {
            return Err(closed(pass));
        }
        first.truncate(read);
        let (reads, writes) = tokio::io::split(stream);
        Ok(tokio::io::join(Cursor::new(first).chain(reads), writes))
    };
    match tokio::time::timeout(CONNECT, shaking).await {
        Ok(opened) => opened,
        Err(_) => Err(CommandError::new(
            Exit::Timeout,
            format!(
                "nobody let us in within {} s at {}",
                CONNECT.as_secs(),
                pass.address
            ),
        )
        .hint("is this computer in the workshop's network, and the shop's computer on?")),
    }
}

fn config(pass: &Pass) -> Result<ClientConfig, CommandError> {
    let mut roots = RootCertStore::empty();
    let authority =
        CertificateDer::from_pem_slice(pass.authority.as_bytes()).map_err(|error| unfit(&error))?;
    roots.add(authority).map_err(|error| unfit(&error))?;
    let certificate =
        CertificateDer::from_pem_slice(pass.certificate.as_bytes()).map_err(|error| unfit(&error))?;
    let key = PrivateKeyDer::from_pem_slice(pass.key.as_bytes()).map_err(|error| unfit(&error))?;
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let mut config = ClientConfig::builder_with_provider(provider)
        .with_protocol_versions(&[&rustls::version::TLS13])
        .map_err(|error| unfit(&error))?
        .with_root_certificates(roots)
        .with_client_auth_cert(vec![certificate], key)
        .map_err(|error| unfit(&error))?;
    config.alpn_protocols = vec![b"h2".to_vec()];
    Ok(config)
}

fn unfit(error: &dyn std::error::Error) -> CommandError {
    CommandError::new(Exit::BadInput, "the file of the pair is damaged")
        .caused_by(error)
        .hint("carry it over again, or have the owner make another with `lockring pair`")
}

fn unreached(pass: &Pass, error: &std::io::Error) -> CommandError {
    let kind = match error.kind() {
        ErrorKind::TimedOut => Exit::Timeout,
        _ => Exit::NoDaemon,
    };
    CommandError::new(kind, format!("nobody answers at {}", pass.address))
        .caused_by(error)
        .hint("at the shop's computer, `lockring status` and `lockring settings` say whether it serves there")
}

fn closed(pass: &Pass) -> CommandError {
    CommandError::new(
        Exit::NoDaemon,
        format!("{} closed the connection without a word", pass.address),
    )
    .hint("too many connections may be open; try again, and look into lockringd's log")
}

/// Why a side did not take the certificate of the other.
fn refused(pass: &Pass, error: &std::io::Error) -> CommandError {
    let inner = error
        .get_ref()
        .and_then(|inner| inner.downcast_ref::<rustls::Error>());
    let at = &pass.address;
    let theirs = "nothing was sent to it; ask the owner whether the shop's computer was changed";
    let anew = format!(
        "the owner makes another file with `lockring pair {} {}`",
        pass.bench, pass.person
    );
    let (message, hint) = match inner {
        Some(rustls::Error::InvalidCertificate(why)) => {
            let what = match why {
                CertificateError::Expired | CertificateError::ExpiredContext { .. } => {
                    "has expired; is this computer's clock right?".to_owned()
                }
                CertificateError::NotValidYet | CertificateError::NotValidYetContext { .. } => {
                    "is not valid yet; is this computer's clock right?".to_owned()
                }
                CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. } => {
                    format!("is not for {}: another computer answers there", pass.server_name)
                }
                CertificateError::UnknownIssuer | CertificateError::BadSignature => {
                    "is not of the workshop's authority in this file".to_owned()
                }
                other => format!("cannot be taken: {other}"),
            };
            (
                format!("the certificate that answers at {at} {what}"),
                theirs.to_owned(),
            )
        }
        Some(rustls::Error::AlertReceived(alert)) => match alert {
            AlertDescription::CertificateExpired => (
                format!(
                    "the certificate of pair {} has expired, or a clock is wrong",
                    pass.number
                ),
                anew,
            ),
            AlertDescription::UnknownCA
            | AlertDescription::BadCertificate
            | AlertDescription::DecryptError
            | AlertDescription::CertificateUnknown
            | AlertDescription::UnsupportedCertificate => (
                format!("the shop at {at} does not know the authority of this file"),
                anew,
            ),
            other => (
                format!("the shop at {at} refused the connection: {other:?}"),
                anew,
            ),
        },
        Some(rustls::Error::InvalidMessage(_)) => {
            (format!("what answers at {at} speaks no TLS"), theirs.to_owned())
        }
        _ if matches!(
            error.kind(),
            ErrorKind::UnexpectedEof | ErrorKind::ConnectionReset | ErrorKind::BrokenPipe
        ) =>
        {
            return closed(pass).caused_by(error);
        }
        _ => (format!("no trusted connection to {at}"), theirs.to_owned()),
    };
    CommandError::new(Exit::Permission, message)
        .caused_by(error)
        .hint(hint)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::client::pass::sample;

    fn told(error: rustls::Error) -> CommandError {
        refused(&sample(), &std::io::Error::new(ErrorKind::InvalidData, error))
    }

    #[test]
    fn every_refusal_says_whose_certificate_and_what_to_do() {
        for (error, part) in [
            (
                rustls::Error::InvalidCertificate(CertificateError::Expired),
                "clock",
            ),
            (
                rustls::Error::InvalidCertificate(CertificateError::UnknownIssuer),
                "not of the workshop's authority",
            ),
            (
                rustls::Error::InvalidCertificate(CertificateError::NotValidForName),
                "another computer",
            ),
            (
                rustls::Error::AlertReceived(AlertDescription::CertificateExpired),
                "pair 1 has expired",
            ),
            (
                rustls::Error::AlertReceived(AlertDescription::UnknownCA),
                "does not know the authority",
            ),
        ] {
            let told = told(error);
            assert_eq!(told.kind, Exit::Permission);
            assert!(told.message.contains(part), "{}", told.message);
            assert_eq!(told.hints.len(), 1);
        }
    }

    #[tokio::test]
    async fn a_damaged_pass_is_not_sent_anywhere() {
        let error = open(&sample()).await.err().unwrap();
        assert_eq!(error.kind, Exit::BadInput);
    }
}
