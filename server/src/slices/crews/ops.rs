use std::collections::HashSet;

use chrono::{DateTime, TimeDelta, Utc};
use serde::Deserialize;
use utoipa::ToSchema;

use super::Crew;
use crate::{
    platform::{
        door::{Act, Permission, Reach, Write},
        error::Fault,
        ids::MemberId,
        person::Person,
    },
    slices::{
        members::Member,
        rigs::{Rig, RigId},
    },
};

/// The most members aboard a rig.
const MOST: usize = 12;
/// The longest that a crew can be said ahead, in days: a week of duty.
const LONGEST: i64 = 8;

/// Says who is on a rig, until when. Since when is the command's `at`. What was said before is replaced.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NameCrew {
    /// The rig that they are on; the record of its crew has the same id.
    pub id: RigId,
    /// The members aboard, each once, at most 12; none: the rig is not crewed.
    #[schema(max_items = 12)]
    pub members: Vec<MemberId>,
    /// Until when, at most 8 days ahead: usually the next relief.
    pub until: DateTime<Utc>,
}

impl Act for NameCrew {
    const KIND: &'static str = "crew.name";
    const SUMMARY: &'static str = "Say who is on a rig, until when";
    const DONE: &'static str = "Crew named";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Within;

    fn prepare(&mut self) -> Result<(), Fault> {
        if self.members.len() > MOST {
            return Err(Fault::field("body.members", format!("At most {MOST} members are aboard a rig")));
        }
        let mut before = HashSet::new();
        match self.members.iter().position(|id| !before.insert(*id)) {
            Some(at) => Err(Fault::field(format!("body.members[{at}]"), "This member stands there twice")),
            None => Ok(()),
        }
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let rig = write.find::<Rig>(self.id)?;
        write.reach(rig.scope)?;
        let from = write.head.at;
        if self.until <= from {
            return Err(Fault::field("body.until", "Say a time that is still to come: when they are relieved"));
        }
        if self.until > from + TimeDelta::days(LONGEST) {
            return Err(Fault::field("body.until", format!("A crew is said for {LONGEST} days at most")));
        }
        let mut members = Vec::with_capacity(self.members.len());
        for (at, id) in self.members.iter().enumerate() {
            let member = write.named::<Member>(&format!("members[{at}]"), *id)?.record;
            if !member.active {
                return Err(Fault::field(format!("body.members[{at}]"), format!("{} has left the agency", member.name)));
            }
            members.push(Person {
                id: Some(member.id),
                name: member.name,
            });
        }
        members.sort_by(|one, other| one.name.cmp(&other.name));
        let crew = Crew {
            id: self.id,
            members,
            from,
            until: self.until,
            said_by: write.actor.person(),
            rev: 0,
        };
        write.save(crew, rig.scope)
    }
}
