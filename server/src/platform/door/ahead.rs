//! What commands will ask for, read before them in a few queries. On PostgreSQL each query is a round trip, and a command alone
//! would make a dozen; on SQLite a query costs no more alone than with others, and nothing is read ahead.

use std::collections::{BTreeSet, HashSet};

use diesel::{
    QueryResult,
    prelude::*,
    sql_query,
    sql_types::{Array, Text},
};
use uuid::Uuid;

use crate::platform::{
    db::{
        Db,
        schema::record,
        types::{Uid, UidSql},
    },
    ids::AgencyId,
    record::{Record, Row},
};

/// What a command will ask for. Leaving something out costs a query, no more.
#[derive(Debug, Default)]
pub struct Ahead {
    pub(super) records: HashSet<(&'static str, Uuid)>,
    pub(super) names: HashSet<(&'static str, String)>,
}

impl Ahead {
    /// A record by its id. Of one that is judged, with the answer about it and with all that is on its rig.
    pub fn record<R: Record>(&mut self, id: impl Into<Uuid>) {
        self.records.insert((R::KIND, id.into()));
    }

    /// A unique name.
    pub fn name<R: Record>(&mut self, name: String) {
        self.names.insert((R::KIND, name));
    }
}

/// Records by their kinds and ids, live or gone.
pub(super) fn by_id(db: &mut Db, agency: AgencyId, keys: &BTreeSet<(&'static str, Uuid)>) -> QueryResult<Vec<Row>> {
    let kinds: Vec<&str> = keys.iter().map(|(kind, _)| *kind).collect();
    let ids: Vec<Uid> = keys.iter().map(|(_, id)| Uid(*id)).collect();
    match db {
        Db::Postgres(conn) => sql_query("SELECT r.* FROM unnest($2, $3) AS k (kind, id) JOIN record r ON r.agency = $1 AND r.kind = k.kind AND r.id = k.id")
            .bind::<UidSql, _>(Uid::from(agency))
            .bind::<Array<Text>, _>(kinds)
            .bind::<Array<UidSql>, _>(ids)
            .load(conn),
        Db::Sqlite(_) => Ok(Vec::new()),
    }
}

/// Live records by their kinds and unique names.
pub(super) fn by_name(db: &mut Db, agency: AgencyId, keys: &[(&'static str, String)]) -> QueryResult<Vec<Row>> {
    let kinds: Vec<&str> = keys.iter().map(|(kind, _)| *kind).collect();
    let names: Vec<&str> = keys.iter().map(|(_, name)| name.as_str()).collect();
    match db {
        Db::Postgres(conn) => {
            sql_query("SELECT r.* FROM unnest($2, $3) AS k (kind, name) JOIN record r ON r.agency = $1 AND r.kind = k.kind AND r.uniq = k.name AND NOT r.gone")
                .bind::<UidSql, _>(Uid::from(agency))
                .bind::<Array<Text>, _>(kinds)
                .bind::<Array<Text>, _>(names)
                .load(conn)
        }
        Db::Sqlite(_) => Ok(Vec::new()),
    }
}

/// Live records of any kind on some rigs.
pub(super) fn on_rigs(db: &mut Db, agency: AgencyId, rigs: &[Uuid]) -> QueryResult<Vec<Row>> {
    let rigs: Vec<Option<Uid>> = rigs.iter().map(|rig| Some(Uid(*rig))).collect();
    crate::on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::rig.eq_any(&rigs)).and(record::gone.eq(false)))
        .select(Row::as_select())
        .load(conn))
}
