//! Where the lines run.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    MapLines, rows,
    rules::{Area, Line},
    schema::{MapArea, MapLine},
};
use crate::platform::{
    db::Db,
    error::Fault,
    ids::AgencyId,
    record::{self, Record as _},
};

/// Where the agency's boundaries and roads run.
#[derive(Debug, Serialize, ToSchema)]
pub struct MapGeometry {
    /// Areas, as the `coordinates` of a GeoJSON MultiPolygon (RFC 7946): of each its outline, then the holes in it; a point is its longitude and
    /// latitude in WGS 84 degrees, rounded to five decimals, about a metre. An outline need not end where it begins. Empty: there is none.
    #[schema(value_type = Vec<MapArea>, max_items = 5000)]
    pub areas: Vec<Area>,
    /// Lines, as the `coordinates` of a GeoJSON MultiLineString; points as in `areas`. Empty: there is none.
    #[schema(value_type = Vec<MapLine>, max_items = 5000)]
    pub roads: Vec<Line>,
    /// Revision of the record whose lines these are.
    pub rev: i64,
}

/// What the command said of them.
#[derive(Deserialize)]
struct Sent {
    #[serde(default)]
    areas: Vec<Area>,
    #[serde(default)]
    roads: Vec<Line>,
}

/// The lines of now; none where the agency keeps none.
pub fn geometry(db: &mut Db, agency: AgencyId, id: Uuid) -> Result<Option<MapGeometry>, Fault> {
    let Some(row) = record::find(db, agency, MapLines::KIND, id)?.filter(|row| !row.gone) else {
        return Ok(None);
    };
    let Sent { mut areas, mut roads } = serde_json::from_str(&rows::body_of(db, agency, row.rev)?.0)?;
    for place in areas.iter_mut().flatten().chain(&mut roads).flatten() {
        *place = place.rounded();
    }
    Ok(Some(MapGeometry { areas, roads, rev: row.rev }))
}
