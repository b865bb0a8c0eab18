//! A record is the unit of sync, history and permission: one noun of the trade, kept whole as the JSON that goes over
//! the wire, with the few columns it is looked up by.
//!
//! This file does not know which nouns exist. Each slice says what its record is called and how it is found.

mod scope;

use diesel::prelude::*;
use serde::{Serialize, de::DeserializeOwned};
use utoipa::{
    PartialSchema, ToSchema,
    openapi::{Object, RefOr, schema::Schema},
};
use uuid::Uuid;

use super::{
    bodies::{self, Upcast},
    db::{
        Db,
        schema::{record, replaced, state},
        types::{Doc, Uid},
    },
    error::Fault,
    ids::AgencyId,
};
use crate::on;

pub use scope::{Departure, Home, Level, Scope, ScopeRow};

/// The wire form of a noun, and how it is found.
pub trait Record: Clone + Serialize + DeserializeOwned + utoipa::ToSchema + Send + Sync + 'static {
    /// Its word in the feed, for example `piece`.
    const KIND: &'static str;
    /// Whether every feed holds it, whatever places the feed names: what everybody needs to read the rest.
    const EVERYWHERE: bool = false;
    /// The state in which it changes place with its parent: an open defect goes with its piece.
    const FOLLOWS_WHILE: Option<&'static str> = None;
    /// For an answer that runs out by itself: the kind of its lapses. The record then has `holds_until`, and `known` and
    /// `pending`, which say to a reader that the answer is not settled.
    const LAPSES: Option<&'static str> = None;
    /// For an answer that is judged together with that about the rig it is on: the kind of that one's lapses.
    const LAPSES_ABOARD: Option<&'static str> = None;
    /// Whether an answer about the record itself is worked out again whenever it changes.
    const JUDGED: bool = false;
    /// What brings a body of an earlier version to the next, from version 1 on. Its number of functions and 1 is the version that is
    /// written now. A function that has been released is never changed or taken away.
    const UPCASTS: &'static [Upcast] = &[];
    /// The states that it can be in, as lists are narrowed by them; none where it has no state.
    fn states() -> Vec<&'static str> {
        Vec::new()
    }
    /// What its tag is kept as, for a record that has one.
    fn tagged_as(_: &str) -> Option<String> {
        None
    }
    /// What its stamp ends with for a serial number, for a record that has one.
    fn stamped_as(_: &str) -> Option<String> {
        None
    }
    /// Its id.
    fn id(&self) -> Uuid;
    /// Stamps the revision of the last change, and writes on it what the record then allows.
    fn stamp(&mut self, rev: i64);
    /// What it is listed, searched and kept unique by.
    fn index(&self) -> Index;
}

/// The word of a record kind, for the document: there it is one of all the kinds that exist.
#[derive(Debug)]
pub struct RecordKind;

impl PartialSchema for RecordKind {
    fn schema() -> RefOr<Schema> {
        Object::default().into()
    }
}

impl ToSchema for RecordKind {}

/// What a record is found by.
#[derive(Debug, Default)]
pub struct Index {
    /// What a person calls it: a tag, a name. Lists are in this order and searches look at its start.
    pub label: String,
    /// When set, no two live records of the kind in an agency share it.
    pub uniq: Option<String>,
    /// What is stamped on it, such as a maker's serial number; when set, no two live records of the kind in an agency share it.
    pub mark: Option<String>,
    /// Its state in one word, empty where it has none.
    pub state: String,
    /// The record that it belongs to: the piece of a defect.
    pub parent: Option<Uuid>,
}

/// What no two live records of a kind share, of the two that a record may have.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Name {
    /// What people call it.
    Called(String),
    /// What is stamped on it.
    Marked(String),
}

/// A row of `record`.
#[derive(Debug, Clone, Queryable, QueryableByName, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = record, treat_none_as_null = true, treat_none_as_default_value = false)]
pub struct Row {
    pub agency: Uid,
    pub kind: String,
    pub id: Uid,
    pub rev: i64,
    pub gone: bool,
    pub label: String,
    pub uniq: Option<String>,
    pub mark: Option<String>,
    pub state: String,
    pub parent: Option<Uid>,
    pub district: Option<Uid>,
    pub station: Option<Uid>,
    pub rig: Option<Uid>,
    pub shop: Option<Uid>,
    pub home_district: Option<Uid>,
    pub home_station: Option<Uid>,
    pub home_rig: Option<Uid>,
    pub renamed: Option<i64>,
    pub body: Doc,
}

impl Row {
    /// The names that no other live record of its kind may have.
    pub fn names(&self) -> impl Iterator<Item = Name> + '_ {
        let (name, mark) = (self.uniq.clone().map(Name::Called), self.mark.clone().map(Name::Marked));
        name.into_iter().chain(mark)
    }

    /// The state as it is kept once another has replaced it.
    pub fn state(&self) -> StateRow {
        StateRow {
            agency: self.agency,
            rev: self.rev,
            kind: self.kind.clone(),
            id: self.id,
            gone: self.gone,
            district: self.district,
            station: self.station,
            rig: self.rig,
            body: self.body.clone(),
        }
    }

    /// The record itself.
    pub fn read<R: Record>(&self) -> Result<R, Fault> {
        bodies::read(&self.body.0)
    }
}

/// A state that a record has or has had.
#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = replaced, treat_none_as_default_value = false)]
pub struct StateRow {
    pub agency: Uid,
    pub rev: i64,
    pub kind: String,
    pub id: Uid,
    pub gone: bool,
    pub district: Option<Uid>,
    pub station: Option<Uid>,
    pub rig: Option<Uid>,
    pub body: Doc,
}

/// One record, live or gone.
pub fn find(db: &mut Db, agency: AgencyId, kind: &str, id: Uuid) -> QueryResult<Option<Row>> {
    on!(db, conn => record::table
        .find((Uid::from(agency), kind, Uid(id)))
        .select(Row::as_select())
        .first(conn)
        .optional())
}

/// The live record that holds a unique name.
pub fn find_unique(db: &mut Db, agency: AgencyId, kind: &str, name: &Name) -> QueryResult<Option<Row>> {
    on!(db, conn => {
        let query = record::table
            .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq(kind)).and(record::gone.eq(false)))
            .select(Row::as_select());
        match name {
            Name::Called(name) => query.filter(record::uniq.eq(name)).first(conn),
            Name::Marked(mark) => query.filter(record::mark.eq(mark)).first(conn),
        }
        .optional()
    })
}

/// Live records of a kind that belong to a parent, by id. Sorted here: asked to sort, SQLite walks the whole kind in order.
pub fn of_parent(db: &mut Db, agency: AgencyId, kind: &str, parent: Uuid) -> QueryResult<Vec<Row>> {
    let mut rows: Vec<Row> = on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::parent.eq(Uid(parent))).and(record::kind.eq(kind)).and(record::gone.eq(false)))
        .select(Row::as_select())
        .load(conn))?;
    rows.sort_unstable_by_key(|row| row.id);
    Ok(rows)
}

/// The most ids that one query names.
const MOST_IDS: usize = 1000;

/// Live records of a kind that belong to any of these parents; those of each thousand parents by label.
pub fn of_parents(db: &mut Db, agency: AgencyId, kind: &str, parents: &[Uuid]) -> QueryResult<Vec<Row>> {
    let parents: Vec<Option<Uid>> = parents.iter().map(|parent| Some(Uid(*parent))).collect();
    let mut all = Vec::new();
    for parents in parents.chunks(MOST_IDS) {
        let mut rows: Vec<Row> = on!(&mut *db, conn => record::table
            .filter(record::agency.eq(Uid::from(agency)).and(record::parent.eq_any(parents)).and(record::kind.eq(kind)).and(record::gone.eq(false)))
            .select(Row::as_select())
            .load(conn))?;
        rows.sort_unstable_by(|a, b| a.label.cmp(&b.label).then(a.id.cmp(&b.id)));
        all.append(&mut rows);
    }
    Ok(all)
}

/// What a record stands under, without its body.
#[derive(Debug, Queryable)]
pub struct Ties {
    /// The record whose ties these are.
    pub id: Uid,
    /// What a person calls it.
    pub label: String,
    /// The record that it belongs to.
    pub parent: Option<Uid>,
    /// The rig that it is on.
    pub rig: Option<Uid>,
    /// The station that it is at.
    pub station: Option<Uid>,
    /// The district that it is in.
    pub district: Option<Uid>,
}

/// What the live records of some kinds stand under, in the order of kinds, labels and ids.
pub fn ties(db: &mut Db, agency: AgencyId, kinds: &[&str]) -> QueryResult<Vec<Ties>> {
    on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq_any(kinds)).and(record::gone.eq(false)))
        .order((record::kind, record::label, record::id))
        .select((record::id, record::label, record::parent, record::rig, record::station, record::district))
        .load(conn))
}

/// Live records of a kind on a rig, by label.
pub fn on_rig(db: &mut Db, agency: AgencyId, kind: &str, rig: Uuid) -> QueryResult<Vec<Row>> {
    let mut rows: Vec<Row> = on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::rig.eq(Uid(rig))).and(record::kind.eq(kind)).and(record::gone.eq(false)))
        .select(Row::as_select())
        .load(conn))?;
    rows.sort_unstable_by(|a, b| a.label.cmp(&b.label));
    Ok(rows)
}

/// Whose records are asked for.
#[derive(Debug, Clone, Copy)]
pub enum Of {
    /// A station's.
    Station(Uuid),
    /// A rig's.
    Rig(Uuid),
}

/// Live records of any kind that belong to a station or a rig: are there, or have their home there.
pub fn of_scope(db: &mut Db, agency: AgencyId, of: Of) -> QueryResult<Vec<Row>> {
    on!(db, conn => {
        let query = record::table
            .filter(record::agency.eq(Uid::from(agency)).and(record::gone.eq(false)))
            .order((record::kind, record::id))
            .select(Row::as_select());
        match of {
            Of::Station(id) => query.filter(record::station.eq(Uid(id)).or(record::home_station.eq(Uid(id)))).load(conn),
            Of::Rig(id) => query.filter(record::rig.eq(Uid(id)).or(record::home_rig.eq(Uid(id)))).load(conn),
        }
    })
}

/// All live records of a kind.
pub fn all(db: &mut Db, agency: AgencyId, kind: &str) -> QueryResult<Vec<Row>> {
    on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq(kind)).and(record::gone.eq(false)))
        .order((record::label, record::id))
        .select(Row::as_select())
        .load(conn))
}

/// All live records of a kind that are not in a state.
pub fn all_but(db: &mut Db, agency: AgencyId, kind: &str, state: &str) -> QueryResult<Vec<Row>> {
    on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq(kind)).and(record::gone.eq(false)).and(record::state.ne(state)))
        .select(Row::as_select())
        .load(conn))
}

/// All live records of a kind, read.
pub fn read_all<R: Record>(db: &mut Db, agency: AgencyId) -> Result<Vec<R>, Fault> {
    all(db, agency, R::KIND)?.iter().map(Row::read).collect()
}

/// Whether a record of one of these kinds has changed after a revision. The kinds are compared here: what changed lately is
/// little, what is of a kind may be much.
pub fn any_since(db: &mut Db, agency: AgencyId, kinds: &[&str], rev: i64) -> QueryResult<bool> {
    let changed: Vec<String> = on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::rev.gt(rev)))
        .select(record::kind)
        .load(conn))?;
    Ok(changed.iter().any(|kind| kinds.contains(&kind.as_str())))
}

/// Kind and id of each record that a revision touched and whose state of then is still kept.
pub fn touched_by(db: &mut Db, agency: AgencyId, rev: i64) -> QueryResult<Vec<(String, Uuid)>> {
    let touched: Vec<(String, Uid)> = on!(db, conn => state::table
        .filter(state::agency.eq(Uid::from(agency)).and(state::rev.eq(rev)))
        .order((state::kind, state::id))
        .select((state::kind, state::id))
        .load(conn))?;
    Ok(touched.into_iter().map(|(kind, id)| (kind, id.0)).collect())
}

/// The live records that a revision touched, as they are now.
pub fn left_by(db: &mut Db, agency: AgencyId, rev: i64) -> QueryResult<Vec<Row>> {
    let touched = touched_by(db, agency, rev)?;
    let mut rows = Vec::with_capacity(touched.len());
    for (kind, id) in touched {
        rows.extend(find(db, agency, &kind, id)?.filter(|row| !row.gone));
    }
    Ok(rows)
}

/// The rigs of an agency. A rig's own record is in its scope, so that no noun need be named here.
pub fn rigs(db: &mut Db, agency: AgencyId) -> QueryResult<Vec<Uuid>> {
    let ids: Vec<Option<Uid>> = on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::rig.is_not_null()).and(record::gone.eq(false)))
        .select(record::rig)
        .distinct()
        .load(conn))?;
    Ok(ids.into_iter().flatten().map(|id| id.0).collect())
}

/// The live records of a kind that are on no rig.
pub fn on_no_rig(db: &mut Db, agency: AgencyId, kind: &str) -> QueryResult<Vec<Uuid>> {
    let ids: Vec<Uid> = on!(db, conn => record::table
        .filter(record::agency.eq(Uid::from(agency)).and(record::kind.eq(kind)).and(record::rig.is_null()).and(record::gone.eq(false)))
        .select(record::id)
        .load(conn))?;
    Ok(ids.into_iter().map(|id| id.0).collect())
}

/// A record as a revision left it.
pub fn as_of_change(db: &mut Db, agency: AgencyId, rev: i64, kind: &str, id: Uuid) -> QueryResult<Option<Doc>> {
    on!(db, conn => state::table.find((Uid::from(agency), kind, Uid(id), rev)).select(state::body).first(conn).optional())
}
