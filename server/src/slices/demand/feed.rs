use std::collections::HashMap;

use fullset_calc::coverage::{Point, Travel};
use serde::{Deserialize, Serialize};
use utoipa::{
    PartialSchema, ToSchema,
    openapi::{
        ArrayBuilder, KnownFormat, ObjectBuilder, RefOr, Schema, SchemaFormat,
        schema::{SchemaType, Type},
    },
};
use uuid::Uuid;

use crate::{
    platform::{
        error::{self, Fault},
        ids::AgencyId,
        record::{Index, Record},
    },
    slices::stations::{Station, StationId},
};

/// The most zones of an agency: places for reserve sets are then still found in seconds.
pub const MOST_ZONES: usize = 2000;
/// The most stations with times of their own.
pub const MOST_STATIONS: usize = 1000;
/// A day: no run takes longer.
pub const MOST_MINUTES: f64 = 1440.0;

/// A part of the area with its demand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DemandZone {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: Uuid,
    /// Its name; no other zone has it.
    pub name: String,
    /// Latitude, WGS 84 degrees.
    #[schema(minimum = -90, maximum = 90)]
    pub lat: f64,
    /// Longitude, WGS 84 degrees.
    #[schema(minimum = -180, maximum = 180)]
    pub lon: f64,
    /// Its demand, in whatever is counted.
    #[schema(minimum = 0)]
    pub weight: f64,
}

impl DemandZone {
    /// Where it is.
    pub fn point(&self) -> Point {
        Point { lat: self.lat, lon: self.lon }
    }
}

/// The times to a zone, for the document: a list in a list says there how long it is.
#[derive(Debug)]
pub struct TravelTimesRow;

impl PartialSchema for TravelTimesRow {
    fn schema() -> RefOr<Schema> {
        let minutes = ObjectBuilder::new()
            .schema_type(SchemaType::from_iter([Type::Number, Type::Null]))
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::Double)))
            .minimum(Some(0.0))
            .maximum(Some(MOST_MINUTES));
        ArrayBuilder::new()
            .items(minutes)
            .max_items(Some(MOST_STATIONS))
            .description(Some(
                "The minutes to a zone, one for each station in their order; null where nobody knows and the curve is used.",
            ))
            .into()
    }
}

impl ToSchema for TravelTimesRow {}

/// Minutes from stations to zones that were measured or come from a road network.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TravelTimes {
    /// Where they come from.
    pub source: String,
    /// The stations, one for each column, 1,000 at most.
    #[schema(max_items = 1000)]
    pub stations: Vec<StationId>,
    /// A row for each zone, in the order of the zones; null where nobody knows and the curve is used.
    #[schema(value_type = Vec<TravelTimesRow>, max_items = 2000)]
    pub minutes: Vec<Vec<Option<f64>>>,
}

/// Where crashes happen, and how long rigs take to get there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Demand {
    /// The agency's own id: it has one record of demand.
    pub id: AgencyId,
    /// Where the figures come from.
    pub source: String,
    /// What a weight counts, such as "crashes a year".
    pub counts: String,
    /// Within how many minutes of travel a full rig should be there.
    pub target_minutes: f64,
    /// Road distance over straight distance, where the curve is used.
    pub detour: f64,
    /// The zones with their demand, 2,000 at most; rows of times go by their order.
    #[schema(max_items = 2000)]
    pub zones: Vec<DemandZone>,
    /// Times that go before the curve.
    pub times: Option<TravelTimes>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Demand {
    const KIND: &'static str = "demand";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.source.clone(),
            ..Index::default()
        }
    }
}

/// Minutes from stations (columns) to zones (rows).
#[derive(Debug)]
pub struct Minutes {
    /// A row for each zone.
    pub rows: Vec<Vec<f64>>,
    /// How many of them were given.
    pub measured: usize,
    /// How many are by the curve.
    pub by_curve: usize,
}

impl Demand {
    /// The minutes from some stations, by the times given, else by the published curve over the straight distance times
    /// the detour factor. A station without a point that has no time given gets nowhere.
    pub fn minutes(&self, stations: &[&Station], detour: f64) -> Result<Minutes, Fault> {
        let travel = Travel::published(detour).map_err(|unfit| Fault::new(error::QUERY_INVALID, unfit.to_string()).at("detour"))?;
        let columns: HashMap<StationId, usize> = self.times.iter().flat_map(|times| times.stations.iter().copied().zip(0..)).collect();
        let (mut measured, mut by_curve) = (0, 0);
        let mut rows = Vec::with_capacity(self.zones.len());
        for (at, zone) in self.zones.iter().enumerate() {
            let given = self.times.as_ref().and_then(|times| times.minutes.get(at));
            let row = stations.iter().map(|station| {
                let column = columns.get(&station.id);
                if let Some(minutes) = column.and_then(|column| *given?.get(*column)?) {
                    measured += 1;
                    return minutes;
                }
                let Some(point) = station.point() else {
                    return f64::INFINITY;
                };
                by_curve += 1;
                travel.minutes(point, zone.point())
            });
            rows.push(row.collect());
        }
        Ok(Minutes { rows, measured, by_curve })
    }
}
