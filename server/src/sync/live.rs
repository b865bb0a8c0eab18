//! `GET /v1/changes/live`: tells of each new revision as a server-sent event. The client then asks `/v1/changes`, so that
//! nothing is lost when an event is. The stream ends when the service stops, and by itself after a quarter of an hour, the
//! life of the access token that opened it; the client connects again.

use std::{sync::Arc, time::Duration};

use actix_web::{FromRequest, HttpRequest, HttpResponse, dev::Payload, http::Method, web};
use futures_util::stream;
use serde::Deserialize;
use utoipa::{
    IntoParams,
    openapi::{Object, path::ParameterIn, schema::Type},
};
use uuid::Uuid;

use super::{
    news::{Listener, Listening, News, Touched},
    scopes::Scopes,
};
use crate::platform::{
    auth::ACCESS_SECONDS,
    error::Fault,
    http::{Api, Argument, Caller, Doc, Query, Shared},
};

/// How often a stream says that it is alive.
const BEAT: Duration = Duration::from_secs(15);

pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/changes/live",
        Doc::new(
            "sync",
            "watch_changes",
            "Server-sent events: `revision` with the agency's new revision, whenever something may have changed in the scope",
            "Tells that something changed, and in which places of the scope where that is known (`scopes`; any, where it is left out), but not \
             what: ask `/v1/changes` then. The stream ends after a quarter of an hour, with the \
             access token that opened it; connect again.",
        )
        .answers_raw("200", "text/event-stream", "The stream")
        .refuses("400", "A query parameter cannot be used")
        .refuses("429", "This member has as many streams open, or requests waiting, as one may")
        .refuses("503", "As many streams are open as the service takes; ask `/v1/changes` now and then"),
        live,
    );
}

/// Of which places.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct LiveQuery {
    /// As for `GET /v1/changes`; the agency when it is left out.
    scope: Option<String>,
}

struct Stream {
    shared: Arc<Shared>,
    sign_in: Option<Uuid>,
    listener: Listener,
    told: i64,
    /// When it must next say that it is alive.
    beat: tokio::time::Instant,
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

/// The data of an event: the revision, and the places that something may have changed in, where it is known.
fn told(revision: i64, touched: Touched) -> serde_json::Value {
    match touched {
        Touched::Places(scopes) => serde_json::json!({ "revision": revision, "scopes": scopes }),
        Touched::Nowhere | Touched::Anywhere => serde_json::json!({ "revision": revision }),
    }
}

async fn live(shared: web::Data<Shared>, news: web::Data<News>, caller: Caller, last: LastTold, asked: Query<LiveQuery>) -> Result<HttpResponse, Fault> {
    let scopes = Scopes::read(asked.scope.as_deref())?;
    let now = tokio::time::Instant::now();
    let ends = now + Duration::from_secs(u64::try_from(ACCESS_SECONDS).unwrap_or(900));
    let start = Stream {
        shared: shared.into_inner(),
        listener: news.listen(&caller.0, scopes, Listening::Stream)?,
        sign_in: caller.0.sign_in,
        told: last.0,
        beat: now + BEAT,
        ends,
    };
    let events = stream::unfold(start, |mut stream| async move {
        loop {
            // What ends a sign-in is a change too, or is noticed at the next beat.
            stream.shared.door.ended().allows(stream.sign_in).ok()?;
            let (latest, touched) = stream.listener.look(stream.told);
            if latest > stream.told {
                stream.told = latest;
                if touched.is_somewhere() {
                    stream.beat = tokio::time::Instant::now() + BEAT;
                    let event = format!("event: revision\nid: {latest}\ndata: {}\n\n", told(latest, touched));
                    return Some((Ok::<_, Fault>(web::Bytes::from(event)), stream));
                }
            }
            tokio::select! {
                more = stream.listener.next() => if !more { return None },
                () = tokio::time::sleep_until(stream.beat) => {
                    stream.beat = tokio::time::Instant::now() + BEAT;
                    return Some((Ok(web::Bytes::from_static(b": alive\n\n")), stream));
                }
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
