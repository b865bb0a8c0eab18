//! Keys of programs: `fsk_` and a secret of 43 signs, sent as a bearer token. A key acts in a role, or may send some kinds of commands, or
//! only reads; it is no member, and never does what takes a person.
//!
//! Each process keeps the keys that answer in memory and looks for changes as it does for ended sign-ins, so that a request costs no look
//! at the database. A command's transaction looks itself: nothing counts of a key that was revoked while it waited.

use std::{
    collections::HashMap,
    sync::{Arc, PoisonError, RwLock},
};

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use uuid::Uuid;

use super::{Actor, Role, SecretHash};
use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::api_key_secret,
            types::{Moment, Uid},
        },
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

/// How a key begins.
pub const KEY_PREFIX: &str = "fsk_";

/// A key that an actor comes with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ApiKey {
    /// Its id.
    pub id: Uuid,
    /// The kinds of commands that it may send; none: all of its role.
    pub kinds: Option<Vec<String>>,
}

impl ApiKey {
    /// Whether it may send a kind of command that its role may send.
    pub fn allows(&self, kind: &str) -> bool {
        self.kinds.as_ref().is_none_or(|kinds| kinds.iter().any(|known| known == kind))
    }
}

#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = api_key_secret)]
struct KeyRow {
    agency: Uid,
    api_key: Uid,
    found_by: Vec<u8>,
    hash: Vec<u8>,
    maker: Uid,
    name: String,
    role: String,
    kinds: Option<String>,
    district: Option<Uid>,
    station: Option<Uid>,
    expires_at: Moment,
}

/// Keeps a key: who it acts as, who made it, until when it answers.
pub fn put_key(db: &mut Db, actor: &Actor, maker: MemberId, hash: &SecretHash, expires_at: DateTime<Utc>) -> Result<(), Fault> {
    let key = actor.key.as_ref().ok_or_else(|| anyhow::anyhow!("an actor without a key"))?;
    let taken: i64 = on!(&mut *db, conn => api_key_secret::table.filter(api_key_secret::found_by.eq(hash.found_by())).count().get_result(conn))?;
    if taken > 0 {
        return Err(Fault::new(error::ALREADY_THERE, "Another key has this secret; make another").at("body.secret_sha256"));
    }
    let row = KeyRow {
        agency: actor.agency.into(),
        api_key: Uid(key.id),
        found_by: hash.found_by().to_vec(),
        hash: hash.bytes().to_vec(),
        maker: maker.into(),
        name: actor.name.clone(),
        role: actor.role.to_string(),
        kinds: key.kinds.as_ref().map(serde_json::to_string).transpose()?,
        district: actor.district.map(Uid),
        station: actor.station.map(Uid),
        expires_at: Moment(expires_at),
    };
    on!(db, conn => diesel::insert_into(api_key_secret::table).values(&row).execute(conn))?;
    Ok(())
}

/// Forgets a key, which answers no more.
pub fn drop_key(db: &mut Db, agency: AgencyId, id: Uuid) -> Result<(), Fault> {
    let key = (Uid::from(agency), Uid(id));
    on!(db, conn => diesel::delete(api_key_secret::table.find(key)).execute(conn))?;
    Ok(())
}

/// Forgets the keys that a member has made. Who made one has seen its secret, so it does not outlast what its maker may do.
pub fn drop_keys_of(db: &mut Db, agency: AgencyId, maker: MemberId) -> Result<(), Fault> {
    let (agency, maker) = (Uid::from(agency), Uid::from(maker));
    let made = api_key_secret::table.filter(api_key_secret::agency.eq(agency).and(api_key_secret::maker.eq(maker)));
    on!(db, conn => diesel::delete(made).execute(conn))?;
    Ok(())
}

/// Forgets every key there is: the database was put back, and nobody knows which were revoked since. Answers how many.
pub fn drop_keys(db: &mut Db) -> Result<usize, Fault> {
    Ok(on!(db, conn => diesel::delete(api_key_secret::table).execute(conn))?)
}

/// Refuses a key that does not answer any more, as the database has it.
pub fn key_stands(db: &mut Db, agency: AgencyId, id: Uuid, now: DateTime<Utc>) -> Result<(), Fault> {
    let key = (Uid::from(agency), Uid(id));
    let until: Option<Moment> = on!(db, conn => api_key_secret::table.find(key).select(api_key_secret::expires_at).first(conn).optional())?;
    if until.is_some_and(|until| until.0 > now) {
        Ok(())
    } else {
        Err(key_refusal())
    }
}

/// What a key that answers is kept with.
#[derive(Debug)]
pub struct KeptApiKey {
    /// The key.
    pub id: Uuid,
    /// Who it acts as; none where its row cannot be read.
    pub actor: Option<Arc<Actor>>,
    /// The member who made it.
    pub maker: MemberId,
    /// When it runs out.
    pub expires_at: DateTime<Utc>,
    hash: Vec<u8>,
}

impl KeptApiKey {
    /// Whether it is opened by the secret of this hash.
    pub fn is_opened_by(&self, hash: &SecretHash) -> bool {
        hash.is(&self.hash)
    }
}

/// What the keys of an agency are kept with that have not been forgotten.
pub fn kept_api_keys(db: &mut Db, agency: AgencyId) -> Result<Vec<KeptApiKey>, Fault> {
    let agency = Uid::from(agency);
    let rows: Vec<KeyRow> = on!(db, conn => api_key_secret::table
        .filter(api_key_secret::agency.eq(agency))
        .order(api_key_secret::api_key)
        .select(KeyRow::as_select())
        .load(conn))?;
    let kept = rows.into_iter().map(|row| KeptApiKey {
        id: row.api_key.0,
        maker: MemberId(row.maker.0),
        expires_at: row.expires_at.0,
        hash: row.hash.clone(),
        actor: KeyEntry::read(row).ok().map(|key| key.actor),
    });
    Ok(kept.collect())
}

/// The keys of an agency that have not been forgotten.
pub fn keys_of(db: &mut Db, agency: AgencyId) -> Result<Vec<Uuid>, Fault> {
    let agency = Uid::from(agency);
    let ids: Vec<Uid> = on!(db, conn => api_key_secret::table.filter(api_key_secret::agency.eq(agency)).select(api_key_secret::api_key).load(conn))?;
    Ok(ids.into_iter().map(|id| id.0).collect())
}

pub(super) fn key_refusal() -> Fault {
    Fault::new(
        error::SIGN_IN_NEEDED,
        "This key is unknown, was revoked, has run out, or whoever made it may not have it any more; have an admin make another",
    )
}

#[derive(Debug)]
struct KeyEntry {
    hash: Vec<u8>,
    expires_at: DateTime<Utc>,
    actor: Arc<Actor>,
}

/// The keys that answer, of every agency, by what they are found by.
#[derive(Debug, Default)]
pub struct ApiKeys(RwLock<HashMap<Vec<u8>, KeyEntry>>);

impl ApiKeys {
    /// Reads them anew; answers those that answer no more.
    pub(super) fn look(&self, db: &mut Db, now: DateTime<Utc>) -> Result<Vec<Uuid>, Fault> {
        let rows: Vec<KeyRow> = on!(db, conn => api_key_secret::table
            .filter(api_key_secret::expires_at.gt(Moment(now)))
            .select(KeyRow::as_select())
            .load(conn))?;
        let read: HashMap<Vec<u8>, KeyEntry> = rows
            .into_iter()
            .map(|row| Ok((row.found_by.clone(), KeyEntry::read(row)?)))
            .collect::<Result<_, Fault>>()?;
        let mut known = self.0.write().unwrap_or_else(PoisonError::into_inner);
        let gone = known.iter().filter(|(found_by, _)| !read.contains_key(*found_by));
        let gone = gone.filter_map(|(_, key)| key.actor.sign_in).collect();
        *known = read;
        Ok(gone)
    }

    /// Who a key acts as, where it answers.
    pub fn actor(&self, token: &str, now: DateTime<Utc>) -> Result<Arc<Actor>, Fault> {
        let hash = token.strip_prefix(KEY_PREFIX).and_then(SecretHash::of_secret).ok_or_else(key_refusal)?;
        let known = self.0.read().unwrap_or_else(PoisonError::into_inner);
        let key = known.get(hash.found_by()).filter(|key| hash.is(&key.hash) && key.expires_at > now);
        key.map(|key| Arc::clone(&key.actor)).ok_or_else(key_refusal)
    }
}

impl KeyEntry {
    fn read(row: KeyRow) -> Result<Self, Fault> {
        let kinds = row.kinds.as_deref().map(serde_json::from_str).transpose()?;
        let role: Role = row.role.parse().map_err(|words: String| anyhow::anyhow!(words))?;
        Ok(Self {
            hash: row.hash,
            expires_at: row.expires_at.0,
            actor: Arc::new(Actor::key(
                AgencyId(row.agency.0),
                &row.name,
                role,
                (row.district.map(|district| district.0), row.station.map(|station| station.0)),
                ApiKey { id: row.api_key.0, kinds },
            )),
        })
    }
}
