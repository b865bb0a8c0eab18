//! What runs out by itself, and when: one row for each record whose answer ends at an instant, or waits to be judged anew.
//! This file knows no noun: `kind` is a record kind.
//!
//! A lapse is *due* when it may be taken up now. One that failed is not due again before its `try_at`; one that is `pending`
//! is taken up by the clock alone, so that no command waits for it. Whatever its state, a lapse that lies behind is *late*:
//! the record's answer must not be shown as settled.

use std::collections::HashMap;

use chrono::{DateTime, TimeDelta, Utc};
use diesel::{dsl::count_star, prelude::*};
use uuid::Uuid;

use crate::{
    on,
    platform::{
        db::{
            Db, fixed,
            schema::lapse,
            types::{Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
    },
};

/// The wait after a first failure, in seconds; doubled each time.
const FIRST_WAIT: i64 = 2;
/// The longest wait after a failure, in seconds.
const LONGEST_WAIT: i64 = 3600;
/// Rows written by one statement.
const CHUNK: usize = 500;

/// A row of `lapse`.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = lapse, treat_none_as_default_value = false)]
pub(super) struct Lapse {
    pub agency: Uid,
    pub kind: String,
    pub id: Uid,
    pub at: Moment,
    pub try_at: Moment,
    pub tries: i64,
    pub pending: bool,
}

/// The lapse of a record, if its answer runs out.
pub(super) fn find(db: &mut Db, agency: AgencyId, kind: &str, id: Uuid) -> QueryResult<Option<Lapse>> {
    on!(db, conn => lapse::table
        .find((Uid::from(agency), kind, Uid(id)))
        .select(Lapse::as_select())
        .first(conn)
        .optional())
}

/// The lapses of some records of a kind.
pub(super) fn of(db: &mut Db, agency: AgencyId, kind: &str, ids: &[Uid]) -> QueryResult<Vec<Lapse>> {
    on!(db, conn => lapse::table
        .filter(lapse::agency.eq(Uid::from(agency)).and(lapse::kind.eq(kind)).and(lapse::id.eq_any(ids)))
        .select(Lapse::as_select())
        .load(conn))
}

impl Lapse {
    /// The lapse of an answer that was settled and runs out at an instant.
    pub(super) fn at(agency: AgencyId, kind: &str, id: Uuid, at: DateTime<Utc>) -> Self {
        Self {
            agency: agency.into(),
            kind: kind.to_owned(),
            id: Uid(id),
            at: Moment(at),
            try_at: Moment(at),
            tries: 0,
            pending: false,
        }
    }
}

fn put(db: &mut Db, row: &Lapse) -> QueryResult<()> {
    struct Put;
    on!(db, conn => fixed::<Put, _>(
        diesel::insert_into(lapse::table).values(row).on_conflict((lapse::agency, lapse::kind, lapse::id)).do_update().set((
            lapse::at.eq(row.at),
            lapse::try_at.eq(row.try_at),
            lapse::tries.eq(row.tries),
            lapse::pending.eq(row.pending),
        )),
    )
    .execute(conn))
}

/// Has records judged anew from an instant on, in their turn.
pub(super) fn set_pending(db: &mut Db, agency: AgencyId, kind: &str, ids: &[Uuid], at: DateTime<Utc>) -> QueryResult<()> {
    for chunk in ids.chunks(CHUNK) {
        let ids: Vec<Uid> = chunk.iter().map(|id| Uid(*id)).collect();
        let rows: Vec<Lapse> = ids
            .iter()
            .map(|id| Lapse {
                agency: agency.into(),
                kind: kind.to_owned(),
                id: *id,
                at: Moment(at),
                try_at: Moment(at),
                tries: 0,
                pending: true,
            })
            .collect();
        on!(&mut *db, conn => diesel::delete(
            lapse::table.filter(lapse::agency.eq(Uid::from(agency)).and(lapse::kind.eq(kind)).and(lapse::id.eq_any(&ids))),
        )
        .execute(conn))?;
        on!(&mut *db, conn => diesel::insert_into(lapse::table).values(&rows).execute(conn))?;
    }
    Ok(())
}

/// Puts a lapse off after a failure: two seconds at first, doubled up to an hour. Its own instant stays what it was.
pub(super) fn put_off(db: &mut Db, row: Lapse, now: DateTime<Utc>) -> QueryResult<()> {
    let tries = row.tries.saturating_add(1);
    put(
        db,
        &Lapse {
            try_at: Moment(now + TimeDelta::seconds(wait(tries))),
            tries,
            ..row
        },
    )
}

/// Seconds until the next try after so many failures.
fn wait(tries: i64) -> i64 {
    let doubled = u32::try_from(tries.saturating_sub(1)).ok().and_then(|times| FIRST_WAIT.checked_shl(times));
    doubled.filter(|seconds| (FIRST_WAIT..=LONGEST_WAIT).contains(seconds)).unwrap_or(LONGEST_WAIT)
}

/// When the writer has to look at an agency's lapses next, pending ones apart.
pub(super) fn next(db: &mut Db, agency: AgencyId) -> QueryResult<Option<DateTime<Utc>>> {
    let next: Option<Moment> = on!(db, conn => lapse::table
        .filter(lapse::agency.eq(Uid::from(agency)).and(lapse::pending.eq(false)))
        .order(lapse::try_at)
        .select(lapse::try_at)
        .first(conn)
        .optional())?;
    Ok(next.map(|at| at.0))
}

/// The earliest instant of an agency that is due, with at most `limit` of its lapses.
pub(super) fn due(db: &mut Db, agency: AgencyId, now: DateTime<Utc>, pending: bool, limit: i64) -> QueryResult<Vec<Lapse>> {
    let mut rows: Vec<Lapse> = on!(db, conn => lapse::table
        .filter(lapse::agency.eq(Uid::from(agency)).and(lapse::try_at.le(Moment(now))).and(lapse::pending.eq(pending)))
        .order((lapse::at, lapse::kind, lapse::id))
        .limit(limit)
        .select(Lapse::as_select())
        .load(conn))?;
    if let Some(first) = rows.first().map(|row| row.at) {
        rows.retain(|row| row.at == first);
    }
    Ok(rows)
}

/// Whether a reader must have an agency settled before it reads. Pending lapses do not count: they are told as such.
pub fn is_due(db: &mut Db, agency: AgencyId, now: DateTime<Utc>) -> QueryResult<bool> {
    on!(db, conn => diesel::select(diesel::dsl::exists(
        lapse::table.filter(lapse::agency.eq(Uid::from(agency)).and(lapse::try_at.le(Moment(now))).and(lapse::pending.eq(false))),
    ))
    .get_result(conn))
}

/// The agencies for which the clock has something to do.
pub fn agencies_due(db: &mut Db, now: DateTime<Utc>) -> QueryResult<Vec<AgencyId>> {
    let ids: Vec<Uid> = on!(db, conn => lapse::table
        .filter(lapse::at.le(Moment(now)).and(lapse::try_at.le(Moment(now))))
        .select(lapse::agency)
        .distinct()
        .load(conn))?;
    Ok(ids.into_iter().map(|id| AgencyId(id.0)).collect())
}

/// The records of a kind whose answer is not settled at an instant, with whether they only wait to be judged anew.
pub fn late(db: &mut Db, agency: AgencyId, kind: &str, now: DateTime<Utc>) -> QueryResult<HashMap<Uuid, bool>> {
    let rows: Vec<(Uid, bool)> = on!(db, conn => lapse::table
        .filter(lapse::at.le(Moment(now)).and(lapse::agency.eq(Uid::from(agency))).and(lapse::kind.eq(kind)))
        .select((lapse::id, lapse::pending))
        .load(conn))?;
    Ok(rows.into_iter().map(|(id, pending)| (id.0, pending)).collect())
}

/// How many lapses of all agencies were due before an instant and are not settled.
pub fn overdue(db: &mut Db, before: DateTime<Utc>) -> Result<i64, Fault> {
    Ok(on!(db, conn => lapse::table.filter(lapse::at.lt(Moment(before))).select(count_star()).first(conn))?)
}

/// When the oldest lapse that is due and not settled was due; none where nothing is.
pub fn oldest_due(db: &mut Db, now: DateTime<Utc>) -> Result<Option<DateTime<Utc>>, Fault> {
    let oldest: Option<Moment> = on!(db, conn => lapse::table
        .filter(lapse::at.le(Moment(now)))
        .order(lapse::at)
        .select(lapse::at)
        .first(conn)
        .optional())?;
    Ok(oldest.map(|at| at.0))
}

#[cfg(test)]
mod tests {
    use super::wait;

    #[test]
    fn a_wait_doubles_up_to_an_hour() {
        let waits: Vec<i64> = [1, 2, 3, 10, 11, 12, 13, 70, i64::MAX].into_iter().map(wait).collect();
        assert_eq!(waits, [2, 4, 8, 1024, 2048, 3600, 3600, 3600, 3600]);
    }
}
