//! Codes by which a device is enrolled: eight signs that a person reads from one screen and types on another. A code serves
//! once, for ten minutes, as long as the sign-in that made it lasts, and is kept as a hash only.

use chrono::{DateTime, TimeDelta, Utc};
use diesel::prelude::*;
use uuid::Uuid;

use super::{Actor, Sessions, session::digest};
use crate::{
    on,
    platform::{
        db::{
            Access, Db,
            schema::enrolment,
            types::{Moment, Uid},
        },
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

/// Signs that are not taken for one another: no 0 and O, no 1, I and L.
const SIGNS: &[u8; 31] = b"23456789ABCDEFGHJKMNPQRSTUVWXYZ";
const LENGTH: usize = 8;
const LIFE: TimeDelta = TimeDelta::minutes(10);
/// How many codes of one member may be open at once.
const MOST_OPEN: i64 = 5;

#[derive(Debug, Clone, Queryable, Selectable, Insertable)]
#[diesel(table_name = enrolment)]
struct Row {
    agency: Uid,
    id: Uid,
    code_hash: Vec<u8>,
    member: Uid,
    sign_in: Uid,
    station: Option<Uid>,
    expires_at: Moment,
    used_at: Option<Moment>,
}

/// What a code stands for.
#[derive(Debug, Clone)]
pub struct Enrolment {
    /// Id of the enrolment.
    pub id: Uuid,
    /// Id of the agency.
    pub agency: AgencyId,
    /// Who made the code.
    pub member: MemberId,
    /// The station of a tablet; none for the member's own phone.
    pub station: Option<Uuid>,
}

/// A code that somebody reads from one screen and types on another.
#[derive(Debug)]
pub struct OneTimeCode(String);

impl OneTimeCode {
    /// A new one.
    #[allow(clippy::new_without_default)]
    pub fn new() -> Self {
        Self(signs(LENGTH))
    }

    /// As people read it.
    pub fn shown(&self) -> &str {
        &self.0
    }

    /// Whether this was typed, whatever the capitals and hyphens. Hashes are compared, so that the time it takes tells nothing.
    pub fn matches(&self, typed: &str) -> bool {
        digest(&plain(typed)) == digest(&plain(&self.0))
    }
}

/// Random signs as people read them: in groups of four.
pub(super) fn signs(count: usize) -> String {
    let all: Vec<char> = std::iter::repeat_with(|| rand::random::<u8>() & 31)
        .filter_map(|roll| SIGNS.get(usize::from(roll)))
        .map(|sign| char::from(*sign))
        .take(count)
        .collect();
    all.chunks(4).map(|group| group.iter().collect::<String>()).collect::<Vec<_>>().join("-")
}

/// A code as it is hashed, however it was typed.
pub(super) fn plain(code: &str) -> String {
    code.chars().filter(char::is_ascii_alphanumeric).map(|sign| sign.to_ascii_uppercase()).collect()
}

fn unknown() -> Fault {
    Fault::new(
        error::CODE_UNKNOWN,
        "This code is wrong, used or older than ten minutes; check it, or have a new one made",
    )
    .at("body.code")
}

impl Sessions {
    /// Makes a code; answers it and when it runs out.
    pub fn invite(&self, actor: &Actor, station: Option<Uuid>) -> Result<(String, DateTime<Utc>), Fault> {
        let (Some(member), Some(sign_in)) = (actor.member, actor.sign_in) else {
            return Err(Fault::new(error::NOT_ALLOWED, "Only a member who is signed in makes codes"));
        };
        let (now, code) = (self.clock.now(), signs(LENGTH));
        let row = Row {
            agency: actor.agency.into(),
            id: Uid(Uuid::now_v7()),
            code_hash: digest(&plain(&code)),
            member: member.into(),
            sign_in: Uid(sign_in),
            station: station.map(Uid),
            expires_at: Moment(now + LIFE),
            used_at: None,
        };
        self.db()?.transaction(Access::Write, |db| {
            on!(&mut *db, conn => diesel::delete(enrolment::table.filter(enrolment::expires_at.lt(Moment(now - TimeDelta::days(1))))).execute(conn))?;
            let open: i64 = on!(&mut *db, conn => enrolment::table
                .filter(enrolment::agency.eq(row.agency).and(enrolment::member.eq(row.member)))
                .filter(enrolment::used_at.is_null().and(enrolment::expires_at.gt(Moment(now))))
                .count()
                .get_result(conn))?;
            if open >= MOST_OPEN {
                return Err(Fault::rule(
                    "Five of your codes are open already; use one of them, or wait until it has run out",
                ));
            }
            on!(db, conn => diesel::insert_into(enrolment::table).values(&row).execute(conn))?;
            Ok(())
        })?;
        Ok((code, row.expires_at.0))
    }

    /// What an open code stands for.
    pub fn invited(&self, code: &str) -> Result<Enrolment, Fault> {
        let (now, hash) = (self.clock.now(), digest(&plain(code)));
        let mut db = self.db()?;
        let found: Option<Row> = on!(&mut *db, conn => enrolment::table
            .filter(enrolment::code_hash.eq(hash))
            .select(Row::as_select())
            .first(conn)
            .optional())?;
        let row = found.filter(|row| row.open(now)).ok_or_else(unknown)?;
        self.ended.allows(Some(row.sign_in.0)).map_err(|_| unknown())?;
        Ok(row.into())
    }
}

impl Row {
    fn open(&self, now: DateTime<Utc>) -> bool {
        self.used_at.is_none() && self.expires_at.0 > now
    }
}

impl From<Row> for Enrolment {
    fn from(row: Row) -> Self {
        Self {
            id: row.id.0,
            agency: AgencyId(row.agency.0),
            member: MemberId(row.member.0),
            station: row.station.map(|station| station.0),
        }
    }
}

/// Uses a code up, inside the transaction that enrols the device.
pub fn use_enrolment(db: &mut Db, agency: AgencyId, id: Uuid, now: DateTime<Utc>) -> Result<Enrolment, Fault> {
    let key = (Uid::from(agency), Uid(id));
    let found: Option<Row> = on!(&mut *db, conn => enrolment::table.find(key).select(Row::as_select()).first(conn).optional())?;
    let row = found.filter(|row| row.open(now)).ok_or_else(unknown)?;
    on!(db, conn => diesel::update(enrolment::table.find(key)).set(enrolment::used_at.eq(Moment(now))).execute(conn))?;
    Ok(row.into())
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn a_code_is_two_groups_of_four_signs_that_nobody_mistakes() {
        let mut used = BTreeSet::new();
        for _ in 0..1000 {
            let code = signs(LENGTH);
            let (one, two) = code.split_once('-').unwrap();
            assert_eq!((one.len(), two.len()), (4, 4), "{code}");
            used.extend(format!("{one}{two}").bytes());
        }
        assert_eq!(used.into_iter().collect::<Vec<_>>(), SIGNS, "every sign is drawn, and no other");
    }

    #[test]
    fn a_code_is_the_same_however_it_is_typed() {
        assert_eq!(plain("7kq4 m2xp"), plain("7KQ4-M2XP"));
    }
}
