//! Who signed a command on a shared tablet, and who may.

use uuid::Uuid;

use super::{Device, DeviceState};
use crate::{
    platform::{
        auth::{self, Actor},
        db::Db,
        door::Signature,
        error::{self, Fault},
        ids::AgencyId,
        record::{self, Record as _, Scope},
    },
    slices::members::Member,
};

/// Where an active tablet belongs.
pub fn place(db: &mut Db, agency: AgencyId, device: Option<Uuid>) -> Result<Scope, Fault> {
    let row = match device {
        Some(device) => record::find(db, agency, Device::KIND, device)?,
        None => None,
    };
    row.filter(|row| !row.gone && row.read::<Device>().is_ok_and(|device| device.state == DeviceState::Active))
        .map(|row| row.scope())
        .ok_or_else(|| auth::refusal(true))
}

/// The member who signed a command, as an actor without a sign-in of its own.
pub fn signer(db: &mut Db, tablet: &Actor, signature: &Signature) -> Result<Actor, Fault> {
    let place = place(db, tablet.agency, tablet.device)?;
    let row = record::find(db, tablet.agency, Member::KIND, signature.member.0)?.filter(|row| !row.gone);
    let member: Option<Member> = row.map(|row| row.read()).transpose()?;
    let member = member
        .filter(|member| member.active)
        .ok_or_else(|| Fault::new(error::PIN_WRONG, "No member of this agency signs by this id; ask an admin").at("by.member"))?;
    auth::check_signature(db, tablet.agency, signature)?;
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
