//! What a member signs in with: an email and the hash of a password.

use diesel::prelude::*;
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use super::{Email, Sessions};
use crate::{
    on,
    platform::{
        db::{Access, Db, schema::credential, types::Uid},
        error::{self, Fault},
        ids::{AgencyId, MemberId},
    },
};

#[derive(Debug, Clone, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = credential)]
struct CredentialRow {
    agency: Uid,
    member: Uid,
    email: String,
    password_hash: String,
}

/// Whose email it is, and what the password is held against.
#[derive(Debug, Clone)]
pub struct Credential {
    /// Id of the agency.
    pub agency: AgencyId,
    /// The member.
    pub member: MemberId,
    /// Hash of the password.
    pub hash: String,
}

impl Credential {
    /// What tells this password from every other that the member had or will have.
    pub fn stamp(&self) -> PasswordStamp {
        PasswordStamp::of(&self.hash)
    }

    /// Whether the hash is one that a password can be held against.
    pub fn is_well_formed(&self) -> bool {
        super::password::is_hash(&self.hash)
    }
}

/// What tells one password of a member from the next without telling anything of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PasswordStamp(String);

impl PasswordStamp {
    fn of(hash: &str) -> Self {
        let id = Sha256::digest(hash.as_bytes());
        Self(Uuid::from_slice(id.get(..16).unwrap_or_default()).unwrap_or_default().simple().to_string())
    }
}

impl From<CredentialRow> for Credential {
    fn from(row: CredentialRow) -> Self {
        Self {
            agency: AgencyId(row.agency.0),
            member: MemberId(row.member.0),
            hash: row.password_hash,
        }
    }
}

fn holder(db: &mut Db, email: &Email) -> Result<Option<CredentialRow>, Fault> {
    Ok(on!(db, conn => credential::table
        .filter(credential::email.eq(email.as_str()))
        .select(CredentialRow::as_select())
        .first(conn)
        .optional())?)
}

/// The credential that an email is of.
pub fn credential_of(db: &mut Db, email: &Email) -> Result<Option<Credential>, Fault> {
    Ok(holder(db, email)?.map(Credential::from))
}

/// The credential of a member; one who was invited and has not come yet has none.
pub fn credential_for(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<Option<Credential>, Fault> {
    let key = (Uid::from(agency), Uid::from(member));
    let found: Option<CredentialRow> = on!(db, conn => credential::table.find(key).select(CredentialRow::as_select()).first(conn).optional())?;
    Ok(found.map(Credential::from))
}

/// Whether a member's password is still the one that was right. Nobody changes it before this transaction ends.
pub(super) fn still_has(db: &mut Db, (agency, member): (AgencyId, MemberId), right: &PasswordStamp) -> Result<bool, Fault> {
    let query = credential::table.find((Uid::from(agency), Uid::from(member))).select(credential::password_hash);
    let present: Option<String> = match db {
        Db::Sqlite(conn) => query.first(conn).optional()?,
        Db::Postgres(conn) => query.for_share().first(conn).optional()?,
    };
    Ok(present.is_some_and(|hash| PasswordStamp::of(&hash) == *right))
}

/// Puts another hash of the same password in the place of one; answers whether that was still the one.
fn renew_hash(db: &mut Db, known: &Credential, made: &str) -> Result<bool, Fault> {
    let present = credential::table
        .find((Uid::from(known.agency), Uid::from(known.member)))
        .filter(credential::password_hash.eq(&known.hash));
    let renewed = on!(db, conn => diesel::update(present).set(credential::password_hash.eq(made)).execute(conn))?;
    Ok(renewed == 1)
}

/// Whether anybody can sign in to an agency of this database.
pub fn any_credential(db: &mut Db) -> Result<bool, Fault> {
    let first: Option<Uid> = on!(db, conn => credential::table.select(credential::member).first(conn).optional())?;
    Ok(first.is_some())
}

/// Gives a member an email and, where a hash is given, a password to sign in with.
pub fn put_credential(db: &mut Db, agency: AgencyId, member: MemberId, email: &Email, hash: Option<&str>) -> Result<(), Fault> {
    if holder(db, email)?.is_some_and(|holder| holder.member.0 != member.0) {
        return Err(Fault::new(error::ALREADY_THERE, "This email signs another member in; use one of the member's own").at("body.email"));
    }
    let (key, email) = ((Uid::from(agency), Uid::from(member)), email.as_str());
    let changed = match hash {
        Some(hash) => on!(&mut *db, conn => diesel::update(credential::table.find(key))
            .set((credential::email.eq(email), credential::password_hash.eq(hash)))
            .execute(conn))?,
        None => on!(&mut *db, conn => diesel::update(credential::table.find(key)).set(credential::email.eq(email)).execute(conn))?,
    };
    if let (0, Some(hash)) = (changed, hash) {
        let row = CredentialRow {
            agency: key.0,
            member: key.1,
            email: email.to_owned(),
            password_hash: hash.to_owned(),
        };
        on!(db, conn => diesel::insert_into(credential::table).values(&row).execute(conn))?;
    }
    Ok(())
}

impl Sessions {
    /// Hashes a password anew that was right, where its hash was made in another way than new ones are. For a thread that may block, under a
    /// [permit](super::Hashing).
    pub fn renewed(&self, password: &str, known: Credential) -> Result<Credential, Fault> {
        if !super::is_outdated(&known.hash) {
            return Ok(known);
        }
        let made = super::hash(password)?;
        let renewed = self.db()?.transaction(Access::Write, |db| renew_hash(db, &known, &made))?;
        Ok(if renewed { Credential { hash: made, ..known } } else { known })
    }
}
