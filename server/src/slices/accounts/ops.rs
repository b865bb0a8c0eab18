use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        auth::{self, AccessEventKind, AskedFrom, NewEvent},
        door::{Act, Permission, Reach, Write},
        error::{self, Fault},
        ids::MemberId,
    },
    slices::members::{Member, note},
};

/// Changes a member's own password. The service sends it, when it has seen that the present one was right.
#[derive(Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChangePassword {
    /// The member whose own password changes; one who has not been let go.
    pub id: MemberId,
    /// The sign-in that stays.
    pub kept: Uuid,
    /// Hash of the present password, which must still be the one.
    pub was: String,
    /// Hash of the new one.
    pub made: String,
    /// The network that it was asked from.
    pub from: Option<String>,
}

impl Act for ChangePassword {
    const KIND: &'static str = "member.change_password";
    const SUMMARY: &'static str = "Change the own password";
    const DONE: &'static str = "Own password changed";
    const NEEDS: &'static [Permission] = &[Permission::Service];
    const REACH: Reach = Reach::Service;
    const SECRET: &'static [&'static str] = &["was", "made", "from"];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Member>(self.id)?;
        let (agency, now) = (write.agency, write.now());
        if !stored.record.active || auth::end_of(write.reading_beside(), self.kept)?.is_some() {
            return Err(Fault::new(error::SESSION_ENDED, "This sign-in has ended; sign in again"));
        }
        let present = auth::credential_for(write.reading_beside(), agency, self.id)?;
        if present.is_none_or(|present| present.hash != self.was) {
            return Err(Fault::rule("Your password was changed meanwhile; sign in again"));
        }
        auth::put_credential(write.beside(), agency, self.id, &stored.record.email, Some(&self.made))?;
        auth::void_link(write.beside(), agency, self.id)?;
        auth::end_but(write.ending(), agency, self.id, Some(self.kept), now)?;
        let from = AskedFrom::new(self.from, None);
        auth::note(write.beside(), NewEvent::own(agency, self.id, AccessEventKind::PasswordChanged, from), now)?;
        write.save(stored.record, stored.scope)
    }
}

/// Ends sign-ins of a member: one, or all. What is queued of them does not count any more.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignMemberOut {
    /// The member whose sign-ins end; within the sender's reach.
    pub id: MemberId,
    /// This sign-in; null or left out: all of them.
    pub sign_in: Option<Uuid>,
}

impl Act for SignMemberOut {
    const KIND: &'static str = "member.sign_out";
    const SUMMARY: &'static str = "End one sign-in of a member, or all";
    const DONE: &'static str = "Signed out by an admin";
    const NEEDS: &'static [Permission] = &[Permission::Administer];
    const REACH: Reach = Reach::Within;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Member>(self.id)?;
        write.decide_for(stored.scope)?;
        let (agency, now) = (write.agency, write.now());
        let ended = match self.sign_in {
            Some(sign_in) => auth::end_one(write.ending(), agency, self.id, sign_in, now)?,
            None => auth::end_but(write.ending(), agency, self.id, None, now)?,
        };
        if ended == 0 && self.sign_in.is_some() {
            return Err(Fault::rule("This sign-in has ended already, or is not this member's"));
        }
        note(write, self.id, AccessEventKind::SignInsEnded)?;
        write.save(stored.record, stored.scope)
    }
}

/// Takes a member's second factor away with all passkeys, because authenticator, recovery codes or passkeys are lost. Its sign-ins end.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DropSecondFactor {
    /// The member who has lost the second factor; never the sender.
    pub id: MemberId,
}

impl Act for DropSecondFactor {
    const KIND: &'static str = "member.drop_second_factor";
    const SUMMARY: &'static str = "Take a member's second factor away that it has lost";
    const DONE: &'static str = "Second factor taken away by an admin";
    const NEEDS: &'static [Permission] = &[Permission::Administer];
    const REACH: Reach = Reach::Within;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Member>(self.id)?;
        write.decide_for(stored.scope)?;
        if write.actor.member == Some(self.id) {
            return Err(Fault::rule(
                "Turn your own second factor off under your account, by a code; another admin takes a lost one away",
            ));
        }
        let (agency, now) = (write.agency, write.now());
        auth::forget_factor(write.beside(), agency, self.id)?;
        auth::forget_passkeys(write.beside(), agency, self.id)?;
        auth::end_all(write.ending(), agency, self.id, now)?;
        note(write, self.id, AccessEventKind::SecondFactorOff)?;
        write.save(stored.record, stored.scope)
    }
}
