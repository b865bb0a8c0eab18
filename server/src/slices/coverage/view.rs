use chrono::{DateTime, Utc};
use fullset_calc::{
    capability::Level,
    coverage::{self as calc, RigReach},
    percent,
};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{County, Standing, api::CoverageQuery};
use crate::{
    platform::{
        error::{self, Fault},
        past::Then,
    },
    slices::{districts::DistrictId, rigs::RigId, stations::StationId},
};

/// A rig on the map.
#[derive(Debug, Serialize, ToSchema)]
struct OnMap {
    /// The rig on the map.
    id: RigId,
    /// The rig's name at the revision that is shown.
    name: String,
    /// The station that the rig belongs to.
    station: StationId,
    /// The name of the station that the rig belongs to.
    station_name: String,
    /// The district that the rig's station lies in.
    district: DistrictId,
    /// Latitude of its station; null where only times are known.
    lat: Option<f64>,
    /// Longitude of its station.
    lon: Option<f64>,
    /// The level that the rig is at; none where it is not known.
    level: Level,
}

/// A zone and who is there first.
#[derive(Debug, Serialize, ToSchema)]
struct ZoneLine {
    /// The demand zone that the line is about.
    id: Uuid,
    /// What the demand zone is called.
    name: String,
    /// Latitude in degrees north (WGS 84), -90 to 90.
    lat: f64,
    /// Longitude in degrees east (WGS 84), -180 to 180.
    lon: f64,
    /// The demand of the zone, counted as `counts` says.
    weight: f64,
    /// The district of the station that is nearest by minutes.
    district: Option<DistrictId>,
    /// The full rig that is there first within the target.
    first: Option<RigId>,
    /// Minutes of travel of `first`; null where there is none.
    first_minutes: Option<f64>,
    /// The second one within the target.
    second: Option<RigId>,
    /// Minutes of travel of `second`; null where there is none.
    second_minutes: Option<f64>,
    /// Minutes of the quickest rig of any level, within the target or not.
    nearest_minutes: Option<f64>,
}

/// What a district's zones come to.
#[derive(Debug, Serialize, ToSchema)]
struct DistrictReach {
    /// The district that the line is about.
    id: DistrictId,
    /// The district's name at the revision that is shown.
    name: String,
    /// Demand of the zones that are nearest to its stations.
    weight: f64,
    /// Of it, what a full rig reaches within the target.
    first: f64,
    /// Of it, what two full rigs reach.
    second: f64,
    /// First as a share; null without demand.
    first_share: Option<f64>,
    /// Second as a share.
    second_share: Option<f64>,
    /// The same in a sentence for people.
    words: String,
}

/// A rig that counts nowhere.
#[derive(Debug, Serialize, ToSchema)]
struct LeftOut {
    /// The rig that counts nowhere.
    rig: RigId,
    /// The rig's name at the revision that is shown.
    name: String,
    /// Why, and what to do.
    words: String,
}

/// Reach of all full rigs.
#[derive(Debug, Serialize, ToSchema)]
pub struct CoverageView {
    /// The revision that it shows.
    revision: i64,
    /// When it was read, or the instant that was asked of.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// Within how many minutes of travel.
    target_minutes: f64,
    /// Road distance over straight distance, where the curve is used.
    detour: f64,
    /// What a weight counts; null without zones.
    counts: Option<String>,
    /// How many times from a station to a zone were given.
    measured: usize,
    /// How many are by the published curve.
    by_curve: usize,
    /// The rigs that count, by name.
    rigs: Vec<OnMap>,
    /// The demand zones, in the order in which they are on record.
    zones: Vec<ZoneLine>,
    /// The districts, by name.
    districts: Vec<DistrictReach>,
    /// Demand of all zones.
    total: f64,
    /// What a full rig reaches within the target.
    first: f64,
    /// The same as a share of the total.
    first_share: f64,
    /// What two full rigs reach.
    second: f64,
    /// The same as a share of the total.
    second_share: f64,
    /// For each full rig what is lost when it drops, most first.
    losses: Vec<RigReach>,
    /// For each other rig what is gained when it is made full, most first.
    gains: Vec<RigReach>,
    /// Reserve rigs, and rigs whose station has no point and no times.
    left_out: Vec<LeftOut>,
    /// The same in a sentence for people.
    words: String,
}

fn share(part: f64, of: f64) -> Option<f64> {
    (of > 0.0).then(|| part / of)
}

/// Works out the coverage of the county.
pub fn coverage(county: &County, then: Then, asked: &CoverageQuery) -> Result<CoverageView, Fault> {
    let told = county.demand.as_ref();
    let target = asked.target_minutes.or(told.map(|demand| demand.target_minutes)).unwrap_or(8.0);
    let detour = asked.detour.or(told.map(|demand| demand.detour)).unwrap_or(1.3);
    let found = county.minutes(Some(detour))?;
    let none = found.is_none();
    let (zones, minutes, measured, by_curve) = match found {
        Some((zones, minutes)) => (zones, minutes.rows, minutes.measured, minutes.by_curve),
        None => (Vec::new(), Vec::new(), 0, 0),
    };
    let column_of = county.column_of();
    // With zones a rig counts when any of them can be reached from its station at all.
    let reaches = |column: usize| minutes.iter().any(|row| row.get(column).is_some_and(|minutes| minutes.is_finite()));
    let (counted, out): (Vec<(&Standing, usize)>, Vec<_>) = county
        .rigs
        .iter()
        .filter_map(|standing| Some((standing, *column_of.get(&standing.rig.station.0)?)))
        .partition(|(standing, column)| {
            let station = county.station(standing.rig.station);
            standing.is_front_line() && (station.is_some_and(|station| station.lat.is_some()) || reaches(*column))
        });
    let rigs: Vec<calc::Rig> = counted
        .iter()
        .map(|(standing, _)| calc::Rig {
            id: standing.rig.id.0,
            name: standing.rig.name.clone(),
            full: standing.is_full(),
        })
        .collect();
    let by_rig: Vec<Vec<f64>> = minutes
        .iter()
        .map(|row| counted.iter().map(|(_, column)| row.get(*column).copied().unwrap_or(f64::INFINITY)).collect())
        .collect();
    let answer = calc::coverage(&zones, &rigs, &by_rig, target).map_err(|unfit| Fault::new(error::QUERY_INVALID, unfit.to_string()).at("target_minutes"))?;
    let nearest = |row: &[f64]| {
        (0_usize..)
            .zip(row.iter().copied())
            .filter(|(_, minutes)| minutes.is_finite())
            .min_by(|a, b| a.1.total_cmp(&b.1))
    };
    let zones: Vec<ZoneLine> = told
        .iter()
        .flat_map(|demand| &demand.zones)
        .zip(&answer.zones)
        .zip(minutes.iter().zip(&by_rig))
        .map(|((zone, reach), (by_station, by_rig))| ZoneLine {
            id: zone.id,
            name: zone.name.clone(),
            lat: zone.lat,
            lon: zone.lon,
            weight: zone.weight,
            district: nearest(by_station).and_then(|(at, _)| county.stations.get(at)).map(|station| station.district),
            first: reach.first.map(RigId),
            first_minutes: reach.first_minutes,
            second: reach.second.map(RigId),
            second_minutes: reach.second_minutes,
            nearest_minutes: nearest(by_rig).map(|(_, minutes)| minutes),
        })
        .collect();
    let districts = county.districts.iter().map(|district| {
        let of = || zones.iter().filter(|zone| zone.district == Some(district.id));
        let sum = |counts: fn(&ZoneLine) -> bool| of().filter(|zone| counts(zone)).fold(0.0, |sum, zone| sum + zone.weight);
        let (weight, first, second) = (sum(|_| true), sum(|zone| zone.first.is_some()), sum(|zone| zone.second.is_some()));
        DistrictReach {
            id: district.id,
            name: district.name.clone(),
            weight,
            first,
            second,
            first_share: share(first, weight),
            second_share: share(second, weight),
            words: match (share(first, weight), share(second, weight)) {
                (Some(first), Some(second)) => format!("A full rig reaches {} of the demand in time, a second one {}.", percent(first), percent(second)),
                _ => "No demand zone is nearest to its stations.".to_owned(),
            },
        }
    });
    let words = if none {
        "There are no demand zones yet: bring them in as a table or as GeoJSON, then this says what full rigs reach.".to_owned()
    } else {
        format!(
            "Full rigs reach {} of the demand within {target} minutes of travel, a second one {}, if they are at home and free.",
            percent(answer.first_share),
            percent(answer.second_share)
        )
    };
    Ok(CoverageView {
        revision: then.revision,
        at: then.at,
        target_minutes: target,
        detour,
        counts: told.map(|demand| demand.counts.clone()),
        measured,
        by_curve,
        rigs: counted
            .iter()
            .filter_map(|(standing, _)| {
                let station = county.station(standing.rig.station)?;
                Some(OnMap {
                    id: standing.rig.id,
                    name: standing.rig.name.clone(),
                    station: station.id,
                    station_name: station.name.clone(),
                    district: station.district,
                    lat: station.lat,
                    lon: station.lon,
                    level: standing.level,
                })
            })
            .collect(),
        districts: districts.collect(),
        zones,
        total: answer.total,
        first: answer.first,
        first_share: answer.first_share,
        second: answer.second,
        second_share: answer.second_share,
        losses: answer.losses,
        gains: answer.gains,
        left_out: out
            .iter()
            .map(|(standing, _)| LeftOut {
                rig: standing.rig.id,
                name: standing.rig.name.clone(),
                words: if standing.is_front_line() {
                    "Its station has no point and no travel times: give the station a latitude and a longitude."
                } else {
                    "It is a reserve rig, and nobody rides out with it: it counts once it is in the front line."
                }
                .to_owned(),
            })
            .collect(),
        words,
    })
}
