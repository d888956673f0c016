//! The workshop's own authority: it signs the certificates of benches, and that of the listener.
//!
//! Its key lies in `access/` of the data folder, readable by its owner alone, and in no backup.
//! A bench's key never comes here: what is signed is its public half.

use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io::{self, Write as _};
use std::os::unix::fs::{DirBuilderExt as _, MetadataExt as _, OpenOptionsExt as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use lockring_proto::paths::{self, PRIVATE_MODE, PathError};
use rcgen::{
    BasicConstraints, CertificateParams, DnType, ExtendedKeyUsagePurpose, IsCa, Issuer, KeyPair,
    KeyUsagePurpose, PKCS_ECDSA_P256_SHA256, PublicKeyData, SignatureAlgorithm, date_time_ymd,
};
use rustls::RootCertStore;
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use rustls::server::{NoServerSessionStorage, WebPkiClientVerifier};
use sha2::{Digest as _, Sha256};

/// The folder of the authority's files, in the data folder.
pub(crate) const FOLDER: &str = "access";
/// The key, PKCS #8.
const KEY: &str = "authority.key";
/// The certificate.
const CERTIFICATE: &str = "authority.pem";
/// Bits that let anybody but the owner at the key.
const OTHERS: u32 = 0o077;
/// How long the authority and the listener's certificate last; the listener's is made anew at
/// each start.
const YEARS: i32 = 20;
/// A point of the curve P-256, uncompressed: a 4 and two coordinates (SEC 1, section 2.3.3).
const POINT: usize = 65;

/// What is the matter with the authority.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Trouble {
    /// Its folder or a file cannot be read or written.
    #[error("{} of the workshop's authority: {error}", path.display())]
    File {
        /// The folder or file.
        path: PathBuf,
        /// What the system said.
        error: io::Error,
    },
    /// Its folder is not private.
    #[error("{0}")]
    Folder(#[from] PathError),
    /// Its key can be read by others.
    #[error(
        "the key {} has mode {mode:03o}, so others may have read it; expected 600. \
         Remove the folder `access`, and pair every bench anew",
        path.display()
    )]
    Open {
        /// The key.
        path: PathBuf,
        /// Its permission bits.
        mode: u32,
    },
    /// The certificate is there and the key is not.
    #[error(
        "the key {} is gone. Put it back, or remove the folder `access` and pair every bench anew",
        path.display()
    )]
    NoKey {
        /// The key.
        path: PathBuf,
    },
    /// A file is not what it should be, or a certificate cannot be made.
    #[error("the workshop's authority is in trouble: {0}")]
    Broken(String),
}

impl From<rcgen::Error> for Trouble {
    fn from(error: rcgen::Error) -> Self {
        Self::Broken(error.to_string())
    }
}

impl From<rustls::Error> for Trouble {
    fn from(error: rustls::Error) -> Self {
        Self::Broken(error.to_string())
    }
}

/// The workshop's own authority.
#[derive(Debug)]
pub(crate) struct Authority {
    params: CertificateParams,
    key: KeyPair,
    certificate: CertificateDer<'static>,
    pem: String,
    server_name: String,
}

/// A certificate that was signed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Signed {
    /// The certificate, PEM.
    pub(crate) pem: String,
    /// SHA-256 of it, hexadecimal.
    pub(crate) fingerprint: String,
}

/// The public half of a bench's key.
struct BenchKey(Vec<u8>);

impl PublicKeyData for BenchKey {
    fn der_bytes(&self) -> &[u8] {
        &self.0
    }

    fn algorithm(&self) -> &'static SignatureAlgorithm {
        &PKCS_ECDSA_P256_SHA256
    }
}

impl Authority {
    /// The authority whose files are in a folder; made where there is none.
    ///
    /// # Errors
    /// [`Trouble`]; a key is never made anew beside a certificate.
    pub(crate) fn of(folder: &Path, now: Timestamp) -> Result<Self, Trouble> {
        let at = |path: &Path| {
            let path = path.to_owned();
            move |error| Trouble::File { path, error }
        };
        match DirBuilder::new().mode(PRIVATE_MODE).create(folder) {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => return Err(at(folder)(error)),
            _ => paths::check_private_folder(folder)?,
        }
        let (key_path, certificate_path) = (folder.join(KEY), folder.join(CERTIFICATE));
        let kept = read(&certificate_path).map_err(at(&certificate_path))?;
        let key = match (read(&key_path).map_err(at(&key_path))?, &kept) {
            (Some(text), _) => {
                let mode = fs::metadata(&key_path).map_err(at(&key_path))?.mode() & 0o777;
                if mode & OTHERS != 0 {
                    return Err(Trouble::Open { path: key_path, mode });
                }
                KeyPair::from_pem(&text)?
            }
            (None, Some(_)) => return Err(Trouble::NoKey { path: key_path }),
            (None, None) => {
                let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256)?;
                write(&key_path, &key.serialize_pem()).map_err(at(&key_path))?;
                key
            }
        };
        let short = fingerprint(key.public_key_raw()).split_off(56);
        let params = params(&short, now)?;
        let pem = match kept {
            Some(pem) => pem,
            None => {
                let pem = params.self_signed(&key)?.pem();
                write(&certificate_path, &pem).map_err(at(&certificate_path))?;
                pem
            }
        };
        let certificate = CertificateDer::from_pem_slice(pem.as_bytes())
            .map_err(|error| Trouble::Broken(format!("{}: {error}", certificate_path.display())))?;
        Ok(Self {
            params,
            key,
            certificate,
            pem,
            server_name: format!("shop-{short}.lockring.invalid"),
        })
    }

    /// The name the listener's certificate says.
    pub(crate) fn server_name(&self) -> &str {
        &self.server_name
    }

    /// The authority's certificate, PEM.
    pub(crate) fn pem(&self) -> &str {
        &self.pem
    }

    /// Signs the public key of a bench for a person, until a day begins.
    ///
    /// # Errors
    /// [`Trouble::Broken`].
    pub(crate) fn sign(
        &self,
        bench: &str,
        person: &str,
        public_key: &[u8],
        now: Timestamp,
        until: Date,
    ) -> Result<Signed, Trouble> {
        let mut params = CertificateParams::default();
        // The name is for people who look at the file; what counts is the fingerprint.
        params.distinguished_name = rcgen::DistinguishedName::new();
        params
            .distinguished_name
            .push(DnType::CommonName, format!("{bench} {person}"));
        lasts(&mut params, now, until)?;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ClientAuth];
        params.use_authority_key_identifier_extension = true;
        let signed = params.signed_by(&BenchKey(public_key.to_vec()), &self.issuer())?;
        Ok(Signed {
            pem: signed.pem(),
            fingerprint: fingerprint(signed.der()),
        })
    }

    /// What the listener shows and asks for: TLS 1.3, a certificate of this authority from both
    /// sides, and no session that outlives its connection.
    ///
    /// # Errors
    /// [`Trouble::Broken`].
    pub(crate) fn server(&self, now: Timestamp) -> Result<Arc<ServerConfig>, Trouble> {
        let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256)?;
        let mut params = CertificateParams::new([self.server_name.clone()])?;
        params.distinguished_name = rcgen::DistinguishedName::new();
        params.distinguished_name.push(DnType::CommonName, "lockringd");
        lasts(&mut params, now, years_on(now)?)?;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        let certificate = params.signed_by(&key, &self.issuer())?;
        let mut roots = RootCertStore::empty();
        roots.add(self.certificate.clone())?;
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let asks = WebPkiClientVerifier::builder_with_provider(Arc::new(roots), provider.clone())
            .build()
            .map_err(|error| Trouble::Broken(error.to_string()))?;
        let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
        let mut config = ServerConfig::builder_with_provider(provider)
            .with_protocol_versions(&[&rustls::version::TLS13])?
            .with_client_cert_verifier(asks)
            .with_single_cert(vec![certificate.der().clone()], key)?;
        config.alpn_protocols = vec![b"h2".to_vec()];
        config.session_storage = Arc::new(NoServerSessionStorage {});
        config.send_tls13_tickets = 0;
        Ok(Arc::new(config))
    }

    fn issuer(&self) -> Issuer<'_, &KeyPair> {
        Issuer::from_params(&self.params, &self.key)
    }
}

/// Whether bytes can be the public key of a bench.
pub(crate) fn is_point(public_key: &[u8]) -> bool {
    public_key.len() == POINT && public_key.first() == Some(&4)
}

/// SHA-256, hexadecimal.
pub(crate) fn fingerprint(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// The authority's own certificate, by the short form of its key.
fn params(short: &str, now: Timestamp) -> Result<CertificateParams, Trouble> {
    let mut params = CertificateParams::default();
    params.distinguished_name = rcgen::DistinguishedName::new();
    params
        .distinguished_name
        .push(DnType::CommonName, format!("lockring workshop {short}"));
    lasts(&mut params, now, years_on(now)?)?;
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign];
    Ok(params)
}

/// From the day before, because clocks differ, until a day begins (UTC).
fn lasts(params: &mut CertificateParams, now: Timestamp, until: Date) -> Result<(), Trouble> {
    let today = now.to_zoned_datetime(TimeZone::UTC).date();
    let from = today
        .yesterday()
        .map_err(|error| Trouble::Broken(error.to_string()))?;
    let midnight = |day: Date| {
        date_time_ymd(
            day.year().into(),
            day.month().unsigned_abs(),
            day.day().unsigned_abs(),
        )
    };
    params.not_before = midnight(from);
    params.not_after = midnight(until);
    Ok(())
}

fn years_on(now: Timestamp) -> Result<Date, Trouble> {
    let today = now.to_zoned_datetime(TimeZone::UTC).date();
    today
        .checked_add(Span::new().years(YEARS))
        .map_err(|error| Trouble::Broken(error.to_string()))
}

/// A file's text; `None` where there is none.
fn read(path: &Path) -> io::Result<Option<String>> {
    match fs::read_to_string(path) {
        Ok(text) => Ok(Some(text)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

/// Writes a new file, its owner's alone, whole or not at all.
fn write(path: &Path, text: &str) -> io::Result<()> {
    let unfinished = path.with_extension("new");
    match fs::remove_file(&unfinished) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
        _ => {}
    }
    let mut file = OpenOptions::new()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(&unfinished)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()?;
    fs::rename(&unfinished, path)?;
    match path.parent() {
        Some(folder) => File::open(folder)?.sync_all(),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use std::os::unix::fs::PermissionsExt as _;

    use super::*;

    fn now() -> Timestamp {
        "2026-03-13T10:00Z".parse().unwrap()
    }

    #[test]
    fn it_is_made_once_private_and_found_again() {
        let base = tempfile::tempdir().unwrap();
        let folder = base.path().join(FOLDER);
        let first = Authority::of(&folder, now()).unwrap();
        let mode = |name: &str| fs::metadata(folder.join(name)).unwrap().mode() & 0o777;
        assert_eq!((mode(""), mode(KEY), mode(CERTIFICATE)), (0o700, 0o600, 0o600));
        let again = Authority::of(&folder, now()).unwrap();
        assert_eq!(first.pem(), again.pem());
        assert_eq!(first.server_name(), again.server_name());
        first.server(now()).unwrap();
    }

    #[test]
    fn a_key_that_was_cut_off_from_its_certificate_gets_one_and_the_reverse_is_refused() {
        let base = tempfile::tempdir().unwrap();
        let folder = base.path().join(FOLDER);
        let first = Authority::of(&folder, now()).unwrap();
        fs::remove_file(folder.join(CERTIFICATE)).unwrap();
        let again = Authority::of(&folder, now()).unwrap();
        assert_eq!(first.server_name(), again.server_name());
        fs::remove_file(folder.join(KEY)).unwrap();
        let refused = Authority::of(&folder, now()).unwrap_err().to_string();
        assert!(
            refused.contains("is gone") && refused.contains("anew"),
            "{refused}"
        );
    }

    #[test]
    fn a_key_or_folder_that_others_can_read_is_refused_with_its_mode() {
        let base = tempfile::tempdir().unwrap();
        let folder = base.path().join(FOLDER);
        Authority::of(&folder, now()).unwrap();
        fs::set_permissions(folder.join(KEY), fs::Permissions::from_mode(0o640)).unwrap();
        let refused = Authority::of(&folder, now()).unwrap_err().to_string();
        assert!(refused.contains("mode 640"), "{refused}");
        fs::set_permissions(folder.join(KEY), fs::Permissions::from_mode(0o600)).unwrap();
        fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
        let refused = Authority::of(&folder, now()).unwrap_err().to_string();
        assert!(refused.contains("755"), "{refused}");
    }

    #[test]
    fn a_public_key_is_an_uncompressed_point() {
        let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256).unwrap();
        assert!(is_point(key.public_key_raw()));
        for wrong in [&[][..], &[4; 64], &[2; 33], &[5; 65]] {
            assert!(!is_point(wrong));
        }
    }
}
