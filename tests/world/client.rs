//! One member with a program that speaks HTTP, and what it is answered.

use std::sync::{Arc, Mutex};

use chrono::{DateTime, TimeDelta, Utc};
use fullset::platform::clock::Clock;
use reqwest::{Method, RequestBuilder, header::HeaderMap};
use serde_json::{Value, json};
use uuid::Uuid;

use super::people::Person;

/// A command as a batch carries it.
pub fn command(kind: &str, body: Value) -> Value {
    json!({ "id": Uuid::now_v7(), "kind": kind, "body": body })
}

/// The same command, decided on a revision.
pub fn expecting(mut command: Value, rev: i64) -> Value {
    command["expects"] = json!(rev);
    command
}

/// What the service answered.
#[derive(Debug)]
pub struct Reply {
    pub asked: String,
    pub status: u16,
    pub headers: HeaderMap,
    pub text: String,
    pub json: Value,
}

impl Reply {
    pub async fn of(asked: String, request: RequestBuilder) -> Self {
        let answer = request.send().await.unwrap_or_else(|error| panic!("{asked}: {error}"));
        let (status, headers) = (answer.status().as_u16(), answer.headers().clone());
        let text = answer.text().await.unwrap_or_else(|error| panic!("{asked}: the answer broke off: {error}"));
        let json = serde_json::from_str(&text).unwrap_or(Value::Null);
        Self {
            asked,
            status,
            headers,
            text,
            json,
        }
    }

    /// Whether it was done.
    pub fn done(&self) -> bool {
        (200..300).contains(&self.status)
    }

    /// The answer, which must be a good one.
    #[track_caller]
    pub fn ok(self) -> Value {
        assert!(self.done(), "{}: {} {}", self.asked, self.status, self.text);
        self.json
    }

    /// The main record that the command left.
    #[track_caller]
    pub fn record(self) -> Value {
        self.ok()["record"].take()
    }

    /// The problem, which must be this one and in the form of RFC 9457.
    #[track_caller]
    pub fn refused(self, status: u16, code: &str) -> Value {
        assert_eq!(
            (self.status, self.json["code"].as_str()),
            (status, Some(code)),
            "{}: {} {}",
            self.asked,
            self.status,
            self.text
        );
        self.problem()
    }

    /// Any problem, which must be in the form of RFC 9457.
    #[track_caller]
    pub fn problem(self) -> Value {
        let kind = self.headers.get("content-type").and_then(|value| value.to_str().ok());
        assert_eq!(kind, Some("application/problem+json"), "{}: {} {}", self.asked, self.status, self.text);
        assert_eq!(self.json["status"], json!(self.status), "{}: {}", self.asked, self.text);
        for field in ["type", "title", "detail", "code"] {
            assert!(
                self.json[field].as_str().is_some_and(|text| !text.is_empty()),
                "{}: no {field} in {}",
                self.asked,
                self.text
            );
        }
        self.json
    }
}

#[derive(Debug)]
struct Token {
    access: String,
    issued: DateTime<Utc>,
}

/// A member that is signed in.
#[derive(Debug, Clone)]
pub struct Client {
    pub person: Person,
    base: String,
    http: reqwest::Client,
    clock: Clock,
    token: Arc<Mutex<Token>>,
}

impl Client {
    /// A member at a server; the token is the one that the ground was left with.
    pub fn new(base: &str, http: &reqwest::Client, clock: &Clock, person: &Person) -> Self {
        let token = Token {
            access: person.access.clone(),
            issued: person.issued,
        };
        Self {
            person: person.clone(),
            base: base.to_owned(),
            http: http.clone(),
            clock: clock.clone(),
            token: Arc::new(Mutex::new(token)),
        }
    }

    /// The access token; signs in again where the clock has passed its life.
    pub async fn access(&self) -> String {
        let now = self.clock.now();
        {
            let token = self.token.lock().expect("nobody panicked with it");
            if !token.access.is_empty() && (TimeDelta::zero()..TimeDelta::minutes(14)).contains(&(now - token.issued)) {
                return token.access.clone();
            }
        }
        let access = self.sign_in().await.ok()["access_token"].as_str().expect("a token").to_owned();
        *self.token.lock().expect("nobody panicked with it") = Token {
            access: access.clone(),
            issued: now,
        };
        access
    }

    /// Signs in with the member's password.
    pub async fn sign_in(&self) -> Reply {
        let body = json!({ "email": self.person.email, "password": self.person.password });
        Reply::of(
            format!("sign in as {}", self.person.email),
            self.http.post(format!("{}/v1/session", self.base)).json(&body),
        )
        .await
    }

    /// A request with the member's token.
    pub async fn request(&self, method: Method, path: &str) -> RequestBuilder {
        self.http.request(method, format!("{}{path}", self.base)).bearer_auth(self.access().await)
    }

    /// Asks, and where the password is asked for again gives it, as a screen would have it given.
    pub async fn ask(&self, method: Method, path: &str, body: Option<&Value>, headers: &[(&str, String)]) -> Reply {
        let reply = self.once(method.clone(), path, body, headers).await;
        if reply.json["code"] != "proof-needed" {
            return reply;
        }
        let password = json!({ "password": self.person.password });
        self.once(Method::POST, "/v1/session/proof", Some(&password), &[]).await.ok();
        self.once(method, path, body, headers).await
    }

    pub async fn once(&self, method: Method, path: &str, body: Option<&Value>, headers: &[(&str, String)]) -> Reply {
        let mut request = self.request(method.clone(), path).await;
        for (name, value) in headers {
            request = request.header(*name, value);
        }
        if let Some(body) = body {
            request = request.json(body);
        }
        Reply::of(format!("{} {method} {path} {}", self.person.role, body.unwrap_or(&Value::Null)), request).await
    }

    pub async fn get(&self, path: &str) -> Reply {
        self.ask(Method::GET, path, None, &[]).await
    }

    pub async fn post(&self, path: &str, body: Value) -> Reply {
        self.ask(Method::POST, path, Some(&body), &[]).await
    }

    /// Sends a write that was decided on a revision.
    pub async fn post_on(&self, path: &str, rev: i64, body: Value) -> Reply {
        self.ask(Method::POST, path, Some(&body), &[("If-Match", format!("\"{rev}\""))]).await
    }

    /// Edits a record that was seen at a revision.
    pub async fn patch_on(&self, path: &str, rev: i64, body: Value) -> Reply {
        self.ask(Method::PATCH, path, Some(&body), &[("If-Match", format!("\"{rev}\""))]).await
    }

    /// Edits a record as it now is.
    pub async fn edit(&self, path: &str, body: Value) -> Reply {
        let rev = self.rev(path).await;
        self.patch_on(path, rev, body).await
    }

    /// Sends a batch, the sender's clock being the service's.
    pub async fn send(&self, commands: Vec<Value>) -> Reply {
        let sent_at = self.clock.now();
        self.post("/v1/commands", json!({ "sent_at": sent_at, "commands": commands })).await
    }

    /// Sends a batch, all of which must be applied; answers the revision.
    pub async fn apply(&self, commands: Vec<Value>) -> i64 {
        let batch = self.send(commands).await.ok();
        for answer in batch["answers"].as_array().expect("answers") {
            assert_eq!(answer["outcome"], "applied", "{answer}");
        }
        batch["revision"].as_i64().expect("a revision")
    }

    /// Sends a register file as it is; `query` begins with a question mark, or is empty.
    pub async fn import(&self, query: &str, file: Vec<u8>, headers: &[(&str, String)]) -> Reply {
        let mut request = self
            .request(Method::POST, &format!("/v1/imports{query}"))
            .await
            .header("Content-Type", "text/csv")
            .body(file);
        for (name, value) in headers {
            request = request.header(*name, value);
        }
        Reply::of(format!("{} import {query}", self.person.role), request).await
    }

    /// One record.
    pub async fn find(&self, path: &str) -> Value {
        self.get(path).await.ok()
    }

    /// A record's revision.
    pub async fn rev(&self, path: &str) -> i64 {
        self.find(path).await["rev"].as_i64().expect("a record has its revision")
    }

    /// The agency's revision.
    pub async fn revision(&self) -> i64 {
        self.find("/v1/changes?limit=1").await["revision"].as_i64().expect("a revision")
    }

    /// Every record of a list, page by page.
    pub async fn list(&self, path: &str) -> Vec<Value> {
        let mut items = Vec::new();
        let mut after = String::new();
        loop {
            let link = if path.contains('?') { '&' } else { '?' };
            let page = self.find(&format!("{path}{link}limit=500{after}")).await;
            items.extend(page["items"].as_array().expect("items").iter().cloned());
            match page["next"].as_str() {
                Some(next) => after = format!("&after={next}"),
                None => return items,
            }
        }
    }
}
