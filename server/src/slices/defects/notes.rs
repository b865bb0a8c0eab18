//! What was seen of an open defect again. Each is a record of its own, so that a defect that is seen often stays small.

use chrono::{DateTime, Utc};
use fullset_calc::release::DefectClass;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::feed::{DefectId, DefectState, Severity, label_of, state_word};
use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::{photos::PhotoName, pieces::PieceId},
};

crate::id!(
    /// A note on a defect.
    DefectNoteId
);

/// The same defect, seen again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DefectNote {
    /// The UUID that the service makes from the id of the command that noted it.
    pub id: DefectNoteId,
    /// The defect that was seen again.
    pub defect: DefectId,
    /// The piece that has the defect.
    pub piece: PieceId,
    /// When it was seen again (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who says that it was seen again.
    pub by: Person,
    /// What was seen; 4,000 characters at most.
    #[schema(max_length = 4000)]
    pub text: String,
    /// Set where the note made it a defect of another class.
    #[schema(required)]
    pub class: Option<DefectClass>,
    /// Set where the note put the piece out of service.
    #[schema(required)]
    pub severity: Option<Severity>,
    /// Photos of it, by their names; some may still be on their way.
    #[schema(max_items = 8)]
    pub photos: Vec<PhotoName>,
    /// Whether the defect is still there.
    pub state: DefectState,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for DefectNote {
    const KIND: &'static str = "defect_note";
    const FOLLOWS_WHILE: Option<&'static str> = Some("open");

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        vec!["open", "closed"]
    }

    fn index(&self) -> Index {
        Index {
            label: label_of(self.at),
            uniq: None,
            mark: None,
            state: state_word(self.state).into(),
            // It goes where its piece goes, as the defect does.
            parent: Some(self.piece.0),
        }
    }
}
