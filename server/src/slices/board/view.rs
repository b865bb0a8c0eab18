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
    /// Full, limited or none; the last that was known, where `known` is false.
    level: Level,
    /// Whether the level is settled; where it is not, the rig counts as `not_known` and in no level.
    known: bool,
    /// Whether the rig is being judged anew: what all rigs are judged by has changed a moment ago.
    pending: bool,
    /// Since when.
    since: DateTime<Utc>,
    /// Why it is not full, in words; first of all where its level is not known.
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
    /// Rigs whose level is not known: the last answer has run out, or they are being judged anew.
    not_known: u32,
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
    /// Not known.
    not_known: u32,
}

impl Totals {
    fn count(&mut self, capability: &Capability) {
        match capability.answer.level {
            _ if !capability.known => self.not_known += 1,
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

/// What this process knows of an agency's board.
#[derive(Default)]
pub struct Known {
    pub revision: i64,
    districts: HashMap<DistrictId, District>,
    stations: HashMap<StationId, Station>,
    rigs: HashMap<RigId, Rig>,
    capabilities: HashMap<RigId, Capability>,
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
            _ if gone => drop(self.capabilities.remove(&RigId(id))),
            _ => drop(self.capabilities.insert(RigId(id), serde_json::from_str(body)?)),
        }
        Ok(())
    }

    /// The board at an instant, given the rigs whose answers are not settled then.
    pub fn board(&self, at: DateTime<Utc>, late: &HashMap<Uuid, bool>) -> Board {
        let mut totals = Totals::default();
        let mut of: BTreeMap<DistrictId, (Totals, Vec<RigLine>)> = BTreeMap::new();
        for rig in self.rigs.values() {
            let (Some(station), Some(capability)) = (self.stations.get(&rig.station), self.capabilities.get(&rig.id)) else {
                continue;
            };
            let capability = capability.clone().as_read(at, late);
            let (counted, lines) = of.entry(station.district).or_default();
            counted.count(&capability);
            totals.count(&capability);
            lines.push(RigLine {
                id: rig.id,
                name: rig.name.clone(),
                station: station.name.clone(),
                level: capability.answer.level,
                known: capability.known,
                pending: capability.pending,
                since: capability.since,
                words: capability.unsettled().map(str::to_owned).into_iter().chain(capability.why()).collect(),
                margin: capability.answer.margin,
                holds_until: capability.answer.holds_until,
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
                    not_known: counted.not_known,
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
