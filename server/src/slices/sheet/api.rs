use actix_web::{http::Method, web};

use super::view::{Sheet, sheet};
use crate::platform::{
    error::{self, Fault},
    http::{Api, Caller, Doc, Json, PathId, Query, Shared},
    past::{self, When},
};
use crate::slices::rigs::Rig;

/// The sheet's address.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/rigs/{id}/sheet",
        Doc::new(
            "rigs",
            "show_rig_sheet",
            "What a rig carried at an instant, and who knew what",
            "The pieces aboard with their last checks, who did them, and which defects were known: for the question what was known at that minute.",
        )
        .answer("The sheet")
        .refuses("404", "No such rig in this agency at that time"),
        show,
    );
}

async fn show(shared: web::Data<Shared>, caller: Caller, rig: PathId<Rig>, when: Query<When>) -> Result<Json<Sheet>, Fault> {
    let missing = || Fault::new(error::NOT_FOUND, "There was no such rig in this agency at that time");
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let reader = std::sync::Arc::clone(&shared);
    let sheet = shared
        .read_current(agency, move |db| {
            let then = past::then(db, agency, *when, now)?;
            sheet(db, reader.door.registry(), agency, rig.id, then, now)?.ok_or_else(missing)
        })
        .await?;
    Json::of(&sheet)
}
