use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    MapLines,
    rules::{Area, Line, measured},
    schema::{MapArea, MapLine},
};
use crate::platform::{
    door::{Act, Permission, Reach, RevisionNeed, Write, name},
    error::{self, Fault},
    ids::AgencyId,
    record::Scope,
};

/// Sets the boundaries and roads on the map of everybody of the agency, all of them at once: those that were there before are replaced.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetMapLines {
    /// The agency's own id; any other is refused.
    pub id: AgencyId,
    /// The file that they come from: 1 to 200 characters on one line.
    #[schema(min_length = 1, max_length = 200)]
    pub name: String,
    /// Areas, such as boundaries, as the `coordinates` of a GeoJSON MultiPolygon (RFC 7946): of each area its outline, then the holes in it, each
    /// of two points or more; a point is its longitude and latitude in WGS 84 degrees, and no height. Kept to five decimals, about a metre: send
    /// no more, so that the body stays below 2 MB. With the lines 5,000 at most and 60,000 points along all of them. Left out: none.
    #[serde(default)]
    #[schema(value_type = Vec<MapArea>, max_items = 5000)]
    pub areas: Vec<Area>,
    /// Lines, such as roads, as the `coordinates` of a GeoJSON MultiLineString: of each its points, two or more, as in `areas`. Left out: none; but
    /// there is one area or line at least.
    #[serde(default)]
    #[schema(value_type = Vec<MapLine>, max_items = 5000)]
    pub roads: Vec<Line>,
}

impl Act for SetMapLines {
    const KIND: &'static str = "map_lines.set";
    const SUMMARY: &'static str = "Set the boundaries and roads on the map of everybody of the agency";
    const DONE: &'static str = "Boundaries and roads on the map set";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::NeededToChange("map_lines");
    const UNTOLD: &'static [&'static str] = &["areas", "roads"];

    fn prepare(&mut self) -> Result<(), Fault> {
        self.name = name("body.name", &self.name)?;
        measured(&self.areas, &self.roads).map(|_| ())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        if self.id != write.agency {
            return Err(Fault::new(error::NOT_FOUND, "Map lines go by the agency's own id").at("body.id"));
        }
        if let Some(stored) = write.look::<MapLines>(self.id.0)? {
            write.expects(&stored)?;
        }
        let found = measured(&self.areas, &self.roads)?;
        let number = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        let lines = MapLines {
            id: self.id,
            name: self.name,
            areas: number(self.areas.len()),
            roads: number(self.roads.len()),
            points: number(found.points),
            bounds: found.bounds,
            set_at: write.head.at,
            set_by: write.actor.person(),
            rev: 0,
        };
        write.save(lines, Scope::default())
    }
}

/// Takes the agency's boundaries and roads off everybody's map. Whoever has the lines still can set them again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RemoveMapLines {
    /// The agency's own id.
    pub id: AgencyId,
}

impl Act for RemoveMapLines {
    const KIND: &'static str = "map_lines.remove";
    const SUMMARY: &'static str = "Take the agency's boundaries and roads off the map";
    const DONE: &'static str = "Boundaries and roads taken off the map";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("map_lines");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<MapLines>(self.id.0)?;
        write.expects(&stored)?;
        write.remove::<MapLines>(self.id.0)
    }
}
