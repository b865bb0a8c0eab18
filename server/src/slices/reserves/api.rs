use actix_web::{HttpResponse, http::Method, web};

use super::{
    sizing::{self, Sizing, SizingAsked},
    view::{self, Reserves},
};
use crate::{
    platform::{
        error::Fault,
        http::{Access, Api, Caller, Doc, RawBody, Shared, body},
    },
    slices::reliability::PeriodAsked,
};

/// The reserves' addresses.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/reserves",
        Doc::new(
            "reserves",
            "show_reserves",
            "Families of pieces that can stand in for each other, their spares and what their record says",
            Access::Member,
        )
        .query::<PeriodAsked>()
        .answers::<Reserves>("200", "The families")
        .refuses("400", "A query parameter cannot be used"),
        reserves,
    );
    api.other(
        Method::POST,
        "/v1/reserves/sizing",
        Doc::new(
            "reserves",
            "size_reserves",
            "How many spares to keep, and what to buy first; writes nothing",
            Access::Member,
        )
        .takes::<SizingAsked>()
        .answers::<Sizing>("200", "The sizes and the buying curve")
        .refuses("400", "The body cannot be read")
        .refuses("403", "A browser may send this only from the service's own pages")
        .refuses("413", "The body is too large")
        .refuses("422", "A field cannot be used"),
        size,
    );
}

async fn reserves(shared: web::Data<Shared>, caller: Caller, asked: web::Query<PeriodAsked>) -> Result<HttpResponse, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let shown = shared.read(move |db| view::reserves(db, agency, *asked, now)).await?;
    Ok(HttpResponse::Ok().insert_header(("Cache-Control", "no-store")).json(shown))
}

async fn size(shared: web::Data<Shared>, _: Caller, RawBody(bytes): RawBody) -> Result<HttpResponse, Fault> {
    let asked: SizingAsked = body::parse(&bytes, "body")?;
    let shown = shared.into_inner().slow(move |_| sizing::size(&asked)).await?;
    Ok(HttpResponse::Ok().insert_header(("Cache-Control", "no-store")).json(shown))
}
