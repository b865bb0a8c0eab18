//! Forgetting refresh tokens that nothing needs any more. While its sign-in lives, a spent token is needed until it has run out: whoever
//! comes with it gets its successor again, or ends the sign-in as a thief. After that, what is left is to tell whoever comes that the
//! sign-in is over, which needs no row, unless it is a device: one that was revoked forgets what it keeps, however late it asks.

use chrono::{DateTime, TimeDelta, Utc};
use diesel::{
    dsl::{exists, not},
    prelude::*,
};

use crate::{
    on,
    platform::{
        db::{Access, Db, schema::refresh_token, types::Moment},
        error::Fault,
    },
};

/// How long a token is kept after it has run out, for the clocks of several machines.
const MARGIN: TimeDelta = TimeDelta::days(1);
/// Tokens of one transaction, so that writers wait for a short while only.
const STEP: usize = 1_000;

/// Forgets the tokens that nothing needs; answers how many those were.
pub fn forget_spent(db: &mut Db, now: DateTime<Utc>) -> Result<usize, Fault> {
    let mut forgotten = 0;
    loop {
        let hashes = needless(db, now - MARGIN)?;
        db.transaction(
            Access::Write,
            |db| on!(db, conn => diesel::delete(refresh_token::table.filter(refresh_token::token_hash.eq_any(&hashes))).execute(conn)),
        )?;
        forgotten += hashes.len();
        if hashes.len() < STEP {
            return Ok(forgotten);
        }
    }
}

/// Some tokens that had run out by an instant and that nothing needs.
fn needless(db: &mut Db, by: DateTime<Utc>) -> Result<Vec<Vec<u8>>, Fault> {
    let other = diesel::alias!(refresh_token as other);
    let step = i64::try_from(STEP).unwrap_or(i64::MAX);
    // An end counts for the whole sign-in: it stays for as long as one of its tokens could be used.
    let living = other.filter(
        other
            .field(refresh_token::family)
            .eq(refresh_token::family)
            .and(other.field(refresh_token::expires_at).ge(Moment(by))),
    );
    // The two tokens that a device may hold: the last one, and the one before it where the answer was lost.
    let last = other.filter(
        other
            .field(refresh_token::family)
            .eq(refresh_token::family)
            .and(other.field(refresh_token::spent_at).is_null())
            .and(other.field(refresh_token::issued_at).nullable().eq(refresh_token::spent_at)),
    );
    Ok(on!(db, conn => refresh_token::table
        .filter(refresh_token::expires_at.lt(Moment(by)))
        .filter(refresh_token::ended_at.is_null().or(not(exists(living))))
        .filter(refresh_token::device.is_null().or(refresh_token::spent_at.is_not_null().and(not(exists(last)))))
        .select(refresh_token::token_hash)
        .limit(step)
        .load(conn))?)
}
