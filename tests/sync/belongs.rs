//! The test's own reading of what belongs where: a feed of some places holds the records whose district, station or rig is
//! named, and the kinds that everybody needs.

use std::collections::BTreeMap;

use serde_json::Value;
use uuid::Uuid;

use super::known::{Piece, id};

/// The kinds that every feed holds.
pub const EVERYWHERE: [&str; 7] = ["agency", "district", "station", "shop", "coupling", "model", "rig_class"];

/// Where a record belongs.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Belongs {
    pub district: Option<Uuid>,
    pub station: Option<Uuid>,
    pub rig: Option<Uuid>,
}

/// Where every record belongs.
#[derive(Debug, Clone, Default)]
pub struct Places(BTreeMap<(String, Uuid), Belongs>);

/// The places that a phone's feed names; none of them is the whole agency.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Scope(pub Vec<(&'static str, Uuid)>);

impl Scope {
    /// As the feed takes it.
    pub fn query(&self) -> String {
        let parts: Vec<String> = self.0.iter().map(|(level, id)| format!("{level}:{id}")).collect();
        if parts.is_empty() { "agency".to_owned() } else { parts.join(",") }
    }

    /// Whether the feed holds a record of a kind that belongs there.
    pub fn holds(&self, kind: &str, belongs: Belongs) -> bool {
        self.0.is_empty()
            || EVERYWHERE.contains(&kind)
            || self.0.iter().any(|(level, id)| {
                let at = match *level {
                    "district" => belongs.district,
                    "station" => belongs.station,
                    _ => belongs.rig,
                };
                at == Some(*id)
            })
    }
}

impl Places {
    /// Where a record belongs that stands at the beginning; pieces wait for [`Places::settle`].
    pub fn begin(&mut self, kind: &str, own: Uuid, record: &Value) {
        let named = |field: &str| record[field].as_str().and_then(|id| id.parse().ok());
        let belongs = match kind {
            "station" | "member" => Belongs {
                district: named("district"),
                station: if kind == "station" { Some(own) } else { named("station") },
                rig: None,
            },
            // Its district follows when all stations are known.
            "rig" => Belongs {
                station: named("station"),
                rig: Some(own),
                ..Belongs::default()
            },
            "rig_standing" | "piece_standing" => return,
            _ => Belongs::default(),
        };
        self.put(kind, own, belongs);
    }

    /// Completes what is worked out from other records.
    pub fn settle(&mut self, pieces: &BTreeMap<Uuid, Piece>) {
        let rigs: Vec<(Uuid, Belongs)> = self.of_kind("rig").collect();
        for (rig, belongs) in rigs {
            let station = belongs.station.expect("a rig has its station");
            let whole = Belongs {
                rig: Some(rig),
                ..self.of("station", station)
            };
            self.put("rig", rig, whole);
        }
        let members: Vec<(Uuid, Belongs)> = self.of_kind("member").collect();
        for (member, belongs) in members {
            if let Some(station) = belongs.station {
                self.put("member", member, self.of("station", station));
            }
        }
        for (own, piece) in pieces {
            self.put("piece", *own, self.at(&piece.place));
        }
    }

    fn of_kind<'a>(&'a self, kind: &'a str) -> impl Iterator<Item = (Uuid, Belongs)> + 'a {
        self.0.iter().filter(move |((of, _), _)| of == kind).map(|((_, id), belongs)| (*id, *belongs))
    }

    /// Where a record belongs: a standing, where that belongs which it judges.
    pub fn of(&self, kind: &str, own: Uuid) -> Belongs {
        let kind = kind.strip_suffix("_standing").unwrap_or(kind);
        self.0.get(&(kind.to_owned(), own)).copied().unwrap_or_default()
    }

    pub fn put(&mut self, kind: &str, own: Uuid, belongs: Belongs) {
        self.0.insert((kind.to_owned(), own), belongs);
    }

    pub fn take(&mut self, kind: &str, own: Uuid) {
        self.0.remove(&(kind.to_owned(), own));
    }

    /// Where a piece at a place belongs: on its way, to where it goes.
    pub fn at(&self, place: &Value) -> Belongs {
        match place["at"].as_str().expect("a place") {
            "rig" => self.of("rig", id(place, "rig")),
            "shelf" => self.of("station", id(place, "station")),
            "transit" => self.at(&place["to"]),
            _ => Belongs::default(),
        }
    }

    /// Gives the records of a place a new one; answers those that it changed.
    pub fn rescope(&mut self, of: impl Fn(&Belongs) -> bool, new: impl Fn(Belongs) -> Belongs) -> Vec<(String, Uuid)> {
        let mut moved = Vec::new();
        for (key, belongs) in self.0.iter_mut().filter(|(_, belongs)| of(belongs)) {
            let there = new(*belongs);
            if there != *belongs {
                *belongs = there;
                moved.push(key.clone());
            }
        }
        moved
    }
}
