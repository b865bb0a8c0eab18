//! The states that pieces have had.

use std::collections::HashMap;

use diesel::{connection::DefaultLoadingMode, pg::PgRowByRowLoadingMode, prelude::*};
use uuid::Uuid;

use super::lives::{Life, State};
use crate::{
    platform::{
        bodies,
        db::{
            Db,
            schema::state,
            types::{Doc, Uid},
        },
        error::Fault,
        ids::AgencyId,
        record::Record as _,
    },
    slices::pieces::Piece,
};

/// What has happened to every piece. One query; a state is dropped as soon as it is read.
pub fn lives(db: &mut Db, agency: AgencyId) -> Result<HashMap<Uuid, Life>, Fault> {
    let mut lives: HashMap<Uuid, Life> = HashMap::new();
    let take = |row: QueryResult<(Uid, Doc)>| -> Result<(), Fault> {
        let (id, body) = row?;
        let found: State = serde_json::from_str(&bodies::current(&body.0, Piece::UPCASTS)?)?;
        match lives.get_mut(&id.0) {
            Some(life) => life.take(found),
            None => drop(lives.insert(id.0, Life::new(found))),
        }
        Ok(())
    };
    let states = state::table
        .filter(state::agency.eq(Uid::from(agency)).and(state::kind.eq(Piece::KIND)))
        .order((state::id, state::rev))
        .select((state::id, state::body));
    // Left to itself, PostgreSQL's client holds the whole answer.
    match db {
        Db::Sqlite(conn) => states.load_iter::<(Uid, Doc), DefaultLoadingMode>(conn)?.try_for_each(take)?,
        Db::Postgres(conn) => states.load_iter::<(Uid, Doc), PgRowByRowLoadingMode>(conn)?.try_for_each(take)?,
    }
    Ok(lives)
}
