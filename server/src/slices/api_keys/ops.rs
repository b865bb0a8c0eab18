use chrono::{DateTime, TimeDelta, Utc};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{ApiKeyRecord, KeyId, KeyScope, KeyState};
use crate::{
    platform::{
        auth::{self, AccessEventKind, Actor, ApiKey, NewEvent, Permission, Role, SecretHash},
        door::{Act, Reach, Write, name},
        error::Fault,
    },
    slices::members::bound,
};

/// The most keys of an agency that answer.
const MOST_KEYS: usize = 50;
/// The most kinds that a key names.
const MOST_KINDS: usize = 200;
/// The longest that a key answers: a year.
const LONGEST: TimeDelta = TimeDelta::days(366);

/// The kinds of commands that a key may name: those that are open to a coordinator and take no person.
#[derive(Debug)]
pub struct ProgramKinds(pub Vec<&'static str>);

/// Makes a key for a program. The client makes the secret: 32 random bytes, as base64url without padding 43 signs; the key is `fsk_` and
/// those. It sends the SHA-256 of the 43 signs and shows the key to the admin; nobody can show it again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddApiKey {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: KeyId,
    /// What it is called, which is the name that the journal keeps: 1 to 200 characters.
    pub name: String,
    /// What it may do.
    pub scope: KeyScope,
    /// When set, it acts only in this district.
    pub district: Option<Uuid>,
    /// When set, it acts only at this station.
    pub station: Option<Uuid>,
    /// When it runs out: within a year.
    pub expires_at: DateTime<Utc>,
    /// The SHA-256 of the secret, 64 hexadecimal digits in lower case.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    pub secret_sha256: String,
}

impl AddApiKey {
    /// What its scope lets it act in, where a program may.
    fn grant(&self, write: &Write<'_>) -> Result<(Role, Option<Vec<String>>), Fault> {
        match &self.scope {
            KeyScope::Role { role: Role::Admin } => {
                return Err(Fault::field("body.scope.role", "A program keeps no members; give it another role"));
            }
            KeyScope::Commands { kinds } => {
                let open = write.provided::<ProgramKinds>();
                let closed = |kind: &str| !open.is_some_and(|open| open.0.contains(&kind));
                if let Some((n, kind)) = kinds.iter().enumerate().find(|(_, kind)| closed(kind)) {
                    let words = format!("'{kind}' is no command that a program may send; leave it out");
                    return Err(Fault::field(format!("body.scope.kinds[{n}]"), words));
                }
            }
            KeyScope::Read {} | KeyScope::Role { .. } => {}
        }
        Ok(self.scope.acts_in())
    }
}

impl Act for AddApiKey {
    const KIND: &'static str = "api_key.add";
    const SUMMARY: &'static str = "Make a key for a program";
    const DONE: &'static str = "Key for a program made";
    const NEEDS: &'static [Permission] = &[Permission::Administer];
    const REACH: Reach = Reach::Within;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.name = name("body.name", &self.name)?;
        if let KeyScope::Commands { kinds } = &self.scope
            && !(1..=MOST_KINDS).contains(&kinds.len())
        {
            return Err(Fault::field("body.scope.kinds", format!("Name 1 to {MOST_KINDS} kinds of commands")));
        }
        self.scope.put_in_order();
        SecretHash::of_body(&self.secret_sha256).map(drop)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<ApiKeyRecord>(self.id)?;
        let scope = bound(write, self.district, self.station)?;
        write.decide_for(scope)?;
        let (agency, now) = (write.agency, write.now());
        if self.expires_at <= now || self.expires_at > now + LONGEST {
            return Err(Fault::field("body.expires_at", "A key runs out in the future, and within a year"));
        }
        let (role, kinds) = self.grant(write)?;
        let actor = write.actor;
        auth::lately_proven(write.reading_beside(), actor, now)?;
        let maker = write.actor.member.ok_or_else(|| Fault::rule("A key is made by a member"))?;
        if auth::keys_of(write.reading_beside(), agency)?.len() >= MOST_KEYS {
            return Err(Fault::rule(format!("{MOST_KEYS} keys are the most; revoke one that no program uses")));
        }
        let key = ApiKey { id: self.id.0, kinds };
        let actor = Actor::key(agency, &self.name, role, (self.district, self.station), key);
        auth::put_key(write.ending(), &actor, maker, &SecretHash::of_body(&self.secret_sha256)?, self.expires_at)?;
        note(write, AccessEventKind::KeyMade)?;
        let record = ApiKeyRecord {
            id: self.id,
            name: self.name,
            scope: self.scope,
            district: self.district,
            station: self.station,
            expires_at: self.expires_at,
            state: KeyState::Active,
            made_at: write.head.at,
            made_by: write.actor.person(),
            revoked_at: None,
            revoked_by: None,
            rev: 0,
        };
        write.save(record, scope)
    }
}

fn note(write: &mut Write<'_>, what: AccessEventKind) -> Result<(), Fault> {
    let (event, now) = (NewEvent::by(write.actor, None, what), write.now());
    auth::note(write.beside(), event, now)
}

/// Revokes a key, for good: nothing of it counts any more, whatever waits in the queue.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RevokeApiKey {
    /// The key to revoke; one that is not revoked yet.
    pub id: KeyId,
}

impl Act for RevokeApiKey {
    const KIND: &'static str = "api_key.revoke";
    const SUMMARY: &'static str = "Revoke a key of a program at once";
    const DONE: &'static str = "Key of a program revoked";
    const NEEDS: &'static [Permission] = &[Permission::Administer];
    const REACH: Reach = Reach::Within;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<ApiKeyRecord>(self.id)?;
        write.decide_for(stored.scope)?;
        if stored.record.state == KeyState::Revoked {
            return Err(Fault::rule("This key has been revoked already"));
        }
        let agency = write.agency;
        auth::drop_key(write.ending(), agency, self.id.0)?;
        note(write, AccessEventKind::KeyRevoked)?;
        let record = ApiKeyRecord {
            state: KeyState::Revoked,
            revoked_at: Some(write.head.at),
            revoked_by: Some(write.actor.person()),
            ..stored.record
        };
        write.save(record, stored.scope)
    }
}
