use chrono::{DateTime, NaiveDate, Utc};
use fullset_calc::ratings::Kind;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::Place;
use crate::{
    platform::record::{Index, Record},
    slices::models::ModelId,
};

crate::id!(
    /// A piece.
    PieceId
);
crate::id!(
    /// A tool set.
    SetId
);

/// Whether a piece may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PieceState {
    /// It may be used.
    InService,
    /// It must not be used.
    OutOfService,
    /// It has left the register.
    Retired,
}

impl PieceState {
    /// The state in one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::InService => "in_service",
            Self::OutOfService => "out_of_service",
            Self::Retired => "retired",
        }
    }
}

/// What keeps a piece out of service until a person closes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Hold {
    /// What holds it.
    pub by: HoldBy,
    /// The defect's or ticket's id.
    pub id: Uuid,
}

/// What can hold a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum HoldBy {
    /// An open defect that puts it out of service.
    Defect,
    /// An open repair ticket.
    Ticket,
}

/// One tracked thing with an asset tag.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Piece {
    /// Its id.
    pub id: PieceId,
    /// Its asset tag; no other piece has or had it.
    pub tag: String,
    /// Its model.
    pub model: ModelId,
    /// What it is: its model's kind.
    pub kind: Kind,
    /// The maker's serial number.
    pub serial: Option<String>,
    /// Date of make, from its label; unknown is not young.
    pub made_on: Option<NaiveDate>,
    /// In service with the agency since.
    pub in_service_since: Option<NaiveDate>,
    /// Its last annual service.
    pub last_service_on: Option<NaiveDate>,
    /// Whether it may be used.
    pub state: PieceState,
    /// Since when it is in this state.
    pub state_since: DateTime<Utc>,
    /// Why, in a member's words.
    pub state_reason: Option<String>,
    /// Who put it in this state.
    pub state_by: String,
    /// Whether it is out of service for planned service alone, which is no failure.
    #[serde(default)]
    #[schema(required)]
    pub planned: bool,
    /// What keeps it out of service.
    pub holds: Vec<Hold>,
    /// Where it is.
    pub place: Place,
    /// Where it belongs.
    pub home: Option<Place>,
    /// Of a hose: the source that it is fixed to, as a reel or a whip is. It serves that one only and moves with it.
    #[serde(default)]
    #[schema(required)]
    pub fixed_to: Option<PieceId>,
    /// The set that it was issued with.
    pub tool_set: Option<SetId>,
    /// Free note.
    pub note: Option<String>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Piece {
    const KIND: &'static str = "piece";
    const JUDGED: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.tag.clone(),
            uniq: Some(self.tag.to_lowercase()),
            state: self.state.word().into(),
            parent: Some(self.model.0),
        }
    }
}
