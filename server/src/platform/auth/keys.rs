//! Access tokens: EdDSA over Ed25519 (RFC 8037), 15 minutes, signed by a key with a `kid`; keys live in the database so
//! that every server process knows them, and a new one is made every 30 days. A key signs only when it is a minute old: by then all
//! processes know it, because each looks for new ones every few seconds. So a `kid` that is not known is refused without a look, and
//! nobody who is not signed in has the service ask the database.

use std::{
    collections::HashMap,
    sync::{Arc, RwLock},
};

use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;
use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use uuid::Uuid;

use crate::{
    on,
    platform::{
        auth::{Actor, Ended, Role},
        clock::Clock,
        db::{Access, Db, Pool, schema::signing_key, types::Moment},
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

/// How long an access token serves, in seconds.
pub const ACCESS_SECONDS: i64 = 15 * 60;
const KEY_LIFE: TimeDelta = TimeDelta::days(30);
/// How old a key is before it signs, where there is an older one.
const KEY_MARGIN: TimeDelta = TimeDelta::minutes(1);

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

#[derive(Debug, Queryable, Selectable, Insertable)]
#[diesel(table_name = signing_key)]
struct KeyRow {
    kid: String,
    created_at: Moment,
    secret_pem: String,
    public_key: String,
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
    known: RwLock<Vec<Key>>,
    /// Tokens whose signature has been checked: checking one costs more than the rest of a small request.
    checked: RwLock<HashMap<String, Checked>>,
}

#[derive(Clone)]
struct Checked {
    actor: Arc<Actor>,
    ends: i64,
}

/// How many checked tokens are remembered before all are forgotten.
const MOST_CHECKED: usize = 4096;

impl Keys {
    /// Loads the keys, making the first one where there is none.
    pub fn open(pool: Pool, clock: Clock, ended: Arc<Ended>) -> Result<Self, Fault> {
        let keys = Self {
            pool,
            clock,
            ended,
            known: RwLock::default(),
            checked: RwLock::default(),
        };
        keys.refresh()?;
        Ok(keys)
    }

    /// Loads the keys again; makes a new one when the newest is past its life. Old ones still read what they signed.
    pub fn refresh(&self) -> Result<(), Fault> {
        let mut db = self.pool.get().map_err(anyhow::Error::from)?;
        let now = self.clock.now();
        let load = |db: &mut Db| -> QueryResult<Vec<KeyRow>> {
            on!(db, conn => signing_key::table.order(signing_key::created_at.desc()).select(KeyRow::as_select()).load(conn))
        };
        let spent = |rows: &[KeyRow]| rows.first().is_none_or(|newest| now - newest.created_at.0 > KEY_LIFE);
        let mut rows = load(&mut db)?;
        if spent(&rows) {
            rows = db.transaction(Access::Write, |db| {
                let rows = load(db)?;
                // Another process may have made it in the meantime.
                if !spent(&rows) {
                    return Ok(rows);
                }
                let row = new_key(now)?;
                on!(&mut *db, conn => diesel::insert_into(signing_key::table).values(&row).execute(conn))?;
                Ok::<_, Fault>(load(db)?)
            })?;
        }
        let keys = rows.into_iter().map(Key::read).collect::<Result<Vec<_>, Fault>>()?;
        *self.known.write().map_err(|_| anyhow::anyhow!("the key list is poisoned"))? = keys;
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

    /// Claims that a key of this service has signed; whoever reads them looks at when they end.
    pub(super) fn unseal<C: DeserializeOwned>(&self, token: &str) -> Result<C, Fault> {
        let header = jsonwebtoken::decode_header(token).map_err(|_| refused())?;
        let kid = header.kid.ok_or_else(refused)?;
        let known = self.known.read().map_err(|_| anyhow::anyhow!("the key list is poisoned"))?;
        let key = known.iter().find(|key| key.kid == kid).ok_or_else(refused)?;
        let mut validation = Validation::new(Algorithm::EdDSA);
        validation.validate_exp = false;
        validation.required_spec_claims.clear();
        Ok(jsonwebtoken::decode::<C>(token, &key.reads, &validation).map_err(|_| refused())?.claims)
    }

    /// Who an access token stands for; time is judged by this service's clock, and a sign-in that was ended is refused.
    pub fn actor(&self, token: &str) -> Result<Arc<Actor>, Fault> {
        let actor = self.signed(token)?;
        self.ended.allows(actor.sign_in)?;
        Ok(actor)
    }

    fn signed(&self, token: &str) -> Result<Arc<Actor>, Fault> {
        let poisoned = || anyhow::anyhow!("the list of checked tokens is poisoned");
        let known = self.checked.read().map_err(|_| poisoned())?.get(token).cloned();
        if let Some(known) = known.filter(|known| known.ends > self.clock.now().timestamp()) {
            return Ok(known.actor);
        }
        let claims = self.read(token)?;
        let actor = Arc::new(claims.actor());
        let mut checked = self.checked.write().map_err(|_| poisoned())?;
        if checked.len() >= MOST_CHECKED {
            checked.clear();
        }
        checked.insert(
            token.to_owned(),
            Checked {
                actor: Arc::clone(&actor),
                ends: claims.exp,
            },
        );
        Ok(actor)
    }

    fn read(&self, token: &str) -> Result<Claims, Fault> {
        let claims: Claims = self.unseal(token)?;
        if claims.exp <= self.clock.now().timestamp() {
            return Err(refused());
        }
        Ok(claims)
    }
}

fn refused() -> Fault {
    Fault::new(error::SIGN_IN_NEEDED, "Sign in, or refresh the access token")
}

fn new_key(now: DateTime<Utc>) -> Result<KeyRow, Fault> {
    use base64::Engine as _;
    let secret = rcgen::KeyPair::generate_for(&rcgen::PKCS_ED25519).map_err(anyhow::Error::from)?;
    Ok(KeyRow {
        kid: Uuid::now_v7().simple().to_string(),
        created_at: Moment(now),
        secret_pem: secret.serialize_pem(),
        public_key: base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(secret.public_key_raw()),
    })
}

impl Key {
    fn read(row: KeyRow) -> Result<Self, Fault> {
        Ok(Self {
            kid: row.kid,
            created_at: row.created_at.0,
            signs: EncodingKey::from_ed_pem(row.secret_pem.as_bytes()).map_err(anyhow::Error::from)?,
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
