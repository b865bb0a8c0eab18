//! Forgetting, within stated limits. Three things grow without end: deleted records, which the feed tells of, old states,
//! which the past is read from, and refresh tokens. The journal is never shortened.
//!
//! | what | kept | afterwards |
//! | --- | --- | --- |
//! | that a record was deleted or left a scope | `deleted` (90 days unless said) | a feed token from before asks for a new snapshot |
//! | a state that a later one has replaced | `past` (for ever unless said), and no shorter than `deleted` | the past is told from the last state before that time on |
//! | a refresh token | a day longer than it serves; a device's last two for good | it is refused all the same (`auth/spent_tokens.rs`) |

use chrono::{DateTime, TimeDelta, Utc};
use diesel::{dsl::max, prelude::*};

use crate::{
    on,
    platform::{
        auth,
        db::{
            Access, Db,
            schema::{agency, departure, journal, record, replaced, state},
            types::{Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
    },
};

/// How long things are kept.
#[derive(Debug, Clone, Copy)]
pub struct Keep {
    /// What tells a client that a record is gone.
    pub deleted: TimeDelta,
    /// States that have been replaced; none keeps them for ever.
    pub past: Option<TimeDelta>,
}

impl Default for Keep {
    fn default() -> Self {
        Self {
            deleted: TimeDelta::days(90),
            past: None,
        }
    }
}

/// What was forgotten.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Forgotten {
    /// Deleted records.
    pub deleted: usize,
    /// Replaced states.
    pub states: usize,
    /// Refresh tokens.
    pub tokens: usize,
}

/// Revisions whose states are looked at in one transaction, so that writers wait for a short while only.
const STEP: i64 = 2_000;

/// Forgets what is older than `keep` says, agency by agency.
pub fn compact(db: &mut Db, now: DateTime<Utc>, keep: Keep) -> Result<Forgotten, Fault> {
    let mut forgotten = Forgotten {
        tokens: auth::forget_spent(db, now)?,
        ..Forgotten::default()
    };
    for agency in super::agencies(db)? {
        forgotten.deleted += db.transaction(Access::Write, |db| forget_deleted(db, agency, now - keep.deleted))?;
        if let Some(past) = keep.past {
            forgotten.states += forget_states(db, agency, now - past)?;
        }
    }
    Ok(forgotten)
}

/// The last revision before an instant.
fn revision_before(db: &mut Db, agency: AgencyId, from: i64, at: DateTime<Utc>) -> Result<i64, Fault> {
    let found: Option<i64> = on!(db, conn => journal::table
        .filter(journal::agency.eq(Uid::from(agency)).and(journal::rev.gt(from)).and(journal::received_at.lt(Moment(at))))
        .select(max(journal::rev))
        .first(conn))?;
    Ok(found.unwrap_or(from))
}

fn forget_deleted(db: &mut Db, id: AgencyId, before: DateTime<Utc>) -> Result<usize, Fault> {
    // The agency's row first, like every writer: no page of the feed sees the horizon without what it stands for.
    super::journal::take_head(db, id)?;
    let was: i64 = on!(&mut *db, conn => agency::table.find(Uid::from(id)).select(agency::horizon).first(conn))?;
    let horizon = revision_before(db, id, was, before)?;
    if horizon == was {
        return Ok(0);
    }
    on!(&mut *db, conn => diesel::update(agency::table.find(Uid::from(id))).set(agency::horizon.eq(horizon)).execute(conn))?;
    // That they are gone stays known of the past.
    on!(&mut *db, conn => diesel::insert_into(replaced::table)
        .values(
            record::table
                .filter(record::agency.eq(Uid::from(id)).and(record::gone.eq(true)).and(record::rev.le(horizon)))
                .select((
                    record::agency, record::rev, record::kind, record::id, record::gone, record::district, record::station, record::rig, record::body,
                )),
        )
        .into_columns((
            replaced::agency, replaced::rev, replaced::kind, replaced::id, replaced::gone, replaced::district, replaced::station, replaced::rig, replaced::body,
        ))
        .execute(conn))?;
    Ok(on!(db, conn => diesel::delete(
        record::table.filter(record::agency.eq(Uid::from(id)).and(record::gone.eq(true)).and(record::rev.le(horizon))),
    )
    .execute(conn))?)
}

fn forget_states(db: &mut Db, id: AgencyId, before: DateTime<Utc>) -> Result<usize, Fault> {
    // What has left a scope is told from `departure`: as long as a token is followed, its rows stay.
    let horizon: i64 = on!(&mut *db, conn => agency::table.find(Uid::from(id)).select(agency::horizon).first(conn))?;
    let last = revision_before(db, id, 0, before)?.min(horizon);
    let later = diesel::alias!(state as later);
    let mut from = 0;
    let mut forgotten = 0;
    while from < last {
        let to = (from + STEP).min(last);
        forgotten += db.transaction(Access::Write, |db| {
            let replaced: Vec<(i64, String, Uid)> = on!(&mut *db, conn => replaced::table
                .filter(replaced::agency.eq(Uid::from(id)).and(replaced::rev.gt(from)).and(replaced::rev.le(to)))
                .filter(diesel::dsl::exists(later.filter(
                    later.field(state::agency).eq(replaced::agency)
                        .and(later.field(state::kind).eq(replaced::kind))
                        .and(later.field(state::id).eq(replaced::id))
                        .and(later.field(state::rev).gt(replaced::rev))
                        .and(later.field(state::rev).le(last)),
                )))
                .select((replaced::rev, replaced::kind, replaced::id))
                .load(conn))?;
            on!(&mut *db, conn => diesel::delete(
                departure::table.filter(departure::agency.eq(Uid::from(id)).and(departure::rev.gt(from)).and(departure::rev.le(to))),
            )
            .execute(conn))?;
            for (rev, kind, record) in &replaced {
                on!(&mut *db, conn => diesel::delete(replaced::table.find((Uid::from(id), kind, record, rev))).execute(conn))?;
            }
            Ok::<_, Fault>(replaced.len())
        })?;
        from = to;
    }
    Ok(forgotten)
}
