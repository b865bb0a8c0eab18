//! What a command may do while it is applied: find records, decide, save them. Nothing here commits.

use std::{
    any::{Any, TypeId},
    borrow::Cow,
    cell::Cell,
    collections::BTreeMap,
    sync::Arc,
};

use chrono::{DateTime, Utc};
use serde_json::value::RawValue;
use uuid::{Uuid, Version};

use super::{
    Head, Permission, RecordRef,
    loaded::Loaded,
    raises::Raises,
    registry::{Provided, Settler, Touched},
    unit_of_work::{By, Key, UnitOfWork},
    wording::words,
    writer_cache::WriterCache,
};
use crate::platform::{
    auth::{Actor, Role},
    bodies,
    db::{
        Db,
        types::{Doc, Uid},
    },
    error::{self, Fault},
    ids::AgencyId,
    record::{self, Name, Record, Row, Scope},
};

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

pub(super) fn stored<R: Record>(row: &Loaded) -> Result<Stored<R>, Fault> {
    Ok(Stored {
        record: row.read()?,
        rev: row.rev,
        scope: row.scope(),
    })
}

/// One command's view of the agency, inside the writer's transaction.
#[allow(missing_debug_implementations)]
pub struct Write<'a> {
    pub(super) db: &'a mut Db,
    pub(super) held: &'a mut UnitOfWork,
    pub(super) kept: &'a mut WriterCache,
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
    /// What each touched record was before.
    pub(super) before: Vec<Option<Arc<Loaded>>>,
    pub(super) provided: &'a Provided,
    pub(super) main: Option<Key>,
    pub(super) judged_kinds: &'a [(&'static str, &'static str)],
    pub(super) follow: Touched,
    /// When something of the agency is next due, or earlier.
    pub(super) due: Option<DateTime<Utc>>,
    /// Whether something waits to be judged anew by the clock.
    pub(super) waits: bool,
    /// What it lets count that did not.
    pub(super) raises: Raises,
    /// Whether it has asked for the actor's reach.
    pub(super) asked: Cell<bool>,
}

impl Write<'_> {
    /// The server's time for this command.
    pub fn now(&self) -> DateTime<Utc> {
        self.head.received_at
    }

    /// Takes out what was kept by [`Write::keep`], if it was.
    pub fn kept<T: Any + Send>(&mut self) -> Option<T> {
        self.kept
            .parsed
            .remove(&(self.agency, TypeId::of::<T>()))
            .and_then(|kept| kept.downcast().ok())
            .map(|kept| *kept)
    }

    /// Keeps something parsed for the next command of this agency.
    pub fn keep<T: Any + Send>(&mut self, value: T) {
        self.kept.parsed.insert((self.agency, TypeId::of::<T>()), Box::new(value));
    }

    /// Whether this writer has made every change of the agency after a revision.
    pub fn knows_all_since(&self, rev: i64) -> bool {
        self.kept.lately.get(&self.agency).is_some_and(|lately| lately.from <= rev)
    }

    /// Whether a record of one of these kinds has changed after a revision. Looks at the database only where another process
    /// may have changed it.
    pub fn changed_since(&mut self, kinds: &[&'static str], rev: i64) -> Result<bool, Fault> {
        match self.kept.lately.get(&self.agency).filter(|lately| lately.from <= rev) {
            Some(lately) => Ok(kinds.iter().any(|kind| lately.kinds.get(*kind).is_some_and(|last| *last > rev))),
            None => {
                let agency = self.agency;
                Ok(record::any_since(self.reading()?, agency, kinds, rev)?)
            }
        }
    }

    /// For queries that only read. What waits is written first, so that they find it.
    pub fn reading(&mut self) -> Result<&mut Db, Fault> {
        self.held.write(self.db)?;
        Ok(self.db)
    }

    /// For queries that write: from here on a refusal must undo the transaction.
    pub fn writing(&mut self) -> Result<&mut Db, Fault> {
        self.dirty = true;
        self.reading()
    }

    /// For queries that write beside the records and read nothing that may wait. A refusal must undo them too.
    pub fn beside(&mut self) -> &mut Db {
        self.dirty = true;
        self.db
    }

    /// For queries that read only what is written beside the records.
    pub fn reading_beside(&mut self) -> &mut Db {
        self.db
    }

    /// For queries that end sign-ins: this process refuses them as soon as the command is durable.
    pub fn ending(&mut self) -> &mut Db {
        self.ended = true;
        self.beside()
    }

    pub(super) fn row<R: Record>(&mut self, id: Uuid) -> Result<Option<Arc<Loaded>>, Fault> {
        Ok(self.held.find(self.db, (self.agency, Cow::Borrowed(R::KIND), id))?)
    }

    /// A live record, or none.
    pub fn look<R: Record>(&mut self, id: impl Into<Uuid>) -> Result<Option<Stored<R>>, Fault> {
        match self.row::<R>(id.into())? {
            Some(row) if !row.gone => Ok(Some(stored(&row)?)),
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
    pub fn unique<R: Record>(&mut self, name: &Name) -> Result<Option<Stored<R>>, Fault> {
        let row = self.held.find_unique(self.db, self.agency, R::KIND, name)?;
        row.map(|row| stored(&row)).transpose()
    }

    /// Live records that belong to `parent`.
    pub fn of_parent<R: Record>(&mut self, parent: impl Into<Uuid>) -> Result<Vec<Stored<R>>, Fault> {
        let parent = parent.into();
        let found = record::of_parent(self.db, self.agency, R::KIND, parent)?;
        self.held
            .matching(self.agency, R::KIND, found, By::Parent(parent))
            .iter()
            .map(|row| stored(row))
            .collect()
    }

    /// Live records on a rig.
    pub fn on_rig<R: Record>(&mut self, rig: impl Into<Uuid>) -> Result<Vec<Stored<R>>, Fault> {
        let rig = rig.into();
        self.held.on_rig(self.db, self.agency, R::KIND, rig)?.iter().map(|row| stored(row)).collect()
    }

    /// Live records of a kind in a state that a query finds and for which something is true that a change may make untrue.
    pub fn found<R: Record>(
        &mut self,
        query: impl FnOnce(&mut Db, AgencyId) -> Result<Vec<Row>, Fault>,
        (state, is): (&'static str, impl Fn(&R) -> bool),
    ) -> Result<Vec<Stored<R>>, Fault> {
        let found = query(self.db, self.agency)?;
        let mut all: Vec<Stored<R>> = Vec::new();
        for row in self.held.matching(self.agency, R::KIND, found, By::State(Cow::Borrowed(state))) {
            let one: Stored<R> = stored(&row)?;
            if is(&one.record) {
                all.push(one);
            }
        }
        Ok(all)
    }

    /// All live records of a kind.
    pub fn all<R: Record>(&mut self) -> Result<Vec<Stored<R>>, Fault> {
        let agency = self.agency;
        record::all(self.reading()?, agency, R::KIND)?
            .into_iter()
            .map(|row| stored(&row.into()))
            .collect()
    }

    /// Refuses an id that any record of the kind has or had, and from a client one of those that only the service makes.
    pub fn unused<R: Record>(&mut self, id: impl Into<Uuid>) -> Result<(), Fault> {
        let id = id.into();
        if self.actor.role != Role::Service && id.get_version() == Some(Version::Sha1) {
            let words = "An id of version 5 is one that the service makes; make one of version 7";
            return Err(Fault::field("body.id", words));
        }
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
        let mut row = Row {
            agency: self.agency.into(),
            kind: R::KIND.to_owned(),
            id: Uid(id),
            rev: self.rev,
            gone: false,
            label: index.label,
            uniq: index.uniq,
            mark: index.mark,
            state: index.state,
            parent: index.parent.map(Uid),
            district: None,
            station: None,
            rig: None,
            shop: None,
            home_district: None,
            home_station: None,
            home_rig: None,
            renamed: None,
            body: Doc(bodies::write(&new)?),
        };
        row.put_in(scope);
        for name in row.names() {
            let holder = self.held.find_unique(self.db, self.agency, R::KIND, &name)?;
            if let Some(holder) = holder.filter(|holder| holder.id.0 != id) {
                let kind = words(R::KIND);
                let detail = match name {
                    Name::Called(_) => format!("A {kind} called '{}' is there already", row.label),
                    Name::Marked(_) => format!("What is stamped on the {kind} '{}' is on '{}' already", row.label, holder.label),
                };
                return Err(Fault::new(error::ALREADY_THERE, detail));
            }
        }
        let moved = before.as_ref().is_some_and(|before| before.scope() != scope);
        if R::JUDGED {
            self.follow.judged.insert(id);
        }
        self.put(R::KIND.into(), before, row)?;
        if moved { self.take_along(id, scope) } else { Ok(()) }
    }

    /// Where a live record belongs; none where there is no such record.
    pub fn scope_of<R: Record>(&mut self, id: impl Into<Uuid>) -> Result<Option<Scope>, Fault> {
        Ok(self.row::<R>(id.into())?.filter(|row| !row.gone).map(|row| row.scope()))
    }

    /// Takes a record away. Its last state stays in the change log.
    pub fn remove<R: Record>(&mut self, id: impl Into<Uuid>) -> Result<(), Fault> {
        let id = id.into();
        let Some(before) = self.row::<R>(id)? else { return Ok(()) };
        let row = Row {
            rev: self.rev,
            gone: true,
            uniq: None,
            mark: None,
            ..before.row().clone()
        };
        if R::JUDGED {
            self.follow.judged.insert(id);
        }
        self.put(R::KIND.into(), Some(before), row)
    }

    pub(super) fn put(&mut self, kind: Cow<'static, str>, before: Option<Arc<Loaded>>, mut row: Row) -> Result<(), Fault> {
        let key = (self.agency, kind, row.id.0);
        if let Some(lately) = self.kept.lately.get_mut(&self.agency) {
            lately.kinds.insert(key.1.clone(), self.rev);
        }
        if let Some(was) = &before {
            row.renamed = if was.label == row.label { was.renamed } else { Some(self.rev) };
            let new = row.scope();
            if was.scope() != new {
                self.held.depart(was, new, self.rev);
            }
        }
        match &before {
            // The same command has changed it already.
            Some(before) if before.rev == self.rev => {}
            _ => {
                self.touched.push(RecordRef {
                    kind: row.kind.clone(),
                    id: row.id.0,
                    rev: row.rev,
                });
                self.before.push(before.clone());
                if self.main.is_none() {
                    self.main = Some(key.clone());
                }
            }
        }
        self.held.put(key, row, before);
        Ok(())
    }

    pub(super) fn main_body(&self) -> Option<Box<RawValue>> {
        let row = self.held.known(self.main.as_ref()?)?;
        RawValue::from_string(row.body.0.clone()).ok()
    }
}
