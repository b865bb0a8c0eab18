use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::{
    ids::AgencyId,
    person::Person,
    record::{Index, Record},
};

/// The smallest box along meridians and parallels that holds all lines. Of lines on both sides of the 180th meridian it goes round the earth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct MapLinesBounds {
    /// The least latitude, WGS 84 degrees.
    #[schema(minimum = -90, maximum = 90)]
    pub south: f64,
    /// The least longitude, WGS 84 degrees.
    #[schema(minimum = -180, maximum = 180)]
    pub west: f64,
    /// The greatest latitude, WGS 84 degrees.
    #[schema(minimum = -90, maximum = 90)]
    pub north: f64,
    /// The greatest longitude, WGS 84 degrees.
    #[schema(minimum = -180, maximum = 180)]
    pub east: f64,
}

/// The agency's own boundaries and roads on its map, without where they run: `GET /v1/map-lines/{id}/geometry` has that. There is no record
/// where the agency keeps none.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct MapLines {
    /// The agency's own id: it has one record of map lines.
    pub id: AgencyId,
    /// The file that they come from, as whoever set them named it: 1 to 200 characters.
    #[schema(min_length = 1, max_length = 200)]
    pub name: String,
    /// How many of them are areas, such as boundaries, 0 to 5,000; an area in several parts counts for each part.
    #[schema(minimum = 0, maximum = 5000)]
    pub areas: u32,
    /// How many of them are lines, such as roads, 0 to 5,000. Areas and lines are 5,000 at most together.
    #[schema(minimum = 0, maximum = 5000)]
    pub roads: u32,
    /// How many points lie along all of them, 2 to 60,000.
    #[schema(minimum = 2, maximum = 60000)]
    pub points: u32,
    /// Where they lie.
    pub bounds: MapLinesBounds,
    /// When they were set (UTC).
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub set_at: DateTime<Utc>,
    /// Who set them.
    pub set_by: Person,
    /// Revision of the last change, which is that of the command that set these lines.
    pub rev: i64,
}

impl Record for MapLines {
    const KIND: &'static str = "map_lines";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            ..Index::default()
        }
    }
}
