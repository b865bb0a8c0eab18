//! Answers in a feed that do not count now: they ran out and could not be settled, or wait to be judged anew. Their records are as
//! they were, so a page of the feed names them.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::scopes::Scopes;
use crate::{
    belongs_to, on,
    platform::{
        db::{
            Db,
            schema::{lapse, record},
            types::{Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
        record::RecordKind,
    },
};

/// The most that a page names one by one.
const MOST: usize = 200;

/// What a feed holds of answers that do not count now.
#[derive(Debug, Serialize, ToSchema)]
pub struct Unsettled {
    /// Whether there are more than are named: then no answer of the feed counts, until a page says otherwise.
    pub more: bool,
    /// Whose answers they are; up to 200.
    #[schema(max_items = 200)]
    pub records: Vec<UnsettledAnswer>,
}

/// A rig or a piece whose answer does not count now. That of a rig stands for those about the pieces aboard.
#[derive(Debug, Serialize, ToSchema)]
pub struct UnsettledAnswer {
    /// What the answer is about: `rig` or `piece`.
    #[schema(value_type = RecordKind)]
    pub kind: String,
    /// The id of the record, which is that of its answer too.
    pub id: Uuid,
    /// Whether it waits to be judged anew; otherwise it ran out and could not be settled.
    pub pending: bool,
}

/// The answers within the scopes that are not settled at an instant: one query.
pub fn unsettled(db: &mut Db, agency: AgencyId, scopes: &Scopes, now: DateTime<Utc>) -> Result<Unsettled, Fault> {
    let most = i64::try_from(MOST + 1).unwrap_or(i64::MAX);
    let mut rows: Vec<(String, Uid, bool)> = on!(db, conn => {
        let mut query = lapse::table
            .inner_join(record::table.on(
                record::agency.eq(lapse::agency).and(record::kind.eq(lapse::kind)).and(record::id.eq(lapse::id)),
            ))
            .filter(lapse::agency.eq(Uid::from(agency)).and(lapse::at.le(Moment(now))))
            .order((lapse::kind, lapse::id))
            .limit(most)
            .select((lapse::kind, lapse::id, lapse::pending))
            .into_boxed();
        if let Scopes::Places(places) = scopes {
            query = query.filter(belongs_to!(places));
        }
        query.load(conn)
    })?;
    let more = rows.len() > MOST;
    rows.truncate(MOST);
    let named = |(kind, id, pending): (String, Uid, bool)| UnsettledAnswer { kind, id: id.0, pending };
    Ok(Unsettled {
        more,
        records: rows.into_iter().map(named).collect(),
    })
}
