//! A client that costs little: HTTP/1.1 over kept connections, answers read by their length, all clients on one thread, so
//! that on a small machine the service has the rest.

use std::{
    cell::Cell,
    net::SocketAddr,
    rc::Rc,
    time::{Duration, Instant},
};

use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::TcpStream,
    task::LocalSet,
};

pub struct Client {
    stream: TcpStream,
    buffer: Vec<u8>,
    filled: usize,
    /// Bytes that came over the wire, heads included.
    pub received: usize,
}

/// What an answer's head says.
struct Head {
    status: u16,
    end: usize,
    length: Option<usize>,
}

impl Client {
    pub async fn connect(address: SocketAddr) -> Self {
        let stream = TcpStream::connect(address).await.expect("the service listens");
        stream.set_nodelay(true).expect("nodelay");
        Self {
            stream,
            buffer: vec![0; 1 << 16],
            filled: 0,
            received: 0,
        }
    }

    /// Sends a request and answers its status and body, as it came.
    pub async fn ask(&mut self, request: &[u8]) -> (u16, Vec<u8>) {
        self.stream.write_all(request).await.expect("the request is sent");
        let mut head = None;
        loop {
            let text = &self.buffer[..self.filled];
            head = head.or_else(|| Head::read(text));
            if let Some(head) = &head
                && let Some((body, end)) = head.body(text)
            {
                self.buffer.copy_within(end..self.filled, 0);
                self.filled -= end;
                self.received += end;
                return (head.status, body);
            }
            self.read().await;
        }
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

impl Head {
    fn read(text: &[u8]) -> Option<Self> {
        let end = text.windows(4).position(|four| four == b"\r\n\r\n")? + 4;
        let head = std::str::from_utf8(&text[..end]).expect("a head of text");
        let status = head[9..12].parse().expect("a status");
        let named = |line: &&str| line.get(..15).is_some_and(|name| name.eq_ignore_ascii_case("content-length:"));
        let length = head.lines().find(named).map(|line| line[15..].trim().parse().expect("a length"));
        Some(Self { status, end, length })
    }

    /// The body and where the answer ends, once all of it is there. Without a length it comes in chunks.
    fn body(&self, text: &[u8]) -> Option<(Vec<u8>, usize)> {
        if let Some(length) = self.length {
            let end = self.end + length;
            return Some((text.get(self.end..end)?.to_vec(), end));
        }
        let (mut body, mut at) = (Vec::new(), self.end);
        loop {
            let line = text[at..].windows(2).position(|two| two == b"\r\n")?;
            let size = std::str::from_utf8(&text[at..at + line]).expect("a size of text");
            let size = usize::from_str_radix(size, 16).expect("a size");
            at += line + 2;
            body.extend_from_slice(text.get(at..at + size)?);
            at += size + 2;
            if at > text.len() {
                return None;
            }
            if size == 0 {
                return Some((body, at));
            }
        }
    }
}

pub fn request(method: &str, path: &str, token: &str, body: &str) -> Vec<u8> {
    ask(method, path, token, "", body)
}

/// A request that takes its answer compressed.
pub fn zipped(path: &str, token: &str) -> Vec<u8> {
    ask("GET", path, token, "accept-encoding: gzip\r\n", "")
}

fn ask(method: &str, path: &str, token: &str, more: &str, body: &str) -> Vec<u8> {
    let bearer = if token.is_empty() {
        String::new()
    } else {
        format!("authorization: Bearer {token}\r\n")
    };
    format!(
        "{method} {path} HTTP/1.1\r\nhost: bench\r\n{bearer}{more}content-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    )
    .into_bytes()
}

/// Lets each of `clients` ask, turn by turn, until it is given nothing more to ask. Answers how many requests there were and
/// how long that took. Every answer must have a status below 300; `hear` gets its body.
async fn ask_all(
    address: SocketAddr,
    clients: usize,
    make: impl Fn(usize, u64) -> Option<Vec<u8>> + Send + 'static,
    hear: impl Fn(Vec<u8>) + Send + 'static,
) -> (u64, Duration) {
    let work = move || {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
        let (count, all) = (Rc::new(Cell::new(0)), Rc::new((make, hear)));
        let set = LocalSet::new();
        let start = Instant::now();
        for client in 0..clients {
            let (count, all) = (Rc::clone(&count), Rc::clone(&all));
            set.spawn_local(async move {
                let mut connection = Client::connect(address).await;
                let mut turn = 0;
                while let Some(request) = all.0(client, turn) {
                    let (status, body) = connection.ask(&request).await;
                    assert!(status < 300, "answered {status}: {}", String::from_utf8_lossy(&body));
                    all.1(body);
                    count.set(count.get() + 1);
                    turn += 1;
                }
            });
        }
        runtime.block_on(set);
        (count.get(), start.elapsed())
    };
    tokio::task::spawn_blocking(work).await.expect("the clients end well")
}

/// Lets `clients` ask for `time`; answers requests a second.
pub async fn run(address: SocketAddr, clients: usize, time: Duration, make: impl Fn(usize, u64) -> Vec<u8> + Send + 'static) -> f64 {
    let ends = Instant::now() + time;
    let (count, took) = ask_all(
        address,
        clients,
        move |client, turn| (Instant::now() < ends).then(|| make(client, turn)),
        |_| {},
    )
    .await;
    count as f64 / took.as_secs_f64()
}

/// Lets `clients` send these requests, each once; answers how long that took and the bodies.
pub async fn send(address: SocketAddr, clients: usize, requests: Vec<Vec<u8>>) -> (Duration, Vec<Vec<u8>>) {
    let left = std::sync::Mutex::new(requests);
    let heard = std::sync::Arc::new(std::sync::Mutex::new(Vec::new()));
    let kept = std::sync::Arc::clone(&heard);
    let next = move |_, _| left.lock().expect("nobody panicked with it").pop();
    let (_, took) = ask_all(address, clients, next, move |body| kept.lock().expect("nobody panicked with it").push(body)).await;
    let bodies = std::mem::take(&mut *heard.lock().expect("nobody panicked with it"));
    (took, bodies)
}
