//! The signing keys as the database keeps them.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use uuid::Uuid;

use super::{
    push_key::forget_push_key,
    sealing::{SealingKey, is_sealed, opened},
};
use crate::{
    on,
    platform::{
        db::{Access, Db, schema::signing_key, types::Moment},
        error::Fault,
    },
};

#[derive(Debug, Queryable, Selectable, Insertable)]
#[diesel(table_name = signing_key)]
pub(super) struct KeyRow {
    pub kid: String,
    pub created_at: Moment,
    pub secret_pem: String,
    pub public_key: String,
}

/// A signing key, without what it signs with.
#[derive(Debug)]
pub struct KeptKey {
    /// Its id.
    pub kid: String,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// Whether it is kept sealed.
    pub sealed: bool,
}

/// All keys, the newest first.
pub(super) fn load(db: &mut Db) -> Result<Vec<KeyRow>, Fault> {
    Ok(on!(db, conn => signing_key::table.order(signing_key::created_at.desc()).select(KeyRow::as_select()).load(conn))?)
}

/// Makes a key.
pub(super) fn add(db: &mut Db, now: DateTime<Utc>, sealing: Option<&SealingKey>) -> Result<(), Fault> {
    use base64::Engine as _;
    let secret = rcgen::KeyPair::generate_for(&rcgen::PKCS_ED25519).map_err(anyhow::Error::from)?;
    let (kid, pem) = (Uuid::now_v7().simple().to_string(), secret.serialize_pem());
    let row = KeyRow {
        created_at: Moment(now),
        secret_pem: match sealing {
            Some(key) => key.seal(&kid, &pem)?,
            None => pem,
        },
        public_key: base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(secret.public_key_raw()),
        kid,
    };
    on!(db, conn => diesel::insert_into(signing_key::table).values(&row).execute(conn))?;
    Ok(())
}

/// Seals the keys that are kept in the clear. One that is sealed already must open with this key.
pub(super) fn seal_all(db: &mut Db, sealing: &SealingKey) -> Result<(), Fault> {
    for row in load(db)? {
        if is_sealed(&row.secret_pem) {
            opened(&row.kid, &row.secret_pem, Some(sealing))?;
            continue;
        }
        let sealed = sealing.seal(&row.kid, &row.secret_pem)?;
        on!(&mut *db, conn => diesel::update(signing_key::table.find(&row.kid)).set(signing_key::secret_pem.eq(sealed)).execute(conn))?;
    }
    Ok(())
}

/// The keys, the newest first.
pub fn kept_keys(db: &mut Db) -> Result<Vec<KeptKey>, Fault> {
    let kept = |row: KeyRow| KeptKey {
        sealed: is_sealed(&row.secret_pem),
        kid: row.kid,
        created_at: row.created_at.0,
    };
    Ok(load(db)?.into_iter().map(kept).collect())
}

/// Makes a new key, which signs a minute from now; those before still read what they signed.
pub fn rotate_keys(db: &mut Db, now: DateTime<Utc>, sealing: Option<&SealingKey>) -> Result<(), Fault> {
    db.transaction(Access::Write, |db| {
        if let Some(key) = sealing {
            seal_all(db, key)?;
        }
        add(db, now, sealing)
    })
}

/// Forgets a key, or all: what it signed is refused within seconds, and whoever was signed in refreshes. The key for push services goes by
/// the id `push`, and with all. Answers how many those were; where none is left, the service makes one.
pub fn revoke_keys(db: &mut Db, kid: Option<&str>) -> Result<usize, Fault> {
    let forgotten = match kid {
        Some(kid) => on!(&mut *db, conn => diesel::delete(signing_key::table.find(kid)).execute(conn))?,
        None => on!(&mut *db, conn => diesel::delete(signing_key::table).execute(conn))?,
    };
    Ok(forgotten + forget_push_key(db, kid)?)
}
