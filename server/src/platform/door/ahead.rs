//! What commands will ask for, read before them in a few queries. On PostgreSQL each query is a round trip, and a command alone
//! would make a dozen; on SQLite a query costs no more alone than with others, and nothing is read ahead.

use std::{
    borrow::Cow,
    collections::{BTreeMap, BTreeSet, HashMap, HashSet},
    sync::Arc,
};

use diesel::{
    QueryResult,
    prelude::*,
    sql_query,
    sql_types::{Array, Text},
};
use uuid::Uuid;

use super::{
    journal::{Applied, Entry},
    loaded::Loaded,
    unit_of_work::{Key, UnitOfWork},
};
use crate::platform::{
    db::{
        Db,
        schema::record,
        types::{Uid, UidSql},
    },
    ids::AgencyId,
    record::{Name, Record, Row},
};

/// What a command will ask for. Leaving something out costs a query, no more.
#[derive(Debug, Default)]
pub struct Ahead {
    pub(super) records: HashSet<(&'static str, Uuid)>,
    pub(super) names: HashSet<(&'static str, Name)>,
}

impl Ahead {
    /// A record by its id. Of one that is judged, with the answer about it and with all that is on its rig.
    pub fn record<R: Record>(&mut self, id: impl Into<Uuid>) {
        self.records.insert((R::KIND, id.into()));
    }

    /// A unique name.
    pub fn name<R: Record>(&mut self, name: Name) {
        self.names.insert((R::KIND, name));
    }
}

/// Whether anything is read ahead on this database: where each query is a round trip.
pub(super) fn serves(db: &Db) -> bool {
    matches!(db, Db::Postgres(_))
}

impl UnitOfWork {
    /// Reads what some commands will ask for: what the journal has of them, and their records. `standings` names the kind of the
    /// answer about a record of a kind.
    pub(super) fn read_ahead(
        &mut self,
        db: &mut Db,
        agency: AgencyId,
        commands: &[Uuid],
        ahead: Ahead,
        standings: &[(&'static str, &'static str)],
    ) -> QueryResult<()> {
        if !serves(db) {
            return Ok(());
        }
        // An id may stand here twice: as a command, and as what another one follows.
        let found = applied(db, agency, commands)?;
        self.applied.extend(commands.iter().map(|id| ((agency, *id), found.get(id).cloned())));
        let mut keys: BTreeSet<(&'static str, Uuid)> = ahead.records.into_iter().collect();
        for (kind, standing) in standings {
            let judged: Vec<Uuid> = keys.iter().filter(|(of, _)| of == kind).map(|(_, id)| *id).collect();
            self.read_lapses(db, agency, kind, &judged)?;
            keys.extend(judged.into_iter().map(|id| (*standing, id)));
        }
        keys.retain(|(kind, id)| !self.slots.contains_key(&(agency, Cow::Borrowed(*kind), *id)));
        if !keys.is_empty() {
            let mut rows: HashMap<(String, Uuid), Row> = by_id(db, agency, &keys)?.into_iter().map(|row| ((row.kind.clone(), row.id.0), row)).collect();
            for (kind, id) in keys {
                let row = rows.remove(&(kind.to_owned(), id)).map(|row| Arc::new(Loaded::from(row)));
                self.know((agency, Cow::Borrowed(kind), id), row);
            }
        }
        if !ahead.names.is_empty() {
            let found: Vec<Arc<Loaded>> = by_name(db, agency, &ahead.names)?.into_iter().map(|row| Arc::new(Loaded::from(row))).collect();
            let holders: HashMap<(&str, Name), &Arc<Loaded>> = found
                .iter()
                .flat_map(|row| row.names().map(move |name| ((row.kind.as_str(), name), row)))
                .collect();
            for (kind, name) in ahead.names {
                let row = holders.get(&(kind, name.clone())).map(|row| Arc::clone(row));
                self.looked_up.insert((agency, Cow::Borrowed(kind), name), row.as_ref().map(|row| row.id.0));
                if let Some(row) = row {
                    self.know((agency, Cow::Borrowed(kind), row.id.0), Some(row));
                }
            }
        }
        // What is on the rigs of these records: what is judged, and the answers about it.
        let kinds: Vec<&'static str> = standings.iter().flat_map(|(kind, standing)| [*kind, *standing]).collect();
        let unread = |rig: &Uuid| kinds.iter().any(|kind| !self.rigs.contains_key(&(agency, Cow::Borrowed(*kind), *rig)));
        let rigs: BTreeSet<Uuid> = self.slots.values().filter_map(|slot| slot.row.as_ref()?.rig).map(|rig| rig.0).collect();
        let rigs: Vec<Uuid> = rigs.into_iter().filter(unread).collect();
        if rigs.is_empty() {
            return Ok(());
        }
        let rows = on_rigs(db, agency, &rigs, &kinds)?;
        for rig in &rigs {
            self.rigs.extend(kinds.iter().map(|kind| ((agency, Cow::Borrowed(*kind), *rig), Vec::new())));
        }
        let mut judged: BTreeMap<&'static str, Vec<Uuid>> = BTreeMap::new();
        for row in rows {
            let (kind, id) = (row.kind.clone(), row.id.0);
            let key: Key = (agency, Cow::Owned(kind.clone()), id);
            if let Some((kind, _)) = standings.iter().find(|(kind, _)| *kind == row.kind) {
                judged.entry(kind).or_default().push(id);
            }
            if let Some(keys) = row.rig.and_then(|rig| self.rigs.get_mut(&(agency, Cow::Owned(kind), rig.0))) {
                keys.push(key.clone());
            }
            self.know(key, Some(Arc::new(Loaded::from(row))));
        }
        for (kind, ids) in judged {
            self.read_lapses(db, agency, kind, &ids)?;
        }
        Ok(())
    }
}

/// What the journal has of commands, by their ids.
fn applied(db: &mut Db, agency: AgencyId, commands: &[Uuid]) -> QueryResult<HashMap<Uuid, Applied>> {
    let ids: Vec<Uid> = commands.iter().map(|id| Uid(*id)).collect();
    let found: Vec<Entry> = match db {
        Db::Postgres(conn) => sql_query(
            "SELECT j.* FROM unnest($2) AS k (command), LATERAL (
                 SELECT * FROM journal WHERE agency = $1 AND command = k.command LIMIT 1
             ) j",
        )
        .bind::<UidSql, _>(Uid::from(agency))
        .bind::<Array<UidSql>, _>(ids)
        .load(conn)?,
        Db::Sqlite(_) => Vec::new(),
    };
    Ok(found.iter().map(|entry| (entry.command.0, Applied::from(entry))).collect())
}

/// Records by their kinds and ids, live or gone. `LATERAL` with `LIMIT` has PostgreSQL look each one up by the index: it believes that a
/// table which has just grown is small, and would read it from end to end. For the same reason the plan is not kept.
fn by_id(db: &mut Db, agency: AgencyId, keys: &BTreeSet<(&'static str, Uuid)>) -> QueryResult<Vec<Row>> {
    let kinds: Vec<&str> = keys.iter().map(|(kind, _)| *kind).collect();
    let ids: Vec<Uid> = keys.iter().map(|(_, id)| Uid(*id)).collect();
    match db {
        Db::Postgres(conn) => sql_query(
            "SELECT r.* FROM unnest($2, $3) AS k (kind, id), LATERAL (
                 SELECT * FROM record WHERE agency = $1 AND kind = k.kind AND id = k.id LIMIT 1
             ) r",
        )
        .bind::<UidSql, _>(Uid::from(agency))
        .bind::<Array<Text>, _>(kinds)
        .bind::<Array<UidSql>, _>(ids)
        .load(conn),
        Db::Sqlite(_) => Ok(Vec::new()),
    }
}

/// Live records by their kinds and unique names. Which of them are gone is looked at afterwards: asked within, PostgreSQL takes the index
/// of live labels, and reads every record of the kind for each name.
fn by_name(db: &mut Db, agency: AgencyId, keys: &HashSet<(&'static str, Name)>) -> QueryResult<Vec<Row>> {
    let (mut called, mut marked) = ((Vec::new(), Vec::new()), (Vec::new(), Vec::new()));
    for (kind, name) in keys {
        let (list, name) = match name {
            Name::Called(name) => (&mut called, name),
            Name::Marked(mark) => (&mut marked, mark),
        };
        list.0.push(*kind);
        list.1.push(name.as_str());
    }
    match db {
        Db::Postgres(conn) => sql_query(
            "SELECT r.* FROM unnest($2, $3) AS k (kind, name), LATERAL (
                 SELECT * FROM record WHERE agency = $1 AND kind = k.kind AND uniq = k.name LIMIT 1
             ) r WHERE NOT r.gone
             UNION ALL
             SELECT r.* FROM unnest($4, $5) AS k (kind, mark), LATERAL (
                 SELECT * FROM record WHERE agency = $1 AND kind = k.kind AND mark = k.mark LIMIT 1
             ) r WHERE NOT r.gone",
        )
        .bind::<UidSql, _>(Uid::from(agency))
        .bind::<Array<Text>, _>(called.0)
        .bind::<Array<Text>, _>(called.1)
        .bind::<Array<Text>, _>(marked.0)
        .bind::<Array<Text>, _>(marked.1)
        .load(conn),
        Db::Sqlite(_) => Ok(Vec::new()),
    }
}

/// Live records of some kinds on some rigs.
fn on_rigs(db: &mut Db, agency: AgencyId, rigs: &[Uuid], kinds: &[&str]) -> QueryResult<Vec<Row>> {
    let rigs: Vec<Option<Uid>> = rigs.iter().map(|rig| Some(Uid(*rig))).collect();
    crate::on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::rig.eq_any(&rigs)).and(record::kind.eq_any(kinds)).and(record::gone.eq(false)))
        .select(Row::as_select())
        .load(conn))
}
