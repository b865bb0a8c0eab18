//! Who acts: by a sign-in, or by a signature on a shared tablet; found out inside the transaction of the command.

use uuid::Uuid;

use super::{Device, DeviceState};
use crate::{
    platform::{
        auth::{self, Actor},
        db::Db,
        door::{Ahead, Authority, Present, Signature},
        error::{self, Fault},
        ids::{AgencyId, MemberId},
        record::{self, Record as _, Scope},
    },
    slices::members::Member,
};

/// How the door finds out who acts.
pub const AUTHORITY: Authority = Authority { ahead, acts, signs };

fn ahead(sender: &Actor, ahead: &mut Ahead) {
    if let Some(device) = sender.device {
        ahead.record::<Device>(device);
    }
    if let Some(member) = sender.member {
        ahead.record::<Member>(member);
    }
}

/// Where an active tablet belongs, for a read.
pub fn place(db: &mut Db, agency: AgencyId, device: Option<Uuid>) -> Result<Scope, Fault> {
    let row = match device {
        Some(device) => record::find(db, agency, Device::KIND, device)?,
        None => None,
    };
    row.filter(|row| !row.gone && row.read::<Device>().is_ok_and(|device| device.state == DeviceState::Active))
        .map(|row| row.scope())
        .ok_or_else(|| auth::refusal(true))
}

/// Where the sender's device belongs, which must be active.
fn device_of(present: &mut Present<'_>, device: Uuid) -> Result<Scope, Fault> {
    let stored = present.look::<Device>(device)?.filter(|stored| stored.record.state == DeviceState::Active);
    stored.map(|stored| stored.scope).ok_or_else(|| auth::refusal(true))
}

/// A member who has not been let go.
fn active(present: &mut Present<'_>, member: MemberId) -> Result<Option<Member>, Fault> {
    Ok(present.look::<Member>(member)?.map(|stored| stored.record).filter(|member| member.active))
}

/// Who a sign-in acts as now. A shared tablet and a program act as themselves.
fn acts(present: &mut Present<'_>, sender: &Actor) -> Result<Actor, Fault> {
    if let Some(key) = &sender.key {
        let now = present.now;
        auth::key_stands(present.beside(), sender.agency, key.id, now)?;
        return Ok(sender.clone());
    }
    if let Some(device) = sender.device {
        device_of(present, device)?;
    }
    let Some(member) = sender.member else { return Ok(sender.clone()) };
    let member = active(present, member)?.ok_or_else(|| auth::refusal(false))?;
    Ok(Actor {
        sign_in: sender.sign_in,
        device: sender.device,
        ..member.actor(sender.agency)
    })
}

/// The member who signed a command, as an actor without a sign-in of its own.
fn signs(present: &mut Present<'_>, tablet: &Actor, signature: &Signature) -> Result<Actor, Fault> {
    let device = tablet.device.ok_or_else(|| auth::refusal(true))?;
    let place = device_of(present, device)?;
    let member = active(present, signature.member)?
        .ok_or_else(|| Fault::new(error::PIN_WRONG, "No member of this agency signs by this id; ask an admin").at("by.member"))?;
    let now = present.now;
    auth::check_signature(present.beside(), tablet, signature, now)?;
    let actor = Actor {
        device: tablet.device,
        ..member.actor(tablet.agency)
    };
    if !actor.reaches(place) {
        return Err(Fault::new(
            error::OUT_OF_REACH,
            "This member does not act at this tablet's station; sign there, or ask somebody of this station",
        )
        .at("by.member"));
    }
    Ok(actor)
}
