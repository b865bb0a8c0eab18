use actix_web::{HttpResponse, http::Method, web};

use super::view::{BenchOrder, order};
use crate::platform::{
    error::Fault,
    http::{Access, Api, Caller, Doc, Shared},
};

/// The bench's address.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/bench-order",
        Doc::new(
            "tickets",
            "list_bench_order",
            "The open tickets in the order in which the shop should take them, with the reason",
            Access::Member,
        )
        .answers::<BenchOrder>("200", "The order"),
        show,
    );
}

async fn show(shared: web::Data<Shared>, caller: Caller) -> Result<HttpResponse, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let found = shared.read_current(agency, move |db| order(db, agency, now)).await?;
    Ok(HttpResponse::Ok().insert_header(("Cache-Control", "no-store")).json(found))
}
