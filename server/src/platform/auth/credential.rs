//! What a member signs in with: an email and the hash of a password.

use diesel::prelude::*;

use super::Email;
use crate::{
    on,
    platform::{
        db::{Db, schema::credential, types::Uid},
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
    /// Whether the hash is one that a password can be held against.
    pub fn is_well_formed(&self) -> bool {
        super::password::is_hash(&self.hash)
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
