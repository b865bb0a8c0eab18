//! Why an answer is no plain yes, and "may I use it?" for one piece, in the shape in which they are stored and sent.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Why an answer is no plain yes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Reason {
    /// The piece; null where the reason lies in the rig.
    pub piece: Option<Uuid>,
    /// The sort of reason, for programs; `words` tells it to people.
    pub code: ReasonCode,
    /// In words: "ram RM-7: annual service overdue since 2026-10-17 07:00Z, inside the agency's grace of 60 days".
    pub words: String,
    /// Since when, where that is known.
    #[serde(default, skip_serializing_if = "Option::is_none", serialize_with = "crate::instant::option")]
    pub since: Option<DateTime<Utc>>,
}

/// What a reason is. Codes never change their meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum ReasonCode {
    /// It is out of service.
    OutOfService,
    /// Nobody can find it.
    Missing,
    /// A stop-use notice hits it.
    StopUse,
    /// Its service life has ended.
    LifeEnded,
    /// It is held apart until the shop clears it.
    Quarantined,
    /// A check is overdue beyond the agency's grace.
    CheckOverdue,
    /// The date by which a defect had to be repaired is past.
    RepairByPast,
    /// It cannot run on this rig: no line or pack aboard drives it, or it fits nothing aboard.
    CannotRunHere,
    /// Its age is unknown.
    AgeUnknown,
    /// Its age is unknown, and the coordinator allows it until a date.
    AgeAllowed,
    /// No date of a check or service is on record.
    CheckDateUnknown,
    /// Its ratings are not on record.
    RatingUnknown,
    /// How it is hooked up is not on record.
    HookupUnknown,
    /// It was used and not checked since.
    UsedUnchecked,
    /// It came aboard its rig, and nobody has tried it there since.
    NotTried,
    /// A check is overdue inside the agency's grace.
    OverdueInGrace,
    /// Nobody has planned how it is checked.
    NoPlan,
    /// Its packs are not on record.
    PackNotOnRecord,
    /// It was returned on a reading for which no limit is on record.
    LimitNotOnRecord,
    /// It was returned under a rule of the agency's own that is looser than the shipped one.
    OwnRule,
    /// An open defect leaves it usable with a limit.
    OpenDefect,
    /// Only a rule that the agency has made looser lets it count.
    LooserRule,
}

/// Whether a piece may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema), schema(as = PieceVerdict))]
pub enum Verdict {
    /// No.
    No,
    /// Not on the rig that it is on: it cannot run there.
    NotOnThisRig,
    /// Records do not say that it may.
    CannotBeConfirmed,
    /// Yes, within the limit that is said.
    YesWithLimit,
    /// Yes, by its last check.
    Yes,
}

impl Verdict {
    /// The answer in words.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::No => "no",
            Self::NotOnThisRig => "not on this rig",
            Self::CannotBeConfirmed => "cannot be confirmed",
            Self::YesWithLimit => "yes, with limit",
            Self::Yes => "yes",
        }
    }
}

/// The answer to "may I use it?", worked out from the records. The record is not the tool: look before you use it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct PieceAnswer {
    /// Whether the piece may be used, from no to a plain yes.
    pub verdict: Verdict,
    /// Why, the one that decides first; 40 at most.
    pub reasons: Vec<Reason>,
    /// Its last check or service on record.
    #[serde(serialize_with = "crate::instant::option")]
    pub last_check: Option<DateTime<Utc>>,
    /// The first future instant at which the answer changes if nobody does anything; null: it stands.
    #[serde(serialize_with = "crate::instant::option")]
    pub holds_until: Option<DateTime<Utc>>,
    /// What happens then, in words: "annual service of ram RM-7 due".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holds_until_why: Option<String>,
}
