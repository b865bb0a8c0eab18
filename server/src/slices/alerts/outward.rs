//! How a message leaves: over HTTP, to the address that was checked and to no other. What a name resolves to is looked at where the
//! connection is made, so that a name cannot lead elsewhere between the check and the sending; redirects and proxies are not followed.

use std::{io, net::SocketAddr, sync::Arc, time::Duration};

use chrono::{DateTime, TimeDelta, Utc};
use futures_util::future::BoxFuture;
use reqwest::{
    Client, Url,
    dns::{Addrs, Name, Resolve, Resolving},
    header::{AUTHORIZATION, CONTENT_ENCODING, CONTENT_TYPE, HeaderMap, HeaderName, HeaderValue, RETRY_AFTER, USER_AGENT},
    redirect::Policy,
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
    },
    slices::{
        receivers::{Outward, checked_address, special_network},
        subscriptions::{Phones, Subscription, seal},
    },
};

/// The longest wait for a connection.
const CONNECT: Duration = Duration::from_secs(5);
/// The longest wait for the whole answer (Standard Webhooks: 15 to 30 seconds).
const ANSWER: Duration = Duration::from_secs(15);
/// The most that is read of an answer, in bytes.
const MOST_ANSWER: usize = 4096;
/// For how many seconds a push service keeps a notice for a phone that is not there (RFC 8030, 5.2): four hours. Later whoever opens the app
/// sees how things stand by then; common practice, no source.
const PUSH_KEPT: u32 = 4 * 60 * 60;

/// Looks a name up.
type Lookup = Arc<dyn Fn(String) -> BoxFuture<'static, io::Result<Vec<SocketAddr>>> + Send + Sync>;

/// Resolves names to public addresses alone, unless all are allowed.
#[derive(Clone)]
struct Guard {
    outward: Outward,
    lookup: Lookup,
}

impl Guard {
    async fn addresses(self, host: String) -> Result<Vec<SocketAddr>, io::Error> {
        let found = (self.lookup)(host.clone()).await?;
        let inward = found.iter().find_map(|address| special_network(address.ip()));
        match inward.filter(|_| self.outward != Outward::Any) {
            // One such address among others is refused as a whole: which one would be tried is up to chance.
            Some(what) => Err(io::Error::other(format!("{host} leads to an address {what}"))),
            None => Ok(found),
        }
    }
}

impl Resolve for Guard {
    fn resolve(&self, name: Name) -> Resolving {
        let (guard, host) = (self.clone(), name.as_str().to_owned());
        Box::pin(async move {
            let addresses = guard.addresses(host).await?;
            Ok(Box::new(addresses.into_iter()) as Addrs)
        })
    }
}

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
        let lookup: Lookup =
            Arc::new(|host: String| -> BoxFuture<'static, _> { Box::pin(async move { Ok(tokio::net::lookup_host((host, 0)).await?.collect()) }) });
        let client = client(Guard { outward, lookup }).map_err(|error| format!("This service cannot send messages: {}", why(&error)));
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

fn client(guard: Guard) -> reqwest::Result<Client> {
    Client::builder()
        .dns_resolver(Arc::new(guard))
        .redirect(Policy::none())
        .no_proxy()
        .connect_timeout(CONNECT)
        .timeout(ANSWER)
        // Each sending looks the name up anew.
        .pool_max_idle_per_host(0)
        .build()
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
    let request = client
        .post(url)
        .headers(headers)
        .header(USER_AGENT, concat!("fullset/", env!("CARGO_PKG_VERSION")))
        .body(body);
    let mut answer = match request.send().await {
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
    if error.is_timeout() {
        return format!("It did not answer within {} seconds", ANSWER.as_secs());
    }
    // The innermost cause says what happened; what is around it names the address again.
    let mut cause: &dyn std::error::Error = error;
    while let Some(inner) = cause.source() {
        cause = inner;
    }
    let words: String = cause.to_string().chars().filter(|sign| !sign.is_control()).take(200).collect();
    if error.is_connect() {
        format!("It was not reached: {words}")
    } else {
        format!("The connection broke off: {words}")
    }
}

#[cfg(test)]
mod tests {
    use std::net::{IpAddr, Ipv4Addr, TcpListener};

    use super::*;

    fn guard(outward: Outward, addresses: &[IpAddr]) -> Guard {
        let addresses = addresses.to_vec();
        let lookup: Lookup = Arc::new(move |_| -> BoxFuture<'static, _> {
            let found = addresses.iter().map(|ip| SocketAddr::new(*ip, 0)).collect();
            Box::pin(async move { Ok(found) })
        });
        Guard { outward, lookup }
    }

    async fn reached(outward: Outward, addresses: &[IpAddr], address: &str) -> Posted {
        let client = client(guard(outward, addresses)).expect("a client");
        let post = Post {
            address,
            secret: b"secret",
            id: "1",
            body: "{}",
        };
        send(&client, outward, post, DateTime::UNIX_EPOCH).await
    }

    #[tokio::test]
    async fn a_name_that_leads_into_the_own_network_is_not_asked() {
        let own = TcpListener::bind("127.0.0.1:0").expect("a port");
        own.set_nonblocking(true).expect("no waiting");
        let address = format!("https://dispatch.example.org:{}/", own.local_addr().expect("an address").port());
        let loopback = IpAddr::V4(Ipv4Addr::LOCALHOST);
        let public: IpAddr = "93.184.216.34".parse().expect("an address");
        for addresses in [vec![loopback], vec![public, loopback], vec!["::ffff:10.0.0.1".parse().expect("an address")]] {
            let Posted::Unreached(why) = reached(Outward::Public, &addresses, &address).await else {
                panic!("{addresses:?} was asked");
            };
            assert!(why.contains("dispatch.example.org leads to an address"), "{why}");
        }
        assert!(own.accept().is_err(), "nobody knocked");
        // The same name is asked where the operator allows it, so the test would see it.
        let Posted::Unreached(_) = reached(Outward::Any, &[loopback], &address.replace("https", "http")).await else {
            panic!("nobody answers there");
        };
        assert!(own.accept().is_ok(), "somebody knocked");
    }

    #[tokio::test]
    async fn an_address_in_numbers_is_looked_at_as_well() {
        for address in ["https://127.0.0.1:9/", "https://[::1]:9/", "https://169.254.169.254/", "http://93.184.216.34/"] {
            let Posted::Unreached(why) = reached(Outward::Public, &[], address).await else {
                panic!("{address} was asked");
            };
            assert!(why.contains("whoever runs the service"), "{address}: {why}");
        }
    }
}
