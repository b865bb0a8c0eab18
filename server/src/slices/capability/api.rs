use actix_web::{http::Method, web};

use super::{
    PieceStanding, RigStanding, ops,
    remedies::{Remedies, remedies},
};
use crate::{
    platform::{
        error::Fault,
        http::{Api, Caller, Doc, Json, PathId, Shared},
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
            "Each gap of the rig's target grade and of its list, with the pieces of the agency that would fill it, and where each is.",
        )
        .answer("The gaps, each with its candidates"),
        list_remedies,
    );
}

async fn list_remedies(shared: web::Data<Shared>, caller: Caller, rig: PathId<Rig>) -> Result<Json<Remedies>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let rig = RigId(rig.id);
    let found = shared
        .read_current(agency, move |db| remedies(db, agency, rig, now)?.ok_or_else(PathId::<Rig>::missing))
        .await?;
    Json::of(&found)
}
