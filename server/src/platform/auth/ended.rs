//! Sign-ins that were ended while an access token of theirs may still be alive. An access token is believed without a look at
//! the database, so each process keeps this list in memory: a question is one look into a map that is mostly empty. What this
//! process ends, it knows before it answers; what another process ends, it finds at its next look. The keys of programs are looked for
//! with it: one that answers no more is an ended sign-in.

use std::{
    collections::HashMap,
    sync::{PoisonError, RwLock},
};

use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;
use uuid::Uuid;

use super::{ACCESS_SECONDS, ApiKeys, api_key::key_refusal};
use crate::{
    on,
    platform::{
        clock::Clock,
        db::{
            Db,
            schema::refresh_token,
            types::{Moment, Uid},
        },
        error::{self, Fault},
    },
};

/// How long an ended sign-in is remembered: the life of an access token, and a margin for the clocks of several machines.
const REMEMBERED: TimeDelta = TimeDelta::seconds(ACCESS_SECONDS + 5 * 60);

#[derive(Debug, Clone, Copy)]
struct End {
    at: DateTime<Utc>,
    revoked: bool,
    /// Of a program's key.
    key: bool,
}

/// The list.
#[derive(Debug, Default)]
pub struct Ended {
    clock: Clock,
    ends: RwLock<HashMap<Uuid, End>>,
    keys: ApiKeys,
}

impl Ended {
    /// An empty list.
    pub fn new(clock: Clock) -> Self {
        Self {
            clock,
            ends: RwLock::default(),
            keys: ApiKeys::default(),
        }
    }

    /// Adds what the database knows. An end is never taken back, so two looks at once may come in any order.
    pub fn look(&self, db: &mut Db) -> Result<(), Fault> {
        let now = self.clock.now();
        let since = now - REMEMBERED;
        let gone = self.keys.look(db, now)?;
        let found: Vec<(Uid, Option<Moment>, bool)> = on!(db, conn => refresh_token::table
            .filter(refresh_token::ended_at.gt(Moment(since)))
            .select((refresh_token::family, refresh_token::ended_at, refresh_token::revoked))
            .distinct()
            .load(conn))?;
        let mut ends = self.ends.write().unwrap_or_else(PoisonError::into_inner);
        ends.retain(|_, end| end.at > since);
        for (family, at, revoked) in found {
            let at = at.map_or(since, |at| at.0);
            let end = ends.entry(family.0).or_insert(End { at, revoked, key: false });
            *end = End {
                at: at.max(end.at),
                revoked: revoked || end.revoked,
                key: false,
            };
        }
        let end = End {
            at: now,
            revoked: true,
            key: true,
        };
        ends.extend(gone.into_iter().map(|key| (key, end)));
        Ok(())
    }

    /// The keys of programs.
    pub const fn keys(&self) -> &ApiKeys {
        &self.keys
    }

    /// Refuses a sign-in or key that was ended; the service itself has none.
    pub fn allows(&self, sign_in: Option<Uuid>) -> Result<(), Fault> {
        let Some(sign_in) = sign_in else { return Ok(()) };
        let ends = self.ends.read().unwrap_or_else(PoisonError::into_inner);
        match ends.get(&sign_in) {
            None => Ok(()),
            Some(end) if end.key => Err(key_refusal()),
            Some(end) => Err(refusal(end.revoked)),
        }
    }
}

/// Whether a sign-in was ended, and whether because its device was revoked; as the database has it, what this transaction has
/// written among it.
pub fn end_of(db: &mut Db, sign_in: Uuid) -> Result<Option<bool>, Fault> {
    Ok(on!(db, conn => refresh_token::table
        .filter(refresh_token::family.eq(Uid(sign_in)).and(refresh_token::ended_at.is_not_null()))
        .order(refresh_token::revoked.desc())
        .select(refresh_token::revoked)
        .first(conn)
        .optional())?)
}

/// Why an ended sign-in is refused.
pub fn refusal(revoked: bool) -> Fault {
    if revoked {
        Fault::new(
            error::DEVICE_REVOKED,
            "This device was revoked: forget everything that it keeps. To use it again, enrol it with a new code",
        )
    } else {
        Fault::new(error::SESSION_ENDED, "This sign-in has ended; sign in again")
    }
}
