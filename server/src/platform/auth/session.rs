//! Sign-in and refresh. A sign-in is a family of refresh tokens: each use spends one and issues the next. Using a spent
//! one again means that somebody has a copy, so the whole family ends. A family is over as soon as one of its tokens is ended, so that
//! a token that was issued at the same moment does not outlive the others.

use std::sync::Arc;

use base64::Engine as _;
use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::{Ended, ended::refusal};
use crate::{
    on,
    platform::{
        clock::Clock,
        db::{
            Access, Db, Pool,
            schema::{credential, refresh_token},
            types::{Moment, Uid},
        },
        door::Write,
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

/// How long a refresh token serves.
const REFRESH: TimeDelta = TimeDelta::days(30);
/// A browser whose answer was lost sends the same token again at once; that is no theft.
const GRACE: TimeDelta = TimeDelta::seconds(10);

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
    ended_at: Option<Moment>,
    revoked: bool,
}

#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = credential)]
struct CredentialRow {
    agency: Uid,
    member: Uid,
    email: String,
    password_hash: String,
}

/// Who a session belongs to, and the token that refreshes it.
#[derive(Debug)]
pub struct SessionTokens {
    /// The agency.
    pub agency: AgencyId,
    /// The member; none for a shared tablet.
    pub member: Option<MemberId>,
    /// The device, where one was enrolled.
    pub device: Option<Uuid>,
    /// The sign-in.
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
}

impl Sessions {
    /// Sessions over the writing pool.
    pub fn open(pool: Pool, clock: Clock, ended: Arc<Ended>) -> Result<Self, Fault> {
        // An unknown email costs as much time as a wrong password.
        let nobody = super::hash(&Uuid::now_v7().to_string())?;
        let sessions = Self { pool, clock, ended, nobody };
        sessions.ended.look(&mut *sessions.db()?)?;
        Ok(sessions)
    }

    pub(super) fn db(&self) -> Result<diesel::r2d2::PooledConnection<crate::platform::db::Manager>, Fault> {
        self.pool.get().map_err(|error| Fault {
            cause: Some(error.into()),
            ..Fault::new(error::BUSY, "The service is busy; try again in a moment")
        })
    }

    /// Starts a sign-in.
    pub fn start(&self, email: &str, password: &str) -> Result<SessionTokens, Fault> {
        let email = email.trim().to_lowercase();
        let mut db = self.db()?;
        let found: Option<CredentialRow> = on!(&mut *db, conn => credential::table
            .filter(credential::email.eq(&email))
            .select(CredentialRow::as_select())
            .first(conn)
            .optional())?;
        let hash = found.as_ref().map_or(self.nobody.as_str(), |found| found.password_hash.as_str());
        let matches = super::verify(password, hash);
        let Some(found) = found.filter(|_| matches) else {
            return Err(Fault::new(
                error::SIGN_IN_FAILED,
                "Email and password do not match; check both, or ask an admin for a new password",
            ));
        };
        drop(db);
        self.begin(AgencyId(found.agency.0), Some(MemberId(found.member.0)), None)
    }

    /// Starts the sign-in of somebody who is known by now: a member, a device, or a member's device.
    pub fn begin(&self, agency: AgencyId, member: Option<MemberId>, device: Option<Uuid>) -> Result<SessionTokens, Fault> {
        let holder = Holder {
            agency: agency.into(),
            member: member.map(Uid::from),
            device: device.map(Uid),
            family: Uid(Uuid::now_v7()),
        };
        let (refresh, row) = token(&holder, self.clock.now());
        self.db()?.transaction(Access::Write, |db| insert(db, &row))?;
        Ok(tokens(&row, refresh))
    }

    /// Spends a refresh token for the next.
    pub fn refresh(&self, refresh: &str) -> Result<SessionTokens, Fault> {
        let now = self.clock.now();
        let mut db = self.db()?;
        let spent_hash = digest(refresh);
        let answer = db.transaction(Access::Write, |db| {
            let Some(found) = find(db, &spent_hash)? else {
                return Ok::<_, Fault>(Err(refusal(false)));
            };
            if let Some(revoked) = ended(db, found.family)? {
                return Ok(Err(refusal(revoked)));
            }
            if found.expires_at.0 <= now {
                return Ok(Err(refusal(false)));
            }
            if found.spent_at.is_some_and(|spent| now - spent.0 > GRACE) {
                end_family(db, found.family, now)?;
                return Ok(Err(Fault::new(
                    error::SESSION_ENDED,
                    "This sign-in was used from two places and has been ended; sign in again",
                )));
            }
            let hash = found.token_hash.clone();
            on!(&mut *db, conn => diesel::update(refresh_token::table.find(hash))
                .set(refresh_token::spent_at.eq(found.spent_at.unwrap_or(Moment(now))))
                .execute(conn))?;
            let (next, row) = token(&found.holder(), now);
            insert(db, &row)?;
            Ok(Ok(tokens(&row, next)))
        })?;
        if answer.is_err() {
            self.ended.look(&mut db)?;
        }
        answer
    }

    /// Ends a sign-in.
    pub fn end_sign_in(&self, family: Uuid) -> Result<(), Fault> {
        let now = self.clock.now();
        let mut db = self.db()?;
        db.transaction(Access::Write, |db| end_family(db, Uid(family), now))?;
        self.ended.look(&mut db)
    }

    /// Ends the sign-in that a refresh token belongs to.
    pub fn end(&self, refresh: &str) -> Result<(), Fault> {
        let now = self.clock.now();
        let hash = digest(refresh);
        let mut db = self.db()?;
        db.transaction(Access::Write, |db| {
            if let Some(found) = find(db, &hash)? {
                end_family(db, found.family, now)?;
            }
            Ok::<_, Fault>(())
        })?;
        self.ended.look(&mut db)
    }
}

/// Who a sign-in belongs to.
struct Holder {
    agency: Uid,
    member: Option<Uid>,
    device: Option<Uid>,
    family: Uid,
}

impl TokenRow {
    fn holder(&self) -> Holder {
        Holder {
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

fn token(holder: &Holder, now: DateTime<Utc>) -> (String, TokenRow) {
    let secret: [u8; 32] = rand::random();
    let text = base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(secret);
    let row = TokenRow {
        token_hash: digest(&text),
        family: holder.family,
        agency: holder.agency,
        member: holder.member,
        device: holder.device,
        issued_at: Moment(now),
        expires_at: Moment(now + REFRESH),
        spent_at: None,
        ended_at: None,
        revoked: false,
    };
    (text, row)
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

fn end_family(db: &mut Db, family: Uid, now: DateTime<Utc>) -> Result<(), Fault> {
    on!(db, conn => diesel::update(refresh_token::table.filter(refresh_token::family.eq(family).and(refresh_token::ended_at.is_null())))
        .set(refresh_token::ended_at.eq(Moment(now)))
        .execute(conn))?;
    Ok(())
}

/// Ends every sign-in of a member: the role changed, or the member left. This process knows of it before it answers.
pub fn end_all(write: &mut Write<'_>, member: MemberId) -> Result<(), Fault> {
    let (agency, now) = (write.agency, write.now());
    on!(write.ending(), conn => diesel::update(refresh_token::table
        .filter(refresh_token::agency.eq(Uid::from(agency)).and(refresh_token::member.eq(Uid::from(member))).and(refresh_token::ended_at.is_null())))
        .set(refresh_token::ended_at.eq(Moment(now)))
        .execute(conn))?;
    Ok(())
}

/// Ends every sign-in that a device ever had, and says that it was revoked, so that it forgets what it keeps whenever it asks again.
pub fn revoke(write: &mut Write<'_>, device: Uuid) -> Result<(), Fault> {
    let (agency, now) = (write.agency, write.now());
    on!(write.ending(), conn => diesel::update(refresh_token::table.filter(refresh_token::agency.eq(Uid::from(agency)).and(refresh_token::device.eq(Uid(device)))))
        .set((refresh_token::ended_at.eq(Moment(now)), refresh_token::revoked.eq(true)))
        .execute(conn))?;
    Ok(())
}

/// Gives a member an email and, where a hash is given, a password to sign in with.
pub fn put_credential(db: &mut Db, agency: AgencyId, member: MemberId, email: &str, hash: Option<&str>) -> Result<(), Fault> {
    let email = email.trim().to_lowercase();
    let holder: Option<CredentialRow> = on!(&mut *db, conn => credential::table
        .filter(credential::email.eq(&email))
        .select(CredentialRow::as_select())
        .first(conn)
        .optional())?;
    if holder.is_some_and(|holder| holder.member.0 != member.0) {
        return Err(Fault::new(error::ALREADY_THERE, "This email signs another member in; use one of the member's own").at("body.email"));
    }
    let key = (Uid::from(agency), Uid::from(member));
    let changed = match hash {
        Some(hash) => on!(&mut *db, conn => diesel::update(credential::table.find(key))
            .set((credential::email.eq(&email), credential::password_hash.eq(hash)))
            .execute(conn))?,
        None => on!(&mut *db, conn => diesel::update(credential::table.find(key)).set(credential::email.eq(&email)).execute(conn))?,
    };
    if let (0, Some(hash)) = (changed, hash) {
        let row = CredentialRow {
            agency: key.0,
            member: key.1,
            email,
            password_hash: hash.to_owned(),
        };
        on!(db, conn => diesel::insert_into(credential::table).values(&row).execute(conn))?;
    }
    Ok(())
}
