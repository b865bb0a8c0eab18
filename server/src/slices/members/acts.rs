//! What a member is known to be able to do: signed off by an officer, certified as a technician.

use chrono::NaiveDate;
use fullset_calc::ratings::Kind;
use fullset_care::crew::Handled;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Member,
    feed::{Certificate, SignOff},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, Write, at_most, name},
        error::Fault,
        ids::MemberId,
    },
    slices::agencies::day_done,
};

/// The most sign-offs of a member.
const MOST_SIGN_OFFS: usize = 60;

/// The kinds of a body, each once, and the family as it is kept.
fn of_gear(kinds: &mut Vec<Kind>, family: &mut Option<String>) -> Result<(), Fault> {
    at_most("body.kinds", kinds, Kind::ALL.len(), "kind")?;
    kinds.sort_unstable();
    kinds.dedup();
    if kinds.is_empty() {
        return Err(Fault::field("body.kinds", "Name the kinds of gear"));
    }
    *family = family.as_deref().map(|given| name("body.family", given)).transpose()?;
    Ok(())
}

/// Signs a member off on kinds of gear: an officer has seen that the member works with them. Nobody signs himself off.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignOffMember {
    /// The member who is signed off; never the sender.
    pub id: MemberId,
    /// The kinds of gear, each once; an earlier sign-off on the same is replaced.
    #[schema(min_items = 1, max_items = 11)]
    pub kinds: Vec<Kind>,
    /// The family of models, where they take a sign-off of their own, as the models name it: 1 to 200 characters.
    #[serde(default)]
    pub family: Option<String>,
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
        of_gear(&mut self.kinds, &mut self.family)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Member>(self.id)?;
        write.reach(stored.scope)?;
        if write.actor.member == Some(self.id) {
            return Err(Fault::rule("Nobody signs himself off; have another officer do it"));
        }
        let on = day_done(write)?;
        let by = write.actor.person();
        let mut member = stored.record;
        for kind in self.kinds {
            let of = Handled::new(kind, self.family.as_deref());
            let before = member.sign_offs.iter().position(|known| known.handled() == of);
            let before = before.map(|at| member.sign_offs.remove(at));
            member.sign_offs.push(SignOff {
                kind,
                family: self.family.clone(),
                until: self.until,
                on,
                by: by.clone(),
                practised_on: before.and_then(|before| before.practised_on),
                practise_by: on,
            });
        }
        if member.sign_offs.len() > MOST_SIGN_OFFS {
            return Err(Fault::rule(format!("{MOST_SIGN_OFFS} sign-offs are the most of one member")));
        }
        member.sign_offs.sort_by_key(SignOff::handled);
        write.save(member, stored.scope)
    }
}

/// Notes that a member has practised with kinds of gear that the member is signed off on, as an officer has seen.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PractiseMember {
    /// The member who has practised; never the sender.
    pub id: MemberId,
    /// The kinds of gear, each once.
    #[schema(min_items = 1, max_items = 11)]
    pub kinds: Vec<Kind>,
    /// The family of models, where they take a sign-off of their own, as the models name it: 1 to 200 characters.
    #[serde(default)]
    pub family: Option<String>,
    /// On which day: today or before. An earlier day than the one that is known changes nothing.
    pub on: NaiveDate,
}

impl Act for PractiseMember {
    const KIND: &'static str = "member.practise";
    const SUMMARY: &'static str = "Note that a member has practised with kinds of gear";
    const DONE: &'static str = "Practice with gear noted";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        of_gear(&mut self.kinds, &mut self.family)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Member>(self.id)?;
        write.reach(stored.scope)?;
        if write.actor.member == Some(self.id) {
            return Err(Fault::rule("Nobody notes his own practice; have another officer do it"));
        }
        if self.on > day_done(write)? {
            return Err(Fault::field("body.on", "This day is still to come; note it when it was done"));
        }
        let mut member = stored.record;
        for kind in self.kinds {
            let of = Handled::new(kind, self.family.as_deref());
            let Some(known) = member.sign_offs.iter_mut().find(|known| known.handled() == of) else {
                let words = format!("{} was never signed off on this {}; sign off first", member.name, kind.word());
                return Err(Fault::field("body.kinds", words));
            };
            known.practised_on = known.practised_on.max(Some(self.on));
        }
        write.save(member, stored.scope)
    }
}

/// Puts a technician's certificate on file.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CertifyMember {
    /// The member who holds the certificate; never the sender.
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
