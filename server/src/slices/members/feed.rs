use chrono::NaiveDate;
use fullset_calc::ratings::Kind;
use fullset_care::crew::{Handled, asks_for_sign_off, practise_by};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::{
    auth::{Actor, Email, Role},
    ids::{AgencyId, MemberId},
    person::Person,
    record::{Index, Record},
};

/// That a member may work with gear of a kind, or of a family of models, as an officer has seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SignOff {
    /// The kind of gear.
    pub kind: Kind,
    /// The family of models that are run alike, where they take a sign-off of their own; null: what is run as everything of its kind is.
    #[serde(default)]
    #[schema(required)]
    pub family: Option<String>,
    /// The last day on which it counts.
    pub until: NaiveDate,
    /// On which day it was given.
    pub on: NaiveDate,
    /// Who signed the member off; never the member.
    pub by: Person,
    /// When the member last practised with it, as an officer has seen; null: not since the sign-off.
    #[serde(default)]
    #[schema(required)]
    pub practised_on: Option<NaiveDate>,
    /// The last day by which the member must have practised again: a year after the later of both days. The sign-off counts after it too.
    #[serde(default)]
    #[schema(required)]
    pub practise_by: NaiveDate,
}

impl SignOff {
    /// What it is about.
    pub fn handled(&self) -> Handled {
        Handled::new(self.kind, self.family.as_deref())
    }
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
    /// The UUID that the member was added or invited under; it never changes.
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
    /// What it is signed off on, one entry for each kind of gear and each family. Empty: nobody keeps them; else what is
    /// not here it does not sign for.
    #[serde(default)]
    #[schema(required, max_items = 60)]
    pub sign_offs: Vec<SignOff>,
    /// Its certificate as a technician.
    #[serde(default)]
    #[schema(required)]
    pub certificate: Option<Certificate>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Member {
    /// Whether it is signed off on gear of a kind, or of a family that takes a sign-off of its own, on that day; `None`: nobody knows,
    /// because the kind asks for none or nobody keeps sign-offs of this member. Where some are kept, what is not among them is not signed.
    pub fn is_signed_off(&self, kind: Kind, family: Option<&str>, on: NaiveDate) -> Option<bool> {
        let of = Handled::new(kind, family);
        let is_kept = asks_for_sign_off(kind) && !self.sign_offs.is_empty();
        is_kept.then(|| self.sign_offs.iter().any(|one| one.handled() == of && on <= one.until))
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
        for one in &mut self.sign_offs {
            one.practise_by = practise_by(one.on, one.practised_on);
        }
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
