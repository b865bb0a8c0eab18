use diesel::prelude::*;

use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::{agency, record},
            types::Uid,
        },
        ids::AgencyId,
        record::Row,
    },
};

/// The agency's revision.
pub fn revision(db: &mut Db, id: AgencyId) -> QueryResult<i64> {
    on!(db, conn => agency::table.find(Uid::from(id)).select(agency::rev).first(conn))
}

/// What of some kinds has changed since a revision, in the state of now.
pub fn changed(db: &mut Db, id: AgencyId, kinds: &[&str], since: i64) -> QueryResult<Vec<Row>> {
    on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(id)).and(record::rev.gt(since)).and(record::kind.eq_any(kinds)))
        .select(Row::as_select())
        .load(conn))
}
