//! A client of HTTP/2 over TLS that trusts one authority and shows which certificate it was given.

use std::{sync::Arc, time::Duration};

use actix_web::web::Bytes;
use h2::{RecvStream, client::SendRequest};
use rustls::{
    ClientConfig, RootCertStore,
    crypto::aws_lc_rs,
    pki_types::{CertificateDer, ServerName, pem::PemObject as _},
};
use serde_json::Value;
use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::TcpStream,
    time::timeout,
};
use tokio_rustls::{TlsConnector, client::TlsStream};

/// Less than a stopping service waits for what is open.
const SOON: Duration = Duration::from_secs(4);

pub struct Wire {
    send: SendRequest<Bytes>,
    pub origin: String,
    pub certificate: CertificateDer<'static>,
}

pub struct Reply {
    pub status: u16,
    pub headers: http::HeaderMap,
    pub body: Vec<u8>,
}

pub struct Stream(RecvStream);

async fn handshake(port: u16, root: &str, name: &str, speaks: &[&str]) -> std::io::Result<TlsStream<TcpStream>> {
    let mut roots = RootCertStore::empty();
    roots
        .add(CertificateDer::from_pem_slice(root.as_bytes()).expect("a certificate"))
        .expect("a root");
    let mut config = ClientConfig::builder_with_provider(Arc::new(aws_lc_rs::default_provider()))
        .with_safe_default_protocol_versions()
        .expect("versions")
        .with_root_certificates(roots)
        .with_no_client_auth();
    config.alpn_protocols = speaks.iter().map(|name| name.as_bytes().to_vec()).collect();
    let stream = TcpStream::connect(("127.0.0.1", port)).await?;
    let name = ServerName::try_from(name.to_owned()).expect("a name");
    TlsConnector::from(Arc::new(config)).connect(name, stream).await
}

impl Wire {
    pub async fn connect(port: u16, root: &str, name: &str) -> std::io::Result<Self> {
        let stream = handshake(port, root, name, &["h2", "http/1.1"]).await?;
        let session = stream.get_ref().1;
        assert_eq!(session.alpn_protocol(), Some(&b"h2"[..]), "the service chooses HTTP/2");
        let certificate = session.peer_certificates().expect("a certificate")[0].clone().into_owned();
        let (send, connection) = h2::client::handshake(stream).await.expect("HTTP/2");
        tokio::spawn(connection);
        Ok(Self {
            send,
            origin: format!("https://{name}:{port}"),
            certificate,
        })
    }

    async fn head(&mut self, method: &str, path: &str, headers: &[(&str, &str)], body: Option<&Value>) -> http::Response<RecvStream> {
        let mut request = http::Request::builder().method(method).uri(format!("{}{path}", self.origin));
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let (answer, mut stream) = self
            .send
            .send_request(request.body(()).expect("a request"), body.is_none())
            .expect("it is sent");
        if let Some(body) = body {
            stream.send_data(body.to_string().into(), true).expect("it is sent");
        }
        timeout(SOON, answer).await.expect("an answer soon").expect("an answer")
    }

    pub async fn ask(&mut self, method: &str, path: &str, headers: &[(&str, &str)], body: Option<&Value>) -> Reply {
        let (head, stream) = self.head(method, path, headers, body).await.into_parts();
        let (mut stream, mut body) = (Stream(stream), Vec::new());
        while let Some(more) = stream.next().await {
            body.extend_from_slice(&more);
        }
        Reply {
            status: head.status.as_u16(),
            headers: head.headers,
            body,
        }
    }

    pub async fn open(&mut self, path: &str, headers: &[(&str, &str)]) -> Stream {
        let answer = self.head("GET", path, headers, None).await;
        assert_eq!(answer.status(), 200);
        Stream(answer.into_body())
    }
}

impl Stream {
    /// What comes next, soon; none when the stream has ended well.
    pub async fn next(&mut self) -> Option<Bytes> {
        let next = timeout(SOON, self.0.data()).await.expect("the stream goes on or ends soon")?;
        let bytes = next.expect("the stream is not torn");
        self.0.flow_control().release_capacity(bytes.len()).expect("room");
        Some(bytes)
    }
}

/// One request in the words of HTTP/1.1, as a client asks that knows nothing newer.
pub async fn http_1(port: u16, root: &str, request: &str) -> String {
    let mut stream = handshake(port, root, "localhost", &["http/1.1"]).await.expect("a handshake");
    stream.write_all(request.as_bytes()).await.expect("it is sent");
    let mut said = Vec::new();
    stream.read_to_end(&mut said).await.expect("an answer");
    String::from_utf8(said).expect("text")
}
