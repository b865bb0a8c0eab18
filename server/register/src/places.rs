//! Where the pieces of a file are, and which stations and rigs the file may bring in.
//!
//! A place that the agency knows always matches, whatever its case. A new rig is a claim that the file must bear out:
//!
//! 1. Where at least nine in ten of the rigs in the file, and at least five, bear the number of their station, a new
//!    rig whose number is another one is taken for a slip (`Truck 99` at Station 24) and refused.
//! 2. Where the file has no such habit, or the rig has no number, a new rig needs two rows that name it.
//! 3. A rig written as `Rig: Truck 99` is meant so, and `CreatePlaces::All` takes every rig as meant.
//!
//! This module never asks what the pieces are.

use super::{
    cells::Fault,
    spots::{Spot, number_of, rig_key},
    whereabouts::{Rig, Station, district_key},
};

pub use super::whereabouts::{CreatePlaces, KnownPlaces, PlaceCells, Placed, Places, ReadPlace};

impl Places<'_> {
    /// Where a row's piece is.
    ///
    /// # Errors
    /// `unknown-place`, `no-place` or `station-differs`.
    pub fn place(&self, row: &PlaceCells) -> Result<Placed, Fault> {
        self.placed(row, &self.spot(&row.place))
    }

    fn placed(&self, row: &PlaceCells, spot: &Spot) -> Result<Placed, Fault> {
        let own = self.station_key(&row.station);
        let elsewhere = |place: ReadPlace| {
            let station = own.as_ref().and_then(|key| self.stations.get(key)).filter(|station| station.district.is_some());
            Placed {
                place,
                station: station.map(|s| s.name.clone()),
                district: station.and_then(|s| s.district.clone()),
                note: None,
            }
        };
        match spot {
            Spot::Rig(name) | Spot::MeantRig(name) => self.on_rig(row, name, own.as_deref()),
            Spot::Shelf(named) => {
                let named = named.as_ref().and_then(|name| self.station_key(name));
                match (named, own) {
                    (Some(named), Some(own)) if named != own => Err(self.differs(&format!("the shelf of {}", self.station_name(&named)), None, &own)),
                    (Some(key), _) | (None, Some(key)) => self.at_station(row, &key, None),
                    (None, None) => Err(Fault::new(
                        "no-place",
                        format!("\"{}\" does not say of which station", row.place),
                        Some("name the station, for example Station 8 reserve".into()),
                    )),
                }
            }
            Spot::Shop(name) => Ok(elsewhere(ReadPlace::Shop {
                shop: self.shops.get(&rig_key(name)).unwrap_or(name).clone(),
            })),
            Spot::Vendor(name, due_on) => Ok(elsewhere(ReadPlace::Vendor {
                name: name.clone(),
                due_on: *due_on,
            })),
            Spot::Loan(name, due_on) => Ok(elsewhere(ReadPlace::Loan {
                name: name.clone(),
                due_on: *due_on,
            })),
            Spot::Retired => Ok(Placed {
                place: ReadPlace::Retired,
                station: None,
                district: None,
                note: None,
            }),
            Spot::Transit(to) => {
                let to = self.placed(row, &self.spot(to))?;
                if matches!(to.place, ReadPlace::Transit { .. } | ReadPlace::Retired) {
                    return Err(Fault::new(
                        "unknown-place",
                        format!("\"{}\" is nowhere that a piece can be on its way to", row.place),
                        None,
                    ));
                }
                Ok(Placed {
                    place: ReadPlace::Transit { to: Box::new(to.place) },
                    ..to
                })
            }
            Spot::Nothing => match own {
                Some(key) => self.at_station(
                    row,
                    &key,
                    Some(format!("no place is given; it was put on the shelf of {}", self.station_name(&key))),
                ),
                None => Err(Fault::new(
                    "no-place",
                    "neither a place nor a station is given".into(),
                    Some("write a rig, a station's reserve or a shop".into()),
                )),
            },
            Spot::Unclear(name) if self.create == CreatePlaces::All => self.on_rig(row, name, own.as_deref()),
            Spot::Unclear(name) => Err(Fault::new(
                "unknown-place",
                format!("\"{name}\" is no rig, station or shop that is known"),
                Some(format!(
                    "write a rig such as Engine 2, a shelf such as Station 8 reserve, a shop, or \"Rig: {name}\" if it is a rig"
                )),
            )),
        }
    }

    fn at_station(&self, row: &PlaceCells, key: &str, note: Option<String>) -> Result<Placed, Fault> {
        let (station, district) = self.station(key)?;
        let note = note.or_else(|| self.other_district(row, &station, &district));
        Ok(Placed {
            place: ReadPlace::Shelf { station: station.clone() },
            station: Some(station),
            district: Some(district),
            note,
        })
    }

    /// A station that is there or can be made: one with a district.
    fn station(&self, key: &str) -> Result<(String, String), Fault> {
        let station = self.stations.get(key);
        let name = station.map_or(key, |station| &station.name);
        match station.and_then(|station| station.district.as_deref()).or(self.default_district) {
            Some(district) => Ok((name.to_owned(), district.to_owned())),
            None => Err(Fault::new(
                "unknown-place",
                format!("{name} is not known, and no line says which district it is in"),
                Some("fill in its district, or add the station first".into()),
            )),
        }
    }

    fn station_name<'b>(&'b self, key: &'b str) -> &'b str {
        self.stations.get(key).map_or(key, |station| &station.name)
    }

    fn differs(&self, what: &str, rows: Option<usize>, own: &str) -> Fault {
        let others = rows.map(|rows| format!(" on {rows} other lines")).unwrap_or_default();
        Fault::new(
            "station-differs",
            format!("the place is {what}{others}, but the station column says {}", self.station_name(own)),
            Some("correct the place or the station".into()),
        )
    }

    fn on_rig(&self, row: &PlaceCells, name: &str, own: Option<&str>) -> Result<Placed, Fault> {
        let by_name = self.exact.get(&name.to_lowercase()).map(|rig| Rig::known(rig));
        let rig = by_name.or_else(|| self.rigs.get(&rig_key(name)).cloned()).unwrap_or_else(|| Rig::new(name));
        let at = rig
            .station
            .as_deref()
            .and_then(|text| self.station_key(text).or_else(|| Some(text.to_owned())))
            .or_else(|| own.map(str::to_owned));
        let Some(at) = at else {
            return Err(Fault::new(
                "unknown-place",
                format!("{name} is not known, and no line says at which station it stands"),
                Some("fill in its station, or add the rig first".into()),
            ));
        };
        let mut note = None;
        if rig.known {
            if let Some(own) = own.filter(|own| *own != at) {
                note = Some(format!(
                    "the line gives {}, but {} stands at {}; it was read as on the rig",
                    self.station_name(own),
                    rig.name,
                    self.station_name(&at)
                ));
            }
        } else {
            self.bear_out(&rig, &at)?;
            if let Some(own) = own.filter(|own| *own != at) {
                let rows = rig.votes.winner().map(|(_, count)| *count);
                return Err(self.differs(&format!("{}, which stands at {}", rig.name, self.station_name(&at)), rows, own));
            }
        }
        let (station, district) = self.station(&at)?;
        let note = note.or_else(|| self.other_district(row, &station, &district));
        let alone = (!rig.known && !rig.meant && rig.rows == 1).then(|| format!("{} is named on this line only; look whether it is meant", rig.name));
        let note = note.or(alone);
        Ok(Placed {
            place: ReadPlace::Rig { rig: rig.name },
            station: Some(station),
            district: Some(district),
            note,
        })
    }

    /// A note where the row gives another district than its station's.
    fn other_district(&self, row: &PlaceCells, station: &str, district: &str) -> Option<String> {
        let given = self
            .districts
            .get(&district_key(&row.district))
            .filter(|given| !given.eq_ignore_ascii_case(district));
        given.map(|given| format!("the line gives {given}, but {station} is in {district}"))
    }

    /// Whether the file bears out a new rig.
    fn bear_out(&self, rig: &Rig, at: &str) -> Result<(), Fault> {
        if rig.meant || self.create == CreatePlaces::All {
            return Ok(());
        }
        let hint = format!(
            "correct the name, add the rig first, write \"Rig: {}\" if it is meant so, or choose to take every rig that the file names",
            rig.name
        );
        let station = self.stations.get(at);
        match (self.numbered, number_of(&rig.name), station.and_then(Station::bare_number)) {
            (true, Some(own), Some(its)) if own == its => Ok(()),
            (true, Some(_), _) => {
                let reason = format!(
                    "{} is not known, and at {} the rigs of this file bear their station's number",
                    rig.name,
                    self.station_name(at)
                );
                Err(Fault::new("unknown-place", reason, Some(hint)))
            }
            _ if rig.rows >= 2 => Ok(()),
            _ => Err(Fault::new(
                "unknown-place",
                format!("{} is not known, and only this line names it", rig.name),
                Some(hint),
            )),
        }
    }

    /// Whether a name is one that the agency has, and the rest of what is kept of it.
    pub(super) fn station_facts(&self, name: &str) -> Option<(bool, Option<String>, Option<String>)> {
        let station = self.stations.get(&self.station_key(name)?)?;
        Some((
            station.known,
            station.number.clone(),
            station.district.clone().or_else(|| self.default_district.map(str::to_owned)),
        ))
    }

    pub(super) fn knows_rig(&self, name: &str) -> bool {
        self.exact.contains_key(&name.to_lowercase())
    }

    pub(super) fn knows_shop(&self, name: &str) -> bool {
        self.known.shops.iter().any(|shop| shop == name)
    }

    pub(super) fn knows_district(&self, name: &str) -> bool {
        self.known.districts.iter().any(|district| district.eq_ignore_ascii_case(name))
    }
}
