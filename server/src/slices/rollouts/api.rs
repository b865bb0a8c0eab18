use actix_web::{http::Method, web};

use super::{
    Rollout, RolloutRig,
    acts::{ConfirmRolloutRig, DropRolloutRig, PlanRolloutRig, ReplanRolloutRig},
    change_over::ChangeOverRig,
    ops::{CloseRollout, EditRollout, StartRollout},
    sets::{RolloutSets, sets},
    view::{RolloutProgress, progress},
};
use crate::platform::{
    db::Db,
    error::{self, Fault},
    http::{Api, Caller, Doc, Json, PathId, Shared},
    ids::AgencyId,
    record::{self, Record as _},
};

/// The rollouts' addresses.
pub fn routes(api: &mut Api) {
    api.list::<Rollout>("/v1/rollouts");
    api.find::<Rollout>("/v1/rollouts/{id}");
    api.history::<Rollout>("/v1/rollouts/{id}/history");
    api.other(
        Method::GET,
        "/v1/rollouts/{id}/progress",
        Doc::new(
            "rollouts",
            "show_rollout_progress",
            "How far a rollout has come, week by week",
            "Each rig with its stages and what holds them up, in sentences; each station's shifts with who is not signed off yet; and which week takes more from a district than it can lose, by the levels of now.",
        )
        .answer("The weeks")
        .refuses("404", "No such rollout in this agency"),
        show_progress,
    );
    api.other(
        Method::GET,
        "/v1/rollouts/{id}/sets",
        Doc::new(
            "rollouts",
            "show_rollout_sets",
            "Both sets of a rollout apart, and what could join them by accident",
            "Worked out from what the models say of couplings, fluid and pressure. What is not on record is said as unknown; nothing is said to be safe.",
        )
        .answer("The two sets")
        .refuses("404", "No such rollout in this agency"),
        show_sets,
    );
    api.act::<StartRollout>(Method::POST, "/v1/rollouts");
    api.act::<EditRollout>(Method::PATCH, "/v1/rollouts/{id}");
    api.act::<CloseRollout>(Method::POST, "/v1/rollouts/{id}/close");
    api.list::<RolloutRig>("/v1/rollout-rigs");
    api.find::<RolloutRig>("/v1/rollout-rigs/{id}");
    api.history::<RolloutRig>("/v1/rollout-rigs/{id}/history");
    api.act::<PlanRolloutRig>(Method::POST, "/v1/rollout-rigs");
    api.act::<ReplanRolloutRig>(Method::PATCH, "/v1/rollout-rigs/{id}");
    api.act::<DropRolloutRig>(Method::POST, "/v1/rollout-rigs/{id}/drop");
    api.act::<ConfirmRolloutRig>(Method::POST, "/v1/rollout-rigs/{id}/confirm");
    api.act::<ChangeOverRig>(Method::POST, "/v1/rollout-rigs/{id}/change-over");
}

fn rollout(db: &mut Db, agency: AgencyId, id: uuid::Uuid) -> Result<Rollout, Fault> {
    let missing = || Fault::new(error::NOT_FOUND, "There is no such rollout in this agency");
    record::find(db, agency, Rollout::KIND, id)?.ok_or_else(missing)?.read()
}

async fn show_progress(shared: web::Data<Shared>, caller: Caller, id: PathId<Rollout>) -> Result<Json<RolloutProgress>, Fault> {
    let (shared, agency) = (shared.into_inner(), caller.0.agency);
    let now = shared.clock.now();
    let found = shared
        .read_current(agency, move |db| {
            let rollout = rollout(db, agency, id.id)?;
            progress(db, agency, &rollout, now)
        })
        .await?;
    Json::of(&found)
}

async fn show_sets(shared: web::Data<Shared>, caller: Caller, id: PathId<Rollout>) -> Result<Json<RolloutSets>, Fault> {
    let (shared, agency) = (shared.into_inner(), caller.0.agency);
    let found = shared
        .read_current(agency, move |db| {
            let rollout = rollout(db, agency, id.id)?;
            sets(db, agency, &rollout)
        })
        .await?;
    Json::of(&found)
}
