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
    cells::{Fault, is_blank, words},
    spots::{Spot, number_of, rig_key},
};
use std::collections::BTreeMap;

pub use super::whereabouts::{CreatePlaces, KnownPlaces, KnownRig, KnownStation, PlaceCells, Placed, ReadPlace};

/// A station of the file.
#[derive(Debug, Clone)]
struct Station {
    name: String,
    number: Option<String>,
    known: bool,
    district: Option<String>,
    votes: Votes,
}

/// A rig of the file.
#[derive(Debug, Clone)]
struct Rig {
    name: String,
    known: bool,
    meant: bool,
    rows: usize,
    station: Option<String>,
    votes: Votes,
}

/// How often each name was given, the first one first among equals.
#[derive(Debug, Clone, Default)]
struct Votes(Vec<(String, usize)>);

impl Votes {
    fn add(&mut self, name: &str) {
        if let Some((_, count)) = self.0.iter_mut().find(|(known, _)| known == name) {
            *count += 1;
        } else if self.0.len() < 64 {
            // Whatever is named with more than these is a mess, and the first ones decide.
            self.0.push((name.to_owned(), 1));
        }
    }

    fn winner(&self) -> Option<&(String, usize)> {
        self.0.iter().rev().max_by_key(|(_, count)| *count)
    }
}

/// The places of one file.
pub struct Places<'a> {
    known: &'a KnownPlaces,
    create: CreatePlaces,
    /// Whether rigs bear their station's number here.
    numbered: bool,
    stations: BTreeMap<String, Station>,
    rigs: BTreeMap<String, Rig>,
    /// The agency's rigs by their names in lower case, which tells `E-1` from `E1`.
    exact: BTreeMap<String, &'a KnownRig>,
    shops: BTreeMap<String, String>,
    districts: BTreeMap<String, String>,
    /// What a bare district number stands behind: "District" or the column's own word.
    district_word: &'a str,
    default_district: Option<&'a str>,
}

impl<'a> Places<'a> {
    /// Gathers what all rows of a file say.
    pub fn gather(rows: &[PlaceCells], known: &'a KnownPlaces, create: CreatePlaces, district_word: &'a str, default_district: Option<&'a str>) -> Self {
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
            let entry = Station { name: station.name.clone(), number: station.number.clone(), known: true, district: Some(station.district.clone()), votes: Votes::default() };
            let number = station.number.as_ref().map(|number| number_key(number)).or_else(|| super::spots::station_number(&station.name));
            all.stations.insert(station.name.to_lowercase(), entry.clone());
            if let Some(number) = number {
                all.stations.entry(format!("#{number}")).or_insert(entry);
            }
        }
        for row in rows {
            all.count(row);
        }
        for station in all.stations.values_mut().filter(|station| station.district.is_none()) {
            station.district = station.votes.winner().map(|(name, _)| name.clone()).or_else(|| default_district.map(str::to_owned));
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

    fn count(&mut self, row: &PlaceCells) {
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
    fn spot(&self, text: &str) -> Spot {
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
    fn station_key(&self, text: &str) -> Option<String> {
        if is_blank(text) {
            return None;
        }
        let lower = text.to_lowercase();
        let by_number = super::spots::station_number(text).map(|number| format!("#{number}"));
        let key = if self.stations.contains_key(&lower) { lower } else { by_number.unwrap_or(lower) };
        // A known station stands under its name and its number; one of the two is its key.
        Some(self.stations.get(&key).filter(|station| station.known).map_or(key, |station| station.name.to_lowercase()))
    }

    fn add_station(&mut self, text: &str) -> Option<String> {
        let key = self.station_key(text)?;
        self.stations.entry(key.clone()).or_insert_with(|| {
            let number = super::spots::station_number(text);
            let name = number.as_ref().map_or_else(|| text.to_owned(), |number| format!("Station {number}"));
            Station { name, number, known: false, district: None, votes: Votes::default() }
        });
        Some(key)
    }

    fn district(&mut self, text: &str) -> String {
        let (key, bare) = (district_key(text), text.chars().all(|c| c.is_ascii_digit()));
        if let Some(name) = self.districts.get(&key) {
            return name.clone();
        }
        let name = if bare { format!("{} {}", self.district_word, number_key(text)) } else { text.to_owned() };
        // "2" and "District 2" are one district.
        let name = self.districts.entry(name.to_lowercase()).or_insert(name).clone();
        self.districts.insert(key, name.clone());
        name
    }

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
            Placed { place, station: station.map(|s| s.name.clone()), district: station.and_then(|s| s.district.clone()), note: None }
        };
        match spot {
            Spot::Rig(name) | Spot::MeantRig(name) => self.on_rig(row, name, own.as_deref()),
            Spot::Shelf(named) => {
                let named = named.as_ref().and_then(|name| self.station_key(name));
                match (named, own) {
                    (Some(named), Some(own)) if named != own => Err(self.differs(&format!("the shelf of {}", self.station_name(&named)), None, &own)),
                    (Some(key), _) | (None, Some(key)) => self.at_station(row, &key, None),
                    (None, None) => Err(Fault::new("no-place", format!("\"{}\" does not say of which station", row.place), Some("name the station, for example Station 8 reserve".into()))),
                }
            }
            Spot::Shop(name) => Ok(elsewhere(ReadPlace::Shop { shop: self.shops.get(&rig_key(name)).unwrap_or(name).clone() })),
            Spot::Vendor(name, due_on) => Ok(elsewhere(ReadPlace::Vendor { name: name.clone(), due_on: *due_on })),
            Spot::Loan(name, due_on) => Ok(elsewhere(ReadPlace::Loan { name: name.clone(), due_on: *due_on })),
            Spot::Retired => Ok(Placed { place: ReadPlace::Retired, station: None, district: None, note: None }),
            Spot::Transit(to) => {
                let to = self.placed(row, &self.spot(to))?;
                if matches!(to.place, ReadPlace::Transit { .. } | ReadPlace::Retired) {
                    return Err(Fault::new("unknown-place", format!("\"{}\" is nowhere that a piece can be on its way to", row.place), None));
                }
                Ok(Placed { place: ReadPlace::Transit { to: Box::new(to.place) }, ..to })
            }
            Spot::Nothing => match own {
                Some(key) => self.at_station(row, &key, Some(format!("no place is given; it was put on the shelf of {}", self.station_name(&key)))),
                None => Err(Fault::new("no-place", "neither a place nor a station is given".into(), Some("write a rig, a station's reserve or a shop".into()))),
            },
            Spot::Unclear(name) if self.create == CreatePlaces::All => self.on_rig(row, name, own.as_deref()),
            Spot::Unclear(name) => Err(Fault::new(
                "unknown-place",
                format!("\"{name}\" is no rig, station or shop that is known"),
                Some(format!("write a rig such as Engine 2, a shelf such as Station 8 reserve, a shop, or \"Rig: {name}\" if it is a rig")),
            )),
        }
    }

    fn at_station(&self, row: &PlaceCells, key: &str, note: Option<String>) -> Result<Placed, Fault> {
        let (station, district) = self.station(key)?;
        let note = note.or_else(|| self.other_district(row, &station, &district));
        Ok(Placed { place: ReadPlace::Shelf { station: station.clone() }, station: Some(station), district: Some(district), note })
    }

    /// A station that is there or can be made: one with a district.
    fn station(&self, key: &str) -> Result<(String, String), Fault> {
        let station = self.stations.get(key);
        let name = station.map_or(key, |station| &station.name);
        match station.and_then(|station| station.district.as_deref()).or(self.default_district) {
            Some(district) => Ok((name.to_owned(), district.to_owned())),
            None => Err(Fault::new("unknown-place", format!("{name} is not known, and no line says which district it is in"), Some("fill in its district, or add the station first".into()))),
        }
    }

    fn station_name<'b>(&'b self, key: &'b str) -> &'b str {
        self.stations.get(key).map_or(key, |station| &station.name)
    }

    fn differs(&self, what: &str, rows: Option<usize>, own: &str) -> Fault {
        let others = rows.map(|rows| format!(" on {rows} other lines")).unwrap_or_default();
        Fault::new("station-differs", format!("the place is {what}{others}, but the station column says {}", self.station_name(own)), Some("correct the place or the station".into()))
    }

    fn on_rig(&self, row: &PlaceCells, name: &str, own: Option<&str>) -> Result<Placed, Fault> {
        let by_name = self.exact.get(&name.to_lowercase()).map(|rig| Rig::known(rig));
        let rig = by_name.or_else(|| self.rigs.get(&rig_key(name)).cloned()).unwrap_or_else(|| Rig::new(name));
        let at = rig.station.as_deref().and_then(|text| self.station_key(text).or_else(|| Some(text.to_owned()))).or_else(|| own.map(str::to_owned));
        let Some(at) = at else {
            return Err(Fault::new("unknown-place", format!("{name} is not known, and no line says at which station it stands"), Some("fill in its station, or add the rig first".into())));
        };
        let mut note = None;
        if rig.known {
            if let Some(own) = own.filter(|own| *own != at) {
                note = Some(format!("the line gives {}, but {} stands at {}; it was read as on the rig", self.station_name(own), rig.name, self.station_name(&at)));
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
        Ok(Placed { place: ReadPlace::Rig { rig: rig.name }, station: Some(station), district: Some(district), note })
    }

    /// A note where the row gives another district than its station's.
    fn other_district(&self, row: &PlaceCells, station: &str, district: &str) -> Option<String> {
        let given = self.districts.get(&district_key(&row.district)).filter(|given| !given.eq_ignore_ascii_case(district));
        given.map(|given| format!("the line gives {given}, but {station} is in {district}"))
    }

    /// Whether the file bears out a new rig.
    fn bear_out(&self, rig: &Rig, at: &str) -> Result<(), Fault> {
        if rig.meant || self.create == CreatePlaces::All {
            return Ok(());
        }
        let hint = format!("correct the name, add the rig first, or write \"Rig: {}\" if it is meant so", rig.name);
        let station = self.stations.get(at);
        match (self.numbered, number_of(&rig.name), station.and_then(Station::bare_number)) {
            (true, Some(own), Some(its)) if own == its => Ok(()),
            (true, Some(_), _) => {
                let reason = format!("{} is not known, and at {} the rigs of this file bear their station's number", rig.name, self.station_name(at));
                Err(Fault::new("unknown-place", reason, Some(hint)))
            }
            _ if rig.rows >= 2 => Ok(()),
            _ => Err(Fault::new("unknown-place", format!("{} is not known, and only this line names it", rig.name), Some(hint))),
        }
    }

    /// Whether a name is one that the agency has, and the rest of what is kept of it.
    pub(super) fn station_facts(&self, name: &str) -> Option<(bool, Option<String>, Option<String>)> {
        let station = self.stations.get(&self.station_key(name)?)?;
        Some((station.known, station.number.clone(), station.district.clone().or_else(|| self.default_district.map(str::to_owned))))
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

impl Station {
    fn bare_number(&self) -> Option<String> {
        self.number.as_ref().map(|number| number_key(number)).or_else(|| number_of(&self.name))
    }
}

impl Rig {
    fn new(name: &str) -> Self {
        Self { name: name.to_owned(), known: false, meant: false, rows: 0, station: None, votes: Votes::default() }
    }

    fn known(rig: &KnownRig) -> Self {
        Self { known: true, station: Some(rig.station.to_lowercase()), ..Self::new(&rig.name) }
    }
}

/// What a district is found by: a bare number, or its name.
fn district_key(text: &str) -> String {
    if text.chars().all(|c| c.is_ascii_digit()) { number_key(text) } else { text.to_lowercase() }
}

/// A number without leading zeros, in lower case.
fn number_key(text: &str) -> String {
    let joined = words(text).concat();
    let plain = joined.trim_start_matches('0');
    if plain.is_empty() { joined } else { plain.to_owned() }
}
