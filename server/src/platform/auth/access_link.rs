//! Links by which a member sets a password: an invitation of somebody who has none yet, for seven days at most, or a reset, for a
//! day. A link serves once, is replaced by the next, and is void as soon as its member is let go or whoever made it could not make it any more.

use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;

use super::SecretHash;
use crate::{
    on,
    platform::{
        db::{
            Db,
            schema::access_link,
            types::{Moment, Uid},
        },
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

/// How long an invitation serves, and the longest that may be asked for.
pub const INVITE_DAYS: i64 = 7;
/// How long a reset serves.
pub const RESET_HOURS: i64 = 24;

#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = access_link)]
struct LinkRow {
    agency: Uid,
    member: Uid,
    found_by: Vec<u8>,
    hash: Vec<u8>,
    maker: Uid,
    invites: bool,
    expires_at: Moment,
}

/// An open link.
#[derive(Debug, Clone)]
pub struct AccessLink {
    /// The agency.
    pub agency: AgencyId,
    /// Whose password it sets.
    pub member: MemberId,
    /// Who made it.
    pub maker: MemberId,
    /// Whether it invites somebody who has no password yet.
    pub invites: bool,
    /// When it runs out.
    pub expires_at: DateTime<Utc>,
}

impl From<LinkRow> for AccessLink {
    fn from(row: LinkRow) -> Self {
        Self {
            agency: AgencyId(row.agency.0),
            member: MemberId(row.member.0),
            maker: MemberId(row.maker.0),
            invites: row.invites,
            expires_at: row.expires_at.0,
        }
    }
}

/// Why a link does not serve: the same words whatever the reason.
pub fn link_spent() -> Fault {
    Fault::new(
        error::LINK_SPENT,
        "This link was used, has run out, or was replaced by a newer one; ask whoever sent it for another",
    )
}

/// When a link that is made now runs out.
pub fn link_ends(invites: bool, days: Option<u32>, now: DateTime<Utc>) -> DateTime<Utc> {
    let life = match (invites, days) {
        (true, days) => TimeDelta::days(days.map_or(INVITE_DAYS, i64::from)),
        (false, _) => TimeDelta::hours(RESET_HOURS),
    };
    now + life
}

/// Keeps a link in the place of the one before.
pub fn put_link(db: &mut Db, link: &AccessLink, hash: &SecretHash) -> Result<(), Fault> {
    void_link(db, link.agency, link.member)?;
    let taken: i64 = on!(&mut *db, conn => access_link::table.filter(access_link::found_by.eq(hash.found_by())).count().get_result(conn))?;
    if taken > 0 {
        return Err(Fault::new(error::ALREADY_THERE, "Another link has this secret; make another").at("body.secret_sha256"));
    }
    let row = LinkRow {
        agency: link.agency.into(),
        member: link.member.into(),
        found_by: hash.found_by().to_vec(),
        hash: hash.bytes().to_vec(),
        maker: link.maker.into(),
        invites: link.invites,
        expires_at: Moment(link.expires_at),
    };
    on!(db, conn => diesel::insert_into(access_link::table).values(&row).execute(conn))?;
    Ok(())
}

/// Makes a member's link void, if there is one.
pub fn void_link(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<(), Fault> {
    let key = (Uid::from(agency), Uid::from(member));
    on!(db, conn => diesel::delete(access_link::table.find(key)).execute(conn))?;
    Ok(())
}

/// Takes all links of all agencies back.
pub fn void_links(db: &mut Db) -> Result<(), Fault> {
    on!(db, conn => diesel::delete(access_link::table).execute(conn))?;
    Ok(())
}

/// The open link that a secret is of, of whichever agency.
pub fn find_link(db: &mut Db, hash: &SecretHash, now: DateTime<Utc>) -> Result<Option<AccessLink>, Fault> {
    let found: Option<LinkRow> = on!(db, conn => access_link::table
        .filter(access_link::found_by.eq(hash.found_by()))
        .select(LinkRow::as_select())
        .first(conn)
        .optional())?;
    Ok(found.filter(|row| hash.is(&row.hash) && row.expires_at.0 > now).map(AccessLink::from))
}

/// A member's open link.
pub fn link_of(db: &mut Db, agency: AgencyId, member: MemberId, now: DateTime<Utc>) -> Result<Option<AccessLink>, Fault> {
    let key = (Uid::from(agency), Uid::from(member));
    let found: Option<LinkRow> = on!(db, conn => access_link::table.find(key).select(LinkRow::as_select()).first(conn).optional())?;
    Ok(found.filter(|row| row.expires_at.0 > now).map(AccessLink::from))
}
