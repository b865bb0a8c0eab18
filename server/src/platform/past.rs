//! Records as they stood at an earlier revision, read from the states.

use std::collections::HashMap;

use chrono::{DateTime, Datelike as _, Utc};
use diesel::{dsl::max, prelude::*};
use serde::{Deserialize, Deserializer};
use utoipa::IntoParams;
use uuid::Uuid;

use super::{
    bodies,
    db::{
        Db,
        schema::{agency, journal, record, replaced},
        types::{Moment, Uid},
    },
    error::{self, Fault},
    ids::AgencyId,
    record::{Record, Row, StateRow},
};
use crate::on;

/// When it is asked of. One of the two, or neither for now.
#[derive(Debug, Clone, Copy, Default, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct When {
    /// As it stood at this instant, by what the service had been told by then.
    #[serde(default, deserialize_with = "instant")]
    pub at: Option<DateTime<Utc>>,
    /// As this revision left it.
    pub revision: Option<i64>,
}

/// Reads an instant of a query: of the years 1 to 9999, which both databases keep.
pub fn instant<'de, D: Deserializer<'de>>(reader: D) -> Result<Option<DateTime<Utc>>, D::Error> {
    let given = Option::<DateTime<Utc>>::deserialize(reader)?;
    match given {
        Some(at) if !(1..=9999).contains(&at.year()) => Err(serde::de::Error::custom("an instant lies in the years 1 to 9999")),
        given => Ok(given),
    }
}

impl When {
    /// Whether it is asked of now.
    pub fn is_now(&self) -> bool {
        self.at.is_none() && self.revision.is_none()
    }
}

/// A revision in the past and the instant that it stands for.
#[derive(Debug, Clone, Copy)]
pub struct Then {
    /// The last revision that counts.
    pub revision: i64,
    /// The instant that was asked of, or that of the revision.
    pub at: DateTime<Utc>,
}

/// The revision that stood then. An instant that has not come yet, or a revision that does not exist, is refused.
pub fn then(db: &mut Db, id: AgencyId, when: When, now: DateTime<Utc>) -> Result<Then, Fault> {
    let refused = |field: &str, words: &str| Fault::new(error::QUERY_INVALID, words).at(field);
    let of = journal::agency.eq(Uid::from(id));
    match (when.at, when.revision) {
        (Some(_), Some(_)) => Err(refused("revision", "Ask of an instant or of a revision, not of both")),
        (Some(at), None) if at > now => Err(refused("at", "This instant has not come yet; leave it out for now")),
        (Some(at), None) => {
            let revision: Option<i64> =
                on!(db, conn => journal::table.filter(of.and(journal::received_at.le(Moment(at)))).select(max(journal::rev)).first(conn))?;
            Ok(Then {
                revision: revision.unwrap_or(0),
                at,
            })
        }
        (None, Some(revision)) => {
            let at: Option<Moment> = on!(db, conn => journal::table.find((Uid::from(id), revision)).select(journal::received_at).first(conn).optional())?;
            let at = at.ok_or_else(|| refused("revision", "There is no such revision; the newest is in `revision` of every page"))?;
            Ok(Then { revision, at: at.0 })
        }
        (None, None) => {
            let revision: i64 = on!(db, conn => agency::table.find(Uid::from(id)).select(agency::rev).first(conn))?;
            Ok(Then { revision, at: now })
        }
    }
}

/// The last revision of before an instant; 0: there was none.
pub fn revision_before(db: &mut Db, agency: AgencyId, instant: DateTime<Utc>) -> QueryResult<i64> {
    let last: Option<i64> = on!(db, conn => journal::table
        .filter(journal::agency.eq(Uid::from(agency)).and(journal::received_at.lt(Moment(instant))))
        .select(max(journal::rev))
        .first(conn))?;
    Ok(last.unwrap_or(0))
}

/// The record of a row.
pub fn read<R: Record>(row: &StateRow) -> Result<R, Fault> {
    bodies::read(&row.body.0)
}

/// One record as a revision found it, live or gone.
pub fn one(db: &mut Db, id: AgencyId, kind: &str, record: Uuid, revision: i64) -> QueryResult<Option<StateRow>> {
    let own = (Uid::from(id), Uid(record));
    let now: Option<Row> = on!(&mut *db, conn => record::table
        .find((own.0, kind, own.1))
        .filter(record::rev.le(revision))
        .select(Row::as_select())
        .first(conn)
        .optional())?;
    if let Some(now) = now {
        return Ok(Some(now.state()));
    }
    let then: Option<StateRow> = on!(db, conn => replaced::table
        .filter(replaced::agency.eq(own.0).and(replaced::kind.eq(kind)).and(replaced::id.eq(own.1)).and(replaced::rev.le(revision)))
        .order(replaced::rev.desc())
        .select(StateRow::as_select())
        .first(conn)
        .optional())?;
    Ok(then)
}

/// Every live record of some kinds, as a revision found them. Three queries, whatever the number: what has not changed since, what
/// has, and what has been deleted since; and one more for each thousand of the last.
pub fn all(db: &mut Db, id: AgencyId, kinds: &[&str], revision: i64) -> QueryResult<Vec<StateRow>> {
    let own = Uid::from(id);
    let same: Vec<Row> = on!(&mut *db, conn => record::table
        .filter(record::agency.eq(own).and(record::kind.eq_any(kinds)).and(record::rev.le(revision)))
        .select(Row::as_select())
        .load(conn))?;
    let latest = diesel::alias!(replaced as latest);
    let changed: Vec<StateRow> = on!(&mut *db, conn => record::table
        .inner_join(replaced::table.on(
            replaced::agency.eq(record::agency).and(replaced::kind.eq(record::kind)).and(replaced::id.eq(record::id)),
        ))
        .filter(record::agency.eq(own).and(record::kind.eq_any(kinds)).and(record::rev.gt(revision)))
        .filter(replaced::rev.nullable().eq(latest
            .filter(latest.field(replaced::agency).eq(record::agency))
            .filter(latest.field(replaced::kind).eq(record::kind))
            .filter(latest.field(replaced::id).eq(record::id))
            .filter(latest.field(replaced::rev).le(revision))
            .select(max(latest.field(replaced::rev)))
            .single_value()))
        .select(StateRow::as_select())
        .load(conn))?;
    // What has been forgotten among the deleted is in no record any more. Found first and looked up then: joined, SQLite walks
    // all states before the revision for each.
    let gone: Vec<(String, Uid)> = on!(&mut *db, conn => replaced::table
        .filter(replaced::agency.eq(own).and(replaced::gone).and(replaced::rev.gt(revision)))
        .select((replaced::kind, replaced::id))
        .load(conn))?;
    let gone: Vec<Uid> = gone.into_iter().filter(|(kind, _)| kinds.contains(&kind.as_str())).map(|(_, id)| id).collect();
    let mut since: Vec<StateRow> = Vec::new();
    for ids in gone.chunks(1000) {
        let rows: Vec<StateRow> = on!(&mut *db, conn => replaced::table
            .filter(replaced::agency.eq(own).and(replaced::kind.eq_any(kinds)).and(replaced::id.eq_any(ids)))
            .filter(replaced::rev.le(revision))
            .select(StateRow::as_select())
            .load(conn))?;
        since.extend(rows);
    }
    since.sort_by_key(|row| row.rev);
    let mut found: HashMap<(String, Uuid), StateRow> = HashMap::with_capacity(same.len() + changed.len());
    // In the order of revisions: the latest stays.
    for row in since.into_iter().chain(changed).chain(same.iter().map(Row::state)) {
        found.insert((row.kind.clone(), row.id.0), row);
    }
    Ok(found.into_values().filter(|row| !row.gone).collect())
}

/// Every live record of a kind that belonged to one of these, as a revision found them.
pub fn of_parents(db: &mut Db, id: AgencyId, kind: &str, parents: &[Uuid], revision: i64) -> QueryResult<Vec<StateRow>> {
    let parents: Vec<Option<Uid>> = parents.iter().map(|parent| Some(Uid(*parent))).collect();
    let own = Uid::from(id);
    let same: Vec<Row> = on!(&mut *db, conn => record::table
        .filter(record::agency.eq(own).and(record::parent.eq_any(&parents)).and(record::kind.eq(kind)).and(record::rev.le(revision)))
        .select(Row::as_select())
        .load(conn))?;
    let latest = diesel::alias!(replaced as latest);
    let changed: Vec<StateRow> = on!(db, conn => record::table
        .inner_join(replaced::table.on(
            replaced::agency.eq(record::agency).and(replaced::kind.eq(record::kind)).and(replaced::id.eq(record::id)),
        ))
        .filter(record::agency.eq(own).and(record::parent.eq_any(&parents)).and(record::kind.eq(kind)).and(record::rev.gt(revision)))
        .filter(replaced::rev.nullable().eq(latest
            .filter(latest.field(replaced::agency).eq(record::agency))
            .filter(latest.field(replaced::kind).eq(record::kind))
            .filter(latest.field(replaced::id).eq(record::id))
            .filter(latest.field(replaced::rev).le(revision))
            .select(max(latest.field(replaced::rev)))
            .single_value()))
        .select(StateRow::as_select())
        .load(conn))?;
    Ok(changed.into_iter().chain(same.iter().map(Row::state)).filter(|row| !row.gone).collect())
}
