use actix_web::{http::Method, web};

use super::view::{BenchOrder, order};
use crate::platform::{
    error::Fault,
    http::{Api, Caller, Doc, Json, Shared},
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
            "Worked out from what each repair would give back to the rigs and districts. Planning advice: the shop decides.",
        )
        .answer("The order"),
        show,
    );
}

async fn show(shared: web::Data<Shared>, caller: Caller) -> Result<Json<BenchOrder>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let found = shared.read_current(agency, move |db| order(db, agency, now)).await?;
    Json::of(&found)
}
