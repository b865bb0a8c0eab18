use actix_web::{http::Method, web};

use super::view::{Replacements, ReplacementsQuery, replacements};
use crate::platform::{
    error::Fault,
    http::{Api, Caller, Doc, Json, Query, Shared},
};

/// The address.
pub fn routes(api: &mut Api) {
    api.other(
        Method::GET,
        "/v1/replacements",
        Doc::new(
            "pieces",
            "list_replacements",
            "What has to be replaced in each of the next ten years, at the prices entered; what is not known apart",
            "A piece is to be replaced in the year in which its service life ends, or in which the line through its readings passes a limit of \
             its check plan, whichever comes first; what has ended already stands before the first year. What is replaced is taken to be \
             bought new then and to serve as long again. Sums are at the price of the model, as it was entered and on its day: no rise of \
             prices is guessed. What has no price, no date of make or a life counted in charge cycles is counted apart and in no sum, and so \
             are hoses and packs for which no life is set. Parts \
             with a life of their own (whip hoses, slings) are counted and not priced. Gear that is lent, and what is retired, is left out.",
        )
        .answer("The years, and what they are made of"),
        list,
    );
}

async fn list(shared: web::Data<Shared>, caller: Caller, asked: Query<ReplacementsQuery>) -> Result<Json<Replacements>, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let shown = shared.read(move |db| replacements(db, agency, *asked, now)).await?;
    Json::of(&shown)
}
