use actix_web::{HttpResponse, http::Method, web};
use utoipa::openapi::path::ParameterIn;

use super::{
    PieceStanding, RigStanding, ops,
    remedies::{Remedies, remedies},
};
use crate::{
    platform::{
        error::{self, Fault},
        http::{Access, Api, Caller, Doc, Shared},
        record::Record as _,
    },
    slices::{
        pieces::Piece,
        rigs::{Rig, RigId},
    },
};

/// The standings' addresses.
pub fn routes(api: &mut Api) {
    api.registry.settle_with(Rig::KIND, ops::settle);
    api.registry.settle_with(Piece::KIND, ops::settle_one_piece);
    api.registry.judge(Piece::KIND, PieceStanding::KIND);
    api.list::<RigStanding>("/v1/rig-standings");
    api.find::<RigStanding>("/v1/rig-standings/{id}");
    api.history::<RigStanding>("/v1/rig-standings/{id}/history");
    api.list::<PieceStanding>("/v1/piece-standings");
    api.find::<PieceStanding>("/v1/piece-standings/{id}");
    api.history::<PieceStanding>("/v1/piece-standings/{id}/history");
    api.other(
        Method::GET,
        "/v1/rigs/{id}/remedies",
        Doc::new(
            "rigs",
            "list_remedies",
            "For each gap of a rig: which piece of the agency could fill it, where it is, whom to call",
            Access::Member,
        )
        .parameter(ParameterIn::Path, "id", true, "The rig")
        .answers::<Remedies>("200", "The gaps, each with its candidates")
        .refuses("404", "No such rig"),
        list_remedies,
    );
}

async fn list_remedies(shared: web::Data<Shared>, caller: Caller, rig: web::Path<String>) -> Result<HttpResponse, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let missing = || Fault::new(error::NOT_FOUND, "There is no such rig in this agency");
    let rig = RigId(rig.parse().map_err(|_| missing())?);
    let found = shared
        .read_current(agency, move |db| remedies(db, agency, rig, now)?.ok_or_else(missing))
        .await?;
    Ok(HttpResponse::Ok().json(found))
}
