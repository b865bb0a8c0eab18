//! What a service may be told about how it runs.

use std::{net::TcpListener, sync::Arc, time::Duration};

use crate::{
    platform::{
        auth::{RelyingParty, SealingKey},
        clock::Clock,
        db::Location,
        door::{Keep, WriteLimits},
        http::{BodyLimits, CorsOrigins, Proxies, access_log::AccessLog},
        outward::Outward,
        tls::Tls,
        traces::Collector,
    },
    slices::{alerts, photos, subscriptions},
};

/// How the service runs.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Where the data is.
    pub location: Location,
    /// Where photos are kept.
    pub photos: photos::PhotoPlace,
    /// The clock.
    pub clock: Clock,
    /// Connections that read.
    pub readers: u32,
    /// Threads that answer HTTP.
    pub workers: usize,
    /// Origins that browsers may write from, besides the service's own address.
    pub origins: Vec<String>,
    /// Whose pages may ask from a browser with a bearer token, besides the service's own.
    pub cors: CorsOrigins,
    /// For whom passkeys are; without it none are offered.
    pub party: Option<RelyingParty>,
    /// Whether cookies may travel over plain HTTP.
    pub plain_http: bool,
    /// The networks of proxies, whose word about a caller and the name that was asked for counts.
    pub proxies: Proxies,
    /// How long deleted records and replaced states are kept.
    pub keep: Keep,
    /// TLS of the service itself; without it the listener speaks plain HTTP.
    pub tls: Option<Arc<Tls>>,
    /// Where messages about changes may go, and map pictures may be asked for.
    pub outward: Outward,
    /// What hands in e-mail; none: no e-mail is sent.
    pub mailer: Option<alerts::Mailer>,
    /// Whom push services may ask; none: no notices go to phones.
    pub push_contact: Option<subscriptions::PushContact>,
    /// What the bodies of requests may take.
    pub bodies: BodyLimits,
    /// How much each member, tablet or program may write; none: as much as they like.
    pub writes: Option<WriteLimits>,
    /// What the signing keys are sealed with.
    pub sealing: Option<SealingKey>,
    /// Where each answered request is written down.
    pub access_log: Option<AccessLog>,
    /// Where metrics are told.
    pub metrics: Option<Arc<TcpListener>>,
    /// Where traces are sent.
    pub collector: Option<Collector>,
    /// How long a service that was told to stop still takes requests, while those who share the work out learn of it.
    pub drain: Duration,
    /// For how many days browsers are told to come over TLS alone.
    pub hsts_days: Option<u32>,
}

impl Settings {
    /// The usual settings for a database.
    pub fn new(location: Location) -> Self {
        let workers = std::thread::available_parallelism().map_or(2, std::num::NonZero::get);
        Self {
            photos: photos::PhotoPlace::beside(&location),
            location,
            clock: Clock::system(),
            readers: 8,
            workers,
            origins: Vec::new(),
            cors: CorsOrigins::default(),
            party: None,
            plain_http: true,
            proxies: Proxies::default(),
            keep: Keep::default(),
            tls: None,
            outward: Outward::default(),
            mailer: None,
            push_contact: None,
            bodies: BodyLimits::default(),
            writes: None,
            sealing: None,
            access_log: None,
            metrics: None,
            collector: None,
            drain: Duration::from_secs(1),
            hsts_days: None,
        }
    }
}
