//! What members may do and sign in with, held against what a member can be.

use uuid::Uuid;

use super::Member;
use crate::{
    platform::{
        audit::{Finding, PUT_BACK, about},
        auth,
        db::Db,
        error::Fault,
        ids::AgencyId,
        record::{self, Record},
    },
    slices::{districts::District, stations::Station},
};

/// Looks at every member of an agency; answers how many those were, and what was found.
pub fn rights(db: &mut Db, agency: AgencyId) -> Result<(u64, Vec<Finding>), Fault> {
    let members: Vec<Member> = record::read_all(db, agency)?;
    let mut findings = Vec::new();
    let mut wrong = |id: Uuid, what: &str, mend| findings.push(about(agency, Member::KIND, id, what, mend));
    for member in &members {
        let id = member.id.0;
        if member.district.is_some() && member.station.is_some() {
            wrong(id, "it is bound to a district and to a station", "give it one of the two");
        }
        for (place, kind) in [(member.district, District::KIND), (member.station, Station::KIND)] {
            let Some(place) = place else { continue };
            if record::find(db, agency, kind, place)?.is_none_or(|row| row.gone) {
                wrong(id, &format!("it is bound to a {kind} that is not there"), "edit the member's reach");
            }
        }
        match auth::credential_of(db, &member.email)? {
            None if auth::credential_for(db, agency, member.id)?.is_some() => wrong(id, "its password is kept for another email", PUT_BACK),
            // Who was invited and has not come yet has none.
            None => {}
            Some(kept) if (kept.agency, kept.member) != (agency, member.id) => {
                wrong(id, "somebody else signs in with its email", PUT_BACK);
            }
            Some(kept) if !kept.is_well_formed() => wrong(id, "what its password is held against is no hash of Argon2id", "set the member a password"),
            Some(_) => {}
        }
        if auth::has_pin(db, agency, member.id)? != member.has_pin {
            wrong(id, "its record and its PIN do not agree on whether there is one", "have the member set a PIN");
        }
    }
    if !members.iter().any(Member::keeps_agency) {
        wrong(
            agency.0,
            "no active admin of the whole agency is left",
            "add one with fullset member add --role admin",
        );
    }
    Ok((u64::try_from(members.len()).unwrap_or_default(), findings))
}
