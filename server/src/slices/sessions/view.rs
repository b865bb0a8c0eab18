//! What a member's sign-in takes beside the password.

use super::entry::{ended, find};
use crate::{
    platform::{
        auth::{self, SecondHalf},
        db::Db,
        error::Fault,
        ids::{AgencyId, MemberId},
    },
    slices::{agencies::Agency, members::Member},
};

/// Whether the agency asks a member for a second factor.
pub fn is_asked(db: &mut Db, agency: AgencyId, member: &Member) -> Result<bool, Fault> {
    let policy = find::<Agency>(db, agency, agency.0)?.policy;
    Ok(policy.second_factor_roles.contains(&member.role))
}

/// What a sign-in lacks beside the password: a code or a passkey where there is a second factor; one to be set up where the agency asks for it.
pub fn missing(db: &mut Db, agency: AgencyId, member: MemberId) -> Result<Option<SecondHalf>, Fault> {
    let found: Member = find(db, agency, member.0)?;
    if !found.active {
        return Err(ended());
    }
    if auth::factor_of(db, agency, member)?.is_some() {
        return Ok(Some(SecondHalf::Code));
    }
    if !auth::passkeys_of(db, agency, member)?.is_empty() {
        return Ok(Some(SecondHalf::Passkey));
    }
    Ok(is_asked(db, agency, &found)?.then_some(SecondHalf::SetUp))
}
