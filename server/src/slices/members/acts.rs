//! What a member is known to be able to do: signed off by an officer, certified as a technician.

use chrono::NaiveDate;
use fullset_calc::ratings::Kind;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Member,
    feed::{Certificate, SignOff},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, Write, name},
        error::Fault,
        ids::MemberId,
    },
    slices::agencies::{Agency, day_of},
};

/// Signs a member off on kinds of gear: an officer has seen that the member works with them. Nobody signs himself off.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignOffMember {
    /// Id of the member.
    pub id: MemberId,
    /// The kinds of gear, each once; an earlier sign-off on one of them is replaced.
    #[schema(min_items = 1, max_items = 11)]
    pub kinds: Vec<Kind>,
    /// The last day on which it counts; a day in the past ends it.
    pub until: NaiveDate,
}

impl Act for SignOffMember {
    const KIND: &'static str = "member.sign_off";
    const SUMMARY: &'static str = "Sign a member off on kinds of gear, until a day";
    const DONE: &'static str = "Signed off on gear";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.kinds.sort_unstable();
        self.kinds.dedup();
        if self.kinds.is_empty() {
            return Err(Fault::field("body.kinds", "Name the kinds of gear"));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Member>(self.id)?;
        write.reach(stored.scope)?;
        if write.actor.member == Some(self.id) {
            return Err(Fault::rule("Nobody signs himself off; have another officer do it"));
        }
        let agency = write.agency;
        let on = day_of(write.head.at, write.find::<Agency>(agency)?.record.time_zone);
        let by = write.actor.person();
        let mut member = stored.record;
        member.sign_offs.retain(|known| !self.kinds.contains(&known.kind));
        member.sign_offs.extend(self.kinds.into_iter().map(|kind| SignOff {
            kind,
            until: self.until,
            on,
            by: by.clone(),
        }));
        member.sign_offs.sort_by_key(|known| known.kind);
        write.save(member, stored.scope)
    }
}

/// Puts a technician's certificate on file.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CertifyMember {
    /// Id of the member.
    pub id: MemberId,
    /// What the paper says, and its number: 1 to 200 characters.
    pub paper: String,
    /// The last day on which it counts; a day in the past ends it.
    pub until: NaiveDate,
}

impl Act for CertifyMember {
    const KIND: &'static str = "member.certify";
    const SUMMARY: &'static str = "Put a technician's certificate on file";
    const DONE: &'static str = "Certificate put on file";
    const NEEDS: &'static [Permission] = &[Permission::Plan, Permission::Administer];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Member>(self.id)?;
        write.decide_for(stored.scope)?;
        if write.actor.member == Some(self.id) {
            return Err(Fault::rule("Nobody files his own certificate; have another coordinator or admin do it"));
        }
        let by = write.actor.person();
        let certificate = Certificate {
            paper: name("body.paper", &self.paper)?,
            until: self.until,
            by,
        };
        let member = Member {
            certificate: Some(certificate),
            ..stored.record
        };
        write.save(member, stored.scope)
    }
}
