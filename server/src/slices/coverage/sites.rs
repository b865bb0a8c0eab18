use std::collections::HashSet;

use fullset_calc::{
    Unwatched,
    coverage::{Place, Places, places},
};
use serde::Serialize;
use utoipa::ToSchema;

use super::County;
use crate::{
    platform::error::{self, Fault},
    slices::stations::StationId,
};

/// Looks that the search may spend: some seconds at most.
const BUDGET: u64 = 1_500_000_000;

/// A station as a place for a reserve set.
#[derive(Debug, Serialize, ToSchema)]
struct Site {
    /// The station, as a place for a reserve set.
    id: StationId,
    /// The station's name; the list is in its order.
    name: String,
    /// Latitude in degrees north (WGS 84), -90 to 90.
    lat: Option<f64>,
    /// Longitude in degrees east (WGS 84), -180 to 180.
    lon: Option<f64>,
    /// Demand that a full set there alone would add.
    gain: f64,
    /// Whether a full rig stands there already.
    has_full: bool,
}

/// Where reserve sets bring most. A set counts as a full rig that is ready to go from there.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReserveSites {
    /// The revision that it shows.
    revision: i64,
    /// Within how many minutes of travel.
    target_minutes: f64,
    /// The stations, by name.
    stations: Vec<Site>,
    /// The best stations for 1, 2, ... sets.
    places: Places,
}

/// The best stations for up to `sets` reserve sets.
pub fn sites(county: &County, revision: i64, sets: usize, target: Option<f64>, detour: Option<f64>) -> Result<ReserveSites, Fault> {
    let refused = |field: &str, words: String| Fault::new(error::QUERY_INVALID, words).at(field);
    if !(1..=20).contains(&sets) {
        return Err(refused("sets", "Ask for 1 to 20 sets".into()));
    }
    let target = target.or(county.demand.as_ref().map(|demand| demand.target_minutes)).unwrap_or(8.0);
    let (zones, rows) = county.minutes(detour)?.map_or_else(Default::default, |(zones, minutes)| (zones, minutes.rows));
    let full: HashSet<StationId> = county
        .rigs
        .iter()
        .filter(|standing| standing.is_full())
        .map(|standing| standing.rig.station)
        .collect();
    let candidates: Vec<Place> = county
        .stations
        .iter()
        .map(|station| Place {
            id: station.id.0,
            full: full.contains(&station.id),
        })
        .collect();
    let best = places(&zones, &candidates, &rows, target, sets, BUDGET, &mut Unwatched).map_err(|unfit| refused("target_minutes", unfit.to_string()))?;
    let stations = county.stations.iter().zip(&best.gains).map(|(station, gain)| Site {
        id: station.id,
        name: station.name.clone(),
        lat: station.lat,
        lon: station.lon,
        gain: *gain,
        has_full: full.contains(&station.id),
    });
    Ok(ReserveSites {
        revision,
        target_minutes: target,
        stations: stations.collect(),
        places: best,
    })
}
