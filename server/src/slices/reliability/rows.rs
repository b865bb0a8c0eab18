//! The states that pieces have had.

use std::collections::HashMap;

use diesel::{connection::DefaultLoadingMode, pg::PgRowByRowLoadingMode, prelude::*};
use uuid::Uuid;

use super::lives::{Life, State};
use crate::{
    platform::{
        db::{
            Db,
            schema::change_log,
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
        let state: State = serde_json::from_str(&body.0)?;
        match lives.get_mut(&id.0) {
            Some(life) => life.take(state),
            None => drop(lives.insert(id.0, Life::new(state))),
        }
        Ok(())
    };
    let states = change_log::table
        .filter(change_log::agency.eq(Uid::from(agency)).and(change_log::kind.eq(Piece::KIND)))
        .order((change_log::id, change_log::rev))
        .select((change_log::id, change_log::body));
    // Left to itself, PostgreSQL's client holds the whole answer.
    match db {
        Db::Sqlite(conn) => states.load_iter::<(Uid, Doc), DefaultLoadingMode>(conn)?.try_for_each(take)?,
        Db::Postgres(conn) => states.load_iter::<(Uid, Doc), PgRowByRowLoadingMode>(conn)?.try_for_each(take)?,
    }
    Ok(lives)
}
