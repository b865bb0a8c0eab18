//! The command that set the lines, as the journal keeps it.

use diesel::prelude::*;

use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::journal,
            types::{Doc, Uid},
        },
        ids::AgencyId,
    },
};

/// The body of the command that made a revision.
pub fn body_of(db: &mut Db, agency: AgencyId, rev: i64) -> QueryResult<Doc> {
    on!(db, conn => journal::table.find((Uid::from(agency), rev)).select(journal::body).first(conn))
}
