//! States of records, for those whose commands the journal tells in full.

use diesel::{
    dsl::{exists, not},
    prelude::*,
};
use uuid::Uuid;

use super::Finding;
use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::{journal, record, replaced, state},
            types::{Doc, Uid},
        },
        error::Fault,
        ids::AgencyId,
    },
};

/// States that are read at once.
const STEP: i64 = 500;

/// What was held against the commands of the journal, and what could not be.
#[derive(Debug, Default)]
pub struct Compared {
    /// Records.
    pub records: u64,
    /// Their states: those of now, and those of the past that are kept.
    pub states: u64,
    /// Changes of theirs of which no state is kept any more, so that none was compared.
    pub forgotten: u64,
    /// Records that were not compared, because this version does not read the commands that made them.
    pub unread: u64,
    /// What does not agree.
    pub findings: Vec<Finding>,
}

impl Compared {
    /// Adds what was looked at by another.
    pub fn add(&mut self, other: Self) {
        self.records += other.records;
        self.states += other.states;
        self.forgotten += other.forgotten;
        self.unread += other.unread;
        self.findings.extend(other.findings);
    }
}

/// A state that a record has or has had.
#[derive(Debug)]
pub struct KeptState {
    /// The record.
    pub id: Uuid,
    /// The revision that made it.
    pub rev: i64,
    /// Whether the record was taken away by it.
    pub gone: bool,
    /// The district that the record is found in.
    pub district: Option<Uuid>,
    /// The station that the record is found at.
    pub station: Option<Uuid>,
    /// Its body, as it was written.
    pub body: String,
}

type Read = (Uid, i64, bool, Option<Uid>, Option<Uid>, Doc);

/// Tells each state that is kept of the records of a kind: one record after the other, and the states of each in their order.
pub fn states(db: &mut Db, agency: AgencyId, kind: &str, mut told: impl FnMut(KeptState)) -> Result<(), Fault> {
    let mut after: Option<(Uid, i64)> = None;
    loop {
        let read: Vec<Read> = on!(&mut *db, conn => {
            let query = state::table
                .filter(state::agency.eq(Uid::from(agency)).and(state::kind.eq(kind)))
                .order((state::id, state::rev))
                .limit(STEP)
                .select((state::id, state::rev, state::gone, state::district, state::station, state::body))
                .into_boxed();
            let query = match after {
                Some((id, rev)) => query.filter(state::id.gt(id).or(state::id.eq(id).and(state::rev.gt(rev)))),
                None => query,
            };
            query.load(conn)
        })?;
        let Some((id, rev, ..)) = read.last() else { return Ok(()) };
        after = Some((*id, *rev));
        for (id, rev, gone, district, station, body) in read {
            told(KeptState {
                id: id.0,
                rev,
                gone,
                district: district.map(|id| id.0),
                station: station.map(|id| id.0),
                body: body.0,
            });
        }
    }
}

/// How many changes of records of a kind the journal tells of whose states are not kept any more.
pub fn forgotten(db: &mut Db, agency: AgencyId, kind: &str) -> Result<u64, Fault> {
    let now = record::table.filter(
        record::agency
            .eq(journal::agency)
            .and(record::kind.eq(kind))
            .and(record::id.nullable().eq(journal::record))
            .and(record::rev.eq(journal::rev)),
    );
    let past = replaced::table.filter(
        replaced::agency
            .eq(journal::agency)
            .and(replaced::kind.eq(kind))
            .and(replaced::id.nullable().eq(journal::record))
            .and(replaced::rev.eq(journal::rev)),
    );
    let number: i64 = on!(db, conn => journal::table
        .filter(journal::agency.eq(Uid::from(agency)).and(journal::record_kind.eq(kind)))
        .filter(not(exists(now)).and(not(exists(past))))
        .count()
        .get_result(conn))?;
    Ok(u64::try_from(number).unwrap_or_default())
}
