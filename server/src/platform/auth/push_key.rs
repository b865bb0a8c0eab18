//! The key by which push services know this service (VAPID, RFC 8292): one of P-256 for each database, made when it is first asked for and
//! kept as the signing keys are. Browsers bind where their notices come from to it, so a new key ends what was given for the one before.

use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;
use jsonwebtoken::{Algorithm, EncodingKey, Header};
use serde::Serialize;

use super::sealing::{SealingKey, is_sealed, opened};
use crate::{
    on,
    platform::{
        db::{
            Access, Db,
            schema::{push_key, push_subscription},
            types::Moment,
        },
        error::Fault,
    },
};

/// The id of the one key.
const KID: &str = "push";
/// How long a push service may take a token of ours for: RFC 8292, 2, permits 24 hours at most.
const TOKEN: TimeDelta = TimeDelta::hours(12);

#[derive(Queryable, Selectable, Insertable)]
#[diesel(table_name = push_key)]
struct KeyRow {
    kid: String,
    created_at: Moment,
    secret_pem: String,
    public_key: String,
}

/// The key.
pub struct PushKey {
    signs: EncodingKey,
    /// Its public half as browsers and push services take it: the uncompressed point, in base64url without padding.
    pub public: String,
}

impl std::fmt::Debug for PushKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("PushKey").field("public", &self.public).finish_non_exhaustive()
    }
}

/// What a token says (RFC 8292, 2).
#[derive(Serialize)]
struct Claims<'a> {
    aud: &'a str,
    exp: i64,
    sub: &'a str,
}

impl PushKey {
    /// The `Authorization` of a message to a push service (RFC 8292, 3). `origin`: of the address that it goes to; `contact`: whom the push
    /// service may ask about what we send.
    pub fn authorization(&self, origin: &str, contact: &str, now: DateTime<Utc>) -> Result<String, Fault> {
        let claims = Claims {
            aud: origin,
            exp: (now + TOKEN).timestamp(),
            sub: contact,
        };
        let token = jsonwebtoken::encode(&Header::new(Algorithm::ES256), &claims, &self.signs).map_err(anyhow::Error::from)?;
        Ok(format!("vapid t={token}, k={}", self.public))
    }
}

fn load(db: &mut Db) -> Result<Option<KeyRow>, Fault> {
    Ok(on!(db, conn => push_key::table.find(KID).select(KeyRow::as_select()).first(conn).optional())?)
}

fn made(now: DateTime<Utc>, sealing: Option<&SealingKey>) -> Result<KeyRow, Fault> {
    let secret = rcgen::KeyPair::generate_for(&rcgen::PKCS_ECDSA_P256_SHA256).map_err(anyhow::Error::from)?;
    let pem = secret.serialize_pem();
    Ok(KeyRow {
        kid: KID.to_owned(),
        created_at: Moment(now),
        secret_pem: match sealing {
            Some(key) => key.seal(KID, &pem)?,
            None => pem,
        },
        public_key: URL_SAFE_NO_PAD.encode(secret.public_key_raw()),
    })
}

/// The key; the first who asks makes it. One that is kept in the clear is sealed where there is a sealing key.
pub fn push_key(db: &mut Db, now: DateTime<Utc>, sealing: Option<&SealingKey>) -> Result<PushKey, Fault> {
    let row = db.transaction(Access::Write, |db| match load(db)? {
        Some(mut row) => {
            if let Some(key) = sealing.filter(|_| !is_sealed(&row.secret_pem)) {
                row.secret_pem = key.seal(KID, &row.secret_pem)?;
                on!(db, conn => diesel::update(push_key::table.find(KID)).set(push_key::secret_pem.eq(&row.secret_pem)).execute(conn))?;
            }
            Ok::<_, Fault>(row)
        }
        None => {
            // Another process may make one at this moment: the one that is there first is the key.
            let row = made(now, sealing)?;
            let added = on!(&mut *db, conn => diesel::insert_into(push_key::table).values(&row).on_conflict_do_nothing().execute(conn))?;
            if added == 1 {
                // What was given for a key of before reaches nobody any more.
                on!(&mut *db, conn => diesel::delete(push_subscription::table).execute(conn))?;
            }
            load(db)?.ok_or_else(|| anyhow::anyhow!("the key for push services was not kept").into())
        }
    })?;
    let secret = opened(&row.kid, &row.secret_pem, sealing)?;
    Ok(PushKey {
        signs: EncodingKey::from_ec_pem(secret.as_bytes()).map_err(anyhow::Error::from)?,
        public: row.public_key,
    })
}

/// Whether the key is kept sealed; none where there is no key.
pub fn push_key_is_sealed(db: &mut Db) -> Result<Option<bool>, Fault> {
    Ok(load(db)?.map(|row| is_sealed(&row.secret_pem)))
}

/// Forgets the key, where it is meant by this id or by none. The next who asks makes another, which ends all phones of before.
pub(super) fn forget_push_key(db: &mut Db, kid: Option<&str>) -> Result<usize, Fault> {
    if kid.is_some_and(|kid| kid != KID) {
        return Ok(0);
    }
    Ok(on!(db, conn => diesel::delete(push_key::table).execute(conn))?)
}
