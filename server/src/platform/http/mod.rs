//! HTTP: bodies and problems, who asks, and the one list of routes that both actix and the OpenAPI document are made of.

pub mod access_log;
mod addresses;
mod answers;
pub mod around;
mod asking;
pub mod assets;
mod request_bodies;
mod caller;
mod cookies;
mod doc;
mod document;
mod forwarded;
pub mod health;
mod heads;
pub mod network_limits;
pub mod prefer;
mod problem;
mod query;
mod reads;
mod refusals;
pub mod request_id;
mod routes;
mod signature;
pub mod tags;
mod unions;
pub mod watching;

pub use super::body;
pub use addresses::Addresses;
pub use answers::{Accepted, Created, Json, Listed, Tagged, TaggedBy, Versioned};
pub use around::{CorsOrigins, Gate, from_open_page};
pub use asking::{OwnPlace, Reads, SearchTurn, Searches};
pub use caller::{Access, Caller, CommandKey, MayAdminister, MayPlan, Member, RawBody, Request, answered, refused, same_origin};
pub use cookies::{refresh_token, session_cookies, spent_cookies};
pub use doc::{Doc, Page, Schemas};
pub use document::Preface;
pub use forwarded::{Proxies, asked_from, caller_of, host_of};
pub use heads::Heads;
pub use health::Health;
pub use query::Query;
pub use reads::{RecordJson, find_in, list_in};
pub use refusals::{Refusals, RefusedToday};
pub use request_bodies::{BodyLimits, RequestBodies};
pub use routes::Api;
pub use signature::{AnswerType, Anyone, Argument, Arguments, Body, OptionalBody, PathId};

use actix_web::web;

use super::{
    auth::{Keys, RelyingParty, Sessions},
    clock::Clock,
    db::{self, Db, Pool},
    door::{Door, lapses},
    error::Fault,
    follow::{Follow, Followed},
    ids::AgencyId,
    tasks::Tasks,
};

/// What every handler may use.
#[allow(missing_debug_implementations)]
pub struct Shared {
    /// The one door for writes.
    pub door: Door,
    /// Connections that only read.
    pub readers: Pool,
    /// The lines before them, of each sender.
    pub reads: Reads,
    /// What asks the database how it fares.
    pub health: Health,
    /// Sign-ins.
    pub sessions: Sessions,
    /// Signing keys.
    pub keys: Keys,
    /// The clock.
    pub clock: Clock,
    /// Where browsers may write from besides the service's own address, for example the address of a proxy.
    pub origins: Vec<String>,
    /// For whom passkeys are, where the service was told its public address.
    pub party: Option<RelyingParty>,
    /// Whether cookies may travel over plain HTTP.
    pub plain_http: bool,
    /// Whose word about a caller counts.
    pub proxies: Proxies,
    /// The lines in which searches wait.
    pub searches: Searches,
    /// The work beside the requests.
    pub tasks: Tasks,
    /// Who waits for an agency's revision.
    pub heads: Heads,
}

impl Shared {
    /// For whom passkeys are.
    pub fn party(&self) -> Result<&RelyingParty, Fault> {
        self.party.as_ref().ok_or_else(|| {
            Fault::rule("Passkeys are not offered here: the service was not told the address that people open it under")
                .hint("Whoever runs it sets --public-url (FULLSET_PUBLIC_URL), for example https://fullset.agency.example")
        })
    }

    /// Reads one state of the database on a thread that may block, in the turn of who asks.
    pub async fn read<T: Send + 'static>(self: &std::sync::Arc<Self>, work: impl FnOnce(&mut Db) -> Result<T, Fault> + Send + 'static) -> Result<T, Fault> {
        let (shared, turn) = (std::sync::Arc::clone(self), self.reads.turn().await?);
        web::block(move || {
            let _turn = turn;
            db::transaction(&shared.readers, db::Access::Read, work)
        })
        .await
        .map_err(|error| anyhow::anyhow!("a reader ended early: {error}"))?
    }

    /// As [`Shared::read`], of an agency as it stands now: what is due is settled first, so that no answer is read past its
    /// end. What could not be settled, or waits to be judged anew, is left to the reader to mark ([`lapses::late`]).
    pub async fn read_current<T: Send + 'static>(
        self: &std::sync::Arc<Self>,
        agency: AgencyId,
        work: impl FnOnce(&mut Db) -> Result<T, Fault> + Send + 'static,
    ) -> Result<T, Fault> {
        let now = self.clock.now();
        let read = self.read(move |db| if lapses::is_due(db, agency, now)? { Ok(Err(work)) } else { work(db).map(Ok) });
        match read.await? {
            Ok(found) => Ok(found),
            Err(work) => {
                self.settle(agency).await;
                self.read(work).await
            }
        }
    }

    async fn settle(&self, agency: AgencyId) {
        if let Err(fault) = self.door.settle(agency).await {
            tracing::warn!(%agency, cause = ?fault.cause, %fault, "an agency is read before what is due could be settled");
        }
    }

    /// As [`Shared::read`], beside what this process keeps of the agency, of the same revision, which `work` gets too.
    pub async fn read_followed<F: Follow, T: Send + 'static>(
        self: &std::sync::Arc<Self>,
        (followed, agency): (&Followed<F>, AgencyId),
        work: impl FnOnce(&mut Db, &F, i64) -> Result<T, Fault> + Send + 'static,
    ) -> Result<T, Fault> {
        let (shared, followed, turn) = (std::sync::Arc::clone(self), followed.clone(), self.reads.turn().await?);
        web::block(move || {
            let _turn = turn;
            followed.with(agency, |kept| {
                db::transaction(&shared.readers, db::Access::Read, |db| {
                    let (kept, revision) = kept.bring(db)?;
                    work(db, kept, revision)
                })
            })
        })
        .await
        .map_err(|error| anyhow::anyhow!("a reader ended early: {error}"))?
    }

    /// As [`Shared::read_followed`], of an agency as it stands now ([`Shared::read_current`]).
    pub async fn read_current_followed<F: Follow, T: Send + 'static>(
        self: &std::sync::Arc<Self>,
        of: (&Followed<F>, AgencyId),
        work: impl FnOnce(&mut Db, &F, i64) -> Result<T, Fault> + Send + 'static,
    ) -> Result<T, Fault> {
        let (now, agency) = (self.clock.now(), of.1);
        let read = self.read_followed(of, move |db, kept, revision| {
            if lapses::is_due(db, agency, now)? {
                Ok(Err(work))
            } else {
                work(db, kept, revision).map(Ok)
            }
        });
        match read.await? {
            Ok(found) => Ok(found),
            Err(work) => {
                self.settle(agency).await;
                self.read_followed(of, work).await
            }
        }
    }

    /// The caller's turn at a search of an agency, taken before what is searched is read: who waits holds nothing.
    pub async fn search_turn(&self, agency: AgencyId) -> Result<SearchTurn, Fault> {
        self.searches.turn(self.searches.stand()?, agency).await
    }

    /// A search, in the turn that was waited for.
    pub async fn search<T: Send + 'static>(
        self: &std::sync::Arc<Self>,
        turn: SearchTurn,
        work: impl FnOnce() -> Result<T, Fault> + Send + 'static,
    ) -> Result<T, Fault> {
        self.slow(move |_| {
            let _turn = turn;
            work()
        })
        .await
    }

    /// Does slow work that is not a read on a thread that may block.
    pub async fn slow<T: Send + 'static>(self: &std::sync::Arc<Self>, work: impl FnOnce(&Self) -> Result<T, Fault> + Send + 'static) -> Result<T, Fault> {
        let shared = std::sync::Arc::clone(self);
        web::block(move || work(&shared))
            .await
            .map_err(|error| anyhow::anyhow!("a worker ended early: {error}"))?
    }
}
