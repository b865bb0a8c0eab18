use std::{
    collections::HashMap,
    sync::{Arc, Mutex},
};

use actix_web::{http::Method, web};

use super::view::{Board, Known};
use crate::{
    platform::{
        door::lapses,
        error::Fault,
        http::{Api, Caller, Doc, Shared, TaggedBy},
        ids::AgencyId,
        past::{self, When},
        record::Record as _,
    },
    slices::rigs::Rig,
};

type Boards = Arc<Mutex<HashMap<AgencyId, Arc<Mutex<Known>>>>>;

/// The board's address.
pub fn routes(api: &mut Api) {
    let boards: Boards = Arc::default();
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
        move |shared: web::Data<Shared>, caller: Caller, when: web::Query<When>| board(shared, caller, when.0, Arc::clone(&boards)),
    );
}

async fn board(shared: web::Data<Shared>, caller: Caller, when: When, boards: Boards) -> Result<TaggedBy<Board>, Fault> {
    let agency = caller.0.agency;
    let now = shared.clock.now();
    let (lasting, text) = shared
        .into_inner()
        .read_current(agency, move |db| {
            if !when.is_now() {
                let then = past::then(db, agency, when, now)?;
                return Known::as_of(db, agency, then.revision)?.board(then.at, &HashMap::new()).texts();
            }
            let known = Arc::clone(
                boards
                    .lock()
                    .map_err(|_| anyhow::anyhow!("the boards are poisoned"))?
                    .entry(agency)
                    .or_default(),
            );
            let mut known = known.lock().map_err(|_| anyhow::anyhow!("a board is poisoned"))?;
            known.catch_up(db, agency)?;
            let late = lapses::late(db, agency, Rig::KIND, now)?;
            known.board(now, &late).texts()
        })
        .await?;
    Ok(TaggedBy::from_texts(lasting, text))
}
