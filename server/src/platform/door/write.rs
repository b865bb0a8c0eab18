//! What a command may do while it is applied: find records, decide, save them. Nothing here commits.

use std::{
    any::{Any, TypeId},
    borrow::Cow,
    collections::{BTreeMap, HashMap},
};

use chrono::{DateTime, Utc};
use serde_json::value::RawValue;
use uuid::Uuid;

use super::{
    Head, RecordRef,
    command::Permission,
    lapses,
    registry::{Settler, Touched},
    settle::SLICE,
    wording::words,
};
use crate::platform::{
    auth::Actor,
    db::{
        Db,
        types::{Doc, Uid},
    },
    error::{self, Fault},
    ids::AgencyId,
    record::{self, ChangeRow, Record, Row, Scope},
};

/// The record kind of what a command has worked out again.
const RIG: &str = "rig";

/// A record as it was found.
#[derive(Debug, Clone)]
pub struct Stored<R> {
    /// The record.
    pub record: R,
    /// The revision of its last change.
    pub rev: i64,
    /// Where it belongs.
    pub scope: Scope,
}

/// Rows that this writer's transaction has read or written, so that a group of commands reads a rig's models once.
pub(super) type Seen = BTreeMap<Key, Option<Row>>;

pub(super) type Key = (AgencyId, Cow<'static, str>, Uuid);

/// What a slice keeps parsed between commands, by type. It is forgotten whenever a transaction is undone; whether it is
/// still true is the slice's to check, because another process may have written since.
#[derive(Default)]
pub(super) struct Kept(HashMap<(AgencyId, TypeId), Box<dyn Any + Send>>);

impl Kept {
    pub(super) fn forget(&mut self) {
        self.0.clear();
    }
}

/// One command's view of the agency, inside the writer's transaction.
#[allow(missing_debug_implementations)]
pub struct Write<'a> {
    pub(super) db: &'a mut Db,
    pub(super) seen: &'a mut Seen,
    pub(super) kept: &'a mut Kept,
    pub(super) followers: &'a [(&'static str, &'static str)],
    pub(super) settlers: &'a BTreeMap<&'static str, Settler>,
    /// The agency; every query carries it.
    pub agency: AgencyId,
    /// Who acts.
    pub actor: &'a Actor,
    /// The command's id, times and expectation.
    pub head: &'a Head,
    /// The revision that this command will make.
    pub rev: i64,
    pub(super) dirty: bool,
    pub(super) ended: bool,
    pub(super) touched: Vec<RecordRef>,
    pub(super) main: Option<Key>,
    pub(super) judged_kinds: &'a [&'static str],
    pub(super) follow: Touched,
    /// When something of the agency is next due, or earlier.
    pub(super) due: Option<DateTime<Utc>>,
    /// Whether something waits to be judged anew by the clock.
    pub(super) waits: bool,
}

impl Write<'_> {
    /// The server's time for this command.
    pub fn now(&self) -> DateTime<Utc> {
        self.head.received_at
    }

    /// Takes out what was kept by [`Write::keep`], if it was.
    pub fn kept<T: Any + Send>(&mut self) -> Option<T> {
        self.kept
            .0
            .remove(&(self.agency, TypeId::of::<T>()))
            .and_then(|kept| kept.downcast().ok())
            .map(|kept| *kept)
    }

    /// Keeps something parsed for the next command of this agency.
    pub fn keep<T: Any + Send>(&mut self, value: T) {
        self.kept.0.insert((self.agency, TypeId::of::<T>()), Box::new(value));
    }

    /// For queries that only read.
    pub fn reading(&mut self) -> &mut Db {
        self.db
    }

    /// For queries that write: from here on a refusal must undo the transaction.
    pub fn writing(&mut self) -> &mut Db {
        self.dirty = true;
        self.db
    }

    /// For queries that end sign-ins: this process refuses them as soon as the command is durable.
    pub fn ending(&mut self) -> &mut Db {
        self.ended = true;
        self.writing()
    }

    fn row<R: Record>(&mut self, id: Uuid) -> Result<Option<Row>, Fault> {
        let key = (self.agency, Cow::Borrowed(R::KIND), id);
        if let Some(row) = self.seen.get(&key) {
            return Ok(row.clone());
        }
        let row = record::find(self.db, self.agency, R::KIND, id)?;
        self.seen.insert(key, row.clone());
        Ok(row)
    }

    /// A live record, or none.
    pub fn look<R: Record>(&mut self, id: impl Into<Uuid>) -> Result<Option<Stored<R>>, Fault> {
        match self.row::<R>(id.into())? {
            Some(row) if !row.gone => Ok(Some(Stored {
                record: row.read()?,
                rev: row.rev,
                scope: row.scope(),
            })),
            _ => Ok(None),
        }
    }

    /// The live record that a command acts on; 404 when the agency has none.
    pub fn find<R: Record>(&mut self, id: impl Into<Uuid>) -> Result<Stored<R>, Fault> {
        let id = id.into();
        self.look(id)?
            .ok_or_else(|| Fault::new(error::NOT_FOUND, format!("There is no {} with the id {id}", words(R::KIND))))
    }

    /// A live record that a field of the body names.
    pub fn named<R: Record>(&mut self, field: &str, id: impl Into<Uuid>) -> Result<Stored<R>, Fault> {
        let id = id.into();
        self.look(id)?
            .ok_or_else(|| Fault::field(format!("body.{field}"), format!("There is no {} with the id {id}", words(R::KIND))))
    }

    /// The live record that holds a unique name.
    pub fn unique<R: Record>(&mut self, name: &str) -> Result<Option<Stored<R>>, Fault> {
        let row = record::find_unique(self.db, self.agency, R::KIND, name)?;
        row.map(|row| {
            Ok(Stored {
                record: row.read()?,
                rev: row.rev,
                scope: row.scope(),
            })
        })
        .transpose()
    }

    fn stored<R: Record>(rows: Vec<Row>) -> Result<Vec<Stored<R>>, Fault> {
        rows.into_iter()
            .map(|row| {
                Ok(Stored {
                    record: row.read()?,
                    rev: row.rev,
                    scope: row.scope(),
                })
            })
            .collect()
    }

    /// Live records that belong to `parent`.
    pub fn of_parent<R: Record>(&mut self, parent: impl Into<Uuid>) -> Result<Vec<Stored<R>>, Fault> {
        Self::stored(record::of_parent(self.db, self.agency, R::KIND, parent.into())?)
    }

    /// Live records on a rig.
    pub fn on_rig<R: Record>(&mut self, rig: impl Into<Uuid>) -> Result<Vec<Stored<R>>, Fault> {
        Self::stored(record::on_rig(self.db, self.agency, R::KIND, rig.into())?)
    }

    /// All live records of a kind.
    pub fn all<R: Record>(&mut self) -> Result<Vec<Stored<R>>, Fault> {
        Self::stored(record::all(self.db, self.agency, R::KIND)?)
    }

    /// Refuses an id that any record of the kind has or had.
    pub fn unused<R: Record>(&mut self, id: impl Into<Uuid>) -> Result<(), Fault> {
        let id = id.into();
        match self.row::<R>(id)? {
            Some(_) => Err(Fault::new(
                error::ALREADY_THERE,
                format!("A {} with the id {id} is there already; make a new id", words(R::KIND)),
            )
            .at("body.id")),
            None => Ok(()),
        }
    }

    /// Holds the command to the revision it was decided on: none named is 428, an older one is a conflict that shows
    /// the record as it stands.
    pub fn expects<R: Record>(&self, stored: &Stored<R>) -> Result<(), Fault> {
        self.unchanged(stored, self.head.expects)
    }

    /// The same for one of several records that a command was decided on, each with the revision that was seen.
    pub fn unchanged<R: Record>(&self, stored: &Stored<R>, seen: Option<i64>) -> Result<(), Fault> {
        match seen {
            Some(rev) if rev == stored.rev => Ok(()),
            None => Err(Fault::new(
                error::REVISION_NEEDED,
                "This undoes or changes what another member may have decided. Name the revision that you saw, in `expects` or If-Match",
            )
            .at("expects")),
            Some(_) => {
                let mut current = serde_json::to_value(&stored.record)?;
                if let Some(fields) = current.as_object_mut() {
                    fields.insert("rev".into(), stored.rev.into());
                }
                let mut fault = Fault::new(
                    error::STALE,
                    format!("The {} has changed since you saw it. Look at both sides, then decide again", words(R::KIND)),
                );
                fault.current = Some(current);
                Err(fault)
            }
        }
    }

    /// Refuses a member whose district or station this is not.
    pub fn reach(&self, scope: Scope) -> Result<(), Fault> {
        if self.actor.reaches(scope) {
            Ok(())
        } else {
            Err(Fault::new(
                error::OUT_OF_REACH,
                "This is outside your station or district; ask a member there, or the chief",
            ))
        }
    }

    /// Refuses a member whose role lacks the permission.
    pub fn allowed(&self, permission: Permission) -> Result<(), Fault> {
        if self.actor.role.grants(permission) {
            Ok(())
        } else {
            Err(Fault::new(error::NOT_ALLOWED, format!("The role '{}' may not do this", self.actor.role)))
        }
    }

    /// Saves a record under this command's revision.
    pub fn save<R: Record>(&mut self, mut new: R, scope: Scope) -> Result<(), Fault> {
        new.stamp(self.rev);
        let id = new.id();
        let before = self.row::<R>(id)?;
        let index = new.index();
        if let Some(uniq) = &index.uniq {
            let holder = record::find_unique(self.db, self.agency, R::KIND, uniq)?;
            if holder.is_some_and(|holder| holder.id.0 != id) {
                return Err(Fault::new(
                    error::ALREADY_THERE,
                    format!("A {} called '{}' is there already", words(R::KIND), index.label),
                ));
            }
        }
        let row = Row {
            agency: self.agency.into(),
            kind: R::KIND.to_owned(),
            id: Uid(id),
            rev: self.rev,
            gone: false,
            label: index.label,
            uniq: index.uniq,
            state: index.state,
            parent: index.parent.map(Uid),
            district: scope.district.map(Uid),
            station: scope.station.map(Uid),
            rig: scope.rig.map(Uid),
            body: Doc(serde_json::to_string(&new)?),
        };
        let moved = before.as_ref().is_some_and(|before| before.scope() != scope);
        if R::JUDGED {
            self.follow.judged.insert(id);
        }
        self.put(R::KIND.into(), before, row)?;
        if moved { self.take_along(id, scope) } else { Ok(()) }
    }

    /// Takes a record away. Its last state stays in the change log.
    pub fn remove<R: Record>(&mut self, id: impl Into<Uuid>) -> Result<(), Fault> {
        let id = id.into();
        let Some(before) = self.row::<R>(id)? else { return Ok(()) };
        let row = Row {
            rev: self.rev,
            gone: true,
            uniq: None,
            ..before.clone()
        };
        if R::JUDGED {
            self.follow.judged.insert(id);
        }
        self.put(R::KIND.into(), Some(before), row)
    }

    pub(super) fn put(&mut self, kind: Cow<'static, str>, before: Option<Row>, row: Row) -> Result<(), Fault> {
        let was = before.as_ref().map(Row::scope).unwrap_or_default();
        let is = row.scope();
        let left = |old: Option<Uuid>, new: Option<Uuid>| old.filter(|_| old != new).map(Uid);
        let again = before.is_some_and(|before| before.rev == self.rev);
        self.dirty = true;
        record::put(self.db, &row)?;
        let change = ChangeRow {
            agency: row.agency,
            rev: row.rev,
            kind: row.kind.clone(),
            id: row.id,
            gone: row.gone,
            district: row.district,
            station: row.station,
            rig: row.rig,
            left_district: left(was.district, is.district),
            left_station: left(was.station, is.station),
            left_rig: left(was.rig, is.rig),
            body: row.body.clone(),
        };
        let key = (self.agency, kind, row.id.0);
        if again {
            record::log_again(self.db, &change)?;
        } else {
            record::log(self.db, &change)?;
            self.touched.push(RecordRef {
                kind: row.kind.clone(),
                id: row.id.0,
                rev: row.rev,
            });
            if self.main.is_none() {
                self.main = Some(key.clone());
            }
        }
        self.seen.insert(key, Some(row));
        Ok(())
    }

    pub(super) fn main_body(&self) -> Option<Box<RawValue>> {
        let row = self.seen.get(self.main.as_ref()?)?;
        RawValue::from_string(row.as_ref()?.body.0.clone()).ok()
    }

    /// Has every rig judged again, and every record on no rig about which an answer of its own is kept: what all of them are
    /// judged by has changed. The first of them are worked out when the command is done, the others wait for the clock, which
    /// takes them up at once and a slice at a time.
    pub fn reconsider_all(&mut self) -> Result<(), Fault> {
        let mut rigs = record::rigs(self.db, self.agency)?;
        let rest = rigs.split_off(rigs.len().min(SLICE));
        let mut room = SLICE - rigs.len();
        self.follow.rigs.extend(rigs);
        self.later(RIG, &rest)?;
        for kind in self.judged_kinds {
            let mut loose = record::on_no_rig(self.db, self.agency, kind)?;
            let rest = loose.split_off(loose.len().min(room));
            room -= loose.len();
            self.follow.judged.extend(loose);
            self.later(kind, &rest)?;
        }
        Ok(())
    }

    /// Leaves what a command touched to the clock. Until it is judged, how it stands is not known.
    pub(super) fn judge_later(&mut self, touched: &Touched) -> Result<(), Fault> {
        let rigs: Vec<Uuid> = touched.rigs.iter().copied().collect();
        self.later(RIG, &rigs)?;
        let judged: Vec<Uuid> = touched.judged.iter().copied().collect();
        self.judged_kinds.iter().try_for_each(|kind| self.later(kind, &judged))
    }

    fn later(&mut self, kind: &str, ids: &[Uuid]) -> Result<(), Fault> {
        if !ids.is_empty() {
            self.dirty = true;
            self.waits = true;
            let now = self.now();
            lapses::set_pending(self.db, self.agency, kind, ids, now)?;
        }
        Ok(())
    }

    /// Has the rig's capability worked out again when the command is done.
    pub fn reconsider(&mut self, rig: impl Into<Uuid>) {
        self.follow.rigs.insert(rig.into());
    }
}
