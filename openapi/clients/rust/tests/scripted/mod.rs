//! A service that says what it is told to say, in order, and holds what it is asked for against what it expects.

use std::{
    collections::VecDeque,
    sync::{Arc, Mutex},
};

use serde_json::{Value, json};
use tokio::{
    io::{AsyncReadExt as _, AsyncWriteExt as _},
    net::{TcpListener, TcpStream},
};

/// One request that must come, and its answer.
#[derive(Debug, Clone)]
pub struct Exchange {
    pub asked: Value,
    pub answer: Value,
}

#[derive(Debug, Default)]
struct Script {
    coming: VecDeque<Exchange>,
    faults: Vec<String>,
}

/// The service.
pub struct Scripted {
    pub base: String,
    script: Arc<Mutex<Script>>,
    task: tokio::task::JoinHandle<()>,
}

impl Drop for Scripted {
    fn drop(&mut self) {
        self.task.abort();
    }
}

/// Whether a value fits what is given: objects may have more fields, lists are of the same length, all else is equal.
pub fn fits(given: &Value, value: &Value) -> bool {
    match (given, value) {
        (Value::Object(given), Value::Object(value)) => given.iter().all(|(name, given)| value.get(name).is_some_and(|value| fits(given, value))),
        (Value::Array(given), Value::Array(value)) => given.len() == value.len() && given.iter().zip(value).all(|(given, value)| fits(given, value)),
        _ => given == value,
    }
}

/// A request as it came.
struct Asked {
    method: String,
    path: String,
    query: Vec<(String, String)>,
    headers: Vec<(String, String)>,
    body: Value,
}

impl Asked {
    async fn read(stream: &mut TcpStream) -> Option<Self> {
        let mut bytes = Vec::new();
        let head = loop {
            if let Some(end) = bytes.windows(4).position(|four| four == b"\r\n\r\n") {
                break end;
            }
            if stream.read_buf(&mut bytes).await.ok()? == 0 {
                return None;
            }
        };
        let text = String::from_utf8_lossy(&bytes[..head]).into_owned();
        let mut lines = text.lines();
        let mut first = lines.next()?.split(' ');
        let (method, target) = (first.next()?.to_owned(), first.next()?.to_owned());
        let headers: Vec<(String, String)> = lines
            .filter_map(|line| line.split_once(':'))
            .map(|(name, value)| (name.to_lowercase(), value.trim().to_owned()))
            .collect();
        let length: usize = headers
            .iter()
            .find(|(name, _)| name == "content-length")
            .map_or(0, |(_, value)| value.parse().expect("a length"));
        while bytes.len() < head + 4 + length {
            if stream.read_buf(&mut bytes).await.ok()? == 0 {
                return None;
            }
        }
        let url = reqwest::Url::parse(&format!("http://none{target}")).expect("a target");
        Some(Self {
            method,
            path: url.path().to_owned(),
            query: url.query_pairs().into_owned().collect(),
            headers,
            body: serde_json::from_slice(&bytes[head + 4..]).unwrap_or(Value::Null),
        })
    }

    /// What is not as expected.
    fn fault(&self, expected: &Value) -> Option<String> {
        let one = |list: &[(String, String)], name: &str| list.iter().find(|(known, _)| known == name).map_or(Value::Null, |(_, value)| json!(value));
        if expected["method"] != json!(self.method) || expected["path"] != json!(self.path) {
            return Some(format!(
                "{} {} came instead of {} {}",
                self.method, self.path, expected["method"], expected["path"]
            ));
        }
        for (part, list) in [("query", &self.query), ("headers", &self.headers)] {
            for (name, value) in expected[part].as_object().into_iter().flatten() {
                if one(list, name) != *value {
                    return Some(format!("{part}: {name} should be {value} and is {}", one(list, name)));
                }
            }
        }
        let body = &expected["body"];
        (!body.is_null() && !fits(body, &self.body)).then(|| format!("the body should be {body} and is {}", self.body))
    }
}

async fn answer(stream: &mut TcpStream, answer: &Value) -> Option<()> {
    if answer == "none" {
        return Some(());
    }
    let text = answer["text"].as_str().map_or_else(|| answer["body"].to_string(), str::to_owned);
    let text = if answer["text"].is_null() && answer["body"].is_null() {
        String::new()
    } else {
        text
    };
    let length = text.len() + usize::try_from(answer["short_by"].as_u64().unwrap_or(0)).expect("a few");
    let mut head = format!("HTTP/1.1 {} Told\r\nconnection: close\r\ncontent-length: {length}\r\n", answer["status"]);
    let headers = answer["headers"].as_object();
    if headers.is_none_or(|headers| !headers.contains_key("content-type")) {
        head += "content-type: application/json\r\n";
    }
    for (name, value) in headers.into_iter().flatten() {
        head += &format!("{name}: {}\r\n", value.as_str().expect("text"));
    }
    stream.write_all(format!("{head}\r\n{text}").as_bytes()).await.ok()?;
    stream.flush().await.ok()
}

impl Scripted {
    /// Starts it on a free port.
    pub async fn start() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a free port");
        let base = format!("http://{}", listener.local_addr().expect("an address"));
        let script = Arc::new(Mutex::new(Script::default()));
        let told = Arc::clone(&script);
        let task = tokio::spawn(async move {
            while let Ok((mut stream, _)) = listener.accept().await {
                let Some(asked) = Asked::read(&mut stream).await else { continue };
                let next = {
                    let mut script = told.lock().expect("nobody panicked");
                    let next = script.coming.pop_front();
                    let fault = match &next {
                        None => Some(format!("{} {} came, and nothing more was expected", asked.method, asked.path)),
                        Some(next) => asked.fault(&next.asked),
                    };
                    script.faults.extend(fault);
                    next
                };
                let teapot = json!({ "status": 418, "text": "not expected" });
                let _ = answer(&mut stream, next.as_ref().map_or(&teapot, |next| &next.answer)).await;
            }
        });
        Self { base, script, task }
    }

    /// Expects this next.
    pub fn expects(&self, exchange: Exchange) {
        self.script.lock().expect("nobody panicked").coming.push_back(exchange);
    }

    /// All that was expected has come, and nothing else.
    #[track_caller]
    pub fn was_asked_all(&self, at: &str) {
        let mut script = self.script.lock().expect("nobody panicked");
        let faults = std::mem::take(&mut script.faults);
        assert!(faults.is_empty(), "{at}: {faults:#?}");
        assert!(script.coming.is_empty(), "{at}: nobody asked for {:?}", script.coming);
    }
}
