use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::Member;
use crate::{
    platform::{
        auth::{self, AccessEventKind, Email, NewEvent, NewPassword, Pin, Role},
        door::{Act, Permission, Reach, RevisionNeed, Write, name},
        error::Fault,
        ids::MemberId,
        patch,
        record::{self, Record as _, Scope},
    },
    slices::{agencies::Agency, districts::District, stations::Station},
};

/// Adds a member.
#[derive(Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddMember {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: MemberId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// The email that it signs in with; no other member has it. Capital letters and spaces around it make no difference.
    #[schema(value_type = String, max_length = 254)]
    pub email: Email,
    /// What it may do.
    pub role: Role,
    /// When set, only in this district.
    pub district: Option<Uuid>,
    /// When set, only at this station.
    pub station: Option<Uuid>,
    /// Its first password: 10 to 256 characters, none of the commonest and not made of its own name, email or agency. Without one
    /// it cannot sign in yet.
    #[schema(min_length = 10, max_length = 256)]
    pub password: Option<String>,
    #[serde(skip)]
    made: Option<NewPassword>,
}

impl AddMember {
    /// A member without a password.
    pub const fn without_password(id: MemberId, name: String, email: Email, role: Role, (district, station): (Option<Uuid>, Option<Uuid>)) -> Self {
        Self {
            id,
            name,
            email,
            role,
            district,
            station,
            password: None,
            made: None,
        }
    }

    /// A member of the whole agency, for the command line.
    pub fn value(id: MemberId, name: &str, email: &str, role: Role, password: &str) -> serde_json::Value {
        serde_json::json!({ "id": id, "name": name, "email": email, "role": role, "password": password })
    }
}

/// Holds the reach of a member, or of a key that it makes, to a district and a station that are there; answers where the holder belongs.
pub fn bound(write: &mut Write<'_>, district: Option<Uuid>, station: Option<Uuid>) -> Result<Scope, Fault> {
    if let Some(district) = district {
        write.named::<District>("district", district)?;
    }
    match station {
        Some(station) => Ok(write.named::<Station>("station", station)?.scope),
        None => Ok(Scope { district, ..Scope::default() }),
    }
}

/// Holds a new password to the words of whoever it is for.
fn not_of(write: &mut Write<'_>, made: Option<&NewPassword>, name: &str, email: &Email) -> Result<(), Fault> {
    let Some(made) = made else { return Ok(()) };
    let agency = write.find::<Agency>(write.agency.0)?.record.name;
    made.is_not_of(&[name, email.as_str(), &agency])
}

impl Act for AddMember {
    const KIND: &'static str = "member.add";
    const SUMMARY: &'static str = "Add a member";
    const DONE: &'static str = "Member added";
    const NEEDS: &'static [Permission] = &[Permission::Administer];
    const REACH: Reach = Reach::Within;
    const CREATES: bool = true;
    const SLOW: bool = true;
    const SECRET: &'static [&'static str] = &["password"];

    fn prepare(&mut self) -> Result<(), Fault> {
        self.name = name("body.name", &self.name)?;
        let own = [self.name.as_str(), self.email.as_str()];
        self.made = self.password.take().map(|password| NewPassword::new(&password, &own)).transpose()?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Member>(self.id)?;
        let scope = bound(write, self.district, self.station)?;
        write.decide_for(scope)?;
        not_of(write, self.made.as_ref(), &self.name, &self.email)?;
        let agency = write.agency;
        auth::put_credential(write.beside(), agency, self.id, &self.email, self.made.as_ref().map(NewPassword::hash))?;
        let member = Member {
            id: self.id,
            name: self.name,
            email: self.email,
            role: self.role,
            district: self.district,
            station: self.station,
            active: true,
            has_pin: false,
            sign_offs: Vec::new(),
            certificate: None,
            rev: 0,
        };
        write.save(member, scope)
    }
}

/// Notes what a command did to a member's way of signing in.
pub fn note(write: &mut Write<'_>, member: MemberId, what: AccessEventKind) -> Result<(), Fault> {
    let (event, now) = (NewEvent::by(write.actor, Some(member), what), write.now());
    auth::note(write.beside(), event, now)
}

/// Changes a member. A changed role, reach or password ends its sign-ins; a changed role or reach also the keys of programs that it has
/// made.
#[derive(Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditMember {
    /// The member to change; what is left out stays.
    pub id: MemberId,
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: Option<String>,
    /// New role; a change ends the member's sign-ins and keys. Left out: it stays.
    pub role: Option<Role>,
    /// New district; null for no bound.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<Uuid>)]
    pub district: Option<Option<Uuid>>,
    /// New station; null for no bound.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<Uuid>)]
    pub station: Option<Option<Uuid>>,
    /// Whether it may sign in.
    pub active: Option<bool>,
    /// New password, as with `member.add`; not the own one, which takes the present one (`POST /v1/session/password`).
    #[schema(min_length = 10, max_length = 256)]
    pub password: Option<String>,
    #[serde(skip)]
    made: Option<NewPassword>,
}

/// Refuses to leave the agency without an admin of the whole of it: nobody could make one any more.
fn another_keeps_agency(write: &mut Write<'_>, but: MemberId) -> Result<(), Fault> {
    let others = write.found::<Member>(
        |db, agency| Ok(record::all(db, agency, Member::KIND)?),
        ("active", |other: &Member| other.id != but && other.keeps_agency()),
    )?;
    if others.is_empty() {
        return Err(Fault::rule("This is the last admin of the whole agency; make another member one first"));
    }
    Ok(())
}

impl Act for EditMember {
    const KIND: &'static str = "member.edit";
    const SUMMARY: &'static str = "Change a member's name, role, reach or password, or let it go";
    const DONE: &'static str = "Member changed";
    const NEEDS: &'static [Permission] = &[Permission::Administer];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("member");
    const SLOW: bool = true;
    const SECRET: &'static [&'static str] = &["password"];

    fn prepare(&mut self) -> Result<(), Fault> {
        if let Some(given) = &self.name {
            self.name = Some(name("body.name", given)?);
        }
        let own: Vec<&str> = self.name.as_deref().into_iter().collect();
        self.made = self.password.take().map(|password| NewPassword::new(&password, &own)).transpose()?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Member>(self.id)?;
        write.decide_for(stored.scope)?;
        write.expects(&stored)?;
        let was = stored.record;
        let mut member = was.clone();
        if write.actor.member == Some(member.id) && (self.active == Some(false) || self.role.is_some_and(|role| role != Role::Admin)) {
            return Err(Fault::rule("You cannot take your own admin role away; another admin does that"));
        }
        if write.actor.member == Some(member.id) && self.made.is_some() {
            return Err(Fault::rule("Change your own password under your account, with the present one"));
        }
        member.name = self.name.unwrap_or(member.name);
        member.role = self.role.unwrap_or(member.role);
        member.district = self.district.unwrap_or(member.district);
        member.station = self.station.unwrap_or(member.station);
        member.active = self.active.unwrap_or(member.active);
        if was.keeps_agency() && !member.keeps_agency() {
            another_keeps_agency(write, was.id)?;
        }
        let agency = write.agency;
        let scope = bound(write, member.district, member.station)?;
        write.decide_for(scope)?;
        if let Some(made) = &self.made {
            not_of(write, Some(made), &member.name, &member.email)?;
            auth::put_credential(write.beside(), agency, member.id, &member.email, Some(made.hash()))?;
            auth::void_link(write.beside(), agency, member.id)?;
            note(write, member.id, AccessEventKind::PasswordChanged)?;
        }
        let stays = (was.role, was.district, was.station, was.active) == (member.role, member.district, member.station, member.active);
        if self.made.is_some() || !stays {
            let now = write.now();
            auth::end_all(write.ending(), agency, member.id, now)?;
        }
        if !stays {
            auth::drop_keys_of(write.ending(), agency, member.id)?;
        }
        // A link is for who the member was when it was made.
        if !stays {
            auth::void_link(write.beside(), agency, member.id)?;
        }
        write.save(member, scope)
    }
}

/// Sets the own PIN, by which a member signs on shared tablets.
#[derive(Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetPin {
    /// Six digits, not all the same.
    #[schema(min_length = 6, max_length = 6)]
    pub pin: String,
    #[serde(skip)]
    made: Option<Pin>,
}

impl Act for SetPin {
    const KIND: &'static str = "member.set_pin";
    const SUMMARY: &'static str = "Set the own PIN, to sign with on shared tablets";
    const DONE: &'static str = "PIN set";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Anywhere("the own PIN");
    const PERSONAL: bool = true;
    const SLOW: bool = true;
    const SECRET: &'static [&'static str] = &["pin"];

    fn prepare(&mut self) -> Result<(), Fault> {
        self.made = Some(Pin::new(&std::mem::take(&mut self.pin))?);
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let (Some(pin), Some(member)) = (self.made, write.actor.member.filter(|_| write.actor.sign_in.is_some())) else {
            return Err(Fault::rule("A PIN is set where you are signed in yourself: on your phone or at a desk"));
        };
        let (actor, now) = (write.actor, write.now());
        auth::lately_proven(write.reading_beside(), actor, now)?;
        let stored = write.find::<Member>(member)?;
        let agency = write.agency;
        auth::put_pin(write.beside(), agency, member, &pin)?;
        note(write, member, AccessEventKind::PinSet)?;
        let changed = Member {
            has_pin: true,
            ..stored.record
        };
        write.save(changed, stored.scope)
    }
}

/// Opens a member's PIN again that ten wrong signatures have locked.
#[derive(Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct UnlockPin {
    /// The member whose PIN is locked; one who has set a PIN.
    pub id: MemberId,
}

impl Act for UnlockPin {
    const KIND: &'static str = "member.unlock_pin";
    const SUMMARY: &'static str = "Open a member's PIN again that wrong signatures have locked";
    const DONE: &'static str = "PIN opened again";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Member>(self.id)?;
        write.reach(stored.scope)?;
        if !stored.record.has_pin {
            return Err(Fault::rule("This member has no PIN; it sets one on a phone or at a desk"));
        }
        let agency = write.agency;
        auth::unlock_pin(write.beside(), agency, self.id)?;
        write.save(stored.record, stored.scope)
    }
}
