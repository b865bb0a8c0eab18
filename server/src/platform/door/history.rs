//! What happened to a record: its states, with the journal's command behind each.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use serde::Serialize;
use serde_json::value::RawValue;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{Registry, command::CommandKind};
use crate::{
    first, on,
    platform::{
        bodies,
        db::{
            Db,
            schema::{journal, state},
            types::{Doc, Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
        person::Person,
        said::quoted,
    },
};

/// Who sent a command.
#[derive(Debug, Serialize, ToSchema)]
struct By {
    /// Who.
    #[serde(flatten)]
    person: Person,
    /// The role at the time.
    role: String,
}

/// One thing that happened.
#[derive(Debug, Serialize, ToSchema)]
pub struct HistoryItem {
    /// The revision that it made.
    revision: i64,
    /// When it was done, by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// When the server had it.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    received_at: DateTime<Utc>,
    /// Who did it.
    by: By,
    /// The command kind.
    #[schema(value_type = CommandKind)]
    kind: String,
    /// What it was, in words.
    words: String,
    /// The command's body, secrets left out.
    #[schema(value_type = Object)]
    body: Box<RawValue>,
    /// The record as the command left it.
    #[schema(value_type = Object)]
    record: Box<RawValue>,
}

/// One page of history, newest first.
#[derive(Debug, Serialize, ToSchema)]
pub struct HistoryPage {
    /// The changes of the record, newest first.
    items: Vec<HistoryItem>,
    /// The key to go on after; absent on the last page.
    #[serde(skip_serializing_if = "Option::is_none")]
    next: Option<String>,
}

/// The most that is told of a search for what happened.
const PAGE: i64 = 50;

type Behind = (i64, Moment, Moment, Option<Uid>, String, String, String, Doc);

/// One page of a record's history: what came before a revision, up to `limit` of it and no heavier than one answer may be.
pub fn history(db: &mut Db, registry: &Registry, agency: AgencyId, kind: &str, id: Uuid, before: Option<i64>, limit: i64) -> Result<HistoryPage, Fault> {
    let most = usize::try_from(limit).unwrap_or_default();
    let query = state::table
        .filter(state::agency.eq(Uid::from(agency)).and(state::kind.eq(kind)).and(state::id.eq(Uid(id))))
        .filter(state::rev.lt(before.unwrap_or(i64::MAX)))
        .order(state::rev.desc())
        .limit(limit)
        .select((state::rev, state::body));
    let (states, more) = first!(&mut *db, (i64, Doc), query, most, |(_, body)| body.0.len())?;
    let states: Vec<(i64, String, Doc)> = states.into_iter().map(|(rev, body)| (rev, kind.to_owned(), body)).collect();
    let read = states.len();
    let items = told(db, registry, agency, states)?;
    let full = more || read == most || items.len() < read;
    Ok(HistoryPage {
        next: items.last().filter(|_| full).map(|item| item.revision.to_string()),
        items,
    })
}

/// What happened to any of some records after one revision and up to another, newest first, at most a page of it. A command
/// that touched several of them is told once.
pub fn happened(db: &mut Db, registry: &Registry, agency: AgencyId, ids: &[Uuid], after: i64, to: i64) -> Result<Vec<HistoryItem>, Fault> {
    let ids: Vec<Uid> = ids.iter().map(|id| Uid(*id)).collect();
    let mut states: Vec<(i64, String, Doc)> = on!(&mut *db, conn => state::table
        .filter(state::agency.eq(Uid::from(agency)).and(state::id.eq_any(ids)))
        .filter(state::rev.gt(after).and(state::rev.le(to)))
        .order(state::rev.desc())
        .limit(PAGE * 4)
        .select((state::rev, state::kind, state::body))
        .load(conn))?;
    states.dedup_by_key(|(rev, ..)| *rev);
    states.truncate(usize::try_from(PAGE).unwrap_or_default());
    told(db, registry, agency, states)
}

/// States with the command behind each, newest first, as far as the commands are no heavier than one answer may be.
fn told(db: &mut Db, registry: &Registry, agency: AgencyId, states: Vec<(i64, String, Doc)>) -> Result<Vec<HistoryItem>, Fault> {
    let revs: Vec<i64> = states.iter().map(|(rev, ..)| *rev).collect();
    let query = journal::table
        .filter(journal::agency.eq(Uid::from(agency)).and(journal::rev.eq_any(&revs)))
        .order(journal::rev.desc())
        .select((
            journal::rev,
            journal::at,
            journal::received_at,
            journal::actor,
            journal::actor_name,
            journal::actor_role,
            journal::kind,
            journal::body,
        ));
    let (commands, _) = first!(db, Behind, query, revs.len(), |(.., body)| body.0.len())?;
    let told = states
        .into_iter()
        .zip(commands)
        .map(|((rev, of, left), (_, at, received_at, actor, name, role, kind, body))| {
            let words = told_in_words(registry, &kind, &body.0);
            let body = as_told(registry, &kind, body.0)?;
            Ok(HistoryItem {
                revision: rev,
                at: at.0,
                received_at: received_at.0,
                by: By {
                    person: Person {
                        id: actor.map(|actor| actor.0.into()),
                        name,
                    },
                    role,
                },
                words,
                kind,
                body: RawValue::from_string(body)?,
                record: RawValue::from_string(bodies::current(&left.0, registry.upcasts(&of))?.into_owned())?,
            })
        });
    told.collect()
}

/// A command's body without what its kind leaves untold.
fn as_told(registry: &Registry, kind: &str, body: String) -> Result<String, Fault> {
    let known = registry.kinds().find(|(name, _)| *name == kind);
    let Some(untold) = known.map(|(_, known)| known.untold).filter(|untold| !untold.is_empty()) else {
        return Ok(body);
    };
    let mut fields: serde_json::Map<String, serde_json::Value> = serde_json::from_str(&body)?;
    fields.retain(|name, _| !untold.contains(&name.as_str()));
    Ok(serde_json::to_string(&fields)?)
}

/// What was done, and the member's own words where it has any.
pub fn told_in_words(registry: &Registry, kind: &str, body: &str) -> String {
    let done = registry.kinds().find(|(name, _)| *name == kind).map_or(kind, |(_, kind)| kind.done);
    let said = serde_json::from_str::<serde_json::Value>(body).ok().and_then(|body| {
        ["reason", "what", "text", "resolution", "note", "for"]
            .into_iter()
            .find_map(|field| body.get(field)?.as_str().map(str::to_owned))
    });
    said.map_or_else(|| done.to_owned(), |said| format!("{done}: {}", quoted(&said)))
}
