use actix_web::{http::Method, web};
use chrono::{DateTime, Utc};
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

use super::{
    minimum::{self, DistrictsAtMinimum, MonthsQuery},
    told::{self, BoardChanges, Standing},
    view::{self, Availability, Question},
};
use crate::platform::{
    error::{self, Fault},
    http::{Api, Caller, Doc, Json, PathId, Query, Shared},
    past::{self, When},
};
use crate::slices::rigs::Rig;

/// Availability's addresses.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/availability",
        Doc::new(
            "availability",
            "show_availability",
            "Shares of each month at full, limited and none, and down for planned service",
            "For the agency, each district or each rig: the share of every month at each level, and the share that was planned \
             service. Worked out from the journal, so it says what was known then.",
        )
        .answer("The shares. A rig counts in the district where it then stood; where that is no longer on record, where it stands now")
        .refuses("404", "No such rig or district in this agency"),
        availability,
    );
    api.other(
        Method::GET,
        "/v1/availability/minimum",
        Doc::new(
            "availability",
            "show_availability_at_minimum",
            "How much of each month each district had as many full rigs as it is to have",
            "At each instant the full rigs on front-line duty (as their duty is now) that stood in the district are counted against the number set for it then. A rig down for \
             planned service is not full. Where a rig that was not judged would decide, the time is not known; where no number was set, or 0, \
             it counts in no share.",
        )
        .answer("The shares, and the longest times that each district was short"),
        at_minimum,
    );
    api.other(
        Method::GET,
        "/v1/rigs/{id}/standing",
        Doc::new(
            "rigs",
            "show_rig_standing",
            "The intervals behind a rig's shares, newest first, at most 2,000",
            "The stretches of time at one level, from the journal, each with the command or the lapse that began it.",
        )
        .answer("The intervals that lie at least in part between the two instants, each with what began it"),
        standing,
    );
    api.other(
        Method::GET,
        "/v1/board/changes",
        Doc::new(
            "board",
            "show_board_changes",
            "What changed on the board since an instant or a revision, newest first, at most 500",
            "Each change of a rig's answer on the board, with what brought it about.",
        )
        .answer("The changes; since a day ago, where neither an instant nor a revision is named"),
        changes,
    );
}

async fn availability(shared: web::Data<Shared>, caller: Caller, question: Query<Question>) -> Result<Json<Availability>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let text = shared
        .read_current(agency, move |db| Ok(serde_json::to_string(&view::availability(db, agency, &question, now)?)?))
        .await?;
    Ok(Json::from_text(text))
}

async fn at_minimum(shared: web::Data<Shared>, caller: Caller, asked: Query<MonthsQuery>) -> Result<Json<DistrictsAtMinimum>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let text = shared
        .read_current(agency, move |db| {
            Ok(serde_json::to_string(&minimum::districts_at_minimum(db, agency, &asked, now)?)?)
        })
        .await?;
    Ok(Json::from_text(text))
}

/// Between which instants.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct Between {
    /// From this instant on; from the first record unless said.
    #[serde(default, deserialize_with = "past::instant")]
    from: Option<DateTime<Utc>>,
    /// Up to this instant; now unless said.
    #[serde(default, deserialize_with = "past::instant")]
    until: Option<DateTime<Utc>>,
}

async fn standing(shared: web::Data<Shared>, caller: Caller, rig: PathId<Rig>, asked: Query<Between>) -> Result<Json<Standing>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let until = asked.until.unwrap_or(now);
    if asked.from.is_some_and(|from| from >= until) {
        return Err(Fault::new(
            error::QUERY_INVALID,
            "The first instant is not before the last one; exchange `from` and `until`",
        )
        .at("from"));
    }
    let reader = std::sync::Arc::clone(&shared);
    let standing = shared
        .read_current(agency, move |db| {
            told::standing(db, reader.door.registry(), agency, rig.id, (asked.from, until), now)
        })
        .await?;
    Json::of(&standing)
}

/// Since when.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct ChangesSinceQuery {
    /// Changes after this instant; name this or `revision`, not both.
    #[serde(default, deserialize_with = "past::instant")]
    at: Option<DateTime<Utc>>,
    /// Changes after this revision; name this or `at`, not both.
    revision: Option<i64>,
    /// Up to this instant; now unless said.
    #[serde(default, deserialize_with = "past::instant")]
    until: Option<DateTime<Utc>>,
    /// Only rigs that stand in this district now.
    district: Option<Uuid>,
}

async fn changes(shared: web::Data<Shared>, caller: Caller, asked: Query<ChangesSinceQuery>) -> Result<Json<BoardChanges>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let reader = std::sync::Arc::clone(&shared);
    let changes = shared
        .read_current(agency, move |db| {
            let since = When {
                at: asked.at,
                revision: asked.revision,
            };
            told::changes(db, reader.door.registry(), agency, (since, asked.until), asked.district, now)
        })
        .await?;
    Json::of(&changes)
}
