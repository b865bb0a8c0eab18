//! The test's own reading of what belongs where: a feed of some places holds the records that are in one of them or have their
//! home there, and the kinds that everybody needs.

use std::collections::BTreeMap;

use serde_json::Value;
use uuid::Uuid;

use super::known::{Piece, id};

/// The kinds that every feed holds.
pub const EVERYWHERE: [&str; 7] = ["agency", "district", "station", "shop", "coupling", "model", "rig_class"];

/// A place with those that it is in.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct At {
    pub district: Option<Uuid>,
    pub station: Option<Uuid>,
    pub rig: Option<Uuid>,
    pub shop: Option<Uuid>,
}

/// Where a record belongs: where it is, and where it has its home.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Belongs {
    pub at: At,
    pub home: At,
}

impl From<At> for Belongs {
    fn from(at: At) -> Self {
        Self { at, home: At::default() }
    }
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
                [belongs.at, belongs.home].into_iter().any(|at| {
                    let of = match *level {
                        "district" => at.district,
                        "station" => at.station,
                        "shop" => at.shop,
                        _ => at.rig,
                    };
                    of == Some(*id)
                })
            })
    }
}

impl Places {
    /// Where a record belongs that stands at the beginning; pieces wait for [`Places::settle`].
    pub fn begin(&mut self, kind: &str, own: Uuid, record: &Value) {
        let named = |field: &str| record[field].as_str().and_then(|id| id.parse().ok());
        let at = match kind {
            "station" | "member" => At {
                district: named("district"),
                station: if kind == "station" { Some(own) } else { named("station") },
                ..At::default()
            },
            // Its district follows when all stations are known.
            "rig" => At {
                station: named("station"),
                rig: Some(own),
                ..At::default()
            },
            "rig_standing" | "piece_standing" => return,
            _ => At::default(),
        };
        self.put(kind, own, at.into());
    }

    /// Completes what is worked out from other records.
    pub fn settle(&mut self, pieces: &BTreeMap<Uuid, Piece>) {
        let rigs: Vec<(Uuid, Belongs)> = self.of_kind("rig").collect();
        for (rig, belongs) in rigs {
            let station = belongs.at.station.expect("a rig has its station");
            let whole = At {
                rig: Some(rig),
                ..self.of("station", station).at
            };
            self.put("rig", rig, whole.into());
        }
        let members: Vec<(Uuid, Belongs)> = self.of_kind("member").collect();
        for (member, belongs) in members {
            if let Some(station) = belongs.at.station {
                self.put("member", member, self.of("station", station));
            }
        }
        for (own, piece) in pieces {
            self.put("piece", *own, self.of_piece(piece));
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

    /// Where a piece belongs.
    pub fn of_piece(&self, piece: &Piece) -> Belongs {
        let home = At {
            shop: None,
            ..self.at(&piece.home)
        };
        Belongs {
            at: self.at(&piece.place),
            home,
        }
    }

    /// What a place is in; on the way, what that is in where it goes.
    fn at(&self, place: &Value) -> At {
        match place["at"].as_str() {
            Some("rig") => self.of("rig", id(place, "rig")).at,
            Some("shelf") => self.of("station", id(place, "station")).at,
            Some("shop") => At {
                shop: Some(id(place, "shop")),
                ..At::default()
            },
            Some("transit") => self.at(&place["to"]),
            _ => At::default(),
        }
    }

    /// Gives the records of a place a new one; answers those that it changed.
    pub fn rescope(&mut self, of: impl Fn(&At) -> bool, new: impl Fn(At) -> At) -> Vec<(String, Uuid)> {
        let mut moved = Vec::new();
        let carried = |at: At| if of(&at) { new(at) } else { at };
        for (key, belongs) in &mut self.0 {
            let there = Belongs {
                at: carried(belongs.at),
                home: carried(belongs.home),
            };
            if there != *belongs {
                *belongs = there;
                moved.push(key.clone());
            }
        }
        moved
    }
}
