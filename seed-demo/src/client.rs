//! The county's members at the service: a sign-in for each, batches of commands, answers held to be applied.

use crate::{PASSWORD, Person, deeds::Wire};
use anyhow::{Context as _, Result, anyhow, bail};
use chrono::{DateTime, TimeDelta, Utc};
use fullset_client::{Command, Error, Expects, Patience};
use reqwest::Method;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::{
    collections::{BTreeMap, HashMap},
    sync::{Arc, Mutex},
};
use uuid::Uuid;

/// A refresh token serves 30 days; one that is about to run out is spent in time.
const REFRESH: TimeDelta = TimeDelta::days(25);
/// The service runs in this process: an answer that stays away once may come, one that stays away is a fault.
const PATIENCE: Patience = Patience::tries(4);

/// The service, as the county's members talk to it.
#[derive(Debug)]
pub struct Client {
    http: reqwest::Client,
    base: String,
    now: Arc<Mutex<DateTime<Utc>>>,
    signed_in: BTreeMap<&'static str, fullset_client::Client>,
    /// The revision of each record that an answer has named: what the next decision is made on.
    revisions: HashMap<Uuid, i64>,
}

impl Client {
    pub fn new(base: &str, now: DateTime<Utc>) -> Result<Self> {
        let http = reqwest::Client::builder().no_proxy().build().context("the HTTP client could not be made")?;
        Ok(Self {
            http,
            base: base.to_owned(),
            now: Arc::new(Mutex::new(now)),
            signed_in: BTreeMap::new(),
            revisions: HashMap::new(),
        })
    }

    /// The service's clock is about to stand at `now`. Refresh tokens that would run out by then are spent before.
    pub async fn look_ahead(&mut self, now: DateTime<Utc>) -> Result<()> {
        let mut over = Vec::new();
        for (email, client) in &self.signed_in {
            if client.session().await.is_some_and(|session| now - session.expires_at > REFRESH) {
                match client.refresh().await {
                    // A sign-in ends after 90 days, however often it is refreshed; the next request signs in again.
                    Err(Error::SignInNeeded(_)) => over.push(*email),
                    answer => answer.with_context(|| format!("the sign-in of {email} could not be refreshed"))?,
                }
            }
        }
        for email in over {
            self.signed_in.remove(email);
        }
        Ok(())
    }

    /// The service's clock stands at `now`.
    pub fn clock(&mut self, now: DateTime<Utc>) {
        if let Ok(mut kept) = self.now.lock() {
            *kept = now;
        }
    }

    /// The record's revision became known in another way than by an answer.
    pub fn learn(&mut self, record: Uuid, revision: i64) {
        self.revisions.insert(record, revision);
    }

    /// Does something as a member; signs in before that, and again where the service has ended the sign-in.
    async fn ask<T>(&mut self, who: &'static Person, what: impl AsyncFn(&fullset_client::Client) -> Result<T, Error>) -> Result<T> {
        if let Some(client) = self.signed_in.get(who.email) {
            match what(client).await {
                Err(Error::SignInNeeded(_)) => {}
                answer => return Ok(answer?),
            }
        }
        let now = Arc::clone(&self.now);
        let client = fullset_client::Client::over(self.http.clone(), &self.base)?.with_clock(move || now.lock().map_or(DateTime::UNIX_EPOCH, |now| *now));
        client
            .sign_in(who.email, PASSWORD)
            .await
            .with_context(|| format!("{} could not sign in", who.name))?;
        let answer = what(&client).await;
        self.signed_in.insert(who.email, client);
        Ok(answer?)
    }

    /// Reads something as a member.
    pub async fn get<T: DeserializeOwned>(&mut self, who: &'static Person, path: &str) -> Result<T> {
        self.ask(who, async |client| client.get(path).await)
            .await
            .with_context(|| format!("GET {path}"))
    }

    /// Sends a picture as a member; answers the name that commands call it by.
    pub async fn put_picture(&mut self, who: &'static Person, bytes: &[u8]) -> Result<String> {
        self.ask(who, async |client| client.put_photo(bytes, "image/png", PATIENCE).await)
            .await
            .context("a picture")
    }

    /// Changes a record under its own address, naming the revision that was seen.
    pub async fn change(&mut self, who: &'static Person, method: Method, path: &str, revision: i64, body: &Value) -> Result<()> {
        let id = Uuid::now_v7();
        let changed = self.ask(who, async |client| client.write::<Value>(method.clone(), path, id, Some(revision), body).await);
        changed.await.with_context(|| format!("{method} {path}"))?;
        Ok(())
    }

    /// Sends commands as a member, all of this moment; each must be applied.
    pub async fn send(&mut self, who: &'static Person, commands: Vec<(Uuid, Wire)>) -> Result<()> {
        let sent = commands.iter().map(|(id, wire)| self.command(*id, wire)).collect::<Result<Vec<_>>>()?;
        let pushed = self.ask(who, async |client| client.push(&sent, PATIENCE).await);
        let answers = pushed.await.with_context(|| format!("commands of {}", who.name))?;
        for (answer, command) in answers.into_iter().zip(&sent) {
            if !answer.took_effect() {
                let why = answer.problem.map_or_else(|| format!("{:?}", answer.outcome), |problem| problem.to_string());
                let now = self.now.lock().map_err(|_| anyhow!("the clock is lost"))?;
                bail!("{} could not {} at {now}: {why}; the command was {}", who.name, command.kind, command.body);
            }
            // How a rig or a piece stands bears its id and a revision of its own; nobody decides on that.
            let decided_on = answer.records.into_iter().filter(|touched| !touched.kind.ends_with("_standing"));
            self.revisions.extend(decided_on.map(|touched| (touched.id, touched.rev)));
        }
        Ok(())
    }

    fn command(&self, id: Uuid, wire: &Wire) -> Result<Command> {
        let seen = |record| {
            self.revisions
                .get(&record)
                .copied()
                .with_context(|| format!("{}: nobody has seen the record {record}", wire.kind))
        };
        Ok(Command {
            id,
            // It is done when it is sent: the story's clock stands still meanwhile.
            at: None,
            expects: wire.expects.map(seen).transpose()?.map(Expects::Revision),
            ..Command::new(wire.kind, &wire.body)?
        })
    }
}
