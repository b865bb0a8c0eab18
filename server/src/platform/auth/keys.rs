//! Access tokens: EdDSA over Ed25519 (RFC 8037), 15 minutes, signed by a key with a `kid`; keys live in the database so
//! that every server process knows them, and a new one is made every 30 days. A key signs only when it is a minute old: by then all
//! processes know it, because each looks for new ones every few seconds. So a `kid` that is not known is refused without a look, and
//! nobody who is not signed in has the service ask the database.

use std::sync::{Arc, RwLock};

use chrono::{DateTime, TimeDelta, Utc};
use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation};
use moka::{policy::EvictionPolicy, sync::Cache};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use uuid::Uuid;

use super::{
    kept_keys::{KeyRow, add, load, seal_all},
    sealing::{SealingKey, opened},
};
use crate::platform::{
    auth::{Actor, Ended, Role},
    clock::Clock,
    db::{Access, Pool},
    error::{self, Fault},
    ids::{AgencyId, MemberId},
};

/// How long an access token serves, in seconds.
pub const ACCESS_SECONDS: i64 = 15 * 60;
const KEY_LIFE: TimeDelta = TimeDelta::days(30);
/// How old a key is before it signs, where there is an older one.
const KEY_MARGIN: TimeDelta = TimeDelta::minutes(1);
/// How long a key still reads after the next one was made: until that one signs, then as long as an access token lives, and a margin for
/// the clocks of several machines. A key out of an old copy of the database opens nothing.
const KEY_REST: TimeDelta = TimeDelta::seconds(ACCESS_SECONDS + 60 + 5 * 60);

/// Who issues tokens.
pub(super) const ISSUER: &str = "urn:fullset";
/// What access tokens are for: one that some other use of a key has signed is none.
const AUDIENCE: &str = "urn:fullset:api";

/// What an access token says.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Claims {
    /// The member, or the shared tablet.
    pub sub: Uuid,
    /// Id of the agency.
    pub agency: Uuid,
    /// The member's name.
    pub name: String,
    /// The member's role; a shared tablet has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub role: Option<Role>,
    /// The member's district, where the reach is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub district: Option<Uuid>,
    /// The station, where the reach is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub station: Option<Uuid>,
    /// The device that it was given to, where one was enrolled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub device: Option<Uuid>,
    /// The sign-in that it belongs to.
    pub sid: Uuid,
    /// Who issued it: always this service.
    pub iss: String,
    /// What it is for: always this service's API.
    pub aud: String,
    /// Issued, Unix seconds.
    pub iat: i64,
    /// Ends, Unix seconds.
    pub exp: i64,
}

impl Claims {
    /// The actor that the token stands for.
    pub fn actor(&self) -> Actor {
        Actor {
            agency: AgencyId(self.agency),
            member: self.role.map(|_| MemberId(self.sub)),
            name: self.name.clone(),
            role: self.role.unwrap_or(Role::Tablet),
            district: self.district,
            station: self.station,
            sign_in: Some(self.sid),
            device: self.device,
            key: None,
        }
    }
}

struct Key {
    kid: String,
    created_at: DateTime<Utc>,
    signs: EncodingKey,
    reads: DecodingKey,
}

/// The signing keys of this service.
#[allow(missing_debug_implementations)]
pub struct Keys {
    pool: Pool,
    clock: Clock,
    ended: Arc<Ended>,
    sealing: Option<SealingKey>,
    known: RwLock<Vec<Key>>,
    /// Tokens whose signature has been checked: checking one costs more than the rest of a small request.
    checked: Cache<String, Checked>,
}

#[derive(Clone)]
struct Checked {
    actor: Arc<Actor>,
    ends: i64,
}

/// How many checked tokens are remembered; the one that was asked for least lately goes first.
const MOST_CHECKED: u64 = 4096;

impl Keys {
    /// Loads the keys, making the first one where there is none. With a sealing key, those that are kept in the clear are sealed.
    pub fn open(pool: Pool, clock: Clock, ended: Arc<Ended>, sealing: Option<SealingKey>) -> Result<Self, Fault> {
        if let Some(key) = &sealing {
            let mut db = pool.get().map_err(anyhow::Error::from)?;
            db.transaction(Access::Write, |db| seal_all(db, key))?;
        }
        let keys = Self {
            pool,
            clock,
            ended,
            sealing,
            known: RwLock::default(),
            checked: Cache::builder().max_capacity(MOST_CHECKED).eviction_policy(EvictionPolicy::lru()).build(),
        };
        keys.refresh()?;
        Ok(keys)
    }

    /// Loads the keys again; makes a new one when the newest is past its life. The one before still reads what it signed.
    pub fn refresh(&self) -> Result<(), Fault> {
        let mut db = self.pool.get().map_err(anyhow::Error::from)?;
        let now = self.clock.now();
        let spent = |rows: &[KeyRow]| rows.first().is_none_or(|newest| now - newest.created_at.0 > KEY_LIFE);
        let mut rows = load(&mut db)?;
        if spent(&rows) {
            rows = db.transaction(Access::Write, |db| {
                let rows = load(db)?;
                // Another process may have made it in the meantime.
                if !spent(&rows) {
                    return Ok(rows);
                }
                add(db, now, self.sealing.as_ref())?;
                load(db)
            })?;
        }
        let keys: Vec<Key> = still_read(rows, now)
            .into_iter()
            .map(|row| Key::read(row, self.sealing.as_ref()))
            .collect::<Result<_, Fault>>()?;
        let mut known = self.known.write().map_err(|_| anyhow::anyhow!("the key list is poisoned"))?;
        let revoked = known.iter().any(|before| !keys.iter().any(|key| key.kid == before.kid));
        *known = keys;
        drop(known);
        if revoked {
            self.checked.invalidate_all();
        }
        Ok(())
    }

    /// Signs an access token.
    pub fn sign(&self, actor: &Actor, sid: Uuid) -> Result<String, Fault> {
        let now = self.clock.now();
        let sub = actor
            .member
            .map(Uuid::from)
            .or(actor.device)
            .ok_or_else(|| anyhow::anyhow!("nobody to sign in"))?;
        let claims = Claims {
            sub,
            agency: actor.agency.0,
            name: actor.name.clone(),
            role: actor.member.map(|_| actor.role),
            district: actor.district,
            station: actor.station,
            device: actor.device,
            sid,
            iss: ISSUER.to_owned(),
            aud: AUDIENCE.to_owned(),
            iat: now.timestamp(),
            exp: now.timestamp() + ACCESS_SECONDS,
        };
        self.seal(&claims)
    }

    /// The time by which tokens are judged.
    pub(super) fn now(&self) -> DateTime<Utc> {
        self.clock.now()
    }

    /// Signs claims.
    pub(super) fn seal<C: Serialize>(&self, claims: &C) -> Result<String, Fault> {
        let now = self.clock.now();
        let known = self.known.read().map_err(|_| anyhow::anyhow!("the key list is poisoned"))?;
        let old = |key: &&Key| now - key.created_at >= KEY_MARGIN;
        let key = known.iter().find(old).or(known.last()).ok_or_else(|| anyhow::anyhow!("no signing key"))?;
        let header = Header {
            kid: Some(key.kid.clone()),
            ..Header::new(Algorithm::EdDSA)
        };
        Ok(jsonwebtoken::encode(&header, claims, &key.signs).map_err(anyhow::Error::from)?)
    }

    /// Claims that a key of this service has signed for this use; whoever reads them looks at when they end.
    pub(super) fn unseal<C: DeserializeOwned>(&self, token: &str, audience: &str) -> Result<C, Fault> {
        let header = jsonwebtoken::decode_header(token).map_err(|_| refused())?;
        let kid = header.kid.ok_or_else(refused)?;
        let known = self.known.read().map_err(|_| anyhow::anyhow!("the key list is poisoned"))?;
        let key = known.iter().find(|key| key.kid == kid).ok_or_else(refused)?;
        let mut validation = Validation::new(Algorithm::EdDSA);
        validation.validate_exp = false;
        validation.set_issuer(&[ISSUER]);
        validation.set_audience(&[audience]);
        validation.set_required_spec_claims(&["iss", "aud"]);
        Ok(jsonwebtoken::decode::<C>(token, &key.reads, &validation).map_err(|_| refused())?.claims)
    }

    /// Who an access token stands for; time is judged by this service's clock, and a sign-in that was ended is refused.
    pub fn actor(&self, token: &str) -> Result<Arc<Actor>, Fault> {
        let actor = self.signed(token)?;
        self.ended.allows(actor.sign_in)?;
        Ok(actor)
    }

    fn signed(&self, token: &str) -> Result<Arc<Actor>, Fault> {
        if let Some(known) = self.checked.get(token).filter(|known| known.ends > self.clock.now().timestamp()) {
            return Ok(known.actor);
        }
        let claims = self.read(token)?;
        let actor = Arc::new(claims.actor());
        self.checked.insert(
            token.to_owned(),
            Checked {
                actor: Arc::clone(&actor),
                ends: claims.exp,
            },
        );
        Ok(actor)
    }

    fn read(&self, token: &str) -> Result<Claims, Fault> {
        let claims: Claims = self.unseal(token, AUDIENCE)?;
        if claims.exp <= self.clock.now().timestamp() {
            return Err(refused());
        }
        Ok(claims)
    }
}

/// The keys whose tokens may still live, the newest first, as they come.
fn still_read(rows: Vec<KeyRow>, now: DateTime<Utc>) -> Vec<KeyRow> {
    let mut next: Option<DateTime<Utc>> = None;
    let reads = |row: &KeyRow| next.replace(row.created_at.0).is_none_or(|next| now - next < KEY_REST);
    rows.into_iter().take_while(reads).collect()
}

fn refused() -> Fault {
    Fault::new(error::SIGN_IN_NEEDED, "Sign in, or refresh the access token")
}

impl Key {
    fn read(row: KeyRow, sealing: Option<&SealingKey>) -> Result<Self, Fault> {
        let secret = opened(&row.kid, &row.secret_pem, sealing)?;
        Ok(Self {
            kid: row.kid,
            created_at: row.created_at.0,
            signs: EncodingKey::from_ed_pem(secret.as_bytes()).map_err(anyhow::Error::from)?,
            reads: DecodingKey::from_ed_components(&row.public_key).map_err(anyhow::Error::from)?,
        })
    }
}

impl std::fmt::Debug for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Key")
            .field("kid", &self.kid)
            .field("created_at", &self.created_at)
            .finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::platform::db::types::Moment;

    #[test]
    fn a_key_reads_until_what_it_signed_has_ended() {
        let day = |day: i64| DateTime::UNIX_EPOCH + TimeDelta::days(day);
        let made = |on: i64| KeyRow {
            kid: on.to_string(),
            created_at: Moment(day(on)),
            secret_pem: String::new(),
            public_key: String::new(),
        };
        let read = |now| -> Vec<String> { still_read([61, 30, 0].map(made).into(), now).into_iter().map(|row| row.kid).collect() };
        assert_eq!(read(day(61)), ["61", "30"]);
        assert_eq!(read(day(61) + KEY_MARGIN + TimeDelta::seconds(ACCESS_SECONDS)), ["61", "30"]);
        assert_eq!(read(day(62)), ["61"]);
        assert_eq!(read(day(400)), ["61"], "the newest reads until there is another");
    }
}
