//! What a transaction of the writer has read, and what it has yet to write. Rows wait here until the transaction is committed
//! or a query needs them in their table, and are then written in few statements; a command that is refused meanwhile takes back
//! what it put here, and nobody else's transaction is undone for it.

use std::{borrow::Cow, collections::HashMap, sync::Arc};

use diesel::QueryResult;
use uuid::Uuid;

use super::{
    journal::{self, Applied, Entry},
    lapsing::LapseSlot,
    loaded::Loaded,
    stores,
};
use crate::platform::{
    db::{Db, types::Uid},
    ids::AgencyId,
    record::{self, Departure, Name, Row, Scope},
};

/// Made for keys that clients choose and that are looked up some hundred times a command: seeded, and faster than the standard one.
type Map<K, V> = HashMap<K, V, foldhash::fast::RandomState>;
pub(super) type Kind = Cow<'static, str>;
pub(super) type Key = (AgencyId, Kind, Uuid);
/// A unique name of an agency's kind.
pub(super) type NameKey = (AgencyId, Kind, Name);

/// A record as the transaction knows it.
#[derive(Debug, Clone)]
pub(super) struct Slot {
    /// None: no such record.
    pub(super) row: Option<Arc<Loaded>>,
    pub(super) waits: Waits,
}

/// Whether a row has yet to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Waits {
    No,
    /// It is not in the table yet.
    New,
    /// The table has an older state of it, under these unique names.
    Changed(Vec<Name>),
}

/// What was there before a command changed it.
pub(super) enum Undo {
    Slot(Key, Option<Slot>),
    Name(NameKey, Option<Uuid>),
    Lapse(Key, Option<LapseSlot>),
}

/// What records of a kind are looked for by.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) enum By {
    Rig(Uuid),
    Parent(Uuid),
    State(Cow<'static, str>),
}

impl By {
    /// Whether a row is among what is looked for.
    fn holds(&self, row: &Row) -> bool {
        match self {
            Self::Rig(rig) => row.rig == Some(Uid(*rig)),
            Self::Parent(parent) => row.parent == Some(Uid(*parent)),
            Self::State(state) => row.state == *state,
        }
    }
}

/// Where a command began.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mark {
    replaced: usize,
    departed: usize,
    entries: usize,
    undo: usize,
    written: u64,
}

/// What a transaction has read and has yet to write.
#[derive(Default)]
pub(super) struct UnitOfWork {
    pub(super) slots: Map<Key, Slot>,
    /// Rows that wait, in the order of their last change.
    order: Vec<Key>,
    /// Rows that wait, or that a refused command has taken back, by what they are looked for by.
    waiting: Map<(AgencyId, Kind, By), Vec<Uuid>>,
    /// Unique names of rows that wait.
    names: Map<NameKey, Uuid>,
    replaced: Vec<Arc<Loaded>>,
    /// Marks of what has left a place.
    departed: Vec<Departure>,
    entries: Vec<Entry>,
    /// By record: when its answer runs out.
    pub(super) lapses: Map<Key, LapseSlot>,
    /// Lapses that wait, or that a refused command has taken back.
    pub(super) late: Vec<Key>,
    /// What the table had under a unique name when it was read ahead.
    pub(super) looked_up: Map<NameKey, Option<Uuid>>,
    /// By kind and rig: all records that are on it.
    pub(super) rigs: Map<Key, Vec<Key>>,
    /// Command ids that were looked for or have been applied, with what the journal has of each.
    pub(super) applied: Map<(AgencyId, Uuid), Option<Applied>>,
    pub(super) undo: Vec<Undo>,
    /// How often rows were written.
    written: u64,
}

impl UnitOfWork {
    /// A command begins here.
    pub(super) fn mark(&mut self) -> Mark {
        self.undo.clear();
        Mark {
            replaced: self.replaced.len(),
            departed: self.departed.len(),
            entries: self.entries.len(),
            undo: 0,
            written: self.written,
        }
    }

    /// Takes back what was put here since a mark. Not possible any more once rows were written in between.
    pub(super) fn take_back(&mut self, mark: Mark) -> bool {
        if self.written != mark.written {
            return false;
        }
        for undo in self.undo.drain(mark.undo..).rev() {
            match undo {
                Undo::Slot(key, Some(slot)) => drop(self.slots.insert(key, slot)),
                Undo::Slot(key, None) => drop(self.slots.remove(&key)),
                Undo::Name(name, Some(id)) => drop(self.names.insert(name, id)),
                Undo::Name(name, None) => drop(self.names.remove(&name)),
                Undo::Lapse(key, Some(slot)) => drop(self.lapses.insert(key, slot)),
                Undo::Lapse(key, None) => drop(self.lapses.remove(&key)),
            }
        }
        self.replaced.truncate(mark.replaced);
        self.departed.truncate(mark.departed);
        self.entries.truncate(mark.entries);
        true
    }

    /// Whether anything was written to the tables since a mark.
    pub(super) fn has_written_since(&self, mark: Mark) -> bool {
        self.written != mark.written
    }

    /// Forgets what was read and is in its table: somebody wrote around this.
    pub(super) fn forget_read(&mut self) {
        self.slots.retain(|_, slot| slot.waits != Waits::No);
        self.lapses.retain(|_, slot| slot.waits);
        self.looked_up.clear();
        self.rigs.clear();
    }

    /// A record, live or gone.
    pub(super) fn find(&mut self, db: &mut Db, key: Key) -> QueryResult<Option<Arc<Loaded>>> {
        if let Some(slot) = self.slots.get(&key) {
            return Ok(slot.row.clone());
        }
        let row = record::find(db, key.0, &key.1, key.2)?.map(|row| Arc::new(Loaded::from(row)));
        self.slots.insert(
            key,
            Slot {
                row: row.clone(),
                waits: Waits::No,
            },
        );
        Ok(row)
    }

    /// Takes note of records that were read; those that wait stay as they are.
    pub(super) fn know(&mut self, key: Key, row: Option<Arc<Loaded>>) -> Option<Arc<Loaded>> {
        self.slots.entry(key).or_insert(Slot { row, waits: Waits::No }).row.clone()
    }

    /// The live record that holds a unique name.
    pub(super) fn find_unique(&mut self, db: &mut Db, agency: AgencyId, kind: &'static str, name: &Name) -> QueryResult<Option<Arc<Loaded>>> {
        let key = (agency, Cow::Borrowed(kind), name.clone());
        if let Some(id) = self.names.get(&key) {
            return self.find(db, (agency, Cow::Borrowed(kind), *id));
        }
        let row = match self.looked_up.get(&key).copied() {
            Some(None) => return Ok(None),
            Some(Some(id)) => self.find(db, (agency, Cow::Borrowed(kind), id))?,
            None => match record::find_unique(db, agency, kind, name)? {
                None => return Ok(None),
                Some(row) => self.know((agency, Cow::Borrowed(kind), row.id.0), Some(Arc::new(Loaded::from(row)))),
            },
        };
        // One that waits may have given the name up.
        Ok(row.filter(|row| !row.gone && row.names().any(|has| has == *name)))
    }

    /// Live records of a kind that are looked for by something: those that were found in the table, as they are now, and those
    /// that wait; in the order of their ids.
    pub(super) fn matching(&mut self, agency: AgencyId, kind: &'static str, found: Vec<Row>, by: By) -> Vec<Arc<Loaded>> {
        let found = found.into_iter().filter_map(|row| {
            let key = (agency, Cow::Borrowed(kind), row.id.0);
            self.know(key, Some(Arc::new(Loaded::from(row))))
        });
        let rows = found.collect();
        self.with_waiting(agency, kind, rows, by)
    }

    /// Those of the rows that are looked for, and those that wait.
    fn with_waiting(&self, agency: AgencyId, kind: &'static str, mut rows: Vec<Arc<Loaded>>, by: By) -> Vec<Arc<Loaded>> {
        let looked_for = (agency, Cow::Borrowed(kind), by);
        let waiting = self.waiting.get(&looked_for).into_iter().flatten();
        rows.extend(waiting.filter_map(|id| self.known(&(agency, Cow::Borrowed(kind), *id)).map(Arc::clone)));
        rows.retain(|row| !row.gone && looked_for.2.holds(row));
        rows.sort_unstable_by_key(|row| row.id.0);
        rows.dedup_by_key(|row| row.id.0);
        rows
    }

    /// Live records of a kind on a rig.
    pub(super) fn on_rig(&mut self, db: &mut Db, agency: AgencyId, kind: &'static str, rig: Uuid) -> QueryResult<Vec<Arc<Loaded>>> {
        let Some(keys) = self.rigs.get(&(agency, Cow::Borrowed(kind), rig)) else {
            let found = record::on_rig(db, agency, kind, rig)?;
            let keys = found.iter().map(|row| (agency, Cow::Borrowed(kind), row.id.0)).collect();
            self.rigs.insert((agency, Cow::Borrowed(kind), rig), keys);
            return Ok(self.matching(agency, kind, found, By::Rig(rig)));
        };
        let known = keys.iter().filter_map(|key| self.known(key)).map(Arc::clone).collect();
        Ok(self.with_waiting(agency, kind, known, By::Rig(rig)))
    }

    /// Changes a record. `old` is its state before; it is kept as a replaced one where another command made it.
    pub(super) fn put(&mut self, key: Key, row: Row, old: Option<Arc<Loaded>>) {
        if let Some(old) = &old {
            self.know(key.clone(), Some(Arc::clone(old)));
        }
        let before = self.slots.get(&key).cloned();
        let waits = match &before {
            Some(Slot { row: None, waits: Waits::No }) | None => Waits::New,
            Some(Slot {
                row: Some(old),
                waits: Waits::No,
            }) => Waits::Changed(old.names().collect()),
            Some(slot) => slot.waits.clone(),
        };
        let names_of = |row: Option<&Arc<Loaded>>| row.map(|row| row.names().collect::<Vec<_>>()).unwrap_or_default();
        let (old_names, new_names) = (names_of(before.as_ref().and_then(|slot| slot.row.as_ref())), row.names().collect::<Vec<_>>());
        let given_up = old_names.iter().filter(|name| !new_names.contains(name)).map(|name| (name, None));
        let taken = new_names.iter().filter(|name| !old_names.contains(name)).map(|name| (name, Some(key.2)));
        for (name, holder) in given_up.chain(taken) {
            let name = (key.0, key.1.clone(), name.clone());
            let was = self.names.get(&name).copied();
            match holder {
                Some(id) => drop(self.names.insert(name.clone(), id)),
                None if was == Some(key.2) => drop(self.names.remove(&name)),
                None => continue,
            }
            self.undo.push(Undo::Name(name, was));
        }
        self.replaced.extend(old.filter(|old| old.rev != row.rev));
        self.undo.push(Undo::Slot(key.clone(), before));
        self.order.push(key.clone());
        let by = [
            row.rig.map(|Uid(rig)| By::Rig(rig)),
            row.parent.map(|Uid(parent)| By::Parent(parent)),
            Some(By::State(Cow::Owned(row.state.clone()))),
        ];
        for by in by.into_iter().flatten() {
            self.waiting.entry((key.0, key.1.clone(), by)).or_default().push(key.2);
        }
        self.slots.insert(
            key,
            Slot {
                row: Some(Arc::new(Loaded::from(row))),
                waits,
            },
        );
    }

    /// Marks the places that a record leaves for a new scope. One that it comes back to by the same command was not left.
    pub(super) fn depart(&mut self, was: &Row, new: Scope, rev: i64) {
        let marks: Vec<Departure> = was.departures(new, rev).collect();
        self.departed.retain(|mark| {
            let of_this = mark.rev == rev && mark.agency == was.agency && mark.id == was.id && mark.kind == was.kind;
            !(of_this && (marks.contains(mark) || new.places().any(|(_, place)| place == mark.place.0)))
        });
        self.departed.extend(marks);
    }

    /// A record as it is held; none where it was not read or is not there.
    pub(super) fn known(&self, key: &Key) -> Option<&Arc<Loaded>> {
        self.slots.get(key)?.row.as_ref()
    }

    /// Adds to the journal.
    pub(super) fn append(&mut self, entry: Entry) {
        self.applied.insert((AgencyId(entry.agency.0), entry.command.0), Some(Applied::from(&entry)));
        self.entries.push(entry);
    }

    /// What the journal has of a command, entries that wait among it.
    pub(super) fn applied(&self, db: &mut Db, agency: AgencyId, command: Uuid) -> QueryResult<Option<Applied>> {
        match self.applied.get(&(agency, command)) {
            Some(applied) => Ok(applied.clone()),
            None => journal::applied(db, agency, command),
        }
    }

    /// Whether nothing waits.
    pub(super) fn is_written(&self) -> bool {
        self.order.is_empty() && self.entries.is_empty() && self.replaced.is_empty() && self.late.is_empty()
    }

    /// Writes what waits, in few statements.
    pub(super) fn write(&mut self, db: &mut Db) -> QueryResult<()> {
        if self.is_written() {
            return Ok(());
        }
        self.written += 1;
        let (mut new, mut changed, mut released) = (Vec::new(), Vec::new(), Vec::new());
        for key in std::mem::take(&mut self.order) {
            let Some(slot) = self.slots.get_mut(&key) else { continue };
            let Some(row) = &slot.row else { continue };
            match std::mem::replace(&mut slot.waits, Waits::No) {
                Waits::No => {}
                Waits::New => new.push(Arc::clone(row)),
                Waits::Changed(names) => {
                    // Two may have exchanged their names: what is given up goes first.
                    if names.iter().any(|had| !row.names().any(|has| has == *had)) {
                        released.push(Arc::clone(row));
                    }
                    changed.push(Arc::clone(row));
                }
            }
        }
        for row in new.iter().chain(&changed) {
            for name in row.names() {
                let key: NameKey = (AgencyId(row.agency.0), Cow::Owned(row.kind.clone()), name);
                self.looked_up.insert(key, Some(row.id.0));
            }
        }
        self.names.clear();
        self.waiting.clear();
        for row in new.iter().chain(&changed) {
            let (agency, kind) = (AgencyId(row.agency.0), Kind::from(row.kind.clone()));
            let aboard = row.rig.and_then(|rig| self.rigs.get_mut(&(agency, kind.clone(), rig.0)));
            let key = (agency, kind, row.id.0);
            if let Some(keys) = aboard.filter(|keys| !keys.contains(&key)) {
                keys.push(key);
            }
        }
        stores::replaced(db, &std::mem::take(&mut self.replaced))?;
        stores::depart(db, &std::mem::take(&mut self.departed))?;
        stores::release(db, &released)?;
        stores::change(db, &changed)?;
        stores::add(db, &new)?;
        stores::append(db, &std::mem::take(&mut self.entries))?;
        // Two processes that write the same lapses cannot wait for each other.
        let mut late = std::mem::take(&mut self.late);
        late.sort_unstable();
        let (mut set, mut ended) = (Vec::new(), Vec::new());
        for key in late {
            let Some(slot) = self.lapses.get_mut(&key).filter(|slot| slot.waits) else {
                continue;
            };
            slot.waits = false;
            match &slot.lapse {
                Some(lapse) => set.push(lapse.clone()),
                None => ended.push(key),
            }
        }
        stores::set_lapses(db, &set)?;
        stores::end_lapses(db, &ended)
    }
}
