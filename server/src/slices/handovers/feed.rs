use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{HandoverAct, allows};
use crate::platform::{
    person::Person,
    record::{Index, Record},
};

crate::id!(
    /// A handover: the id of the station or district whose shift changes.
    HandoverId
);

/// How a handover stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum HandoverState {
    /// It was given, and nobody has taken it yet.
    Given,
    /// Somebody of the next shift has taken it.
    Taken,
    /// Whoever gave it took it back before anybody had taken it.
    Withdrawn,
}

impl HandoverState {
    /// The word by which lists are narrowed.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Given => "given",
            Self::Taken => "taken",
            Self::Withdrawn => "withdrawn",
        }
    }
}

/// A part of the sheet as it was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HandoverPart {
    /// What the part is about, as its heading says it: 1 to 200 characters.
    #[schema(min_length = 1, max_length = 200)]
    pub title: String,
    /// Its lines in their order, each 1 to 500 characters; at most 60. None: the heading says all.
    #[schema(max_items = 60)]
    pub lines: Vec<String>,
    /// How many lines more the sheet had that are not in the copy.
    pub left_out: u32,
}

/// The last handover of a station or district.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Handover {
    /// The id of the station or district, which is the handover's as well.
    pub id: HandoverId,
    /// Whether it waits, was taken or was withdrawn.
    pub state: HandoverState,
    /// From when on the sheet told what changed.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub since: DateTime<Utc>,
    /// The sheet as it was read where it was given; at most 24 parts.
    #[schema(max_items = 24)]
    pub parts: Vec<HandoverPart>,
    /// What the giver says beside it, up to 4,000 characters; null: nothing.
    pub note: Option<String>,
    /// When it was given.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub given_at: DateTime<Utc>,
    /// Who gave it.
    pub given_by: Person,
    /// When it was taken; null: nobody has taken it.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub taken_at: Option<DateTime<Utc>>,
    /// Who took it, never who gave it; null: nobody has taken it.
    pub taken_by: Option<Person>,
    /// Why it was withdrawn, up to 4,000 characters; null: it was not.
    pub withdrawn_reason: Option<String>,
    /// Whether the one before it was given and never taken.
    pub follows_untaken: bool,
    /// The commands that the handover allows as it is: any other is refused.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<HandoverAct>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Handover {
    const KIND: &'static str = "handover";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows(self.state);
    }

    fn states() -> Vec<&'static str> {
        [HandoverState::Given, HandoverState::Taken, HandoverState::Withdrawn]
            .map(HandoverState::word)
            .to_vec()
    }

    fn index(&self) -> Index {
        Index {
            state: self.state.word().into(),
            parent: Some(self.id.0),
            ..Index::default()
        }
    }
}
