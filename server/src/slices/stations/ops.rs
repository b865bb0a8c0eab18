use serde::Deserialize;
use utoipa::ToSchema;

use super::{Station, StationId};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, name},
        error::Fault,
        patch,
        record::{Of, Scope},
    },
    slices::districts::{District, DistrictId},
};

/// Adds a station.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddStation {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: StationId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// Its number, as the agency writes it.
    pub number: Option<String>,
    /// Id of its district.
    pub district: DistrictId,
    /// Latitude, WGS 84 degrees.
    #[schema(minimum = -90, maximum = 90)]
    pub lat: Option<f64>,
    /// Longitude, WGS 84 degrees.
    #[schema(minimum = -180, maximum = 180)]
    pub lon: Option<f64>,
}

/// Refuses a point that is not on the globe, or half of one.
fn point(lat: Option<f64>, lon: Option<f64>) -> Result<(), Fault> {
    match (lat, lon) {
        (None, None) => Ok(()),
        (Some(lat), Some(lon)) if (-90.0..=90.0).contains(&lat) && (-180.0..=180.0).contains(&lon) => Ok(()),
        (Some(_), Some(_)) => Err(Fault::field(
            "body.lat",
            "Latitude is from -90 to 90 degrees and longitude from -180 to 180; are they the wrong way round?",
        )),
        _ => Err(Fault::field("body.lat", "A point has a latitude and a longitude; give both or neither")),
    }
}

fn scope(station: &Station) -> Scope {
    Scope {
        district: Some(station.district.0),
        station: Some(station.id.0),
        ..Scope::default()
    }
}

impl Act for AddStation {
    const KIND: &'static str = "station.add";
    const SUMMARY: &'static str = "Add a station";
    const DONE: &'static str = "Station added";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::Within;
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Station>(self.id)?;
        let district = write.named::<District>("district", self.district)?;
        write.decide_for(district.scope)?;
        point(self.lat, self.lon)?;
        let station = Station {
            id: self.id,
            name: name("body.name", &self.name)?,
            number: self.number.map(|number| name("body.number", &number)).transpose()?,
            district: self.district,
            lat: self.lat,
            lon: self.lon,
            rev: 0,
        };
        let scope = scope(&station);
        write.save(station, scope)
    }
}

/// Changes a station. With its district, everything at the station changes district.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditStation {
    /// The station to change; what is left out stays.
    pub id: StationId,
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: Option<String>,
    /// New number; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<String>)]
    pub number: Option<Option<String>>,
    /// New district, to which everything at the station goes along; left out: it stays.
    pub district: Option<DistrictId>,
    /// New latitude; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<f64>)]
    pub lat: Option<Option<f64>>,
    /// New longitude; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<f64>)]
    pub lon: Option<Option<f64>>,
}

impl Act for EditStation {
    const KIND: &'static str = "station.edit";
    const SUMMARY: &'static str = "Change a station; with its district, everything at the station changes district";
    const DONE: &'static str = "Station changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("station");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Station>(self.id)?;
        write.decide_for(stored.scope)?;
        write.expects(&stored)?;
        let mut station = stored.record;
        if let Some(given) = self.name {
            station.name = name("body.name", &given)?;
        }
        if let Some(number) = self.number {
            station.number = number.map(|number| name("body.number", &number)).transpose()?;
        }
        station.lat = self.lat.unwrap_or(station.lat);
        station.lon = self.lon.unwrap_or(station.lon);
        point(station.lat, station.lon)?;
        if let Some(district) = self.district {
            let new = write.named::<District>("district", district)?;
            if district != station.district {
                write.decide_for(new.scope).map_err(|fault| fault.at("body.district"))?;
            }
            station.district = district;
        }
        let new = scope(&station);
        let moved = new != stored.scope;
        write.save(station, new)?;
        if moved {
            write.rescope(Of::Station(self.id.0), new)?;
        }
        Ok(())
    }
}
