use std::sync::{Arc, Mutex, PoisonError};

use actix_web::{http::Method, web};
use serde::Deserialize;
use utoipa::ToSchema;

use super::view::{Effects, Picture, compare};
use crate::platform::{
    auth::Actor,
    db::Db,
    door::Command,
    error::Fault,
    http::{Api, Body, Caller, Doc, Json, Shared},
};

/// The most commands that are tried together.
const MOST: usize = 20;

/// The effects' address.
pub fn routes(api: &mut Api) {
    api.other(
        Method::POST,
        "/v1/effects",
        Doc::new(
            "effects",
            "work_out_effects",
            "What commands would do; nothing is done",
            "Does up to 20 commands in a transaction that is undone, and compares the answers about rigs and pieces before and after. \
             Whatever raises an answer is a release: show this before it is sent.",
        )
        .answer("What would change, and the first problem that stands in the way")
        .refuses("503", "Too many commands are waiting")
        .refuses("422", "The commands cannot be read, or are too many"),
        effects,
    );
}

/// Commands that are thought about.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
struct EffectsRequest {
    /// Up to 20 commands, as they would be sent to `/v1/commands`.
    #[schema(min_items = 1, max_items = 20)]
    commands: Vec<Command>,
}

async fn effects(shared: web::Data<Shared>, caller: Caller, Body(asked): Body<EffectsRequest>) -> Result<Json<Effects>, Fault> {
    if asked.commands.is_empty() || asked.commands.len() > MOST {
        return Err(Fault::field("body.commands", format!("Name from 1 to {MOST} commands")));
    }
    let shared = shared.into_inner();
    Json::of(&foresee(&shared, caller.0, asked.commands).await?)
}

/// What commands of a member would do, worked out by doing and undoing them.
pub async fn foresee(shared: &Shared, actor: Arc<Actor>, commands: Vec<Command>) -> Result<Effects, Fault> {
    let (agency, now) = (actor.agency, shared.clock.now());
    let pictures: Arc<Mutex<Vec<Picture>>> = Arc::default();
    let seen = Arc::clone(&pictures);
    let look = Box::new(move |db: &mut Db| {
        let picture = Picture::read(db, agency, now)?;
        seen.lock().unwrap_or_else(PoisonError::into_inner).push(picture);
        Ok(())
    });
    let batch = shared.door.try_out(actor, commands, look).await?;
    let pictures = std::mem::take(&mut *pictures.lock().unwrap_or_else(PoisonError::into_inner));
    let problem = batch.answers.into_iter().find_map(|answer| answer.problem);
    Ok(compare(&pictures, problem))
}
