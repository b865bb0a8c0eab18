//! How a message leaves: over HTTP, to the address that was checked and to no other ([`outward`]).

use std::{sync::Arc, time::Duration};

use chrono::{DateTime, TimeDelta, Utc};
use reqwest::{
    Client, Url,
    header::{AUTHORIZATION, CONTENT_ENCODING, CONTENT_TYPE, HeaderMap, HeaderName, HeaderValue, RETRY_AFTER},
};
use serde::Deserialize;

use super::{
    letter::Notice,
    mail::{Mail, Mailer},
    message::{MEDIA, signature},
    rules::retry_after,
};
use crate::{
    platform::{
        clock::Clock,
        db::{Db, Pool},
        error::Fault,
        outward::{self, Outward, checked_address},
    },
    slices::subscriptions::{Phones, Subscription, seal},
};

/// The longest wait for the whole answer (Standard Webhooks: 15 to 30 seconds).
const ANSWER: Duration = Duration::from_secs(15);
/// The most that is read of an answer, in bytes.
const MOST_ANSWER: usize = 4096;
/// For how many seconds a push service keeps a notice for a phone that is not there (RFC 8030, 5.2): four hours. Later whoever opens the app
/// sees how things stand by then; common practice, no source.
const PUSH_KEPT: u32 = 4 * 60 * 60;

/// What sends messages, and keeps account of them.
#[allow(missing_debug_implementations)]
pub struct Sender {
    /// Or why there is none: a machine without a list of certificate authorities serves all the same.
    client: Result<Client, String>,
    outward: Outward,
    /// None: this process hands in no e-mail.
    mailer: Option<Mailer>,
    /// The address that people open the service under, where that is known.
    origin: Option<String>,
    writers: Pool,
    clock: Clock,
    /// What phones are told with.
    phones: Arc<Phones>,
}

/// A message that is ready to be sent.
#[derive(Debug, Clone, Copy)]
pub struct Post<'a> {
    pub address: &'a str,
    pub secret: &'a [u8],
    pub id: &'a str,
    pub body: &'a str,
}

/// How sending ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Posted {
    /// The receiver answered.
    Answered {
        status: u16,
        retry_after: Option<TimeDelta>,
        acknowledged_by: Option<String>,
    },
    /// The relay took the e-mail.
    Taken,
    /// It will never be taken; why, in a sentence.
    Refused(String),
    /// Nobody answered, or nobody was asked; why, in a sentence.
    Unreached(String),
}

/// What an answer may say.
#[derive(Debug, Deserialize)]
struct Reply {
    acknowledged_by: Option<String>,
}

impl Sender {
    /// Opens what sends, by the operator's settings.
    pub fn open(writers: Pool, clock: Clock, phones: Arc<Phones>, mailer: Option<Mailer>, origin: Option<String>) -> Self {
        let outward = phones.outward();
        let client = outward::client(outward, ANSWER).map_err(|error| format!("This service cannot send messages: {}", why(&error)));
        Self {
            client,
            outward,
            mailer,
            origin,
            writers,
            clock,
            phones,
        }
    }

    /// Whether this process sends at all.
    pub fn sends(&self) -> bool {
        self.outward != Outward::Off
    }

    /// Now.
    pub fn now(&self) -> DateTime<Utc> {
        self.clock.now()
    }

    /// The address that people open the service under, where that is known.
    pub fn origin(&self) -> Option<&str> {
        self.origin.as_deref()
    }

    /// Works on the database on a thread that may block.
    pub async fn work<T: Send + 'static>(&self, work: impl FnOnce(&mut Db) -> Result<T, Fault> + Send + 'static) -> Result<T, Fault> {
        let writers = self.writers.clone();
        tokio::task::spawn_blocking(move || work(&mut *writers.get().map_err(anyhow::Error::from)?))
            .await
            .map_err(|error| anyhow::anyhow!("keeping account of messages ended early: {error}"))?
    }

    /// Sends a message once.
    pub async fn post(&self, post: Post<'_>) -> Posted {
        match &self.client {
            Ok(client) => send(client, self.outward, post, self.now()).await,
            Err(why) => Posted::Unreached(why.clone()),
        }
    }

    /// Sends a notice to a phone once, by its push service (RFC 8030). `urgent`: the phone wakes for it.
    pub async fn push(&self, phone: &Subscription, notice: &Notice, urgent: bool) -> Result<Posted, Fault> {
        let client = match &self.client {
            Ok(client) => client,
            Err(why) => return Ok(Posted::Unreached(why.clone())),
        };
        let url = match checked_address(&phone.endpoint, self.outward) {
            Ok(url) => url,
            Err(why) => return Ok(Posted::Refused(why)),
        };
        let Some(authorization) = self.phones.authorization(url.origin().ascii_serialization()).await? else {
            return Ok(Posted::Refused(
                "Notices to phones are switched off on this service (--push-contact)".to_owned(),
            ));
        };
        let Some(body) = seal(&phone.keys, &serde_json::to_vec(notice)?) else {
            return Ok(Posted::Refused("This notice could not be sealed for the phone".to_owned()));
        };
        let mut headers = HeaderMap::new();
        headers.insert(AUTHORIZATION, HeaderValue::from_str(&authorization).map_err(anyhow::Error::from)?);
        headers.insert(CONTENT_TYPE, HeaderValue::from_static("application/octet-stream"));
        headers.insert(CONTENT_ENCODING, HeaderValue::from_static("aes128gcm"));
        headers.insert(HeaderName::from_static("ttl"), HeaderValue::from(PUSH_KEPT));
        let urgency = if urgent { "high" } else { "normal" };
        headers.insert(HeaderName::from_static("urgency"), HeaderValue::from_static(urgency));
        Ok(match deliver(client, url, headers, body, self.now()).await {
            // It is there no more, by whichever of the two a push service says it (RFC 8030, 7.3).
            Posted::Answered { status: 404 | 410, .. } => Posted::Answered {
                status: 410,
                retry_after: None,
                acknowledged_by: None,
            },
            Posted::Answered { status: 413, .. } => Posted::Refused("Its push service answered 413: the notice is too long for it".to_owned()),
            // A push service has read nothing, and acknowledges nothing.
            Posted::Answered { status, retry_after, .. } => Posted::Answered {
                status,
                retry_after,
                acknowledged_by: None,
            },
            other => other,
        })
    }

    /// Hands an e-mail in once.
    pub async fn mail(&self, mail: Mail<'_>) -> Posted {
        match &self.mailer {
            Some(mailer) => mailer.hand_in(mail).await,
            None => Posted::Unreached("This service sends no e-mail yet; whoever runs it can set that up".to_owned()),
        }
    }
}

async fn send(client: &Client, outward: Outward, post: Post<'_>, now: DateTime<Utc>) -> Posted {
    let url = match checked_address(post.address, outward) {
        Ok(url) => url,
        Err(why) => return Posted::Unreached(why),
    };
    let timestamp = now.timestamp();
    let mut headers = HeaderMap::new();
    headers.insert(CONTENT_TYPE, HeaderValue::from_static(MEDIA));
    headers.insert(HeaderName::from_static("webhook-timestamp"), HeaderValue::from(timestamp));
    let signed = signature(post.secret, post.id, timestamp, post.body);
    for (name, words) in [("webhook-id", post.id), ("webhook-signature", &signed)] {
        match HeaderValue::from_str(words) {
            Ok(value) => headers.insert(HeaderName::from_static(name), value),
            Err(_) => return Posted::Refused("This message cannot be written".to_owned()),
        };
    }
    deliver(client, url, headers, post.body.to_owned().into_bytes(), now).await
}

/// Asks once, and reads as much of the answer as counts.
async fn deliver(client: &Client, url: Url, headers: HeaderMap, body: Vec<u8>, now: DateTime<Utc>) -> Posted {
    let mut answer = match client.post(url).headers(headers).body(body).send().await {
        Ok(answer) => answer,
        Err(error) => return Posted::Unreached(why(&error)),
    };
    let status = answer.status().as_u16();
    let retry_after = answer.headers().get(RETRY_AFTER).and_then(|value| retry_after(value.to_str().ok()?, now));
    let mut said = Vec::new();
    // Whatever follows the status changes nothing of it.
    while let Ok(Some(bytes)) = answer.chunk().await {
        said.extend_from_slice(bytes.get(..bytes.len().min(MOST_ANSWER - said.len())).unwrap_or_default());
        if said.len() >= MOST_ANSWER {
            break;
        }
    }
    Posted::Answered {
        status,
        retry_after,
        acknowledged_by: serde_json::from_slice::<Reply>(&said).ok().and_then(|reply| reply.acknowledged_by),
    }
}

/// What stood in the way, in a sentence.
fn why(error: &reqwest::Error) -> String {
    outward::why(error, ANSWER)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn an_address_in_numbers_is_looked_at_as_well() {
        let client = outward::client(Outward::Public, ANSWER).expect("a client");
        for address in ["https://127.0.0.1:9/", "https://[::1]:9/", "https://169.254.169.254/", "http://93.184.216.34/"] {
            let post = Post {
                address,
                secret: b"secret",
                id: "1",
                body: "{}",
            };
            let Posted::Unreached(why) = send(&client, Outward::Public, post, DateTime::UNIX_EPOCH).await else {
                panic!("{address} was asked");
            };
            assert!(why.contains("whoever runs the service"), "{address}: {why}");
        }
    }
}
