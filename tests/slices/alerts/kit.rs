//! A dispatch centre that takes webhooks, and a service beside the world's own that may send there.

use aws_lc_rs::hmac;
use base64::{Engine as _, engine::general_purpose::STANDARD};
use chrono::{DateTime, Utc};
use fullset::slices::receivers::{ChangeKind, Outward};
use serde_json::{Value, json};
use uuid::Uuid;
use wiremock::{Mock, MockServer, ResponseTemplate, matchers::method};

use crate::{
    contract::stage::receiver,
    world::{Client, Reply, Server, World, soon},
};

/// A message as it arrived.
#[derive(Debug, Clone)]
pub struct Message {
    pub id: String,
    pub timestamp: String,
    pub signature: String,
    pub media: String,
    pub body: String,
    pub json: Value,
}

/// The messages that a dispatch centre was sent.
pub async fn arrived(centre: &MockServer) -> Vec<Message> {
    let requests = centre.received_requests().await.unwrap_or_default();
    requests
        .iter()
        .map(|request| {
            let header = |name: &str| request.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default().to_owned();
            let body = String::from_utf8(request.body.clone()).expect("text");
            Message {
                id: header("webhook-id"),
                timestamp: header("webhook-timestamp"),
                signature: header("webhook-signature"),
                media: header("content-type"),
                json: serde_json::from_str(&body).expect("JSON"),
                body,
            }
        })
        .collect()
}

/// A message must be signed by the receiver's secret, now, and say what it is.
#[track_caller]
pub fn verify(secret: &str, message: &Message, now: DateTime<Utc>) {
    let key = STANDARD.decode(secret.trim_start_matches("whsec_")).expect("base64");
    let signed = format!("{}.{}.{}", message.id, message.timestamp, message.body);
    let signature = hmac::sign(&hmac::Key::new(hmac::HMAC_SHA256, &key), signed.as_bytes());
    assert_eq!(message.signature, format!("v1,{}", STANDARD.encode(signature.as_ref())));
    let sent: i64 = message.timestamp.parse().expect("seconds");
    assert!((now.timestamp() - sent).abs() <= 300, "within the five minutes of Standard Webhooks");
    assert_eq!(message.media, "application/cloudevents+json; charset=utf-8");
    assert!(message.body.len() < 20_000, "{} bytes", message.body.len());
}

/// The one message of a type.
#[track_caller]
pub fn only<'m>(messages: &'m [Message], kind: &str) -> &'m Message {
    let of_kind: Vec<&Message> = messages.iter().filter(|message| message.json["type"] == kind).collect();
    assert_eq!(of_kind.len(), 1, "{kind}: {messages:?}");
    of_kind[0]
}

/// An instant in JSON.
#[track_caller]
pub fn at(value: &Value) -> DateTime<Utc> {
    value.as_str().and_then(|at| at.parse().ok()).unwrap_or_else(|| panic!("no instant: {value}"))
}

pub fn sorted(words: impl Iterator<Item = String>) -> Vec<String> {
    let mut words: Vec<String> = words.collect();
    words.sort();
    words
}

/// A dispatch centre that is told of everything.
pub struct Dispatch<'w> {
    world: &'w World,
    pub centre: MockServer,
    pub server: Server,
    pub receiver: Uuid,
    pub secret: String,
    /// Asks how far an alert has come; signed in once.
    pub crew: Client,
}

impl<'w> Dispatch<'w> {
    /// Opens one that takes messages.
    pub async fn open(world: &'w World) -> Self {
        let dispatch = Self::told_of(world, &ChangeKind::ALL).await;
        dispatch.answers(204, Value::Null).await;
        dispatch
    }

    /// One that is told of rigs alone, and answers as is yet to be said.
    pub async fn of_rigs(world: &'w World) -> Self {
        Self::told_of(world, &RIGS).await
    }

    async fn told_of(world: &'w World, changes: &[ChangeKind]) -> Self {
        let centre = MockServer::start().await;
        let server = Server::telling(&world.location, &world.clock, Outward::Any).await;
        let receiver = add(world, &server, changes, &centre.uri()).await;
        let secret = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw".to_owned();
        Self {
            world,
            centre,
            server,
            receiver,
            secret,
            crew: world.crew(),
        }
    }

    /// From now on it answers so.
    pub async fn answers(&self, status: u16, body: Value) {
        self.answers_with(ResponseTemplate::new(status).set_body_json(body)).await;
    }

    pub async fn answers_with(&self, answer: ResponseTemplate) {
        answers(&self.centre, answer).await;
    }

    /// The messages that it was sent, once there are that many.
    pub async fn messages(&self, count: usize) -> Vec<Message> {
        let messages = soon(&format!("{count} messages"), async || {
            Some(arrived(&self.centre).await).filter(|all| all.len() >= count)
        })
        .await;
        assert_eq!(messages.len(), count, "{messages:?}");
        messages
    }

    /// What an alert says of this receiver, once it has come so far.
    pub async fn told(&self, alert: &str, state: &str) -> Value {
        told(&self.crew, alert, self.receiver, state).await
    }

    /// Sends something without a token.
    pub async fn nobody(&self, path: &str, body: Value) -> Reply {
        let request = self.world.http.post(format!("{}{path}", self.server.base)).json(&body);
        Reply::of(format!("nobody {path} {body}"), request).await
    }

    /// Stops the service that sends.
    pub async fn close(self) {
        self.server.stop().await;
    }
}

/// From now on a dispatch centre answers so; what it was sent stays known.
pub async fn answers(centre: &MockServer, answer: ResponseTemplate) {
    // Of several that fit, the one with the highest priority answers, then the first.
    static NEXT: std::sync::atomic::AtomicU8 = std::sync::atomic::AtomicU8::new(250);
    let priority = NEXT.fetch_sub(1, std::sync::atomic::Ordering::SeqCst);
    Mock::given(method("POST")).respond_with(answer).with_priority(priority).mount(centre).await;
}

/// What is told of rigs.
pub const RIGS: [ChangeKind; 2] = [ChangeKind::RigFalls, ChangeKind::RigRises];

/// Adds a receiver at a server, by its address as a name.
pub async fn add(world: &World, server: &Server, changes: &[ChangeKind], address: &str) -> Uuid {
    let id = Uuid::now_v7();
    let name = if address.ends_with('/') { address } else { "Dispatch" };
    let mut body = receiver(id, name);
    (body["address"], body["changes"]) = (json!(address), json!(changes));
    world.member_at(server, world.agency(), "coordinator").post("/v1/receivers", body).await.ok();
    id
}

/// What an alert says of a receiver, once it has come so far.
pub async fn told(client: &Client, alert: &str, receiver: Uuid, state: &str) -> Value {
    let path = format!("/v1/alerts/{alert}");
    soon(&format!("{alert} is {state}"), async || {
        let alert = client.find(&path).await;
        let told = alert["told"]
            .as_array()
            .unwrap()
            .iter()
            .find(|told| told["receiver"] == json!(receiver))
            .cloned();
        told.filter(|told| told["state"] == state)
    })
    .await
}
