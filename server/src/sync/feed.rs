//! `GET /v1/changes`: what has changed since a token, each record once and at its latest state. Without a token it is a
//! snapshot in pages, which goes over into changes without a gap.

use std::sync::Arc;

use actix_web::{HttpRequest, HttpResponse, Responder, body::BoxBody, http::Method, web};
use serde::Deserialize;
use utoipa::IntoParams;

use super::{
    cache::{Cache, Key},
    page::{Ask, Changes, page},
    protocol::Protocol,
    scopes::Scopes,
    token::Sealed,
};
use crate::platform::{
    error::{self, Fault},
    http::{AnswerType, Api, Caller, Doc, Json, Shared},
};

pub fn routes(api: &mut Api) {
    let cache = web::Data::new(Cache::default());
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
        .refuses("410", "The token cannot be followed: take a new snapshot"),
        move |shared: web::Data<Shared>, caller: Caller, _: Protocol, asked: web::Query<Asked>| {
            changes(shared.into_inner(), caller, asked.into_inner(), cache.clone().into_inner())
        },
    );
}

/// From where on, of which places.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct Asked {
    /// `agency`, `district:ID`, `station:ID`, `rig:ID`, or several with commas between; the agency when it is left out.
    scope: Option<String>,
    /// The token to go on from: `next` of the last page.
    since: Option<String>,
    /// Up to this many, 1 to 2000; 500 unless said.
    #[param(minimum = 1, maximum = 2000)]
    limit: Option<i64>,
}

/// The JSON of [`Changes`], which many phones are answered at once.
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

async fn changes(shared: Arc<Shared>, caller: Caller, asked: Asked, cache: Arc<Cache>) -> Result<FeedPage, Fault> {
    let agency = caller.0.agency;
    let scopes = Scopes::read(asked.scope.as_deref())?;
    let limit = asked.limit.unwrap_or(500);
    if !(1..=2000).contains(&limit) {
        return Err(Fault::new(error::QUERY_INVALID, "limit is a number from 1 to 2000").at("limit"));
    }
    let since = asked.since.as_deref().map(Sealed::read).transpose()?;
    let key = Key {
        agency,
        scope: scopes.to_string(),
        since: asked.since,
        limit,
    };
    // When an event is told, every phone of a station asks the same at once; and most polls find nothing new.
    let revision = shared.door.revision(agency);
    if let Some(body) = revision.and_then(|revision| cache.find(&key, revision)) {
        return Ok(FeedPage(body));
    }
    let everywhere = shared.door.registry().everywhere().to_vec();
    let ask = Ask {
        agency,
        scopes,
        everywhere,
        since,
        limit,
        now: shared.clock.now(),
    };
    let (revision, body) = shared
        .read(move |db| {
            let page = page(db, ask)?;
            Ok((page.revision, web::Bytes::from(serde_json::to_vec(&page)?)))
        })
        .await?;
    cache.keep(key, revision, body.clone());
    Ok(FeedPage(body))
}
