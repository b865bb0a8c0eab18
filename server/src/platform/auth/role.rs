//! Roles, what each may do, and how far a member reaches.

use std::sync::Arc;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::ApiKey;
use crate::platform::{
    ids::{AgencyId, MemberId},
    person::Person,
    record::Scope,
};

/// What a role lets a member do. A command names the one it needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Permission {
    /// Report defects, take pieces out of service, put stand-ins aboard.
    Report,
    /// Decide for a rig: end or keep swaps, move pieces, put pieces and rigs back.
    Handle,
    /// Work repair tickets.
    Repair,
    /// Keep the register: models, pieces, places, complements, import.
    Plan,
    /// Keep members and the agency's settings.
    Administer,
    /// Only the service itself: the clock.
    Service,
}

/// What a member is in the agency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Station crew.
    Crew,
    /// Company officer.
    Officer,
    /// Fleet shop.
    Shop,
    /// District chief.
    Chief,
    /// Programme coordinator.
    Coordinator,
    /// Keeps members and settings.
    Admin,
    /// A shared tablet: it reads, and sends what members have signed; no member has it.
    #[serde(skip_deserializing)]
    #[schema(ignore)]
    Tablet,
    /// The service itself; no member has it.
    #[serde(skip_deserializing)]
    #[schema(ignore)]
    Service,
}

impl Role {
    /// The roles that a member can have.
    pub const MEMBERS: [Self; 6] = [Self::Crew, Self::Officer, Self::Shop, Self::Chief, Self::Coordinator, Self::Admin];

    /// Whether the role may do this.
    pub fn grants(self, permission: Permission) -> bool {
        use Permission::{Administer, Handle, Plan, Repair, Report, Service};
        match self {
            Self::Crew => permission == Report,
            Self::Officer | Self::Chief => matches!(permission, Report | Handle),
            Self::Shop => matches!(permission, Report | Repair),
            Self::Coordinator => matches!(permission, Report | Handle | Repair | Plan),
            Self::Admin => matches!(permission, Report | Handle | Repair | Plan | Administer),
            Self::Tablet => false,
            Self::Service => permission == Service,
        }
    }
}

impl std::fmt::Display for Role {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Crew => "crew",
            Self::Officer => "officer",
            Self::Shop => "shop",
            Self::Chief => "chief",
            Self::Coordinator => "coordinator",
            Self::Admin => "admin",
            Self::Tablet => "tablet",
            Self::Service => "service",
        })
    }
}

impl std::str::FromStr for Role {
    type Err = String;

    fn from_str(word: &str) -> Result<Self, String> {
        Self::MEMBERS
            .into_iter()
            .find(|role| role.to_string() == word)
            .ok_or_else(|| format!("'{word}' is no role: use crew, officer, shop, chief, coordinator or admin"))
    }
}

/// Who sends a command or asks.
#[derive(Debug, Clone)]
pub struct Actor {
    /// The agency; nothing outside it exists for this actor.
    pub agency: AgencyId,
    /// The member, or none for the service itself and for a shared tablet.
    pub member: Option<MemberId>,
    /// The name that the journal keeps.
    pub name: String,
    /// The role, which decides what the actor may do at all.
    pub role: Role,
    /// When set, only this district.
    pub district: Option<Uuid>,
    /// When set, only this station.
    pub station: Option<Uuid>,
    /// The sign-in that the request belongs to.
    pub sign_in: Option<Uuid>,
    /// The device that it comes from, where one was enrolled.
    pub device: Option<Uuid>,
    /// The program's key that it comes with: a key acts in a role and is no member.
    pub key: Option<Arc<ApiKey>>,
}

impl Actor {
    /// The service itself, acting in an agency: the clock.
    pub fn service(agency: AgencyId, name: &str) -> Self {
        Self {
            agency,
            member: None,
            name: name.to_owned(),
            role: Role::Service,
            district: None,
            station: None,
            sign_in: None,
            device: None,
            key: None,
        }
    }

    /// A program that comes with a key. The key is its sign-in.
    pub fn key(agency: AgencyId, name: &str, role: Role, (district, station): (Option<Uuid>, Option<Uuid>), key: ApiKey) -> Self {
        Self {
            role,
            district,
            station,
            sign_in: Some(key.id),
            key: Some(Arc::new(key)),
            ..Self::service(agency, name)
        }
    }

    /// Who acts, as what they do says it.
    pub fn person(&self) -> Person {
        Person {
            id: self.member,
            name: self.name.clone(),
        }
    }

    /// By whom what is sent is counted: the member, however many sign-ins it has, else the tablet or the program; none of the service.
    pub fn sender(&self) -> Option<Uuid> {
        self.member.map(Uuid::from).or(self.device).or(self.sign_in)
    }

    /// Whether the member acts in a part of the agency alone.
    pub fn is_bounded(&self) -> bool {
        self.station.is_some() || self.district.is_some()
    }

    /// Whether a place or a member of this scope is inside the member's own bounds as a whole.
    pub fn holds(&self, scope: Scope) -> bool {
        match (self.station, self.district) {
            (Some(station), _) => scope.station == Some(station),
            (None, Some(district)) => scope.district == Some(district),
            (None, None) => true,
        }
    }

    /// Whether a record of this scope is within the member's reach. What belongs to no station (a shop, a model) is.
    pub fn reaches(&self, scope: Scope) -> bool {
        match (self.station, self.district) {
            (Some(station), _) => scope.station.is_none_or(|of| of == station),
            (None, Some(district)) => scope.district.is_none_or(|of| of == district),
            (None, None) => true,
        }
    }
}
