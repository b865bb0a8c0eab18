//! What a command was decided on: what a kind needs said of it, and what a client says.

use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// Whether a command names the revision that it was decided on, and of which record: the one that its `id` names, unless the kind
/// is another's. `tests/contract` holds each kind to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RevisionNeed {
    /// It is not looked at.
    None,
    /// Where it is named it is held to.
    Optional(&'static str),
    /// Needed where the command changes what was decided before; the first time there is nothing to name.
    NeededToChange(&'static str),
    /// Without it the command is refused.
    Needed(&'static str),
}

impl RevisionNeed {
    /// Of which revision, and whether it must be named, in words.
    pub fn words(self) -> Option<String> {
        let record = self.record()?.replace('_', " ");
        Some(match self {
            Self::None => return None,
            Self::Optional(_) => format!("The revision of the {record} that this was decided on; where it is named it is held to"),
            Self::NeededToChange(_) => format!("The revision of the {record} that this was decided on; needed where it changes what was decided before"),
            Self::Needed(_) => format!("The revision of the {record} that this was decided on"),
        })
    }

    /// The record's kind.
    pub const fn record(self) -> Option<&'static str> {
        match self {
            Self::None => None,
            Self::Optional(record) | Self::NeededToChange(record) | Self::Needed(record) => Some(record),
        }
    }
}

/// What a command was decided on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(
    untagged,
    expecting = "expects is a revision, or {\"after\": ID} with the id of the command that left the record so"
)]
pub enum Expects {
    /// The record's revision, as the member had seen it.
    Revision(i64),
    /// The record as an earlier command left it, in a chain made without a signal.
    Left(LeftBy),
}

/// The record as an earlier command left it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LeftBy {
    /// The id of that command. It must have been applied, as for the command's own `after`, and nothing else may have changed the
    /// record since.
    pub after: Uuid,
}

impl Expects {
    /// The revision, where it is named by itself.
    pub(super) fn revision(self) -> Option<i64> {
        match self {
            Self::Revision(rev) => Some(rev),
            Self::Left(_) => None,
        }
    }

    /// The command that is named in its place.
    pub(super) fn left_by(self) -> Option<Uuid> {
        match self {
            Self::Revision(_) => None,
            Self::Left(left) => Some(left.after),
        }
    }
}
