//! What stands beside a gap: what alone is missing, and which slots want the same pieces.

use crate::ratings::Kind;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What alone keeps a need from running.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct RunsAgain {
    /// One part, or a source and a hose.
    pub kinds: Vec<Kind>,
    /// On which coupling family and fluid, or battery family.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub family: Option<String>,
    /// In words: "runs again with a power unit on flat-face single, mineral oil".
    pub words: String,
}

/// Slots that compete for the same pieces.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Compete {
    /// The slots, in the order of the complement.
    pub slots: Vec<String>,
    /// Every piece that fits any of them: fewer than the slots.
    pub pieces: Vec<Uuid>,
}
