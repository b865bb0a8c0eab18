//! When answers run out, as a transaction of the writer has read it and has yet to write it.

use std::{borrow::Cow, collections::HashMap};

use diesel::QueryResult;
use uuid::Uuid;

use super::{
    lapses::{self, Lapse},
    unit_of_work::{Key, Undo, UnitOfWork},
};
use crate::platform::{
    db::{Db, types::Uid},
    ids::AgencyId,
};

/// When the answer about a record runs out.
#[derive(Debug, Clone)]
pub(super) struct LapseSlot {
    pub(super) lapse: Option<Lapse>,
    pub(super) waits: bool,
}

impl UnitOfWork {
    /// The lapse of a record, if its answer runs out.
    fn lapse(&mut self, db: &mut Db, key: &Key) -> QueryResult<Option<Lapse>> {
        if let Some(slot) = self.lapses.get(key) {
            return Ok(slot.lapse.clone());
        }
        let lapse = lapses::find(db, key.0, &key.1, key.2)?;
        self.lapses.insert(
            key.clone(),
            LapseSlot {
                lapse: lapse.clone(),
                waits: false,
            },
        );
        Ok(lapse)
    }

    /// Says when the answer about a record runs out next. What is there already is not written again.
    pub(super) fn set_lapse(&mut self, db: &mut Db, key: Key, lapse: Option<Lapse>) -> QueryResult<()> {
        if self.lapse(db, &key)? != lapse {
            let before = self.lapses.insert(key.clone(), LapseSlot { lapse, waits: true });
            self.late.push(key.clone());
            self.undo.push(Undo::Lapse(key, before));
        }
        Ok(())
    }

    /// Reads the lapses of some records at once, where they are not known yet.
    pub(super) fn read_lapses(&mut self, db: &mut Db, agency: AgencyId, kind: &'static str, ids: &[Uuid]) -> QueryResult<()> {
        let key = |id: &Uuid| (agency, Cow::Borrowed(kind), *id);
        let unknown: Vec<Uid> = ids.iter().filter(|id| !self.lapses.contains_key(&key(id))).map(|id| Uid(*id)).collect();
        if unknown.len() < 2 {
            return Ok(());
        }
        let found: HashMap<Uuid, Lapse> = lapses::of(db, agency, kind, &unknown)?.into_iter().map(|lapse| (lapse.id.0, lapse)).collect();
        for Uid(id) in unknown {
            let lapse = found.get(&id).cloned();
            self.lapses.insert(key(&id), LapseSlot { lapse, waits: false });
        }
        Ok(())
    }
}
