use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{Device, DeviceKind, DeviceState, feed::DeviceId};
use crate::{
    platform::{
        auth,
        door::{Act, Permission, Reach, RevisionNeed, Stored, Write, name},
        error::{self, Fault},
        person::Person,
    },
    slices::{
        members::Member,
        stations::{Station, StationId},
    },
};

/// Enrols a device by a code, or admits one again under the id that it has. The service sends it for the member who made the code.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EnrolDevice {
    /// Its id, made by the device.
    pub id: DeviceId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// The enrolment code that was typed in, by its id; each serves once.
    pub enrolment: Uuid,
}

impl Act for EnrolDevice {
    const KIND: &'static str = "device.enrol";
    const SUMMARY: &'static str = "Enrol a device by a code";
    const DONE: &'static str = "Device enrolled";
    const NEEDS: &'static [Permission] = &[Permission::Service];
    const REACH: Reach = Reach::Service;
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let (agency, now) = (write.agency, write.now());
        let device_name = name("body.device.name", &self.name)?;
        let code = auth::use_enrolment(write.beside(), agency, self.enrolment, now)?;
        let maker = write.find::<Member>(code.member)?;
        let (may, place) = match code.station {
            Some(station) => {
                let place = write.find::<Station>(station)?.scope;
                let actor = maker.record.actor(agency);
                (actor.role.grants(Permission::Handle) && actor.reaches(place), place)
            }
            None => (true, maker.scope),
        };
        if !maker.record.active || !may {
            return Err(Fault::new(
                error::CODE_UNKNOWN,
                "Whoever made this code may not enrol this device any more; have a new one made",
            )
            .at("body.code"));
        }
        let kind = if code.station.is_some() { DeviceKind::Tablet } else { DeviceKind::Phone };
        if let Some(known) = write.look::<Device>(self.id)? {
            let maker = maker.record.actor(agency);
            if known.record.kind != kind || (kind == DeviceKind::Phone && known.record.member != Some(code.member)) || !maker.reaches(known.scope) {
                return Err(taken());
            }
            // Whoever held the device's sign-in before does not hold it now: one id is one device.
            let now = write.now();
            auth::end_device(write.ending(), agency, self.id.0, now)?;
        } else {
            write.unused::<Device>(self.id).map_err(|_| taken())?;
        }
        let device = Device {
            id: self.id,
            name: device_name,
            kind,
            station: code.station.map(StationId),
            member: code.station.is_none().then_some(code.member),
            enrolled_at: now,
            enrolled_by: Person {
                id: Some(maker.record.id),
                name: maker.record.name,
            },
            last_seen_at: Some(now),
            state: DeviceState::Active,
            rev: 0,
        };
        write.save(device, place)
    }
}

/// A device goes on under its own id, so that what members signed on it and it has not sent yet still counts; never under another's.
fn taken() -> Fault {
    let words = "Another device has this id, or the device belongs where whoever made the code does not act; take a new id";
    Fault::new(error::ALREADY_THERE, words).at("body.device.id")
}

/// Refuses who may decide for a device: its own member may, and whoever leads where it belongs.
fn decides(write: &mut Write<'_>, device: &Stored<Device>) -> Result<(), Fault> {
    if device.record.state == DeviceState::Revoked {
        return Err(Fault::rule("This device has been revoked already; to use it again, enrol it with a new code"));
    }
    let place = match device.record.member {
        Some(member) if write.actor.member == Some(member) => return Ok(()),
        // A phone goes where its member goes.
        Some(member) => write.find::<Member>(member)?.scope,
        None => device.scope,
    };
    write.allowed(Permission::Handle)?;
    write.decide_for(place)
}

/// Renames a device.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RenameDevice {
    /// The device to rename; one that is not revoked.
    pub id: DeviceId,
    /// New name: 1 to 200 characters, without the spaces around it.
    pub name: String,
}

impl Act for RenameDevice {
    const KIND: &'static str = "device.rename";
    const SUMMARY: &'static str = "Rename a device: one's own, or as an officer any within reach";
    const DONE: &'static str = "Device renamed";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Anywhere("the own device; another's asks for reach");
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("device");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Device>(self.id)?;
        decides(write, &stored)?;
        write.expects(&stored)?;
        let renamed = Device {
            name: name("body.name", &self.name)?,
            ..stored.record
        };
        write.save(renamed, stored.scope)
    }
}

/// Revokes a device, until it is enrolled again with a new code. Its sign-ins end at once, and it forgets what it keeps as soon as it asks again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RevokeDevice {
    /// The device to revoke for good; one that is not revoked yet.
    pub id: DeviceId,
}

impl Act for RevokeDevice {
    const KIND: &'static str = "device.revoke";
    const SUMMARY: &'static str = "Revoke a device at once: one's own, or as an officer any within reach";
    const DONE: &'static str = "Device revoked";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Anywhere("the own device; another's asks for reach");
    const PERSONAL: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Device>(self.id)?;
        decides(write, &stored)?;
        let (agency, now) = (write.agency, write.now());
        auth::revoke(write.ending(), agency, self.id.0, now)?;
        let revoked = Device {
            state: DeviceState::Revoked,
            ..stored.record
        };
        write.save(revoked, stored.scope)
    }
}

/// Notes that a device was in use. The service sends it, once a day.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SeeDevice {
    /// The device that has renewed its sign-in.
    pub id: DeviceId,
}

impl Act for SeeDevice {
    const KIND: &'static str = "device.see";
    const SUMMARY: &'static str = "Note that a device was in use";
    const DONE: &'static str = "Device seen";
    const NEEDS: &'static [Permission] = &[Permission::Service];
    const REACH: Reach = Reach::Service;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Device>(self.id)?;
        let seen = Device {
            last_seen_at: Some(write.now()),
            ..stored.record
        };
        write.save(seen, stored.scope)
    }
}
