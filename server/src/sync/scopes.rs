//! Which part of the agency a feed holds.

use std::collections::BTreeSet;

use uuid::Uuid;

use crate::platform::{
    db::types::Uid,
    error::{self, Fault},
    record::{Level, Scope},
};

/// Whether a row of `record` belongs to one of some places, as a condition of a query: what [`Places::hold`] says of one record.
#[macro_export]
macro_rules! belongs_to {
    ($places:expr) => {{
        use $crate::platform::{db::schema::record, record::Level};
        let (districts, stations) = ($places.ids(Level::District), $places.ids(Level::Station));
        let (rigs, shops) = ($places.ids(Level::Rig), $places.ids(Level::Shop));
        record::district
            .eq_any(districts.clone())
            .assume_not_null()
            .or(record::station.eq_any(stations.clone()).assume_not_null())
            .or(record::rig.eq_any(rigs.clone()).assume_not_null())
            .or(record::shop.eq_any(shops).assume_not_null())
            .or(record::home_district.eq_any(districts).assume_not_null())
            .or(record::home_station.eq_any(stations).assume_not_null())
            .or(record::home_rig.eq_any(rigs).assume_not_null())
    }};
}

/// All of the agency, or the places that are named. What everybody needs (the catalogue, the list of stations) is in every
/// feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Scopes {
    /// Everything.
    Agency,
    /// What is in one of these.
    Places(Places),
}

/// Places by level.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Places {
    /// Districts.
    pub districts: BTreeSet<Uuid>,
    /// Stations.
    pub stations: BTreeSet<Uuid>,
    /// Rigs.
    pub rigs: BTreeSet<Uuid>,
    /// Shops.
    pub shops: BTreeSet<Uuid>,
}

impl Places {
    /// Whether a record that belongs there is in one of the places.
    pub fn hold(&self, scope: Scope) -> bool {
        scope.places().any(|(level, id)| self.of(level).contains(&id))
    }

    /// The places of one level.
    pub fn of(&self, level: Level) -> &BTreeSet<Uuid> {
        match level {
            Level::District => &self.districts,
            Level::Station => &self.stations,
            Level::Rig => &self.rigs,
            Level::Shop => &self.shops,
        }
    }

    /// The same as the databases take them.
    pub fn ids(&self, level: Level) -> Vec<Uid> {
        self.of(level).iter().map(|id| Uid(*id)).collect()
    }

    /// Each place with the kind of its record.
    pub fn named(&self) -> impl Iterator<Item = (&'static str, Uuid)> {
        [Level::District, Level::Station, Level::Rig, Level::Shop]
            .into_iter()
            .flat_map(|level| self.of(level).iter().map(move |id| (level.word(), *id)))
    }
}

impl Scopes {
    /// The most places that one feed may name.
    pub const MOST: usize = 50;

    /// Reads `station:ID,rig:ID`; nothing means the agency.
    pub fn read(text: Option<&str>) -> Result<Self, Fault> {
        let Some(text) = text else { return Ok(Self::Agency) };
        let refused = |part: &str| {
            Fault::new(
                error::QUERY_INVALID,
                format!("'{part}' is no scope: use agency, district:ID, station:ID, rig:ID or shop:ID, several with commas between"),
            )
            .at("scope")
        };
        let mut whole = false;
        let mut places = Places::default();
        let parts: Vec<&str> = text.split(',').collect();
        if parts.len() > Self::MOST {
            return Err(Fault::new(
                error::QUERY_INVALID,
                format!("A feed names {} places at most; use the district or the agency", Self::MOST),
            )
            .at("scope"));
        }
        for part in parts {
            let Some((level, id)) = part.split_once(':') else {
                whole = whole || part == "agency";
                if part != "agency" {
                    return Err(refused(part));
                }
                continue;
            };
            let id: Uuid = id.parse().map_err(|_| refused(part))?;
            match level {
                "district" => places.districts.insert(id),
                "station" => places.stations.insert(id),
                "rig" => places.rigs.insert(id),
                "shop" => places.shops.insert(id),
                _ => return Err(refused(part)),
            };
        }
        Ok(if whole { Self::Agency } else { Self::Places(places) })
    }
}

/// The one spelling of each scope, whatever order it was asked in.
impl std::fmt::Display for Scopes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self::Places(places) = self else { return f.write_str("agency") };
        let parts: Vec<String> = places.named().map(|(kind, id)| format!("{kind}:{id}")).collect();
        f.write_str(&parts.join(","))
    }
}
