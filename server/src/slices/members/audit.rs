//! What members may do and sign in with, held against what a member can be and against what the journal's commands make of each.

use std::collections::BTreeSet;

use uuid::Uuid;

use super::{Member, MembersTold};
use crate::{
    platform::{
        audit::{self, Compared, Finding, KeptState, PUT_BACK, about},
        auth, bodies,
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

/// Holds every state that is kept of every member against what the journal's commands had made of it by then.
pub fn as_told(db: &mut Db, agency: AgencyId, told: &MembersTold) -> Result<Compared, Fault> {
    let mut compared = Compared {
        forgotten: audit::forgotten(db, agency, Member::KIND)?,
        ..Compared::default()
    };
    let (mut there, mut unread) = (BTreeSet::new(), BTreeSet::new());
    let mut findings = Vec::new();
    audit::states(db, agency, Member::KIND, |state| {
        if told.is_unread(state.id) {
            unread.insert(state.id);
            return;
        }
        there.insert(state.id);
        compared.states += 1;
        if let Some(what) = fault(told, &state) {
            let what = format!("at revision {} {what}", state.rev);
            findings.push(about(agency, Member::KIND, state.id, what, PUT_BACK));
        }
    })?;
    let gone = told.ids().filter(|id| !told.is_unread(*id) && !there.contains(id));
    findings.extend(gone.map(|id| about(agency, Member::KIND, id, "a command of the journal made it, and it is not there", PUT_BACK)));
    compared.records = u64::try_from(there.len()).unwrap_or_default();
    compared.unread = u64::try_from(unread.len()).unwrap_or_default();
    compared.findings = findings;
    Ok(compared)
}

/// What is wrong with a state of a member by the journal, if anything.
fn fault(told: &MembersTold, state: &KeptState) -> Option<String> {
    let Some(told) = told.at(state.id, state.rev) else {
        return Some("it is there, and no command of the journal had made it".to_owned());
    };
    if state.gone {
        return Some("it is taken away, and no command takes a member away".to_owned());
    }
    let Ok(member) = bodies::read::<Member>(&state.body) else {
        return Some("its body cannot be read".to_owned());
    };
    let mut differs = told.differs(&member);
    if member.station != state.station || (member.station.is_none() && member.district != state.district) {
        differs.push("where it is found");
    }
    (!differs.is_empty()).then(|| format!("it is not what the journal's commands make of it: {}", differs.join(", ")))
}
