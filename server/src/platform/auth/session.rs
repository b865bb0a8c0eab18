//! Sign-in and refresh. A sign-in is a family of refresh tokens: each is spent for the next, and has that one successor. A spent
//! token gets its successor again until that one is spent too, because the answer may have been lost, however long ago. Once it is
//! spent, its holder has had it, so whoever still comes with the one before has a copy: the whole family ends. A family is over as
//! soon as one of its tokens is ended, so that a token that was issued at the same moment does not outlive the others.
//!
//! A successor is HMAC-SHA256, keyed by the token's text, of a salt drawn when the token is spent. Tokens are kept as hashes only:
//! who reads the database cannot make a successor, and nor can who has an old token alone.

use std::sync::Arc;

use aws_lc_rs::hmac;
use base64::Engine as _;
use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::{
    AccessEventKind, AskedFrom, Credential, Ended, NewEvent, PasswordStamp,
    credential::still_has,
    ended::refusal,
    ending::{end_but, end_family, end_oldest, end_one},
    half, note,
    sign_in::{self, Of},
};
use crate::{
    on,
    platform::{
        clock::Clock,
        db::{
            Access, Db, Pool,
            schema::refresh_token,
            types::{Moment, Uid},
        },
        error::{self, Fault},
        ids::{AgencyId, MemberId},
        rates::Rates,
    },
};

/// How long a refresh token serves.
const REFRESH: TimeDelta = TimeDelta::days(30);

#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = refresh_token)]
struct TokenRow {
    token_hash: Vec<u8>,
    family: Uid,
    agency: Uid,
    member: Option<Uid>,
    device: Option<Uid>,
    issued_at: Moment,
    expires_at: Moment,
    spent_at: Option<Moment>,
    next_salt: Option<Vec<u8>>,
    ended_at: Option<Moment>,
    revoked: bool,
}

/// Which of a member's sign-ins.
#[derive(Debug, Clone, Copy)]
pub enum Which {
    /// This one.
    One(Uuid),
    /// All but this one.
    AllBut(Uuid),
}

/// Who signs in, and by what.
#[derive(Debug, Clone, Copy)]
pub struct NewSignIn<'a> {
    /// Id of the agency.
    pub agency: AgencyId,
    /// The member; none for a shared tablet.
    pub member: Option<MemberId>,
    /// The device, where one was enrolled.
    pub device: Option<Uuid>,
    /// The password that was right, where it was by one: another one by now signs nobody in.
    pub password: Option<&'a PasswordStamp>,
    /// From where.
    pub from: &'a AskedFrom,
    /// The refresh token that came along with the same browser.
    pub before: Option<&'a str>,
}

/// Who a session belongs to, and the token that refreshes it.
#[derive(Debug)]
pub struct SessionTokens {
    /// Id of the agency.
    pub agency: AgencyId,
    /// The member; none for a shared tablet.
    pub member: Option<MemberId>,
    /// The device, where one was enrolled.
    pub device: Option<Uuid>,
    /// Id of the sign-in.
    pub family: Uuid,
    /// The next refresh token.
    pub refresh: String,
}

/// Sign-ins, kept in the database so that every process sees them.
#[allow(missing_debug_implementations)]
pub struct Sessions {
    pool: Pool,
    pub(super) clock: Clock,
    pub(super) ended: Arc<Ended>,
    nobody: String,
    /// Sign-ins of each member, whose password was right.
    begun: Rates<Uuid>,
    /// Refreshes of each sign-in.
    refreshed: Rates<Uuid>,
    /// Refreshes from each network, also with what is no token: a station's phones share one, and all come at once when the line is back.
    refreshing: Rates<String>,
}

impl Sessions {
    /// Sessions over the writing pool.
    pub fn open(pool: Pool, clock: Clock, ended: Arc<Ended>) -> Result<Self, Fault> {
        // An unknown email costs as much time as a wrong password.
        let nobody = super::hash(&Uuid::now_v7().to_string())?;
        let sessions = Self {
            pool,
            ended,
            nobody,
            begun: Rates::by(&clock, 60, 6),
            refreshed: Rates::by(&clock, 60, 10),
            refreshing: Rates::by(&clock, 600, 300),
            clock,
        };
        sessions.ended.look(&mut *sessions.db()?)?;
        Ok(sessions)
    }

    pub(super) fn db(&self) -> Result<diesel::r2d2::PooledConnection<crate::platform::db::Manager>, Fault> {
        self.pool.get().map_err(|error| Fault {
            cause: Some(error.into()),
            ..Fault::new(error::BUSY, "The service is busy; try again in a moment")
        })
    }

    /// Whether a password is that of a credential. Without one it takes as much work. For a thread that may block, under a
    /// [permit](super::Hashing).
    pub fn matches(&self, password: &str, credential: Option<&Credential>) -> bool {
        let hash = credential.map_or(self.nobody.as_str(), |found| found.hash.as_str());
        super::verify(password, hash)
    }

    /// Starts the sign-in of somebody who is known by now: a member, a device, or a member's device. The one that the same member had
    /// before in the same browser ends: nobody would hold it any more.
    ///
    /// # Errors
    /// `session-ended` when the password was changed since it was found to be right, `slow-down` for whoever signs in too often.
    pub fn begin(&self, new: NewSignIn<'_>) -> Result<SessionTokens, Fault> {
        let NewSignIn {
            agency,
            member,
            device,
            password,
            from,
            before,
        } = new;
        if let Some(member) = member {
            self.begun.take(&member.into(), 1).map_err(|seconds| {
                let words = "You have signed in very often; wait as long as Retry-After says, or use a sign-in that you have";
                Fault::new(error::SLOW_DOWN, words).again_in(seconds)
            })?;
        }
        let holder = Of {
            agency: agency.into(),
            member: member.map(Uid::from),
            device: device.map(Uid),
            family: Uid(Uuid::now_v7()),
        };
        let refresh = text(&rand::random());
        let now = self.clock.now();
        let row = row(holder, &refresh, now);
        let mut db = self.db()?;
        db.transaction(Access::Write, |db| {
            if let (Some(member), Some(password)) = (member, password)
                && !still_has(db, (agency, member), password)?
            {
                return Err(half::over());
            }
            if let Some(before) = before.map(|before| find(db, &digest(before))).transpose()?.flatten()
                && (before.agency, before.member) == (holder.agency, holder.member)
            {
                end_family(db, before.family, now)?;
            }
            sign_in::began(db, holder, from, now)?;
            if let Some(member) = member {
                end_oldest(db, agency, member, now)?;
                let way = match (device, password) {
                    (Some(_), _) => AccessEventKind::PhoneEnrolled,
                    (None, Some(_)) => AccessEventKind::SignedIn,
                    (None, None) => AccessEventKind::SignedInByPasskey,
                };
                note(db, NewEvent::own(agency, member, way, from.clone()), now)?;
            }
            insert(db, &row)
        })?;
        if before.is_some() {
            self.ended.look(&mut db)?;
        }
        Ok(tokens(&row, refresh))
    }

    /// Spends a refresh token for its successor; spent before, it gets the same one as long as that is not spent.
    pub fn refresh(&self, refresh: &str, from: &AskedFrom) -> Result<SessionTokens, Fault> {
        let network = from.network.clone().unwrap_or_default();
        self.refreshing
            .take(&network, 1)
            .map_err(|seconds| Fault::new(error::SLOW_DOWN, "Too many sign-ins are refreshed from this network; wait a moment").again_in(seconds))?;
        let now = self.clock.now();
        let mut db = self.db()?;
        let spent_hash = digest(refresh);
        // A token that is on no record takes the database's writer from nobody.
        let Some(known) = find(&mut db, &spent_hash)? else {
            return Err(refusal(false));
        };
        self.refreshed.take(&known.family.0, 1).map_err(|seconds| {
            let words = "This sign-in is refreshed very often; use the access token that you have until it ends";
            Fault::new(error::SLOW_DOWN, words).again_in(seconds)
        })?;
        let answer = db.transaction(Access::Write, |db| {
            let Some(found) = find(db, &spent_hash)? else {
                return Ok::<_, Fault>(Err(refusal(false)));
            };
            if let Some(revoked) = ended(db, found.family)? {
                return Ok(Err(refusal(revoked)));
            }
            if found.expires_at.0 <= now || sign_in::is_past(db, found.of(), now)? {
                return Ok(Err(refusal(false)));
            }
            if let Some(row) = spend(db, &found, refresh, now)? {
                sign_in::seen(db, found.of(), from, now)?;
                return Ok(Ok(row));
            }
            // It was spent before, perhaps a moment ago by another process.
            let Some(salt) = find(db, &spent_hash)?.and_then(|spent| spent.next_salt) else {
                return Ok(Err(refusal(false)));
            };
            let next = successor(refresh, &salt);
            match find(db, &digest(&next))?.filter(|next| next.spent_at.is_none()) {
                Some(row) => Ok(Ok(tokens(&row, next))),
                None => {
                    end_family(db, found.family, now)?;
                    if let Some(member) = found.member {
                        let (agency, member) = (AgencyId(found.agency.0), MemberId(member.0));
                        note(db, NewEvent::own(agency, member, AccessEventKind::TokenUsedTwice, from.clone()), now)?;
                    }
                    Ok(Err(Fault::new(
                        error::SESSION_ENDED,
                        "This sign-in was used from two places and has been ended; sign in again",
                    )))
                }
            }
        })?;
        if answer.is_err() {
            self.ended.look(&mut db)?;
        }
        answer
    }

    /// Ends a sign-in; answers whether it had not ended before.
    pub fn end_sign_in(&self, family: Uuid) -> Result<bool, Fault> {
        let now = self.clock.now();
        let mut db = self.db()?;
        let ended = db.transaction(Access::Write, |db| end_family(db, Uid(family), now))?;
        self.ended.look(&mut db)?;
        Ok(ended > 0)
    }

    /// Notes what happened to a way of signing in.
    pub fn note(&self, event: NewEvent) -> Result<(), Fault> {
        let now = self.clock.now();
        self.db()?.transaction(Access::Write, |db| note(db, event, now))
    }

    /// Ends one of a member's sign-ins, or all but one; answers whether there was any.
    pub fn end_own(&self, agency: AgencyId, member: MemberId, which: Which, from: &AskedFrom) -> Result<bool, Fault> {
        let now = self.clock.now();
        let mut db = self.db()?;
        let ended = db.transaction(Access::Write, |db| {
            let ended = match which {
                Which::One(id) => end_one(db, agency, member, id, now)?,
                Which::AllBut(kept) => end_but(db, agency, member, Some(kept), now)?,
            };
            if ended > 0 {
                note(db, NewEvent::own(agency, member, AccessEventKind::SignInsEnded, from.clone()), now)?;
            }
            Ok::<_, Fault>(ended)
        })?;
        self.ended.look(&mut db)?;
        Ok(ended > 0)
    }

    /// The sign-in that a refresh token belongs to, and whose it is.
    pub fn holder(&self, refresh: &str) -> Result<Option<(AgencyId, Option<MemberId>, Uuid)>, Fault> {
        let found = find(&mut *self.db()?, &digest(refresh))?;
        Ok(found.map(|row| (AgencyId(row.agency.0), row.member.map(|member| MemberId(member.0)), row.family.0)))
    }
}

impl TokenRow {
    fn of(&self) -> Of {
        Of {
            agency: self.agency,
            member: self.member,
            device: self.device,
            family: self.family,
        }
    }
}

pub(super) fn digest(token: &str) -> Vec<u8> {
    Sha256::digest(token.as_bytes()).to_vec()
}

/// A token as it travels.
fn text(secret: &[u8; 32]) -> String {
    base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(secret)
}

/// The one token that a spent one is exchanged for.
fn successor(spent: &str, salt: &[u8]) -> String {
    let made = hmac::sign(&hmac::Key::new(hmac::HMAC_SHA256, spent.as_bytes()), salt);
    base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(made)
}

/// Spends a token and keeps its successor; none when it was spent already. Of several who try at once, one spends it.
fn spend(db: &mut Db, found: &TokenRow, token: &str, now: DateTime<Utc>) -> Result<Option<SessionTokens>, Fault> {
    let salt: [u8; 32] = rand::random();
    let open = refresh_token::table.filter(refresh_token::token_hash.eq(&found.token_hash).and(refresh_token::spent_at.is_null()));
    let spent = on!(&mut *db, conn => diesel::update(open)
        .set((refresh_token::spent_at.eq(Moment(now)), refresh_token::next_salt.eq(salt.to_vec())))
        .execute(conn))?;
    if spent == 0 {
        return Ok(None);
    }
    let next = successor(token, &salt);
    let row = row(found.of(), &next, now);
    insert(db, &row)?;
    Ok(Some(tokens(&row, next)))
}

fn row(holder: Of, token: &str, now: DateTime<Utc>) -> TokenRow {
    TokenRow {
        token_hash: digest(token),
        family: holder.family,
        agency: holder.agency,
        member: holder.member,
        device: holder.device,
        issued_at: Moment(now),
        expires_at: Moment(now + REFRESH),
        spent_at: None,
        next_salt: None,
        ended_at: None,
        revoked: false,
    }
}

fn tokens(row: &TokenRow, refresh: String) -> SessionTokens {
    SessionTokens {
        agency: AgencyId(row.agency.0),
        member: row.member.map(|member| MemberId(member.0)),
        device: row.device.map(|device| device.0),
        family: row.family.0,
        refresh,
    }
}

fn find(db: &mut Db, hash: &[u8]) -> Result<Option<TokenRow>, Fault> {
    Ok(on!(db, conn => refresh_token::table.find(hash).select(TokenRow::as_select()).first(conn).optional())?)
}

/// Whether a sign-in is over, and whether because its device was revoked.
fn ended(db: &mut Db, family: Uid) -> Result<Option<bool>, Fault> {
    Ok(on!(db, conn => refresh_token::table
        .filter(refresh_token::family.eq(family).and(refresh_token::ended_at.is_not_null()))
        .order(refresh_token::revoked.desc())
        .select(refresh_token::revoked)
        .first(conn)
        .optional())?)
}

fn insert(db: &mut Db, row: &TokenRow) -> Result<(), Fault> {
    on!(db, conn => diesel::insert_into(refresh_token::table).values(row).execute(conn))?;
    Ok(())
}
