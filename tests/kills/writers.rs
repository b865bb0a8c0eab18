//! Who writes without pause, whatever befalls the service.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{
        Arc, Mutex, PoisonError, RwLock,
        atomic::{AtomicBool, AtomicUsize, Ordering},
    },
    time::{Duration, Instant},
};

use chrono::Utc;
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{County, Rng, command, people::Person};

/// How long anybody tries one message.
const PATIENCE: Duration = Duration::from_secs(90);
/// Districts that one writer adds; from then on it edits them.
const DISTRICTS: usize = 40;

/// A process of the service.
#[derive(Debug, Default)]
struct Place {
    /// Where it answers, while it is up.
    base: Option<String>,
    /// How often it has been started.
    life: usize,
}

/// What is between writers and service.
pub struct Line {
    pub http: reqwest::Client,
    person: Person,
    token: tokio::sync::Mutex<Option<String>>,
    places: Vec<RwLock<Place>>,
    over: AtomicBool,
    /// Requests that were sent and are not answered.
    under_way: AtomicUsize,
    /// Which lives of which process ended with a request under way.
    broken_off: Mutex<BTreeSet<(usize, usize)>>,
    /// Commands that were sent again and had been applied before; those that had not.
    pub were_there: AtomicUsize,
    pub were_not_there: AtomicUsize,
    mark: Box<dyn Fn() -> u64 + Send + Sync>,
}

impl Line {
    /// A line of one member to so many processes. `mark` is asked when something was acknowledged.
    pub fn new(person: &Person, processes: usize, mark: impl Fn() -> u64 + Send + Sync + 'static) -> Self {
        Self {
            http: reqwest::Client::builder().timeout(Duration::from_secs(60)).build().expect("a client"),
            person: person.clone(),
            token: tokio::sync::Mutex::default(),
            places: (0..processes).map(|_| RwLock::default()).collect(),
            over: AtomicBool::new(false),
            under_way: AtomicUsize::new(0),
            broken_off: Mutex::default(),
            were_there: AtomicUsize::new(0),
            were_not_there: AtomicUsize::new(0),
            mark: Box::new(mark),
        }
    }

    pub fn is_up(&self, which: usize, base: &str) {
        let mut place = self.places[which].write().unwrap_or_else(PoisonError::into_inner);
        place.base = Some(base.to_owned());
        place.life += 1;
    }

    pub fn is_down(&self, which: usize) {
        self.places[which].write().unwrap_or_else(PoisonError::into_inner).base = None;
    }

    /// From now on nobody begins anything new.
    pub fn is_over(&self) {
        self.over.store(true, Ordering::SeqCst);
    }

    pub fn over(&self) -> bool {
        self.over.load(Ordering::SeqCst)
    }

    /// How many lives of processes ended with a request under way.
    pub fn broken_off(&self) -> usize {
        self.broken_off.lock().unwrap_or_else(PoisonError::into_inner).len()
    }

    /// Waits until somebody has sent something and is not answered.
    pub async fn is_busy(&self) {
        let begun = Instant::now();
        while self.under_way.load(Ordering::SeqCst) == 0 {
            assert!(begun.elapsed() < PATIENCE, "nobody sends anything");
            tokio::time::sleep(Duration::from_millis(2)).await;
        }
    }

    /// Where the log, or whatever the test goes by, stands now.
    pub fn mark(&self) -> u64 {
        (self.mark)()
    }

    async fn access(&self, base: &str) -> Option<String> {
        let mut token = self.token.lock().await;
        if token.is_none() {
            let body = json!({ "email": self.person.email, "password": self.person.password });
            let answer = self.http.post(format!("{base}/v1/session")).json(&body).send().await.ok()?;
            let session: Value = answer.json().await.ok()?;
            *token = session["access_token"].as_str().map(str::to_owned);
        }
        token.clone()
    }

    /// Sends a request; nothing where no answer came, or one that asks to come again.
    pub async fn ask(
        &self,
        which: usize,
        method: Method,
        path: &str,
        finish: impl FnOnce(reqwest::RequestBuilder) -> reqwest::RequestBuilder,
    ) -> Option<Value> {
        let (base, life) = {
            let place = self.places[which].read().unwrap_or_else(PoisonError::into_inner);
            (place.base.clone()?, place.life)
        };
        let access = self.access(&base).await?;
        let breaks = |error: reqwest::Error| {
            assert!(!error.is_timeout(), "no answer, and no end of the connection: {path}: {error}");
            if !error.is_connect() {
                self.broken_off.lock().unwrap_or_else(PoisonError::into_inner).insert((which, life));
            }
        };
        let request = finish(self.http.request(method, format!("{base}{path}")).bearer_auth(access));
        self.under_way.fetch_add(1, Ordering::SeqCst);
        let answered = async {
            let answer = request.send().await?;
            Ok::<_, reqwest::Error>((answer.status().as_u16(), answer.text().await?))
        };
        let answered = answered.await;
        self.under_way.fetch_sub(1, Ordering::SeqCst);
        let (status, text) = answered.map_err(breaks).ok()?;
        match status {
            200 | 201 => Some(serde_json::from_str(&text).unwrap_or(Value::Null)),
            401 => {
                *self.token.lock().await = None;
                None
            }
            503 => None,
            _ => panic!("{path} was answered {status} {text}"),
        }
    }
}

/// What is sent at once.
struct Message {
    commands: Vec<Value>,
    /// Sent to an address of its own, and not to that of batches.
    alone: Option<(Method, String)>,
}

impl Message {
    async fn send(&self, line: &Line, which: usize) -> Option<Vec<Value>> {
        match (&self.alone, self.commands.as_slice()) {
            (Some((method, path)), [command]) => {
                let answer = line.ask(which, method.clone(), path, |request| {
                    let request = request.header("Idempotency-Key", command["id"].as_str().expect("an id")).json(&command["body"]);
                    match command["expects"].as_i64() {
                        Some(rev) => request.header("If-Match", format!("\"{rev}\"")),
                        None => request,
                    }
                });
                Some(vec![answer.await?])
            }
            _ => {
                let body = json!({ "sent_at": Utc::now(), "commands": self.commands });
                let answer = line.ask(which, Method::POST, "/v1/commands", |request| request.json(&body)).await?;
                Some(answer["answers"].as_array().expect("answers").clone())
            }
        }
    }
}

/// A command that was acknowledged.
#[derive(Debug)]
pub struct Acknowledged {
    pub id: Uuid,
    pub revision: i64,
    pub mark: u64,
}

/// A district as its writer knows it.
#[derive(Debug)]
pub struct District {
    pub name: String,
    pub rev: i64,
}

/// Somebody who writes.
pub struct Writer {
    rng: Rng,
    number: usize,
    said: usize,
    pub piece: Uuid,
    /// Why its piece is out, as was said last.
    pub reason: Option<String>,
    pub districts: BTreeMap<Uuid, District>,
    pub acknowledged: Vec<Acknowledged>,
}

impl Writer {
    /// One for each of some pieces, which nobody else touches.
    pub fn each(county: &County, rng: &mut Rng) -> Vec<Self> {
        let (one, two) = (county.set_1, county.set_2);
        let pieces = [one.ram, one.pump, one.cutter, two.ram, two.pump, two.cutter];
        let writer = |(number, piece)| Self {
            rng: rng.fork(),
            number,
            said: 0,
            piece,
            reason: None,
            districts: BTreeMap::new(),
            acknowledged: Vec::new(),
        };
        pieces.into_iter().enumerate().map(writer).collect()
    }

    fn words(&mut self) -> String {
        self.said += 1;
        format!("{}-{}", self.number, self.said)
    }

    /// A command; `edited` are the districts that this message edits already.
    fn act(&mut self, edited: &mut BTreeSet<Uuid>) -> Value {
        let words = self.words();
        let known: Vec<Uuid> = self.districts.keys().copied().filter(|id| !edited.contains(id)).collect();
        match (self.rng.roll(3), known.is_empty()) {
            (0, _) => command("piece.take_out", json!({ "id": self.piece, "reason": words })),
            (1, false) => {
                let id = *self.rng.pick(&known).expect("not empty");
                edited.insert(id);
                let mut edit = command("district.edit", json!({ "id": id, "name": format!("West {words}") }));
                edit["expects"] = json!(self.districts[&id].rev);
                edit
            }
            _ if self.districts.len() < DISTRICTS => command("district.add", json!({ "id": Uuid::now_v7(), "name": format!("West {words}") })),
            _ => command("piece.take_out", json!({ "id": self.piece, "reason": words })),
        }
    }

    fn message(&mut self) -> Message {
        let count = if self.rng.chance(50) { 1 } else { 2 + self.rng.roll(7) };
        let mut edited = BTreeSet::new();
        let commands: Vec<Value> = (0..count).map(|_| self.act(&mut edited)).collect();
        let address = match commands.as_slice() {
            [one] if self.rng.chance(70) => match one["kind"].as_str() {
                Some("district.add") => Some((Method::POST, "/v1/districts".to_owned())),
                Some("district.edit") => Some((Method::PATCH, format!("/v1/districts/{}", one["body"]["id"].as_str().expect("an id")))),
                _ => None,
            },
            _ => None,
        };
        Message { commands, alone: address }
    }

    /// Keeps what was acknowledged.
    fn keep(&mut self, message: &Message, answers: &[Value], tries: usize, line: &Line) {
        let mark = line.mark();
        assert_eq!(answers.len(), message.commands.len(), "an answer for each: {answers:?}");
        for (sent, answer) in message.commands.iter().zip(answers) {
            match (answer["outcome"].as_str(), tries) {
                (Some("applied"), 1) => {}
                (Some("applied"), _) => drop(line.were_not_there.fetch_add(1, Ordering::Relaxed)),
                (Some("repeated"), 2..) => drop(line.were_there.fetch_add(1, Ordering::Relaxed)),
                _ => panic!("sent {tries} times: {sent} was answered {answer}"),
            }
            assert_eq!(answer["id"], sent["id"], "answers in the order of their commands");
            let (body, revision) = (&sent["body"], answer["revision"].as_i64().expect("a revision"));
            let id = |value: &Value| -> Uuid { value.as_str().and_then(|id| id.parse().ok()).expect("an id") };
            let words = |field: &str| body[field].as_str().expect("words").to_owned();
            self.acknowledged.push(Acknowledged {
                id: id(&sent["id"]),
                revision,
                mark,
            });
            if sent["kind"] == "piece.take_out" {
                self.reason = Some(words("reason"));
            } else {
                let name = words("name");
                self.districts.insert(id(&body["id"]), District { name, rev: revision });
            }
        }
    }

    /// Writes until it is over, each message until it is acknowledged.
    pub async fn write(mut self, line: Arc<Line>) -> Self {
        while !line.over() {
            let message = self.message();
            let (begun, mut tries) = (Instant::now(), 0);
            let answers = loop {
                tries += 1;
                let which = self.rng.roll(line.places.len());
                if let Some(answers) = message.send(&line, which).await {
                    break answers;
                }
                assert!(begun.elapsed() < PATIENCE, "nobody takes {:?}", message.commands);
                tokio::time::sleep(Duration::from_millis(5)).await;
            };
            self.keep(&message, &answers, tries, &line);
        }
        self
    }
}
