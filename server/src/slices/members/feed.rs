use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::{
    auth::{Actor, Role},
    ids::{AgencyId, MemberId},
    record::{Index, Record},
};

/// A member of the agency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Member {
    /// Its id.
    pub id: MemberId,
    /// Its name, as the journal and the screens show it.
    pub name: String,
    /// The email that it signs in with.
    pub email: String,
    /// What it may do.
    pub role: Role,
    /// When set, only in this district.
    pub district: Option<Uuid>,
    /// When set, only at this station.
    pub station: Option<Uuid>,
    /// Whether it may sign in.
    pub active: bool,
    /// Whether it has a PIN to sign with on a shared tablet.
    #[serde(default)]
    pub has_pin: bool,
    /// Revision of the last change.
    pub rev: i64,
}

impl Member {
    /// The member as an actor in its agency.
    pub fn actor(&self, agency: AgencyId) -> Actor {
        Actor {
            agency,
            member: Some(self.id),
            name: self.name.clone(),
            role: self.role,
            district: self.district,
            station: self.station,
            sign_in: None,
            device: None,
        }
    }
}

impl Record for Member {
    const KIND: &'static str = "member";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        vec!["active", "left"]
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(self.email.to_lowercase()),
            mark: None,
            state: if self.active { "active" } else { "left" }.into(),
            parent: None,
        }
    }
}
