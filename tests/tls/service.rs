//! The service as a process that speaks TLS, and an authority outside it that makes certificates for it.

use std::{
    fs,
    io::{BufRead as _, BufReader},
    path::PathBuf,
    process::{Child, ChildStdout, Command, Stdio},
    sync::mpsc,
    time::Duration,
};

use rcgen::{BasicConstraints, CertificateParams, DnType, IsCa, Issuer, KeyPair};
use rustls::pki_types::{CertificateDer, pem::PemObject as _};

use super::wire::Wire;
use crate::world::{
    World,
    process::{binary, url},
};

const SOON: Duration = Duration::from_secs(10);

/// An authority outside the service, and a folder in which it leaves certificates.
pub struct Outside {
    folder: tempfile::TempDir,
    pub root: String,
    issuer: Issuer<'static, KeyPair>,
}

/// Days from now on which a certificate begins and ends.
pub const USUAL: (i64, i64) = (-1, 90);

impl Outside {
    pub fn new() -> Self {
        let key = KeyPair::generate().expect("a key");
        let mut params = CertificateParams::new(Vec::new()).expect("parameters");
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        params.distinguished_name.push(DnType::CommonName, "Outside");
        let root = params.self_signed(&key).expect("a root").pem();
        Self {
            folder: tempfile::tempdir().expect("a folder"),
            root,
            issuer: Issuer::new(params, key),
        }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A certificate for `localhost` and its key, as PEM.
    pub fn made(&self, (begins, ends): (i64, i64)) -> (String, KeyPair) {
        let key = KeyPair::generate().expect("a key");
        let mut params = CertificateParams::new(vec!["localhost".to_owned()]).expect("parameters");
        let day = |days: i64| (std::time::SystemTime::UNIX_EPOCH + Duration::from_secs((chrono::Utc::now().timestamp() + days * 86_400) as u64)).into();
        (params.not_before, params.not_after) = (day(begins), day(ends));
        (params.signed_by(&key, &self.issuer).expect("a certificate").pem(), key)
    }

    /// Leaves a new certificate with its key.
    pub fn renew(&self) -> CertificateDer<'static> {
        let (certificate, key) = self.made(USUAL);
        self.leave(&certificate, &key.serialize_pem());
        CertificateDer::from_pem_slice(certificate.as_bytes()).expect("a certificate")
    }

    pub fn leave(&self, certificate: &str, key: &str) {
        fs::write(self.path("cert.pem"), certificate).expect("written");
        fs::write(self.path("key.pem"), key).expect("written");
    }

    pub fn arguments(&self) -> Vec<String> {
        let path = |name| self.path(name).display().to_string();
        vec!["--tls-cert".into(), path("cert.pem"), "--tls-key".into(), path("key.pem")]
    }
}

/// The service as a process that speaks TLS.
pub struct Service {
    pub child: Child,
    pub port: u16,
    out: BufReader<ChildStdout>,
    log: mpsc::Receiver<String>,
}

impl Service {
    pub fn start(world: &World, tls: &[String]) -> Self {
        let mut child = Command::new(binary())
            .args(["serve", "--listen", "127.0.0.1:0", "--access-log", "off", "--database", &url(&world.location)])
            .args(tls)
            .env("RUST_LOG", "warn")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the service starts");
        let errors = BufReader::new(child.stderr.take().expect("a pipe"));
        let (tell, log) = mpsc::channel();
        std::thread::spawn(move || errors.lines().map_while(Result::ok).all(|line| tell.send(line).is_ok()));
        let out = BufReader::new(child.stdout.take().expect("a pipe"));
        let mut service = Self { child, port: 0, out, log };
        let address = service.says("Fullset answers at https://");
        service.port = address.rsplit(':').next().and_then(|port| port.parse().ok()).expect("a port");
        service
    }

    /// The next line on standard output that has this text.
    pub fn says(&mut self, text: &str) -> String {
        loop {
            let mut line = String::new();
            assert!(
                self.out.read_line(&mut line).expect("text") > 0,
                "the service ended: {:?}",
                self.log.try_iter().collect::<Vec<_>>()
            );
            if line.contains(text) {
                return line.trim().to_owned();
            }
        }
    }

    /// Waits until the log says this.
    pub fn logs(&self, text: &str) {
        while !self
            .log
            .recv_timeout(SOON)
            .unwrap_or_else(|_| panic!("nothing was logged of: {text}"))
            .contains(text)
        {}
    }

    pub fn signal(&self, name: &str) {
        let sent = Command::new("kill").args([name, &self.child.id().to_string()]).status().expect("kill runs");
        assert!(sent.success());
    }

    pub async fn connect(&self, root: &str) -> Wire {
        Wire::connect(self.port, root, "localhost").await.expect("a handshake")
    }

    /// Connects until new connections get this certificate.
    pub async fn serves(&self, root: &str, certificate: &CertificateDer<'static>) {
        let until = tokio::time::Instant::now() + SOON;
        while self.connect(root).await.certificate != *certificate {
            assert!(tokio::time::Instant::now() < until, "the new certificate is not served");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        // It may have ended by itself; either way it is gone after this.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
