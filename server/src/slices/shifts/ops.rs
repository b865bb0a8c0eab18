use std::collections::HashSet;

use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Shift,
    feed::{ShiftId, yes},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, name},
        error::Fault,
        ids::MemberId,
        person::Person,
    },
    slices::{
        members::Member,
        stations::{Station, StationId},
    },
};

/// The most members of a shift.
const MOST_MEMBERS: usize = 60;
/// The most shifts of a station.
const MOST_SHIFTS: usize = 12;
/// The longest name of a shift, in characters.
const MOST_NAME: usize = 40;

fn shift_name(given: &str) -> Result<String, Fault> {
    let name = name("body.name", given)?;
    if name.chars().count() > MOST_NAME {
        return Err(Fault::field("body.name", format!("Name the shift in {MOST_NAME} characters: “A shift”")));
    }
    Ok(name)
}

fn each_once(members: &[MemberId]) -> Result<(), Fault> {
    if members.len() > MOST_MEMBERS {
        return Err(Fault::field("body.members", format!("At most {MOST_MEMBERS} members belong to a shift")));
    }
    let mut before = HashSet::new();
    match members.iter().position(|id| !before.insert(*id)) {
        Some(at) => Err(Fault::field(format!("body.members[{at}]"), "This member stands there twice")),
        None => Ok(()),
    }
}

/// Nobody belongs to a shift that the station does not have.
fn nobody_where_none(exists: bool, members: &[MemberId]) -> Result<(), Fault> {
    match exists || members.is_empty() {
        true => Ok(()),
        false => Err(Fault::field(
            "body.members",
            "The station has no such shift, so nobody belongs to it; say first that it has",
        )),
    }
}

/// The members by name; whoever has left the agency belongs to no shift.
fn people(write: &mut Write<'_>, members: &[MemberId]) -> Result<Vec<Person>, Fault> {
    let mut people = Vec::with_capacity(members.len());
    for (at, id) in members.iter().enumerate() {
        let member = write.named::<Member>(&format!("members[{at}]"), *id)?.record;
        if !member.active {
            return Err(Fault::field(format!("body.members[{at}]"), format!("{} has left the agency", member.name)));
        }
        people.push(Person {
            id: Some(member.id),
            name: member.name,
        });
    }
    people.sort_by(|one, other| one.name.cmp(&other.name));
    Ok(people)
}

/// Adds a shift of a station, with who belongs to it; or says that the station has no such shift.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddShift {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: ShiftId,
    /// The station whose shift it is; within the sender's reach.
    pub station: StationId,
    /// What it is called there: 1 to 40 characters, without the spaces around it.
    #[schema(min_length = 1, max_length = 40)]
    pub name: String,
    /// Who belongs to it, each once, at most 60.
    #[serde(default)]
    #[schema(max_items = 60)]
    pub members: Vec<MemberId>,
    /// False: the station has no such shift; nobody belongs to it then. Left out: it has.
    #[serde(default = "yes")]
    pub exists: bool,
}

impl Act for AddShift {
    const KIND: &'static str = "shift.add";
    const SUMMARY: &'static str = "Add a shift of a station, with who belongs to it";
    const DONE: &'static str = "Shift added";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.name = shift_name(&self.name)?;
        each_once(&self.members)?;
        nobody_where_none(self.exists, &self.members)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Shift>(self.id)?;
        let station = write.named::<Station>("station", self.station)?;
        write.reach(station.scope)?;
        if write.of_parent::<Shift>(self.station)?.len() >= MOST_SHIFTS {
            return Err(Fault::rule(format!("{MOST_SHIFTS} shifts are the most of one station; remove one first")));
        }
        let shift = Shift {
            id: self.id,
            station: self.station,
            name: self.name,
            exists: self.exists,
            members: people(write, &self.members)?,
            rev: 0,
        };
        write.save(shift, station.scope)
    }
}

/// Changes what a shift is called, who belongs to it, or whether the station has it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditShift {
    /// The shift to change; what is left out stays.
    pub id: ShiftId,
    /// Its new name: 1 to 40 characters. A rollout that sets a minimum for the old name knows no such shift any more.
    #[schema(min_length = 1, max_length = 40)]
    pub name: Option<String>,
    /// Everybody who belongs to it from now on, each once, at most 60.
    #[schema(max_items = 60)]
    pub members: Option<Vec<MemberId>>,
    /// False: the station has no such shift; its roster is empty from then on. True: it has again.
    pub exists: Option<bool>,
}

impl Act for EditShift {
    const KIND: &'static str = "shift.edit";
    const SUMMARY: &'static str = "Change what a shift is called, or who belongs to it";
    const DONE: &'static str = "Shift changed";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("shift");

    fn prepare(&mut self) -> Result<(), Fault> {
        self.name = self.name.as_deref().map(shift_name).transpose()?;
        self.members.as_deref().map_or(Ok(()), each_once)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Shift>(self.id)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        let mut shift = stored.record;
        shift.name = self.name.unwrap_or(shift.name);
        shift.exists = self.exists.unwrap_or(shift.exists);
        nobody_where_none(shift.exists, self.members.as_deref().unwrap_or_default())?;
        if !shift.exists {
            shift.members.clear();
        }
        if let Some(members) = &self.members {
            shift.members = people(write, members)?;
        }
        write.save(shift, stored.scope)
    }
}

/// Takes a shift off the record, as one that was entered by mistake: nobody knows then whether the station has it. Where it has none, `exists`
/// says so.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RemoveShift {
    /// The shift to take off the record; its members stay members.
    pub id: ShiftId,
}

impl Act for RemoveShift {
    const KIND: &'static str = "shift.remove";
    const SUMMARY: &'static str = "Take a shift off the record; whether the station has it is not known then";
    const DONE: &'static str = "Shift taken off the record";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("shift");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Shift>(self.id)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        write.remove::<Shift>(self.id)
    }
}
