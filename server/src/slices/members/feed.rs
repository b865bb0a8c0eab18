use chrono::NaiveDate;
use fullset_calc::ratings::Kind;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::{
    auth::{Actor, Email, Role},
    ids::{AgencyId, MemberId},
    person::Person,
    record::{Index, Record},
};

/// That a member may work with gear of a kind, as an officer has seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SignOff {
    /// The kind of gear.
    pub kind: Kind,
    /// The last day on which it counts.
    pub until: NaiveDate,
    /// On which day it was given.
    pub on: NaiveDate,
    /// By whom.
    pub by: Person,
}

/// A technician's certificate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Certificate {
    /// What it says, and its number: 1 to 200 characters.
    #[schema(min_length = 1, max_length = 200)]
    pub paper: String,
    /// The last day on which it counts.
    pub until: NaiveDate,
    /// Who put it on file.
    pub by: Person,
}

/// A member of the agency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Member {
    /// Id of the member: the UUID that it was made with; it never changes.
    pub id: MemberId,
    /// Its name, as the journal and the screens show it.
    pub name: String,
    /// The email that it signs in with, in small letters.
    #[schema(value_type = String, max_length = 254)]
    pub email: Email,
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
    /// The kinds of gear that it is signed off on, one entry each; of a kind that is not here nobody knows.
    #[serde(default)]
    #[schema(required, max_items = 11)]
    pub sign_offs: Vec<SignOff>,
    /// Its certificate as a technician.
    #[serde(default)]
    #[schema(required)]
    pub certificate: Option<Certificate>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Member {
    /// Whether it is signed off on gear of a kind on that day; `None`: nobody knows.
    pub fn is_signed_off(&self, kind: Kind, on: NaiveDate) -> Option<bool> {
        self.sign_offs.iter().find(|one| one.kind == kind).map(|one| on <= one.until)
    }

    /// Whether it keeps the members of the whole agency: an admin who is not let go and not bounded.
    pub fn keeps_agency(&self) -> bool {
        self.active && self.role == Role::Admin && self.district.is_none() && self.station.is_none()
    }

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
            key: None,
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
            uniq: Some(self.email.as_str().to_owned()),
            mark: None,
            state: if self.active { "active" } else { "left" }.into(),
            parent: None,
        }
    }
}
