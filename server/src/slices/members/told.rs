//! What the journal says of members: the commands that make a member what it may do, taken one after the other. The journal's entries
//! are chained by their hashes, so one that is rewritten breaks the chain or differs from an anchor; a record does neither.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use chrono::NaiveDate;
use fullset_calc::ratings::Kind;
use fullset_care::crew::Handled;
use serde::Deserialize;
use uuid::Uuid;

use super::{
    AddMember, Member, SignOff,
    acts::{CertifyMember, PractiseMember, SignOffMember},
    ops::{EditMember, SetPin},
};
use crate::platform::{
    auth::{Email, Role},
    db::Db,
    door::{self, Act, Journaled},
    error::Fault,
    ids::AgencyId,
    patch,
};

/// What invites a member, of the slice that comes after this one.
const INVITED: &str = "member.invite";

/// The commands that say of a member what is compared here.
pub const TOLD_BY: [&str; 7] = [
    AddMember::KIND,
    INVITED,
    EditMember::KIND,
    SetPin::KIND,
    SignOffMember::KIND,
    PractiseMember::KIND,
    CertifyMember::KIND,
];

/// A sign-off by the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Signed {
    until: NaiveDate,
    by: Option<Uuid>,
    practised_on: Option<NaiveDate>,
}

impl Signed {
    fn of(one: &SignOff) -> Self {
        Self {
            until: one.until,
            by: one.by.id.map(|id| id.0),
            practised_on: one.practised_on,
        }
    }
}

/// What a member is by the journal. Whose password it has stands in no journal.
#[derive(Debug, Clone)]
pub struct MemberTold {
    name: String,
    email: Email,
    role: Role,
    district: Option<Uuid>,
    station: Option<Uuid>,
    active: bool,
    has_pin: bool,
    sign_offs: BTreeMap<Handled, Signed>,
    certificate: Option<(String, NaiveDate)>,
}

/// Of bodies, what counts here. What else they hold is let by, so that what an earlier version wrote is read.
#[derive(Deserialize)]
struct Of {
    id: Uuid,
}

#[derive(Deserialize)]
struct Added {
    name: String,
    email: Email,
    role: Role,
    district: Option<Uuid>,
    station: Option<Uuid>,
}

#[derive(Deserialize)]
struct Edited {
    name: Option<String>,
    role: Option<Role>,
    #[serde(default, deserialize_with = "patch::field")]
    district: Option<Option<Uuid>>,
    #[serde(default, deserialize_with = "patch::field")]
    station: Option<Option<Uuid>>,
    active: Option<bool>,
}

#[derive(Deserialize)]
struct OnGear {
    kinds: Vec<Kind>,
    family: Option<String>,
    until: Option<NaiveDate>,
    on: Option<NaiveDate>,
}

impl OnGear {
    fn handled(&self) -> impl Iterator<Item = Handled> + '_ {
        self.kinds.iter().map(|kind| Handled::new(*kind, self.family.as_deref().map(str::trim)))
    }
}

#[derive(Deserialize)]
struct Certified {
    paper: String,
    until: NaiveDate,
}

impl MemberTold {
    /// What a command makes of a member; none where it changes one that no command has made.
    fn after(last: Option<&Self>, entry: &Journaled) -> serde_json::Result<Option<Self>> {
        let body = entry.body.as_str();
        if [AddMember::KIND, INVITED].contains(&entry.kind.as_str()) {
            let added: Added = serde_json::from_str(body)?;
            return Ok(Some(Self {
                name: added.name.trim().to_owned(),
                email: added.email,
                role: added.role,
                district: added.district,
                station: added.station,
                active: true,
                has_pin: false,
                sign_offs: BTreeMap::new(),
                certificate: None,
            }));
        }
        let Some(mut told) = last.cloned() else { return Ok(None) };
        match entry.kind.as_str() {
            EditMember::KIND => told.edit(serde_json::from_str(body)?),
            SetPin::KIND => told.has_pin = true,
            SignOffMember::KIND => told.sign_off(&serde_json::from_str(body)?, entry.actor),
            PractiseMember::KIND => told.practise(&serde_json::from_str(body)?),
            CertifyMember::KIND => {
                let Certified { paper, until } = serde_json::from_str(body)?;
                told.certificate = Some((paper.trim().to_owned(), until));
            }
            _ => {}
        }
        Ok(Some(told))
    }

    fn edit(&mut self, edited: Edited) {
        if let Some(name) = edited.name {
            name.trim().clone_into(&mut self.name);
        }
        self.role = edited.role.unwrap_or(self.role);
        self.district = edited.district.unwrap_or(self.district);
        self.station = edited.station.unwrap_or(self.station);
        self.active = edited.active.unwrap_or(self.active);
    }

    fn sign_off(&mut self, gear: &OnGear, by: Option<Uuid>) {
        let Some(until) = gear.until else { return };
        for of in gear.handled() {
            let practised_on = self.sign_offs.get(&of).and_then(|before| before.practised_on);
            self.sign_offs.insert(of, Signed { until, by, practised_on });
        }
    }

    fn practise(&mut self, gear: &OnGear) {
        for of in gear.handled() {
            if let Some(known) = self.sign_offs.get_mut(&of) {
                known.practised_on = known.practised_on.max(gear.on);
            }
        }
    }

    const fn rights(&self) -> (Role, Option<Uuid>, Option<Uuid>, bool) {
        (self.role, self.district, self.station, self.active)
    }

    /// What of a record is not as it is told here.
    pub fn differs(&self, member: &Member) -> Vec<&'static str> {
        let sign_offs: BTreeMap<Handled, Signed> = member.sign_offs.iter().map(|one| (one.handled(), Signed::of(one))).collect();
        let certificate = member.certificate.as_ref().map(|held| (held.paper.clone(), held.until));
        let fields = [
            ("name", self.name == member.name),
            ("email", self.email == member.email),
            ("role", self.role == member.role),
            ("reach", (self.district, self.station) == (member.district, member.station)),
            ("whether it was let go", self.active == member.active),
            ("whether it has a PIN", self.has_pin == member.has_pin),
            // Of one thing there is one sign-off, so none hides behind another.
            ("sign-offs", sign_offs == self.sign_offs && sign_offs.len() == member.sign_offs.len()),
            ("certificate", certificate == self.certificate),
        ];
        fields.iter().filter(|(_, same)| !same).map(|(name, _)| *name).collect()
    }
}

/// What every member of an agency is by the journal, since each of its revisions.
#[derive(Debug, Default)]
pub struct MembersTold {
    of: HashMap<Uuid, Vec<(i64, MemberTold)>>,
    /// Those of whom an entry cannot be read.
    unread: BTreeSet<Uuid>,
}

impl MembersTold {
    /// Reads the journal of an agency.
    pub fn read(db: &mut Db, agency: AgencyId) -> Result<Self, Fault> {
        let mut all = Self::default();
        door::each_entry(db, agency, &TOLD_BY, |entry| all.take(&entry))?;
        Ok(all)
    }

    fn take(&mut self, entry: &Journaled) {
        // The own PIN names nobody: it is the sender's.
        let own = entry.actor.filter(|_| entry.kind == SetPin::KIND);
        let named = || serde_json::from_str(&entry.body).ok().map(|Of { id }| id);
        let Some(id) = own.or_else(named).or(entry.record) else { return };
        let last = self.of.get(&id).and_then(|told| told.last()).map(|(_, told)| told);
        match MemberTold::after(last, entry) {
            Ok(Some(next)) => self.of.entry(id).or_default().push((entry.rev, next)),
            Ok(None) => {}
            Err(_) => {
                self.unread.insert(id);
            }
        }
    }

    /// Those whom some command has made.
    pub fn ids(&self) -> impl Iterator<Item = Uuid> + '_ {
        self.of.keys().copied()
    }

    /// Whether nothing can be said of a member, because one of its commands cannot be read.
    pub fn is_unread(&self, id: Uuid) -> bool {
        self.unread.contains(&id)
    }

    /// What a member was at a revision.
    pub fn at(&self, id: Uuid, rev: i64) -> Option<&MemberTold> {
        self.of.get(&id)?.iter().rev().find(|(since, _)| *since <= rev).map(|(_, told)| told)
    }

    /// Whether a member was let go or got another role or reach after a revision, if only for a while.
    pub fn changed_after(&self, id: Uuid, rev: i64) -> bool {
        let (Some(was), Some(all)) = (self.at(id, rev), self.of.get(&id)) else {
            return false;
        };
        !self.is_unread(id) && all.iter().any(|(since, told)| *since > rev && told.rights() != was.rights())
    }
}

#[cfg(test)]
mod tests {
    use chrono::DateTime;
    use serde_json::json;

    use super::*;

    fn entry(rev: i64, kind: &str, actor: Option<Uuid>, body: serde_json::Value) -> Journaled {
        Journaled {
            rev,
            kind: kind.to_owned(),
            actor,
            at: DateTime::UNIX_EPOCH,
            body: body.to_string(),
            record: None,
        }
    }

    #[test]
    fn a_member_is_what_its_commands_make_of_it_at_each_revision() {
        let (id, other, station) = (Uuid::from_u128(1), Uuid::from_u128(2), Uuid::from_u128(3));
        let mut all = MembersTold::default();
        all.take(&entry(
            2,
            INVITED,
            Some(other),
            json!({ "id": id, "name": " Ida ", "email": "Ida@harrow.example", "role": "crew", "secret_sha256": "x" }),
        ));
        all.take(&entry(4, EditMember::KIND, Some(other), json!({ "id": id, "station": station })));
        all.take(&entry(
            5,
            EditMember::KIND,
            Some(other),
            json!({ "id": id, "active": false, "password": "not kept" }),
        ));
        all.take(&entry(6, EditMember::KIND, Some(other), json!({ "id": id, "active": true, "station": null })));
        all.take(&entry(7, SetPin::KIND, Some(id), json!({ "pin": "not kept" })));
        let rights = |rev| all.at(id, rev).map(MemberTold::rights);
        assert_eq!(rights(1), None);
        assert_eq!(rights(3), Some((Role::Crew, None, None, true)));
        assert_eq!(rights(4), Some((Role::Crew, None, Some(station), true)));
        assert_eq!(rights(5), Some((Role::Crew, None, Some(station), false)));
        assert_eq!(rights(9), Some((Role::Crew, None, None, true)));
        let now = all.at(id, 9).expect("it is told");
        assert_eq!((now.name.as_str(), now.email.as_str(), now.has_pin), ("Ida", "ida@harrow.example", true));
        assert!(all.changed_after(id, 3) && !all.changed_after(id, 6));
        // Who was changed and never made is told of nowhere; who cannot be read is said to be so.
        all.take(&entry(8, EditMember::KIND, None, json!({ "id": other, "role": "admin" })));
        assert!(all.at(other, 9).is_none() && !all.is_unread(other));
        all.take(&entry(9, EditMember::KIND, None, json!({ "id": id, "role": "marshal" })));
        assert!(all.is_unread(id));
    }

    #[test]
    fn sign_offs_are_those_that_were_given_last() {
        let (id, officer) = (Uuid::from_u128(1), Uuid::from_u128(2));
        let mut all = MembersTold::default();
        let added = json!({ "id": id, "name": "Ida", "email": "ida@harrow.example", "role": "crew" });
        all.take(&entry(1, AddMember::KIND, None, added));
        let given = |rev, until: &str| {
            entry(
                rev,
                SignOffMember::KIND,
                Some(officer),
                json!({ "id": id, "kinds": ["cutter", "spreader"], "until": until }),
            )
        };
        all.take(&given(2, "2027-01-31"));
        all.take(&entry(
            3,
            PractiseMember::KIND,
            Some(officer),
            json!({ "id": id, "kinds": ["cutter"], "on": "2026-11-20" }),
        ));
        all.take(&given(4, "2028-01-31"));
        let told = &all.at(id, 4).expect("it is told").sign_offs;
        let days: Vec<(String, Option<String>)> = told
            .values()
            .map(|one| (one.until.to_string(), one.practised_on.map(|day| day.to_string())))
            .collect();
        assert_eq!(days.len(), 2);
        assert!(days.contains(&("2028-01-31".into(), Some("2026-11-20".into()))) && days.contains(&("2028-01-31".into(), None)));
    }
}
