//! The county at a revision: where the rigs stand, at which level, and how long they take to the zones.

use std::collections::HashMap;

use crate::{
    platform::{
        db::Db,
        door::lapses,
        error::Fault,
        ids::AgencyId,
        past,
        record::{self, Record},
    },
    slices::{
        capability::RigStanding,
        demand::{Demand, Minutes},
        districts::{District, DistrictId},
        rigs::{Duty, Rig, RigId},
        stations::{Station, StationId},
    },
};
use chrono::{DateTime, Utc};
use fullset_calc::{capability::Level, coverage::Zone};
use uuid::Uuid;

/// A rig, where it stands and what it can do.
#[derive(Debug)]
pub struct Standing {
    /// The rig.
    pub rig: Rig,
    /// Its level; none where nothing is known, and while the answer is not settled.
    pub level: Level,
}

impl Standing {
    /// Whether it rides out. Nobody rides out with a reserve rig: it covers nothing, and is no full rig of its district.
    pub fn is_front_line(&self) -> bool {
        self.rig.duty == Duty::FrontLine
    }

    /// Whether it may be counted as a full rig.
    pub fn is_full(&self) -> bool {
        self.is_front_line() && self.level.is_full()
    }
}

/// Everything that coverage is worked out from.
#[derive(Debug)]
pub struct County {
    /// The demand; none when no zones were brought in yet.
    pub demand: Option<Demand>,
    /// The districts, by name.
    pub districts: Vec<District>,
    /// The stations, by name.
    pub stations: Vec<Station>,
    /// The rigs, by name.
    pub rigs: Vec<Standing>,
}

/// The records of a kind, as they are or as a revision found them.
fn of_kind<R: Record>(db: &mut Db, agency: AgencyId, then: Option<i64>) -> Result<Vec<R>, Fault> {
    match then {
        None => record::read_all(db, agency),
        Some(revision) => past::all(db, agency, &[R::KIND], revision)?.iter().map(past::read).collect(),
    }
}

impl County {
    /// Reads it as it stands at `at`, or as a revision found it then: one query for each noun, twice as many for the past.
    pub fn read(db: &mut Db, agency: AgencyId, then: Option<i64>, at: DateTime<Utc>) -> Result<Self, Fault> {
        let late = match then {
            None => lapses::late(db, agency, Rig::KIND, at)?,
            Some(_) => HashMap::new(),
        };
        let levels: HashMap<RigId, Level> = of_kind::<RigStanding>(db, agency, then)?
            .into_iter()
            .map(|capability| (capability.id, capability.as_read(at, &late).sure_level()))
            .collect();
        let mut rigs: Vec<Standing> = of_kind::<Rig>(db, agency, then)?
            .into_iter()
            .map(|rig| Standing {
                level: levels.get(&rig.id).copied().unwrap_or(Level::None),
                rig,
            })
            .collect();
        let mut stations: Vec<Station> = of_kind(db, agency, then)?;
        let mut districts: Vec<District> = of_kind(db, agency, then)?;
        rigs.sort_by(|a, b| a.rig.name.cmp(&b.rig.name));
        stations.sort_by(|a, b| a.name.cmp(&b.name));
        districts.sort_by(|a, b| a.name.cmp(&b.name));
        let demand = of_kind::<Demand>(db, agency, then)?.pop().filter(|demand| !demand.zones.is_empty());
        Ok(Self {
            demand,
            districts,
            stations,
            rigs,
        })
    }

    /// A station by its id.
    pub fn station(&self, id: StationId) -> Option<&Station> {
        self.stations.iter().find(|station| station.id == id)
    }

    /// The district of a rig's station.
    pub fn district_of(&self, rig: &Rig) -> Option<DistrictId> {
        self.station(rig.station).map(|station| station.district)
    }

    /// The zones, and the minutes to them from each station in order. None without zones.
    pub fn minutes(&self, detour: Option<f64>) -> Result<Option<(Vec<Zone>, Minutes)>, Fault> {
        let Some(demand) = &self.demand else { return Ok(None) };
        let stations: Vec<&Station> = self.stations.iter().collect();
        let minutes = demand.minutes(&stations, detour.unwrap_or(demand.detour))?;
        let zones = demand.zones.iter().map(|zone| Zone {
            id: zone.id,
            weight: zone.weight,
        });
        Ok(Some((zones.collect(), minutes)))
    }

    /// Where each station stands in the order of the stations.
    pub fn column_of(&self) -> HashMap<Uuid, usize> {
        self.stations.iter().map(|station| station.id.0).zip(0..).collect()
    }
}
