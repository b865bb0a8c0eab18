//! The board of one agency. What a process has read once it keeps, and brings up to date with what has changed since: the
//! same walk as the change feed.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use fullset_calc::capability::Level;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::{agency, record},
            types::Uid,
        },
        error::Fault,
        ids::AgencyId,
        past,
        record::{Record, Row},
    },
    slices::{
        capability::Capability,
        districts::{District, DistrictId},
        rigs::{Rig, RigId},
        stations::{Station, StationId},
    },
};

/// One rig on the board.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct RigLine {
    /// The rig.
    id: RigId,
    /// Its name.
    name: String,
    /// Its station's name.
    station: String,
    /// Full, limited or none.
    level: Level,
    /// Since when.
    since: DateTime<Utc>,
    /// Why it is not full, in words.
    words: Vec<String>,
    /// How many further pieces it can lose before it drops a level.
    margin: Option<u32>,
    /// Until when this holds if nobody does anything.
    holds_until: Option<DateTime<Utc>>,
}

/// One district on the board.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DistrictLine {
    /// The district.
    id: DistrictId,
    /// Its name.
    name: String,
    /// How many full rigs it needs at least.
    min_full: u32,
    /// Rigs with full capability.
    full: u32,
    /// Rigs with limited capability.
    limited: u32,
    /// Rigs without capability.
    none: u32,
    /// Whether it has fewer full rigs than it needs.
    short: bool,
    /// Its rigs, by name.
    rigs: Vec<RigLine>,
}

/// Rigs by level.
#[derive(Debug, Clone, Copy, Default, Serialize, ToSchema)]
pub struct Totals {
    /// Full.
    full: u32,
    /// Limited.
    limited: u32,
    /// None.
    none: u32,
}

impl Totals {
    fn count(&mut self, level: Level) {
        match level {
            Level::Full => self.full += 1,
            Level::Limited => self.limited += 1,
            Level::None => self.none += 1,
        }
    }
}

/// The board of an agency at a revision.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Board {
    /// The revision that it shows.
    revision: i64,
    /// When it was read, or the instant that was asked of.
    at: DateTime<Utc>,
    /// The districts, by name.
    districts: Vec<DistrictLine>,
    /// All rigs by level.
    totals: Totals,
}

struct Line {
    level: Level,
    since: DateTime<Utc>,
    words: Vec<String>,
    margin: Option<u32>,
    holds_until: Option<DateTime<Utc>>,
}

/// What this process knows of an agency's board.
#[derive(Default)]
pub struct Known {
    pub revision: i64,
    districts: HashMap<DistrictId, District>,
    stations: HashMap<StationId, Station>,
    rigs: HashMap<RigId, Rig>,
    lines: HashMap<RigId, Line>,
}

const KINDS: [&str; 4] = [District::KIND, Station::KIND, Rig::KIND, Capability::KIND];

impl Known {
    /// Reads what has changed since it was last brought up to date.
    pub fn catch_up(&mut self, db: &mut Db, id: AgencyId) -> Result<(), Fault> {
        let revision: i64 = on!(&mut *db, conn => agency::table.find(Uid::from(id)).select(agency::rev).first(conn))?;
        if revision < self.revision {
            *self = Self::default(); // The database was restored from an older copy.
        }
        if revision == self.revision {
            return Ok(());
        }
        let since = self.revision;
        let rows: Vec<Row> = on!(db, conn => record::table
            .filter(record::agency.eq(Uid::from(id)).and(record::rev.gt(since)).and(record::kind.eq_any(KINDS)))
            .select(Row::as_select())
            .load(conn))?;
        for row in rows {
            self.take(&row.kind, row.id.0, row.gone, &row.body.0)?;
        }
        self.revision = revision;
        Ok(())
    }

    /// As it stood at a revision.
    pub fn as_of(db: &mut Db, id: AgencyId, revision: i64) -> Result<Self, Fault> {
        let mut known = Self { revision, ..Self::default() };
        for row in past::all(db, id, &KINDS, revision)? {
            known.take(&row.kind, row.id.0, row.gone, &row.body.0)?;
        }
        Ok(known)
    }

    fn take(&mut self, kind: &str, id: Uuid, gone: bool, body: &str) -> Result<(), Fault> {
        match kind {
            District::KIND if gone => drop(self.districts.remove(&DistrictId(id))),
            District::KIND => drop(self.districts.insert(DistrictId(id), serde_json::from_str(body)?)),
            Station::KIND if gone => drop(self.stations.remove(&StationId(id))),
            Station::KIND => drop(self.stations.insert(StationId(id), serde_json::from_str(body)?)),
            Rig::KIND if gone => drop(self.rigs.remove(&RigId(id))),
            Rig::KIND => drop(self.rigs.insert(RigId(id), serde_json::from_str(body)?)),
            _ if gone => drop(self.lines.remove(&RigId(id))),
            _ => {
                let known: Capability = serde_json::from_str(body)?;
                let line = Line {
                    level: known.answer.level,
                    since: known.since,
                    words: known.why(),
                    margin: known.answer.margin,
                    holds_until: known.answer.holds_until,
                };
                self.lines.insert(RigId(id), line);
            }
        }
        Ok(())
    }

    /// The board.
    pub fn board(&self, at: DateTime<Utc>) -> Board {
        let mut totals = Totals::default();
        let mut of: BTreeMap<DistrictId, (Totals, Vec<RigLine>)> = BTreeMap::new();
        for rig in self.rigs.values() {
            let (Some(station), Some(line)) = (self.stations.get(&rig.station), self.lines.get(&rig.id)) else {
                continue;
            };
            let (counted, lines) = of.entry(station.district).or_default();
            counted.count(line.level);
            totals.count(line.level);
            lines.push(RigLine {
                id: rig.id,
                name: rig.name.clone(),
                station: station.name.clone(),
                level: line.level,
                since: line.since,
                words: line.words.clone(),
                margin: line.margin,
                holds_until: line.holds_until,
            });
        }
        let mut districts: Vec<DistrictLine> = self
            .districts
            .values()
            .map(|district| {
                let (counted, mut rigs) = of.remove(&district.id).unwrap_or_default();
                rigs.sort_by(|a, b| a.name.cmp(&b.name));
                DistrictLine {
                    id: district.id,
                    name: district.name.clone(),
                    min_full: district.min_full,
                    full: counted.full,
                    limited: counted.limited,
                    none: counted.none,
                    short: counted.full < district.min_full,
                    rigs,
                }
            })
            .collect();
        districts.sort_by(|a, b| a.name.cmp(&b.name));
        Board {
            revision: self.revision,
            at,
            districts,
            totals,
        }
    }
}
