//! Which part of the agency a feed holds.

use std::collections::BTreeSet;

use uuid::Uuid;

use crate::platform::{
    error::{self, Fault},
    record::Scope,
};

/// The most places that one feed may name.
pub const MOST: usize = 50;

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
}

impl Places {
    /// Whether a record that belongs there is in one of the places.
    pub fn hold(&self, scope: Scope) -> bool {
        let named = |places: &BTreeSet<Uuid>, place: Option<Uuid>| place.is_some_and(|place| places.contains(&place));
        named(&self.districts, scope.district) || named(&self.stations, scope.station) || named(&self.rigs, scope.rig)
    }

    /// Each place with the kind of its record.
    pub fn named(&self) -> impl Iterator<Item = (&'static str, Uuid)> {
        let of = |kind, places: &BTreeSet<Uuid>| places.iter().map(move |id| (kind, *id)).collect::<Vec<_>>();
        [of("district", &self.districts), of("station", &self.stations), of("rig", &self.rigs)]
            .into_iter()
            .flatten()
    }
}

impl Scopes {
    /// Reads `station:ID,rig:ID`; nothing means the agency.
    pub fn read(text: Option<&str>) -> Result<Self, Fault> {
        let Some(text) = text else { return Ok(Self::Agency) };
        let refused = |part: &str| {
            Fault::new(
                error::QUERY_INVALID,
                format!("'{part}' is no scope: use agency, district:ID, station:ID or rig:ID, several with commas between"),
            )
            .at("scope")
        };
        let mut whole = false;
        let mut places = Places::default();
        let parts: Vec<&str> = text.split(',').collect();
        if parts.len() > MOST {
            return Err(Fault::new(
                error::QUERY_INVALID,
                format!("A feed names {MOST} places at most; use the district or the agency"),
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
