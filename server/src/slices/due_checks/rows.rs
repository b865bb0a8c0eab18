//! What a page of due checks is made of: pieces, and when each passed which check.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use diesel::{
    dsl::sql,
    prelude::*,
    sql_types::{Bool, Text},
};
use uuid::Uuid;

use crate::{
    on,
    platform::{
        db::{
            Db, body_fields,
            schema::{record, state},
            types::Uid,
        },
        error::Fault,
        ids::AgencyId,
        past,
        record::{Record as _, Row},
    },
    slices::{checks::Check, pieces::Piece},
};

/// How many ids are asked for by one query.
const MOST_IDS: usize = 10_000;

/// The pieces with these ids.
pub fn pieces(db: &mut Db, agency: AgencyId, ids: &[Uuid]) -> Result<HashMap<Uuid, Piece>, Fault> {
    let ids: Vec<Uid> = ids.iter().copied().map(Uid).collect();
    let rows: Vec<Row> = on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq(Piece::KIND)).and(record::id.eq_any(&ids)))
        .select(Row::as_select())
        .load(conn))?;
    rows.iter().map(|row| Ok((row.id.0, row.read()?))).collect()
}

/// When these checks were passed so that it counts, by their ids, as far as it was recorded after an instant. Of each state only when it was
/// done is read: a year of them is long. Whoever changes `outcome`, `counts` or `done_at` of a check's body changes this query.
pub fn passes(db: &mut Db, agency: AgencyId, checks: &[Uuid], after: DateTime<Utc>) -> Result<HashMap<Uuid, Vec<DateTime<Utc>>>, Fault> {
    let mut found: HashMap<Uuid, Vec<DateTime<Utc>>> = HashMap::new();
    if checks.is_empty() {
        return Ok(found);
    }
    let before = past::revision_before(db, agency, after)?;
    let done_at = body_fields::text(db, &["done_at"]);
    let counts = format!("{} = 'passed' AND {}", body_fields::text(db, &["outcome"]), body_fields::is_true(db, "counts"));
    for ids in checks.chunks(MOST_IDS) {
        let ids: Vec<Uid> = ids.iter().copied().map(Uid).collect();
        let rows: Vec<(Uid, String)> = on!(&mut *db, conn => state::table
            .filter(state::agency.eq(Uid::from(agency)).and(state::kind.eq(Check::KIND)).and(state::id.eq_any(&ids)))
            .filter(state::rev.gt(before))
            .filter(sql::<Bool>(&counts))
            .select((state::id, sql::<Text>(&done_at)))
            .load(conn))?;
        for (id, at) in rows {
            let at = at
                .parse()
                .map_err(|error| anyhow::anyhow!("a check was done at '{at}', which is no instant: {error}"))?;
            found.entry(id.0).or_default().push(at);
        }
    }
    Ok(found)
}
