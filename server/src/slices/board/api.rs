use std::collections::HashMap;

use actix_web::{http::Method, web};

use super::view::{Board, BoardRecords};
use crate::{
    platform::{
        door::lapses,
        error::Fault,
        follow::Followed,
        http::{Api, Caller, Doc, Query, Shared, TaggedBy},
        past::{self, When},
        record::Record as _,
    },
    slices::rigs::Rig,
};

/// The board's address.
pub fn routes(api: &mut Api) {
    let boards = Followed::default();
    api.other(
        Method::GET,
        "/v1/board",
        Doc::new(
            "board",
            "show_board",
            "Rigs by level in each district, against the district's least number of full rigs",
            "What stands now is at the latest revision; with `at` or `revision`, as it was known then. A rig whose answer is not \
             settled is marked and counts as not known.",
        )
        .answer("The board at one revision"),
        move |shared: web::Data<Shared>, caller: Caller, when: Query<When>| board(shared, caller, when.0, boards.clone()),
    );
}

async fn board(shared: web::Data<Shared>, caller: Caller, when: When, boards: Followed<BoardRecords>) -> Result<TaggedBy<Board>, Fault> {
    let agency = caller.0.agency;
    let (shared, now) = (shared.clone().into_inner(), shared.clock.now());
    let (lasting, text) = if when.is_now() {
        let read = shared.read_current_followed((&boards, agency), move |db, known, revision| {
            let late = lapses::late(db, agency, Rig::KIND, now)?;
            known.board(revision, now, &late).texts()
        });
        read.await?
    } else {
        let read = shared.read_current(agency, move |db| {
            let then = past::then(db, agency, when, now)?;
            BoardRecords::as_of(db, agency, then.revision)?
                .board(then.revision, then.at, &HashMap::new())
                .texts()
        });
        read.await?
    };
    Ok(TaggedBy::from_texts(lasting, text))
}
