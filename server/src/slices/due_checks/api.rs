use actix_web::{http::Method, web};

use super::view::{DueChecks, DueChecksQuery, due_checks};
use crate::platform::{
    error::Fault,
    http::{Api, Caller, Doc, Query, Shared, Tagged},
};

/// The address.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/checks/due",
        Doc::new(
            "checks",
            "list_due_checks",
            "Which checks are good, due, overdue and missed, piece by piece",
            "For each piece, by tag, each check plan in force that holds for it: when it last passed, when the next is due, who may sign, from \
             when on it counts against the piece, and which checks of the calendar were missed. A missed check is missed and not moved: the \
             next one keeps its day. Page by page, as lists are; with `state` a page may hold fewer pieces than `limit`, or none.",
        )
        .answer("One page"),
        list,
    );
}

async fn list(shared: web::Data<Shared>, caller: Caller, asked: Query<DueChecksQuery>) -> Result<Tagged<DueChecks>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let page = shared.read_current(agency, move |db| due_checks(db, agency, &asked, now)).await?;
    Tagged::of(&page)
}
