use actix_web::{http::Method, web};

use super::view::{ServiceLives, ServiceLivesQuery, service_lives};
use crate::platform::{
    error::Fault,
    http::{Api, Caller, Doc, Json, Query, Shared},
};

/// The address.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/service-lives",
        Doc::new(
            "pieces",
            "list_service_lives",
            "What has run out and what will, by month, district and kind; what is not known apart",
            "Each life of a piece or of a part of it that has ended or ends within so many months: of hoses by the agency's policy, of others \
             by what the maker's manual says of the model, the stricter of both. A label that names a month alone counts from its first day. \
             Packs whose life is counted in charge cycles stand apart, since no day can be told for them, and so does what is not on record. \
             Hoses and packs for which no life is set are counted by kind. \
             Retired pieces are left out.",
        )
        .answer("What runs out"),
        list,
    );
}

async fn list(shared: web::Data<Shared>, caller: Caller, asked: Query<ServiceLivesQuery>) -> Result<Json<ServiceLives>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let found = shared.read(move |db| service_lives(db, agency, &asked, now)).await?;
    Json::of(&found)
}
