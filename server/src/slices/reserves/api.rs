use actix_web::{http::Method, web};

use super::{
    sizing::{self, Sizing, SizingRequest},
    view::{self, Reserves},
};
use crate::{
    platform::{
        error::Fault,
        follow::Followed,
        http::{Api, Body, Caller, Doc, Json, Query, Shared},
    },
    slices::reliability::{Histories, PeriodQuery},
};

/// The reserves' addresses.
pub fn routes(api: &mut Api, histories: Followed<Histories>) {
    api.other(
        Method::GET,
        "/v1/reserves",
        Doc::new(
            "reserves",
            "show_reserves",
            "Families of pieces that can stand in for each other, their spares and what their record says",
            "Pieces are of one family if each can stand in for the others. For each: how many are in use and in reserve, how often \
             one fails and how long it is away.",
        )
        .answer("The families"),
        move |shared: web::Data<Shared>, caller: Caller, asked: Query<PeriodQuery>| reserves(shared, caller, asked, histories.clone()),
    );
    api.other(
        Method::POST,
        "/v1/reserves/sizing",
        Doc::new(
            "reserves",
            "size_reserves",
            "How many spares to keep, and what to buy first; writes nothing",
            "The least number of spares at which a stand-in is there as often as asked, and in which order to buy within a budget. \
             Worked out from the figures that are sent, and from nothing else.",
        )
        .answer("The sizes and the buying curve")
        .refuses("403", "A browser may send this only from the service's own pages"),
        size,
    );
}

async fn reserves(shared: web::Data<Shared>, caller: Caller, asked: Query<PeriodQuery>, histories: Followed<Histories>) -> Result<Json<Reserves>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let shown = shared
        .read_followed((&histories, agency), move |db, known, _| view::reserves(db, agency, known, *asked, now))
        .await?;
    Json::of(&shown)
}

async fn size(shared: web::Data<Shared>, _: Caller, Body(asked): Body<SizingRequest>) -> Result<Json<Sizing>, Fault> {
    let shown = shared.into_inner().slow(move |_| sizing::size(&asked)).await?;
    Json::of(&shown)
}
