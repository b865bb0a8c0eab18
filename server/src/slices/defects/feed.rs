use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::record::{Index, Record},
    slices::{
        photos::PhotoName,
        pieces::{PieceId, Place},
    },
};

crate::id!(
    /// A defect.
    DefectId
);

/// Whether the piece can still be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// It can still be used.
    Usable,
    /// It must not be used.
    OutOfService,
}

/// Whether somebody still has to do something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum DefectState {
    /// It is still there.
    Open,
    /// A person has closed it.
    Closed,
}

/// The same defect, seen again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Repeat {
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: String,
    /// What was seen.
    pub text: String,
    /// Photos of it, by their names; some may still be on their way.
    #[serde(default)]
    #[schema(required)]
    pub photos: Vec<PhotoName>,
}

/// Something wrong with a piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Defect {
    /// Its id.
    pub id: DefectId,
    /// The piece.
    pub piece: PieceId,
    /// What is wrong, in the crew's own words.
    pub what: String,
    /// Whether the piece can still be used.
    pub severity: Severity,
    /// Whether it is still there.
    pub state: DefectState,
    /// When it was seen, by the server's reckoning.
    pub seen_at: DateTime<Utc>,
    /// Who reported it.
    pub reported_by: String,
    /// Where the piece was.
    pub place: Place,
    /// The repair ticket that deals with it.
    pub ticket: Option<Uuid>,
    /// Photos of it, by their names; some may still be on their way.
    #[serde(default)]
    #[schema(required)]
    pub photos: Vec<PhotoName>,
    /// When it was seen again.
    pub repeats: Vec<Repeat>,
    /// When it was closed.
    pub closed_at: Option<DateTime<Utc>>,
    /// Who closed it.
    pub closed_by: Option<String>,
    /// What was done.
    pub resolution: Option<String>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Defect {
    const KIND: &'static str = "defect";
    const FOLLOWS_WHILE: Option<&'static str> = Some("open");

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        let state = match self.state {
            DefectState::Open => "open",
            DefectState::Closed => "closed",
        };
        let label = self.seen_at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string();
        Index {
            label,
            uniq: None,
            state: state.into(),
            parent: Some(self.piece.0),
        }
    }
}
