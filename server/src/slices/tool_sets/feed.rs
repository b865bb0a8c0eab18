use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::record::{Index, Record},
    slices::pieces::{Place, ToolSetId},
};

/// Pieces that are issued together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ToolSet {
    /// The UUID that the tool set was added under; it never changes.
    pub id: ToolSetId,
    /// Its name; no other set has it.
    pub name: String,
    /// Where the set as a whole belongs; null: nowhere. Each piece has a home of its own.
    pub home: Option<Place>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for ToolSet {
    const KIND: &'static str = "tool_set";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(self.name.to_lowercase()),
            mark: None,
            ..Index::default()
        }
    }
}
