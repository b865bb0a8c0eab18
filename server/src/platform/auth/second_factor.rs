//! The second factor of a member: the key of an authenticator, and ten recovery codes for the day on which it is lost. Who has passkeys
//! alone has recovery codes too: tries at them are counted in the same row, which has no key then.
//!
//! The key is kept as it is, because a code can only be checked with it; it stands in this table alone. Recovery codes are kept as hashes:
//! 24 signs of 31 are 118 bits, which nobody finds from a hash. A code of six digits is one of a million, and three count at a time: with
//! five free tries and then a quarter of an hour between two, whoever knows the password has some hundred tries a day, a chance of one in
//! three thousand. Tries are counted beside the key, so that all processes count together and none forgets.

use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;
use sha2::{Digest as _, Sha256};

use super::{
    AccessEventKind, AskedFrom, NewEvent, ONE_ACCOUNT, Sessions,
    enrolment::{plain, signs},
    note, passkeys_of, totp,
};
use crate::{
    on,
    platform::{
        db::{
            Access, Db,
            schema::{recovery_code, second_factor},
            types::{Moment, Uid},
        },
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

/// How many recovery codes a member has.
pub const RECOVERY_CODES: usize = 10;
/// Signs of a recovery code, in groups of four.
const RECOVERY_SIGNS: usize = 24;
/// The most signs of a code that is looked at.
const MOST_CODE: usize = 40;

#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = second_factor)]
struct FactorRow {
    agency: Uid,
    member: Uid,
    secret: Vec<u8>,
    on_at: Option<Moment>,
    last_step: i64,
    failures: i64,
    free_at: Moment,
}

impl FactorRow {
    /// Whether its key waits for the first code.
    fn waits(&self) -> bool {
        self.on_at.is_none() && !self.secret.is_empty()
    }
}

/// By what a code was right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RightCode {
    /// The authenticator's.
    Authenticator,
    /// One of the recovery codes, which is spent now.
    Recovery,
}

type Key = (Uid, Uid);

fn key(agency: AgencyId, member: MemberId) -> Key {
    (agency.into(), member.into())
}

fn find(db: &mut Db, key: Key) -> Result<Option<FactorRow>, Fault> {
    Ok(on!(db, conn => second_factor::table.find(key).select(FactorRow::as_select()).first(conn).optional())?)
}

/// The row of a member, which nobody else reads so before this transaction ends: of two codes at the same instant one counts first.
fn hold(db: &mut Db, key: Key) -> Result<Option<FactorRow>, Fault> {
    let query = second_factor::table.find(key);
    Ok(match db {
        Db::Sqlite(conn) => query.select(FactorRow::as_select()).first(conn).optional()?,
        Db::Postgres(conn) => query.select(FactorRow::as_select()).for_update().first(conn).optional()?,
    })
}

/// Since when a member's authenticator is a second factor; none: it has none.
pub fn factor_of(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<Option<DateTime<Utc>>, Fault> {
    let key = key(agency, member);
    Ok(find(db, key)?.and_then(|row| row.on_at).map(|on_at| on_at.0))
}

/// How many recovery codes a member has left.
pub fn recovery_codes_of(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<usize, Fault> {
    codes_left(db, key(agency, member))
}

fn codes_left(db: &mut Db, key: Key) -> Result<usize, Fault> {
    let left: i64 = on!(db, conn => recovery_code::table
        .filter(recovery_code::agency.eq(key.0).and(recovery_code::member.eq(key.1)))
        .count()
        .get_result(conn))?;
    Ok(usize::try_from(left).unwrap_or_default())
}

/// New recovery codes for a member who has a passkey and none left; the codes, or nothing where there are some.
pub(super) fn first_codes(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<Vec<String>, Fault> {
    let key = key(agency, member);
    if codes_left(db, key)? > 0 { Ok(Vec::new()) } else { put_codes(db, key) }
}

/// Forgets the recovery codes of a member who has no authenticator.
pub(super) fn forget_codes_alone(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<(), Fault> {
    if factor_of(db, agency, member)?.is_some() {
        Ok(())
    } else {
        forget_codes(db, key(agency, member))
    }
}

/// Forgets a member's second factor.
pub fn forget_factor(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<(), Fault> {
    let key = key(agency, member);
    forget_codes(db, key)?;
    on!(db, conn => diesel::delete(second_factor::table.find(key)).execute(conn))?;
    Ok(())
}

fn forget_codes(db: &mut Db, key: Key) -> Result<(), Fault> {
    let own = recovery_code::table.filter(recovery_code::agency.eq(key.0).and(recovery_code::member.eq(key.1)));
    on!(db, conn => diesel::delete(own).execute(conn))?;
    Ok(())
}

fn hash(code: &str) -> Vec<u8> {
    Sha256::digest(plain(code).as_bytes()).to_vec()
}

/// New recovery codes in the place of those that were left.
fn put_codes(db: &mut Db, key: Key) -> Result<Vec<String>, Fault> {
    forget_codes(db, key)?;
    let codes: Vec<String> = (0..RECOVERY_CODES).map(|_| signs(RECOVERY_SIGNS)).collect();
    for code in &codes {
        let row = (
            recovery_code::agency.eq(key.0),
            recovery_code::member.eq(key.1),
            recovery_code::hash.eq(hash(code)),
        );
        on!(&mut *db, conn => diesel::insert_into(recovery_code::table).values(row).execute(conn))?;
    }
    Ok(codes)
}

/// The row of a member who may give a code: with an authenticator, or with recovery codes alone.
fn hold_for_code(db: &mut Db, key: Key, now: DateTime<Utc>) -> Result<FactorRow, Fault> {
    let known = hold(db, key)?;
    if known.as_ref().is_none_or(|row| row.on_at.is_none()) && codes_left(db, key)? == 0 {
        return Err(none());
    }
    if let Some(known) = known {
        // A key that was never confirmed opens nothing.
        let secret = if known.on_at.is_some() { known.secret } else { Vec::new() };
        return Ok(FactorRow { secret, ..known });
    }
    let row = FactorRow {
        agency: key.0,
        member: key.1,
        secret: Vec::new(),
        on_at: None,
        last_step: 0,
        failures: 0,
        free_at: Moment(now),
    };
    on!(&mut *db, conn => diesel::insert_into(second_factor::table).values(&row).on_conflict_do_nothing().execute(conn))?;
    hold(db, key)?.ok_or_else(none)
}

/// What a code is right by; none where it is wrong. A step is used by it, a recovery code spent.
fn use_code(db: &mut Db, row: &FactorRow, code: &str, now: DateTime<Utc>) -> Result<Option<RightCode>, Fault> {
    let (key, code) = ((row.agency, row.member), code.trim());
    if code.len() > MOST_CODE {
        return Ok(None);
    }
    let digits: String = code.chars().filter(|sign| !sign.is_whitespace()).collect();
    let key_of = Some(&row.secret).filter(|secret| !secret.is_empty());
    if let Some(step) = key_of.and_then(|secret| totp::step_of(secret, &digits, now, row.last_step)) {
        on!(db, conn => diesel::update(second_factor::table.find(key)).set(second_factor::last_step.eq(step)).execute(conn))?;
        return Ok(Some(RightCode::Authenticator));
    }
    if row.waits() || plain(code).len() != RECOVERY_SIGNS {
        return Ok(None);
    }
    let spent = on!(db, conn => diesel::delete(recovery_code::table.find((key.0, key.1, hash(code)))).execute(conn))?;
    Ok((spent == 1).then_some(RightCode::Recovery))
}

/// Tries a code, counting it beside the key. The outer failure undoes the transaction; the inner one is kept.
fn try_code(db: &mut Db, row: &FactorRow, code: &str, now: DateTime<Utc>) -> Result<Result<RightCode, Fault>, Fault> {
    let key = (row.agency, row.member);
    let left = (row.free_at.0 - now).num_milliseconds();
    if left > 0 {
        let words = "Too many codes were tried; wait as long as Retry-After says before the next";
        let seconds = left.unsigned_abs() / 1000 + 1;
        return Ok(Err(Fault::new(error::SLOW_DOWN, words).again_in(seconds)));
    }
    let right = use_code(db, row, code, now)?;
    let failures = if right.is_some() { 0 } else { row.failures.saturating_add(1) };
    let wait = ONE_ACCOUNT.after(u32::try_from(failures).unwrap_or(u32::MAX));
    on!(db, conn => diesel::update(second_factor::table.find(key))
        .set((second_factor::failures.eq(failures), second_factor::free_at.eq(Moment(now + TimeDelta::seconds(wait)))))
        .execute(conn))?;
    let words = "This code is wrong, or was used already; take the one that the authenticator shows now, or a recovery code";
    Ok(right.ok_or_else(|| Fault::new(error::SECOND_FACTOR_WRONG, words).at("body.code")))
}

fn none() -> Fault {
    Fault::rule("There is no second factor to confirm; set one up first")
}

impl Sessions {
    /// Makes the key of a new second factor, which counts once it is confirmed. Tries at a key before it go on being counted.
    pub fn start_factor(&self, agency: AgencyId, member: MemberId) -> Result<[u8; totp::KEY_BYTES], Fault> {
        let (key, secret, now) = (key(agency, member), rand::random::<[u8; totp::KEY_BYTES]>(), self.clock.now());
        self.db()?.transaction(Access::Write, |db| {
            let known = hold(db, key)?;
            if known.as_ref().is_some_and(|row| row.on_at.is_some()) {
                return Err(Fault::rule("Your second factor is on already; turn it off first, to set up another"));
            }
            let row = FactorRow {
                agency: key.0,
                member: key.1,
                secret: secret.to_vec(),
                on_at: None,
                last_step: 0,
                failures: known.as_ref().map_or(0, |row| row.failures),
                free_at: known.map_or(Moment(now), |row| row.free_at),
            };
            on!(&mut *db, conn => diesel::delete(second_factor::table.find(key)).execute(conn))?;
            on!(db, conn => diesel::insert_into(second_factor::table).values(&row).execute(conn))?;
            Ok(())
        })?;
        Ok(secret)
    }

    /// Turns a second factor on by its first code; answers the recovery codes, which nobody can read again.
    pub fn confirm_factor(&self, agency: AgencyId, member: MemberId, code: &str) -> Result<Vec<String>, Fault> {
        let (key, now) = (key(agency, member), self.clock.now());
        self.db()?.transaction(Access::Write, |db| {
            let row = hold(db, key)?.filter(FactorRow::waits).ok_or_else(none)?;
            if let Err(fault) = try_code(db, &row, code, now)? {
                return Ok(Err(fault));
            }
            on!(&mut *db, conn => diesel::update(second_factor::table.find(key)).set(second_factor::on_at.eq(Moment(now))).execute(conn))?;
            put_codes(db, key).map(Ok)
        })?
    }

    /// Holds a code to a member's second factor. What is right by it is used.
    pub fn check_code(&self, agency: AgencyId, member: MemberId, code: &str) -> Result<RightCode, Fault> {
        let (key, now) = (key(agency, member), self.clock.now());
        self.db()?.transaction(Access::Write, |db| {
            let row = hold_for_code(db, key, now)?;
            try_code(db, &row, code, now)
        })?
    }

    /// Turns a second factor off, whose code was right.
    pub fn drop_factor(&self, agency: AgencyId, member: MemberId, from: AskedFrom) -> Result<(), Fault> {
        let now = self.clock.now();
        self.db()?.transaction(Access::Write, |db| {
            if passkeys_of(db, agency, member)?.is_empty() {
                forget_codes(db, key(agency, member))?;
            }
            // Recovery codes stay for who has passkeys.
            on!(&mut *db, conn => diesel::delete(second_factor::table.find(key(agency, member))).execute(conn))?;
            note(db, NewEvent::own(agency, member, AccessEventKind::SecondFactorOff, from), now)
        })
    }

    /// New recovery codes in the place of those before, for a member whose code was right.
    pub fn renew_codes(&self, agency: AgencyId, member: MemberId) -> Result<Vec<String>, Fault> {
        self.db()?.transaction(Access::Write, |db| put_codes(db, key(agency, member)))
    }
}
