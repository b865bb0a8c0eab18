use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::{
    auth::Role,
    person::Person,
    record::{Index, Record},
};

crate::id!(
    /// A key of a program.
    KeyId
);

/// What a key may do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "of", rename_all = "snake_case", deny_unknown_fields)]
pub enum KeyScope {
    /// It reads.
    Read {},
    /// It reads, and sends commands of these kinds.
    Commands {
        /// The kinds, each once: those that are open to a coordinator and take no person.
        #[schema(min_items = 1, max_items = 200)]
        kinds: Vec<String>,
    },
    /// It reads, and sends what a role may send, apart from what takes a person.
    Role {
        /// The role; not admin.
        role: Role,
    },
}

impl KeyScope {
    /// The role that a key acts in, and the kinds that it may send; none: all of the role.
    pub fn acts_in(&self) -> (Role, Option<Vec<String>>) {
        match self {
            Self::Read {} => (Role::Crew, Some(Vec::new())),
            Self::Role { role } => (*role, None),
            Self::Commands { kinds } => (Role::Coordinator, Some(kinds.clone())),
        }
    }

    /// Puts the kinds as they are kept: in order, each once.
    pub fn put_in_order(&mut self) {
        if let Self::Commands { kinds } = self {
            kinds.sort_unstable();
            kinds.dedup();
        }
    }
}

/// Whether a key answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum KeyState {
    /// It does, until it runs out.
    Active,
    /// It does not any more, for good.
    Revoked,
}

impl KeyState {
    const fn word(self) -> &'static str {
        match self {
            Self::Active => "active",
            Self::Revoked => "revoked",
        }
    }
}

/// A key by which a program reads and sends commands. Its secret is kept nowhere.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = ApiKey)]
pub struct ApiKeyRecord {
    /// The UUID that the client made for the key; it never changes.
    pub id: KeyId,
    /// What it is called, which is the name that the journal keeps: "Dispatch board".
    pub name: String,
    /// What it may do.
    pub scope: KeyScope,
    /// When set, it acts only in this district.
    pub district: Option<Uuid>,
    /// When set, it acts only at this station.
    pub station: Option<Uuid>,
    /// When it runs out.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub expires_at: DateTime<Utc>,
    /// Whether it answers. It also answers no more once it has run out, or its maker was let go or has another role or reach.
    pub state: KeyState,
    /// When it was made.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub made_at: DateTime<Utc>,
    /// The member who made it; it ends when that member is let go or has another role or reach.
    pub made_by: Person,
    /// When it was revoked.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub revoked_at: Option<DateTime<Utc>>,
    /// Who revoked it; null: nobody has.
    pub revoked_by: Option<Person>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for ApiKeyRecord {
    const KIND: &'static str = "api_key";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        [KeyState::Active, KeyState::Revoked].map(KeyState::word).to_vec()
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            state: self.state.word().into(),
            ..Index::default()
        }
    }
}
