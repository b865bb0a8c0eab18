//! Places by their names: where a piece is, which places the agency has, and what all rows of a file say of them.
//!
//! This module counts; what the count bears out is judged in [`places`](super::places).

use super::{
    cells::{is_blank, words},
    spots::{Spot, number_of, rig_key, station_number},
};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Where a piece is, by names; the names are those under "places", or known to the agency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadPlace {
    /// On a rig.
    Rig {
        /// Its name.
        rig: String,
    },
    /// On a station's reserve shelf.
    Shelf {
        /// The station's name.
        station: String,
    },
    /// In a shop.
    Shop {
        /// Its name.
        shop: String,
    },
    /// With somebody outside who mends or tests it.
    Vendor {
        /// Who.
        name: String,
        /// When it is due back.
        due_on: Option<NaiveDate>,
    },
    /// Lent to somebody outside the agency.
    Loan {
        /// To whom.
        name: String,
        /// When it is due back.
        due_on: Option<NaiveDate>,
    },
    /// On its way.
    Transit {
        /// Where to.
        to: Box<ReadPlace>,
    },
    /// Out of the register.
    Retired,
}

/// Which new rigs and stations a file may bring in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum CreatePlaces {
    /// Those that the file bears out.
    #[default]
    ByEvidence,
    /// Every one that is named.
    All,
}

/// A station that the agency has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownStation {
    /// Name of the station, as the agency writes it.
    pub name: String,
    /// Its number, as the agency writes it.
    pub number: Option<String>,
    /// Name of the district that the station is in.
    pub district: String,
}

/// A rig that the agency has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownRig {
    /// Name of the rig, as the agency writes it.
    pub name: String,
    /// Name of the station that the rig belongs to.
    pub station: String,
}

/// The places that the agency has.
#[derive(Debug, Clone, Default)]
pub struct KnownPlaces {
    /// Names of the agency's districts, as it writes them.
    pub districts: Vec<String>,
    /// The agency's stations, each with its district.
    pub stations: Vec<KnownStation>,
    /// The agency's rigs, each with its station.
    pub rigs: Vec<KnownRig>,
    /// Names of the agency's shops, as it writes them.
    pub shops: Vec<String>,
}

/// What one row says about its place.
#[derive(Debug, Clone, Default)]
pub struct PlaceCells {
    /// Rig, shelf or shop.
    pub place: String,
    /// What the row's station cell says; blank where it says nothing.
    pub station: String,
    /// What the row's district cell says; blank where it says nothing.
    pub district: String,
}

/// Where a row's piece is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed {
    /// The place that the row's words were read as.
    pub place: ReadPlace,
    /// The name of the station that it belongs to, where that is known.
    pub station: Option<String>,
    /// The name of that station's district.
    pub district: Option<String>,
    /// What was read otherwise than it stands there.
    pub note: Option<String>,
}

/// A station of the file.
#[derive(Debug, Clone)]
pub(super) struct Station {
    pub(super) name: String,
    pub(super) number: Option<String>,
    pub(super) known: bool,
    pub(super) district: Option<String>,
    pub(super) votes: Votes,
}

/// A rig of the file.
#[derive(Debug, Clone)]
pub(super) struct Rig {
    pub(super) name: String,
    pub(super) known: bool,
    pub(super) meant: bool,
    pub(super) rows: usize,
    pub(super) station: Option<String>,
    pub(super) votes: Votes,
}

/// How often each name was given, the first one first among equals.
#[derive(Debug, Clone, Default)]
pub(super) struct Votes(Vec<(String, usize)>);

impl Votes {
    pub(super) fn add(&mut self, name: &str) {
        if let Some((_, count)) = self.0.iter_mut().find(|(known, _)| known == name) {
            *count += 1;
        } else if self.0.len() < 64 {
            // Whatever is named with more than these is a mess, and the first ones decide.
            self.0.push((name.to_owned(), 1));
        }
    }

    pub(super) fn winner(&self) -> Option<&(String, usize)> {
        self.0.iter().rev().max_by_key(|(_, count)| *count)
    }
}

/// The places of one file.
pub struct Places<'a> {
    pub(super) known: &'a KnownPlaces,
    pub(super) create: CreatePlaces,
    /// Whether rigs bear their station's number here.
    pub(super) numbered: bool,
    pub(super) stations: BTreeMap<String, Station>,
    pub(super) rigs: BTreeMap<String, Rig>,
    /// The agency's rigs by their names in lower case, which tells `E-1` from `E1`.
    pub(super) exact: BTreeMap<String, &'a KnownRig>,
    pub(super) shops: BTreeMap<String, String>,
    pub(super) districts: BTreeMap<String, String>,
    /// What a bare district number stands behind: "District" or the column's own word.
    pub(super) district_word: &'a str,
    pub(super) default_district: Option<&'a str>,
}

impl<'a> Places<'a> {
    /// Gathers what all rows of a file say.
    pub fn gather<'b>(
        rows: impl Iterator<Item = &'b PlaceCells> + Clone,
        known: &'a KnownPlaces,
        create: CreatePlaces,
        district_word: &'a str,
        default_district: Option<&'a str>,
    ) -> Self {
        let mut all = Self {
            known,
            create,
            numbered: false,
            stations: BTreeMap::new(),
            rigs: known.rigs.iter().map(|rig| (rig_key(&rig.name), Rig::known(rig))).collect(),
            exact: known.rigs.iter().map(|rig| (rig.name.to_lowercase(), rig)).collect(),
            shops: known.shops.iter().map(|shop| (rig_key(shop), shop.clone())).collect(),
            districts: BTreeMap::new(),
            district_word,
            default_district,
        };
        for district in &known.districts {
            all.districts.insert(district.to_lowercase(), district.clone());
        }
        for district in &known.districts {
            // A bare number finds a known "Battalion 3".
            if let Some(number) = number_of(district) {
                all.districts.entry(number).or_insert_with(|| district.clone());
            }
        }
        for station in &known.stations {
            let entry = Station {
                name: station.name.clone(),
                number: station.number.clone(),
                known: true,
                district: Some(station.district.clone()),
                votes: Votes::default(),
            };
            let number = station
                .number
                .as_ref()
                .map(|number| number_key(number))
                .or_else(|| station_number(&station.name));
            all.stations.insert(station.name.to_lowercase(), entry.clone());
            if let Some(number) = number {
                all.stations.entry(format!("#{number}")).or_insert(entry);
            }
        }
        for row in rows.clone() {
            all.count(row);
        }
        for station in all.stations.values_mut().filter(|station| station.district.is_none()) {
            station.district = station
                .votes
                .winner()
                .map(|(name, _)| name.clone())
                .or_else(|| default_district.map(str::to_owned));
        }
        let mut seen = (0_usize, 0_usize);
        for rig in all.rigs.values_mut() {
            if rig.station.is_none() {
                rig.station = rig.votes.winner().map(|(key, _)| key.clone());
            }
            if rig.rows > 0 {
                seen.0 += 1;
                let number = rig.station.as_ref().and_then(|key| all.stations.get(key)).and_then(Station::bare_number);
                seen.1 += usize::from(number.is_some() && number == number_of(&rig.name));
            }
        }
        all.numbered = seen.0 >= 5 && seen.1 * 10 >= seen.0 * 9;
        all
    }

    pub(super) fn count(&mut self, row: &PlaceCells) {
        let named = self.spot(&row.place);
        // A piece on its way names where it goes.
        let spot = if let Spot::Transit(to) = &named { self.spot(to) } else { named };
        let station = match &spot {
            Spot::Shelf(Some(name)) if is_blank(&row.station) => self.add_station(name),
            Spot::Shelf(Some(name)) => {
                self.add_station(name);
                self.add_station(&row.station)
            }
            _ => self.add_station(&row.station),
        };
        if let (Some(key), false) = (&station, is_blank(&row.district)) {
            let district = self.district(&row.district);
            if let Some(station) = self.stations.get_mut(key) {
                station.votes.add(&district);
            }
        }
        if let Spot::Shop(name) = &spot {
            self.shops.entry(rig_key(name)).or_insert_with(|| name.clone());
        }
        let unclear = |spot: &Spot| matches!(spot, Spot::Unclear(_)) && self.create == CreatePlaces::All;
        if let Some((name, meant)) = spot.rig().or_else(|| unclear(&spot).then_some((row.place.as_str(), false))) {
            let rig = self.rigs.entry(rig_key(name)).or_insert_with(|| Rig::new(name));
            rig.rows += 1;
            rig.meant |= meant;
            if let Some(key) = station {
                rig.votes.add(&key);
            }
        }
    }

    /// What the text of a place means, with the agency's own names known.
    pub(super) fn spot(&self, text: &str) -> Spot {
        let key = rig_key(text);
        if let Some(rig) = self.exact.get(&text.to_lowercase()) {
            return Spot::Rig(rig.name.clone());
        }
        match (self.rigs.get(&key).filter(|rig| rig.known), self.shops.get(&key)) {
            (Some(rig), _) => Spot::Rig(rig.name.clone()),
            (None, Some(shop)) => Spot::Shop(shop.clone()),
            (None, None) => Spot::read(text, &|name| self.stations.get(&name.to_lowercase()).is_some_and(|station| station.known)),
        }
    }

    /// The key of a station, by its number before its name.
    pub(super) fn station_key(&self, text: &str) -> Option<String> {
        if is_blank(text) {
            return None;
        }
        let lower = text.to_lowercase();
        let by_number = station_number(text).map(|number| format!("#{number}"));
        let key = if self.stations.contains_key(&lower) {
            lower
        } else {
            by_number.unwrap_or(lower)
        };
        // A known station stands under its name and its number; one of the two is its key.
        Some(
            self.stations
                .get(&key)
                .filter(|station| station.known)
                .map_or(key, |station| station.name.to_lowercase()),
        )
    }

    pub(super) fn add_station(&mut self, text: &str) -> Option<String> {
        let key = self.station_key(text)?;
        self.stations.entry(key.clone()).or_insert_with(|| {
            let number = station_number(text);
            let name = number.as_ref().map_or_else(|| text.to_owned(), |number| format!("Station {number}"));
            Station {
                name,
                number,
                known: false,
                district: None,
                votes: Votes::default(),
            }
        });
        Some(key)
    }

    pub(super) fn district(&mut self, text: &str) -> String {
        let (key, bare) = (district_key(text), text.chars().all(|c| c.is_ascii_digit()));
        if let Some(name) = self.districts.get(&key) {
            return name.clone();
        }
        let name = if bare {
            format!("{} {}", self.district_word, number_key(text))
        } else {
            text.to_owned()
        };
        // "2" and "District 2" are one district.
        let name = self.districts.entry(name.to_lowercase()).or_insert(name).clone();
        self.districts.insert(key, name.clone());
        name
    }
}

impl Station {
    pub(super) fn bare_number(&self) -> Option<String> {
        self.number.as_ref().map(|number| number_key(number)).or_else(|| number_of(&self.name))
    }
}

impl Rig {
    pub(super) fn new(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            known: false,
            meant: false,
            rows: 0,
            station: None,
            votes: Votes::default(),
        }
    }

    pub(super) fn known(rig: &KnownRig) -> Self {
        Self {
            known: true,
            station: Some(rig.station.to_lowercase()),
            ..Self::new(&rig.name)
        }
    }
}

/// What a district is found by: a bare number, or its name.
pub(super) fn district_key(text: &str) -> String {
    if text.chars().all(|c| c.is_ascii_digit()) {
        number_key(text)
    } else {
        text.to_lowercase()
    }
}

/// A number without leading zeros, in lower case.
pub(super) fn number_key(text: &str) -> String {
    let joined = words(text).concat();
    let plain = joined.trim_start_matches('0');
    if plain.is_empty() { joined } else { plain.to_owned() }
}
