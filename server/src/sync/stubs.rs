//! What a feed of some places names and does not hold. A piece of a station may be lent to a rig of another, a defect that was
//! closed here is of a piece that has moved on: the feed tells what such a record is called, so that no id in it stays without a name.
//!
//! Told are what the page's records name, what has just left the scope, because something that stays may name it, and what has
//! been given another name since the page before.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use diesel::prelude::*;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    page::{Change, GoneReason},
    scopes::Places,
};
use crate::{
    on,
    platform::{
        db::{Db, schema::record, types::Uid},
        error::{self, Fault},
        ids::AgencyId,
        record::{RecordKind, ScopeRow},
    },
};

/// What a record outside of the feed is called.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Stub {
    /// What the record is.
    #[schema(value_type = RecordKind)]
    pub kind: String,
    /// The record that the feed names and does not hold.
    pub id: Uuid,
    /// Its tag or its name; of what has neither, such as a defect or a swap, the instant that it is of.
    pub name: String,
}

/// Ids of one query.
const IDS: usize = 500;
/// The most new names that one page tells of records outside of the feed.
const MOST_RENAMED: usize = 1_000;

type StubRow = (String, Uid, String, ScopeRow);

/// The stubs of a page that is read at the revision `at`, when the page before was read at `since`.
pub fn stubs(
    db: &mut Db,
    agency: AgencyId,
    places: &Places,
    nameable: &[&'static str],
    (since, at): (i64, i64),
    changes: &[Change],
) -> Result<Vec<Stub>, Fault> {
    let mut found = if since < at { renamed(db, agency, nameable, since)? } else { Vec::new() };
    let ids: Vec<Uid> = named(nameable, changes).into_iter().map(Uid).collect();
    for ids in ids.chunks(IDS) {
        let rows: Vec<StubRow> = on!(&mut *db, conn => record::table
            .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq_any(nameable)).and(record::id.eq_any(ids)).and(record::gone.eq(false)))
            .select((record::kind, record::id, record::label, ScopeRow::as_select()))
            .load(conn))?;
        found.extend(rows);
    }
    let outside = found.into_iter().filter(|(.., scope)| !places.hold((*scope).into()));
    let by_key: BTreeMap<(String, Uuid), String> = outside.map(|(kind, id, name, _)| ((kind, id.0), name)).collect();
    Ok(by_key.into_iter().map(|((kind, id), name)| Stub { kind, id, name }).collect())
}

/// What has been given another name after a revision.
fn renamed(db: &mut Db, agency: AgencyId, nameable: &[&'static str], since: i64) -> Result<Vec<StubRow>, Fault> {
    let mut rows: Vec<StubRow> = on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::renamed.gt(since)).and(record::gone.eq(false)).assume_not_null())
        .limit(i64::try_from(MOST_RENAMED + 1).unwrap_or(i64::MAX))
        .select((record::kind, record::id, record::label, ScopeRow::as_select()))
        .load(conn))?;
    if rows.len() > MOST_RENAMED {
        return Err(Fault::new(
            error::RESYNC_REQUIRED,
            format!("More than {MOST_RENAMED} records have been given another name since this token; take a new snapshot by leaving `since` out"),
        )
        .at("since"));
    }
    rows.retain(|(kind, ..)| nameable.contains(&kind.as_str()));
    Ok(rows)
}

/// The ids that a page's records name, and those that have left, without those that the page itself holds.
fn named(nameable: &[&'static str], changes: &[Change]) -> BTreeSet<Uuid> {
    let held = |change: &&Change| change.record.is_some() && nameable.contains(&change.kind.as_str());
    let held: HashSet<Uuid> = changes.iter().filter(held).map(|change| change.id).collect();
    let left = changes
        .iter()
        .filter(|change| change.gone == Some(GoneReason::OutOfScope))
        .map(|change| change.id);
    let within = changes
        .iter()
        .filter_map(|change| change.record.as_ref())
        .flat_map(|record| ids_in(record.get()));
    left.chain(within).filter(|id| !held.contains(id)).collect()
}

/// The ids that a record's JSON holds, as values or anywhere in a text: one that names nothing finds nothing.
fn ids_in(json: &str) -> impl Iterator<Item = Uuid> + '_ {
    const LENGTH: usize = 36;
    json.match_indices('"').filter_map(|(at, _)| {
        let text = json.get(at + 1..at + 1 + LENGTH)?;
        let closed = json.as_bytes().get(at + 1 + LENGTH) == Some(&b'"');
        if closed { Uuid::try_parse(text).ok() } else { None }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_found_wherever_they_stand_alone_in_a_text() {
        let (a, b) = (Uuid::from_u128(1 << 100), Uuid::from_u128(2));
        let json = format!(r#"{{"id":"{a}","of":{{"at":"rig","rig":"{b}"}},"note":"see {b}!","all":["{a}", "ü"]}}"#);
        assert_eq!(ids_in(&json).collect::<Vec<_>>(), [a, b, a]);
        assert_eq!(ids_in("\"").count() + ids_in("{}").count() + ids_in("").count(), 0);
    }
}
