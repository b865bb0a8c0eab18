//! `GET /v1/changes/live`: tells of each new revision as a server-sent event. The client then asks `/v1/changes`, so that
//! nothing is lost when an event is. The stream ends when the service stops, and by itself after a quarter of an hour, the
//! life of the access token that opened it; the client connects again.

use std::{collections::HashMap, sync::Arc, time::Duration};

use actix_web::{FromRequest, HttpRequest, HttpResponse, dev::Payload, http::Method, web};
use diesel::prelude::*;
use futures_util::stream;
use tokio::sync::watch;
use utoipa::openapi::{Object, path::ParameterIn, schema::Type};
use uuid::Uuid;

use crate::{
    on,
    platform::{
        auth::ACCESS_SECONDS,
        db::{schema::agency, types::Uid},
        error::Fault,
        http::{Api, Argument, Caller, Doc, Shared},
        ids::AgencyId,
    },
};

/// Each agency's latest revision that this process knows of; ends when the service stops.
#[derive(Debug, Clone)]
pub struct News(watch::Receiver<Revisions>);

type Revisions = Arc<HashMap<AgencyId, i64>>;

/// How often another process's commits are looked for. Its own are told at once.
const LOOK: Duration = Duration::from_millis(400);
/// How often a stream says that it is alive.
const BEAT: Duration = Duration::from_secs(15);

/// Told of each agency's latest revision.
#[derive(Debug)]
pub struct Herald(watch::Sender<Revisions>);

/// Where revisions are told, and where they are heard. What is heard ends when the herald is dropped.
pub fn news() -> (Arc<Herald>, News) {
    let (tell, news) = watch::channel(Revisions::default());
    (Arc::new(Herald(tell)), News(news))
}

/// Tells the revisions of all agencies, those of this process at once, those of others on the same database when it looks.
/// Runs until it is dropped.
pub async fn watch(shared: Arc<Shared>, herald: Arc<Herald>) {
    let mut own = shared.door.news();
    let mut look = tokio::time::interval(LOOK);
    look.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Delay);
    loop {
        tokio::select! {
            told = own.recv() => if let Ok((agency, rev)) = told {
                herald.0.send_modify(|known| { Arc::make_mut(known).insert(agency, rev); });
            },
            _ = look.tick() => {
                let ended = Arc::clone(shared.door.ended());
                let found = shared.read(move |db| {
                    ended.look(db)?;
                    let rows: Vec<(Uid, i64)> = on!(db, conn => agency::table.select((agency::id, agency::rev)).load(conn))?;
                    Ok(rows)
                }).await;
                if let Ok(rows) = found {
                    rows.iter().for_each(|(id, rev)| shared.door.heard(AgencyId(id.0), *rev));
                    let rows: HashMap<AgencyId, i64> = rows.into_iter().map(|(id, rev)| (AgencyId(id.0), rev)).collect();
                    herald.0.send_if_modified(|known| {
                        let newer = rows.iter().any(|(id, rev)| known.get(id).is_none_or(|old| old < rev));
                        if newer {
                            *known = Arc::new(rows.clone());
                        }
                        newer
                    });
                }
            }
        }
    }
}

pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/changes/live",
        Doc::new(
            "sync",
            "watch_changes",
            "Server-sent events: `revision` with the agency's new revision, at each change",
            "Tells that something changed, not what: ask `/v1/changes` then. The stream ends after a quarter of an hour, with the \
             access token that opened it; connect again.",
        )
        .answers_raw("200", "text/event-stream", "The stream"),
        live,
    );
}

struct Stream {
    shared: Arc<Shared>,
    sign_in: Option<Uuid>,
    news: watch::Receiver<Revisions>,
    agency: AgencyId,
    told: i64,
    ends: tokio::time::Instant,
}

/// The revision that a stream which broke had told: what the client has heard need not be told again.
struct LastTold(i64);

/// The header that says it.
const LAST_TOLD: &str = "Last-Event-ID";

impl FromRequest for LastTold {
    type Error = Fault;
    type Future = std::future::Ready<Result<Self, Fault>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let id = request.headers().get(LAST_TOLD).and_then(|id| id.to_str().ok());
        std::future::ready(Ok(Self(id.and_then(|id| id.trim().parse().ok()).unwrap_or(-1))))
    }
}

impl Argument for LastTold {
    fn describe(doc: &mut Doc) {
        let words = "The `id` of the last event that was heard; that revision is not told again";
        doc.parameter(ParameterIn::Header, LAST_TOLD, words, Object::with_type(Type::Integer));
    }
}

async fn live(shared: web::Data<Shared>, news: web::Data<News>, caller: Caller, last: LastTold) -> Result<HttpResponse, Fault> {
    let ends = tokio::time::Instant::now() + Duration::from_secs(u64::try_from(ACCESS_SECONDS).unwrap_or(900));
    let start = Stream {
        shared: shared.into_inner(),
        news: news.0.clone(),
        agency: caller.0.agency,
        sign_in: caller.0.sign_in,
        told: last.0,
        ends,
    };
    let events = stream::unfold(start, |mut stream| async move {
        loop {
            // What ends a sign-in is a change too, or is noticed at the next beat.
            stream.shared.door.ended().allows(stream.sign_in).ok()?;
            let latest = stream.news.borrow_and_update().get(&stream.agency).copied().unwrap_or_default();
            if latest > stream.told {
                stream.told = latest;
                let event = format!("event: revision\nid: {latest}\ndata: {{\"revision\":{latest}}}\n\n");
                return Some((Ok::<_, Fault>(web::Bytes::from(event)), stream));
            }
            tokio::select! {
                changed = stream.news.changed() => if changed.is_err() { return None },
                () = tokio::time::sleep(BEAT) => return Some((Ok(web::Bytes::from_static(b": alive\n\n")), stream)),
                () = tokio::time::sleep_until(stream.ends) => return None,
            }
        }
    });
    Ok(HttpResponse::Ok()
        .content_type("text/event-stream")
        .insert_header(("Cache-Control", "no-store"))
        .insert_header(("X-Accel-Buffering", "no"))
        .streaming(Box::pin(events)))
}
