use fullset_calc::coverage::Point;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::record::{Index, Record},
    slices::districts::DistrictId,
};

crate::id!(
    /// A station.
    StationId
);

/// A fire house.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Station {
    /// The UUID that the station was added under; it never changes.
    pub id: StationId,
    /// Its name; no other station has it.
    pub name: String,
    /// Its number, as the agency writes it.
    pub number: Option<String>,
    /// Id of its district.
    pub district: DistrictId,
    /// Latitude, WGS 84 degrees.
    pub lat: Option<f64>,
    /// Longitude, WGS 84 degrees.
    pub lon: Option<f64>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Station {
    /// Where it is; none where nobody has said.
    pub fn point(&self) -> Option<Point> {
        let (lat, lon) = self.lat.zip(self.lon)?;
        Some(Point { lat, lon })
    }
}

impl Record for Station {
    const KIND: &'static str = "station";
    const EVERYWHERE: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(self.name.to_lowercase()),
            mark: None,
            state: String::new(),
            parent: Some(self.district.0),
        }
    }
}
