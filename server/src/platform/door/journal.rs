//! The append-only record of every command, chained by hash.
//!
//! `hash = SHA-256(hash before, agency, rev, command, kind, actor, at_raw, at, received_at, skew, body, device, record)`, each part preceded by its
//! length, so that no two different entries run together into the same bytes. The first entry follows 32 zero bytes.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use sha2::{Digest, Sha256};
use uuid::Uuid;

use super::command::own_id;
use crate::{
    on,
    platform::{
        auth::Role,
        canonical::canonical,
        db::{
            Db, fixed,
            schema::{agency, journal},
            types::{Doc, Moment, Uid},
        },
        error::Fault,
        ids::AgencyId,
    },
};

/// A row of `journal`.
#[derive(Debug, Clone, Queryable, QueryableByName, Selectable, Insertable)]
#[diesel(table_name = journal, treat_none_as_default_value = false)]
pub struct Entry {
    pub agency: Uid,
    pub rev: i64,
    pub command: Uid,
    pub kind: String,
    pub actor: Option<Uid>,
    pub actor_name: String,
    pub actor_role: String,
    pub at_raw: Moment,
    pub at: Moment,
    pub received_at: Moment,
    pub skew_us: i64,
    pub body: Doc,
    /// The enrolled device that it came through.
    pub device: Option<Uid>,
    /// The main record that it touched: its kind, and its id. The others are the states that carry its revision.
    pub record_kind: Option<String>,
    pub record: Option<Uid>,
    pub hash: Vec<u8>,
}

impl Entry {
    /// The hash that this entry must carry after the one before it.
    pub fn chained(&self, before: &[u8]) -> Vec<u8> {
        let mut hasher = Sha256::new();
        let mut part = |bytes: &[u8]| {
            hasher.update(u64::try_from(bytes.len()).unwrap_or(u64::MAX).to_be_bytes());
            hasher.update(bytes);
        };
        let time = |at: DateTime<Utc>| at.timestamp_micros().to_be_bytes();
        let id = |id: Option<Uid>| id.map(|id| *id.0.as_bytes()).unwrap_or_default();
        part(before);
        part(self.agency.0.as_bytes());
        part(&self.rev.to_be_bytes());
        part(self.command.0.as_bytes());
        part(self.kind.as_bytes());
        part(id(self.actor).as_slice());
        part(self.actor_name.as_bytes());
        part(self.actor_role.as_bytes());
        part(&time(self.at_raw.0));
        part(&time(self.at.0));
        part(&time(self.received_at.0));
        part(&self.skew_us.to_be_bytes());
        part(self.body.0.as_bytes());
        part(id(self.device).as_slice());
        part(self.record_kind.as_deref().unwrap_or_default().as_bytes());
        part(id(self.record).as_slice());
        hasher.finalize().to_vec()
    }
}

/// The hash of a kind and a body, for telling a command sent again from another under the same id. The body is hashed in its
/// [canonical form](canonical), so that how it was written does not matter.
fn body_hash(kind: &str, body: &str) -> [u8; 32] {
    let canonical = serde_json::from_str(body).map(|value| canonical(&value));
    let body = canonical.as_deref().unwrap_or(body);
    Sha256::new().chain_update(kind).chain_update([0]).chain_update(body).finalize().into()
}

/// What the journal has of a command that was applied.
#[derive(Debug, Clone)]
pub struct Applied {
    /// The revision that it made.
    pub rev: i64,
    /// The main record that it touched, by kind and id.
    pub record: Option<(String, Uuid)>,
    /// The enrolled device that it came through.
    pub device: Option<Uuid>,
    kind: String,
    body: Doc,
}

impl Applied {
    /// Whether it was of a kind and had a body, however that is written.
    pub fn is(&self, kind: &str, body: &str) -> bool {
        self.kind == kind && (self.body.0 == body || body_hash(kind, &self.body.0) == body_hash(kind, body))
    }
}

impl From<&Entry> for Applied {
    fn from(entry: &Entry) -> Self {
        Self {
            rev: entry.rev,
            record: entry.record_kind.clone().zip(entry.record.map(|id| id.0)),
            device: entry.device.map(|id| id.0),
            kind: entry.kind.clone(),
            body: entry.body.clone(),
        }
    }
}

/// The entry that a command id made, if it was applied before.
pub fn applied(db: &mut Db, agency: AgencyId, command: Uuid) -> QueryResult<Option<Applied>> {
    let found: Option<Entry> = on!(db, conn => journal::table
        .filter(journal::agency.eq(Uid::from(agency)).and(journal::command.eq(Uid(command))))
        .select(Entry::as_select())
        .first(conn)
        .optional())?;
    Ok(found.as_ref().map(Applied::from))
}

/// Takes the agency's row for this transaction: its revision and the head of its chain.
pub fn take_head(db: &mut Db, id: AgencyId) -> QueryResult<Option<(i64, Vec<u8>)>> {
    let query = agency::table.find(Uid::from(id)).select((agency::rev, agency::journal_head));
    match db {
        Db::Sqlite(conn) => query.first(conn).optional(),
        Db::Postgres(conn) => query.for_update().first(conn).optional(),
    }
}

/// The chain's hash at a revision, if there is such an entry.
pub fn journal_hash(db: &mut Db, id: AgencyId, rev: i64) -> QueryResult<Option<Vec<u8>>> {
    on!(db, conn => journal::table.find((Uid::from(id), rev)).select(journal::hash).first(conn).optional())
}

/// When the service had the command of a revision, if there is such an entry.
pub fn received_at(db: &mut Db, id: AgencyId, rev: i64) -> QueryResult<Option<DateTime<Utc>>> {
    let at: Option<Moment> = on!(db, conn => journal::table.find((Uid::from(id), rev)).select(journal::received_at).first(conn).optional())?;
    Ok(at.map(|at| at.0))
}

/// A command as the journal tells it.
#[derive(Debug, Clone)]
pub struct Journaled {
    /// The revision that it made.
    pub rev: i64,
    /// What it was.
    pub kind: String,
    /// The member who acted; none for the service, its command line and a program's key.
    pub actor: Option<Uuid>,
    /// When it was done, by the server's reckoning.
    pub at: DateTime<Utc>,
    /// Its body, secrets left out.
    pub body: String,
    /// The main record that it touched.
    pub record: Option<Uuid>,
}

/// Tells each entry of some kinds of commands, in the order in which they were applied, a step at a time.
pub fn each_entry(db: &mut Db, id: AgencyId, kinds: &[&str], mut told: impl FnMut(Journaled)) -> QueryResult<()> {
    type Told = (i64, String, Option<Uid>, Moment, Doc, Option<Uid>);
    let mut after = 0;
    loop {
        let entries: Vec<Told> = on!(&mut *db, conn => journal::table
            .filter(journal::agency.eq(Uid::from(id)).and(journal::rev.gt(after)).and(journal::kind.eq_any(kinds)))
            .order(journal::rev)
            .limit(STEP)
            .select((journal::rev, journal::kind, journal::actor, journal::at, journal::body, journal::record))
            .load(conn))?;
        let Some((last, ..)) = entries.last() else { return Ok(()) };
        after = *last;
        for (rev, kind, actor, at, body, record) in entries {
            told(Journaled {
                rev,
                kind,
                actor: actor.map(|id| id.0),
                at: at.0,
                body: body.0,
                record: record.map(|id| id.0),
            });
        }
    }
}

/// Makes the row of a new agency.
pub fn found(db: &mut Db, id: AgencyId, at: DateTime<Utc>) -> QueryResult<()> {
    let row = (
        agency::id.eq(Uid::from(id)),
        agency::rev.eq(0),
        agency::journal_head.eq(vec![0_u8; 32]),
        agency::created_at.eq(Moment(at)),
    );
    on!(db, conn => diesel::insert_into(agency::table).values(&row).execute(conn))?;
    Ok(())
}

/// Takes away the rows of agencies that nothing was ever written for: their founding broke off.
pub fn forget_unfounded(db: &mut Db) -> QueryResult<()> {
    on!(db, conn => diesel::delete(agency::table.filter(agency::rev.eq(0))).execute(conn))?;
    Ok(())
}

/// Every agency that is kept here.
pub fn agencies(db: &mut Db) -> QueryResult<Vec<AgencyId>> {
    let ids: Vec<Uid> = on!(db, conn => agency::table.select(agency::id).order(agency::created_at).load(conn))?;
    Ok(ids.into_iter().map(|id| AgencyId(id.0)).collect())
}

/// Puts the agency's row as the transaction leaves it.
pub fn put_head(db: &mut Db, id: AgencyId, rev: i64, head: &[u8]) -> QueryResult<()> {
    struct PutHead;
    on!(db, conn => fixed::<PutHead, _>(
        diesel::update(agency::table.find(Uid::from(id))).set((agency::rev.eq(rev), agency::journal_head.eq(head))),
    )
    .execute(conn))
}

/// What the journal says where a database that was put back goes on.
pub const BEGUN_AGAIN: &str = "service.restored";
/// How far behind the last revision of a copy its restored database goes on: further than what was lost with the life before can
/// have come, so that no revision is ever of both.
pub const REVISIONS_BEHIND: i64 = 1_000_000;

/// Has the journal of an agency go on in a new life of the database; `body` says from what.
pub fn begin_again(db: &mut Db, id: AgencyId, now: DateTime<Utc>, body: &str) -> Result<(), Fault> {
    let (rev, head) = take_head(db, id)?.ok_or_else(|| anyhow::anyhow!("the agency {id} is not there"))?;
    // The past is told by this: it never goes back.
    let at = received_at(db, id, rev)?.map_or(now, |last| last.max(now));
    let next = rev + REVISIONS_BEHIND;
    let mut entry = Entry {
        agency: Uid::from(id),
        rev: next,
        command: Uid(own_id(&format!("{BEGUN_AGAIN}/{id}/{next}/{}", at.timestamp_micros()))),
        kind: BEGUN_AGAIN.to_owned(),
        actor: None,
        actor_name: "restore".to_owned(),
        actor_role: Role::Service.to_string(),
        at_raw: Moment(now),
        at: Moment(at),
        received_at: Moment(at),
        skew_us: 0,
        body: Doc(body.to_owned()),
        device: None,
        record_kind: None,
        record: None,
        hash: Vec::new(),
    };
    entry.hash = entry.chained(&head);
    on!(&mut *db, conn => diesel::insert_into(journal::table).values(&entry).execute(conn))?;
    Ok(put_head(db, id, next, &entry.hash)?)
}

/// Writes what stands already, so that a database which takes no writes says so. Nothing is another afterwards.
pub fn try_to_write(db: &mut Db) -> QueryResult<()> {
    on!(db, conn => diesel::update(agency::table).set(agency::horizon.eq(agency::horizon)).execute(conn))?;
    Ok(())
}

/// The first entry of an agency's journal that does not hold.
#[derive(Debug, PartialEq, Eq)]
pub struct Broken {
    /// Its agency.
    pub agency: AgencyId,
    /// Its revision.
    pub rev: i64,
    /// What is wrong with it.
    pub why: &'static str,
}

const STEP: i64 = 1000;

/// The last revision of each agency with the journal's hash at it: what shows later whether the journal's end is still there.
pub fn heads(db: &mut Db) -> QueryResult<Vec<(AgencyId, i64, Vec<u8>)>> {
    let heads: Vec<(Uid, i64, Vec<u8>)> = on!(db, conn => agency::table.select((agency::id, agency::rev, agency::journal_head)).order(agency::id).load(conn))?;
    Ok(heads.into_iter().map(|(id, rev, head)| (AgencyId(id.0), rev, head)).collect())
}

/// Walks every agency's chain and tells each hash that it passes; answers how many entries hold, or the first that does not.
pub fn verify(db: &mut Db, mut passed: impl FnMut(&[u8])) -> Result<Result<i64, Broken>, Fault> {
    let mut held = 0;
    for (agency, rev, head) in heads(db)? {
        let broken = |rev, why| Broken { agency, rev, why };
        let mut prev = vec![0; 32];
        let mut at = 0;
        loop {
            let entries: Vec<Entry> = on!(&mut *db, conn => journal::table
                .filter(journal::agency.eq(Uid::from(agency)).and(journal::rev.gt(at)))
                .order(journal::rev)
                .limit(STEP)
                .select(Entry::as_select())
                .load(conn))?;
            if entries.is_empty() {
                break;
            }
            for entry in entries {
                if entry.rev != at + 1 && (entry.kind != BEGUN_AGAIN || entry.rev != at + REVISIONS_BEHIND) {
                    return Ok(Err(broken(at + 1, "the entry is missing")));
                }
                if entry.hash != entry.chained(&prev) {
                    return Ok(Err(broken(entry.rev, "it was changed after it was written")));
                }
                at = entry.rev;
                prev = entry.hash;
                held += 1;
                passed(&prev);
            }
        }
        if at != rev || prev != head {
            return Ok(Err(broken(at + 1, "entries are missing at the end")));
        }
    }
    Ok(Ok(held))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hash(kind: &str, body: &str) -> String {
        body_hash(kind, body).iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// Worked out by another program from the canonical text: SHA-256 of kind, a zero byte, and
    /// `{"piece":"0193","what":"nick in the blade"}` or `{"pull":1.5,"readings":[{"unit":"kN","value":30},{"unit":"mm","value":0.000001}],"ö":"\n"}`.
    #[test]
    fn a_body_has_one_hash_however_it_is_written_and_that_hash_never_changes() {
        let pinned = "af76d4f351bffa5159313de633de0f0a712d83b65b604fefa9a08307dbe3dc17";
        for body in [
            r#"{"piece":"0193","what":"nick in the blade"}"#,
            "{ \"what\": \"nick in the bl\\u0061de\",\n \"piece\": \"0193\" }",
        ] {
            assert_eq!(hash("defect.report", body), pinned);
        }
        let pinned = "698ccaa4b90b702a68676ef9955825f16a97827ee21562d01278d89dffa6480b";
        for body in [
            r#"{"pull":1.5,"readings":[{"unit":"kN","value":30},{"unit":"mm","value":0.000001}],"ö":"\n"}"#,
            r#"{"ö":"\u000a","readings":[{"value":30.0,"unit":"kN"},{"value":1e-6,"unit":"mm"}],"pull":15e-1}"#,
        ] {
            assert_eq!(hash("piece.try", body), pinned);
        }
        assert_ne!(hash("piece.test", "{}"), hash("piece.try", "{}"));
    }
}
