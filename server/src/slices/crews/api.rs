use actix_web::{http::Method, web};

use super::{
    Crew,
    ops::NameCrew,
    view::{CrewsNow, crews_now},
};
use crate::platform::{
    error::Fault,
    http::{Api, Caller, Doc, Json, Shared},
};

/// The crews' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Crew>("/v1/crews");
    api.other(
        Method::GET,
        "/v1/crews/now",
        Doc::new(
            "crews",
            "show_crews_now",
            "Who is on each rig now, and what nobody aboard is signed off on",
            "Every rig of the agency, by name. It stands beside the rig's level and changes none: a rig that carries a full set is at full, whoever is aboard.",
        )
        .answer("The rigs"),
        show,
    );
    api.find::<Crew>("/v1/crews/{id}");
    api.history::<Crew>("/v1/crews/{id}/history");
    api.act::<NameCrew>(Method::PUT, "/v1/crews/{id}");
}

async fn show(shared: web::Data<Shared>, caller: Caller) -> Result<Json<CrewsNow>, Fault> {
    let (shared, agency) = (shared.into_inner(), caller.0.agency);
    let now = shared.clock.now();
    let found = shared.read_current(agency, move |db| crews_now(db, agency, now)).await?;
    Json::of(&found)
}
