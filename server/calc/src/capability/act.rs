//! Acts toward the target grade, in the shape in which they are stored and sent.

use crate::ratings::Kind;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What kind of act.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum ActKind {
    /// Put the rig itself back in service.
    PutRigBack,
    /// Do the overdue checks of a piece.
    Check,
    /// Put another piece aboard.
    PutAboard,
    /// Put a piece right that is aboard: repair it, clear the notice, check it.
    PutRight,
}

/// One act toward the target grade.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Act {
    /// Which sort of act it is; `words` says it in full.
    pub act: ActKind,
    /// To which piece aboard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub piece: Option<Uuid>,
    /// For which need a piece is put aboard; null: for none, for example a further hose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub need: Option<String>,
    /// Of which kind the piece put aboard is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<Kind>,
    /// On which coupling family and fluid, or battery family.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub family: Option<String>,
    /// The same in a sentence for people.
    pub words: String,
}
