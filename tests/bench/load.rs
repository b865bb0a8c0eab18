//! A client that costs little: HTTP/1.1 over one kept connection, the answer read by its length.

use std::{
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
    time::{Duration, Instant},
};

use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::TcpStream,
};

pub struct Client {
    stream: TcpStream,
    buffer: Vec<u8>,
    filled: usize,
}

impl Client {
    pub async fn connect(address: std::net::SocketAddr) -> Self {
        let stream = TcpStream::connect(address).await.expect("the service listens");
        stream.set_nodelay(true).expect("nodelay");
        Self {
            stream,
            buffer: vec![0; 1 << 16],
            filled: 0,
        }
    }

    /// Sends a request and answers its status and body.
    pub async fn ask(&mut self, request: &[u8]) -> (u16, Vec<u8>) {
        self.stream.write_all(request).await.expect("the request is sent");
        loop {
            if let Some((status, head, length)) = self.head() {
                while self.filled < head + length {
                    self.read().await;
                }
                let body = self.buffer[head..head + length].to_vec();
                self.buffer.copy_within(head + length..self.filled, 0);
                self.filled -= head + length;
                return (status, body);
            }
            self.read().await;
        }
    }

    fn head(&self) -> Option<(u16, usize, usize)> {
        let text = &self.buffer[..self.filled];
        let end = text.windows(4).position(|four| four == b"\r\n\r\n")? + 4;
        let head = std::str::from_utf8(&text[..end]).expect("a head of text").to_ascii_lowercase();
        let status = head[9..12].parse().expect("a status");
        let length = head
            .lines()
            .find_map(|line| line.strip_prefix("content-length: "))
            .expect("an answer with a length")
            .trim()
            .parse()
            .expect("a length");
        Some((status, end, length))
    }

    async fn read(&mut self) {
        if self.filled == self.buffer.len() {
            self.buffer.resize(self.buffer.len() * 2, 0);
        }
        let read = self.stream.read(&mut self.buffer[self.filled..]).await.expect("an answer");
        assert!(read > 0, "the service closed the connection");
        self.filled += read;
    }
}

pub fn request(method: &str, path: &str, token: &str, body: &str) -> Vec<u8> {
    let bearer = if token.is_empty() {
        String::new()
    } else {
        format!("authorization: Bearer {token}\r\n")
    };
    format!(
        "{method} {path} HTTP/1.1\r\nhost: bench\r\n{bearer}content-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    )
    .into_bytes()
}

/// Lets `clients` ask for `time`; answers requests a second. Every answer must have a status below 300.
pub async fn run(address: std::net::SocketAddr, clients: usize, time: Duration, make: impl Fn(usize, u64) -> Vec<u8> + Send + Sync + 'static) -> f64 {
    let make = Arc::new(make);
    let count = Arc::new(AtomicU64::new(0));
    let start = Instant::now();
    let ends = start + time;
    let tasks: Vec<_> = (0..clients)
        .map(|client| {
            let (make, count) = (Arc::clone(&make), Arc::clone(&count));
            tokio::spawn(async move {
                let mut connection = Client::connect(address).await;
                let mut turn = 0;
                while Instant::now() < ends {
                    let (status, body) = connection.ask(&make(client, turn)).await;
                    assert!(status < 300, "answered {status}: {}", String::from_utf8_lossy(&body));
                    count.fetch_add(1, Ordering::Relaxed);
                    turn += 1;
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.expect("a client ends well");
    }
    count.load(Ordering::Relaxed) as f64 / start.elapsed().as_secs_f64()
}
