//! A client of the service: a sign-in for each member, batches of commands, answers held to be applied.

use crate::{PASSWORD, Person, deeds::Wire};
use anyhow::{Context as _, Result, anyhow, bail};
use chrono::{DateTime, TimeDelta, Utc};
use reqwest::{Method, RequestBuilder, Response, StatusCode};
use serde::{Deserialize, de::DeserializeOwned};
use serde_json::{Value, json};
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// The most commands in a batch.
pub const MOST: usize = 500;
/// An access token serves 15 minutes; a little before that it is refreshed.
const ACCESS: TimeDelta = TimeDelta::minutes(14);
/// A refresh token serves 30 days; one that is about to run out is spent in time.
const REFRESH: TimeDelta = TimeDelta::days(25);

#[derive(Debug, Deserialize)]
struct Session {
    access_token: String,
    refresh_token: String,
}

#[derive(Debug)]
struct SignedIn {
    session: Session,
    at: DateTime<Utc>,
}

#[derive(Debug, Deserialize)]
struct Batch {
    answers: Vec<Answer>,
}

#[derive(Debug, Deserialize)]
struct Answer {
    outcome: String,
    #[serde(default)]
    records: Vec<Touched>,
    problem: Option<Problem>,
}

#[derive(Debug, Deserialize)]
struct Touched {
    kind: String,
    id: Uuid,
    rev: i64,
}

/// What the service says when it refuses.
#[derive(Debug, Deserialize)]
struct Problem {
    code: String,
    detail: String,
    field: Option<String>,
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} ({}", self.detail, self.code)?;
        if let Some(field) = &self.field {
            write!(f, " at {field}")?;
        }
        f.write_str(")")
    }
}

/// The service, as the county's members talk to it.
#[derive(Debug)]
pub struct Client {
    http: reqwest::Client,
    base: String,
    now: DateTime<Utc>,
    signed_in: BTreeMap<&'static str, SignedIn>,
    /// The revision of each record that an answer has named: what the next decision is made on.
    revisions: HashMap<Uuid, i64>,
}

impl Client {
    pub fn new(base: &str, now: DateTime<Utc>) -> Result<Self> {
        let http = reqwest::Client::builder().no_proxy().build().context("the HTTP client could not be made")?;
        Ok(Self {
            http,
            base: base.trim_end_matches('/').to_owned(),
            now,
            signed_in: BTreeMap::new(),
            revisions: HashMap::new(),
        })
    }

    /// The service's clock is about to stand at `now`. Refresh tokens that would run out by then are spent before.
    pub async fn look_ahead(&mut self, now: DateTime<Utc>) -> Result<()> {
        let old: Vec<&'static str> = self
            .signed_in
            .iter()
            .filter(|(_, signed)| now - signed.at > REFRESH)
            .map(|(email, _)| *email)
            .collect();
        for email in old {
            self.refresh(email).await?;
        }
        Ok(())
    }

    /// The service's clock stands at `now`.
    pub fn clock(&mut self, now: DateTime<Utc>) {
        self.now = now;
    }

    /// The record's revision became known in another way than by an answer.
    pub fn learn(&mut self, record: Uuid, revision: i64) {
        self.revisions.insert(record, revision);
    }

    fn address(&self, method: Method, path: &str) -> RequestBuilder {
        self.http.request(method, format!("{}{path}", self.base))
    }

    async fn start(&mut self, who: &'static Person) -> Result<()> {
        let body = json!({ "email": who.email, "password": PASSWORD });
        let response = self.address(Method::POST, "/v1/session").json(&body).send().await?;
        let session = read(response).await.with_context(|| format!("{} could not sign in", who.name))?;
        self.signed_in.insert(who.email, SignedIn { session, at: self.now });
        Ok(())
    }

    async fn refresh(&mut self, email: &'static str) -> Result<()> {
        let Some(signed) = self.signed_in.get(email) else { return Ok(()) };
        let body = json!({ "refresh_token": signed.session.refresh_token });
        let response = self.address(Method::POST, "/v1/session/refresh").json(&body).send().await?;
        let session = read(response).await.with_context(|| format!("the sign-in of {email} could not be refreshed"))?;
        self.signed_in.insert(email, SignedIn { session, at: self.now });
        Ok(())
    }

    /// An access token that serves now.
    async fn token(&mut self, who: &'static Person) -> Result<String> {
        match self.signed_in.get(who.email).map(|signed| self.now - signed.at) {
            None => self.start(who).await?,
            Some(age) if age >= ACCESS => self.refresh(who.email).await?,
            Some(_) => {}
        }
        let signed = self.signed_in.get(who.email).ok_or_else(|| anyhow!("{} is not signed in", who.name))?;
        Ok(signed.session.access_token.clone())
    }

    /// Sends a request as a member; signs in again where the service has ended the sign-in.
    async fn ask(&mut self, who: &'static Person, method: Method, path: &str, rest: impl Fn(RequestBuilder) -> RequestBuilder) -> Result<Response> {
        let token = self.token(who).await?;
        let response = rest(self.address(method.clone(), path)).bearer_auth(token).send().await?;
        if response.status() != StatusCode::UNAUTHORIZED {
            return Ok(response);
        }
        self.start(who).await?;
        let token = self.token(who).await?;
        Ok(rest(self.address(method, path)).bearer_auth(token).send().await?)
    }

    /// Reads something as a member.
    pub async fn get<T: DeserializeOwned>(&mut self, who: &'static Person, path: &str) -> Result<T> {
        let response = self.ask(who, Method::GET, path, |request| request).await?;
        read(response).await.with_context(|| format!("GET {path}"))
    }

    /// Changes a record under its own address, naming the revision that was seen.
    pub async fn patch(&mut self, who: &'static Person, path: &str, revision: i64, body: &Value) -> Result<()> {
        let tag = format!("\"{revision}\"");
        let response = self
            .ask(who, Method::PATCH, path, |request| request.header("If-Match", tag.as_str()).json(body))
            .await?;
        let _: Value = read(response).await.with_context(|| format!("PATCH {path}"))?;
        Ok(())
    }

    /// Sends commands as a member, all of this moment; each must be applied.
    pub async fn send(&mut self, who: &'static Person, commands: Vec<(Uuid, Wire)>) -> Result<()> {
        for chunk in commands.chunks(MOST) {
            let wired = chunk.iter().map(|(id, wire)| self.command(*id, wire)).collect::<Result<Vec<_>>>()?;
            let body = json!({ "sent_at": self.now, "commands": wired });
            let response = self.ask(who, Method::POST, "/v1/commands", |request| request.json(&body)).await?;
            let batch: Batch = read(response).await.with_context(|| format!("commands of {}", who.name))?;
            if batch.answers.len() != chunk.len() {
                bail!("{} commands were answered by {} answers", chunk.len(), batch.answers.len());
            }
            for (answer, (_, wire)) in batch.answers.into_iter().zip(chunk) {
                if !matches!(answer.outcome.as_str(), "applied" | "repeated") {
                    let why = answer.problem.map_or_else(|| answer.outcome.clone(), |problem| problem.to_string());
                    bail!("{} could not {} at {}: {why}; the command was {}", who.name, wire.kind, self.now, wire.body);
                }
                // A rig's capability bears the rig's id and a revision of its own; nobody decides on that.
                let decided_on = answer.records.into_iter().filter(|touched| touched.kind != "capability");
                self.revisions.extend(decided_on.map(|touched| (touched.id, touched.rev)));
            }
        }
        Ok(())
    }

    fn command(&self, id: Uuid, wire: &Wire) -> Result<Value> {
        let mut command = json!({ "id": id, "kind": wire.kind, "body": wire.body });
        if let (Some(record), Some(fields)) = (wire.expects, command.as_object_mut()) {
            let revision = self
                .revisions
                .get(&record)
                .with_context(|| format!("{}: nobody has seen the record {record}", wire.kind))?;
            fields.insert("expects".into(), (*revision).into());
        }
        Ok(command)
    }
}

async fn read<T: DeserializeOwned>(response: Response) -> Result<T> {
    let status = response.status();
    if status.is_success() {
        return Ok(response.json().await?);
    }
    let text = response.text().await.unwrap_or_default();
    match serde_json::from_str::<Problem>(&text) {
        Ok(problem) => bail!("{status}: {problem}"),
        Err(_) => bail!("{status}: {text}"),
    }
}
