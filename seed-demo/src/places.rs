//! Districts, stations and rigs of a county that does not exist.

use crate::{catalogue::Family, classes::Class};

/// A group of stations.
#[derive(Debug)]
pub struct District {
    pub name: &'static str,
    /// How many full rigs it needs at least.
    pub min_full: u32,
}

pub const OLD_TOWN: &str = "Old Town";
pub const RIVER_FLATS: &str = "River Flats";
pub const NORTH_BENCH: &str = "North Bench";
pub const HIGH_COUNTRY: &str = "High Country";
pub const SALLOW_CREEK: &str = "Sallow Creek";

pub const DISTRICTS: &[District] = &[
    district(OLD_TOWN, 6),
    district(RIVER_FLATS, 5),
    district(NORTH_BENCH, 4),
    district(HIGH_COUNTRY, 2),
    district(SALLOW_CREEK, 1),
];

const fn district(name: &'static str, min_full: u32) -> District {
    District { name, min_full }
}

/// A fire house.
#[derive(Debug)]
pub struct Station {
    pub number: u8,
    pub name: &'static str,
    pub district: &'static str,
    pub lat: f64,
    pub lon: f64,
}

const fn station(number: u8, name: &'static str, district: &'static str, lat: f64, lon: f64) -> Station {
    Station {
        number,
        name,
        district,
        lat,
        lon,
    }
}

pub const STATIONS: &[Station] = &[
    station(1, "Station 1 Tannery Row", OLD_TOWN, 42.2112, -108.3040),
    station(2, "Station 2 Lantern Hill", OLD_TOWN, 42.2251, -108.2876),
    station(3, "Station 3 Bell Foundry", OLD_TOWN, 42.1987, -108.2791),
    station(4, "Station 4 Cinder Lane", OLD_TOWN, 42.2040, -108.3347),
    station(5, "Station 5 Roundhouse", OLD_TOWN, 42.1829, -108.3102),
    station(6, "Station 6 Orchard Steps", OLD_TOWN, 42.2318, -108.3254),
    station(7, "Station 7 Customs Yard", OLD_TOWN, 42.1904, -108.3518),
    station(8, "Station 8 Ferry Landing", RIVER_FLATS, 42.1506, -108.2610),
    station(9, "Station 9 Sugar Mill", RIVER_FLATS, 42.1377, -108.2235),
    station(10, "Station 10 Willow Ditch", RIVER_FLATS, 42.1655, -108.2158),
    station(11, "Station 11 Stockyards", RIVER_FLATS, 42.1218, -108.2724),
    station(12, "Station 12 Heron Levee", RIVER_FLATS, 42.1093, -108.1987),
    station(13, "Station 13 Airfield", RIVER_FLATS, 42.1462, -108.1702),
    station(14, "Station 14 Brickfield", RIVER_FLATS, 42.0951, -108.2403),
    station(15, "Station 15 Quarry Gate", NORTH_BENCH, 42.2874, -108.2967),
    station(16, "Station 16 Terrace", NORTH_BENCH, 42.3015, -108.2512),
    station(17, "Station 17 Windmill Draw", NORTH_BENCH, 42.3188, -108.3271),
    station(18, "Station 18 Gravel Pits", NORTH_BENCH, 42.2793, -108.3659),
    station(19, "Station 19 Sheepfold", NORTH_BENCH, 42.3467, -108.2836),
    station(20, "Station 20 Reservoir", NORTH_BENCH, 42.3302, -108.2093),
    station(21, "Station 21 Larch Summit", HIGH_COUNTRY, 42.4216, -108.4105),
    station(22, "Station 22 Old Toll House", HIGH_COUNTRY, 42.3981, -108.4877),
    station(23, "Station 23 Sawpit", HIGH_COUNTRY, 42.4538, -108.3572),
    station(24, "Station 24 Ski Hut Road", HIGH_COUNTRY, 42.4809, -108.4551),
    station(25, "Station 25 Sallow Bridge", SALLOW_CREEK, 42.0324, -108.5216),
    station(26, "Station 26 Salt Works", SALLOW_CREEK, 41.9687, -108.5903),
];

/// A vehicle that carries tools.
#[derive(Debug)]
pub struct Rig {
    pub name: &'static str,
    pub station: u8,
    pub class: Class,
    /// What its hose-fed tools, or its battery tools, belong to.
    pub family: Family,
    pub duty: Duty,
}

/// What a rig is there for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Duty {
    FrontLine,
    ReadyReserve,
    StrippedReserve,
}

impl Duty {
    /// The name on the wire.
    pub const fn wire(self) -> &'static str {
        match self {
            Self::FrontLine => "front_line",
            Self::ReadyReserve => "ready_reserve",
            Self::StrippedReserve => "stripped_reserve",
        }
    }
}

const fn engine(name: &'static str, station: u8, family: Family) -> Rig {
    Rig {
        name,
        station,
        class: Class::RescueEngine,
        family,
        duty: Duty::FrontLine,
    }
}

const fn ladder(name: &'static str, station: u8, family: Family) -> Rig {
    Rig {
        name,
        station,
        class: Class::Ladder,
        family,
        duty: Duty::FrontLine,
    }
}

const fn rescue(name: &'static str, station: u8) -> Rig {
    Rig {
        name,
        station,
        class: Class::HeavyRescue,
        family: Family::Push,
        duty: Duty::FrontLine,
    }
}

const fn reserve(name: &'static str, station: u8, duty: Duty) -> Rig {
    Rig {
        duty,
        ..engine(name, station, Family::Push)
    }
}

pub const RIGS: &[Rig] = &[
    engine("Engine 1", 1, Family::Push),
    ladder("Ladder 1", 1, Family::Pack54),
    rescue("Rescue 1", 1),
    engine("Engine 2", 2, Family::Push),
    engine("Engine 3", 3, Family::Push),
    ladder("Ladder 3", 3, Family::Pack54),
    engine("Engine 4", 4, Family::Push),
    engine("Engine 5", 5, Family::Push),
    ladder("Ladder 5", 5, Family::Pack54),
    engine("Engine 6", 6, Family::Push),
    engine("Engine 7", 7, Family::Bayonet),
    engine("Engine 8", 8, Family::Push),
    rescue("Rescue 8", 8),
    engine("Engine 9", 9, Family::Push),
    ladder("Ladder 9", 9, Family::Pack54),
    engine("Engine 10", 10, Family::Push),
    engine("Engine 11", 11, Family::Push),
    ladder("Ladder 11", 11, Family::Pack54),
    engine("Engine 12", 12, Family::Bayonet),
    engine("Engine 13", 13, Family::Bayonet),
    ladder("Ladder 13", 13, Family::Pack54),
    engine("Engine 14", 14, Family::Push),
    engine("Engine 15", 15, Family::Push),
    rescue("Rescue 15", 15),
    engine("Engine 16", 16, Family::Push),
    ladder("Ladder 16", 16, Family::Pack54),
    engine("Engine 17", 17, Family::Bayonet),
    engine("Engine 18", 18, Family::Bayonet),
    ladder("Ladder 18", 18, Family::Pack36),
    engine("Engine 19", 19, Family::Twin),
    ladder("Ladder 20", 20, Family::Pack36),
    engine("Engine 21", 21, Family::Ester),
    rescue("Rescue 21", 21),
    engine("Engine 22", 22, Family::Twin),
    engine("Engine 23", 23, Family::Ester),
    ladder("Ladder 23", 23, Family::Pack54),
    ladder("Ladder 24", 24, Family::Pack36),
    engine("Engine 25", 25, Family::Bayonet),
    engine("Engine 26", 26, Family::Push),
    ladder("Ladder 26", 26, Family::Pack54),
    reserve("Engine 51", 11, Duty::ReadyReserve),
    reserve("Engine 52", 5, Duty::StrippedReserve),
];

/// The station of a number.
pub fn station_of(number: u8) -> Option<&'static Station> {
    STATIONS.iter().find(|station| station.number == number)
}
