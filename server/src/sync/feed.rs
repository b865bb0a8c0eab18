//! `GET /v1/changes`: what has changed since a token, each record once and at its latest state. Without a token it is a
//! snapshot in pages, which goes over into changes without a gap.

use std::sync::Arc;

use actix_web::{HttpRequest, HttpResponse, http::Method, web};
use serde::Deserialize;
use utoipa::openapi::path::ParameterIn;

use super::{
    cache::{Cache, Key},
    page::{Ask, Changes, page},
    protocol,
    scopes::Scopes,
    token::Sealed,
};
use crate::platform::{
    error::{self, Fault},
    http::{Access, Api, Caller, Doc, Shared},
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
            Access::Member,
        )
        .parameter(
            ParameterIn::Query,
            "scope",
            false,
            "`agency`, `district:ID`, `station:ID`, `rig:ID`, or several with commas between; the agency when it is left out",
        )
        .parameter(ParameterIn::Query, "since", false, "The token to go on from: `next` of the last page")
        .parameter(ParameterIn::Query, "limit", false, "Up to this many, 1 to 2000; 500 unless said")
        .parameter(ParameterIn::Header, protocol::HEADER, false, protocol::MEANING)
        .answers::<Changes>("200", "One page; go on with `next` at once while `more` is true")
        .refuses("400", "A query parameter cannot be used")
        .refuses("410", "The token cannot be followed: take a new snapshot")
        .refuses("426", "The client speaks a protocol that is no longer served"),
        move |request: HttpRequest, shared: web::Data<Shared>, caller: Caller, asked: web::Query<Asked>| {
            changes(request, shared.into_inner(), caller, asked.into_inner(), cache.clone().into_inner())
        },
    );
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    scope: Option<String>,
    since: Option<String>,
    limit: Option<i64>,
}

fn answer(body: web::Bytes) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("application/json")
        .insert_header(("Cache-Control", "no-store"))
        .body(body)
}

async fn changes(request: HttpRequest, shared: Arc<Shared>, caller: Caller, asked: Asked, cache: Arc<Cache>) -> Result<HttpResponse, Fault> {
    protocol::check(&request)?;
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
    let revision = shared.revision(agency).await?;
    if let Some(body) = cache.find(&key, revision) {
        return Ok(answer(body));
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
    Ok(answer(body))
}
