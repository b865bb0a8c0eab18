//! A service, as one member or device talks to it.

use std::{sync::Arc, time::Duration};

use chrono::{DateTime, TimeDelta, Utc};
use reqwest::{Method, RequestBuilder, Response, StatusCode, Url, header};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use serde_json::{Value, json};
use tokio::sync::Mutex;

use crate::{Answer, Command, Error, Outbox, Patience, Problem, Session, command};

/// The number of the protocol that this crate speaks; sent with each request.
pub const PROTOCOL: u32 = 1;

/// An access token is renewed this long before it runs out.
const EARLY: TimeDelta = TimeDelta::seconds(60);
/// How long an answer may take before it counts as lost.
const TIMEOUT: Duration = Duration::from_secs(60);

type Clock = Arc<dyn Fn() -> DateTime<Utc> + Send + Sync>;

/// A service, as one member or device talks to it. Clones share the sign-in.
#[derive(Clone)]
pub struct Client {
    http: reqwest::Client,
    base: Url,
    clock: Clock,
    session: Arc<Mutex<Option<Session>>>,
}

impl std::fmt::Debug for Client {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Client").field("base", &self.base.as_str()).finish_non_exhaustive()
    }
}

#[derive(Serialize)]
struct Push<'c> {
    sent_at: DateTime<Utc>,
    commands: &'c [Command],
}

#[derive(Deserialize)]
struct Batch {
    answers: Vec<Answer>,
}

#[derive(Deserialize)]
struct SignedIn {
    access_token: String,
    refresh_token: String,
    expires_in: i64,
    #[serde(flatten)]
    who: Value,
}

impl Client {
    /// A client of the service at this address, for example `https://fullset.example`.
    pub fn new(base: &str) -> Result<Self, Error> {
        let http = reqwest::Client::builder().connect_timeout(Duration::from_secs(20)).build();
        Self::over(http.map_err(|error| Error::Unsendable(error.to_string()))?, base)
    }

    /// As [`Client::new`], over an HTTP client of the caller's.
    pub fn over(http: reqwest::Client, base: &str) -> Result<Self, Error> {
        let base: Url = base.parse().map_err(|error| Error::Unsendable(format!("the address {base}: {error}")))?;
        if base.cannot_be_a_base() {
            return Err(Error::Unsendable(format!("the address {base}: it begins with https:// or http://")));
        }
        Ok(Self {
            http,
            base,
            clock: Arc::new(Utc::now),
            session: Arc::default(),
        })
    }

    /// Tells the time by another clock than the machine's.
    #[must_use]
    pub fn with_clock(mut self, clock: impl Fn() -> DateTime<Utc> + Send + Sync + 'static) -> Self {
        self.clock = Arc::new(clock);
        self
    }

    /// Signs in as a member. The password is not kept.
    pub async fn sign_in(&self, email: &str, password: &str) -> Result<Session, Error> {
        self.open("/v1/session", &json!({ "email": email, "password": password })).await
    }

    /// Begins a sign-in at one of the addresses that give one.
    pub(crate) async fn open(&self, path: &str, body: &Value) -> Result<Session, Error> {
        let mut session = self.session.lock().await;
        let fresh = self.start(path, body).await?;
        *session = Some(fresh.clone());
        Ok(fresh)
    }

    /// The sign-in as it now is, to be stored: the tokens change whenever they are renewed.
    pub async fn session(&self) -> Option<Session> {
        self.session.lock().await.clone()
    }

    /// Goes on with a sign-in that was stored, or with none.
    pub async fn resume(&self, session: Option<Session>) {
        *self.session.lock().await = session;
    }

    /// Renews the tokens now. Otherwise it is done when they are needed.
    pub async fn refresh(&self) -> Result<(), Error> {
        self.renew(&mut *self.session.lock().await).await.map(drop)
    }

    async fn start(&self, path: &str, body: &Value) -> Result<Session, Error> {
        let request = self.request(Method::POST, path)?.json(body);
        let signed: SignedIn = read(self.answered(request).await?).await?;
        Ok(Session {
            access_token: signed.access_token,
            refresh_token: signed.refresh_token,
            expires_at: (self.clock)() + TimeDelta::try_seconds(signed.expires_in).unwrap_or_default(),
            who: signed.who,
        })
    }

    async fn renew(&self, session: &mut Option<Session>) -> Result<String, Error> {
        let Some(kept) = session.as_ref() else {
            return Err(Error::SignInNeeded(Box::new(nobody())));
        };
        let spent = json!({ "refresh_token": kept.refresh_token });
        let fresh = match self.start("/v1/session/refresh", &spent).await {
            // A lost answer spends nothing: the same token has the same successor.
            Err(Error::NoAnswer(_)) => self.start("/v1/session/refresh", &spent).await?,
            answer => answer?,
        };
        Ok(session.insert(fresh).access_token.clone())
    }

    /// An access token that serves, other than one that was refused.
    async fn access(&self, refused: Option<&str>) -> Result<String, Error> {
        let mut session = self.session.lock().await;
        match session.as_ref() {
            Some(kept) if refused != Some(&kept.access_token) && (self.clock)() < kept.expires_at - EARLY => Ok(kept.access_token.clone()),
            _ => self.renew(&mut session).await,
        }
    }

    pub(crate) fn request(&self, method: Method, path: &str) -> Result<RequestBuilder, Error> {
        let url = format!("{}{path}", self.base.as_str().trim_end_matches('/'));
        let url: Url = url.parse().map_err(|error| Error::Unsendable(format!("the address {url}: {error}")))?;
        Ok(self.http.request(method, url).header("Fullset-Protocol", PROTOCOL))
    }

    async fn answered(&self, request: RequestBuilder) -> Result<Response, Error> {
        checked(request.timeout(TIMEOUT).send().await.map_err(Error::NoAnswer)?).await
    }

    /// Sends a request with the member's token; once more with a new one, where the service takes the old no longer.
    pub(crate) async fn ask(&self, build: impl Fn() -> Result<RequestBuilder, Error>) -> Result<Response, Error> {
        let token = self.access(None).await?;
        match self.answered(build()?.bearer_auth(&token)).await {
            Err(Error::SignInNeeded(problem)) if problem.code == "sign-in-needed" || problem.code == "session-ended" => {
                let token = self.access(Some(&token)).await?;
                self.answered(build()?.bearer_auth(token)).await
            }
            answer => answer,
        }
    }

    pub(crate) async fn stream(&self, path: &str) -> Result<Response, Error> {
        // A stream has no end to wait for; its reader watches for silence.
        let token = self.access(None).await?;
        let open = async |token: &str| checked(self.request(Method::GET, path)?.bearer_auth(token).send().await.map_err(Error::NoAnswer)?).await;
        match open(&token).await {
            Err(Error::SignInNeeded(_)) => open(&self.access(Some(&token)).await?).await,
            answer => answer,
        }
    }

    /// What the head of an address says, whether the thing is there (200) or not (404): it has no body to tell it by.
    pub(crate) async fn head(&self, path: &str) -> Result<Response, Error> {
        let look = async |token: &str| {
            let request = self.request(Method::HEAD, path)?.bearer_auth(token).timeout(TIMEOUT);
            request.send().await.map_err(Error::NoAnswer)
        };
        let token = self.access(None).await?;
        let mut answer = look(&token).await?;
        if answer.status() == StatusCode::UNAUTHORIZED {
            answer = look(&self.access(Some(&token)).await?).await?;
        }
        if answer.status() == StatusCode::NOT_FOUND {
            Ok(answer)
        } else {
            checked(answer).await
        }
    }

    /// Reads an address of the API, such as `/v1/board`. One try.
    pub async fn get<T: DeserializeOwned>(&self, path: &str) -> Result<T, Error> {
        read(self.ask(|| self.request(Method::GET, path)).await?).await
    }

    /// Writes to a plain address of the API under the id of a command; `expects` is the revision that was seen. One try:
    /// to try again, use the same id.
    pub async fn write<T: DeserializeOwned>(
        &self,
        method: Method,
        path: &str,
        id: uuid::Uuid,
        expects: Option<i64>,
        body: &impl Serialize,
    ) -> Result<T, Error> {
        let answer = self.ask(|| {
            let request = self.request(method.clone(), path)?.header("Idempotency-Key", id.to_string()).json(body);
            Ok(match expects {
                Some(revision) => request.header(header::IF_MATCH, format!("\"{revision}\"")),
                None => request,
            })
        });
        read(answer.await?).await
    }

    /// Sends commands, in batches, each under the same ids until it is answered, and answers one answer for each, in order.
    ///
    /// When it fails, some of the commands may have been done. Send all of them again: those that were done are answered
    /// [`Repeated`](crate::Outcome::Repeated).
    pub async fn push(&self, commands: &[Command], patience: Patience) -> Result<Vec<Answer>, Error> {
        let mut answers = Vec::with_capacity(commands.len());
        while let Some(rest) = commands.get(answers.len()..).filter(|rest| !rest.is_empty()) {
            answers.extend(self.batch(command::next_batch(rest), patience).await?);
        }
        Ok(answers)
    }

    /// Sends what waits in the outbox. What has been answered has left `waiting`, also when this fails: store the outbox
    /// either way.
    pub async fn drain(&self, outbox: &mut Outbox, patience: Patience) -> Result<(), Error> {
        while !outbox.waiting.is_empty() {
            let answers = self.batch(outbox.next_batch(), patience).await?;
            outbox.settle(answers);
        }
        Ok(())
    }

    /// One batch. Where the service refuses it whole because of one command, the rest goes without that one.
    async fn batch(&self, commands: &[Command], patience: Patience) -> Result<Vec<Answer>, Error> {
        let sent = patience
            .until_answered(async || {
                let sent_at = (self.clock)();
                let body = Push { sent_at, commands };
                let answer = self.ask(|| Ok(self.request(Method::POST, "/v1/commands")?.json(&body))).await?;
                let Batch { answers } = read(answer).await?;
                if !answers.iter().map(|answer| answer.id).eq(commands.iter().map(|command| command.id)) {
                    return Err(Error::NotUnderstood {
                        status: 200,
                        said: "the answers are not those of the commands, in order".into(),
                    });
                }
                Ok(answers)
            })
            .await;
        match (sent, commands) {
            (Err(Error::Refused(problem)), [command]) if spoiled(&problem) => Ok(vec![Answer::refused(command.id, *problem)]),
            (Err(Error::Refused(problem)), _) if spoiled(&problem) && !commands.is_empty() => {
                let (first, second) = commands.split_at(commands.len() / 2);
                let mut answers = Box::pin(self.batch(first, patience)).await?;
                answers.extend(Box::pin(self.batch(second, patience)).await?);
                Ok(answers)
            }
            (sent, _) => sent,
        }
    }
}

/// Whether a batch was refused whole for what one command in it holds, or for its size.
fn spoiled(problem: &Problem) -> bool {
    matches!(problem.status, 400 | 413 | 422)
}

fn nobody() -> Problem {
    Problem {
        status: 401,
        code: "sign-in-needed".into(),
        title: String::new(),
        detail: "Nobody is signed in".into(),
        field: None,
        hint: None,
        errors: Vec::new(),
        more: serde_json::Map::new(),
    }
}

/// The answer, where it is a good one.
async fn checked(answer: Response) -> Result<Response, Error> {
    let status = answer.status();
    if status.is_success() {
        return Ok(answer);
    }
    let retry_after = answer
        .headers()
        .get(header::RETRY_AFTER)
        .and_then(|value| value.to_str().ok()?.trim().parse().ok());
    // The store of photos is full: that does not pass by itself, and says why.
    let passes = status.is_server_error() && status != StatusCode::INSUFFICIENT_STORAGE;
    if matches!(status, StatusCode::TOO_MANY_REQUESTS | StatusCode::REQUEST_TIMEOUT) || passes {
        return Err(Error::Busy {
            status: status.as_u16(),
            retry_after,
        });
    }
    let text = answer.text().await.map_err(Error::NoAnswer)?;
    let Ok(problem) = serde_json::from_str::<Problem>(&text).map(Box::new) else {
        return Err(not_understood(status, &text));
    };
    Err(match (status.as_u16(), problem.code.as_str()) {
        (401, "device-revoked") => Error::DeviceRevoked(problem),
        (401, _) => Error::SignInNeeded(problem),
        (410, "scope-gone") => Error::ScopeGone(problem),
        (426, _) => Error::TooOld(problem),
        _ => Error::Refused(problem),
    })
}

/// Reads a good answer. One that broke off counts as none.
async fn read<T: DeserializeOwned>(answer: Response) -> Result<T, Error> {
    let status = answer.status();
    let bytes = answer.bytes().await.map_err(Error::NoAnswer)?;
    let text = if bytes.is_empty() { b"null".as_slice() } else { &bytes };
    serde_json::from_slice(text).map_err(|error| not_understood(status, &format!("{error}: {}", String::from_utf8_lossy(&bytes))))
}

fn not_understood(status: StatusCode, said: &str) -> Error {
    Error::NotUnderstood {
        status: status.as_u16(),
        said: said.chars().take(300).collect(),
    }
}
