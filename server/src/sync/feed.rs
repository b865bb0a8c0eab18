//! `GET /v1/changes`: what has changed since a token, each record once and at its latest state. Without a token it is a
//! snapshot in pages, which goes over into changes without a gap. With `wait` it is answered when there is something to tell.

use std::{sync::Arc, time::Duration};

use actix_web::{HttpRequest, HttpResponse, Responder, body::BoxBody, http::Method, web};
use serde::Deserialize;
use tokio::sync::Semaphore;
use utoipa::IntoParams;
use uuid::Uuid;

use super::{
    cache::{Cache, CachedPage, Key},
    news::{Listener, Listening, News},
    open_places::OpenPlaces,
    page::{Ask, Changes, page},
    protocol::Protocol,
    scopes::Scopes,
    token::Sealed,
};
use crate::platform::{
    error::{self, Fault},
    http::{AnswerType, Api, Caller, Doc, Json, Query, Shared},
};

/// The longest wait, in seconds: what stands between a client and the service lets a silent connection live for about so long.
pub const MOST_WAIT: i64 = 60;
/// How many clients may wait at once in this process.
const MOST_WAITING: usize = 2000;
/// How many requests of one sign-in may wait at once: what one device needs, and a few that its line has lost.
pub const MOST_WAITING_EACH: usize = 4;
/// How often a client that waits is looked at again.
const SIGN_IN_LOOK: Duration = Duration::from_secs(5);

/// What the handler keeps from one request to the next.
struct Wired {
    cache: Arc<Cache>,
    waiting: Semaphore,
    each: OpenPlaces,
}

/// One client's question.
struct Feed {
    key: Key,
    ask: Ask,
    shared: Arc<Shared>,
    cache: Arc<Cache>,
}

pub fn routes(api: &mut Api) {
    let wired = Arc::new(Wired {
        cache: Arc::default(),
        waiting: Semaphore::new(MOST_WAITING),
        each: OpenPlaces::new(MOST_WAITING_EACH),
    });
    api.other(
        Method::GET,
        "/v1/changes",
        Doc::new(
            "sync",
            "list_changes",
            "What has changed since a token; without one, everything",
            "Each record once, at its latest state, in the order of revisions. Go on with `next`; a token never misses a change. What \
             has left the scope or was deleted is told as `gone`.",
        )
        .answer("One page; go on with `next` at once while `more` is true")
        .refuses("410", "The token cannot be followed, or a place of the scope is not there: take a new snapshot")
        .refuses(
            "429",
            "Too many requests of this sign-in or this member wait; let one end, or ask without `wait`",
        )
        .refuses("503", "Too many clients wait; ask without `wait`"),
        move |shared: web::Data<Shared>, news: web::Data<News>, caller: Caller, _: Protocol, asked: Query<ChangesQuery>| {
            changes(shared.into_inner(), news, caller, asked.into_inner(), Arc::clone(&wired))
        },
    );
}

/// From where on, of which places.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct ChangesQuery {
    /// `agency`, `district:ID`, `station:ID`, `rig:ID`, `shop:ID`, or several with commas between; the agency when it is left out.
    scope: Option<String>,
    /// The token to go on from: `next` of the last page.
    since: Option<String>,
    /// Up to this many, 1 to 2000; 500 unless said.
    #[param(minimum = 1, maximum = 2000)]
    limit: Option<i64>,
    /// Where nothing has changed since the token: answer when something has, or after so many seconds, 0 to 60; 0 unless said.
    #[param(minimum = 0, maximum = 60)]
    wait: Option<i64>,
}

/// The JSON of [`Changes`], which many phones are answered at once. Never kept by a browser: it is the agency's whole register.
struct FeedPage(web::Bytes);

impl Responder for FeedPage {
    type Body = BoxBody;

    fn respond_to(self, _: &HttpRequest) -> HttpResponse {
        HttpResponse::Ok()
            .content_type("application/json")
            .insert_header(("Cache-Control", "no-store"))
            .body(self.0)
    }
}

impl AnswerType for FeedPage {
    fn describe(doc: &mut Doc) {
        Json::<Changes>::describe(doc);
    }
}

async fn changes(shared: Arc<Shared>, news: web::Data<News>, caller: Caller, asked: ChangesQuery, wired: Arc<Wired>) -> Result<FeedPage, Fault> {
    let agency = caller.0.agency;
    let scopes = Scopes::read(asked.scope.as_deref())?;
    let limit = asked.limit.unwrap_or(500);
    if !(1..=2000).contains(&limit) {
        return Err(Fault::new(error::QUERY_INVALID, "limit is a number from 1 to 2000").at("limit"));
    }
    let since = asked.since.as_deref().map(Sealed::read).transpose()?;
    let wait = asked.wait.unwrap_or_default();
    if !(0..=MOST_WAIT).contains(&wait) {
        return Err(Fault::new(error::QUERY_INVALID, format!("wait is a number of seconds from 0 to {MOST_WAIT}")).at("wait"));
    }
    // A snapshot has something to tell; who has no token need not wait.
    let waits = wait > 0 && since.is_some();
    let ask = Ask {
        agency,
        scopes,
        everywhere: shared.door.registry().everywhere().to_vec(),
        nameable: shared.door.registry().nameable().to_vec(),
        since,
        limit,
        now: shared.clock.now(),
    };
    let feed = Feed {
        key: Key {
            agency,
            scope: ask.scopes.to_string(),
            since: asked.since,
            limit,
        },
        ask,
        shared,
        cache: Arc::clone(&wired.cache),
    };
    let read = feed.read().await?;
    if !waits || !read.is_empty {
        return Ok(FeedPage(read.body));
    }
    let own = |sign_in| {
        let words = format!("{MOST_WAITING_EACH} requests of this sign-in wait for changes already; let one end, or ask without `wait`");
        wired.each.take(sign_in).ok_or_else(|| Fault::new(error::SLOW_DOWN, words))
    };
    let _own = caller.0.sign_in.map(own).transpose()?;
    let _place = wired.waiting.try_acquire().map_err(|_| {
        Fault::new(
            error::BUSY,
            format!("{MOST_WAITING} clients wait for changes already; ask without `wait`, or listen to /v1/changes/live"),
        )
    })?;
    let ends = tokio::time::Instant::now() + Duration::from_secs(u64::try_from(wait).unwrap_or_default());
    let listener = news.listen(&caller.0, feed.ask.scopes.clone(), Listening::Wait)?;
    feed.wait(listener, read, caller.0.sign_in, ends).await
}

impl Feed {
    /// The page as it is now. When an event is told, every phone of a station asks the same at once; and most polls find nothing new.
    async fn read(&self) -> Result<CachedPage, Fault> {
        let revision = self.shared.revision(self.key.agency).await?;
        if let Some(read) = self.cache.find(&self.key, revision) {
            return Ok(read);
        }
        let ask = Ask {
            now: self.shared.clock.now(),
            ..self.ask.clone()
        };
        let read = self
            .shared
            .read(move |db| {
                let page = page(db, ask)?;
                Ok(CachedPage {
                    revision: page.revision,
                    is_empty: page.is_empty(),
                    body: web::Bytes::from(serde_json::to_vec(&page)?),
                })
            })
            .await?;
        self.cache.keep(self.key.clone(), read.clone());
        Ok(read)
    }

    /// Waits until there is something to tell, or until the time is up; then what there is.
    async fn wait(&self, mut listener: Listener, mut read: CachedPage, sign_in: Option<Uuid>, ends: tokio::time::Instant) -> Result<FeedPage, Fault> {
        loop {
            let (latest, touched) = listener.look(read.revision);
            if latest > read.revision && touched.is_somewhere() {
                read = self.read().await?;
                if !read.is_empty {
                    return Ok(FeedPage(read.body));
                }
            }
            let more = tokio::select! {
                more = listener.next() => more,
                // What ends a sign-in is told nowhere.
                () = tokio::time::sleep(SIGN_IN_LOOK) => true,
                () = tokio::time::sleep_until(ends) => false,
            };
            self.shared.door.ended().allows(sign_in)?;
            if !more {
                return Ok(FeedPage(self.read().await?.body));
            }
        }
    }
}
