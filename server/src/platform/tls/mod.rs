//! TLS of the service itself: certificates from files or from an authority of this machine's own, read again when they
//! change. A connection keeps the certificate that it began with; the next one gets the new one.

mod authority;

use std::{
    fs,
    path::{Path, PathBuf},
    sync::{Arc, PoisonError, RwLock},
    time::{Duration, SystemTime},
};

use anyhow::{Context as _, bail};
use rustls::{
    CertificateError, Error, InconsistentKeys, RootCertStore, ServerConfig,
    crypto::{CryptoProvider, aws_lc_rs},
    pki_types::{CertificateDer, PrivateKeyDer, UnixTime, pem, pem::PemObject as _},
    server::{ClientHello, ParsedCertificate, ResolvesServerCert},
    sign::CertifiedKey,
};
use tokio::signal::unix::{SignalKind, signal};

pub use authority::Authority;

/// How often the files are looked at.
const LOOK: Duration = Duration::from_secs(3);

/// Where the certificate comes from.
#[derive(Debug)]
pub enum Source {
    /// From files that somebody else renews.
    Files {
        /// PEM: the service's certificate first, then those that lead to its authority.
        certificate: PathBuf,
        /// PEM: the private key, as PKCS#8, SEC1 or PKCS#1.
        key: PathBuf,
    },
    /// From this machine's own authority.
    Own(Authority),
}

/// A certificate and its key, as text.
#[derive(Debug, PartialEq)]
struct Pair {
    chain: Vec<u8>,
    key: Vec<u8>,
}

/// The certificate that new connections get.
#[derive(Debug)]
struct Served(RwLock<Arc<CertifiedKey>>);

/// The service's TLS.
#[derive(Debug)]
pub struct Tls {
    source: Source,
    served: Arc<Served>,
}

impl ResolvesServerCert for Served {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(Arc::clone(&self.0.read().unwrap_or_else(PoisonError::into_inner)))
    }
}

fn provider() -> CryptoProvider {
    aws_lc_rs::default_provider()
}

fn read(path: &Path) -> anyhow::Result<Vec<u8>> {
    fs::read(path).with_context(|| format!("{} cannot be read", path.display()))
}

impl Source {
    fn read(&self) -> anyhow::Result<Pair> {
        match self {
            Self::Files { certificate, key } => Ok(Pair {
                chain: read(certificate)?,
                key: read(key)?,
            }),
            Self::Own(authority) => {
                let both = authority.leaf(SystemTime::now())?;
                Ok(Pair {
                    chain: both.clone(),
                    key: both,
                })
            }
        }
    }
}

impl Pair {
    /// The certificate with its key, if they can be used.
    fn certified(&self) -> anyhow::Result<CertifiedKey> {
        let chain: Vec<CertificateDer<'static>> = CertificateDer::pem_slice_iter(&self.chain)
            .collect::<Result<_, _>>()
            .context("the certificate file is not PEM")?;
        let Some(leaf) = chain.first() else {
            bail!("the certificate file holds no certificate: it begins with -----BEGIN CERTIFICATE-----");
        };
        ParsedCertificate::try_from(leaf).context("the first certificate cannot be read")?;
        let key = PrivateKeyDer::from_pem_slice(&self.key).map_err(|error| match error {
            pem::Error::NoItemsFound => {
                anyhow::anyhow!("the key file holds no private key that can be read; a key under a passphrase must be written out without it")
            }
            other => anyhow::anyhow!("the key file is not PEM: {other}"),
        })?;
        CertifiedKey::from_der(chain, key, &provider()).map_err(|error| match error {
            Error::InconsistentKeys(InconsistentKeys::KeyMismatch) => {
                anyhow::anyhow!(
                    "the key does not fit the first certificate of the file; the service's own certificate comes first, then those that lead to its authority"
                )
            }
            other => anyhow::anyhow!("the key cannot be used: {other}"),
        })
    }
}

/// What is wrong with a certificate's days at an instant, if anything.
fn days(certificate: &CertificateDer<'_>, at: SystemTime) -> Option<CertificateError> {
    let certificate = ParsedCertificate::try_from(certificate).ok()?;
    let at = UnixTime::since_unix_epoch(at.duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default());
    // Days are looked at before the way to an authority, which nobody knows here.
    let nobody = RootCertStore::empty();
    let algorithms = provider().signature_verification_algorithms;
    match rustls::client::verify_server_cert_signed_by_trust_anchor(&certificate, &nobody, &[], at, algorithms.all) {
        Err(Error::InvalidCertificate(CertificateError::Expired | CertificateError::ExpiredContext { .. })) => Some(CertificateError::Expired),
        Err(Error::InvalidCertificate(CertificateError::NotValidYet | CertificateError::NotValidYetContext { .. })) => Some(CertificateError::NotValidYet),
        _ => None,
    }
}

impl Tls {
    /// Reads the certificate, or says what is wrong with it.
    pub fn open(source: Source) -> anyhow::Result<Self> {
        let certified = source.read()?.certified().context("TLS cannot start")?;
        warn(&certified);
        Ok(Self {
            source,
            served: Arc::new(Served(RwLock::new(Arc::new(certified)))),
        })
    }

    /// What is wrong with the certificate's days, if anything, or will be within a fortnight.
    pub fn trouble(&self) -> Option<&'static str> {
        trouble(&self.served.0.read().unwrap_or_else(PoisonError::into_inner))
    }

    /// The machine's own authority, if the certificate comes from there.
    pub fn authority(&self) -> Option<&Authority> {
        match &self.source {
            Source::Own(authority) => Some(authority),
            Source::Files { .. } => None,
        }
    }

    /// How connections are answered: TLS 1.2 and 1.3. What is spoken inside, HTTP/2 or 1.1, is the server's to add.
    pub fn config(&self) -> anyhow::Result<ServerConfig> {
        let served = Arc::clone(&self.served);
        Ok(ServerConfig::builder_with_provider(Arc::new(provider()))
            .with_safe_default_protocol_versions()?
            .with_no_client_auth()
            .with_cert_resolver(served))
    }

    /// Serves what the source has, when it changes or on SIGHUP. What cannot be used is told once and passed over.
    pub async fn keep(self: Arc<Self>) {
        let Ok(mut asked) = signal(SignalKind::hangup()) else { return };
        let mut last = None;
        loop {
            tokio::select! {
                () = tokio::time::sleep(LOOK) => {}
                _ = asked.recv() => last = None,
            }
            let own = Arc::clone(&self);
            let Ok(found) = tokio::task::spawn_blocking(move || own.source.read().map_err(|error| format!("{error:#}"))).await else {
                return;
            };
            if last.as_ref() == Some(&found) {
                continue;
            }
            match found
                .as_ref()
                .map_err(Clone::clone)
                .and_then(|pair| pair.certified().map_err(|error| format!("{error:#}")))
            {
                Ok(certified) => self.serve(certified),
                Err(wrong) => tracing::error!("the new certificate cannot be used, the one before is kept: {wrong}"),
            }
            last = Some(found);
        }
    }

    fn serve(&self, certified: CertifiedKey) {
        let mut served = self.served.0.write().unwrap_or_else(PoisonError::into_inner);
        if served.cert != certified.cert {
            tracing::info!("new connections get the new certificate");
            warn(&certified);
        }
        *served = Arc::new(certified);
    }
}

/// What is wrong with a certificate's days, if anything, or will be within a fortnight.
fn trouble(certified: &CertifiedKey) -> Option<&'static str> {
    let certificate = certified.cert.first()?;
    let (now, soon) = (SystemTime::now(), Duration::from_secs(14 * 86_400));
    match (days(certificate, now), days(certificate, now + soon)) {
        (Some(CertificateError::Expired), _) => Some("the certificate has expired: clients refuse it until a new one is there"),
        (Some(_), _) => Some("the certificate is not valid yet: clients refuse it until its first day, or this machine's clock is wrong"),
        (None, Some(_)) => Some("the certificate expires within 14 days; renew it"),
        (None, None) => None,
    }
}

fn warn(certified: &CertifiedKey) {
    if let Some(words) = trouble(certified) {
        tracing::warn!("{words}");
    }
}
