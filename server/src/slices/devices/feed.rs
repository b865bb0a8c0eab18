use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        auth::{Actor, Role},
        ids::{AgencyId, MemberId},
        person::Person,
        record::{Index, Record},
    },
    slices::stations::StationId,
};

crate::id!(
    /// A device.
    DeviceId
);

/// What a device is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum DeviceKind {
    /// A member's own: it acts as the member.
    Phone,
    /// Shared at a station: each act is signed by a member.
    Tablet,
}

/// Whether a device may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum DeviceState {
    /// It may.
    Active,
    /// It was revoked; a new code enrols it again under its own id.
    Revoked,
}

/// An enrolled phone or tablet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Device {
    /// The device's id, which the device made.
    pub id: DeviceId,
    /// What people tell it apart by: 1 to 200 characters; another device may have the same.
    pub name: String,
    /// Whether it is a member's own phone or a tablet that a station shares.
    pub kind: DeviceKind,
    /// Where a tablet is.
    pub station: Option<StationId>,
    /// Whose a phone is.
    pub member: Option<MemberId>,
    /// When it was enrolled.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub enrolled_at: DateTime<Utc>,
    /// Who made the code for it.
    pub enrolled_by: Person,
    /// When it last renewed its sign-in; told once a day.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub last_seen_at: Option<DateTime<Utc>>,
    /// Whether it may be used.
    pub state: DeviceState,
    /// Revision of the last change.
    pub rev: i64,
}

impl Device {
    /// A shared tablet as an actor: it has the station's reach, and a role that may do nothing.
    pub fn actor(&self, agency: AgencyId) -> Actor {
        Actor {
            role: Role::Tablet,
            station: self.station.map(Uuid::from),
            device: Some(self.id.0),
            ..Actor::service(agency, &self.name)
        }
    }
}

impl Record for Device {
    const KIND: &'static str = "device";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        vec!["active", "revoked"]
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: None,
            mark: None,
            state: match self.state {
                DeviceState::Active => "active",
                DeviceState::Revoked => "revoked",
            }
            .into(),
            parent: self.member.map(Uuid::from).or(self.station.map(Uuid::from)),
        }
    }
}
