//! `GET /v1/changes`: what has changed since a token, each record once and at its latest state. Without a token it is a
//! snapshot in pages, which goes over into changes without a gap: both are the same walk in the order of revisions.

use actix_web::{HttpResponse, http::Method, web};
use diesel::prelude::*;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use utoipa::{ToSchema, openapi::path::ParameterIn};
use uuid::Uuid;

use super::token::Token;
use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::{agency, record},
            types::{Doc as Json, Uid},
        },
        error::{self, Fault},
        http::{Access, Api, Caller, Doc, Shared},
        ids::AgencyId,
    },
};

pub fn routes(api: &mut Api) {
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
            "`agency`: the only scope so far, and the one meant when it is left out",
        )
        .parameter(ParameterIn::Query, "since", false, "The token to go on from: `next` of the last page")
        .parameter(ParameterIn::Query, "limit", false, "Up to this many, 1 to 2000; 500 unless said")
        .answers::<Changes>("200", "One page; go on with `next` at once while `more` is true")
        .refuses("400", "A query parameter cannot be used")
        .refuses("410", "The token cannot be followed: take a new snapshot"),
        changes,
    );
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    scope: Option<String>,
    since: Option<String>,
    limit: Option<i64>,
}

/// Why a record is gone.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
enum Gone {
    /// It was deleted.
    Deleted,
}

/// A record at its latest state, or gone.
#[derive(Debug, Serialize, ToSchema)]
struct Change {
    /// The record's kind.
    kind: String,
    /// Its id.
    id: Uuid,
    /// The revision of its last change.
    rev: i64,
    /// The record.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Object>)]
    record: Option<Box<RawValue>>,
    /// Set when there is no record any more.
    #[serde(skip_serializing_if = "Option::is_none")]
    gone: Option<Gone>,
}

/// One page of changes: a state that existed.
#[derive(Debug, Serialize, ToSchema)]
struct Changes {
    /// The agency's revision when the page was read.
    revision: i64,
    /// The token to go on from.
    next: String,
    /// Whether there is more now.
    more: bool,
    /// The changes, in the order of their revisions.
    changes: Vec<Change>,
}

async fn changes(shared: web::Data<Shared>, caller: Caller, asked: web::Query<Asked>) -> Result<HttpResponse, Fault> {
    let agency = caller.0.agency;
    let scope = asked.scope.clone().unwrap_or_else(|| "agency".into());
    if scope != "agency" {
        return Err(Fault::new(error::QUERY_INVALID, format!("'{scope}' is no scope here; use agency")).at("scope"));
    }
    let limit = asked.limit.unwrap_or(500);
    if !(1..=2000).contains(&limit) {
        return Err(Fault::new(error::QUERY_INVALID, "limit is a number from 1 to 2000").at("limit"));
    }
    let token = match &asked.since {
        Some(kept) => Token::read(kept, agency, &scope)?,
        None => Token {
            rev: 0,
            after: None,
            snapshot: Some(i64::MAX),
        },
    };
    let page = shared.into_inner().read(move |db| page(db, agency, &scope, token, limit)).await?;
    Ok(HttpResponse::Ok().insert_header(("Cache-Control", "no-store")).json(page))
}

type Found = (String, Uid, i64, bool, Json);

fn page(db: &mut Db, id: AgencyId, scope: &str, token: Token, limit: i64) -> Result<Changes, Fault> {
    let revision: i64 = on!(&mut *db, conn => agency::table.find(Uid::from(id)).select(agency::rev).first(conn))?;
    if token.rev > revision {
        return Err(Fault::new(
            error::RESYNC_REQUIRED,
            "This token is ahead of the service, which has been restored from an older copy; take a new snapshot by leaving `since` out",
        )
        .at("since"));
    }
    let mut rows: Vec<Found> = on!(db, conn => {
        let mut query = record::table
            .filter(record::agency.eq(Uid::from(id)))
            .order((record::rev, record::kind, record::id))
            .limit(limit + 1)
            .select((record::kind, record::id, record::rev, record::gone, record::body))
            .into_boxed();
        query = match &token.after {
            None => query.filter(record::rev.gt(token.rev)),
            Some((kind, after)) => query.filter(
                record::rev.gt(token.rev + 1).or(record::rev.eq(token.rev + 1).and(
                    record::kind.gt(kind.clone()).or(record::kind.eq(kind.clone()).and(record::id.gt(Uid(*after)))),
                )),
            ),
        };
        query.load(conn)
    })?;
    let begun = token.snapshot.map(|begun| begun.min(revision));
    let wanted = usize::try_from(limit).unwrap_or(usize::MAX);
    let more = rows.len() > wanted;
    rows.truncate(wanted);
    let next = match rows.last() {
        // Inside a revision the walk goes on after the record; a finished one is behind it whole.
        Some((kind, last, rev, ..)) if more => Token {
            rev: rev - 1,
            after: Some((kind.clone(), last.0)),
            snapshot: begun,
        },
        _ => Token {
            rev: revision,
            after: None,
            snapshot: None,
        },
    };
    let mut changes = Vec::with_capacity(rows.len());
    for (kind, id, rev, gone, body) in rows {
        if gone && begun.is_some_and(|begun| rev <= begun) {
            continue;
        }
        let record = if gone { None } else { Some(RawValue::from_string(body.0)?) };
        changes.push(Change {
            kind,
            id: id.0,
            rev,
            record,
            gone: gone.then_some(Gone::Deleted),
        });
    }
    Ok(Changes {
        revision,
        next: next.write(id, scope),
        more,
        changes,
    })
}
