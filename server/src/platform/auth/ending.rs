//! Ways in which sign-ins end: each writes on their refresh tokens that they did.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use uuid::Uuid;

use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::refresh_token,
            types::{Moment, Uid},
        },
        error::Fault,
        ids::{AgencyId, MemberId},
    },
};

/// The most sign-ins of a member that are open: the one that was seen longest ago ends for the next.
const MOST_OPEN: i64 = 100;

/// Ends a sign-in; answers how many tokens were ended.
pub(super) fn end_family(db: &mut Db, family: Uid, now: DateTime<Utc>) -> Result<usize, Fault> {
    Ok(
        on!(db, conn => diesel::update(refresh_token::table.filter(refresh_token::family.eq(family).and(refresh_token::ended_at.is_null())))
        .set(refresh_token::ended_at.eq(Moment(now)))
        .execute(conn))?,
    )
}

/// Ends what a member has open beyond [`MOST_OPEN`], those that were refreshed longest ago first.
pub(super) fn end_oldest(db: &mut Db, agency: AgencyId, member: MemberId, now: DateTime<Utc>) -> Result<(), Fault> {
    let (own, now) = ((Uid::from(agency), Uid::from(member)), Moment(now));
    let open = || {
        refresh_token::table
            .filter(refresh_token::agency.eq(own.0).and(refresh_token::member.eq(own.1)))
            .filter(
                refresh_token::spent_at
                    .is_null()
                    .and(refresh_token::ended_at.is_null())
                    .and(refresh_token::expires_at.gt(now)),
            )
    };
    let over: Vec<Uid> = on!(&mut *db, conn => open()
        .order(refresh_token::issued_at.desc())
        .select(refresh_token::family)
        .offset(MOST_OPEN)
        .limit(MOST_OPEN)
        .load(conn))?;
    for family in over {
        end_family(db, family, now.0)?;
    }
    Ok(())
}

/// Ends every sign-in of a member: the role changed, or the member left. A command gives the connection that it ends sign-ins on
/// (`Write::ending`), so that this process knows of it before it answers.
pub fn end_all(db: &mut Db, agency: AgencyId, member: MemberId, now: DateTime<Utc>) -> Result<(), Fault> {
    end_but(db, agency, member, None, now).map(drop)
}

/// Ends every sign-in of a member but one; answers how many tokens were ended.
pub fn end_but(db: &mut Db, agency: AgencyId, member: MemberId, kept: Option<Uuid>, now: DateTime<Utc>) -> Result<usize, Fault> {
    // No sign-in has the nil id.
    let (agency, member, kept) = (Uid::from(agency), Uid::from(member), Uid(kept.unwrap_or_default()));
    Ok(on!(db, conn => diesel::update(refresh_token::table
        .filter(refresh_token::agency.eq(agency).and(refresh_token::member.eq(member)).and(refresh_token::ended_at.is_null()))
        .filter(refresh_token::family.ne(kept)))
        .set(refresh_token::ended_at.eq(Moment(now)))
        .execute(conn))?)
}

/// Ends one sign-in of a member; answers how many tokens were ended.
pub fn end_one(db: &mut Db, agency: AgencyId, member: MemberId, id: Uuid, now: DateTime<Utc>) -> Result<usize, Fault> {
    let (agency, member) = (Uid::from(agency), Uid::from(member));
    Ok(on!(db, conn => diesel::update(refresh_token::table
        .filter(refresh_token::agency.eq(agency).and(refresh_token::member.eq(member)).and(refresh_token::ended_at.is_null()))
        .filter(refresh_token::family.eq(Uid(id))))
        .set(refresh_token::ended_at.eq(Moment(now)))
        .execute(conn))?)
}

/// Ends every sign-in there is: the database was put back, and nobody knows which were ended since. Answers how many tokens that were.
pub fn end_every(db: &mut Db, now: DateTime<Utc>) -> Result<usize, Fault> {
    let open = refresh_token::table.filter(refresh_token::ended_at.is_null());
    Ok(on!(db, conn => diesel::update(open).set(refresh_token::ended_at.eq(Moment(now))).execute(conn))?)
}

/// Ends every sign-in that a device has: it is being enrolled anew.
pub fn end_device(db: &mut Db, agency: AgencyId, device: Uuid, now: DateTime<Utc>) -> Result<(), Fault> {
    on!(db, conn => diesel::update(refresh_token::table
        .filter(refresh_token::agency.eq(Uid::from(agency)).and(refresh_token::device.eq(Uid(device))).and(refresh_token::ended_at.is_null())))
        .set(refresh_token::ended_at.eq(Moment(now)))
        .execute(conn))?;
    Ok(())
}

/// Ends every sign-in that a device ever had, and says that it was revoked, so that it forgets what it keeps whenever it asks again.
pub fn revoke(db: &mut Db, agency: AgencyId, device: Uuid, now: DateTime<Utc>) -> Result<(), Fault> {
    on!(db, conn => diesel::update(refresh_token::table.filter(refresh_token::agency.eq(Uid::from(agency)).and(refresh_token::device.eq(Uid(device)))))
        .set((refresh_token::ended_at.eq(Moment(now)), refresh_token::revoked.eq(true)))
        .execute(conn))?;
    Ok(())
}
