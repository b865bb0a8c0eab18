use actix_web::{HttpResponse, http::Method, web};
use utoipa::openapi::path::ParameterIn;
use uuid::Uuid;

use super::view::{Sheet, sheet};
use crate::platform::{
    error::{self, Fault},
    http::{Access, Api, Caller, Doc, Shared},
    past::{self, When},
};

/// The sheet's address.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/rigs/{id}/sheet",
        Doc::new("rigs", "show_rig_sheet", "What a rig carried at an instant, and who knew what", Access::Member)
            .parameter(ParameterIn::Path, "id", true, "The rig's id")
            .query::<When>()
            .answers::<Sheet>("200", "The sheet")
            .refuses("400", "A query parameter cannot be used")
            .refuses("404", "No such rig in this agency at that time"),
        show,
    );
}

async fn show(shared: web::Data<Shared>, caller: Caller, id: web::Path<String>, when: web::Query<When>) -> Result<HttpResponse, Fault> {
    let missing = || Fault::new(error::NOT_FOUND, "There was no such rig in this agency at that time");
    let id: Uuid = id.parse().map_err(|_| missing())?;
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let reader = std::sync::Arc::clone(&shared);
    let sheet = shared
        .read_current(agency, move |db| {
            let then = past::then(db, agency, *when, now)?;
            sheet(db, reader.door.registry(), agency, id, then, now)?.ok_or_else(missing)
        })
        .await?;
    Ok(HttpResponse::Ok().insert_header(("Cache-Control", "no-store")).json(sheet))
}
