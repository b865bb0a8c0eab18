//! Asks a server, and keeps what it answered as it came.

use std::{sync::OnceLock, time::Duration};

use chrono::{DateTime, Utc};
use reqwest::{Method, RequestBuilder};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{CaseResult, ground::Ground, must};

/// A signed-in member with a program that takes nothing for granted.
pub struct Probe {
    pub http: reqwest::Client,
    pub base: String,
    pub email: String,
    pub password: String,
    /// What the sign-in answered.
    pub session: Value,
    pub ground: OnceLock<Ground>,
}

/// What was answered.
#[derive(Debug)]
pub struct Reply {
    pub asked: String,
    pub status: u16,
    pub media: String,
    pub text: String,
    pub json: Value,
}

/// A command with a new id.
pub fn command(kind: &str, body: Value) -> Value {
    json!({ "id": Uuid::now_v7(), "kind": kind, "body": body })
}

/// The same command, decided on a revision.
pub fn expecting(mut command: Value, revision: &Value) -> Value {
    command["expects"] = revision.clone();
    command
}

/// A value's text, or nothing.
pub fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// The answers of a batch.
pub fn answers(batch: &Value) -> &[Value] {
    batch["answers"].as_array().map_or(&[], Vec::as_slice)
}

/// The outcomes of a batch, in order.
pub fn outcomes(batch: &Value) -> Vec<&str> {
    answers(batch).iter().map(|answer| text(&answer["outcome"])).collect()
}

/// A time.
pub fn time(value: &Value) -> Result<DateTime<Utc>, String> {
    text(value).parse().map_err(|_| format!("{value} is no time"))
}

impl Reply {
    pub async fn of(request: RequestBuilder) -> Result<Self, String> {
        let (client, request) = request.build_split();
        let request = request.map_err(|error| format!("this cannot be asked: {error}"))?;
        let asked = format!("{} {}", request.method(), request.url().path());
        let answer = client.execute(request).await.map_err(|error| format!("{asked} was not answered: {error}"))?;
        let status = answer.status().as_u16();
        let media = answer.headers().get("content-type").and_then(|value| value.to_str().ok()).unwrap_or_default();
        let media = media.split(';').next().unwrap_or_default().trim().to_owned();
        let text = answer.text().await.map_err(|error| format!("the answer to {asked} broke off: {error}"))?;
        let json = serde_json::from_str(&text).unwrap_or(Value::Null);
        Ok(Self {
            asked,
            status,
            media,
            text,
            json,
        })
    }

    fn short(&self) -> String {
        format!(
            "{} was answered {} {}",
            self.asked,
            self.status,
            self.text.chars().take(200).collect::<String>()
        )
    }

    /// A good answer in JSON.
    pub fn good(self) -> Result<Value, String> {
        must!((200..300).contains(&self.status), "{}", self.short());
        must!(self.media == "application/json", "{} with the content type '{}'", self.short(), self.media);
        Ok(self.json)
    }

    /// A problem in the form of RFC 9457, with this status and code.
    pub fn problem(self, status: u16, code: &str) -> CaseResult {
        must!(
            self.status == status && self.json["code"] == code,
            "{}; {status} with the code {code} was due",
            self.short()
        );
        must!(
            self.media == "application/problem+json",
            "{} with the content type '{}'",
            self.short(),
            self.media
        );
        must!(self.json["status"] == status, "{}: its `status` is not its status", self.short());
        for field in ["type", "title", "detail"] {
            must!(!text(&self.json[field]).is_empty(), "{}: it has no `{field}`", self.short());
        }
        Ok(())
    }
}

impl Probe {
    pub async fn new(base: &str, email: &str, password: &str) -> Result<Self, String> {
        let http = reqwest::Client::builder().timeout(Duration::from_secs(60)).build();
        let mut probe = Self {
            http: http.map_err(|error| error.to_string())?,
            base: base.trim_end_matches('/').to_owned(),
            email: email.to_owned(),
            password: password.to_owned(),
            session: Value::Null,
            ground: OnceLock::new(),
        };
        probe.session = probe.sign_in(password).await?.good()?;
        must!(!text(&probe.session["access_token"]).is_empty(), "the sign-in answered no access_token");
        Ok(probe)
    }

    /// Signs in; a server that counts tries is given the time that it asks for.
    pub async fn sign_in(&self, password: &str) -> Result<Reply, String> {
        let body = json!({ "email": self.email, "password": password });
        let mut waits = 0;
        loop {
            let reply = Reply::of(self.plain(Method::POST, "/v1/session").json(&body)).await?;
            if reply.status != 429 || waits == 4 {
                return Ok(reply);
            }
            waits += 1;
            tokio::time::sleep(Duration::from_secs(6)).await;
        }
    }

    /// A request without a token.
    pub fn plain(&self, method: Method, path: &str) -> RequestBuilder {
        self.http.request(method, format!("{}{path}", self.base)).header("Fullset-Protocol", "1")
    }

    pub fn request(&self, method: Method, path: &str) -> RequestBuilder {
        self.plain(method, path).bearer_auth(text(&self.session["access_token"]))
    }

    pub async fn get(&self, path: &str) -> Result<Reply, String> {
        Reply::of(self.request(Method::GET, path)).await
    }

    /// One record, by its kind and id, as the server shows it by itself.
    pub async fn record(&self, list: &str, id: &Value) -> Result<Value, String> {
        self.get(&format!("/v1/{list}/{}", text(id))).await?.good()
    }

    /// Sends a body to the batch address.
    pub async fn post(&self, body: &Value) -> Result<Reply, String> {
        Reply::of(self.request(Method::POST, "/v1/commands").json(body)).await
    }

    /// Sends a batch by a clock that is right.
    pub async fn send(&self, commands: &[Value]) -> Result<Value, String> {
        self.post(&json!({ "sent_at": Utc::now(), "commands": commands })).await?.good()
    }

    /// Sends one command, which must be applied; its answer.
    pub async fn apply(&self, command: Value) -> Result<Value, String> {
        let batch = self.send(std::slice::from_ref(&command)).await?;
        let answer = answers(&batch).first().cloned().unwrap_or_default();
        must!(
            answer["outcome"] == "applied",
            "{} should have been applied and was answered {answer}",
            command["kind"]
        );
        Ok(answer)
    }

    /// The agency's revision.
    pub async fn revision(&self) -> Result<i64, String> {
        let page = self.get("/v1/changes?limit=1").await?.good()?;
        page["revision"].as_i64().ok_or_else(|| "a page of changes has no `revision`".to_owned())
    }
}
