use actix_web::{http::Method, web};

use super::view::{DoubtfulChecks, Safety, SafetyQuery, doubtful_checks, safety};
use crate::platform::{
    error::Fault,
    http::{Api, Caller, Doc, Json, MayPlan, Member, Query, Shared},
};

/// The addresses.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/safety",
        Doc::new(
            "mishaps",
            "show_safety",
            "Pieces used while they were out of service, and safety notices that are not closed",
            "Uses of a piece that was out of service then, returned or not, within so many days; and each notice in force with how many pieces \
             are open and not found.",
        )
        .answer("Both lists"),
        show,
    );
    api.other(
        Method::GET,
        "/v1/safety/checks",
        Doc::new(
            "mishaps",
            "show_doubtful_checks",
            "Checks that were done too fast to have been done, and members whose checks never find anything; for the coordinator",
            "A round is too fast where its answers took less than three seconds each (common practice, no source). Who recorded at least thirty \
             checks in that time and found nothing in any stands there too. Both are a reason to look, and no finding.",
        )
        .answer("Both lists"),
        checks,
    );
}

async fn show(shared: web::Data<Shared>, caller: Caller, asked: Query<SafetyQuery>) -> Result<Json<Safety>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let found = shared.read(move |db| safety(db, agency, &asked, now)).await?;
    Json::of(&found)
}

async fn checks(shared: web::Data<Shared>, member: Member<MayPlan>, asked: Query<SafetyQuery>) -> Result<Json<DoubtfulChecks>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), member.actor.agency);
    let found = shared.read(move |db| doubtful_checks(db, agency, &asked, now)).await?;
    Json::of(&found)
}
