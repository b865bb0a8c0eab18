//! Records as they are listed and found. An answer that runs out is settled before it is read, and marked where it could
//! not be.

use std::{collections::HashMap, sync::Arc};

use actix_web::web;
use chrono::{DateTime, Utc};
use serde::Serialize;
use serde_json::value::RawValue;
use utoipa::IntoParams;
use uuid::Uuid;

use super::{Caller, Listed, Page, PathId, Query, Shared, Tagged, Versioned};
use crate::platform::{
    bodies,
    db::Db,
    door::{HistoryPage, history, lapses},
    error::{self, Fault},
    ids::AgencyId,
    listing::{self, Filter},
    past::{self, When},
    record::{self, Record, Row},
};

/// One record as it is listed or found.
#[derive(Debug, Serialize)]
#[serde(transparent)]
pub struct RecordJson(Box<RawValue>);

impl RecordJson {
    /// The record of a row.
    pub fn from_row(row: Row) -> Result<Self, Fault> {
        Ok(Self(RawValue::from_string(row.body.0)?))
    }

    /// The record of a row; where its answer is not settled it says so, and whether it only waits to be judged anew.
    fn marked(row: Row, late: &Late) -> Result<Self, Fault> {
        match late.of(&row) {
            None => Self::from_row(row),
            Some(pending) => Ok(Self(RawValue::from_string(unsettled(&row.body.0, pending)?)?)),
        }
    }
}

/// A record's JSON with the marks of an answer that is not settled.
fn unsettled(body: &str, pending: bool) -> Result<String, Fault> {
    let mut fields: serde_json::Map<String, serde_json::Value> = serde_json::from_str(body)?;
    fields.insert("known".into(), false.into());
    fields.insert("pending".into(), pending.into());
    Ok(serde_json::to_string(&fields)?)
}

/// Whether an answer had run out at an instant.
fn ran_out(body: &str, at: DateTime<Utc>) -> Result<bool, Fault> {
    #[derive(serde::Deserialize)]
    struct HoldsUntil {
        holds_until: Option<DateTime<Utc>>,
    }
    Ok(serde_json::from_str::<HoldsUntil>(body)?.holds_until.is_some_and(|until| until <= at))
}

/// Whose answers are not settled, each with whether it only waits to be judged anew.
#[derive(Default)]
struct Late {
    own: HashMap<Uuid, bool>,
    rigs: HashMap<Uuid, bool>,
}

impl Late {
    /// Those of a kind of records, now.
    fn read<R: Record>(db: &mut Db, agency: AgencyId, now: DateTime<Utc>) -> Result<Self, Fault> {
        let mut of = |kind: Option<&str>| match kind {
            Some(kind) => lapses::late(db, agency, kind, now),
            None => Ok(HashMap::new()),
        };
        Ok(Self {
            own: of(R::LAPSES)?,
            rigs: of(R::LAPSES_ABOARD)?,
        })
    }

    fn of(&self, row: &Row) -> Option<bool> {
        let aboard = row.rig.and_then(|rig| self.rigs.get(&rig.0));
        self.own.get(&row.id.0).or(aboard).copied()
    }
}

impl Shared {
    /// Reads records of a kind: of those whose answers run out, what is due is settled first.
    async fn read_records<R: Record, T: Send + 'static>(
        self: &Arc<Self>,
        agency: AgencyId,
        work: impl FnOnce(&mut Db) -> Result<T, Fault> + Send + 'static,
    ) -> Result<T, Fault> {
        if R::LAPSES.is_some() {
            self.read_current(agency, work).await
        } else {
            self.read(work).await
        }
    }
}

/// Lists records of a kind in the caller's agency.
pub async fn list_in<R: Record>(shared: web::Data<Shared>, caller: Caller, query: Query<Filter>) -> Result<Listed<R>, Fault> {
    let shared: Arc<Shared> = shared.into_inner();
    let (agency, now) = (caller.0.agency, shared.clock.now());
    let page = shared
        .read_records::<R, _>(agency, move |db| {
            let (rows, more) = listing::page::<R>(db, agency, &query)?;
            let next = rows.last().filter(|_| more).map(listing::key_of);
            let late = Late::read::<R>(db, agency, now)?;
            Ok(Page {
                items: rows.into_iter().map(|row| RecordJson::marked(row, &late)).collect::<Result<_, _>>()?,
                next,
            })
        })
        .await?;
    Ok(Listed::from_text(serde_json::to_string(&page)?))
}

/// Finds one record of a kind in the caller's agency.
pub async fn find_in<R: Record>(shared: web::Data<Shared>, caller: Caller, named: PathId<R>, when: Query<When>) -> Result<Versioned<R>, Fault> {
    let (missing, id) = (PathId::<R>::missing, named.id);
    let shared: Arc<Shared> = shared.into_inner();
    let (agency, now) = (caller.0.agency, shared.clock.now());
    if !when.is_now() {
        let (row, at) = shared
            .read_records::<R, _>(agency, move |db| {
                let then = past::then(db, agency, *when, now)?;
                Ok((past::one(db, agency, R::KIND, id, then.revision)?, then.at))
            })
            .await?;
        let row = row.filter(|row| !row.gone).ok_or_else(missing)?;
        let body = bodies::current(&row.body.0, R::UPCASTS)?;
        let body = if R::LAPSES.is_some() && ran_out(&body, at)? {
            unsettled(&body, false)?
        } else {
            body.into_owned()
        };
        return Ok(Versioned::from_text(body, None));
    }
    let read = move |db: &mut Db| Ok((record::find(db, agency, R::KIND, id)?, Late::read::<R>(db, agency, now)?));
    let (row, late) = shared.read_records::<R, _>(agency, read).await?;
    let row = row.filter(|row| !row.gone).ok_or_else(missing)?;
    // A mark comes and goes without a revision, so what is marked has a tag of its own text.
    let rev = late.of(&row).is_none().then_some(row.rev);
    Ok(Versioned::from_text(serde_json::to_string(&RecordJson::marked(row, &late)?)?, rev))
}

/// Which page of what happened.
#[derive(Debug, serde::Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct HistoryQuery {
    /// At most this many, 1 to 500; 50 unless said.
    #[param(minimum = 1, maximum = 500)]
    limit: Option<i64>,
    /// The key to go on after: `next` of the page before.
    after: Option<String>,
}

/// What happened to a record of a kind in the caller's agency.
pub async fn history_of<R: Record>(
    shared: web::Data<Shared>,
    caller: Caller,
    named: PathId<R>,
    asked: Query<HistoryQuery>,
) -> Result<Tagged<HistoryPage>, Fault> {
    let limit = asked.limit.unwrap_or(50);
    if !(1..=500).contains(&limit) {
        return Err(Fault::new(error::QUERY_INVALID, "limit is a number from 1 to 500").at("limit"));
    }
    let turned = |key: &str| {
        key.parse::<i64>()
            .map_err(|_| Fault::new(error::QUERY_INVALID, "after is not a key that a page answered; leave it out to start over").at("after"))
    };
    let before = asked.after.as_deref().map(turned).transpose()?;
    let shared: Arc<Shared> = shared.into_inner();
    let agency = caller.0.agency;
    let reader = Arc::clone(&shared);
    let page = shared
        .read(move |db| {
            record::find(db, agency, R::KIND, named.id)?.ok_or_else(PathId::<R>::missing)?;
            history(db, reader.door.registry(), agency, R::KIND, named.id, before, limit)
        })
        .await?;
    Tagged::of(&page)
}
