//! What a process keeps of an agency between requests, brought forward at each by what has changed since: the same walk as the
//! change feed. So an answer over all rigs or all pieces costs what has changed, and is never older than the request.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use diesel::{connection::DefaultLoadingMode, pg::PgRowByRowLoadingMode, prelude::*};
use uuid::Uuid;

use super::{
    db::{
        Db,
        schema::{agency, journal, record, state},
        types::{Doc, Uid},
    },
    error::Fault,
    ids::AgencyId,
    record::Row,
};
use crate::on;

/// Something read from an agency's records that can be brought forward.
pub trait Follow: Default + Send + 'static {
    /// Takes what has changed after a revision; everything, where that is 0. It is thrown away when this fails halfway.
    ///
    /// # Errors
    /// When the database or a record cannot be read.
    fn advance(&mut self, db: &mut Db, agency: AgencyId, since: i64) -> Result<(), Fault>;

    /// Roughly how many bytes of memory it takes.
    fn bytes(&self) -> usize;
}

/// The most that is kept of one sort, of all agencies together, in bytes. Past it those go that were asked for longest ago; an
/// agency that is larger by itself is read anew at each request.
const MOST_BYTES: usize = 48 << 20;

/// What is kept of each agency. Its clones are the same.
#[allow(missing_debug_implementations)]
pub struct Followed<F>(Arc<Mutex<Agencies<F>>>);

impl<F> Clone for Followed<F> {
    fn clone(&self) -> Self {
        Self(Arc::clone(&self.0))
    }
}

impl<F> Default for Followed<F> {
    fn default() -> Self {
        Self(Arc::new(Mutex::new(Agencies {
            entries: HashMap::new(),
            turns: 0,
        })))
    }
}

struct Agencies<F> {
    entries: HashMap<AgencyId, Entry<F>>,
    /// How often anything was asked for.
    turns: u64,
}

struct Entry<F> {
    kept: Arc<Mutex<Snapshot<F>>>,
    /// The turn at which it was last asked for.
    turn: u64,
    bytes: usize,
}

/// What is kept of one agency, and the entry of the journal up to which it is true.
#[derive(Default)]
struct Snapshot<F> {
    revision: i64,
    head: Vec<u8>,
    value: F,
}

impl<F: Follow> Snapshot<F> {
    /// Brings it to the revision that the transaction sees.
    fn advance(&mut self, db: &mut Db, id: AgencyId) -> Result<(), Fault> {
        let (revision, head): (i64, Vec<u8>) =
            on!(&mut *db, conn => agency::table.find(Uid::from(id)).select((agency::rev, agency::journal_head)).first(conn))?;
        if revision == self.revision && head == self.head {
            return Ok(());
        }
        if self.revision > 0 && !self.is_part_of(db, id)? {
            *self = Self::default();
        }
        if let Err(fault) = self.value.advance(db, id, self.revision) {
            *self = Self::default();
            return Err(fault);
        }
        (self.revision, self.head) = (revision, head);
        Ok(())
    }

    /// Whether the agency's journal still has the entry up to which this was read: a database that was restored from an older
    /// copy, and written to since, has another.
    fn is_part_of(&self, db: &mut Db, id: AgencyId) -> Result<bool, Fault> {
        let there: Option<Vec<u8>> = on!(db, conn => journal::table.find((Uid::from(id), self.revision)).select(journal::hash).first(conn).optional())?;
        Ok(there.as_ref() == Some(&self.head))
    }
}

impl<F: Follow> Followed<F> {
    fn agencies(&self) -> MutexGuard<'_, Agencies<F>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Runs `read` with what is kept of an agency, brought forward by the transaction that `read` opens. One reader of an agency
    /// at a time, and each begins its transaction when its turn has come: nobody brings forward what is newer than what they see.
    ///
    /// # Errors
    /// Those of `read`.
    pub fn with<T>(&self, agency: AgencyId, read: impl FnOnce(Forward<'_, F>) -> Result<T, Fault>) -> Result<T, Fault> {
        let kept = {
            let mut all = self.agencies();
            all.turns += 1;
            let turn = all.turns;
            let entry = all.entries.entry(agency).or_insert_with(|| Entry {
                kept: Arc::default(),
                turn,
                bytes: 0,
            });
            entry.turn = turn;
            Arc::clone(&entry.kept)
        };
        let (answer, bytes) = {
            // Whoever panicked may have left it half brought forward.
            let mut kept = kept.lock().unwrap_or_else(|poisoned| {
                kept.clear_poison();
                let mut kept = poisoned.into_inner();
                *kept = Snapshot::default();
                kept
            });
            (read(Forward { agency, kept: &mut kept }), kept.value.bytes())
        };
        self.make_room(agency, bytes);
        answer
    }

    fn make_room(&self, agency: AgencyId, bytes: usize) {
        let mut all = self.agencies();
        if let Some(entry) = all.entries.get_mut(&agency) {
            entry.bytes = bytes;
        }
        while all.entries.values().map(|entry| entry.bytes).sum::<usize>() > MOST_BYTES {
            let Some(oldest) = all.entries.iter().min_by_key(|(_, entry)| entry.turn).map(|(id, _)| *id) else {
                break;
            };
            all.entries.remove(&oldest);
        }
    }
}

/// What is kept of an agency, still to be brought forward.
#[allow(missing_debug_implementations)]
pub struct Forward<'k, F> {
    agency: AgencyId,
    kept: &'k mut Snapshot<F>,
}

impl<'k, F: Follow> Forward<'k, F> {
    /// As it stands at the revision of the transaction, which it answers too.
    ///
    /// # Errors
    /// When the database or a record cannot be read.
    pub fn bring(self, db: &mut Db) -> Result<(&'k F, i64), Fault> {
        self.kept.advance(db, self.agency)?;
        Ok((&self.kept.value, self.kept.revision))
    }
}

/// What of some kinds has changed after a revision, as it is now; from 0 on all that is there.
///
/// # Errors
/// When the database cannot be read.
pub fn changed(db: &mut Db, id: AgencyId, kinds: &[&str], since: i64) -> QueryResult<Vec<Row>> {
    on!(db, conn => {
        let query = record::table.filter(record::agency.eq(Uid::from(id))).select(Row::as_select());
        if since == 0 {
            query.filter(record::kind.eq_any(kinds).and(record::gone.eq(false))).load(conn)
        } else {
            // With the kind spelt out SQLite walks the kind, which is much, and not what has changed, which is little.
            query.filter(record::rev.gt(since).and(record::kind.concat("").eq_any(kinds))).load(conn)
        }
    })
}

/// Every state after a revision that records of a kind have or have had; those of a record in order. `take` gets the record's id,
/// whether it is gone, and its body; a state is dropped as soon as it is taken.
///
/// # Errors
/// When the database cannot be read, and those of `take`.
pub fn states(db: &mut Db, id: AgencyId, kind: &str, since: i64, mut take: impl FnMut(Uuid, bool, &Doc) -> Result<(), Fault>) -> Result<(), Fault> {
    let mut take = |row: QueryResult<(Uid, bool, Doc)>| {
        let (id, gone, body) = row?;
        take(id.0, gone, &body)
    };
    // Left to itself, PostgreSQL's client holds the whole answer.
    macro_rules! each {
        ($mode:ty, $conn:expr) => {{
            let query = state::table
                .filter(state::agency.eq(Uid::from(id)))
                .select((state::id, state::gone, state::body));
            if since == 0 {
                let all = query.filter(state::kind.eq(kind)).order((state::id, state::rev));
                all.load_iter::<(Uid, bool, Doc), $mode>($conn)?.try_for_each(&mut take)
            } else {
                let later = query.filter(state::rev.gt(since).and(state::kind.concat("").eq(kind))).order(state::rev);
                later.load_iter::<(Uid, bool, Doc), $mode>($conn)?.try_for_each(&mut take)
            }
        }};
    }
    match db {
        Db::Sqlite(conn) => each!(DefaultLoadingMode, conn),
        Db::Postgres(conn) => each!(PgRowByRowLoadingMode, conn),
    }
}
