use actix_web::{http::Method, web};

use super::{
    Demand,
    ops::SetDemand,
    reading::{self, ZonesRead},
    times::{self, TimesRead},
};
use crate::{
    platform::{
        error::{self, Fault},
        http::{Api, Caller, Doc, Json, RawBody, Shared},
        record::{self, Record as _},
    },
    slices::stations::Station,
};

/// The most that a file of zones or times may weigh.
const LIMIT: usize = 4 * 1024 * 1024;

/// Demand's addresses.
pub fn routes(api: &mut Api) {
    api.list::<Demand>("/v1/demand");
    api.find::<Demand>("/v1/demand/{id}");
    api.history::<Demand>("/v1/demand/{id}/history");
    api.act::<SetDemand>(Method::PATCH, "/v1/demand/{id}");
    let reading = |name: &str, words: &str, about: &str| Doc::new("demand", name, words, about);
    api.large(
        Method::POST,
        "/v1/demand/zones-reading",
        LIMIT,
        reading(
            "read_zones",
            "Read a file of demand zones; nothing is written",
            "Reads a file as `demand.set` would take it, and says what it holds and which lines are refused. Send what came out as the command's body.",
        )
        .takes_raw("text/csv", "A table with name, latitude, longitude and weight, or GeoJSON (RFC 7946)")
        .answer("What the file holds, and every line that was refused")
        .refuses("413", "The file is too large")
        .refuses("422", "The file cannot be read as demand zones"),
        read_zones,
    );
    api.large(
        Method::POST,
        "/v1/demand/times-reading",
        LIMIT,
        reading(
            "read_times",
            "Read a file of travel times for the zones on record; nothing is written",
            "Reads a file of travel times for the zones that are on record, and says which rows and columns are refused. Send what \
             came out as the command's body.",
        )
        .takes_raw("text/csv", "Zones down the first column, stations along the first line, minutes in between")
        .answer("What the file holds, and everything that was refused")
        .refuses("413", "The file is too large")
        .refuses("422", "The file cannot be read as travel times, or there are no zones yet"),
        read_times,
    );
}

async fn read_zones(shared: web::Data<Shared>, caller: Caller, file: RawBody) -> Result<Json<ZonesRead>, Fault> {
    let agency = caller.0.agency;
    let read = shared.into_inner().slow(move |_| reading::zones(agency, &file.0)).await?;
    Json::of(&read)
}

async fn read_times(shared: web::Data<Shared>, caller: Caller, file: RawBody) -> Result<Json<TimesRead>, Fault> {
    let agency = caller.0.agency;
    let read = shared
        .into_inner()
        .read(move |db| {
            let demand = record::find(db, agency, Demand::KIND, agency.0)?.ok_or_else(|| {
                Fault::new(
                    error::ZONES_UNREADABLE,
                    "There are no zones yet that the times could be for; bring the zones in first",
                )
            })?;
            let stations = record::read_all::<Station>(db, agency)?;
            times::times(&demand.read()?, &stations, &file.0)
        })
        .await?;
    Json::of(&read)
}
