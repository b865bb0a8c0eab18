//! A certificate authority of this machine's own, for a place without a certificate from outside. A phone that has its
//! certificate installed trusts the service, and gives its pages camera and storage, which it does over TLS alone.
//!
//! The authority is made once and never replaced: phones trust it by its key. The service's certificate under it is made
//! anew when its end is near or the machine has another name or address.

use std::{
    collections::BTreeSet,
    fs,
    io::Write as _,
    net::IpAddr,
    os::unix::fs::{DirBuilderExt as _, OpenOptionsExt as _},
    path::{Path, PathBuf},
    time::{Duration, SystemTime},
};

use anyhow::{Context as _, bail};
use rcgen::{
    BasicConstraints, CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, IsCa, Issuer, KeyPair, KeyUsagePurpose, PublicKeyData as _,
};
use rustls::{
    RootCertStore,
    pki_types::{CertificateDer, ServerName, UnixTime, pem::PemObject as _},
    server::ParsedCertificate,
};
use sha2::{Digest as _, Sha256};

use super::{Pair, days, provider, read};

const DAY: Duration = Duration::from_secs(86_400);
const AUTHORITY_DAYS: u32 = 3650;
/// Phones refuse certificates of more than 825 days.
const LEAF_DAYS: u32 = 365;
const RENEWED_BEFORE_DAYS: u32 = 30;

/// The authority, kept in a folder: `ca.crt` is for everybody, `ca.key` and `service.pem` are for this service alone.
#[derive(Debug)]
pub struct Authority {
    dir: PathBuf,
    listen: IpAddr,
    more: Vec<String>,
}

impl Authority {
    /// The authority of a folder, for a service that listens on an address and is also known under `more` names.
    pub fn new(dir: PathBuf, listen: IpAddr, more: Vec<String>) -> anyhow::Result<Self> {
        if let Some(name) = more.iter().find(|name| ServerName::try_from(name.as_str()).is_err()) {
            bail!("'{name}' is neither a host name nor an address");
        }
        Ok(Self { dir, listen, more })
    }

    /// The names and addresses that the certificate is for, as they are now.
    pub fn names(&self) -> BTreeSet<String> {
        // Where this is not Linux, the machine's own name is left to `--tls-name`.
        let host = fs::read_to_string("/proc/sys/kernel/hostname").unwrap_or_default().trim().to_lowercase();
        let short = host.split('.').next().unwrap_or_default();
        let mut names: BTreeSet<String> = ["localhost", "127.0.0.1", "::1", &host, &format!("{short}.local")].map(str::to_owned).into();
        if self.listen.is_unspecified() {
            // Addresses of version 6 come and go with the day; a phone finds the machine by its name there.
            let own = if_addrs::get_if_addrs().unwrap_or_default().into_iter().map(|found| found.ip());
            names.extend(own.filter(IpAddr::is_ipv4).map(|ip| ip.to_string()));
        } else {
            names.insert(self.listen.to_string());
        }
        names.extend(self.more.iter().cloned());
        names.retain(|name| ServerName::try_from(name.as_str()).is_ok());
        names
    }

    /// The authority's certificate as PEM, to be installed on phones.
    pub fn certificate(&self) -> anyhow::Result<Vec<u8>> {
        read(&self.dir.join("ca.crt"))
    }

    /// The SHA-256 of the authority's certificate, as phones show it.
    pub fn fingerprint(&self) -> anyhow::Result<String> {
        let digest = Sha256::digest(parse(&self.certificate()?)?);
        Ok(digest.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(":"))
    }

    /// The service's certificate with its key as PEM; both it and the authority are made where they are missing.
    pub(super) fn leaf(&self, now: SystemTime) -> anyhow::Result<Vec<u8>> {
        let names = self.names();
        let path = self.dir.join("service.pem");
        let kept = fs::read(&path).ok();
        if !self.dir.join("ca.crt").exists() {
            self.found(now)?;
        }
        let authority = self.certificate()?;
        let later = now + DAY * RENEWED_BEFORE_DAYS;
        if let Some(kept) = kept.filter(|kept| holds(kept, &authority, &names, later).is_ok()) {
            return Ok(kept);
        }
        let dir = self.dir.display();
        if days(&parse(&authority)?, now).is_some() {
            bail!("the authority in {dir} has come to its end: empty the folder for a new one, and install that on every phone");
        }
        let made = self.issue(&names, now)?;
        holds(made.as_bytes(), &authority, &names, later).with_context(|| {
            format!("ca.key does not fit ca.crt in {dir}: put the right one back, or empty the folder for a new authority and install that on every phone")
        })?;
        write(&path, made.as_bytes(), 0o600)?;
        Ok(made.into_bytes())
    }

    fn found(&self, now: SystemTime) -> anyhow::Result<()> {
        let mut dir = fs::DirBuilder::new();
        dir.recursive(true)
            .mode(0o700)
            .create(&self.dir)
            .with_context(|| format!("{} cannot be made", self.dir.display()))?;
        let key = KeyPair::generate()?;
        let mut params = authority(&key)?;
        (params.not_before, params.not_after) = ((now - DAY).into(), (now + DAY * AUTHORITY_DAYS).into());
        let certificate = params.self_signed(&key)?;
        // The certificate comes last: once it is there, somebody may trust it.
        write(&self.dir.join("ca.key"), key.serialize_pem().as_bytes(), 0o600)?;
        write(&self.dir.join("ca.crt"), certificate.pem().as_bytes(), 0o644)
    }

    fn issue(&self, names: &BTreeSet<String>, now: SystemTime) -> anyhow::Result<String> {
        let path = self.dir.join("ca.key");
        let text = String::from_utf8(read(&path)?)?;
        let ca = KeyPair::from_pem(&text).with_context(|| format!("{} is no private key", path.display()))?;
        let issuer = Issuer::new(authority(&ca)?, ca);
        let mut params = CertificateParams::new(names.iter().cloned().collect::<Vec<_>>())?;
        params.distinguished_name = named("Fullset");
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        (params.not_before, params.not_after) = ((now - DAY).into(), (now + DAY * LEAF_DAYS).into());
        let key = KeyPair::generate()?;
        Ok(params.signed_by(&key, &issuer)?.pem() + &key.serialize_pem())
    }
}

fn named(name: &str) -> DistinguishedName {
    let mut all = DistinguishedName::new();
    all.push(DnType::CommonName, name);
    all
}

/// The authority as its key makes it. Its name is taken from the key, so that two machines' authorities are told apart.
fn authority(key: &KeyPair) -> anyhow::Result<CertificateParams> {
    let mut params = CertificateParams::new(Vec::new())?;
    let digest = Sha256::digest(key.subject_public_key_info());
    let short: String = digest.iter().take(4).map(|byte| format!("{byte:02x}")).collect();
    params.distinguished_name = named(&format!("Fullset authority {short}"));
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    Ok(params)
}

fn parse(pem: &[u8]) -> anyhow::Result<CertificateDer<'static>> {
    CertificateDer::from_pem_slice(pem).context("ca.crt is no certificate")
}

/// Whether a certificate with its key comes from the authority, serves until `until`, and is for all the names.
fn holds(leaf: &[u8], authority: &[u8], names: &BTreeSet<String>, until: SystemTime) -> anyhow::Result<()> {
    let pair = Pair {
        chain: leaf.to_vec(),
        key: leaf.to_vec(),
    };
    let certified = pair.certified()?;
    let certificate = ParsedCertificate::try_from(certified.end_entity_cert()?)?;
    let mut roots = RootCertStore::empty();
    roots.add(parse(authority)?)?;
    let until = UnixTime::since_unix_epoch(until.duration_since(SystemTime::UNIX_EPOCH)?);
    let algorithms = provider().signature_verification_algorithms;
    rustls::client::verify_server_cert_signed_by_trust_anchor(&certificate, &roots, &[], until, algorithms.all)?;
    for name in names {
        rustls::client::verify_server_name(&certificate, &ServerName::try_from(name.as_str())?)?;
    }
    Ok(())
}

/// Writes a file whole or not at all.
fn write(path: &Path, content: &[u8], mode: u32) -> anyhow::Result<()> {
    let beside = path.with_extension("new");
    let wrote = || {
        fs::remove_file(&beside).ok();
        let mut file = fs::OpenOptions::new().write(true).create_new(true).mode(mode).open(&beside)?;
        file.write_all(content)?;
        file.sync_all()?;
        fs::rename(&beside, path)
    };
    wrote().with_context(|| format!("{} cannot be written", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn here(dir: &Path) -> Authority {
        Authority::new(dir.to_owned(), IpAddr::from([127, 0, 0, 1]), vec!["rescue.example".into()]).unwrap()
    }

    #[test]
    fn a_certificate_is_renewed_thirty_days_before_its_end_and_the_authority_is_not() {
        let dir = tempfile::tempdir().unwrap();
        let (own, now) = (here(dir.path()), SystemTime::now());
        let first = own.leaf(now).unwrap();
        let authority = own.certificate().unwrap();
        assert_eq!(own.leaf(now + DAY * 334).unwrap(), first);
        let second = own.leaf(now + DAY * 336).unwrap();
        assert_ne!(second, first);
        assert_eq!(own.certificate().unwrap(), authority);
        assert!(holds(&second, &authority, &own.names(), now + DAY * 690).is_ok());
        assert!(holds(&second, &authority, &["elsewhere.example".to_owned()].into(), now).is_err());
        let over = own.leaf(now + DAY * 3651).unwrap_err().to_string();
        assert!(over.contains("has come to its end"), "{over}");
    }

    #[test]
    fn a_spoiled_certificate_is_made_anew_and_a_foreign_key_is_refused() {
        let (dir, other, now) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap(), SystemTime::now());
        let own = here(dir.path());
        own.leaf(now).unwrap();
        fs::write(dir.path().join("service.pem"), "half").unwrap();
        assert!(own.leaf(now).unwrap().starts_with(b"-----BEGIN CERTIFICATE-----"));
        here(other.path()).leaf(now).unwrap();
        fs::copy(other.path().join("ca.key"), dir.path().join("ca.key")).unwrap();
        fs::remove_file(dir.path().join("service.pem")).unwrap();
        let refused = own.leaf(now).unwrap_err().to_string();
        assert!(refused.contains("ca.key does not fit ca.crt"), "{refused}");
    }
}
