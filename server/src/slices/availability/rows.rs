//! Intervals, and who opened them.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use fullset_calc::capability::Level;
use uuid::Uuid;

use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::{departure, journal, standing, state},
            types::{Doc, Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
        past,
        person::Person,
        record::{self, Record as _, StateRow},
    },
    slices::{districts::District, rigs::Rig},
};

/// An interval of one rig.
#[derive(Debug, Clone, Copy)]
pub struct Stretch {
    pub rig: Uuid,
    pub rev: i64,
    pub from: DateTime<Utc>,
    pub until: Option<DateTime<Utc>>,
    pub level: Level,
    pub planned: bool,
    /// Until when its last answer held.
    pub holds_until: Option<DateTime<Utc>>,
}

impl Stretch {
    /// When the interval ceased to be known before its end (or before `now`, where it has none): its answer had run out, and
    /// the rig was not judged again.
    pub fn unknown_from(&self, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
        self.holds_until
            .filter(|held| *held < self.until.unwrap_or(now))
            .map(|held| held.max(self.from))
    }
}

type StretchRow = (Uid, i64, Moment, Option<Moment>, String, bool, Option<Moment>);

const RAW: (
    standing::rig,
    standing::from_rev,
    standing::from_at,
    standing::until_at,
    standing::level,
    standing::planned,
    standing::holds_until,
) = (
    standing::rig,
    standing::from_rev,
    standing::from_at,
    standing::until_at,
    standing::level,
    standing::planned,
    standing::holds_until,
);

fn stretch((rig, rev, from, until, level, planned, holds_until): StretchRow) -> Result<Stretch, Fault> {
    let known = Level::from_name(&level);
    Ok(Stretch {
        rig: rig.0,
        rev,
        from: from.0,
        until: until.map(|until| until.0),
        level: known.ok_or_else(|| anyhow::anyhow!("an interval is at the level '{level}'"))?,
        planned,
        holds_until: holds_until.map(|until| until.0),
    })
}

/// The intervals that lie at least in part between two instants, of one rig or of all; those of a rig in order.
pub fn between(db: &mut Db, agency: AgencyId, rig: Option<Uuid>, from: DateTime<Utc>, until: DateTime<Utc>) -> Result<Vec<Stretch>, Fault> {
    let rows: Vec<StretchRow> = on!(db, conn => {
        let mut query = standing::table
            .filter(standing::agency.eq(Uid::from(agency)).and(standing::from_at.lt(Moment(until))))
            .filter(standing::until_at.is_null().or(standing::until_at.gt(Moment(from))))
            .order((standing::rig, standing::from_rev))
            .select(RAW)
            .into_boxed();
        if let Some(rig) = rig { query = query.filter(standing::rig.eq(Uid(rig))); }
        query.load(conn)
    })?;
    rows.into_iter().map(stretch).collect()
}

/// A rig went from one district to another.
#[derive(Debug, Clone, Copy)]
pub struct DistrictMove {
    pub rig: Uuid,
    pub at: DateTime<Utc>,
    pub left: Uuid,
}

/// Every move of a rig between districts, in order.
pub fn moves(db: &mut Db, agency: AgencyId) -> Result<Vec<DistrictMove>, Fault> {
    let rows: Vec<(Uid, Moment, Uid)> = on!(db, conn => departure::table
        .inner_join(journal::table.on(journal::agency.eq(departure::agency).and(journal::rev.eq(departure::rev))))
        .filter(departure::agency.eq(Uid::from(agency)).and(departure::kind.eq(Rig::KIND)).and(departure::level.eq(record::Level::District.word())))
        .order(departure::rev)
        .select((departure::id, journal::received_at, departure::place))
        .load(conn))?;
    Ok(rows
        .into_iter()
        .map(|(rig, at, left)| DistrictMove {
            rig: rig.0,
            at: at.0,
            left: left.0,
        })
        .collect())
}

/// How many full rigs a district was to have from an instant on.
#[derive(Debug, Clone, Copy)]
pub struct DistrictMinimum {
    pub district: Uuid,
    pub at: DateTime<Utc>,
    pub rigs: u32,
}

/// What each district was to have, as it was set and changed, in order.
pub fn minimums(db: &mut Db, agency: AgencyId) -> Result<Vec<DistrictMinimum>, Fault> {
    let rows: Vec<(Moment, StateRow)> = on!(db, conn => state::table
        .inner_join(journal::table.on(journal::agency.eq(state::agency).and(journal::rev.eq(state::rev))))
        .filter(state::agency.eq(Uid::from(agency)).and(state::kind.eq(District::KIND)).and(state::gone.eq(false)))
        .order(state::rev)
        .select((journal::received_at, (state::agency, state::rev, state::kind, state::id, state::gone, state::district, state::station, state::rig, state::body)))
        .load(conn))?;
    let minimum = |(at, row): (Moment, StateRow)| {
        Ok(DistrictMinimum {
            district: row.id.0,
            at: at.0,
            rigs: past::read::<District>(&row)?.min_full,
        })
    };
    rows.into_iter().map(minimum).collect()
}

/// The command that opened an interval.
#[derive(Debug, Clone)]
pub struct Opening {
    pub kind: String,
    pub by: Person,
    pub body: String,
}

type OpenedByRow = (Option<String>, Option<Uid>, Option<String>, Option<Doc>);

fn opened((kind, member, name, body): OpenedByRow) -> Option<Opening> {
    Some(Opening {
        kind: kind?,
        by: Person {
            id: member.map(|member| member.0.into()),
            name: name?,
        },
        body: body?.0,
    })
}

/// The intervals of one rig between two instants, newest first, each with the command that opened it.
pub fn of_rig(
    db: &mut Db,
    agency: AgencyId,
    rig: Uuid,
    from: Option<DateTime<Utc>>,
    until: DateTime<Utc>,
    limit: i64,
) -> Result<Vec<(Stretch, Option<Opening>)>, Fault> {
    let from = from.unwrap_or(DateTime::UNIX_EPOCH);
    let rows: Vec<(StretchRow, OpenedByRow)> = on!(db, conn => standing::table
        .left_join(journal::table.on(journal::agency.eq(standing::agency).and(journal::rev.eq(standing::from_rev))))
        .filter(standing::agency.eq(Uid::from(agency)).and(standing::rig.eq(Uid(rig))).and(standing::from_at.le(Moment(until))))
        .filter(standing::until_at.is_null().or(standing::until_at.gt(Moment(from))))
        .order(standing::from_rev.desc())
        .limit(limit)
        .select((RAW, (journal::kind.nullable(), journal::actor.nullable(), journal::actor_name.nullable(), journal::body.nullable())))
        .load(conn))?;
    rows.into_iter().map(|(raw, behind)| Ok((stretch(raw)?, opened(behind)))).collect()
}

/// The intervals that were opened after one revision and up to another, newest first.
pub fn opened_since(db: &mut Db, agency: AgencyId, after: i64, to: i64, rigs: Option<&[Uuid]>, limit: i64) -> Result<Vec<(Stretch, Option<Opening>)>, Fault> {
    let rows: Vec<(StretchRow, OpenedByRow)> = on!(db, conn => {
        let mut query = standing::table
            .left_join(journal::table.on(journal::agency.eq(standing::agency).and(journal::rev.eq(standing::from_rev))))
            .filter(standing::agency.eq(Uid::from(agency)).and(standing::from_rev.gt(after)).and(standing::from_rev.le(to)))
            .order((standing::from_rev.desc(), standing::rig))
            .limit(limit)
            .select((RAW, (journal::kind.nullable(), journal::actor.nullable(), journal::actor_name.nullable(), journal::body.nullable())))
            .into_boxed();
        if let Some(rigs) = rigs {
            let rigs: Vec<Uid> = rigs.iter().map(|rig| Uid(*rig)).collect();
            query = query.filter(standing::rig.eq_any(rigs));
        }
        query.load(conn)
    })?;
    rows.into_iter().map(|(raw, behind)| Ok((stretch(raw)?, opened(behind)))).collect()
}

/// The intervals of some rigs that ended at an instant or later, or have not ended; those of a rig in order.
pub fn ended_since(db: &mut Db, agency: AgencyId, rigs: &[Uuid], at: DateTime<Utc>) -> Result<Vec<Stretch>, Fault> {
    let rigs: Vec<Uid> = rigs.iter().map(|rig| Uid(*rig)).collect();
    let rows: Vec<StretchRow> = on!(db, conn => standing::table
        .filter(standing::agency.eq(Uid::from(agency)).and(standing::rig.eq_any(rigs)))
        .filter(standing::until_at.is_null().or(standing::until_at.ge(Moment(at))))
        .order((standing::rig, standing::from_rev))
        .select(RAW)
        .load(conn))?;
    rows.into_iter().map(stretch).collect()
}
